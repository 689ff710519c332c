"""Gathers notes into events: what begins together, and what goes on from before.

Conventions
-----------
* Grace notes make events of their own before the notes they lead to; grace notes of several voices
  go together from the last one backwards.
* The same pitch struck in two voices at once is one note, as long as the longer, with the marks of
  both; twice in one chord it is a unison on two strings and stays two notes.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache, reduce
from itertools import groupby

from scoretools.model import (
    NO_WORDS,
    Address,
    Continuation,
    Event,
    Key,
    Measure,
    Note,
    NoteRef,
    Ornament,
    Words,
)
from scoretools.read.attributes import C_MAJOR
from scoretools.read.harmonics import TOUCHED, Bearer, harmonics
from scoretools.read.marks import prolonged, united
from scoretools.read.notices import Log, count
from scoretools.read.ties import Struck
from scoretools.read.timing import Clock, seconds
from scoretools.read.walk import RawNote

__all__ = ["Setting", "events_of", "quarters"]


_MOST_HELD = 16


@dataclass(frozen=True, slots=True)
class Setting:
    """What the events of a part stand in."""

    part_id: str
    """The part's ``id``."""
    measures: tuple[Measure, ...]
    """All bars."""
    beat_origins: tuple[int, ...]
    """For each bar, where its first beat is or would be, ticks."""
    keys: tuple[tuple[int, Key], ...]
    """Keys and when they begin, ticks, in order."""
    ticks: int
    """Ticks in a quarter note."""
    clock: Clock
    """The part's clock."""
    slurred: frozenset[int]
    """Running numbers of notes to which a slur leads."""
    words: tuple[tuple[int, Words], ...]
    """Words in force and from when, ticks, in order."""
    ornaments: Mapping[int, Ornament]
    """Ornaments by running number of their note."""


@lru_cache(maxsize=65536)
def quarters(count: int, ticks: int) -> Fraction:
    """Return a number of ticks in quarter lengths.

    Parameters
    ----------
    count : int
        Ticks.
    ticks : int
        Ticks in a quarter note.

    Returns
    -------
    Fraction
        Quarter lengths.

    Raises
    ------
    Nothing.
    """
    return Fraction(count, ticks)


def events_of(struck: Sequence[Struck], setting: Setting, log: Log) -> tuple[Event, ...]:
    """Return the events of a part.

    Parameters
    ----------
    struck : sequence of Struck
        Notes that are struck, in order of time.
    setting : Setting
        Bars, keys and clock.
    log : Log
        Counts notes that only show how a harmonic sounds.

    Returns
    -------
    tuple of Event
        In order of time, grace notes before the notes they lead to.

    Raises
    ------
    Nothing.
    """
    events: list[Event] = []
    sounding: list[tuple[int, NoteRef]] = []
    key, next_key = C_MAJOR, 0
    words, next_words = NO_WORDS, 0
    for group in _groups(struck):
        first = group[0].first
        onset = first.moment[0]
        while next_key < len(setting.keys) and setting.keys[next_key][0] <= onset:
            key = setting.keys[next_key][1]
            next_key += 1
        while next_words < len(setting.words) and setting.words[next_words][0] <= onset:
            words = setting.words[next_words][1]
            next_words += 1
        sounding = [(end, ref) for end, ref in sounding if end > onset]
        held = tuple(ref for _, ref in sounding)
        notes = _settled(_merged([(_note(note, setting), note.end) for note in group]), log)
        event = _event(len(events), group[0].first, notes, setting, (key, words, held))
        events.append(event)
        # More than a hand could ever hold comes from damaged durations.
        sounding = sounding[-_MOST_HELD:]
        sounding += [(end, NoteRef(event.index, place)) for place, (_, end) in enumerate(notes)]
    return tuple(events)


def _groups(struck: Sequence[Struck]) -> Iterator[list[Struck]]:
    for _, together in groupby(struck, key=lambda note: note.first.moment[:2]):
        notes = list(together)
        if notes[0].first.moment[1]:
            yield notes
            continue
        for _, graces in groupby(notes, key=lambda note: note.first.measure):
            yield from _grace_groups(list(graces))


def _grace_groups(notes: Sequence[Struck]) -> list[list[Struck]]:
    """Return grace chords of one moment in order, several voices matched from the last one."""
    voices: dict[str, list[list[Struck]]] = {}
    for note in notes:
        chords = voices.setdefault(note.first.voice, [])
        if chords and chords[-1][0].first.moment == note.first.moment:
            chords[-1].append(note)
        else:
            chords.append([note])
    longest = max(len(chords) for chords in voices.values())
    groups: list[list[Struck]] = [[] for _ in range(longest)]
    for chords in voices.values():
        for place, chord in enumerate(chords, longest - len(chords)):
            groups[place].extend(chord)
    return groups


