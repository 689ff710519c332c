"""Which drills, why, and in what order.

Drills come from demands, never from a fixed list: demands that one drill can serve are grouped,
the heaviest groups come first, shapes the player knows already are left out, and where one shape
prepares another the preparation goes before. The player's minutes and days bound the list; what
they leave no room for is said.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import ceil, log
from types import MappingProxyType

from scoretools.demands import pace
from scoretools.drills.checks import checks
from scoretools.drills.exercises import Written, written
from scoretools.drills.forms import ADVICE, ADVICE_ON
from scoretools.drills.groups import OF_ONE_HAND, Group, groups, lead, rank
from scoretools.drills.titles import title
from scoretools.hand import FINGERS
from scoretools.model import Demand, DemandKind, Drill, Exercise, LeftOut
from scoretools.moments import LATELY_BARS
from scoretools.player import Player
from scoretools.shapes import fits_the_frame

__all__ = ["CAUTIONS", "SESSIONS", "WARM_UP_MINUTES", "Choice", "choose"]

CAUTIONS = (
    "Warm up before you begin.",
    "Rest about 10 minutes in every hour, and raise the load gradually.",
    "Stop on pain: pain is never part of practice.",
    "Stretches beyond your hand are for a teacher to judge.",
    "See a health professional about symptoms that stay.",
)
"""Shown with every list of drills. Source: NASM–PAMA health guides; playing-related complaints
are common among string players (Kok et al. 2018, PMC5812604)."""

SESSIONS = 2
"""Times a drill comes back before the day of the lesson at least: repeated the next day if it is
not clean (common practice)."""

WARM_UP_MINUTES = 2
"""Minutes of every day kept for the warm-up and for playing the bars themselves."""

EXERCISE_MINUTES = 0.5
"""Minutes an exercise takes: some eight notes, four times through, a second each at first."""

LEAST_MINUTES = 2
"""Shortest drill."""

LEAST_SHARE = 0.004
"""Share of a part's demands below which a drill of its own is not worth the minutes."""

_CHANGES = frozenset({DemandKind.SHAPE_CHANGE, DemandKind.CHROMATIC_SLIDE})


@dataclass(frozen=True, slots=True)
class Choice:
    """What is to be practised, and what is not."""

    drills: tuple[Drill, ...]
    """In order of practice."""
    left_out: tuple[LeftOut, ...]
    """Heaviest first."""


# ── choice ──────────────────────────────────────────────────────────────────────────────────────


def choose(music: Written, player: Player) -> Choice:
    """Choose drills for what a part asks.

    Parameters
    ----------
    music
        The part, its demands and how the hand lies.

    Returns
    -------
    Choice
        Drills that fit into the player's minutes, at least one where there is anything to
        practise; together with what is left out every demand the player does not know already is
        there once.
    """
    found = groups(music.demands, player.known_shapes)
    whole = sum(group.weight for group in found) or 1.0
    minutes = _minutes(player)
    drills: list[Drill] = []
    left_out: list[LeftOut] = []
    for group in found:
        share = group.weight / whole
        little = share < LEAST_SHARE and bool(drills)
        exercises = () if little else written(music, group, share)
        drill = _drill(music, group, share, exercises)
        why = _TOO_LITTLE if little else _why_not(drill, minutes, bool(drills))
        if why:
            name, bars = drill.title, drill.measures
            left_out.append(LeftOut(name, group.demands, bars, share, why))
        else:
            drills.append(drill)
            minutes -= drill.minutes
    return Choice(_in_order(drills), tuple(left_out))


def _minutes(player: Player) -> int:
    """Minutes of drills that fit before the lesson, each drill counted once."""
    a_day = max(player.minutes_per_day - WARM_UP_MINUTES, 1)
    return a_day * player.days // SESSIONS


_TOO_LITTLE = "too little of it for a drill of its own"


def _why_not(drill: Drill, minutes: int, have_some: bool) -> str:
    """Say why a drill is left out; empty where it is not."""
    if not drill.exercises:
        return "no drill can be written for it"
    if drill.minutes > minutes and have_some:
        return f"no time: it would take {drill.minutes} minutes, {SESSIONS} times"
    return ""


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
    if first.kind not in OF_ONE_HAND or first.position != then.position:
        return False
    if then.kind in OF_ONE_HAND:
        return rank(first.gaps) < rank(then.gaps)
    return then.kind in _CHANGES and first.gaps == then.gaps


# ── one drill ───────────────────────────────────────────────────────────────────────────────────

SLOWEST_PER_MINUTE = 40
"""Notes a minute below which a drill is not counted."""

FASTEST_PER_MINUTE = 600
"""Notes a minute beyond which a finger drill makes no sense: ten a second (common practice)."""

