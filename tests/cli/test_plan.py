"""``scoretools plan`` and its log, as a player uses them."""

from datetime import date
from pathlib import Path

import pypdf
import pytest
from icalendar import Calendar

from scoretools.drills.choose import CAUTIONS
from tests.cli.conftest import Command

SAMPLES = sorted((Path(__file__).resolve().parents[2] / "sample_scores").glob("*.musicxml"))
MONDAY = "2027-01-04"


def test_a_plan_is_printed_and_written(command: Command, tmp_path: Path) -> None:
    ended = command("plan", SAMPLES[1], "--today", MONDAY, "--out", tmp_path / "plan")
    assert ended.code == 0
    assert "Mon 4 January, 14 minutes" in ended.out
    assert "Warm-up" in ended.out
    for caution in CAUTIONS:
        assert caution in ended.out
        assert caution.split(":")[0] in (tmp_path / "plan" / "plan.html").read_text("utf-8")
    assert sorted(path.name for path in (tmp_path / "plan").iterdir()) == [
        "drills.pdf", "plan.html", "plan.ics", "plan.pdf",
    ]  # fmt: skip
    assert (tmp_path / "plan" / "plan.pdf").read_bytes().startswith(b"%PDF")


# Source: icalendar reads it back; RFC 5545.
def test_the_calendar_has_a_day_for_every_day(command: Command, tmp_path: Path) -> None:
    out = command("plan", SAMPLES[1], "--today", MONDAY, "--out", tmp_path).out
    calendar = Calendar.from_ical((tmp_path / "plan.ics").read_bytes())
    events = calendar.walk("VEVENT")
    days = [event.decoded("dtstart") for event in events]
    assert days[0] == date(2027, 1, 4)
    assert days == sorted(set(days))
    assert len({str(event["uid"]) for event in events}) == len(events)
    for event in events:
        assert "Practice, " in str(event["summary"])
        for caution in CAUTIONS:
            assert caution in str(event["description"])
    assert "14 minutes" in str(events[0]["summary"])
    assert "14 minutes" in out


def test_a_programme_of_several_pieces(command: Command, tmp_path: Path) -> None:
    player = tmp_path / "brief.toml"
    player.write_text("minutes_per_day = 8\n", "utf-8")
    pieces = (SAMPLES[1], SAMPLES[3], SAMPLES[2])
    ended = command("plan", *pieces, "--player", player, "--today", MONDAY)
    assert ended.code == 0
    assert "Winter Window · Upland Dance · Evening Boat" in ended.out
    assert "No time before the lesson" in ended.out
    assert "minutes more" in ended.out


def test_the_player_decides_the_minutes(command: Command, tmp_path: Path) -> None:
    player = tmp_path / "mira.toml"
    player.write_text(
        'name = "Mira"\nminutes_per_day = 40\ndays_per_week = 5\nlesson = 2027-01-20\n', "utf-8"
    )
    out = command("plan", SAMPLES[1], "--player", player, "--today", MONDAY, "--out", tmp_path).out
    assert "up to 2027-01-20" in out
    assert "for Mira" in (tmp_path / "plan.html").read_text("utf-8")


# ── log ─────────────────────────────────────────────────────────────────────────────────────────


def test_a_log_is_made_filled_and_followed(command: Command, tmp_path: Path) -> None:
    log = tmp_path / "practice.txt"
    first = command("plan", SAMPLES[0], "--today", MONDAY, "--log", log)
    assert "Mon 4 January" in first.out
    assert log.read_text("utf-8").startswith("# Practice log.")
    for day in range(4, 10):
        assert command("plan", "log", log, "--clean", "1", "--date", f"2027-01-0{day}").code == 0
    told = command("plan", "log", log).out
    assert "2027-01-08 clean, 2027-01-09 clean" in told
    after = command("plan", SAMPLES[0], "--today", "2027-01-10", "--log", log)
    assert "Clean at the goal twice, settled" in after.out
    assert "comes back on Thu 14 January" in after.out
    assert "The piece: " in after.out
    assert ": from " not in after.out


def test_clean_and_again_on_one_day_is_refused(command: Command, tmp_path: Path) -> None:
    log = tmp_path / "practice.txt"
    command("plan", SAMPLES[0], "--today", MONDAY, "--log", log)
    before = log.read_text("utf-8")
    ended = command("plan", "log", log, "--clean", "1", "--again", "1")
    assert ended.code != 0
    assert "both clean and again" in ended.err
    assert log.read_text("utf-8") == before


@pytest.mark.parametrize("option", ["--clean", "--again"])
def test_a_drill_has_one_line_a_day(option: str, command: Command, tmp_path: Path) -> None:
    log = tmp_path / "practice.txt"
    command("plan", SAMPLES[0], "--today", MONDAY, "--log", log)
    assert command("plan", "log", log, "--clean", "1", "--date", MONDAY).code == 0
    before = log.read_text("utf-8")
    ended = command("plan", "log", log, option, "1", "--date", MONDAY)
    assert ended.code == 2
    assert "stands in the log as clean on 2027-01-04 already" in ended.err
    assert ended.err.count("\n") == 1
    assert log.read_text("utf-8") == before


