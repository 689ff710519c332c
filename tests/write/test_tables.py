"""The four tables, cell by cell, on an analysis made by hand; and their way through CSV."""

import csv
import io
from dataclasses import replace
from fractions import Fraction

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

import scoretools
from scoretools.model import Analysis
from scoretools.write.tables import (
    as_csv,
    bars,
    demands_table,
    drills_table,
    notes_table,
    number,
    passages_table,
)

TABLES = (notes_table, passages_table, demands_table, drills_table)


def cells(table: pd.DataFrame, *columns: str) -> list[tuple[object, ...]]:
    """Rows of some columns, empty cells as None."""
    chosen = table[list(columns)].astype(object)
    return list(chosen.where(chosen.notna(), None).itertuples(index=False, name=None))


# ── notes ───────────────────────────────────────────────────────────────────────────────────────


def test_notes_have_the_fixed_columns(analysis: Analysis) -> None:
    assert ", ".join(notes_table(analysis).columns) == (
        "event, movement, measure, measure_index, rehearsal, beat, onset_ql, duration_ql, "
        "onset_s, pitch, midi, string, finger, offset, position, first_offset, gaps, known, "
        "certainty, margin, printed_finger, printed_string, passage"
    )


def test_notes_say_where_in_the_score_they_stand(analysis: Analysis) -> None:
    columns = ("event", "movement", "measure", "measure_index", "rehearsal", "beat")
    assert cells(notes_table(analysis), *columns) == [
        (0, 1, "1", 1, "", 1),
        (1, 1, "1", 1, "", 2),
        (2, 1, "1", 1, "", 3),
        (3, 1, "1", 1, "", 4),
        (3, 1, "1", 1, "", 4),
        (4, 1, "2", 2, "=A", 1),
        (5, 1, "2a", 3, "=A", 1),
        (6, 2, "1", 4, "", 1),
    ]


def test_notes_say_what_sounds_when(analysis: Analysis) -> None:
    columns = ("onset_ql", "duration_ql", "onset_s", "pitch", "midi")
    assert cells(notes_table(analysis), *columns) == [
        (0, 1, 0.0, "A4", 69),
        (1, 1, 1.0, "B4", 71),
        (2, 1, 2.0, "C#5", 73),
        (3, 1, 3.0, "B3", 59),
        (3, 1, 3.0, "G4", 67),
        (4, 2, 4.0, "D6", 86),
        (8, 2, 8.0, "C2", 36),
        (10, 4, 10.0, "Bb4", 70),
    ]


def test_notes_say_what_the_hand_does(analysis: Analysis) -> None:
    columns = ("string", "finger", "offset", "position", "first_offset", "gaps", "known")
    assert cells(notes_table(analysis), *columns) == [
        ("A", 0, 0, None, 2, "W-H-W", "1 2"),  # open before any finger is down: no hand yet
        ("A", 1, 2, 1.0, 2, "W-H-W", "1 2"),
        ("A", 2, 4, 1.0, 2, "W-H-W", "1 2"),
        ("G", 2, 4, 1.0, 2, "W-W-H", "2"),
        ("D", 3, 5, 1.0, 2, "W-H-W", "3"),
        ("E", 4, 10, 3.0, 5, "W-W-H", "4"),
        ("", None, None, None, None, "", ""),  # below the lowest string: no hand can play it
        ("A", 1, 1, 0.5, 1, "W-H-W", "1"),
    ]


def test_notes_say_how_sure_they_are_and_what_was_printed(analysis: Analysis) -> None:
    columns = ("certainty", "margin", "printed_finger", "printed_string", "passage")
    assert cells(notes_table(analysis), *columns) == [
        ("sure", 1.25, "0", None, 0),
        ("sure", 3.5, "", None, 0),
        ("likely", 0.9, "", None, 0),
        ("sure", None, "", None, 0),
        ("open", -0.5, "", None, 0),
        ("sure", 2.0, "4 3", 1, 1),
        ("", None, "", None, None),
        ("open", 0.2, "", None, 2),
    ]


