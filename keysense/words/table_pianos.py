"""What the page of the pianos says, and what is said where two studios come together."""

from __future__ import annotations

__all__ = ["PIANOS", "PIANOS_COUNTED"]

PIANOS: dict[str, str] = {
    "pianos.title": "Get to know this piano",
    "pianos.above": "two minutes, once a piano",
    "pianos.name": "your pianos",
    "pianos.link": "get to know this piano",
    "pianos.known": "{piano} is known. Know it anew when its touch setting is changed.",
    "pianos.unknown": "How {piano} answers is not known yet, so loudness is told by its shape alone. Two minutes "
    "make it known.",
    "pianos.why": "Every piano answers the same touch in its own way. Once this one is known, soft and loud are shown "
    "between its own softest and loudest, and two known pianos can stand beside each other.",
    "pianos.begin": "Begin",
    "pianos.setting": "How is its touch set? Its own words, such as medium; empty if you do not know.",
    "pianos.begin.name": "two minutes",
    "pianos.now.name": "play this",
    "pianos.low": "A low C, always the same key",
    "pianos.centre": "Middle C",
    "pianos.high": "A high C",
    "pianos.strokes": "Five notes as soft as they will speak, five middling, five loud.",
    "pianos.pairs": "Middle C and the G above it",
    "pianos.pairs.how": "Both together, ten times, as evenly as you can.",
    "pianos.pedal": "The right pedal",
    "pianos.pedal.how": "Straight after the last touch: slowly down and up, three times.",
    "pianos.silence": "Hands and feet away",
    "pianos.silence.how": "For ten seconds: what comes then is not yours.",
    "pianos.done": "I have played it",
    "pianos.stop": "not now",
    "pianos.heard.none": "Nothing has been heard yet.",
    "pianos.not_listening": "Nobody is listening just now: press “start listening” above.",
    "pianos.when": "Played on {day} {month}.",
    "pianos.when.setting": "Played on {day} {month}, its touch set to {setting}.",
    "pianos.older": "Known before, and kept: {days}.",
    "pianos.day": "{day} {month}",
    "pianos.none": "No piano is known yet.",
    "done.surveyed": "This piano is known now.",
    "done.survey_begun": "Now play the steps, one after the other, without long pauses.",
    "done.survey_stopped": "Not now, then. Nothing was kept of it.",
    "gather.link.name": "a lesson elsewhere",
    "gather.link": "bring home what was played on another machine",
    "gather.title": "A lesson elsewhere",
    "gather.name": "bring it home",
    "gather.said": "Was a lesson kept on another machine, such as at a pupil’s home? Bring its folder here, on a "
    "stick or over your own network, and say where it lies.",
    "gather.folder": "The folder of the other studio",
    "gather.how": "The whole path, as the file window of this machine shows it.",
    "gather.empty": "Say where the folder of the other studio lies, then press once more.",
    "gather.both": "These stand in both registers. One child, or two?",
    "gather.same": "{pupil} is one child",
    "gather.two": "Two children? Then give one of them another nickname first, and come back.",
    "gather.press": "Bring it home",
    "gather.stays": "Kept takes come, with all that hangs on them. Nothing comes twice, nothing here is changed, and "
    "the other folder stays as it is. Who was erased here must be erased there as well.",
    "gather.came": "what came",
    "gather.back": "back to the pupils",
}

PIANOS_COUNTED: dict[str, tuple[str, str]] = {
    "gather.takes": ("{n} take came in.", "{n} takes came in."),
    "gather.here": ("{n} take was here already.", "{n} takes were here already."),
    "pianos.heard": ("{n} note has been heard so far.", "{n} notes have been heard so far."),
}
