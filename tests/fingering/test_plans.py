"""Whole different plans: against brute force, by hand, and what must hold for all of them."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from types import MappingProxyType

import networkx as nx
import numpy as np
import pytest
from numpy.typing import NDArray

from scoretools.analysis import analyse, solution_of
from scoretools.fingering.cost import FORBIDDEN, POINT
from scoretools.fingering.plans import WITHIN, Plan, plans, runners_up, stretch_of
from scoretools.fingering.rows import Hand
from scoretools.fingering.search import BROKEN_MARK, Solution, solve
from scoretools.fingering.trellis import Kind, build
from scoretools.fingering.weights import Weights, weights_for
from scoretools.hand import hand_reach
from scoretools.instrument import instrument
from scoretools.model import Part, PositionNumber
from scoretools.player import Player
from scoretools.read import read_part

ReadPart = Callable[..., Part]
BoolArray = NDArray[np.bool_]

SAMPLES = sorted((Path(__file__).resolve().parents[2] / "sample_scores").glob("*.musicxml"))
VIOLIN = instrument("violin")
WEIGHTS = weights_for(Player())


def searched(part: Part, ceiling: int, weights: Weights = WEIGHTS) -> Solution:
    hand = Hand(VIOLIN, hand_reach(VIOLIN, Player()), PositionNumber(ceiling))
    return solve(build(hand, weights, part.events, use_marks=True))


def whole(solution: Solution) -> range:
    return range(len(solution.trellis.moments))


# ── by hand ─────────────────────────────────────────────────────────────────────────────────────


def only(note: dict[str, float], step: dict[str, float]) -> Weights:
    """Weights of nothing but these terms."""
    zero = replace(
        WEIGHTS,
        note=MappingProxyType({**dict.fromkeys(WEIGHTS.note, 0.0), **note}),
        step=MappingProxyType({**dict.fromkeys(WEIGHTS.step, 0.0), **step}),
        habit=MappingProxyType(dict.fromkeys(WEIGHTS.habit, 0.0)),
    )
    return replace(zero, ceiling=None)


FEW = only(
    {
        "above first position": 0.3,
        "half position": 3.0,
        "open string": 0.2,
        "letter against finger": 10.0,
    },
    {
        "string crossing": 1.0,
        "shift": 5.0,
        "position renamed": 20.0,
        "fingers out of order": 50.0,
    },
)
"""A string crossing costs 1, a note 0.3 for each position above the first, a shift 5 (half of it
for a half step); the rest keeps to letters, to the order of fingers and to one name."""


def test_three_positions_worked_by_hand(small_part: ReadPart) -> None:
    """D5 E5 F5 G5: one string crossing in first position (3 4 on A, 1 2 on E), 1 point.

    In second position 2 3 4 on A and 1 on E: one crossing and four notes at 0.3, 2.2 points. In
    third position 1 2 3 4 on A: no crossing, four notes at 0.6, 2.4 points.
    """
    solution = searched(small_part("violin", "D5 E5 F5 G5"), 3, FEW)
    found = plans(solution, whole(solution), 2)
    assert [[p.position for p in plan.placements if p] for plan in found] == [
        [1] * 4,
        [2] * 4,
        [3] * 4,
    ]
    assert [plan.more for plan in found] == pytest.approx([0, 1.2, 1.4])
    stops = [
        [(p.stops[0].string, p.stops[0].finger) for p in plan.placements if p] for plan in found
    ]
    assert stops[1:] == [
        [(2, 2), (2, 3), (2, 4), (3, 1)],
        [(2, 1), (2, 2), (2, 3), (2, 4)],
    ]
    assert [plan.elsewhere for plan in found] == [(), (0, 1, 2, 3), (0, 1, 2, 3)]


def test_the_way_into_a_passage_is_paid(small_part: ReadPart) -> None:
    """Bb3 goes before: 2 on the G string in first position, 1 in second.

    The plan in second position takes it there too, for 0.3 more, rather than shift after it; the
    crossings from the G string are two either way.
    """
    solution = searched(small_part("violin", "Bb3 D5 E5 F5 G5"), 3, FEW)
    first, second = plans(solution, range(1, 5), 1)
    assert [p.position for p in first.placements if p] == [1] * 5
    assert [p.position for p in second.placements if p] == [2] * 5
    assert second.more == pytest.approx(1.2 + 0.3)
    assert second.elsewhere == (0, 1, 2, 3, 4)


def test_a_refingering_is_no_plan(small_part: ReadPart) -> None:
    """The G string is printed, and 4 on D4, which lies in first position alone.

    C#4 and C4 may take several fingers there; none of that makes another plan.
    """
    part = small_part("violin", "C#4@4 D4:4@4 C#4@4 C4@4")
    solution = searched(part, 1)
    fingers = {
        finger for moment in solution.trellis.moments for finger in moment.kind.states.finger[:, 0]
    }
    assert {2, 3, 4} <= fingers
    assert len(plans(solution, whole(solution), 3, within=500.0)) == 1


def test_marks_that_settle_all_leave_one_plan(small_part: ReadPart) -> None:
    part = small_part("violin", "D5:1@2 E5:2@2 F5:3@2 G5:4@2")
    assert len(plans(searched(part, 3), range(4), 3)) == 1


def test_a_passage_without_events_has_the_chosen_plan_alone(small_part: ReadPart) -> None:
    solution = searched(small_part("violin", "D5 E5 F5 G5"), 3)
    (chosen,) = plans(solution, range(0), 3)
    assert (chosen.more, chosen.elsewhere) == (0, ())


@pytest.mark.parametrize(
    ("events", "stretch"), [(1, 1), (3, 3), (4, 4), (16, 4), (17, 5), (32, 8), (500, 8)]
)
def test_the_stretch_is_a_quarter_within_bounds(events: int, stretch: int) -> None:
    assert stretch_of(events) == stretch


# ── brute force ─────────────────────────────────────────────────────────────────────────────────

NAMES = ("G3", "B3", "D4", "E4", "F#4", "A4", "B4", "C5", "D5", "E5", "F5", "G5", "A5", "B5")


def every_cost(solution: Solution) -> NDArray[np.int64]:
    """Cost units of every path, one axis for each moment."""
    own = solution.passes.own
    total: NDArray[np.int64] = own[0].copy()
    for index in range(1, len(own)):
        steps = solution.table(index).astype(np.int64) + own[index]
        total = total[..., None] + steps
    return total


def goes_elsewhere(kind: Kind, row: int, other: int) -> bool:
    """What the module's head says, on the stops of two rows."""
    states = kind.states
    pairs = list(zip(states.stops(row), states.stops(other), strict=True))
    if any(a.string != b.string for a, b in pairs):
        return True
    other_hand = states.home[row] != states.home[other]
    other_name = states.position[row] != states.position[other]
    return bool(other_hand and other_name and any(a.finger != b.finger for a, b in pairs))


