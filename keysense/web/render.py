"""Pages into HTML, through templates alone: the same for the browser and for a file that stands by itself."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from urllib.parse import parse_qs, urlsplit

from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape
from markupsafe import Markup, escape

from keysense.dashboards._names import NamedTake
from keysense.page import Page, Panel
from keysense.plots.signs import head_thread, outcome_sign
from keysense.web import draw_cards, draw_pair, draw_place, draw_score, draw_take, draw_weeks, draw_wish
from keysense.web.drawn_once import once
from keysense.web.files import STYLES_AT_ONCE, address
from keysense.words import word
from keysense.words.figures import start_large

__all__ = ["HERE", "WIDTHS", "Faulty", "Link", "Shell", "State", "head", "opening", "render", "render_part", "rest"]

HERE = Path(__file__).parent
WIDTHS = ("wide", "mid", "tight")  # classes of the style sheet, by the width of the window
# Each script and what stands on the pages that need it; a page is not made to read what it does not use.
SCRIPTS: dict[str, tuple[str, ...]] = {
    "live.js": ("</body>",),
    "page.js": ("</body>",),
    "line.js": ('id="line"',),
    "hear.js": ('class="row hear',),
    "draw.js": (" data-field",),
    "marks.js": ('id="marking"',),
    "bring.js": (" data-drop",),
    "first.js": ('id="first-note"', 'id="making"'),
    "pulse.js": ('pulse"',),
    "explore.js": ('class="closer"',),
}
_BEHIND = (
    "model",
    "line",
    "warmup",
    "bring",
    "pupil",
    "agree",
    "nickname",
    "erase",
)  # forms that stand behind the fold


@dataclass(frozen=True)
class Link:
    """A page of the studio in the line above everything."""

    href: str
    said: str
    here: bool = False


@dataclass(frozen=True)
class State:
    """The piano's state in words, and the press that changes it. troubled: what was wanted could not be begun."""

    first: str = ""
    second: str = ""
    press: str = ""
    next: str = ""
    connected: bool = False
    piano: str = ""
    troubled: bool = False


@dataclass(frozen=True)
class Faulty:
    """A form that was sent with a fault: which one, what is wrong in words, and what had been typed."""

    form: str
    said: str
    typed: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Shell:
    """What stands round a page.

    name: which page; state: listening, cut or plain. path: where a press leads back to. alone: a file by itself.
    asked: a question back about a line that was typed, for which take, and whether a yes would do.
    faulty: a form that comes back with what had been typed. line: the loudness is drawn while it is played.
    demo: all of it is made up: ``beside`` a studio of one's own, or ``alone``.
    example: a name as it may be typed; who: whose name stands in it, the pupil at the piano.
    width: one of WIDTHS, the only one at which music is engraved; empty where the window's width is not known.
    """

    name: str
    path: str = "/"
    state: str = "plain"
    listening: State = field(default_factory=State)
    links: Sequence[Link] = ()
    live: str = ""
    alone: bool = False
    open: bool = False
    notice: str = ""
    example: str = ""
    who: str = ""
    emphasis: Sequence[str] = ()
    asked: str = ""
    asked_take: str = ""
    asked_line: str = ""
    asked_accept: bool = False
    styles: str = ""
    faulty: Faulty | None = None
    line: bool = False
    demo: str = ""
    width: str = ""

    def fault(self, form: str) -> str:
        """What is wrong with this form; empty where nothing is."""
        return self.faulty.said if self.faulty is not None and self.faulty.form == form else ""

    def typed(self, form: str, name: str, otherwise: str = "") -> str:
        """What had been typed into one field of a form that was sent with a fault."""
        return self.faulty.typed.get(name, otherwise) if self.faulty is not None and self.fault(form) else otherwise

    def example_for(self, named: NamedTake) -> str:
        """How this take may be named: by whom it is, or whoever is at the piano, and by the tune it sounds like."""
        if not named.piece:
            return self.example
        parts = (named.pupil or self.who, named.piece.split()[-1], named.take.character)
        return " ".join(part for part in parts if part).lower()

    @property
    def guess(self) -> str:
        """What was guessed on this page, or ``skip``; empty where the question is still open."""
        return parse_qs(urlsplit(self.path).query).get("guess", [""])[0]

    @property
    def faulty_behind(self) -> bool:
        """The form with the fault stands behind the fold: whoever sent it had it open."""
        return self.faulty is not None and self.faulty.form in _BEHIND

    @property
    def head(self) -> Markup:
        """Links to the styles, or the styles themselves in a file that stands alone."""
        if self.alone:
            return Markup("<style>{}</style>").format(Markup(self.styles))  # noqa: S704 - our own style sheets
        return Markup('<link rel="stylesheet" href="{}/{}">').format(address(), STYLES_AT_ONCE)

    def foot(self, html: str) -> Markup:
        """The scripts of a page; a file that stands alone needs none."""
        if self.alone:
            return Markup("")
        script = Markup('<script type="module" src="{}/{}"></script>')
        wanted = (name for name, marks in SCRIPTS.items() if any(mark in html for mark in marks))
        return Markup("\n").join(script.format(address(), name) for name in wanted)


