"""How an exercise is spelled: letters, accidentals and key signature, as a musician would."""

from collections.abc import Iterable
from dataclasses import replace

from scoretools.instrument import Instrument
from scoretools.model import Key, Pitch, PositionNumber, Stop
from scoretools.stop_spelling import Spelling

__all__ = ["carried_spelling", "signature"]

_SHARPS = "FCGDAEB"
"""Letters in the order in which signatures sharpen them; flats come in reverse."""

_MOST = 7
"""Most sharps or flats of a signature."""


def carried_spelling(
    instrument: Instrument,
    spelling: Spelling,
    stops: Iterable[tuple[Stop, PositionNumber]],
    to: int,
) -> Spelling:
    """Spell stops on another string as on their own: every string up, a fifth higher.

    Parameters
    ----------
    stops
        Stops of one string, each with the position of the hand.
    to
        Index of the other string.
    """
    found: dict[int, Pitch] = {}
    for stop, position in stops:
        here, there = instrument.strings[stop.string], instrument.strings[to]
        pitch = spelling.pitch(instrument, stop, position)
        octave, step = divmod(pitch.letter + there.letter - here.letter, 7)
        plain = Pitch("CDEFGAB"[step], 0, octave)
        alter = pitch.midi + there.midi - here.midi - plain.midi
        if abs(alter) <= 1:
            found[plain.midi + alter] = Pitch(plain.step, alter, octave)
    return replace(spelling, here=found)


def signature(pitches: Iterable[Pitch], wanted: int) -> Key:
    """Choose the key signature that leaves least to accidentals.

    Parameters
    ----------
    pitches
        What is to be written.
    wanted
        Sharps (positive) or flats of the signature the piece has here; of signatures that serve
        about equally the one nearest to it is taken: each accidental counts like three steps along
        the circle of fifths.
    """
    notes = {(pitch.step, pitch.alter) for pitch in pitches}

    def price(fifths: int) -> tuple[int, int]:
        alters = _alters(fifths)
        outside = sum(alter != alters[step] for step, alter in notes)
        return 3 * outside + abs(fifths - wanted), abs(fifths)

    fifths = min(range(-_MOST, _MOST + 1), key=price)
    alters = _alters(fifths)
    c, d, e, f, g, a, b = (alters[step] for step in "CDEFGAB")
    return Key((c, d, e, f, g, a, b), fifths, None)


def _alters(fifths: int) -> dict[str, int]:
    sharp = set(_SHARPS[: max(fifths, 0)])
    flat = set(_SHARPS[::-1][: max(-fifths, 0)])
    return {step: (step in sharp) - (step in flat) for step in _SHARPS}