def along(values: Sequence[bool], axis: int, axes: int) -> BoolArray:
    shape = [1] * axes
    shape[axis] = len(values)
    return np.array(values, dtype=np.bool_).reshape(shape)


def allowed(solution: Solution, inside: range, earlier: Sequence[Sequence[int]]) -> BoolArray:
    """Which paths have, between some two events of the passage, only events that go elsewhere than
    all earlier plans, or wait on open strings, and enough of the first kind."""
    axes = len(solution.trellis.moments)
    away, waits = {}, {}
    for axis in inside:
        kind = solution.trellis.moments[axis].kind
        rows = range(len(kind.states))
        away[axis] = [
            all(goes_elsewhere(kind, path[axis], row) for path in earlier) for row in rows
        ]
        waits[axis] = [
            not away[axis][row] and all(stop.finger == 0 for stop in kind.states.stops(row))
            for row in rows
        ]
    found = np.zeros([len(m.kind.states) for m in solution.trellis.moments], dtype=np.bool_)
    for first in inside:
        for last in range(first, inside.stop):
            fits: BoolArray = np.ones([1] * axes, dtype=np.bool_)
            count: NDArray[np.int64] = np.zeros([1] * axes, dtype=np.int64)
            for axis in range(first, last + 1):
                here = along(away[axis], axis, axes)
                fits = fits & (here | along(waits[axis], axis, axes))
                count = count + here
            found |= fits & (count >= stretch_of(len(inside)))
    return found


