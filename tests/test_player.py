"""The player file: every field, good and bad; every mistake one sentence that names the field."""

import re
import subprocess
import sys
from dataclasses import fields
from datetime import date
from pathlib import Path

import pytest
from typer.testing import CliRunner

from scoretools.cli.main import app
from scoretools.errors import PlayerError
from scoretools.note_names import NoteNames
from scoretools.player import Paper, Player, Profile, highest_position_from, read_player

GOOD = [
    ("name", '"Mira"', "Mira"),
    ("name", '""', ""),
    ("name", '"Łukasz 🎻"', "Łukasz 🎻"),
    ("instrument", '"violin"', "violin"),
    ("instrument", '"viola"', "viola"),
    ("size", '"3/4"', "3/4"),
    ("size", '"1/16"', "1/16"),
    ("size", '"extra large"', "extra large"),
    ("string_length_mm", "305", 305.0),
    ("string_length_mm", "150", 150.0),
    ("string_length_mm", "450.0", 450.0),
    ("reach_mm", "70", 70.0),
    ("reach_mm", "20", 20.0),
    ("reach_mm", "150", 150.0),
    ("highest_position", "3", 3),
    ("highest_position", "0.5", 0),
    ("highest_position", "1", 1),
    ("highest_position", "12", 12),
    ("highest_position", "5.0", 5),
    ("profile", '"first-position-student"', Profile.FIRST_POSITION_STUDENT),
    ("profile", '"developing-player"', Profile.DEVELOPING_PLAYER),
    ("profile", '"professional"', Profile.PROFESSIONAL),
    ("known_shapes", "[]", ()),
    ("known_shapes", '["W-H-W", "A-H-W", "H-H-H"]', ("W-H-W", "A-H-W", "H-H-H")),
    ("only_known_shapes", "false", False),
    ("weak_fourth_finger", "true", True),
    ("weak_fourth_finger", "false", False),
    ("short_fourth_finger", "true", True),
    ("short_fourth_finger", "false", False),
    ("open_strings", '"welcome"', "welcome"),
    ("open_strings", '"as usual"', "as usual"),
    ("open_strings", '"avoid"', "avoid"),
    ("extensions", "true", True),
    ("extensions", "false", False),
    ("minutes_per_day", "1", 1),
    ("minutes_per_day", "45", 45),
    ("minutes_per_day", "300", 300),
    ("minutes_per_day", "30.0", 30),
    ("lesson", "2027-01-15", date(2027, 1, 15)),
    ("days_per_week", "1", 1),
    ("days_per_week", "7", 7),
    ("days", "1", 1),
    ("days", "366", 366),
    ("shapes_in_work", '["W-H-A"]', ("W-H-A",)),
    ("known_positions", "[3, 0.5, 1, 3]", (0, 1, 3)),
    ("known_double_stops", '["third", "with an open string"]', ("third", "with an open string")),
    ("note_names", '"letters"', NoteNames.LETTERS),
    ("note_names", '"C D E"', NoteNames.LETTERS),
    ("note_names", '"solfège"', NoteNames.SOLFEGE),
    ("note_names", '"solfe\u0300ge"', NoteNames.SOLFEGE),
    ("note_names", '"Solfege"', NoteNames.SOLFEGE),
    ("note_names", '"do ré mi"', NoteNames.SOLFEGE),
    ("note_names", '"Do, re, mi"', NoteNames.SOLFEGE),
    ("note_names", '"do-ré-mi-fa-sol-la-si"', NoteNames.SOLFEGE),
    ("note_names", '"german"', NoteNames.GERMAN),
    ("note_names", '"C D E … H"', NoteNames.GERMAN),
    ("note_names", '"C D E F G A H"', NoteNames.GERMAN),
    ("paper", '"A4"', Paper.A4),
    ("paper", '"a4"', Paper.A4),
    ("paper", '"Letter"', Paper.LETTER),
    ("paper", '"us-letter"', Paper.LETTER),
    ("left_handed", "false", False),
    ("left_handed", '"no"', False),
]

