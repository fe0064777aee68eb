"""The weeks as a picture to look closer into: the one place where plotly is used.

Colours are named by the tokens of the style sheet (``var(--thread-1)``); the page fills in the ones that hold, so that
light and dark need no second figure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

__all__ = ["Dot", "weeks_figure"]


@dataclass(frozen=True)
class Dot:
    """One week: its Monday, its value and likely range, the piano, and what is said on pointing at it."""

    monday: date
    value: float
    low: float | None
    high: float | None
    piano: str
    said: str


def weeks_figure(dots: Sequence[Dot], title: str, ends: tuple[float, float], words: tuple[str, str]) -> str:
    """The figure as JSON; ``ends`` are the values at the top and at the foot, ``words`` stand there."""
    import plotly.graph_objects as go

    figure = go.Figure(
        layout={
            "paper_bgcolor": "rgba(0,0,0,0)",
            "plot_bgcolor": "rgba(0,0,0,0)",
            "font": {"family": "Andika, sans-serif", "size": 16, "color": "var(--ink)"},
            "margin": {"l": 70, "r": 20, "t": 20, "b": 50},
            "hovermode": "closest",
            "hoverlabel": {"bgcolor": "var(--sheet)", "bordercolor": "var(--ink)", "font": {"color": "var(--ink)"}},
            "showlegend": False,
            "dragmode": "pan",
            "yaxis": {
                "range": [ends[1], ends[0]], "tickvals": list(ends), "ticktext": list(words), "fixedrange": True,
                "gridcolor": "var(--line)", "zeroline": False,
            },
            "xaxis": {"gridcolor": "var(--hair)", "tickformat": "%e %b", "zeroline": False},
        }
    )  # fmt: skip
    for piano in dict.fromkeys(dot.piano for dot in dots):
        _add(figure, [dot for dot in dots if dot.piano == piano], last=piano == dots[-1].piano, title=title)
    return str(figure.to_json())


def _add(figure: Any, dots: Sequence[Dot], *, last: bool, title: str) -> None:
    """The weeks of one piano; another piano's weeks are hollow and no line joins them."""
    figure.add_scatter(
        name=title,
        mode="markers",
        x=[dot.monday.isoformat() for dot in dots],
        y=[dot.value for dot in dots],
        error_y={
            "type": "data",
            "symmetric": False,
            "array": [(dot.value if dot.high is None else dot.high) - dot.value for dot in dots],
            "arrayminus": [dot.value - (dot.value if dot.low is None else dot.low) for dot in dots],
            "color": "var(--thread-1)",
            "thickness": 3,
            "width": 0,
        },
        marker={
            "size": 13,
            "color": "var(--thread-1)" if last else "var(--ground)",
            "line": {"color": "var(--thread-1)", "width": 3},
        },
        text=[dot.said for dot in dots],
        hovertemplate="%{text}<extra></extra>",
    )
