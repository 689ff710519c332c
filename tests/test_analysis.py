"""From a part to all the program says: small scores worked by hand, and the sample scores."""

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import pytest
from music21.interval import Interval
from music21.pitch import Pitch as Music21Pitch
from typer.testing import CliRunner

import scoretools
from scoretools.cli.main import app
from scoretools.demands import BASE_LOAD
from scoretools.drills.choose import CAUTIONS
from scoretools.errors import PartNotFound, PlayerError
from scoretools.hand import gap_letters
from scoretools.instrument import instrument, spacing_mm
from scoretools.model import (
    Analysis,
    Certainty,
    Demand,
    DemandKind,
    Part,
    PositionNumber,
    Shape,
)
from scoretools.moments import SHAPE_LOAD
from scoretools.player import Player, Profile
from scoretools.voices import Divisi
from tests.conftest import Analyse, ReadPart, score_text

SAMPLES = sorted((Path(__file__).parent.parent / "sample_scores").glob("*.musicxml"))
SHAPE, SHIFT, SLIDE = DemandKind.SHAPE, DemandKind.SHIFT, DemandKind.CHROMATIC_SLIDE
REACH_BACK, EXTENSION = DemandKind.REACH_BACK, DemandKind.EXTENSION
AUGMENTED_SECOND, SHAPE_CHANGE = DemandKind.AUGMENTED_SECOND, DemandKind.SHAPE_CHANGE
ONE_HAND = (SHAPE, REACH_BACK, EXTENSION, AUGMENTED_SECOND)
DOUBLE_STOP, CHORD = DemandKind.DOUBLE_STOP, DemandKind.CHORD


def _of(analysis: Analysis, kind: DemandKind) -> list[Demand]:
    return [demand for demand in analysis.demands if demand.kind is kind]


def _kinds(analysis: Analysis) -> set[DemandKind]:
    return {demand.kind for demand in analysis.demands}


def _played(analysis: Analysis) -> str:
    """String and finger of every note, ``-`` for one that is left unfingered."""
    return " ".join(
        f"{analysis.string_names[choice.stop.string]}{choice.stop.finger}"
        for step in analysis.steps
        for choice in step.choices or ()
    )


# ── fingers known and implied ───────────────────────────────────────────────────────────────────


def test_f_g_a_on_the_e_string_asks_for_no_stretch(small_analysis: Analyse) -> None:
    # Common practice, no published source: with the fourth finger's B the first would reach back;
    # without it nobody stretches, though the key puts B under the fourth finger.
    analysis = small_analysis("violin", "F5 G5 A5 G5 F5 G5 A5 F5")
    assert _played(analysis) == "E1 E2 E3 E2 E1 E2 E3 E1"
    assert _kinds(analysis) == {SHAPE}
    shape = _of(analysis, SHAPE)[0].shape
    assert shape is not None
    assert (shape.offsets, shape.known) == ((1, 3, 5, 7), (1, 2, 3))


@pytest.mark.parametrize(
    ("words", "fifths", "moment"),
    [
        # Common practice, no published source: low first finger under an ordinary fourth.
        ("F5 G5 A5 B5", 0, 3),
        ("Bb4 C5 D5 E5:4 D5 C5 Bb4", -1, 3),
        ("Bb4 C#5 D5 E5:4", -1, 3),
    ],
)
def test_low_first_finger_under_the_fourth_reaches_back(
    words: str, fifths: int, moment: int, small_analysis: Analyse
) -> None:
    analysis = small_analysis("violin", words, fifths=fifths)
    back = _of(analysis, REACH_BACK)
    assert len(back) == 1
    assert back[0].first_offset == 1
    assert back[0].shape is not None
    assert {1, 4} <= set(back[0].shape.known)
    assert not _of(analysis, EXTENSION)


@pytest.mark.parametrize(
    ("words", "fifths"),
    [
        # Common practice, no published source: a low hand inside a fourth is no reach.
        ("Bb4 C5 D5 Eb5 D5 C5 Bb4", -2),
        ("Bb4 C5 Db5 Eb5 Db5 C5 Bb4", -4),
        # The open E instead of the fourth finger.
        ("Bb4 C5 D5 E5:0 D5 C5 Bb4", -1),
        ("B4 C#5 D5 E5:4 D5 C#5 B4", 2),
    ],
)
def test_a_fourth_asks_for_no_stretch(words: str, fifths: int, small_analysis: Analyse) -> None:
    kinds = _kinds(small_analysis("violin", words, fifths=fifths))
    assert not {REACH_BACK, EXTENSION} & kinds


@pytest.mark.parametrize("string", ["G", "D", "A"])
def test_high_fourth_finger_is_an_extension(string: str, small_analysis: Analyse) -> None:
    # Common practice, no published source: the fourth finger a half step above the next string.
    words = {
        "G": "A3 B3 C#4 D#4:4@4 C#4 B3",
        "D": "E4 F#4 G#4 A#4:4@3 G#4 F#4",
        "A": "B4 C#5 D#5 E#5:4@2 D#5 C#5",
    }[string]
    analysis = small_analysis("violin", words, fifths=4)
    extension = _of(analysis, EXTENSION)
    assert [analysis.string_names[demand.string] for demand in extension] == [string]
    assert (extension[0].first_offset, extension[0].gaps) == (2, "W-W-W")
    assert extension[0].detail == "finger 4 reaches up"
    assert not _of(analysis, REACH_BACK)


