"""``scoretools agreement`` as its user calls it."""

import json
import os
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Command = Callable[..., Any]

CHECK_DATA = os.environ.get("SCORETOOLS_CHECK_DATA")

needs_check_data = pytest.mark.skipif(
    not CHECK_DATA, reason="SCORETOOLS_CHECK_DATA names no folder of check data"
)

ONE_PROCESS = ("--jobs", "1", "--profile", "first-position-student")

HEAD = (
    '<?xml version="1.0" encoding="UTF-8"?><score-partwise version="4.0"><part-list>{parts}'
    "</part-list>"
)


def note(step: str, octave: int, finger: int | None) -> str:
    mark = ""
    if finger is not None:
        mark = f"<notations><technical><fingering>{finger}</fingering></technical></notations>"
    return (
        f"<note><pitch><step>{step}</step><octave>{octave}</octave></pitch>"
        f"<duration>1</duration><voice>1</voice>{mark}</note>"
    )


def score(*parts: str, name: str = "Violin") -> str:
    """A score of one bar in each part; words are a letter, an octave and perhaps a finger."""
    names, music = "", ""
    for number, words in enumerate(parts, start=1):
        names += f'<score-part id="P{number}"><part-name>{name} {number}</part-name></score-part>'
        notes = "".join(
            note(word[0], int(word[1]), int(word[3]) if len(word) > 2 else None)
            for word in words.split()
        )
        music += (
            f'<part id="P{number}"><measure number="1"><attributes><divisions>1</divisions>'
            "<time><beats>3</beats><beat-type>4</beat-type></time></attributes>"
            f"{notes}</measure></part>"
        )
    return f"{HEAD.format(parts=names)}{music}</score-partwise>"


