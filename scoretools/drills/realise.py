"""A form written out: which notes, how long, under which fingers, in which key."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import cycle, pairwise

from scoretools.drills.forms import Form
from scoretools.drills.spelling import signature
from scoretools.drills.vocabulary import Sound
from scoretools.instrument import Instrument
from scoretools.model import DrillNote, Exercise, PositionNumber
from scoretools.stop_spelling import Spelling

__all__ = ["BEATS", "realise"]

BEATS = 4
"""Quarter notes in a bar of every exercise."""


def realise(
    instrument: Instrument,
    form: Form,
    words: Mapping[str, Sequence[Sound]],
    spelling: Spelling,
    wanted_fifths: int,
) -> Exercise | None:
    """Write out a form.

    Parameters
    ----------
    words
        What its tokens mean here (see `scoretools.drills.vocabulary`).
    spelling
        How the bars served spell their notes.
    wanted_fifths
        Sharps or flats of the key signature of the piece, moved with the string.

    Returns
    -------
    Exercise or None
        None where a token has no meaning (no fourth place in the shape, no half step below the
        first place of the string …).
    """
    if not all(token in words for token in form.tokens):
        return None
    sounds = [sound for token in form.tokens for sound in words[token]]
    lengths = _lengths(form.rhythm, len(sounds))
    notes = tuple(
        note
        for place, (sound, length) in enumerate(zip(sounds, lengths, strict=True))
        for note in _notes(instrument, form, sound, spelling, length, place)
    )
    key = signature((note.pitch for note in notes), wanted_fifths)
    return Exercise(form.name, form.how, key, BEATS, tuple(_with_fingers(form, notes)))


def _notes(
    instrument: Instrument,
    form: Form,
    sound: Sound,
    spelling: Spelling,
    length_ql: Fraction,
    place: int,
) -> Iterator[DrillNote]:
    accent = form.accent_every > 0 and place % form.accent_every == 0
    for number, stop in enumerate(sound.stops, start=1):
        pitch, position = spelling.pitch(instrument, stop, sound.position), sound.position
        if sound.by_letter:
            above = pitch.letter - instrument.strings[stop.string].letter
            position = PositionNumber(max(0, above - stop.finger + 1))
        yield DrillNote(
            pitch=pitch,
            stop=stop,
            position=position,
            length_ql=length_ql,
            with_next=number < len(sound.stops),
            silent=sound.silent,
            accent=accent,
        )


def _lengths(rhythm: Iterable[Fraction], count: int) -> list[Fraction]:
    """Lengths of so many sounds; the last one goes on to the end of its bar."""
    lengths = [length for length, _ in zip(cycle(rhythm), range(count), strict=False)]
    begun = sum(lengths[:-1], Fraction(0)) % BEATS
    return [*lengths[:-1], BEATS - begun]


# ── fingers to print ────────────────────────────────────────────────────────────────────────────


@dataclass(slots=True)
class _Known:
    """What the reader of an exercise knows so far."""

    fingers: dict[tuple[int, int, int], int] = field(default_factory=dict)
    """Finger by position, string and place."""
    places: dict[int, int] = field(default_factory=dict)
    """Where each finger was last, on whichever string."""

    def learn(self, note: DrillNote) -> None:
        """Take in a note."""
        self.fingers[note.position, note.stop.string, note.stop.offset] = note.stop.finger
        self.places[note.stop.finger] = note.stop.offset


def _with_fingers(form: Form, notes: Sequence[DrillNote]) -> Iterator[DrillNote]:
    """Print fingers where they cannot be guessed: the first note, what is new, what changes.

    The next finger on the next letter of the same string can be guessed, and so can a place that
    was played before with the same finger; not where the finger was last at another place, and
    nothing in half position, whose letters are another finger's in the position all know best.
    """
    known = _Known()
    for before, note in pairwise((None, *notes)):
        if note is not None:
            yield replace(note, show_finger=form.every_finger or not _guessed(known, before, note))
            known.learn(note)


def _guessed(known: _Known, before: DrillNote | None, note: DrillNote) -> bool:
    if before is None or note.with_next or before.with_next or before.position != note.position:
        return False
    stop = note.stop
    if stop.finger == 0:
        return True
    if before.stop.finger == 0 or note.position == 0:
        return False
    if known.places.get(stop.finger, stop.offset) != stop.offset:
        return False
    if known.fingers.get((note.position, stop.string, stop.offset)) == stop.finger:
        return True
    return (
        stop.string == before.stop.string
        and stop.finger - before.stop.finger == note.pitch.letter - before.pitch.letter
        and abs(stop.finger - before.stop.finger) == 1
    )
