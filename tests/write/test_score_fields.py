"""Facts in a score's own head: put in, found again, cut out again."""

import os
from collections.abc import Callable
from pathlib import Path

import pytest
from lxml import etree

from scoretools.errors import WriteError
from scoretools.write.score_fields import OURS, file_with_fields, with_fields, without_fields
from tests.cli.conftest import QUARTET, SAMPLES

FIELDS = {f"{OURS}1:level:bands": 'easy “so far” <b> & "more"\n', f"{OURS}1:shapes": "W-H-W"}


def fields_in(document: bytes) -> dict[str, str]:
    path = "identification/miscellaneous/miscellaneous-field"
    found = etree.fromstring(document).iterfind(path)
    return {field.get("name", ""): field.text or "" for field in found}


def check_data() -> list[Path]:
    folder = os.environ.get("SCORETOOLS_CHECK_DATA")
    if not folder:
        return []
    return sorted((Path(folder) / "fingered").rglob("*.*ml"))[::7]


@pytest.mark.parametrize("path", [*SAMPLES, *check_data()], ids=lambda path: path.name)
def test_fields_go_in_and_come_out_again(path: Path) -> None:
    document = path.read_bytes()
    written = with_fields(path.name, document, FIELDS)
    mine = {name: text for name, text in fields_in(written).items() if name.startswith(OURS)}
    assert mine == {name: text.replace("\n", " ") for name, text in FIELDS.items()}
    assert without_fields(path.name, written) == document
    anew = with_fields(path.name, written, {f"{OURS}1:shapes": "H-W-W"})
    assert fields_in(anew)[f"{OURS}1:shapes"] == "H-W-W"
    assert f"{OURS}1:level:bands" not in fields_in(anew)
    assert without_fields(path.name, anew) == document


@pytest.mark.parametrize("path", [*SAMPLES, *check_data()[::5]], ids=lambda path: path.name)
def test_what_was_valid_stays_valid(path: Path, schema: etree.XMLSchema) -> None:
    # Source: the XSD of MusicXML 4.0.
    document = path.read_bytes()
    if not schema.validate(etree.fromstring(document)):
        pytest.skip("the score was not valid before")
    schema.assertValid(etree.fromstring(with_fields(path.name, document, FIELDS)))


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16", "iso-8859-1"])
def test_every_encoding_is_served(encoding: str) -> None:
    document = QUARTET.replace("UTF-8", encoding).encode(encoding)
    written = with_fields("three.musicxml", document, FIELDS)
    assert without_fields("three.musicxml", written) == document
    assert len(fields_in(written)) == 2


def test_fields_of_others_stay() -> None:
    head = (
        "<identification><miscellaneous><miscellaneous-field name='shelf'>B 7"
        "</miscellaneous-field></miscellaneous></identification><part-list>"
    )
    document = QUARTET.replace("<part-list>", head).encode()
    written = with_fields("three.musicxml", document, FIELDS)
    assert fields_in(written)["shelf"] == "B 7"
    assert without_fields("three.musicxml", written) == document


def test_a_container_keeps_its_other_members(
    tmp_path: Path, container: Callable[[bytes], bytes]
) -> None:
    import io
    import zipfile

    packed = container(QUARTET.encode())
    written = file_with_fields("three.mxl", packed, QUARTET.encode(), FIELDS)
    with zipfile.ZipFile(io.BytesIO(written)) as archive:
        assert len(fields_in(archive.read("score.musicxml"))) == 2
        assert archive.testzip() is None


@pytest.fixture
def container() -> Callable[[bytes], bytes]:
    import io
    import zipfile

    def pack(document: bytes) -> bytes:
        packed = io.BytesIO()
        with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
            archive.writestr(
                "META-INF/container.xml",
                '<container><rootfiles><rootfile full-path="score.musicxml"/></rootfiles>'
                "</container>",
            )
            archive.writestr("score.musicxml", document)
        return packed.getvalue()

    return pack


@pytest.mark.parametrize("document", [b"<score-partwise><work>", b"no xml", b""])
def test_damage_is_one_sentence(document: bytes) -> None:
    with pytest.raises(WriteError, match=r"^x\.musicxml: "):
        with_fields("x.musicxml", document, FIELDS)
