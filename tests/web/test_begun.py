"""A page is begun before it is made, and music is engraved at the one width that is needed."""

from __future__ import annotations

import re
from concurrent.futures import ThreadPoolExecutor
from contextlib import nullcontext
from typing import Any

import anyio
import httpx
import pytest

from fixtures.studio_for_pages import PagesStudio
from keysense.errors import StudioError
from keysense.page import Later, Page, Panel
from keysense.web.begun import Begun
from keysense.web.render import Shell


def answered(sent: list[str], *, make: Any = None, arrange: Any = None) -> None:
    """Serve one such page, each of its pieces into ``sent`` as it comes."""
    page = Page("", "Ferry Bell", "", Later(arrange or (lambda: [Panel("text", "", {"said": ["a long look"]})])))

    async def send(message: Any) -> None:
        sent.append(message.get("body", b"").decode())

    def instead(fault: Exception) -> tuple[Page, Shell]:
        return Page("", "This cannot be done", "", [Panel("text", "", {"said": [str(fault)]})]), Shell("problem")

    begun = Begun(nullcontext, lambda: None, make or (lambda: (page, Shell("take"))), instead)

    async def serve() -> None:
        await begun({}, None, send)  # type: ignore[arg-type]

    with ThreadPoolExecutor(1) as apart:  # a browser of another test may have a loop of its own in this thread
        apart.submit(anyio.run, serve).result()


def test_styles_and_head_are_sent_before_the_rest_is_looked_up() -> None:
    sent: list[str] = []

    def arrange() -> list[Panel]:
        assert "all.css" in "".join(sent) and "Ferry Bell" in "".join(sent)
        return [Panel("text", "", {"said": ["a long look"]})]

    answered(sent, arrange=arrange)
    whole = "".join(sent)
    assert whole.startswith("<!doctype html>") and "a long look" in whole and whole.rstrip().endswith("</html>")


@pytest.mark.parametrize("where", ["make", "arrange"])
def test_what_cannot_be_done_is_said_on_the_page_that_was_begun(where: str) -> None:
    def busy() -> Any:
        raise StudioError("the studio is busy with another keysense")

    sent: list[str] = []
    answered(sent, **{where: busy})
    assert "busy with another keysense" in "".join(sent) and "".join(sent).rstrip().endswith("</html>")


def test_a_fault_of_ours_ends_the_page_and_is_passed_on_to_be_written_down() -> None:
    sent: list[str] = []
    with pytest.raises(ZeroDivisionError):
        answered(sent, arrange=lambda: 1 / 0)
    assert "".join(sent).count("</html>") == 1


def test_a_window_whose_width_is_known_is_sent_one_engraving(client: httpx.Client, furnished: PagesStudio) -> None:
    cat = furnished.cat
    paths = (
        f"/take/{furnished.sleepy}?guess=skip",
        f"/piece/{cat}",
        f"/piece/{cat}/mark",
        f"/draw/{furnished.pip}/{cat}",
    )

    def widths(path: str, known: str) -> list[str]:
        client.cookies.set("width", known)
        return re.findall(r'<div class="((?:wide|mid|tight)[^"]*)"[^>]*>\s*<div class="system', client.get(path).text)

    for path in paths:
        assert widths(path, "") == ["wide", "mid", "tight"]
        assert widths(path, "mid") == ["mid alone"]
        assert widths(path, "sideways") == ["wide", "mid", "tight"]
