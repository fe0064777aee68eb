"""A page is a list of panels: what to show, in which order, and nothing of how it is drawn.

`dashboards` arranges pages; `plots` draws the pictures; `web` and the stand-alone writer turn both into HTML.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

__all__ = ["Page", "Panel"]


@dataclass(frozen=True)
class Panel:
    """One thing on a page.

    kind: which template draws it. name: what stands in the name column. content: what the template is given.
    for_teacher: it lies behind the fold.
    """

    kind: str
    name: str = ""
    content: dict[str, Any] = field(default_factory=dict)
    for_teacher: bool = False


@dataclass(frozen=True)
class Page:
    """One question and its panels. ``above`` is the small line over the title."""

    question: str
    title: str
    above: str = ""
    panels: Sequence[Panel] = ()

    def open_panels(self) -> list[Panel]:
        """What everyone sees."""
        return [panel for panel in self.panels if not panel.for_teacher]

    def folded_panels(self) -> list[Panel]:
        """What one press opens for the teacher."""
        return [panel for panel in self.panels if panel.for_teacher]
