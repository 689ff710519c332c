"""Asking a catalogue: the same answers as looking at every part, and nothing but answers."""

import sqlite3
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scoretools.catalogue import (
    Criteria,
    FoundPart,
    Range,
    Wanted,
    answer,
    catalogue,
    find,
    in_full,
    reading,
    scan,
)
from scoretools.catalogue.criteria import ORDERS
from scoretools.catalogue.query import place_of, question
from scoretools.catalogue.rows import PartRow
from scoretools.catalogue.work import ScannedScore
from scoretools.errors import CatalogueError
from tests.cli.conftest import SAMPLES

COMMA = 'say "hi", once'
"""A tag with a comma is one tag."""


@pytest.fixture(scope="module")
def database(tmp_path_factory: pytest.TempPathFactory, wanted: Wanted) -> Path:
    """The sample scores, two of them tagged."""
    path = tmp_path_factory.mktemp("catalogue") / "library.db"
    scan(SAMPLES[0].parent, path, wanted)
    with reading(path) as connection:
        places = [place_of(connection, number) for number in (2, 4)]
    with catalogue(path) as kept:
        kept.add_tag("spring concert", places)
        kept.add_tag(COMMA, places[:1])
        kept.add_tag("viola', (DROP TABLE part) --<b>", places[:1])
    return path


@pytest.fixture
def connection(database: Path) -> Iterator[sqlite3.Connection]:
    with reading(database) as opened:
        yield opened


# ── the same as looking at every part ───────────────────────────────────────────────────────────

SHAPES = ("W-H-W", "H-W-W", "W-W-H", "W-W-W", "H-A-H", "A-H-W", "H-H-H")


@st.composite
def some_criteria(draw: st.DrawFn) -> Criteria:
    def ranges(least: float, most: float) -> st.SearchStrategy[Range]:
        end = st.none() | st.floats(least, most).map(lambda value: round(value, 1))
        return st.builds(Range, end, end)

    some = st.lists(st.sampled_from(SHAPES), max_size=2).map(tuple)
    return Criteria(
        title=draw(st.sampled_from(["", "wint", "two voi", "boat", "absent"])),
        composer=draw(st.sampled_from(["", "lindenhof", "STUDIO linden"])),
        part=draw(st.sampled_from(["", "viol", "viola"])),
        instrument=draw(st.sampled_from(["", "", "violin", "viola"])),
        level=draw(st.none() | ranges(1, 5)),
        rubric=draw(st.sampled_from(["", "bands", "index"])),
        features=tuple(
            draw(st.lists(st.tuples(st.sampled_from(["bars", "shapes", "shifts_per_minute"]),
                                    ranges(0, 40)), max_size=2))
        ),
        shapes=draw(some),
        without_shapes=draw(some),
        only_shapes=draw(st.just(()) | st.just(SHAPES) | st.just(("W-H-W",))),
        keys=draw(st.just(()) | st.lists(st.integers(-3, 3), min_size=1, max_size=4).map(tuple)),
        double_stops=draw(st.sampled_from([None, True, False])),
        tags=draw(st.just(()) | st.just(("spring concert",))),
        without_tags=draw(st.just(()) | st.just(("spring concert",))),
        order=draw(st.sampled_from(sorted(ORDERS))),
    )  # fmt: skip


@settings(max_examples=150, deadline=None)
@given(criteria=some_criteria())
def test_find_is_what_looking_at_every_part_finds(database: Path, criteria: Criteria) -> None:
    with reading(database) as connection:
        every = [in_full(connection, number) for number in range(1, 7)]
        found = {one.id for one in find(connection, criteria)}
    assert found == {full.found.id for full in every if _fits(full, criteria)}


