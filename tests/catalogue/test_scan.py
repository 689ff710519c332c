"""A folder into a catalogue: whole, once, and whatever happens meanwhile."""

import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from scoretools.catalogue import Summary, Wanted, counts, reading, scan, unread
from scoretools.catalogue import processes as side
from scoretools.catalogue.scan import scores_below
from scoretools.errors import CatalogueError
from tests.catalogue.conftest import Rows
from tests.cli.conftest import QUARTET, SAMPLES, clean_environment, program_line

RowsOf = Callable[[Path], Rows]


@pytest.fixture
def database(tmp_path: Path) -> Path:
    return tmp_path / "library.db"


# ── what is found ───────────────────────────────────────────────────────────────────────────────


def test_every_string_part_of_every_score_is_there(
    library: Path, database: Path, wanted: Wanted
) -> None:
    summary = scan(library, database, wanted)
    assert (summary.scores, summary.read, summary.failed, summary.parts) == (6, 5, 1, 8)
    with reading(database) as connection:
        assert counts(connection).parts == 8
        names = connection.execute(
            "SELECT part.name, instrument FROM part JOIN score ON score.id = score_id "
            "WHERE path LIKE '%three.musicxml' ORDER BY number"
        ).fetchall()
        assert names == [("Violin I", "violin"), ("Violin II", "violin"), ("Viola", "viola")]
        tunes = connection.execute(
            "SELECT title FROM part JOIN score ON score.id = score_id "
            "WHERE path LIKE '%book.abc' ORDER BY number"
        ).fetchall()
        assert tunes == [("First tune",), ("Second tune",)]


def test_a_damaged_score_is_recorded_with_its_sentence(
    library: Path, database: Path, wanted: Wanted
) -> None:
    summary = scan(library, database, wanted)
    (fault,) = summary.faults
    assert fault.path.name == "damaged.musicxml"
    with reading(database) as connection:
        (held,) = unread(connection)
    assert held.path == str(fault.path)
    assert held.parts == 0
    assert held.fault.startswith("the file breaks off")
    assert "damaged" not in held.fault  # the path says it


def test_a_fault_of_the_program_does_not_end_the_scan(
    library: Path, database: Path, wanted: Wanted, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object, **__: object) -> None:
        raise KeyError("bar 7")

    monkeypatch.setattr("scoretools.catalogue.work.analyse", fails)
    summary = scan(library, database, wanted)
    assert (summary.read, summary.failed) == (0, 6)
    assert summary.parts == 0
    assert sum("KeyError: 'bar 7'" in fault.sentence for fault in summary.faults) == 5


# ── what has changed ────────────────────────────────────────────────────────────────────────────


def test_what_has_not_changed_is_not_read_again(
    library: Path, database: Path, wanted: Wanted
) -> None:
    scan(library, database, wanted)
    again = scan(library, database, wanted)
    assert (again.read, again.failed, again.unchanged) == (0, 0, 6)
    assert again.faulty_before == 1


def test_a_changed_score_takes_the_place_of_the_old_one(
    library: Path, database: Path, wanted: Wanted
) -> None:
    scan(library, database, wanted)
    changed = library / SAMPLES[0].name
    old = _part_of(database, changed)
    stamp = changed.stat()
    text = changed.read_text(encoding="utf-8").replace("First Steps", "Final Steps")
    changed.write_text(text, encoding="utf-8")
    os.utime(changed, ns=(stamp.st_atime_ns, stamp.st_mtime_ns))  # size and time tell nothing
    again = scan(library, database, wanted)
    assert (again.read, again.unchanged) == (1, 5)
    new = _part_of(database, changed)
    assert new == (old[0], "Final Steps")


def _part_of(database: Path, path: Path) -> tuple[int, str]:
    with reading(database) as connection:
        row = connection.execute(
            "SELECT part.id, title FROM part JOIN score ON score.id = score_id WHERE path = ?",
            (str(path),),
        ).fetchone()
    return row[0], row[1]


@pytest.mark.parametrize(
    "change",
    [
        {"profile": "professional"},
        {"known_shapes": ("W-H-W",)},
        {"highest_position": 1},
    ],
)
def test_another_player_is_another_key(
    library: Path, database: Path, wanted: Wanted, change: dict[str, object]
) -> None:
    from dataclasses import replace

    scan(library, database, wanted)
    other = replace(wanted, player=replace(wanted.player, **change))  # type: ignore[arg-type]
    assert scan(library, database, other).unchanged == 0
    fewer = replace(wanted, rubrics=wanted.rubrics[:1])
    assert scan(library, database, fewer).unchanged == 0


