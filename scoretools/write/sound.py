"""Drills and hard bars to listen to, slowly, over the open string that checks them: MIDI.

Conventions: two parts, the music and the drone. Every exercise is heard twice with a bar of rest
after it, at the tempo its drill begins with. Trills, slurs and dynamics are left out.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from music21 import chord, instrument, note, stream, tempo
from music21.midi.translate import streamToMidiFile

from scoretools.instrument import INSTRUMENTS
from scoretools.model import Analysis, Drill, DrillNote, Exercise, Pitch

__all__ = ["HARD_BARS", "bars_sound", "drills_sound"]

HARD_BARS = 8
"""Hardest bars that are heard."""

SLOWER = Fraction(1, 2)
"""Tempo of the hard bars, as a share of the piece's."""

_TIMES = 2
_REST_QL = Fraction(4)
_DRONE_VELOCITY = 45
_MUSIC_VELOCITY = 90


@dataclass(frozen=True, slots=True)
class _Stretch:
    """Some music over one drone."""

    sounds: tuple[tuple[Fraction, Fraction, tuple[int, ...]], ...]
    """Onset and length in quarter notes, and the MIDI numbers that sound together."""
    length_ql: Fraction
    """Length of the whole, quarter notes."""
    drone: int
    """MIDI number of the open string."""
    quarters_per_minute: float
    """Tempo."""


def drills_sound(analysis: Analysis) -> bytes:
    """Play every exercise of every drill, in order.

    Returns
    -------
    bytes
        A standard MIDI file; without a note where there is no drill.
    """
    return _midi(
        analysis,
        (
            _of_exercise(analysis, drill, one)
            for drill in analysis.drills
            for one in drill.exercises
        ),
    )


def bars_sound(analysis: Analysis) -> bytes:
    """Play the hardest bars in the order of the piece, at half of its tempo.

    Returns
    -------
    bytes
        A standard MIDI file; without a note where no bar loads the hand.
    """
    hardest = sorted(analysis.loads, key=lambda bar: (-bar.load, bar.measure))[:HARD_BARS]
    bars = sorted(bar.measure for bar in hardest if bar.load > 0)
    return _midi(analysis, (_of_bar(analysis, bar) for bar in bars))


# ── stretches ───────────────────────────────────────────────────────────────────────────────────


def _of_exercise(analysis: Analysis, drill: Drill, exercise: Exercise) -> _Stretch:
    sounds: list[tuple[Fraction, Fraction, tuple[int, ...]]] = []
    onset = Fraction(0)
    together: list[DrillNote] = []
    for one in exercise.notes:
        together.append(one)
        if not one.with_next:
            if not one.silent:
                midi = tuple(played.pitch.midi for played in together)
                sounds.append((onset, one.length_ql, midi))
            onset += one.length_ql
            together = []
    usual = Counter(one.length_ql for one in exercise.notes).most_common(1)[0][0]
    pitches = [one.pitch for one in exercise.notes]
    return _Stretch(
        tuple(sounds),
        onset,
        _drone(analysis, pitches, exercise.notes[0].stop.string),
        float(drill.start_per_minute * usual),
    )


def _of_bar(analysis: Analysis, measure: int) -> _Stretch:
    here = analysis.part.measures[measure]
    events = [event for event in analysis.part.events if event.measure == measure]
    sounds = tuple(
        (event.onset_ql - here.onset_ql, one.duration_ql, (one.pitch.midi,))
        for event in events
        for one in event.notes
        if one.duration_ql > 0
    )
    strings = [
        choice.stop.string for event in events for choice in analysis.steps[event.index].choices
    ]
    marks = [mark for mark in analysis.part.tempi if mark.onset_ql <= here.onset_ql]
    string = Counter(strings).most_common(1)[0][0] if strings else 0
    pitches = [one.pitch for event in events for one in event.notes]
    return _Stretch(
        sounds,
        here.duration_ql,
        _drone(analysis, pitches, string),
        marks[-1].quarters_per_minute * float(SLOWER),
    )


def _drone(analysis: Analysis, pitches: Sequence[Pitch], string: int) -> int:
    """The open string that checks most of these notes, else the one they lie on."""
    against = {check.pitch: check.against for drill in analysis.drills for check in drill.checks}
    often = Counter(against[one].midi for one in pitches if one in against)
    if often:
        return max(often, key=lambda midi: (often[midi], -midi))
    tuning = analysis.part.tuning or INSTRUMENTS[analysis.part.instrument]
    return tuning[string].midi


# ── MIDI ────────────────────────────────────────────────────────────────────────────────────────


def _midi(analysis: Analysis, stretches: Iterable[_Stretch]) -> bytes:
    viola = analysis.part.instrument == "viola"
    music, drone = stream.Part(), stream.Part()
    music.insert(0, instrument.Viola() if viola else instrument.Violin())
    drone.insert(0, instrument.StringInstrument())
    at = Fraction(0)
    for stretch in stretches:
        music.insert(at, tempo.MetronomeMark(number=stretch.quarters_per_minute))
        for _ in range(_TIMES):
            for onset, length, midi in stretch.sounds:
                music.insert(at + onset, _sound(midi, length, _MUSIC_VELOCITY))
            drone.insert(at, _sound((stretch.drone,), stretch.length_ql, _DRONE_VELOCITY))
            at += stretch.length_ql
        at += _REST_QL
    return bytes(streamToMidiFile(stream.Score([music, drone])).writestr())


def _sound(midi: tuple[int, ...], length_ql: Fraction, velocity: int) -> note.NotRest:
    sound = note.Note(midi[0]) if len(midi) == 1 else chord.Chord(list(midi))
    sound.quarterLength = length_ql
    sound.volume.velocity = velocity
    return sound
