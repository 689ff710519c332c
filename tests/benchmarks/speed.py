"""Measures the whole job against music21's parse alone, its growth, its memory and its start-up.

Run from anywhere::

    python tests/benchmarks/speed.py [quartets] [growth] [profile] [startup]

Without words all but ``profile`` are run. To reach: the whole analysis of a file at least twice as
fast as music21's parse of it; ten times the events in at most eleven times the time; 100,000
events in less than 2 GiB; ``--help`` well under half a second.

Growth is measured on a made-up part: a walk through changing keys with leaps, rests, slurs, grace
notes, chromatic notes and double stops, the same in every run (its seed is fixed). Each size runs
in a process of its own, from a fresh start.
"""

import cProfile
import json
import os
import pstats
import resource
import statistics
import subprocess
import sys
import tempfile
import time
import warnings
from collections.abc import Callable, Iterator
from itertools import pairwise
from pathlib import Path
from random import Random
from typing import NamedTuple
from xml.etree import ElementTree

import scoretools
from scoretools.analysis import instrument_of
from scoretools.fingering.ceiling import ceiling_from_notes
from scoretools.fingering.search import finger
from scoretools.fingering.states import Hand
from scoretools.fingering.weights import weights_for
from scoretools.hand import hand_reach
from scoretools.player import Player

ROOT = Path(__file__).resolve().parents[2]
QUARTETS = (
    ("haydn/opus74no1/movement1.mxl", 1),
    ("mozart/k458/movement1.mxl", 3),
    ("mozart/k155/movement1.mxl", 1),
    ("beethoven/opus18no4.mxl", 1),
)
"""Files of music21's corpus and the part taken from each: three first violins and a viola."""

SIZES = (1_000, 10_000, 100_000)
SEED = 328


def best(work: Callable[[], object], runs: int) -> float:
    """Processor time of the fastest of several runs, seconds: other programs do not count."""
    times = []
    for _ in range(runs):
        begin = time.process_time()
        work()
        times.append(time.process_time() - begin)
    return min(times)


# ── against music21's parse ─────────────────────────────────────────────────────────────────────


def quartets(folder: Path) -> None:
    """Print notes a second of every stage, and its ratio to music21's parse of the same file."""
    from music21 import common

    corpus = common.getCorpusFilePath()
    print("Against music21's parse of the same file (its time over ours; from 2 for the whole job)")
    print(f"{'':42}{'notes/s':>22}{'times as fast':>25}")
    head = ("read", "search", "whole", "read", "search", "whole")
    print(f"{'file, part':32}{'notes':>7}" + "".join(f"{word:>8}" for word in head))
    for name, number in QUARTETS:
        alone = folder / f"{Path(name).name}-{number}.musicxml"
        alone.write_bytes(_part_alone(corpus / name, number))
        _compare(f"{name.removesuffix('.mxl')}, {number} of 4", corpus / name, number)
        _compare("    that part in a file of its own", alone, 1)


def _part_alone(path: Path, number: int) -> bytes:
    from scoretools.read.container import contents

    root = ElementTree.fromstring(contents(path).data)
    for kind in ("part", "part-list/score-part"):
        parent = root if kind == "part" else root.find("part-list")
        for index, element in enumerate(root.findall(kind), 1):
            if index != number:
                parent.remove(element)
    return ElementTree.tostring(root, encoding="utf-8", xml_declaration=True)


def _compare(name: str, path: Path, number: int) -> None:
    part = scoretools.read_part(path, number)
    notes = sum(len(event.notes) for event in part.events)
    ours = (
        best(lambda: scoretools.read_part(path, number), 5),
        best(lambda: _search(part), 3),
        best(lambda: scoretools.analyse(scoretools.read_part(path, number)), 3),
    )
    theirs = best(lambda: _parsed_by_music21(path), 3)
    rates = "".join(f"{notes / seconds:8.0f}" for seconds in ours)
    ratios = "".join(f"{theirs / seconds:8.1f}" for seconds in ours)
    print(f"{name:32}{notes:7}{rates}{ratios}", flush=True)


def _search(part: scoretools.Part) -> None:
    player = Player()
    played = instrument_of(part, player)
    reach = hand_reach(played, player)
    hand = Hand(played, reach, ceiling_from_notes(played, reach, part.events))
    finger(hand, weights_for(player), part.events)


def _parsed_by_music21(path: Path) -> object:
    from music21 import converter

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return converter.parse(path, forceSource=True)


# ── growth and memory ───────────────────────────────────────────────────────────────────────────


class Figures(NamedTuple):
    """What one process measured."""

    events: int
    read_s: float
    whole_s: float
    peak_mib: float


