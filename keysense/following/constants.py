"""The one table of constants of following, in nats (natural logarithms of odds) unless the name says otherwise.

How they were set, and on which data:

- The path (what a press is worth, moving on, jumps and starts, readings), the choice between readings and the second
  look: by coordinate search on 30 professional performances of public-domain excerpts and on seeded disturbances of
  them in three hardnesses (a development set that is not shipped), beside the single disturbances of ``tests/bench``
  on our own tunes. So the figures on that development set are figures on the data that was tuned on, and flatter the
  method a little; figures of another seed, another piece or another performer are the ones to trust.
- `JUMP_GAIN_PER_NOTE`: on the same, with the written-out repeats of ``tests/bench`` (which the development set lacks).
  `JUMP_RARE` and `JUMP_USUAL`: on pieces of ``tests/bench`` of up to 20,000 notes.
- `CONFIDENCE`, `PLACE`, `PLACE_LIMIT`, `OWN_TUNE`, `PAIR_CONFIDENCE`: fitted on planted playings of ``tests/bench``
  and on excerpts, as told at each. The bench's own calibration table uses other seeds of the same generator.
- ``RECOGNISE_*`` and ``CUT_*``: on shelves of invented pieces of ``tests/bench``; the bench's shelf has other seeds.
- ``SURE_*``, ``PUT_OFF``, ``LOOK_AHEAD``, ``STRAIGHT_BEHIND``, ``HOPELESS``: what need not be weighed or swept, by
  hand. Of 104,464 presses of 532 takes of the same data, none is paired otherwise than when all is.
- ``UNISON_*`` and ``LIVE_*``: by hand; pieces with unisons, shifted takes and the development set bear them out.

Ratios matter more than values, and most curves are flat around the value given. Those with an effect above .01 of
match F1 are marked (sharp).
"""

from __future__ import annotations

__all__: list[str] = []

# --- whole take ---------------------------------------------------------------------------------------------------
CONFIDENCE = (-10.057, 37.055, -24.789, 41.677, 0.392, 16.841, 0.563)
"""Logistic regression of "followed right", a match F1 of at least .98, on: one, path value a press in units of RIGHT,
share matched, jumps a press, log presses, one over presses (four at least), path value in hundreds of nats (one at
most). Fitted on 160 seeded bases (three in eight professional excerpts, the rest invented pieces) with each single
disturbance, four hardnesses of mixed ones, cuttings of 6 to 24 notes, and 3,000 takes of something else."""
PLACE = (-18.064, 32.008, -4.117, 14.17, -0.517, -5.204, 4.826)
"""The same of "this is the piece, and F1 is at least .8", against the takes of something else."""
PLACE_LIMIT = 0.15
"""Below this chance the place was lost and nothing may be concluded.

Set so that takes of random notes, of random walks and of another tune of a wide range come above it in fewer than 1 of
100; of pupils' playing with every fifth press disturbed, 1 in 80 falls below. Tunes of few keys resemble one another
far more: `OWN_TUNE` is for them.
"""
OWN_TUNE = (-16.507, 42.02, -16.637, 38.849, 2.504, 4.786, -4.968, -6.782)
"""The same of "it is this tune, and not one made of the same keys", with one thing more, told last: the chance that two
presses of the take are of one pitch. Fitted on takes that come above `PLACE_LIMIT`: five-finger tunes and our own
scores, each against the others and reshuffled, beside disturbed and first-sight playing of those, of invented pieces
and of the development set."""
OWN_TUNE_LIMIT = 0.45
"""Below this chance the take may as well be another tune of the same keys, and the place is called lost.

On other seeds, 4 of 600 five-finger tunes of 16 to 40 notes stay above it against another, and 6 of 600 of our scores
reshuffled. Of the mixed playing of ``tests/bench``, medium and heavy, it costs 1 and 4 in 60 five-finger tunes, and 7
and 4 in 60 of eight notes: so little proves little.
"""
UNBELIEVED = (48, 0.10)
"""From so many presses on, a following whose confidence is below this is lost, whatever the other two say.

`OWN_TUNE` was fitted on takes of 16 to 40 notes; with more, any stepwise tune can be laid along any other by jumping
(of ten keys, nine in ten of 192 notes). There the confidence parts the two: of another tune of five to ten keys it is
below .10 in nearly all from 48 notes on; of the right one with slips and a restart .2 and more, and none of 494 takes
of invented pieces disturbed in every way of ``tests/bench`` came below it.
"""
EVIDENCE = 14.0  # nats beyond one right note that make a following worth its odds
PAIR_CONFIDENCE = {"match": (0.86, 0.995), "substitution": (0.70, 0.99), "extra": (0.25, 0.99)}
"""The chance that a press of each kind was paired right, where none and where all of its neighbours match; read off
36,000 matches, 1,600 substitutions and 1,700 extras of mixed playing."""

