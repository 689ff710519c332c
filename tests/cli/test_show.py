"""The summary on a terminal, in a pipe, in colour and without."""

import os
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Command = Callable[..., Any]

ROOT = Path(__file__).resolve().parents[2]
SAMPLES = sorted((ROOT / "sample_scores").glob("*.musicxml"))
ESCAPE = "\x1b["
IN_COLOUR = re.compile(r"\x1b\[(?:\d+;)*3[0-7](?:;\d+)*m")
SEQUENCE = re.compile(r"\x1b\[[?\d;]*[A-Za-z]")


# ── piped ───────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("environment", [{}, {"NO_COLOR": "1"}, {"TERM": "xterm-256color"}])
def test_a_pipe_gets_no_codes(program: Command, sample: Path, environment: dict[str, str]) -> None:
    ended = program("report", sample, **environment)
    assert (ended.code, ended.err) == (0, "")
    assert ESCAPE not in ended.out


def test_a_pipe_gets_a_line_for_each_sentence(program: Command) -> None:
    ended = program("report", SAMPLES[-1], COLUMNS="40")
    assert max(map(len, ended.out.splitlines())) > 100
    assert "--out" not in ended.out


def test_a_pipe_gets_colours_where_they_are_forced(program: Command, sample: Path) -> None:
    forced = program("report", sample, FORCE_COLOR="1", TERM="xterm-256color")
    assert IN_COLOUR.search(forced.out)
    assert forced.err == ""
    assert SEQUENCE.sub("", forced.out) == program("report", sample).out


def test_signs_a_terminal_lacks_become_question_marks(program: Command, sample: Path) -> None:
    ended = program("report", sample, PYTHONIOENCODING="ascii")
    assert (ended.code, ended.err) == (0, "")
    assert "Studio ? Violin" in ended.out


@pytest.mark.skipif(sys.platform == "win32", reason="pipes break in another way there")
def test_a_reader_that_stops_reading_is_no_error(sample: Path) -> None:
    running = subprocess.Popen(
        [sys.executable, "-m", "scoretools.cli", "report", str(sample)],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert running.stdout is not None
    running.stdout.close()
    assert running.stderr is not None
    assert running.stderr.read() == ""
    running.stderr.close()
    running.wait(timeout=60)


# ── on a terminal ───────────────────────────────────────────────────────────────────────────────


def on_a_terminal(columns: int, *words: object, **environment: str) -> str:
    """What ``scoretools`` shows on a terminal so many columns wide."""
    fcntl, pty, struct, termios = map(
        pytest.importorskip, ("fcntl", "pty", "struct", "termios")
    )  # systems without them have no such terminals
    above, below = pty.openpty()
    fcntl.ioctl(below, termios.TIOCSWINSZ, struct.pack("HHHH", 30, columns, 0, 0))
    without = ("NO_COLOR", "FORCE_COLOR", "COLUMNS", "LINES")
    kept = {name: value for name, value in os.environ.items() if name not in without}
    with subprocess.Popen(
        [sys.executable, "-m", "scoretools.cli", *map(str, words)],
        cwd=ROOT,
        stdin=below,
        stdout=below,
        stderr=below,
        env={**kept, "TERM": "xterm-256color", "PYTHONIOENCODING": "utf-8", **environment},
    ):
        os.close(below)
        shown = b""
        while block := _read(above):
            shown += block
    os.close(above)
    return shown.decode("utf-8").replace("\r\n", "\n")


def _read(terminal: int) -> bytes:
    try:
        return os.read(terminal, 65536)
    except OSError:  # how the end of a terminal shows
        return b""


def summary(shown: str) -> list[str]:
    """The lines of the summary without codes; what was shown while working is left out."""
    return SEQUENCE.sub("", shown.rpartition("\r")[2]).splitlines()


@pytest.mark.parametrize("columns", [50, 80])
def test_lines_fit_the_terminal(columns: int) -> None:
    lines = summary(on_a_terminal(columns, "report", SAMPLES[-1]))
    assert max(map(len, lines)) <= columns
    assert max(map(len, lines)) > columns - 15
    assert not any(line.endswith(" ") for line in lines)


def test_lines_stay_readable_on_a_wide_terminal() -> None:
    lines = summary(on_a_terminal(300, "report", SAMPLES[-1]))
    assert 85 < max(map(len, lines)) <= 100


def test_wrapped_lines_hang_under_their_own_text() -> None:
    lines = summary(on_a_terminal(50, "report", SAMPLES[-1]))
    bars = lines[lines.index("Hardest bars first") + 1 : lines.index("Drills, in this order") - 1]
    assert all(line.startswith(("- ", "  ")) for line in bars)
    assert any(line.startswith("  ") for line in bars)
    drills = lines[
        lines.index("Drills, in this order") + 1 : lines.index("Served and left out") - 1
    ]
    assert all(line.startswith("   ") or line[:3].strip().endswith(".") for line in drills)


def test_wrapping_changes_no_word(program: Command) -> None:
    shown = " ".join(summary(on_a_terminal(50, "report", SAMPLES[-1]))).split()
    piped = program("report", SAMPLES[-1]).out.split()
    assert shown[: len(piped)] == piped
    assert " ".join(shown[len(piped) :]).endswith("add --out FOLDER.")


def test_a_terminal_gets_colours_unless_they_are_refused() -> None:
    shown = on_a_terminal(80, "report", SAMPLES[0])
    assert IN_COLOUR.search(shown)
    refused = on_a_terminal(80, "report", SAMPLES[0], NO_COLOR="1")
    assert not IN_COLOUR.search(refused)
    assert summary(shown) == summary(refused)


def test_progress_is_shown_while_working() -> None:
    assert "Fingering" in on_a_terminal(80, "report", SAMPLES[0])
