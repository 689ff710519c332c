"""Damaged scores are read as far as they go or refused in one sentence; nothing else escapes."""

import importlib.util
import random
from pathlib import Path

import pytest
from lxml import etree

from scoretools.errors import ScoretoolsError
from scoretools.read import read_part
from scoretools.read.document import document as parsed
from scoretools.read.musicxml import part_of

TEXTS = ("", "x", "-1", "0", "99999999999999999999", "1e99", "0.5", "\N{SNOWMAN}", "7", "+")


@pytest.fixture
def score(document, note):
    """A score with a little of everything."""
    marks = "<fingering>2</fingering><string>3</string><harmonic><natural/></harmonic>"
    metronome = (
        "<direction><direction-type><metronome><beat-unit>quarter</beat-unit><beat-unit-dot/>"
        "<per-minute>60</per-minute></metronome><rehearsal>A</rehearsal></direction-type>"
        '<offset sound="yes">1</offset><sound tempo="66"/></direction>'
    )
    transpose = (
        "<attributes><key><key-step>F</key-step><key-alter>1</key-alter></key><transpose>"
        "<diatonic>1</diatonic><chromatic>2</chromatic><octave-change>1</octave-change></transpose>"
        '<staff-details><staff-tuning line="1"><tuning-step>G</tuning-step>'
        "<tuning-octave>3</tuning-octave></staff-tuning></staff-details></attributes>"
    )
    back = "<backup><duration>16</duration></backup>"
    bars = [
        transpose + metronome + note("A4", 8, slur="start") + note("B4", 8, slur="stop") + back
        + note("D4", 16, voice="2", tie="start", technical=marks),
        note("D4", 4, voice="2", tie="stop") + note("C5", first="<grace/>", slur="start")
        + note("D5", 4, slur="stop") + note("A4", 4) + note("F4", 4, first="<chord/>")
        + "<forward><duration>4</duration></forward>"
        + '<barline location="right"><bar-style>light-heavy</bar-style></barline>',
        '<measure number="1" implicit="yes">' + note("A4", 4) + "</measure>",
    ]  # fmt: skip
    other = [metronome + note("rest", 16), note("rest", 16), note("rest", 4)]
    return document(
        names=("Violin", "Viola"), parts=(bars, other), head="<movement-number>1</movement-number>"
    )


def outcome(read):
    """Return what was read or the sentence of the refusal."""
    try:
        return read()
    except ScoretoolsError as refusal:
        return str(refusal)


@pytest.mark.parametrize("seed", range(8))
def test_damaged_bytes(score, write, seed):
    rng = random.Random(seed)
    data = score.encode()
    for _ in range(40):
        damaged = bytearray(data)
        for _ in range(rng.randint(1, 4)):
            at = rng.randrange(len(damaged))
            if rng.random() < 0.5:
                damaged[at] = rng.randrange(256)
            else:
                del damaged[at : at + rng.randint(1, 40)]
        path = write(bytes(damaged))
        said = outcome(lambda path=path: read_part(path, 1))
        assert said
        assert not isinstance(said, str) or "\n" not in said


@pytest.mark.parametrize("seed", range(8))
def test_damaged_elements(score, seed):
    rng = random.Random(seed)
    for _ in range(60):
        root = parsed("s.xml", score.encode())
        for _ in range(rng.randint(1, 6)):
            element = rng.choice([e for e in root.iter() if e is not root])
            change = rng.randrange(4)
            if change == 0:
                element.getparent().remove(element)
            elif change == 1:
                element.text = rng.choice(TEXTS)
            elif change == 2 and element.attrib:
                element.set(rng.choice(list(element.attrib)), rng.choice(TEXTS))
            else:
                element.addnext(etree.fromstring(etree.tostring(element, with_tail=False)))
        for part in (None, 1, 2, "viola"):
            said = outcome(lambda root=root, part=part: part_of("s.xml", root, part))
            assert not isinstance(said, str) or (said.startswith("s.xml: ") and "\n" not in said)


BENCHMARK = Path(__file__).resolve().parents[1] / "benchmarks" / "damage.py"


@pytest.mark.parametrize("first", range(0, 350, 70))
def test_cases_of_the_benchmark(score, tmp_path, first):
    spec = importlib.util.spec_from_file_location("damage", BENCHMARK)
    damage = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(damage)
    for case in range(first, first + 70):
        kind, data = damage.damaged_score([score.encode()], 2, case)
        path = tmp_path / "score.xml"
        path.write_bytes(data)
        assert damage.outcome(path) in ("read", "refused"), (case, kind)