BAD = [
    ("name", "7", "7"),
    ("name", "true", "True"),
    ("name", '["Mira"]', "Mira"),
    ("instrument", '"cello"', "cello"),
    ("instrument", '"Violin"', "Violin"),
    ("instrument", "1", "1"),
    ("instrument", '["violin"]', "violin"),
    ("size", '"5/8"', "5/8"),
    ("size", "0.75", "0.75"),
    ("size", "[]", "[]"),
    ("string_length_mm", '"305"', "305"),
    ("string_length_mm", "true", "True"),
    ("string_length_mm", "149", "149"),
    ("string_length_mm", "451", "451"),
    ("string_length_mm", "-305", "-305"),
    ("string_length_mm", "nan", "nan"),
    ("string_length_mm", "inf", "inf"),
    ("string_length_mm", "1979-05-27", "1979"),
    ("reach_mm", '"70"', "70"),
    ("reach_mm", "19.5", "19.5"),
    ("reach_mm", "151", "151"),
    ("reach_mm", "nan", "nan"),
    ("highest_position", '"3"', "3"),
    ("highest_position", "true", "True"),
    ("highest_position", "0", "0"),
    ("highest_position", "0.4", "0.4"),
    ("highest_position", "0.7", "0.7"),
    ("highest_position", "2.5", "2.5"),
    ("highest_position", "13", "13"),
    ("highest_position", "-1", "-1"),
    ("highest_position", "nan", "nan"),
    ("profile", '"expert"', "expert"),
    ("profile", '"Professional"', "Professional"),
    ("profile", "2", "2"),
    ("known_shapes", '"W-H-W"', "W-H-W"),
    ("known_shapes", "[212]", "212"),
    ("known_shapes", '["2-1-2"]', "2-1-2"),
    ("known_shapes", '["WHW"]', "WHW"),
    ("known_shapes", '["W-H"]', "W-H"),
    ("known_shapes", '["W-H-W-H"]', "W-H-W-H"),
    ("known_shapes", '["w-h-w"]', "w-h-w"),
    ("known_shapes", '["W-H-W", "W-?-W"]', "W-?-W"),
    ("known_shapes", '[["W-H-W"]]', "W-H-W"),
    ("shapes_in_work", '["WHW"]', "WHW"),
    ("known_positions", "3", "3"),
    ("known_positions", "[1, 13]", "13"),
    ("known_positions", '["first"]', "first"),
    ("known_double_stops", '"third"', "third"),
    ("known_double_stops", '["thirds"]', "thirds"),
    ("known_double_stops", "[3]", "3"),
    ("only_known_shapes", '"yes"', "yes"),
    ("weak_fourth_finger", '"yes"', "yes"),
    ("weak_fourth_finger", "1", "1"),
    ("short_fourth_finger", "1", "1"),
    ("open_strings", '"never"', "never"),
    ("open_strings", "false", "False"),
    ("extensions", "0", "0"),
    ("extensions", '"true"', "true"),
    ("lesson", '"2027-01-15"', "date"),
    ("lesson", "2027-01-15T10:00:00", "date"),
    ("lesson", "7", "date"),
    ("days_per_week", "0", "0"),
    ("days_per_week", "8", "8"),
    ("days", "0", "0"),
    ("days", "367", "367"),
    ("days", "1.5", "1.5"),
    ("minutes_per_day", "0", "0"),
    ("minutes_per_day", "301", "301"),
    ("minutes_per_day", "2.5", "2.5"),
    ("minutes_per_day", '"20"', "20"),
    ("minutes_per_day", "true", "True"),
    ("minutes_per_day", "1" + "0" * 400, "inf"),
    ("reach_mm", "-1" + "0" * 400, "-inf"),
    ("note_names", '"sargam"', "sargam"),
    ("note_names", '""', "letters"),
    ("note_names", "true", "solfège"),
    ("note_names", '"H B"', "german"),
    ("paper", '"A5"', "A5"),
    ("paper", "4", "Letter"),
    ("left_handed", "true", "mirror"),
    ("left_handed", '"yes"', "mirror"),
    ("left_handed", "0", "0"),
    ("left_handed", '"perhaps"', "perhaps"),
]


def _file(folder: Path, text: str) -> Path:
    path = folder / "player.toml"
    path.write_text(text, encoding="utf-8")
    return path


def _sentence(path: Path) -> str:
    with pytest.raises(PlayerError) as caught:
        read_player(path)
    sentence = str(caught.value)
    assert "\n" not in sentence
    assert sentence.startswith(str(path))
    return re.sub(r"^(, line \d+)?: ", "", sentence.removeprefix(str(path)))


@pytest.mark.parametrize(("field", "written", "value"), GOOD)
def test_good_values(tmp_path: Path, field: str, written: str, value: object) -> None:
    player = read_player(_file(tmp_path, f"{field} = {written}\n"))
    assert getattr(player, field) == value
    for other in fields(Player):
        if other.name != field:
            assert getattr(player, other.name) == other.default


@pytest.mark.parametrize(("field", "written", "value"), BAD)
def test_bad_values_name_the_field_and_the_value(
    tmp_path: Path, field: str, written: str, value: str
) -> None:
    sentence = _sentence(_file(tmp_path, f"{field} = {written}\n"))
    assert sentence.startswith(f"{field}: ")
    assert value in sentence


def test_a_wrong_value_is_named_with_its_line(tmp_path: Path) -> None:
    path = _file(tmp_path, '# Mira\nname = "Mira"\n"note_names" = "abcd"\npaper = "A4"\n')
    with pytest.raises(PlayerError) as caught:
        read_player(path)
    assert str(caught.value).startswith(f"{path}, line 3: note_names: 'abcd' is not known; ")
    path = _file(tmp_path, 'known_shapes = ["W-H-W",\n  "W-H"]\n')
    with pytest.raises(PlayerError, match="line 1: known_shapes"):
        read_player(path)


