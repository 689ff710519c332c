"""What a hostile file may not do: reach out, unpack without end, take all memory or time."""

import io
import sys
import zipfile

import pytest

from scoretools.errors import NotMusicXML, ReadError
from scoretools.read import read_part
from scoretools.read.container import contents
from scoretools.read.document import root_tag


def zipped(members, method=zipfile.ZIP_DEFLATED):
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", method) as archive:
        for name, data in members.items():
            archive.writestr(name, data)
    return target.getvalue()


def container(path):
    return (
        '<?xml version="1.0"?><container><rootfiles>'
        f'<rootfile full-path="{path}"/></rootfiles></container>'
    )


def test_billion_laughs_are_refused(write):
    entities = '<!ENTITY a0 "ha">' + "".join(
        f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 10)
    )
    for encoding in ("utf-8", "utf-16", "utf-16-be"):
        text = f"<!DOCTYPE s [{entities}]><score-partwise>&a9;</score-partwise>"
        with pytest.raises(NotMusicXML):
            read_part(write(text.encode(encoding)))


def test_no_file_outside_is_read(write, tmp_path, document, note):
    secret = tmp_path / "secret.dtd"
    secret.write_text('<!ENTITY name "Violin from outside">')
    score = document(note("A4", 16))
    doctype = f'<!DOCTYPE score-partwise SYSTEM "{secret.as_uri()}">'
    part = read_part(write(score.replace("<score-partwise", doctype + "<score-partwise", 1)))
    assert part.name == "Violin"


@pytest.mark.parametrize("path", ["../../outside.xml", "/outside.xml", "C:\\outside.xml"])
def test_no_path_leads_out_of_the_container(write, tmp_path, document, note, path):
    (tmp_path / "outside.xml").write_text("<score-partwise/>")
    score = document(note("A4", 16))
    packed = zipped({"META-INF/container.xml": container(path), "inside.xml": score})
    assert len(read_part(write(packed, "sub.mxl")).events) == 1
    # A member of such a name is read where it lies, inside the container; nothing is unpacked.
    before = sorted(tmp_path.iterdir())
    packed = zipped({"META-INF/container.xml": container(path), path: score})
    assert len(read_part(write(packed, "sub.mxl")).events) == 1
    assert sorted(tmp_path.iterdir()) == before


def test_zip_bomb_names_the_limit(write):
    packed = zipped({"a.xml": b"<a>" + b" " * (130 * 1024**2)})
    assert len(packed) < 1024**2
    with pytest.raises(NotMusicXML, match="more than 128 MiB"):
        contents(write(packed, "x.mxl"))


def test_directory_of_many_entries_names_the_limit(write):
    packed = zipped({f"{n}.xml": b"" for n in range(1200)}, zipfile.ZIP_STORED)
    with pytest.raises(NotMusicXML, match="more than 1000 files"):
        contents(write(packed, "x.mxl"))


def test_hostile_container_file_is_read_in_no_time(write, document, note):
    packed = zipped(
        {"META-INF/container.xml": "<rootfile " * 200_000, "a.xml": document(note("A4", 16))}
    )
    assert len(read_part(write(packed, "x.mxl")).events) == 1


def test_depth_tags_notes_and_measures_name_their_limit(write, monkeypatch, document, note):
    with pytest.raises(NotMusicXML, match="nested deeper than 256"):
        read_part(write("<score-partwise>" + "<a>" * 1000 + "</a>" * 1000 + "</score-partwise>"))
    score = write(document(note("A4", 16), note("A4", 16)))
    for room, name, error, words in (
        ("document", "MOST_TAGS", NotMusicXML, "more than 1 tags and attributes"),
        ("musicxml", "MOST_NOTES", ReadError, "more than 1 notes"),
        ("musicxml", "MOST_MEASURES", ReadError, "more than 1 measures"),
    ):
        with monkeypatch.context() as patch:
            patch.setattr(sys.modules[f"scoretools.read.{room}"], name, 1)
            with pytest.raises(error, match=words):
                read_part(score)
    assert len(read_part(score).events) == 2


def test_endless_notes_do_not_pile_up(read, note):
    back = "<backup><duration>99999</duration></backup>"
    step = "<forward><duration>{}</duration></forward>"
    bar = "".join(step.format(n) + note("A4", 99999, voice=str(n)) + back for n in range(1, 400))
    part = read(bar)
    assert max(len(event.held) for event in part.events) <= 17


def test_comments_before_the_root_are_passed_in_no_time():
    assert root_tag(b"<!--" * 16_000) == ""
    assert root_tag(b"<!-- a --><!-- b --><mei/>") == "mei"


@pytest.mark.parametrize(
    "name", ["a b.xml", "Violín 1 \N{SNOWMAN}.musicxml", "score", "score.mscz", "-x.xml", "a.b.c"]
)
def test_odd_file_names(write, document, note, name):
    assert len(read_part(write(document(note("A4", 16)), name)).events) == 1


@pytest.mark.parametrize("version", ["1.0", "1.1", "2.0", "3.0", "3.1", "4.0", "9.9", ""])
def test_every_version_of_musicxml(write, document, note, version):
    given = f' version="{version}"' if version else ""
    score = document(note("A4", 16)).replace(' version="4.0"', given)
    doctype = (
        f'<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML {version} Partwise//EN" '
        '"http://www.musicxml.org/dtds/partwise.dtd">'
    )
    score = score.replace("<score-partwise", doctype + "<score-partwise", 1)
    assert len(read_part(write(score)).events) == 1
