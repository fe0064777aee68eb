"""What is said where a take is heard again."""

from __future__ import annotations

__all__ = ["SOUND"]

SOUND: dict[str, str] = {
    "hear.name": "hear it again",
    "hear.next": "and now",
    "hear.press": "hear it",
    "hear.press.named": "hear {name}",
    "hear.pace": "{name}, at the pace of {other}",
    "hear.stop": "stop",
    "hear.how": "slower, one hand, from a bar",
    "hear.from": "from bar",
    "hear.hands": "which hands",
    "hear.hands.both": "both hands",
    "hear.hands.right": "right hand only",
    "hear.hands.left": "left hand only",
    "hear.speed": "how fast",
    "hear.speed.same": "as it was played",
    "hear.speed.little": "a little slower",
    "hear.speed.half": "half as fast",
    "hear.where": "where",
    "hear.where.here": "on this computer",
    "hear.where.piano": "on the piano",
    "hear.sounding": "It is sounding.",
    "hear.ended": "It is quiet again.",
    "hear.trouble": "It cannot be heard here: look whether the sound of this computer is switched on.",
    "hear.no_piano": "No piano answers. Is it plugged in and switched on? It sounds on this computer instead.",
    "hear.pass": "to pass on",
    "hear.pass.said": "The take as a sound file, rendered from its keys. Ask the guardian and the child before it goes "
    "to anyone. The piano sounds are from Fluid R3 by Frank Wen, under the MIT licence.",
    "hear.pass.link": "a sound file of this take",
}
