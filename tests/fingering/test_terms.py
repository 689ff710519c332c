"""Every term of the cost by itself, worked by hand: where it applies, by how much, and where not.

A placement is written as a player would say it, for instance ``A 2 C#5 I``: on the A string the
second finger takes C sharp, in first position.

``I``, ``III``, ``half``
    the position; the first finger's own place lies a half step above the nut in half position, a
    whole step in first, a fourth in third, an octave in seventh;
``low I``, ``high I``
    the whole hand lies a half step lower or higher, by the same letters;
``D 1 E4 + A 2 C5 I``
    two notes struck together;
``D 1 E4 + A 0 A4 held I``, ``D 1 E4 + A4 let go I``
    a note struck before that sounds on, or is let go before its time;
``A 4 A5 harmonic IV``
    a string that is touched, not stopped.

The fingers, places and positions are common practice; units stand in the tables of
``note_terms.py`` and ``step_terms.py``. Centimetres are worked from 328 mm of string, on which a
stop n semitones above the nut lies 328 · (1 − 2^(−n/12)) mm from it.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from types import MappingProxyType

import numpy as np
import pytest

from scoretools.fingering.cost import HASTE_STEPS, Context, note_items, step_items
from scoretools.fingering.note_terms import NOTE_TERMS
from scoretools.fingering.rows import LET_GO, Hand
from scoretools.fingering.states import States, candidates, soundings
from scoretools.fingering.step_terms import STEP_TERMS, Pairs
from scoretools.fingering.weights import Weights, weights_for
from scoretools.hand import hand_reach
from scoretools.instrument import HIGHEST_POSITION, instrument
from scoretools.model import NO_MARKS, Address, Harmonic, Marks, Note, Pitch, PositionNumber
from scoretools.player import Player

VIOLIN = instrument("violin", "4/4")
REACH = hand_reach(VIOLIN, Player())
NOTE_NAMES = [term.name for term in NOTE_TERMS]
STEP_NAMES = [term.name for term in STEP_TERMS]


# ── placements in words ─────────────────────────────────────────────────────────────────────────

FIRST_FINGER = {
    "half": (0, 1), "I": (1, 2), "II": (2, 4), "III": (3, 5), "IV": (4, 7), "V": (5, 9),
    "VI": (6, 11), "VII": (7, 12), "VIII": (8, 14),
}  # fmt: skip
"""Position, and semitones from the nut to the first finger's place."""

_HAND = re.compile(r"(.*?) (?:(low|high) )?(half|[IV]+)")
_STOP = re.compile(r"([GDAE]) ([0-4]) ([A-G][#b]*\d)(?: (harmonic|held))?")
_RELEASED = re.compile(r"([A-G][#b]*\d) let go")


@dataclass(frozen=True)
class Placed:
    """A placement: one row of states, and the pitches that are struck (−1 for held notes)."""

    states: States
    pitch: list[int]


def placed(words: str) -> Placed:
    """Find a placement among all that a hand is offered for its notes."""
    read = _HAND.fullmatch(words)
    assert read is not None, words
    position, home = FIRST_FINGER[read[3]]
    home += {"low": -1, "high": 1, None: 0}[read[2]]
    struck: list[Note] = []
    held: list[Note] = []
    stops: list[tuple[int, int]] = []
    for stop in read[1].split(" + "):
        note, string, finger, sounds_on = stop_in_words(stop)
        (held if sounds_on else struck).append(note)
        stops.append((string, finger))
    hand = Hand(VIOLIN, REACH, HIGHEST_POSITION)
    states = candidates(hand, soundings(struck, held), ())
    assert states is not None, words
    (row,) = [
        row
        for row in range(len(states))
        if (states.position[row], states.home[row]) == (position, home)
        and list(zip(states.string[row], states.finger[row], strict=True)) == stops
    ]
    pitch = [note.pitch.midi for note in struck] + [-1] * len(held)
    return Placed(states.rows(np.array([row])), pitch)


def stop_in_words(words: str) -> tuple[Note, int, int, bool]:
    """The note, its string and finger, and whether it was struck before."""
    if released := _RELEASED.fullmatch(words):
        return note(released[1]), 0, LET_GO, True
    read = _STOP.fullmatch(words)
    assert read is not None, words
    harmonic = read[4] == "harmonic"
    marks = Marks(harmonic=Harmonic.NATURAL) if harmonic else NO_MARKS
    return note(read[3], marks), "GDAE".index(read[1]), int(read[2]), read[4] == "held"


def note(name: str, marks: Marks = NO_MARKS) -> Note:
    pitch = Pitch(name[0], name.count("#") - name.count("b"), int(name[-1]))
    quarter = Fraction(1)
    return Note(pitch, quarter, quarter, "1", 1, False, False, marks, Address("P1", 0, 0))