def _event(
    index: int,
    first: RawNote,
    notes: Sequence[tuple[Note, int]],
    setting: Setting,
    in_force: tuple[Key, Words, tuple[NoteRef, ...]],
) -> Event:
    """Return an event of notes and when each ends, under a key, words and held notes."""
    onset, phase, _ = first.moment
    key, words, held = in_force
    return Event(
        index=index,
        measure=first.measure,
        onset_ql=quarters(onset, setting.ticks),
        onset_s=seconds(setting.clock, onset / setting.ticks),
        end_s=seconds(setting.clock, max(end for _, end in notes) / setting.ticks),
        beat=_beat(setting, first.measure, onset),
        notes=tuple(note for note, _ in notes),
        held=held,
        key=key,
        grace=phase == 0,
        slurred=any(note.slurred for note, _ in notes),
        words=words,
    )


def _settled(notes: list[tuple[Note, int]], log: Log) -> list[tuple[Note, int]]:
    """Settle harmonics whose notes are shared among voices."""
    if len(notes) < 2 or not any(note.marks.harmonic in TOUCHED for note, _ in notes):
        return notes
    chord = [Bearer(note.pitch.midi, note.marks.harmonic, False) for note, _ in notes]
    kinds, shown = harmonics(chord)
    for place in shown:
        count(log, "shown harmonic", notes[place][0].address.measure)
    return [
        (replace(note, marks=replace(note.marks, harmonic=kinds[place])), end)
        for place, (note, end) in enumerate(notes)
        if place not in shown
    ]


def _beat(setting: Setting, measure: int, onset: int) -> Fraction:
    lower = setting.measures[measure].time[1]
    ticks = (onset - setting.beat_origins[measure]) * lower + 4 * setting.ticks
    return quarters(ticks, 4 * setting.ticks)


def _note(struck: Struck, setting: Setting) -> Note:
    first = struck.first
    onset, phase, _ = first.moment
    ornament = None
    if setting.ornaments:
        found = (setting.ornaments.get(note.number) for note in (first, *struck.others))
        ornament = next((one for one in found if one is not None), None)
    return Note(
        pitch=first.pitch,
        duration_ql=quarters(struck.end - onset, setting.ticks),
        written_ql=quarters(first.length, setting.ticks),
        voice=first.voice,
        staff=first.staff,
        grace=phase == 0,
        slurred=first.number in setting.slurred,
        marks=reduce(prolonged, (other.marks for other in struck.others), first.marks),
        address=_address(setting.part_id, first),
        continuations=tuple(_continuation(other, setting) for other in struck.others),
        ornament=ornament,
        glides=(struck.others[-1] if struck.others else first).glides or first.glides,
    )


def _continuation(note: RawNote, setting: Setting) -> Continuation:
    return Continuation(
        _address(setting.part_id, note),
        quarters(note.moment[0], setting.ticks),
        quarters(note.length, setting.ticks),
    )


def _address(part_id: str, note: RawNote) -> Address:
    return Address(part_id, note.origin, note.place)


def _merged(notes: Sequence[tuple[Note, int]]) -> list[tuple[Note, int]]:
    """Return the notes of an event, lowest first, doublings between voices made one."""
    if len(notes) == 1:
        return list(notes)
    merged: list[tuple[Note, int]] = []
    for note, end in notes:
        place = _doubled(merged, note)
        if place is None:
            merged.append((note, end))
            continue
        other, other_end = merged[place]
        longer, shorter = (note, other) if end > other_end else (other, note)
        slurred = note.slurred or other.slurred
        whole = replace(
            longer,
            slurred=slurred,
            marks=united(longer.marks, shorter.marks),
            ornament=longer.ornament or shorter.ornament,
            glides=longer.glides or shorter.glides,
        )
        merged[place] = (whole, max(end, other_end))
    merged.sort(key=lambda pair: (pair[0].pitch.midi, pair[0].pitch.letter))
    return merged


def _doubled(notes: Sequence[tuple[Note, int]], note: Note) -> int | None:
    for place, (other, _) in enumerate(notes):
        if other.pitch == note.pitch and other.voice != note.voice:
            return place
    return None
