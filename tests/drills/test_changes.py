"""Fingers that change place and hands that shift: counted, spelled and shown from both ends."""

from pathlib import Path

import pytest
from music21 import corpus

import scoretools
from scoretools.analysis import instrument_of
from scoretools.model import Analysis, DemandKind, Drill
from scoretools.player import Player
from scoretools.write.figures import spots
from tests.conftest import Analyse, score_text
from tests.drills.conftest import PATIENT

CHANGES = (DemandKind.SHAPE_CHANGE, DemandKind.CHROMATIC_SLIDE)
FIRST_POSITION = Player(minutes_per_day=60, days_per_week=7, highest_position=1)


# Source: Haydn, op. 74 no. 1, third movement, violin II, and Mozart, K. 156, first movement, viola,
# of the music21 corpus; read bar by bar.
@pytest.fixture(scope="module", params=["haydn/opus74no1/movement3", "mozart/k156/movement1"])
def quartet(request: pytest.FixtureRequest) -> Analysis:
    part = "Violin 2" if "haydn" in request.param else "Viola"
    return scoretools.analyse(scoretools.read_part(corpus.getWork(request.param), part), PATIENT)


def of_changes(analysis: Analysis) -> list[Drill]:
    return [drill for drill in analysis.drills if drill.kind in CHANGES]


def test_a_change_sets_out_from_a_note_not_long_before(quartet: Analysis) -> None:
    events = quartet.part.events
    changes = [demand for demand in quartet.demands if demand.kind in CHANGES]
    assert changes
    for demand in changes:
        was = demand.stops[0]
        for departure, moment in zip(demand.departures, demand.moments, strict=True):
            assert 0 < moment - departure <= 8
            assert events[moment].measure - events[departure].measure <= 2
            placement = quartet.steps[departure].placement
            assert placement is not None
            assert was in placement.stops


def test_the_bars_of_the_piece_hold_both_places_on_the_string_of_the_drill(
    quartet: Analysis,
) -> None:
    assert of_changes(quartet)
    for drill in of_changes(quartet):
        shown = range(drill.bridge[0], drill.bridge[1] + 1)
        here = [quartet.demands[index] for index in drill.demands]
        assert any(
            {quartet.part.events[one].measure for one in (departure, moment)} <= set(shown)
            for demand in here
            if demand.string == drill.string
            for departure, moment in zip(demand.departures, demand.moments, strict=True)
        ), drill.title


def test_the_picture_shows_both_places(quartet: Analysis) -> None:
    instrument = instrument_of(quartet.part, Player())
    for drill in of_changes(quartet):
        drawn = [spot.stop for spot in spots(instrument, quartet, drill)]
        assert set(quartet.demands[drill.demands[0]].stops) <= set(drawn), drill.title


def test_no_place_is_named_twice(quartet: Analysis) -> None:
    for drill in of_changes(quartet):
        places = [
            frozenset(stop for stop in quartet.demands[index].stops) for index in drill.demands
        ]
        named = drill.title.split(": ")[1].split("; ")
        assert len(named) == min(3, len(set(places))), drill.title


def test_a_place_is_spelled_as_the_bar_it_comes_from_spells_it() -> None:
    # Source: as above, bars 43 to 45: D-flat, then D.
    part = scoretools.read_part(corpus.getWork("haydn/opus74no1/movement3"), "Violin 2")
    titles = " ".join(drill.title for drill in of_changes(scoretools.analyse(part, PATIENT)))
    assert "Db and D on A" in titles
    assert "C# and D on A" not in titles


def test_a_finger_that_played_long_ago_is_set_down_anew(small_analysis: Analyse) -> None:
    # Common practice, no published source.
    between = "D5 E5:4 D5 E5:4 " * 4
    near = small_analysis("violin", "C5:2 D5 C#5:2 D5", player=FIRST_POSITION)
    far = small_analysis("violin", f"C5:2 {between} C#5:2 D5", player=FIRST_POSITION)
    assert any(demand.kind in CHANGES for demand in near.demands)
    assert not any(demand.kind in CHANGES for demand in far.demands)


# ── shifts ──────────────────────────────────────────────────────────────────────────────────────


def test_a_shift_at_a_repeat_goes_from_its_end_to_its_beginning(tmp_path: Path) -> None:
    # Counted by hand: G5 under 4 in third position, then B4 under 1 in first.
    words = "B4:1 C5:2 D5:3 E5:4 D5:1@2 E5:2@2 F5:3@2 G5:4@2 A4:0 B4:1 C5:2 B4:1"
    repeat = '<barline location="right"><repeat direction="backward"/></barline></measure>'
    bars = score_text("violin", words).split("</measure>")
    text = bars[0] + "</measure>" + bars[1] + repeat + "</measure>".join(bars[2:])
    (tmp_path / "repeat.musicxml").write_text(text, encoding="utf-8")
    analysis = scoretools.analyse(scoretools.read_part(tmp_path / "repeat.musicxml"))
    (found,) = (d for d in analysis.demands if d.detail.endswith("at the repeat"))
    assert (found.departures, found.moments) == ((7,), (0,))


def test_a_shift_over_a_string_left_out_makes_no_exercise(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "B3:2@4 C4:3@4 E6:4@1 D6:3@1 B3:2@4", player=PATIENT)
    assert any(demand.kind is DemandKind.SHIFT for demand in analysis.demands)
    assert not any(drill.kind is DemandKind.SHIFT for drill in analysis.drills)
    assert any("Shifts" in left.title for left in analysis.left_out)


# ── scales ──────────────────────────────────────────────────────────────────────────────────────


def test_a_scale_has_the_shape_that_its_drill_practises(quartet: Analysis) -> None:
    for drill in quartet.drills:
        for exercise in drill.exercises:
            if exercise.name == "scale in the position" and drill.shape is not None:
                played = {note.stop for note in exercise.notes}
                fingers = {
                    (finger, drill.shape.offsets[finger - 1]) for finger in drill.shape.known
                }
                here = {(s.finger, s.offset) for s in played if s.string == drill.shape.string}
                assert {one for one in fingers if one[0] in dict(here)} <= here, drill.title
