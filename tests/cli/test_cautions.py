"""The cautions stand in everything that says what to practise, whatever was asked for."""

import json
from collections.abc import Iterator
from io import BytesIO
from itertools import combinations, cycle
from pathlib import Path

import pytest
from icalendar import Calendar
from pypdf import PdfReader

from scoretools.cli.report_files import EDITIONS, KINDS
from scoretools.drills.choose import CAUTIONS
from scoretools.note_names import NoteNames
from scoretools.player import Paper, Player
from tests.cli.conftest import SAMPLES, Command

SCORE = SAMPLES[0]

WITH_DRILLS = ("report.html", "drills.pdf")
"""Files of a report that a person practises from."""


def words(path: Path) -> str:
    """What a file says, its spaces as if they were one."""
    if path.suffix == ".pdf":
        pages = PdfReader(BytesIO(path.read_bytes())).pages
        return " ".join(" ".join(page.extract_text() for page in pages).split())
    if path.suffix == ".ics":
        calendar = Calendar.from_ical(path.read_bytes())
        return " ".join(str(one["description"]) for one in (calendar, *calendar.walk("VEVENT")))
    return path.read_text("utf-8")


def assert_cautioned(text: str) -> None:
    flat = " ".join(text.split())
    for caution in CAUTIONS:
        assert caution in flat, caution


def player(folder: Path, names: NoteNames, *lines: str) -> Path:
    path = folder / f"{names.name}.toml"
    path.write_text("\n".join((f'note_names = "{names}"', *lines)), encoding="utf-8")
    return path


MORE = ((), ("--large",), ("--note-names", "--mm"), ("--ignore-marks",))


@pytest.mark.parametrize(
    ("names", "edition", "more"),
    [
        *((names, edition, ()) for names in NoteNames for edition in EDITIONS),
        *((NoteNames.LETTERS, EDITIONS[-1], more) for more in MORE[1:]),
    ],
)
def test_every_report(
    names: NoteNames, edition: str, more: tuple[str, ...], tmp_path: Path, command: Command
) -> None:
    who = player(tmp_path, names)
    ended = command("report", SCORE, "--player", who, "--out", tmp_path / "out", "--for", edition,
                    "--only", "page", "--only", "book", *more)  # fmt: skip
    assert ended.code == 0, ended.err
    assert_cautioned(ended.out)
    for name in WITH_DRILLS:
        assert_cautioned(words(tmp_path / "out" / name))


def kinds() -> Iterator[tuple[str, ...]]:
    """Every kind alone, and all but one."""
    for count in (1, len(KINDS) - 1):
        yield from combinations(KINDS, count)


@pytest.mark.parametrize("only", list(kinds()), ids="+".join)
def test_every_kind_of_file(only: tuple[str, ...], tmp_path: Path, command: Command) -> None:
    options = [word for kind in only for word in ("--only", kind)]
    ended = command("report", SCORE, "--out", tmp_path, *options)
    assert ended.code == 0, ended.err
    assert_cautioned(ended.out)
    for path in tmp_path.iterdir():
        if path.name in WITH_DRILLS:
            assert_cautioned(words(path))


@pytest.mark.parametrize(
    ("names", "lines"),
    [
        *((names, ()) for names in NoteNames),
        (NoteNames.GERMAN, ('paper = "Letter"', "minutes_per_day = 1", "days = 1")),
        (NoteNames.LETTERS, ('known_shapes = ["W-H-W", "H-W-W", "W-W-H"]', "days_per_week = 1")),
        (NoteNames.LETTERS, ('profile = "professional"', "minutes_per_day = 60")),
    ],
)
def test_every_plan(
    names: NoteNames, lines: tuple[str, ...], tmp_path: Path, command: Command
) -> None:
    out = tmp_path / "plan"
    ended = command("plan", SAMPLES[0], SAMPLES[1], "--player", player(tmp_path, names, *lines),
                    "--out", out, "--log", tmp_path / "practice.txt")  # fmt: skip
    assert ended.code == 0, ended.err
    assert_cautioned(ended.out)
    for name in ("plan.pdf", "plan.html", "plan.ics"):
        assert_cautioned(words(out / name))
    for event in Calendar.from_ical((out / "plan.ics").read_bytes()).walk("VEVENT"):
        assert_cautioned(str(event["description"]))
    # The table of all days and the sheet of every day each have them.
    days = len(Calendar.from_ical((out / "plan.ics").read_bytes()).walk("VEVENT"))
    assert words(out / "plan.pdf").count(CAUTIONS[2]) == days + 1


@pytest.mark.parametrize(("names", "paper"), list(zip(NoteNames, cycle(Paper), strict=False)))
def test_every_sheet_of_a_studio(
    names: NoteNames, paper: Paper, tmp_path: Path, command: Command
) -> None:
    studio, out = tmp_path / "studio", tmp_path / "out"
    studio.mkdir()
    player(studio, names, 'name = "Ana"')
    (studio / "uli.toml").write_text('name = "Uli"\nminutes_per_day = 5\n', "utf-8")
    ended = command("sheets", SCORE, "--studio", studio, "--out", out, "--paper", paper)
    assert ended.code == 0, ended.err
    assert_cautioned(ended.out)
    for name in ("Ana.pdf", "Uli.pdf", "overview.pdf"):
        assert_cautioned(words(out / name))


def test_a_part_without_drills_is_cautioned_too(tmp_path: Path, command: Command) -> None:
    shapes = json.dumps(["W-H-W", "H-W-W", "W-W-H", "W-W-W"])
    who = player(tmp_path, NoteNames.LETTERS, f"known_shapes = {shapes}")
    ended = command("report", SCORE, "--player", who, "--out", tmp_path / "out")
    assert "Nothing here that this player does not know already" in ended.out
    assert_cautioned(ended.out)
    for name in WITH_DRILLS:
        assert_cautioned(words(tmp_path / "out" / name))


def test_no_field_of_a_player_speaks_of_cautions() -> None:
    assert not [field for field in Player.__dataclass_fields__ if "caution" in field]
