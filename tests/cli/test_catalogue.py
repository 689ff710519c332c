"""``scoretools catalogue`` as its user calls it."""

import csv
import json
import re
import shutil
import signal
import subprocess
import sys
from functools import partial
from pathlib import Path

import pytest
from lxml import etree

from tests.cli.conftest import QUARTET, SAMPLES, Command, clean_environment, program_line


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A catalogue of the sample scores, copied into a folder."""
    from scoretools.cli.main import run

    folder = tmp_path_factory.mktemp("kept")
    (folder / "scores").mkdir()
    for sample in SAMPLES:
        shutil.copy(sample, folder / "scores")
    run(["catalogue", "scan", str(folder / "scores"), "--db", str(folder / "kept.db")])
    return folder


@pytest.fixture
def db(kept: Path, tmp_path: Path) -> Path:
    """A catalogue of one's own, of the same scores."""
    return Path(shutil.copy(kept / "kept.db", tmp_path / "library.db"))


def test_a_scan_says_what_it_did(tmp_path: Path, command: Command) -> None:
    shutil.copy(SAMPLES[0], tmp_path)
    (tmp_path / "bad.musicxml").write_text("<score-partwise><part", encoding="utf-8")
    first = command("catalogue", "scan", tmp_path, "--db", tmp_path / "c.db", "--jobs", 1)
    assert first.code == 0
    assert "2 scores found: 1 read (1 part fingered), 1 could not be read, 0 unchanged" in first.out
    assert first.out.partition("Could not be read: 1 score\n")[2].count("bad.musicxml") == 1
    second = command("catalogue", "scan", tmp_path, "--db", tmp_path / "c.db", "--jobs", 1)
    assert "0 read (0 parts fingered), 2 unchanged" in second.out
    assert "1 of the unchanged could not be read, or not wholly" in second.out
    status = command("catalogue", "status", "--db", tmp_path / "c.db")
    assert "2 scores, 1 violin or viola part" in status.out
    assert status.out.partition("Could not be read: 1 score\n")[2].count("bad.musicxml") == 1


def test_a_score_read_in_part_is_told_apart(tmp_path: Path, command: Command) -> None:
    note = "<note><pitch><step>E</step><octave>4</octave></pitch><duration>4</duration></note>"
    text = QUARTET.replace(note, "<note><rest/><duration>4</duration></note>")
    (tmp_path / "rests.musicxml").write_text(text, encoding="utf-8")
    db = tmp_path / "c.db"
    ended = command("catalogue", "scan", tmp_path, "--db", db, "--jobs", 1)
    assert "1 read (2 parts fingered), 1 of them in part, 0 unchanged" in ended.out
    status = command("catalogue", "status", "--db", db)
    for out in (ended.out, status.out):
        told = out.partition("Read only in part: 1 score\n")[2]
        assert "rests.musicxml: part 2 “Violin II” holds no notes; it is left out.\n" in told
        assert "Could not be read" not in out


def test_a_folder_without_scores_ends_as_a_fault(tmp_path: Path, command: Command) -> None:
    ended = command("catalogue", "scan", tmp_path, "--db", tmp_path / "c.db")
    assert (ended.code, ended.out) == (2, "")
    assert ended.err.count("\n") == 1
    assert "there is no score here" in ended.err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("words", "titles"),
    [
        (["--title", "wint"], {"Winter Window"}),
        (["--instrument", "viola"], {"Mill Stream"}),
        (["--highest-position", "1"], {"First Steps", "Winter Window", "Evening Boat"}),
        (["--only-shapes", "W-H-W"], {"First Steps"}),
        (["--shape", "w-h-a"], {"Winter Window"}),
        (["--level", "1-2"], {"First Steps"}),
        (["--double-stops"], {"Study in Two Voices"}),
        (["--length", "-20"], {"First Steps"}),
        (["--feature", "augmented_seconds_per_minute=1-", "--instrument", "violin"],
         {"Winter Window"}),
        (["--sort", "title", "--title", "absent"], set()),
    ],
)  # fmt: skip
def test_find(words: list[str], titles: set[str], db: Path, command: Command) -> None:
    ended = command("catalogue", "find", "--db", db, "--json", *words)
    assert ended.code == 0
    found = {one["title"] for one in json.loads(ended.out)}
    assert found == titles
    shown = command("catalogue", "find", "--db", db, *words).out
    assert all(title in shown for title in titles)


