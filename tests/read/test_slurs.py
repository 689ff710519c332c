BACK = "<backup><duration>16</duration></backup>"


def slurred(part):
    return [
        (note.pitch.name, note.slurred)
        for event in part.events
        for note in event.notes
        if note.slurred
    ]


def names(part):
    return [name for name, _ in slurred(part)]


def messages(part):
    return [notice.message for notice in part.notices]


def test_slur_joins_the_notes_after_its_first(read, note):
    bar = note("A4", slur="start") + note("B4") + note("C5", slur="stop") + note("D5")
    part = read(bar)
    assert names(part) == ["B4", "C5"]
    assert [event.slurred for event in part.events] == [False, True, True, False]


def test_slurs_of_two_numbers_overlap_across_bars(read, note):
    part = read(
        note("A4", 8, slur="start1") + note("B4", 8, slur="start2"),
        note("C5", 8, slur="stop1") + note("D5", 8, slur="stop2"),
        note("E5", 16),
    )
    assert names(part) == ["B4", "C5", "D5"]


def test_end_and_beginning_on_one_note(read, note):
    part = read(
        note("A4", slur="start") + note("B4", slur="start stop") + note("C5", slur="stop")
        + note("D5")
    )  # fmt: skip
    assert names(part) == ["B4", "C5"]
    assert messages(part) == []


def test_other_voices_are_not_slurred(read, note):
    upper = note("A5", slur="start") + note("B5") + note("C6", slur="stop") + note("D6")
    lower = "".join(note(name, voice="2") for name in ("A3", "B3", "C4", "D4"))
    assert names(read(upper + BACK + lower)) == ["B5", "C6"]


def test_slur_into_another_voice_may_end_before_it_begins_in_the_file(read, note):
    upper = note("A5", 8) + note("B5", 8, slur="stop")
    lower = note("A3", 8, voice="2", slur="start") + note("C4", 8, voice="2")
    part = read(upper + BACK + lower)
    assert names(part) == ["C4", "B5"]
    assert messages(part) == []


def test_grace_note_slurred_to_its_main_note_inside_a_longer_slur(read, note):
    # The inner slur bears the number of the outer one, as some exporters write it.
    part = read(
        note("A4", slur="start")
        + note("C5", first="<grace/>", slur="start")
        + note("B4", slur="stop")
        + note("A4", slur="stop")
        + note("G4")
    )
    assert names(part) == ["C5", "B4", "A4"]
    assert messages(part) == []


def test_endless_slur_reaches_to_the_end_of_its_bar(read, note):
    part = read(note("A4", slur="start") + note("B4") + note("C5") + note("D5"), note("E5", 16))
    assert names(part) == ["B4", "C5", "D5"]
    assert messages(part) == [
        "A slur has no end and is taken to reach to the end of its bar or the next rest in bar 1."
    ]


def test_endless_slur_stops_at_a_rest_and_at_the_next_slur(read, note):
    rest = note("A4", slur="start") + note("B4") + note("rest") + note("D5")
    assert names(read(rest)) == ["B4"]
    again = note("A4", slur="start") + note("B4") + note("C5", slur="start")
    assert names(read(again + note("D5", slur="stop"))) == ["B4", "D5"]


def test_end_without_beginning_is_told(read, note):
    part = read(note("A4", 8) + note("B4", 8, slur="stop"), note("C5", 16, slur="stop"))
    assert names(part) == []
    assert messages(part) == ["2 ends of slurs without a beginning are ignored in bars 1 to 2."]


def test_slurs_on_rests_and_in_silent_voices(read, note):
    part = read(
        note("A4", 4, slur="start") + note("B4") + note("rest", 8, slur="stop")
        + BACK + note("rest", 8, voice="2", slur="start") + note("rest", 8, voice="2", slur="stop")
    )  # fmt: skip
    assert names(part) == ["B4"]
    assert messages(part) == []


def test_tied_continuation_carries_a_slur_on(read, note):
    part = read(
        note("A4", 16, tie="start"),
        note("A4", 8, tie="stop", slur="start") + note("B4", 8, slur="stop"),
    )
    assert names(part) == ["B4"]