# ── passages, demands, drills ───────────────────────────────────────────────────────────────────


def test_passages_have_a_row_for_each_string_with_a_finger_down(analysis: Analysis) -> None:
    assert cells(passages_table(analysis), *passages_table(analysis).columns) == [
        (0, "start", "1", "1", 1, 1, 0, 3, 1.0, "G", 2, "W-W-H", "2"),
        (0, "start", "1", "1", 1, 1, 0, 3, 1.0, "D", 2, "W-H-W", "3"),
        (0, "start", "1", "1", 1, 1, 0, 3, 1.0, "A", 2, "W-H-W", "1 2"),
        (1, "shift", "2", "2", 2, 2, 4, 4, 3.0, "E", 5, "W-W-H", "4"),
        (2, "shift", "1", "1", 4, 4, 6, 6, 0.5, "A", 1, "W-H-W", "1"),
    ]


def test_a_passage_of_open_strings_has_one_row_without_string(analysis: Analysis) -> None:
    first = replace(analysis.passages[0], shapes=())
    table = passages_table(replace(analysis, passages=(first,)))
    assert cells(table, "passage", "position", "string", "first_offset", "gaps") == [
        (0, None, "", None, "")
    ]


def test_demands_keep_their_order_and_say_where(analysis: Analysis) -> None:
    assert cells(demands_table(analysis), *demands_table(analysis).columns) == [
        (0, "shift", "E", 3.0, None, "", "1st to 3rd position, finger 2 to 4", "2", 1, 1.0, True,
         "sure", 5.5),
        (1, "shape", "A", 1.0, 2, "W-H-W", "W-H-W", "1", 2, 1.0, True, "sure", 2.25),
        (2, "double stop", "G", 1.0, None, "", "sixth on the G and D strings", "1", 1, 1.0, True,
         "open", 2.25),
    ]  # fmt: skip


def test_drills_have_a_row_for_each_exercise(analysis: Analysis) -> None:
    columns = ("drill", "strings", "form", "notes", "fingers", "checks", "measures")
    assert cells(drills_table(analysis), *columns) == [
        (1, "A", "up", "B4 C#5 D5", "1 2 3", "D5 octave with open D4", "1"),
        (1, "D", "up again", "E4 F#4", "1 2", "D5 octave with open D4", "1"),
        (1, "E", "up again", "F#5 G#5", "1 2", "D5 octave with open D4", "1"),
        (2, "G D", "one by one, then together", "B3 B3+G4", "2 2+3", "", "1 2 2a 1"),
    ]


def test_drills_say_how_fast_how_long_and_after_what(analysis: Analysis) -> None:
    columns = (
        "share", "start_per_minute", "goal_per_minute", "goal_assumed", "minutes", "after",
    )  # fmt: skip
    assert cells(drills_table(analysis), *columns)[2:] == [
        (0.23, 60, 120, True, 4, ""),
        (0.23, 40, 60, False, 3, "1"),
    ]


def test_an_empty_part_gives_tables_with_columns_and_no_rows(analysis: Analysis) -> None:
    nothing = replace(
        analysis,
        part=replace(analysis.part, events=()),
        steps=(), shapes=(), passages=(), passage_of=(), demands=(), drills=(),
    )  # fmt: skip
    for table in TABLES:
        assert list(table(nothing).columns) == list(table(analysis).columns)
        assert len(table(nothing)) == 0


def test_the_package_offers_these_tables() -> None:
    for table in TABLES:
        assert getattr(scoretools, table.__name__) is table


# ── CSV ─────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("make", TABLES, ids=lambda make: make.__name__)
def test_a_table_comes_back_from_csv(analysis: Analysis, make: type) -> None:
    table = make(analysis)
    texts = [name for name in table.columns if not pd.api.types.is_numeric_dtype(table[name])]
    numbers = [name for name in table.columns if name not in texts]
    read = pd.read_csv(
        io.StringIO(as_csv(table)),
        dtype=dict.fromkeys(texts, str),
        keep_default_na=False,
        na_values=dict.fromkeys(numbers, ""),
    )
    assert list(read.columns) == list(table.columns)
    for name in table.columns:
        for before, after in zip(table[name], read[name], strict=True):
            if pd.isna(before):
                assert pd.isna(after)
            else:
                assert after in (before, f"'{before}")


