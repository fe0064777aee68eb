"""What is said of takes set beside each other: one lesson and the next, by ear and from the page, beside the teacher's
own playing.

Keys beginning ``child.`` are held to the rules of `keysense.words.table_child`.
"""

from __future__ import annotations

__all__ = ["BETWEEN"]

BETWEEN: dict[str, str] = {
    # one lesson and the next
    "overnight.title": "From one lesson to the next",
    "overnight.link": "from one lesson to the next",
    "overnight.above": "{pupil}, the first playing beside the last of the day before",
    "overnight.last": "the last of the day before",
    "overnight.first": "the first of this day",
    "overnight.none": "No tune has been played on two days yet.",
    "overnight.said": "{dimension}: {word}. {said}",
    "overnight.why": "Can’t tell: {why}.",
    "overnight.grew overnight": "grew overnight",
    "overnight.kept": "kept",
    "overnight.needs another listen": "needs another listen",
    "overnight.can't tell yet": "can’t tell yet",
    "pages.onward": "further",
    "pages.onward.weeks": "{pupil}’s weeks",
    "pages.onward.pupils": "all pupils",
    "overnight.caution": "The first playing of a day shows what stayed; the child has not been told that it counts.",
    "child.overnight.grew overnight": "{piece} grew while you were away. What did it do in the night?",
    "child.overnight.kept": "{piece} stayed with you all the while.",
    "child.overnight.can't tell yet": "Shall we hear {piece} again another day?",
    "child.overnight.none": "I can’t tell yet what stayed. Shall we hear your tunes again another day?",
    # by ear and from the page
    "manners.title": "By ear and from the page",
    "manners.link": "by ear and from the page",
    "manners.above": "{pupil}, tunes learnt in two ways",
    "manners.from": "{ear} learnt by ear, {page} from the page; a piece counts once.",
    "manners.early": "Early days: {ear} and {page} so far. A few of each are needed before anything can be told.",
    "manners.none.by ear": "no tune learnt by ear",
    "manners.none.from the page": "none from the page",
    "manners.more.waits_per_ten": "From the page the tune waited and went back more, by {value} in ten notes, likely "
    "between {low} and {high}.",
    "manners.less.waits_per_ten": "From the page the tune waited and went back less, by {value} in ten notes, likely "
    "between {low} and {high}.",
    "manners.can't tell yet.waits_per_ten": "Can’t tell whether the tune waits more in one of them: from the page "
    "minus by ear likely between {low} and {high} in ten notes.",
    "manners.more.breath": "From the page more of the phrases breathed, by {value} in a hundred, likely between {low} "
    "and {high}.",
    "manners.less.breath": "From the page fewer of the phrases breathed, by {value} in a hundred, likely between {low} "
    "and {high}.",
    "manners.can't tell yet.breath": "Can’t tell whether the phrases breathe more in one of them: from the page "
    "minus by ear likely between {low} and {high} in a hundred.",
    "manners.more.contrast": "From the page soft and loud lay further apart, by {value} steps of touch, likely between "
    "{low} and {high}.",
    "manners.less.contrast": "From the page soft and loud lay closer together, by {value} steps of touch, likely "
    "between {low} and {high}.",
    "manners.can't tell yet.contrast": "Can’t tell whether soft and loud lie further apart in one of them: from "
    "the page minus by ear likely between {low} and {high} steps of touch.",
    "manners.name.waits_per_ten": "Waiting and going back",
    "manners.name.breath": "Breath",
    "manners.name.contrast": "Soft and loud inside",
    "manners.missing": "{name}: can’t tell, {why}.",
    "manners.caution": "The pieces differ too: this is no word on which way of learning is the right one.",
    "child.manners": "Some of your tunes came in by ear and some from the page. Which do you like to play?",
    "child.manners.by ear": "Shall we learn the next tune by ear?",
    "child.manners.from the page": "Shall we learn the next tune from the page?",
    # beside the teacher's own playing
    "model.title": "{piece}, twice",
    "model.link": "beside the teacher’s playing",
    "piece.put": "{piece}: {said}.",
    "piece.put.again": "{piece}: {said} (version {version}).",
    "model.kept": "Kept as your own playing of {piece}.",
    "model.mine": "the teacher’s",
    "model.theirs": "{pupil}’s",
    "model.name": "phrase by phrase",
    "model.none": "There was too little to lay one beside the other.",
    "model.said": "{place}: {loudness}; {time}.",
    "model.part.one": "{line} {word}",
    "model.part.why": "{line} can’t tell, {why}",
    "model.line.loudness": "loudness:",
    "model.line.time": "time:",
    "model.same shape": "the same shape",
    "model.a shape of its own": "a shape of its own",
    "model.no shape to follow": "no shape to follow",
    "model.can't tell yet": "can’t tell yet",
    "model.caution": "Only the shape is compared, each scaled to itself: another loudness or another pace is no "
    "difference here, and a shape of its own may be the better one.",
    "child.model.own": "Yours has its own shape. Did you mean it?",
    "child.model.same": "Yours rose and fell the way you heard it.",
    "child.model.unsure": "I couldn’t hear if yours goes the same way. Could you?",
    # reading at first sight, as a page
    "sight.title": "Reading at first sight",
    "sight.link": "reading at first sight",
    "sight.above": "{pupil}, cards played at first sight",
    "sight.name": "where the tune waited",
    "sight.cards": "the cards",
    "sight.no_cards": "Nothing has been named ‘first sight’ yet: add the words when you name a take, such as "
    "{example}.",
    "sight.example": "{pupil} door first sight",
}
