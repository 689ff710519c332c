"""What is measured, gathered by file and by book, and as data for other programs."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import fmean
from types import MappingProxyType

from scoretools.agreement.given import SEEDS
from scoretools.agreement.rules import RULES
from scoretools.agreement.scored import Difference
from scoretools.agreement.tally import Hits, Share, Tally, added, share_of

__all__ = ["Entry", "as_data", "by_book", "headline", "total"]

Data = dict[str, object]


@dataclass(frozen=True, slots=True)
class Entry:
    """A file, or a piece that several players fingered."""

    file: str
    """Where it is."""
    book: str
    """The book it belongs to."""
    tally: Tally
    """Its counts."""
    differences: tuple[Difference, ...] = ()
    """Where edition and tool differ."""


def total(entries: Sequence[Entry]) -> Tally:
    """Add all entries up."""
    return added([entry.tally for entry in entries])


def by_book(entries: Sequence[Entry]) -> Mapping[str, Tally]:
    """Add the entries of each book up, in order of first appearance."""
    books: dict[str, list[Tally]] = defaultdict(list)
    for entry in entries:
        books[entry.book].append(entry.tally)
    return MappingProxyType({name: added(tallies) for name, tallies in books.items()})


def headline(books: Mapping[str, Tally]) -> Mapping[str, float | None]:
    """Take the mean over books of each share; books in which it is not known are left out.

    Returns
    -------
    Mapping
        ``finger``, ``string``, ``all``, ``any``, ``fourth_or_open``, ``after_shift``, the finger
        of each dumb rule by its name, and ``given``, the finger with some marks given (mean over
        books, then over seeds).
    """
    tallies = list(books.values())
    means = {
        "finger": _mean([tally.hits.finger for tally in tallies]),
        "string": _mean([tally.hits.string for tally in tallies]),
        "all": _mean([tally.hits.everything for tally in tallies]),
        "any": _mean([tally.any_player for tally in tallies]),
        "fourth_or_open": _mean([tally.fourth_or_open for tally in tallies]),
        "after_shift": _mean([tally.after_shift for tally in tallies]),
    }
    for place, name in enumerate(RULES):
        means[name] = _mean([tally.rules[place].finger for tally in tallies])
    seeds = [
        _mean([tally.given[place].finger for tally in tallies if tally.given])
        for place in range(len(SEEDS))
    ]
    known = [mean for mean in seeds if mean is not None]
    means["given"] = fmean(known) if known else None
    return MappingProxyType(means)


def _mean(shares: Sequence[Share]) -> float | None:
    known = [share for share in map(share_of, shares) if share is not None]
    return fmean(known) if known else None


# ── as data ─────────────────────────────────────────────────────────────────────────────────────


def as_data(entries: Sequence[Entry], listed: bool = False) -> Data:
    """Lay everything out as JSON has it: shares between 0 and 1, none where nothing is marked.

    Parameters
    ----------
    listed
        Whether the differences are laid out too.
    """
    books = by_book(entries)
    return {
        "files": [_entry(entry, listed) for entry in entries],
        "books": {name: _tally(tally) for name, tally in books.items()},
        "macro": dict(headline(books)),
        "total": _tally(total(entries)),
    }


def _entry(entry: Entry, listed: bool) -> Data:
    data: Data = {"file": entry.file, "book": entry.book, **_tally(entry.tally)}
    if listed:
        data["differences"] = [_difference(one) for one in entry.differences]
    return data


def _difference(one: Difference) -> Data:
    return {
        "bar": one.bar,
        "note": one.note,
        "printed": one.printed,
        "found": one.found,
        "margin": one.margin,
        "dearer": one.dearer,
        "not_honoured": one.not_honoured,
    }


def _tally(tally: Tally) -> Data:
    data: Data = {"notes": tally.notes, "marks": tally.marks, **_hits(tally.hits)}
    if tally.any_player.of:
        data["any"] = share_of(tally.any_player)
    data["fourth_or_open"] = _counted(tally.fourth_or_open)
    data["after_shift"] = _counted(tally.after_shift)
    data["mistaken"] = [
        {"printed": one.printed, "found": one.found, "marks": one.marks} for one in tally.mistaken
    ]
    data["calibration"] = _bands(tally)
    data["rules"] = {name: _hits(hits) for name, hits in zip(RULES, tally.rules, strict=True)}
    data["honoured"] = share_of(tally.honoured)
    if tally.given:
        data["given"] = _given(tally.given)
    return data


def _hits(hits: Hits) -> Data:
    return {
        "finger": share_of(hits.finger),
        "string": share_of(hits.string),
        "all": share_of(hits.everything),
    }


def _counted(share: Share) -> Data:
    return {"marks": round(share.of), "finger": share_of(share)}


def _bands(tally: Tally) -> Data:
    """Tell for each band how many notes and marks it has, and how often it is right."""
    notes = sum(band.notes for band in tally.bands)
    return {
        band.certainty.value: {
            "notes": band.notes,
            "share": band.notes / notes if notes else None,
            "marks": round(band.finger.of),
            "right": share_of(band.finger),
        }
        for band in tally.bands
    }


def _given(seeds: Sequence[Hits]) -> Data:
    """Mean over the seeds of each share."""
    return {
        "marks": fmean(hits.finger.of for hits in seeds),
        "finger": _mean([hits.finger for hits in seeds]),
        "string": _mean([hits.string for hits in seeds]),
        "all": _mean([hits.everything for hits in seeds]),
    }
