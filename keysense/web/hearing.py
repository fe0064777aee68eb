"""Hearing a take again: its notes for the browser, a sound file to pass on, and back to the piano through MIDI."""

from __future__ import annotations

import logging
import queue
import threading
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from keysense.capture.port import play_out
from keysense.capture.state import ListeningState
from keysense.errors import KeysenseError, PortError, SoundError, UnknownName
from keysense.sound import Playback, messages_of, render, sounding_ends_s
from keysense.sound.kept import chosen, kept_playback
from keysense.sound.piano import encoded, read_piano
from keysense.web.pages import own_studio, studio_of
from keysense.words import word

__all__ = ["ROUTES", "BackToPiano"]

_READY_S = 5.0
_PEDAL_UP = bytes((0xB0, 64, 0))


class BackToPiano:
    """The one playing that goes back to the piano; a new one ends it."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._quiet = threading.Event()
        self._thread: threading.Thread | None = None

    def play(self, messages: Iterable[tuple[float, bytes]], pattern: str) -> None:
        """Begin; returns once the piano is there. Raises PortError where it is not."""
        with self._lock:
            self._end()
            quiet, told = threading.Event(), queue.Queue[KeysenseError | None]()
            self._quiet = quiet

            def playing() -> None:
                try:
                    play_out(_until(quiet, messages), pattern=pattern, ready=lambda: told.put(None))
                except KeysenseError as cause:
                    told.put(cause)

            self._thread = threading.Thread(target=playing, name="keysense back to the piano", daemon=True)
            self._thread.start()
            try:
                trouble = told.get(timeout=_READY_S)
            except queue.Empty:
                quiet.set()
                trouble = PortError("the piano does not answer: switch it off and on again")
            if trouble is not None:
                raise trouble

    def stop(self) -> None:
        """Quiet: no further key goes down, and those that are down come up."""
        with self._lock:
            self._end()

    def _end(self) -> None:
        self._quiet.set()
        if self._thread is not None:
            self._thread.join(timeout=_READY_S)
            self._thread = None


def _until(quiet: threading.Event, messages: Iterable[tuple[float, bytes]]) -> Iterator[tuple[float, bytes]]:
    for message in messages:
        if quiet.is_set():
            break
        yield message
    yield 0.0, _PEDAL_UP


def notes(request: Request) -> Response:
    """The notes of a take as they are to be heard, as JSON; what cannot be is told in one line."""
    try:
        playback = _asked(request, request.query_params)
    except KeysenseError as cause:
        return JSONResponse({"said": str(cause)}, 404 if isinstance(cause, UnknownName) else 200)
    return JSONResponse(playback.to_json(sounding_ends_s(playback.take)))


def sound_file(request: Request) -> Response:
    """The same as a sound file."""
    suffix = f".{request.path_params['kind']}"
    piano = read_piano()
    data = encoded(render(_asked(request, request.query_params), piano), piano.rate_hz, suffix)
    name = f'attachment; filename="take{suffix}"'  # no name of a person in the name of a file
    return Response(data, media_type=f"audio/{_MEDIA[suffix]}", headers={"content-disposition": name})


async def to_piano(request: Request) -> Response:
    """Back to the piano; answers at once, the playing goes on. Where no piano answers, it can be heard here."""
    async with request.form() as form:
        asked = {name: str(value) for name, value in form.items()}
    return await run_in_threadpool(_to_piano, request, asked)


def _to_piano(request: Request, asked: Mapping[str, str]) -> Response:
    piano = ListeningState(own_studio(request).folder.journal).now().piano
    try:
        request.app.state.back_to_piano.play(messages_of(_asked(request, asked).take), piano)
    except PortError as cause:  # what to do about it in the computer is for the log; a child is beside the teacher
        logging.getLogger("keysense.web").warning("%s", cause)
        return JSONResponse({"said": word("hear.no_piano"), "here": True})
    except KeysenseError as cause:
        return JSONResponse({"said": str(cause)})
    return Response(status_code=204)


def hush(request: Request) -> Response:
    """The piano is let be."""
    request.app.state.back_to_piano.stop()
    return Response(status_code=204)


def _asked(request: Request, asked: Mapping[str, str]) -> Playback:
    """The take of this address, heard as the fields say: pace, bar, hand, speed."""
    playback = kept_playback(studio_of(request), request.path_params["ref"], pace=asked.get("pace", ""))
    bar = _number(asked, "bar")
    return chosen(
        playback,
        hand=asked.get("hand", ""),
        bar=None if bar is None else int(bar),
        speed=_number(asked, "speed") or 1.0,
    )


def _number(asked: Mapping[str, str], name: str) -> float | None:
    said = asked.get(name, "")
    try:
        number = float(said) if said else None
    except ValueError:
        number = float("nan")
    if number is not None and not abs(number) < 1e6:
        raise SoundError(f"{name} is to be a number, not {said!r}")
    return number


_MEDIA: dict[str, Any] = {".wav": "wav", ".mp3": "mpeg", ".ogg": "ogg", ".flac": "flac"}

ROUTES = (
    Route("/take/{ref}/notes.json", notes),
    Route("/take/{ref}/sound.{kind}", sound_file),
    Route("/take/{ref}/to-piano", to_piano, methods=["POST"]),
    Route("/hush", hush, methods=["POST"]),
)
