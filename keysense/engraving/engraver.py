"""A target's page, engraved: one picture a line of music, each notehead found by its id.

Traps met
    verovio draws its own ids anew each time unless seeded; its style sheet beats the page's ink; two pictures on one
    page would share glyph ids. `keysense.engraving.svg` mends all three. One engraving at a time: its seed is global.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from threading import Lock
from xml.etree.ElementTree import ParseError

import verovio
from defusedxml.common import DefusedXmlException

from keysense.engraving.lines import broken_into_lines
from keysense.engraving.svg import tidy
from keysense.errors import TargetError
from keysense.targets.target import Target

__all__ = ["Engraving", "System", "engrave"]

_OPTIONS = {
    "breaks": "encoded", "pageHeight": 6000, "adjustPageHeight": True, "scale": 100, "xmlIdSeed": 7,
    "pageMarginLeft": 34, "pageMarginRight": 20, "pageMarginTop": 10, "pageMarginBottom": 10,
    "header": "none", "footer": "none", "svgViewBox": True, "svgRemoveXlink": True, "smuflTextFont": "none",
    "spacingLinear": 0.3, "spacingNonLinear": 0.55, "justifyVertically": False, "lyricSize": 4.0, "unit": 9.0,
    "measureMinWidth": 10, "mnumInterval": 0, "minLastJustification": 0.0,
}  # fmt: skip
_LOCK = Lock()


@dataclass(frozen=True)
class System:
    """One line of music.

    svg: the picture, ``currentColor`` set to ``--music``, black without it. width, height: of its view box, in user
    units. note_x, note_y: centre of each notehead by page id. bar_lines: where each bar ends, in page order; left:
    where the staff begins. first_bar, last_bar: written numbers. prefix: stands before each note id in the picture.
    """

    svg: str
    width: float
    height: float
    note_x: dict[str, float]
    note_y: dict[str, float]
    bar_lines: tuple[float, ...]
    left: float
    first_bar: int
    last_bar: int
    bars: tuple[int, ...]
    prefix: str


@dataclass(frozen=True)
class Engraving:
    """All lines of a page, from the top."""

    systems: tuple[System, ...]

    def system_of(self, note_id: str) -> System | None:
        """The line that carries this notehead, by page id; None where no line does."""
        return next((system for system in self.systems if note_id in system.note_x), None)


def engrave(target: Target, *, width: int = 1440, bars_a_line: int | None = None) -> Engraving:
    """Engrave the page of a target.

    width: of each line in user units; bars_a_line: chosen so that nothing is crowded when None.
    Raises TargetError when the target has no page (a MIDI file or a model take) or it cannot be engraved.
    """
    if not target.source.musicxml:
        raise TargetError(
            f"{target.source.title or 'this music'} has no page to engrave: bring it as MusicXML to see the notes"
        )
    return _engraved(target.source.musicxml, target.source.title or target.source.file, int(width), bars_a_line)


@lru_cache(maxsize=64)
def _engraved(text: str, title: str, width: int, bars_a_line: int | None) -> Engraving:
    try:
        broken, lines = broken_into_lines(text, bars_a_line, width)
        prefix = "e" + hashlib.sha256(f"{width} {bars_a_line} {text}".encode()).hexdigest()[:8]
        with _LOCK:
            pages, resources = _pages(broken, width)
        if len(pages) != len(lines):
            raise ValueError(f"{len(pages)} pictures of {len(lines)} lines")
        rows = enumerate(zip(pages, lines, strict=True))
        return Engraving(tuple(_system(page, f"{prefix}-{k}-", bars, resources) for k, (page, bars) in rows))
    except (ParseError, DefusedXmlException, ValueError, RecursionError) as cause:
        why = " ".join(str(cause).split())[:80]
        raise TargetError(f"{title} cannot be engraved ({why}): save it again as MusicXML and bring it anew") from cause


def _system(page: str, prefix: str, bars: list[int], resources: Path) -> System:
    picture = tidy(page, prefix, resources)
    return System(
        picture.svg, picture.width, picture.height, picture.note_x, picture.note_y, picture.bar_lines,
        picture.left, bars[0], bars[-1], tuple(bars), prefix,
    )  # fmt: skip


def _pages(text: str, width: int) -> tuple[list[str], Path]:
    """Each page as verovio draws it, and the folder of its glyphs; no page where it cannot read the text."""
    verovio.enableLog(verovio.LOG_OFF)
    # verovio knows its fonts in the importing thread alone, and pages are drawn in many
    verovio.setDefaultResourcePath(str(Path(verovio.__file__).with_name("data")))
    toolkit = verovio.toolkit()
    toolkit.setOptions({**_OPTIONS, "pageWidth": width})
    if not toolkit.loadData(text):
        return [], Path()
    pages = [toolkit.renderToSVG(page) for page in range(1, toolkit.getPageCount() + 1)]
    return pages, Path(toolkit.getResourcePath())
