"""Counts of what is right, their sums and shares."""

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import zip_longest

from scoretools.agreement.rules import RULES
from scoretools.model import Certainty, Finger

__all__ = [
    "Band",
    "Hits",
    "Mistaken",
    "Share",
    "Tally",
    "added",
    "added_hits",
    "counted",
    "share_of",
    "summed",
]


@dataclass(frozen=True, slots=True)
class Share:
    """How many of how many are right."""

    right: float = 0.0
    """Those that are right; a mean over players need not be whole."""
    of: float = 0.0
    """All."""


NONE = Share()


@dataclass(frozen=True, slots=True)
class Hits:
    """What is right by finger, by string, and in all that is printed."""

    finger: Share = NONE
    """Of the marks."""
    string: Share = NONE
    """Of the notes whose string is printed, or meant by an open string."""
    everything: Share = NONE
    """Of the marks: finger, and string and position where they are printed there too."""


@dataclass(frozen=True, slots=True)
class Band:
    """What is called *sure*, *likely* or *open*, of the notes with a choice."""

    certainty: Certainty
    """Which."""
    finger: Share = NONE
    """Marks in this band, and how many of them are right."""
    notes: int = 0
    """All notes in this band, marked or not."""


@dataclass(frozen=True, slots=True)
class Mistaken:
    """One finger found where another is printed."""

    printed: Finger
    """The finger printed first; 0 for the open string."""
    found: Finger | None
    """The finger found; none where the note is left unfingered."""
    marks: int
    """How often."""


def counted(pairs: Iterable[tuple[Finger, Finger | None]]) -> tuple[Mistaken, ...]:
    """Count pairs of printed and found fingers, most frequent first."""
    return _ordered(Counter(pairs))


def _ordered(counts: Counter[tuple[Finger, Finger | None]]) -> tuple[Mistaken, ...]:
    order = sorted(counts.items(), key=lambda item: (-item[1], item[0][0], item[0][1] or 0))
    return tuple(Mistaken(printed, found, marks) for (printed, found), marks in order)


NO_BANDS = tuple(Band(certainty) for certainty in Certainty)
NO_RULES = (Hits(),) * len(RULES)


@dataclass(frozen=True, slots=True)
class Tally:
    """The counts of a part, a file, a book, or all."""

    notes: int = 0
    """Struck notes."""
    marks: int = 0
    """Printed fingers and open strings; notes, where players fingered every one."""
    hits: Hits = Hits()
    """The tool, all marks hidden."""
    any_player: Share = NONE
    """Notes whose string and finger equal at least one player's."""
    bands: tuple[Band, ...] = NO_BANDS
    """The same by certainty: *sure*, *likely*, *open*."""
    fourth_or_open: Share = NONE
    """Marks for fourth finger or open string, where both are possible."""
    mistaken: tuple[Mistaken, ...] = ()
    """Which finger is found where another is printed, most frequent first."""
    after_shift: Share = NONE
    """Marks on the first stopped note after a shift of the fingering that honours all marks."""
    rules: tuple[Hits, ...] = NO_RULES
    """The dumb rules, in the order of `RULES`."""
    given: tuple[Hits, ...] = ()
    """With some bars' marks given, for each seed: the marks of the others; empty if not asked."""
    honoured: Share = NONE
    """Marks honoured, in all that is printed, when all are given."""


def share_of(share: Share) -> float | None:
    """Divide; none where there is nothing to share."""
    return share.right / share.of if share.of else None


def summed(shares: Sequence[Share]) -> Share:
    """Add shares up."""
    return Share(sum(share.right for share in shares), sum(share.of for share in shares))


def added_hits(hits: Sequence[Hits]) -> Hits:
    """Add hits up."""
    return Hits(
        summed([one.finger for one in hits]),
        summed([one.string for one in hits]),
        summed([one.everything for one in hits]),
    )


def added(tallies: Sequence[Tally]) -> Tally:
    """Add tallies up."""

    def over(take: Callable[[Tally], Share]) -> Share:
        return summed([take(tally) for tally in tallies])

    return Tally(
        notes=sum(tally.notes for tally in tallies),
        marks=sum(tally.marks for tally in tallies),
        hits=added_hits([tally.hits for tally in tallies]),
        any_player=over(lambda tally: tally.any_player),
        bands=tuple(map(_added_bands, zip(*(tally.bands for tally in tallies), strict=True)))
        or NO_BANDS,
        fourth_or_open=over(lambda tally: tally.fourth_or_open),
        mistaken=_added_mistaken([tally.mistaken for tally in tallies]),
        after_shift=over(lambda tally: tally.after_shift),
        rules=_by_place([tally.rules for tally in tallies]) or NO_RULES,
        given=_by_place([tally.given for tally in tallies]),
        honoured=over(lambda tally: tally.honoured),
    )


def _added_mistaken(rows: Sequence[tuple[Mistaken, ...]]) -> tuple[Mistaken, ...]:
    counts: Counter[tuple[Finger, Finger | None]] = Counter()
    for row in rows:
        for one in row:
            counts[one.printed, one.found] += one.marks
    return _ordered(counts)


def _added_bands(bands: Sequence[Band]) -> Band:
    return Band(
        bands[0].certainty,
        summed([band.finger for band in bands]),
        sum(band.notes for band in bands),
    )


def _by_place(rows: Sequence[tuple[Hits, ...]]) -> tuple[Hits, ...]:
    return tuple(added_hits(column) for column in zip_longest(*rows, fillvalue=Hits()))
