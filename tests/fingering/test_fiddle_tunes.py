"""Fingers that a collection of fiddle tunes prints, none of which any weight was fitted to."""

from pathlib import Path

import pytest
from music21 import corpus

import scoretools
from scoretools.model import Analysis

EVERY = 12
"""One tune in so many, so that the test stays short."""

# Source: Ryan's Mammoth Collection of Fiddle Tunes, 1883, in the music21 corpus.
TUNES = [
    Path(path)
    for path in sorted(corpus.getComposer("ryansMammoth"))
    if '"' in Path(path).read_text(encoding="latin-1")
][::EVERY]


def found(analysis: Analysis) -> list[bool]:
    """For every printed finger: whether the fingering has it."""
    return [
        choice.stop.finger in note.marks.fingers
        for event, step in zip(analysis.part.events, analysis.steps, strict=True)
        for note, choice in zip(event.notes, step.choices, strict=False)
        if note.marks.fingers
    ]


@pytest.fixture(scope="module")
def parts() -> list[scoretools.model.Part]:
    return [scoretools.read_part(path) for path in TUNES]


def test_printed_fingers_are_kept(parts: list[scoretools.model.Part]) -> None:
    kept = [one for part in parts for one in found(scoretools.analyse(part))]
    assert len(kept) > 150
    assert sum(kept) / len(kept) >= 0.995


def test_hidden_fingers_are_mostly_found(parts: list[scoretools.model.Part]) -> None:
    # Measured over all 462 tunes with fingers, 3,084 of them: 0.82.
    right = [one for part in parts for one in found(scoretools.analyse(part, use_marks=False))]
    assert sum(right) / len(right) >= 0.75
