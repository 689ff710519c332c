"""Reads everything at hand, compares quartets with music21 note by note, and prints figures.

Run from anywhere::

    python tests/benchmarks/reading.py [equality] [corpus] [tunes] [check] [speed]

Without words all five are run. ``check`` needs the environment variable SCORETOOLS_CHECK_DATA.
"""

import os
import sys
import time
import traceback
import warnings
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

from music21 import common, converter, stream

from scoretools.errors import PartNotFound, ScoretoolsError
from scoretools.model import Part
from scoretools.read import list_parts, read_part
from scoretools.read.abc_book import tunes_of

CORPUS = common.getCorpusFilePath()
QUARTETS = (
    "haydn/opus1no1",
    "haydn/opus74no1",
    "mozart/k155",
    "mozart/k156",
    "mozart/k458",
    "mozart/k80",
    "beethoven",
)
FIDDLE_TUNES = ("airdsAirs", "oneills1850", "ryansMammoth", "miscFolk", "nottingham-dataset")
SUFFIXES = (".mxl", ".xml", ".musicxml")

_MARK = "a mark set behind the end of the bar makes the bar longer in music21"
_STEP = "a step forward of no length becomes a rest of a quarter in music21"
EXPLAINED = {
    "beethoven/opus59no1/movement2": (_MARK, ("469",)),
    "beethoven/opus59no1/movement4": (_MARK, ("303",)),
    "beethoven/opus59no3/movement1": (_MARK, ("10",)),
    "beethoven/opus59no3/movement2": (_MARK, ("135",)),
    "haydn/opus1no1/movement3": (_STEP, ("3", "17", "36", "39")),
    "haydn/opus1no1/movement4": (_STEP, ("35", "43")),
    "haydn/opus1no1/movement5": (_STEP, ("16", "25", "66")),
    "mozart/k155/movement3": (_MARK, ("0",)),
    "mozart/k458/movement4": (_MARK, ("99",)),
    "mozart/k80/movement4": (_MARK, ("0",)),
}
"""Bars that music21 makes longer than their durations say, and why."""

Written = dict[tuple[int, Fraction, int, bool], Fraction]
"""Durations by bar, place in the bar, MIDI number and whether it is a grace note; the longest
where there are several."""


def written(part: Part) -> Written:
    """Return the written notes of a part, tied ones included."""
    notes: Written = {}
    for event in part.events:
        for note in event.notes:
            bar, midi = note.address.measure, note.pitch.midi
            place = event.onset_ql - part.measures[bar].onset_ql
            _keep(notes, (bar, place, midi, note.grace), note.written_ql)
            for tied in note.continuations:
                bar = tied.address.measure
                place = tied.onset_ql - part.measures[bar].onset_ql
                _keep(notes, (bar, place, midi, False), tied.duration_ql)
    return notes


def written_by_music21(part: stream.Stream) -> Written:
    """Return the same as music21 reads it."""
    notes: Written = {}
    for bar, measure in enumerate(part.getElementsByClass(stream.Measure)):
        for element in measure.recurse().notes:
            if "ChordSymbol" in element.classes or "Unpitched" in element.classes:
                continue
            place = _exact(element.getOffsetInHierarchy(measure))
            grace = element.duration.isGrace
            length = Fraction(0) if grace else _exact(element.quarterLength)
            for pitch in element.pitches:
                _keep(notes, (bar, place, pitch.midi, grace), length)
    return notes


def _keep(notes: Written, key: tuple[int, Fraction, int, bool], length: Fraction) -> None:
    notes[key] = max(notes.get(key, Fraction(0)), length)


def _exact(value: float) -> Fraction:
    return Fraction(value).limit_denominator(10080)


def bars_apart(part: Part, other: stream.Stream) -> list[tuple[str, Fraction, Fraction]]:
    """Return the bars that have another length in music21, the last bar left out."""
    onsets = [_exact(measure.offset) for measure in other.getElementsByClass(stream.Measure)]
    lengths = [after - before for before, after in pairwise(onsets)]
    return [
        (bar.number, bar.duration_ql, length)
        for bar, length in zip(part.measures, lengths, strict=False)
        if bar.duration_ql != length
    ]


def files(folder: Path) -> Iterator[Path]:
    """Yield the scores below a folder in order."""
    for path in sorted(folder.rglob("*")):
        if path.suffix in SUFFIXES:
            yield path


