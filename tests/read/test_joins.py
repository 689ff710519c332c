"""Repeats, endings and jumps, worked by hand. Source of the elements: MusicXML 4.0."""

import pytest


def bar(note, left="", right="", inside=""):
    def barline(location, content):
        return f'<barline location="{location}">{content}</barline>' if content else ""

    return barline("left", left) + inside + note("A4", 16) + barline("right", right)


FORWARD = '<repeat direction="forward"/>'
BACKWARD = '<repeat direction="backward"/>'


def ending(number, kind):
    return f'<ending number="{number}" type="{kind}"/>'


def sound(**attributes):
    return "<direction><direction-type><words/></direction-type><sound {}/></direction>".format(
        " ".join(f'{name}="{value}"' for name, value in attributes.items())
    )


def words(text):
    return f"<direction><direction-type><words>{text}</words></direction-type></direction>"


@pytest.fixture
def joins(read, note):
    def joins_(*bars):
        part = read(*(bar(note, **given) for given in bars))
        assert len(part.events) == len(bars)
        return [(join.from_measure, join.to_measure, join.kind) for join in part.joins]

    return joins_


def test_repeats_go_to_their_beginning_else_to_the_last_section(joins):
    assert joins({}, {"right": BACKWARD}, {}, {"right": BACKWARD}) == [
        (1, 0, "repeat"),
        (3, 2, "repeat"),
    ]
    assert joins({}, {"left": FORWARD}, {"right": BACKWARD}, {}) == [(2, 1, "repeat")]


def test_endings(joins):
    first = {"left": ending(1, "start"), "right": ending(1, "stop") + BACKWARD}
    second = {"left": ending(2, "start"), "right": ending(2, "stop") + BACKWARD}
    third = {"left": ending(3, "start"), "right": ending(3, "discontinue")}
    assert joins({}, first, second, third, {}, {"right": BACKWARD}) == [
        (0, 2, "ending"),
        (0, 3, "ending"),
        (1, 0, "repeat"),
        (2, 0, "repeat"),
        (5, 4, "repeat"),
    ]


def test_da_capo_and_dal_segno(joins):
    assert joins({}, {}, {"inside": sound(dacapo="yes")}) == [(2, 0, "da capo")]
    assert joins({}, {}, {"inside": words("D.C. al Fine")}) == [(2, 0, "da capo")]
    segno = "<direction><direction-type><segno/></direction-type></direction>"
    assert joins({}, {"inside": segno}, {"inside": words("D.S. al Fine")}) == [(2, 1, "dal segno")]


def test_way_to_the_coda(joins):
    sounds = ({}, {"inside": sound(tocoda="1")}, {"inside": sound(dacapo="yes")},
              {"inside": sound(coda="1")})  # fmt: skip
    assert joins(*sounds) == [(1, 3, "to coda"), (2, 0, "da capo")]
    sign = "<direction><direction-type><coda/></direction-type></direction>"
    signs = ({"inside": sign}, {}, {"inside": words("Da Capo al Coda")}, {"inside": sign})
    assert joins(*signs) == [(0, 3, "to coda"), (2, 0, "da capo")]
    assert joins({}, {"inside": words("Coda")}, {}) == []


def test_movements_are_apart(read, note):
    final = '<barline><bar-style>light-heavy</bar-style><repeat direction="backward"/></barline>'
    part = read(
        note("A4", 16) + final,
        f'<measure number="1">{note("A4", 16)}</measure>',
        f'<measure number="2">{note("A4", 16) + final}</measure>',
    )
    assert [(join.from_measure, join.to_measure) for join in part.joins] == [(0, 0), (2, 1)]


def test_jumps_over_another_part_count(read, note):
    top = [note("A4", 16), words("D.C.") + note("A4", 16)]
    part = read(parts=(top, [note("D4", 16), note("E4", 16)]), names=("Flute", "Viola"))
    assert [(join.from_measure, join.to_measure) for join in part.joins] == [(1, 0)]


def test_notes_tied_into_a_second_ending_are_struck_once_or_told(read, note):
    # The second ending takes up a tie from before the first: the note before it has sounded.
    part = read(
        note("A4", 16, tie="start"),
        bar(note, left=ending(1, "start"), right=ending(1, "stop") + BACKWARD),
        '<barline location="left"><ending number="2" type="start"/></barline>'
        + note("A4", 16, tie="stop"),
    )
    assert len(part.events) == 3
    assert any("tie" in notice.message for notice in part.notices)