@pytest.mark.parametrize(
    ("words", "fifths", "fingers", "gaps"),
    [
        # Source: music21 spells each of these steps A2; common practice for the fingers.
        ("A4:0 Bb4 C#5 D5", -1, "1 and 2", "A-H-W"),
        ("D4:0 E4:1 F4 G#4 A4:4", 0, "2 and 3", "H-A-H"),
        ("A3 B3 C4 D#4:4", 1, "3 and 4", "W-H-A"),
    ],
)
def test_augmented_seconds(
    words: str, fifths: int, fingers: str, gaps: str, small_analysis: Analyse
) -> None:
    analysis = small_analysis("violin", words, fifths=fifths, mode="minor")
    found = _of(analysis, AUGMENTED_SECOND)
    assert [(demand.detail, demand.gaps) for demand in found] == [
        (f"between fingers {fingers}", gaps)
    ]
    low, high = found[0].stops
    assert high.offset - low.offset == Interval("A2").semitones


def test_accidentals_heard_go_before_the_key(small_analysis: Analyse) -> None:
    # In C major the second finger of the A string lies on C; here C-sharp sounded in the bar before
    # the hand came back to first position, where the second finger does not play.
    words = "C#5:4@3 B4:3@3 r*1/2 B4:1@2*1/2 D5:3@2*1"
    analysis = small_analysis("violin", words)
    shape = analysis.shapes[3][0]
    assert shape is not None
    assert (shape.known, shape.offsets) == ((1, 3), (2, 4, 5, 7))


def test_an_implied_finger_takes_the_letter_under_it(small_analysis: Analyse) -> None:
    # Two sharps: under the fourth finger in III on the D string lies C-sharp.
    analysis = small_analysis("violin", "G4:1@3 A4:2@3 B4:3@3 A4", fifths=2)
    shape = analysis.shapes[0][0]
    assert shape is not None
    assert (shape.position, shape.offsets, shape.known) == (3, (5, 7, 9, 11), (1, 2, 3))


def test_half_position(small_analysis: Analyse) -> None:
    # Common practice, no published source: a chromatic rise under four fingers from B-flat.
    analysis = small_analysis("violin", "Bb4:1 B4:2 C5:3 Db5:4 C5 B4 Bb4", fifths=-4)
    assert _played(analysis) == "A1 A2 A3 A4 A3 A2 A1"
    assert {passage.position for passage in analysis.passages} == {0}
    assert set(scoretools.notes_table(analysis)["position"]) == {0.5}
    assert [demand.gaps for demand in _of(analysis, SHAPE)] == ["H-H-H"]


# ── changes ─────────────────────────────────────────────────────────────────────────────────────


def test_one_finger_at_two_places_changes_the_shape(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "B4 C#5 D5 B4 C5 D5 B4")
    changes = _of(analysis, SHAPE_CHANGE)
    assert [(demand.detail, demand.gaps) for demand in changes] == [
        ("finger 2 from C# to C", "H-W-W")
    ]
    assert changes[0].moments == (4,)
    assert changes[0].before is not None
    assert changes[0].before.gaps == (2, 1, 2)
    assert [passage.begins_with for passage in analysis.passages] == ["start", "shape change"]


@pytest.mark.parametrize(
    ("words", "slides"),
    [
        ("B4 C5:2 C#5:2 D5", True),
        ("B4 C#5:2 C5:2 B4", True),
        ("C5:2 D5 C#5:2 D5", False),
        ("C5:2 B4 C#5:2 D5", False),
    ],
)
def test_a_finger_that_slides_a_half_step(
    words: str, slides: bool, small_analysis: Analyse
) -> None:
    # Common practice, no published source: the same finger twice running, a half step apart.
    analysis = small_analysis("violin", words)
    assert bool(_of(analysis, SLIDE)) is slides
    assert bool(_of(analysis, SHAPE_CHANGE)) is not slides


def test_a_shift_names_where_from_and_where_to(small_analysis: Analyse) -> None:
    words = "B4:1 C#5:2 D5:3 B4:1 D5:1 E5:2 F#5:3 G5:4"
    analysis = small_analysis("violin", words, fifths=2)
    shifts = _of(analysis, SHIFT)
    assert [demand.detail for demand in shifts] == ["1st to 3rd position, finger 1 to 1"]
    assert (shifts[0].moments, shifts[0].from_position, shifts[0].position) == ((4,), 1, 3)
    assert shifts[0].travel == 3
    departure, arrival = shifts[0].stops
    assert (departure.offset, arrival.offset) == (2, 5)
    assert [passage.begins_with for passage in analysis.passages] == ["start", "shift"]