def parsed(path: Path) -> stream.Stream:
    """Return a score as music21 reads it, never from its cache."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return converter.parse(path, forceSource=True)


def equality() -> None:
    """Compare first violin and viola of the quartets with music21."""
    same = parts = notes = explained = 0
    for path in (path for name in QUARTETS for path in files(CORPUS / name)):
        score = parsed(path)
        for number in (1, 3):
            part = read_part(path, number)
            mine, theirs = written(part), written_by_music21(score.parts[number - 1])
            name = str(path.relative_to(CORPUS)).removesuffix(path.suffix)
            notes += len(theirs)
            parts += 1
            same += mine == theirs
            if mine != theirs:
                print(
                    f"  unequal: {name} part {number}: {sorted(mine.items() ^ theirs.items())[:4]}"
                )
            for bar in bars_apart(part, score.parts[number - 1]):
                known = bar[0] in EXPLAINED.get(name, ("", ()))[1]
                explained += known
                if not known:
                    print(f"  bar of another length: {name} part {number}: {bar}")
    print(f"equality: {same} of {parts} parts equal to music21, {notes} notes compared", end="; ")
    print(f"{explained} bars of another length, explained")


def attempt(
    items: Iterable[tuple[str, Callable[[], Part]]], title: str, refusals: bool = True
) -> None:
    """Read every item, and print how many were read, refused, or failed."""
    begin = time.perf_counter()
    counts: Counter[str] = Counter()
    for name, read in items:
        try:
            part = read()
            counts["read"] += 1
            counts["events"] += len(part.events)
            counts["notices"] += len(part.notices)
        except ScoretoolsError as refusal:
            counts["refused"] += 1
            if refusals:
                print(f"  refused: {str(refusal)[:200]}")
        except Exception:
            counts["exceptions"] += 1
            print(f"  EXCEPTION: {name}")
            traceback.print_exc()
    figures = ", ".join(f"{counts[key]} {key}" for key in ("read", "refused", "exceptions"))
    print(f"{title}: {figures}; {counts['events']} events, {counts['notices']} notices", end=", ")
    print(f"{time.perf_counter() - begin:.1f} s")


def corpus() -> None:
    """Read every MusicXML file of the music21 corpus that names a violin or viola part."""
    wanted, others, broken = [], 0, 0
    for path in files(CORPUS):
        try:
            strings = [part for part in list_parts(path) if part.instrument]
        except ScoretoolsError as refusal:
            broken += 1
            print(f"  refused: {refusal}")
            continue
        if not strings:
            others += 1
        wanted += [(f"{path} {part.number}", _reader(path, part.number)) for part in strings]
    print(f"corpus: {others} files name no violin or viola part, {broken} cannot be listed")
    attempt(wanted, "corpus, every violin and viola part")
    every = ((str(path), _reader(path, None)) for path in files(CORPUS))
    attempt(every, "corpus, every MusicXML file", refusals=False)


def tunes() -> None:
    """Read every fiddle tune of the music21 corpus."""
    for folder in FIDDLE_TUNES:
        wanted = []
        for path in sorted((CORPUS / folder).glob("*.abc")):
            count = len(tunes_of(path.read_text("utf-8", "replace")))
            numbers = range(1, count + 1) if count > 1 else (None,)
            wanted += [(f"{path} {number}", _reader(path, number)) for number in numbers]
        attempt(wanted, f"tunes, {folder}")


def check() -> None:
    """Read all check data."""
    root = os.environ.get("SCORETOOLS_CHECK_DATA")
    if not root:
        print("check data: left out, SCORETOOLS_CHECK_DATA is not set")
        return
    for folder in ("fingered", "plain", "conformance"):
        paths = files(Path(root) / folder)
        attempt(((str(path), _reader(path, None)) for path in paths), f"check data, {folder}")


def speed() -> None:
    """Compare the time for one part of a quartet with what general libraries take to parse it."""
    import partitura

    for name in ("beethoven/opus132.mxl", "haydn/opus74no1/movement1.mxl"):
        path = CORPUS / name
        mine = min(_timed(_reader(path, None)) for _ in range(5))
        theirs = min(_timed(lambda path=path: parsed(path)) for _ in range(2))
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            other = min(_timed(lambda path=path: partitura.load_musicxml(path)) for _ in range(2))
        print(f"speed, {name}: {mine:.3f} s; music21 takes {theirs / mine:.0f} times", end=", ")
        print(f"partitura {other / mine:.0f} times as long")


def _timed(work: Callable[[], object]) -> float:
    begin = time.perf_counter()
    work()
    return time.perf_counter() - begin


def _reader(path: Path, part: int | None) -> Callable[[], Part]:
    def read() -> Part:
        try:
            return read_part(path, part)
        except PartNotFound:
            if part is not None:
                raise
            # A score that names no string part must still give the part that is asked for.
            return read_part(path, 1)

    return read


def main() -> None:
    """Run what is asked for."""
    programs = {run.__name__: run for run in (equality, corpus, tunes, check, speed)}
    for name in sys.argv[1:] or programs:
        programs[name]()


if __name__ == "__main__":
    main()
