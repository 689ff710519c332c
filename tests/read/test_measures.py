from fractions import Fraction

import pytest


def onsets(part):
    return [(event.notes[0].pitch.name, event.onset_ql) for event in part.events]


def messages(part):
    return [notice.message for notice in part.notices]


def backup(duration):
    return f"<backup><duration>{duration}</duration></backup>"


def forward(duration):
    return f"<forward><duration>{duration}</duration></forward>"


def test_notes_rests_and_dots_follow_each_other(read, note):
    part = read(note("A4", 6) + note("B4", 2) + note("rest", 4) + note("C5", 4), note("D5", 16))
    assert onsets(part) == [("A4", 0), ("B4", Fraction(3, 2)), ("C5", 3), ("D5", 4)]
    assert [event.notes[0].written_ql for event in part.events] == [
        Fraction(3, 2),
        Fraction(1, 2),
        1,
        4,
    ]
    assert [event.measure for event in part.events] == [0, 0, 0, 1]


def test_tuplets_are_exact(read, note):
    sixths = "<attributes><divisions>6</divisions></attributes>"
    part = read(sixths + "".join(note(name, 2) for name in ("A4", "B4", "C5")) + note("D5", 18))
    assert [onset for _, onset in onsets(part)] == [0, Fraction(1, 3), Fraction(2, 3), 1]


def test_divisions_may_change_and_be_decimal(read, note):
    change = "<attributes><divisions>12</divisions></attributes>"
    part = read(note("A4", 4) + change + note("B4", 4) + note("C5", 12))
    assert onsets(part) == [("A4", 0), ("B4", 1), ("C5", Fraction(4, 3))]
    half = "<attributes><divisions>0.5</divisions></attributes>"
    part = read(half + note("A4", 1) + note("B4", 1))
    assert onsets(part) == [("A4", 0), ("B4", 2)]


def test_voices_begin_where_backup_and_forward_put_them(read, note):
    bar = note("E5", 16) + backup(16) + forward(4) + note("A4", 4, voice="2") + forward(8)
    part = read(bar, note("D5", 16))
    assert onsets(part) == [("E5", 0), ("A4", 1), ("D5", 4)]
    assert [event.notes[0].voice for event in part.events] == ["1", "2", "1"]
    assert part.measures[1].onset_ql == 4


def test_overfull_and_short_voices_do_not_shift_later_bars(read, note):
    part = read(
        note("E5", 16) + backup(16) + note("A4", 4, voice="2"),
        note("E5", 12) + backup(12) + note("A4", 16, voice="2"),
        note("D5", 16),
    )
    assert [measure.onset_ql for measure in part.measures] == [0, 4, 8]


def test_bar_is_as_long_as_what_is_written(read, note):
    part = read(note("A4", 16), note("A4", 20), note("A4", 8), note("A4", 16))
    assert [measure.duration_ql for measure in part.measures] == [4, 5, 2, 4]
    assert [measure.upbeat for measure in part.measures] == [False] * 4


def test_roundings_are_mended(read, note):
    fine = "<attributes><divisions>480</divisions></attributes>"
    short = note("A4", 1919)
    long = note("A4", 1920) + note("rest", 42)
    part = read(fine + short, long, note("A4", 1920))
    assert [measure.duration_ql for measure in part.measures] == [4, 4, 4]


def test_empty_bar_takes_its_length_from_another_part_or_the_time(read, note):
    parts = ([note("A4", 4), "", ""], [note("A4", 4), note("A4", 12), ""])
    part = read(names=("Violin", "Viola"), parts=parts)
    assert [measure.duration_ql for measure in part.measures] == [1, 3, 4]


def test_backup_before_the_bar_is_cut_and_told(read, note):
    part = read(note("A4", 4) + backup(8) + note("D4", 16, voice="2"))
    assert {onset for _, onset in onsets(part)} == {0}
    assert messages(part) == ["A step back beyond the bar line is cut short in bar 1."]


def test_chords_and_what_stands_between_their_notes(read, note):
    direction = "<direction><direction-type><words>div.</words></direction-type></direction>"
    bar = note("D4", 8) + direction + note("A4", 8, first="<chord/>") + note("E5", 8)
    part = read(bar)
    assert [[n.pitch.name for n in event.notes] for event in part.events] == [["D4", "A4"], ["E5"]]
    assert part.events[1].onset_ql == 2


def test_cue_notes_take_their_time_and_are_told_once(read, note):
    cue = note("A4", 8, first="<cue/>")
    part = read(cue + cue, cue + cue, note("B4", 16))
    assert onsets(part) == [("B4", 8)]
    assert messages(part) == ["4 cue notes are skipped in bars 1 to 2."]
    assert part.notices[0].measure == 0


