"""``scoretools fit``: weights as TOML on the output, what is told beside it, what is refused."""

import importlib.util
import re
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from scoretools.fingering.fit import FLOORS, KEPT, example
from scoretools.fingering.fit import fit as fitting
from scoretools.fingering.note_terms import NOTE_TERMS
from scoretools.fingering.rows import Hand
from scoretools.fingering.step_terms import STEP_TERMS
from scoretools.fingering.weights import weights_for
from scoretools.hand import hand_reach
from scoretools.instrument import instrument
from scoretools.model import PositionNumber
from scoretools.player import Player, Profile
from scoretools.read import read_part

pytest.importorskip("scipy")

Command = Callable[..., Any]

FEW_ROUNDS = ("--rounds", "2")


def score(words: str) -> str:
    """A violin part of one bar of quarters; words are a letter, an octave and perhaps a finger."""
    notes = ""
    for word in words.split():
        name, _, finger = word.partition(":")
        mark = f"<technical><fingering>{finger}</fingering></technical>" if finger else ""
        notes += (
            f"<note><pitch><step>{name[0]}</step><octave>{name[1]}</octave></pitch>"
            f"<duration>1</duration><voice>1</voice><notations>{mark}</notations></note>"
        )
    return (
        '<?xml version="1.0" encoding="UTF-8"?><score-partwise version="4.0"><part-list>'
        '<score-part id="P1"><part-name>Violin</part-name></score-part></part-list>'
        '<part id="P1"><measure number="1"><attributes><divisions>1</divisions>'
        f"<time><beats>{len(words.split())}</beats><beat-type>4</beat-type></time></attributes>"
        f"{notes}</measure></part></score-partwise>"
    )


@pytest.fixture
def marked(tmp_path: Path) -> Path:
    """A folder of two marked scores, one of them deeper in it, and a bare one."""
    folder = tmp_path / "marked"
    (folder / "more").mkdir(parents=True)
    (folder / "study_01.musicxml").write_text(score("D5 E5:4 D5:3 A4:4"), encoding="utf-8")
    (folder / "more" / "air.xml").write_text(score("A4 B4 C5:2 D5"), encoding="utf-8")
    (folder / "bare.musicxml").write_text(score("A4 B4 C5 D5"), encoding="utf-8")
    return folder


def assert_refused(ended: Any, *words: str) -> None:
    assert (ended.code, ended.out) == (2, "")
    assert ended.err.count("\n") == 1
    for word in words:
        assert word in ended.err


# ── what is printed ─────────────────────────────────────────────────────────────────────────────


def test_weights_are_printed_as_they_stand_in_their_file(command: Command, marked: Path) -> None:
    ended = command("fit", marked, *FEW_ROUNDS)
    assert ended.code == 0, ended.err
    (profile, tables) = next(iter(tomllib.loads(ended.out).items()))
    assert profile == Player().profile
    assert set(tables) == {"note", "step"}
    assert list(tables["note"]) == [term.name for term in NOTE_TERMS]
    assert list(tables["step"]) == [term.name for term in STEP_TERMS]
    in_hand = weights_for(Player())
    for name, value in {**tables["note"], **tables["step"]}.items():
        assert value >= FLOORS.get(name, 0.0)
        if name in KEPT:
            assert value == {**in_hand.note, **in_hand.step}[name]


def test_the_objective_and_the_marks_are_told(command: Command, marked: Path) -> None:
    ended = command("fit", marked, *FEW_ROUNDS)
    told = re.match(r"# objective ([\d.]+) before, ([\d.]+) after (\d+) evaluations\n", ended.out)
    assert told is not None
    assert float(told[2]) < float(told[1])
    lines = ended.err.splitlines()
    assert lines[0] == "2 parts, 4 marked notes"
    assert lines[1] == f"fitting: evaluation 1, objective {told[1]}"
    assert len(lines) == 1 + int(told[3])


def test_files_and_folders_may_be_mixed(command: Command, marked: Path) -> None:
    air, study = marked / "more" / "air.xml", marked / "study_01.musicxml"
    assert command("fit", air, *FEW_ROUNDS).err.startswith("1 part, 1 marked note\n")
    assert command("fit", air, study, marked, *FEW_ROUNDS).err.startswith("2 parts, 4 marked")


def test_the_profile_named_is_fitted(command: Command, marked: Path) -> None:
    ended = command("fit", marked, "--profile", Profile.PROFESSIONAL, *FEW_ROUNDS)
    assert ended.code == 0, ended.err
    assert list(tomllib.loads(ended.out)) == ["professional"]


