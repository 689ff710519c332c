"""Marks every score at hand and prints whether nothing else changed and the fingering came back.

Run from anywhere, with the environment variable SCORETOOLS_CHECK_DATA set::

    python tests/benchmarks/marks.py [ours] [others]

``ours`` marks every file that reads, sparsely and in full, and counts for how many the score is
untouched otherwise, is fingered the same again, and stays valid. ``others`` lets music21, partitura
and Verovio read every tenth marked file.
"""

import difflib
import os
import re
import sys
import time
import warnings
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

from lxml import etree

from scoretools.analysis import analyse
from scoretools.errors import ScoretoolsError
from scoretools.model import Analysis, Part
from scoretools.read import read_part
from scoretools.read.container import contents
from scoretools.read.convert import format_of
from scoretools.read.document import document
from scoretools.read.musicxml import part_of
from scoretools.write.annotate import annotate
from scoretools.write.marks import Amount

FOLDERS = ("fingered/students", "fingered/polish", "fingered/fiddle", "fingered/quartets",
           "fingered/other", "plain", "conformance")  # fmt: skip
SUFFIXES = (".mxl", ".xml", ".musicxml")
TOKEN = re.compile(rb"""<!--.*?-->|<(?:"[^"]*"|'[^']*'|[^'">])*>|[^<]+""", re.DOTALL)
OURS = re.compile(
    rb"</?(?:notations|technical|direction-type|words|staff|direction(?: placement=\"above\")?)>|"
    rb"<open-string/>|</?fingering>|</?string>|[0-4]|[\s\w.,-]+"
)


def root() -> Path:
    """Return the folder of the check data."""
    folder = os.environ.get("SCORETOOLS_CHECK_DATA")
    if not folder:
        sys.exit("SCORETOOLS_CHECK_DATA is not set")
    return Path(folder)


def files(folder: str) -> Iterator[Path]:
    """Yield the scores below a folder of the check data."""
    for path in sorted((root() / folder).rglob("*")):
        if path.suffix in SUFFIXES:
            yield path


def only_added(before: bytes, after: bytes) -> bool:
    """Tell whether a score has all it had, byte for byte, and nothing but marks besides."""
    if after[:2] in (b"\xff\xfe", b"\xfe\xff"):
        before, after = (data.decode("utf-16").encode() for data in (before, after))
    waiting = iter(TOKEN.findall(before))
    expected = next(waiting, None)
    for token in TOKEN.findall(after):
        if token == expected:
            expected = next(waiting, None)
        elif not OURS.fullmatch(token):
            return False
    return expected is None


def fingering(analysis: Analysis) -> dict[object, object]:
    """Return string, finger and position of every note."""
    return {
        note.address: (choice.stop, step.placement.position if choice.stop.finger else None)
        for event, step in zip(analysis.part.events, analysis.steps, strict=True)
        for note, choice in zip(event.notes, step.choices, strict=False)
        if step.placement
    }


def sounding(part: Part) -> list[object]:
    """Return all notes without their marks."""
    return [
        (event.onset_ql, note.pitch, note.duration_ql)
        for event in part.events
        for note in event.notes
    ]


def schema() -> etree.XMLSchema:
    """Return the schema of MusicXML 4.0, everything it imports taken from its own folder."""
    folder = root() / "schema"
    text = re.sub(
        r'schemaLocation="[^"]*/(xml|xlink)\.xsd"',
        lambda found: f'schemaLocation="{(folder / found[1]).as_uri()}.xsd"',
        (folder / "musicxml.xsd").read_text("utf-8"),
    )
    return etree.XMLSchema(etree.fromstring(text.encode()))


def valid(xsd: etree.XMLSchema, data: bytes) -> bool:
    """Tell whether a document keeps to the schema."""
    try:
        return bool(xsd.validate(etree.fromstring(data)))
    except etree.XMLSyntaxError:
        return False


