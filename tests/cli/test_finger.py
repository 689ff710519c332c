"""``scoretools finger``: bars, other plans, reasons, and what is refused."""

import json
import re
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from scoretools.analysis import analyse
from scoretools.read import read_part

Command = Callable[..., Any]

SAMPLES = sorted((Path(__file__).resolve().parents[2] / "sample_scores").glob("*.musicxml"))
FIRST_STEPS, DANCE, STREAM = SAMPLES[0], SAMPLES[3], SAMPLES[5]
SEQUENCE = re.compile(r"\x1b\[[?\d;]*[A-Za-z]")

HEAD = (
    '<?xml version="1.0"?><score-partwise version="4.0"><part-list><score-part id="P1">'
    '<part-name>Violin</part-name></score-part></part-list><part id="P1">'
)
BAR = (
    '<measure number="{number}"{more}>{head}<note><pitch><step>B</step><octave>4</octave></pitch>'
    "<duration>{length}</duration></note></measure>"
)
TIME = (
    "<attributes><divisions>1</divisions>"
    "<time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
)


def score(tmp_path: Path, numbers: list[str], upbeat: bool = False) -> Path:
    """A score of one note a bar, its bars numbered so."""
    bars = [
        BAR.format(
            number=number,
            more=' implicit="yes"' if upbeat and place == 0 else "",
            head="" if place else TIME,
            length=1 if upbeat and place == 0 else 4,
        )
        for place, number in enumerate(numbers)
    ]
    path = tmp_path / "bars.musicxml"
    path.write_text(f"{HEAD}{''.join(bars)}</part></score-partwise>", encoding="utf-8")
    return path


def printed_bars(out: str) -> list[str]:
    """Names of the bars in the table, in order."""
    table = out.split("\n\n")[1]
    return re.findall(r"^((?:bars? \S+|the upbeat))  ", table, flags=re.MULTILINE)


def assert_refused(ended: Any, *words: str) -> None:
    assert (ended.code, ended.out) == (2, "")
    assert ended.err.count("\n") == 1
    for word in words:
        assert word in ended.err


# ── the table ───────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_every_bar_and_note_of_the_samples_is_shown(command: Command, path: Path) -> None:
    ended = command("finger", path)
    assert (ended.code, ended.err) == (0, "")
    part = read_part(path)
    assert ended.out.startswith(part.title)
    notes = ["+".join(n.pitch.name for n in event.notes) for event in part.events]
    shown = re.findall(r"([A-G][#b]*\d(?:\+[A-G][#b]*\d)*) \(?\d", ended.out)
    assert shown == notes
    assert not re.search(r"\b[IVX]+\b", ended.out.partition("\n")[2]), "no bare numeral"


def test_a_bar_is_read_at_a_glance(command: Command) -> None:
    out = command("finger", FIRST_STEPS, "--bars", "6-8").out
    assert re.search(r"^bar 6  1st position   A: B4 \(?1\)?  C#5 \(?2\)?  D5 \(?3\)?$", out, re.M)
    assert printed_bars(out) == ["bar 6", "bar 7", "bar 8"]


def test_bars_and_runs_of_bars(command: Command) -> None:
    out = command("finger", STREAM, "--bars", "3, 9-11,14–15").out
    assert printed_bars(out) == [f"bar {n}" for n in (3, 9, 10, 11, 14, 15)]


def test_the_upbeat_is_bar_0(command: Command, tmp_path: Path) -> None:
    path = score(tmp_path, ["0", "1", "2"], upbeat=True)
    for name in ("0", "upbeat", "the upbeat"):
        assert printed_bars(command("finger", path, "--bars", name).out) == ["the upbeat"]
    assert printed_bars(command("finger", path, "--bars", "0-1").out) == ["the upbeat", "bar 1"]


def test_bar_numbers_with_letters_and_dashes(command: Command, tmp_path: Path) -> None:
    path = score(tmp_path, ["1", "1a", "2-1", "2-2", "3"])
    assert printed_bars(command("finger", path, "--bars", "1a").out) == ["bar 1a"]
    assert printed_bars(command("finger", path, "--bars", "2-1").out) == ["bar 2-1"]
    assert printed_bars(command("finger", path, "--bars", "1a–3").out)[0] == "bar 1a"


