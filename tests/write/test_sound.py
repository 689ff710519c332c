"""The drills and the hard bars as MIDI, read back with music21."""

from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from music21 import midi, stream

import scoretools
from scoretools.model import Analysis
from scoretools.player import Player
from scoretools.write.sound import HARD_BARS, bars_sound, drills_sound
from tests.conftest import Analyse

SAMPLES = sorted((Path(__file__).parents[2] / "sample_scores").glob("*.musicxml"))


@pytest.fixture(scope="module", params=SAMPLES, ids=lambda path: path.stem)
def sample(request: pytest.FixtureRequest) -> Analysis:
    return scoretools.analyse(scoretools.read_part(request.param))


def heard(data: bytes) -> list[list[tuple[int, int]]]:
    """For each track with notes: onset in ticks and MIDI number of every note struck."""
    file = midi.MidiFile()
    file.readstr(data)
    tracks = []
    for track in file.tracks:
        at, struck = 0, []
        for event in track.events:
            if event.isDeltaTime():
                at += event.time
            elif event.isNoteOn() and event.velocity:
                struck.append((at, event.pitch))
        if struck:
            tracks.append(struck)
    return tracks


# Source: music21's MIDI reader.
def test_every_note_of_every_exercise_is_heard_twice(sample: Analysis) -> None:
    music, drone = heard(drills_sound(sample))
    written = [
        note.pitch.midi
        for drill in sample.drills
        for exercise in drill.exercises
        for _ in range(2)
        for note in exercise.notes
        if not note.silent
    ]
    assert sorted(pitch for _, pitch in music) == sorted(written)
    assert len(drone) == 2 * sum(len(drill.exercises) for drill in sample.drills)


def test_the_drone_is_an_open_string(sample: Analysis) -> None:
    # Common practice, no published source: G3 D4 A4 E5, and C3 G3 D4 A4.
    opens = {"violin": {55, 62, 69, 76}, "viola": {48, 55, 62, 69}}[sample.part.instrument]
    for data in (drills_sound(sample), bars_sound(sample)):
        _, drone = heard(data)
        assert {pitch for _, pitch in drone} <= opens


def test_the_drone_is_the_string_that_checks_most(small_analysis: Analyse) -> None:
    # Common practice, no published source: D on the A string is an octave above the open D.
    analysis = small_analysis("violin", "B4 C5 D5 B4 D5 C5 B4 D5", player=Player())
    _, drone = heard(drills_sound(analysis))
    assert drone[0][1] in (62, 76)


def test_the_hardest_bars_are_heard_in_order_at_half_tempo(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "A4:0 B4 C#5 D5 D5 C#5 B4 A4:0", tempo=120)
    (music, _) = heard(bars_sound(analysis))
    assert [pitch for _, pitch in music] == [69, 71, 73, 74] * 2 + [74, 73, 71, 69] * 2
    file = midi.MidiFile()
    file.readstr(bars_sound(analysis))
    score = midi.translate.midiFileToStream(file)
    marks = [mark.number for mark in score.recurse().getElementsByClass("MetronomeMark")]
    assert set(marks) == {60}
    assert _longest(score) == Fraction(4)


def _longest(score: stream.Stream) -> Any:
    return max(Fraction(note.quarterLength) for note in score.recurse().notes)


def test_no_more_than_the_hardest_bars(sample: Analysis) -> None:
    _, drone = heard(bars_sound(sample))
    loaded = sum(bar.load > 0 for bar in sample.loads)
    assert len(drone) == 2 * min(HARD_BARS, loaded)


def test_the_same_drills_give_the_same_file(sample: Analysis) -> None:
    assert drills_sound(sample) == drills_sound(sample)