def render(page: Page, shell: Shell) -> str:
    """The whole page."""
    return opening(shell) + head(page, shell) + rest(page, shell)


def opening(shell: Shell) -> str:
    """What every page begins with, whatever stands on it: the styles that the browser must have before it paints."""
    return _environment().get_template("opening.html").render(shell=shell)


def head(page: Page, shell: Shell) -> str:
    """The head of a page: what it is about, and the piano's state. It is known at once."""
    return _environment().get_template("head.html").render(page=page, shell=shell)


def rest(page: Page, shell: Shell) -> str:
    """All that must be looked up and drawn, and the scripts that it needs."""
    html = _environment().get_template("rest.html").render(page=page, shell=shell)
    return html.replace("</body>", f"{shell.foot(html)}\n</body>")


def render_part(template: str, panel: Panel, shell: Shell) -> str:
    """One panel alone, for a page that is open already."""
    return _environment().get_template(template).render(panel=panel, shell=shell)


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=FileSystemLoader(HERE / "templates"),
        autoescape=select_autoescape(default=True),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters.update(charred=_charred, started=start_large, cells=_cells)
    environment.globals.update(
        word=word,
        row_name=_row_name,
        files=address(),
        ear=Markup(head_thread("listening")),  # noqa: S704 - our own drawings
        cut=Markup(head_thread("cut")),  # noqa: S704
        choice=draw_take.choices,
        outcome_sign=lambda outcome: Markup(outcome_sign(outcome)),  # noqa: S704 - our own drawings
        music_of=once(draw_take.music),
        shape_of=once(draw_take.shape),
        score_of=draw_score.score,
        drawing_of=draw_take.drawing,
        findings_of=draw_take.findings,
        table_of=draw_take.table,
        cards_of=draw_cards.cards,
        coat_of=once(draw_pair.coat),
        lengths_of=draw_pair.lengths,
        paces_of=draw_pair.paces,
        dimensions_of=draw_pair.dimensions,
        dimension_table=draw_pair.dimension_table,
        caught_sign=draw_place.caught_sign,
        place_of=draw_place.place,
        field_of=draw_wish.field,
        wished_of=draw_wish.wished,
        pace_table=draw_wish.pace_table,
        weeks_of=draw_weeks.weeks,
        week_table=draw_weeks.week_table,
    )
    return environment


def _row_name(name: str) -> Markup:
    """The name of a row is a heading, to be jumped to; where a row has none, its column stays empty."""
    return Markup('<h2 class="name">{}</h2>').format(name) if name else Markup('<div class="name"></div>')


def _cells(row: Sequence[object], heads: Sequence[Mapping[str, object]]) -> Markup:
    """The cells of one row of a table: by far the most that any page has of one kind, so they are not left to a loop
    of the template."""
    cell, figure = "<td>{}</td>", '<td class="n">{}</td>'
    rows = zip(row, heads, strict=False)
    return Markup("".join((figure if head["figure"] else cell).format(escape(said)) for said, head in rows))  # noqa: S704


def _charred(title: str, words: Sequence[str]) -> Markup:
    """A title with the characters' words set in italics, as expression words stand in music."""
    said = escape(title)
    for expression in sorted(set(words), key=len, reverse=True):
        if expression:
            said = Markup(str(said).replace(str(escape(expression)), f"<em>{escape(expression)}</em>"))  # noqa: S704
    return said
