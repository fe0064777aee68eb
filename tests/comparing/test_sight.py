"""Reading at first sight: planted pauses are found in their class, chance seldom is, and no cause is ever told."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fixtures.make.many import Reader, random_card, read_card, with_left_hand
from fixtures.make.music import Music, five_fingers, pattern
from keysense.comparing.classes import CLASSES, card_of
from keysense.comparing.sight import first_sight
from keysense.findings.heard import Heard
from keysense.practice import read_practice
from keysense.targets.target import Mark
from keysense.words.catalogue import word

PRACTICE = read_practice()


def heard(music: Music, reader: Reader, seed: int) -> Heard:
    played = read_card(music, reader, seed)
    return Heard(played.take(), music.target(), played.following(), PRACTICE)


def cards(reader: Reader, seed: int, *, number: int = 4, notes: int = 28) -> list[Heard]:
    return [heard(random_card(notes, 100 * seed + k), reader, 1000 * seed + k) for k in range(number)]


def with_both(reader: Reader, seed: int, *, number: int = 2, every: float = 2.0, after: float = 0.0) -> list[Heard]:
    keys = [100 * seed + k for k in range(number)]
    both = [with_left_hand(random_card(32, key), key, every=every, after=after) for key in keys]
    return [heard(music, reader, 10 * key) for music, key in zip(both, keys, strict=True)]


@pytest.mark.parametrize(("every", "after"), [(2.0, 0.0), (4.0, 0.0), (1.0, 0.5)])
def test_waiting_before_leaps_is_told_with_a_left_hand_along(every: float, after: float) -> None:
    """A left hand that strikes along, that joins now and then, that strikes between the notes of the tune."""
    told = [first_sight(with_both(Reader(0.12, {"leap": 1.5}), s, every=every, after=after)) for s in range(8)]
    assert sum(page.one("leap").word == "waited" for page in told) >= 7
    others = [one.name for page in told for one in page.classes if one.word == "waited" and one.name != "leap"]
    assert len(others) <= 1


def test_chance_is_seldom_told_as_a_wait_with_both_hands() -> None:
    pages = [first_sight(with_both(Reader(0.3), s)) for s in range(100)]
    claimed = np.mean([any(paused.word == "waited" for paused in page.classes) for page in pages])
    assert claimed <= 0.05 + 2 * (0.05 * 0.95 / 100) ** 0.5


def test_a_left_hand_that_joins_is_no_change_of_hands_and_hides_no_move() -> None:
    card = random_card(28, 5)
    alone, both = (card_of(heard(music, Reader(0.0), 5)) for music in (card, with_left_hand(card, 5, every=4.0)))
    assert not both.member[CLASSES.index("hand_change")].any()
    for name in ("pattern_change", "step", "skip", "leap", "new_position", "bar_line"):
        row = CLASSES.index(name)
        assert alone.member[row].tolist() == both.member[row].tolist(), name


def test_waiting_before_leaps_is_told_of_leaps_and_not_of_what_leaps_also_are() -> None:
    told = [first_sight(cards(Reader(0.2, {"leap": 1.8}), s)) for s in range(10)]
    assert all(reading.one("leap").word == "waited" for reading in told)
    assert sum(reading.one("pattern_change").word == "waited" for reading in told) <= 1


def test_the_figure_told_is_the_one_that_was_judged() -> None:
    """The notes of what is told first are set aside; a wait never stands beside an interval that holds 0."""
    told = [first_sight(cards(Reader(0.15, {"leap": 1.8, "bar line": 1.4}), s)) for s in range(10)]
    assert all(one.finding.low > 0 for page in told for one in page.classes if one.word == "waited")
    both = [page for page in told if page.one("leap").word == page.one("bar_line").word == "waited"]
    assert len(both) >= 8
    bar_lines = [page.one("bar_line").finding for page in both]
    assert np.mean([found.low <= 40 <= found.high for found in bar_lines]) >= 0.7
    assert all(found.n < 4 * 6 for found in bar_lines)  # of six bar lines a card some were leaps


def test_going_on_through_the_bar_lines_is_told() -> None:
    told = [first_sight(cards(Reader(0.15, {"change": 1.5}), s)) for s in range(6)]
    assert all(reading.one("pattern_change").word == "waited" for reading in told)
    assert sum(reading.one("bar_line").word == "went on" for reading in told) >= 5


@pytest.mark.parametrize("noise", [0.2, 0.35])
def test_chance_is_told_as_a_wait_on_at_most_one_page_in_twenty(noise: float) -> None:
    pages = [first_sight(cards(Reader(noise), s, number=3, notes=20)) for s in range(100)]
    claimed = np.mean([any(paused.word == "waited" for paused in page.classes) for page in pages])
    assert claimed <= 0.05 + 2 * (0.05 * 0.95 / 100) ** 0.5


@pytest.mark.parametrize(("number", "least"), [(2, 0.7), (4, 0.9)])
def test_pauses_a_quarter_longer_at_changes_are_found_from_pooled_cards(number: int, least: float) -> None:
    pages = [first_sight(cards(Reader(0.2, {"change": 1.25}), s, number=number)) for s in range(25)]
    assert np.mean([page.one("pattern_change").word == "waited" for page in pages]) >= least


def test_one_card_of_sixteen_notes_says_how_many_it_takes() -> None:
    page = first_sight(cards(Reader(), 1, number=1, notes=20))
    assert page.classes == ()
    assert "24 notes" in page.why and "16 came" in page.why


def test_a_slow_reader_and_a_quick_one_are_told_the_same() -> None:
    quick, slow = (first_sight(cards(Reader(0.2, {"leap": 1.6}, tempo), 3)) for tempo in (120.0, 40.0))
    assert [paused.word for paused in quick.classes] == [paused.word for paused in slow.classes]


def test_getting_slower_over_the_card_is_no_wait() -> None:
    from dataclasses import replace

    from fixtures.make.player import Planted, play

    music = replace(five_fingers(8), phrases=())
    reading = []
    for seed in range(3):
        played = play(music, Planted(ioi_noise=0.1, drift=-0.4), seed)
        reading.append(Heard(played.take(), music.target(), played.following(), PRACTICE))
    assert not any(paused.word == "waited" for paused in first_sight(reading).classes)


def test_a_long_note_is_not_taken_for_a_wait() -> None:
    music = pattern([1, 1, 1, 2, 0.5, 0.5] * 8)
    takes = [heard(music, Reader(0.1), s) for s in range(2)]
    assert not any(paused.word == "waited" for paused in first_sight(takes).classes)


def test_the_classes_of_a_card_are_read_from_the_page() -> None:
    # C4 D4 E4 F4 | G4 G4 E4 C4 | C5 B4 A4 G4 | C4
    music = random_card(13, 1)
    music = Music(
        "Doors", np.arange(13.0), np.ones(13), np.array([60, 62, 64, 65, 67, 67, 64, 60, 72, 71, 69, 67, 60]),
        ("R",) * 13, music.bar_starts,
    )  # fmt: skip
    take = heard(music, Reader(0.0), 1)
    card = card_of(take, guide_notes=(60, 67), line_bars=(3,))
    to_note = {name: (np.flatnonzero(row) + 1).tolist() for name, row in zip(CLASSES, card.member, strict=True)}
    assert to_note["step"] == [1, 2, 3, 4, 9, 10, 11]
    assert to_note["skip"] == [6, 7]
    assert to_note["leap"] == [8, 12]
    assert to_note["pattern_change"] == [5, 6, 8, 9, 12]
    assert to_note["guide_note"] == [4, 5, 7, 11, 12]
    assert to_note["bar_line"] == [4, 8, 12]
    assert to_note["line_end"] == [8]
    assert to_note["new_position"] == [8, 12]
    assert to_note["hand_change"] == []


def test_a_tune_that_passes_between_the_hands_changes_hand() -> None:
    base = five_fingers(4)
    hands = tuple("R" if (k // 4) % 2 == 0 else "L" for k in range(len(base)))
    music = Music("Passed on", base.onset, base.length, base.pitch, hands, base.bar_starts)
    card = card_of(heard(music, Reader(0.1), 1))
    row = card.member[CLASSES.index("hand_change")]
    assert (np.flatnonzero(row) + 1).tolist() == [4, 8, 12, 16, 20, 24, 28, 32]
    anew = card.member[CLASSES.index("pattern_change")]
    assert not set((np.flatnonzero(anew) + 1).tolist()) & {k for at in range(4, 33, 4) for k in (at, at + 1)}


def test_a_class_of_too_few_notes_says_so() -> None:
    page = first_sight([heard(five_fingers(4), Reader(0.1), s) for s in range(2)], line_bars=[(3,), ()])
    assert "as many others" in page.one("line_end").finding.why_missing
    assert page.one("leap") is None


def test_the_interval_holds_what_was_planted() -> None:
    pages = [first_sight(cards(Reader(0.2, {"leap": 1.5}), seed, number=2)) for seed in range(60)]
    found = [page.one("leap").finding for page in pages if page.one("leap") and page.one("leap").finding.value]
    assert len(found) >= 45  # some cards have hardly a leap
    assert np.mean([finding.low <= 50 <= finding.high for finding in found]) >= 0.9


def test_no_class_of_notes_is_without_words() -> None:
    for name in CLASSES:
        assert word(f"sight.{name}")
        assert word(f"title.pause_{name}")


def test_guide_notes_marked_in_the_music_stand_in_place_of_the_usual_ones() -> None:
    card = heard(random_card(28, 7), Reader(), 7)
    row = CLASSES.index("guide_note")
    usual = card_of(card, (53, 60, 67)).member[row]
    fifth = np.unique(card.target.notes["onset_quarter"])[4]
    mark = Mark("guide", float(fifth), float(fifth), "guide-1")
    marked = card_of(replace(card, target=card.target.with_marks([mark])), (53, 60, 67))
    assert marked.member[row].sum() == 1 and not np.array_equal(marked.member[row], usual)
