"""Scales in first position from unmarked scores: the fingers every method teaches.

Each row gives a tonic and the way up, string by string. Common practice, no published source:

* going up, every open string that belongs to the scale is played open;
* where a scale turns back on the note of an open string, the fourth finger of the string below
  serves as well, and saves a crossing for one note;
* coming down, beginners play the open string and later players the fourth finger of the string
  below: both are taught;
* a letter keeps its finger whatever its accidental (low and high second finger and so on), so that
  the note of an open string lowered is the fourth finger of the string below. Raised, it is that
  finger stretched, or the first finger close to the nut: both are taught.

The viola's scales are the violin's a fifth lower, on strings of the same number.
"""

from collections.abc import Sequence

import pytest
from music21.interval import Interval
from music21.key import Key
from music21.pitch import Pitch
from music21.scale import (
    ConcreteScale,
    HarmonicMinorScale,
    MajorScale,
    MelodicMinorScale,
    MinorScale,
)

import scoretools
from scoretools.player import Player, Profile
from tests.conftest import ReadPart

KINDS: dict[str, type[ConcreteScale]] = {
    "major": MajorScale,
    "natural minor": MinorScale,
    "harmonic minor": HarmonicMinorScale,
    "melodic minor": MelodicMinorScale,
}

# Common practice, no published source. ``D4|A1`` leaves the choice between two that are taught.
ONE_OCTAVE = [
    ("major", "G3", "G0 G1 G2 G3 D0 D1 D2 D3"),
    ("major", "Ab3", "G1 G2 G3 G4 D1 D2 D3 D4"),
    ("major", "A3", "G1 G2 G3 D0 D1 D2 D3 A0"),
    ("major", "Bb3", "G2 G3 D0 D1 D2 D3 A0 A1"),
    ("major", "C4", "G3 D0 D1 D2 D3 A0 A1 A2"),
    ("major", "D4", "D0 D1 D2 D3 A0 A1 A2 A3"),
    ("major", "Eb4", "D1 D2 D3 D4 A1 A2 A3 A4"),
    ("major", "E4", "D1 D2 D3 A0 A1 A2 A3 E0"),
    ("major", "F4", "D2 D3 A0 A1 A2 A3 E0 E1"),
    ("major", "G4", "D3 A0 A1 A2 A3 E0 E1 E2"),
    ("major", "A4", "A0 A1 A2 A3 E0 E1 E2 E3"),
    ("major", "Bb4", "A1 A2 A3 A4 E1 E2 E3 E4"),
    ("natural minor", "G3", "G0 G1 G2 G3 D0 D1 D2 D3"),
    ("harmonic minor", "G3", "G0 G1 G2 G3 D0 D1 D2 D3"),
    ("melodic minor", "G3", "G0 G1 G2 G3 D0 D1 D2 D3"),
    ("natural minor", "A3", "G1 G2 G3 D0 D1 D2 D3 A0"),
    ("harmonic minor", "A3", "G1 G2 G3 D0 D1 D2 D3 A0"),
    ("melodic minor", "A3", "G1 G2 G3 D0 D1 D2 D3 A0"),
    ("natural minor", "Bb3", "G2 G3 G4 D1 D2 D3 D4 A1"),
    ("natural minor", "B3", "G2 G3 D0 D1 D2 D3 A0 A1"),
    ("harmonic minor", "B3", "G2 G3 D0 D1 D2 D3 D4|A1 A1"),
    ("melodic minor", "B3", "G2 G3 D0 D1 D2 D3 D4|A1 A1"),
    ("natural minor", "C4", "G3 D0 D1 D2 D3 D4 A1 A2"),
    ("harmonic minor", "C4", "G3 D0 D1 D2 D3 D4 A1 A2"),
    ("melodic minor", "C4", "G3 D0 D1 D2 D3 A0 A1 A2"),
    ("natural minor", "D4", "D0 D1 D2 D3 A0 A1 A2 A3"),
    ("harmonic minor", "D4", "D0 D1 D2 D3 A0 A1 A2 A3"),
    ("melodic minor", "D4", "D0 D1 D2 D3 A0 A1 A2 A3"),
    ("natural minor", "E4", "D1 D2 D3 A0 A1 A2 A3 E0"),
    ("harmonic minor", "E4", "D1 D2 D3 A0 A1 A2 A3 E0"),
    ("melodic minor", "E4", "D1 D2 D3 A0 A1 A2 A3 E0"),
    ("natural minor", "F4", "D2 D3 D4 A1 A2 A3 A4 E1"),
    ("harmonic minor", "F4", "D2 D3 D4 A1 A2 A3 E0|A4 E1"),
    ("natural minor", "F#4", "D2 D3 A0 A1 A2 A3 E0 E1"),
    ("harmonic minor", "F#4", "D2 D3 A0 A1 A2 A3 A4|E1 E1"),
    ("natural minor", "A4", "A0 A1 A2 A3 E0 E1 E2 E3"),
    ("harmonic minor", "A4", "A0 A1 A2 A3 E0 E1 E2 E3"),
    ("melodic minor", "A4", "A0 A1 A2 A3 E0 E1 E2 E3"),
]
TWO_OCTAVES = [
    ("major", "G3", "G0 G1 G2 G3 D0 D1 D2 D3 A0 A1 A2 A3 E0 E1 E2"),
    ("major", "Ab3", "G1 G2 G3 G4 D1 D2 D3 D4 A1 A2 A3 A4 E1 E2 E3"),
    ("major", "A3", "G1 G2 G3 D0 D1 D2 D3 A0 A1 A2 A3 E0 E1 E2 E3"),
    ("major", "Bb3", "G2 G3 D0 D1 D2 D3 A0 A1 A2 A3 A4 E1 E2 E3 E4"),
    ("natural minor", "G3", "G0 G1 G2 G3 D0 D1 D2 D3 A0 A1 A2 A3 A4 E1 E2"),
    ("harmonic minor", "G3", "G0 G1 G2 G3 D0 D1 D2 D3 A0 A1 A2 A3 A4 E1 E2"),
    ("melodic minor", "G3", "G0 G1 G2 G3 D0 D1 D2 D3 A0 A1 A2 A3 E0 E1 E2"),
    ("natural minor", "A3", "G1 G2 G3 D0 D1 D2 D3 A0 A1 A2 A3 E0 E1 E2 E3"),
    ("harmonic minor", "A3", "G1 G2 G3 D0 D1 D2 D3 A0 A1 A2 A3 E0 E1 E2 E3"),
    ("melodic minor", "A3", "G1 G2 G3 D0 D1 D2 D3 A0 A1 A2 A3 E0 E1 E2 E3"),
    ("natural minor", "B3", "G2 G3 D0 D1 D2 D3 A0 A1 A2 A3 E0 E1 E2 E3 E4"),
]
SCALES = [
    pytest.param(kind, tonic, fingers, id=f"{tonic} {kind} {octaves}")
    for octaves, table in (("one octave", ONE_OCTAVE), ("two octaves", TWO_OCTAVES))
    for kind, tonic, fingers in table
]
PLAYERS = [
    Player(profile=Profile.FIRST_POSITION_STUDENT),
    Player(profile=Profile.DEVELOPING_PLAYER),
]
OPEN = {"C": "C3", "G": "G3", "D": "D4", "A": "A4", "E": "E5"}
BELOW = {"E": "A", "A": "D", "D": "G", "G": "C"}


