"""``keysense serve`` and ``keysense export``: the pages in the browser, and one of them as a file."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from keysense.cli.glue import StudioDir, echo, open_studio, progress

__all__ = ["export", "serve"]


def serve(
    port: Annotated[
        int, typer.Option("--port", metavar="N", min=1, max=65535, help="The number in the page's address.")
    ] = 8765,
    browser: Annotated[bool, typer.Option(help="Open the page in the browser.")] = True,
    listen: Annotated[bool, typer.Option(help="Listen to the piano meanwhile, while Listening is switched on.")] = True,
    studio: StudioDir = None,
) -> None:
    """Open the pages of your studio in the browser.

    They stay on this computer. Stop with Ctrl and C.
    """
    from keysense.web.serve import serve as serve_pages

    with open_studio() as opened:
        serve_pages(opened, port=port, open_browser=browser, listen=listen, say=typer.echo)


def export(
    take: Annotated[str, typer.Argument(metavar="TAKE", help="'last', or the beginning of a take's id.")],
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The page to write, ending .html.")],
    studio: StudioDir = None,
) -> None:
    """Write the page of one take as a single file.

    It opens in any browser, without keysense and without a network. Ask the guardian before you pass it on.
    """
    from keysense.export import export_take

    with open_studio(create=False) as opened, progress("drawing the page"):
        export_take(opened, opened.take(take).id, file)
    echo(f"Written: {file}")