# Common practice: the circle of fifths.
@pytest.mark.parametrize(
    ("key", "fifths"),
    [("D major", 2), ("b minor", 2), ("F# minor", 3), ("B flat major", -2), ("Bb", -2),
     ("G minor", -2), ("E♭ major", -3), ("C", 0), ("a minor", 0), ("2 sharps", 2), ("1 flat", -1)],
)  # fmt: skip
def test_keys_by_name(key: str, fifths: int) -> None:
    from scoretools.cli.catalogue_criteria import known_fifths

    assert known_fifths(key) == fifths


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--key", "H dur"], "is no key"),
        (["--level", "hard"], "is no range"),
        (["--shape", "W-W"], "is no shape"),
        (["--instrument", "cello"], "violin or viola"),
        (["--feature", "speed=1"], "there is no feature"),
        (["--sort", "beauty"], "nothing to sort by"),
        (["--sql", "DROP TABLE part"], "--sql: "),
        (["--highest-position", "high"], "is no number"),
        (["--speed", "3-1"], "write the smaller figure first, as in 1-3"),
        (["--length", "64–16"], "as in 16-64"),
        (["--level", "nan"], "is no range"),
    ],
)
def test_what_cannot_be_asked_is_one_sentence(
    words: list[str], said: str, db: Path, command: Command
) -> None:
    ended = command("catalogue", "find", "--db", db, *words)
    assert ended.code == 2
    assert said in ended.err
    assert ended.err.count("\n") == 1


@pytest.mark.parametrize(
    "words",
    [
        ["find"], ["show", 1], ["compare", 1, 2], ["programme", 1], ["status"], ["export", "x.csv"],
        ["tag", "add", "x", 1], ["write-tags", 1, "--in-place"],
    ],
)  # fmt: skip
def test_without_a_catalogue_the_next_step_is_told(
    words: list[object], tmp_path: Path, command: Command
) -> None:
    ended = command("catalogue", *words, "--db", tmp_path / "none.db")
    assert ended.code == 2
    assert "make one with: scoretools catalogue scan FOLDER" in ended.err


def test_show_compare_and_programme(db: Path, command: Command) -> None:
    shown = command("catalogue", "show", 2, "--db", db).out
    assert "Winter Window" in shown
    for heading in ("Hardest bars first", "Hand", "Drills, in this order", "Features"):
        assert heading in shown
    assert json.loads(command("catalogue", "show", 2, "--db", db, "--json").out)["found"]["id"] == 2
    compared = command("catalogue", "compare", 1, 4, "--db", db).out
    assert "shapes of both: W-H-W" in compared
    whole = command("catalogue", "programme", 1, 2, "--db", db).out
    assert "W-H-W" in whole.partition("Hand shapes")[2]
    assert whole.partition("The hardest bars of all")[2].count("\n- ") == 5


def test_next_says_why(db: Path, tmp_path: Path, command: Command) -> None:
    player = tmp_path / "mira.toml"
    player.write_text('name = "Mira"\nknown_shapes = ["W-H-W", "H-W-W"]\n', encoding="utf-8")
    ended = command("catalogue", "next", "--player", player, "--db", db)
    assert ended.code == 0
    assert "New: " in ended.out
    assert "First Steps" not in ended.out
    none = command("catalogue", "next", "--player", player, "--db", db, "--new", 0).out
    assert "First Steps" in none
    assert "nothing new" in none


def test_next_keeps_within_reach_and_the_instruments_apart(
    db: Path, tmp_path: Path, command: Command
) -> None:
    player = tmp_path / "mira.toml"
    player.write_text('name = "Mira"\n', encoding="utf-8")
    ended = command("catalogue", "next", "--player", player, "--db", db, "--limit", 2).out
    violin, _, viola = ended.partition("For viola\n")
    assert violin.startswith("For violin\n1. No. ")
    assert "\n2. No. " in violin
    assert viola.startswith("1. No. 6, Mill Stream")
    assert "--instrument violin or viola" in ended
    alone = command("catalogue", "next", "--player", player, "--db", db, "--instrument", "violin")
    assert "For violin" not in alone.out
    assert "Mill Stream" not in alone.out
    player.write_text('highest_position = 1\ninstrument = "viola"\n', encoding="utf-8")
    none = command("catalogue", "next", "--player", player, "--db", db)
    assert none.code == 0
    assert "No part within 1st position brings that many new things" in none.out
    assert "Left out: 1 part above 1st position" in none.out
    higher = command("catalogue", "next", "--player", player, "--db", db, "--highest-position", 3)
    assert "Mill Stream" in higher.out
    assert "Left out" not in higher.out


# ── what a reader sees ──────────────────────────────────────────────────────────────────────────


