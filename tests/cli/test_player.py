"""``scoretools player``: a file written after a few questions, and one that is checked."""

from dataclasses import fields
from datetime import date
from pathlib import Path

import pytest
from typer.testing import CliRunner

from scoretools.cli.main import app
from scoretools.cli.show_player import _LINES
from scoretools.model import PositionNumber
from scoretools.note_names import NoteNames
from scoretools.player import Paper, Player, Profile, read_player
from tests.cli.conftest import Command

ANSWERS = (
    "Mira “M”", "violin", "3/4", "3", "developing-player", "w-h-w, H-W-W",
    "w-w-h", "1, 0.5 3", "Third, with an open string", "yes", "avoid", "15",
    "6", "2027-01-15", "do re mi", "letter", "no",
)  # fmt: skip


def answered(path: Path, *answers: str) -> str:
    result = CliRunner().invoke(app, ["player", "new", str(path)], input="\n".join([*answers, ""]))
    assert result.exit_code == 0, result.output
    return result.stdout


def test_the_answers_are_the_player(tmp_path: Path) -> None:
    told = answered(tmp_path / "mira.toml", *ANSWERS)
    assert "mira.toml" in told
    assert read_player(tmp_path / "mira.toml") == Player(
        name="Mira “M”",
        instrument="violin",
        size="3/4",
        highest_position=3,
        profile=Profile.DEVELOPING_PLAYER,
        known_shapes=("W-H-W", "H-W-W"),
        shapes_in_work=("W-W-H",),
        known_positions=(PositionNumber(0), PositionNumber(1), PositionNumber(3)),
        known_double_stops=("third", "with an open string"),
        weak_fourth_finger=True,
        open_strings="avoid",
        minutes_per_day=15,
        days_per_week=6,
        lesson=date(2027, 1, 15),
        note_names=NoteNames.SOLFEGE,
        paper=Paper.LETTER,
    )


def test_no_answer_leaves_the_usual(tmp_path: Path) -> None:
    answered(tmp_path / "anyone.toml", *[""] * len(ANSWERS))
    assert read_player(tmp_path / "anyone.toml") == Player()


@pytest.mark.parametrize(
    ("place", "wrong", "told"),
    [
        (1, "cello", "'cello' is not one of violin, viola"),
        (3, "13", "outside 0.5 to 12"),
        (3, "high", "not a number"),
        (5, "W-W", "no shape"),
        (6, "W-W", "no shape"),
        (7, "first", "not a number"),
        (8, "fifteenth", "'fifteenth' is not one of with an open string"),
        (9, "maybe", "not true or false"),
        (13, "soon", "is not a date"),
        (14, "sargam", "'sargam' is not known; write \"letters\""),
        (15, "A3", '\'A3\' is not known; write "A4" or "Letter"'),
        (16, "yes", "strung in mirror order"),
    ],
)
def test_a_wrong_answer_is_asked_for_again(
    place: int, wrong: str, told: str, tmp_path: Path
) -> None:
    answers = [*ANSWERS[:place], wrong, *ANSWERS[place:]]
    assert told in answered(tmp_path / "mira.toml", *answers)
    assert read_player(tmp_path / "mira.toml").minutes_per_day == 15


def test_an_older_file_is_never_written_over(command: Command, tmp_path: Path) -> None:
    path = tmp_path / "mira.toml"
    path.write_text("# mine", "utf-8")
    ended = command("player", "new", path)
    assert ended.code == 2
    assert "there is such a file already" in ended.err
    assert path.read_text("utf-8") == "# mine"


def test_a_file_is_checked(command: Command, tmp_path: Path) -> None:
    path = tmp_path / "mira.toml"
    answered(path, *ANSWERS)
    told = command("player", "check", path).out
    given, _, usual = told.partition("As usual, since the file says nothing else")
    assert "- hand shapes known: W-H-W, H-W-W\n" in given.replace(" and ", ", ")
    assert "- fourth finger: spared\n" in given
    assert "- highest position: 3rd position\n" in given
    assert "- names of notes: solfège (do ré mi)\n" in given
    assert "- paper: Letter\n" in given
    assert "- next lesson or performance: on 2027-01-15\n" in given
    assert "- reach from first to fourth finger: that of a hand that fits the instrument" in usual
    assert told.startswith(f"{path} is in order.\n")


def test_everything_is_said_once_and_in_words(command: Command, tmp_path: Path) -> None:
    path = tmp_path / "anyone.toml"
    path.write_text('name = "Mira"\n', encoding="utf-8")
    told = command("player", "check", path).out.partition("is in order.")[2]
    abouts = [line.partition(":")[0] for line in told.splitlines() if line.startswith("- ")]
    assert len(abouts) == len(set(abouts))
    assert told.count("s usual") == 1
    assert not any(words in told for words in ("not given", "none (", "_", "us-letter", " mm"))
    assert "- open strings: neither sought nor avoided\n" in told
    assert "- positions known: 1st only\n" in told
    assert "- next lesson: in 7 days\n" in told


def test_every_field_has_a_line() -> None:
    assert [line.field for line in _LINES] == [*dict.fromkeys(line.field for line in _LINES)]
    assert {line.field for line in _LINES} == {field.name for field in fields(Player)}


@pytest.mark.parametrize(
    ("written", "told"),
    [
        ("string_length_mm = 305", "- sounding length of the strings: 305 mm"),
        ("reach_mm = 70", "- reach from first to fourth finger: 70 mm"),
        ("known_positions = [0.5, 1, 3]", "half position, 1st position and 3rd position"),
        ('open_strings = "welcome"', "- open strings: welcome"),
        ("extensions = false", "- stretched fingers: only where there is no other way"),
        (
            'only_known_shapes = true\nknown_shapes = ["W-H-W"]',
            "- hand shapes not known yet: only where",
        ),
        ("days_per_week = 5", "- practice: 5 days in a week"),
        ("days = 1", "- next lesson: in 1 day\n"),
        ('paper = "Letter"', "- paper: Letter"),
    ],
)
def test_what_the_file_says_comes_first(
    command: Command, tmp_path: Path, written: str, told: str
) -> None:
    path = tmp_path / "mira.toml"
    path.write_text(f"{written}\n", encoding="utf-8")
    assert told in command("player", "check", path).out.partition("As usual")[0]


def test_a_wrong_file_is_one_sentence(command: Command, tmp_path: Path) -> None:
    path = tmp_path / "mira.toml"
    path.write_text("minutes_per_day = 0\n", "utf-8")
    ended = command("player", "check", path)
    assert ended.code == 2
    assert "minutes_per_day: 0 is outside 1 to 300" in ended.err
