"""Everything that can go wrong, as one tree.

KeysenseError
├── NotesError             notes that cannot be: NaN times, pitch 200, columns of unequal length
├── TakeFileError          a Standard MIDI File that cannot be read or written
├── TargetError            a score, MIDI file or model take that cannot become a target
├── FigureError            figures that cannot be: a week whose value is NaN
├── CharacterError         a character file that cannot be read, a wish that there is not
├── PracticeError          a row of the table of limits that cannot be read
├── SurveyError            a playing that does not make a piano known
├── SoundError             a take that cannot be heard again as asked
├── CaptureError
│   ├── PortError          no piano, or the MIDI system does not answer
│   ├── JournalError       the journal of the day cannot be read or written
│   └── AlreadyListening   another listener holds this studio
├── StudioError
│   ├── UnknownName        nothing in the studio goes by that name
│   ├── AmbiguousName      more than one thing goes by that name
│   ├── AgreementError     no guardian's agreement covers what was asked
│   └── UnsignedError      a draft was to leave before anybody signed it
└── ServeError             the pages cannot be served or written

Each message says what happened, where, and what to do next, in one line.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

__all__ = [
    "AgreementError",
    "AlreadyListening",
    "AmbiguousName",
    "CaptureError",
    "CharacterError",
    "FigureError",
    "JournalError",
    "KeysenseError",
    "NotesError",
    "PortError",
    "PracticeError",
    "ServeError",
    "SoundError",
    "StudioError",
    "SurveyError",
    "TakeFileError",
    "TargetError",
    "UnknownName",
    "UnsignedError",
]


class KeysenseError(Exception):
    """Root of every error that keysense raises on purpose.

    spoken: the last of them turns its English line into the language that is spoken; `keysense.words` adds it.
    """

    spoken: ClassVar[list[Callable[[str], str]]] = [str]

    def __str__(self) -> str:
        return self.spoken[-1](super().__str__())


class NotesError(KeysenseError, ValueError):
    """Notes that cannot be."""


class TakeFileError(KeysenseError):
    """A Standard MIDI File that cannot be read or written."""


class TargetError(KeysenseError):
    """A score, MIDI file or model take that cannot become a target."""


class FigureError(KeysenseError, ValueError):
    """Figures that cannot be."""


class CharacterError(KeysenseError):
    """A character file that cannot be read, or a wish that there is not."""


class PracticeError(KeysenseError):
    """A row of the table of limits that cannot be read."""


class SoundError(KeysenseError):
    """A take that cannot be heard again as asked."""


class SurveyError(KeysenseError):
    """A playing that does not make a piano known."""


class CaptureError(KeysenseError):
    """Listening failed."""


class PortError(CaptureError):
    """No piano, or the MIDI system does not answer."""


class JournalError(CaptureError):
    """The journal of the day cannot be read or written."""


class AlreadyListening(CaptureError):  # noqa: N818 - a state, not a fault
    """Another listener holds this studio."""


class StudioError(KeysenseError):
    """The studio cannot do what was asked."""


class UnknownName(StudioError):  # noqa: N818 - a question back, not a fault
    """Nothing in the studio goes by that name."""


class AmbiguousName(StudioError):  # noqa: N818 - a question back, not a fault
    """More than one thing in the studio goes by that name."""


class AgreementError(StudioError):
    """No guardian's agreement covers what was asked."""


class UnsignedError(StudioError):
    """A draft was to leave before anybody signed it."""


class ServeError(KeysenseError):
    """The pages cannot be served or written."""
