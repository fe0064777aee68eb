"""Following: the played notes set beside the notes of the target, through slips, restarts and skips.

How it goes, one file a step:

1. `written`: the target laid out, once for all takes. `hypotheses`: what may have been played. The plain reading and
   each hand alone are always tried; shifted ones (the whole by up to two octaves, a hand by octaves) where the pitches
   of the take then overlap better with the target's.
2. `onsets` and `lane`: one reading laid out. A state is "this onset was heard last"; for each key one byte an onset
   tells how it could be taken there.
3. `decode`, `weighing`, `sure` and `jumping`: the path, a Viterbi sweep. A press that fits nowhere costs nothing, so
   that an extra note never has to be explained by a jump; right notes earn `RIGHT` nats; passing over onsets, leaving
   chord notes unheard, straining the running tempo, jumping and starting elsewhere cost. Only living states are
   walked over, and while all goes well at one place the best goes on alone; so time grows with the length.
4. `straight`: the jumps stand only if they gain `JUMP_GAIN_PER_NOTE` for each note they place elsewhere than the best
   path without any does (a repeat written out is no jump); it is sought only where a jump might be none.
   `choose`: a hand shifted or silent must win by `HYPOTHESIS_MARGIN`.
5. `passes`: the path cut at its jumps into stretches played straight on.
6. `looks`, `pairing`, `same_pitch`, `surest`: the second look at each stretch, twice. A curve through the surest notes
   says when each written note was due; pitch by pitch, presses and notes are paired in order, as many as can be and
   each near its due time.
7. `attempts`: what is left. Brushed keys are extras; a note sounded again, or tried first and taken back, is paired
   with the same written note; another pitch is paired with the unsounded note that was due just then. `ornaments`: what
   is played about a note with the sign of a trill, mordent, turn or tremolo.
8. `turns`: one hand and then the other in one take; each side of a cut is followed by itself.
9. `confidence`, `ties`: how far to believe it, where the place was lost, which stretches may as well lie elsewhere.

`fast` sweeps by what a compiler made of `kernel`, where one is installed, and by `decode` where none is; the second
look is compiled as it stands.
`live` reads the same path forward, a press at a time; `recognise` compares its value between pieces; `teacher`
follows the teacher's own recordings by what they agree on, for her spread at each note and for questions; `duet`
tells two players with a part each apart, `aside` somebody who accompanies by ear. All constants are in `constants`,
with how each was set.
``make bench BENCH=following`` measures all of it beside the public matcher.

Known failures: a skip or restart with fewer than four notes to the end is taken for slips; long written-out trills
played with another number of notes drift until the next plain note; where a target tells no hands and both hands are
apart by an octave only one split, at the middle pitch, is tried; of bars that are quite alike the nearer and the
earlier is taken (and told as a tie); live following finds a shift only after eight presses or more; a take of a piece
that is not among those given to `recognise` may be named as one that resembles it, the seldomer the longer it is, and
is then mostly lost in `follow`.
"""

from __future__ import annotations

from keysense.following.duet import Duet, follow_two, own_of, placed
from keysense.following.follow import follow
from keysense.following.following import EXTRA, MATCH, ORNAMENT, PAIR, SUBSTITUTION, Following, Pass
from keysense.following.live import LiveFollower, Position
from keysense.following.recognise import Recognition, recognise
from keysense.following.teacher import Question, Taught, teach

__all__ = [
    "EXTRA",
    "MATCH",
    "ORNAMENT",
    "PAIR",
    "SUBSTITUTION",
    "Duet",
    "Following",
    "LiveFollower",
    "Pass",
    "Position",
    "Question",
    "Recognition",
    "Taught",
    "follow",
    "follow_two",
    "own_of",
    "placed",
    "recognise",
    "teach",
]
