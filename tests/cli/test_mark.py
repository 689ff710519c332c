"""``scoretools mark``: the marked score, the marks file, and what is refused."""

import os
import re
import shutil
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from scoretools.analysis import analyse
from scoretools.marks_file import apply_marks_file
from scoretools.model import Analysis
from scoretools.read import read_part

Command = Callable[..., Any]

SAMPLES = sorted((Path(__file__).resolve().parents[2] / "sample_scores").glob("*.musicxml"))
TUNE = "X:1\nT:Reel\nM:4/4\nL:1/4\nK:D\nD F A d|e c A B|\n"


def stops(analysis: Analysis) -> list[object]:
    return [choice.stop for step in analysis.steps for choice in step.choices]


def assert_refused(ended: Any, *words: str) -> None:
    assert (ended.code, ended.out) == (2, "")
    assert ended.err.count("\n") == 1
    for word in words:
        assert word in ended.err


# ── the marked score ────────────────────────────────────────────────────────────────────────────


def test_a_score_is_marked_into_another_file(command: Command, tmp_path: Path) -> None:
    score, out = SAMPLES[1], tmp_path / "new.musicxml"
    before = score.read_bytes()
    ended = command("mark", score, "--out", out)
    assert (ended.code, ended.err) == (0, "")
    assert ended.out == f"Written into {out}: the marked score.\n"
    assert score.read_bytes() == before
    assert out.read_bytes().count(b"<fingering") > before.count(b"<fingering")
    assert stops(analyse(read_part(out))) == stops(analyse(read_part(score)))


def test_amounts(command: Command, tmp_path: Path) -> None:
    counts = []
    for amount in ("none", "sparse", "all"):
        out = tmp_path / f"{amount}.musicxml"
        assert command("mark", SAMPLES[1], "--out", out, "--marks", amount).code == 0
        counts.append(out.read_bytes().count(b"<fingering"))
    assert counts[0] < counts[1] < counts[2]
    assert (tmp_path / "none.musicxml").read_bytes() == SAMPLES[1].read_bytes()


def test_the_player_and_the_ceiling_count(command: Command, tmp_path: Path) -> None:
    out = tmp_path / "new.musicxml"
    ended = command("mark", SAMPLES[3], "--out", out, "--highest-position", "1", "--marks", "all")
    assert ended.code == 0
    assert b"5th pos" not in out.read_bytes()


def test_a_part_is_chosen(command: Command, quartet: Path, tmp_path: Path) -> None:
    out = tmp_path / "new.musicxml"
    assert command("mark", quartet, "--part", "3", "--marks", "all", "--out", out).code == 0
    parts = out.read_text("utf-8").split("<part id")
    assert ["<technical>" in one for one in parts] == [False, False, False, True]


@pytest.fixture
def box(tmp_path: Path) -> Path:
    """A sample score in a container."""
    path = tmp_path / "box.mxl"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("cover.txt", "for Mira")
        archive.write(SAMPLES[1], "score.xml")
    return path


def test_a_container_stays_one(command: Command, box: Path, tmp_path: Path) -> None:
    plain, packed, text = (tmp_path / name for name in ("a.musicxml", "b.mxl", "c.musicxml"))
    assert command("mark", SAMPLES[1], "--out", plain).code == 0
    assert command("mark", box, "--out", packed).code == 0
    assert command("mark", box, "--out", text).code == 0
    with zipfile.ZipFile(packed) as archive:
        assert archive.namelist() == ["cover.txt", "score.xml"]
        assert archive.read("cover.txt") == b"for Mira"
        assert archive.read("score.xml") == plain.read_bytes() == text.read_bytes()


def test_the_report_writes_the_marked_score_too(
    command: Command, box: Path, tmp_path: Path
) -> None:
    single = tmp_path / "single.musicxml"
    command("mark", SAMPLES[1], "--out", single)
    command("report", SAMPLES[1], "--out", tmp_path / "plain")
    command("report", box, "--out", tmp_path / "packed")
    assert (tmp_path / "plain" / "marked.musicxml").read_bytes() == single.read_bytes()
    with zipfile.ZipFile(tmp_path / "packed" / "marked.mxl") as archive:
        assert archive.read("score.xml") == single.read_bytes()


def test_a_report_on_another_format_says_why_nothing_is_marked(
    command: Command, tmp_path: Path
) -> None:
    tune = tmp_path / "reel.abc"
    tune.write_text(TUNE, encoding="utf-8")
    ended = command("report", tune, "--out", tmp_path / "out")
    assert ended.code == 0
    assert "There is no marked score: marks are put into MusicXML only." in ended.out
    assert not list((tmp_path / "out").glob("marked*"))


# ── the marks file ──────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("score", SAMPLES, ids=lambda path: path.stem)
def test_a_template_filled_as_it_comes_changes_no_finger(
    command: Command, score: Path, tmp_path: Path
) -> None:
    path = tmp_path / "marks.csv"
    ended = command("mark", score, "--template", "--out", path)
    assert (ended.code, ended.out) == (0, f"Written into {path}: a marks file to fill in.\n")
    part = read_part(score)
    rows = path.read_text("utf-8").splitlines()
    assert len(rows) == 1 + sum(len(event.notes) for event in part.events)
    assert any(not row.endswith(",,,") for row in rows[1:])
    assert stops(analyse(apply_marks_file(part, path))) == stops(analyse(part))


