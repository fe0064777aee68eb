"""Many takes in words: spots, first sight, a piano made known; a sentence for the teacher and one for the child."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

from keysense.tempo_words import TempoWord, words_for
from keysense.words.catalogue import counted, word
from keysense.words.elsewhere import translated
from keysense.words.figures import WEEKS, figure, figures, listed, size, start_large

if TYPE_CHECKING:
    from keysense.comparing.sight import Paused, SightReading
    from keysense.comparing.spots import PieceSpot, Spot, Spots
    from keysense.comparing.weeks import WeekLine
    from keysense.finding import Finding
    from keysense.survey import Survey
    from keysense.units import Unit

__all__ = [
    "how_to_survey",
    "say_moved",
    "say_piece_spot",
    "say_sight",
    "say_sight_to_child",
    "say_spot",
    "say_spots_to_child",
    "say_survey",
    "say_tempo_words",
    "say_week_error",
]

_KINDS = ("waited", "another note", "left out", "went back", "put right", "struck again")
_NEAR = 1e-6  # quarters
_TOUCHES = ("touch_floor", "touch_soft", "touch_middle", "touch_loud", "touch_ceiling")


def say_spot(spot: Spot, *, newest: int) -> str:
    """One spot for the teacher. newest: how many of the newest takes make it gone."""
    beat = math.floor(spot.beat_quarter + _NEAR)
    between = spot.beat_quarter - beat > _NEAR
    place = word("spots.place.between" if between else "spots.place", bar=spot.bar, beat=1 + beat)
    kinds = listed([word(f"spots.kind.{kind}") for kind in _KINDS if spot.kinds.get(kind)])
    said = word("spots.said", place=place, takes=spot.takes, of=spot.of, kinds=kinds)
    return start_large(word("spots.gone", said=said, newest=newest) if spot.state == "gone" else said) + "."


def say_piece_spot(spot: PieceSpot) -> str:
    """A bar that catches many, as counts without names."""
    return word("spots.piece", bar=spot.bar, pupils=spot.pupils, of=spot.of)


def say_spots_to_child(found: Spots, last_quarter: float) -> str:
    """The spots, for the child: the first place there is, that of the picture; then a place that goes on now."""
    if found.why:
        return word("child.missing")
    there = next((spot for spot in found.spots if spot.state != "gone"), None)
    gone = next((spot for spot in found.spots if spot.state == "gone"), None)
    said = []
    if there is not None:
        said.append(word(f"child.spots.{_kind(there)}", place=_part(there, last_quarter)))
    if gone is not None:
        where = _part(gone, last_quarter)
        same = there is not None and where == _part(there, last_quarter)
        said.append(word(f"child.spots.gone.{_kind(gone)}", place=word("spots.part.beside") if same else where))
    return " ".join(said) or word("child.spots.none")


def _kind(spot: Spot) -> str:
    """What came there most often."""
    return max(_KINDS, key=lambda kind: spot.kinds.get(kind, 0))


def _part(spot: Spot, last_quarter: float) -> str:
    """In which part of the tune it lies."""
    third = min(2, int(3 * spot.quarter / max(last_quarter, 1e-9)))
    return word(f"spots.part.{('start', 'middle', 'end')[third]}")


def say_sight(reading: SightReading) -> list[str]:
    """What was heard at first sight, for the teacher: what it waited for first, then where it went on."""
    if reading.why:
        return [word("sight.why", why=translated(reading.why))]
    order = ("waited", "went on", "can't tell")
    said = [_paused(paused) for kind in order for paused in reading.classes if paused.word == kind]
    return [counted("sight.from", reading.cards), *said, word("sight.caution")]


def _paused(paused: Paused) -> str:
    where, finding = word(f"sight.{paused.name}"), paused.finding
    if finding.value is None or finding.low is None or finding.high is None:
        return word("sight.missing", where=where, why=translated(finding.why_missing))
    value, ends = size(finding.value, "%"), (finding.low, finding.high)
    key = "alike" if paused.word == "went on" and finding.high > 0 else paused.word  # only what is shorter went on
    if key in ("alike", "can't tell"):
        low, high = (word("sight.longer" if end > 0 else "sight.shorter", size=size(end, "%")) for end in ends)
    else:
        low, high = sorted((size(end, "%") for end in ends), key=float)
    return word(f"sight.{key}", where=where, value=value, low=low, high=high, n=finding.n)


def say_sight_to_child(reading: SightReading) -> str:
    """One thing the child hears of it."""
    for paused in reading.classes:
        if paused.word == "waited":
            return word(f"child.sight.{paused.name}")
    on = any(paused.word == "went on" for paused in reading.classes)
    return word("child.sight.on" if on else "child.sight.unsure")


def say_week_error(line: WeekLine, unit: Unit) -> list[str]:
    """How far a take moves by itself, which weeks stand out, and which are not judged."""
    said = []
    if line.smallest_change is not None:
        n = line.error.n if line.error else 0
        said.append(word("weeks.smallest", change=figures((line.smallest_change,), unit, WEEKS)[0], n=n))
    if line.control is not None:
        judged = [week for week in line.weeks if week.judged]
        out = [str(week.week) for week in judged if not line.control.low <= week.value <= line.control.high]
        ends = dict(zip(("low", "high"), figures((line.control.low, line.control.high), unit, WEEKS), strict=True))
        outside = counted("weeks.outside", len(out), weeks=listed(out), **ends)
        said.append(outside if out else word("weeks.inside", **ends))
    if not all(week.judged for week in line.weeks):
        said.append(word("weeks.other_piano"))
    return said


def say_tempo_words(tempo_qpm: float, table: tuple[TempoWord, ...]) -> list[str]:
    """What a pace is called; nothing where the table has no word for it."""
    words = words_for(tempo_qpm, table)
    if not words:
        return []
    said = words[0] if len(words) == 1 else word("tempo.words.or", first=words[0], second=words[-1])
    return [word("tempo.words", words=said)]


def how_to_survey() -> list[str]:
    """The teacher's script."""
    return [word(f"survey.how.{part}") for part in ("lead", "strokes", "pairs", "pedal", "silence", "then")]


