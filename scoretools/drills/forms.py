"""How a drill goes: its forms, as data.

A form is a row of tokens, each of which becomes one note:

``0`` to ``4``
    the open string, or that finger in the shape;
``old``, ``new``
    the finger that changes, in its earlier and its later place;
``beside``
    the finger next to the one that changes;
``stretched``, ``settled``
    the finger that leaves the frame, and the finger of the frame farthest from it;
``low``, ``high``
    the two fingers of an augmented second;
``from``, ``guide``, ``to``
    departure of a shift, the departing finger in the new place, and the note of arrival where
    another finger plays it;
``near``
    the departing finger a half step on, or back;
``lower``, ``upper``, ``both``
    the notes of a double stop, one by one and together;
``pair below``, ``pair above``, ``all``
    the lower and the upper two notes of a chord, and the whole of it.

Source: forms in general use by string teachers (common practice, no published source).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from scoretools.model import DemandKind

__all__ = ["ADVICE", "FORMS", "LEARNING_ORDER", "MINUTES", "Form"]


@dataclass(frozen=True, slots=True)
class Form:
    """One way to go through a drill."""

    name: str
    """Name in the trade's words."""
    tokens: tuple[str, ...]
    """What is played, in order."""


def _form(name: str, tokens: str) -> Form:
    return Form(name, tuple(token.replace("_", " ") for token in tokens.split()))


FORMS: Mapping[DemandKind, tuple[Form, ...]] = MappingProxyType(
    {
        DemandKind.SHAPE: (
            _form("up", "1 2 3 4"),
            _form("down", "4 3 2 1"),
            _form("up and down from the open string", "0 1 2 3 4 3 2 1 0"),
            _form("skipping fingers", "1 3 2 4 3 1 4 2"),
            _form("one finger moves, first finger held", "1 2 1 3 1 4 1"),
        ),
        DemandKind.SHAPE_CHANGE: (
            _form("low and high in turn", "old new old new"),
            _form("from the finger beside it", "beside old beside new beside old beside new"),
            _form("in the new shape, up and down", "1 2 3 4 3 2 1"),
        ),
        DemandKind.CHROMATIC_SLIDE: (
            _form("slow slide, there and back", "old new old"),
            _form("from the finger beside it", "beside old new old beside"),
        ),
        DemandKind.REACH_BACK: (
            _form("settle, then reach", "4 3 stretched 3 4"),
            _form("reach and come home", "settled stretched settled stretched settled"),
            _form("down", "4 3 2 1"),
        ),
        DemandKind.EXTENSION: (
            _form("settle, then reach", "1 2 3 stretched"),
            _form("reach and come home", "settled stretched settled stretched settled"),
            _form("up and down", "1 2 3 4 3 2 1"),
        ),
        DemandKind.AUGMENTED_SECOND: (
            _form("the wide step alone", "low high low high"),
            _form("up", "1 2 3 4"),
            _form("down", "4 3 2 1"),
        ),
        DemandKind.SHIFT: (
            _form("half step, there and back", "from near from"),
            _form("same finger", "from guide from guide"),
            _form("over the guide note", "from guide to"),
            _form("as in the piece", "from to from to"),
        ),
        DemandKind.DOUBLE_STOP: (
            _form("one by one, then together", "lower upper both"),
            _form("frame check", "both lower both upper both"),
        ),
        DemandKind.CHORD: (
            _form("two and two", "pair_below pair_above pair_below pair_above"),
            _form("all strings", "pair_below pair_above all"),
        ),
    }
)
"""Forms for each kind of demand, in the order of practice."""

MINUTES: Mapping[DemandKind, int] = MappingProxyType(
    {
        DemandKind.SHAPE: 4,
        DemandKind.SHAPE_CHANGE: 3,
        DemandKind.CHROMATIC_SLIDE: 2,
        DemandKind.REACH_BACK: 3,
        DemandKind.EXTENSION: 3,
        DemandKind.AUGMENTED_SECOND: 3,
        DemandKind.SHIFT: 4,
        DemandKind.DOUBLE_STOP: 4,
        DemandKind.CHORD: 4,
    }
)
"""Minutes of a drill in one session: short blocks, changed often (common practice)."""

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
