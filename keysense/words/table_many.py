"""What is said of many takes: spots, reading at first sight, and a piano that is made known.

To the teacher with figures; to the child what was heard, never a cause and never a figure. Keys beginning ``child.``
are held to the rules of `keysense.words.table_child`.
"""

from __future__ import annotations

__all__ = ["MANY", "MANY_COUNTED"]

MANY: dict[str, str] = {
    # weeks
    "weeks.smallest": "Two weeks that differ by less than {change} differ by no more than two takes of one day do ({n} "
    "takes).",
    "weeks.other_piano": "Weeks on another piano are shown and not judged: keysense survey makes a piano known.",
    "weeks.inside": "No week stands out: chance alone keeps weeks such as these between {low} and {high}.",
    "weeks.outside": "Of the weeks, {weeks} stands out: chance alone keeps weeks such as these between {low} "
    "and {high}.",
    "weeks.nothing": "Nothing has been kept of it yet.",
    "weeks.row": "{year}, week {week}",
    "weeks.between": "{low} and {high}",
    "weeks.column.week": "week",
    "weeks.column.middle": "middle",
    "weeks.column.between": "likely between",
    "weeks.column.takes": "takes",
    "weeks.over": "Over the weeks: {word}.",
    "weeks.word.more even": "more even",
    "weeks.word.nearer the wish": "nearer the wish",
    "weeks.word.further from the wish": "further from the wish",
    "weeks.word.about as before": "about as before",
    "weeks.word.now here, now there": "now here, now there",
    "weeks.word.can't tell yet": "can’t tell yet",
    "weeks.of": "{pupil}, {piece}, {finding}",
    "weeks.of.hand": "{pupil}, {piece}, {finding}, {hand}",
    # tempo words
    "tempo.words.name": "the pace in words",
    "tempo.words": "Musicians would call it {words}; such words are a convention, and lists of them differ.",
    "tempo.words.or": "{first} or {second}",
    "tempo.words.row": "{word}: {low} to {high} quarters a minute",
    # practice
    "practice.tempo": "Tempo words, a convention (your own tempo_words.toml takes the place of these):",
    "practice.max": "{name}: at most {value} {unit}",
    "practice.min": "{name}: at least {value} {unit}",
    "practice.both": "{name}: within {value} {unit}",
    "practice.none": "{name}: {value} {unit}",
    "practice.basis": "{basis}: {source}",
    # spots
    "spots.place": "bar {bar}, beat {beat}",
    "spots.said": "{place}: {kinds}, in {takes} of {of} takes",
    "spots.gone": "{said}; not in the newest {newest}",
    "spots.none": "No spot: nothing came back at one place more often than elsewhere.",
    "spots.piece": "Bar {bar} is a known tricky spot of this piece: {pupils} of {of} pupils.",
    "spots.piece.none": "No bar of it has caught three pupils.",
    "spots.alone": "Over all pupils: nothing can be told before three have played it in three takes or more.",
    "spots.kind.waited": "waited",
    "spots.kind.another note": "another note",
    "spots.kind.left out": "not heard",
    "spots.kind.went back": "went back",
    "child.spots.waited": "The tune waited in {place}. Shall we go slowly there?",
    "child.spots.another note": "The tune likes to go somewhere else in {place}. Where would you like it to go?",
    "child.spots.left out": "In {place} I can’t always hear every note. Can you?",
    "child.spots.went back": "In {place} the tune likes to turn round. What is it looking for?",
    "child.spots.none": "No place made the tune wait again and again.",
    "child.spots.gone": "The tune used to wait in {place}. Now it goes on.",
    "spots.part.start": "the first part",
    "spots.part.middle": "the middle",
    "spots.part.end": "the last part",
    # reading at first sight
    "title.pause_pattern_change": "waiting where the pattern changes",
    "title.pause_step": "waiting before steps",
    "title.pause_skip": "waiting before skips",
    "title.pause_leap": "waiting before leaps",
    "title.pause_guide_note": "waiting before guide notes",
    "title.pause_new_position": "waiting before a new position",
    "title.pause_hand_change": "waiting where the hands change",
    "title.pause_bar_line": "waiting at bar lines",
    "title.pause_line_end": "waiting before a new line",
    "sight.pattern_change": "where the pattern changes",
    "sight.step": "before steps",
    "sight.skip": "before skips",
    "sight.leap": "before leaps",
    "sight.guide_note": "before guide notes",
    "sight.new_position": "before notes outside the hand’s position",
    "sight.hand_change": "where the hands change",
    "sight.bar_line": "at bar lines",
    "sight.line_end": "before a new line",
    "sight.waited": "Waited {where}: {value} in a hundred longer than before other notes, likely between {low} and "
    "{high}, from {n} such notes.",
    "sight.went on": "Went on {where}: {value} in a hundred longer than before other notes, likely between {low} and "
    "{high}, from {n} such notes.",
    "sight.can't tell": "Can’t tell {where}: likely between {low} and {high} in a hundred, from {n} such notes.",
    "sight.missing": "Can’t tell {where}: {why}.",
    "sight.why": "Can’t tell yet: {why}.",
    "sight.caution": "This is what was heard. Why it waited is yours to see: small hands wait before leaps too.",
    "child.sight.pattern_change": "You waited where the tune turned.",
    "child.sight.step": "You waited before the small steps.",
    "child.sight.skip": "You waited before the skips.",
    "child.sight.leap": "You waited before the big jumps.",
    "child.sight.guide_note": "You waited before the notes that show the way.",
    "child.sight.new_position": "You waited where the hand goes travelling.",
    "child.sight.hand_change": "You waited where one hand gives the tune to the other.",
    "child.sight.bar_line": "You waited at the bar lines.",
    "child.sight.line_end": "You waited before the new line.",
    "child.sight.on": "No kind of place made you wait more than the others.",
    "child.sight.unsure": "I’ve only heard a little. Shall we read another card another day?",
    # a piano made known
    "title.touch_floor": "the softest of this piano",
    "title.touch_soft": "soft on this piano",
    "title.touch_middle": "middle on this piano",
    "title.touch_loud": "loud on this piano",
    "title.touch_ceiling": "the loudest of this piano",
    "title.key_bias": "keys that answer louder or softer",
    "title.pair_gap": "two keys struck together",
    "title.pair_loudness": "two keys struck together, their loudness",
    "title.clock_step": "the step of the piano’s clock",
    "title.stray_messages": "what came while nobody played",
    "survey.touch": "{title}: {value}, likely between {low} and {high}, from {n} notes.",
    "survey.point": "{title}: {value}, from {n} notes.",
    "survey.missing": "{title}: can’t tell, {why}.",
    "survey.key_bias.beyond": "The {region} keys answer {way} than the others by {value}, likely between {low} and "
    "{high}.",
    "survey.key_bias.alike": "Its low, its middle and its high keys answer alike.",
    "survey.key_bias.within": "The {region} keys answer like the others.",
    "survey.key_bias.unsure": "Whether the {region} keys answer like the others can’t be told from {n} notes.",
    "survey.region.low": "low",
    "survey.region.middle": "middle",
    "survey.region.high": "high",
    "survey.way.up": "louder",
    "survey.way.down": "softer",
    "survey.pair_gap.up": "Of two keys struck together the higher one sounds later by {value} ms, likely between "
    "{low} and {high}.",
    "survey.pair_gap.down": "Of two keys struck together the lower one sounds later by {value} ms, likely between "
    "{low} and {high}.",
    "survey.pair_gap.same": "Two keys struck together sound together, as far as {n} touches tell.",
    "survey.pair_loudness.up": "Of two keys struck together the higher one is louder by {value} steps of touch, "
    "likely between {low} and {high}.",
    "survey.pair_loudness.down": "Of two keys struck together the lower one is louder by {value} steps of touch, "
    "likely between {low} and {high}.",
    "survey.pair_loudness.same": "Two keys struck together are as loud as each other, as far as {n} touches tell.",
    "title.touch_level": "the touch on this piano",
    "touch_level": "the touch lay at {value} in a hundred, where this piano’s soft is 20, its middle 50 and its loud "
    "80",
    "child.touch_level": "I heard how you touched the keys. Was it how you wanted?",
    "survey.clock_step": "Its clock ticks in steps of {value} ms: nothing finer is judged.",
    "survey.clock_step.fine": "Its clock ticks in steps finer than half a millisecond.",
    "survey.pedal.none": "No pedal was heard: nothing will be said of it.",
    "survey.pedal.switch": "Its pedal knows down and up and nothing between.",
    "survey.pedal.continuous": "Its pedal knows half pedal.",
    "survey.pedal.inverted": "Its pedal sends down for up: switch it on with the foot off the pedal, or change its "
    "setting.",
    "survey.fixed": "The piano sends one loudness whatever the touch: loudness, growing and touch are not judged on "
    "it. Look for a touch setting on the piano.",
    "survey.known": "{piano} is known now. Loudness on it is told between its own softest and loudest.",
    "survey.again": "{piano} is known anew; what was known before is kept.",
    "survey.this": "This piano",
    "survey.moved.up": "{title} sends {by} more than it did the time before.",
    "survey.moved.down": "{title} sends {by} less than it did the time before.",
    "survey.how.lead": "Two minutes. Let the piano be heard (keysense hear), and play without long pauses:",
    "survey.how.strokes": "1. On a low C, five notes as soft as they will speak, five middling, five loud. The same on "
    "middle C. The same on a high C.",
    "survey.how.pairs": "2. Middle C and the G above it, both together, ten times, as evenly as you can.",
    "survey.how.pedal": "3. The right pedal slowly down and up again, three times.",
    "survey.how.silence": "4. Hands and feet away for ten seconds.",
    "survey.how.then": "Then: keysense survey last",
}

MANY_COUNTED: dict[str, tuple[str, str]] = {
    "n.takes": ("one take", "{n} takes"),
    "piece.bars": ("one bar", "{n} bars"),
    "look.more": ("There is more ({n}): add --all.", "There is more ({n}): add --all."),
    "survey.stray_messages": (
        "While nobody played, {n} note or pedal movement came: is a cable loose, or another instrument plugged in?",
        "While nobody played, {n} notes or pedal movements came: is a cable loose, or another instrument plugged in?",
    ),
    "spots.from": ("From {n} take.", "From {n} takes."),
    "sight.from": ("From {n} card.", "From {n} cards."),
}