def test_a_shift_under_a_slur_costs_more(small_analysis: Analyse) -> None:
    plain = "B4:1 C#5:2 D5:3 B4:1 D5:1 E5:2 F#5:3 G5:4"
    slurred = "B4:1 C#5:2 D5:3 (B4:1 D5:1) E5:2 F#5:3 G5:4"
    bare, bound = (small_analysis("violin", words, fifths=2) for words in (plain, slurred))
    assert "shift under a slur" not in dict(bare.steps[4].costs)
    assert dict(bound.steps[4].costs)["shift under a slur"] > 0
    assert bound.cost > bare.cost


def test_the_first_finger_of_half_position_lies_close_to_the_nut(small_part: ReadPart) -> None:
    # Common practice, no published source: a half step above the open string, also where it does
    # not play and the key lowers the open string's own letter.
    part = small_part("violin", "B4:2 C5:3 Db5:4 C5:3 B4:2", fifths=-4)
    shape = scoretools.analyse(part).shapes[0][0]
    assert shape is not None
    assert (shape.position, shape.known, shape.offsets) == (0, (2, 3, 4), (1, 2, 3, 4))


def test_a_rest_does_not_move_the_hand(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "B4 C#5 D5 r*5 B4 C#5 D5", fifths=2)
    assert len(analysis.passages) == 1
    assert not _of(analysis, SHIFT)


# ── several strings at once ─────────────────────────────────────────────────────────────────────


# Common practice, no published source. Source of the semitones: music21, the interval between the
# two notes named.
@pytest.mark.parametrize(
    ("chord", "interval", "frame", "strings"),
    [
        ("E4:1+C5:2", "m6", "sixth", "D A"),
        ("E4:1+C#5:2", "M6", "sixth", "D A"),
        ("G4:3+B4:1", "M3", "third", "D A"),
        ("A4:4+C5:2", "m3", "third", "D A"),
        ("E4:1+E5:4", "P8", "octave", "D A"),
        ("B3:1+F#4:1", "P5", "fifth", "G D"),
        ("F#4:2+B4:1", "P4", "fourth", "D A"),
        ("A4:4+A4:0", "P1", "unison with the open string", "D A"),
        ("G3:0+E4:1", "M6", "sixth with the open string", "G D"),
        ("B4:1+E5:0", "P4", "fourth with the open string", "A E"),
    ],
)
def test_frames_of_double_stops(
    chord: str, interval: str, frame: str, strings: str, small_analysis: Analyse
) -> None:
    analysis = small_analysis("violin", f"{chord} {chord}")
    found = _of(analysis, DOUBLE_STOP)
    assert len(found) == 1
    lower, upper = strings.split()
    assert found[0].detail == f"{frame} on the {lower} and {upper} strings"
    names = [word.split(":")[0] for word in chord.split("+")]
    assert Interval(*map(Music21Pitch, names)).name == interval
    assert [f"{stop.finger}" for stop in found[0].stops] == [
        word.split(":")[1] for word in chord.split("+")
    ]
    assert found[0].moments == (0, 1)


def test_open_strings_together_ask_nothing_of_the_hand(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "G3:0+D4:0 D4:0+A4:0 A4:0+E5:0")
    assert analysis.demands == ()
    assert analysis.drills == ()


def test_a_chord_names_its_fingers(small_analysis: Analyse) -> None:
    # Common practice, no published source: the G major chord of every method.
    analysis = small_analysis("violin", "G3+D4+B4+G5*2 G3+D4+B4+G5*2", fifths=1)
    chords = _of(analysis, CHORD)
    assert [demand.detail for demand in chords] == ["fingers 0 0 1 2 on the G, D, A and E strings"]


# Source: a tenth is 16 semitones (major) or 15 (minor), on strings a fifth apart 9 or 8 between the
# first finger below and the fourth above. Common practice: within reach of a usual hand high on the
# string, of a large hand in first position.
@pytest.mark.parametrize(
    ("chord", "reach_mm"),
    [
        ("F4:1@4+A5:4@3", None),
        ("Eb4+G5", None),
        ("G4+Bb5", None),
        ("A3:1@4+C5:4@3", 95),
        ("A3:1@4+C#5:4@3", 95),
    ],
)
def test_tenths(chord: str, reach_mm: float | None, small_analysis: Analyse) -> None:
    player = Player(profile=Profile.PROFESSIONAL, reach_mm=reach_mm)
    analysis = small_analysis("violin", f"{chord}*2", player=player)
    lower, upper = (choice.stop for choice in analysis.steps[0].choices)
    assert (lower.finger, upper.finger, upper.string - lower.string) == (1, 4, 1)
    assert upper.offset - lower.offset in (8, 9)
    assert analysis.marks_broken == 0
    assert _of(analysis, DOUBLE_STOP)[0].detail.startswith("tenth on the ")


# ── what cannot be played ───────────────────────────────────────────────────────────────────────


def as_written(part: Part) -> Analysis:
    """Analyse a part with every chord, whether a hand can hold it or not."""
    return scoretools.analyse(part, divisi=Divisi.BOTH)


