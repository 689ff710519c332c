"""A form written out: which notes, under which fingers, and what they are checked against."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from scoretools.drills.forms import Form
from scoretools.instrument import Instrument
from scoretools.model import (
    Check,
    Demand,
    DemandKind,
    DrillNote,
    Event,
    Finger,
    Key,
    Offset,
    Pitch,
    PositionNumber,
    Shape,
    Stop,
    StringIndex,
)
from scoretools.shapes import letter_under, spell_stop

__all__ = ["Spelling", "checks", "realise", "spelling_of"]

Spelling = Mapping[int, Pitch]
"""How a part spells a pitch, by MIDI number."""


def spelling_of(events: Sequence[Event], measures: Iterable[int]) -> Spelling:
    """Read off how some bars of a part spell their pitches; the commonest spelling counts."""
    wanted = set(measures)
    heard = Counter(
        note.pitch for event in events if event.measure in wanted for note in event.notes
    )
    return {pitch.midi: pitch for pitch, _ in reversed(heard.most_common())}


def realise(
    instrument: Instrument, demand: Demand, form: Form, spelling: Spelling, key: Key
) -> tuple[DrillNote, ...]:
    """Write out a form for a demand.

    Parameters
    ----------
    spelling
        Spellings of the bars the demand stands in; other notes take the letter under the finger.
    key
        Key signature, in which a guide note lies.

    Returns
    -------
    tuple of DrillNote
        Empty where the demand has no note for one of the tokens (no fourth place in the shape, no
        half step below the first place of the string …).
    """
    vocabulary = _vocabulary(instrument, demand, key)
    if not all(token in vocabulary for token in form.tokens):
        return ()
    return tuple(
        DrillNote(
            pitch=_spelled(instrument, stop, position, spelling),
            stop=stop,
            with_next=place < len(stops) - 1,
        )
        for stops, position in (vocabulary[token] for token in form.tokens)
        for place, stop in enumerate(stops)
    )


def _spelled(
    instrument: Instrument, stop: Stop, position: PositionNumber, spelling: Spelling
) -> Pitch:
    string = instrument.strings[stop.string]
    return spelling.get(string.midi + stop.offset) or spell_stop(string, position, stop)


_Meaning = tuple[tuple[Stop, ...], PositionNumber]


def _vocabulary(instrument: Instrument, demand: Demand, key: Key) -> dict[str, _Meaning]:
    """What each token means for this demand; a token without meaning is left out."""
    words: dict[str, _Meaning] = {}
    here = demand.position
    if demand.shape:
        words |= {str(s.finger): ((s,), here) for s in _stops_of(demand.shape)}
        words["0"] = ((Stop(demand.string, Finger(0), Offset(0)),), here)
    stops = demand.stops
    if demand.kind in (DemandKind.SHAPE_CHANGE, DemandKind.CHROMATIC_SLIDE):
        words |= {"old": ((stops[0],), here), "new": ((stops[1],), here)}
        beside = str(stops[1].finger - 1 if stops[1].finger > 1 else 2)
        words |= {"beside": words[beside]} if beside in words else {}
    elif demand.kind in (DemandKind.REACH_BACK, DemandKind.EXTENSION):
        settled = "4" if stops[0].finger == 1 else "1"
        words["stretched"] = ((stops[0],), here)
        words |= {"settled": words[settled]} if settled in words else {}
    elif demand.kind is DemandKind.AUGMENTED_SECOND:
        words |= {"low": ((stops[0],), here), "high": ((stops[1],), here)}
    elif demand.kind is DemandKind.SHIFT and demand.from_position is not None:
        words |= _words_of_shift(instrument, demand, demand.from_position, key)
    elif demand.kind is DemandKind.DOUBLE_STOP:
        words |= {"lower": ((stops[0],), here), "upper": ((stops[1],), here)}
        words["both"] = (stops, here)
    elif demand.kind is DemandKind.CHORD:
        words |= {"pair below": (stops[:2], here), "pair above": (stops[-2:], here)}
        words["all"] = (stops, here)
    return words


def _stops_of(shape: Shape) -> Iterator[Stop]:
    """Places of the four fingers, as far as they lie in order."""
    if min(shape.gaps) >= 1 and shape.first_offset >= 1:
        for finger, offset in enumerate(shape.offsets, start=1):
            yield Stop(shape.string, Finger(finger), offset)


def _guide(instrument: Instrument, demand: Demand, key: Key) -> Stop:
    """Where the departing finger arrives: on the note of the key under it, or on the arrival."""
    departure, arrival = demand.stops
    if departure.finger == arrival.finger:
        return arrival
    string = instrument.strings[departure.string]
    octave, step = divmod(letter_under(string, demand.position, departure.finger), 7)
    pitch = Pitch("CDEFGAB"[step], key.alters[step], octave)
    return replace(departure, offset=Offset(pitch.midi - string.midi))


def _words_of_shift(
    instrument: Instrument, demand: Demand, left: PositionNumber, key: Key
) -> dict[str, _Meaning]:
    departure, arrival = demand.stops
    words: dict[str, _Meaning] = {"from": ((departure,), left)}
    if departure.finger != arrival.finger or departure.string != arrival.string:
        words["to"] = ((arrival,), demand.position)
    if departure.string != arrival.string:
        return words  # the hand travels with the bow; a slide on the string left behind is no help
    guide = _guide(instrument, demand, key)
    step = 1 if demand.travel > 0 else -1
    near = replace(departure, offset=Offset(departure.offset + step))
    if guide.offset >= 1:
        words["guide"] = ((guide,), demand.position)
    if near.offset >= 1:
        # One position on, the finger takes the neighbouring letter: D–C-sharp, not D–D-flat.
        words["near"] = ((near,), PositionNumber(max(0, left + step)))
    return words


# ── checks ──────────────────────────────────────────────────────────────────────────────────────

_CHECKS = (
    (0, 0, "unison"),
    (12, 7, "octave"),
    (-12, -7, "octave"),
    (-5, -3, "fourth"),
    (9, 5, "sixth"),
)
"""Semitones and letters above a neighbouring open string, and the interval; the surest first."""


def checks(instrument: Instrument, notes: Iterable[DrillNote]) -> tuple[Check, ...]:
    """List the stopped notes that can be tested against a neighbouring open string.

    A unison, an octave or a fourth goes before a sixth, and only one check is named for a note:
    a note tuned to two checks at once is a comma apart.
    """
    stopped = {note for note in notes if note.stop.finger}
    in_order = sorted(stopped, key=lambda note: (note.stop.string, note.stop.offset))
    found = (_check(instrument, note.stop.string, note.pitch) for note in in_order)
    return tuple(dict.fromkeys(check for check in found if check is not None))


def _check(instrument: Instrument, string: StringIndex, pitch: Pitch) -> Check | None:
    neighbours = [
        instrument.strings[near]
        for near in (string + 1, string - 1)
        if 0 <= near < len(instrument.strings)
    ]
    for semitones, letters, interval in _CHECKS:
        for against in neighbours:
            if (pitch.midi - against.midi, pitch.letter - against.letter) == (semitones, letters):
                return Check(pitch, against, interval)
    return None
