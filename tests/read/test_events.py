from fractions import Fraction

import pytest

BACK = "<backup><duration>16</duration></backup>"
GRACE = "<grace/>"


def sounding(part):
    return [([note.pitch.name for note in event.notes], event.grace) for event in part.events]


def held(part):
    return [
        [part.events[ref.event].notes[ref.note].pitch.name for ref in event.held]
        for event in part.events
    ]


def test_notes_of_two_voices_that_begin_together_are_one_event(read, note):
    part = read(note("E5", 8) + note("F5", 8) + BACK + note("C5", 16, voice="2"))
    assert sounding(part) == [(["C5", "E5"], False), (["F5"], False)]
    assert held(part) == [[], ["C5"]]
    assert part.events[0].end_s == pytest.approx(2.4)


def test_notes_are_sorted_from_the_lowest(read, note):
    chord = "<chord/>"
    part = read(note("E5", 16) + note("G3", 16, first=chord) + note("B4", 16, first=chord))
    assert sounding(part) == [(["G3", "B4", "E5"], False)]


def test_note_that_ends_as_another_begins_is_not_held(read, note):
    assert held(read(note("A4", 8) + note("B4", 8))) == [[], []]


def test_grace_notes_are_events_before_the_main_note(read, note):
    part = read(
        note("A4", 8)
        + note("C5", first=GRACE)
        + note("D5", first=GRACE)
        + note("F5", first=f"{GRACE}<chord/>")
        + note("E5", 8)
    )
    assert sounding(part) == [
        (["A4"], False),
        (["C5"], True),
        (["D5", "F5"], True),
        (["E5"], False),
    ]
    assert [event.onset_ql for event in part.events] == [0, 2, 2, 2]
    assert [note.duration_ql for event in part.events[1:3] for note in event.notes] == [0, 0, 0]


def test_grace_notes_after_the_last_note_stand_at_the_end_of_the_bar(read, note):
    part = read(note("A4", 16) + note("G#4", first=GRACE), note("A4", first=GRACE) + note("B4", 16))
    assert sounding(part)[1:] == [(["G#4"], True), (["A4"], True), (["B4"], False)]
    assert [(event.onset_ql, event.measure) for event in part.events] == [
        (0, 0), (4, 0), (4, 1), (4, 1),
    ]  # fmt: skip


def test_grace_notes_of_two_voices_go_together_from_the_last(read, note):
    upper = note("C5", first=GRACE) + note("D5", first=GRACE) + note("E5", 16)
    lower = note("F4", first=GRACE, voice="2") + note("G4", 16, voice="2")
    part = read(upper + BACK + lower)
    assert sounding(part) == [(["C5"], True), (["F4", "D5"], True), (["G4", "E5"], False)]


def test_same_pitch_in_two_voices_is_one_note_with_the_marks_of_both(read, note):
    upper = note("A4", 8, technical="<fingering>4</fingering>") + note("B4", 8)
    lower = note("A4", 16, voice="2", technical="<string>3</string>")
    part = read(upper + BACK + lower)
    assert sounding(part) == [(["A4"], False), (["B4"], False)]
    only = part.events[0].notes[0]
    assert (only.marks.fingers, only.marks.string, only.duration_ql) == ((4,), 3, 4)
    assert held(part) == [[], ["A4"]]


def test_unison_inside_one_chord_stays_two_notes(read, note):
    part = read(note("A4", 16) + note("A4", 16, first="<chord/>"))
    assert sounding(part) == [(["A4", "A4"], False)]


@pytest.mark.parametrize(
    ("time", "upbeat", "beats"),
    [
        # Hand-worked: the last quarter of four; the last eighth of six.
        ((4, 4), 4, [4, 1]),
        ((6, 8), 2, [6, 1]),
    ],
)
def test_beats_of_an_upbeat(read, note, time, upbeat, beats):
    signature = (
        f"<attributes><time><beats>{time[0]}</beats><beat-type>{time[1]}</beat-type></time>"
        "</attributes>"
    )
    part = read(signature + note("A4", upbeat), note("B4", 16 * time[0] // time[1]))
    assert [event.beat for event in part.events] == beats
    assert [measure.upbeat for measure in part.measures] == [True, False]


def test_beats_count_in_the_lower_figure(read, note):
    six = "<attributes><time><beats>6</beats><beat-type>8</beat-type></time></attributes>"
    part = read(six + note("A4", 6) + note("B4", 2) + note("C5", 1) + note("D5", 3))
    assert [event.beat for event in part.events] == [1, 4, 5, Fraction(11, 2)]