def test_what_is_gone_is_marked_and_comes_back(
    library: Path, database: Path, wanted: Wanted
) -> None:
    scan(library, database, wanted)
    gone = library / SAMPLES[1].name
    gone.rename(library.parent / "elsewhere.musicxml")
    assert scan(library, database, wanted).gone == 1
    with reading(database) as connection:
        assert counts(connection).missing == 1
        assert counts(connection).scores == 5
    (library.parent / "elsewhere.musicxml").rename(gone)
    again = scan(library, database, wanted)
    assert (again.gone, again.read, again.unchanged) == (0, 0, 6)
    with reading(database) as connection:
        assert counts(connection).missing == 0


def test_a_scan_of_one_folder_says_nothing_of_another(
    library: Path, database: Path, wanted: Wanted
) -> None:
    beside = library.parent / "scores2"
    shutil.copytree(library, beside)
    scan(library, database, wanted)
    assert scan(beside, database, wanted).gone == 0
    with reading(database) as connection:
        assert counts(connection).scores == 12


def test_a_moved_score_keeps_its_number_and_its_tags(
    library: Path, database: Path, wanted: Wanted
) -> None:
    from scoretools.catalogue import Criteria, catalogue, find
    from scoretools.catalogue.query import place_of

    scan(library, database, wanted)
    was = library / SAMPLES[0].name
    number, _ = _part_of(database, was)
    with reading(database) as connection:
        place = place_of(connection, number)
    with catalogue(database) as kept:
        kept.add_tag("concert", [place])
    now = library / "trios" / "renamed.musicxml"
    was.rename(now)
    summary = scan(library, database, wanted)
    assert summary.gone == 0
    with reading(database) as connection:
        (found,) = find(connection, Criteria(tags=("concert",)))
    assert (found.id, found.path) == (number, str(now))


def test_a_folder_that_cannot_be_opened_is_told(
    library: Path, database: Path, wanted: Wanted, monkeypatch: pytest.MonkeyPatch
) -> None:
    scan(library, database, wanted)
    listed = os.scandir

    def refuses(path: object) -> object:
        if str(path).endswith("trios"):
            raise PermissionError(13, "Permission denied", str(path))
        return listed(path)  # type: ignore[call-overload]

    monkeypatch.setattr(os, "scandir", refuses)
    again = scan(library, database, wanted)
    assert again.closed == (library / "trios",)
    assert again.gone == 0  # nobody knows


def test_a_missing_folder_is_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(CatalogueError, match="there is no such folder"):
        scores_below(tmp_path / "nowhere")


def test_a_folder_without_scores_is_one_sentence_and_makes_nothing(
    library: Path, tmp_path: Path, wanted: Wanted
) -> None:
    empty = tmp_path / "empty"
    empty.mkdir()
    with pytest.raises(CatalogueError, match="there is no score here"):
        scan(empty, tmp_path / "none.db", wanted)
    assert list(tmp_path.glob("none.db*")) == []
    scan(library, tmp_path / "some.db", wanted)
    with pytest.raises(CatalogueError, match="there is no score here"):
        scan(empty, tmp_path / "some.db", wanted)
    shutil.rmtree(library)
    library.mkdir()
    assert scan(library, tmp_path / "some.db", wanted).gone == 6  # they were here


def test_advice_can_be_followed_in_a_scan(tmp_path: Path, wanted: Wanted) -> None:
    folder = tmp_path / "scores"
    folder.mkdir()
    piano = QUARTET.replace("Violin II", "Flute").replace("Violin I", "Piano")
    (folder / "piano.musicxml").write_text(piano.replace("Viola", "Oboe"), encoding="utf-8")
    low = QUARTET.replace("<octave>4", "<octave>2")
    (folder / "low.musicxml").write_text(low, encoding="utf-8")
    summary = scan(folder, tmp_path / "c.db", wanted)
    assert (summary.read, summary.failed, summary.parts) == (1, 1, 2)
    told = {fault.path.name: fault for fault in summary.faults}
    assert set(told) == {"low.musicxml", "piano.musicxml"}
    assert (told["low.musicxml"].parts, told["piano.musicxml"].parts) == (2, 0)
    assert "(1) Piano, (2) Flute, (3) Oboe" in told["piano.musicxml"].sentence
    for fault in told.values():
        assert "choose" not in fault.sentence
        assert "--part" not in fault.sentence
        assert fault.path.name not in fault.sentence
        assert fault.sentence.endswith("export the score again and scan once more")