def test_numbers_that_come_back_in_another_movement(command: Command, tmp_path: Path) -> None:
    path = score(tmp_path, ["1", "2", "3", "1", "2"])
    double_bar = '<barline location="right"><bar-style>light-heavy</bar-style></barline>'
    between = '</measure><measure number="1">'
    text = path.read_text("utf-8").replace(between, f"{double_bar}{between}")
    path.write_text(text, encoding="utf-8")
    assert len({m.movement for m in read_part(path).measures}) == 2
    both = command("finger", path, "--bars", "2").out.split("\n\n")[1].splitlines()
    assert [line.partition("  ")[0] for line in both] == [
        "1st movement bar 2",
        "2nd movement bar 2",
    ]
    second = command("finger", path, "--bars", "2:1-2").out.split("\n\n")[1].splitlines()
    assert [line.partition("  ")[0] for line in second] == [
        "2nd movement bar 1",
        "2nd movement bar 2",
    ]
    (first,) = command("finger", path, "--bars", "3").out.split("\n\n")[1].splitlines()[:1]
    assert first.startswith("1st movement bar 3")
    assert_refused(command("finger", path, "--bars", "2:3"), "no bar “2:3”", "2 movements")


def test_a_part_is_chosen(command: Command, quartet: Path) -> None:
    assert "D3 " in command("finger", quartet, "--part", "viola").out
    assert "B5 " in command("finger", quartet).out


def test_the_ceiling_and_the_players_marks_count(command: Command, tmp_path: Path) -> None:
    assert "3rd position" in command("finger", DANCE, "--bars", "17-19").out
    mine = tmp_path / "mine.csv"
    mine.write_text("bar,beat,note,string,finger\n2,1,B4,D,3\n", encoding="utf-8")
    out = command("finger", FIRST_STEPS, "--bars", "2", "--marks-file", mine).out
    assert "D: B4 3" in out


# ── other plans ─────────────────────────────────────────────────────────────────────────────────


def test_other_plans_have_sentence_points_and_bars(command: Command) -> None:
    out = command("finger", DANCE, "--bars", "5-9", "--alternatives", "1").out
    _, _, plans = out.partition("\nOther fingerings for bars 5–9\n")
    first, points, *bars = plans.splitlines()
    assert re.match(r"1\. (Stays in|Takes bars?) .*bars? \d", first)
    assert re.match(r"   (As good|\d+\.\d points? more, [a-z ]+): .*[+-]\d", points)
    assert bars[0].startswith("   bar ")
    assert "2. " not in plans


def test_other_plans_anywhere_in_the_part(command: Command) -> None:
    out = command("finger", DANCE, "--alternatives", "2").out
    assert re.search(r"^Other fingerings for (the upbeat|bars )", out, re.M)
    assert re.search(r"^1\. ", out, re.M)


def test_each_run_of_bars_has_its_own_plans(command: Command) -> None:
    out = command("finger", DANCE, "--bars", "5-9,17-19", "--alternatives", "1").out
    assert "Other fingerings for bars 5–9" in out
    assert "Other fingerings for bars 17–19" in out


def test_it_is_said_when_there_are_no_more(command: Command) -> None:
    out = command(
        "finger", FIRST_STEPS, "--bars", "1-4", "--alternatives", "9", "--highest-position", "0.5"
    ).out
    assert "There is no" in out
    assert "half position" in out.partition("There is no")[2]
    assert "--highest-position may allow more" in out
    out = command("finger", STREAM, "--bars", "1", "--alternatives", "9").out
    assert "There is no" in out
    assert "--highest-position" not in out.partition("There is no")[2]


def test_bars_of_rests_have_no_plans(command: Command, tmp_path: Path) -> None:
    path = score(tmp_path, ["1", "2"])
    text = path.read_text("utf-8")
    last = text.rindex("<pitch>")
    end = text.rindex("</pitch>") + len("</pitch>")
    path.write_text(f"{text[:last]}<rest/>{text[end:]}", encoding="utf-8")
    out = command("finger", path, "--bars", "2", "--alternatives", "1", "--explain").out
    assert "no note begins" in out
    assert "There is nothing to play." in out


# ── reasons ─────────────────────────────────────────────────────────────────────────────────────