def rows_of(solution: Solution, plan: Plan) -> tuple[int, ...]:
    """Find the rows of a plan by what they mean."""
    rows = []
    for moment in solution.trellis.moments:
        states, place = moment.kind.states, plan.placements[moment.event]
        assert place is not None
        (row,) = (
            row
            for row in range(len(states))
            if (states.home[row], states.position[row]) == (place.home, place.position)
            and states.stops(row) == place.stops
        )
        rows.append(row)
    return tuple(rows)


@pytest.mark.parametrize("seed", range(12))
def test_equal_to_brute_force(small_part: ReadPart, seed: int) -> None:
    rng = np.random.default_rng(seed)
    start = int(rng.integers(0, len(NAMES)))
    places = np.clip(start + np.cumsum(rng.integers(-2, 3, 5)), 0, len(NAMES) - 1)
    words = " ".join(NAMES[place] for place in places.tolist())
    solution = searched(small_part("violin", words), int(rng.integers(1, 4)))
    compare_with_brute_force(solution, range(int(rng.integers(0, 3)), 5))


def compare_with_brute_force(solution: Solution, inside: range) -> None:
    sizes = [len(moment.kind.states) for moment in solution.trellis.moments]
    if np.prod(sizes, dtype=float) > 20_000_000:
        pytest.fail(f"too many paths to try them all: {sizes}")
    costs = every_cost(solution)
    found = plans(solution, inside, 3)
    earlier = [rows_of(solution, found[0])]
    assert costs[earlier[0]] == costs.min()
    for plan in found[1:]:
        best = int(costs[allowed(solution, inside, earlier)].min())
        row = rows_of(solution, plan)
        assert costs[row] == best
        assert plan.more * POINT == pytest.approx(best - costs.min())
        earlier.append(row)
    if len(found) < 4:
        rest = costs[allowed(solution, inside, earlier)].min(initial=FORBIDDEN)
        assert rest > costs.min() + WITHIN * POINT


# ── a graph library ─────────────────────────────────────────────────────────────────────────────


def counted_graph(solution: Solution, earlier: Sequence[Sequence[int]]) -> nx.DiGraph:
    """A node for each row of each moment and each count of events gone elsewhere till then."""
    moments = solution.trellis.moments
    most = stretch_of(len(moments))
    graph = nx.DiGraph()

    def count_after(index: int, row: int, count: int) -> int:
        kind = moments[index].kind
        if count == most or all(goes_elsewhere(kind, path[index], row) for path in earlier):
            return min(count + 1, most)
        return count if all(stop.finger == 0 for stop in kind.states.stops(row)) else 0

    for row, cost in enumerate(solution.passes.own[0].tolist()):
        graph.add_edge("start", (0, row, count_after(0, row, 0)), weight=cost)
    for index in range(1, len(moments)):
        weights = solution.table(index) + solution.passes.own[index]
        for (before, row), cost in np.ndenumerate(weights):
            for count in range(most + 1):
                after = index, row, count_after(index, row, count)
                graph.add_edge((index - 1, before, count), after, weight=int(cost))
    last = len(moments) - 1
    for row in range(len(solution.passes.own[last])):
        graph.add_edge((last, row, most), "end", weight=0)
    return graph


STEPS = only({"above first position": 0.1, "half position": 0.4, "letter against finger": 2.0},
             {"string crossing": 0.6, "position renamed": 5.0, "shape strained": 0.3,
              "fingers out of order": 50.0})  # fmt: skip
"""Shifts cost nothing, so that plans come and go."""


@pytest.mark.parametrize("seed", range(6))
def test_equal_to_shortest_path_of_a_graph_library(small_part: ReadPart, seed: int) -> None:
    # Source: networkx, Dijkstra's shortest path on the same graph, counts written out.
    rng = np.random.default_rng(seed)
    low = {
        "D5": "D5:3@2",
        "E5": "E5:4@2",
        "F5": "F5:1@1",
        "G5": "G5:2@1",
        "A4": "A4",
        "B4": "B4:1@2",
    }
    names = [str(name) for name in rng.choice(list(low), 16)]
    words = " ".join(low[name] if rng.random() < 0.2 else name for name in names)
    solution = searched(small_part("violin", words), 3, STEPS)
    found = plans(solution, whole(solution), 2, within=100.0)
    earlier = [rows_of(solution, found[0])]
    for plan in found[1:]:
        graph = counted_graph(solution, earlier)
        best = nx.dijkstra_path_length(graph, "start", "end")
        assert plan.more * POINT == pytest.approx(best - int(solution.passes.forward[-1].min()))
        earlier.append(rows_of(solution, plan))
    if len(found) < 3:
        graph = counted_graph(solution, earlier)
        assert not nx.has_path(graph, "start", "end") or (
            nx.dijkstra_path_length(graph, "start", "end") > BROKEN_MARK // 2
        )