def say_survey(survey: Survey) -> list[str]:
    """What was learnt of a piano, a sentence each."""
    said = [word("survey.fixed")] if survey.fixed else [_touch(survey.one(name)) for name in _TOUCHES]
    bias = [finding for finding in survey.findings if finding.name == "key_bias"]
    alike = len(bias) > 1 and all(finding.verdict == "within" for finding in bias)
    said += [word("survey.key_bias.alike")] if alike else [_bias(finding) for finding in bias]
    said += [_pair(survey.one(name)) for name in ("pair_gap", "pair_loudness")]
    step = survey.one("clock_step").value
    said.append(word("survey.clock_step.fine") if step is None else word("survey.clock_step", value=f"{step:g}"))
    said.append(word(f"survey.pedal.{survey.pedal}"))
    stray = int(survey.one("stray_messages").value or 0)
    return said + ([counted("survey.stray_messages", stray)] if stray else [])


def say_moved(moved: Mapping[str, float]) -> list[str]:
    """What has moved since the survey before, a sentence each; nothing where both agree."""
    return [
        start_large(
            word(f"survey.moved.{'up' if by > 0 else 'down'}", title=word(f"title.{name}"), by=size(by, "velocity"))
        )
        for name, by in moved.items()
    ]


def _pair(finding: Finding) -> str:
    """What the piano does to two keys struck together; which of them, only where it is sure."""
    if finding.value is None or finding.low is None or finding.high is None:
        return _touch(finding)
    if finding.low <= 0 <= finding.high:
        return word(f"survey.{finding.name}.same", n=finding.n)
    low, high = sorted((abs(finding.low), abs(finding.high)))
    slots = {
        "value": size(finding.value, finding.unit),
        "low": size(low, finding.unit),
        "high": size(high, finding.unit),
    }
    return word(f"survey.{finding.name}.{'up' if finding.value > 0 else 'down'}", **slots)


def _touch(finding: Finding) -> str:
    title = word(f"title.{finding.name}")
    if finding.value is None:
        return start_large(word("survey.missing", title=title, why=translated(finding.why_missing)))
    if finding.low is None or finding.high is None:
        return start_large(word("survey.point", title=title, value=figure(finding.value, finding.unit), n=finding.n))
    value, low, high = (figure(v, finding.unit) for v in (finding.value, finding.low, finding.high))
    return start_large(word("survey.touch", title=title, value=value, low=low, high=high, n=finding.n))


def _bias(finding: Finding) -> str:
    region = word(f"survey.region.{finding.place.mark}")
    if finding.value is None:
        return start_large(word("survey.missing", title=word("title.key_bias"), why=translated(finding.why_missing)))
    if finding.verdict != "beyond" or finding.low is None or finding.high is None:
        return word(f"survey.key_bias.{finding.verdict or 'unsure'}", region=region, n=finding.n)
    low, high = sorted((abs(finding.low), abs(finding.high)))
    return word(
        "survey.key_bias.beyond", region=region, way=word(f"survey.way.{'up' if finding.value > 0 else 'down'}"),
        value=size(finding.value, "velocity"), low=size(low, "velocity"), high=size(high, "velocity"),
    )  # fmt: skip