@pytest.fixture
def long_names(tmp_path: Path, command: Command) -> Path:
    """A catalogue of long names: a score with a tempo, one without, and one without a title."""
    folder = tmp_path / "long"
    folder.mkdir()
    text = SAMPLES[1].read_text(encoding="utf-8").replace("Lindenhof Studio", "Joseph Haydn")
    long = text.replace("Winter Window", "Sinfonia concertante in B flat major, second movement")
    (folder / "a.musicxml").write_text(long, encoding="utf-8")
    still = etree.fromstring(long.encode("utf-8"))
    for direction in still.xpath("//direction[.//metronome or .//sound or .//words]"):
        direction.getparent().remove(direction)
    for sound in still.xpath("//sound"):
        sound.getparent().remove(sound)
    (folder / "b.musicxml").write_bytes(etree.tostring(still))
    (folder / "mill_stream.musicxml").write_text(QUARTET, encoding="utf-8")
    db = tmp_path / "long.db"
    command("catalogue", "scan", folder, "--db", db, "--jobs", 1)
    command("catalogue", "tag", "add", "spring concert in the old town hall", 1, "--db", db)
    return db


@pytest.mark.parametrize("rubric", ["bands", "index"])
def test_a_list_is_no_wider_than_is_read_with_ease(
    rubric: str, long_names: Path, command: Command
) -> None:
    shown = command("catalogue", "find", "--db", long_names, "--rubric", rubric).out
    table = shown.partition(" parts fit")[0].splitlines()
    assert max(map(len, table)) <= 100
    words = " ".join(shown.split())
    assert "Sinfonia concertante in B" in words
    assert "Violin II" in words
    assert "No room here for shapes; --csv" in words
    assert (" of 100" in words) is (rubric == "index")


def test_short_rows_keep_their_shapes(db: Path, command: Command) -> None:
    shown = command("catalogue", "find", "--db", db).out
    rows = shown.partition(" parts fit")[0].splitlines()
    assert max(map(len, rows)) <= 100
    assert len(rows) == 2 + 6 + 1  # no title takes two lines
    assert "W-H-W" in shown


def test_an_assumed_tempo_is_told(long_names: Path, command: Command) -> None:
    told = "* The score prints no tempo, or not throughout"
    rows = command("catalogue", "find", "--db", long_names, "--title", "sinfonia").out
    first, second = (line for line in rows.splitlines() if "Sinfonia" in line)
    assert first[:3].split() == ["1"]
    assert " * " not in first
    assert " * " in second
    assert told in rows
    assert told not in command("catalogue", "show", 1, "--db", long_names).out
    shown = command("catalogue", "show", 2, "--db", long_names).out
    assert told in shown
    assert "notes a second *" in shown
    assert "different hand shapes: 7 shapes\n" in re.sub(r" \(bars? .*?\)", "", shown)
    compared = command("catalogue", "compare", 1, 2, "--db", long_names).out
    assert told in compared
    assert "seconds *" in compared
    found = json.loads(command("catalogue", "find", "--db", long_names, "--json").out)
    assert {one["id"]: one["tempo_assumed"] for one in found}[2] is True
    table = command("catalogue", "find", "--db", long_names, "--sort", "number", "--csv").out
    rows_of = list(csv.DictReader(table.splitlines()))
    assert [row["tempo"] for row in rows_of[:2]] == ["printed", "assumed"]


def test_the_file_name_shown_as_title_finds_the_score(long_names: Path, command: Command) -> None:
    shown = command("catalogue", "find", "--db", long_names, "--title", "mill_stream.musicxml").out
    assert "3 of 5 parts fit" in shown
    assert "mill_stream.musicxml" in shown


def test_odd_tags_do_no_harm(db: Path, command: Command) -> None:
    tag = "=it's, [/bold] \"a\" <b> %s' --"
    assert command("catalogue", "tag", "add", tag, 1, "--db", db).code == 0
    found = command("catalogue", "find", "--tag", tag, "--db", db)
    assert "First Steps" in found.out
    assert "[/bold]" in " ".join(found.out.split())
    table = command("catalogue", "find", "--tag", tag, "--db", db, "--csv").out
    assert ",=" not in table
    assert command("catalogue", "tag", "remove", tag, 1, "--db", db).code == 0
    assert json.loads(command("catalogue", "find", "--tag", tag, "--db", db, "--json").out) == []
    assert command("catalogue", "tag", "add", "  ", 1, "--db", db).code == 2
    assert command("catalogue", "tag", "add", "x", 99, "--db", db).code == 2
    for wrong in ("a; b", "\x1b[31m"):
        refused = command("catalogue", "tag", "add", wrong, 1, "--db", db)
        assert (refused.code, refused.err.count("\n")) == (2, 1)
        assert "\x1b" not in refused.err


