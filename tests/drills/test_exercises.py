"""Exercises: their notes lie where they claim, in time, with the fingers that are needed."""

from fractions import Fraction
from itertools import pairwise

import pytest
from music21 import corpus

import scoretools
from scoretools.drills.groups import OF_ONE_HAND
from scoretools.model import Analysis, DemandKind, Drill, Exercise, Pitch, PositionNumber
from scoretools.player import Player, Profile
from tests.conftest import Analyse
from tests.drills.conftest import PATIENT, SAMPLES, open_midi


def said(exercise: Exercise) -> str:
    return " ".join(
        f"{'~' if note.silent else ''}{note.pitch.name}:{note.stop.finger}"
        f"{'+' if note.with_next else ''}"
        for note in exercise.notes
    )


def named(drill: Drill, name: str) -> list[Exercise]:
    return [exercise for exercise in drill.exercises if exercise.name == name]


# ── invariants ──────────────────────────────────────────────────────────────────────────────────


def test_notes_lie_where_they_claim(sample: Analysis) -> None:
    opens = open_midi(sample)
    for drill in sample.drills:
        assert drill.exercises
        for exercise in drill.exercises:
            assert exercise.name
            for note in exercise.notes:
                assert note.pitch.midi == opens[note.stop.string] + note.stop.offset
                assert (note.stop.finger == 0) == (note.stop.offset == 0)
                assert abs(note.pitch.alter) <= 1
            assert not exercise.notes[-1].with_next


def test_bars_are_full_and_no_note_goes_over_one(sample: Analysis) -> None:
    for drill in sample.drills:
        for exercise in drill.exercises:
            filled = Fraction(0)
            for note in exercise.notes:
                if not note.with_next:
                    assert note.length_ql > 0
                    assert filled % exercise.beats + note.length_ql <= exercise.beats
                    filled += note.length_ql
            assert filled % exercise.beats == 0
            assert all(
                one.length_ql == other.length_ql
                for one, other in pairwise(exercise.notes)
                if one.with_next
            )


def test_no_exercise_stands_twice_in_a_drill(sample: Analysis) -> None:
    for drill in sample.drills:
        rows = [tuple((n.stop, n.length_ql, n.silent) for n in e.notes) for e in drill.exercises]
        assert len(rows) == len(set(rows))


def test_the_first_note_has_its_finger_and_repeated_places_do_not(sample: Analysis) -> None:
    for drill in sample.drills:
        for exercise in drill.exercises:
            assert exercise.notes[0].show_finger
            in_half = any(note.position == 0 for note in exercise.notes)
            if exercise.name == "up and down" and not exercise.notes[0].with_next and not in_half:
                shown = [note for note in exercise.notes if note.show_finger]
                assert len(shown) < len(exercise.notes)


def test_the_hand_keeps_its_shape_through_a_drill(sample: Analysis) -> None:
    for drill in sample.drills:
        if drill.kind not in OF_ONE_HAND:
            continue
        assert drill.shape is not None
        for exercise in drill.exercises:
            if exercise.name in ("shape against shape", "scale in the position"):
                continue
            for note in exercise.notes:
                if note.stop.finger:
                    assert note.stop.offset == drill.shape.offsets[note.stop.finger - 1]
                assert note.position == drill.position


def test_a_drill_begins_on_its_own_string(sample: Analysis) -> None:
    for drill in sample.drills:
        strings = [exercise.notes[0].stop.string for exercise in drill.exercises]
        if drill.kind in OF_ONE_HAND:
            assert strings[0] == drill.string
        served = {sample.demands[index].string for index in drill.demands}
        if drill.kind in (*OF_ONE_HAND, DemandKind.SHAPE_CHANGE):
            played = {n.stop.string for e in drill.exercises for n in e.notes}
            assert served <= played


