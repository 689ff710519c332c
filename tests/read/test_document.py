import pytest

from scoretools.errors import NotMusicXML
from scoretools.read import read_part
from scoretools.read.document import document as parsed
from scoretools.read.document import root_tag

DOCTYPE = '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" "x.dtd">'


def refusal_of(data):
    with pytest.raises(NotMusicXML) as refusal:
        parsed("s.xml", data if isinstance(data, bytes) else data.encode())
    assert "\n" not in str(refusal.value)
    return str(refusal.value)


def test_document_type_is_harmless_and_not_loaded(document, note):
    data = document(note("A4")).replace("<score-partwise", f"{DOCTYPE}<score-partwise", 1)
    assert parsed("s.xml", data.encode()).tag == "score-partwise"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "latin-1"])
def test_encodings(write, document, note, encoding):
    data = document(note("A4"), head="<movement-title>Élégie</movement-title>")
    if encoding == "latin-1":
        data = data.replace('version="1.0"', 'version="1.0" encoding="ISO-8859-1"', 1)
    assert read_part(write(data.encode(encoding))).title == "Élégie"


def test_false_declaration_of_utf16_is_forgiven(write, document, note):
    data = document(note("A4")).replace('"1.0"?', '"1.0" encoding="UTF-16" standalone="no"?', 1)
    assert len(read_part(write(data)).events) == 1


def test_blank_lines_before_the_declaration_are_forgiven(write, document, note):
    assert len(read_part(write("\n\n" + document(note("A4")))).events) == 1


def test_declared_entities_are_refused():
    bomb = '<!DOCTYPE a [<!ENTITY b "bb"><!ENTITY c "&b;&b;">]><score-partwise>&c;</score-partwise>'
    assert "declares entities" in refusal_of(bomb)
    assert "declares entities" in refusal_of(f'<?xml version="1.0"?>{bomb}'.encode("utf-16"))


def test_file_entities_are_refused(tmp_path):
    secret = tmp_path / "secret"
    secret.write_text("secret")
    said = refusal_of(
        f'<!DOCTYPE a [<!ENTITY b SYSTEM "{secret.as_uri()}">]><score-partwise>&b;</score-partwise>'
    )
    assert "declares entities" in said


def test_undefined_entities_are_refused():
    assert "entity" in refusal_of("<score-partwise>&eacute;</score-partwise>").lower()
    assert "undefined entity &eacute;" in refusal_of(
        f"{DOCTYPE}<score-partwise><movement-title>&eacute;</movement-title></score-partwise>"
    )


def test_other_xml_is_refused_by_the_name_of_its_root():
    assert "root element html, not MusicXML" in refusal_of("<html/>")
    assert "root element svg" in refusal_of('<svg xmlns="http://www.w3.org/2000/svg"/>')


def test_truncated_file_names_the_line(document, note):
    data = document(note("A4"), note("B4")).replace("<measure", "\n<measure")
    said = refusal_of(data[: data.index("<octave>", data.index("<step>B"))])
    assert "breaks off in line 3" in said


def test_damaged_file_names_the_line(document, note):
    data = document(note("A4"), note("B4")).replace("<measure", "\n<measure")
    assert "damaged in line 2" in refusal_of(data.replace("</pitch>", "", 1))


def test_text_is_refused():
    assert "not XML" in refusal_of("just words")


def test_wrong_bytes_are_refused(document, note):
    data = document(note("A4"), head="<movement-title>Élégie</movement-title>").encode("latin-1")
    assert "damaged in line 1" in refusal_of(data)


def test_deep_nesting_is_refused():
    refusal_of("<score-partwise>" + "<a>" * 100_000)


def test_root_tag_needs_no_well_formed_file():
    assert root_tag(b'<?xml version="1.0"?><!-- <no> --><m:mei xmlns:m="x"><') == "mei"
    assert root_tag("<score-partwise/>".encode("utf-16")) == "score-partwise"
    assert root_tag(b"words") == ""


def test_timewise_score_is_read_like_a_partwise_one(write, document, note):
    bars = "".join(
        f'<measure number="{number}"><part id="P1">{first}</part><part id="P2">{second}</part>'
        "</measure>"
        for number, first, second in ((1, note("A4"), note("D4")), (2, note("B4"), note("E4")))
    )
    data = document(names=("Violin", "Viola"))
    head = data[: data.index("<part id")].replace("score-partwise", "score-timewise")
    path = write(f"{head}{bars}</score-timewise>")
    part = read_part(path, "Viola")
    assert [event.notes[0].pitch.name for event in part.events] == ["D4", "E4"]
    assert [measure.number for measure in part.measures] == ["1", "2"]
    assert part.events[1].notes[0].address.measure == 1
