"""A piece against several players, small enough to count by hand."""

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from scoretools.agreement import Share, measure_players, share_of
from scoretools.player import Player, Profile
from scoretools.read.annotated import AnnotatedPart, read_annotated

CHECK_DATA = os.environ.get("SCORETOOLS_CHECK_DATA")

needs_check_data = pytest.mark.skipif(
    not CHECK_DATA, reason="SCORETOOLS_CHECK_DATA names no folder of check data"
)

STUDENT = Player(profile=Profile.FIRST_POSITION_STUDENT)

Tables = Callable[..., list[AnnotatedPart]]


@pytest.fixture
def tables(tmp_path: Path) -> Tables:
    """Write and read one table for each player; words are ``pitch/string/position/finger``."""

    def read(*players: str) -> list[AnnotatedPart]:
        made = []
        for number, words in enumerate(players, start=1):
            rows = ["pitch,start,duration,beat_type,string,position,finger"]
            for beat, word in enumerate(words.split()):
                pitch, string, position, finger = word.split("/")
                rows.append(f"{pitch},{beat},1,3,{string},{position},{finger}")
            path = tmp_path / f"vio{number}_piece.csv"
            path.write_text("\n".join(rows) + "\n", encoding="utf-8")
            made.append(read_annotated(path))
        return made

    return read


def test_figures_are_means_over_the_players(tables: Tables) -> None:
    # A3 B3 C4 are 1 2 3 on the lowest string in first position.
    tally = measure_players(
        tables(
            "57/1/1/1 59/1/1/2 60/1/1/3",  # as the tool: 3 of 3
            "57/1/1/1 59/1/2/1 60/1/2/2",  # 1 of 3 fingers, 3 of 3 strings
        ),
        STUDENT,
    )
    assert (tally.notes, tally.marks) == (3, 3)
    assert share_of(tally.hits.finger) == pytest.approx((1 + 1 / 3) / 2)
    assert share_of(tally.hits.string) == 1
    assert share_of(tally.hits.everything) == pytest.approx((1 + 1 / 3) / 2)
    assert tally.any_player == Share(3, 3)


def test_any_player_asks_for_string_and_finger_of_one_of_them(tables: Tables) -> None:
    tally = measure_players(
        tables("57/1/1/1 59/1/1/3 60/1/2/2", "57/1/1/2 59/1/1/2 60/1/2/2"), STUDENT
    )
    assert tally.any_player == Share(2, 3)
    assert share_of(tally.hits.finger) == pytest.approx((1 / 3 + 1 / 3) / 2)


def test_the_position_counts_but_on_open_strings(tables: Tables) -> None:
    tally = measure_players(tables("55/1/3/0 57/1/3/1"), STUDENT)
    assert tally.hits.finger == Share(2, 2)
    assert tally.hits.everything == Share(1, 2)


def test_players_whose_rows_differ_are_laid_beside_each_other(tables: Tables) -> None:
    tally = measure_players(
        tables(
            "57/1/1/1 59/1/1/2 60/1/1/3 59/1/1/2",
            "57/1/1/1 59/1/1/2 60/1/1/3 59/1/1/2",
            "57/1/1/1 60/1/1/3 59/1/1/3",  # lacks the second note: 2 of 3
        ),
        STUDENT,
    )
    assert tally.notes == 4
    assert share_of(tally.hits.finger) == pytest.approx((1 + 1 + 2 / 3) / 3)
    assert tally.any_player == Share(4, 4)


def test_the_piece_is_taken_as_most_have_it(tables: Tables) -> None:
    tally = measure_players(tables("57/1/1/1", "57/1/1/1 59/1/1/2", "57/1/1/1 59/1/1/2"), STUDENT)
    assert tally.notes == 2
    assert tally.hits.finger == Share(2, 2)


def test_rules_are_measured_alike(tables: Tables) -> None:
    # The open D: the first rule says 4 on the G string, the lowest position says open.
    tally = measure_players(tables("62/2/1/0 57/1/1/1", "62/1/1/4 57/1/1/1"), STUDENT)
    first, lowest = tally.rules
    assert first.everything == Share(1.5, 2)
    assert lowest.everything == Share(1.5, 2)
    one = measure_players(tables("62/2/1/0 57/1/1/1"), STUDENT)
    assert [hits.everything for hits in one.rules] == [Share(1, 2), Share(2, 2)]


def test_certainty_counts_every_note_with_a_choice(tables: Tables) -> None:
    tally = measure_players(tables("55/1/1/0 57/1/1/1 59/1/1/2"), STUDENT)
    assert sum(band.notes for band in tally.bands) == 2  # the open G lies in one place
    assert sum(band.finger.of for band in tally.bands) == 2


@needs_check_data
def test_an_excerpt_of_the_check_data() -> None:
    folder = Path(CHECK_DATA or "") / "annotated" / "tnua"
    files = sorted(folder.glob("vio*_wind.csv"))
    assert len(files) == 10
    tally = measure_players([read_annotated(file) for file in files])
    assert tally.notes == tally.marks == 195
    assert 0.3 < (share_of(tally.hits.everything) or 0) < (share_of(tally.any_player) or 0) < 1