def test_a_tag_that_was_forgotten_is_noticed(db: Path, command: Command) -> None:
    ended = command("catalogue", "tag", "add", 1, 2, "--db", db)
    assert (ended.code, ended.err.count("\n")) == (2, 1)
    assert 'as in: scoretools catalogue tag add "spring concert" 1 2' in ended.err


def test_tags_in_use_are_listed_and_slips_noticed(db: Path, command: Command) -> None:
    assert "no tags yet" in command("catalogue", "tag", "list", "--db", db).out
    command("catalogue", "tag", "add", "spring concert", 1, 2, "--db", db)
    command("catalogue", "tag", "add", "Duo", 3, "--db", db)
    shown = command("catalogue", "tag", "list", "--db", db).out
    assert [line.split() for line in shown.splitlines()[2:]] == [
        ["spring", "concert", "2"], ["Duo", "1"]
    ]  # fmt: skip
    listed = json.loads(command("catalogue", "tag", "list", "--db", db, "--json").out)
    assert listed[1] == {"tag": "Duo", "parts": 1, "gone": 0}
    for words in (["--tag", "sprng concert"], ["--without-tag", "sprin"]):
        ended = command("catalogue", "find", "--db", db, *words)
        assert ended.code == 0
        assert "perhaps “spring concert” was meant" in ended.err
    assert "tag list shows the tags" in command("catalogue", "find", "--db", db, "--tag", "x").err
    assert command("catalogue", "find", "--db", db, "--tag", "Duo").err == ""
    ended = command("catalogue", "programme", "--db", db, "--tag", "duo")
    assert (ended.code, ended.err.count("\n")) == (2, 1)
    assert "perhaps “Duo” was meant" in ended.err


def test_a_tag_that_is_not_there_cannot_be_taken_away(db: Path, command: Command) -> None:
    command("catalogue", "tag", "add", "duo", 1, "--db", db)
    for words, said in (
        (["nosuch", 1], "no part bears"),
        (["duo", 2, 3], "none of the parts 2, 3"),
    ):
        ended = command("catalogue", "tag", "remove", *words, "--db", db)
        assert (ended.code, ended.out, ended.err.count("\n")) == (2, "", 1)
        assert said in ended.err
    ended = command("catalogue", "tag", "remove", "duo", 1, 2, "--db", db)
    assert (ended.code, ended.out) == (0, "No longer tagged “duo”: 1 part.\n")


