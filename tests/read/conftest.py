"""Small scores for the tests of the reader."""

from collections.abc import Callable
from pathlib import Path

import pytest

from scoretools.model import Part
from scoretools.read import read_part

FIRST = (
    "<attributes><divisions>4</divisions><key><fifths>0</fifths></key>"
    "<time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
)


@pytest.fixture
def write(tmp_path: Path) -> Callable[..., Path]:
    """Write a file and return its path."""

    def write_(data: str | bytes, name: str = "score.musicxml") -> Path:
        path = tmp_path / name
        path.write_bytes(data.encode() if isinstance(data, str) else data)
        return path

    return write_


@pytest.fixture
def note() -> Callable[..., str]:
    """Return a ``note`` element; a quarter lasts 4."""

    def note_(name: str, duration: int = 4, *, voice: str = "1", **more: str) -> str:
        alter = {"#": 1, "b": -1}.get(name[1:2], 0)
        pitch = (
            "<rest/>"
            if name == "rest"
            else f"<pitch><step>{name[0]}</step><alter>{alter}</alter>"
            f"<octave>{name[-1]}</octave></pitch>"
        )
        ties = "".join(f'<tie type="{kind}"/>' for kind in more.get("tie", "").split())
        slurs = "".join(
            f'<slur type="{slur.rstrip("0123456789")}" number="{slur.lstrip("starop") or 1}"/>'
            for slur in more.get("slur", "").split()
        )
        technical = f"<technical>{more['technical']}</technical>" if "technical" in more else ""
        notations = f"<notations>{slurs}{technical}</notations>" if slurs or technical else ""
        return (
            f"<note>{more.get('first', '')}{pitch}"
            + ("" if "<grace" in more.get("first", "") else f"<duration>{duration}</duration>")
            + f"{ties}<voice>{voice}</voice>{more.get('last', '')}{notations}</note>"
        )

    return note_


@pytest.fixture
def document() -> Callable[..., str]:
    """Return a MusicXML document of one part, or of several given as lists of measures."""

    def document_(
        *measures: str, names: tuple[str, ...] = ("Violin",), parts: tuple[list[str], ...] = (),
        head: str = "", entry: str = "",
    ) -> str:  # fmt: skip
        every = parts or (list(measures),)
        listed = "".join(
            f'<score-part id="P{number}"><part-name>{name}</part-name>{entry}</score-part>'
            for number, name in enumerate(names, 1)
        )
        bodies = "".join(
            f'<part id="P{number}">{"".join(map(_measure, enumerate(bars, 1)))}</part>'
            for number, bars in enumerate(every, 1)
        )
        return (
            f'<?xml version="1.0"?><score-partwise version="4.0">{head}'
            f"<part-list>{listed}</part-list>{bodies}</score-partwise>"
        )

    return document_


def _measure(numbered: tuple[int, str]) -> str:
    number, content = numbered
    if content.startswith("<measure"):
        return content
    return f'<measure number="{number}">{FIRST if number == 1 else ""}{content}</measure>'


@pytest.fixture
def read(document: Callable[..., str], write: Callable[..., Path]) -> Callable[..., Part]:
    """Read a small score given by its measures."""

    def read_(*measures: str, part: str | int | None = None, **more: object) -> Part:
        return read_part(write(document(*measures, **more)), part)

    return read_


@pytest.fixture
def words() -> Callable[..., str]:
    """Return a ``direction`` with words, with attributes of these and more in it."""

    def words_(text: str, *, more: str = "", **attributes: str) -> str:
        given = "".join(
            f' {name.replace("_", "-")}="{value}"' for name, value in attributes.items()
        )
        said = f"<direction-type><words{given}>{text}</words></direction-type>"
        return f"<direction>{said}{more}</direction>"

    return words_


@pytest.fixture
def line() -> Callable[..., str]:
    """Return a ``direction-type`` with one end of a line."""

    def line_(kind: str, number: int = 1, tag: str = "dashes") -> str:
        return f'<direction-type><{tag} type="{kind}" number="{number}"/></direction-type>'

    return line_


@pytest.fixture
def end(line: Callable[..., str]) -> Callable[..., str]:
    """Return a ``direction`` that ends a line."""

    def end_(number: int = 1, tag: str = "dashes") -> str:
        return f"<direction>{line('stop', number, tag)}</direction>"

    return end_


@pytest.fixture
def four(note: Callable[..., str]) -> Callable[..., str]:
    """Return a bar of four quarters, with something before some of them."""

    def four_(name: str = "A4", **before: str) -> str:
        return "".join(before.get(f"at{beat}", "") + note(name) for beat in range(1, 5))

    return four_


@pytest.fixture
def told() -> Callable[[Part], list[str]]:
    """Return the messages of a part."""
    return lambda part: [notice.message for notice in part.notices]