FASTEST_OF: Mapping[DemandKind, int] = MappingProxyType(
    {
        DemandKind.SHAPE_CHANGE: 300,
        DemandKind.CHROMATIC_SLIDE: 300,
        DemandKind.DOUBLE_STOP: 240,
        DemandKind.SHIFT: 180,
        DemandKind.CHORD: 120,
    }
)
"""The same for drills that repeat one movement without rest: three shifts a second, two chords
(common practice)."""

RUNG = 1.2
"""Each rung of the tempo ladder is about so many times as fast as the one below."""

BRIDGE_BARS = 2
"""Bars of the piece at the end of a drill, where the bar that matters has a neighbour."""

LONGEST_BRIDGE = LATELY_BARS + 1
"""Bars at the end of a drill where a finger comes from as far as it can."""


def _drill(music: Written, group: Group, share: float, exercises: tuple[Exercise, ...]) -> Drill:
    served = [music.demands[index] for index in group.demands]
    first = lead(served)
    fastest = max(served, key=lambda demand: demand.notes_per_s)
    bound = FASTEST_OF.get(first.kind, FASTEST_PER_MINUTE)
    goal = max(SLOWEST_PER_MINUTE, round(min(_fast_pace(music, served) * 60, bound) / 4) * 4)
    start = max(SLOWEST_PER_MINUTE, min(60, goal // 2 // 4 * 4))
    return Drill(
        index=0,
        title=title(music, served),
        kind=first.kind,
        string=first.string,
        position=first.position,
        gaps=first.gaps,
        shape=first.shape,
        exercises=exercises,
        checks=checks(music.instrument, (n for exercise in exercises for n in exercise.notes)),
        advice=_advice(first),
        measures=tuple(sorted({measure for demand in served for measure in demand.measures})),
        demands=group.demands,
        share=share,
        after=(),
        start_per_minute=start,
        goal_per_minute=goal,
        goal_assumed=fastest.speed_assumed,
        ladder=_ladder(start, goal),
        minutes=max(LEAST_MINUTES, ceil(EXERCISE_MINUTES * len(exercises))),
        bridge=_bridge(music, served),
    )


def _fast_pace(music: Written, served: Sequence[Demand]) -> float:
    """Speed that one in ten of the moments served exceeds: a turn sets no goal for a shape."""
    paces = sorted(pace(music.events, event) for demand in served for event in demand.moments)
    return paces[len(paces) * 9 // 10]


def _advice(first: Demand) -> str:
    """Say what usually goes wrong; nothing of a stretch that the piece does not ask."""
    if first.kind in ADVICE_ON:
        return ADVICE_ON[first.kind]
    shape = first.shape
    if shape and len(shape.known) < len(FINGERS) and not fits_the_frame(shape):
        return ""
    return ADVICE.get(first.gaps, "")


def _ladder(start: int, goal: int) -> tuple[int, ...]:
    """Go from the start to the goal in even steps of about a fifth."""
    steps = max(1, round(log(goal / start, RUNG)))
    rungs = (round(start * (goal / start) ** (step / steps) / 4) * 4 for step in range(steps))
    return tuple(dict.fromkeys((*rungs, goal)))


def _bridge(music: Written, served: Sequence[Demand]) -> tuple[int, int]:
    """Choose the bars of the piece that ask for it most, from where the hand sets out for it.

    They are bars on the string of the drill; of one hand, with the stretch that names it.
    """
    first = lead(served)
    here = [
        demand
        for demand in served
        if demand.string == first.string
        and (demand.kind is first.kind or first.kind not in OF_ONE_HAND)
    ]
    ways = [way for demand in here for way in _ways(music, demand)]
    bars = sorted({event.measure for event in music.events})
    often = Counter(arrival for _, arrival in ways)
    busiest = max(often, key=lambda bar: (often[bar], -bar))
    place = bars.index(busiest)
    windows = [
        (bars[start], bars[min(start + BRIDGE_BARS, len(bars)) - 1])
        for start in (place, max(place - BRIDGE_BARS + 1, 0))
    ]
    windows += sorted(
        {(a, b) for a, b in ways if b == busiest and BRIDGE_BARS <= b - a < LONGEST_BRIDGE}
    )
    return max(windows, key=lambda w: sum(w[0] <= a <= b <= w[1] for a, b in ways))


def _ways(music: Written, demand: Demand) -> Iterator[tuple[int, int]]:
    """For each of its moments the bars from which and to which the hand goes."""
    for departure, moment in zip(demand.departures or demand.moments, demand.moments, strict=True):
        yield music.events[departure].measure, music.events[moment].measure