@pytest.mark.parametrize(("times", "marks"), [(1, 40), (15, 60)])
def test_a_book_counts_by_the_root_of_its_marks(
    command: Command, tmp_path: Path, times: int, marks: int
) -> None:
    """Four marks to a line; a book of fewer than 40 counts as one of 40."""
    path = tmp_path / "study.musicxml"
    path.write_text(score("D5:3 E5:4 D5:3 A4:4 " * times), encoding="utf-8")
    ended = command("fit", path, "--profile", "first-position-student", "--rounds", "1")
    player = Player(profile=Profile.FIRST_POSITION_STUDENT)
    violin = instrument("violin")
    hand = Hand(violin, hand_reach(violin, player), PositionNumber(1))
    made = example(hand, weights_for(player), read_part(path).events)
    assert made is not None
    assert made.marks == 4 * times
    whole = fitting([made], [1.0], weights_for(player), 1).objective_before
    told = float(re.match(r"# objective ([\d.]+)", ended.out)[1])  # type: ignore[index]
    assert told == pytest.approx(whole / marks**0.5, abs=0.001)
    assert told > 0.1


# ── what is left out ────────────────────────────────────────────────────────────────────────────


def test_what_cannot_be_read_is_told_and_left_out(command: Command, marked: Path) -> None:
    broken = marked / "broken.musicxml"
    broken.write_text("no music at all", encoding="utf-8")
    ended = command("fit", marked, *FEW_ROUNDS)
    assert ended.code == 0, ended.err
    told, counted = ended.err.splitlines()[:2]
    assert told.startswith("scoretools: broken.musicxml: ")
    assert told.endswith("; it is left out.")
    assert counted == "2 parts, 4 marked notes"
    assert len(tomllib.loads(ended.out)) == 1


# ── what is refused ─────────────────────────────────────────────────────────────────────────────


def test_a_folder_without_marks_is_refused(command: Command, marked: Path) -> None:
    for path in (marked / "study_01.musicxml", marked / "more" / "air.xml"):
        path.unlink()
    ended = command("fit", marked)
    assert_refused(ended, "bare.musicxml", "carries usable fingerings")


def test_marks_that_no_hand_can_honour_are_no_use(command: Command, tmp_path: Path) -> None:
    path = tmp_path / "odd.musicxml"
    path.write_text(score("B4:0 C5"), encoding="utf-8")
    assert_refused(command("fit", path), "odd.musicxml", "carries usable fingerings")


def test_a_folder_without_scores_is_refused(command: Command, tmp_path: Path) -> None:
    (tmp_path / "words.txt").write_text("no score", encoding="utf-8")
    assert_refused(command("fit", tmp_path), str(tmp_path), "there are no scores here")


def test_a_lost_file_is_refused(command: Command, tmp_path: Path) -> None:
    ended = command("fit", tmp_path / "lost.musicxml")
    assert (ended.code, ended.out) == (2, "")
    first, last = ended.err.splitlines()
    assert "lost.musicxml" in first
    assert "carries usable fingerings" in last


@pytest.mark.parametrize("profile", ["virtuoso", "Professional "])
def test_an_unknown_profile_is_refused(command: Command, marked: Path, profile: str) -> None:
    assert_refused(command("fit", marked, "--profile", profile), "profile", "developing-player")


@pytest.mark.parametrize("rounds", ["0", "-3", "many"])
def test_rounds_are_a_number_above_0(command: Command, marked: Path, rounds: str) -> None:
    ended = command("fit", marked, "--rounds", rounds)
    assert_refused(ended, f"--rounds: “{rounds}” will not do; write a whole number, 1 or more.")


def test_nothing_named_is_refused(command: Command) -> None:
    assert command("fit").code == 2


def test_without_scipy_the_extra_is_named(
    command: Command, marked: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    there = importlib.util.find_spec
    monkeypatch.setattr(
        importlib.util, "find_spec", lambda name: None if name == "scipy" else there(name)
    )
    assert_refused(command("fit", marked), "scipy", "extra “fit”")


def test_help_tells_how(command: Command) -> None:
    out = command("fit", "--help").out
    for word in ("--profile", "--rounds", "PATH", "scoretools fit marked_scores > fitted.toml"):
        assert word in out
    assert "fit" in command("--help").out
