"""What is said where a guardian, or the teacher for one, looks at what is kept of a pupil, copies it or erases it."""

from __future__ import annotations

__all__ = ["KEPT", "KEPT_COUNTED"]

KEPT: dict[str, str] = {
    "kept.link": "all that is kept",
    "kept.above": "all that is kept",
    "kept.what": "kept",
    "kept.keys": "Which keys were pressed, when and how firmly; what was heard in them; and what was written down. No "
    "microphone, camera, voice or picture.",
    "kept.nothing": "Nothing so far.",
    "kept.takes": "takes",
    "kept.said": "what was said",
    "kept.said.teacher": "what you wrote",
    "kept.papers": "papers",
    "kept.agreed": "agreed",
    "kept.agreement": "{by} agreed on {day}, {until}.",
    "kept.agreement.withdrawn": "{by} agreed on {day}. It was taken back.",
    "kept.agreement.none": "Nobody has agreed to anything.",
    "kept.renew": "renew the agreement",
    "kept.renew.press": "Write it down",
    "kept.renew.ask": "Nothing was written down: tick that the guardian has agreed.",
    "kept.withdraw": "the agreement was taken back",
    "kept.withdraw.said": "From now on nothing that {pupil} plays is kept, and what was kept is hidden at once. To "
    "have it gone for good, erase it below.",
    "kept.withdraw.press": "It was taken back",
    "kept.nickname": "nickname",
    "kept.nickname.label": "What you call the child here; no surname is needed. All that is kept stays where it is.",
    "done.agreed": "It is written down.",
    "done.withdrawn": "It is written down: nothing is kept any more.",
    "done.nickname": "That is the name now.",
    "kept.until": "until {day}",
    "kept.until.none": "until it is taken back",
    "kept.promise": "copy and erase",
    "kept.counted": "how much",
    "kept.promise.said": "{pupil} and the guardian may see, copy or erase everything at any time.",
    "kept.copy": "a copy to take along",
    "kept.copy.said": "One file: every take as a MIDI file, and all the rest as text. It holds no other child: "
    "give it to the guardian only.",
    "kept.erase": "erase everything of {pupil}",
    "kept.erase.sure": "Yes, erase everything of {pupil}.",
    "kept.erase.ask": "Nothing was erased. If everything of {pupil} is to go, tick that it is.",
    "kept.erase.press": "Erase it now",
    "done.erased": "It is erased. Copies of the studio that were made elsewhere still hold it.",
    "done.added_here": "In the register.",
}

KEPT_COUNTED: dict[str, tuple[str, str]] = {
    "kept.take": ("One take.", "{n} takes."),
    "kept.finding": ("One thing heard in them.", "{n} things heard in them."),
    "kept.paper": ("One paper.", "{n} papers."),
    "kept.remark": ("One line that was said of a take.", "{n} lines that were said of takes."),
    "kept.guess": ("One guess.", "{n} guesses."),
    "kept.drawn_wish": ("One line that was drawn.", "{n} lines that were drawn."),
    "kept.own_word": ("One word of the pupil’s own.", "{n} words of the pupil’s own."),
    "kept.erase.said": (
        "Erase {pupil}, with one take, everything heard in it and everything written down? It can’t be brought back.",
        "Erase {pupil}, with {n} takes, everything heard in them and everything written down? "
        "It can’t be brought back.",
    ),
}