# Source: the open strings; the fingerboard's twelfth position as the limit of the tables.
@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ("F#3", "F#3 goes below the open G3"),
        ("C8", "C8 lies above the twelfth position"),
        ("G3+B3", "no hand can hold G3 B3 at once"),
        ("A3+B3+C4", "no hand can hold A3 B3 C4 at once"),
        ("C3+E5", "C3 E5 goes below the open G3"),
        ("A3+G6", "no hand can hold A3 G6 at once"),
    ],
)
def test_what_cannot_be_played_is_told_with_its_bar(
    wrong: str, says: str, small_part: ReadPart
) -> None:
    words = f"A4 B4 C#5 D5 {wrong} D5 C#5 B4 A4"
    analysis = as_written(small_part("violin", words, fifths=2))
    told = [notice for notice in analysis.notices if "left unfingered" in notice.message]
    assert [notice.measure for notice in told] == [1]
    assert says in told[0].message
    assert analysis.steps[4].placement is None
    assert analysis.steps[4].choices == ()
    others = [step for index, step in enumerate(analysis.steps) if index != 4]
    assert all(step.placement is not None for step in others)
    rows = scoretools.notes_table(analysis)
    rows = rows[rows["event"] == 4]
    assert set(rows["string"]) == {""}
    assert rows["finger"].isna().all()
    assert {analysis.passage_of[4]} == {None}
    whole = as_written(small_part("violin", words.replace(wrong, "r"), fifths=2))
    assert _played(analysis) == _played(whole)
    assert [demand.detail for demand in analysis.demands] == [
        demand.detail for demand in whole.demands
    ]


def test_a_part_of_unplayable_notes_is_still_answered(small_part: ReadPart) -> None:
    # Half of the notes lie below the violin, the others are chords beyond any hand.
    analysis = as_written(small_part("violin", "C3 G3+A3 E3 G3+B3+F#4"))
    assert analysis.passages == analysis.demands == analysis.drills == ()
    assert [load.load for load in analysis.loads] == [0]
    assert len(analysis.notices) >= 4
    assert len(scoretools.notes_table(analysis)) == 7


def test_a_part_for_a_lower_instrument_is_refused(small_analysis: Analyse) -> None:
    with pytest.raises(PartNotFound, match=r"below the violin's open G3 in 4 of 5 notes"):
        small_analysis("violin", "C3 D3 E3 F3 G3")


def test_a_mark_that_cannot_be_honoured_is_told(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "A4 G3:3 A4")
    assert analysis.marks_broken == 1
    told = [notice for notice in analysis.notices if "printed" in notice.message]
    assert len(told) == 1
    assert "G3" in told[0].message
    assert told[0].measure == 0


def test_printed_fingers_and_strings_win(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "A4:4 E5:4@2 D5:1@2 G5:4 B4:3@3", fifths=1)
    assert _played(analysis) == "D4 A4 A1 A4 D3"
    assert analysis.marks_broken == 0
    assert all(step.choices[0].certainty is Certainty.SURE for step in analysis.steps)


def test_marks_can_be_left_out_of_account(small_part: ReadPart) -> None:
    part = small_part("violin", "A4 B4 C#5 D5:1 E5 D5 C#5 B4", fifths=2)
    with_marks, without = scoretools.analyse(part), scoretools.analyse(part, use_marks=False)
    assert _played(with_marks).split()[3] == "A1"
    assert _played(without).split()[3] == "A3"


# ── the ceiling ─────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("words", "ceiling"),
    [
        # Common practice, no published source: B5 (or C6 by extension) ends first position, D6 or
        # E-flat third, F6 and G6 fifth and beyond.
        ("E5 A5 B5", 1),
        ("E5 A5 D6", 3),
        ("E5 A5 F6", 5),
        ("E5 A5 A6", 7),
        ("A4 D5:1 E5:2", 3),
    ],
)
def test_the_ceiling_comes_out_of_the_notes(
    words: str, ceiling: int, small_analysis: Analyse
) -> None:
    analysis = small_analysis("violin", words)
    assert (analysis.ceiling, analysis.ceiling_from) == (ceiling, "notes")


def test_a_player_s_ceiling_goes_before_and_is_told_where_it_is_passed(
    small_analysis: Analyse,
) -> None:
    player = Player(highest_position=1)
    analysis = small_analysis("violin", "E5 A5 D6 A5 r*4", player=player)
    assert (analysis.ceiling, analysis.ceiling_from) == (1, "player")
    told = [notice for notice in analysis.notices if "ceiling" in notice.message]
    assert [(notice.measure, notice.message.split()[0]) for notice in told] == [(0, "D6")]