def test_only_what_was_practised_is_listed(command: Command, tmp_path: Path) -> None:
    log = tmp_path / "practice.txt"
    command("plan", SAMPLES[5], SAMPLES[1], "--today", MONDAY, "--log", log)
    out = command("plan", "log", log, "--clean", "2", "--date", MONDAY).out
    assert out.startswith("2. ")
    assert "Not practised yet: 1, 3, 4, 5, 6, 7, 8, 9, 10, 11 and " in out
    assert out.count("\n") == 2


def test_a_programme_names_its_pieces_and_has_their_drill_books(
    command: Command, tmp_path: Path
) -> None:
    ended = command("plan", SAMPLES[0], SAMPLES[1], "--today", MONDAY, "--out", tmp_path)
    assert ended.code == 0
    assert "[First Steps, drill 1]" in ended.out
    assert {"drills_1.pdf", "drills_2.pdf"} <= {path.name for path in tmp_path.iterdir()}
    page = (tmp_path / "plan.html").read_text("utf-8")
    assert "of First Steps in drills_1.pdf" in page
    assert "kept short, so that the load rises gently" in page


def test_every_score_finds_its_own_part(command: Command, quartet: Path, tmp_path: Path) -> None:
    player = tmp_path / "violist.toml"
    player.write_text('instrument = "viola"\n', "utf-8")
    # The quartet's first part is for violin; a fiddle tune has none for viola.
    ended = command("plan", quartet, SAMPLES[0], "--player", player, "--today", MONDAY)
    assert ended.code == 0
    assert "three.musicxml: the part “Viola” is taken." in ended.out
    assert "01_first_steps.musicxml is left out: it has no part for viola." in ended.out
    # A name that only one of the scores has holds for that one.
    both = command("plan", quartet, SAMPLES[1], "--part", "Violin II", "--today", MONDAY)
    assert both.code == 0
    assert "02_winter_window.musicxml: the part “Violin” is taken." in both.out
    # A name that none has is a slip.
    for scores in ((quartet,), (quartet, SAMPLES[1])):
        none = command("plan", *scores, "--part", "Harp", "--today", MONDAY)
        assert none.code == 2
        assert "Harp" in none.err
    alone = command("plan", SAMPLES[0], "--player", player, "--today", MONDAY)
    assert alone.code == 2
    assert alone.err.count("\n") == 1


def test_cautions_stand_on_every_sheet_and_never_alone(command: Command, tmp_path: Path) -> None:
    command("plan", SAMPLES[5], "--today", MONDAY, "--out", tmp_path)
    pages = pypdf.PdfReader(tmp_path / "plan.pdf").pages
    assert len(pages) > 7
    for page in pages[-7:]:
        told = " ".join(page.extract_text().split())
        assert " minutes Take care." in told
        assert all(caution in told for caution in CAUTIONS)
    assert "Take care" in pages[0].extract_text()


def test_what_is_written_by_hand_stays(command: Command, tmp_path: Path) -> None:
    log = tmp_path / "practice.txt"
    command("plan", SAMPLES[0], "--today", MONDAY, "--log", log)
    mine = log.read_text("utf-8") + "# my own remark\n2027-01-04 perhaps something\n\n"
    log.write_text(mine, "utf-8")
    ended = command("plan", SAMPLES[0], "--today", MONDAY, "--log", log)
    assert "practice.txt, line" in ended.out
    assert "“perhaps” is neither clean nor again" in ended.out
    assert "# my own remark" in log.read_text("utf-8")
    assert "2027-01-04 perhaps something" in log.read_text("utf-8")


def test_a_title_may_be_begun(command: Command, tmp_path: Path) -> None:
    log = tmp_path / "practice.txt"
    command("plan", SAMPLES[0], "--today", MONDAY, "--log", log)
    ended = command("plan", "log", log, "--again", "w-h-w on the d", "--date", MONDAY)
    assert ended.code == 0
    assert "2027-01-04 again" in ended.out


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--clean", "9"), "no such number; it has 1 to 1"),
        (("--again", "scales"), "no drill of the log begins so"),
        (("--clean", "1", "--date", "tomorrow"), "“tomorrow” is not a date"),
    ],
)
def test_a_slip_leaves_the_log_as_it_was(
    words: tuple[str, ...], told: str, command: Command, tmp_path: Path
) -> None:
    log = tmp_path / "practice.txt"
    command("plan", SAMPLES[0], "--today", MONDAY, "--log", log)
    before = log.read_text("utf-8")
    ended = command("plan", "log", log, *words)
    assert ended.code == 2
    assert told in ended.err
    assert log.read_text("utf-8") == before


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("plan", "log", "none.txt"), "there is no such file"),
        (("plan", "none.musicxml"), "none.musicxml"),
        (("plan", SAMPLES[0], "--today", "soon"), "“soon” is not a date"),
        (("plan", SAMPLES[0], "--paper", "a5"), "a4, us-letter"),
    ],
)
def test_bad_input_is_one_sentence(words: tuple[str, ...], told: str, command: Command) -> None:
    ended = command(*words)
    assert ended.code == 2
    assert told in ended.err
    assert ended.err.count("\n") == 1
