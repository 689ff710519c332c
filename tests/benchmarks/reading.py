"""Reads everything at hand, compares quartets with music21 note by note, and prints figures.

Run from anywhere::

    python tests/benchmarks/reading.py [equality] [libraries] [corpus] [tunes] [check] [words]
        [marks] [speed]

Without words all are run. ``libraries``, ``check``, ``words`` and ``marks`` need the environment
variable SCORETOOLS_CHECK_DATA.
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
from typing import TYPE_CHECKING

from music21 import common, converter, stream

from scoretools.errors import PartNotFound, ScoretoolsError
from scoretools.model import Part
from scoretools.read import list_parts, read_part
from scoretools.read.abc_book import tunes_of
from scoretools.read.container import contents
from scoretools.read.document import document, text_of
from scoretools.read.lexicon import meanings
from scoretools.read.parts import score_parts

if TYPE_CHECKING:
    import partitura

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


Sounds = Counter[tuple[Fraction, Fraction, int, bool]]
"""Written notes of a part: onset and length in quarter lengths, MIDI number, whether tied on."""


def sounds(part: Part) -> Sounds:
    """Return the written notes of a part."""
    notes: Sounds = Counter()
    for event in part.events:
        for note in event.notes:
            midi = note.pitch.midi
            notes[event.onset_ql, note.written_ql, midi, False] += 1
            for tied in note.continuations:
                notes[tied.onset_ql, tied.duration_ql, midi, True] += 1
    return notes


def sounds_by_music21(part: stream.Stream) -> Sounds:
    """Return the same as music21 reads it."""
    notes: Sounds = Counter()
    for element in part.recurse().notes:
        if "ChordSymbol" in element.classes or "Unpitched" in element.classes:
            continue
        onset = _exact(element.getOffsetInHierarchy(part))
        length = Fraction(0) if element.duration.isGrace else _exact(element.quarterLength)
        for note in element.notes if "Chord" in element.classes else [element]:
            tie = note.tie or element.tie
            tied = tie is not None and tie.type in ("stop", "continue")
            notes[onset, length, note.pitch.midi, tied] += 1
    return notes


def sounds_by_partitura(part: "partitura.score.Part") -> Sounds:
    """Return the same as partitura reads it."""
    from partitura.score import GraceNote, Note

    notes: Sounds = Counter()
    quarters = part.quarter_map
    for note in part.iter_all(Note, include_subclasses=True):
        onset = _exact(float(quarters(note.start.t)) - float(quarters(0)))
        length = _exact(float(quarters(note.end.t) - quarters(note.start.t)))
        length = Fraction(0) if isinstance(note, GraceNote) else length
        notes[onset, length, note.midi_pitch, note.tie_prev is not None] += 1
    return notes


DOUBLED = "two voices strike one pitch together; here that is one note"
SHOWN = "a note that only shows how a harmonic sounds is no note here"
SOUNDING = "the part transposes; here pitches sound, the libraries keep them as written"
OWN_LENGTH = "a chord note has a duration of its own; the libraries give it that of the first note"
ROUNDED = "rounded durations miss the bar; here the bar is full, the libraries let the rest drift"
NO_LENGTH = "a note has no readable duration; here it is left out and told"
CUE = "cue notes do not sound here; the libraries list them as notes"
ACCIDENTAL = "the printed accidental and the pitch contradict; here the pitch is kept and told"

_NEAR = Fraction(1, 64)


def why(part: Part, ours: Sounds, theirs: Sounds, transposed: Sounds) -> str:
    """Return why a part is read otherwise than by the libraries, empty when that is not known.

    `transposed` is what music21 makes of the part when asked for sounding pitches.
    """
    told = " ".join(notice.message for notice in part.notices)
    if transposed and transposed != theirs and _same_but_doubled(ours, transposed):
        return SOUNDING
    if _same_but_doubled(ours, theirs):
        return DOUBLED
    shown = "how a harmonic sounds" in told or "how harmonics sound" in told
    if shown and _shorn(ours, False) <= _shorn(theirs, False):
        return SHOWN
    if "cue note" in told and _shorn(ours, False) <= _shorn(theirs, False):
        return CUE
    if "without a readable duration" in told and not ours - theirs:
        return NO_LENGTH
    if "accidental" in told and _moments(ours) == _moments(theirs):
        return ACCIDENTAL
    if _shorn(ours, True) == _shorn(theirs, True):
        return OWN_LENGTH
    near = zip(sorted(ours.elements()), sorted(theirs.elements()), strict=False)
    if ours.total() == theirs.total() and all(abs(a[0] - b[0]) <= _NEAR for a, b in near):
        return ROUNDED
    return ""


def _same_but_doubled(ours: Sounds, theirs: Sounds) -> bool:
    """Whether the notes differ only where several strike one pitch at one moment."""
    together = _shorn(theirs, True)
    apart = (ours - theirs) + (theirs - ours)
    same = _shorn(ours, False) == _shorn(theirs, False)
    return same and all(together[onset, midi] > 1 for onset, _, midi, _ in apart)


def _shorn(notes: Sounds, counted: bool) -> Counter[tuple[Fraction, int]]:
    shorn = Counter((onset, midi) for onset, _, midi, _ in notes.elements())
    return shorn if counted else Counter(set(shorn))


def _moments(notes: Sounds) -> Counter[Fraction]:
    return Counter(onset for onset, _, _, _ in notes.elements())


def readings(path: Path) -> Iterator[tuple[Part, Sounds, Sounds, str]]:
    """Yield each part that all three read, with music21's and partitura's reading.

    The last is why the part is read otherwise where these two agree; a question mark when unknown.
    """
    import partitura

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        # Whatever the libraries raise, they do not read the score.
        try:
            theirs = parsed(path).parts
            others = partitura.load_musicxml(path).parts
        except Exception:
            return
    try:
        listed = list_parts(path)
    except ScoretoolsError:
        return
    if len(theirs) != len(listed) or len(others) != len(listed):
        return
    for part, their, other in zip(listed, theirs, others, strict=True):
        try:
            mine = read_part(path, part.number)
        except ScoretoolsError:
            continue
        ours, theirs_, others_ = sounds(mine), sounds_by_music21(their), sounds_by_partitura(other)
        reason = ""
        if theirs_ == others_ != ours:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                sounding = sounds_by_music21(their.toSoundingPitch())
            reason = why(mine, ours, theirs_, sounding) or "?"
        yield mine, theirs_, others_, reason


def libraries() -> None:
    """Compare all check data with music21 and partitura where these two agree."""
    root = os.environ.get("SCORETOOLS_CHECK_DATA")
    if not root:
        print("libraries: left out, SCORETOOLS_CHECK_DATA is not set")
        return
    for folder in ("conformance", "plain", "fingered"):
        counts: Counter[str] = Counter()
        for path in files(Path(root) / folder):
            for part, theirs, others, reason in readings(path):
                counts["parts"] += 1
                if theirs != others:
                    counts["where the two disagree"] += 1
                    counts["of these equal to one of them"] += sounds(part) in (theirs, others)
                    continue
                counts[f"unequal: {reason}" if reason else "equal"] += 1
                counts["notes compared"] += theirs.total()
                if reason == "?":
                    ours = sounds(part)
                    apart = sorted((ours - theirs) + (theirs - ours))
                    print(f"  unequal: {path.name} part {part.number}: {apart[:2]}", flush=True)
        for name, number in sorted(counts.items()):
            print(f"libraries, {folder}: {number} {name}", flush=True)


_COUNTED = ("fingering", "string", "open-string", "harmonic")


def printed_and_read(path: Path, number: int) -> tuple[Counter[str], Counter[str], Part]:
    """Return how many marks a part prints on its notes, and how many were read."""
    found = contents(path)
    element = score_parts(document(found.name, found.data))[number - 1].element
    printed: Counter[str] = Counter()
    for note in element.iter("note"):
        for mark in (mark for technical in note.iter("technical") for mark in technical):
            if mark.tag in _COUNTED:
                # One element may hold several fingers.
                digits = sum(char.isdigit() for char in text_of(mark))
                printed[str(mark.tag)] += max(digits, 1) if mark.tag == "fingering" else 1
    part = read_part(path, number)
    read: Counter[str] = Counter()
    for event in part.events:
        for note in event.notes:
            marks = note.marks
            read["fingering"] += len(marks.fingers) + (marks.substitute is not None)
            read["string"] += marks.string is not None
            read["open-string"] += marks.open_string
            read["harmonic"] += marks.harmonic is not None
    return printed, read, part


def marks() -> None:
    """Compare the marks read with the marks printed in the fingered scores."""
    root = os.environ.get("SCORETOOLS_CHECK_DATA")
    if not root:
        print("marks: left out, SCORETOOLS_CHECK_DATA is not set")
        return
    for folder in sorted((Path(root) / "fingered").iterdir()):
        printed: Counter[str] = Counter()
        read: Counter[str] = Counter()
        told: Counter[str] = Counter()
        for path in files(folder):
            parts = list_parts(path)
            for listed in parts:
                if listed.instrument or len(parts) == 1:
                    one, other, part = printed_and_read(path, listed.number)
                    printed, read = printed + one, read + other
                    told.update(n.message for n in part.notices if "fingering" in n.message)
                    for tag in _COUNTED:
                        if one[tag] != other[tag]:
                            print(
                                f"  {path.name[:48]} {listed.number} {tag}: {one[tag]} printed,",
                                end=" ",
                            )
                            print(f"{other[tag]} read")
        for tag in _COUNTED:
            print(f"marks, {folder.name}, {tag}: {printed[tag]} printed, {read[tag]} read")
        print(f"marks, {folder.name}: {told.total()} fingerings told and left out")


def words() -> None:
    """Print how often each word that tells the left hand something stands in the scores."""
    root = os.environ.get("SCORETOOLS_CHECK_DATA")
    if not root:
        print("words: left out, SCORETOOLS_CHECK_DATA is not set")
        return
    for folder in ("polish", "quartets", "other"):
        counts: Counter[tuple[str, str]] = Counter()
        silent: Counter[str] = Counter()
        for path in files(Path(root) / "fingered" / folder):
            found = contents(path)
            for direction in document(found.name, found.data).iter("direction"):
                text = " ".join(text_of(word) for word in direction.iter("words"))
                said = meanings(text)
                if text and not said:
                    silent[text] += 1
                counts.update((one.sense.value, text) for one in said)
        print(f"words, {folder}: {counts.total()} read, {silent.total()} about other things")
        for (sense, text), number in sorted(counts.items()):
            print(f"  {sense}: {text} ({number})")


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
    programs = {
        run.__name__: run
        for run in (equality, libraries, corpus, tunes, check, words, marks, speed)
    }
    for name in sys.argv[1:] or programs:
        programs[name]()


if __name__ == "__main__":
    main()
