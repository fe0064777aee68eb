"""Hearing again over the pages: the notes, the changed coat, a sound file, and plain words for what cannot be."""

from __future__ import annotations

import io
import threading

import httpx
import numpy as np
import pytest
import soundfile

from fixtures.studio_for_pages import PagesStudio
from keysense.capture import port
from keysense.capture.state import Listener
from keysense.errors import PortError
from keysense.studio.studio import Studio
from keysense.web import hearing
from keysense.web.shell import state_words


def notes(client: httpx.Client, take: str, **asked: object) -> dict:
    answer = client.get(f"/take/{take}/notes.json", params=asked)
    assert answer.status_code == 200
    return answer.json()


def test_the_notes_are_those_of_the_take(client: httpx.Client, studio: Studio, furnished: PagesStudio) -> None:
    played = studio.take_notes(furnished.sleepy).notes
    heard = notes(client, furnished.sleepy)
    assert [note[2] for note in heard["notes"]] == played["pitch"].tolist()
    assert [note[3] for note in heard["notes"]] == played["velocity"].tolist()
    assert heard["hands"] == ["R", "L"]
    assert [bar for bar, _ in heard["bars"]] == list(range(1, 9))


def test_every_place_is_on_the_engraved_page(client: httpx.Client, furnished: PagesStudio) -> None:
    page = client.get(f"/take/{furnished.sleepy}?guess=skip").text
    for note in notes(client, furnished.sleepy)["notes"]:
        if note[6]:
            assert f'-{note[6]}"' in page


def test_from_a_bar_one_hand_slower(client: httpx.Client, furnished: PagesStudio) -> None:
    whole = notes(client, furnished.proud)
    part = notes(client, furnished.proud, bar=5, hand="R", speed=0.5)
    assert {note[4] for note in part["notes"]} == {"R"}
    assert min(note[5] for note in part["notes"] if note[5]) == 5
    begun = dict(whole["bars"])
    assert dict(part["bars"])[7] == pytest.approx(2 * (begun[7] - begun[5]), abs=0.15)


def test_the_coat_is_changed(client: httpx.Client, furnished: PagesStudio) -> None:
    sleepy, proud = notes(client, furnished.sleepy), notes(client, furnished.proud)
    changed = notes(client, furnished.sleepy, pace=furnished.proud)
    ends = [took["notes"][-1][0] for took in (sleepy, proud, changed)]
    assert ends[2] == pytest.approx(ends[1], rel=0.03) and ends[2] < 0.8 * ends[0]
    assert np.mean([n[3] for n in changed["notes"]]) == pytest.approx(np.mean([n[3] for n in sleepy["notes"]]), abs=2)


@pytest.mark.parametrize(
    ("asked", "said"),
    [({"bar": "40"}, "bar 40 was not played"), ({"speed": "quick"}, "number"), ({"speed": "9"}, "choose from")],
)
def test_what_cannot_be_heard_is_told(client: httpx.Client, furnished: PagesStudio, asked: dict, said: str) -> None:
    answer = client.get(f"/take/{furnished.sleepy}/notes.json", params=asked)
    assert answer.status_code == 200
    assert said in answer.json()["said"]


def test_a_take_that_is_not_there(client: httpx.Client, furnished: PagesStudio) -> None:
    assert client.get("/take/ffffffff/notes.json").status_code == 404


def test_a_sound_file_to_pass_on(client: httpx.Client, studio: Studio, furnished: PagesStudio) -> None:
    answer = client.get(f"/take/{furnished.proud}/sound.mp3")
    assert answer.headers["content-type"] == "audio/mpeg"
    assert "pip" not in answer.headers["content-disposition"].lower()
    sound, rate_hz = soundfile.read(io.BytesIO(answer.content))
    took_s = studio.take_notes(furnished.proud).duration_s
    assert len(sound) / rate_hz == pytest.approx(took_s, abs=1.0)
    assert np.abs(sound).max() > 0.05


def test_back_to_the_piano(
    client: httpx.Client, studio: Studio, furnished: PagesStudio, monkeypatch: pytest.MonkeyPatch
) -> None:
    sent: list[bytes] = []
    played = threading.Event()

    def play_out(messages, *, pattern, ready):
        ready()
        sent.extend(raw for _, raw in messages)
        played.set()
        return []

    monkeypatch.setattr(hearing, "play_out", play_out)
    answer = client.post(
        f"/take/{furnished.sleepy}/to-piano", data={"hand": "L"}, headers={"origin": str(client.base_url)}
    )
    assert answer.status_code == 204
    assert played.wait(30)
    client.post("/hush", headers={"origin": str(client.base_url)})
    down = [raw[1] for raw in sent if raw[0] == 0x90]
    assert down == [note[2] for note in notes(client, furnished.sleepy, hand="L")["notes"]]
    assert sent[-1] == bytes((0xB0, 64, 0))


@pytest.mark.parametrize(
    "trouble",
    ["no piano to play to is called 'anything': plug it in", "no MIDI system answers (jack): start the JACK server"],
)
def test_without_a_piano_it_says_so_and_sounds_here(
    client: httpx.Client, furnished: PagesStudio, monkeypatch: pytest.MonkeyPatch, trouble: str
) -> None:
    def nowhere(*_: object, **__: object) -> None:
        raise PortError(trouble)

    monkeypatch.setattr(hearing, "play_out", nowhere)
    answer = client.post(f"/take/{furnished.sleepy}/to-piano", headers={"origin": str(client.base_url)})
    assert answer.status_code == 200
    said = answer.json()["said"]
    assert "plugged in" in said and "on this computer" in said and "JACK" not in said
    assert answer.json()["here"]


def test_the_head_of_a_page_speaks_of_no_server(monkeypatch: pytest.MonkeyPatch) -> None:
    import rtmidi

    def none(**_: object) -> None:
        raise OSError("no system")

    monkeypatch.setattr(rtmidi, "MidiIn", none)
    with pytest.raises(PortError) as told:
        port.list_pianos(api="jack")
    said = state_words(Listener(wanted=True, trouble=str(told.value)), True)
    assert "JACK" in str(told.value) and "JACK" not in said.second and "piano" in said.second


def test_quiet_ends_it_and_lifts_the_pedal() -> None:
    import threading

    quiet = threading.Event()
    going = hearing._until(quiet, [(0.0, b"\x90\x3c\x40"), (9.0, b"\x80\x3c\x40")])
    assert next(going) == (0.0, b"\x90\x3c\x40")
    quiet.set()
    assert list(going) == [(0.0, bytes((0xB0, 64, 0)))]
    assert port.play_out is hearing.play_out
