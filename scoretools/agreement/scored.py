"""A part measured against the marks printed in it."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from scoretools.agreement.found import Found, Playing, fingered, found_in, one_line, playing, say
from scoretools.agreement.given import SEEDS, hidden_bars
from scoretools.agreement.prices import prices
from scoretools.agreement.printed import Printed, printed_on, say_printed, without_marks
from scoretools.agreement.rules import RULES
from scoretools.agreement.tally import Band, Hits, Share, Tally, counted
from scoretools.bar_names import bars_in_words
from scoretools.collector import collector_paused
from scoretools.fingering.contradictions import why_not_honoured
from scoretools.instrument import Instrument
from scoretools.model import (
    Address,
    Certainty,
    Event,
    Finger,
    Measure,
    Note,
    Offset,
    Part,
    Placement,
    Step,
    Stop,
)
from scoretools.player import Player

__all__ = ["Difference", "Measured", "measure_part"]

_FOURTH_OR_OPEN = ((Finger(0),), (Finger(4),))


@dataclass(frozen=True, slots=True)
class Difference:
    """A note on which edition and tool differ, or whose marks cannot be honoured."""

    bar: str
    """Bar number as printed."""
    where: str
    """The bar in words: ``bar 12``, ``the upbeat``."""
    note: str
    """The note."""
    printed: str
    """What the edition prints."""
    found: str
    """What the tool finds, all marks hidden."""
    margin: float | None
    """How firmly it finds that: points by which another string or finger costs more; none where
    there is no other."""
    dearer: float | None
    """Points by which the whole fingering costs more if this note is played as printed; none where
    no hand up to the ceiling can."""
    not_honoured: str
    """Why its marks are not honoured when all are given; empty where they are."""


@dataclass(frozen=True, slots=True)
class Measured:
    """What a part gives."""

    tally: Tally
    """The counts."""
    differences: tuple[Difference, ...]
    """Where edition and tool differ, in the order of the music; empty if not asked for."""


@dataclass(frozen=True, slots=True)
class _Marked:
    """A note with something printed on it."""

    event: Event
    note: Note
    printed: Printed


@dataclass(frozen=True, slots=True)
class _Fingered:
    """A part with and without its marks."""

    who: Playing
    marked: tuple[_Marked, ...]
    """Notes with something printed on them."""
    line: Part
    """What one player plays, with all marks."""
    bare: Part
    """The same without marks."""
    blind: Mapping[Address, Found]
    """How it is played with all marks hidden."""
    told: Mapping[Address, Found]
    """How it is played with all marks given."""
    arrivals: frozenset[Address]
    """First stopped notes after a shift, all marks given."""


@collector_paused()
def measure_part(
    part: Part, player: Player | None = None, given: float | None = None, listed: bool = False
) -> Measured:
    """Measure the tool against the marks printed in a part.

    Parameters
    ----------
    part
        A part as `scoretools.read_part` returns it.
    player
        Who plays; by default a developing player with an average hand.
    given
        Per cent of the marked bars, 0 to less than 100, that keep their marks, to measure the
        others once more for each of `SEEDS`; by default that is left out.
    listed
        Whether every difference is listed.

    Returns
    -------
    Measured
        Counts and differences.

    Raises
    ------
    PlayerError
        If the player plays another instrument than the part is for.
    """
    one = _fingered(playing(part, player or Player()), part)
    notes = sum(len(event.notes) for event in part.events)
    differences = tuple(_differences(one, part.measures)) if listed else ()
    return Measured(_tally(one, notes, given), differences)


def _fingered(who: Playing, part: Part) -> _Fingered:
    line = one_line(who, part)
    bare = without_marks(line)
    told = fingered(who, line).steps
    return _Fingered(
        who=who,
        marked=_marked(who.instrument, part.events),
        line=line,
        bare=bare,
        blind=found_in(bare.events, fingered(who, bare).steps),
        told=found_in(line.events, told),
        arrivals=_arrivals(line.events, told),
    )


def _marked(played: Instrument, events: Sequence[Event]) -> tuple[_Marked, ...]:
    every = (
        _Marked(event, note, printed_on(played, event, note))
        for event in events
        for note in event.notes
    )
    return tuple(one for one in every if one.printed != Printed((), None, None))


def _arrivals(events: Sequence[Event], steps: Sequence[Step]) -> frozenset[Address]:
    """Find the stopped notes with which the hand begins in a new position, at a new place.

    Open strings are passed over, since they do not tell where the hand is; a hand that stays while
    its place takes another name does not shift.
    """
    found: set[Address] = set()
    before: Placement | None = None
    for event, step in zip(events, steps, strict=True):
        here = step.placement
        if here is None or not any(choice.stop.finger for choice in step.choices):
            continue
        if before and before.position != here.position and before.home != here.home:
            choices = zip(event.notes, step.choices, strict=True)
            found |= {note.address for note, choice in choices if choice.stop.finger}
        before = here
    return frozenset(found)


# ── counts ──────────────────────────────────────────────────────────────────────────────────────


def _tally(one: _Fingered, notes: int, given: float | None) -> Tally:
    fingers = [marked for marked in one.marked if marked.printed.fingers]
    played = one.who.instrument
    choice_of = [marked for marked in fingers if _fourth_or_open(played, marked)]
    after = [marked for marked in fingers if marked.note.address in one.arrivals]
    return Tally(
        notes=notes,
        marks=len(fingers),
        hits=_hits(one.marked, one.blind),
        bands=tuple(_band(certainty, fingers, one.blind) for certainty in Certainty),
        fourth_or_open=_share(choice_of, one.blind, _finger_right),
        mistaken=counted(_mistaken(fingers, one.blind)),
        after_shift=_share(after, one.blind, _finger_right),
        rules=tuple(_hits(one.marked, _by_rule(rule, one)) for rule in RULES),
        given=() if given is None else tuple(_given(one, given)),
        honoured=_share(fingers, one.told, _all_right),
    )


def _mistaken(
    fingers: Sequence[_Marked], found: Mapping[Address, Found]
) -> Iterator[tuple[Finger, Finger | None]]:
    """Pair the finger printed first with the one found, where it is none of those printed."""
    for marked in fingers:
        how = found.get(marked.note.address)
        if not _finger_right(marked.printed, how):
            yield marked.printed.fingers[0], how.finger if how else None


def _fourth_or_open(played: Instrument, marked: _Marked) -> bool:
    """Whether fourth finger or open string is printed where either would do."""
    above_the_lowest = {string.midi for string in played.strings[1:]}
    return marked.printed.fingers in _FOURTH_OR_OPEN and marked.note.pitch.midi in above_the_lowest


def _by_rule(name: str, one: _Fingered) -> Mapping[Address, Found]:
    rule = RULES[name]
    found = {
        marked.note.address: rule(one.who.instrument, marked.note.pitch) for marked in one.marked
    }
    return {address: how for address, how in found.items() if how is not None}


def _given(one: _Fingered, percent: float) -> Iterator[Hits]:
    """Measure the hidden bars of each seed."""
    bars = {marked.event.measure for marked in one.marked if marked.printed.fingers}
    for seed in SEEDS if bars else ():
        hidden = hidden_bars(one.line.measures, one.line.events, bars, percent, seed)
        part = without_marks(one.line, hidden)
        found = found_in(part.events, fingered(one.who, part).steps)
        yield _hits([marked for marked in one.marked if marked.event.measure in hidden], found)


def _hits(marked: Sequence[_Marked], found: Mapping[Address, Found]) -> Hits:
    fingers = [one for one in marked if one.printed.fingers]
    strings = [one for one in marked if one.printed.string is not None]
    return Hits(
        _share(fingers, found, _finger_right),
        _share(strings, found, _string_right),
        _share(fingers, found, _all_right),
    )


def _band(certainty: Certainty, fingers: Sequence[_Marked], found: Mapping[Address, Found]) -> Band:
    inside = {
        address: how
        for address, how in found.items()
        if how.margin is not None and how.certainty is certainty
    }
    marked = [one for one in fingers if one.note.address in inside]
    return Band(certainty, _share(marked, found, _finger_right), len(inside))


def _share(
    marked: Iterable[_Marked],
    found: Mapping[Address, Found],
    right: Callable[[Printed, Found | None], bool],
) -> Share:
    told = [right(one.printed, found.get(one.note.address)) for one in marked]
    return Share(sum(told), len(told))


def _finger_right(printed: Printed, found: Found | None) -> bool:
    return found is not None and (not printed.fingers or found.finger in printed.fingers)


def _string_right(printed: Printed, found: Found | None) -> bool:
    return found is not None and printed.string in (None, found.string)


def _position_right(printed: Printed, found: Found | None) -> bool:
    return found is not None and (printed.position in (None, found.position) or found.finger == 0)


def _all_right(printed: Printed, found: Found | None) -> bool:
    return (
        _finger_right(printed, found)
        and _string_right(printed, found)
        and _position_right(printed, found)
    )


# ── differences ─────────────────────────────────────────────────────────────────────────────────


def _differences(one: _Fingered, measures: Sequence[Measure]) -> Iterator[Difference]:
    played = one.who.instrument
    wanted = {marked.note.address: marked.printed for marked in one.marked}
    dearer = prices(one.who, one.bare, wanted)
    for marked in one.marked:
        address, printed = marked.note.address, marked.printed
        found = one.blind.get(address)
        reason = _why(played, marked, one.told.get(address))
        if _all_right(printed, found) and not reason:
            continue
        yield Difference(
            bar=measures[marked.event.measure].number,
            where=bars_in_words(measures, (marked.event.measure,)),
            note=marked.note.pitch.name,
            printed=say_printed(played, printed),
            found=say(played, found),
            margin=found.margin if found else None,
            dearer=dearer.get(address),
            not_honoured=reason,
        )


def _why(played: Instrument, marked: _Marked, told: Found | None) -> str:
    """Say why the marks of a note are not honoured where all are given; empty where they are."""
    if _all_right(marked.printed, told):
        return ""
    name = marked.note.pitch.name
    if told is None:
        return f"{name} is left unfingered"
    marks = marked.note.marks
    if marks.string is None and marked.event.words.string is not None:
        marks = replace(marks, string=marked.event.words.string)
    stop = Stop(told.string, told.finger, Offset(0))
    why = why_not_honoured(played, replace(marked.note, marks=marks), stop, told.position)
    return why or f"{name} cannot be played so together with what is printed around it"
