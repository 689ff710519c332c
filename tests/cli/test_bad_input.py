"""What bad input gets: one sentence, code 2, nothing left behind."""

import errno
import os
import signal
import subprocess
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import scoretools.analysis
from scoretools.cli.files import save_all
from scoretools.errors import WriteError

Command = Callable[..., Any]

HEAD = (
    '<?xml version="1.0" encoding="UTF-8"?><score-partwise version="4.0"><part-list>'
    '<score-part id="P1"><part-name>{name}</part-name></score-part></part-list>'
)
PIANO = (
    HEAD.format(name="Piano")
    + '<part id="P1"><measure number="1"><attributes><divisions>1</divisions><staves>2</staves>'
    "</attributes><note><pitch><step>C</step><octave>4</octave></pitch><duration>4</duration>"
    "</note></measure></part></score-partwise>"
)
EMPTY_PART = (
    HEAD.format(name="Violin")
    + '<part id="P1"><measure number="1"><attributes><divisions>1</divisions></attributes>'
    "<note><rest/><duration>4</duration></note></measure></part></score-partwise>"
)
NO_MEASURES = HEAD.format(name="Violin") + '<part id="P1"/></score-partwise>'
ENTITIES = (
    '<?xml version="1.0"?><!DOCTYPE score-partwise [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]>'
    "<score-partwise><part-list/></score-partwise>"
)


def assert_one_sentence(ended: Any, *words: str) -> None:
    assert ended.code == 2, ended
    assert ended.out == ""
    assert ended.err.startswith("scoretools: ")
    assert ended.err.endswith(".\n")
    assert ended.err.count("\n") == 1, ended.err
    assert "Traceback" not in ended.err
    for word in words:
        assert word in ended.err


# ── scores ──────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("notes.txt", "Bars 5 to 8 are hard.", ("notes.txt", "MusicXML")),
        ("page.pdf", "%PDF-1.7 \x93\x8c", ("page.pdf", "PDF")),
        ("not.musicxml", "Bars 5 to 8 are hard.", ("not.musicxml", "not XML")),
        ("page.xml", "<html><body/></html>", ("page.xml", "html", "not MusicXML")),
        ("empty.musicxml", "", ("empty.musicxml", "empty")),
        ("piano.musicxml", PIANO, ("piano.musicxml", "no violin or viola", "(1) Piano")),
        ("rests.musicxml", EMPTY_PART, ("rests.musicxml", "no notes")),
        ("bare.musicxml", NO_MEASURES, ("bare.musicxml",)),
        ("entities.musicxml", ENTITIES, ("entities.musicxml", "entities")),
    ],
)
def test_a_file_that_is_no_score(
    command: Command, tmp_path: Path, name: str, content: str, words: tuple[str, ...]
) -> None:
    (tmp_path / name).write_text(content, encoding="utf-8")
    out = tmp_path / "out"
    assert_one_sentence(command("report", tmp_path / name, "--out", out), *words)
    assert not out.exists()


def test_a_missing_file(command: Command, tmp_path: Path) -> None:
    ended = command("report", tmp_path / "lost.musicxml", "--out", tmp_path / "out")
    assert_one_sentence(ended, "lost.musicxml", "no such file")
    assert list(tmp_path.iterdir()) == []


def test_a_folder_as_score(command: Command, tmp_path: Path) -> None:
    assert_one_sentence(command("report", tmp_path), tmp_path.name, "folder")


@pytest.mark.parametrize("share", [0.02, 0.3, 0.9, 0.999])
def test_a_truncated_file(command: Command, sample: Path, tmp_path: Path, share: float) -> None:
    whole = sample.read_bytes()
    path = tmp_path / "half.musicxml"
    path.write_bytes(whole[: int(len(whole) * share)])
    assert_one_sentence(command("report", path, "--out", tmp_path / "out"), "half.musicxml")
    assert not (tmp_path / "out").exists()


def test_a_container_without_a_root_file(command: Command, tmp_path: Path) -> None:
    path = tmp_path / "box.mxl"
    with zipfile.ZipFile(path, "w") as box:
        box.writestr("readme.txt", "nothing here")
    assert_one_sentence(command("report", path), "box.mxl", "root file")


def test_a_damaged_container(command: Command, sample: Path, tmp_path: Path) -> None:
    path = tmp_path / "box.mxl"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as box:
        box.write(sample, "score.xml")
    path.write_bytes(path.read_bytes()[:200])
    assert_one_sentence(command("report", path), "box.mxl", "damaged")


