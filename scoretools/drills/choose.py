"""Which drills, why, and in what order.

Drills come from demands, never from a fixed list: demands that one drill can serve are grouped,
the heaviest groups come first, shapes the player knows already are left out, and where one shape
prepares another the preparation goes before. The player's minutes bound the list.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from scoretools.drills.forms import ADVICE, FORMS, LEARNING_ORDER, MINUTES
from scoretools.drills.realise import checks, realise, spelling_of
from scoretools.hand import gap_letters, gap_words
from scoretools.instrument import Instrument, position_label, string_names, usual_home
from scoretools.model import Demand, DemandKind, Drill, DrillNote, Event, Shape, StringIndex
from scoretools.player import Player

__all__ = ["CAUTIONS", "choose", "set_up_words"]

CAUTIONS = (
    "Warm up before you begin.",
    "Rest about 10 minutes in every hour, and raise the load gradually.",
    "Stop on pain: pain is never part of practice.",
    "Stretches beyond your hand are for a teacher to judge.",
    "See a health professional about symptoms that stay.",
)
"""Shown with every list of drills. Source: NASM–PAMA health guides; playing-related complaints
are common among string players (Kok et al. 2018, PMC5812604)."""

_OF_ONE_HAND = (
    DemandKind.REACH_BACK,
    DemandKind.EXTENSION,
    DemandKind.AUGMENTED_SECOND,
    DemandKind.SHAPE,
)
"""What is asked while the hand keeps one shape, and is practised in one drill: the stretch first,
then the shape."""

_CHANGES = frozenset({DemandKind.SHAPE_CHANGE, DemandKind.CHROMATIC_SLIDE})


@dataclass(frozen=True, slots=True)
class _Group:
    """Demands that one drill serves, heaviest first."""

    demands: tuple[int, ...]
    weight: float


# ── choice ──────────────────────────────────────────────────────────────────────────────────────


def choose(
    instrument: Instrument, player: Player, events: Sequence[Event], demands: Sequence[Demand]
) -> tuple[Drill, ...]:
    """Choose drills for what a part asks.

    Parameters
    ----------
    events
        All events of the part; drills are spelled as their bars are.
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
    for group in _groups(demands, player):
        if chosen and group.weight < LEAST_SHARE * whole:
            break
        asked = max(MINUTES[demands[index].kind] for index in group.demands)
        if chosen and minutes + asked > player.minutes_per_day:
            continue
        drill = _drill(instrument, events, demands, group, whole)
        if drill.forms:
            chosen.append(drill)
            minutes += drill.minutes
    return _in_order(chosen)


def _groups(demands: Sequence[Demand], player: Player) -> list[_Group]:
    together: dict[tuple[object, ...], list[int]] = {}
    for index, demand in enumerate(demands):
        if demand.kind is DemandKind.SHAPE and demand.gaps in player.known_shapes:
            continue
        together.setdefault(_alike(demand), []).append(index)
    groups = [
        _Group(tuple(members), sum(demands[index].weight for index in members))
        for members in together.values()
    ]
    return sorted(groups, key=lambda group: (-group.weight, group.demands))


def _alike(demand: Demand) -> tuple[object, ...]:
    """What demands have in common that one drill can serve."""
    fingers = tuple(stop.finger for stop in demand.stops)
    if demand.kind in _OF_ONE_HAND:
        return "hand", demand.position, demand.first_offset, demand.gaps
    if demand.kind is DemandKind.SHIFT:
        across = demand.stops[0].string != demand.stops[1].string
        return demand.kind, demand.from_position, demand.position, fingers, across
    if demand.kind is DemandKind.DOUBLE_STOP:
        with_open = "with the open string" in demand.detail
        interval = "" if with_open else demand.detail.split(" on the ")[0]
        return demand.kind, demand.position, with_open, interval
    if demand.kind is DemandKind.CHORD:
        return demand.kind, demand.position
    before = demand.before.gaps if demand.before else ()
    return demand.kind, demand.position, fingers, before, demand.gaps


def _in_order(chosen: list[Drill]) -> tuple[Drill, ...]:
    """Put every drill after those that prepare it, otherwise heaviest first."""
    prepared_by = {
        number: [
            other
            for other, drill in enumerate(chosen)
            if other != number and _prepares(drill, chosen[number])
        ]
        for number in range(len(chosen))
    }
    order: list[int] = []

    def place(number: int) -> None:
        if number not in order:
            for other in prepared_by[number]:
                place(other)
            order.append(number)

    for number in range(len(chosen)):
        place(number)
    return tuple(
        replace(
            chosen[number],
            index=index,
            after=tuple(sorted(order.index(other) for other in prepared_by[number])),
        )
        for index, number in enumerate(order)
    )


def _prepares(first: Drill, then: Drill) -> bool:
    """Tell whether one drill prepares another: a shape what is done in it, or a harder shape."""
    if first.kind not in _OF_ONE_HAND or first.position != then.position:
        return False
    if then.kind in _OF_ONE_HAND:
        return _rank(first.gaps) < _rank(then.gaps)
    return then.kind in _CHANGES and first.gaps == then.gaps


