"""``scoretools sheets``: a studio of an invented teacher on one piece."""

from pathlib import Path

import pandas as pd
import pytest

from tests.cli.conftest import Command

SAMPLES = sorted((Path(__file__).resolve().parents[2] / "sample_scores").glob("*.musicxml"))


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    folder = tmp_path / "studio"
    folder.mkdir()
    for name, lines in {
        "mira": 'name = "Mira"\nprofile = "first-position-student"\nminutes_per_day = 10\n',
        "jonas": 'name = "Jonas"\nknown_shapes = ["W-H-W", "H-W-W"]\n',
        "lea": 'name = "Lea"\nweak_fourth_finger = true\nminutes_per_day = 40\n',
    }.items():
        (folder / f"{name}.toml").write_text(lines, "utf-8")
    return folder


def test_every_player_has_a_sheet_and_the_studio_an_overview(
    command: Command, studio: Path, tmp_path: Path
) -> None:
    ended = command("sheets", SAMPLES[1], "--studio", studio, "--out", tmp_path / "out")
    assert ended.code == 0
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == [
        "Jonas.pdf", "Lea.pdf", "Mira.pdf", "overview.csv", "overview.pdf",
    ]  # fmt: skip
    table = pd.read_csv(tmp_path / "out" / "overview.csv")
    assert list(table.columns) == ["drill", "players", "Jonas", "Lea", "Mira"]
    assert list(table.players) == sorted(table.players, reverse=True)
    counted = (table[["Jonas", "Lea", "Mira"]] > 0).sum(axis=1)
    assert list(counted) == list(table.players)
    known = table[table.drill.str.startswith("H-W-W on the A string")]
    assert (known.Jonas == 0).all()
    assert (known.Lea > 0).all()
    assert "3 of 3: " in ended.out


def test_a_spoiled_file_is_named_and_the_others_are_served(
    command: Command, studio: Path, tmp_path: Path
) -> None:
    (studio / "wrong.toml").write_text("minutes_per_day = 0\n", "utf-8")
    (studio / "violist.toml").write_text('instrument = "viola"\n', "utf-8")
    ended = command("sheets", SAMPLES[1], "--studio", studio, "--out", tmp_path / "out")
    assert ended.code == 0
    assert "Skipped: " in ended.out
    assert "wrong.toml, line 1: minutes_per_day" in ended.out
    assert "violist.toml" in ended.out
    assert (tmp_path / "out" / "Mira.pdf").exists()


def test_a_part_without_a_name_is_told_by_its_file(
    command: Command, studio: Path, tmp_path: Path
) -> None:
    tune = tmp_path / "tune.abc"
    tune.write_text("X:1\nT:Tune\nM:4/4\nL:1/4\nK:D\nDEFG|ABcd|dcBA|GFED|\n", "utf-8")
    (studio / "violist.toml").write_text('instrument = "viola"\n', "utf-8")
    told = command("sheets", tune, "--studio", studio, "--out", tmp_path / "out").out
    assert "but tune.abc is for violin; choose a part or a score for viola" in told
    assert "“”" not in told


def test_two_players_of_one_name_have_a_sheet_each(
    command: Command, studio: Path, tmp_path: Path
) -> None:
    (studio / "mira2.toml").write_text('name = "Mira"\n', "utf-8")
    (studio / "odd.toml").write_text('name = "../a/b: c"\n', "utf-8")
    command("sheets", SAMPLES[1], "--studio", studio, "--out", tmp_path / "out")
    names = {path.name for path in (tmp_path / "out").iterdir()}
    assert {"Mira.pdf", "mira2.pdf", "a_b_c.pdf"} <= names


@pytest.mark.parametrize("folder", ["empty", "missing"])
def test_a_studio_without_players_is_one_sentence(
    folder: str, command: Command, tmp_path: Path
) -> None:
    (tmp_path / "empty").mkdir()
    ended = command("sheets", SAMPLES[1], "--studio", tmp_path / folder, "--out", tmp_path / "out")
    assert ended.code == 2
    assert "no player files" in ended.err
