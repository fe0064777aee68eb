"""Pages as files that stand by themselves: the same templates, the styles and fonts inside, no script.

A paper leaves only signed: as plain text, as HTML, or as a PDF where the extra ``pdf`` is installed.
"""

from __future__ import annotations

import base64
import re
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from keysense.errors import ServeError
from keysense.files import write_atomically

if TYPE_CHECKING:
    from keysense.papers import Desk
    from keysense.studio import Studio

__all__ = ["LARGEST", "export_paper", "export_take", "paper_pdf"]

LARGEST = 2_500_000  # bytes; what goes by e-mail everywhere
_INK = {  # for PDF: what drawing.css and paper.css say of the drawings of papers
    "thread": 'fill="#0072B2"',
    "line": 'fill="none" stroke="#0072B2" stroke-linecap="round" stroke-linejoin="round"',
    "core": 'fill="none" stroke="#FFFFFF" stroke-linecap="round" stroke-linejoin="round"',
    "twist": 'fill="none" stroke="#FFFFFF" stroke-opacity=".42" stroke-linecap="round"',
    "colourin": 'fill="#FFFFFF" stroke="#16202A" stroke-width="3.5" stroke-linejoin="round"',
}
_CELLS = 'fill="none" stroke="#16202A" stroke-linecap="round"'  # the twist where it parts what is to be coloured in
_FONT = re.compile(r"url\((fonts/[\w.-]+)\)")
_SHEETS = "/*<styles>*/"  # stands where they go until the words are known; no text of a page can hold it unescaped
_FURTHER_FACE = re.compile(r"@font-face \{[^}]*-latin-ext-[^}]*\}\n")
_FURTHER = re.compile("[\u0100-\u0130\u0132-\u0151\u0154-\u02ba\u1e00-\u1eff]")  # letters of those faces alone


def export_take(studio: Studio, take_id: str, path: Path | str) -> Path:
    """Write the page of one take, both views, as one HTML file; gives its path.

    Raises UnknownName on a take that is not there, ServeError where the name does not end in .html and where the file
    cannot be written or would be too large.
    """
    from keysense.dashboards import take
    from keysense.web.render import Shell, render

    stored, file = studio.take(take_id), Path(path)
    if file.suffix.lower() != ".html":
        raise ServeError(f"{file} cannot be written: the page is HTML, so let the name end in .html")
    page = take.page(studio, take_id, guess="skip")
    shell = Shell("take", alone=True, open=False, emphasis=(stored.character,), styles=_SHEETS)
    data = _styled(render(page, shell)).encode("utf-8")
    if len(data) > LARGEST:
        raise ServeError(
            f"the page of this take has {len(data):,} bytes, more than {LARGEST:,}: it is too long to send"
        )
    write_atomically(file, data, error=ServeError)
    return file


def export_paper(studio: Studio, on: Desk, path: Path | str) -> Path:
    """Write a signed paper, as the file's ending says: .html, .pdf, anything else as plain text; gives its path.

    Raises UnsignedError on a draft, ServeError where the file cannot be written or the extra ``pdf`` is missing.
    """
    from keysense.papers import as_text

    studio.leaving(on.paper)
    file = Path(path)
    if file.suffix.lower() == ".pdf":
        data = paper_pdf(studio, on)
    else:
        is_page = file.suffix.lower() in (".html", ".htm")
        data = (_paper_page(studio, on) if is_page else as_text(on)).encode("utf-8")
    write_atomically(file, data, error=ServeError)
    return file


def paper_pdf(studio: Studio, on: Desk) -> bytes:
    """A signed paper as a PDF of one page. Raises UnsignedError on a draft, ServeError without the extra ``pdf``."""
    studio.leaving(on.paper)
    try:
        from weasyprint import HTML
    except (ImportError, OSError) as cause:  # OSError: Pango, which it draws with, is not on this machine
        raise ServeError(
            f"a PDF needs the extra 'pdf' ({cause}): pip install 'keysense[pdf]', or print to a file from the browser"
        ) from cause
    data: Any = HTML(string=_flattened(_paper_page(studio, on))).write_pdf()
    return bytes(data)


def _paper_page(studio: Studio, on: Desk) -> str:
    from keysense.web.files import STYLES
    from keysense.web.papers import paper_html
    from keysense.web.render import Shell

    shell = Shell("paper", alone=True, styles=_SHEETS)
    return _styled(paper_html(studio, on.kind, on.lesson.pupil_id, on.lesson.day, shell), (*STYLES, "paper.css"))


def _flattened(html: str) -> str:
    """Drawings with their ink written on them: a PDF's pictures know nothing of the page's style sheets."""
    cells = 'class="colourin"' in html
    for cls, ink in {**_INK, **({"twist": _CELLS} if cells else {})}.items():
        html = re.sub(rf'<(path|circle) class="{cls}"', rf'<\1 {ink} class="{cls}"', html)
    return html


def _styled(html: str, names: tuple[str, ...] = ()) -> str:
    """The page with its styles inside; the faces of further letters only where one of them is in its words."""
    return html.replace(_SHEETS, _styles(names, further=_FURTHER.search(html) is not None), 1)


@cache
def _styles(names: tuple[str, ...], *, further: bool) -> str:
    """Style sheets, every page's where none are named, with the fonts inside."""
    from keysense.web.files import STYLES
    from keysense.web.render import HERE

    static = HERE / "static"

    def inline(found: re.Match[str]) -> str:
        font = base64.b64encode((static / found[1]).read_bytes()).decode("ascii")
        return f"url(data:font/woff2;base64,{font})"

    sheets = (static.joinpath(name).read_text("utf-8") for name in names or STYLES)
    text = "\n".join(sheets)
    return _FONT.sub(inline, text if further else _FURTHER_FACE.sub("", text))