def _fits(full: Any, criteria: Criteria) -> bool:
    found: FoundPart = full.found
    rows = full.rows
    values = {row["name"]: row["value"] for row in rows["feature"]}
    levels = {row["rubric"]: row["value"] for row in rows["level"]}
    shapes = {row["gaps"] for row in rows["shape"]}
    keys = {row["fifths"] for row in rows["key_signature"]}
    words = {"title": found.title, "composer": found.composer, "part": found.part}
    return (
        all(
            any(word.startswith(asked) for word in words[name].lower().split())
            for name in words
            for asked in getattr(criteria, name).lower().split()
        )
        and criteria.instrument in ("", found.instrument)
        and _within(levels[criteria.rubric or "bands"], criteria.level)
        and all(_within(values[name], wanted) for name, wanted in criteria.features)
        and set(criteria.shapes) <= shapes
        and not set(criteria.without_shapes) & shapes
        and (not criteria.only_shapes or shapes <= set(criteria.only_shapes))
        and (not criteria.keys or keys <= set(criteria.keys))
        and criteria.double_stops in (None, bool(rows["double_stop"]))
        and set(criteria.tags) <= set(found.tags)
        and not set(criteria.without_tags) & set(found.tags)
    )


def _within(value: float, wanted: Range | None) -> bool:
    if wanted is None:
        return True
    low = wanted.least is None or value >= wanted.least
    return low and (wanted.most is None or value <= wanted.most)


def test_the_order_and_the_limit(connection: sqlite3.Connection) -> None:
    levels = [one.value for one in find(connection, Criteria(rubric="index"))]
    assert levels == sorted(levels)
    titles = [one.title for one in find(connection, Criteria(order="title"))]
    assert titles == sorted(titles)
    assert len(find(connection, Criteria(limit=2))) == 2
    with pytest.raises(CatalogueError, match="nothing to sort by"):
        find(connection, Criteria(order="part.id; DROP TABLE part"))
    with pytest.raises(CatalogueError, match="no feature “speed”"):
        find(connection, Criteria(features=(("speed", Range()),)))


def test_words_are_found_without_accents(tmp_path: Path, wanted: Wanted) -> None:
    path = tmp_path / "accents.db"
    with reading(_with_parts(path, wanted, ["Antonín Dvořák", 'O’Brien "Ned"', "7"])) as opened:
        assert _composers(opened, "dvorak") == ["Antonín Dvořák"]
        assert _composers(opened, "DVOŘÁK ant") == ["Antonín Dvořák"]
        assert _composers(opened, '"ned"') == ['O’Brien "Ned"']
        for odd in ('"', "' OR 1=1", "composer : x", "* NEAR(", "-", "\x00"):
            assert _composers(opened, odd) == []


def _composers(connection: sqlite3.Connection, words: str) -> list[str]:
    return [one.composer for one in find(connection, Criteria(composer=words))]


def _with_parts(path: Path, wanted: Wanted, composers: list[str]) -> Path:
    """A catalogue of copies of the first sample score, by these composers."""
    from scoretools.catalogue.work import scanned

    made = scanned(SAMPLES[0], wanted)
    with catalogue(path) as kept:
        for number, composer in enumerate(composers):
            part: PartRow = replace(made.parts[0], composer=composer, title=f"Piece {number}")
            one = replace(made, path=Path(f"/{number}.xml"), content_hash=str(number))
            kept.put(replace(one, parts=(part,)), wanted)
    return path


def _parts(path: Path, wanted: Wanted, **fields: list[str]) -> Path:
    """A catalogue of copies of the first sample score, with these fields of its part."""
    from scoretools.catalogue.work import scanned

    made = scanned(SAMPLES[0], wanted)
    with catalogue(path) as kept:
        for number, values in enumerate(zip(*fields.values(), strict=True)):
            part: PartRow = replace(made.parts[0], **dict(zip(fields, values, strict=True)))
            one = replace(made, path=Path(f"/scores/mill stream {number}.xml"), parts=(part,))
            kept.put(replace(one, content_hash=str(number)), wanted)
    return path


FIRST = ("Violin I", "Violin 1", "1st Violin", "Violino I", "Violine 1", "Vl. I", "Violons 1")
SECOND = ("violin II", "Violin 2", "2nd Violin", "Violino II", "Violine 2", "Vl. II", "Vln 2",
          "Second Violin", "Zweite Geige")  # fmt: skip
VIOLAS = ("Viola", "Bratsche", "Viola 1")


