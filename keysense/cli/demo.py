"""``keysense demo``: the invented studio, played through the real way, and its pages."""

from __future__ import annotations

import tempfile
from contextlib import ExitStack
from typing import Annotated

import typer

__all__ = ["demo"]


def demo(
    serve: Annotated[bool, typer.Option(help="Open the pages on it afterwards.")] = True,
    port: Annotated[int, typer.Option("--port", min=0, max=65535, help="The number in the page's address.")] = 8766,
    browser: Annotated[bool, typer.Option(help="Open the page in the browser.")] = True,
) -> None:
    """Show the whole way on an invented studio: no piano is needed, and your own studio is not touched.

    Invented pupils play invented tunes into the journal; keysense follows, listens, compares and keeps, and says what
    it heard. It all lies in a folder of its own that is gone when you stop.
    """
    from keysense.demo.telling import tell
    from keysense.studio import Studio
    from keysense.web.serve import open_door
    from keysense.web.serve import serve as serve_pages

    with ExitStack() as stack:
        # before anything is played: whoever has waited for the whole way must not learn then that there is no door
        door = stack.enter_context(open_door("127.0.0.1", port, "keysense demo")) if serve else None
        folder = tempfile.TemporaryDirectory(prefix="keysense-demo-", ignore_cleanup_errors=True)
        studio = stack.enter_context(Studio.open(stack.enter_context(folder)))
        sleepy, proud = tell(studio, typer.echo)
        if door is not None:
            path = f"/beside/{sleepy}/{proud}"
            serve_pages(studio, open_browser=browser, path=path, say=typer.echo, door=door)
