"""What one hand holds of the notes that sound together."""

from collections.abc import Sequence
from itertools import combinations

from scoretools.fingering.rows import Hand
from scoretools.fingering.states import candidates, soundings
from scoretools.model import Event, Note
from scoretools.voices.lines import held_notes, of_artificial_harmonic

__all__ = ["MOST_WEIGHED", "beyond", "handful", "holds"]

MOST_WEIGHED = 8
"""Notes of a chord among which those that stay are chosen; of more, the outermost."""


def holds(hand: Hand, notes: Sequence[Note]) -> bool:
    """Tell whether a hand can play these notes at once, or broken two and two.

    Parameters
    ----------
    notes
        Any notes, lowest first. An artificial harmonic always counts as playable: its notes are
        one, and how it lies is for the search to say.
    """
    if any(map(of_artificial_harmonic, notes)):
        return True
    return candidates(hand, soundings(notes), ()) is not None


def beyond(events: Sequence[Event], event: Event, hand: Hand) -> bool:
    """Tell whether no hand holds all that sounds at an event, though it could each note.

    A note struck anew ends the one of the same pitch that was still to sound.
    """
    struck = {note.pitch.midi for note in event.notes}
    held = [note for note in held_notes(events, event) if note.pitch.midi not in struck]
    notes = sorted((*event.notes, *held), key=lambda note: note.pitch.midi)
    return not holds(hand, notes) and all(holds(hand, (note,)) for note in notes)


def handful(hand: Hand, notes: Sequence[Note]) -> tuple[int, ...]:
    """Choose what stays of a chord beyond the hand.

    Parameters
    ----------
    notes
        The chord, lowest first.

    Returns
    -------
    tuple of int
        Places of the notes that stay: the top one that can be played, then as many others as can
        be held with it, the bass before the rest; empty where not even one can.
    """
    alone = [place for place, note in enumerate(notes) if holds(hand, (note,))]
    if not alone:
        return ()
    *others, top = alone
    if len(others) >= MOST_WEIGHED:
        half = MOST_WEIGHED // 2
        others = others[:half] + others[-half:]
    for size in range(min(len(others), len(hand.instrument.strings) - 1), 0, -1):
        for chosen in combinations(others, size):
            if holds(hand, [notes[place] for place in (*chosen, top)]):
                return (*chosen, top)
    return (top,)
