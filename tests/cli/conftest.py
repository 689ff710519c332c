"""The command as its user calls it, in this process or in one of its own."""

import os
import subprocess
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NamedTuple

import pytest

from scoretools.cli.main import run

ROOT = Path(__file__).resolve().parents[2]
SAMPLES = sorted((ROOT / "sample_scores").glob("*.musicxml"))


class Outcome(NamedTuple):
    """How a command ended."""

    code: int
    out: str
    err: str


Command = Callable[..., Outcome]


@pytest.fixture
def command(capsys: pytest.CaptureFixture[str]) -> Command:
    """Run ``scoretools`` with these words: ``command("report", path)``."""

    def call(*words: object) -> Outcome:
        capsys.readouterr()
        code: object = 0
        try:
            run([str(word) for word in words])
        except SystemExit as end:
            code = end.code
        out, err = capsys.readouterr()
        assert isinstance(code, int)
        return Outcome(code, out, err)

    return call


@pytest.fixture
def program() -> Command:
    """Run ``scoretools`` as a program of its own, its output piped."""

    def call(*words: object, **environment: str) -> Outcome:
        done = subprocess.run(
            program_line(words),
            env=clean_environment(environment),
            capture_output=True,
            encoding="utf-8",
            timeout=120,
            check=False,
        )
        return Outcome(done.returncode, done.stdout, done.stderr)

    return call


def program_line(words: Sequence[object]) -> list[str]:
    return [sys.executable, "-m", "scoretools.cli", *map(str, words)]


def clean_environment(more: dict[str, str]) -> dict[str, str]:
    """The environment without what would change colours, with the package at hand."""
    without = ("NO_COLOR", "FORCE_COLOR", "TERM", "COLUMNS", "LINES", "TTY_COMPATIBLE")
    kept = {name: value for name, value in os.environ.items() if name not in without}
    return {**kept, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "utf-8", **more}


@pytest.fixture
def sample() -> Path:
    """The easiest sample score."""
    return SAMPLES[0]


QUARTET = (
    '<?xml version="1.0" encoding="UTF-8"?><score-partwise version="4.0"><part-list>'
    '<score-part id="P1"><part-name>Violin I</part-name></score-part>'
    '<score-part id="P2"><part-name>Violin II</part-name></score-part>'
    '<score-part id="P3"><part-name>Viola</part-name></score-part></part-list>'
    + "".join(
        f'<part id="{part_id}"><measure number="1"><attributes><divisions>1</divisions>'
        "<time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
        f"<note><pitch><step>{step}</step><octave>{octave}</octave></pitch>"
        "<duration>4</duration></note></measure></part>"
        for part_id, step, octave in (("P1", "B", 5), ("P2", "E", 4), ("P3", "D", 3))
    )
    + "</score-partwise>"
)
"""Three parts, each a bar of one note: B5, E4 and D3."""


@pytest.fixture
def quartet(tmp_path: Path) -> Path:
    """A score of three parts; see `QUARTET`."""
    path = tmp_path / "three.musicxml"
    path.write_text(QUARTET, encoding="utf-8")
    return path
