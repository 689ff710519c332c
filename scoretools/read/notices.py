"""What the reader tells the user about things it skipped or assumed.

Convention: a single remark is kept as it is; remarks that come in numbers (cue notes, microtones …)
are counted by bar and told once for each run of bars, or once for the whole part when there are
many runs. What changes the meaning of a printed sign is told once with all its bars, so that each
can be looked up.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

from scoretools.model import Measure, Notice

__all__ = ["Log", "closed", "count", "remark"]

_MOST_RUNS = 4
"""Runs of bars told one by one; more are summed up in one sentence."""

_MOST_BARS = 12
"""Bars named one by one in a remark that names them all; those beyond are counted."""

_WITH_ALL_BARS = frozenset({"nought", "nought in chord"})
"""Kinds of remarks that are told once, with all their bars."""

_TALES = {
    "accidental": (
        "a printed accidental says otherwise than the pitch of its note, which is kept",
        "{n} printed accidentals say otherwise than the pitches of their notes, which are kept",
    ),
    "backup": (
        "a step back beyond the bar line is cut short",
        "{n} steps back beyond the bar line are cut short",
    ),
    "bar repeat": (
        "a bar under a repeat sign is filled with the notes of the bar it repeats",
        "{n} bars under a repeat sign are filled with the notes of the bars they repeat",
    ),
    "beat repeat": (
        "a sign that repeats a beat is ignored",
        "{n} signs that repeat a beat are ignored",
    ),
    "cue": (
        "a cue note is skipped",
        "{n} cue notes are skipped",
    ),
    "digit": (
        "a digit over several notes is left out, since it fits more than one",
        "{n} digits over several notes or none are left out",
    ),
    "duration": (
        "a note without a readable duration is skipped",
        "{n} notes without a readable duration are skipped",
    ),
    "harmonics": (
        "words about harmonics are left out, since only signs on notes are read",
        "{n} words about harmonics are left out, since only signs on notes are read",
    ),
    "left hand": (
        "a sign for the left hand's pizzicato stands over no single note and is left out",
        "{n} signs for the left hand's pizzicato stand over no single note and are left out",
    ),
    "letter": (
        "a lone letter, which may name a string or a section, is left out",
        "{n} lone letters, which may name strings or sections, are left out",
    ),
    "microtone": (
        "a microtone is rounded to the nearest semitone",
        "{n} microtones are rounded to the nearest semitone",
    ),
    "modulation": (
        "a tempo mark that sets two note values equal is ignored",
        "{n} tempo marks that set two note values equal are ignored",
    ),
    "no such string": (
        "words ask for a string that the instrument does not have and are left out",
        "{n} words ask for a string that the instrument does not have and are left out",
    ),
    "nought": (
        "a 0 over a note that no open string sounds is read as the sign of a natural harmonic",
        "{n} times a 0 over a note that no open string sounds is read as the sign of a natural "
        "harmonic",
    ),
    "nought in chord": (
        "a 0 in a chord is read for the note that an open string sounds",
        "{n} times a 0 in a chord is read for the note that an open string sounds",
    ),
    "numeral": (
        "a lone numeral is taken as a string",
        "{n} lone numerals are taken as strings",
    ),
    "numeral left out": (
        "a lone numeral that fits no single note as a string is left out",
        "{n} lone numerals that fit no single note as a string are left out",
    ),
    "ornament": (
        "an ornament that is no trill, mordent or turn is left out",
        "{n} ornaments that are no trills, mordents or turns are left out",
    ),
    "pitch": (
        "a note without a readable pitch is skipped",
        "{n} notes without a readable pitch are skipped",
    ),
    "several strings": (
        "words about several strings, or one not named, are left out",
        "{n} words about several strings, or one not named, are left out",
    ),
    "shown harmonic": (
        "a note that shows how a harmonic sounds is left out",
        "{n} notes that show how harmonics sound are left out",
    ),
    "slur": (
        "a slur has no end and is taken to reach to the end of its bar or the next rest",
        "{n} slurs have no end and are taken to reach to the end of their bar or the next rest",
    ),
    "slur end": (
        "the end of a slur without a beginning is ignored",
        "{n} ends of slurs without a beginning are ignored",
    ),
    "string": (
        "a string mark that is no number from 1 to 5 is ignored",
        "{n} string marks that are no numbers from 1 to 5 are ignored",
    ),
    "swing": (
        "a swing mark is ignored; notes are read as written",
        "{n} swing marks are ignored; notes are read as written",
    ),
    "technical": (
        "a technical sign that is not known here is left out",
        "{n} technical signs that are not known here are left out",
    ),
    "tie": (
        "a tie comes from no note of the same pitch, so its note is struck",
        "{n} ties come from no note of the same pitch, so their notes are struck",
    ),
    "unpitched": (
        "an unpitched percussion note is skipped",
        "{n} unpitched percussion notes are skipped",
    ),
    "unplayable words": (
        "words ask for a string that cannot play the notes under them and are left out",
        "{n} words ask for a string that cannot play the notes under them and are left out",
    ),
}
"""What is said of one thing and of several, by kind."""


@dataclass(slots=True)
class Log:
    """Remarks gathered while a part is read."""

    notices: list[Notice] = field(default_factory=list)
    """Single remarks."""
    counts: dict[str, Counter[int]] = field(default_factory=dict)
    """For each kind of remark, how many in which measure."""


def remark(log: Log, message: str, measure: int | None = None) -> None:
    """Keep a single remark.

    Parameters
    ----------
    log : Log
        Where to keep it.
    message : str
        One sentence.
    measure : int or None
        Index of the measure it is about.

    Raises
    ------
    Nothing.
    """
    log.notices.append(Notice(message, measure))


def count(log: Log, kind: str, measure: int) -> None:
    """Count one more thing of a kind in a measure.

    Parameters
    ----------
    log : Log
        Where to count it.
    kind : str
        Which kind, a key of the table of sentences.
    measure : int
        Index of the measure.

    Raises
    ------
    Nothing.
    """
    log.counts.setdefault(kind, Counter())[measure] += 1


def closed(log: Log, measures: Sequence[Measure]) -> tuple[Notice, ...]:
    """Return all remarks, those about the whole part first, then by bar.

    Parameters
    ----------
    log : Log
        Remarks gathered.
    measures : sequence of Measure
        The part's bars, for their printed numbers.

    Returns
    -------
    tuple of Notice
        Each a sentence.

    Raises
    ------
    Nothing.
    """
    told = list(dict.fromkeys(log.notices))
    for kind, counts in log.counts.items():
        # A mark in another part may stand behind the last bar of this one.
        bars = [bar for bar in sorted(counts) if bar < len(measures)]
        if kind in _WITH_ALL_BARS and bars:
            told.append(
                Notice(_sentence(kind, sum(counts.values()), _all_bars(measures, bars)), bars[0])
            )
            continue
        runs = _runs(bars)
        if len(runs) > _MOST_RUNS:
            number = sum(counts.values())
            where = f"in {len(counts)} bars from bar {measures[runs[0][0]].number} on"
            told.append(Notice(_sentence(kind, number, where), runs[0][0]))
            continue
        for first, last in runs:
            number = sum(counts[bar] for bar in range(first, last + 1))
            told.append(Notice(_sentence(kind, number, _bars(measures, first, last)), first))
    told.sort(key=lambda notice: -1 if notice.measure is None else notice.measure)
    return tuple(told)


def _runs(bars: Sequence[int]) -> list[tuple[int, int]]:
    runs: list[tuple[int, int]] = []
    for bar in bars:
        if runs and bar == runs[-1][1] + 1:
            runs[-1] = (runs[-1][0], bar)
        else:
            runs.append((bar, bar))
    return runs


def _bars(measures: Sequence[Measure], first: int, last: int) -> str:
    if first == last:
        return f"in bar {measures[first].number}"
    return f"in bars {measures[first].number} to {measures[last].number}"


def _all_bars(measures: Sequence[Measure], bars: Sequence[int]) -> str:
    *names, last = [measures[bar].number for bar in bars[:_MOST_BARS]]
    if (more := len(bars) - _MOST_BARS) > 0:
        return f"in bars {', '.join((*names, last))} and {more} more"
    return f"in bars {', '.join(names)} and {last}" if names else f"in bar {last}"


def _sentence(kind: str, number: int, where: str) -> str:
    one, several = _TALES[kind]
    said = one if number == 1 else several.format(n=number)
    return f"{said[0].upper()}{said[1:]} {where}."
