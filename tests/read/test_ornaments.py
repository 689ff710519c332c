"""Ornaments. Source of the signs: MusicXML 4.0; of the neighbours: common practice."""

import pytest

from scoretools.model import OrnamentKind


def sign(*content):
    return f"<notations><ornaments>{''.join(content)}</ornaments></notations>"


def ornaments(part):
    found = [note.ornament for event in part.events for note in event.notes]
    return [
        None if one is None else (one.kind.value, [pitch.name for pitch in one.others])
        for one in found
    ]


G_MAJOR = "<attributes><key><fifths>1</fifths></key></attributes>"


@pytest.mark.parametrize(
    ("content", "read_as"),
    [
        ("<trill-mark/>", ("trill", ["F#5"])),
        ("<trill-mark/><accidental-mark>natural</accidental-mark>", ("trill", ["F5"])),
        ('<trill-mark trill-step="half"/>', ("trill", ["F5"])),
        ('<trill-mark trill-step="whole"/>', ("trill", ["F#5"])),
        ("<shake/>", ("trill", ["F#5"])),
        ("<mordent/>", ("mordent", ["D5"])),
        ("<inverted-mordent/>", ("mordent", ["F#5"])),
        ("<turn/>", ("turn", ["D5", "F#5"])),
        ("<inverted-turn/>", ("turn", ["D5", "F#5"])),
        (
            '<turn/><accidental-mark placement="above">natural</accidental-mark>'
            '<accidental-mark placement="below">sharp</accidental-mark>',
            ("turn", ["D#5", "F5"]),
        ),
        ('<tremolo type="single">3</tremolo>', None),
    ],
)
def test_neighbours(read, note, content, read_as):
    part = read(G_MAJOR + note("E5", 16, last=sign(content)))
    assert ornaments(part) == [read_as]


def test_accidental_earlier_in_the_bar_counts(read, note):
    trill = sign("<trill-mark/>")
    part = read(note("F#5") + note("E5", last=trill) + note("F5") + note("E5", last=trill),
                note("E5", 16, last=trill))  # fmt: skip
    assert [one[1] for one in ornaments(part) if one] == [["F#5"], ["F5"], ["F5"]]
    later = read(note("E5", last=trill) + note("F#5", 12))
    assert ornaments(later)[0] == ("trill", ["F5"])


def test_wavy_line_trills_every_note_under_it(read, note):
    start = sign("<trill-mark/>", '<wavy-line type="start"/>')
    part = read(
        note("A4", last=start)
        + note("B4")
        + note("C5", last=sign('<wavy-line type="stop"/>'))
        + note("D5")
    )
    assert ornaments(part) == [("trill", [up]) for up in ("B4", "C5", "D5")] + [None]


def test_tremolo_between_two_chords(read, note):
    def part_of(kind):
        return sign(f'<tremolo type="{kind}">2</tremolo>')

    part = read(
        note("A4", 8, last=part_of("start"))
        + note("C5", 8, first="<chord/>")
        + note("E5", 8, last=part_of("stop"))
    )
    assert ornaments(part) == [
        ("tremolo", ["E5"]),
        ("tremolo", ["E5"]),
        ("tremolo", ["A4", "C5"]),
    ]


def test_ornament_on_a_tied_continuation_is_kept(read, note):
    trill = sign("<trill-mark/>")
    part = read(note("A4", 16, tie="start"), note("A4", 16, tie="stop", last=trill))
    assert part.events[0].notes[0].ornament.kind is OrnamentKind.TRILL


def test_unknown_ornaments_are_told(read, note):
    part = read(note("A4", 16, last=sign("<schleifer/>")))
    assert [notice.message for notice in part.notices] == [
        "An ornament that is no trill, mordent or turn is left out in bar 1."
    ]


@pytest.mark.parametrize("tag", ["glissando", "slide"])
def test_slides_lead_to_the_next_note(read, note, tag):
    start, stop = (f'<notations><{tag} type="{kind}"/></notations>' for kind in ("start", "stop"))
    part = read(note("A4", 8, last=start) + note("D5", 8, last=stop))
    assert [event.notes[0].glides for event in part.events] == [True, False]
