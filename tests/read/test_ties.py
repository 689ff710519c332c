from fractions import Fraction

START, STOP = "start", "stop"


def sounding(part):
    return [
        (
            note.pitch.name,
            event.onset_ql,
            note.duration_ql,
            [(c.onset_ql, c.duration_ql) for c in note.continuations],
        )
        for event in part.events
        for note in event.notes
    ]


def test_tie_over_the_bar_strikes_once(read, note):
    part = read(note("A4", 16, tie=START), note("A4", 4, tie=STOP) + note("B4", 12))
    assert sounding(part) == [("A4", 0, 5, [(4, 1)]), ("B4", 5, 3, [])]
    tied = part.events[0].notes[0].continuations[0]
    assert (tied.address.measure, tied.address.note) == (1, 0)
    assert part.events[0].notes[0].written_ql == 4
    assert part.notices == ()


def test_chain_of_ties(read, note):
    both = f"{STOP} {START}"
    part = read(
        note("A4", 16, tie=START), note("A4", 16, tie=both), note("A4", 8, tie=STOP) + note("A4", 8)
    )
    assert sounding(part) == [("A4", 0, 10, [(4, 4), (8, 2)]), ("A4", 10, 2, [])]


def test_ties_inside_chords_join_equal_pitches(read, note):
    chord = "<chord/>"
    part = read(
        note("D4", 16, tie=START) + note("A4", 16, first=chord, tie=START),
        note("D4", 16) + note("A4", 16, first=chord, tie=STOP),
    )
    assert sounding(part) == [
        ("D4", 0, 4, []),
        ("A4", 0, 8, [(4, 4)]),
        ("D4", 4, 4, []),
    ]
    assert [(ref.event, ref.note) for ref in part.events[1].held] == [(0, 1)]


def test_tie_into_another_voice(read, note):
    back = "<backup><duration>16</duration></backup>"
    part = read(
        note("E5", 16) + back + note("A4", 16, voice="2", tie=START),
        note("A4", 16, tie=STOP),
    )
    assert ("A4", 0, 8, [(4, 4)]) in sounding(part)


def test_tie_respelled(read, note):
    part = read(note("G#4", 16, tie=START), note("Ab4", 16, tie=STOP))
    assert sounding(part) == [("G#4", 0, 8, [(4, 4)])]


def test_tie_from_nowhere_strikes_and_is_told(read, note):
    part = read(note("B4", 16), note("A4", 16, tie=STOP))
    assert sounding(part) == [("B4", 0, 4, []), ("A4", 4, 4, [])]
    assert [notice.message for notice in part.notices] == [
        "A tie comes from no note of the same pitch, so its note is struck in bar 2."
    ]


def test_tie_that_leads_nowhere_is_harmless(read, note):
    part = read(note("A4", 16, tie=START), note("B4", 16), note("A4", 16))
    assert [event.notes[0].duration_ql for event in part.events] == [4, 4, 4]
    assert part.notices == ()


def test_drawn_ties_count_where_no_others_are(read, note):
    tied = '<notations><tied type="{}"/></notations>'
    part = read(
        note("A4", 16, last=tied.format(START)),
        note("A4", 16, last=tied.format(STOP)),
    )
    assert sounding(part) == [("A4", 0, 8, [(4, 4)])]


def test_grace_note_tied_to_its_main_note(read, note):
    part = read(note("A4", first="<grace/>", tie=START) + note("A4", 16, tie=STOP))
    assert sounding(part) == [("A4", 0, 4, [(0, 4)])]
    assert part.events[0].grace


def test_rounded_durations_are_forgiven_in_one_voice(read, note):
    fine = "<attributes><divisions>480</divisions></attributes>"
    part = read(fine + note("A4", 1919, tie=START), note("A4", 1920, tie=STOP))
    assert len(part.events) == 1
    assert part.events[0].notes[0].duration_ql == Fraction(8)
