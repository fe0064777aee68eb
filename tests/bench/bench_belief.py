"""Whether the confidence keeps its word, and which piece it is: thousands of planted takes.

``python tests/bench belief``. Nothing is asserted; ``tests/following/test_belief.py`` holds a smaller, fixed set.
"""

from __future__ import annotations

import itertools
from collections import defaultdict

import numpy as np

from keysense.following import recognise
from tests.bench import disturb, tunes
from tests.bench.belief import BINS, RIGHT_F1, Told, elsewhere, pieces, planted


def reliability(told: list[Told]) -> None:
    sure = np.array([t.sure for t in told])
    right = np.array([t.f1 >= RIGHT_F1 for t in told])
    for low, high in itertools.pairwise(BINS):
        among = (sure >= low) & (sure < high)
        if among.any():
            print(
                f"confidence {low:.1f} to {min(high, 1.0):.1f}: said {sure[among].mean():.3f}, "
                f"right {right[among].mean():.3f} of {among.sum()}"
            )


def calls(told: list[Told]) -> None:
    by: dict[str, list[Told]] = defaultdict(list)
    for one in told:
        by[one.name].append(one)
    for name, rows in by.items():
        lost = sum(t.lost for t in rows)
        well = sum(t.lost and t.f1 >= 0.9 for t in rows)
        print(f"{name:16} {len(rows):5} takes, lost {lost:4}, of them followed well {well:3}")


def naming(seeds: range, notes: int, shelf_of: int = 12) -> None:
    shelf = [tunes.piece(91_000 + k, bars=6 + k % 8, hands=1 + k % 2) for k in range(shelf_of)]
    named = wrong = first = 0
    for seed in seeds:
        rng = np.random.default_rng(seed)
        playing = disturb.other_pitch(disturb.plain(shelf[seed % shelf_of], rng), rng, 0.23)
        found = recognise(playing.sorted(playing.presses[:notes]).take, shelf)
        first += found.ranked[0].index == seed % shelf_of
        named += found.decided == seed % shelf_of
        wrong += found.decided not in (None, seed % shelf_of)
    n = len(seeds)
    print(
        f"{notes:3} notes, 23 % other pitches: first in rank {first}, named {named}, asked {n - named - wrong}, "
        f"wrong in silence {wrong} of {n}"
    )


def strangers(seeds: range, notes: int, shelf_of: int = 12) -> None:
    shelf = [tunes.piece(91_000 + k, bars=6 + k % 8, hands=1 + k % 2) for k in range(shelf_of)]
    named = 0
    for seed in seeds:
        playing = disturb.plain(tunes.piece(700_000 + seed, bars=16, hands=1 + seed % 2), np.random.default_rng(seed))
        named += recognise(playing.sorted(playing.presses[:notes]).take, shelf).decided is not None
    print(f"{notes:3} notes of a piece that is not on the shelf: named {named} of {len(seeds)}")


def cuts(n: int = 200) -> None:
    shelf = [tunes.piece(92_000 + k, bars=6, hands=1 + k % 2) for k in range(8)]
    near = 0
    for seed in range(n):
        rng = np.random.default_rng(seed)
        a, b = rng.choice(8, 2, replace=False)
        first, second = disturb.plain(shelf[a], rng).presses, disturb.plain(shelf[b], rng).presses.copy()
        by = first["onset_s"].max() + 1.5 - second["onset_s"].min()
        second["onset_s"] += by
        second["release_s"] += by
        cut = recognise(disturb.Playing(shelf[a], np.concatenate([first, second])).take, shelf).cut
        near += cut is not None and (cut.first, cut.second) == (a, b) and abs(cut.played - len(first)) <= 1
    print(f"two tunes in one take: cut within one note of the right place in {near} of {n}")


def main() -> None:
    own, other = list(planted(pieces(150))), list(elsewhere(1500))
    print("-- the confidence, over all planted takes (right: match F1 of .98 and more)")
    reliability(own + other)
    print("-- called lost")
    calls(own + other)
    print("-- which piece")
    naming(range(1000), 16)
    naming(range(10_000, 12_000), 16)
    naming(range(20_000, 20_500), 8)
    naming(range(30_000, 30_500), 32)
    for notes in (16, 24, 48):
        strangers(range(200), notes)
    cuts()


if __name__ == "__main__":
    main()
