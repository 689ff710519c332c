"""What a drill is called."""

from collections.abc import Iterable, Sequence

from scoretools.drills.exercises import Written
from scoretools.drills.groups import lead
from scoretools.hand import FINGERS, frame_name, gap_words
from scoretools.instrument import Instrument, ordinal, position_label, string_names, usual_home
from scoretools.model import Demand, DemandKind, PositionNumber, Shape
from scoretools.note_names import Wording, bare_name_of, joined, worded
from scoretools.shapes import fits_the_frame

__all__ = ["set_up_words", "title"]


def title(music: Written, served: Sequence[Demand]) -> str:
    """Name a drill by the demands it serves, heaviest first, in the spelling of their bars."""
    instrument, first = music.instrument, lead(served)
    if first.kind is DemandKind.SHIFT:
        return _of_shifts(served)
    if first.kind is DemandKind.CHORD:
        return f"Chords of {len(first.stops)} notes, {_fingers_of_chords(served)}"
    if first.kind is DemandKind.DOUBLE_STOP or first.shape is None:
        return _of_double_stops(instrument, served)
    if first.kind in (DemandKind.SHAPE_CHANGE, DemandKind.CHROMATIC_SLIDE):
        return _of_one_finger(music, served)
    string = string_names(instrument)[first.string]
    where = worded("on the {} string, {}", string, position_label(first.position))
    shape = worded("{}{} {}", first.gaps, set_up_words(instrument, first.shape), where)
    if first.kind is DemandKind.AUGMENTED_SECOND and "?" in first.gaps:
        return worded("Augmented second {} {}", first.detail, where)
    if first.kind is DemandKind.AUGMENTED_SECOND:
        return worded("{}: augmented second {}", shape, first.detail)
    if first.kind in _STRETCHES:
        details = (demand.detail for demand in served if demand.kind in _STRETCHES)
        return worded("{}: {}", shape, " and ".join(dict.fromkeys((first.detail, *details))))
    return worded("{} ({})", shape, _spacing(first.shape))


_STRETCHES = (DemandKind.REACH_BACK, DemandKind.EXTENSION)


def _spacing(shape: Shape) -> str:
    if len(shape.known) == len(FINGERS) or fits_the_frame(shape):
        return gap_words(shape.gaps)
    *fingers, last = map(str, shape.known)
    return f"only fingers {', '.join(fingers)} and {last}" if fingers else f"only finger {last}"


def _of_shifts(served: Sequence[Demand]) -> str:
    """Name the two positions and the fingers, the lower position first."""
    low, high = sorted((served[0].from_position or PositionNumber(0), served[0].position))
    start, end = position_label(low), position_label(high)
    start = start.removesuffix(" position") if low else start
    pairs = dict.fromkeys(_pair(demand, low) for demand in served)
    return f"Shifts between {start} and {end}, finger {', '.join(pairs)}"


def _pair(demand: Demand, low: PositionNumber) -> str:
    fingers = [str(stop.finger) for stop in demand.stops]
    across = demand.stops[0].string != demand.stops[1].string
    ordered = fingers if demand.from_position == low else fingers[::-1]
    return " to ".join(ordered) + (" across strings" if across else "")


def _of_one_finger(music: Written, served: Sequence[Demand]) -> str:
    first = served[0]
    names = string_names(music.instrument)
    places: dict[object, Wording] = {}
    for demand in served:
        if (there := frozenset(demand.stops)) not in places:
            places[there] = worded("{} on {}", _names(music, demand), names[demand.string])
    finger = ordinal(first.stops[0].finger)
    slides = all(demand.kind is DemandKind.CHROMATIC_SLIDE for demand in served)
    what = f"{finger} finger slides" if slides else f"{finger} finger in two places"
    where = position_label(first.position)
    return worded("{}, {}: {}", what, where, joined("; ", _first_of(places.values())))


def _first_of(places: Iterable[Wording]) -> list[Wording]:
    """Places of a title: all of four, else three and a word for the others."""
    named = list(places)
    return named if len(named) <= _NAMED else [*named[: _NAMED - 1], worded("and others")]


_NAMED = 4


def _names(music: Written, demand: Demand) -> str:
    spelling = music.spelling([demand])
    stops = sorted(demand.stops, key=lambda stop: stop.offset)
    notes = (spelling.pitch(music.instrument, stop, demand.position) for stop in stops)
    return joined(" and ", (bare_name_of(note) for note in notes))


def _of_double_stops(instrument: Instrument, served: Sequence[Demand]) -> str:
    lower, upper = served[0].stops
    where = ", ".join(dict.fromkeys(position_label(demand.position) for demand in served))
    if not (lower.finger and upper.finger):
        return f"Double stops with an open string, {where}"
    strings = instrument.strings
    interval = strings[upper.string].midi + upper.offset - strings[lower.string].midi - lower.offset
    name = frame_name(interval)
    return f"Double stops in {name}s, {where}"


def _fingers_of_chords(served: Sequence[Demand]) -> str:
    fingers = (" ".join(str(stop.finger) for stop in demand.stops) for demand in served)
    return f"fingers {', '.join(dict.fromkeys(fingers))}"


def set_up_words(instrument: Instrument, shape: Shape) -> str:
    """Say whether a shape starts from a low or a raised first finger; empty for the usual one.

    The same gaps from another place are set up differently.
    """
    usual = usual_home(instrument, shape.position)
    if shape.first_offset < usual:
        return " with a low first finger"
    return " with a raised first finger" if shape.first_offset > usual else ""
