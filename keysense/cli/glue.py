"""What all commands share: which studio, one line for every fault, and a sign of life where something takes long."""

from __future__ import annotations

import os
import sys
import threading
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from keysense.errors import KeysenseError, TakeFileError

if TYPE_CHECKING:
    from keysense.notes import Take
    from keysense.studio import Studio

__all__ = [
    "StudioDir",
    "echo",
    "is_path",
    "is_take_file",
    "is_target_file",
    "open_studio",
    "print_json",
    "progress",
    "read_take_file",
    "run",
    "table",
]

BAD_INPUT = 2
_STOPPED = 130
_TAKE_FILES = (".mid", ".midi", ".smf")
_TARGET_FILES = (".musicxml", ".xml", ".mxl", ".mid", ".midi")


def _choose_studio(folder: Path | None) -> Path | None:
    # The environment, so that the programs this one starts (the listener) find the same studio.
    if folder is not None:
        os.environ["KEYSENSE_STUDIO"] = str(folder)
    return folder


StudioDir = Annotated[
    Path | None,
    typer.Option(
        "--studio",
        metavar="DIR",
        callback=_choose_studio,
        help="The folder your studio is kept in, if it is not the usual one.",
    ),
]


def run(app: typer.Typer, words: list[str] | None = None) -> int:
    """Run a command line and give its exit code; every fault that is meant for people is one line on stderr."""
    _let_any_letter_out()
    try:
        code = app(args=words, standalone_mode=False, prog_name="keysense")
        sys.stdout.flush()
    except KeysenseError as error:
        return _say(str(error))
    except BrokenPipeError:  # the reader of a pipe has gone: that is not a fault
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except OSError as error:
        return _say(_in_words(error))
    except (KeyboardInterrupt, typer.Abort):
        return _STOPPED
    except Exception as error:
        if not _is_usage(error):
            raise
        return _say(f"{error.format_message()} ('keysense {' '.join(_command_of(error))}--help' says how)")  # type: ignore[attr-defined]
    return code if isinstance(code, int) else 0


def open_studio(*, create: bool = True) -> Studio:
    """The studio that the option, the environment or the settings name; its language is spoken from then on."""
    from keysense.studio import Studio
    from keysense.words.catalogue import use_language

    studio = Studio.open(create=create)
    use_language(studio.settings.language)
    return studio


def is_path(text: str) -> bool:
    """Whether a word on the command line means a file rather than a name."""
    return "/" in text or os.sep in text or text.lower().endswith((*_TAKE_FILES, *_TARGET_FILES))


def is_take_file(text: str) -> bool:
    """Whether a TAKE is a file."""
    return text.lower().endswith(_TAKE_FILES)


def is_target_file(text: str) -> bool:
    """Whether a TUNE is a file."""
    return text.lower().endswith(_TARGET_FILES) or Path(text).is_file()


def read_take_file(path: str) -> Take:
    """The take in a Standard MIDI File; raises TakeFileError, also where the file has no notes at all."""
    from keysense.smf import read_take

    if not is_take_file(path) and not Path(path).is_file():
        raise TakeFileError(f"{path}: a take is a file ending .mid")
    return read_take(path)


def echo(text: str, *, err: bool = False, nl: bool = True) -> None:
    """One line of a command, in the language that is spoken."""
    from keysense.words import translated

    typer.echo(translated(text), err=err, nl=nl)


def print_json(body: Any) -> None:
    """Plain JSON on stdout, ready for another program."""
    import json

    typer.echo(json.dumps(body, ensure_ascii=False, allow_nan=False, indent=1))


def table(rows: Sequence[tuple[str, ...]], heads: tuple[str, ...]) -> Iterator[str]:
    """Lines of columns, each as wide as its widest cell; cells that are words of ours are translated."""
    from keysense.words import translated

    rows = [tuple(translated(cell) for cell in row) for row in rows]
    heads = tuple(translated(head) for head in heads)
    widths = [max(len(row[i]) for row in [heads, *rows]) for i in range(len(heads))]
    for row in [heads, *rows]:
        yield "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()


@contextmanager
def progress(doing: str) -> Iterator[None]:
    """Say on stderr what takes long, from the first second on, and take the line away again.

    Only a terminal is told: a program that reads stderr gets nothing but the one line of a fault.
    """
    if not sys.stderr.isatty():
        yield
        return
    done = threading.Event()
    thread = threading.Thread(target=_tell, args=(doing, done), daemon=True)
    thread.start()
    try:
        yield
    finally:
        done.set()
        thread.join()


def _tell(doing: str, done: threading.Event) -> None:
    began = time.monotonic()
    told = ""
    while not done.wait(1.0):
        told = f"{doing} ... {time.monotonic() - began:.0f} s"
        sys.stderr.write(f"\r{told}")
        sys.stderr.flush()
    sys.stderr.write("\r" + " " * len(told) + "\r" if told else "")
    sys.stderr.flush()


def _say(text: str) -> int:
    """One line on stderr, whatever the message holds."""
    from keysense.words import translated

    typer.echo("keysense: " + " ".join(translated(text).split()), err=True)
    return BAD_INPUT


def _in_words(error: OSError) -> str:
    from keysense.files import what_went_wrong

    return what_went_wrong(error, error.filename or "a file")


def _is_usage(error: Exception) -> bool:
    """A word on the command line that typer could not place: its own error type, wherever typer keeps it."""
    return hasattr(error, "format_message") and hasattr(error, "exit_code")


def _command_of(error: Exception) -> list[str]:
    context = getattr(error, "ctx", None)
    path = context.command_path.split()[1:] if context is not None else []
    return [word + " " for word in path]


def _let_any_letter_out() -> None:
    """A console that cannot show a letter shows a question mark instead of stopping the program."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")