def test_lines_end_alike_everywhere(analysis: Analysis) -> None:
    text = as_csv(notes_table(analysis))
    assert text.endswith("\n")
    assert "\r" not in text


# Source: OWASP, "CSV Injection": spreadsheets may take a cell for a formula that begins with
# = + - @ or a tab. (A carriage return too; no text that is read holds one.)
@pytest.mark.parametrize(
    "text", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", '=HYPERLINK("http://x","y")']
)
def test_what_looks_like_a_formula_stays_a_text(text: str) -> None:
    written = as_csv(pd.DataFrame({"rehearsal": [text]}))
    rows = list(csv.reader(io.StringIO(written, newline="")))
    assert rows == [["rehearsal"], [f"'{text}"]]


@pytest.mark.parametrize("text", ["A", "W-H-W", "1-3", "'", "a=b", "", "½", 'say "ah", then\nb'])
def test_other_texts_are_left_alone(text: str) -> None:
    written = as_csv(pd.DataFrame({"rehearsal": [text], "other": ["x"]}))
    rows = list(csv.reader(io.StringIO(written, newline="")))
    assert rows == [["rehearsal", "other"], [text, "x"]]


def test_negative_numbers_stay_numbers() -> None:
    assert as_csv(pd.DataFrame({"margin": [-0.5, 2.0]})) == "margin\n-0.5\n2.0\n"


@pytest.mark.parametrize(
    ("figure", "written"),
    [
        (10.000000000000036, "10.0"),
        (1 / 3, "0.3333"),
        (78.26086956521739, "78.2609"),
        (-0.00001, "0.0"),
        (1234567.5, "1234567.5"),
        (7, "7"),
    ],
)
def test_figures_have_the_decimals_that_mean_something(figure: float, written: str) -> None:
    assert as_csv(pd.DataFrame({"figure": [figure]})) == f"figure\n{written}\n"


def test_what_is_not_known_stays_empty() -> None:
    assert as_csv(pd.DataFrame({"figure": [0.25, None], "other": [1, 2]})) == (
        "figure,other\n0.25,1\n,2\n"
    )


def test_a_rehearsal_mark_that_looks_like_a_formula_is_harmless(analysis: Analysis) -> None:
    rows = list(csv.DictReader(io.StringIO(as_csv(notes_table(analysis)))))
    assert [row["rehearsal"] for row in rows] == ["", "", "", "", "", "'=A", "'=A", ""]
    drills = list(csv.DictReader(io.StringIO(as_csv(drills_table(analysis)))))
    assert drills[0]["advice"] == "'=keep the thumb light"


@given(
    st.lists(st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\r")), min_size=1)
)
def test_no_cell_ever_begins_a_formula(texts: list[str]) -> None:
    written = as_csv(pd.DataFrame({"a": texts, "b": "x"}))
    rows = list(csv.reader(io.StringIO(written, newline="")))[1:]
    assert len(rows) == len(texts)
    for (cell, _), text in zip(rows, texts, strict=True):
        assert cell[:1] not in tuple("=+-@\t\n")
        assert cell in (text, f"'{text}")


# ── small things ────────────────────────────────────────────────────────────────────────────────


def test_bars_are_listed_as_printed(analysis: Analysis) -> None:
    assert bars(analysis, (0, 2, 3)) == "1 2a 1"
    assert bars(analysis, ()) == ""


@pytest.mark.parametrize(
    ("exact", "plain"),
    [
        (Fraction(3), 3),
        (Fraction(1, 2), 0.5),
        (Fraction(1, 3), 0.333333),
        (Fraction(-7, 4), -1.75),
    ],
)
def test_numbers_are_written_as_plainly_as_they_go(exact: Fraction, plain: float) -> None:
    assert number(exact) == plain
    assert isinstance(number(exact), int) == (exact.denominator == 1)