def test_every_field_is_tried_both_ways() -> None:
    names = {field.name for field in fields(Player)}
    assert {field for field, _, _ in GOOD} == names
    assert {field for field, _, _ in BAD} == names


def test_keeping_to_known_shapes_needs_some(tmp_path: Path) -> None:
    sentence = _sentence(_file(tmp_path, "only_known_shapes = true\n"))
    assert "known_shapes" in sentence
    path = _file(tmp_path, 'only_known_shapes = true\nknown_shapes = ["W-H-W"]\n')
    assert read_player(path).only_known_shapes


def test_a_whole_file(tmp_path: Path) -> None:
    path = _file(
        tmp_path,
        'name = "Mira"\ninstrument = "violin"\nsize = "3/4"\nreach_mm = 70\n'
        'highest_position = 3\nprofile = "developing-player"\n'
        'known_shapes = ["W-H-W", "H-W-W"]\nweak_fourth_finger = true\n'
        'open_strings = "avoid"\nextensions = false\nminutes_per_day = 20\n',
    )
    assert read_player(path) == Player(
        name="Mira",
        instrument="violin",
        size="3/4",
        reach_mm=70.0,
        highest_position=3,
        profile=Profile.DEVELOPING_PLAYER,
        known_shapes=("W-H-W", "H-W-W"),
        weak_fourth_finger=True,
        open_strings="avoid",
        extensions=False,
        minutes_per_day=20,
    )
    assert read_player(str(path)) == read_player(path)


@pytest.mark.parametrize("text", ["", "# nobody yet\n", "\n\n"])
def test_an_empty_file_is_the_usual_player(tmp_path: Path, text: str) -> None:
    assert read_player(_file(tmp_path, text)) == Player()


@pytest.mark.parametrize("field", ["reach", "Name", "highest position", "", "__class__"])
def test_an_unknown_field_is_answered_with_the_fields(tmp_path: Path, field: str) -> None:
    sentence = _sentence(_file(tmp_path, f'"{field}" = 1\n'))
    assert sentence.startswith(f"{field}: ")
    for known in fields(Player):
        assert known.name in sentence


def test_a_table_is_an_unknown_field(tmp_path: Path) -> None:
    assert _sentence(_file(tmp_path, "[player]\nname = 'Mira'\n")).startswith("player: ")


@pytest.mark.parametrize(
    "text",
    [
        "name = ", "name = Mira", "name 'Mira'", '= "Mira"', 'name = "A"\nname = "B"', "{}", "\x00",
        f"reach_mm = {'1' * 5000}", f"known_shapes = {'[' * 5000}",
    ],
    ids=lambda text: repr(text[:20]),
)  # fmt: skip
def test_what_is_not_toml(tmp_path: Path, text: str) -> None:
    assert "not a TOML file" in _sentence(_file(tmp_path, text))


def test_a_missing_file(tmp_path: Path) -> None:
    assert "cannot be read" in _sentence(tmp_path / "nobody.toml")


def test_a_folder(tmp_path: Path) -> None:
    assert "cannot be read" in _sentence(tmp_path)


@pytest.mark.parametrize("data", [b'name = "J\xe4ger"\n', b"\xff\xfen\x00a\x00", b"\x80\x80"])
def test_what_is_not_utf_8(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "player.toml"
    path.write_bytes(data)
    assert "UTF-8" in _sentence(path)


def test_utf_8_with_a_byte_order_mark(tmp_path: Path) -> None:
    # Common practice, no published source: some editors save UTF-8 with a byte order mark.
    path = tmp_path / "player.toml"
    path.write_bytes('\ufeffname = "Mira"\n'.encode())
    assert read_player(path).name == "Mira"


@pytest.mark.parametrize(("value", "position"), [(0.5, 0), (1, 1), (3.0, 3), (12, 12)])
def test_highest_position_of_an_option(value: float, position: int) -> None:
    assert highest_position_from("--highest-position", value) == position


@pytest.mark.parametrize("value", ["0", "13", "2.5", "nan"])
def test_a_wrong_option_ends_the_command_with_one_sentence(sample: Path, value: str) -> None:
    result = CliRunner().invoke(app, ["report", str(sample), "--highest-position", value])
    assert isinstance(result.exception, PlayerError)
    assert str(result.exception).startswith("--highest-position: ")


def test_the_command_names_the_field_and_ends_with_code_2(sample: Path, tmp_path: Path) -> None:
    path = _file(tmp_path, "minutes_per_day = 0\n")
    result = subprocess.run(
        [sys.executable, "-c", "from scoretools.cli.main import run; run()", "report", str(sample),
         "--player", str(path)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert result.returncode == 2
    assert result.stdout == ""
    assert result.stderr.strip().splitlines() == [
        f"scoretools: {path}, line 1: minutes_per_day: 0 is outside 1 to 300 minutes."
    ]


@pytest.fixture
def sample() -> Path:
    return Path(__file__).parent.parent / "sample_scores" / "01_first_steps.musicxml"
