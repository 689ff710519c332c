"""Completion in the shells: what is proposed, and that bash takes the script that is printed."""

import shutil
import subprocess
from pathlib import Path

import pytest

from scoretools.cli.guide import READERS
from scoretools.difficulty import SHIPPED
from scoretools.player import Profile
from tests.cli.conftest import Command, clean_environment, program_line

SHELLS = ("bash", "zsh", "fish")


def proposed(program: Command, line: str, shell: str) -> set[str]:
    """What a shell is told to propose at the end of a line; a help beside it is left out."""
    words = line.split(" ")
    ended = program(
        _SCORETOOLS_COMPLETE=f"complete_{shell}",
        COMP_WORDS=line,
        COMP_CWORD=str(len(words) - 1),
        _TYPER_COMPLETE_ARGS=line,
        _TYPER_COMPLETE_FISH_ACTION="get-args",
    )
    assert ended.code == 0, ended.err
    if shell == "zsh":
        shown = ended.out.partition("((")[2].partition("))")[0]
        return {one.split(":")[0].strip('"') for one in shown.splitlines()}
    return {one.split("\t")[0] for one in ended.out.splitlines() if one}


@pytest.mark.parametrize("shell", SHELLS)
@pytest.mark.parametrize(
    ("line", "some"),
    [
        ("scoretools ", {"report", "finger", "plan", "player", "guide"}),
        ("scoretools re", {"report"}),
        ("scoretools report --pl", {"--player"}),
        ("scoretools plan --to", {"--today"}),
        ("scoretools plan study.musicxml --to", {"--today"}),
        ("scoretools plan log --c", {"--clean"}),
        ("scoretools player ", {"new", "check"}),
        ("scoretools catalogue ", {"scan", "find", "show", "compare"}),
        ("scoretools catalogue find --hi", {"--highest-position"}),
        ("scoretools guide ", set(READERS)),
        ("scoretools report --profile ", set(Profile)),
        ("scoretools plan study.musicxml --profile ", set(Profile)),
        ("scoretools level --rubric ", set(SHIPPED)),
        ("scoretools report --only ", {"page", "book", "music", "part", "tables", "sound"}),
        ("scoretools report --for ", {"teacher", "student"}),
        ("scoretools mark --marks ", {"sparse", "all", "none"}),
        ("scoretools sheets --paper ", {"a4", "us-letter"}),
        ("scoretools finger --divisi ", {"auto", "top", "bottom", "both"}),
    ],
)
def test_what_may_come_next_is_proposed(
    line: str, some: set[str], shell: str, program: Command
) -> None:
    found = proposed(program, line, shell)
    assert some <= found
    beginning = line.split(" ")[-1]
    assert all(one.startswith(beginning) for one in found)


@pytest.mark.parametrize("shell", SHELLS)
def test_where_a_score_comes_next_no_words_are_proposed(shell: str, program: Command) -> None:
    """The shell then proposes the files of the folder."""
    assert proposed(program, "scoretools report ", shell) <= {""}


@pytest.mark.parametrize("shell", SHELLS)
def test_the_script_of_a_shell_names_the_command(shell: str, program: Command) -> None:
    ended = program(_SCORETOOLS_COMPLETE=f"source_{shell}")
    assert ended.code == 0
    assert "scoretools" in ended.out
    assert f"complete_{shell}" in ended.out


@pytest.mark.skipif(shutil.which("bash") is None, reason="there is no bash here")
def test_bash_itself_proposes_profiles(program: Command, tmp_path: Path) -> None:
    """The script is installed into a home of its own, read by bash, and asked."""
    home = {"HOME": str(tmp_path), "_TYPER_COMPLETE_TEST_DISABLE_SHELL_DETECTION": "1"}
    ended = program("--install-completion", "bash", **home)
    assert ended.code == 0, ended.err
    tool = tmp_path / "scoretools"
    line = " ".join(f"'{word}'" for word in program_line([]))
    tool.write_text(f'#!/bin/sh\nexec {line} "$@"\n', encoding="utf-8")
    tool.chmod(0o755)
    asked = (
        "source ~/.bashrc; COMP_WORDS=(scoretools report --profile ''); COMP_CWORD=3; "
        f"_scoretools_completion {tool}; printf '%s\\n' \"${{COMPREPLY[@]}}\""
    )
    done = subprocess.run(
        ["bash", "--norc", "-c", asked],
        env=clean_environment(home),
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert set(done.stdout.split()) == set(Profile), done.stderr
