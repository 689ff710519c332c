"""``scoretools catalogue`` as its user calls it."""

import json
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from lxml import etree

from tests.cli.conftest import SAMPLES, Command, clean_environment, program_line


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
    assert "2 scores found: 2 read (1 part fingered), 0 unchanged" in first.out
    assert "bad.musicxml" in first.out.partition("Could not be read")[2]
    second = command("catalogue", "scan", tmp_path, "--db", tmp_path / "c.db", "--jobs", 1)
    assert "0 read (0 parts fingered), 2 unchanged" in second.out
    status = command("catalogue", "status", "--db", tmp_path / "c.db")
    assert "2 scores, 1 violin or viola part" in status.out
    assert "bad.musicxml" in status.out


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
    from scoretools.cli.catalogue_find import _fifths

    assert _fifths(key) == fifths


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


def test_odd_tags_do_no_harm(db: Path, command: Command) -> None:
    tag = 'it\'s; "a" <b>\x1b[31m\n=1+1'
    assert command("catalogue", "tag", "add", tag, 1, "--db", db).code == 0
    found = command("catalogue", "find", "--tag", tag, "--db", db)
    assert "First Steps" in found.out
    assert "\x1b" not in found.out
    assert "[/" not in found.out
    table = command("catalogue", "find", "--tag", tag, "--db", db, "--csv").out
    assert ",=" not in table
    assert command("catalogue", "tag", "remove", tag, 1, "--db", db).code == 0
    assert json.loads(command("catalogue", "find", "--tag", tag, "--db", db, "--json").out) == []
    assert command("catalogue", "tag", "add", "  ", 1, "--db", db).code == 2
    assert command("catalogue", "tag", "add", "x", 99, "--db", db).code == 2


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
    assert command("catalogue", "write-tags", 1, "--db", db, "--in-place").code == 0
    assert b"scoretools:1:level:bands" in score.read_bytes()
    changed = command("catalogue", "write-tags", 1, "--db", db, "--in-place")
    assert changed.code == 2
    assert "scan its folder once more" in changed.err


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
    child = subprocess.Popen(line, env=clean_environment({}), stderr=subprocess.PIPE, text=True)
    with pytest.raises(subprocess.TimeoutExpired):
        child.wait(3)
    child.send_signal(signal.SIGINT)
    _, told = child.communicate(timeout=20)
    assert child.returncode == 130
    assert "Traceback" not in told