def test_a_hand_above_its_ceiling_does_not_come_down_for_every_note(
    small_analysis: Analyse,
) -> None:
    # Source: Beethoven, op. 18 no. 4, first violin, of the music21 corpus: E-flat and G in turn,
    # for a player who goes to third position.
    words = "C5 D5 Eb5 F5 " + "Eb6*1/2 G6*1/2 " * 4 + "F5 Eb5 D5 C5"
    analysis = small_analysis("violin", words, fifths=-3, player=Player(highest_position=3))
    up_there = [step.placement.position for step in analysis.steps[4:12] if step.placement]
    assert min(up_there) > 3
    assert sum(one != other for one, other in pairwise(up_there)) <= 1
    told = " ".join(notice.message for notice in analysis.notices)
    assert "G6 needs" in told
    assert "Eb6 needs" not in told


# Common practice, no published source: the position of a high note on the E string, from the letter
# under the first finger while the fourth plays it: G6 lies over D6 (VI), stretched over C6 (V).
@pytest.mark.parametrize(
    ("pitch", "positions"),
    [("E6", {3, 4}), ("F6", {4, 5}), ("G6", {5, 6}), ("A6", {6, 7}), ("B6", {7, 8})],
)
def test_a_note_above_the_ceiling_is_called_by_its_position(
    pitch: str, positions: set[int], small_analysis: Analyse
) -> None:
    analysis = small_analysis("violin", f"{pitch}*4", player=Player(highest_position=1))
    assert analysis.steps[0].placement is not None
    assert analysis.steps[0].placement.position in positions


def test_the_student_stays_in_first_position(small_analysis: Analyse) -> None:
    player = Player(profile=Profile.FIRST_POSITION_STUDENT)
    analysis = small_analysis("violin", "E5 F#5 G5 A5 B5 C6 D6 E6", player=player, fifths=1)
    assert (analysis.ceiling, analysis.ceiling_from) == (1, "profile")


def test_a_player_who_goes_higher_is_not_sent_up_where_the_notes_do_not_go(
    small_analysis: Analyse,
) -> None:
    # Common practice, no published source: what lies in first position is played there.
    words = "A4 Bb4 C5 D5 E5 F5 G5 F5 E5 D5 C5 Bb4"
    seventh = Player(highest_position=PositionNumber(7))
    able, plain = (small_analysis("violin", words, player=p, fifths=-1) for p in (seventh, None))
    assert (able.ceiling, able.ceiling_from) == (1, "notes")
    assert able.steps == plain.steps
    assert sum(load.load for load in able.loads) == sum(load.load for load in plain.loads)


def test_a_player_stays_below_what_the_notes_ask(small_analysis: Analyse) -> None:
    words = "E5 F#5 G5 A5 B5 C6 D6 E6"
    found = [
        small_analysis("violin", words, player=Player(highest_position=PositionNumber(n)), fifths=1)
        for n in (1, 5)
    ]
    assert [(one.ceiling, one.ceiling_from) for one in found] == [(1, "player"), (3, "notes")]


def test_another_instrument_than_the_part_s_is_refused(small_part: ReadPart) -> None:
    part = small_part("viola", "C4 D4")
    with pytest.raises(PlayerError) as caught:
        scoretools.analyse(part, Player(instrument="violin"))
    assert "violin" in str(caught.value)
    assert "viola" in str(caught.value)
    assert "\n" not in str(caught.value)


# ── loads, by hand ──────────────────────────────────────────────────────────────────────────────


def test_load_of_a_bar_by_hand(small_analysis: Analyse) -> None:
    # An open string, then fingers 1 2 3 of W-H-W at 120 quarters a minute: three moments of the
    # shape, each its base times two gaps of three, times 1 + 2/4 for two notes a second; over two
    # seconds. The second bar is a rest.
    analysis = small_analysis("violin", "A4:0 B4 C#5 D5 r*4", fifths=2, tempo=120)
    moment = BASE_LOAD[SHAPE] * SHAPE_LOAD["W-H-W"] * (2 / 3) * 1.5
    assert analysis.demands[0].weight == pytest.approx(3 * moment, abs=0.001)
    assert analysis.demands[0].notes_per_s == 2
    assert not analysis.demands[0].speed_assumed
    assert [load.load for load in analysis.loads] == [pytest.approx(1.5 * moment, abs=0.001)] + (
        [0] * (len(analysis.loads) - 1)
    )


def test_load_of_a_double_stop_by_hand(small_analysis: Analyse) -> None:
    # Two sixths, the second one half note (one second at 120) later.
    words = "E4:1+C#5:2*2 F#4:2+D5:3*2"
    analysis = small_analysis("violin", words, fifths=2, tempo=120)
    demand = _of(analysis, DOUBLE_STOP)[0]
    assert demand.weight == pytest.approx(BASE_LOAD[DOUBLE_STOP] * 1.1 * (1 + 1.25), abs=0.001)


def test_twice_the_tempo_makes_a_heavier_bar(small_analysis: Analyse) -> None:
    words = "A4 B4 C#5 D5 C#5 B4 C#5 A4"
    slow, fast = (small_analysis("violin", words, fifths=2, tempo=tempo) for tempo in (60, 120))
    for before, after in zip(slow.loads, fast.loads, strict=True):
        assert after.load > 2 * before.load


