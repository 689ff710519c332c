"""Beams without an end are drawn; whole ones are left as they are."""

import re
from xml.etree import ElementTree

import pytest
from music21 import corpus

import scoretools
from scoretools.read import musicxml_document
from scoretools.write.engrave import engraved, single_part
from scoretools.write.engraver_beams import end_beams, type_grace_notes

GRACE = "<note><grace/><voice>1</voice></note>"


def note(*beams: str, voice: int = 1) -> str:
    signs = "".join(
        f'<beam number="{level}">{text}</beam>' for level, text in enumerate(beams, 1) if text
    )
    return f"<note><duration>1</duration><voice>{voice}</voice><type>eighth</type>{signs}</note>"


def ended(*notes: str) -> list[list[str | None]]:
    measure = ElementTree.fromstring(f"<measure>{''.join(notes)}</measure>")
    end_beams(measure)
    return [[beam.text for beam in one.iter("beam")] for one in measure.iter("note")]


# Source of the values: MusicXML 4.0, beam-value.
@pytest.mark.parametrize(
    ("notes", "expected"),
    [
        ([note("begin"), note("continue"), note()], [["begin"], ["end"], []]),
        ([note("begin"), note("continue"), note("begin"), note("end")],
         [["begin"], ["end"], ["begin"], ["end"]]),
        ([note("begin"), note("end")], [["begin"], ["end"]]),
        ([note("begin"), note()], [[], []]),
        ([note("begin"), GRACE, note("continue")], [["begin"], [], ["end"]]),
        ([note("begin", "begin"), note("continue", "continue"), note("end", "")],
         [["begin", "begin"], ["continue", "end"], ["end"]]),
        ([note("begin", "forward hook"), note("end", "")], [["begin", "forward hook"], ["end"]]),
        ([note("begin"), note(voice=2), note("continue")], [["begin"], [], ["end"]]),
    ],
)  # fmt: skip
def test_every_beam_ends(notes: list[str], expected: list[list[str]]) -> None:
    assert ended(*notes) == expected


# Source: Beethoven, op. 18 no. 4, of the music21 corpus, whose beams go on to their last note.
def test_a_score_in_the_corpus_has_its_beams() -> None:
    path = corpus.getWork("beethoven/opus18no4")
    part = scoretools.read_part(path, "Violin I")
    alone = single_part(musicxml_document(path)[0], part.part_id, len(part.measures))
    (system, *_) = engraved(alone, 180, bars=(1, 4))
    assert system.count('class="beam"') >= 2


def test_a_grace_note_without_a_type_is_an_eighth() -> None:
    pitch = "<pitch><step>A</step><octave>4</octave></pitch>"
    bare, whole = f"<note><grace/>{pitch}<voice>1</voice><stem>up</stem></note>", note("begin")
    measure = ElementTree.fromstring(f"<measure>{bare}{whole}</measure>")
    type_grace_notes(measure)
    grace, other = measure.iter("note")
    assert [child.tag for child in grace] == ["grace", "pitch", "voice", "type", "stem"]
    assert other.findtext("type") == "eighth"


# Source: as above, bar 379: grace notes without a type inside a beam.
def test_grace_notes_inside_a_beam_are_drawn_in_measure() -> None:
    path = corpus.getWork("beethoven/opus18no4")
    part = scoretools.read_part(path, "Violin I")
    alone = single_part(musicxml_document(path)[0], part.part_id, len(part.measures))
    for system in engraved(alone, 180, bars=(377, 379)):
        height = re.search(r'height="([\d.]+)mm"', system)
        assert height is not None
        assert float(height[1]) < 60