def test_parts_for_another_instrument_than_the_players_are_told(
    tmp_path: Path, wanted: Wanted
) -> None:
    from dataclasses import replace

    folder = tmp_path / "scores"
    folder.mkdir()
    (folder / "three.musicxml").write_text(QUARTET, encoding="utf-8")
    violinist = replace(wanted, player=replace(wanted.player, instrument="violin"))
    summary = scan(folder, tmp_path / "c.db", violinist)
    assert (summary.read, summary.parts) == (1, 2)
    (fault,) = summary.faults
    assert fault.sentence.startswith("the part “Viola” is for the viola, and the player plays")


# ── at side by side ─────────────────────────────────────────────────────────────────────────────


def test_two_processes_find_the_same_rows(
    library: Path, tmp_path: Path, wanted: Wanted, rows_of: RowsOf
) -> None:
    scan(library, tmp_path / "one.db", wanted, jobs=1)
    scan(library, tmp_path / "two.db", wanted, jobs=2)
    assert rows_of(tmp_path / "one.db") == rows_of(tmp_path / "two.db")


@pytest.mark.filterwarnings("ignore::DeprecationWarning")
@pytest.mark.filterwarnings("ignore::ResourceWarning")
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
def test_a_cluster_finds_the_same_rows(
    library: Path, tmp_path: Path, wanted: Wanted, rows_of: RowsOf
) -> None:
    from distributed import LocalCluster

    scan(library, tmp_path / "one.db", wanted, jobs=1)
    with LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
    ) as cluster:
        scan(library, tmp_path / "many.db", wanted, scheduler=cluster.scheduler_address)
    assert rows_of(tmp_path / "one.db") == rows_of(tmp_path / "many.db")