@pytest.mark.parametrize("player", PLAYERS, ids=lambda player: player.profile)
@pytest.mark.parametrize("instrument", ["violin", "viola"])
@pytest.mark.parametrize(("kind", "tonic", "fingers"), SCALES)
def test_scale_up_and_down(
    kind: str, tonic: str, fingers: str, instrument: str, player: Player, small_part: ReadPart
) -> None:
    up, down, fifths = _pitches(kind, tonic, fingers, instrument)
    words = " ".join(_word(pitch) for pitch in (*up, *down))
    mode = "major" if kind == "major" else "minor"
    analysis = scoretools.analyse(small_part(instrument, words, fifths=fifths, mode=mode), player)
    assert analysis.ceiling == 1
    notes = scoretools.notes_table(analysis)
    found = [f"{row.string}{row.finger}" for row in notes.itertuples()]
    # A sharpened open string (A# on the A string) is the first finger's, in half position.
    drawn_back = (notes.position == 0.5) & (notes.finger == 1)
    assert ((notes.position == 1) | notes.position.isna() | drawn_back).all()
    allowed = [*_going_up(fingers), *_coming_down(kind, tonic, fingers)]
    if instrument == "viola":
        allowed = [{BELOW[place[0]] + place[1] for place in places} for places in allowed]
    for place, (one, several) in enumerate(zip(found, allowed, strict=True)):
        assert one in several, f"note {place + 1}: {one} in {' '.join(found)}"


