"""The graph the search runs on: for every event its states, and how events follow one another.

Events alike in everything that matters share one `Kind`, made once.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from scoretools.fingering.cost import Context, NoteCosts, haste, joined_costs, note_costs
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
from scoretools.hand import FRAME
from scoretools.instrument import HIGHEST_POSITION, from_printed_string
from scoretools.model import NO_MARKS, Event, Marks, Note, NoteRef, PositionNumber

__all__ = ["BROKEN_MARK", "NEAR", "Course", "Kind", "Moment", "Rows", "Trellis", "build", "course"]

Rows = NDArray[np.intp]

GRACE_S = 0.08
"""Time a grace note takes, seconds. Common practice, no published source."""

REST_S = 0.05
"""Silence that counts as a rest, seconds."""


BROKEN_MARK = 10**13
"""Cost units of a printed mark not honoured: more than all else together, so it comes first."""


@dataclass(frozen=True, slots=True, eq=False)
class Kind:
    """What events of one kind share."""

    number: int
    """Running number of the kind in its graph."""
    states: States
    """All states."""
    rows: Rows
    """(n,) where they stand among all states of the graph."""
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
    """How long it lasts, as far as that counts."""
    context: Context
    """How it is reached from the moment before."""
    kept: tuple[tuple[int, int], ...]
    """Columns (before, here) that are one held note."""


@dataclass(frozen=True, slots=True, eq=False)
class Size:
    """All kinds of one number of columns."""

    kinds: tuple[Kind, ...]
    """The kinds."""
    states: States
    """Their states, one kind below the other."""
    pitch: IntArray
    """(n, k) the pitches of their kinds."""
    first: int
    """Where the first of their states stands among all states of the graph."""


@dataclass(frozen=True, slots=True, eq=False)
class Trellis:
    """The whole graph."""

    hand: Hand
    """The hand that plays."""
    weights: Weights
    """The profile."""
    moments: tuple[Moment, ...]
    """Playable events, in order."""
    sizes: tuple[Size, ...]
    """Their kinds by size."""
    costs: NoteCosts
    """Costs of all states of all kinds by themselves."""
    unplayable: tuple[int, ...]
    """Indices of the events no hand can play."""

    @property
    def kinds(self) -> tuple[Kind, ...]:
        """All kinds, by number."""
        return tuple(kind for size in self.sizes for kind in size.kinds)

    @property
    def count(self) -> int:
        """How many states all kinds have together."""
        return len(self.costs.per_event)

    @property
    def first_finger(self) -> IntArray:
        """(n,) finger of the first note in each state of all kinds; 0 where it is let go."""
        fingers = np.concatenate([size.states.finger[:, 0] for size in self.sizes])
        return np.asarray(np.maximum(fingers, 0))


@dataclass(frozen=True, slots=True, eq=False)
class Course:
    """The states of all moments in order, in one row."""

    rows: Rows
    """(n,) where each stands among all states of the graph."""
    size: Rows
    """(moments,) how many states each moment has."""
    start: Rows
    """(moments,) where its first one stands here."""
    own: NDArray[np.int64]
    """(n,) cost units of each by itself, broken marks included."""

    def of_moments(self, values: NDArray[np.int64]) -> list[NDArray[np.int64]]:
        """Cut a row of values, one a state, into those of each moment."""
        starts = self.start.tolist()
        return [
            values[start:end] for start, end in zip(starts, [*starts[1:], len(values)], strict=True)
        ]


def course(trellis: Trellis) -> Course:
    """Line up the states of a graph and price each by itself."""
    kinds = [moment.kind.rows for moment in trellis.moments]
    size = np.array([len(rows) for rows in kinds])
    rows = np.concatenate(kinds)
    seconds = np.repeat([moment.seconds for moment in trellis.moments], size)
    own = trellis.costs.rows(rows).lasting(seconds)
    broken = np.concatenate([kind.broken for kind in trellis.kinds])
    if broken.any():
        own += BROKEN_MARK * broken[rows]
    return Course(rows, size, np.cumsum(size) - size, own)


# ── from events to moments ──────────────────────────────────────────────────────────────────────


def build(hand: Hand, weights: Weights, events: Sequence[Event], use_marks: bool) -> Trellis:
    """Build the graph of a part.

    Parameters
    ----------
    use_marks
        Whether printed marks are honoured; without, they are not looked at.
    """
    keys = _Keys(hand, use_marks)
    drafts: list[tuple[Event, tuple[NoteRef, ...], int]] = []
    fingered: set[int] = set()
    for event, number in zip(events, _numbers(hand, events, keys), strict=True):
        if keys.states[number] is not None:
            held = event.held and tuple(ref for ref in event.held if ref.event in fingered)
            fingered.add(event.index)
            drafts.append((event, held, keys.with_held(events, number, held)))
    numbers = {number for _, _, number in drafts}
    sizes, kinds = _kinds(hand, {n: keys.key[n] for n in numbers}, keys.states)
    costs = [note_costs(hand, weights, size.states) for size in sizes]
    moments = tuple(_moments(drafts, kinds))
    unplayable = tuple(event.index for event in events if event.index not in fingered)
    return Trellis(hand, weights, moments, sizes, joined_costs(costs), unplayable)


NEAR = 4
"""Notes around one above the ceiling that may be played up there as well."""


def _numbers(hand: Hand, events: Sequence[Event], keys: "_Keys") -> list[int]:
    """Number what each event strikes, with a higher ceiling around notes no lower hand can play.

    A hand that must go up for a note stays there for those around it, and does not go up and down
    with every note.
    """
    numbers = [keys.of_event(event, hand.ceiling) for event in events]
    ceilings: dict[int, PositionNumber] = {}
    for index, number in enumerate(numbers):
        position = keys.lowest_position(number)
        if position > hand.ceiling:
            for near in range(max(0, index - NEAR), min(len(events), index + NEAR + 1)):
                ceilings[near] = max(ceilings.get(near, position), position)
    for index, ceiling in ceilings.items():
        numbers[index] = keys.of_event(events[index], ceiling)
    return numbers


def _moments(
    drafts: Sequence[tuple[Event, tuple[NoteRef, ...], int]], kinds: Mapping[int, Kind]
) -> Iterator[Moment]:
    contexts: dict[Context, Context] = {}
    last: Event | None = None
    held_before: tuple[NoteRef, ...] = ()
    for (event, held, number), repeats in zip(drafts, _repeats(drafts), strict=True):
        kept = _kept(last, held_before, event, held) if last and held else ()
        context = _context(last, event)._replace(repeats=repeats)
        context = contexts.setdefault(context, context)
        seconds = GRACE_S if event.grace else event.end_s - event.onset_s
        seconds *= STRUCK_AGAIN if repeats else 1.0
        yield Moment(event.index, kinds[number], seconds, context, kept)
        last, held_before = event, held


REPEATS = 3
"""Times a note must be struck in a row, in one bar, for its repetition to count as one thing."""


STRUCK_AGAIN = 0.5
"""Share of its length for which a repetition counts: what colour the row has is settled by then."""


def _repeats(drafts: Sequence[tuple[Event, tuple[NoteRef, ...], int]]) -> list[bool]:
    """Tell which events repeat the one before within a row of repetitions."""
    rows = groupby(drafts, lambda draft: (draft[0].measure, [n.pitch.midi for n in draft[0].notes]))
    lengths = [len(list(row)) for _, row in rows]
    return [place > 0 and n >= REPEATS for n in lengths for place in range(n)]


def _kept(
    last: Event, held_before: tuple[NoteRef, ...], event: Event, held: tuple[NoteRef, ...]
) -> tuple[tuple[int, int], ...]:
    before = (*(NoteRef(last.index, i) for i in range(len(last.notes))), *held_before)
    struck = len(event.notes)
    return tuple((before.index(ref), struck + i) for i, ref in enumerate(held) if ref in before)


def _context(before: Event | None, event: Event) -> Context:
    if before is None:
        return Context(slurred=False, haste=0, rest=True)
    seconds = max(event.onset_s - before.onset_s, GRACE_S)
    silence = event.onset_s - before.end_s > REST_S and not before.grace
    return Context(
        event.slurred,
        haste(seconds),
        silence and not event.held,
        True in [note.glides for note in before.notes],
        event.words.stay,
    )


# ── kinds ───────────────────────────────────────────────────────────────────────────────────────

_Key = tuple[tuple[Sounding, ...], tuple[Marks, ...]]
"""What sounds (struck notes, then held ones), and the marks on what is struck, if any."""


def _unstretched(states: States) -> NDArray[np.bool_]:
    """Tell in which states no finger reaches up by more than a half step."""
    reach = np.where(states.finger > 0, states.offset - states.home[:, None], 0)
    return np.asarray(reach.max(axis=1) <= FRAME + 1)


class _Keys:
    """What events depend on, numbered in the order met, with the states of each."""

    def __init__(self, hand: Hand, use_marks: bool) -> None:
        self.key: list[_Key] = []
        self.ceiling: list[PositionNumber] = []
        self.states: list[States | None] = []
        self._hand = hand
        self._use_marks = use_marks
        self._number: dict[tuple[_Key, PositionNumber], int] = {}
        self._seen: dict[object, int] = {}
        self._lowest: dict[int, PositionNumber] = {}

    def of_event(self, event: Event, ceiling: PositionNumber) -> int:
        """Number of what is struck, and how high the hand may go for it."""
        looks = tuple(
            [
                (pitch.step, pitch.alter, pitch.octave)
                if note.marks is NO_MARKS and note.ornament is None
                else (pitch, note.marks, note.ornament)
                for note in event.notes
                if (pitch := note.pitch)
            ]
        )
        look = looks, event.words.string, ceiling
        number = self._seen.get(look)
        if number is None:
            key = _struck(self._hand, event, self._use_marks)
            number = self._seen[look] = self._numbered(key, ceiling)
        return number

    def lowest_position(self, number: int) -> PositionNumber:
        """The lowest position in which something is played without a wide stretch of the hand.

        Half position where nothing can be played, or only so stretched.
        """
        if number not in self._lowest:
            self._lowest[number] = self._found_lowest(number)
        return self._lowest[number]

    def _found_lowest(self, number: int) -> PositionNumber:
        states = self.states[number]
        if states is not None and not _unstretched(states).any():
            full = replace(self._hand, ceiling=HIGHEST_POSITION)
            states = candidates(full, *self.key[number])
        easy = states.position[_unstretched(states)] if states is not None else ()
        return PositionNumber(int(min(easy, default=0)))

    def with_held(self, events: Sequence[Event], number: int, held: tuple[NoteRef, ...]) -> int:
        """Number of what is struck and what is held beside it."""
        if not held:
            return number
        notes, marks = self.key[number]
        more = soundings((), [events[ref.event].notes[ref.note] for ref in held])
        return self._numbered(((*notes, *more), marks), self.ceiling[number])

    def _numbered(self, key: _Key, ceiling: PositionNumber) -> int:
        number = self._number.setdefault((key, ceiling), len(self.key))
        if number == len(self.key):
            self.key.append(key)
            self.ceiling.append(ceiling)
            self.states.append(candidates(replace(self._hand, ceiling=ceiling), *key))
        return number


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


def _kinds(
    hand: Hand, keys: Mapping[int, _Key], have: Sequence[States | None]
) -> tuple[tuple[Size, ...], dict[int, Kind]]:
    """Make every kind once, by size and by number of its key."""
    by_size: dict[int, list[int]] = {}
    for number in sorted(keys, key=lambda number: keys[number][0]):
        by_size.setdefault(len(keys[number][0]), []).append(number)
    kinds: dict[int, Kind] = {}
    sizes: list[Size] = []
    start = 0
    for numbers in by_size.values():
        first = start
        for number in numbers:
            kinds[number] = _kind(hand, len(kinds), keys[number], have[number], start)
            start += len(kinds[number].rows)
        sizes.append(_size(tuple(kinds[number] for number in numbers), first))
    return tuple(sizes), kinds


def _kind(hand: Hand, number: int, key: _Key, states: States | None, start: int) -> Kind:
    notes, marks = key
    if states is None:  # a held note can always be let go, so what is struck decides
        raise RuntimeError(f"no state for {key}")
    return Kind(
        number=number,
        states=states,
        rows=np.arange(start, start + len(states)),
        broken=broken_marks(hand, states, marks),
        marks=marks,
        pitch=np.array([-1 if note.held else note.midi for note in notes], dtype=np.int16),
    )


def _size(kinds: tuple[Kind, ...], first: int) -> Size:
    pitch = np.stack([kind.pitch for kind in kinds])
    counts = [len(kind.rows) for kind in kinds]
    states = stacked([kind.states for kind in kinds])
    return Size(kinds, states, np.repeat(pitch, counts, axis=0), first)