def test_every_bar_is_explained(command: Command) -> None:
    out = command("finger", DANCE, "--bars", "5-7", "--explain").out
    for bar in re.split(r"^bar ", out.split("\n\n")[1], flags=re.M)[1:]:
        assert re.search(r"Shift at|The hand stays in|Open strings only", bar)
        assert re.search(r"It costs, in points: \d+\.\d for |It costs nothing", bar)
        assert re.search(r"is sure\.|Of \d+ notes, |The note is", bar)


def test_second_choices_stand_by_open_notes(command: Command) -> None:
    out = command("finger", DANCE, "--explain").out
    marked = len(re.findall(r"\(\d\?\)", out.split("\n\n")[1]))
    assert marked, "the dance has open notes"
    assert re.search(r"on beats? \d.*: open; second choice .* string.*points more\.", out)


# ── printed marks left out ──────────────────────────────────────────────────────────────────────


def test_printed_marks_can_be_left_out(command: Command) -> None:
    kept = command("finger", DANCE).out
    left = command("finger", DANCE, "--ignore-marks").out
    assert kept.split("\n\n")[1] != left.split("\n\n")[1]
    assert "Against what is printed" not in kept
    assert "Against what is printed" in left
    assert "left out of account" in left
    told = re.search(r"played as printed: (\d+) of (\d+)\.", left)
    assert told is not None
    as_printed, marked = map(int, told.groups())
    apart = re.findall(r"^- bar \S+, \S+ on beat \S+: .* printed, here ", left, flags=re.M)
    assert len(apart) == marked - as_printed > 0


def test_the_report_without_printed_marks(command: Command, tmp_path: Path) -> None:
    ended = command("report", DANCE, "--ignore-marks", "--out", tmp_path / "out")
    assert ended.code == 0
    assert "left out of account" in ended.out
    assert "The part stays without marks" in ended.out
    document = json.loads((tmp_path / "out" / "analysis.json").read_text("utf-8"))
    unmarked = analyse(read_part(DANCE), use_marks=False)
    assert document["fingering"]["cost"] == pytest.approx(unmarked.cost)
    assert not (tmp_path / "out" / "marked.musicxml").exists()


def test_without_marks_where_none_are_printed(command: Command, quartet: Path) -> None:
    out = command("finger", quartet, "--ignore-marks").out
    assert "No finger, string or position is printed on these notes." in out


def test_a_marks_file_is_not_left_out_in_silence(command: Command, tmp_path: Path) -> None:
    mine = tmp_path / "mine.csv"
    mine.write_text("bar,note,finger\n2,B4,1\n", encoding="utf-8")
    for name in ("finger", "report"):
        ended = command(name, FIRST_STEPS, "--ignore-marks", "--marks-file", mine)
        assert_refused(ended, "--ignore-marks", "--marks-file")


# ── JSON ────────────────────────────────────────────────────────────────────────────────────────


def document_of(command: Command, *words: object) -> dict[str, Any]:
    ended = command("finger", *words, "--json")
    assert (ended.code, ended.err) == (0, "")
    document: dict[str, Any] = json.loads(ended.out)
    return document


def test_json_holds_the_notes(command: Command) -> None:
    document = document_of(command, DANCE, "--bars", "5-6")
    assert (document["schema"], document["version"]) == ("scoretools-fingering", 1)
    (passage,) = document["passages"]
    assert [bar["measure"] for bar in passage["measures"]] == ["5", "6"]
    analysis = analyse(read_part(DANCE))
    for note in passage["notes"]:
        choice = analysis.steps[note["event"]].choices[0]
        assert note["string"] == analysis.string_names[choice.stop.string]
        assert note["finger"] == choice.stop.finger
        assert note["certainty"] == choice.certainty
        assert note["margin"] == choice.margin
    assert passage["alternatives"] == []
    assert "printed" not in document


def test_json_holds_plans_reasons_and_second_choices(command: Command) -> None:
    document = document_of(
        command, DANCE, "--bars", "5-9", "--alternatives", "2", "--explain", "--ignore-marks"
    )
    (passage,) = document["passages"]
    assert all(bar["reasons"] for bar in passage["measures"])
    assert any("second" in note for note in passage["notes"])
    assert passage["alternatives"]
    for plan in passage["alternatives"]:
        assert plan["points_more"] >= 0
        assert plan["sentence"]
        assert set(plan["elsewhere"]) <= {note["event"] for note in plan["notes"]}
    printed = document["printed"]
    assert printed["marked"] == printed["as_printed"] + len(printed["otherwise"])


