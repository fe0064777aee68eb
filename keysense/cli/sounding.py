"""``keysense sound``: a take as a sound file, to be played to a family."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from keysense.cli.glue import StudioDir, echo, is_take_file, open_studio, progress, read_take_file
from keysense.errors import SoundError

if TYPE_CHECKING:
    from keysense.sound import Playback

__all__ = ["sound"]


class Hand(StrEnum):
    """Which hand is heard alone."""

    right = "right"
    left = "left"


def sound(
    take: Annotated[
        str, typer.Argument(metavar="TAKE", help="'last', the beginning of a take's id, or a file ending .mid.")
    ],
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The file to write, ending .wav, .mp3, .ogg or .flac.")],
    hand: Annotated[Hand | None, typer.Option("--hand", help="One hand only.")] = None,
    bar: Annotated[int | None, typer.Option("--from-bar", metavar="N", help="Begin at this bar.")] = None,
    speed: Annotated[
        float, typer.Option("--speed", metavar="SHARE", help="0.5 is half as fast; from 0.25 to 2.")
    ] = 1.0,
    pace: Annotated[
        str, typer.Option("--pace-of", metavar="TAKE", help="Heard at the pace of another take of the same tune.")
    ] = "",
    target: Annotated[
        Path | None, typer.Option("--target", metavar="TUNE", help="The music, where TAKE is a file.")
    ] = None,
    studio: StudioDir = None,
) -> None:
    """Write a take as a sound file, rendered from its keys on a sampled piano.

    A soft take stays softer than a loud one. Ask the guardian and the child before you pass it on. Piano sounds: Fluid
    R3 by Frank Wen, MIT licence.
    """
    from keysense.sound.kept import chosen, write_sound

    with progress("rendering the sound"):
        heard = _from_file(take, pace, target) if is_take_file(take) else _kept(take, pace)
        letter = {None: "", Hand.right: "R", Hand.left: "L"}[hand]
        write_sound(chosen(heard, hand=letter, bar=bar, speed=speed), file)
    echo(f"Written: {file}")


def _kept(take: str, pace: str) -> Playback:
    from keysense.sound.kept import kept_playback

    with open_studio(create=False) as opened:
        return kept_playback(opened, opened.take(take).id, pace=opened.take(pace).id if pace else "")


def _from_file(take: str, pace: str, target: Path | None) -> Playback:
    from keysense.following import placed
    from keysense.sound import at_pace_of, playback_of
    from keysense.targets import read_target

    if target is None:
        if pace:
            raise SoundError("two files are laid on one pace by their music: name it with --target")
        return playback_of(read_take_file(take))
    music = read_target(target)
    heard = [playback_of(one, music, placed(music, one)) for one in map(read_take_file, filter(None, (take, pace)))]
    return at_pace_of(*heard) if pace else heard[0]
