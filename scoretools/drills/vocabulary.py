"""What the tokens of a form mean for a demand (see `scoretools.drills.forms`)."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from scoretools.hand import FINGERS, FRAME, GAP_LETTERS
from scoretools.instrument import Instrument
from scoretools.model import (
    Demand,
    DemandKind,
    Finger,
    Key,
    Offset,
    Pitch,
    PositionNumber,
    Shape,
    Stop,
    StringIndex,
)
from scoretools.shapes import fits_the_frame, letter_under

__all__ = ["CARRIED_DOWN", "WIDEST_FRAME", "Sound", "moved", "vocabulary"]


WIDEST_FRAME = FRAME + 1
"""Semitones from the first finger to the fourth beyond which no drill sets both: pieces reach with
one finger after the other (common practice)."""

CARRIED_DOWN = PositionNumber(4)
"""Highest position that is carried to a lower string where the piece itself does not go: beyond it
the arm must come far round (common practice)."""


@dataclass(frozen=True, slots=True)
class Sound:
    """What one moment of an exercise asks of the hand."""

    stops: tuple[Stop, ...]
    """Stops that sound together, lowest string first."""
    position: PositionNumber
    """Where the hand is."""
    silent: bool = False
    """Whether the finger is set down without the bow."""
    by_letter: bool = False
    """Whether the letter its note is spelled with names the position: G-sharp by G, A-flat by A."""


Words = dict[str, tuple[Sound, ...]]


def vocabulary(
    instrument: Instrument, demand: Demand, key: Key, beside: Shape | None
) -> Mapping[str, tuple[Sound, ...]]:
    """Give the sounds of every token; a token without meaning here is left out.

    Parameters
    ----------
    key
        Key signature in force where the demand stands: a guide note and a scale lie in it.
    beside
        The shape the piece has on a neighbouring string at the same time, if any.
    """
    words: Words = {}
    if demand.shape:
        words |= _words_of_shape(instrument, demand.shape)
        words |= _words_of_close_fingers(demand.shape)
    if demand.before:
        words |= {f"before {token}": one for token, one in _fingers(demand.before).items()}
    if beside:
        words |= {f"{token}/": one for token, one in _fingers(beside).items()}
    words |= _words_of_kind(instrument, demand, key, words)
    scale = tuple(_scale(instrument, demand.position, key))
    return words | ({"scale": scale} if scale and _has(scale, demand.shape) else {})


def moved(instrument: Instrument, demand: Demand, string: StringIndex) -> Demand:
    """Carry a demand of one string to another: the same places of the same fingers."""
    if not 0 <= string < len(instrument.strings):
        raise ValueError(f"no string {string}")
    return replace(
        demand,
        string=string,
        shape=replace(demand.shape, string=string) if demand.shape else None,
        before=replace(demand.before, string=string) if demand.before else None,
        stops=tuple(replace(stop, string=string) for stop in demand.stops),
    )


# ── one hand shape ──────────────────────────────────────────────────────────────────────────────


def _fingers(shape: Shape) -> Words:
    """Fingers of a shape, as far as hand and string allow: known ones, others where they fit."""
    return {str(stop.finger): (Sound((stop,), shape.position),) for stop in _stops_of(shape)}


def _stops_of(shape: Shape) -> Iterator[Stop]:
    whole = fits_the_frame(shape)
    for finger, offset in zip(FINGERS, shape.offsets, strict=True):
        if offset >= 1 and (whole or finger in shape.known):
            yield Stop(shape.string, finger, offset)


def _words_of_shape(instrument: Instrument, shape: Shape) -> Words:
    words = _fingers(shape)
    words |= {f"~{token}": (replace(one[0], silent=True),) for token, one in words.items()}
    words["0"] = (Sound((Stop(shape.string, Finger(0), Offset(0)),), shape.position),)
    if not fits_the_frame(shape) and len(shape.known) < len(FINGERS):
        up = [words[str(finger)][0] for finger in shape.known if str(finger) in words]
        words["known"] = (*up, *up[-2::-1])
    if shape.string + 1 < len(instrument.strings):
        above = _fingers(replace(shape, string=StringIndex(shape.string + 1)))
        words |= {f"{token}^": one for token, one in above.items()}
        if sum(shape.gaps) == FRAME and {"1", "4^"} <= words.keys():
            octave = (*words["1"][0].stops, *words["4^"][0].stops)
            words["frame"] = (Sound(octave, shape.position),)
    return words


def _words_of_close_fingers(shape: Shape) -> Words:
    for lower, upper in pairwise(_stops_of(shape)):
        if upper.offset - lower.offset == 1:
            return {
                "low": (Sound((lower,), shape.position),),
                "high": (Sound((upper,), shape.position),),
            }
    return {}


# ── what the kind of demand adds ────────────────────────────────────────────────────────────────


def _words_of_kind(
    instrument: Instrument, demand: Demand, key: Key, words: Mapping[str, tuple[Sound, ...]]
) -> Words:
    stops, kind = demand.stops, demand.kind

    def at(*together: Stop) -> tuple[Sound, ...]:
        return (Sound(together, demand.position),)

    if kind in (DemandKind.SHAPE_CHANGE, DemandKind.CHROMATIC_SLIDE):
        return {"old": at(stops[0]), "new": at(stops[1])} | _finger_beside(stops, words)
    if kind in (DemandKind.REACH_BACK, DemandKind.EXTENSION):
        wide = demand.shape is not None and sum(demand.shape.gaps) > WIDEST_FRAME
        far_below, far_above = ("3", "2") if wide else ("1", "4")
        settled = words.get(far_above if stops[0].finger == 1 else far_below)
        return {"stretched": at(stops[0])} | ({"settled": settled} if settled else {})
    if kind is DemandKind.AUGMENTED_SECOND:
        return {"low": at(stops[0]), "high": at(stops[1])}
    if kind is DemandKind.SHIFT and demand.from_position is not None:
        return _words_of_shift(instrument, demand, demand.from_position, key)
    if kind is DemandKind.DOUBLE_STOP:
        return {"lower": at(stops[0]), "upper": at(stops[1]), "both": at(*stops)}
    if kind is DemandKind.CHORD:
        return {"pair below": at(*stops[:2]), "pair above": at(*stops[-2:]), "all": at(*stops)}
    return {}


def _finger_beside(stops: Sequence[Stop], words: Mapping[str, tuple[Sound, ...]]) -> Words:
    """The finger next to the one that changes, where it keeps clear of both its places."""
    finger, places = stops[1].finger, [stop.offset for stop in stops]
    beside = words.get(str(finger - 1 if finger > 1 else 2))
    if beside is None:
        return {}
    place = beside[0].stops[0].offset
    clear = place < min(places) if finger > 1 else place > max(places)
    return {"beside": beside} if clear else {}


def _words_of_shift(
    instrument: Instrument, demand: Demand, left: PositionNumber, key: Key
) -> Words:
    departure, arrival = demand.stops
    if abs(departure.string - arrival.string) > 1:
        return {}  # the bow leaves a string out, and what is left is no exercise for the hand
    words: Words = {"from": (Sound((departure,), left),)}
    if departure.finger != arrival.finger or departure.string != arrival.string:
        words["to"] = (Sound((arrival,), demand.position),)
    if departure.string != arrival.string:
        return words  # the hand travels with the bow; a slide on the string left behind is no help
    guide = _guide(instrument, demand, key)
    step = 1 if demand.travel > 0 else -1
    near = replace(departure, offset=Offset(departure.offset + step))
    if guide.offset >= 1:
        words["guide"] = (Sound((guide,), demand.position),)
    if near.offset >= 1:
        # One position on, the finger takes the neighbouring letter: D–C-sharp, not D–D-flat.
        words["near"] = (Sound((near,), PositionNumber(max(0, left + step)), by_letter=True),)
    return words


def _guide(instrument: Instrument, demand: Demand, key: Key) -> Stop:
    """Where the departing finger arrives: on the note of the key under it, or on the arrival."""
    departure, arrival = demand.stops
    if departure.finger == arrival.finger:
        return arrival
    string = instrument.strings[departure.string]
    return replace(departure, offset=_in_key(string, key, demand.position, departure.finger))


# ── scale ───────────────────────────────────────────────────────────────────────────────────────


def _scale(instrument: Instrument, position: PositionNumber, key: Key) -> Iterator[Sound]:
    """Go up through all strings in one position and back down.

    Nothing comes of it where the key has a note for which the hand would have to leave its frame.
    """
    if not 1 <= position <= CARRIED_DOWN:
        return
    up: list[Sound] = []
    for index, string in enumerate(instrument.strings):
        offsets = [_in_key(string, key, position, finger) for finger in FINGERS]
        gaps = [higher - lower for lower, higher in pairwise(offsets)]
        if offsets[0] < 1 or not all(gap in GAP_LETTERS for gap in gaps):
            return
        played = [Stop(StringIndex(index), finger, offset)
                  for finger, offset in zip(FINGERS, offsets, strict=True)]  # fmt: skip
        if position == 1 and key.alters["CDEFGAB".index(string.step)] == string.alter:
            last = index == len(instrument.strings) - 1
            played = [Stop(StringIndex(index), Finger(0), Offset(0)), *played[: 4 if last else 3]]
        up += [Sound((stop,), position) for stop in played]
    yield from up
    yield from reversed(up[:-1])


def _has(scale: Sequence[Sound], shape: Shape | None) -> bool:
    """Tell whether a scale has every finger of a shape that plays in the piece where it lies."""
    if shape is None:
        return True
    on_string = {
        stop.finger: stop.offset
        for sound in scale
        for stop in sound.stops
        if stop.string == shape.string
    }
    return all(on_string.get(f, shape.offsets[f - 1]) == shape.offsets[f - 1] for f in shape.known)


def _in_key(string: Pitch, key: Key, position: PositionNumber, finger: Finger) -> Offset:
    octave, step = divmod(letter_under(string, position, finger), 7)
    return Offset(Pitch("CDEFGAB"[step], key.alters[step], octave).midi - string.midi)
