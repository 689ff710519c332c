"""``scoretools report`` on good scores: what it prints, and what it writes."""

import csv
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple
from xml.etree import ElementTree

import pytest
from typer.testing import CliRunner

from scoretools.cli.main import app

SAMPLES = sorted((Path(__file__).resolve().parents[2] / "sample_scores").glob("*.musicxml"))

WRITTEN = [
    "analysis.json",
    "demands.csv",
    "drills.csv",
    "drills.musicxml",
    "drills.pdf",
    "marked.musicxml",
    "notes.csv",
    "part.pdf",
    "passages.csv",
    "report.html",
]

NOTES_COLUMNS = [
    "event", "movement", "measure", "measure_index", "rehearsal", "beat", "onset_ql",
    "duration_ql", "onset_s", "pitch", "midi", "string", "finger", "offset", "position",
    "first_offset", "gaps", "known", "certainty", "margin", "printed_finger", "printed_string",
    "passage",
]  # fmt: skip
"""Fixed: other programs rely on names and order."""

Command = Callable[..., Any]


class Reported(NamedTuple):
    """A sample score and what the command made of it."""

    score: Path
    out: Path
    printed: str

    @property
    def notes(self) -> list[dict[str, str]]:
        with (self.out / "notes.csv").open(encoding="utf-8", newline="") as file:
            return list(csv.DictReader(file))

    @property
    def document(self) -> dict[str, Any]:
        return json.loads((self.out / "analysis.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="module", params=SAMPLES, ids=lambda path: path.stem)
def reported(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Reported:
    out = tmp_path_factory.mktemp("reports") / "report"
    result = CliRunner().invoke(app, ["report", str(request.param), "--out", str(out)])
    assert result.exit_code == 0, result.output or result.exception
    return Reported(request.param, out, result.stdout)


# ── every sample score ──────────────────────────────────────────────────────────────────────────


def test_there_are_sample_scores() -> None:
    assert len(SAMPLES) >= 4


def test_all_files_are_written_and_no_other(reported: Reported) -> None:
    assert sorted(path.name for path in reported.out.iterdir()) == WRITTEN


def test_the_columns_of_the_notes_are_fixed(reported: Reported) -> None:
    first_line = (reported.out / "notes.csv").read_text(encoding="utf-8").partition("\n")[0]
    assert first_line == ",".join(NOTES_COLUMNS)


def test_each_struck_note_of_the_score_has_its_row(reported: Reported) -> None:
    struck = [
        note
        for note in ElementTree.parse(reported.score).iter("note")
        if note.find("rest") is None
        and note.find("cue") is None
        and all(tie.get("type") != "stop" for tie in note.findall("tie"))
    ]
    assert len(reported.notes) == len(struck)


def test_every_row_is_whole(reported: Reported) -> None:
    for row in reported.notes:
        offset = int(row["midi"]) - {"C": 48, "G": 55, "D": 62, "A": 69, "E": 76}[row["string"]]
        assert int(row["offset"]) == offset
        assert (row["finger"] == "0") == (row["offset"] == "0")
        assert row["certainty"] in ("sure", "likely", "open")
        assert row["gaps"] == "" or set(row["gaps"]) <= set("HWA?-")


def test_printed_fingers_are_kept(reported: Reported) -> None:
    printed = [row for row in reported.notes if row["printed_finger"]]
    assert printed, "the sample scores print fingerings"
    assert all(row["finger"] in row["printed_finger"].split() for row in printed)


def test_the_document_says_what_it_is(reported: Reported) -> None:
    assert reported.document["schema"] == "scoretools-analysis"
    assert reported.document["version"] == 1
    assert reported.document["part"]["source"] == reported.score.name


def test_the_document_holds_the_same_notes(reported: Reported) -> None:
    in_json = reported.document["notes"]
    assert [list(note) for note in in_json] == [NOTES_COLUMNS] * len(reported.notes)
    for note, row in zip(in_json, reported.notes, strict=True):
        for column, value in note.items():
            assert _same(value, row[column]), (column, value, row[column])


def _same(value: object, cell: str) -> bool:
    if value is None:
        return cell == ""
    return float(cell) == value if isinstance(value, int | float) else cell == value


def test_the_page_stands_alone(reported: Reported) -> None:
    page = (reported.out / "report.html").read_text(encoding="utf-8")
    assert page.lower().startswith("<!doctype html>")
    assert not any(f'{link}="http' in page for link in ("src", "href")), "it fetches something"


def test_what_is_printed_can_be_read_aloud(reported: Reported) -> None:
    title = ElementTree.parse(reported.score).findtext("work/work-title")
    assert reported.printed.startswith(f"{title}, ")
    for section in (
        "What it asks of the left hand",
        "Hardest bars first",
        "Drills, in this order",
        "Take care",
    ):
        assert f"\n{section}\n" in reported.printed
    assert "Stop on pain" in reported.printed
    assert str(reported.out / "report.html") in reported.printed


# ── options ─────────────────────────────────────────────────────────────────────────────────────


def document_of(command: Command, out: Path, *words: object) -> dict[str, Any]:
    ended = command("report", *words, "--out", out)
    assert ended.code == 0, ended.err
    document: dict[str, Any] = json.loads((out / "analysis.json").read_text(encoding="utf-8"))
    return document


def test_nothing_is_written_unless_asked(
    command: Command, sample: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    before = sorted(sample.parent.iterdir())
    ended = command("report", sample)
    assert (ended.code, ended.err) == (0, "")
    assert list(tmp_path.iterdir()) == []
    assert sorted(sample.parent.iterdir()) == before


@pytest.mark.parametrize(
    ("wanted", "pitch"),
    [
        (None, "B5"),
        ("1", "B5"),
        ("2", "E4"),
        ("3", "D3"),
        ("Violin II", "E4"),
        ("viola", "D3"),
        ("P2", "E4"),
    ],
)
def test_a_part_is_taken_by_name_or_number(
    command: Command, quartet: Path, tmp_path: Path, wanted: str | None, pitch: str
) -> None:
    option = () if wanted is None else ("--part", wanted)
    document = document_of(command, tmp_path / "out", quartet, *option)
    assert [note["pitch"] for note in document["notes"]] == [pitch]
    assert document["part"]["instrument"] == ("viola" if pitch == "D3" else "violin")


def test_the_part_taken_by_itself_is_named(command: Command, quartet: Path) -> None:
    assert "Violin I" in command("report", quartet).out


HIGH = "E6"
"""Fourth finger in third position, or higher; no hand in first position reaches it."""


def high_score(tmp_path: Path) -> Path:
    notes = "".join(
        f"<note><pitch><step>{name[0]}</step><octave>{name[1]}</octave></pitch>"
        "<duration>1</duration></note>"
        for name in ("A5", "B5", "C6", "D6", HIGH, "D6", "C6", "B5")
    )
    path = tmp_path / "high.musicxml"
    path.write_text(
        '<score-partwise version="4.0"><part-list><score-part id="P1">'
        '<part-name>Violin</part-name></score-part></part-list><part id="P1">'
        '<measure number="1"><attributes><divisions>1</divisions><time><beats>8</beats>'
        f"<beat-type>4</beat-type></time></attributes>{notes}</measure></part></score-partwise>",
        encoding="utf-8",
    )
    return path


@pytest.mark.parametrize(
    ("highest", "ceiling", "source"),
    [
        ("0.5", 0.5, "player"), ("0,5", 0.5, "player"), ("1", 1, "player"),
        ("3", 3, "notes"), ("5", 3, "notes"), ("12", 3, "notes"),
    ],
)  # fmt: skip
def test_the_ceiling_is_what_the_notes_ask_or_as_high_as_the_player_goes(
    command: Command, tmp_path: Path, highest: str, ceiling: float, source: str
) -> None:
    score = high_score(tmp_path)
    document = document_of(command, tmp_path / "out", score, "--highest-position", highest)
    assert document["fingering"]["ceiling"] == ceiling
    assert document["fingering"]["ceiling_from"] == source


def test_without_a_ceiling_the_notes_give_it(command: Command, tmp_path: Path) -> None:
    document = document_of(command, tmp_path / "out", high_score(tmp_path))
    assert document["fingering"]["ceiling_from"] == "notes"
    assert document["fingering"]["ceiling"] > 1


def test_a_note_above_the_ceiling_is_told(command: Command, tmp_path: Path) -> None:
    ended = command("report", high_score(tmp_path), "--highest-position", "1")
    assert ended.code == 0
    assert f"bar 1: {HIGH} needs" in ended.out


@pytest.mark.parametrize("profile", ["first-position-student", "developing-player", "professional"])
def test_a_profile_is_taken(command: Command, sample: Path, tmp_path: Path, profile: str) -> None:
    document = document_of(command, tmp_path / "out", sample, "--profile", profile)
    assert document["fingering"]["profile"] == profile


def test_the_profile_is_a_developing_player_by_default(
    command: Command, sample: Path, tmp_path: Path
) -> None:
    document = document_of(command, tmp_path / "out", sample)
    assert document["fingering"]["profile"] == "developing-player"


def test_a_player_file_is_taken_and_an_option_goes_before_it(
    command: Command, tmp_path: Path
) -> None:
    player = tmp_path / "player.toml"
    player.write_text('highest_position = 1\nprofile = "professional"\n', encoding="utf-8")
    words = (high_score(tmp_path), "--player", player)
    fingering = document_of(command, tmp_path / "one", *words)["fingering"]
    assert (fingering["ceiling"], fingering["profile"]) == (1, "professional")
    words = (*words, "--highest-position", "0.5", "--profile", "developing-player")
    fingering = document_of(command, tmp_path / "two", *words)["fingering"]
    assert (fingering["ceiling"], fingering["profile"]) == (0.5, "developing-player")


def test_shapes_the_player_knows_are_not_drilled(
    command: Command, sample: Path, tmp_path: Path
) -> None:
    player = tmp_path / "player.toml"
    player.write_text('known_shapes = ["W-H-W"]\n', encoding="utf-8")
    drilled = [drill["gaps"] for drill in document_of(command, tmp_path / "a", sample)["drills"]]
    known = document_of(command, tmp_path / "b", sample, "--player", player)["drills"]
    assert "W-H-W" in drilled
    assert "W-H-W" not in [drill["gaps"] for drill in known]


def test_a_second_report_takes_the_place_of_the_first(
    command: Command, sample: Path, tmp_path: Path
) -> None:
    document_of(command, tmp_path / "out", high_score(tmp_path))
    document = document_of(command, tmp_path / "out", sample)
    assert document["part"]["source"] == sample.name
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == WRITTEN


def test_equal_runs_give_equal_files(command: Command, sample: Path, tmp_path: Path) -> None:
    document_of(command, tmp_path / "a", sample)
    document_of(command, tmp_path / "b", sample)
    for name in WRITTEN:
        assert (tmp_path / "a" / name).read_bytes() == (tmp_path / "b" / name).read_bytes(), name


# ── without a score ─────────────────────────────────────────────────────────────────────────────


def test_without_words_it_says_what_to_do_first(command: Command) -> None:
    ended = command()
    assert (ended.code, ended.err) == (0, "")
    assert "scoretools report study.musicxml --out report" in ended.out


def test_the_version_is_shown(command: Command) -> None:
    import scoretools

    assert command("--version").out == f"scoretools {scoretools.__version__}\n"


def test_help_names_every_option(command: Command) -> None:
    ended = command("report", "--help")
    assert ended.code == 0
    for option in ("--part", "--player", "--highest-position", "--profile", "--out"):
        assert option in ended.out


# ── for a student ───────────────────────────────────────────────────────────────────────────────


def test_a_student_sees_what_to_practise_and_no_more(command: Command, tmp_path: Path) -> None:
    score = next(path for path in SAMPLES if "upland_dance" in path.name)
    full = command("report", score).out
    ended = command("report", score, "--for", "student", "--out", tmp_path)
    heads = [line for line in ended.out.splitlines() if line in HEADS]
    assert heads == ["Practise first", "Hardest bars first", "Take care"]
    assert len(ended.out.splitlines()) < len(full.splitlines()) / 2
    assert ended.out.count("notes a minute") == 3
    assert "Then " in ended.out
    assert "Written into" in ended.out
    assert all(name in ended.out for name in WRITTEN)
    assert "Stop on pain" in ended.out


def test_page_and_terminal_count_bars_alike(command: Command, tmp_path: Path) -> None:
    score = next(path for path in SAMPLES if "upland_dance" in path.name)
    out = command("report", score, "--out", tmp_path, "--only", "page").out
    page = (tmp_path / "report.html").read_text(encoding="utf-8")
    assert "36 bars and an upbeat" in out
    assert "36 bars and an upbeat ·" in page
    assert "38 bars" not in page


HEADS = frozenset(
    (
        "What it asks of the left hand",
        "Practise first",
        "Hardest bars first",
        "Drills, in this order",
        "Served and left out",
        "Skipped, assumed or contradictory",
        "Take care",
    )
)