# ── on a terminal ───────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("columns", [40, 80])
def test_lines_fit_a_terminal_and_break_between_notes(
    command: Command, monkeypatch: pytest.MonkeyPatch, columns: int
) -> None:
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True)
    monkeypatch.setenv("COLUMNS", str(columns))
    monkeypatch.setenv("NO_COLOR", "1")
    words = ("finger", DANCE, "--bars", "17-24", "--alternatives", "1", "--explain")
    lines = SEQUENCE.sub("", command(*words).out).splitlines()
    assert max(map(len, lines)) <= columns
    assert not any(re.search(r"[A-G][#b]?\d$|:$", line) for line in lines if "   " in line[:9])
    monkeypatch.undo()
    piped = command(*words).out.split()
    assert " ".join(lines).split() == piped


def test_colours_only_where_they_are_wanted(program: Command) -> None:
    words = ("finger", DANCE, "--bars", "5-9")
    plain = program(*words)
    forced = program(*words, FORCE_COLOR="1", TERM="xterm-256color")
    assert "\x1b[" not in plain.out
    assert "\x1b[" in forced.out
    assert SEQUENCE.sub("", forced.out) == plain.out


# ── what is refused ─────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("bars", "words"),
    [
        ("99", ("no bar “99”", "bars 1 to 32", "--bars 12-16")),
        ("30-40", ("no bar “30-40”",)),
        ("16-12", ("runs backwards", "12-16")),
        ("", ("a bar is missing",)),
        ("1,,2", ("a bar is missing", "1,,2")),
        ("one", ("no bar “one”",)),
        ("3-", ("no bar “3-”",)),
        ("2:3", ("no bar “2:3”",)),
    ],
)
def test_bars_that_are_not_there(command: Command, bars: str, words: tuple[str, ...]) -> None:
    assert_refused(command("finger", STREAM, "--bars", bars), *words)


def test_other_bad_words(command: Command, tmp_path: Path) -> None:
    assert_refused(command("finger", STREAM, "--profile", "soloist"), "soloist", "professional")
    assert_refused(command("finger", tmp_path / "lost.xml"), "no such file")


@pytest.mark.parametrize("count", ["-1", "10", "12", "2.5", "many", ""])
def test_other_plans_are_a_number_from_0_to_9(command: Command, count: str) -> None:
    ended = command("finger", STREAM, "--alternatives", count)
    assert_refused(ended)
    assert ended.err == (
        f"scoretools: --alternatives: “{count}” will not do; write a whole number from 0 to 9.\n"
    )


def test_a_divided_bar_has_two_names(command: Command) -> None:
    """Bar 8 of the dance is divided by a repeat: two beats before it, the upbeat after."""
    out = command("finger", DANCE, "--bars", "8", "--explain").out
    names = re.findall(r"^bar 8\S*(?: from beat \d)?", out, flags=re.M)
    assert names == ["bar 8", "bar 8, from beat 3"]


def test_help_has_an_example(command: Command) -> None:
    out = " ".join(command("finger", "--help").out.split())
    assert "scoretools finger study.musicxml --bars 12-16 --alternatives 3" in out
    for option in ("--bars", "--alternatives", "--explain", "--ignore-marks", "--json", "--part"):
        assert option in out
    assert "finger" in command("--help").out


def test_bars_are_counted_in_one_way(command: Command, tmp_path: Path) -> None:
    """An upbeat is no bar: not in the heading, and not where a bar is not found."""
    path = score(tmp_path, ["0", "1", "2"], upbeat=True)
    assert "2 bars and an upbeat" in command("finger", path).out
    assert "has bars 1 to 2 and an upbeat (0);" in command("finger", path, "--bars", "500").err
    level = command("level", path).out
    assert "2 bars and an upbeat" in level
    assert "length: 2 bars\n" in level


def test_the_reasons_of_a_level_name_the_upbeat_as_all_else_does(command: Command) -> None:
    dance = Path(__file__).resolve().parents[2] / "sample_scores" / "04_upland_dance.musicxml"
    told = command("level", dance).out
    assert "highest position, 3rd position (the upbeat and bars 1–2, 5, 11)" in told
    assert not re.search(r"bars upbeat|upbeat to bar", told)