# Common practice, no published source: what the parts of an orchestra are called.
@pytest.mark.parametrize(
    ("asked", "names"),
    [
        *((name, SECOND) for name in SECOND),
        *((name, FIRST) for name in FIRST),
        ("viola", VIOLAS),
        ("Bratsche", VIOLAS),
        ("viola I", ("Viola 1",)),
        ("viol", (*FIRST, *SECOND[:-1], "Viola", "Viola 1", "Zweite Geige")),
        ("seco", ("Second Violin",)),
        ("violin III", ()),
        ("1", (*FIRST, "Viola 1")),
    ],
)
def test_a_part_is_found_under_all_its_names(
    tmp_path: Path, wanted: Wanted, asked: str, names: tuple[str, ...]
) -> None:
    path = _parts(tmp_path / "names.db", wanted, name=[*FIRST, *SECOND, *VIOLAS])
    with reading(path) as connection:
        found = {one.part for one in find(connection, Criteria(part=asked))}
    assert found == set(names)


def test_a_part_without_a_name_is_found_by_its_instrument(tmp_path: Path, wanted: Wanted) -> None:
    path = _parts(tmp_path / "names.db", wanted, name=["", ""], instrument=["violin", "viola"])
    with reading(path) as connection:
        (found,) = find(connection, Criteria(part="violin"))
    assert found.instrument == "violin"


def test_a_score_without_a_title_is_found_by_its_file_name(tmp_path: Path, wanted: Wanted) -> None:
    path = _parts(tmp_path / "titles.db", wanted, title=["", "Evening Boat", ""])
    with reading(path) as connection:
        found = find(connection, Criteria(title="mill str", order="title"))
        assert [one.title for one in found] == ["mill stream 0.xml", "mill stream 2.xml"]
        assert find(connection, Criteria(title="scores")) == ()  # the folder is no title
        every = [one.title for one in find(connection, Criteria(order="title"))]
    assert every == ["Evening Boat", "mill stream 0.xml", "mill stream 2.xml"]


# ── indexed questions do not grow with the table ────────────────────────────────────────────────

INDEXED = {
    "composer": Criteria(composer="rare"),
    "part": Criteria(part="violin 3"),
    "tag": Criteria(tags=("rare",)),
    "number": Criteria(numbers=(3,)),
    "shape": Criteria(shapes=("H-A-H",)),
    "level": Criteria(level=Range(900, 901), rubric="index"),
    "level by the scan's rubric": Criteria(level=Range(900, 901)),
}


@pytest.fixture(scope="module")
def large(
    tmp_path_factory: pytest.TempPathFactory, wanted: Wanted
) -> Callable[[int], sqlite3.Connection]:
    """Catalogues of made-up parts, three of which have what is rare."""
    from scoretools.catalogue.work import scanned

    made = scanned(SAMPLES[0], wanted)
    few = {name: rows[:3] for name, rows in made.parts[0].children.items() if name != "feature"}
    few["feature"] = made.parts[0].children["feature"]
    folder = tmp_path_factory.mktemp("large")

    def filled(parts: int) -> sqlite3.Connection:
        path = folder / f"{parts}.db"
        with catalogue(path) as kept:
            kept.connection.execute("PRAGMA synchronous = OFF")
            for number in range(parts):
                kept.put(_made_up(made, few, number), wanted)
            kept.add_tag("rare", [place_of(kept.connection, number) for number in (1, 2, 3)])
            kept.count_rows()
        return sqlite3.connect(path)

    return filled


def _made_up(made: ScannedScore, few: dict[str, Any], number: int) -> ScannedScore:
    rare = number < 3
    shape, level = few["shape"][0], few["level"]
    children = {
        **few,
        "shape": (shape, replace(shape, gaps="H-A-H")) if rare else (shape,),
        "level": tuple(replace(one, value=900.5 if rare else float(number % 80)) for one in level),
    }
    composer = "Rare Bird" if rare else f"Composer {number % 50}"
    part = replace(
        made.parts[0],
        name="Violino III" if rare else "Violin",
        composer=composer,
        title=f"Piece {number}",
        children=children,
    )
    return replace(made, path=Path(f"/{number}.xml"), content_hash=str(number), parts=(part,))