def test_an_assumed_tempo_is_told(small_analysis: Analyse) -> None:
    told, assumed = (
        small_analysis("violin", "A4:0 B4 C#5 D5", fifths=2, tempo=tempo) for tempo in (96, None)
    )
    assert not told.demands[0].speed_assumed
    assert assumed.demands[0].speed_assumed
    assert assumed.drills[0].goal_assumed


# ── the sample scores ───────────────────────────────────────────────────────────────────────────


@pytest.fixture(scope="module", params=SAMPLES, ids=lambda path: path.stem)
def sample(request: pytest.FixtureRequest) -> Analysis:
    return scoretools.analyse(scoretools.read_part(request.param))


@pytest.fixture(scope="module")
def samples() -> list[Analysis]:
    return [scoretools.analyse(scoretools.read_part(path)) for path in SAMPLES]


def _open_midi(analysis: Analysis) -> tuple[int, ...]:
    # Common practice, no published source: C3 G3 D4 A4 E5.
    midi = {"C": 48, "G": 55, "D": 62, "A": 69, "E": 76}
    return tuple(midi[name] for name in analysis.string_names)


def test_every_note_is_fingered_and_every_mark_honoured(sample: Analysis) -> None:
    for event, step in zip(sample.part.events, sample.steps, strict=True):
        assert step.placement is not None
        assert len(step.choices) == len(event.notes)
        for note, choice in zip(event.notes, step.choices, strict=True):
            if note.marks.fingers:
                assert choice.stop.finger in note.marks.fingers
            if note.marks.open_string:
                assert choice.stop.finger == 0
            if note.marks.string is not None:
                assert choice.stop.string == len(sample.string_names) - note.marks.string
    assert sample.marks_broken == 0


def test_fingers_lie_where_the_pitch_is(sample: Analysis) -> None:
    opens = _open_midi(sample)
    for event, step in zip(sample.part.events, sample.steps, strict=True):
        for note, choice in zip(event.notes, step.choices, strict=True):
            stop = choice.stop
            if note.marks.harmonic is None:
                assert opens[stop.string] + stop.offset == note.pitch.midi
            assert (stop.finger == 0) == (stop.offset == 0)


def test_passages_hold_every_fingered_event_once(sample: Analysis) -> None:
    held: list[int] = []
    for passage in sample.passages:
        events = range(passage.first_event, passage.last_event + 1)
        held += events
        assert {sample.passage_of[event] for event in events} == {passage.index}
    assert held == [i for i, step in enumerate(sample.steps) if step.placement is not None]
    assert [passage.index for passage in sample.passages] == list(range(len(sample.passages)))


def test_every_stop_lies_in_its_shape(sample: Analysis) -> None:
    for step, shapes, index in zip(sample.steps, sample.shapes, sample.passage_of, strict=True):
        for choice, shape in zip(step.choices, shapes, strict=True):
            assert index is not None
            if not choice.stop.finger or choice.stop.touched:
                continue
            assert shape is not None
            assert shape in sample.passages[index].shapes
            assert shape.position == sample.passages[index].position
            assert shape.string == choice.stop.string
            assert choice.stop.finger in shape.known
            assert shape.offsets[choice.stop.finger - 1] == choice.stop.offset


def test_held_notes_keep_finger_and_string(sample: Analysis) -> None:
    for event, step in zip(sample.part.events, sample.steps, strict=True):
        assert step.placement is not None
        held = step.placement.stops[len(event.notes) :]
        begun = {sample.steps[ref.event].choices[ref.note].stop for ref in event.held}
        assert set(held) <= begun


def test_the_first_finger_s_letter_names_the_position(sample: Analysis) -> None:
    # Common practice, no published source: natural, raised or lowered, never twice altered.
    letters = "CDEFGAB"
    semitones = dict(zip(letters, (0, 2, 4, 5, 7, 9, 11), strict=True))
    for step in sample.steps:
        assert step.placement is not None
        for stop in step.placement.stops:
            if not stop.finger or step.placement.position == 0:
                continue
            name = sample.string_names[stop.string]
            octaves, letter = divmod(letters.index(name) + step.placement.position, 7)
            natural = 12 * octaves + semitones[letters[letter]] - semitones[name]
            assert abs(step.placement.home - natural) <= 1


def test_neighbouring_passages_differ(sample: Analysis) -> None:
    for before, after in pairwise(sample.passages):
        shift = before.position != after.position and before.home != after.home
        assert (after.begins_with == "shift") is shift
        if after.begins_with == "shape change":
            assert before.position == after.position
            assert before.shapes != after.shapes


def test_demands_are_tied_to_what_is_played(sample: Analysis) -> None:
    for demand in sample.demands:
        assert demand.moments == tuple(sorted(demand.moments))
        bars = [sample.part.events[event].measure for event in demand.moments]
        assert demand.measures == tuple(dict.fromkeys(bars))
        assert demand.weight > 0
        if demand.shape:
            assert demand.gaps == gap_letters(demand.shape.gaps)
            assert demand.first_offset == demand.shape.first_offset
            for event in demand.moments:
                strings = [choice.stop.string for choice in sample.steps[event].choices]
                assert demand.string in strings


