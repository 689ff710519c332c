"""Bars under repeat signs and rests of many bars. Source: MusicXML 4.0, ``measure-style``."""

from fractions import Fraction


def style(content):
    return f"<attributes><measure-style>{content}</measure-style></attributes>"


def repeat(kind, bars=1):
    return style(f'<measure-repeat type="{kind}">{bars}</measure-repeat>')


def test_empty_bars_under_the_sign_sound(read, note):
    part = read(
        note("A4", slur="start")
        + note("B4", 12, slur="stop", technical="<fingering>2</fingering>"),
        repeat("start") + note("rest", 16),
        "",
        repeat("stop") + note("rest", 16),
    )
    assert [(e.onset_ql, e.measure, e.notes[0].pitch.name) for e in part.events] == [
        (Fraction(bar * 4 + place), bar, name)
        for bar in range(3)
        for place, name in ((0, "A4"), (1, "B4"))
    ]
    assert {e.notes[0].address.measure for e in part.events} == {0}
    assert [e.slurred for e in part.events] == [False, True] * 3
    assert part.events[5].notes[0].marks.fingers == (2,)
    assert [notice.message for notice in part.notices] == [
        "2 bars under a repeat sign are filled with the notes of the bars they repeat "
        "in bars 2 to 3."
    ]


def test_two_bars_are_repeated_together(read, note):
    part = read(note("A4", 16), note("B4", 16), repeat("start", 2), "")
    assert [event.notes[0].pitch.name for event in part.events] == ["A4", "B4"] * 2


def test_bars_with_notes_of_their_own_keep_them(read, note):
    part = read(note("A4", 16), repeat("start") + note("C5", 16))
    assert [event.notes[0].pitch.name for event in part.events] == ["A4", "C5"]


def test_sign_before_any_music_is_harmless(read, note):
    assert len(read(repeat("start"), note("A4", 16)).events) == 1


def test_repeated_beats_are_told(read, note):
    part = read(style('<beat-repeat type="start"/>') + note("A4", 16))
    assert [notice.message for notice in part.notices] == [
        "A sign that repeats a beat is ignored in bar 1."
    ]


def test_rests_of_many_bars_keep_their_bars(read, note):
    rest = style("<multiple-rest>3</multiple-rest>")
    part = read(rest + note("rest", 16), note("rest", 16), note("rest", 16), note("A4", 16))
    assert [event.onset_ql for event in part.events] == [12]
    assert len(part.measures) == 4