def test_a_shift_is_drilled_from_its_departure_to_its_arrival(sample: Analysis) -> None:
    for drill in sample.drills:
        if drill.kind is not DemandKind.SHIFT:
            continue
        ways = {
            (fingers, across)
            for index in drill.demands
            for demand in [sample.demands[index]]
            for across in [demand.stops[0].string != demand.stops[1].string]
            for fingers in [frozenset(stop.finger for stop in demand.stops)]
        }
        practised = set()
        for exercise in drill.exercises:
            if exercise.name in ("as in the piece", "the same finger goes and comes back"):
                strings = {note.stop.string for note in exercise.notes}
                fingers = frozenset(note.stop.finger for note in exercise.notes)
                practised.add((fingers, len(strings) > 1))
        assert ways <= practised


# ── worked by hand ──────────────────────────────────────────────────────────────────────────────


def test_a_plain_shape_is_drilled_up_down_and_skipping(small_analysis: Analyse) -> None:
    # Common practice, no published source: low 2 on the A string.
    analysis = small_analysis("violin", "A4:0 B4 C5 D5 C5 B4 C5 A4:0", player=PATIENT)
    (drill,) = analysis.drills
    assert (drill.kind, drill.string, drill.position, drill.gaps) == ("shape", 2, 1, "H-W-W")
    (whole,) = named(drill, "up and down from the open string")
    assert said(whole) == "A4:0 B4:1 C5:2 D5:3 E5:4 D5:3 C5:2 B4:1 A4:0"
    (skipping,) = named(drill, "skipping fingers")
    assert said(skipping) == "B4:1 D5:3 C5:2 E5:4 D5:3 B4:1 E5:4 C5:2"
    assert all(note.show_finger for note in skipping.notes)
    carried = {e.notes[0].stop.string: said(e) for e in named(drill, "up and down")}
    # A string up every note is a fifth up, a string down a fifth down.
    assert carried == {
        3: "F#5:1 G5:2 A5:3 B5:4 A5:3 G5:2 F#5:1",
        1: "E4:1 F4:2 G4:3 A4:4 G4:3 F4:2 E4:1",
    }
    assert drill.measures == (0, 1)


def test_slow_music_is_placed_silently_and_fast_music_practised_in_rhythms(
    small_analysis: Analyse,
) -> None:
    words = "A4:0 B4 C#5 D5 C#5 B4 C#5 A4:0"
    slow, fast = (
        small_analysis("violin", words, player=PATIENT, tempo=tempo).drills[0]
        for tempo in (60, 240)
    )
    names = [{exercise.name for exercise in drill.exercises} for drill in (slow, fast)]
    assert "silent placement" in names[0] - names[1]
    assert {"long and short", "the accent moves on"} <= names[1] - names[0]
    (silent,) = named(slow, "silent placement")
    assert said(silent).startswith("~B4:1 ~C#5:2 ~D5:3 ~E5:4 E5:4 D5:3")


def test_a_shift_over_a_guide_note(small_analysis: Analyse) -> None:
    # Common practice, no published source: from 1 in first to 3 in third position the first finger
    # leads, and D is its note there.
    analysis = small_analysis("violin", "A4:0 B4:1@2 F5:3@2 E5:2@2 D5:1@2 r", player=PATIENT)
    drill = next(drill for drill in analysis.drills if drill.kind is DemandKind.SHIFT)
    rows = {exercise.name: said(exercise) for exercise in drill.exercises}
    assert rows["over the guide note"] == "B4:1 D5:1 F5:3"
    assert rows["half step, there and back"] == "B4:1 C5:1 B4:1"
    (half,) = (one for one in drill.exercises if one.name == "half step, there and back")
    for note in half.notes:  # a position is named by the letter under its first finger
        assert note.position == note.pitch.letter - Pitch("A", 0, 4).letter
    assert rows["the same finger goes and comes back"] == "B4:1 D5:1 B4:1 D5:1 B4:1"
    assert rows["as in the piece"] == "B4:1 F5:3 B4:1 F5:3"