def try_file(path: Path, xsd: etree.XMLSchema, counts: Counter[str]) -> None:
    """Mark one file in both amounts and count what came of it."""
    data = contents(path).data
    part = read_part(path)
    analysis = analyse(part)
    was_valid = valid(xsd, data)
    counts["notes"] += sum(len(event.notes) for event in part.events)
    counts["files"] += 1
    counts["valid"] += was_valid
    for amount in (Amount.SPARSE, Amount.ALL):
        marked = annotate(data, analysis, amount)
        again = part_of(part.source, document(part.source, marked), part.number)
        counts[f"{amount}: fingers"] += marked.count(b"<fingering>") - data.count(b"<fingering>")
        checks = {
            "untouched": only_added(data, marked),
            "same notes": sounding(part) == sounding(again),
            "fingered the same": fingering(analysis) == fingering(analyse(again)),
            "still valid": not was_valid or valid(xsd, marked),
        }
        for check, good in checks.items():
            counts[f"{amount}: {check}"] += good
            if not good:
                print(f"  {amount}, not {check}: {path.name}")


def ours() -> None:
    """Mark everything that reads."""
    xsd = schema()
    for folder in FOLDERS:
        begin = time.perf_counter()
        counts: Counter[str] = Counter()
        for path in files(folder):
            try:
                if format_of(contents(path)) == "musicxml":
                    try_file(path, xsd, counts)
            except ScoretoolsError as refusal:
                counts["refused"] += 1
                if "mark" in str(refusal):
                    print(f"  refused: {refusal}")
        said = ", ".join(f"{what} {count}" for what, count in sorted(counts.items()))
        print(f"{folder}: {said}; {time.perf_counter() - begin:.0f} s", flush=True)


# ── other programs ──────────────────────────────────────────────────────────────────────────────


def by_music21(path: Path) -> list[object]:
    """Return the notes as music21 reads them."""
    from music21 import converter

    score = converter.parse(path, forceSource=True)
    return [
        (float(one.getOffsetInHierarchy(score)), *map(str, one.pitches))
        for one in score.recurse().notes
        if "ChordSymbol" not in one.classes and "Unpitched" not in one.classes
    ]


def by_partitura(path: Path) -> list[object]:
    """Return the notes as partitura reads them."""
    import partitura

    parts = partitura.load_musicxml(path)
    return sorted(
        (float(n["onset_quarter"]), int(n["pitch"])) for part in parts for n in part.note_array()
    )


def by_verovio(path: Path) -> list[object]:
    """Return the notes as Verovio reads them."""
    import verovio

    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    if not toolkit.loadFile(str(path)):
        raise ValueError("not loaded")
    notes = etree.fromstring(toolkit.getMEI().encode()).iter("{*}note")
    return [(note.get("pname"), note.get("oct"), note.get("dur")) for note in notes]


def others() -> None:
    """Let other programs read marked files, and compare with what they read before."""
    readers: tuple[Callable[[Path], Iterable[object]], ...] = (by_music21, by_partitura, by_verovio)
    counts: Counter[str] = Counter()
    target = Path(os.environ.get("TMPDIR", "/tmp")) / f"marked-{os.getpid()}"
    target.mkdir()
    for path in [path for folder in FOLDERS for path in files(folder)][::10]:
        try:
            data = contents(path).data
            marked = annotate(data, analyse(read_part(path)), Amount.ALL)
        except ScoretoolsError:
            continue
        before, after = target / "before.musicxml", target / "after.musicxml"
        before.write_bytes(data)
        after.write_bytes(marked)
        for read in readers:
            counts[compared(read, before, after, path)] += 1
    for leftover in target.iterdir():
        leftover.unlink()
    target.rmdir()
    for what, count in sorted(counts.items()):
        print(f"{what}: {count}")


def compared(
    read: Callable[[Path], Iterable[object]], before: Path, after: Path, path: Path
) -> str:
    """Say how another program takes to the marks."""
    name = read.__name__.removeprefix("by_")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            expected = list(read(before))
        except Exception:  # what it cannot read anyway is no test of the marks
            return f"{name} does not read the file itself"
        try:
            found = list(read(after))
        except Exception as fault:
            print(f"  {name} fails on marked {path.name}: {fault}")
            return f"{name} fails"
    if found == expected:
        return f"{name} reads the same notes"
    apart = list(difflib.unified_diff([*map(str, expected)], [*map(str, found)], lineterm="", n=0))
    print(f"  {name} reads {path.name} otherwise: {apart[3:6]}")
    return f"{name} reads otherwise"


def main() -> None:
    """Run what is asked for."""
    programs = {run.__name__: run for run in (ours, others)}
    for name in sys.argv[1:] or programs:
        programs[name]()


if __name__ == "__main__":
    main()