def one_point_for(term: str) -> Weights:
    """Weights of one point a unit for this term, and of nothing for all others."""
    return replace(
        weights_for(Player()),
        note=MappingProxyType({name: float(name == term) for name in NOTE_NAMES}),
        step=MappingProxyType({name: float(name == term) for name in STEP_NAMES}),
    )


def cm(low: int, high: int) -> float:
    """Centimetres from one stop to another, in semitones above the nut of a full-size violin."""
    return float(32.8 * (2 ** (-low / 12) - 2 ** (-high / 12)))


# ── one event ───────────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True)
class Alone:
    """A term, a placement, and how many units of the term it costs."""

    term: str
    words: str
    units: float
    seconds: float = 0.5
    """How long it lasts; terms that count per event do not ask."""
    ceiling: int = 12
    """Highest position of the player."""

    def __str__(self) -> str:
        return f"{self.term}: {self.words}"


ALONE = (
    Alone("above first position", "A 1 B4 I", 0),
    Alone("above first position", "A 1 Bb4 half", 0),
    Alone("above first position", "A 1 C5 low II", 1),
    Alone("above first position", "A 1 D5 III", 2),
    Alone("above first position", "A 0 A4 III", 0),  # no finger is down: the hand may be anywhere

    Alone("half position", "A 1 Bb4 half", 0),  # first position's low first finger as well
    Alone("half position", "A 1 Bb4 + E 2 F#5 half", 1),
    Alone("half position", "A 2 B4 half", 1),
    Alone("half position", "A 1 Bb4 low I", 0),
    Alone("half position", "A 0 A4 half", 0),

    Alone("even position", "A 1 C5 low II", 1),
    Alone("even position", "A 1 E5 IV", 1),
    Alone("even position", "A 1 G#5 VI", 1),
    Alone("even position", "A 1 D5 III", 0),
    Alone("even position", "A 0 A4 IV", 0),
    Alone("even position", "A 1 Bb4 half", 0),  # zeroth by number, but not an even one

    Alone("second position", "A 1 C5 low II", 1),
    Alone("second position", "A 1 E5 IV", 0),
    Alone("second position", "A 1 B4 I", 0),
    Alone("second position", "A 0 A4 II", 0),

    Alone("above sixth position", "E 1 E6 VII", 1),
    Alone("above sixth position", "E 1 D#6 VI", 0),
    Alone("above sixth position", "E 0 E5 VII", 0),

    Alone("long note in first position", "A 1 B4 I", 1.5, seconds=1.5),
    Alone("long note in first position", "A 1 B4 I", 2, seconds=5),  # two seconds count at most
    Alone("long note in first position", "A 1 Bb4 half", 0.5, seconds=0.5),
    Alone("long note in first position", "A 1 D5 III", 0, seconds=1.5),
    Alone("long note in first position", "A 1 C5 low II", 0, seconds=1.5),
    Alone("long note in first position", "A 0 A4 I", 0, seconds=1.5),

    # A hand in third position has its first finger six semitones up at most.
    Alone("beyond the ceiling", "A 1 E5 IV", 1, ceiling=3),
    Alone("beyond the ceiling", "A 1 F#5 V", 3, ceiling=3),
    Alone("beyond the ceiling", "A 1 D#5 high III", 0, ceiling=3),
    Alone("beyond the ceiling", "A 1 F#5 V", 0, ceiling=5),

    Alone("hand off its place", "A 1 B#4 high I", 1),
    Alone("hand off its place", "A 1 Db5 low III", 1),
    Alone("hand off its place", "A 1 D#5 high III", 1),
    Alone("hand off its place", "A 1 D5 III", 0),
    Alone("hand off its place", "A 1 Eb5 low IV", 1),
    Alone("hand off its place", "A 1 E5 IV", 0),
    Alone("hand off its place", "A 1 G#5 low VII", 1),
    # Seconds, thirds, sixths and sevenths above the open string: minor and major are both usual.
    Alone("hand off its place", "A 1 Bb4 low I", 0),
    Alone("hand off its place", "A 1 C5 low II", 0),
    Alone("hand off its place", "A 1 F5 low V", 0),
    Alone("hand off its place", "A 1 F##5 high V", 1),
    Alone("hand off its place", "A 1 G5 low VI", 0),
    Alone("hand off its place", "A 1 G##5 high VI", 1),
    Alone("hand off its place", "A 1 Bb5 low VIII", 0),
    Alone("hand off its place", "A 0 A4 high III", 0),

    Alone("reach back", "A 1 Bb4 I", 1),
    Alone("reach back", "A 1 Bb4 low I", 0),
    Alone("reach back", "A 1 B4 I", 0),

    Alone("extension", "A 4 F5 I", 1),
    Alone("extension", "A 2 D5 I", 1),
    Alone("extension", "G 1 D4 + D 4 F5 IV", 1),  # a tenth
    Alone("extension", "A 4 E5 I", 0),
    Alone("extension", "A 1 Bb4 I", 0),  # downwards: a reach back

    # The comfortable span is that of a fourth in first position, 2 to 7 semitones up.
    Alone("stretch", "A 4 F5 I", cm(7, 8)),
    Alone("stretch", "A 1 Bb4 I", cm(1, 2)),
    Alone("stretch", "A 4 E5 I", 0),
    Alone("stretch", "A 4 Eb5 low I", 0),  # wider by the millimetre, but the ordinary frame
    Alone("stretch", "E 4 Bb6 VII", 0),  # an octave up there is room for it

    Alone("contraction", "A 2 B4 I", 1),
    Alone("contraction", "A 3 C#5 I", 1),
    Alone("contraction", "A 4 D5 I", 1),
    Alone("contraction", "A 2 C5 I", 0),
    Alone("contraction", "A 4 Eb5 I", 0),  # that is a low fourth finger

    Alone("low fourth finger", "A 4 Eb5 I", 1),
    Alone("low fourth finger", "A 4 E5 I", 0),
    Alone("low fourth finger", "A 4 Eb5 low I", 0),

    Alone("fourth finger", "A 4 E5 I", 1),
    Alone("fourth finger", "D 3 G4 + A 4 E5 I", 1),
    Alone("fourth finger", "A 3 D5 I", 0),

    Alone("fourth finger for the next string", "A 4 F5 I", 1),
    Alone("fourth finger for the next string", "A 4 E5 I", 0),
    Alone("fourth finger for the next string", "A 4 Eb5 I", 0),
    Alone("fourth finger for the next string", "E 1 F5 I", 0),
    Alone("fourth finger for the next string", "E 4 C6 I", 0),  # there is no next string

    Alone("fourth finger held", "A 4 E5 I", 0.25, seconds=0.25),
    Alone("fourth finger held", "A 4 E5 I", 2, seconds=3),
    Alone("fourth finger held", "A 3 D5 I", 0, seconds=3),

    Alone("high second finger", "A 2 C#5 I", 1),
    Alone("high second finger", "A 2 C5 I", 0),
    Alone("high second finger", "A 3 D#5 I", 0),

    Alone("high third finger", "A 3 D#5 I", 1),
    Alone("high third finger", "A 3 D5 I", 0),
    Alone("high third finger", "A 2 C#5 I", 0),

    Alone("open string", "A 0 A4 I", 1),
    Alone("open string", "D 1 E4 I", 0),
    Alone("open string", "D 1 E4 + A 0 A4 I", 0),  # in a double stop it is welcome
    Alone("open string", "A 0 A4 + E4 let go I", 1),

    Alone("open string rings on", "A 0 A4 I", 0.5, seconds=0.5),
    Alone("open string rings on", "A 0 A4 I", 2, seconds=4),
    Alone("open string rings on", "D 1 E4 + A 0 A4 I", 0),
    Alone("open string rings on", "D 4 A4 I", 0),

    Alone("open top string rings on", "E 0 E5 I", 1.5, seconds=1.5),
    Alone("open top string rings on", "A 0 A4 I", 0, seconds=1.5),
    Alone("open top string rings on", "A 1 B4 + E 0 E5 I", 0),
    Alone("open top string rings on", "A 4 E5 I", 0),

    Alone("high on a low string", "G 1 C4 III", 3),  # three strings below the top, III is one up
    Alone("high on a low string", "G 1 E4 V", 9),
    Alone("high on a low string", "A 1 E5 IV", 2),
    Alone("high on a low string", "D 1 A4 + A 1 E5 IV", 4),  # by the lower of the two
    Alone("high on a low string", "E 1 E6 VII", 0),
    Alone("high on a low string", "G 1 Bb3 low II", 0),

    Alone("letter against finger", "A 2 Db5 I", 1),  # D is the third finger's letter
    Alone("letter against finger", "A 1 A#4 low I", 0),  # so is half position's first finger
    Alone("letter against finger", "A 2 C#5 I", 0),
    Alone("letter against finger", "A 1 A#4 half", 0),
    Alone("letter against finger", "A 1 Bb4 half", 0),  # either letter does in half position
    Alone("letter against finger", "A 0 A4 III", 0),
    Alone("letter against finger", "A 4 A5 harmonic IV", 0),

    Alone("fifth under one finger", "D 1 E4 + A 1 B4 I", 1),
    Alone("fifth under one finger", "D 4 A4 + A 4 E5 I", 4),  # too narrow for two strings
    Alone("fifth under one finger", "D 1 E4 + A 2 C#5 I", 0),
    Alone("fifth under one finger", "D 0 D4 + A 0 A4 I", 0),

    Alone("lower string above", "G 4 A4 + D 0 D4 V", 1),
    Alone("lower string above", "G 1 A3 + D 0 D4 I", 0),
    Alone("lower string above", "D 4 A4 + A 0 A4 I", 0),  # a unison

    # An octave and a fifth above the open string: touched a fifth above it.
    Alone("harmonic off the middle", "A 4 E6 harmonic I", 1),
    Alone("harmonic off the middle", "A 4 A5 harmonic IV", 0),
    Alone("harmonic off the middle", "A 4 E5 I", 0),

    # The second finger lies on two places, so that lower and upper strings take turns.
    Alone("broken chord", "D 4 B4 + A 3 D5 + E 1 F#5 high I", 1),  # seven semitones
    Alone("broken chord", "G 2 B3 + D 1 E4 + A 0 A4 I", 0),
    Alone("broken chord", "D 1 E4 + A 2 C5 I", 0),

    Alone("held note let go", "D 1 E4 + A4 let go I", 1),
    Alone("held note let go", "D 1 E4 + A4 let go + G3 let go I", 2),
    Alone("held note let go", "D 1 E4 + A 0 A4 held I", 0),
)  # fmt: skip


