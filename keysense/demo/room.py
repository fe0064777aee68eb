"""The Tallow Bridge Music Room: the invented studio set up, and its lessons played through the real way.

Each playing goes from raw messages into the journal, is cut into a take, kept, named by one line, followed, looked at,
and its findings kept: nothing that is shown was worked out beforehand.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from importlib.resources import as_file, files

import numpy as np

from keysense.demo.day import Day
from keysense.demo.performer import RawMessage, perform
from keysense.demo.story import (
    LAST_WEEK,
    MODEL,
    PIECES,
    PUPILS,
    TAKES_A_WEEK,
    TODAY,
    WARMUP,
    WEEKS,
    Scene,
    warmup_playing,
)
from keysense.findings import Reading
from keysense.following.teacher import teach
from keysense.listening import recover
from keysense.studio import Studio
from keysense.studio.looking import look_at
from keysense.targets import read_target
from keysense.targets.target import Mark, Target

__all__ = [
    "Played",
    "begin_today",
    "furnish",
    "little_sister",
    "play_in_the_bell",
    "play_last_week",
    "play_today",
    "play_weeks",
]

_SEED = 20260


@dataclass(frozen=True)
class Played:
    """One scene after it was heard. ``take_id`` is the studio's, ``reading`` what was heard in it."""

    scene: Scene
    take_id: str
    reading: Reading


def score(name: str) -> Target:
    """One of the demo's own scores."""
    with as_file(files("keysense.demo").joinpath("scores", f"{name}.musicxml")) as path:
        return read_target(path)


def furnish(studio: Studio) -> None:
    """Write pupils into the register and put the pieces on the shelf; the studio says of itself that it is made up."""
    studio.remember("demo", {"alone": True})
    agreed = (studio.now() - timedelta(weeks=WEEKS + 2)).date()
    for nickname, guardian in PUPILS.items():
        studio.add_pupil(nickname, agreed_by=guardian, on=agreed)
    for title, name in PIECES.items():
        piece = studio.add_piece(title)
        target = score(name)
        if name == "millers_cat":
            target = target.with_marks([*target.marks, *_sleepy_layer(target)])
        studio.add_target(piece.id, target)
        if title == WARMUP:
            studio.set_warmup(piece.id, hand="R")


def _sleepy_layer(page: Target) -> Iterator[Mark]:
    """The slurs, the breath and the hairpins that only the sleepy cat is asked for."""
    ids = set(page.notes["id"].tolist())
    for mark in score("millers_cat_marked").marks:
        if mark.kind != "dynamic" and set(mark.note_ids) <= ids:
            yield replace(mark, layer="sleepy", id=f"{mark.id}-sleepy")


def play_weeks(studio: Studio) -> str:
    """Juno's warm-up, three times in each of ten weeks; gives her id."""
    juno, warm_up = studio.find_pupil("Juno"), studio.find_piece(WARMUP)
    target = studio.target_of(warm_up.id).target
    for week in range(WEEKS):
        day = Day(studio.folder.journal, studio.now() - timedelta(weeks=WEEKS - week))
        for number in range(TAKES_A_WEEK):
            take_id = _hear(studio, day, perform(target, warmup_playing(week), _SEED + 10 * week + number))
            studio.name_take(take_id, pupil=juno.id, piece=warm_up.id)
            look_at(studio, take_id)
    return juno.id


def play_in_the_bell(studio: Studio, day: Day) -> None:
    """The teacher plays Ferry Bell twice; that, and no score, is what it will be followed by."""
    bell = score("ferry_bell")
    takes = [_hear(studio, day, perform(bell, playing, _SEED + number)) for number, playing in enumerate(MODEL)]
    piece = studio.add_piece("Ferry Bell")
    taught = teach(
        [studio.take_notes(take_id) for take_id in takes], tempo_qpm=MODEL[0].tempo_qpm, quarters_per_bar=3,
        title="Ferry Bell",
    )  # fmt: skip
    studio.add_target(piece.id, taught.target)
    for take_id in takes:
        studio.mark_model(take_id, piece.id)


def play_last_week(studio: Studio) -> Iterator[Played]:
    """The lesson before: a place that came again and again, and two cards at first sight."""
    yield from _play(studio, Day(studio.folder.journal, studio.now() - timedelta(days=6)), LAST_WEEK, _SEED + 200)


def play_today(studio: Studio, day: Day) -> Iterator[Played]:
    """Today's scenes, one after the other."""
    yield from _play(studio, day, TODAY, _SEED + 100)


def _play(studio: Studio, day: Day, scenes: Sequence[Scene], seed: int) -> Iterator[Played]:
    for number, scene in enumerate(scenes):
        messages = perform(score(scene.tune), scene.playing, seed + number)
        take_id = _hear(studio, day, messages, cable_out_s=scene.cable_out_s)
        studio.name_line(take_id, scene.says, accept=True)
        yield Played(scene, take_id, look_at(studio, take_id))


def little_sister(studio: Studio, day: Day) -> str:
    """Wren bangs the keys. She has no agreement, and it is no tune: the take is not kept."""
    rng = np.random.default_rng(_SEED)
    fists: list[RawMessage] = []
    for strike in range(20):
        at_s = 0.12 * strike + float(rng.uniform(0, 0.03))
        for pitch in rng.choice(np.arange(40, 80), size=4, replace=False).tolist():
            fists += [(at_s, bytes([0x90, pitch, 110])), (at_s + 0.08, bytes([0x90, pitch, 0]))]
    take_id = _hear(studio, day, sorted(fists, key=lambda message: message[0]))
    studio.drop_take(take_id)
    return take_id


def _hear(studio: Studio, day: Day, messages: list[RawMessage], *, cable_out_s: float | None = None) -> str:
    """Play into the journal and take up what came of it."""
    day.play(messages, cable_out_s=cable_out_s)
    (found,) = recover(studio, flag="")
    return found.take_id


def begin_today(studio: Studio) -> Day:
    """The journal of today."""
    now: datetime = studio.now()
    return Day(studio.folder.journal, now - timedelta(minutes=40))
