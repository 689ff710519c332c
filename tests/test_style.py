"""The house style, as far as programs can check it: one run of the tests runs these too."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]


@pytest.mark.parametrize(
    "program",
    [
        ("ruff", "check", "."),
        ("ruff", "format", "--check", "."),
        ("mypy", "-p", "scoretools"),
    ],
    ids=["lint", "format", "types"],
)
def test_the_source_is_clean(program: tuple[str, ...]) -> None:
    done = subprocess.run(
        [sys.executable, "-m", *program],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=600,
        check=False,
    )
    assert done.returncode == 0, f"{done.stdout}\n{done.stderr}"
