"""Pieces and the versions of their music."""

from __future__ import annotations

import pytest

from keysense.errors import StudioError, UnknownName

from .conftest import a_target


def test_a_new_version_never_overwrites_the_old(studio):
    cat = studio.add_piece("Cat")
    first = studio.add_target(cat.id, a_target(8))
    second = studio.add_target(cat.id, a_target(12))
    assert (first.version, second.version) == (1, 2)
    assert len(studio.target_of(cat.id).target.notes) == 12
    assert len(studio.target_of(cat.id, version=1).target.notes) == 8
    assert len(studio.target(first.id).target.notes) == 8


def test_a_target_comes_back_as_it_went_in(studio):
    cat = studio.add_piece("Cat")
    target = a_target(9, title="Cat")
    studio.add_target(cat.id, target)
    back = studio.target_of(cat.id).target
    assert (back.notes == target.notes).all()
    assert (back.bars == target.bars).all()
    assert back.to_json() == target.to_json()


def test_a_piece_without_music_says_what_to_do(studio):
    cat = studio.add_piece("Cat")
    with pytest.raises(StudioError, match="play-in"):
        studio.target_of(cat.id)
    with pytest.raises(UnknownName):
        studio.add_target("0" * 32, a_target())


def test_the_newest_music_of_every_piece(studio):
    cat, snail = studio.add_piece("Cat"), studio.add_piece("Snail")
    studio.add_piece("Silent")
    studio.add_target(cat.id, a_target())
    studio.add_target(cat.id, a_target(12))
    studio.add_target(snail.id, a_target(8))
    assert {t.piece_id: t.version for t in studio.targets()} == {cat.id: 2, snail.id: 1}


def test_a_standing_warm_up_is_set_once(studio):
    five = studio.add_piece("Five fingers")
    assert studio.set_warmup(five.id, hand="R").is_warmup
    assert [piece.warmup_hand for piece in studio.warmups()] == ["R"]
    studio.set_warmup(five.id, on=False)
    assert studio.warmups() == []


def test_characters_that_ship_and_the_studios_own(studio):
    known = studio.characters()
    assert {"sleepy", "proud"} <= set(known)
    assert studio.character("sleepi").word == "sleepy"
    assert studio.character("gloomy") is None
    assert studio.character("") is None


def test_numbered_pieces_stand_in_the_order_of_their_numbers(studio):
    for title in ("Card 10", "Card 2", "Bell", "Card 1", "2 Cards"):
        studio.add_piece(title)
    assert [piece.title for piece in studio.pieces()] == ["2 Cards", "Bell", "Card 1", "Card 2", "Card 10"]
