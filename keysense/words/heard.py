"""One finding as one sentence for the teacher: what, where, how sure, from how much."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from keysense.finding import Finding
from keysense.words.catalogue import counted, has_word, word
from keysense.words.elsewhere import translated
from keysense.words.figures import breath_places, figure, figures, listed, place_words, places_words, size, start_large

__all__ = ["Way", "held_over", "say_all_for_teacher", "say_for_teacher", "title_of", "way"]

Way = Literal["up", "down", "same"]
_ROUGH = 1.5  # a likely range wider than so many times the figure

_COUNTED = (
    "notes_as_written", "notes_other_pitch", "notes_left_out", "notes_extra", "waits", "breath", "goings_back",
    "notes_corrected", "notes_again", "articulated_otherwise", "chords_rolled", "chords_rolled_as_written",
    "pedal_through", "rhythm_other",
)  # fmt: skip
_RESTS_ON = {
    "pairs": ("overlap", "overlap_ratio", "key_overlap", "hands_lag", "melody_lead", "melody_lead_loudness",
              "two_note_touch_gap", "two_note_touch_loudness", "two_note_touch_release", "rhythm_ratio", "swing",
              "npvi"),
    "phrase_ends": ("breath_time", "breath_air"),
    "steps": ("tempo", "evenness_timing", "evenness_timing_robust", "sd_ioi", "cv_ioi", "drift", "drift_section",
              "tempo_change", "period_spread", "final_slowing", "arch_tempo", "closing_speed", "closing_bend",
              "pulse_scatter", "key_scatter"),
    "playings": ("run_unevenness", "run_instability"),
    "runs": ("sd_ioi_up", "sd_ioi_down"),
    "chords": ("chord_spread", "chords_rolled", "chords_rolled_as_written"),
    "slurs": ("sigh_loudness", "sigh_release", "slur_end", "slurs_held_over", "slurs_joined", "slurs_just_joined",
              "slurs_apart", "slurs_short"),
    "bars": ("pedal_through",),
    "presses": ("pedal_press", "pedal_release", "pedal_share"),
}  # fmt: skip


def say_for_teacher(finding: Finding) -> str:
    """One sentence with its full stop: the place, what was heard, its likely range and what it rests on."""
    place = place_words(finding.place)
    if finding.value is None:
        why = translated(finding.why_missing).rstrip(".")
        key = "missing.place" if place else "missing"
        return start_large(word(key, title=title_of(finding.name), place=place, why=why)) + "."
    if finding.name in _COUNTED:
        said = _count(finding, int(finding.value))
    else:
        said = _against_limit(finding, _from(finding, _measured(finding, finding.value)))
    return start_large(word("place.lead", place=place, said=said) if place else said) + "."


def say_all_for_teacher(findings: Sequence[Finding]) -> list[str]:
    """A sentence each; what cannot be told for one and the same reason is told together."""
    said = [say_for_teacher(finding) for finding in findings if finding.value is not None]
    reasons: dict[str, list[str]] = {}
    for finding in findings:
        if finding.value is None:
            titles = reasons.setdefault(translated(finding.why_missing).rstrip("."), [])
            if title_of(finding.name) not in titles:
                titles.append(title_of(finding.name))
    missing = (word("missing", title=listed(titles), why=why) for why, titles in reasons.items())
    return [*said, *(start_large(sentence) + "." for sentence in missing)]


def title_of(name: str) -> str:
    """What a finding is called on pages."""
    return word(f"title.{name}") if has_word(f"title.{name}") else name.replace("_", " ")


def way(finding: Finding) -> Way:
    """Which way a signed finding went; ``same`` where its likely range holds both ways, or it does not stand.

    A finding that lies within a limit on one side went that way: its sentence must not contradict its outcome.
    """
    if finding.value is None or not finding.stands:
        return "same"
    if finding.verdict == "within" and finding.limit is not None and finding.limit.side != "both":
        asked: Way = "up" if finding.limit.side == "min" else "down"
        if finding.value * (1 if asked == "up" else -1) > 0:
            return asked
    low = finding.value if finding.low is None else finding.low
    high = finding.value if finding.high is None else finding.high
    return "up" if low > 0 else "down" if high < 0 else "same"


def held_over(finding: Finding) -> bool:
    """Whether the keys under a slur stayed down so long past the next note that letting go in time is what is asked."""
    return finding.name == "overlap_ratio" and finding.limit is not None and finding.limit.side == "max"


def _measured(finding: Finding, value: float) -> str:
    if has_word(f"{finding.name}.up"):
        return _signed(finding, value)
    if value == 0 and has_word(f"{finding.name}.none"):
        said = word(f"{finding.name}.none")
    elif has_word(finding.name):
        how = f"{finding.name}.{finding.place.how}"
        said = word(how if has_word(how) else finding.name, value=figure(value, finding.unit))
    else:
        unit = word(f"unit.{finding.unit}")
        said = word("other", title=title_of(finding.name), value=figure(value, finding.unit), unit=unit)
    return _likely(finding, said)


def _signed(finding: Finding, value: float) -> str:
    went = way(finding)
    kind = _same_kind(finding) if went == "same" else went
    if held_over(finding):
        kind = "over"
    said = word(f"{finding.name}.{kind}", size=size(value, finding.unit))
    if not finding.stands and kind != "within":
        return word("chance", said=said)
    return _likely(finding, said, turned=went == "down", bare=went == "same")


def _same_kind(finding: Finding) -> str:
    """A range that holds both ways: surely about the same, or too wide to tell, where the two are told apart."""
    if finding.low == finding.high == 0 and has_word(f"{finding.name}.level"):
        return "level"
    kind = {"within": "within", "beyond": "alike"}.get(finding.verdict or "", "unsure")
    return kind if has_word(f"{finding.name}.{kind}") else "same"


def _likely(finding: Finding, said: str, turned: bool = False, bare: bool = False) -> str:
    """The likely range, told in the direction of the sentence: fallen by 6, likely between 4 and 8.

    bare: the sentence has no figure of its own, so the range must say its unit.
    A range no wider than the figures' own grain says nothing more; one much wider than the figure is said to be rough.
    """
    if finding.low is None or finding.high is None or finding.value is None:
        return said
    low, high = (-finding.high, -finding.low) if turned else (finding.low, finding.high)
    first, last = figures((low, high), finding.unit)
    if first == last:
        return said
    if bare:
        unit = f"unit.{finding.name if has_word(f'unit.{finding.name}') else finding.unit}"
        return word("likely.unit", said=said, low=first, high=last, unit=word(unit))
    rough = high - low > _ROUGH * abs(finding.value) > 0
    if rough and low <= 0 and not has_word(f"{finding.name}.up"):
        return word("likely.up_to", said=said, high=last)
    return word("likely.rough" if rough else "likely", said=said, low=first, high=last)


def _against_limit(finding: Finding, said: str) -> str:
    signed = has_word(f"{finding.name}.up") and finding.limit is not None and finding.limit.side != "both"
    if finding.limit is None or finding.verdict in (None, "missing") or signed or not finding.stands:
        return said
    if finding.verdict == "unsure" and has_word(f"{finding.name}.up") and way(finding) == "same":
        return said  # that nobody can tell was said
    side = "min" if finding.limit.side == "min" else "max"
    return word(f"limit.{finding.verdict}.{side}", said=said, limit=figure(finding.limit.value, finding.unit))


def _from(finding: Finding, said: str) -> str:
    if not finding.n:
        return said
    kind = next((kind for kind, names in _RESTS_ON.items() if finding.name in names), "notes")
    key = f"n.{kind}"
    return word("from", said=said, n=counted(key, finding.n))


def _count(finding: Finding, n: int) -> str:
    if n == 0:
        return word(f"none.{finding.name}")
    if finding.name == "notes_as_written":
        return counted(finding.name, n)
    where = breath_places(finding) if finding.name == "breath" else places_words(finding)
    return counted(finding.name, n, where=where) if where else counted(f"unplaced.{finding.name}", n)
