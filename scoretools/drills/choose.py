"""Which drills, why, and in what order.

Drills come from demands, never from a fixed list: demands that one drill can serve are grouped,
the heaviest groups come first, shapes the player knows already are left out, and where one shape
prepares another the preparation goes before. The player's minutes bound the list.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from scoretools.drills.forms import ADVICE, FORMS, LEARNING_ORDER, MINUTES, Form
from scoretools.hand import gap_letters, gap_words
from scoretools.instrument import Instrument, position_label, string_names
from scoretools.model import (
    Check,
    Demand,
    DemandKind,
    Drill,
    DrillNote,
    Finger,
    Offset,
    Pitch,
    PositionNumber,
    Shape,
    Stop,
    StringIndex,
)
from scoretools.player import Player
from scoretools.shapes import spell_stop

__all__ = ["CAUTIONS", "checks", "choose", "realise"]

CAUTIONS = (
    "Warm up before you begin.",
    "Rest about 10 minutes in every hour, and raise the load gradually.",
    "Stop on pain: pain is never part of practice.",
    "Stretches beyond your hand are for a teacher to judge.",
    "See a health professional about symptoms that stay.",
)
"""Shown with every list of drills. Source: NASM–PAMA health guides; playing-related complaints
are common among string players (Kok et al. 2018, PMC5812604)."""

_TIED_TO_SHAPE = frozenset(
    {
        DemandKind.SHAPE_CHANGE,
        DemandKind.CHROMATIC_SLIDE,
        DemandKind.REACH_BACK,
        DemandKind.EXTENSION,
        DemandKind.AUGMENTED_SECOND,
    }
)


@dataclass(frozen=True, slots=True)
class _Group:
    """Demands that one drill serves, heaviest first."""

    demands: tuple[int, ...]
    weight: float


# ── choice ──────────────────────────────────────────────────────────────────────────────────────


def choose(instrument: Instrument, player: Player, demands: Sequence[Demand]) -> tuple[Drill, ...]:
    """Choose drills for what a part asks.

    Parameters
    ----------
    demands
        All demands of the part.

    Returns
    -------
    tuple of Drill
        In order of practice; together no longer than the player's minutes, but at least one where
        there is anything to practise.
    """
    whole = sum(demand.weight for demand in demands) or 1.0
    chosen: list[Drill] = []
    minutes = 0
    for group in _groups(demands):
        lead = demands[group.demands[0]]
        if lead.kind is DemandKind.SHAPE and lead.gaps in player.known_shapes:
            continue
        drill = _drill(instrument, demands, group, whole)
        if not drill.forms or (chosen and minutes + drill.minutes > player.minutes_per_day):
            continue
        chosen.append(drill)
        minutes += drill.minutes
    return _in_order(chosen, demands)


def _groups(demands: Sequence[Demand]) -> list[_Group]:
    together: dict[tuple[object, ...], list[int]] = {}
    for index, demand in enumerate(demands):
        together.setdefault(_alike(demand), []).append(index)
    groups = [
        _Group(tuple(members), sum(demands[index].weight for index in members))
        for members in together.values()
    ]
    return sorted(groups, key=lambda group: (-group.weight, group.demands))


def _alike(demand: Demand) -> tuple[object, ...]:
    """What demands have in common that one drill can serve."""
    fingers = tuple(stop.finger for stop in demand.stops)
    if demand.kind is DemandKind.SHAPE:
        return demand.kind, demand.position, demand.gaps
    if demand.kind is DemandKind.SHIFT:
        return demand.kind, demand.from_position, demand.position, fingers
    if demand.kind is DemandKind.DOUBLE_STOP:
        return demand.kind, demand.position, demand.detail.split(" on the ")[0]
    if demand.kind is DemandKind.CHORD:
        return demand.kind, demand.position
    return demand.kind, demand.position, fingers


def _in_order(chosen: list[Drill], demands: Sequence[Demand]) -> tuple[Drill, ...]:
    """Put every drill after those that prepare it, otherwise heaviest first."""
    order: list[int] = []

    def place(number: int) -> None:
        if number not in order:
            for other, drill in enumerate(chosen):
                if other != number and _prepares(drill, chosen[number]):
                    place(other)
            order.append(number)

    for number in range(len(chosen)):
        place(number)
    new = {number: index for index, number in enumerate(order)}
    return tuple(
        replace(
            chosen[number],
            index=index,
            after=tuple(
                sorted(
                    new[other]
                    for other, drill in enumerate(chosen)
                    if other != number and _prepares(drill, chosen[number])
                )
            ),
        )
        for index, number in enumerate(order)
    )


def _prepares(first: Drill, then: Drill) -> bool:
    """Tell whether one drill prepares another: a shape what is done in it, or a harder shape."""
    if first.kind is not DemandKind.SHAPE or first.position != then.position:
        return False
    if then.kind is DemandKind.SHAPE:
        return _rank(first.gaps) < _rank(then.gaps)
    return then.kind in _TIED_TO_SHAPE and first.gaps == then.gaps


def _rank(gaps: str) -> int:
    return LEARNING_ORDER.index(gaps) if gaps in LEARNING_ORDER else len(LEARNING_ORDER)


# ── one drill ───────────────────────────────────────────────────────────────────────────────────


def _drill(instrument: Instrument, demands: Sequence[Demand], group: _Group, whole: float) -> Drill:
    lead = demands[group.demands[0]]
    served = [demands[index] for index in group.demands]
    forms = tuple(_forms(instrument, lead))
    fastest = max(served, key=lambda demand: demand.notes_per_s)
    goal = _goal_per_minute(fastest.notes_per_s)
    played = [note for _, notes in forms for note in notes]
    return Drill(
        index=0,
        title=_title(instrument, lead),
        kind=lead.kind,
        string=lead.string,
        position=lead.position,
        gaps=lead.gaps,
        forms=forms,
        checks=checks(instrument, played),
        advice=ADVICE.get(lead.gaps, ""),
        measures=tuple(sorted({measure for demand in served for measure in demand.measures})),
        demands=group.demands,
        share=group.weight / whole,
        after=(),
        start_per_minute=max(_SLOWEST, min(60, goal // 2 // 4 * 4)),
        goal_per_minute=goal,
        goal_assumed=fastest.speed_assumed,
        minutes=MINUTES[lead.kind],
        then_strings=tuple(dict.fromkeys(d.string for d in served if d.string != lead.string)),
    )


_SLOWEST = 40
_FASTEST = 480


def _goal_per_minute(notes_per_s: float) -> int:
    """Speed of the piece in notes a minute, in steps of four, within what can be counted."""
    return max(_SLOWEST, min(_FASTEST, round(notes_per_s * 15) * 4))


def _title(instrument: Instrument, demand: Demand) -> str:
    string = f"on the {string_names(instrument)[demand.string]} string"
    where = position_label(demand.position)
    shape = f"{demand.gaps} {string}, {where}"
    if demand.kind is DemandKind.SHAPE and demand.shape:
        return f"{shape} ({gap_words(demand.shape.gaps)})"
    if demand.kind is DemandKind.SHIFT:
        return f"Shift {demand.detail} {string}"
    if demand.kind is DemandKind.AUGMENTED_SECOND:
        return f"Augmented second {demand.detail}: {shape}"
    if demand.kind is DemandKind.CHROMATIC_SLIDE:
        return f"Slide, {demand.detail}, {string}, {where}"
    if demand.kind is DemandKind.SHAPE_CHANGE:
        before = _letters(demand.before)
        return f"Change {before} to {shape} ({demand.detail})"
    if demand.kind in (DemandKind.REACH_BACK, DemandKind.EXTENSION):
        return f"{demand.detail.capitalize()}: {shape}"
    if demand.kind is DemandKind.CHORD:
        return f"Chord, {demand.detail}, {where}"
    return f"Double stop, {demand.detail}, {where}"


def _letters(shape: Shape | None) -> str:
    return gap_letters(shape.gaps) if shape else ""


# ── notes ───────────────────────────────────────────────────────────────────────────────────────


def _forms(instrument: Instrument, demand: Demand) -> Iterator[tuple[str, tuple[DrillNote, ...]]]:
    for form in FORMS[demand.kind]:
        notes = realise(instrument, demand, form)
        if notes:
            yield form.name, notes


def realise(instrument: Instrument, demand: Demand, form: Form) -> tuple[DrillNote, ...]:
    """Write out a form for a demand.

    Returns
    -------
    tuple of DrillNote
        Empty where the demand has no note for one of the tokens (no fourth place in the shape, no
        half step below the first place of the string …).
    """
    vocabulary = _vocabulary(demand)
    if not all(token in vocabulary for token in form.tokens):
        return ()
    return tuple(
        DrillNote(
            pitch=spell_stop(instrument.strings[stop.string], position, stop),
            stop=stop,
            with_next=place < len(stops) - 1,
        )
        for stops, position in (vocabulary[token] for token in form.tokens)
        for place, stop in enumerate(stops)
    )


_Meaning = tuple[tuple[Stop, ...], PositionNumber]


def _vocabulary(demand: Demand) -> dict[str, _Meaning]:
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
        words |= _words_of_shift(demand, demand.from_position)
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


def _words_of_shift(demand: Demand, left: PositionNumber) -> dict[str, _Meaning]:
    departure, arrival = demand.stops
    guide = replace(departure, offset=Offset(departure.offset + demand.travel))
    near = replace(departure, offset=Offset(departure.offset + (1 if demand.travel > 0 else -1)))
    words: dict[str, _Meaning] = {
        "from": ((departure,), left),
        "to": ((arrival,), demand.position),
    }
    if guide.offset >= 1:
        words["guide"] = ((guide,), demand.position)
    if near.offset >= 1:
        words["near"] = ((near,), left)
    return words


# ── checks ──────────────────────────────────────────────────────────────────────────────────────

_CHECKS = ((0, "unison"), (12, "octave"), (-12, "octave"), (-5, "fourth"))
_SIXTH = (9, "sixth")


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
    for semitones, interval in (*_CHECKS, _SIXTH):
        for against in neighbours:
            if pitch.midi - against.midi == semitones:
                return Check(pitch, against, interval)
    return None
