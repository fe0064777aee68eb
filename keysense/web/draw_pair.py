"""What the templates of two characters are given."""

from __future__ import annotations

from typing import Any

from markupsafe import Markup

from keysense.comparing import Dimension
from keysense.plots.frame import Bounds
from keysense.plots.ranges import two_ranges
from keysense.plots.shapes import beside_picture, length_threads
from keysense.plots.signs import outcome_sign, plain_sign
from keysense.plots.tempo import pace_of, two_paces
from keysense.plots.under import drawn_from
from keysense.words import word
from keysense.words.comparing import dimension_lead, say_dimension
from keysense.words.figures import figure

__all__ = ["coat", "dimension_table", "dimensions", "lengths", "paces"]

_ALIKE = 0.05  # lengths within a twentieth are told as alike


def coat(content: dict[str, Any]) -> dict[str, Markup]:
    """One take's loudness picture, wide and narrow; the second in the second thread."""
    drawn = drawn_from(content["reading"], content["marks"], bounds=Bounds(*content["bounds"]))
    title = word("beside.coat", name=content["name"])
    wide, narrow = (beside_picture(drawn, title, narrow=n, cls=content["cls"]) for n in (False, True))
    return {"wide": Markup(wide), "narrow": Markup(narrow)}  # noqa: S704 - our own drawings, their words escaped


def lengths(content: dict[str, Any]) -> Markup:
    """How long each took, as two threads."""
    (a, b), (first, second) = content["takes"], content["names"]
    if abs(a.duration_s - b.duration_s) <= _ALIKE * max(a.duration_s, b.duration_s):
        title = word("beside.lengths.same", first=first, second=second)
    else:
        longer = word("beside.lengths.longer" if a.duration_s > b.duration_s else "beside.lengths.shorter")
        title = word("beside.lengths.title", first=first, second=second, longer=longer)
    return Markup(length_threads(a.duration_s, b.duration_s, title))  # noqa: S704


def paces(content: dict[str, Any]) -> Markup:
    """How both moved, on one scale; empty where too little was played to tell."""
    (a, b), (first, second) = content["readings"], content["names"]
    starts = a.target.bars["start_quarter"]
    span = float(starts[0]), float(starts[-1] + a.target.bars["length_quarter"][-1])
    title = word("beside.paces.title", first=first, second=second)
    return Markup(two_paces(pace_of(a), pace_of(b), span, starts[1:].tolist(), title))  # noqa: S704


def dimensions(content: dict[str, Any]) -> list[dict[str, Any]]:
    """Each dimension with its sign, outcome words, sentence and the two ranges on one line."""
    rows = []
    for dimension in content["dimensions"]:
        said = say_dimension(dimension, content["names"])
        lead = dimension_lead(dimension)
        drawn = two_ranges(dimension.a.name, dimension.a, dimension.b, word("found.range", title=lead, said=said))
        rows.append(
            {
                "sign": Markup(_sign(dimension)),  # noqa: S704
                "outcome": word(f"outcome.{dimension.outcome}") if dimension.outcome else "",
                "lead": f"{lead}:",
                "said": said,
                "range": Markup(drawn) if drawn else "",  # noqa: S704
            }
        )
    return rows


def _sign(dimension: Dimension) -> str:
    if dimension.outcome:
        return outcome_sign(dimension.outcome)
    return plain_sign(known=dimension.way is not None)


def dimension_table(content: dict[str, Any]) -> dict[str, Any]:
    """The same as a table."""
    first, second = content["names"]
    heads = (
        (word("table.what"), 0), (first, 1), (word("table.likely"), 1), (second, 1), (word("table.likely"), 1),
        (word("table.unit"), 0), (word("table.outcome"), 0),
    )  # fmt: skip
    return {
        "caption": word("beside.name", first=first, second=second),
        "heads": [{"said": said, "figure": is_figure} for said, is_figure in heads],
        "rows": [_row(dimension) for dimension in content["dimensions"]],
    }


def _row(dimension: Dimension) -> list[str]:
    none = word("table.none")
    row = [dimension_lead(dimension)]
    for finding in (dimension.a, dimension.b):
        row.append(none if finding.value is None else figure(finding.value, finding.unit))
        known = finding.low is not None and finding.high is not None
        ends = [figure(bound, finding.unit) for bound in (finding.low, finding.high) if bound is not None]
        row.append(word("table.between", low=ends[0], high=ends[1]) if known else none)
    outcome = word(f"outcome.{dimension.outcome}") if dimension.outcome else none
    return [*row, word(f"unit.{dimension.a.unit}"), outcome]
