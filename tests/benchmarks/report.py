"""How long a report takes, stage by stage, beside engraving the part and setting its PDF alone.

Run ``python tests/benchmarks/report.py [SCORE]``; by default the first violin of a quartet of the
music21 corpus, some 1,500 notes. All figures are from one run.
"""

import resource
import sys
from pathlib import Path
from time import perf_counter

from music21 import corpus

import scoretools
from scoretools.cli.options import Request
from scoretools.cli.report_files import KINDS, report_files, wishes_from
from scoretools.player import Player
from scoretools.read import musicxml_document
from scoretools.voices import Divisi
from scoretools.write.engrave import engraved, single_part
from scoretools.write.marked_part import marked_part_pdf, part_systems

QUARTET = "beethoven/opus59no1/movement1"


def main(score: Path) -> None:
    """Print seconds and ratios."""
    part = scoretools.read_part(score)
    data, _ = musicxml_document(score)
    analysis = scoretools.analyse(part)
    marked_part_pdf(analysis, part_systems(analysis, data))  # libraries are loaded once
    begun = perf_counter()
    engraved(single_part(data, part.part_id, len(part.measures)), 170)
    engraving = perf_counter() - begun
    begun = perf_counter()
    marked_part_pdf(analysis, part_systems(analysis, data))
    pdf = perf_counter() - begun
    print(f"{score.name}: {len(part.events)} events, {len(analysis.drills)} drills")
    print(f"engraving the part {engraving:.2f} s, with its PDF {pdf:.2f} s")
    request = Request(score, None, Player(), Divisi.AUTO, None)
    whole = 0.0
    for kind in KINDS:
        wishes = wishes_from([kind], False, "teacher", "a4", False, False, False)
        begun = perf_counter()
        report_files(request, analysis, wishes, lambda _: None)
        seconds = perf_counter() - begun
        print(f"  --only {kind}: {seconds:.2f} s")
    begun = perf_counter()
    again = scoretools.analyse(scoretools.read_part(score))
    reading = perf_counter() - begun
    wishes = wishes_from(None, False, "teacher", "a4", False, False, False)
    report_files(request, again, wishes, lambda _: None)
    whole = perf_counter() - begun
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"reading and analysing {reading:.2f} s, the whole report {whole:.2f} s")
    print(f"whole report : engraving and PDF of the part = {whole / pdf:.1f}; peak {peak:.0f} MiB")


if __name__ == "__main__":
    found = sys.argv[1] if len(sys.argv) > 1 else corpus.getWork(QUARTET)
    main(Path(found[0] if isinstance(found, list) else found))
