"""Scans a folder one score and two at a time, and asks catalogues of two sizes the same questions.

Run from anywhere::

    python tests/benchmarks/catalogue.py FOLDER
    python tests/benchmarks/catalogue.py --rows 100000

The first reads the scores of a folder and prints rates, ratios, peak memory, and every score that
cannot be read, with the sentence that says why. Each scan runs in a process of its own, its time is
wall-clock time from when the scores are counted, start of the workers included.

The second fills a catalogue with made-up parts, the same in every run (its seed is fixed), and asks
it the same questions at a tenth of the size and at the whole of it, one after the other. Each
question finds as many parts in both, so a ratio well above 1 says that the question reads the table
through. Times are processor time, the fastest of several. Figures are printed, never asserted.
"""

import json
import os
import resource
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from hashlib import sha256
from pathlib import Path
from random import Random
from typing import NamedTuple

from speed import ROOT, best

from scoretools.catalogue import Criteria, Range, Wanted, catalogue, find, in_full, reading, scan
from scoretools.catalogue.query import question
from scoretools.catalogue.rows import (
    DemandRow,
    DoubleStopRow,
    DrillRow,
    FeatureRow,
    HandPositionRow,
    HardBarRow,
    KeySignatureRow,
    LevelRow,
    PartRow,
    PassageRow,
    ShapeRow,
)
from scoretools.catalogue.scan import Summary, scores_below
from scoretools.catalogue.store import Catalogue, Place
from scoretools.catalogue.work import ScannedScore
from scoretools.difficulty import FEATURES, read_rubric
from scoretools.difficulty.features import unit_of
from scoretools.player import Player
from scoretools.version import VERSION

SEED = 328


def wanted() -> Wanted:
    """Whom scores are read for: the usual player, by the rubrics that come with the program."""
    return Wanted(Player(), (read_rubric("bands"), read_rubric("index")))


# ── a folder ────────────────────────────────────────────────────────────────────────────────────


class Scanned(NamedTuple):
    """What one scan, in a process of its own, measured."""

    scores: int
    read: int
    parts: int
    faults: list[tuple[str, str]]
    seconds: float
    own_mib: float
    worker_mib: float
    """Memory of the largest of its workers; with one process there are none."""


def folder(scores: Path, here: Path) -> None:
    """Print what scans of a folder found, their times and memory, and the ratios between them."""
    one = _row("1 process", scores, here / "one.db", 1)
    two = _row("2 processes", scores, here / "two.db", 2)
    again = _row("nothing changed", scores, here / "one.db", 1)
    half = _row("half, 2 processes", _every_other(scores, here / "half"), here / "half.db", 2)
    print(f"2 processes to 1: {one.seconds / two.seconds:.2f} times as fast")
    print(f"nothing changed to 1 process: {again.seconds / one.seconds:.4f} of the time")
    print(f"peak memory, all to half: {_memory(two) / _memory(half):.2f} times, ", end="")
    print(f"itself {two.own_mib / half.own_mib:.2f}, largest worker ", end="")
    print(f"{two.worker_mib / max(half.worker_mib, 1):.2f}")
    print(f"the same parts and failures with 1 and 2: {one[:4] == two[:4]}")
    print(f"failures: {len(one.faults)}")
    for path, sentence in one.faults:
        print(f"  {os.path.relpath(path, scores)}: {sentence}")


def _row(name: str, scores: Path, database: Path, jobs: int) -> Scanned:
    found = _in_a_process(scores, database, jobs)
    print(
        f"{name:20}{found.scores:7} scores {found.read:7} read {found.parts:7} parts "
        f"{len(found.faults):5} failures {found.seconds:9.2f} s "
        f"{found.scores / found.seconds:9.1f} files/s   peak {found.own_mib:5.0f} MiB itself, "
        f"{found.worker_mib:5.0f} MiB largest worker",
        flush=True,
    )
    return found


def _memory(found: Scanned) -> float:
    """Peak of all processes together, at most."""
    return found.own_mib + 2 * found.worker_mib


