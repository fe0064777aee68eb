"""From finished playings to the studio's waiting takes: as they come, after a crash, and until they are wiped."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from keysense.capture.cutting import SILENCE_S, messages_of
from keysense.capture.forgetting import forget
from keysense.capture.journal import journals
from keysense.capture.lock import LOCK, hold
from keysense.capture.tailing import Playing, Tail
from keysense.smf import messages_to_smf, smf_to_take

if TYPE_CHECKING:
    from keysense.studio import Studio

__all__ = ["SWEEP_S", "Recovered", "keep", "recover", "sweep"]

# how often a lesson sweeps; what would be a day old before the next time is wiped now
SWEEP_S = 1800.0
_A_DAY = timedelta(hours=24)


@dataclass(frozen=True)
class Recovered:
    """A take that was found in the journal after a crash. n: keys struck."""

    take_id: str
    n: int
    duration_s: float


def recover(studio: Studio, silence_s: float = SILENCE_S, *, flag: str = "recovered") -> list[Recovered]:
    """Keep the playings that stand in the journal and not yet in the studio, as a crash leaves them.

    Each carries ``flag``, unless it is empty. Raises AlreadyListening while a listener is at work for this studio.
    """
    lock = hold(studio.folder.journal / LOCK)
    try:
        return _recover(studio, silence_s, flag)
    finally:
        lock.release()


def _recover(studio: Studio, silence_s: float, flag: str) -> list[Recovered]:
    tail = Tail(studio.folder.journal, lambda _: silence_s)
    tail.catch_up()
    known = _known_spans(studio)
    found = []
    for playing in [*tail.read(), *tail.finish()]:
        if (playing.journal, playing.span.start, playing.span.end) in known:
            continue
        flagged = replace(playing.span, flags=tuple(sorted({*playing.span.flags, flag} - {""})))
        take = studio.take(keep(studio, replace(playing, span=flagged)))
        found.append(Recovered(take.id, take.n, take.duration_s))
    tail.done()
    return found


def sweep(studio: Studio, now: datetime | None = None) -> int:
    """Wipe from the studio and its journals what belongs to no kept take and would be a day old before the next sweep.

    Gives how many messages were wiped from the journals.
    """
    now = (now or studio.now()) + timedelta(seconds=SWEEP_S)
    studio.wipe_due(now)
    keep: dict[str, list[tuple[int, int]]] = {}
    for name, start, end in _known_spans(studio):
        keep.setdefault(name, []).append((start, end))
    if not journals(studio.folder.journal):
        return 0
    return forget(studio.folder.journal, keep, round((now - _A_DAY).timestamp() * 1e9))


def keep(studio: Studio, playing: Playing) -> str:
    """Put a finished playing among the studio's waiting takes, its raw messages as its music."""
    span = playing.span
    smf = messages_to_smf(messages_of(span), span.flags)
    started = datetime.fromtimestamp(span.wall_ns * 1e-9, UTC) if span.wall_ns else studio.now()
    take_id = studio.add_take(
        smf_to_take(smf),
        smf,
        started_utc=started,
        journal_span=(playing.journal, span.start, span.end),
        instrument=playing.piano,
    )
    studio.note_again(take_id)
    return take_id


def _known_spans(studio: Studio) -> set[tuple[str, int, int]]:
    """Where the takes lie that the studio still holds: kept, waiting, set aside, or dropped and not yet wiped."""
    spans = {(span.journal, span.start, span.end) for span in studio.kept_spans()}
    for state in ("waiting", "dropped", "replaced"):
        held = (take.journal_span for take in studio.takes(state=state))
        spans |= {(span.journal, span.start, span.end) for span in held if span}
    return spans
