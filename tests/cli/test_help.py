"""What is said before anything works: the help, its examples, and what to type for a slip."""

import re
import shlex
from collections.abc import Iterator
from typing import Any

import pytest
import typer

from scoretools.cli.help import SECTIONS, example_of
from scoretools.cli.help import Command as Leaf
from scoretools.cli.main import app
from tests.cli.conftest import ROOT as ROOT_FOLDER
from tests.cli.conftest import Command

ROOT: Any = typer.main.get_command(app)

LONGEST_SENTENCE = 64
"""Letters that stand on one line beside the longest name of a command."""

LONGEST_LINE = 76
"""Letters of a line of help: an example on one line can be copied."""


def commands(name: str = "", command: Any = ROOT) -> Iterator[tuple[str, Any]]:
    """Every command and group, each with the words that call it."""
    yield name, command
    for word, one in getattr(command, "commands", {}).items():
        yield from commands(f"{name} {word}".strip(), one)


ALL = dict(commands())


def parsed(words: list[str]) -> Any:
    """Parse a command line to its innermost command, and run nothing; give that one's context."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Leaf, "invoke", lambda self, context: context)
        return ROOT.main(words, prog_name="scoretools", standalone_mode=False)


# ── examples ────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("name", ALL)
def test_every_help_has_an_example_that_parses(name: str) -> None:
    example = example_of(ALL[name])
    assert example, f"scoretools {name} --help has no line “Example: scoretools …”"
    line, _, _ = example.partition(" > ")
    words = shlex.split(line)[1:]
    called = name.removesuffix(" for").split()
    assert words[: len(called)] == called
    context = parsed(words)
    assert context.params


@pytest.mark.parametrize("name", ALL)
def test_an_example_stands_on_one_line(name: str, command: Command) -> None:
    ended = command(*name.split(), "--help")
    assert ended.code == 0
    assert f"  Example: {example_of(ALL[name])}\n" in ended.out
    assert max(map(len, ended.out.splitlines())) <= LONGEST_LINE + 2


def test_an_example_that_does_not_parse_is_noticed() -> None:
    with pytest.raises(Exception, match="No such option"):
        parsed(["report", "study.musicxml", "--fiddle"])
    with pytest.raises(Exception, match="Missing"):
        parsed(["sheets", "study.musicxml"])
    assert parsed(["plan", "a.mxl", "b.mxl"]).command.name == "for"


@pytest.mark.parametrize("file", ["README.md", "DEVELOPERS.md"])
def test_every_command_the_papers_name_parses(file: str) -> None:
    text = (ROOT_FOLDER / file).read_text(encoding="utf-8")
    found = re.findall(r"`scoretools [a-z][^`]+`|^scoretools .+$", text, flags=re.MULTILINE)
    named = [" ".join(line.strip("`").split()) for line in found]
    assert len(named) > (5 if file == "README.md" else 0)
    for line in named:
        assert parsed(shlex.split(line.partition(" > ")[0])[1:]).command is not None, line


# ── the help ────────────────────────────────────────────────────────────────────────────────────


def test_without_arguments_it_says_what_to_do_first(command: Command) -> None:
    out = command().out
    assert out == command("--help").out
    for words in ("MusicXML", "scoretools report study.musicxml", "scoretools guide student"):
        assert words in " ".join(out.split())
    headings = re.findall(r"^(\S.*):$", out, flags=re.MULTILINE)
    assert headings == [*SECTIONS, "Options"]


def test_every_command_is_in_a_group_and_told_on_one_line(command: Command) -> None:
    out = command().out
    grouped = [name for names in SECTIONS.values() for name in names]
    assert sorted(grouped) == sorted(set(grouped))
    for name, one in ROOT.commands.items():
        assert name in grouped
        told = one.get_short_help_str(limit=200)
        assert len(told) <= LONGEST_SENTENCE, f"{name}: {told}"
        assert re.search(rf"^  {name} +{re.escape(told)}$", out, flags=re.MULTILINE)


@pytest.mark.parametrize("name", ALL)
def test_every_argument_and_option_is_explained(name: str) -> None:
    for param in ALL[name].params:
        assert param.help, f"{name}: {param.name}"
        assert param.help.endswith("."), f"{name}: {param.name}: {param.help}"


@pytest.mark.parametrize("name", ALL)
def test_no_help_speaks_of_types(name: str, command: Command) -> None:
    out = command(*name.split(), "--help").out
    for word in ("<", "Path", "list[", "TEXT]", "{"):
        assert word not in out.replace("> fitted.toml", ""), f"{name}: {word}"


@pytest.mark.parametrize("name", ["plan", "player", "catalogue"])
def test_a_group_without_words_gives_its_help(name: str, command: Command) -> None:
    ended = command(name)
    assert (ended.code, ended.err) == (0, "")
    assert ended.out == command(name, "--help").out


def test_the_help_of_plan_tells_the_options_of_planning(command: Command) -> None:
    out = command("plan", "--help").out
    for words in ("SCORE… | log FILE.txt", "--player FILE.toml", "--today DATE", "plan log"):
        assert words in out
    assert not re.search(r"^  for ", out, flags=re.MULTILINE)


# ── slips ───────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("reprot a.mxl", "there is no command “reprot”, perhaps report was meant"),
        ("fingering a.mxl", "perhaps finger was meant"),
        ("program a.mxl", "perhaps programme was meant"),
        ("player chek a.toml", "perhaps check was meant; see scoretools player --help"),
        ("catalogue fnid --level 2", "perhaps find was meant; see scoretools catalogue --help"),
        ("plan lgo practice.txt", "perhaps log was meant; see scoretools plan --help"),
        ("study.musicxml", "if it is a score, write scoretools report study.musicxml"),
        ("qqq", "the commands are report, "),
        ("report a.mxl --plyer b", "there is no option --plyer, perhaps --player was meant"),
        ("report a.mxl --tuning", "there is no option --tuning; see scoretools report --help"),
        ("report a.mxl --only", "--only: write KIND after it, as in: scoretools report"),
        ("plan a.mxl --today", "--today: write DATE after it, as in: scoretools plan"),
        ("report a.mxl --large=2", "--large takes nothing after it"),
        ("report", "name a score, as in: scoretools report study.musicxml"),
        ("plan log", "name the practice log, as in: scoretools plan log practice.txt"),
        ("player new", "name the player file, as in: scoretools player new mira.toml"),
        ("fit", "name scores, or a folder of them, as in: scoretools fit"),
        ("programme a.mxl", "--out is missing, as in: scoretools programme overture"),
        ("sheets a.mxl --out b", "--studio is missing, as in: scoretools sheets"),
        ("report a b", "put a name with spaces in quotation marks, as in: scoretools report"),
    ],
)
def test_a_slip_is_told_with_what_to_type(words: str, told: str, command: Command) -> None:
    ended = command(*words.split())
    assert (ended.code, ended.out) == (2, "")
    assert told in ended.err
    assert re.fullmatch(r"scoretools: .*; see scoretools[a-z ]* --help\.\n", ended.err)