def test_a_finger_in_two_places(small_analysis: Analyse) -> None:
    # Common practice, no published source: low 2, then high 2.
    analysis = small_analysis("violin", "A4:0 B4 C5 D5 B4 C#5 D5 E5:0", player=PATIENT)
    drill = next(drill for drill in analysis.drills if drill.kind is DemandKind.SHAPE_CHANGE)
    assert "2nd finger in two places" in drill.title
    rows = {exercise.name: said(exercise) for exercise in drill.exercises}
    assert rows["low and high in turn"] == "C5:2 C#5:2 C5:2 C#5:2 C5:2"
    assert rows["from the finger beside it"].startswith("B4:1 C5:2 B4:1 C#5:2")
    assert rows["one shape, then the other"].startswith("B4:1 C5:2 D5:3 E5:4 E5:4 D5:3 C#5:2")


def test_a_double_stop_is_built_from_its_notes(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "B3:2@4+G4:3@3 B3:2@4+G4:3@3", player=PATIENT)
    drill = next(drill for drill in analysis.drills if drill.kind is DemandKind.DOUBLE_STOP)
    assert drill.title == "Double stops in sixths, 1st position"
    rows = {exercise.name: said(exercise) for exercise in drill.exercises}
    assert rows["one by one, then together"] == "B3:2 G4:3 B3:2+ G4:3"
    assert rows["frame check"] == "B3:2+ G4:3 B3:2 B3:2+ G4:3 G4:3 B3:2+ G4:3"


def test_high_positions_are_not_carried_to_low_strings(small_analysis: Analyse) -> None:
    # Common practice, no published source: seventh position is learnt on the upper strings first.
    high = small_analysis(
        "violin", "E6:1@1 F#6:2@1 G6:3@1 A6:4@1 G6 F#6 E6 F#6", player=PATIENT, fifths=1
    )
    drill = high.drills[0]
    assert drill.position == 7
    assert {note.stop.string for e in drill.exercises for note in e.notes} == {3}
    low = small_analysis(
        "violin", "A5:1@1 B5:2@1 C6:3@1 D6:4@1 C6 B5 A5 B5", player=PATIENT, fifths=1
    )
    assert low.drills[0].position == 3
    assert {n.stop.string for e in low.drills[0].exercises for n in e.notes} >= {2, 3}


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_a_beginner_is_drilled_in_first_position_only(path) -> None:  # type: ignore[no-untyped-def]
    player = Player(profile=Profile.FIRST_POSITION_STUDENT, minutes_per_day=300)
    analysis = scoretools.analyse(scoretools.read_part(path), player)
    low = [d for d in analysis.demands if d.position <= 1 and (d.from_position or 0) <= 1]
    for drill in analysis.drills:
        if set(drill.demands) <= {analysis.demands.index(one) for one in low}:
            assert {n.position for e in drill.exercises for n in e.notes if n.stop.finger} <= {
                0,
                1,
                2,
            }


def test_a_finger_that_would_have_to_stretch_is_not_drilled_where_it_does_not_play(
    small_analysis: Analyse,
) -> None:
    # Common practice, no published source: in F major on the A string B-flat, C and D are easy;
    # the E of the key would stretch the fourth finger, and the piece takes it on the open string.
    words = "Bb4:1 C5:2 D5:3 C5:2 Bb4:1 D5:3 C5:2 Bb4:1"
    analysis = small_analysis("violin", words, player=PATIENT, fifths=-1)
    (drill,) = (drill for drill in analysis.drills if drill.gaps == "W-W-W")
    assert "only fingers 1, 2 and 3" in drill.title
    assert "stretch" not in drill.advice
    own = [n for e in drill.exercises if "scale" not in e.name for n in e.notes]
    assert own
    assert all(note.stop.finger != 4 for note in own)


