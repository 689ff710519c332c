"""What test modules share: small scores written as text, and what the program says about them.

A small score is a row of words, one for each note or chord, laid into bars of 4/4:

``D5``, ``F#4``, ``Bb3``, ``r``
    a pitch as it sounds, or a rest;
``D5:3``, ``D5:0``, ``D5@1``, ``D5:4@2``
    a printed finger (0 = open string), a printed string (1 = highest), or both;
``D5*1/2``, ``r*2``
    a length in quarters, 1 where none is given;
``D4+B4``
    notes struck together;
``(D5``, ``E5)``
    the first and the last note of a slur.
"""

import os
import re
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import pandas as pd
import pytest
from lxml import etree
from typer.testing import CliRunner

import scoretools
from scoretools.cli.main import app
from scoretools.model import Analysis, Part
from scoretools.player import Player

DIVISIONS = 12
_WORD = re.compile(r"(\()?([A-G])(#*|b*)(-?\d)(?::(\d))?(?:@(\d))?(?:\*([\d/]+))?(\))?")


def score_text(
    instrument: str, words: str, fifths: int = 0, mode: str = "major", tempo: int | None = None
) -> str:
    """Write a small score as MusicXML; see the head of this module for the words."""
    bars: list[str] = []
    filled, bar = Fraction(0), ""
    for word in words.split():
        bar += _event_text(word)
        filled += _quarters(word)
        if filled >= 4:
            bars.append(bar)
            filled, bar = Fraction(0), ""
    if bar:
        bars.append(bar + _rest_text(4 - filled))
    head = _attributes_text(fifths, mode) + _tempo_text(tempo)
    measures = "".join(
        f'<measure number="{number}">{"" if number > 1 else head}{bar}</measure>'
        for number, bar in enumerate(bars, start=1)
    )
    return (
        '<?xml version="1.0" encoding="UTF-8"?><score-partwise version="4.0"><part-list>'
        f'<score-part id="P1"><part-name>{instrument.capitalize()}</part-name></score-part>'
        f'</part-list><part id="P1">{measures}</part></score-partwise>'
    )


def _attributes_text(fifths: int, mode: str) -> str:
    return (
        f"<attributes><divisions>{DIVISIONS}</divisions>"
        f"<key><fifths>{fifths}</fifths><mode>{mode}</mode></key>"
        "<time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
    )


def _tempo_text(tempo: int | None) -> str:
    if tempo is None:
        return ""
    return (
        "<direction><direction-type><metronome><beat-unit>quarter</beat-unit>"
        f"<per-minute>{tempo}</per-minute></metronome></direction-type></direction>"
    )


def _quarters(word: str) -> Fraction:
    length = re.search(r"\*([\d/]+)", word)
    return Fraction(length.group(1)) if length else Fraction(1)


def _rest_text(quarters: Fraction) -> str:
    return f"<note><rest/><duration>{int(quarters * DIVISIONS)}</duration><voice>1</voice></note>"


def _event_text(word: str) -> str:
    if word.startswith("r"):
        return _rest_text(_quarters(word))
    return "".join(
        _note_text(single, _quarters(word), chord=bool(place))
        for place, single in enumerate(word.split("+"))
    )


def _note_text(word: str, quarters: Fraction, chord: bool) -> str:
    read = _WORD.fullmatch(word)
    if read is None:
        raise ValueError(f"{word!r} is no note")
    begins, step, accidentals, octave, finger, string, _, ends = read.groups()
    alter = accidentals.count("#") - accidentals.count("b")
    technical = ""
    if finger == "0":
        technical += "<open-string/>"
    elif finger:
        technical += f"<fingering>{finger}</fingering>"
    technical += f"<string>{string}</string>" if string else ""
    notations = '<slur type="stop"/>' if ends else ""
    notations += '<slur type="start"/>' if begins else ""
    notations += f"<technical>{technical}</technical>" if technical else ""
    return (
        f"<note>{'<chord/>' if chord else ''}<pitch><step>{step}</step>"
        f"{f'<alter>{alter}</alter>' if alter else ''}<octave>{octave}</octave></pitch>"
        f"<duration>{int(quarters * DIVISIONS)}</duration><voice>1</voice>"
        f"{f'<notations>{notations}</notations>' if notations else ''}</note>"
    )


NUMBERS = ("finger", "offset", "position", "first_offset", "margin", "printed_string", "passage")


def read_notes(path: Path) -> pd.DataFrame:
    """Read a ``notes.csv``: an empty number is NaN, an empty text stays empty."""
    return pd.read_csv(path, keep_default_na=False, na_values={name: [""] for name in NUMBERS})


ReadPart = Callable[..., Part]
Analyse = Callable[..., Analysis]
Report = Callable[..., pd.DataFrame]


@pytest.fixture
def small_part(tmp_path: Path) -> ReadPart:
    """Read a small score: ``small_part("violin", "A4 B4 C#5", fifths=3)``."""

    def read(instrument: str, words: str, **score: object) -> Part:
        path = tmp_path / "small.musicxml"
        path.write_text(score_text(instrument, words, **score), encoding="utf-8")
        return scoretools.read_part(path)

    return read


@pytest.fixture
def small_analysis(small_part: ReadPart) -> Analyse:
    """Analyse a small score for a player: ``small_analysis("violin", "A4 B4", player=…)``."""

    def analyse(
        instrument: str, words: str, player: Player | None = None, **score: object
    ) -> Analysis:
        return scoretools.analyse(small_part(instrument, words, **score), player)

    return analyse


@pytest.fixture
def reported_notes(tmp_path: Path) -> Report:
    """Run the report command on a small score and read its ``notes.csv``.

    Options of the command follow the words: ``reported_notes("violin", "A4", "--profile", …)``.
    """

    def run(instrument: str, words: str, *options: str, **score: object) -> pd.DataFrame:
        path, out = tmp_path / "small.musicxml", tmp_path / "report"
        path.write_text(score_text(instrument, words, **score), encoding="utf-8")
        result = CliRunner().invoke(app, ["report", str(path), "--out", str(out), *options])
        assert result.exit_code == 0, result.output or result.exception
        return read_notes(out / "notes.csv")

    return run


@pytest.fixture(scope="session")
def schema() -> etree.XMLSchema:
    """The schema of MusicXML 4.0, everything it imports taken from its own folder."""
    check_data = os.environ.get("SCORETOOLS_CHECK_DATA")
    if not check_data:
        pytest.skip("SCORETOOLS_CHECK_DATA is not set: there is no schema to check against")
    folder = Path(check_data) / "schema"
    text = (folder / "musicxml.xsd").read_text("utf-8")
    local = re.sub(
        r'schemaLocation="[^"]*/(xml|xlink)\.xsd"',
        lambda found: f'schemaLocation="{(folder / found[1]).as_uri()}.xsd"',
        text,
    )
    return etree.XMLSchema(etree.fromstring(local.encode("utf-8"), base_url=str(folder)))
