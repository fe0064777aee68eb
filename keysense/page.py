"""A page is a list of panels: what to show, in which order, and nothing of how it is drawn.

`dashboards` arranges pages; `plots` draws the pictures; `web` and the stand-alone writer turn both into HTML.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, overload

__all__ = ["Later", "Page", "Panel"]


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


class Later(Sequence[Panel]):
    """Panels that are arranged when they are first asked for: the head of a page is known, and sent, before them."""

    def __init__(self, arrange: Callable[[], Sequence[Panel]]) -> None:
        self._arrange = arrange

    @cached_property
    def _panels(self) -> tuple[Panel, ...]:
        return tuple(self._arrange())

    @overload
    def __getitem__(self, at: int) -> Panel: ...
    @overload
    def __getitem__(self, at: slice) -> Sequence[Panel]: ...
    def __getitem__(self, at: int | slice) -> Panel | Sequence[Panel]:
        """One of them, or some."""
        return self._panels[at]

    def __len__(self) -> int:
        """How many there are."""
        return len(self._panels)


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