def test_many_scattered_remarks_are_summed_up(read, note):
    cue = note("A4", 4, first="<cue/>") + note("B4", 12)
    part = read(*[cue, note("B4", 16)] * 5)
    assert messages(part) == ["5 cue notes are skipped in 5 bars from bar 1 on."]


def test_unpitched_hidden_and_small_notes(read, note):
    drum = "<note><unpitched/><duration>4</duration></note>"
    hidden = note("A4").replace("<note>", '<note print-object="no">')
    small = note("B4", last='<type size="cue">quarter</type>')
    part = read(drum + hidden + small + note("C5"))
    assert onsets(part) == [("A4", 1), ("B4", 2), ("C5", 3)]
    assert messages(part) == ["An unpitched percussion note is skipped in bar 1."]


@pytest.mark.parametrize(
    ("broken", "told"),
    [
        ("<note><pitch><step>A</step></pitch><duration>4</duration></note>", "pitch"),
        ("<note><pitch><octave>4</octave></pitch><duration>4</duration></note>", "pitch"),
        ("<note><duration>4</duration></note>", "pitch"),
        ("<note><pitch><step>H</step><octave>4</octave></pitch><duration>4</duration></note>",
         "pitch"),
    ],
)  # fmt: skip
def test_notes_without_pitch_are_skipped_and_told(read, note, broken, told):
    part = read(broken + note("B4", 12))
    assert onsets(part) == [("B4", 1)]
    assert messages(part) == [f"A note without a readable {told} is skipped in bar 1."]


def test_duration_that_is_missing_comes_from_the_type(read):
    pitch = "<note><pitch><step>A</step><octave>4</octave></pitch>"
    dotted = f"{pitch}<type>quarter</type><dot/></note>"
    triplet = (
        f"{pitch}<type>eighth</type><time-modification><actual-notes>3</actual-notes>"
        "<normal-notes>2</normal-notes></time-modification></note>"
    )
    part = read(dotted + triplet + f"{pitch}</note>" + f"{pitch}<type>half</type></note>")
    assert [event.onset_ql for event in part.events] == [0, Fraction(3, 2), Fraction(11, 6)]
    assert messages(part) == ["A note without a readable duration is skipped in bar 1."]


def test_microtones_are_rounded_and_told(read, note):
    part = read(note("A#4", 16).replace("<alter>1<", "<alter>0.5<"))
    assert onsets(part) == [("A4", 0)]
    assert messages(part) == ["A microtone is rounded to the nearest semitone in bar 1."]


def test_unreadable_divisions_and_times_are_told(read, note):
    bad = (
        "<attributes><divisions>0</divisions><time><beats>?</beats><beat-type>4</beat-type></time>"
        "</attributes>"
    )
    part = read(bad + note("A4", 16))
    assert part.events[0].notes[0].duration_ql == 4
    assert messages(part) == [
        "The divisions “0” are no positive number and are left out.",
        "A time signature that cannot be read is left out.",
    ]


def test_transposition_and_octave_shift(read, note):
    transpose = (
        "<attributes><transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>"
        "</attributes>"
    )
    shift = '<direction><direction-type><octave-shift type="down"/></direction-type></direction>'
    part = read(transpose + shift + note("E4", 16))
    assert onsets(part) == [("D4", 0)]
    assert part.events[0].key.fifths == -2


def test_keys_change_in_mid_bar_and_hold(read, note):
    change = "<attributes><key><fifths>-3</fifths><mode>minor</mode></key></attributes>"
    part = read(note("A4", 8) + change + note("B4", 8), note("C5", 16))
    assert [event.key.fifths for event in part.events] == [0, -3, -3]
    assert part.events[2].key.mode == "minor"


def test_addresses_count_every_note_element(read, note):
    part = read(note("rest", 4) + note("A4", 12), note("B4", 16))
    first, second = (event.notes[0].address for event in part.events)
    assert (first.part_id, first.measure, first.note) == ("P1", 0, 1)
    assert (second.measure, second.note) == (1, 0)


def test_tuning_of_the_part(read, note):
    tuning = "".join(
        f'<accord string="{number}"><tuning-step>{step}</tuning-step>'
        f"<tuning-octave>{octave}</tuning-octave></accord>"
        for number, step, octave in ((1, "E", 5), (2, "A", 4), (3, "D", 4), (4, "F", 3))
    )
    direction = (
        f"<direction><direction-type><scordatura>{tuning}</scordatura></direction-type></direction>"
    )
    part = read(direction + note("A4", 16))
    assert [pitch.name for pitch in part.tuning] == ["F3", "D4", "A4", "E5"]
    assert read(note("A4", 16)).tuning is None
