"""The rules by which notes are left out, one after another.

Conventions
-----------
* A rule reads a part and says what to leave out of it and why; it changes nothing.
* Whether several players were meant does not hang on who reads: a small hand counts as one that
  fits its instrument there, and only chords one by one are thinned for it.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction
from itertools import groupby

from scoretools.fingering.rows import Hand
from scoretools.hand import hand_reach
from scoretools.model import Divided, Event, NoteRef, Notice, Part, PositionNumber
from scoretools.note_names import worded
from scoretools.player import Player
from scoretools.voices.hands import beyond, handful, holds
from scoretools.voices.leaving import without
from scoretools.voices.lines import bars_in_voices, off_line, several
from scoretools.voices.notices import Finding, Reason, names, notices_of

__all__ = ["STRETCHES", "Divisi", "Stretch", "decide"]


@dataclass(frozen=True, slots=True)
class Stretch:
    """From when on too much for one hand means several players."""

    bars: int
    """Bars in which no hand holds the notes, at least."""
    apart: int
    """Bars from one of them to the next, at most."""
    share: Fraction
    """Share of such moments among those at which several notes sound, at least."""
    in_voices: bool
    """Whether only bars with two voices count, and not chords of one voice."""


STRETCHES = (
    Stretch(bars=16, apart=32, share=Fraction(1, 20), in_voices=True),
    Stretch(bars=4, apart=2, share=Fraction(1, 2), in_voices=False),
)
"""Long and steady, or short and dense; the longer first. Common practice, no published source;
set by comparing solo works (at most 10 such bars in a movement) with the two violin parts of
quartets written as one (in most movements one moment in 20 to one in 3)."""

_FIRST_POSITION = PositionNumber(1)


class Divisi(StrEnum):
    """What one player takes where several notes sound."""

    AUTO = "auto"
    """What the rule of this room says."""
    TOP = "top"
    """The top line alone, everywhere."""
    BOTTOM = "bottom"
    """The bottom line alone, everywhere."""
    BOTH = "both"
    """Everything as written."""


_Rule = Callable[[Part, Hand], Iterator[Finding]]


def decide(part: Part, hand: Hand, divisi: Divisi = Divisi.AUTO) -> tuple[Part, tuple[Notice, ...]]:
    """Reduce a part to what one player plays.

    Parameters
    ----------
    part
        A part with all its voices.
    hand
        Instrument and reach; how high the hand goes does not matter here.
    divisi
        Whether to follow the rule, or to take one line or everything.

    Returns
    -------
    Part
        The part with its events numbered anew; the same object where nothing is left out. Deciding
        once more changes nothing.
    tuple of Notice
        What was left out and why, in order of the bars.

    Raises
    ------
    Nothing.
    """
    if divisi is Divisi.BOTH or not any(map(several, part.events)):
        return part, ()
    hand = replace(hand, ceiling=_FIRST_POSITION)  # higher states are made only where none is low
    rules = _RULES if divisi is Divisi.AUTO else (_asked(divisi),)
    findings: list[Finding] = []
    before = None
    while part is not before:  # what is left may look otherwise without what was taken away
        before = part
        for rule in rules:
            found = tuple(rule(part, hand))
            findings += found
            part = without(part, frozenset().union(*(one.dropped for one in found)))
    return part, notices_of(part.measures, findings)


def _asked(divisi: Divisi) -> _Rule:
    def rule(part: Part, _: Hand) -> Iterator[Finding]:
        dropped = off_line(part.events, range(len(part.events)), top=divisi is Divisi.TOP)
        if dropped:
            yield _finding(part, Reason.ASKED, dropped)

    return rule


def _by_words(part: Part, _: Hand) -> Iterator[Finding]:
    for said, run in groupby(part.events, key=lambda event: event.words.divided):
        stretch = [event.index for event in run]
        if said is Divided.DIVIDED and (dropped := off_line(part.events, stretch)):
            yield _finding(part, Reason.WORDS, dropped)


def _by_staves(part: Part, _: Hand) -> Iterator[Finding]:
    if len({note.staff for event in part.events for note in event.notes}) < 2:
        return
    free = [event.index for event in part.events if _left_open(event)]
    dropped = off_line(part.events, free, by_staff=True)
    for first, last in _runs(sorted({part.events[ref.event].measure for ref in dropped}), apart=1):
        inside = {ref for ref in dropped if first <= part.events[ref.event].measure <= last}
        yield _finding(part, Reason.STAVES, inside)


def _by_persistence(kind: Stretch) -> _Rule:
    def rule(part: Part, hand: Hand) -> Iterator[Finding]:
        for first, last in _hard_stretches(part.events, hand, kind):
            stretch = [
                event.index
                for event in part.events
                if first <= event.measure <= last and _left_open(event)
            ]
            if dropped := off_line(part.events, stretch):
                yield _finding(part, Reason.PERSISTENCE, dropped)

    return rule


def _by_playability(part: Part, hand: Hand) -> Iterator[Finding]:
    for event in part.events:
        if len(event.notes) == 1 or holds(hand, event.notes):
            continue
        kept = handful(hand, event.notes)
        dropped = [place for place in range(len(event.notes)) if place not in kept]
        if not kept or not dropped:
            continue
        lacking = not any(holds(hand, (event.notes[place],)) for place in dropped)
        subject = names(event.notes, dropped if lacking else range(len(event.notes)))
        told = (
            worded("{} cannot be played on this {}", subject, part.instrument)
            if lacking
            else worded("no hand can hold {} at once", subject)
        )
        yield Finding(
            reason=Reason.LACKING if lacking else Reason.BEYOND,
            dropped=frozenset(NoteRef(event.index, place) for place in dropped),
            bars=(event.measure,),
            told=worded("{}; only {} fingered", told, names(event.notes, kept)),
        )


_RULES: tuple[_Rule, ...] = (
    _by_words, _by_staves, *map(_by_persistence, STRETCHES), _by_playability,
)  # fmt: skip


def _left_open(event: Event) -> bool:
    """Whether words leave it open if notes are shared."""
    return event.words.divided is None


def _finding(part: Part, reason: Reason, dropped: Iterable[NoteRef]) -> Finding:
    refs = frozenset(dropped)
    return Finding(reason, refs, tuple(sorted({part.events[ref.event].measure for ref in refs})))


# ── stretches of bars ───────────────────────────────────────────────────────────────────────────


def _hard_stretches(
    events: Sequence[Event], hand: Hand, kind: Stretch
) -> Iterator[tuple[int, int]]:
    """Find stretches that no one player was meant to play, by their first and last bar."""
    voiced = bars_in_voices(events)
    hand = _at_least_usual(hand)
    moments: dict[int, list[bool]] = defaultdict(list)
    for event in filter(several, events):
        if _left_open(event) and (event.measure in voiced or not kind.in_voices):
            moments[event.measure].append(beyond(events, event, hand))
    hard = [bar for bar in sorted(moments) if any(moments[bar])]
    for first, last in _runs(hard, kind.apart):
        here = [one for bar in range(first, last + 1) for one in moments.get(bar, ())]
        bars = sum(first <= bar <= last for bar in hard)
        if bars >= kind.bars and sum(here) >= kind.share * len(here):
            yield _widened(first, last, voiced)


def _at_least_usual(hand: Hand) -> Hand:
    usual = hand_reach(hand.instrument, Player())
    return replace(hand, reach=max(hand.reach, usual, key=lambda reach: reach.widest_mm))


def _runs(bars: Sequence[int], apart: int) -> list[tuple[int, int]]:
    """Draw bars together that lie at most so many bars apart."""
    runs: list[tuple[int, int]] = []
    for bar in bars:
        if runs and bar - runs[-1][1] <= apart:
            runs[-1] = runs[-1][0], bar
        else:
            runs.append((bar, bar))
    return runs


def _widened(first: int, last: int, voiced: frozenset[int]) -> tuple[int, int]:
    while first - 1 in voiced:
        first -= 1
    while last + 1 in voiced:
        last += 1
    return first, last