TABLE = "pitch,start,duration,beat_type,string,position,finger\n{rows}\n"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Two études of a book, one with a wrong finger, a duo, two players, and other files."""
    inner = tmp_path / "music" / "more"
    inner.mkdir(parents=True)
    outer = inner.parent
    (outer / "study_01.musicxml").write_text(score("A3:1 B3:2 C4:3"), encoding="utf-8")
    (outer / "study_02.musicxml").write_text(score("A3:1 B3:3 C4"), encoding="utf-8")
    (inner / "duo.xml").write_text(score("A3 B3 C4", "A3:1 B3 C4"), encoding="utf-8")
    for number, rows in (
        (1, "57,0,1,3,1,1,1\n59,1,1,3,1,1,2"),
        (2, "57,0,1,3,1,1,1\n59,1,1,3,1,2,1"),
    ):
        path = inner / f"vio{number}_air.csv"
        path.write_text(TABLE.format(rows=rows), encoding="utf-8")
    (outer / "notes.txt").write_text("no score", encoding="utf-8")
    return outer


def test_a_folder_is_searched_and_told_file_by_file(command: Command, folder: Path) -> None:
    ended = command("agreement", folder, *ONE_PROCESS)
    assert (ended.code, ended.err) == (0, "")
    lines = [re.sub(r"\s*\|\s*", "|", line) for line in ended.out.splitlines()]
    assert any(line.startswith("|study_01.musicxml|3|3|1.000|–|1.000|") for line in lines)
    assert any(line.startswith("|study_02.musicxml|3|2|0.500|–|0.500|") for line in lines)
    assert any(line.startswith("|duo.xml|3|1|1.000|–|1.000|") for line in lines)
    assert any(line.startswith("|air|2|2|0.750|1.000|0.750|1.000|") for line in lines)
    assert any(line.startswith("|study|6|5|0.800|") for line in lines)
    assert any(line.startswith("|mean over 1 book and 2 pieces|11|8|0.850|") for line in lines)
    assert "Given all marks: 1.000 honoured (6 of 6)." in ended.out
    assert "\x1b" not in ended.out


def test_json_has_the_same_figures(command: Command, folder: Path) -> None:
    ended = command("agreement", folder, "--json", *ONE_PROCESS)
    data = json.loads(ended.out)
    by_name = {Path(entry["file"]).name: entry for entry in data["files"]}
    assert sorted(by_name) == ["air", "duo.xml", "study_01.musicxml", "study_02.musicxml"]
    assert by_name["study_02.musicxml"]["finger"] == 0.5
    assert by_name["study_02.musicxml"]["string"] is None
    assert by_name["air"]["all"] == 0.75
    assert by_name["air"]["any"] == 1.0
    assert data["books"]["study"]["finger"] == 0.8
    assert data["macro"]["finger"] == pytest.approx((0.8 + 1 + 0.75) / 3)
    assert data["total"]["marks"] == 8
    assert data["total"]["finger"] == pytest.approx((4 + 1 + 1.5) / 8)


def test_several_processes_find_the_same(program: Command, folder: Path) -> None:
    alone = program("agreement", folder, "--json", "--jobs", "1")
    together = program("agreement", folder, "--json", "--jobs", "2")
    assert alone.code == together.code == 0
    assert json.loads(alone.out) == json.loads(together.out)


def test_differences_are_listed(command: Command, folder: Path) -> None:
    ended = command("agreement", folder / "study_02.musicxml", "--list", *ONE_PROCESS)
    listed = ended.out.partition("Where edition and tool differ:")[2]
    (row,) = [line for line in listed.splitlines() if "B3" in line]
    cells = [cell.strip() for cell in row.strip("|").split("|")]
    assert cells[:5] == ["study_02.musicxml", "bar 1", "B3", "3", "2, G string, 1st position"]
    assert float(cells[6]) >= float(cells[5]) > 0


def test_differences_stand_in_the_json_if_asked_for(command: Command, folder: Path) -> None:
    path = folder / "study_02.musicxml"
    plain = json.loads(command("agreement", path, "--json", *ONE_PROCESS).out)
    assert "differences" not in plain["files"][0]
    listed = json.loads(command("agreement", path, "--json", "--list", *ONE_PROCESS).out)
    (one,) = listed["files"][0]["differences"]
    assert (one["bar"], one["note"], one["printed"]) == ("1", "B3", "3")


def test_given_marks(command: Command, folder: Path) -> None:
    path = folder / "study_02.musicxml"
    ended = command("agreement", path, "--given", "80", *ONE_PROCESS)
    assert "With the marks of the other bars given: 0.500 of the hidden fingers right" in ended.out
    data = json.loads(command("agreement", path, "--given", "80", "--json", *ONE_PROCESS).out)
    assert data["total"]["given"]["finger"] == 0.5
    assert data["macro"]["given"] == 0.5


@pytest.mark.parametrize("share", ["100", "-1", "many", "nan"])
def test_a_share_that_is_none(command: Command, folder: Path, share: str) -> None:
    ended = command("agreement", folder, "--given", share)
    assert ended.code == 2
    assert f"--given: “{share}” is no share of bars" in ended.err


def test_all_violin_parts_with_marks_or_the_one_asked_for(command: Command, folder: Path) -> None:
    path = folder / "both.musicxml"
    path.write_text(score("A3:1 B3 C4", "A3 B3:3 C4:3"), encoding="utf-8")
    data = json.loads(command("agreement", path, "--json", *ONE_PROCESS).out)["total"]
    assert (data["notes"], data["marks"], data["finger"]) == (6, 3, pytest.approx(2 / 3))
    data = json.loads(command("agreement", path, "--json", "--part", "2", *ONE_PROCESS).out)
    assert (data["total"]["marks"], data["total"]["finger"]) == (2, 0.5)


@pytest.mark.parametrize("more", [(), ("--json",), ("--list",), ("--given", "80")])
def test_without_any_marks_there_is_nothing_to_compare(
    command: Command, tmp_path: Path, more: tuple[str, ...]
) -> None:
    for name in ("plain.musicxml", "other.musicxml"):
        (tmp_path / name).write_text(score("A3 B3 C4"), encoding="utf-8")
    ended = command("agreement", tmp_path, *more, *ONE_PROCESS)
    assert (ended.code, ended.out) == (2, "")
    assert "no fingers are printed, so there is nothing to compare; name scores" in ended.err
    assert ended.err.count("\n") == 1


def test_a_part_without_marks_is_named(command: Command, folder: Path) -> None:
    ended = command("agreement", folder / "more" / "duo.xml", "--part", "1", *ONE_PROCESS)
    assert ended.code == 2
    assert "no fingers are printed in part “1”" in ended.err


def test_a_score_without_marks_among_others_is_named_and_left_out(
    command: Command, folder: Path
) -> None:
    path = folder / "plain.musicxml"
    path.write_text(score("A3 B3 C4"), encoding="utf-8")
    files = (path, folder / "study_02.musicxml")
    ended = command("agreement", *files, *ONE_PROCESS)
    assert ended.code == 0
    assert "Left out, since no fingers are printed there: plain.musicxml." in ended.out
    assert not re.search(r"^\| plain", ended.out, flags=re.MULTILINE)
    data = json.loads(command("agreement", *files, "--json", *ONE_PROCESS).out)
    assert data["total"]["notes"] == 6
    assert [entry["finger"] for entry in data["files"]] == [None, 0.5]


def test_files_alone_are_pieces_and_not_books(command: Command, folder: Path) -> None:
    files = (folder / "study_02.musicxml", folder / "more" / "duo.xml")
    ended = command("agreement", *files, *ONE_PROCESS)
    assert "mean over 2 pieces" in ended.out
    assert "ook" not in ended.out


def test_one_piece_has_no_mean(command: Command, folder: Path) -> None:
    ended = command("agreement", folder / "study_02.musicxml", "--given", "80", *ONE_PROCESS)
    assert "ook" not in ended.out
    assert "(mean over 5 draws, " in ended.out


def test_movements_of_different_folders_are_different_books(
    command: Command, tmp_path: Path
) -> None:
    for work in ("opus1", "opus2"):
        (tmp_path / work).mkdir()
        for movement in ("movement1.musicxml", "movement2.musicxml"):
            (tmp_path / work / movement).write_text(score("A3:1 B3 C4"), encoding="utf-8")
    ended = command("agreement", tmp_path, "--json", *ONE_PROCESS)
    assert list(json.loads(ended.out)["books"]) == ["opus1", "opus2"]
    assert "mean over 2 books" in command("agreement", tmp_path, *ONE_PROCESS).out


def test_an_upbeat_is_called_so_in_the_list(command: Command, folder: Path) -> None:
    path = folder / "upbeat.musicxml"
    whole = '<measure number="2"><note><rest/><duration>3</duration></note></measure></part>'
    text = score("B3:3").replace("</part>", whole).replace('number="1"', 'number="0"')
    path.write_text(text, encoding="utf-8")
    ended = command("agreement", path, "--list", *ONE_PROCESS)
    assert "| the upbeat | B3" in ended.out


def test_auto_is_the_default_ceiling(command: Command, folder: Path) -> None:
    plain = command("agreement", folder, "--json", "--jobs", "1")
    auto = command("agreement", folder, "--json", "--jobs", "1", "--highest-position", "auto")
    assert plain.out == auto.out
    wrong = command("agreement", folder, "--highest-position", "high")
    assert wrong.code == 2
    assert "--highest-position: “high” is not a number" in wrong.err


# ── what cannot be read ─────────────────────────────────────────────────────────────────────────


def test_a_bad_file_is_told_and_the_rest_is_measured(command: Command, folder: Path) -> None:
    (folder / "bad.musicxml").write_text("no music", encoding="utf-8")
    (folder / "vio1_bad.csv").write_text("pitch,start\n", encoding="utf-8")
    ended = command("agreement", folder, *ONE_PROCESS)
    assert ended.code == 0
    assert "study_01.musicxml" in ended.out
    told = ended.err.splitlines()
    assert len(told) == 2
    assert any(line.startswith("scoretools: bad.musicxml: ") for line in told)
    assert any("vio1_bad.csv" in line and "heading duration" in line for line in told)
    assert all(line.endswith("; it is left out.") for line in told)


def test_nothing_that_can_be_read_is_an_error(command: Command, tmp_path: Path) -> None:
    for name in ("a.musicxml", "b.musicxml"):
        (tmp_path / name).write_text("no music", encoding="utf-8")
    ended = command("agreement", tmp_path, *ONE_PROCESS)
    assert (ended.code, ended.out) == (2, "")
    assert ended.err.startswith("scoretools: a.musicxml: this is not XML")
    assert ended.err.endswith("(and 1 more that cannot be measured).\n")
    assert ended.err.count("\n") == 1


@pytest.mark.parametrize("name", ["empty", "gone.musicxml"])
def test_no_scores_at_all(command: Command, tmp_path: Path, name: str) -> None:
    (tmp_path / "empty").mkdir()
    ended = command("agreement", tmp_path / name)
    assert (ended.code, ended.out) == (2, "")
    assert name in ended.err
    assert ended.err.count("\n") == 1


def test_a_player_of_another_instrument(command: Command, folder: Path) -> None:
    player = folder / "player.toml"
    player.write_text('instrument = "viola"\n', encoding="utf-8")
    ended = command("agreement", folder / "study_01.musicxml", "--player", player, "--jobs", "1")
    assert ended.code == 2
    assert "the player plays the viola" in ended.err


@pytest.mark.parametrize("jobs", ["-1", "two"])
def test_files_at_a_time_are_a_number_from_0(command: Command, folder: Path, jobs: str) -> None:
    ended = command("agreement", folder, "--jobs", jobs)
    assert (ended.code, ended.out) == (2, "")
    assert ended.err == (
        f"scoretools: --jobs: “{jobs}” will not do; write a whole number, 0 or more.\n"
    )


# ── check data ──────────────────────────────────────────────────────────────────────────────────


@needs_check_data
def test_players_of_one_excerpt_are_one_line(command: Command) -> None:
    tables = sorted((Path(CHECK_DATA or "") / "annotated" / "tnua").glob("vio*_elgar.csv"))
    ended = command("agreement", *tables, "--json", "--jobs", "1")
    data = json.loads(ended.out)
    (entry,) = data["files"]
    assert Path(entry["file"]).name == "elgar"
    assert entry["notes"] == 253
    assert 0 < entry["all"] <= entry["finger"] <= 1
    assert entry["finger"] < entry["any"] <= 1


@needs_check_data
def test_a_printed_book(command: Command) -> None:
    files = sorted((Path(CHECK_DATA or "") / "fingered" / "students").glob("rieding_op36_*"))
    data = json.loads(command("agreement", *files, "--json", "--jobs", "1").out)
    assert list(data["books"]) == ["rieding_op36"]
    assert data["total"]["marks"] == sum(entry["marks"] for entry in data["files"]) == 137
    assert data["macro"]["finger"] == data["total"]["finger"]
    assert data["total"]["honoured"] >= 0.995
