"""In which order bars are played, on bars made by hand."""

from __future__ import annotations

import pytest

from keysense.errors import TargetError
from keysense.targets import order
from keysense.targets.order import playing_order
from keysense.targets.page import PageBar, number_bars


def bars(*words: str) -> list[PageBar]:
    """One word a bar, such as ``|:``, ``:|3``, ``1,2`` (endings), ``DC``, ``DS``, ``S``, ``fine``, ``to``, ``coda``."""
    rows = []
    for word in words:
        bar = PageBar()
        for sign in word.split():
            if sign == "|:":
                bar.forward = True
            elif sign.startswith(":|"):
                bar.backward = int(sign[2:] or 2)
            elif sign[0].isdigit():
                bar.endings = frozenset(int(n) for n in sign.split(","))
            elif sign in ("DC", "DS"):
                bar.jump = {"DC": "capo", "DS": "segno"}[sign]
            elif sign != "-":
                setattr(bar, {"S": "segno", "to": "to_coda"}.get(sign, sign), True)
        rows.append(bar)
    return rows


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (("-", "-"), [0, 1]),
        (("-", ":|", "-"), [0, 1, 0, 1, 2]),
        (("-", "|:", ":|", "-"), [0, 1, 2, 1, 2, 3]),
        (("|: :|3", "-"), [0, 0, 0, 1]),
        (("|:", "1 :|", "2", "-"), [0, 1, 0, 2, 3]),
        (("-", "1 :|", "2", "-"), [0, 1, 0, 2, 3]),
        (("|:", "1,2 :|", "3", "-"), [0, 1, 0, 1, 0, 2, 3]),
        (("|:", "1", "1 :|", "2 :|", "-"), [0, 1, 2, 0, 3, 4]),
        (("|:", "1 :|", "2", "|:", ":|"), [0, 1, 0, 2, 3, 4, 3, 4]),
        ((":|", "|:", ":|", "-", ":|"), [0, 0, 1, 2, 1, 2, 3, 4, 3, 4]),
        (("-", "fine", "DC"), [0, 1, 2, 0, 1]),
        (("-", "S", "fine", "DS"), [0, 1, 2, 3, 1, 2]),
        (("-", "to", "DC", "coda"), [0, 1, 2, 0, 1, 3]),
        (("|:", ":|", "fine", "DC"), [0, 1, 0, 1, 2, 3, 0, 1, 2]),
        (("|:", "1 :|", "2 fine", "DC"), [0, 1, 0, 2, 3, 0, 2]),
    ],
)
def test_order_of_playing(words: tuple[str, ...], expected: list[int]) -> None:
    assert playing_order(bars(*words)) == expected


def test_without_repeats_every_bar_once() -> None:
    assert playing_order(bars("|:", ":|", "DC"), repeats=False) == [0, 1, 2]


def test_repeats_without_end_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(order, "_LONGEST", 50)
    with pytest.raises(TargetError, match="repeat"):
        playing_order(bars("|: :|99"))


def test_bars_keep_their_written_numbers() -> None:
    rows = [PageBar(name=name, implicit=implicit) for name, implicit in (("17", False), ("X1", True), ("18", False))]
    for row in rows:
        row.length = row.nominal
    number_bars(rows)
    assert [row.number for row in rows] == [17, 17, 18]