def test_a_finger_that_plays_with_a_stretch_is_drilled(small_analysis: Analyse) -> None:
    words = "Bb4:1@2 C5:2@2 D5:3@2 E5:4@2 D5:3@2 C5:2@2 Bb4:1@2 E5:4@2"
    analysis = small_analysis("violin", words, player=PATIENT, fifths=-1)
    (drill,) = (drill for drill in analysis.drills if drill.gaps == "W-W-W")
    assert any(note.stop.finger == 4 for e in drill.exercises for note in e.notes)
    assert "stretches" in drill.advice


def test_places_from_before_a_shift_make_no_change_of_finger() -> None:
    # Source: Haydn, op. 74 no. 1, second movement, first violin, of the music21 corpus: bars 113 to
    # 117 go from third to fifth position on the E string. Within one position a finger changes its
    # place by a half step, seldom by a whole one, never by a third.
    part = scoretools.read_part(corpus.getWork("haydn/opus74no1/movement2"))
    analysis = scoretools.analyse(part, Player(highest_position=PositionNumber(5)))
    changes = [d for d in analysis.demands if d.kind is DemandKind.SHAPE_CHANGE]
    assert changes
    for demand in changes:
        old, new = demand.stops
        assert abs(old.offset - new.offset) <= 2, demand.detail


def test_the_same_place_by_another_name_is_no_shift() -> None:
    # Source: Mozart, K. 156, second movement, viola, of the music21 corpus: in bar 33 a C and a
    # B-sharp follow each other under the third finger. The first violin shifts.
    work = corpus.getWork("mozart/k156/movement2")
    parts = [scoretools.read_part(work, name) for name in ("Viola", "Violino I.")]
    demands = [one for part in parts for one in scoretools.analyse(part).demands]
    shifts = [demand for demand in demands if demand.kind is DemandKind.SHIFT]
    assert shifts
    for demand in shifts:
        departure, arrival = demand.stops
        assert departure != arrival


def test_an_augmented_second_is_spelled_by_neighbouring_letters() -> None:
    # Source: as above, bars 33 and 34: from B-sharp to A, where C stands in the same bar.
    part = scoretools.read_part(corpus.getWork("mozart/k156/movement2"), "Viola")
    drills = scoretools.analyse(part, PATIENT).drills
    (drill,) = (drill for drill in drills if drill.kind is DemandKind.AUGMENTED_SECOND)
    assert said(drill.exercises[0]) == "A3:1 B#3:2 A3:1 B#3:2 A3:1"


# ── speed ───────────────────────────────────────────────────────────────────────────────────────


def test_a_quick_note_alone_does_not_set_the_pace(small_analysis: Analyse) -> None:
    # Counted by hand: at 60, dotted eighth and sixteenth make two notes a second.
    words = " ".join(f"{a}*3/4 {b}*1/4" for a, b in (("B4", "C5"), ("D5", "C5")) * 4)
    analysis = small_analysis("violin", words, player=PATIENT, tempo=60)
    (drill,) = (drill for drill in analysis.drills if drill.kind is DemandKind.SHAPE)
    assert drill.goal_per_minute == pytest.approx(120, abs=3)


def test_runs_set_the_pace(small_analysis: Analyse) -> None:
    words = " ".join(f"{note}*1/4" for note in ("B4", "C5", "D5", "C5") * 4)
    analysis = small_analysis("violin", words, player=PATIENT, tempo=60)
    (drill,) = (drill for drill in analysis.drills if drill.kind is DemandKind.SHAPE)
    assert drill.goal_per_minute == pytest.approx(240, abs=3)


def test_double_stops_are_not_drilled_faster_than_they_can_be_set(
    small_analysis: Analyse,
) -> None:
    words = " ".join(f"{n}*1/4" for n in ("B4+G5", "C5+A5") * 8)
    analysis = small_analysis("violin", words, player=PATIENT, tempo=150)
    goals = [d.goal_per_minute for d in analysis.drills if d.kind is DemandKind.DOUBLE_STOP]
    assert goals
    assert max(goals) <= 240
