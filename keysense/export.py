"""One take's page as a file that stands by itself: the same templates, the styles and fonts inside, no script."""

from __future__ import annotations

import base64
import re
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from keysense.errors import ServeError
from keysense.files import write_atomically

if TYPE_CHECKING:
    from keysense.studio import Studio

__all__ = ["LARGEST", "export_take"]

LARGEST = 2_500_000  # bytes; what goes by e-mail everywhere
_FONT = re.compile(r"url\((fonts/[\w.-]+)\)")


def export_take(studio: Studio, take_id: str, path: Path | str) -> Path:
    """Write the page of one take, both views, as one HTML file; gives its path.

    Raises UnknownName on a take that is not there, ServeError where the file cannot be written or would be too large.
    """
    from keysense.dashboards import take
    from keysense.web.render import Shell, render

    stored, file = studio.take(take_id), Path(path)
    page = take.page(studio, take_id, guess="skip")
    shell = Shell("take", alone=True, open=False, emphasis=(stored.character,), styles=_styles())
    data = render(page, shell).encode("utf-8")
    if len(data) > LARGEST:
        raise ServeError(
            f"the page of this take has {len(data):,} bytes, more than {LARGEST:,}: it is too long to send"
        )
    write_atomically(file, data, error=ServeError)
    return file


@cache
def _styles() -> str:
    """Every style sheet, with the fonts inside."""
    from keysense.web.render import HERE, STYLES

    static = HERE / "static"

    def inline(found: re.Match[str]) -> str:
        font = base64.b64encode((static / found[1]).read_bytes()).decode("ascii")
        return f"url(data:font/woff2;base64,{font})"

    sheets = (static.joinpath(name).read_text("utf-8") for name in STYLES)
    return "\n".join(_FONT.sub(inline, sheet) for sheet in sheets)
