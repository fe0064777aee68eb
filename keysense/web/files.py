"""The static files under a name that changes with them, so that a browser asks for each of them once and no more."""

from __future__ import annotations

import hashlib
from functools import cache
from pathlib import Path

from starlette.responses import Response
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

__all__ = ["STYLES", "STYLES_AT_ONCE", "KeptFiles", "address"]

STATIC = Path(__file__).parent / "static"
STYLES = (
    "tokens.css",
    "page.css",
    "parts.css",
    "lesson.css",
    "drawing.css",
    "hear.css",
    "share.css",
    "pieces.css",
    "print.css",
)
STYLES_AT_ONCE = "all.css"  # the name under which they are served as one


@cache
def address() -> str:
    """Where the static files lie: the last part is drawn from all their bytes."""
    digest = hashlib.sha256()
    for path in sorted(path for path in STATIC.rglob("*") if path.is_file()):
        digest.update(path.relative_to(STATIC).as_posix().encode() + path.read_bytes())
    return f"/static/{digest.hexdigest()[:12]}"


class KeptFiles(StaticFiles):
    """Files that may be kept for a year: a changed one comes under another address."""

    async def get_response(self, path: str, scope: Scope) -> Response:
        """The file, with the word to the browser that it need not ask again."""
        at_once = path == STYLES_AT_ONCE
        response = Response(_styles(), media_type="text/css") if at_once else await super().get_response(path, scope)
        if response.status_code in (200, 206, 304):
            response.headers["cache-control"] = "public, max-age=31536000, immutable"
        return response


@cache
def _styles() -> str:
    """What every page waits for before it is drawn: one file instead of nine to ask for."""
    return "\n".join((STATIC / name).read_text("utf-8") for name in STYLES)
