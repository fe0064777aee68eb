"""What a child is told: it describes the sound, never the child; no figure, no praise, no blame.

I heard …, you wanted …, try … or which …? The words refused on a child's page stand in `FORBIDDEN`; a test holds
every row of this table, and every page in its closed view, to it.
"""

from __future__ import annotations

__all__ = ["CHILD", "FORBIDDEN"]

FORBIDDEN: tuple[str, ...] = (
    "wrong", "error", "score", "level", "rank", "accuracy", "accurate", "mistake", "fail", "failed", "grade",
    "mark out of", "points", "percent", "%", "streak", "badge", "star", "correct", "incorrect", "perfect", "bad",
    "good job", "well done", "clever", "better than", "worse",
)  # fmt: skip

CHILD: dict[str, str] = {
    "child.tempo": "I heard how quick it went. Did you choose that pace?",
    "child.drift.up": "The tune began to run. Did you mean it to?",
    "child.drift.down": "The tune grew tired towards the end. Did you mean it to?",
    "child.drift.same": "The tune kept its walk all the way.",
    "child.evenness_timing": "I heard the steps of the tune. Shall we walk it?",
    "child.evenness_loudness": "I heard some notes softer and some louder. Which did you choose?",
    "child.rise.up": "The tune grew. Did you mean it to?",
    "child.rise.down": "The tune faded away. Did you mean it to?",
    "child.rise.same": "I couldn’t hear if it grew. Could you?",
    "child.loudness_contrast.up": "I heard a loud place and a soft place.",
    "child.loudness_contrast.down": "The soft place was the louder one. Did you mean it?",
    "child.loudness_contrast.same": "The loud and the soft were nearly as loud as each other. What could change?",
    "child.overlap.up": "The notes held hands.",
    "child.overlap.down": "These notes had a little gap. Can they hold hands?",
    "child.overlap.same": "I couldn’t hear if the notes held hands. Could you?",
    "child.hold_ratio.joined": "The notes stayed close together.",
    "child.hold_ratio.apart": "The notes stood apart, each on its own feet.",
    "child.hold_ratio.same": "I couldn’t hear if the notes stood apart. Could you?",
    "child.hands_lag.up": "One hand came first. Which one?",
    "child.hands_lag.down": "One hand came first. Which one?",
    "child.hands_lag.same": "Both hands came together.",
    "child.notes_as_written": "I followed your tune all the way.",
    "child.notes_other_pitch": "The tune went somewhere else here. Did you mean it to?",
    "child.notes_left_out": "I didn’t hear every note. Did you?",
    "child.notes_extra": "I heard something extra here. Was it your idea?",
    "child.waits": "The tune waited here. What was it waiting for?",
    "child.none.notes_other_pitch": "The tune stayed on its path.",
    "child.none.notes_left_out": "I heard every note.",
    "child.none.notes_extra": "I heard the tune and nothing but the tune.",
    "child.none.waits": "The tune went on and on.",
    "child.breath": "I heard the tune breathe.",
    "child.breath_time.up": "The tune took a breath.",
    "child.breath_time.down": "The tune hurried on. Did you mean it to?",
    "child.breath_time.same": "I couldn’t hear where the tune breathed. Could you?",
    "child.breath_air.up": "The tune took a breath.",
    "child.breath_air.down": "The tune held on. Did you mean it to?",
    "child.breath_air.same": "I couldn’t hear where the tune breathed. Could you?",
    "child.goings_back": "You heard it and put it back.",
    "child.none.breath": "I couldn’t hear where the tune breathed. Could you?",
    "child.none.goings_back": "The tune went on and on.",
    "child.missing": "I’ve only heard a little. Shall we hear it again another day?",
    "child.other": "I listened all the way. What did you hear?",
    # outcomes in a child's view: the way that came is the teacher's to tell
    "child.outcome.asked and heard": "You wanted it, and I heard it.",
    "child.outcome.asked, not yet heard": "I didn’t hear it. Did you?",
    "child.outcome.asked, the other way came": "I didn’t hear it. Did you?",
    "child.outcome.heard, not asked": "I heard something nobody asked for. Was it your idea?",
    "child.outcome.can't tell yet": "I can’t tell yet. Can you?",
    # wishes as things to try
    "try.slower": "In {character}, can the tune take its time?",
    "try.quicker": "In {character}, can the tune step out?",
    "try.softer": "In {character}, how softly can the keys still speak?",
    "try.louder": "In {character}, can the tune fill the room?",
    "try.more": "In {character}, can the loud be further from the soft?",
    "try.less": "In {character}, can the tune stay on one path?",
    "try.joined": "In {character}, can the notes hold hands?",
    "try.apart": "In {character}, can every note stand on its own feet?",
    "try.even": "In {character}, can we walk it, step by step?",
    "try.free": "In {character}, where would the tune like to linger?",
    "try.breath": "In {character}, where would the tune breathe?",
    "try.none": "In {character}, can the tune go on without stopping?",
    "try.rise": "In {place}, can the tune grow and grow?",
    "try.fall": "In {place}, can the tune go to sleep?",
    "try.overlap": "In {place}, can the notes hold hands?",
    "try.short": "In {place}, can every note stand on its own feet?",
    "try.contrast": "In {place}, can the loud be further from the soft?",
    "try.waits": "What does the tune wait for before {place}?",
    "try.nothing": "What would you like to change?",
}
