"""What the tests of the drills share: the sample scores, analysed for two players."""

from pathlib import Path

import pytest

import scoretools
from scoretools.model import Analysis
from scoretools.player import Player

SAMPLES = sorted((Path(__file__).parents[2] / "sample_scores").glob("*.musicxml"))

PATIENT = Player(minutes_per_day=300)
"""A player with time for every drill."""


@pytest.fixture(scope="package", params=SAMPLES, ids=lambda path: path.stem)
def sample(request: pytest.FixtureRequest) -> Analysis:
    """A sample score with all its drills."""
    return scoretools.analyse(scoretools.read_part(request.param), PATIENT)


def open_midi(analysis: Analysis) -> tuple[int, ...]:
    """MIDI numbers of the open strings, lowest first."""
    # Common practice, no published source: C3 G3 D4 A4 E5.
    midi = {"C": 48, "G": 55, "D": 62, "A": 69, "E": 76}
    return tuple(midi[name] for name in analysis.string_names)
