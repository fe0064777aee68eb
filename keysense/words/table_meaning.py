"""What the words on the pages mean, said on the page that uses them: a word, and one plain sentence."""

from __future__ import annotations

__all__ = ["MEANING"]

MEANING: dict[str, str] = {
    "meaning.name": "in other words",
    "meaning.open": "what the words here mean",
    "meaning.outcomes": "what the signs mean",
    # word, colon, sentence: two entries each
    "mean.take": "take",
    "mean.take.said": "One playing, from its first note to its last.",
    "mean.character": "character",
    "mean.character.said": "How a tune is meant to go, in a word: sleepy, proud.",
    "mean.two": "two characters",
    "mean.two.said": "One tune played in two ways, the two takes set under each other.",
    "mean.wish": "wish",
    "mean.wish.said": "What is asked of the next playing.",
    "mean.shape": "shape",
    "mean.shape.said": "How loud and how soft the tune went, from left to right.",
    "mean.phrase": "phrase",
    "mean.phrase.said": "A stretch of the tune that would be sung in one breath.",
    "mean.warmup": "warm-up",
    "mean.warmup.said": "A short pattern that is played alike every week, so that weeks can be set beside each other.",
    "mean.note": "lesson note",
    "mean.note.said": "A page to the family: what was made, what was listened for, what to enjoy at home.",
    "mean.slip": "home slip",
    "mean.slip.said": "A wish for the week, and one way of working at it.",
    "mean.card": "card",
    "mean.card.said": "The child’s own: a picture to colour in, and one thing to try.",
    "mean.weeks": "weeks",
    "mean.weeks.said": "What has changed from week to week, as far as one can tell.",
    "mean.pupils": "pupils",
    "mean.pupils.said": "Everyone in the register, and what is open for each.",
    "mean.pieces": "pieces",
    "mean.pieces.said": "The shelf of music: what is written, and what was played in.",
    "mean.fold": "for the teacher",
    "mean.fold.said": "Behind this fold stands what was heard, in sentences and figures. It closes at the next note.",
    # what two takes are compared in
    "mean.tempo": "Pace",
    "mean.tempo.said": "How quickly one beat follows the other.",
    "mean.loudness": "Loudness",
    "mean.loudness.said": "How firmly the keys went down, on the scale of this piano.",
    "mean.contrast": "Soft and loud inside",
    "mean.contrast.said": "How far the softest and the loudest of one take lie apart.",
    "mean.touch": "Touch",
    "mean.touch.said": "Whether notes reach over to the next, or are let go before it.",
    "mean.evenness": "Steps",
    "mean.evenness.said": "How alike the steps from note to note are, beside the phrase’s own give and take.",
    "mean.breath": "Breath",
    "mean.breath.said": "Air or time between the end of one phrase and the next.",
    "mean.spindle": "spindle",
    "mean.spindle.said": "It likely lies somewhere along it, most likely where it is widest.",
    "mean.likely": "likely between",
    "mean.likely.said": "Of a hundred such pairs of figures, about ninety-five hold what they are after.",
    # the outcome words
    "mean.asked and heard": "It was wished for, and it came.",
    "mean.asked, not yet heard": "It was wished for, and as much as was asked for did not come. To a child: I "
    "didn’t hear it. Did you?",
    "mean.heard, not asked": "Nobody had wished for it, and it came. Whose idea was it?",
    "mean.asked, the other way came": "It was wished for, and the opposite came.",
    "mean.can't tell yet": "Too few notes, or too near each other, to say one or the other.",
}