def test_demands_are_ordered_by_weight_and_each_is_listed_once(sample: Analysis) -> None:
    weights = [demand.weight for demand in sample.demands]
    assert weights == sorted(weights, reverse=True)
    keys = [
        (demand.kind, demand.string, demand.position, demand.detail, demand.shape and
         demand.shape.offsets)
        for demand in sample.demands
    ]  # fmt: skip
    assert len(keys) == len(set(keys))


def test_stretches_rest_on_known_fingers(sample: Analysis) -> None:
    for demand in sample.demands:
        if demand.kind in (REACH_BACK, EXTENSION):
            assert demand.shape is not None
            known = [demand.shape.offsets[finger - 1] for finger in demand.shape.known]
            fingers = demand.shape.known[-1] - demand.shape.known[0]
            assert known[-1] - known[0] > {1: 3, 2: 4, 3: 5}[fingers]


def test_double_stops_are_the_intervals_they_are_called(sample: Analysis) -> None:
    # Source: music21, the generic interval between the two notes as spelled.
    names = {3: "third", 4: "fourth", 5: "fifth", 6: "sixth", 7: "seventh", 8: "octave",
             9: "ninth", 10: "tenth"}  # fmt: skip
    for demand in _all(sample, DOUBLE_STOP):
        for moment in demand.moments:
            notes = sample.part.events[moment].notes
            if len(notes) == 2:
                low, high = (Music21Pitch(note.pitch.name.replace("b", "-")) for note in notes)
                size = Interval(low, high).generic.undirected
                assert demand.detail.split()[0] == names.get(size, "wide")


def _all(analysis: Analysis, kind: DemandKind) -> Iterator[Demand]:
    return (demand for demand in analysis.demands if demand.kind is kind)


def test_bar_loads_are_the_demands_over_seconds(sample: Analysis) -> None:
    seconds = _bar_seconds(sample.part)
    weight_of_bars = sum(
        load.load * length for load, length in zip(sample.loads, seconds, strict=True)
    )
    weight_of_demands = sum(demand.weight for demand in sample.demands)
    assert weight_of_bars == pytest.approx(weight_of_demands, rel=0.005)


def test_bars_without_a_moment_weigh_nothing(sample: Analysis) -> None:
    asked = {measure for demand in sample.demands for measure in demand.measures}
    for load in sample.loads:
        assert (load.load > 0) is (load.measure in asked)
        assert bool(load.reasons) is (load.measure in asked)


def test_a_bar_with_whole_demands_weighs_them(sample: Analysis) -> None:
    # Demands that occur in one bar only, in bars where nothing else occurs, or as a lower bound.
    seconds = _bar_seconds(sample.part)
    for load, length in zip(sample.loads, seconds, strict=True):
        own = sum(d.weight for d in sample.demands if d.measures == (load.measure,))
        every = sum(d.weight for d in sample.demands if load.measure in d.measures)
        assert own - 0.02 <= load.load * length <= every + 0.02


def _bar_seconds(part: Part) -> list[float]:
    """Length of every bar, piece by piece under the tempo in force; short bars as whole ones."""
    lengths = []
    for measure in part.measures:
        end = measure.onset_ql + measure.duration_ql
        marks = [tempo for tempo in part.tempi if tempo.onset_ql < end]
        cuts = [measure.onset_ql, *(t.onset_ql for t in marks if t.onset_ql > measure.onset_ql)]
        total = 0.0
        for start, stop in pairwise([*cuts, end]):
            tempo = [t for t in marks if t.onset_ql <= start][-1]
            total += float(stop - start) * 60 / tempo.quarters_per_minute
        whole = Fraction(4 * measure.time[0], measure.time[1]) / measure.duration_ql
        lengths.append(total * float(max(whole, 1)))
    return lengths


# ── the whole ───────────────────────────────────────────────────────────────────────────────────


# Source: NASM–PAMA health guides; Kok et al. 2018, PMC5812604: what goes with every plan.
@pytest.mark.parametrize(
    "words", ["arm up", "10 minutes in every hour", "gradually", "top on pain", "never part of "
              "practice", "teacher to judge", "health professional"],
)  # fmt: skip
def test_cautions_say_what_they_must(words: str) -> None:
    assert words in " ".join(CAUTIONS)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_cautions_come_with_the_command_and_the_page(path: Path, tmp_path: Path) -> None:
    result = CliRunner().invoke(app, ["report", str(path), "--out", str(tmp_path)])
    assert result.exit_code == 0, result.output
    page = (tmp_path / "report.html").read_text(encoding="utf-8")
    for caution in CAUTIONS:
        assert caution in result.output
        assert caution in page


def _shown(samples: list[Analysis]) -> Iterator[Shape]:
    """Shapes of which the first and the fourth finger both play."""
    for analysis in samples:
        for passage in analysis.passages:
            yield from (shape for shape in passage.shapes if {1, 4} <= set(shape.known))


