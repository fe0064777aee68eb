"""``keysense gather``: another studio folder brought into this one."""

from __future__ import annotations

from fixtures.make.music import snail
from fixtures.make.player import Planted, play
from keysense.smf import take_to_smf
from keysense.studio import Studio


def test_another_folder_is_gathered_once(say, tmp_path):
    with Studio.open(tmp_path / "away") as away:
        pip = away.add_pupil("Pip", agreed_by="a guardian", on="2026-01-01")
        take = play(snail(), Planted(), 1).take()
        take_id = away.add_take(take, take_to_smf(take), started_utc=away.now())
        away.name_take(take_id, pupil=pip.id)
    assert say("gather", tmp_path / "away").out == "1 take came in.\n0 takes were here already.\n"
    assert say("gather", tmp_path / "away").out == "0 takes came in.\n1 take was here already.\n"
    assert say("gather", tmp_path / "nowhere").is_one_clear_line
