from fractions import Fraction

import pytest

from scoretools.read import ASSUMED_QUARTERS_PER_MINUTE
from scoretools.read.timing import assumed_tempo


def direction(content, sound=""):
    return f"<direction><direction-type>{content}</direction-type>{sound}</direction>"


def metronome(unit, figure, dots=0):
    return (
        f"<metronome><beat-unit>{unit}</beat-unit>{'<beat-unit-dot/>' * dots}"
        f"<per-minute>{figure}</per-minute></metronome>"
    )


def tempi(part):
    return [(tempo.onset_ql, tempo.quarters_per_minute, tempo.assumed) for tempo in part.tempi]


def test_assumed_tempo_where_none_is_printed(read, note):
    part = read(direction("<words>dolce</words>") + note("A4", 16), note("B4", 16))
    assert tempi(part) == [(0, ASSUMED_QUARTERS_PER_MINUTE, True)]
    # Hand-worked: four quarters at 100 a minute take 2.4 seconds.
    assert part.events[1].onset_s == pytest.approx(2.4)
    assert part.events[1].end_s == pytest.approx(4.8)


@pytest.mark.parametrize(
    ("length", "quarters"), [(1, 100), ("1/4", 100), ("1/8", 60), ("1/16", 30)]
)
def test_an_assumed_tempo_lets_the_short_notes_be_played(length, quarters):
    # Worked by hand: eight notes a second are sixteenths at 120, thirty-seconds at 60.
    short = Fraction(length)
    assert assumed_tempo([short] * 20 + [Fraction(0)] * 50) == quarters
    assert assumed_tempo([short] + [Fraction(2)] * 40) == ASSUMED_QUARTERS_PER_MINUTE
    assert assumed_tempo([]) == ASSUMED_QUARTERS_PER_MINUTE


def test_tempo_changes_inside_a_bar(read, note):
    sound = '<sound tempo="{}"/>'
    bar = sound.format(60) + note("A4", 8) + sound.format(120) + note("B4", 8)
    part = read(bar, note("C5", 16))
    assert tempi(part) == [(0, 60, True), (2, 120, True)]
    # Hand-worked: two quarters at 60 take 2 seconds, two at 120 take 1.
    assert [event.onset_s for event in part.events] == pytest.approx([0, 2, 3])
    assert part.events[2].end_s == pytest.approx(5)


@pytest.mark.parametrize(
    ("content", "quarters"),
    [
        (metronome("quarter", "84"), 84),
        (metronome("half", "60"), 120),
        (metronome("quarter", "60", dots=1), 90),
        (metronome("eighth", "120"), 60),
        (metronome("quarter", "c. 120"), 120),
        (metronome("quarter", "126-132"), 126),
        (metronome("quarter", "66.5"), 66.5),
    ],
)
def test_metronome_figures(read, note, content, quarters):
    assert tempi(read(direction(content) + note("A4", 16))) == [(0, quarters, False)]


@pytest.mark.parametrize(
    "content",
    [metronome("quarter", "fast"), metronome("kazoo", "60"), metronome("quarter", "0")],
)
def test_unreadable_figures_set_no_tempo(read, note, content):
    assert tempi(read(direction(content) + note("A4", 16))) == [(0, 100, True)]


@pytest.mark.parametrize("value", ["0", "-5", "x", "1e9", "99999"])
def test_impossible_sounds_set_no_tempo(read, note, value):
    part = read(f'<sound tempo="{value}"/>' + note("A4", 16))
    assert tempi(part) == [(0, 100, True)]


def test_equated_note_values_are_ignored_and_told(read, note):
    equal = "<metronome><beat-unit>half</beat-unit><beat-unit>quarter</beat-unit></metronome>"
    part = read(direction(equal) + note("A4", 16))
    assert tempi(part) == [(0, 100, True)]
    assert [notice.message for notice in part.notices] == [
        "A tempo mark that sets two note values equal is ignored in bar 1."
    ]


def test_sound_goes_before_figure_and_own_part_before_the_top_one(read, note):
    both = direction(metronome("quarter", "60"), '<sound tempo="66"/>') + note("A4", 16)
    assert tempi(read(both)) == [(0, 66, False)]
    parts = ([direction(metronome("quarter", "60")) + note("A4", 16)],
             [direction(metronome("quarter", "80")) + note("A4", 16)])  # fmt: skip
    assert tempi(read(names=("Violin", "Viola"), parts=parts, part=2)) == [(0, 80, False)]