def test_indexed_questions_take_no_more_steps_in_a_larger_catalogue(
    large: Callable[[int], sqlite3.Connection],
) -> None:
    small, big = large(150), large(1500)
    for name, criteria in INDEXED.items():
        few, many = _steps(small, criteria), _steps(big, criteria)
        assert many < 1.5 * few, f"{name}: {few} and {many} steps of the database's machine"
    everything = Criteria(double_stops=True)  # this one has to look at every part
    assert _steps(big, everything) > 5 * _steps(small, everything)
    small.close()
    big.close()


def _steps(connection: sqlite3.Connection, criteria: Criteria) -> int:
    """Steps of SQLite's virtual machine: a measure of work that no clock disturbs."""
    steps = 0

    def count() -> int:
        nonlocal steps
        steps += 1
        return 0

    text, values = question(connection, criteria)
    connection.set_progress_handler(count, 1)
    found = connection.execute(text, values).fetchall()
    connection.set_progress_handler(None, 0)
    assert len(found) in (0, 1, 3)
    return steps


# ── SQL can only read ───────────────────────────────────────────────────────────────────────────


def test_sql_reads(connection: sqlite3.Connection) -> None:
    found = answer(connection, "SELECT count(*) AS parts, max(id) FROM part")
    assert found.columns == ("parts", "max(id)")
    assert found.rows == ((6, 6),)
    counted = answer(
        connection,
        "WITH RECURSIVE n(x) AS (SELECT 1 UNION ALL SELECT x + 1 FROM n WHERE x < 5) "
        "SELECT sum(x) FROM n",
    )
    assert counted.rows == ((15,),)


@pytest.mark.parametrize(
    "sql",
    [
        "DELETE FROM part",
        "DELETE FROM part RETURNING id",
        "UPDATE part SET title = ''",
        "INSERT INTO tag VALUES (1, 1, 'x')",
        "DROP TABLE part",
        "CREATE TABLE more (x)",
        "CREATE TEMP TABLE more (x)",
        "ATTACH DATABASE ':memory:' AS other",
        "ATTACH DATABASE '{made}' AS other",
        "VACUUM INTO '{made}'",
        "PRAGMA query_only = OFF",
        "PRAGMA writable_schema = ON",
        "PRAGMA user_version = 9",
        "BEGIN IMMEDIATE",
        "SELECT load_extension('evil')",
        "SELECT 1; DELETE FROM part",
        "SELECT 1 FROM nothing",
        "SELEC 1",
        "SELECT '\x00",
    ],
)
def test_sql_does_nothing_else(database: Path, sql: str, tmp_path: Path) -> None:
    before = database.read_bytes()
    made = tmp_path / "made-by-sql.db"
    with reading(database) as connection:
        with pytest.raises(CatalogueError, match=r"^--sql: "):
            answer(connection, sql.format(made=made))
        assert answer(connection, "SELECT count(*) FROM part").rows == ((6,),)
    assert database.read_bytes() == before
    assert not made.exists()


# ── one part ────────────────────────────────────────────────────────────────────────────────────


def test_one_part_holds_what_the_analysis_says(connection: sqlite3.Connection) -> None:
    import scoretools

    full = in_full(connection, 2)
    analysis = scoretools.analyse(scoretools.read_part(SAMPLES[1]))
    assert full.found.title == analysis.part.title
    assert len(full.rows["demand"]) == len(analysis.demands)
    assert len(full.rows["passage"]) == len(analysis.passages)
    assert [row["title"] for row in full.rows["drill"]] == [one.title for one in analysis.drills]
    assert full.rows["hard_bar"][0]["load"] == max(round(bar.load, 3) for bar in analysis.loads)
    assert full.facts["notes"] == sum(len(event.notes) for event in analysis.part.events)


def test_a_part_that_is_not_there_is_one_sentence(connection: sqlite3.Connection) -> None:
    with pytest.raises(CatalogueError, match="there is no part 7 in the catalogue"):
        in_full(connection, 7)


def test_tags_with_quotes_and_markup_are_texts(connection: sqlite3.Connection) -> None:
    (found,) = find(connection, Criteria(tags=("viola', (DROP TABLE part) --<b>",)))
    assert found.id == 2
    assert set(found.tags) == {"spring concert", "viola', (DROP TABLE part) --<b>", COMMA}