def test_several_tags_stand_in_one_line_of_a_cell(
    db: Path, tmp_path: Path, command: Command
) -> None:
    for tag in ("say hi, once", "duo", "=1+1"):
        command("catalogue", "tag", "add", tag, 1, "--db", db)
    command("catalogue", "export", tmp_path / "all.csv", "--db", db)
    with (tmp_path / "all.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len((tmp_path / "all.csv").read_text(encoding="utf-8").splitlines()) == 7
    assert rows[0]["tags"] == "'=1+1; duo; say hi, once"


def test_odd_file_names_do_no_harm(tmp_path: Path, command: Command) -> None:
    names = ["it's \"quoted\".musicxml", "[bold]red[bold].musicxml", "=1+1.musicxml",
             "two\nlines.musicxml", "'; DROP TABLE part; --.musicxml"]  # fmt: skip
    text = (
        SAMPLES[0].read_text(encoding="utf-8").replace("<work-title>First Steps</work-title>", "")
    )
    text = text.replace("<movement-title>First Steps</movement-title>", "")
    for name in names:
        (tmp_path / name).write_text(text, encoding="utf-8")
    db = tmp_path / "c.db"
    assert command("catalogue", "scan", tmp_path, "--db", db, "--jobs", 1).code == 0
    shown = command("catalogue", "find", "--db", db).out
    assert "5 of 5 parts fit" in shown
    assert "[bold]red[bold]" in shown
    found = json.loads(command("catalogue", "find", "--db", db, "--json").out)
    assert {Path(one["path"]).name for one in found} == set(names)
    out = tmp_path / "all.csv"
    assert command("catalogue", "export", out, "--db", db).code == 0
    assert "\n=" not in out.read_text(encoding="utf-8")


def test_levels_go_into_copies_of_the_scores(db: Path, tmp_path: Path, command: Command) -> None:
    out = tmp_path / "tagged"
    ended = command("catalogue", "write-tags", 1, 2, "--db", db, "--out", out)
    assert ended.code == 0
    for sample in SAMPLES[:2]:
        document = etree.parse(out / sample.name)
        fields = {field.get("name"): field.text for field in document.iter("miscellaneous-field")}
        assert fields["scoretools:1:part"] == "Violin"
        assert "of the left hand only" in fields["scoretools:1:level:bands"]
        assert fields["scoretools:1:feature:highest_position"] == "1 position"


def test_levels_go_into_the_scores_themselves_only_when_asked(
    tmp_path: Path, command: Command
) -> None:
    score = tmp_path / "scores" / SAMPLES[0].name
    score.parent.mkdir()
    shutil.copy(SAMPLES[0], score)
    db = tmp_path / "c.db"
    command("catalogue", "scan", score.parent, "--db", db, "--jobs", 1)
    assert command("catalogue", "write-tags", 1, "--db", db).code == 2
    assert command("catalogue", "write-tags", 1, "--db", db, "--out", score.parent).code == 2
    assert score.read_bytes() == SAMPLES[0].read_bytes()
    first = command("catalogue", "write-tags", 1, "--db", db, "--in-place")
    assert (first.code, first.err) == (0, "")
    assert b"scoretools:1:level:bands" in score.read_bytes()
    changed = command("catalogue", "write-tags", 1, "--db", db, "--in-place")
    assert changed.code == 2
    assert "scan its folder once more" in changed.err


@pytest.mark.parametrize("place", ["--out", "--in-place"])
def test_scores_that_cannot_take_levels_do_not_stop_the_others(
    place: str, tmp_path: Path, command: Command
) -> None:
    folder, out, db = tmp_path / "scores", tmp_path / "tagged", tmp_path / "c.db"
    folder.mkdir()
    (folder / "00_tune.abc").write_text("X:1\nT:Tune\nM:4/4\nL:1/4\nK:D\nDEFG|ABcd|\n")
    for sample in SAMPLES[:2]:
        shutil.copy(sample, folder)
    command("catalogue", "scan", folder, "--db", db, "--jobs", 1)
    changed = folder / SAMPLES[1].name
    changed.write_text(changed.read_text(encoding="utf-8") + "\n", encoding="utf-8")
    where = ["--out", out] if place == "--out" else ["--in-place"]
    ended = command("catalogue", "write-tags", 1, 2, 3, "--db", db, *where)
    assert ended.code == 2
    assert ended.out.count(SAMPLES[0].name) == 1
    tune, other, last = ended.err.splitlines()
    assert "00_tune.abc: levels are put into MusicXML only" in tune
    assert tune.count("00_tune.abc") == 1
    assert f"{SAMPLES[1].name}: the score has changed or gone" in other
    assert "nothing is written for 2 scores of 3; " in last
    written = (out if place == "--out" else folder) / SAMPLES[0].name
    assert b"scoretools:1:level:bands" in written.read_bytes()


def test_tables_are_written(db: Path, tmp_path: Path, command: Command) -> None:
    for name in ("all.csv", "all.parquet"):
        ended = command("catalogue", "export", tmp_path / name, "--db", db)
        assert ended.code == 0
        assert "6 parts" in ended.out
    assert command("catalogue", "export", tmp_path / "all.xlsx", "--db", db).code == 2


def test_sql_is_printed_in_three_ways(db: Path, command: Command) -> None:
    words = ("catalogue", "find", "--db", db, "--sql", "SELECT id, x'00ff' AS raw FROM part")
    assert "6 rows" in command(*words).out
    assert json.loads(command(*words, "--json").out)[0] == {"id": 1, "raw": "00ff"}
    assert command(*words, "--csv").out.splitlines()[:2] == ["id,raw", "1,00ff"]


@pytest.mark.skipif(sys.platform == "win32", reason="Ctrl-C is sent in another way there")
def test_ctrl_c_ends_a_question_without_end(db: Path) -> None:
    endless = "WITH RECURSIVE n(x) AS (SELECT 1 UNION ALL SELECT x + 1 FROM n) SELECT max(x) FROM n"
    line = program_line(["catalogue", "find", "--db", db, "--sql", endless])
    child = subprocess.Popen(
        line,
        env=clean_environment({}),
        stderr=subprocess.PIPE,
        text=True,
        # Programs in the background of a shell are started deaf to it.
        preexec_fn=partial(signal.signal, signal.SIGINT, signal.SIG_DFL),
    )
    try:
        with pytest.raises(subprocess.TimeoutExpired):
            child.wait(3)
        child.send_signal(signal.SIGINT)
        _, told = child.communicate(timeout=20)
    finally:
        child.kill()
    assert child.returncode == 130
    assert "Traceback" not in told
