"""Tables of played fingerings: bars, chords, strings, and what is wrong in them."""

import os
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import pytest

from scoretools.errors import ReadError
from scoretools.read.annotated import AnnotatedPart, PlayedStop, read_annotated

CHECK_DATA = os.environ.get("SCORETOOLS_CHECK_DATA")

needs_check_data = pytest.mark.skipif(
    not CHECK_DATA, reason="SCORETOOLS_CHECK_DATA names no folder of check data"
)

HEAD = "pitch,start,duration,beat_type,string,position,finger\n"

Table = Callable[[str], AnnotatedPart]


@pytest.fixture
def table(tmp_path: Path) -> Table:
    """Read rows written as text, under the name ``vio3_study.csv``."""

    def read(rows: str, head: str = HEAD) -> AnnotatedPart:
        path = tmp_path / "vio3_study.csv"
        path.write_text(head + rows, encoding="utf-8")
        return read_annotated(path)

    return read


def test_an_upbeat_and_two_bars(table: Table) -> None:
    read = table(
        "62,-1.0,1.0,3,2,1,0\n"
        "67,0.0,2.0,2,2,1,3\n"
        "69,2.0,1.0,3,3,1,0\n"
        "71,0.0,1.5,3,3,1,1\n"
        "72,1.5,1.5,3,3,1,2\n"
    )
    part = read.part
    assert (read.player, part.title, part.instrument) == ("vio3", "study", "violin")
    bars = [(m.number, m.onset_ql, m.duration_ql, m.upbeat) for m in part.measures]
    assert bars == [("0", 0, 1, True), ("1", 1, 3, False), ("2", 4, 3, False)]
    assert {m.time for m in part.measures} == {(3, 4)}
    places = [(e.measure, e.onset_ql, e.beat) for e in part.events]
    assert places == [
        (0, 0, 3),
        (1, 1, 1),
        (1, 3, 3),
        (2, 4, 1),
        (2, Fraction(11, 2), Fraction(5, 2)),
    ]
    assert [n.pitch.name for e in part.events for n in e.notes] == ["D4", "G4", "A4", "B4", "C5"]
    assert read.stops[1] == (PlayedStop(1, 1, 3),)
    assert read.stops[3] == (PlayedStop(2, 1, 1),)


def test_speed_rests_on_the_assumed_tempo(table: Table) -> None:
    (tempo,) = table("62,0,1,3,2,1,0\n").part.tempi
    assert (tempo.quarters_per_minute, tempo.assumed) == (100, True)
    events = table("62,0,1,3,2,1,0\n64,1,2,2,2,1,1\n").part.events
    assert [event.onset_s for event in events] == pytest.approx([0, 0.6])
    assert [event.end_s for event in events] == pytest.approx([0.6, 1.8])


def test_equal_starts_sound_together_lowest_first(table: Table) -> None:
    read = table("69,0,1,3,3,1,0\n62,0,1,3,2,1,0\n71,1,1,3,3,1,1\n")
    assert [[n.pitch.name for n in e.notes] for e in read.part.events] == [["D4", "A4"], ["B4"]]
    assert read.stops[0] == (PlayedStop(1, 1, 0), PlayedStop(2, 1, 0))


def test_a_string_twice_at_one_start_is_a_new_bar(table: Table) -> None:
    read = table("69,0,4,1,3,1,0\n71,0,4,1,3,1,1\n71,0,2,2,3,1,1\n")
    assert [e.measure for e in read.part.events] == [0, 1, 2]
    assert [e.onset_ql for e in read.part.events] == [0, 4, 8]


def test_a_late_first_note_and_a_short_bar_keep_their_rests(table: Table) -> None:
    read = table("69,2,2,2,3,1,0\n71,0,4,1,3,1,1\n69,0,1,3,3,1,0\n69,0,4,1,3,1,0\n")
    assert [e.onset_ql for e in read.part.events] == [2, 4, 8, 12]
    assert [m.duration_ql for m in read.part.measures] == [4, 4, 4, 4]


def test_rounded_thirds_are_thirds(table: Table) -> None:
    read = table("69,0,0.332031,4,3,1,0\n71,0.332031,0.335938,4,3,1,1\n72,0.667969,0.332,4,3,1,2\n")
    assert [e.onset_ql for e in read.part.events] == [0, Fraction(1, 3), Fraction(2, 3)]


def test_a_string_not_noted_follows_from_the_finger(table: Table) -> None:
    read = table("76,0,1,3,0,1,0\n76,1,1,3,0,3,2\n60,2,1,3,0,1,3\n81,3,1,3,0,3,1\n")
    assert [stop.string for (stop,) in read.stops] == [3, 2, 0, 3]


def test_headings_may_stand_in_any_order_and_without_note_heads(table: Table) -> None:
    read = table("0,1,3,69,0,1\n", head="finger,position,string,pitch,start,duration\n")
    assert read.stops == ((PlayedStop(2, 1, 0),),)


@pytest.mark.parametrize(
    ("row", "told"),
    [
        ("high,0,1,3,2,1,0", "pitch is “high”, not a whole number from 0 to 127"),
        ("62,x,1,3,2,1,0", "start is “x”, not a number"),
        ("62,nan,1,3,2,1,0", "start is “nan”, not a number"),
        ("62,0,-1,3,2,1,0", "duration is “-1”, not a number from 0"),
        ("62,0,1,3,5,1,0", "string is “5”, not a whole number from 0 to 4"),
        ("62,0,1,3,2,13,0", "position is “13”, not a whole number from 1 to 12"),
        ("62,0,1,3,2,1,5", "finger is “5”, not a whole number from 0 to 4"),
        ("62,0,1,3,2,1,", "finger is nothing"),
        ("62,0", "duration is nothing"),
    ],
)
def test_a_wrong_value_is_told_with_its_line(table: Table, row: str, told: str) -> None:
    with pytest.raises(ReadError) as caught:
        table(f"62,0,1,3,2,1,0\n{row}\n")
    assert str(caught.value).startswith("vio3_study.csv: line 3: ")
    assert told in str(caught.value)


def test_what_is_no_such_table(table: Table, tmp_path: Path) -> None:
    with pytest.raises(ReadError, match=r"lacks the heading finger.*pitch, start"):
        table("1\n", head="pitch,start,duration,string,position\n")
    with pytest.raises(ReadError, match="no note below the headings"):
        table("")
    (tmp_path / "latin.csv").write_bytes(HEAD.encode() + b"\xe9,0,1,3,2,1,0\n")
    with pytest.raises(ReadError, match=r"latin\.csv: not plain text in UTF-8"):
        read_annotated(tmp_path / "latin.csv")
    with pytest.raises(ReadError, match=r"gone\.csv"):
        read_annotated(tmp_path / "gone.csv")


@needs_check_data
def test_every_player_of_the_check_data_is_read() -> None:
    files = sorted((Path(CHECK_DATA or "") / "annotated" / "tnua").glob("vio*_*.csv"))
    assert len(files) >= 10
    for file in files:
        read = read_annotated(file)
        rows = file.read_text(encoding="utf-8").splitlines()[1:]
        assert sum(map(len, read.stops)) == len([row for row in rows if row.strip()])
        onsets = [event.onset_ql for event in read.part.events]
        assert onsets == sorted(set(onsets))