def test_an_unknown_part_name_lists_the_real_ones(command: Command, quartet: Path) -> None:
    ended = command("report", quartet, "--part", "Flute")
    assert_one_sentence(ended, "Flute", "(1) Violin I", "(2) Violin II", "(3) Viola")


def test_a_part_number_out_of_range_lists_the_real_ones(command: Command, quartet: Path) -> None:
    assert_one_sentence(command("report", quartet, "--part", "4"), "4", "(1) Violin I", "(3) Viola")


def test_a_name_that_fits_several_parts_lists_them(command: Command, quartet: Path) -> None:
    assert_one_sentence(
        command("report", quartet, "--part", "viol"), "(1) Violin I", "(2) Violin II", "(3) Viola"
    )


# ── players and options ─────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("reach_mm = 'wide'", ("reach_mm", "wide")),
        ("reach_mm = 7", ("reach_mm", "7", "20 to 150 mm")),
        ("highest_position = 13", ("highest_position", "13")),
        ("profile = 'virtuoso'", ("profile", "virtuoso", "professional")),
        ("known_shapes = ['W-W']", ("known_shapes", "W-W")),
        ("instrument = 'lute'", ("instrument", "lute", "violin", "viola")),
        ("shoe_size = 41", ("shoe_size", "highest_position")),
        ("instrument = 'viola'", ("instrument", "viola", "Violin")),
        ("highest_position 3", ("TOML", "line 1")),
    ],
)
def test_a_wrong_player_file_names_the_field(
    command: Command, sample: Path, tmp_path: Path, text: str, words: tuple[str, ...]
) -> None:
    player = tmp_path / "player.toml"
    player.write_text(text, encoding="utf-8")
    ended = command("report", sample, "--player", player, "--out", tmp_path / "out")
    assert_one_sentence(ended, *words)
    assert not (tmp_path / "out").exists()


def test_a_player_file_that_cannot_be_read(command: Command, sample: Path, tmp_path: Path) -> None:
    ended = command("report", sample, "--player", tmp_path / "lost.toml")
    assert_one_sentence(ended, "lost.toml", "player file")
    assert_one_sentence(command("report", sample, "--player", tmp_path), tmp_path.name)
    (tmp_path / "latin.toml").write_bytes('name = "Zoë"'.encode("latin-1"))
    assert_one_sentence(
        command("report", sample, "--player", tmp_path / "latin.toml"), "latin.toml", "UTF-8"
    )


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--highest-position", "third"), ("--highest-position", "third", "0.5")),
        (("--highest-position", "0"), ("--highest-position", "0.5 to 12")),
        (("--highest-position", "13"), ("--highest-position", "0.5 to 12")),
        (("--highest-position", "1.5"), ("--highest-position", "1.5")),
        (("--highest-position", "nan"), ("--highest-position",)),
        (("--highest-position", ""), ("--highest-position",)),
        (("--profile", "virtuoso"), ("--profile", "virtuoso", "professional")),
        (("--profile", ""), ("--profile", "professional")),
        (("--profile",), ("--profile",)),
        (("--tempo", "60"), ("--tempo", "scoretools report --help")),
        (("second.musicxml",), ("quotation marks",)),
    ],
)
def test_wrong_options(
    command: Command, sample: Path, options: tuple[str, ...], words: tuple[str, ...]
) -> None:
    assert_one_sentence(command("report", sample, *options), *words)


def test_no_score_and_no_such_command(command: Command) -> None:
    assert_one_sentence(command("report"), "scoretools report study.musicxml")
    assert_one_sentence(command("practise"), "practise", "scoretools --help")


def test_a_name_of_several_lines_stays_on_one(command: Command, tmp_path: Path) -> None:
    assert_one_sentence(command("report", tmp_path / "two\nlines.musicxml"))
    assert_one_sentence(command("report", "x.xml", "--player", tmp_path / "two\nlines.toml"))


# ── places to write ─────────────────────────────────────────────────────────────────────────────


def test_a_file_in_the_place_of_the_folder(command: Command, sample: Path, tmp_path: Path) -> None:
    file = tmp_path / "report"
    file.write_text("mine", encoding="utf-8")
    assert_one_sentence(command("report", sample, "--out", file), str(file), "--out")
    assert_one_sentence(command("report", sample, "--out", file / "deep"), str(file), "--out")
    assert file.read_text(encoding="utf-8") == "mine"


def test_the_place_is_looked_at_before_the_work(command: Command, tmp_path: Path) -> None:
    file = tmp_path / "report"
    file.write_text("mine", encoding="utf-8")
    ended = command("report", tmp_path / "lost.musicxml", "--out", file)
    assert_one_sentence(ended, "--out")


