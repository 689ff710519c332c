import pytest
from music21 import common, instrument, note, stream

from scoretools.bar_names import length_words
from scoretools.errors import NotMusicXML, PartNotFound, ReadError
from scoretools.read import list_parts, read_part
from scoretools.read.container import Contents
from scoretools.read.convert import format_of

TUNE = "X:1\nT:Test Reel\nM:4/4\nL:1/8\nQ:1/4=90\nK:D\nDEFG A2d2|(3efg f2 e4|]\n"
KERN = '**kern\n*ICstr\n*I"Viola\n*M4/4\n=1\n4c\n4d\n2e\n=2\n1g\n*-\n'
MEI = (
    '<?xml version="1.0"?><mei xmlns="http://www.music-encoding.org/ns/mei"><music><body><mdiv>'
    '<score><scoreDef meter.count="4" meter.unit="4"><staffGrp><staffDef n="1" lines="5" '
    'clef.shape="G" clef.line="2"/></staffGrp></scoreDef><section><measure n="1"><staff n="1">'
    '<layer n="1"><note pname="a" oct="4" dur="1"/></layer></staff></measure></section></score>'
    "</mdiv></body></music></mei>"
)


def messages(part):
    return [notice.message for notice in part.notices]


def test_abc_tune(write):
    part = read_part(write(TUNE, "reel.abc"))
    names = [event.notes[0].pitch.name for event in part.events]
    assert names == ["D4", "E4", "F#4", "G4", "A4", "D5", "E5", "F#5", "G5", "F#5", "E5"]
    assert (part.title, part.composer) == ("Test Reel", "")
    assert (part.instrument, part.part_id) == ("violin", "P1")
    assert part.tempi[0].quarters_per_minute == 90
    assert messages(part)[0].startswith("The score was converted from ABC;")
    assert "The part has no name and is taken as a violin part." in messages(part)
    assert part == read_part(write(TUNE, "reel.abc"))


def test_abc_book_reads_its_first_tune_and_says_so(write):
    path = write(TUNE + TUNE.replace("X:1", "X:2").replace("Test", "Other"), "book.abc")
    assert read_part(path).title == "Test Reel"
    assert any("holds 2 tunes" in message for message in messages(read_part(path)))
    assert read_part(path, 2).title == read_part(path, "other").title == "Other Reel"
    assert [listed.name for listed in list_parts(path)] == ["Test Reel", "Other Reel"]
    with pytest.raises(PartNotFound):
        read_part(path, 3)


def test_abc_voices_without_names(write):
    path = write(TUNE.replace("K:D\n", "K:D\nV:1\n").replace("|]\n", "|]\nV:2\nD8|D8|]\n"), "t.abc")
    part = read_part(path)
    assert part.number == 1
    assert "The tune has several voices without names; the first is read." in messages(part)
    assert read_part(path, 2).events[0].notes[0].pitch.name == "D4"


def test_kern_and_mei(write):
    kern = read_part(write(KERN, "s.krn"))
    assert [event.notes[0].pitch.name for event in kern.events] == ["C4", "D4", "E4", "G4"]
    mei = read_part(write(MEI, "s.mei"))
    assert [event.notes[0].pitch.name for event in mei.events] == ["A4"]
    assert read_part(write(MEI, "s.xml")).events == mei.events


def test_midi(tmp_path):
    line = stream.Part([instrument.Viola(), note.Note("C4"), note.Note("G4")])
    path = tmp_path / "s.mid"
    line.write("midi", path)
    part = read_part(path)
    assert [event.notes[0].pitch.midi for event in part.events] == [60, 67]
    assert part.instrument == "viola"


# Source: files that music21 keeps for its own tests.
@pytest.mark.parametrize(
    ("name", "request_"),
    [
        ("noteworthy/verySimple.nwctxt", None),
        ("noteworthy/cuthbert_test1.nwc", "Violino I."),
        ("musedata/testPrimitive/test01/04.md", "viola"),
        ("mei/test/notes_in_utf16.mei", 1),
    ],
)
def test_other_formats(name, request_):
    part = read_part(common.getSourceFilePath() / name, request_)
    assert part.events
    assert messages(part)[0].startswith("The score was converted from ")


def test_a_text_with_a_heading_is_no_score(write):
    with pytest.raises(ReadError, match="not a score"):
        read_part(write("# A heading\n\nSome words.\n", "words.md"))


@pytest.mark.parametrize(
    ("data", "name"),
    [
        ("X:1\nK:\n[[[[", "s.abc"),
        (b"MThd\x00\x00\x00\x06\x00\x01\xff\xff", "s.mid"),
        ("<mei><music/></mei>", "s.mei"),
        ("nothing", "s.krn"),
    ],
)
def test_what_cannot_be_converted_is_refused_in_one_sentence(write, data, name):
    with pytest.raises(ReadError) as refusal:
        read_part(write(data, name))
    assert "\n" not in str(refusal.value)
    assert str(refusal.value).startswith(name)


def test_entities_in_mei_are_refused(write):
    bomb = '<!DOCTYPE mei [<!ENTITY a "aa">]><mei>&a;</mei>'
    with pytest.raises(NotMusicXML, match="declares entities"):
        read_part(write(bomb, "s.mei"))


@pytest.mark.parametrize(
    ("data", "name", "kind"),
    [
        (b"%PDF-1.7 ...", "score.pdf", "a PDF"),
        (b"%PDF-1.7 ...", "score", "a PDF"),
        (b"\x89PNG\r\n", "score.png", "a picture"),
        (b"\xff\xd8\xff", "score.jpg", "a picture"),
        (b"RIFF....WAVE", "score.wav", "a sound recording"),
        (b"\x0fPROJECT\x00\x01", "score.bin", "a binary file, perhaps of a notation program"),
        (b"dear diary", "notes.txt", "text"),
    ],
)
def test_other_files_are_refused_by_kind(write, data, name, kind):
    with pytest.raises(NotMusicXML, match=kind) as refusal:
        read_part(write(data, name))
    assert "export the score as MusicXML" in str(refusal.value)


@pytest.mark.parametrize(
    ("data", "suffix", "name"),
    [
        (b"<score-partwise/>", ".txt", "musicxml"),
        ("<score-partwise/>".encode("utf-16"), "", "musicxml"),
        (b"words", ".xml", "musicxml"),
        (b"\xef\xbb\xbfX:1\nK:C\n", ".txt", "abc"),
        (b"!!!COM: x\n**kern\n", "", "humdrum"),
        (b"MThd", ".xml", "midi"),
        (b"% tune\n", ".abc", "abc"),
    ],
)
def test_format_is_told_from_the_content_first(data, suffix, name):
    assert format_of(Contents("s", suffix, data)) == name


def test_a_pickup_into_the_second_strain_completes_the_bar_before_it(write):
    # Counted by hand: an upbeat, two bars, the second short; a pickup that completes it; two bars.
    tune = "X:1\nT:Strains\nM:2/4\nL:1/8\nK:D\nA|dfed|f2a:|\n|:g|fdec|d2d:|\n"
    part = read_part(write(tune, "strains.abc"))
    assert [measure.number for measure in part.measures] == ["0", "1", "2", "X1", "3", "4"]
    assert [measure.upbeat for measure in part.measures] == [True, False, False, True, False, False]
    assert length_words(part.measures) == "4 bars and an upbeat"
    assert part.measures[-1].onset_ql == 0.5 + 2 + 1.5 + 0.5 + 2