def growth(folder: Path) -> None:
    """Print time and memory of a part of each size, and the factors from one to the next."""
    print(f"\nGrowth, made-up part with seed {SEED}, each size in a process of its own")
    print(
        f"{'events':>8}{'read, s':>10}{'whole, s':>10}{'events/s':>10}{'peak, MiB':>11}",
        f"{'factor':>8}",
    )
    measured: list[Figures] = []
    for size in SIZES:
        path = folder / f"{size}.musicxml"
        path.write_text(made_up(size), encoding="utf-8")
        runs = [_in_a_process(path) for _ in range(3 if size < 50_000 else 1)]
        found = min(runs, key=lambda figures: figures.whole_s)
        measured.append(found)
        factor = f"{found.whole_s / measured[-2].whole_s:9.2f}" if len(measured) > 1 else ""
        print(
            f"{found.events:8}{found.read_s:10.2f}{found.whole_s:10.2f}"
            f"{found.events / found.whole_s:10.0f}{found.peak_mib:11.0f}{factor}",
            flush=True,
        )
    steps = [after.whole_s / before.whole_s for before, after in pairwise(measured)]
    print(f"largest factor {max(steps):.2f} (at most 11); ", end="")
    print(f"peak {measured[-1].peak_mib:.0f} MiB (less than 2048)")
    theirs = best(lambda: _parsed_by_music21(folder / "10000.musicxml"), 1)
    print(f"music21's parse of the 10,000 events: {theirs:.2f} s, ", end="")
    print(f"{theirs / measured[1].whole_s:.1f} times our whole analysis (at least 2)")


def _in_a_process(path: Path) -> Figures:
    done = subprocess.run(
        [sys.executable, __file__, "measure", str(path)],
        check=True,
        capture_output=True,
        text=True,
        env=_environment(),
    )
    return Figures(**json.loads(done.stdout))


def _environment() -> dict[str, str]:
    return {**os.environ, "PYTHONPATH": str(ROOT)}


def measure(path: Path) -> None:
    """Read and analyse one file and print the figures as JSON."""
    _ = scoretools.read_part, scoretools.analyse
    begin = time.process_time()
    part = scoretools.read_part(path)
    read = time.process_time() - begin
    scoretools.analyse(part)
    whole = time.process_time() - begin
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    kib = peak / 1024 if sys.platform == "darwin" else peak
    print(json.dumps(Figures(len(part.events), read, whole, kib / 1024)._asdict()))


# ── a made-up part ──────────────────────────────────────────────────────────────────────────────

_LETTERS = "CDEFGAB"
_SCALE = (0, 2, 4, 5, 7, 9, 11)
_SHARPS = (3, 0, 4, 1, 5, 2, 6)
_KEYS = (0, 1, 2, 3, -1, -2, -3, 4, 1, 2)
_RHYTHMS = (
    (4, 4, 4, 4), (2, 2, 2, 2, 2, 2, 2, 2), (1, 1, 1, 1, 2, 2, 4, 4), (6, 2, 6, 2),
    (1,) * 16, (8, 4, 2, 2), (3, 1, 4, 3, 1, 4), (4, 8, 4), (2, 1, 1, 2, 1, 1, 4, 4),
)  # fmt: skip
"""Bars of four quarters, in sixteenths."""
_LOWEST, _HIGHEST = 7 * 3 + 4, 7 * 6 + 5
"""From the open G, in letters above C of octave 0, to the A above the third ledger line."""


def made_up(events: int, seed: int = SEED) -> str:
    """Write a violin part of so many events as MusicXML."""
    random = Random(seed)
    bars = _bars(random, events)
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n<score-partwise version="4.0"><part-list>'
        '<score-part id="P1"><part-name>Violin</part-name></score-part></part-list>'
        f'<part id="P1">\n{"".join(bars)}</part></score-partwise>\n'
    )


def _bars(random: Random, events: int) -> Iterator[str]:
    left, number, letter, fifths, top = events, 0, 35, 0, _HIGHEST
    while left > 0:
        head = ""
        if number % 12 == 0:
            fifths, top = random.choice(_KEYS), random.choice((37, 38, 40, _HIGHEST))
            head = _attributes(fifths, first=number == 0) + _tempo(random.randrange(60, 144, 4))
        rhythm = random.choice(_RHYTHMS)
        notes = []
        slur_left = 0
        for place, length in enumerate(rhythm):
            if left == 0 or random.random() < 0.05:
                notes.append(f"<note><rest/><duration>{length}</duration></note>")
                continue
            letter = _next_letter(random, letter, top)
            starts = slur_left == 0 and random.random() < 0.35 and place + 1 < len(rhythm)
            slur_left = random.choice((2, 2, 3, 4)) if starts else slur_left
            last = slur_left == 1 or (slur_left > 0 and place + 1 == len(rhythm))
            slur = '<slur type="start"/>' if starts else '<slur type="stop"/>' if last else ""
            slur_left = 0 if last else max(0, slur_left - 1)
            notes.append(_struck(random, letter, fifths, length, slur))
            left -= 1
        number += 1
        yield f'<measure number="{number}">{head}{"".join(notes)}</measure>\n'


