"""The graph the search runs on: for every event its states, and how events follow one another.

Events alike in everything that matters share one `Kind`, made once.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from scoretools.fingering.cost import Context, NoteCosts, haste, note_costs
from scoretools.fingering.rows import Hand, Sounding
from scoretools.fingering.states import (
    IntArray,
    States,
    broken_marks,
    candidates,
    soundings,
    stacked,
)
from scoretools.fingering.weights import Weights
from scoretools.instrument import from_printed_string
from scoretools.model import NO_MARKS, Event, Marks, Note, NoteRef

__all__ = ["Kind", "Moment", "Trellis", "build"]

GRACE_S = 0.08
"""Time a grace note takes, seconds. Common practice, no published source."""

REST_S = 0.05
"""Silence that counts as a rest, seconds."""


@dataclass(frozen=True, slots=True, eq=False)
class Kind:
    """What events of one kind share."""

    number: int
    """Running number of the kind in its graph."""
    states: States
    """All states."""
    costs: NoteCosts
    """Their own costs."""
    broken: NDArray[np.int64]
    """(n,) printed marks each state does not honour."""
    marks: tuple[Marks, ...]
    """Printed marks of the struck notes; empty where there are none, or none are looked at."""
    pitch: IntArray
    """(k,) MIDI numbers of the struck notes, −1 for held ones."""


@dataclass(frozen=True, slots=True, eq=False)
class Moment:
    """A playable event in its surroundings."""

    event: int
    """Index of the event."""
    kind: Kind
    """Its kind."""
    seconds: float
    """How long it lasts."""
    context: Context
    """How it is reached from the moment before."""
    kept: tuple[tuple[int, int], ...]
    """Columns (before, here) that are one held note."""
    habit: NDArray[np.int64] | None = None
    """(5,) cost units of each finger by the part's habits; none where they say nothing."""

    def own_costs(self) -> NDArray[np.int64]:
        """Cost units of each state by itself, broken marks not counted."""
        costs = self.kind.costs.lasting(self.seconds)
        if self.habit is None:
            return costs
        return costs + self.habit[np.maximum(self.kind.states.finger[:, 0], 0)]


@dataclass(frozen=True, slots=True, eq=False)
class Trellis:
    """The whole graph."""

    hand: Hand
    """The hand that plays."""
    weights: Weights
    """The profile."""
    moments: tuple[Moment, ...]
    """Playable events, in order."""
    unplayable: tuple[int, ...]
    """Indices of the events no hand can play."""


def build(hand: Hand, weights: Weights, events: Sequence[Event], use_marks: bool) -> Trellis:
    """Build the graph of a part.

    Parameters
    ----------
    use_marks
        Whether printed marks are honoured; without, they are not looked at.
    """
    struck = [_struck(hand, event, use_marks) for event in events]
    playable = _states(hand, set(struck))
    drafts: list[tuple[Event, tuple[NoteRef, ...], _Key]] = []
    fingered: set[int] = set()
    for event, key in zip(events, struck, strict=True):
        if playable[key] is None:
            continue
        held = tuple(ref for ref in event.held if ref.event in fingered)
        fingered.add(event.index)
        drafts.append((event, held, _with_held(events, key, held)))
    kinds = _kinds(hand, weights, {key for _, _, key in drafts}, playable)
    moments: list[Moment] = []
    before: tuple[Event, tuple[NoteRef, ...]] | None = None
    for event, held, key in drafts:
        columns = (*(NoteRef(event.index, i) for i in range(len(event.notes))), *held)
        kept = _kept(before[1], held, len(event.notes)) if before and held else ()
        context = _context(before[0] if before else None, event)
        moments.append(Moment(event.index, kinds[key], _seconds(event), context, kept))
        before = event, columns
    unplayable = tuple(event.index for event in events if event.index not in fingered)
    return Trellis(hand, weights, tuple(moments), unplayable)


_Key = tuple[tuple[Sounding, ...], tuple[Marks, ...]]
"""What sounds (struck notes, then held ones), and the marks on what is struck, if any."""


def _struck(hand: Hand, event: Event, use_marks: bool) -> _Key:
    marks = tuple(_marks(hand, event, note) for note in event.notes) if use_marks else ()
    return (
        soundings(event.notes),
        marks if any(mark is not NO_MARKS and mark != NO_MARKS for mark in marks) else (),
    )


def _marks(hand: Hand, event: Event, note: Note) -> Marks:
    """Marks of a note; a string asked for in words counts where the note can be played on it."""
    asked = event.words.string
    if asked is None or note.marks.string is not None or len(event.notes) > 1:
        return note.marks
    string = from_printed_string(hand.instrument, asked)
    if string is None or note.pitch.midi < hand.instrument.strings[string].midi:
        return note.marks
    return replace(note.marks, string=asked)


def _with_held(events: Sequence[Event], key: _Key, held: tuple[NoteRef, ...]) -> _Key:
    if not held:
        return key
    notes, marks = key
    more = soundings((), [events[ref.event].notes[ref.note] for ref in held])
    return (*notes, *more), marks


def _kept(
    before: tuple[NoteRef, ...], held: tuple[NoteRef, ...], struck: int
) -> tuple[tuple[int, int], ...]:
    return tuple((before.index(ref), struck + i) for i, ref in enumerate(held) if ref in before)


def _states(hand: Hand, keys: Iterable[_Key]) -> dict[_Key, States | None]:
    return {key: candidates(hand, *key) for key in keys}


def _kinds(
    hand: Hand, weights: Weights, keys: Iterable[_Key], have: Mapping[_Key, States | None]
) -> dict[_Key, Kind]:
    """Make every kind once; the costs of all of one size together."""
    by_size: dict[int, list[tuple[_Key, States]]] = {}
    for key in sorted(keys, key=lambda key: key[0]):
        states = have[key] if key in have else candidates(hand, *key)
        if states is None:  # a held note can always be let go, so what is struck decides
            raise RuntimeError(f"no state for {key}")
        by_size.setdefault(len(key[0]), []).append((key, states))
    kinds: dict[_Key, Kind] = {}
    for alike in by_size.values():
        costs = note_costs(hand, weights, stacked([states for _, states in alike]))
        start = 0
        for key, states in alike:
            rows = slice(start, start + len(states))
            start += len(states)
            kinds[key] = Kind(
                number=len(kinds),
                states=states,
                costs=NoteCosts(costs.per_event[rows], costs.per_second[rows]),
                broken=broken_marks(hand, states, key[1]),
                marks=key[1],
                pitch=np.array([-1 if n.held else n.midi for n in key[0]], dtype=np.int16),
            )
    return kinds


def _seconds(event: Event) -> float:
    return GRACE_S if event.grace else event.end_s - event.onset_s


def _context(before: Event | None, event: Event) -> Context:
    if before is None:
        return Context(slurred=False, haste=0, rest=True)
    seconds = max(event.onset_s - before.onset_s, GRACE_S)
    silence = event.onset_s - before.end_s > REST_S and not before.grace
    return Context(
        slurred=event.slurred,
        haste=haste(seconds),
        rest=silence and not event.held,
        glides=any(note.glides for note in before.notes),
        stays=event.words.stay,
    )
