"""Looking at takes and laying two side by side, by commands: what is said, and the contracts of the JSON."""

from __future__ import annotations

import json

from keysense.studio import Studio


def test_two_characters_side_by_side(lesson, files):
    for word in ("sleepy", "proud"):
        lesson("bring", files / f"{word}.mid", "--for", f"pip cat {word}")
    with Studio.open() as studio:
        refs = [take.id for take in studio.takes()]
    said = lesson("beside", refs[1][:8], refs[0][:8])
    assert said.code == 0
    assert "asked and heard" in said.out


def test_beside_json_follows_the_contract(say, files):
    said = say(
        "beside", files / "sleepy.mid", files / "proud.mid", "--target", files / "tune.mid",
        "--wants-a", "sleepy", "--wants-b", "proud", "--json",
    )  # fmt: skip
    assert said.code == 0
    body = json.loads(said.out)
    assert body["schema"] == 1
    rows = {row["name"]: row for row in body["dimensions"]}
    assert set(rows) == {"tempo", "loudness", "contrast", "touch", "evenness", "breath"}
    assert rows["tempo"]["outcome"] == rows["loudness"]["outcome"] == "asked and heard"


def test_look_json_follows_the_contract_without_any_studio(say, files, tmp_path):
    said = say("look", files / "sleepy.mid", "--target", files / "tune.mid", "--json")
    assert (said.code, said.err) == (0, "")
    body = json.loads(said.out)
    assert {"schema", "keysense", "recipe", "take", "target", "following", "findings"} <= set(body)
    assert body["take"]["file"] == "sleepy.mid"
    assert body["take"]["n"] == body["target"]["n"] == len(body["target"]["note_ids"]) == 26
    assert body["following"]["lost"] is False
    assert {"played", "target", "passing", "kind", "confidence"} == set(body["following"]["pairs"][0])
    for finding in body["findings"]:
        assert {"name", "value", "unit", "n", "low", "high", "limit", "place"} <= set(finding)
        assert set(finding["place"]) == {"bars", "hand", "mark"}
        if finding["unit"] == "count":
            assert finding["low"] is finding["high"] is None
            assert "places" in finding
    assert "NaN" not in said.out
    assert not (tmp_path / "studio").exists()


def test_a_lost_place_is_no_fault_and_gives_no_findings(say, files):
    said = say("look", files / "random.mid", "--target", files / "tune.mid", "--json")
    assert said.code == 0
    body = json.loads(said.out)
    assert body["findings"] == []
    assert body["following"]["lost"] is True
    assert "lost the place" in say("look", files / "random.mid", "--target", files / "tune.mid").out


def test_a_file_is_looked_at_against_a_piece_of_the_studio(lesson, files):
    said = lesson("look", files / "sleepy.mid", "--target", "millers cat", "--json")
    body = json.loads(said.out)
    with Studio.open() as studio:
        assert body["target"]["id"] == studio.target_of(studio.find_piece("cat").id).id
        assert studio.takes() == []


def test_look_of_a_kept_take_names_it_and_its_music(lesson, files):
    lesson("bring", files / "sleepy.mid", "--for", "pip cat sleepy")
    body = json.loads(lesson("look", "last", "--json").out)
    with Studio.open() as studio:
        take = studio.take("last")
        assert body["take"]["id"] == take.id
        assert body["target"]["id"] == studio.target_of(take.piece_id).id


def test_a_kept_take_is_looked_at_against_other_music_without_being_kept_so(lesson, files):
    lesson("bring", files / "sleepy.mid", "--for", "pip cat sleepy")
    said = lesson("look", "last", "--target", files / "tune.mid", "--json")
    assert json.loads(said.out)["target"]["id"] is None


def test_a_character_may_be_a_file_of_the_teachers_own(lesson, files, tmp_path):
    (tmp_path / "owl.toml").write_text('word = "owl"\nsays = "like an owl"\n[wishes]\ntempo = "quicker"\n')
    for word in ("sleepy", "proud"):
        lesson("bring", files / f"{word}.mid", "--for", f"pip cat {word}")
    with Studio.open() as studio:
        newest, older = (take.id for take in studio.takes())
    names = {older: "sleepy", newest: "proud"}
    by_name = {name: ref for ref, name in names.items()}
    said = lesson("beside", by_name["proud"], by_name["sleepy"], "--wants-b", tmp_path / "owl.toml", "--json")
    body = json.loads(said.out)
    assert body["characters"]["b"] == "owl"
    tempo = next(row for row in body["dimensions"] if row["name"] == "tempo")
    assert tempo["wish_b"] == "quicker"
    assert body["takes"]["a"]["id"] == by_name["proud"]


def test_the_teachers_own_limit_holds_for_files_too(say, files, tmp_path):
    (tmp_path / "studio").mkdir()
    (tmp_path / "studio" / "practice.toml").write_text("[drift]\nvalue = 77\n")
    said = say("look", files / "sleepy.mid", "--target", files / "tune.mid", "--json")
    drift = next(row for row in json.loads(said.out)["findings"] if row["name"] == "drift")
    assert drift["limit"]["value"] == 77
    assert "within 77 %" in say("practice", "drift").out
    (tmp_path / "studio" / "practice.toml").write_text("[drift\n")
    assert say("look", files / "sleepy.mid", "--target", files / "tune.mid").is_one_clear_line
