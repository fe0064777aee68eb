"""What was kept elsewhere is brought home: nothing twice, nothing for something else, nothing that is here changed."""

from __future__ import annotations

import shutil

import pytest

from keysense.errors import StudioError
from keysense.studio import Studio
from keysense.studio.gathering import gather
from keysense.studio.looking import look_at
from tests.studio.conftest import a_target


@pytest.fixture
def home(studio, put):
    """A studio with one kept take; and how to carry a copy of it to the pupil's house."""
    pip = studio.add_pupil("Pip", agreed_by="his father", on="2026-09-01").id
    cat = studio.add_piece("Cat").id
    studio.add_target(cat, a_target())
    take = put()
    studio.name_take(take, pupil=pip, piece=cat)
    look_at(studio, take)
    return studio


def test_a_lesson_at_the_pupil_s_home_comes_back_whole_and_only_once(home, clock, tmp_path):
    away_folder = tmp_path / "away"
    home.close()
    shutil.copytree(home.folder.root, away_folder)
    pip, cat = home.find_pupil("pip").id, home.find_piece("cat").id
    with Studio.open(away_folder, now=clock) as away:
        clock.on(hours=2)
        again = _play(away)
        away.name_take(again, pupil=pip, piece=cat)
        look_at(away, again)
        away.guess(again, "grow", "end")
        away.remark(again, "like a bell", by="pupil")
        _play(away)  # without a name: it stays there, and is wiped
    found = gather(home, away_folder)
    assert (found.pupils, found.pieces, found.takes, found.here) == (0, 0, 1, 1)
    assert home.reading(again) is not None and home.take(again).journal_span is None
    assert home.guessed(again, "grow") == "end"
    assert [one.said for one in home.remarks(again)] == ["like a bell"]
    assert len(home.weeks_of(pip, cat, "tempo")) == 2
    twice = gather(home, away_folder)
    assert (twice.takes, twice.here) == (0, 2)


def test_two_studios_that_knew_nothing_of_each_other(home, clock, tmp_path):
    with Studio.open(tmp_path / "away", now=clock) as away:
        odile = away.add_pupil("Odile", agreed_by="her mother", on="2026-09-01").id
        cat = away.add_piece("Cat").id
        away.add_target(cat, a_target(pitch=62))
        take = _play(away)
        away.name_take(take, pupil=odile, piece=cat)
        look_at(away, take)
    before = home.target_of(home.find_piece("cat").id)
    found = gather(home, tmp_path / "away")
    assert (found.pupils, found.pieces, found.takes) == (1, 0, 1)
    assert home.target_of(home.find_piece("cat").id).id == before.id  # the music that stands here still stands
    assert home.take(take).piece_id == home.find_piece("cat").id
    assert home.pupil(odile).may_keep


def test_one_nickname_in_both_registers_is_asked_about(home, clock, tmp_path):
    with Studio.open(tmp_path / "away", now=clock) as away:
        other = away.add_pupil("pip", agreed_by="a guardian", on="2026-09-01").id
        take = _play(away)
        away.name_take(take, pupil=other)
    with pytest.raises(StudioError, match="--same pip"):
        gather(home, tmp_path / "away")
    assert len(home.takes()) == 1
    gather(home, tmp_path / "away", same=["Pip"])
    assert home.take(take).pupil_id == home.find_pupil("pip").id
    assert len(home.pupils()) == 1


def test_what_is_no_other_studio_is_said(home, tmp_path):
    with pytest.raises(StudioError, match="this studio itself"):
        gather(home, home.folder.root)
    with pytest.raises(StudioError, match="no studio"):
        gather(home, tmp_path / "nowhere")


def _play(studio: Studio) -> str:
    from keysense.smf import take_to_smf
    from tests.studio.conftest import a_take

    take = a_take()
    return studio.add_take(take, take_to_smf(take), started_utc=studio.now())