def test_a_folder_in_the_place_of_a_file(command: Command, sample: Path, tmp_path: Path) -> None:
    out = tmp_path / "report"
    (out / "drills.csv").mkdir(parents=True)
    (out / "notes.csv").write_text("older", encoding="utf-8")
    assert_one_sentence(command("report", sample, "--out", out), "drills.csv", "folder")
    assert sorted(path.name for path in out.iterdir()) == ["drills.csv", "notes.csv"]
    assert (out / "notes.csv").read_text(encoding="utf-8") == "older"


def test_a_name_no_disk_takes(command: Command, sample: Path, tmp_path: Path) -> None:
    assert_one_sentence(command("report", sample, "--out", tmp_path / ("x" * 400)), "--out")
    assert list(tmp_path.iterdir()) == []


@pytest.fixture
def full_disk(monkeypatch: pytest.MonkeyPatch) -> None:
    """The third file of the report meets a full disk after its first half."""
    write = Path.write_text
    written = []

    def write_half(path: Path, text: str, **how: Any) -> int:
        if path.suffix == ".part":
            written.append(path)
        if len(written) < 3:
            return write(path, text, **how)
        write(path, text[: len(text) // 2], **how)
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), str(path))

    monkeypatch.setattr(Path, "write_text", write_half)


@pytest.mark.usefixtures("full_disk")
def test_a_full_disk_leaves_nothing(command: Command, sample: Path, tmp_path: Path) -> None:
    out = tmp_path / "new" / "report"
    ended = command("report", sample, "--out", out)
    assert_one_sentence(ended, str(out / "notes.csv"), "no space left", "--out")
    assert list(tmp_path.iterdir()) == []


def test_a_full_disk_leaves_older_files_as_they_were(
    command: Command, sample: Path, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    for name in ("notes.csv", "report.html", "my own notes.txt"):
        (tmp_path / name).write_text("older", encoding="utf-8")
    request.getfixturevalue("full_disk")
    assert command("report", sample, "--out", tmp_path).code == 2
    assert {path.name: path.read_text(encoding="utf-8") for path in tmp_path.iterdir()} == {
        "notes.csv": "older",
        "report.html": "older",
        "my own notes.txt": "older",
    }


def test_saving_writes_texts_as_they_are(tmp_path: Path) -> None:
    saved = save_all(tmp_path / "a" / "b", {"one.csv": "x\ny\n", "two.txt": "½ \r\n"})
    assert [path.name for path in saved] == ["one.csv", "two.txt"]
    assert [path.read_bytes() for path in saved] == [b"x\ny\n", "½ \r\n".encode()]


def test_saving_under_a_file_is_a_write_error(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(WriteError, match="cannot be written"):
        save_all(tmp_path / "file" / "folder", {"one.csv": ""})


# ── interrupted ─────────────────────────────────────────────────────────────────────────────────


def interrupt(*_: object, **__: object) -> None:
    raise KeyboardInterrupt


def assert_stopped(ended: Any) -> None:
    assert ended.code == 130
    assert ended.err == "scoretools: stopped; no file was left half-written.\n"


def test_an_interrupted_analysis_writes_nothing(
    command: Command, sample: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(scoretools.analysis, "analyse", interrupt)
    assert_stopped(command("report", sample, "--out", tmp_path / "out"))
    assert list(tmp_path.iterdir()) == []


def test_interrupted_writing_leaves_nothing(
    command: Command, sample: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "replace", interrupt)
    assert_stopped(command("report", sample, "--out", tmp_path / "out"))
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(sys.platform == "win32", reason="Ctrl-C is no signal to another process there")
def test_a_real_interrupt_gives_one_sentence(sample: Path, tmp_path: Path) -> None:
    program = (
        "import os, signal, sys\n"
        "signal.signal(signal.SIGINT, signal.default_int_handler)\n"
        "import scoretools.analysis\n"
        "scoretools.analysis.analyse = lambda *_, **options: "
        f"os.kill(os.getpid(), {int(signal.SIGINT)})\n"
        "from scoretools.cli.main import run\n"
        "run(sys.argv[1:])\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", program, "report", str(sample), "--out", str(tmp_path / "out")],
        cwd=Path(__file__).resolve().parents[2],
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert (done.returncode, done.stdout) == (130, "")
    assert done.stderr == "scoretools: stopped; no file was left half-written.\n"
    assert list(tmp_path.iterdir()) == []
