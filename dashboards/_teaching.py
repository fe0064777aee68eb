"""Playing a tune in: which of the playings that wait is the tune, and what its recordings left open."""

from __future__ import annotations

from keysense.dashboards._names import NamedTake, name_takes

from keysense.following.teacher import Question
from keysense.page import Panel
from keysense.studio.studio import Studio
from keysense.words import counted, word
from keysense.words.figures import start_large
from keysense.words.pieces import number_word, say_question

__all__ = ["asked_key", "stands", "teaching"]

_MOST = 8
_LOOKED_THROUGH = 24


def asked_key(piece_id: str) -> str:
    """Under which name the studio remembers what the recordings of a piece left open."""
    return f"taught {piece_id}"


def teaching(studio: Studio, piece_id: str = "") -> Panel:
    """The playings that may be the tune, newest first; of a piece also those that are it now."""
    waiting = [take for take in studio.takes(state="waiting", limit=_LOOKED_THROUGH) if take.n > 1]
    models = [take for take in studio.takes(piece=piece_id, state="kept") if take.is_model] if piece_id else []
    rows = [_row(named) for named in name_takes(studio, [*models, *waiting][:_MOST])]
    content = {"rows": rows, "piece": piece_id, "pace": "", "bar": "4", "short": False}
    if models:
        target = studio.target_of(piece_id).target
        content["pace"] = f"{target.tempo_qpm:.0f}" if target.tempo_qpm else ""
        content["bar"] = f"{target.bars['length_quarter'][-1]:g}" if len(target.bars) else "4"
    return Panel("teach", word("teach.name"), content)


def _row(named: NamedTake) -> dict[str, str]:
    take = named.take
    key = "teach.take.model" if take.is_model else "teach.take"
    said = word(key, when=start_large(named.when), notes=counted("n.notes", take.n))
    return {"id": take.id, "said": said, "chosen": "yes" if take.is_model else ""}


def stands(studio: Studio, piece_id: str) -> list[Panel]:
    """Where one recording differs from the others: which stands?"""
    kept = studio.recall(asked_key(piece_id))
    rows = [Question(**question) for question in kept.get("questions", ())][:_MOST]
    if not rows:
        return []
    content = {
        "said": [say_question(question) for question in rows],
        "piece": piece_id,
        "others": [
            (number, word("teach.this", which=number_word(number))) for number in sorted({q.recording for q in rows})
        ],
    }
    return [Panel("stands", word("teach.stands"), content)]