def _every_other(scores: Path, here: Path) -> Path:
    """Link every other score of a folder into a new one."""
    for path in scores_below(scores).scores[::2]:
        link = here / path.relative_to(scores)
        link.parent.mkdir(parents=True, exist_ok=True)
        link.symlink_to(path.absolute())
    return here


def _in_a_process(scores: Path, database: Path, jobs: int) -> Scanned:
    done = subprocess.run(
        [sys.executable, __file__, "measure", str(scores), str(database), str(jobs)],
        check=True,
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    return Scanned(**json.loads(done.stdout))


def measure(scores: Path, database: Path, jobs: int) -> None:
    """Scan a folder and print the figures as JSON."""
    begun: list[float] = []

    def step(summary: Summary) -> None:
        if not begun:
            begun.append(time.perf_counter())

    found = scan(scores, database, wanted(), jobs, step=step)
    seconds = time.perf_counter() - begun[0]
    faults = [(str(fault.path), fault.sentence) for fault in found.faults]
    own, worker = (_peak_mib(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    result = Scanned(found.scores, found.read, found.parts, faults, seconds, own, worker)
    print(json.dumps(result._asdict()))


def _peak_mib(who: int) -> float:
    peak = resource.getrusage(who).ru_maxrss
    kib = peak / 1024 if sys.platform == "darwin" else peak
    return kib / 1024


# ── made-up parts ───────────────────────────────────────────────────────────────────────────────

ASKED_SCORES = 10
"""Scores that the questions look for, of two parts each; all in the first tenth."""

_SYLLABLES = ("bra", "del", "fin", "gol", "hen", "kar", "lom", "mir", "nor", "pel", "rud", "sat")
_GIVEN = ("Anna", "Carl", "Clara", "Emil", "Ida", "Josef", "Marie", "Otto", "Paul", "Rosa")
_KINDS = ("Study", "Sonata", "Caprice", "Romance", "Minuet", "Gavotte", "Concerto", "Air")
_KEYS = ("C major", "G major", "D major", "A minor", "E minor", "F major", "B flat major")
_SHAPES = (
    "W-H-W", "H-W-W", "W-W-H", "W-W-W", "H-W-A", "H-H-W", "W-H-H", "A-H-W", "H-A-H", "W-H-A",
)  # fmt: skip
_ASKED_SHAPE = "A-H-A"
_INTERVALS = ("third", "sixth", "octave", "with an open string")
_BANDS = ("first steps", "easy", "fairly easy", "middling", "fairly hard", "hard", "very hard")
_COMMON_TAG, _ASKED_TAG = "library", "spring concert"

_DEMANDS = tuple(
    DemandRow(place, "shape", "A", 1, gaps, gaps, 12, "bars 9–12, 15", 3.07, "sure", 8 - place / 2)
    for place, gaps in enumerate(_SHAPES)
)
_PASSAGES = tuple(
    PassageRow(place, f"bars {4 * place + 1}–{4 * place + 4}", 1, "shape change", "A H-W-W")
    for place in range(8)
)
_HARD_BARS = tuple(
    HardBarRow(place, f"bar {place + 7}", 3 - place / 5, "W-H-W on A; W-H-W on D")
    for place in range(10)
)
_DRILLS = tuple(
    DrillRow(place, f"{gaps} on the A string, 1st position", gaps, 5, 0.1, "bars 1–3, 5–7")
    for place, gaps in enumerate(_SHAPES[:6])
)
_UNITS = {name: unit_of(name) for name in FEATURES}


def made_up_score(number: int, asked: bool) -> ScannedScore:
    """Make up a score of a violin and a viola part, always the same for a number."""
    random = Random(SEED + number)
    name = "".join(random.choices(_SYLLABLES, k=2)).capitalize()
    composer = "Franz Wohlfahrt" if asked else f"{random.choice(_GIVEN)} {name}"
    kind = f"{random.choice(_KINDS)} No. {random.randint(1, 20)} in {random.choice(_KEYS)}"
    title = "Evening Study in D major" if asked else kind
    parts = tuple(_part(random, place, title, composer, asked) for place in range(1, 3))
    return ScannedScore(
        Path(f"/scores/{number % 500}/{number}.musicxml"),
        sha256(str(number).encode()).hexdigest(),
        VERSION,
        parts,
        (),
    )


def _part(random: Random, place: int, title: str, composer: str, asked: bool) -> PartRow:
    index = 95.5 if asked else round(random.uniform(0, 85), 1)
    band = 1 + int(index * len(_BANDS) / 100)
    highest = 14 if asked else random.randint(1, 10)
    shapes = random.sample(_SHAPES, random.randint(2, 6)) + [_ASKED_SHAPE] * asked
    return PartRow(
        number=place,
        title=title,
        composer=composer,
        name=("Violin", "Viola")[place - 1],
        instrument=("violin", "viola")[place - 1],
        profile="developing-player",
        ceiling=3,
        divisi="auto",
        tempo_assumed=False,
        notes=random.randint(40, 2000),
        lowest="G3",
        highest="E6",
        demand_weight=round(random.uniform(5, 400), 3),
        children={
            "feature": tuple(_features(random, highest)),
            "level": (
                LevelRow("bands", band, _BANDS[band - 1], "[]", "of the left hand only"),
                LevelRow("index", index, f"{index} of 100 points", "[]", "of the left hand only"),
            ),
            "hand_position": tuple(
                HandPositionRow(position, 40, "bars 1–13") for position in {1, 3, highest}
            ),
            "shape": tuple(
                ShapeRow(gaps, 20, round(random.uniform(1, 40), 3), "bars 1–3, 5–7, 9–15")
                for gaps in shapes
            ),
            "double_stop": tuple(
                DoubleStopRow(interval, 9, "bars 8–12")
                for interval in random.sample(_INTERVALS, random.randint(0, 2))
            ),
            "key_signature": (KeySignatureRow(random.randint(-4, 4), "bars 1–32"),),
            "demand": _DEMANDS,
            "passage": _PASSAGES,
            "hard_bar": _HARD_BARS,
            "drill": _DRILLS,
            "warning": (),
        },
    )


def _features(random: Random, highest: int) -> Iterator[FeatureRow]:
    for name in FEATURES:
        value = 0.0 if random.random() < 0.4 else random.random()
        if name == "highest_position":
            value = float(highest)
        elif name in ("bars", "seconds"):
            value = float(random.randint(8, 400))
        yield FeatureRow(name, value, _UNITS[name], value or None, "bars 1–5" if value else "")


# ── questions ───────────────────────────────────────────────────────────────────────────────────

RUNS = 15
"""Times each question is asked."""

QUESTIONS: tuple[tuple[str, Criteria], ...] = (
    ("beginning of the composer's name", Criteria(composer="wohlf")),
    ("a rare word of the title", Criteria(title="evening")),
    ("a common word of the title and a rare one", Criteria(title="study evening")),
    ("composer, and the highest position", Criteria(
        composer="Wohlfahrt", features=(("highest_position", Range(None, 14)),))),
    ("tag", Criteria(tags=(_ASKED_TAG,))),
    ("a rare shape", Criteria(shapes=(_ASKED_SHAPE,))),
    ("a rare shape, without a common one", Criteria(
        shapes=(_ASKED_SHAPE,), without_shapes=("W-H-W",))),
    ("a feature's figure that is rare", Criteria(
        features=(("highest_position", Range(13, None)),))),
    ("narrow range of level, by its name, first 10", Criteria(
        level=Range(95, 96), rubric="index", limit=10)),
    ("a rare level, by each score's own, first 10", Criteria(
        level=Range(7, 7), limit=10)),
    ("a common level, by its name, first 10", Criteria(
        level=Range(3, 3), rubric="bands", limit=10)),
    ("a common level, by each score's own, first 10", Criteria(level=Range(3, 3), limit=10)),
    ("all parts, first 10", Criteria(limit=10)),
)  # fmt: skip
"""What is asked, in words and as it is put."""


class Asked(NamedTuple):
    """What one question found, in what time, and how."""

    name: str
    hits: int
    seconds: float
    plan: tuple[str, ...]


def rows(count: int, here: Path) -> None:
    """Print the plan and the time of each question, and how the time grows with the table."""
    small, large = here / "small.db", here / "large.db"
    _fill(large, 0, count // 10, count)
    shutil.copy(large, small)
    _fill(large, count // 10, count, count)
    with reading(small) as few, reading(large) as many:
        asked = [(_ask(few, *one), _ask(many, *one)) for one in QUESTIONS]
        asked.append((_ask_in_full(few), _ask_in_full(many)))
    shared = frozenset.intersection(*(frozenset(after.plan) for _, after in asked))
    print("\nsteps of every plan, beside the steps of its own:")
    for step in dict.fromkeys(step for step in asked[0][1].plan if step in shared):
        print(f"    {step}")
    for before, after in asked:
        _print_growth(before, after, shared)


def _fill(database: Path, first: int, end: int, count: int) -> None:
    """Put the scores in whose parts are numbered from `first` to `end`."""
    begin = time.perf_counter()
    judged = wanted()
    every = max(1, count // 10 // 2 // ASKED_SCORES)
    with catalogue(database) as kept:
        # Whether the file outlives a power cut does not matter here.
        kept.connection.execute("PRAGMA synchronous = OFF")
        kept.connection.execute("PRAGMA cache_size = -400000")
        for number in range(first // 2, end // 2):
            asked = number % every == 0 and number < every * ASKED_SCORES
            found = made_up_score(number, asked)
            kept.put(found, judged)
            if asked or number % 10 == 0:
                _tag(kept, found, _ASKED_TAG if asked else _COMMON_TAG)
        kept.count_rows()  # as a scan does at its end
    size = database.stat().st_size / 2**20
    print(
        f"filled to {end} parts in {time.perf_counter() - begin:.0f} s, {size:.0f} MiB", flush=True
    )


def _tag(kept: Catalogue, found: ScannedScore, tag: str) -> None:
    known = kept.known(found.path)
    if known:
        kept.add_tag(tag, [Place(known.score, part.number) for part in found.parts])


def _ask(connection: sqlite3.Connection, name: str, criteria: Criteria) -> Asked:
    hits = len(find(connection, criteria))
    seconds = best(lambda: find(connection, criteria), RUNS)
    return Asked(name, hits, seconds, _plan(connection, criteria))


def _ask_in_full(connection: sqlite3.Connection) -> Asked:
    (one, *_) = find(connection, QUESTIONS[0][1])
    seconds = best(lambda: in_full(connection, one.id), RUNS)
    plan = _plan(connection, Criteria(numbers=(one.id,), missing=None))
    return Asked("one part in full", 1, seconds, plan)


def _plan(connection: sqlite3.Connection, criteria: Criteria) -> tuple[str, ...]:
    text, values = question(connection, criteria)
    return tuple(row[3] for row in connection.execute(f"EXPLAIN QUERY PLAN {text}", values))


def _print_growth(before: Asked, after: Asked, shared: frozenset[str]) -> None:
    print(
        f"\n{after.name}: {after.seconds * 1000:.2f} ms, "
        f"{after.seconds / before.seconds:.2f} times that of a tenth of the parts "
        f"({before.hits} and {after.hits} found)"
    )
    for step in after.plan:
        if step not in shared:
            print(f"    {step}")


# ── the program ─────────────────────────────────────────────────────────────────────────────────


def main(words: Sequence[str]) -> None:
    """Run what is asked for."""
    if words[:1] == ["measure"]:
        measure(Path(words[1]), Path(words[2]), int(words[3]))
        return
    with tempfile.TemporaryDirectory() as here:
        if len(words) == 2 and words[0] == "--rows" and words[1].isdecimal():
            rows(int(words[1]), Path(here))
        elif len(words) == 1 and os.path.isdir(words[0]):
            folder(Path(words[0]), Path(here))
        else:
            sys.exit("name a folder with scores, or: --rows 100000")


if __name__ == "__main__":
    main(sys.argv[1:])
