"""``scoretools guide``: pages that fit on a page, with commands that run as they stand."""

import io
import re
import shlex
import shutil
from pathlib import Path
from types import MappingProxyType

import pytest
from rich.console import Console
from rich.markdown import Markdown
from typer.testing import CliRunner

from scoretools.cli.guide import READERS, guide_text
from scoretools.cli.main import app
from tests.cli.conftest import SAMPLES, Command

MOST_LINES, MOST_COLUMNS = 60, 80

SCORES = MappingProxyType(
    {
        "study.musicxml": SAMPLES[1],
        "overture.musicxml": SAMPLES[0],
        "suite.musicxml": SAMPLES[5],
    }
)
"""The names a guide uses, and the sample score each stands for."""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Work where the scores of the guides lie, one by one and as a library."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("SCORETOOLS_CATALOGUE", raising=False)
    for name, sample in SCORES.items():
        shutil.copy(sample, name)
    Path("scores").mkdir()
    for sample in SAMPLES:
        shutil.copy(sample, "scores")


def lines_to_copy(text: str) -> list[str]:
    return re.findall(r"^ {4}(scoretools .*)$", text, flags=re.MULTILINE)


@pytest.mark.parametrize("reader", READERS)
def test_a_guide_fits_on_a_page(reader: str) -> None:
    lines = guide_text(reader).splitlines()
    assert len(lines) < MOST_LINES
    assert max(map(len, lines)) <= MOST_COLUMNS
    assert lines[0] == f"# For the {reader}"


@pytest.mark.usefixtures("folder")
@pytest.mark.parametrize("reader", READERS)
def test_every_line_to_copy_runs(reader: str) -> None:
    """In their order, in one folder, as a reader goes down the page."""
    text = guide_text(reader)
    lines = lines_to_copy(text)
    assert len(lines) >= 5
    for line in lines:
        result = CliRunner().invoke(app, shlex.split(line)[1:], input="\n" * 40)
        assert result.exit_code == 0, f"{line}\n{result.output}\n{result.exception}"
    named = re.findall(r"`([a-z_]+/[a-z_]+\.[a-z]+)`", text)
    assert [name for name in named if not Path(name).is_file()] == []


def test_without_a_name_each_guide_has_its_line(command: Command) -> None:
    ended = command("guide")
    assert ended.code == 0
    lines = ended.out.splitlines()
    assert len(lines) == len(READERS)
    for reader, line in zip(READERS, lines, strict=True):
        assert line.startswith(f"scoretools guide {reader} ")
        assert len(line) <= MOST_COLUMNS


@pytest.mark.parametrize("reader", READERS)
def test_a_guide_is_printed_as_it_stands_where_there_is_no_terminal(
    reader: str, command: Command
) -> None:
    ended = command("guide", reader.upper())
    assert ended.out == guide_text(reader)
    assert "\x1b" not in ended.out


@pytest.mark.parametrize("reader", READERS)
def test_on_a_terminal_no_line_to_copy_is_broken(reader: str) -> None:
    """Laid out and without colour, every command stands whole on its line."""
    out = io.StringIO()
    console = Console(file=out, width=MOST_COLUMNS, force_terminal=True, no_color=True)
    console.print(Markdown(guide_text(reader)))
    shown = {line.strip() for line in re.sub(r"\x1b\[[\d;]*m", "", out.getvalue()).splitlines()}
    assert set(lines_to_copy(guide_text(reader))) <= shown


def test_a_guide_that_is_not_there(command: Command) -> None:
    ended = command("guide", "conductor")
    assert (ended.code, ended.out) == (2, "")
    assert "“conductor”; choose student, teacher, librarian" in ended.err
