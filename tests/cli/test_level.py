"""``scoretools level``: the level, its reasons and its features, for people and for programs."""

import json
from pathlib import Path

import pytest

from scoretools.difficulty import FEATURES
from tests.cli.conftest import Command

SAMPLES = sorted((Path(__file__).resolve().parents[2] / "sample_scores").glob("*.musicxml"))


@pytest.mark.parametrize("rubric", ["bands", "index"])
@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_a_level_says_what_it_rests_on(path: Path, rubric: str, command: Command) -> None:
    ended = command("level", path, "--rubric", rubric)
    assert ended.code == 0
    assert f"By the rubric “{rubric}”" in ended.out
    assert "of the left hand only" in ended.out
    assert "developing player" in ended.out
    assert "tempo" in ended.out
    assert "divisi: auto" in ended.out
    assert "Hardest bars first" in ended.out
    assert ended.out.count("\n- ") >= len(FEATURES)


def test_a_beginners_piece_is_easier_than_one_in_third_position(command: Command) -> None:
    # The first sample score stays in first position with one shape; the fourth shifts to third.
    values = [
        json.loads(command("level", SAMPLES[place], "--rubric", rubric, "--json").out)["value"]
        for rubric in ("bands", "index")
        for place in (0, 3)
    ]
    assert values[0] < values[1]
    assert values[2] < values[3]


def test_programs_are_told_everything(command: Command) -> None:
    told = json.loads(command("level", SAMPLES[1], "--json").out)
    assert [feature["name"] for feature in told["features"]] == list(FEATURES)
    assert told["rubric"] == "bands"
    assert told["about"].startswith("of the left hand only")


def test_a_rubric_of_ones_own(command: Command, tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text("name = 3\n", "utf-8")
    ended = command("level", SAMPLES[0], "--rubric", path)
    assert ended.code == 2
    assert "mine.toml" in ended.err
    assert ended.err.count("\n") == 1
    ended = command("level", SAMPLES[0], "--rubric", tmp_path / "none.toml")
    assert ended.code == 2
    assert "none.toml" in ended.err