@pytest.mark.parametrize("case", ALONE, ids=str)
def test_a_term_on_one_event(case: Alone) -> None:
    hand = Hand(VIOLIN, REACH, PositionNumber(case.ceiling))
    states = placed(case.words).states
    items = note_items(hand, one_point_for(case.term), states, np.array([case.seconds]))
    assert items[case.term].tolist() == pytest.approx([case.units], abs=1e-5)


# ── one step ────────────────────────────────────────────────────────────────────────────────────

IN_TIME = Context(slurred=False, haste=0, rest=False)
SLURRED = IN_TIME._replace(slurred=True)
HASTE = IN_TIME._replace(haste=HASTE_STEPS // 2)
"""Half of the haste there can be."""
AFTER_A_REST = IN_TIME._replace(rest=True)
SLIDE = IN_TIME._replace(glides=True)
RESTEZ = IN_TIME._replace(stays=True)
REPEATED = IN_TIME._replace(repeats=True)


@dataclass(frozen=True)
class Way:
    """A term, two placements, and how many units of the term the step between them costs."""

    term: str
    before: str
    after: str
    units: float
    context: Context = IN_TIME
    known: tuple[str, ...] = ()
    """Shapes the player knows; none where that is not asked."""

    def __str__(self) -> str:
        return f"{self.term}: {self.before} to {self.after}"


WAYS = (
    Way("shift", "A 1 B4 I", "A 1 D5 III", 1),
    Way("shift", "A 1 D5 III", "E 2 G#5 I", 1),
    Way("shift", "A 2 B4 half", "A 2 C#5 I", 0.5),  # a half step
    Way("shift", "A 1 Bb4 half", "A 1 B4 I", 0),  # one place with the low first finger
    Way("shift", "A 1 C5 low II", "A 1 B4 I", 0.5),
    Way("shift", "D 1 E4 + A 2 C#5 I", "D 1 G4 + A 2 E5 III", 1.5),  # with a double stop
    Way("shift", "A 1 Bb4 low I", "A 1 B4 I", 0),  # within the position
    Way("shift", "A 1 C#5 II", "A 1 Db5 low III", 0),  # the hand stays

    Way("shift distance", "A 1 B4 I", "A 1 D5 III", cm(2, 5)),
    Way("shift distance", "A 1 D5 III", "A 1 B4 I", cm(2, 5)),
    Way("shift distance", "E 1 B5 IV", "E 1 E6 VII", cm(7, 12)),
    Way("shift distance", "A 1 Bb4 low I", "A 1 B4 I", cm(1, 2)),
    Way("shift distance", "G 1 A3 I", "E 4 B5 I", 0),

    Way("shift under a slur", "A 1 B4 I", "A 1 D5 III", 1, SLURRED),
    Way("into half position", "A 1 B4 I", "A 2 B4 half", 1),
    Way("into half position", "A 1 B4 I", "A 1 Bb4 half", 1),
    Way("into half position", "A 1 Bb4 low I", "A 2 B4 half", 1),
    Way("into half position", "A 1 Bb4 half", "A 2 B4 half", 0),  # the hand was there
    Way("into half position", "A 2 B4 half", "A 1 B4 I", 0),
    Way("shift under a slur", "A 2 B4 half", "A 2 C#5 I", 0.5, SLURRED),
    Way("shift under a slur", "A 1 B4 I", "A 1 D5 III", 0),
    Way("shift under a slur", "A 1 B4 I", "A 3 D5 I", 0, SLURRED),

    Way("hasty shift", "A 1 B4 I", "A 1 D5 III", 0.5, HASTE),
    Way("hasty shift", "A 1 B4 I", "A 1 D5 III", 0),
    Way("hasty shift", "A 1 B4 I", "A 3 D5 I", 0, HASTE),

    Way("shift on a sounding finger", "A 1 B4 I", "A 1 D5 III", 1),
    Way("shift on a sounding finger", "A 1 B4 I", "A 1 D5 III", 0, AFTER_A_REST),
    Way("shift on a sounding finger", "A 0 A4 I", "A 1 D5 III", 0),
    Way("shift on a sounding finger", "A 1 B4 I", "E 0 E5 III", 0),

    Way("shift to another finger", "A 1 B4 I", "A 2 E5 III", 1),
    Way("shift to another finger", "A 1 B4 I", "E 1 A5 III", 1),  # it leaves its string
    Way("shift to another finger", "A 1 B4 I", "A 1 D5 III", 0),
    Way("shift to another finger", "A 0 A4 I", "A 2 E5 III", 0),
    Way("shift to another finger", "D 1 E4 + A 2 C#5 I", "D 1 G4 + A 3 F5 III", 0),

    Way("far shift", "E 1 F#5 I", "E 1 B5 IV", 1),  # a fourth
    Way("far shift", "E 1 C#6 V", "E 1 F#5 I", 1),
    Way("far shift", "E 1 F#5 I", "E 1 A#5 low IV", 0),
    Way("far shift", "E 1 F#5 I", "E 1 A5 III", 0),

    Way("shift up to a higher finger", "A 1 B4 I", "A 3 F5 III", 1),
    Way("shift up to a higher finger", "A 0 A4 I", "A 2 E5 III", 1),
    Way("shift up to a higher finger", "D 1 E4 + A 1 B4 I", "D 1 G4 + A 2 E5 III", 1),
    Way("shift up to a higher finger", "A 1 B4 I", "A 1 D5 III", 0),
    Way("shift up to a higher finger", "A 1 D5 III", "A 2 C5 I", 0),  # down
    Way("shift up to a higher finger", "A 1 B4 I", "A 3 D5 I", 0),  # the hand stays

    Way("shift up from a higher finger", "A 3 D5 I", "A 2 E5 III", 1),
    Way("shift up from a higher finger", "A 2 C5 I", "A 1 D5 III", 1),
    Way("shift up from a higher finger", "A 1 B4 I", "A 2 E5 III", 0),
    Way("shift up from a higher finger", "A 0 A4 I", "A 2 E5 III", 0),
    Way("shift up from a higher finger", "A 3 F5 III", "A 1 B4 I", 0),

    Way("shift down to a lower finger", "A 1 D5 III", "A 2 C#5 I", 1),
    Way("shift down to a lower finger", "A 1 D5 III", "A 1 B4 I", 1),
    Way("shift down to a lower finger", "A 1 D5 III", "A 3 D5 I", 1),
    Way("shift down to a lower finger", "A 1 D5 III", "A 4 E5 I", 0),
    Way("shift down to a lower finger", "A 1 D5 III", "A 0 A4 I", 0),
    Way("shift down to a lower finger", "A 1 B4 I", "A 1 D5 III", 0),

    Way("shift up while the line falls", "E 1 F#5 I", "A 2 E5 III", 1),
    Way("shift up while the line falls", "D 1 E4 + F#5 let go I", "A 1 D5 III", 0),
    Way("shift up while the line falls", "A 3 D5 I", "A 1 D5 III", 0),
    Way("shift up while the line falls", "E 1 F#5 I", "E 1 A5 III", 0),
    Way("shift up while the line falls", "A 1 D5 III", "A 1 B4 I", 0),

    Way("hand moves a little", "A 1 Bb4 low I", "A 1 B4 I", 1),
    Way("hand moves a little", "A 1 B#4 high I", "D 1 Eb4 low I", 2),
    Way("hand moves a little", "A 1 B4 I", "A 3 D5 I", 0),
    Way("hand moves a little", "A 1 B4 I", "A 1 D5 III", 0),  # that is a shift

    Way("position renamed", "A 1 C#5 II", "A 1 Db5 low III", 1),
    Way("position renamed", "A 1 C#5 II", "A 2 D5 II", 0),
    Way("position renamed", "A 1 B4 I", "A 1 D5 III", 0),

    Way("string crossing", "A 1 B4 I", "E 1 F#5 I", 1),
    Way("string crossing", "G 1 A3 I", "E 0 E5 I", 3),
    Way("string crossing", "D 1 E4 + A 2 C#5 I", "E 1 F#5 I", 1),  # from the nearer string
    Way("string crossing", "D 1 E4 + A 2 C#5 I", "A 3 D5 I", 0),
    Way("string crossing", "A 1 B4 I", "A 3 D5 I", 0),
    Way("string crossing", "G 1 A3 I", "E 1 F#5 + A3 let go I", 3),  # let go: it sounds no more

    Way("string crossing", "A 1 B4 + E4 let go I", "G 1 A3 I", 2),
    Way("string crossing under a slur", "G 1 A3 I", "A 1 B4 I", 2, SLURRED),
    Way("string crossing under a slur", "G 1 A3 I", "A 1 B4 I", 0),
    Way("string crossing under a slur", "A 1 B4 I", "A 3 D5 I", 0, SLURRED),

    Way("hasty string crossing", "A 1 B4 I", "E 1 F#5 I", 0.5, HASTE),
    Way("hasty string crossing", "G 1 A3 I", "A 1 B4 I", 1, HASTE),
    Way("hasty string crossing", "A 1 B4 I", "E 1 F#5 I", 0),
    Way("hasty string crossing", "A 1 B4 I", "A 3 D5 I", 0, HASTE),

    Way("string crossing between stops", "A 1 B4 I", "E 1 F#5 I", 1),
    Way("string crossing between stops", "G 1 A3 I", "A 3 D5 I", 2),
    Way("string crossing between stops", "A 1 B4 I", "E 0 E5 I", 0),
    Way("string crossing between stops", "A 0 A4 I", "E 1 F#5 I", 0),
    Way("string crossing between stops", "A 1 B4 I", "A 3 D5 I", 0),

    Way("crossing from the fourth finger", "A 4 E5 I", "E 1 F#5 I", 1),
    Way("crossing from the fourth finger", "A 4 E5 I", "G 1 A3 I", 1),  # once, however far
    Way("crossing from the fourth finger", "A 4 E5 I", "A 3 D5 I", 0),
    Way("crossing from the fourth finger", "A 4 E5 I", "D 0 D4 I", 0),
    Way("crossing from the fourth finger", "A 4 E5 I", "E 1 A5 III", 0),  # a shift
    Way("crossing from the fourth finger", "A 3 D5 I", "E 1 F#5 I", 0),

    Way("finger hops", "D 2 F#4 I", "A 2 C5 I", 1),
    Way("finger hops", "G 1 A3 I", "A 1 B4 I", 1),  # one place, but two strings on
    Way("finger hops", "D 2 F#4 + A 0 A4 I", "A 2 C5 I", 0.4),  # eased in double stops
    Way("finger hops", "D 2 F#4 I", "A 2 C5 I", 0, AFTER_A_REST),  # there is time
    Way("finger hops", "D 1 E4 I", "A 1 B4 I", 0),  # a fifth: it rolls
    Way("finger hops", "D 2 F#4 I", "A 3 D5 I", 0),
    Way("finger hops", "D 2 F#4 I", "D 2 F4 I", 0),
    Way("finger hops", "D 2 F#4 I", "A 2 E5 III", 0),  # a shift

    Way("hasty hop", "D 2 F#4 I", "A 2 C5 I", 0.5, HASTE),
    Way("hasty hop", "D 2 F#4 I", "A 2 C5 I", 0),
    Way("hasty hop", "D 1 E4 I", "A 1 B4 I", 0, HASTE),

    Way("finger rolls across a fifth", "D 1 E4 I", "A 1 B4 I", 1),
    Way("finger rolls across a fifth", "E 3 A5 I", "A 3 D5 I", 1),
    Way("finger rolls across a fifth", "D 1 E4 + A 3 D5 I", "A 1 B4 I", 0.4),
    Way("finger rolls across a fifth", "D 2 F#4 I", "A 2 C5 I", 0),
    Way("finger rolls across a fifth", "G 1 A3 I", "A 1 B4 I", 0),
    Way("finger rolls across a fifth", "D 0 D4 I", "A 0 A4 I", 0),

    Way("finger slides", "A 2 C5 I", "A 2 C#5 I", 1),
    Way("finger slides", "A 1 B4 I", "A 1 Bb4 low I", 1),
    Way("finger slides", "A 2 B4 I", "A 2 C#5 I", 3),  # a whole step smears
    Way("finger slides", "A 2 D5 I", "A 2 B4 I", 3),
    Way("finger slides", "A 2 C5 I", "A 2 C5 I", 0),
    Way("finger slides", "D 2 F#4 I", "A 2 C5 I", 0),  # it hops
    Way("finger slides", "A 2 C5 I", "A 3 C#5 I", 0),
    Way("finger slides", "A 1 B4 I", "A 1 D5 III", 0),  # a shift

    Way("hasty slide", "A 2 C5 I", "A 2 C#5 I", 0.5, HASTE),
    Way("hasty slide", "A 2 B4 I", "A 2 C#5 I", 1.5, HASTE),
    Way("hasty slide", "A 2 C5 I", "A 2 C#5 I", 0),
    Way("hasty slide", "A 2 C5 I", "A 3 C#5 I", 0, HASTE),

    Way("shape strained", "A 1 B4 I", "A 2 D5 I", 1),  # an augmented second
    Way("shape strained", "A 1 B4 I", "A 3 C#5 I", 1),  # a second from first to third finger
    Way("shape strained", "A 4 F5 I", "A 1 B4 I", 1),  # a tritone in place of a fourth
    Way("shape strained", "A 3 D#5 I", "A 2 C5 I", 1),
    Way("shape strained", "A 1 B4 I", "A 2 B4 I", 1),  # no room at all
    Way("shape strained", "A 2 C5 I", "A 4 F5 I", 1),
    Way("shape strained", "D 1 E4 + A 1 B4 I", "D 2 F#4 + A 3 C#5 I", 1),  # on the upper string
    Way("shape strained", "A 2 C5 I", "A 2 C#5 I", 0),  # one finger slides
    Way("shape strained", "A 2 C#5 I", "A 2 C5 I", 0),
    Way("shape strained", "A 1 B4 I", "A 2 C5 I", 0),
    Way("shape strained", "A 4 E5 I", "A 1 B4 I", 0),
    Way("shape strained", "A 1 B4 I", "E 2 A5 I", 0),  # on two strings
    Way("shape strained", "A 1 E5 IV", "A 0 A4 IV", 0),  # an open string takes no finger
    Way("shape strained", "A 0 A4 IV", "A 1 E5 IV", 0),
    Way("shape strained", "A 1 B4 I", "A 2 E5 III", 0),  # a shift

    Way("spacing not known yet", "A 1 B4 I", "A 2 C5 I", 1, known=("W-H-W",)),
    Way("spacing not known yet", "A 3 D#5 I", "A 2 C#5 I", 1, known=("W-H-W",)),
    Way("spacing not known yet", "A 1 B4 I", "A 4 Eb5 I", 1, known=("W-H-W",)),
    Way("spacing not known yet", "A 1 B4 I", "A 2 B4 I", 1, known=("W-H-W",)),  # no spacing at all
    Way("spacing not known yet", "A 1 B4 I", "A 2 C5 I", 0, known=("W-H-W", "H-W-W")),
    Way("spacing not known yet", "A 2 C#5 I", "A 3 D5 I", 0, known=("W-H-W",)),
    Way("spacing not known yet", "A 4 E5 I", "A 1 B4 I", 0, known=("W-H-W",)),
    Way("spacing not known yet", "A 2 C5 I", "A 2 C#5 I", 0, known=("W-H-W",)),  # it slides
    Way("spacing not known yet", "A 0 A4 I", "A 2 C5 I", 0, known=("W-H-W",)),
    Way("spacing not known yet", "A 1 B4 I", "A 2 C5 I", 0),
    Way("spacing not known yet", "A 1 B4 I", "E 2 G5 I", 0, known=("W-H-W",)),  # on two strings
    Way("spacing not known yet", "A 1 B4 I", "A 2 E5 III", 0, known=("W-H-W",)),  # a shift

    Way("fingers out of order", "A 2 D5 I", "A 3 C#5 I", 1),
    Way("fingers out of order", "A 3 C#5 I", "A 2 D5 I", 1),
    Way("fingers out of order", "A 1 B4 I", "A 2 B4 I", 1),
    Way("fingers out of order", "A 2 B4 I", "A 1 B4 I", 1),
    Way("fingers out of order", "A 1 B4 I", "A 2 C5 I", 0),
    Way("fingers out of order", "A 2 C5 I", "A 1 B4 I", 0),
    Way("fingers out of order", "A 4 E5 I", "A 2 C5 I", 0),
    Way("fingers out of order", "A 2 C5 I", "A 2 C#5 I", 0),  # one finger slides
    Way("fingers out of order", "A 2 C#5 I", "A 2 C5 I", 0),
    Way("fingers out of order", "A 2 C5 I", "A 3 D5 I", 0),
    Way("fingers out of order", "A 2 D5 I", "E 3 G#5 I", 0),  # on two strings
    Way("fingers out of order", "A 4 E5 I", "A 1 E5 IV", 0),  # a shift

    Way("slide by another finger", "A 1 B4 I", "A 3 D5 I", 1, SLIDE),
    Way("slide by another finger", "D 1 E4 I", "A 1 B4 I", 1, SLIDE),
    Way("slide by another finger", "A 1 B4 I", "A 1 D5 III", 0, SLIDE),
    Way("slide by another finger", "A 1 B4 I", "A 3 D5 I", 0),

    Way("shift against restez", "A 1 D5 III", "A 1 B4 I", 1, RESTEZ),
    Way("shift against restez", "D 1 E4 + A 2 C#5 I", "D 1 G4 + A 2 E5 III", 1.5, RESTEZ),
    Way("shift against restez", "A 1 D5 III", "A 3 F5 III", 0, RESTEZ),
    Way("shift against restez", "A 1 D5 III", "A 1 B4 I", 0),

    Way("change among repetitions", "D 4 A4 I", "A 0 A4 I", 0),  # of two, either is well
    Way("change among repetitions", "D 4 A4 I", "A 0 A4 I", 1, REPEATED),
    Way("change among repetitions", "D 4 A4 I", "D 4 A4 I", 0, REPEATED),
    Way("repeated note changes", "D 4 A4 I", "A 0 A4 I", 1),
    Way("repeated note changes", "A 3 D5 I", "A 1 D5 III", 1),
    Way("repeated note changes", "A 3 D5 I", "A 3 D5 I", 0),
    Way("repeated note changes", "A 3 D5 I", "A 4 E5 I", 0),
    Way("repeated note changes", "D 1 E4 + A 0 A4 held I", "D 2 F#4 + A4 let go I", 0),
    Way("repeated note changes", "D 4 A4 I", "E 1 F#5 + A 0 A4 held I", 0),  # not struck again
)  # fmt: skip


HIDDEN_BY_A_REST = ("shift on a sounding finger", "finger hops", "finger rolls across a fifth")
"""Terms that count only where no rest comes between."""


@pytest.mark.parametrize("case", WAYS, ids=str)
def test_a_term_on_one_step(case: Way) -> None:
    assert units_of(case, case.context) == pytest.approx(case.units, abs=1e-5)


@pytest.mark.parametrize("case", [case for case in WAYS if case.context is IN_TIME], ids=str)
def test_a_rest_takes_away_what_it_hides_and_nothing_else(case: Way) -> None:
    left = 0 if case.term in HIDDEN_BY_A_REST else case.units
    assert units_of(case, AFTER_A_REST) == pytest.approx(left, abs=1e-5)


def units_of(case: Way, context: Context) -> float:
    before, after = placed(case.before), placed(case.after)
    pairs = Pairs.between(
        Hand(VIOLIN, REACH, HIGHEST_POSITION, shapes=case.known),
        (before.states, after.states),
        (struck(before), struck(after)),
        np.zeros((len(before.pitch), len(after.pitch)), dtype=np.bool_),
    )
    (units,) = step_items(one_point_for(case.term), pairs, [context])[case.term].tolist()
    return float(units)


def struck(one: Placed) -> np.ndarray[tuple[int, ...], np.dtype[np.int16]]:
    return np.array([one.pitch], dtype=np.int16)


# ── all of them ─────────────────────────────────────────────────────────────────────────────────


def test_every_term_has_a_case_that_applies_and_one_that_does_not() -> None:
    assert told(ALONE) == {(name, applies) for name in NOTE_NAMES for applies in (True, False)}
    assert told(WAYS) == {(name, applies) for name in STEP_NAMES for applies in (True, False)}


def told(cases: Iterable[Alone | Way]) -> set[tuple[str, bool]]:
    return {(case.term, case.units > 0) for case in cases}


def test_no_case_stands_twice() -> None:
    assert len(set(ALONE)) == len(ALONE)
    assert len(set(WAYS)) == len(WAYS)


def test_a_weight_is_points_a_unit() -> None:
    """Third position is two above the first: at a quarter of a point each, half a point."""
    term = "above first position"
    weights = one_point_for(term)
    weights = replace(weights, note=MappingProxyType({**weights.note, term: 0.25}))
    states = placed("A 1 D5 III").states
    items = note_items(Hand(VIOLIN, REACH, HIGHEST_POSITION), weights, states, np.array([1.0]))
    assert {name: points.tolist() for name, points in items.items() if points.any()} == {
        term: [0.5]
    }