def test_a_cluster_that_is_not_there_is_one_sentence(
    library: Path, database: Path, wanted: Wanted, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(side, "_PATIENCE", "1s")
    with pytest.raises(CatalogueError, match="the cluster cannot be reached"):
        scan(library, database, wanted, scheduler="tcp://127.0.0.1:9")


def _deadly(path: Path, wanted: Wanted) -> object:
    from scoretools.catalogue.work import scanned

    if path.name == "book.abc":
        os._exit(1)
    return scanned(path, wanted)


def test_a_score_that_ends_its_process_is_named_and_the_others_are_read(
    library: Path, database: Path, wanted: Wanted, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(side, "scanned", _deadly)
    summary = scan(library, database, wanted, jobs=2)
    assert (summary.read, summary.failed) == (4, 2)
    assert summary.parts == 6
    told = [fault.sentence for fault in summary.faults if fault.path.name == "book.abc"]
    assert len(told) == 1
    assert "ended the process" in told[0]


def test_no_more_scores_are_under_way_than_are_needed(
    shelf: Path, database: Path, wanted: Wanted
) -> None:
    taken: list[int] = []

    def paths() -> "side.Iterator[Path]":
        for path in sorted(shelf.iterdir()):
            taken.append(0)
            yield path

    first = next(iter(side.side_by_side(paths(), wanted, 2)))
    assert first.parts
    assert len(taken) < 12


# ── killed ──────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.skipif(sys.platform == "win32", reason="there is no kill -9")
def test_killed_at_any_moment_nothing_is_lost_or_doubled(
    shelf: Path, tmp_path: Path, wanted: Wanted, rows_of: RowsOf
) -> None:
    undisturbed, killed = tmp_path / "undisturbed.db", tmp_path / "killed.db"
    scan(shelf, undisturbed, wanted)
    chance = random.Random(20)
    held = kills = 0
    line = program_line(["catalogue", "scan", shelf, "--db", killed, "--jobs", "1"])
    while kills < 20:
        child = subprocess.Popen(
            line, env=clean_environment({}), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        time.sleep(chance.uniform(0.25, 0.9))
        child.send_signal(signal.SIGKILL)
        child.wait()
        kills += 1
        now = _scores_in(killed)
        assert now >= held, "something that was kept is lost"
        if now == 30:  # all of it was read before the kill: change some, so that there is work
            for path in sorted(shelf.iterdir())[kills::7]:
                path.write_bytes(path.read_bytes() + b"\n")
        held = now
    scan(shelf, killed, wanted)
    scan(shelf, undisturbed, wanted)
    assert rows_of(killed) == rows_of(undisturbed)
    with sqlite3.connect(killed) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert connection.execute("PRAGMA foreign_key_check").fetchall() == []
    connection.close()


def _scores_in(database: Path) -> int:
    if not database.exists():
        return 0
    connection = sqlite3.connect(database)
    try:
        return int(connection.execute("SELECT count(*) FROM score").fetchone()[0])
    except sqlite3.OperationalError:  # killed before the tables were made
        return 0
    finally:
        connection.close()


# ── two at once, no room, no right to write ─────────────────────────────────────────────────────


def test_a_second_scan_says_that_another_is_at_work(
    library: Path, database: Path, wanted: Wanted
) -> None:
    code = (
        "import sys, time\nfrom pathlib import Path\n"
        "from scoretools.catalogue.store import only_writer\n"
        "with only_writer(Path(sys.argv[1])):\n    print('held', flush=True)\n    time.sleep(60)\n"
    )
    other = subprocess.Popen(
        [sys.executable, "-c", code, str(database)],
        env=clean_environment({}),
        stdout=subprocess.PIPE,
    )
    assert other.stdout is not None
    try:
        assert other.stdout.readline() == b"held\n"
        with pytest.raises(CatalogueError, match="another scan is writing"):
            scan(library, database, wanted)
    finally:
        other.kill()
        other.wait()
        other.stdout.close()
    assert scan(library, database, wanted).done == 6  # a lock dies with its holder


def test_a_full_disk_is_one_sentence_and_no_damage(
    library: Path, database: Path, wanted: Wanted, monkeypatch: pytest.MonkeyPatch
) -> None:
    from scoretools.catalogue import store

    with store.catalogue(database) as empty:
        pages = empty.connection.execute("PRAGMA page_count").fetchone()[0]
    connected = store._connected

    def small(path: Path) -> sqlite3.Connection:
        connection = connected(path)
        # Beyond these SQLite reports a full disk, as it does where the disk is.
        connection.execute(f"PRAGMA max_page_count = {pages + 4}")
        return connection

    monkeypatch.setattr(store, "_connected", small)
    with pytest.raises(CatalogueError, match="the disk is full"):
        scan(library, database, wanted)
    monkeypatch.setattr(store, "_connected", connected)
    with reading(database) as connection:
        kept = counts(connection)
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    assert 0 < kept.scores < 6
    again = scan(library, database, wanted)
    assert again.unchanged == kept.scores
    assert again.done == 6


@pytest.fixture
def open_folder() -> Iterator[Path]:
    """A folder that every user can look into."""
    folder = Path(tempfile.mkdtemp())
    folder.chmod(0o755)
    yield folder
    folder.chmod(0o755)
    shutil.rmtree(folder)


@pytest.mark.skipif(not hasattr(os, "fork"), reason="no other user to be")
def test_a_catalogue_that_cannot_be_written_is_one_sentence(
    library: Path, open_folder: Path, wanted: Wanted
) -> None:
    library = Path(shutil.move(library, open_folder))
    database = open_folder / "library.db"
    scan(library, database, wanted)
    (library / SAMPLES[2].name).unlink()
    before = database.read_bytes()
    database.chmod(0o444)
    database.parent.chmod(0o555)
    Path(f"{database}.lock").unlink(missing_ok=True)
    told, tell = os.pipe()
    child = os.fork()
    if child == 0:  # as a user who may not write here
        sentence = "nothing was refused"
        try:
            if os.geteuid() == 0:
                os.setuid(65534)
            scan(library, database, wanted)
        except CatalogueError as error:
            sentence = str(error)
        except BaseException as error:
            sentence = repr(error)
        os.write(tell, sentence.encode())
        os._exit(0)
    os.waitpid(child, 0)
    database.parent.chmod(0o755)
    sentence = os.read(told, 4096).decode()
    os.close(told)
    os.close(tell)
    assert "cannot be written" in sentence
    assert "\n" not in sentence
    assert database.read_bytes() == before


def test_progress_counts_every_score(library: Path, database: Path, wanted: Wanted) -> None:
    seen: list[int] = []

    def step(summary: Summary) -> None:
        seen.append(summary.done)

    scan(library, database, wanted, step=step)
    assert seen == list(range(7))