def _rank(gaps: str) -> int:
    return LEARNING_ORDER.index(gaps) if gaps in LEARNING_ORDER else len(LEARNING_ORDER)


# ── one drill ───────────────────────────────────────────────────────────────────────────────────

LEAST_SHARE = 0.02
"""Share of a part's demands below which a drill of its own is not worth the minutes."""

SLOWEST_PER_MINUTE = 40
"""Notes a minute below which a drill is not counted."""

FASTEST_PER_MINUTE = 600
"""Notes a minute beyond which a finger drill makes no sense: ten a second (common practice)."""


def _drill(
    instrument: Instrument,
    events: Sequence[Event],
    demands: Sequence[Demand],
    group: _Group,
    whole: float,
) -> Drill:
    served = [demands[index] for index in group.demands]
    lead = _lead(served)
    forms = tuple(_forms(instrument, events, served))
    fastest = max(served, key=lambda demand: demand.notes_per_s)
    goal = round(min(fastest.notes_per_s * 60, FASTEST_PER_MINUTE) / 4) * 4
    goal = max(SLOWEST_PER_MINUTE, goal)
    return Drill(
        index=0,
        title=_title(instrument, lead),
        kind=lead.kind,
        string=lead.string,
        position=lead.position,
        gaps=lead.gaps,
        forms=forms,
        checks=checks(instrument, (note for _, notes in forms for note in notes)),
        advice=ADVICE.get(lead.gaps, ""),
        measures=tuple(sorted({measure for demand in served for measure in demand.measures})),
        demands=group.demands,
        share=group.weight / whole,
        after=(),
        start_per_minute=max(SLOWEST_PER_MINUTE, min(60, goal // 2 // 4 * 4)),
        goal_per_minute=goal,
        goal_assumed=fastest.speed_assumed,
        minutes=max(MINUTES[demand.kind] for demand in served),
        then_strings=_then_strings(lead, served),
    )


def _then_strings(lead: Demand, served: Sequence[Demand]) -> tuple[StringIndex, ...]:
    if lead.kind is DemandKind.CHORD:
        return ()  # a chord has strings of its own
    return tuple(dict.fromkeys(d.string for d in served if d.string != lead.string))


def _lead(served: Sequence[Demand]) -> Demand:
    """Give the demand that names a drill: the heaviest of the kind that asks most."""
    kinds = {demand.kind for demand in served}
    kind = next((kind for kind in _OF_ONE_HAND if kind in kinds), served[0].kind)
    return next(demand for demand in served if demand.kind is kind)


def _forms(
    instrument: Instrument, events: Sequence[Event], served: Sequence[Demand]
) -> Iterator[tuple[str, tuple[DrillNote, ...]]]:
    """Write out the forms of every kind served, each by its heaviest demand; none twice."""
    by_kind: dict[DemandKind, Demand] = {}
    string = _lead(served).string
    for demand in sorted(served, key=lambda demand: demand.string != string):
        by_kind.setdefault(demand.kind, demand)
    spelling = spelling_of(events, (bar for demand in served for bar in demand.measures))
    have: set[tuple[DrillNote, ...]] = set()
    for kind in sorted(by_kind, key=lambda k: _OF_ONE_HAND.index(k) if k in _OF_ONE_HAND else 0):
        demand = by_kind[kind]
        key = events[demand.moments[0]].key
        for form in FORMS[kind]:
            notes = realise(instrument, demand, form, spelling, key)
            if notes and notes not in have:
                have.add(notes)
                yield form.name, notes


def _title(instrument: Instrument, demand: Demand) -> str:
    string = f"on the {string_names(instrument)[demand.string]} string"
    where = position_label(demand.position)
    if demand.kind is DemandKind.SHIFT:
        across = demand.stops[0].string != demand.stops[1].string
        return f"Shift from {demand.detail}" if across else f"Shift from {demand.detail}, {string}"
    if demand.kind is DemandKind.CHORD:
        return f"Chord, {demand.detail}, {where}"
    if demand.kind is DemandKind.DOUBLE_STOP or demand.shape is None:
        return f"Double stop, {demand.detail}, {where}"
    if demand.kind is DemandKind.CHROMATIC_SLIDE:
        return f"Slide, {demand.detail}, {string}, {where}"
    shape = f"{demand.gaps}{set_up_words(instrument, demand.shape)} {string}, {where}"
    if demand.kind is DemandKind.SHAPE_CHANGE and demand.before:
        before = gap_letters(demand.before.gaps)
        return f"Change from {before} to {shape} ({demand.detail})"
    if demand.kind is DemandKind.AUGMENTED_SECOND:
        return f"{shape}: augmented second {demand.detail}"
    if demand.kind in (DemandKind.REACH_BACK, DemandKind.EXTENSION):
        return f"{shape}: {demand.detail}"
    return f"{shape} ({gap_words(demand.shape.gaps)})"


def set_up_words(instrument: Instrument, shape: Shape) -> str:
    """Say whether a shape starts from a low or a raised first finger; empty for the usual one.

    The same gaps from another place are set up differently.
    """
    usual = usual_home(instrument, shape.position)
    if shape.first_offset < usual:
        return " with a low first finger"
    return " with a raised first finger" if shape.first_offset > usual else ""