def _attributes(fifths: int, first: bool) -> str:
    clef = "<clef><sign>G</sign><line>2</line></clef>"
    time_ = "<time><beats>4</beats><beat-type>4</beat-type></time>"
    return (
        f"<attributes>{'<divisions>4</divisions>' if first else ''}"
        f"<key><fifths>{fifths}</fifths></key>{time_ + clef if first else ''}</attributes>"
    )


def _tempo(per_minute: int) -> str:
    return (
        "<direction><direction-type><metronome><beat-unit>quarter</beat-unit>"
        f"<per-minute>{per_minute}</per-minute></metronome></direction-type></direction>"
    )


def _next_letter(random: Random, letter: int, top: int) -> int:
    step = random.choice((-1, -1, -1, 1, 1, 1, -2, 2, 2, -2, 0, -3, 4, -4, 5, 7, -7))
    moved = letter + step
    return moved if _LOWEST <= moved <= top else min(max(letter - step, _LOWEST), top)


def _struck(random: Random, letter: int, fifths: int, length: int, slur: str) -> str:
    alter = random.choice((-1, 1)) if random.random() < 0.06 else 0
    notes = _note(letter, fifths, length, alter=alter, slur=slur)
    if random.random() < 0.05 and letter > _LOWEST + 7:
        interval = random.choice((2, 5, 5, 7))
        notes = _note(letter - interval, fifths, length) + _note(
            letter, fifths, length, chord=True, slur=slur
        )
    if random.random() < 0.01:
        notes = _note(letter + 1, fifths, 0) + notes
    return notes


def _note(
    letter: int, fifths: int, length: int, alter: int = 0, chord: bool = False, slur: str = ""
) -> str:
    octave, step = divmod(letter, 7)
    alter += 1 if step in _SHARPS[: max(fifths, 0)] else 0
    alter -= 1 if step in _SHARPS[::-1][: max(-fifths, 0)] else 0
    alter = 0 if letter == _LOWEST else max(-1, min(1, alter))
    return (
        f"<note>{'<grace/>' if length == 0 else ''}{'<chord/>' if chord else ''}"
        f"<pitch><step>{_LETTERS[step]}</step>{f'<alter>{alter}</alter>' if alter else ''}"
        f"<octave>{octave}</octave></pitch>"
        f"{f'<duration>{length}</duration>' if length else ''}"
        f"{f'<notations>{slur}</notations>' if slur else ''}</note>"
    )


# ── where the time goes, start-up ───────────────────────────────────────────────────────────────


def profile(folder: Path) -> None:
    """Print where the time goes, for 10,000 events."""
    path = folder / "profile.musicxml"
    path.write_text(made_up(10_000), encoding="utf-8")
    watch = cProfile.Profile()
    watch.enable()
    scoretools.analyse(scoretools.read_part(path))
    watch.disable()
    pstats.Stats(watch).sort_stats("tottime").print_stats(35)


def startup(folder: Path) -> None:
    """Print how long ``scoretools --help`` takes, against an empty program."""
    empty = statistics.median(_started("-c", "pass") for _ in range(10))
    shown = statistics.median(_started("-m", "scoretools.cli", "--help") for _ in range(10))
    print(f"\nStart-up, median of 10: scoretools --help {shown:.3f} s, ", end="")
    print(f"an empty program {empty:.3f} s, {shown / empty:.1f} times as long (well under 0.5 s)")


def _started(*arguments: str) -> float:
    command = [sys.executable, *arguments]
    begin = time.perf_counter()
    subprocess.run(command, check=True, capture_output=True, env=_environment())
    return time.perf_counter() - begin


def main() -> None:
    """Run what is asked for."""
    if sys.argv[1:2] == ["measure"]:
        measure(Path(sys.argv[2]))
        return
    programs = {run.__name__: run for run in (quartets, growth, startup, profile)}
    with tempfile.TemporaryDirectory() as folder:
        for name in sys.argv[1:] or [name for name in programs if name != "profile"]:
            programs[name](Path(folder))


if __name__ == "__main__":
    main()
