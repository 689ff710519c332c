"""How a drill goes: its forms, as data.

A form is a row of tokens, each of which becomes one note, or several that sound together:

``0`` to ``4``
    the open string, or that finger in the shape;
``~1`` to ``~4``
    that finger set down without the bow;
``1^`` to ``4^``
    that finger in the same shape on the next higher string;
``1/`` to ``4/``
    that finger in the shape the piece has on the string beside it;
``before 1`` to ``before 4``
    that finger in the shape from which it changes;
``old``, ``new``
    the finger that changes, in its earlier and its later place;
``beside``
    the finger next to the one that changes;
``stretched``, ``settled``
    the finger that leaves the frame, and the finger of the frame farthest from it that is reached
    without spreading the hand wide;
``low``, ``high``
    two fingers on one string: of an augmented second, or the first two that lie close;
``frame``
    1 on its string and 4 on the next one, an octave, together;
``from``, ``guide``, ``to``
    departure of a shift, the departing finger in the new place, and the note of arrival where
    another finger plays it;
``near``
    the departing finger a half step on, or back;
``lower``, ``upper``, ``both``
    the notes of a double stop, one by one and together;
``pair below``, ``pair above``, ``all``
    the lower and the upper two notes of a chord, and the whole of it;
``known``
    the fingers that play in the piece, up and down, where the others would not fit the hand;
``scale``
    every note of the key in the position, over all strings, up and down.

Source: forms in general use by string teachers (common practice, no published source).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction
from types import MappingProxyType

from scoretools.model import DemandKind

__all__ = ["ADVICE", "ADVICE_ON", "CARRIED", "FORMS", "LEARNING_ORDER", "Form", "When"]


class When(Enum):
    """For which music a form is offered."""

    ALWAYS = "always"
    SLOW = "slow"
    """Where the piece goes slowly enough to look at the hand."""
    FAST = "fast"
    """Where the piece goes fast enough for rhythm and finger speed to matter."""
    LOW = "low"
    """In half and first position, where the open string is the note below."""
    HIGH = "high"
    """From second position on."""


_QUARTER, _EIGHTH, _HALF = Fraction(1), Fraction(1, 2), Fraction(2)


@dataclass(frozen=True, slots=True)
class Form:
    """One way to go through a drill."""

    name: str
    """Name in the trade's words."""
    tokens: tuple[str, ...]
    """What is played, in order."""
    rank: int
    """Where few forms have room, those of the lowest rank are taken."""
    how: str = ""
    """How to go about it, a sentence; empty where the name says it all."""
    rhythm: tuple[Fraction, ...] = (_QUARTER,)
    """Lengths in quarter notes, over and over; the last note fills its bar."""
    when: When = When.ALWAYS
    """For which music."""
    accent_every: int = 0
    """One accent in so many notes, from the first; 0 for none."""
    every_finger: bool = False
    """Whether every finger is printed, because their order is what is practised."""
    spread: bool = False
    """Whether the whole frame is down at once, or far fingers follow each other: not offered where
    the hand would be spread wide."""


def _row(tokens: str) -> tuple[str, ...]:
    return tuple(token.replace("_", " ") for token in tokens.split())


_ROUND = "1 2 3 4 3 2 "

_UP_AND_DOWN = Form("up and down", _row("1 2 3 4 3 2 1"), 1, when=When.HIGH)
_KNOWN_FINGERS = Form("the fingers that play, up and down", _row("known"), 0, every_finger=True)