def test_brute_force_meets_alternatives(small_part: ReadPart) -> None:
    """The comparison above would be idle if there never were any."""
    solution = searched(small_part("violin", "D5 E5 F5 G5 A5"), 3)
    assert len(plans(solution, whole(solution), 3)) >= 3


def test_the_count_begins_anew_after_a_note_in_the_same_place(small_part: ReadPart) -> None:
    """B4 is printed 1 on the A string: a hand in second position reaches back for it.

    So the plan in second position goes elsewhere for two notes, comes to the same place, and goes
    elsewhere for four more, which is the stretch; a shift would cost more than the reach.
    """
    words = "E5@2 F5 B4:1@2 E5 F5 G5 F5"
    still = replace(FEW, step=MappingProxyType({**FEW.step, "shift": 40.0}))
    still = replace(still, note=MappingProxyType({**still.note, "letter against finger": 2.0}))
    solution = searched(small_part("violin", words), 2, still)
    first, second = plans(solution, whole(solution), 1, within=100.0)
    assert second.elsewhere == (0, 1, 3, 4, 5, 6)
    graph = counted_graph(solution, [rows_of(solution, first)])
    best = nx.dijkstra_path_length(graph, "start", "end")
    assert second.more * POINT == pytest.approx(best - int(solution.passes.forward[-1].min()))


# ── what must hold ──────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("score", SAMPLES, ids=lambda path: path.stem)
def test_plans_of_the_sample_scores(score: Path) -> None:
    analysis = analyse(read_part(score))
    solution = solution_of(analysis)
    assert solution is not None
    found = plans(solution, range(len(analysis.part.events)), 3, within=60.0)
    assert found[0].placements == tuple(step.placement for step in analysis.steps)
    assert found[0].costs == tuple(step.costs for step in analysis.steps)
    broken = _broken(solution, found[0])
    for before, plan in pairwise(found):
        assert plan.more >= before.more
        assert _sum(plan) - _sum(found[0]) == pytest.approx(plan.more, abs=0.1)
        assert len(plan.elsewhere) >= stretch_of(len(analysis.part.events))
        assert _broken(solution, plan) == broken


def _sum(plan: Plan) -> float:
    return sum(points for costs in plan.costs for _, points in costs)


def _broken(solution: Solution, plan: Plan) -> int:
    rows = rows_of(solution, plan)
    moments = solution.trellis.moments
    return sum(int(m.kind.broken[row]) for m, row in zip(moments, rows, strict=True))


def test_a_bound_leaves_out_what_is_dearer(small_part: ReadPart) -> None:
    solution = searched(small_part("violin", "D5 E5 F5 G5"), 3, FEW)
    assert len(plans(solution, whole(solution), 9, within=1.3)) == 2
    assert len(plans(solution, whole(solution), 9, within=1.1)) == 1


# ── second choices ──────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("score", SAMPLES, ids=lambda path: path.stem)
def test_second_choices_cost_their_margins(score: Path) -> None:
    analysis = analyse(read_part(score))
    solution = solution_of(analysis)
    assert solution is not None
    found = runners_up(solution, range(len(analysis.part.events)))
    for index, step in enumerate(analysis.steps):
        for column, choice in enumerate(step.choices):
            second = found.get((index, column))
            assert (second is None) == (choice.margin is None)
            if second is not None and choice.margin is not None:
                assert second.more == pytest.approx(choice.margin)
                assert second.more < BROKEN_MARK
                stop = choice.stop
                assert (second.stop.string, second.stop.finger) != (stop.string, stop.finger)


def test_a_second_choice_is_of_its_own_passage(small_part: ReadPart) -> None:
    solution = searched(small_part("violin", "D5 E5 F5 G5"), 3)
    assert {event for event, _ in runners_up(solution, range(1, 3))} == {1, 2}
