"""The README says what is true: its examples run."""

import re
import shlex
from pathlib import Path

import pytest
from typer.testing import CliRunner

from scoretools.cli.main import app

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_the_python_example_runs(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(ROOT)
    (block,) = re.findall(r"```python\n(.*?)```", README, flags=re.DOTALL)
    exec(compile(block, "README.md", "exec"), {})
    assert re.search(r"H-A-H", capsys.readouterr().out)


def test_the_first_command_runs(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.chdir(ROOT)
    (line,) = re.findall(r"^python3 .*scoretools report.*$", README, flags=re.MULTILINE)
    words = shlex.split(line.rpartition("bin/scoretools ")[2])
    words[words.index("--out") + 1] = str(tmp_path / "report")
    result = CliRunner().invoke(app, words)
    assert result.exit_code == 0, result.output
    told = re.findall(r"^\| `([a-z]+\.[a-z]+)` \|", README, flags=re.MULTILINE)
    assert sorted(path.name for path in (tmp_path / "report").iterdir()) == sorted(told)


def test_the_example_of_a_plan_runs(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    (line,) = re.findall(r"^scoretools plan .*$", README, flags=re.MULTILINE)
    words = shlex.split(line)[1:]
    words[1] = str(ROOT / words[1])
    monkeypatch.chdir(tmp_path)
    result = CliRunner().invoke(app, words)
    assert result.exit_code == 0, result.output
    assert sorted(path.name for path in (tmp_path / "plan").iterdir()) == [
        "drills.pdf", "plan.html", "plan.ics", "plan.pdf",
    ]  # fmt: skip
    result = CliRunner().invoke(
        app, ["plan", "log", "practice.txt", "--clean", "1", "--again", "2"]
    )
    assert result.exit_code == 0, result.output


def test_the_example_of_other_plans_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    (line,) = re.findall(r"^scoretools finger .*$", README, flags=re.MULTILINE)
    result = CliRunner().invoke(app, shlex.split(line)[1:])
    assert result.exit_code == 0, result.output
    assert "Other fingerings for bars 5–9" in result.stdout
    assert "bar 5  → 3rd position   A: D5 1" in result.stdout


def test_the_example_of_agreement_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    (line,) = re.findall(r"^scoretools agreement .*$", README, flags=re.MULTILINE)
    result = CliRunner().invoke(app, [*shlex.split(line)[1:], "--jobs", "1"])
    assert result.exit_code == 0, result.output
    assert "mean over 6 pieces" in result.stdout
    assert "With the marks of the other bars given" in result.stdout


def test_the_player_example_is_a_player_file(tmp_path: Path) -> None:
    from scoretools.player import read_player

    (block,) = re.findall(r"```toml\n(.*?)```", README, flags=re.DOTALL)
    path = tmp_path / "player.toml"
    path.write_text(block, encoding="utf-8")
    player = read_player(path)
    assert (player.size, player.highest_position, player.minutes_per_day) == ("3/4", 3, 15)


def test_every_path_it_names_is_there() -> None:
    for target in re.findall(r"\]\(([^)#:]+)\)", README):
        assert (ROOT / target).exists(), target