# Common practice, no published source: what the programme is to teach.
@pytest.mark.parametrize(
    "gaps",
    ["W-H-W", "H-W-W", "W-W-H", "W-W-W", "A-H-W", "H-A-H", "W-H-A", "H-W-H", "H-H-H"],
)
def test_the_samples_show_every_shape(gaps: str, samples: list[Analysis]) -> None:
    assert gaps in {gap_letters(shape.gaps) for shape in _shown(samples)}


@pytest.mark.parametrize(
    ("first_offset", "gaps"),
    [(2, "W-H-W"), (2, "H-W-W"), (2, "W-W-H"), (1, "W-W-W"), (1, "W-W-H"), (1, "A-H-W"),
     (1, "W-H-W")],
)  # fmt: skip
def test_the_samples_show_every_set_up_of_first_position(
    first_offset: int, gaps: str, samples: list[Analysis]
) -> None:
    assert (first_offset, gaps) in {
        (shape.first_offset, gap_letters(shape.gaps))
        for shape in _shown(samples)
        if shape.position == 1
    }


@pytest.mark.parametrize(
    "kind", [REACH_BACK, EXTENSION, SHIFT, AUGMENTED_SECOND, DOUBLE_STOP, CHORD, SHAPE_CHANGE]
)
def test_the_samples_ask_for_everything(kind: DemandKind, samples: list[Analysis]) -> None:
    assert any(_of(analysis, kind) for analysis in samples)


def test_analysing_twice_gives_the_same(sample: Analysis) -> None:
    assert scoretools.analyse(sample.part) == sample


def test_samples_fit_their_instruments(samples: list[Analysis]) -> None:
    assert {one.part.instrument for one in samples} == {"violin", "viola"}
    for analysis in samples:
        assert all("unfingered" not in notice.message for notice in analysis.notices)


# ── players ─────────────────────────────────────────────────────────────────────────────────────


def _counts(player: Player) -> tuple[int, int, int, float]:
    """Notes above first position, on the fourth finger and on open strings; widest span, mm."""
    analysis = scoretools.analyse(scoretools.read_part(SAMPLES[3]), player)
    stops = [
        (step.placement.position, choice.stop)
        for step in analysis.steps
        if step.placement
        for choice in step.choices
    ]
    played = instrument("violin", player.size)
    widest = max(
        spacing_mm(played, shape.offsets[low - 1], shape.offsets[high - 1])
        for passage in analysis.passages
        for shape in passage.shapes
        for low, high in [(shape.known[0], shape.known[-1])]
    )
    return (
        sum(position > 1 and stop.finger > 0 for position, stop in stops),
        sum(stop.finger == 4 for _, stop in stops),
        sum(stop.finger == 0 for _, stop in stops),
        widest,
    )


def test_players_differ_in_the_expected_direction() -> None:
    # Common practice, no published source: what each wish or limit is there for.
    usual = _counts(Player())
    assert _counts(Player(highest_position=PositionNumber(1)))[0] < usual[0]
    assert _counts(Player(highest_position=PositionNumber(5)))[0] >= usual[0]
    assert _counts(Player(weak_fourth_finger=True))[1] < usual[1]
    assert _counts(Player(open_strings="avoid"))[2] < usual[2]
    assert _counts(Player(size="1/2"))[3] < usual[3]


def test_an_assumed_tempo_beyond_all_fingers_is_doubted(tmp_path: Path) -> None:
    # Counted by hand: sixteenths at the 240 quarters of the playback go at 16 a second, eighths at
    # 8. Nothing is printed.
    for length, doubted in (("1/4", True), ("1/2", False)):
        words = " ".join(f"{note}*{length}" for note in ("B4", "C5") * 32)
        sound = '</attributes><sound tempo="240"/>'
        text = score_text("violin", words).replace("</attributes>", sound, 1)
        path = tmp_path / "quick.musicxml"
        path.write_text(text, encoding="utf-8")
        notices = scoretools.analyse(scoretools.read_part(path)).notices
        assert any("16 a second" in one.message for one in notices) is doubted


def test_a_double_stop_struck_again_under_the_same_fingers_asks_little(
    small_analysis: Analyse,
) -> None:
    # Common practice, no published source.
    def weight(words: str) -> float:
        return sum(one.weight for one in _of(small_analysis("violin", words), DOUBLE_STOP))

    again, anew = weight("B3:2+G4:3 B3:2+G4:3"), weight("B3:2+G4:3 r B3:2+G4:3")
    once = weight("B3:2+G4:3")
    assert once < again < 1.5 * once
    assert anew > 1.8 * once


def test_a_row_of_one_note_keeps_its_finger(small_analysis: Analyse) -> None:
    # Source: Mozart, K. 155, first movement, viola, bars 9 and 10, in the music21 corpus.
    analysis = small_analysis(
        "viola", "D4*1/2 " * 6 + "E4*1/2 E4*1/2 " + "D4*1/2 " * 8 + "E4", fifths=2
    )
    fingers = [step.choices[0].stop.finger for step in analysis.steps]
    assert len(set(fingers[:6])) == len(set(fingers[8:16])) == 1