def test_marks_over_the_top_part_hold_for_the_others(read, note):
    half = "<attributes><divisions>2</divisions></attributes>"
    flute = [
        note("A4", 8) + '<sound tempo="50"/>' + note("A4", 8),
        half + note("A4", 2) + '<sound tempo="70"/>' + note("A4", 6)
        + direction("<rehearsal>B</rehearsal>"),
    ]  # fmt: skip
    part = read(names=("Flute", "Violin"), parts=(flute, [note("A4", 16), note("B4", 16)]), part=2)
    assert tempi(part) == [(0, 100, True), (2, 50, True), (5, 70, True)]
    assert [measure.rehearsal for measure in part.measures] == ["", "B"]


def test_mark_behind_the_last_bar_of_the_part_is_harmless(read, note):
    equal = "<metronome><beat-unit>half</beat-unit><beat-unit>quarter</beat-unit></metronome>"
    late = ['<sound tempo="50"/>' + note("A4", 16), direction(equal) + '<sound tempo="9"/>']
    part = read(names=("Violin", "Flute"), parts=([note("A4", 16)], late), part=1)
    assert tempi(part) == [(0, 50, True)]


def test_offset_moves_a_sound(read, note):
    moved = "<direction><direction-type><words>a tempo</words></direction-type>{}{}</direction>"
    sound = '<sound tempo="60"><offset>4</offset></sound>'
    assert tempi(read(moved.format(sound, "") + note("A4", 16)))[1] == (1, 60, True)
    offset = '<offset sound="yes">8</offset>'
    part = read(moved.format(offset, '<sound tempo="60"/>') + note("A4", 16))
    assert tempi(part)[1] == (2, 60, True)
    part = read(moved.format("<offset>8</offset>", '<sound tempo="60"/>') + note("A4", 16))
    assert tempi(part) == [(0, 60, True)]


def test_mark_after_a_backup_stands_where_the_cursor_is(read, note):
    back = "<backup><duration>8</duration></backup>"
    part = read(note("A4", 16) + back + '<sound tempo="60"/>')
    assert tempi(part)[1] == (Fraction(2), 60, True)


@pytest.mark.parametrize(
    ("words", "time", "quarters"),
    [
        ("Allegro", (4, 4), 132),
        ("II. Largo", (3, 4), 50),
        ("Un poco Andante", (4, 4), 80),
        ("Très animé", (4, 4), 126),
        ("Allegretto", (6, 8), 112),
        ("Più mosso", (4, 4), ASSUMED_QUARTERS_PER_MINUTE),
        ("a tempo", (4, 4), ASSUMED_QUARTERS_PER_MINUTE),
    ],
)
def test_tempo_words_without_a_figure(read, note, words, time, quarters):
    # Common practice, no published source: the speeds.
    signature = (
        f"<attributes><time><beats>{time[0]}</beats><beat-type>{time[1]}</beat-type></time>"
        "</attributes>"
    )
    part = read(signature + direction(f"<words>{words}</words>") + note("A4", 12))
    assert tempi(part) == [(0, quarters, True)]
    said = [notice.message for notice in part.notices]
    assert bool(said) == (quarters != ASSUMED_QUARTERS_PER_MINUTE)
    assert all("stands without a figure" in one for one in said)


def test_a_stated_speed_in_the_same_bar_goes_before_words_but_is_no_printed_figure(read, note):
    both = direction("<words>Presto</words>", '<sound tempo="90"/>')
    part = read(both + note("A4", 16), direction("<words>Largo</words>") + note("A4", 16))
    assert tempi(part) == [(0, 90, True), (4, 50, True)]
    assert part.notices[0].message == (
        "No tempo figure is printed; the speed at which the file plays itself, 90 quarter notes a "
        "minute, is taken."
    )
    assert sum("plays itself" in notice.message for notice in part.notices) == 1


def test_a_stated_speed_under_a_printed_figure_is_a_shade_of_it(read, note):
    figure = direction(metronome("quarter", "60"), '<sound tempo="60"/>')
    slower = direction("<words>rit.</words>", '<sound tempo="52"/>')
    part = read(figure + note("A4", 16), slower + note("A4", 16))
    assert tempi(part) == [(0, 60, False), (4, 52, False)]
    assert not part.notices
    new = direction("<words>Presto</words>", '<sound tempo="180"/>')
    part = read(figure + note("A4", 16), new + note("A4", 16))
    assert tempi(part) == [(0, 60, False), (4, 180, True)]
    assert [notice.measure for notice in part.notices] == [1]


def test_swing_is_ignored_and_told(read, note):
    swing = "<sound><swing><first>2</first><second>1</second></swing></sound>"
    part = read(swing + note("A4", 16))
    assert [notice.message for notice in part.notices] == [
        "A swing mark is ignored; notes are read as written in bar 1."
    ]
