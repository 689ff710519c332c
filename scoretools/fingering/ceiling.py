"""How high a part asks its player to go, from its notes and its visible marks."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from itertools import repeat

import numpy as np

from scoretools.fingering.rows import Hand, Sounding
from scoretools.fingering.states import broken_marks, candidates, soundings
from scoretools.hand import FRAME, Reach, slots_within
from scoretools.instrument import HIGHEST_POSITION, Instrument, usual_home
from scoretools.model import NO_MARKS, Event, Marks, Note, PositionNumber

__all__ = ["LONE_IN", "LONG_S", "RUNGS", "ceiling_from_notes"]

LONE_IN = 50
"""Notes in a part from which on a single printed finger lifts no ceiling. Common practice, no
published source."""

RUNGS = tuple(PositionNumber(position) for position in (1, 3, 5, 7, 12))
"""Positions in which players learn to be at home, one after another. Common practice, no
published source: the even positions come with the odd one above."""


_POSITIONS = tuple(PositionNumber(number) for number in range(HIGHEST_POSITION + 1))

LONG_S = 1.0
"""Length of a note for which no finger stays stretched, seconds. Common practice, no published
source."""

_EXTENDED = PositionNumber(3)
"""Highest position whose usual top note is an extension."""


def ceiling_from_notes(
    instrument: Instrument, reach: Reach, events: Sequence[Event], use_marks: bool = True
) -> PositionNumber:
    """Find the lowest rung from which every note of a part can be reached.

    A note counts as reached on the top string by the fourth finger, in first and third position
    by its extension too (C above first position, E above third, are taken so in passing, but not
    when they last `LONG_S` or more); a printed mark counts as reached when some hand on the rung
    honours it, not raised beyond its usual place if it can be helped. One printed finger in a part
    of `LONE_IN` notes or more lifts nothing: it may be a slip, and alone it says little about the
    rest.

    Parameters
    ----------
    use_marks
        Whether printed marks are looked at.
    """
    notes = [note for event in events for note in event.notes]
    top = _top(instrument, events)
    long = _top(instrument, [event for event in events if event.end_s - event.onset_s >= LONG_S])
    rung = next(
        (
            r
            for r in RUNGS
            if top <= _highest_stop(instrument, reach, r)
            and long <= usual_home(instrument, r) + FRAME
        ),
        RUNGS[-1],
    )
    if use_marks:
        asked = sorted(_rungs_of_marks(instrument, reach, notes, rung), reverse=True)
        lone = len(notes) >= LONE_IN
        rung = max((rung, *(asked[1:] if lone else asked)))
    return rung


def _top(instrument: Instrument, events: Iterable[Event]) -> int:
    """Semitones of the highest stopped note above the highest open string."""
    pitches = (n.pitch.midi for e in events for n in e.notes if n.marks.harmonic is None)
    return max(pitches, default=instrument.strings[0].midi) - instrument.strings[-1].midi


def _highest_stop(instrument: Instrument, reach: Reach, position: PositionNumber) -> int:
    home = usual_home(instrument, position)
    slots = slots_within(instrument, reach, home, extensions=position <= _EXTENDED)
    return home + max(slot.from_home for slot in slots)


def _rungs_of_marks(
    instrument: Instrument, reach: Reach, notes: Iterable[Note], least: PositionNumber
) -> Iterator[PositionNumber]:
    """The rung that each printed mark asks for."""
    alike = Counter((soundings((n,)), n.marks) for n in notes if n.marks != NO_MARKS)
    for (sounding, marks), count in alike.items():
        lowest = _lowest_position(instrument, reach, sounding, marks)
        rung = next((r for r in RUNGS if r >= max(lowest, least)), RUNGS[-1])
        yield from repeat(rung, count)


def _lowest_position(
    instrument: Instrument, reach: Reach, sounding: tuple[Sounding, ...], marks: Marks
) -> PositionNumber:
    """The lowest position in which a mark is honoured; half position where none can honour it."""
    full = Hand(instrument, reach, HIGHEST_POSITION)
    states = candidates(full, sounding, (marks,))
    if states is None:
        return PositionNumber(0)
    usual_homes = np.array([usual_home(instrument, position) for position in _POSITIONS])
    honoured = broken_marks(full, states, (marks,)) == 0
    usual = honoured & (states.home <= usual_homes[states.position])
    positions = states.position[usual if usual.any() else honoured]
    return PositionNumber(int(positions.min()) if len(positions) else 0)
