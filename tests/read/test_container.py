import io
import zipfile
from pathlib import Path

import pytest

from scoretools.errors import NotMusicXML, ReadError
from scoretools.read import container, read_part
from scoretools.read.container import contents, shown_name


def zipped(members):
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in members.items():
            archive.writestr(name, data)
    return buffer.getvalue()


def container_xml(path):
    return f'<container><rootfiles><rootfile full-path="{path}"/></rootfiles></container>'


def test_root_file_is_the_one_the_container_names(write):
    data = zipped(
        {
            "META-INF/container.xml": container_xml("music/b.xml"),
            "a.xml": "<a/>",
            "music/b.xml": "<b/>",
        }
    )
    assert contents(write(data, "x.mxl")).data == b"<b/>"


def test_only_score_is_taken_where_no_container_file_is(write):
    data = zipped({"score.musicxml": "<b/>", "picture.png": "p", "META-INF/other.xml": "<c/>"})
    found = contents(write(data, "x.mxl"))
    assert (found.data, found.suffix, found.name) == (b"<b/>", ".musicxml", "x.mxl")


def test_zip_is_known_by_its_content(write, document, note):
    data = zipped({"s.xml": document(note("A4", 16))})
    assert len(read_part(write(data, "called.xml")).events) == 1


def test_text_called_mxl_is_read(write, document, note):
    assert len(read_part(write(document(note("A4", 16)), "x.mxl")).events) == 1


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (zipped({"a.xml": "<a/>", "b.xml": "<b/>"}), "holds 2 scores"),
        (zipped({"a.txt": "a"}), "holds no score"),
        (zipped({}), "holds no score"),
        (zipped({"META-INF/container.xml": container_xml("../../etc/passwd")}), "holds no score"),
        (zipped({"a.xml": "<a/>"})[:-30], "damaged"),
        (b"no zip at all", "no zip container"),
    ],
)
def test_bad_containers_are_refused_in_one_sentence(write, data, words):
    with pytest.raises(NotMusicXML, match=words) as refusal:
        contents(write(data, "x.mxl"))
    assert "\n" not in str(refusal.value)


def test_damaged_member_is_refused(write):
    data = bytearray(zipped({"a.xml": "<a>" + "x" * 500 + "</a>"}))
    data[45] ^= 0xFF
    with pytest.raises(NotMusicXML, match="damaged"):
        contents(write(bytes(data), "x.mxl"))


def test_limits_are_named(write, monkeypatch):
    monkeypatch.setattr(container, "MOST_BYTES", 1024**2)
    with pytest.raises(NotMusicXML, match="more than 1 MiB"):
        contents(write(zipped({"a.xml": b" " * (1024**2 + 1)}), "x.mxl"))
    with pytest.raises(ReadError, match="larger than 1 MiB"):
        contents(write(b"<" + b" " * 1024**2, "x.xml"))
    monkeypatch.setattr(container, "MOST_MEMBERS", 3)
    with pytest.raises(NotMusicXML, match="more than 3 files"):
        contents(write(zipped({f"{n}.xml": "<a/>" for n in range(4)}), "x.mxl"))


@pytest.mark.parametrize("data", [b"", b" \n\t"])
def test_empty_file_is_refused(write, data):
    with pytest.raises(NotMusicXML, match=r"^score\.musicxml: the file is empty"):
        contents(write(data))


def test_missing_file_folder_and_impossible_path_are_refused(tmp_path):
    with pytest.raises(ReadError, match=r"^none\.xml: there is no such file"):
        contents(tmp_path / "none.xml")
    with pytest.raises(ReadError, match="this is a folder"):
        contents(tmp_path)
    with pytest.raises(ReadError, match="cannot be opened"):
        contents("a\0b.xml")
    with pytest.raises(ReadError, match="cannot be opened"):
        contents("x" * 5000 + ".xml")


def test_unreadable_file_is_refused(write, monkeypatch):
    path = write("<a/>")

    def refuse(*_):
        raise PermissionError

    monkeypatch.setattr("builtins.open", refuse)
    with pytest.raises(ReadError, match="may not be read"):
        contents(path)


def test_names_are_shown_on_one_line():
    assert shown_name(Path("a") / "two\nlines.xml") == "two?lines.xml"
    assert shown_name("folder/") == "folder"
