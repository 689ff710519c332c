"""Accidentals that a score leaves out are drawn; those it prints are left as they are."""

from xml.etree import ElementTree

import pytest

from scoretools.write.engraver_accidentals import print_accidentals

BACKUP = "<backup><duration>2</duration></backup>"


def note(name: str, printed: str = "", tie: str = "", chord: bool = False) -> str:
    alter = {"#": 1, "b": -1, "x": 2}.get(name[1:-1], 0)
    return (
        f"<note>{'<chord/>' if chord else ''}<pitch><step>{name[0]}</step>"
        f"{f'<alter>{alter}</alter>' if alter else ''}<octave>{name[-1]}</octave></pitch>"
        f"<duration>1</duration>{f'<tie type={tie!r}/>' if tie else ''}<voice>1</voice>"
        f"<type>quarter</type>{f'<accidental>{printed}</accidental>' if printed else ''}"
        "<stem>up</stem></note>"
    )


def signs(*bars: str, fifths: int = 0) -> list[str | None]:
    """For every note, in the order of the file, its sign."""
    key = f"<attributes><key><fifths>{fifths}</fifths></key></attributes>"
    first, *others = bars
    text = "".join(f"<measure>{bar}</measure>" for bar in (key + first, *others))
    part = ElementTree.fromstring(f"<part>{text}</part>")
    print_accidentals(part)
    for one in part.iter("note"):
        tags = [child.tag for child in one]
        if "accidental" in tags:  # Source: MusicXML 4.0, element note: after the type
            assert tags[tags.index("accidental") - 1] == "type"
    return [one.findtext("accidental") for one in part.iter("note")]


# Common practice: how accidentals and key signatures are read.
@pytest.mark.parametrize(
    ("bars", "fifths", "expected"),
    [
        ((note("C#5") + note("C#5") + note("C5"),), 0, ["sharp", None, "natural"]),
        ((note("C#5") + note("C#4"),), 0, ["sharp", "sharp"]),  # an octave is another line
        ((note("C#5"), note("C#5") + note("C5")), 0, ["sharp", "sharp", "natural"]),
        ((note("F#5") + note("F5") + note("F#5"),), 1, [None, "natural", "sharp"]),
        ((note("Bb4") + note("B4"),), -1, [None, "natural"]),
        ((note("Fx5"),), 3, ["double-sharp"]),
        ((note("C#5", tie="start"), note("C#5", tie="stop") + note("C#5")), 0,
         ["sharp", None, "sharp"]),
        ((note("C5") + note("D#5", chord=True),), 0, [None, "sharp"]),
    ],
)  # fmt: skip
def test_a_sign_stands_where_a_reader_needs_it(
    bars: tuple[str, ...], fifths: int, expected: list[str | None]
) -> None:
    assert signs(*bars, fifths=fifths) == expected


def test_another_voice_is_read_in_time() -> None:
    upper, lower = note("G5") + note("C#5"), note("C5") + note("A4")
    assert signs(upper + BACKUP + lower) == [None, "sharp", None, None]


def test_printed_signs_stay_and_hold() -> None:
    assert signs(note("C5", "natural") + note("C#5", "sharp") + note("C#5")) == [
        "natural", "sharp", None,
    ]  # fmt: skip