FORMS: Mapping[DemandKind, tuple[Form, ...]] = MappingProxyType(
    {
        DemandKind.REACH_BACK: (
            _KNOWN_FINGERS,
            Form("settle, then reach back", _row("4 3 stretched 3 4"), 0,
                 "Leave 3 and 4 where they are; only the first finger goes back.",
                 every_finger=True, spread=True),
            Form("reach and come home", _row("settled stretched settled stretched settled"), 2,
                 every_finger=True),
        ),
        DemandKind.EXTENSION: (
            _KNOWN_FINGERS,
            Form("settle, then reach up", _row("1 2 3 stretched 3 2 1"), 0,
                 "Leave 1 where it is; only the finger that stretches goes up.",
                 every_finger=True, spread=True),
            Form("reach and come home", _row("settled stretched settled stretched settled"), 2,
                 every_finger=True),
        ),
        DemandKind.AUGMENTED_SECOND: (
            Form("the wide step alone", _row("low high low high low"), 0),
        ),
        DemandKind.SHAPE: (
            _KNOWN_FINGERS,
            Form("silent placement", _row("~1 ~2 ~3 ~4 4 3 2 1"), 5,
                 "Set the fingers down without the bow, look, then play back down.",
                 when=When.SLOW, spread=True),
            Form("up and down from the open string", _row("0 1 2 3 4 3 2 1 0"), 1, when=When.LOW),
            _UP_AND_DOWN,
            Form("one finger moves, 1 stays down", _row("1 2 1 3 1 4 1"), 3, spread=True),
            Form("skipping fingers", _row("1 3 2 4 3 1 4 2"), 2, every_finger=True,
                 spread=True),
            Form("skipping fingers, from above", _row("4 2 3 1 2 4 1 3"), 8, every_finger=True,
                 spread=True),
            Form("down and up from the fourth finger", _row("4 3 2 1 2 3 4"), 6,
                 "Set 4 first and bring the others behind it."),
            Form("two strings in one shape",
                 _row("1 2 3 4 1^ 2^ 3^ 4^ 4^ 3^ 2^ 1^ 4 3 2 1"), 7, rhythm=(_EIGHTH,)),
            Form("shape against shape", _row("1 2 3 4 4/ 3/ 2/ 1/ 1 2 3 4 4/ 3/ 2/ 1/"), 4,
                 "The hand stays; the fingers lie differently on the two strings.",
                 rhythm=(_EIGHTH,)),
            Form("octave frame", _row("1 4^ frame"), 9,
                 "Hear the octave before you trust the fingers between."),
            Form("measured trill", _row("low high " * 12 + "low"), 10,
                 "Light fingers; as even in the fast half as in the slow one.",
                 rhythm=(*(_EIGHTH,) * 8, *(_EIGHTH / 2,) * 16, 4 * _QUARTER), when=When.FAST),
            Form("long and short", _row(f"{_ROUND}1 2"), 6, rhythm=(3 * _EIGHTH / 2, _EIGHTH / 2),
                 when=When.FAST),
            Form("short and long", _row(f"{_ROUND}1 2"), 9, rhythm=(_EIGHTH / 2, 3 * _EIGHTH / 2),
                 when=When.FAST),
            Form("the accent moves on", _row(f"{_ROUND * 4}1"), 5,
                 "The accent falls on another finger each time.",
                 rhythm=(_EIGHTH,), when=When.FAST, accent_every=4),
            Form("scale in the position", _row("scale"), 11, rhythm=(_EIGHTH,)),
        ),
        DemandKind.SHAPE_CHANGE: (
            Form("low and high in turn", _row("old new old new old"), 0, every_finger=True),
            Form("from the finger beside it",
                 _row("beside old beside new beside old beside new"), 1, every_finger=True),
            Form("one shape, then the other",
                 _row("before_1 before_2 before_3 before_4 4 3 2 1"), 2),
        ),
        DemandKind.CHROMATIC_SLIDE: (
            Form("slow slide, there and back", _row("old new old"), 0,
                 "The finger stays on the string and moves at once, without a smear.",
                 rhythm=(_HALF,), every_finger=True),
            Form("from the finger beside it", _row("beside old new old beside"), 1,
                 every_finger=True),
        ),
        DemandKind.SHIFT: (
            Form("half step, there and back", _row("from near from"), 4,
                 "The whole hand goes, thumb and all.", rhythm=(_HALF,), every_finger=True),
            Form("the same finger goes and comes back", _row("from guide from guide from"), 2,
                 "Lighten the finger, then go; arrive before you press.", every_finger=True),
            Form("over the guide note", _row("from guide to"), 1,
                 "Let the guide note sound once, then only think it.", rhythm=(_HALF,),
                 every_finger=True),
            Form("as in the piece", _row("from to from to"), 0, every_finger=True),
        ),
        DemandKind.DOUBLE_STOP: (
            Form("one by one, then together", _row("lower upper both"), 0, every_finger=True),
            Form("frame check", _row("both lower both upper both"), 1,
                 "What is down stays down; the bow tests one string after the other.",
                 every_finger=True),
        ),
        DemandKind.CHORD: (
            Form("two and two", _row("pair_below pair_above pair_below pair_above"), 0,
                 every_finger=True),
            Form("all strings", _row("pair_below pair_above all"), 1, every_finger=True),
        ),
    }
)  # fmt: skip
"""Forms for each kind of demand, in the order of practice."""

CARRIED = Form("up and down", _row("1 2 3 4 3 2 1"), 0)
"""How a shape goes when it is carried to another string."""

LEARNING_ORDER = ("W-H-W", "H-W-W", "W-W-H", "W-W-W", "W-H-A", "A-H-W", "H-A-H", "H-W-H", "H-H-H")
"""Usual order in which shapes are learnt; an earlier one prepares a later one (common practice;
teachers differ)."""

ADVICE: Mapping[str, str] = MappingProxyType(
    {
        "W-H-W": "Usual fault: a tight thumb and flying fingers. Keep the outer fingers still "
        "and let 2 and 3 lie close.",
        "H-W-W": "Usual fault: 2 a little high, or 3 pulled back with 2. Place 3 and 1 first, "
        "then set 2 close to 1 by ear.",
        "W-W-H": "Usual fault: 3 too low, or too high with 4 sharp. Set 4 first, "
        "then bring 3 up behind it.",
        "W-W-W": "Usual fault: the whole hand follows the finger that stretches. "
        "Settle the other three first, then reach with that finger alone.",
        "H-A-H": "Usual fault: the gap is too small. Set 1 and 4, then close 2 to 1 and 3 to 4.",
        "A-H-W": "Usual fault: the hand follows the stretch. Place the settled fingers first, "
        "then the stretched one.",
        "W-H-A": "Usual fault: the hand follows the stretch. Place the settled fingers first, "
        "then the stretched one.",
        "H-W-H": "Usual fault: half steps too wide low on the string, too crowded high up. "
        "Place the outer fingers first.",
        "H-H-H": "Usual fault: half steps too wide low on the string, too crowded high up. "
        "Place the outer fingers first.",
    }
)
"""What goes wrong in each shape, and the player's own check (common practice)."""

ADVICE_ON: Mapping[DemandKind, str] = MappingProxyType(
    {
        DemandKind.SHAPE_CHANGE: "Usual fault: the neighbours move along. Leave the other fingers "
        "where they are and move this one alone.",
        DemandKind.CHROMATIC_SLIDE: "Usual fault: a smear between the notes. Keep the finger light "
        "on the string and move it at once.",
        DemandKind.SHIFT: "Usual fault: the finger presses while it travels, or the thumb stays "
        "behind. Lighten, move the whole hand, arrive, then press.",
        DemandKind.DOUBLE_STOP: "Usual fault: the hand tightens. Tune the lower note by its open "
        "string, then the upper note to it.",
        DemandKind.CHORD: "Usual fault: the fingers come down one by one. Set all of them before "
        "the bow moves, light and upright, so that no string is choked.",
    }
)
"""What goes wrong in each kind of movement, and what to do (common practice)."""