def test_a_template_without_a_place_goes_to_the_screen(command: Command, sample: Path) -> None:
    ended = command("mark", sample, "--template")
    assert ended.code == 0
    assert ended.out.startswith("movement,bar,beat,note,string,finger,position\n1,1,1,")
    assert "Written" not in ended.out


def test_a_template_for_another_format_is_empty(command: Command, tmp_path: Path) -> None:
    tune = tmp_path / "reel.abc"
    tune.write_text(TUNE, encoding="utf-8")
    rows = command("mark", tune, "--template").out.splitlines()
    assert len(rows) == 9
    assert all(row.endswith(",,,") for row in rows[1:])


def marks_csv(tmp_path: Path, line: str) -> Path:
    path = tmp_path / "mine.csv"
    path.write_text(f"movement,bar,beat,note,string,finger,position\n{line}\n", encoding="utf-8")
    return path


def test_marks_of_the_player_are_put_in_and_obeyed(
    command: Command, sample: Path, tmp_path: Path
) -> None:
    mine = marks_csv(tmp_path, "1,2,1,B4,D,3,3")
    out = tmp_path / "new.musicxml"
    ended = command("mark", sample, "--marks-file", mine, "--out", out)
    assert ended.code == 0, ended.err
    (note,) = re.findall(r'<measure number="2".*?(<note>.*?</note>)', out.read_text(), re.DOTALL)[
        :1
    ]
    assert "<fingering>3</fingering>" in note
    assert "<string>3</string>" in note
    command("report", sample, "--marks-file", mine, "--out", tmp_path / "out")
    rows = (tmp_path / "out" / "notes.csv").read_text("utf-8").splitlines()
    columns = rows[0].split(",")
    bar_2 = next(row.split(",") for row in rows[1:] if row.split(",")[2] == "2")
    found = dict(zip(columns, bar_2, strict=False))
    assert (found["pitch"], found["string"], found["finger"]) == ("B4", "D", "3")


def test_a_printed_mark_that_is_overruled_stays_and_is_told(
    command: Command, sample: Path, tmp_path: Path
) -> None:
    mine = marks_csv(tmp_path, "1,3,1.5,A4,,0,")
    out = tmp_path / "new.musicxml"
    ended = command("mark", sample, "--marks-file", mine, "--out", out)
    assert ended.code == 0, ended.err
    assert "bar 3: the score prints another finger, string or position on A4" in ended.out
    assert out.read_bytes().count(b'<fingering placement="above">4') == sample.read_bytes().count(
        b'<fingering placement="above">4'
    )


def test_a_wrong_line_ends_it_with_one_sentence(
    command: Command, sample: Path, tmp_path: Path
) -> None:
    mine = marks_csv(tmp_path, "1,2,1,C4,,3,\n1,99,1,B4,,3,")
    for words in (("mark", sample, "--out", tmp_path / "x.musicxml"), ("report", sample)):
        assert_refused(command(*words, "--marks-file", mine), "mine.csv: line 2:", "line 3:")
    assert not (tmp_path / "x.musicxml").exists()


# ── what is refused ─────────────────────────────────────────────────────────────────────────────


def test_the_score_is_never_written_over(command: Command, sample: Path, tmp_path: Path) -> None:
    score = tmp_path / "mine.musicxml"
    shutil.copy(sample, score)
    os.link(score, tmp_path / "same.musicxml")
    before = score.read_bytes()
    for out in (score, tmp_path / "same.musicxml", tmp_path / "x" / ".." / "mine.musicxml"):
        (tmp_path / "x").mkdir(exist_ok=True)
        assert_refused(command("mark", score, "--out", out), "never written over", "--out")
    assert score.read_bytes() == before


def test_other_files_read_are_not_written_over(
    command: Command, sample: Path, tmp_path: Path
) -> None:
    mine = marks_csv(tmp_path, "1,2,1,B4,,3,")
    assert_refused(command("mark", sample, "--marks-file", mine, "--out", mine), "never")


def test_what_is_missing_or_unknown_is_named(
    command: Command, sample: Path, box: Path, tmp_path: Path
) -> None:
    tune = tmp_path / "reel.abc"
    tune.write_text(TUNE, encoding="utf-8")
    new = tmp_path / "new.musicxml"
    assert_refused(command("mark", sample), "--out", "scoretools mark study.musicxml")
    assert_refused(command("mark", sample, "--out", new, "--marks", "few"), "few", "sparse")
    assert_refused(command("mark", sample, "--out", tmp_path), "folder", "--out")
    assert_refused(command("mark", sample, "--out", tmp_path / "new.mxl"), "no .mxl", ".musicxml")
    assert_refused(command("mark", tune, "--out", new), "reel.abc", "MusicXML only")
    assert_refused(command("mark", tmp_path / "lost.xml", "--out", new), "no such file")
    assert not new.exists()


def test_help_tells_of_the_template(command: Command) -> None:
    out = command("mark", "--help").out
    for word in ("--out", "--marks", "--marks-file", "--template", "--highest-position", "--part"):
        assert word in out
    assert "mark" in command("--help").out
    assert "--marks-file" in command("report", "--help").out