# --- the path: what a key press is worth ----------------------------------------------------------------------------
RIGHT = 6.2  # the written pitch at a place where it is awaited
NEAR = {1: 1.5, 2: 1.0}  # a key beside the written one, by semitones: keeps the path alive, marks nothing as heard
OCTAVE = -0.5  # the written pitch in another octave
LATE = 5.0  # a note of one of the two onsets before, coming after its neighbour: hands apart, a spread chord
LATE_WITHIN_S = 0.45
ECHO_S = 0.04  # one key struck twice within this is a unison of both hands; repeated notes take twice as long
UNISON_S = 0.17  # and within this where both hands are written on that key just here,
UNISON_SHARE = 0.6  # if that is no more than this share of the step to the next onset
# --- the path: what moving on costs ---------------------------------------------------------------------------------
REACH = 5  # onsets forward in one move
NEAR_REACH = 2  # and to a key beside the written one
SKIPPED = 2.4  # each onset passed over
SKIPPED_QUARTERS = 0.12  # less where onsets stand closer than this: a trill has as many notes as it has
UNHEARD = 0.9  # each note of a chord left unheard when moving on
STAY_PER_S = 3.0  # a note joining a chord late, by the second
STAY_MOST = 4.0
TEMPO_WEIGHT = 1.6  # on |log(time taken / time expected)|
TEMPO_FREE = 0.12
TEMPO_MOST = 2.6
TEMPO_LEARN = 0.25  # share of a surprise the running tempo takes over
TEMPO_FIRST_CLIP = 1.2  # for the first interval heard
TEMPO_CLIP = 0.5  # larger surprises are waits, not tempo
LEFT_OUT = 2.0  # leaving out a written repeat, from its first time to what follows its last; by hand, flat from 0 to 4
# --- the path: jumps and starts -----------------------------------------------------------------------------------
JUMP = 16.0  # (sharp) back or on, to any place where the note is written
JUMP_TO_BAR = 1.0  # cheaper by this to the first onset of a bar
JUMP_TO_START = 1.5
JUMP_NEAR = 2.5  # cheaper by this within JUMP_NEAR_QUARTERS
JUMP_NEAR_QUARTERS = 9.0
JUMP_NEARER = 0.05  # a quarter within JUMP_NEAR_QUARTERS
JUMP_FAR = 1.0  # dearer by this for each e-fold beyond
HOP_QUARTERS = 2.0  # a jump ahead by no more is a hop (over an ornament): always allowed, and no new stretch
HOP_CHEAPER = 0.0
JUMP_FARTHEST = 4.0  # e-folds that are counted at most
PAUSE_WEIGHT = 2.5  # on log(pause / expected): a jump after a pause is cheaper
PAUSE_MOST = 5.0
START_ELSEWHERE = 5.0
START_AT_BAR = 4.0
START_LATER = 0.01  # a quarter
START_LATEST = 0.5
START_WITHIN = 64  # key presses within which a start may still be found
START_SURELY_WITHIN = 8  # and within which it is looked for even while all goes well
BEAM = 14.0
SURE_AFTER = 2  # presses taken well after which the best state goes on alone, and the others are put off,
PUT_OFF = 4  # for so many presses, when they are let go or all is weighed
SURE_BACK = 6  # presses that are weighed after all once one is not taken well
HOPELESS = 24.0  # nats behind the reading swept first at which another is given up; those that stood came within 13
TAKEN_WELL = 3.0  # a press that adds so much is no reason to think of a jump
CONFIRM_WITHIN = 3  # presses within which a landing must find a second note
LANDINGS_MOST = 400  # landings kept of one press
# --- readings tried
SHIFT_WORTH_TRYING = 0.0  # share of the take's pitches a shift must explain beyond the unshifted readings
SHIFTS_TRIED = 3
CLEARLY_LIKELIER = 0.3  # share of the take's pitches by which another reading than the plain one is swept first
SPLIT_FROM_NOTES = 8  # a target that tells no hands is split at its middle pitch from so many notes on
# --- between readings -------------------------------------------------------------------------------------------------
HYPOTHESIS_MARGIN = 6.0  # a hand left out or shifted must win by this
JUMP_GAIN_PER_NOTE = 0.5  # (sharp) jumps stand only if they gain this for each note placed elsewhere
JUMP_RARE = 4.0  # and this for each jump and e-fold of presses beyond JUMP_USUAL a jump
JUMP_USUAL = 100.0
LOOK_AHEAD = 16  # presses after a jump within which it must show that it leads away
STRAIGHT_BEHIND = 15.0
"""Nats behind, beyond what they must gain for the notes so far, at which a path without the jumps is given up.

Of 43 that stood in the end (of 558 swept for), none was ever further behind than 9.7.
"""
# --- the second look --------------------------------------------------------------------------------------------------
EDGE_S = 0.4  # a stretch reaches this far beyond its first and last press
DUE_WITHIN_S = 0.15  # how far from its due time a press may be, at least
DUE_WITHIN_IOI = 0.7  # and this share of the longer gap beside it
DUE_WITHIN_MOST_S = 2.5
PAIR_GAIN = 2.0  # against 0..1 for the distance: as many pairs as can be, then the nearest
FIRST_TRY_S = (0.2, 1.4)  # a first try comes this long before the note that stands
FIRST_TRY_MOST_S = 4.0  # or, where it goes slowly, up to the time from the onset before to the one after, no longer
FIRST_TRY_SEMITONES = 2
FIRST_TRY_FAR = 5  # where it came alone, when the note was due; 7 cost .001 of intent on medium takes
STOOD_LATE = 1.2  # and the note that stands came so many times later than it was due
PAUSE_BEFORE = 1.4  # so many times later than it was due a lone press had a pause before it
PAUSE_AFTER = 1.5  # and went on at the usual pace, within this factor
INSTEAD_WITHIN_S = 0.15  # another pitch counts as played for a note this near its due time
INSTEAD_CLOSE_S = 0.1  # and before first tries are looked for, if nearer than this
INSTEAD_CLOSE = 5  # and no more semitones off
INSTEAD_FAR = 7
INSTEAD_OCTAVE = 7  # semitones that an octave counts as
INSTEAD_SEMITONES = 8.0  # semitones that weigh as much as INSTEAD_WITHIN_S
INSTEAD_REACH = 0.6  # share of the note's own tolerance
LOOKS = 2
CURVE_GAP_QUARTERS = 1.5
CURVE_STEADY = 0.3
CURVE_FROM_SURE = 20
CLEAR_OF_S = 0.03  # a note sounded again or tried first stands clear of the onsets beside it
AGAIN_FROM_S = 0.3
HAND_SHIFT_DOUBT = 4.0
HAND_SHIFT_MOST_S = 0.25
CHORD_WAIT_S = 9.0
BRUSHED_DOUBT = 0.7
BRUSHED_WITHIN_S = 0.06
BRUSHED_VELOCITY = 0.75  # of the key beside
BRUSHED_MOST_S = 0.16
# --- ornaments; by hand
ORNAMENT_SEMITONES = 2  # from the written key
ORNAMENT_BEFORE_S = 0.35  # a turn or a trill may begin above its note
# --- one hand and then the other; by hand
TURN_FROM = 8  # presses on each side of a cut
TURN_ASTRAY = 3  # presses for no note, one after the other, for which a cut is thought of
TURN_SILENCES = 8  # the longest, at which a take may be cut, beside where it went back
TURNS_TRIED = 3  # cuts that are followed
TURN_FITS = 0.65  # share of a side's presses that one hand's keys must account for,
TURN_CLEARLY = 0.15  # and by how much more than those of both
TURN_UNCLEAR = 3.0  # presses by which two cuts may differ in that and be as clear
TURN_DOUBT = 0.8  # a take that is followed with more confidence is not cut
TURN_GAIN = 4  # presses and written notes that a cut must explain beyond no cut, where the place was kept
# --- somebody else on the same keyboard, with no part on the page; by hand
ASIDE_SEMITONES = 7  # keys that nobody plays between the two
ASIDE_GAPS = 3  # gaps that are tried
ASIDE_FROM = 12  # presses of the player whose page it is
# --- live -----------------------------------------------------------------------------------------------------------
LIVE_LOOKS = (8, 12, 16, 24, 40)  # presses after which a shifted reading is looked for
LIVE_GOES_WELL = 0.6  # unless a reading has so much of the value that so many right notes would have
# --- which piece is this ----------------------------------------------------------------------------------------------
RECOGNISE_MOVED = 10.0  # nats that a reading in another key, or of a hand moved by octaves, pays: the logarithm of some
# 250 of them, and of one take in ninety that is played so
RECOGNISE_MARGIN = 8.0
"""Nats by which a piece must lead to be named without asking.

Of 22,000 takes of the first 16 notes with 23 % other pitches, on three shelves of twelve, a wrong piece led in 6, by
.9, 1.2, 1.8, 3.0, 4.2 and 7.6 nats (before `RECOGNISE_MOVED` in 55, by up to 17.6); at most half of the keys were then
right. Leads so spread, 3 nats in the middle, come above 8 in 2 takes of 100,000: once in 25 sets of 2,000 takes. Of
2,000 takes of other seeds 1,999 were ranked first, 1,989 named, none wrongly.
"""
RECOGNISE_SHARE = (0.66, 4.5)  # of the value that so many right notes would have: the first less the second a press,
RECOGNISE_SHARE_MOST = 0.52  # and never more: costs 2 or 3 of 1,000 such takes of 16 notes, and names fewer strangers
RECOGNISE_VALUE = 33.0  # nats
RECOGNISE_FROM = 10  # presses: eight are always asked about, however well they fit
CUT_GAIN = 45.0  # nats that a cut must gain over the best single piece
CUT_GAIN_AT_REST = 20.0  # and where the second begins after a silence: one tune with two pauses gained 12 at most
CUT_NEAR = 6.0  # nats below the best place at which another, with a longer silence before it, is as good
CUT_SILENCE_S = 0.5
CUT_AMONG = 5  # one of the two is among so many that explain the whole best; the other may be far shorter
