"""What must hold of any page at every width, light and dark: axe finds nothing, nothing scrolls sideways."""

from __future__ import annotations

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

SCHEMES, WIDTHS = ("light", "dark"), (360, 820, 1440)
# What is on a page depends on its width, not on light and dark: there only the colours are looked at again.
_COLOURS = {"runOnly": {"type": "rule", "values": ["color-contrast", "link-in-text-block"]}}
SIDEWAYS = "document.documentElement.scrollWidth - document.documentElement.clientWidth"


def assert_clean_everywhere(page: Page) -> None:
    """Of one open page; it is turned light and dark, and made narrow and wide."""
    for scheme in SCHEMES:
        page.emulate_media(color_scheme=scheme, reduced_motion="reduce")  # type: ignore[arg-type]
        for width in WIDTHS:
            page.set_viewport_size({"width": width, "height": 900})
            found = Axe().run(page, options=_COLOURS if scheme == "dark" else None)
            assert found.violations_count == 0, f"{page.url} {scheme} {width}: {found.generate_report()}"
            assert page.evaluate(SIDEWAYS) <= 0, f"{page.url} {width}"
