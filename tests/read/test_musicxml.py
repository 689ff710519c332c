import subprocess
import sys
from fractions import Fraction

FINAL = '<barline location="right"><bar-style>light-heavy</bar-style></barline>'


def bar(number, content, **more):
    attributes = "".join(f' {name}="{value}"' for name, value in more.items())
    return f'<measure number="{number}"{attributes}>{content}</measure>'


def four(time="<beats>4</beats><beat-type>4</beat-type>"):
    return f"<attributes><divisions>4</divisions><time>{time}</time></attributes>"


def test_title_and_composer(read, note):
    head = (
        "<work><work-title>Quartet in  D\n minor</work-title></work>"
        "<movement-title>Minuet</movement-title>"
        '<identification><creator type="composer">A. Composer</creator>'
        '<creator type="lyricist">Somebody</creator></identification>'
    )
    part = read(note("A4", 16), head=head)
    assert (part.title, part.composer) == ("Quartet in D minor, Minuet", "A. Composer")
    assert (part.source, part.name) == ("score.musicxml", "Violin")
    bare = read(note("A4", 16))
    assert (bare.title, bare.composer) == ("", "")


def test_printed_bar_numbers(read, note):
    part = read(
        bar("7", four() + note("A4", 16)),
        bar("7a", note("A4", 16)),
        bar("9", note("A4", 16), text="8"),
    )
    assert [measure.number for measure in part.measures] == ["7", "7a", "8"]


def test_movements_begin_where_numbers_start_again_after_a_final_bar(read, note):
    part = read(
        bar("1", four() + '<sound tempo="60"/>' + note("A4", 16)),
        bar("2", note("A4", 16) + FINAL),
        bar("1", note("A4", 4)),
        bar("2", note("A4", 16) + FINAL),
        bar("3", note("A4", 16)),
        bar("1", note("A4", 16)),
        head="<movement-number>2</movement-number>",
    )
    assert [measure.movement for measure in part.measures] == [2, 2, 3, 3, 3, 3]
    assert part.measures[2].upbeat
    assert [(t.onset_ql, t.quarters_per_minute, t.assumed) for t in part.tempi] == [
        (0, 60, True),
        (8, 100, True),
    ]


def test_rehearsal_marks_hold_until_the_next_and_end_with_the_movement(read, note):
    mark = "<direction><direction-type><rehearsal>{}</rehearsal></direction-type></direction>"
    part = read(
        bar("1", four() + note("A4", 16)),
        bar("2", mark.format("A") + note("A4", 16)),
        bar("3", note("A4", 16)),
        bar("4", note("A4", 16) + mark.format("B") + FINAL),
        bar("1", note("A4", 16)),
    )
    assert [measure.rehearsal for measure in part.measures] == ["", "A", "A", "B", ""]


def test_implicit_short_bars_are_upbeats_wherever_they_stand(read, note):
    part = read(
        bar("1", four() + note("A4", 12)),
        bar("X1", note("A4", 4), implicit="yes"),
        bar("2", note("A4", 16), implicit="yes"),
        bar("3", note("A4", 8)),
    )
    assert [measure.upbeat for measure in part.measures] == [True, True, False, False]
    assert [event.beat for event in part.events] == [2, 4, 1, 1]


def test_bar_without_metre_is_as_long_as_its_music(read, note):
    part = read(bar("1", four("<senza-misura/>") + note("A4", 10)), bar("2", note("A4", 3)))
    assert [(m.time, m.upbeat) for m in part.measures] == [((5, 8), False), ((3, 16), False)]


def test_additive_time(read, note):
    part = read(
        bar("1", four("<beats>3+2</beats><beat-type>8</beat-type>") + note("A4", 10)),
        bar("2", note("A4", 10)),
    )
    assert part.measures[1].time == (5, 8)
    assert part.measures[1].onset_ql == Fraction(5, 2)


def test_repeats_are_left_as_written(read, note):
    repeat = '<barline><bar-style>light-heavy</bar-style><repeat direction="backward"/></barline>'
    part = read(bar("1", four() + note("A4", 16) + repeat), bar("2", note("B4", 16)))
    assert len(part.events) == 2
    assert [measure.movement for measure in part.measures] == [1, 1]


def test_reading_is_the_same_each_time(read, note):
    assert read(note("A4", 16)) == read(note("A4", 16))


def test_import_leaves_the_converter_alone():
    code = "import scoretools.read, sys; sys.exit('music21' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