# Source: music21, the interval of every note above the open string; the finger is the number of
# letters, the open string's own letter raised or lowered aside.
@pytest.mark.parametrize(("kind", "tonic", "fingers"), SCALES)
def test_the_table_follows_the_letters(kind: str, tonic: str, fingers: str) -> None:
    up, _, _ = _pitches(kind, tonic, fingers, "violin")
    for pitch, places in zip(up, fingers.split(), strict=True):
        for place in places.split("|"):
            above = Interval(Pitch(OPEN[place[0]]), pitch)
            letters = above.generic.undirected - 1
            assert letters == int(place[1]) or (letters, place[1]) == (0, "1")
            assert 0 <= above.semitones <= 8


# ── helpers ─────────────────────────────────────────────────────────────────────────────────────


def _going_up(fingers: str) -> list[set[str]]:
    allowed = [set(places.split("|")) for places in fingers.split()]
    allowed[-1] |= _fourth_for_open(allowed[-1])
    return allowed


def _coming_down(kind: str, tonic: str, fingers: str) -> list[set[str]]:
    """From the note below the top one: as the way up, with the fourth finger for open strings."""
    if kind == "melodic minor":
        fingers = _row("natural minor", tonic, len(fingers.split()))
    allowed = [set(places.split("|")) for places in fingers.split()[-2::-1]]
    return [places | _fourth_for_open(places) for places in allowed]


def _row(kind: str, tonic: str, size: int) -> str:
    for one_kind, one_tonic, fingers in (*ONE_OCTAVE, *TWO_OCTAVES):
        if (one_kind, one_tonic, len(fingers.split())) == (kind, tonic, size):
            return fingers
    raise LookupError(f"{tonic} {kind}")


def _fourth_for_open(places: set[str]) -> set[str]:
    return {BELOW[place[0]] + "4" for place in places if place[1] == "0" and place[0] != "G"}


def _pitches(
    kind: str, tonic: str, fingers: str, instrument: str
) -> tuple[Sequence[Pitch], Sequence[Pitch], int]:
    """Notes up, notes down from the one below the top, and the sharps of the signature."""
    first = Pitch(tonic.replace("b", "-"))
    if instrument == "viola":
        first = first.transpose("-P5")
    last = first.transpose(f"P{len(fingers.split())}")
    up = KINDS[kind](first.name).getPitches(first, last)
    back = MinorScale if kind == "melodic minor" else KINDS[kind]
    down = back(first.name).getPitches(first, last)[-2::-1]
    signature = Key(first.name, "major" if kind == "major" else "minor")
    return up, down, signature.sharps


def _word(pitch: Pitch) -> str:
    return pitch.nameWithOctave.replace("-", "b")
