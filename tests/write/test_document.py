"""The JSON document, on an analysis made by hand."""

import json
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest

from scoretools.model import Analysis
from scoretools.write.document import SCHEMA, VERSION, analysis_json
from scoretools.write.tables import demands_table, notes_table, passages_table


@pytest.fixture
def document(analysis: Analysis) -> dict[str, Any]:
    read: dict[str, Any] = json.loads(analysis_json(analysis))
    return read


def test_the_schema_and_its_version_are_fixed(document: dict[str, Any]) -> None:
    assert (SCHEMA, VERSION) == ("scoretools-analysis", 1)
    assert (document["schema"], document["version"]) == ("scoretools-analysis", 1)


def test_the_fields_of_version_1_are_all_there(document: dict[str, Any]) -> None:
    assert list(document) == [
        "schema", "version", "part", "fingering", "measures", "notes", "events", "passages",
        "demands", "drills", "left_out", "notices",
    ]  # fmt: skip


def test_the_part_and_the_fingering_are_named(document: dict[str, Any]) -> None:
    assert document["part"] == {
        "source": "study.musicxml",
        "title": "Study",
        "composer": "A. Player",
        "name": "Violin",
        "number": 1,
        "instrument": "violin",
        "strings": ["G", "D", "A", "E"],
        "tempi": [{"onset_ql": 0, "quarters_per_minute": 60.0, "assumed": True}],
    }
    assert document["fingering"] == {
        "profile": "developing-player",
        "ceiling": 3,
        "ceiling_from": "notes",
        "cost": 0.45,
        "marks_broken": 0,
    }


@pytest.mark.parametrize(
    ("name", "table"),
    [("notes", notes_table), ("passages", passages_table), ("demands", demands_table)],
)
def test_rows_are_those_of_the_tables(
    document: dict[str, Any], analysis: Analysis, name: str, table: Any
) -> None:
    frame = table(analysis)
    assert len(document[name]) == len(frame) > 0
    for row, (_, cells) in zip(document[name], frame.iterrows(), strict=True):
        assert list(row) == list(frame.columns)
        for column, value in row.items():
            cell = cells[column]
            assert value == cell or (value is None and str(cell) in ("nan", "<NA>", "None"))


def test_whole_numbers_are_whole_and_empty_cells_are_null(document: dict[str, Any]) -> None:
    first, unplayable = document["notes"][0], document["notes"][6]
    assert (first["finger"], first["offset"], first["midi"]) == (0, 0, 69)
    assert type(first["finger"]) is int
    assert first["position"] is None
    assert (unplayable["finger"], unplayable["margin"], unplayable["passage"]) == (None,) * 3
    assert document["demands"][0]["speed_assumed"] is True


def test_bars_carry_their_load_and_its_reasons(document: dict[str, Any]) -> None:
    bars = document["measures"]
    assert [(bar["measure_index"], bar["measure"], bar["load"]) for bar in bars] == [
        (1, "1", 1.5),
        (2, "2", 2.75),
        (3, "2a", 0.0),
        (4, "1", 1.5),
    ]
    assert bars[0]["reasons"] == ["W-H-W on A", "double stop: sixth"]


def test_events_itemise_their_cost(document: dict[str, Any]) -> None:
    assert document["events"][4] == {
        "event": 4,
        "home": 5,
        "position": 3,
        "broken_chord": False,
        "costs": {"fourth finger": 0.45},
    }
    assert document["events"][5] == {
        "event": 5, "home": None, "position": None, "broken_chord": None, "costs": {},
    }  # fmt: skip
    assert document["events"][6]["position"] == 0.5


def test_drills_hold_their_notes(document: dict[str, Any]) -> None:
    first, second = document["drills"]
    assert (first["drill"], first["after"], first["bridge"]) == (1, [], ["1", "2"])
    assert [(one["form"], one["strings"]) for one in first["exercises"]] == [
        ("up", ["A"]), ("up again", ["D"]), ("up again", ["E"]),
    ]  # fmt: skip
    assert first["ladder"] == [60, 84, 120]
    assert first["checks"] == [{"pitch": "D5", "against": "D4", "interval": "octave"}]
    assert (second["after"], second["measures"]) == ([1], ["1", "2", "2a", "1"])
    together = {"position": 1.0, "length_ql": 3, "silent": False}
    assert second["exercises"][0]["notes"][1:] == [
        {"pitch": "B3", "string": "G", "finger": 2, "offset": 4, "with_next": True, **together},
        {"pitch": "G4", "string": "D", "finger": 3, "offset": 5, "with_next": False, **together},
    ]


def test_what_is_left_out_is_told_with_its_reason(document: dict[str, Any]) -> None:
    assert document["left_out"] == [
        {
            "title": "Shifts between 1st and 3rd position, finger 2 to 4",
            "demands": [0], "measures": ["2"], "share": 0.54,
            "why": "no time: it would take 3 minutes, 2 times",
        }
    ]  # fmt: skip


def test_notices_name_their_bar_by_index(document: dict[str, Any]) -> None:
    assert document["notices"] == [
        {"measure_index": None, "message": "The score prints no tempo."},
        {"measure_index": 3, "message": "C2 goes below the open G; left unfingered"},
    ]


def test_the_text_is_strict_json_in_plain_letters(analysis: Analysis) -> None:
    titled = replace(analysis, part=replace(analysis.part, title="Étude “en ré” \u2028 ½"))
    text = analysis_json(titled)
    assert "Étude “en ré”" in text
    assert text.endswith("}\n")
    read = json.loads(text, parse_constant=lambda word: pytest.fail(f"{word} is no JSON"))
    assert read["part"]["title"] == titled.part.title


def test_a_number_that_is_none_is_refused(analysis: Analysis) -> None:
    with pytest.raises(ValueError, match="JSON"):
        analysis_json(replace(analysis, cost=float("nan")))


def test_every_value_is_plain(document: dict[str, Any]) -> None:
    assert {type(value) for value in _values(document)} <= {str, int, float, bool, type(None)}


def _values(value: Any) -> Iterator[Any]:
    if isinstance(value, dict):
        for inner in value.values():
            yield from _values(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from _values(inner)
    else:
        yield value
