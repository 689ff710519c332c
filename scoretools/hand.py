"""What a left hand can do on an instrument: finger slots, gaps, frames, reach.

Search, shapes and drills all read the tables here; none keeps another.

Conventions
-----------
*Home* is where the first finger's ordinary place lies, in semitones above the nut, the same on
all strings. A finger's *slot* is its distance from home in semitones. Gaps are written with
letters: H half step, W whole step, A augmented second; ``?`` where an implied finger would lie
less than a half step or more than an augmented second from its neighbour.

Sources
-------
The slots and the frame (fingers 1 to 4 span a perfect fourth) are common practice; spans in mm
come from `scoretools.instrument`.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from itertools import pairwise

from scoretools.instrument import Instrument, spacing_mm, usual_home
from scoretools.model import Finger, Offset, PositionNumber, Stop
from scoretools.player import Player

__all__ = [
    "FINGERS",
    "FRAME",
    "GAP_LETTERS",
    "SLOTS",
    "Reach",
    "Slot",
    "SlotKind",
    "frame_name",
    "gap_letters",
    "gap_words",
    "hand_reach",
    "slots_within",
    "stretch_mm",
    "together",
]

FINGERS = (Finger(1), Finger(2), Finger(3), Finger(4))
"""The four fingers that stop."""

FRAME = 5
"""Semitones between fingers 1 and 4 of the ordinary hand, a perfect fourth."""

GAP_LETTERS = {1: "H", 2: "W", 3: "A"}
"""Letter of a gap by its semitones."""


class SlotKind(StrEnum):
    """What a finger does in a slot."""

    ORDINARY = "ordinary"
    LOW_FOURTH = "low fourth finger"
    REACH_BACK = "reach back"
    EXTENDED = "extension"
    CONTRACTED = "contraction"
    TENTH = "tenth"
    """Beyond single notes: the upper finger of a wide double stop."""


@dataclass(frozen=True, slots=True)
class Slot:
    """A place a finger can take while the hand stays."""

    finger: Finger
    """1 to 4."""
    from_home: int
    """Semitones above home."""
    kind: SlotKind
    """What the finger does there."""


SLOTS: tuple[Slot, ...] = tuple(
    Slot(Finger(finger), from_home, kind)
    for finger, from_home, kind in (
        (1, 0, SlotKind.ORDINARY),
        (1, -1, SlotKind.REACH_BACK),
        (2, 0, SlotKind.CONTRACTED),
        (2, 1, SlotKind.ORDINARY),
        (2, 2, SlotKind.ORDINARY),
        (2, 3, SlotKind.EXTENDED),
        (3, 2, SlotKind.CONTRACTED),
        (3, 3, SlotKind.ORDINARY),
        (3, 4, SlotKind.ORDINARY),
        (4, 3, SlotKind.CONTRACTED),
        (4, 4, SlotKind.LOW_FOURTH),
        (4, 5, SlotKind.ORDINARY),
        (4, 6, SlotKind.EXTENDED),
        (4, 7, SlotKind.EXTENDED),
        (4, 8, SlotKind.TENTH),
        (4, 9, SlotKind.TENTH),
    )
)
"""All slots; which of them a hand reaches at a place depends on `Reach`."""


# ── reach ───────────────────────────────────────────────────────────────────────────────────────

STRETCH_LIMIT = 1.25
"""Widest span offered, as a multiple of the comfortable one. CALC: a fourth finger reaching a half
step up in first position asks 1.17 of a hand that fits its instrument, a first finger reaching
back 1.24; a tenth in first position, 1.56, is for large hands only."""


@dataclass(frozen=True, slots=True)
class Reach:
    """How far this hand goes on this instrument."""

    comfortable_mm: float
    """Span between fingers 1 and 4 that needs no stretch, mm."""
    widest_mm: float
    """Widest span offered at all, mm."""


def hand_reach(instrument: Instrument, player: Player) -> Reach:
    """Reach of a player's hand; by default that of a hand that fits the instrument.

    Returns
    -------
    Reach
        Comfortable: the player's own figure, else the perfect fourth above the usual first
        finger in first position. Widest: `STRETCH_LIMIT` times that.
    """
    home = usual_home(instrument, PositionNumber(1))
    comfortable = player.reach_mm or spacing_mm(instrument, home, home + FRAME)
    return Reach(comfortable, comfortable * STRETCH_LIMIT)


def stretch_mm(instrument: Instrument, reach: Reach, home: Offset, low: int, high: int) -> float:
    """By how much a span exceeds the comfortable reach, mm, never below 0.

    Parameters
    ----------
    home
        Where the hand is, semitones above the nut.
    low, high
        Lowest and highest slot in use, semitones from home.
    """
    return max(0.0, spacing_mm(instrument, home + low, home + high) - reach.comfortable_mm)


def slots_within(
    instrument: Instrument,
    reach: Reach,
    home: Offset,
    extensions: bool = True,
    in_chord: bool = False,
) -> tuple[Slot, ...]:
    """Slots that a hand reaches from a home, counted from its ordinary frame.

    Parameters
    ----------
    home
        Where the hand is, semitones above the nut.
    extensions
        Whether reach back and extensions are offered at all.
    in_chord
        Whether several strings sound together: only then does a hand open to a tenth.
    """
    return tuple(
        slot
        for slot in SLOTS
        if home + slot.from_home >= 1
        and (
            slot.kind not in _STRETCHED
            or (extensions and _reached(instrument, reach, home, slot, in_chord))
        )
    )


_STRETCHED = frozenset({SlotKind.REACH_BACK, SlotKind.EXTENDED, SlotKind.TENTH})


def _reached(
    instrument: Instrument, reach: Reach, home: Offset, slot: Slot, in_chord: bool
) -> bool:
    if slot.kind is SlotKind.TENTH and not in_chord:
        return False
    return _span_of_slot_mm(instrument, home, slot) <= reach.widest_mm


def _span_of_slot_mm(instrument: Instrument, home: Offset, slot: Slot) -> float:
    # A stretched finger is measured against the far end of the ordinary frame.
    low, high = min(0, slot.from_home), max(FRAME, slot.from_home)
    return spacing_mm(instrument, home + low, home + high)


# ── several fingers at once ─────────────────────────────────────────────────────────────────────


def together(stops: Sequence[Stop], instrument: Instrument, reach: Reach) -> bool:
    """Tell whether one hand can hold all these stops down at the same time.

    Each on a string of its own; one finger may lie across two neighbouring strings at one place
    (a fifth); a higher finger never lies below a lower one; the widest span stays within reach.
    """
    strings = [stop.string for stop in stops]
    if len(set(strings)) < len(strings):
        return False
    down = sorted((stop.finger, stop.offset, stop.string) for stop in stops if stop.finger)
    for lower, higher in pairwise(down):
        finger, offset, string = lower
        next_finger, next_offset, next_string = higher
        if finger == next_finger:
            if offset != next_offset or abs(string - next_string) != 1:
                return False
        elif next_offset < offset:
            return False
    if not down:
        return True
    offsets = [offset for _, offset, _ in down]
    return spacing_mm(instrument, min(offsets), max(offsets)) <= reach.widest_mm


_FRAMES = {
    0: "unison",
    1: "second",
    2: "second",
    3: "third",
    4: "third",
    5: "fourth",
    6: "tritone",
    7: "fifth",
    8: "sixth",
    9: "sixth",
    10: "seventh",
    11: "seventh",
    12: "octave",
    13: "ninth",
    14: "ninth",
    15: "tenth",
    16: "tenth",
    17: "eleventh",
    18: "eleventh",
    19: "twelfth",
}


def frame_name(semitones: int) -> str:
    """Name of the interval of a double stop."""
    return _FRAMES.get(abs(semitones), "wide interval")


# ── names of shapes ─────────────────────────────────────────────────────────────────────────────


def gap_letters(gaps: Sequence[int]) -> str:
    """Write gaps in semitones as ``W-H-W``; ``?`` for a gap that has no letter."""
    return "-".join(GAP_LETTERS.get(gap, "?") for gap in gaps)


@lru_cache(maxsize=256)
def gap_words(gaps: tuple[int, int, int]) -> str:
    """Name a shape in words, from its gaps in semitones.

    Examples
    --------
    >>> gap_words((2, 1, 2))
    '2 and 3 close, whole steps outside'
    >>> gap_words((2, 2, 2))
    'whole steps throughout'
    >>> gap_words((3, 1, 2))
    'augmented second 1–2, 2 and 3 close, whole step 3–4'
    """
    letters = [GAP_LETTERS.get(gap, "?") for gap in gaps]
    pairs = ("1 and 2", "2 and 3", "3 and 4")
    if letters == ["W"] * 3:
        return "whole steps throughout"
    if letters == ["H"] * 3:
        return "half steps throughout"
    if letters.count("H") == 1 and letters.count("W") == 2:
        close = letters.index("H")
        where = ("above", "outside", "below")[close]
        return f"{pairs[close]} close, whole steps {where}"
    return ", ".join(
        _gap_word(letter, pair, f"{finger}–{finger + 1}")
        for finger, (letter, pair) in enumerate(zip(letters, pairs, strict=True), start=1)
    )


def _gap_word(letter: str, pair: str, span: str) -> str:
    return {
        "H": f"{pair} close",
        "W": f"whole step {span}",
        "A": f"augmented second {span}",
    }.get(letter, f"{pair} out of the frame")
