"""Like is fingered like: what the second pass says, worked by hand, and that it is exact.

Tunes are written as in ``tests/conftest.py``: ``E5:4`` is E5 with a printed fourth finger. Worked
examples stay in first position, where open strings cost nothing, the fourth finger half a point,
and all else follows from letters: without habits every E5 and A4 is an open string.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from types import MappingProxyType

import networkx as nx
import numpy as np
import pytest
from numpy.typing import NDArray

from scoretools.fingering.cost import POINT
from scoretools.fingering.habits import HABIT_TERMS
from scoretools.fingering.rows import Hand
from scoretools.fingering.search import BROKEN_MARK, Solution, finger, run_passes, solve
from scoretools.fingering.tables import step_tables
from scoretools.fingering.trellis import Trellis, build
from scoretools.fingering.weights import Weights, weights_for
from scoretools.hand import hand_reach
from scoretools.instrument import instrument
from scoretools.model import NoteRef, Part, PositionNumber
from scoretools.player import Player

ReadPart = Callable[..., Part]

VIOLIN = instrument("violin")
HAND = Hand(VIOLIN, hand_reach(VIOLIN, Player()), PositionNumber(1))

FIGURE = "figure as printed elsewhere"
SEQUENCE = "sequence as printed elsewhere"
OPEN_STRING = "open string as printed elsewhere"
BEFORE = "figure as before"

BY_LETTERS = {
    "half position": 3.0,
    "fourth finger": 0.5,
    "letter against finger": 10.0,
    "contraction": 10.0,
    "position renamed": 20.0,
    "fingers out of order": 50.0,
}


def by_letters(habit: Mapping[str, float]) -> Weights:
    """Weights as in the head of this module, and these for habits."""
    shipped = weights_for(Player())
    return replace(
        shipped,
        note=MappingProxyType({name: BY_LETTERS.get(name, 0.0) for name in shipped.note}),
        step=MappingProxyType({name: BY_LETTERS.get(name, 0.0) for name in shipped.step}),
        habit=MappingProxyType({term.name: habit.get(term.name, 0.0) for term in HABIT_TERMS}),
    )


def searched(part: Part, habit: Mapping[str, float]) -> Solution:
    return solve(build(HAND, by_letters(habit), part.events, use_marks=True))


def fingers(solution: Solution) -> list[int]:
    rows = zip(solution.trellis.moments, solution.passes.path, strict=True)
    return [int(moment.kind.states.finger[row, 0]) for moment, row in rows]


def told(solution: Solution, term: str) -> dict[int, list[float]]:
    """Points of fingers 0 to 4, for each note of which a term says something."""
    points = solution.prices[term]
    return {index: points[index].tolist() for index in np.flatnonzero(points.any(axis=1)).tolist()}


# ── a figure that comes back ────────────────────────────────────────────────────────────────────

TWICE = "C5 D5 E5:4 D5 C5 G4 C5 D5 E5 D5 C5"
"""A figure round E5, with the fourth finger printed, and once more without."""


def test_without_habits_the_open_string_is_taken(small_part: ReadPart) -> None:
    found = searched(small_part("violin", TWICE), {})
    assert fingers(found) == [2, 3, 4, 3, 2, 3, 2, 3, 0, 3, 2]
    assert found.prices == {}


def test_a_figure_that_comes_back_takes_the_finger_printed_elsewhere(small_part: ReadPart) -> None:
    """One such note is printed elsewhere, and one counts half: 1 of 2 points on other fingers.

    So the open string costs 1, the fourth finger half a point.
    """
    found = searched(small_part("violin", TWICE), {FIGURE: 2.0})
    assert told(found, FIGURE) == {8: [1, 1, 1, 1, 0]}
    assert fingers(found)[8] == 4
    # With less weight the price of the open string, 0.4, is below that of the fourth finger.
    assert fingers(searched(small_part("violin", TWICE), {FIGURE: 0.8}))[8] == 0


def test_the_more_often_it_is_printed_the_more_it_counts(small_part: ReadPart) -> None:
    """Two with the fourth finger, one open: each of 3 others counts a quarter of 4 points.

    A printed note leaves itself out: the first has one 4 and one 0 beside it, thirds of 4 points.
    """
    figure = "C5 D5 E5{} D5 C5 G4"
    words = " ".join(figure.format(mark) for mark in (":4", ":4", ":0", ""))
    found = searched(small_part("violin", words), {FIGURE: 4.0})
    assert told(found, FIGURE) == {
        2: pytest.approx([4 / 3, 8 / 3, 8 / 3, 8 / 3, 4 / 3]),
        8: pytest.approx([4 / 3, 8 / 3, 8 / 3, 8 / 3, 4 / 3]),
        14: pytest.approx([8 / 3, 8 / 3, 8 / 3, 8 / 3, 0]),
        20: pytest.approx([2, 3, 3, 3, 1]),
    }
    assert [fingers(found)[index] for index in (2, 8, 14, 20)] == [4, 4, 0, 4]


def test_the_notes_own_mark_is_left_out(small_part: ReadPart) -> None:
    once = searched(small_part("violin", "C5 D5 E5:4 D5 C5 G4"), {FIGURE: 2.0, BEFORE: 2.0})
    assert once.prices == {}
    # Each of two different marks speaks for the other note alone; both stand all the same.
    twice = searched(small_part("violin", "C5 D5 E5:4 D5 C5 G4 C5 D5 E5:0 D5 C5"), {FIGURE: 2.0})
    assert told(twice, FIGURE) == {2: [0, 1, 1, 1, 1], 8: [1, 1, 1, 1, 0]}
    assert [fingers(twice)[index] for index in (2, 8)] == [4, 0]


@pytest.mark.parametrize(
    "words",
    [
        "C5 D5 E5:4 D5 B4 G4 C5 D5 E5 D5 C5",  # the second note after it
        "B4 D5 E5:4 D5 C5 G4 C5 D5 E5 D5 C5",  # the second note before it
        "C5 D5 E5:4 D5 C5 G4 C5 D5 E5 D5",  # the end comes too soon
        "C5 D5 E5 D5 C5 G4 C5 D5 E5 D5 C5",  # nothing is printed
        "C5:2 D5:3 E5 D5 C5 G4 C5 D5 E5 D5 C5",  # on the notes beside it only
    ],
)
def test_another_figure_says_nothing(small_part: ReadPart, words: str) -> None:
    assert searched(small_part("violin", words), {FIGURE: 2.0}).prices == {}


def test_a_figure_is_played_as_before(small_part: ReadPart) -> None:
    """The first E5 is printed 4, the first pass takes the others open; each looks at the rest.

    The first finds two open strings; the others a fourth finger and an open string, half each.
    The two notes beside E5 are played alike throughout, so the fingers they take cost nothing.
    """
    words = f"{TWICE} G4 C5 D5 E5 D5 C5 G4"
    found = searched(small_part("violin", words), {BEFORE: 1.0})
    prices = told(found, BEFORE)
    assert prices[2] == [0, 1, 1, 1, 1]
    assert prices[8] == prices[14] == [0.5, 1, 1, 1, 0.5]
    assert prices[3] == [1, 1, 1, 0, 1]
    assert [fingers(found)[index] for index in (2, 8, 14)] == [4, 0, 0]


def test_a_figure_is_played_as_before_where_nothing_else_decides(small_part: ReadPart) -> None:
    """The fourth finger is printed twice: two thirds of a point on the open string, half on 4."""
    figure = "C5 D5 E5{} D5 C5 G4"
    words = " ".join(figure.format(mark) for mark in (":4", ":4", "", ""))
    found = searched(small_part("violin", words), {BEFORE: 2.0})
    assert told(found, BEFORE)[20] == pytest.approx([4 / 3, 2, 2, 2, 2 / 3])
    assert [fingers(found)[index] for index in (14, 20)] == [4, 4]


# ── a sequence ──────────────────────────────────────────────────────────────────────────────────

LOWER = "C5 D5 E5:4 D5 C5 G4 F4 G4 A4 G4 F4"
"""A figure round E5, with the fourth finger printed, and a fifth lower round A4."""


def test_a_sequence_takes_the_finger_printed_elsewhere(small_part: ReadPart) -> None:
    found = searched(small_part("violin", LOWER), {SEQUENCE: 2.0})
    assert told(found, SEQUENCE) == {8: [1, 1, 1, 1, 0]}
    assert fingers(found)[8] == 4
    assert searched(small_part("violin", LOWER), {FIGURE: 2.0}).prices == {}


def test_a_sequence_keeps_its_intervals(small_part: ReadPart) -> None:
    minor = "C5 D5 E5:4 D5 C5 G4 F#4 G4 A4 G4 F#4"
    assert searched(small_part("violin", minor), {SEQUENCE: 2.0}).prices == {}


# ── open strings ────────────────────────────────────────────────────────────────────────────────


def test_the_editions_taste_in_open_strings(small_part: ReadPart) -> None:
    """Three open strings' notes, each reached from below and left downwards; two are printed 4.

    The third has two such notes elsewhere: 2 of 2 + 4, a third of 3 points on other fingers than
    4. Either of the first two has one: 1 of 1 + 4, a fifth of 3 points.
    """
    words = "C5 E5:4 D5 B4 F4 A4:4 G4 B4 C5 D5 E5 B4"
    found = searched(small_part("violin", words), {OPEN_STRING: 3.0})
    prices = told(found, OPEN_STRING)
    assert prices.keys() == {1, 5, 10}
    assert prices[10] == pytest.approx([1, 1, 1, 1, 0])
    assert prices[1] == prices[5] == pytest.approx([0.6, 0.6, 0.6, 0.6, 0])
    assert [fingers(found)[index] for index in (1, 5, 10)] == [4, 4, 4]


@pytest.mark.parametrize(
    "words",
    [
        "C5 E5:4 D5 B4 C5 D5 E5 F5",  # the line goes on upwards
        "C5 E5:4 D5 F5 E5 G5",  # a lower turn
        "C5 E5:4 D5 B4 C5 E5 E5 D5",  # the note comes twice
        "C5 E5:4 D5 B4 C5 D5 C5",  # no open string's pitch
        "C5 E5:4 D5 B4 C5 E5",  # the end
        "E5 D5 B4 C5 E5:4 D5",  # the beginning
        "C5 E5:4 D5 B4 G4+B4 E5 D5",  # a chord before it
    ],
)
def test_another_turn_says_nothing(small_part: ReadPart, words: str) -> None:
    assert searched(small_part("violin", words), {OPEN_STRING: 3.0}).prices == {}


def test_a_taste_for_open_strings_too(small_part: ReadPart) -> None:
    """Here the fourth finger is cheap, and the edition prints the open string."""
    words = "C5 E5:0 D5 B4 F4 A4:0 G4 B4 C5 D5 E5 B4"
    cheap = by_letters({OPEN_STRING: 3.0})
    cheap = replace(
        cheap, note=MappingProxyType({**cheap.note, "fourth finger": 0.0, "open string": 0.5})
    )
    part = small_part("violin", words)
    without = replace(cheap, habit=by_letters({}).habit)
    assert fingers(solve(build(HAND, without, part.events, use_marks=True)))[10] == 4
    assert fingers(solve(build(HAND, cheap, part.events, use_marks=True)))[10] == 0


# ── where nothing is said ───────────────────────────────────────────────────────────────────────

ALL = {FIGURE: 2.0, SEQUENCE: 2.0, OPEN_STRING: 3.0, BEFORE: 0.5}


def test_nothing_is_said_where_nothing_repeats(small_part: ReadPart) -> None:
    found = searched(small_part("violin", "G3:0 C4:3 B4 F5 D5:3 E5 A4 B5 C5:2 G4 F#4"), ALL)
    assert found.prices == {}


@pytest.mark.parametrize(
    "words",
    [
        "C5 D5 G4+E5:4 D5 C5 G4 C5 D5 G4+E5 D5 C5",  # the note itself
        "C5 D5 E5:4 D5 E4+C5 G4 C5 D5 E5 D5 E4+C5",  # two notes on
    ],
)
def test_chords_are_left_alone(small_part: ReadPart, words: str) -> None:
    single = words.replace("G4+", "").replace("E4+", "")
    assert searched(small_part("violin", single), {FIGURE: 2.0}).prices
    assert searched(small_part("violin", words), {**ALL, OPEN_STRING: 0.0}).prices == {}


def test_a_note_above_a_held_one_is_left_alone(small_part: ReadPart) -> None:
    """D5 is held while the second E5 comes: the hand is not free to do as before."""
    events = list(small_part("violin", TWICE).events)
    events[8] = replace(events[8], held=(NoteRef(7, 0),))
    found = solve(build(HAND, by_letters({FIGURE: 2.0, BEFORE: 2.0}), events, use_marks=True))
    assert len(found.trellis.moments[8].kind.pitch) == 2
    assert found.prices == {}


def test_a_chord_in_the_way_changes_nothing_elsewhere(small_part: ReadPart) -> None:
    found = searched(small_part("violin", TWICE.replace("G4", "D4+B4")), ALL)
    assert len(found.trellis.moments[5].kind.pitch) == 2
    assert not any(points[5].any() for points in found.prices.values())
    assert fingers(found)[8] == 4


# ── exact ───────────────────────────────────────────────────────────────────────────────────────

HABITS = {FIGURE: 1.7, SEQUENCE: 1.1, OPEN_STRING: 2.3, BEFORE: 0.6}
TASTES = replace(
    weights_for(Player()),
    note=MappingProxyType(
        {
            **by_letters({}).note,
            "above first position": 0.31, "half position": 0.7, "open string": 0.23,
            "open string rings on": 0.11, "fourth finger": 0.37, "extension": 0.83,
            "letter against finger": 1.31, "contraction": 0.9, "broken chord": 0.5,
            "held note let go": 1.0,
        }
    ),
    step=MappingProxyType(
        {
            **by_letters({}).step,
            "shift": 1.3, "shift distance": 0.07, "string crossing": 0.29, "finger hops": 0.71,
            "finger slides": 0.43, "shape strained": 0.19, "position renamed": 2.9,
            "fingers out of order": 7.0, "hand moves a little": 0.53,
        }
    ),
    habit=MappingProxyType(HABITS),
)  # fmt: skip
"""Weights with few ties, so that the habits decide here and there."""


def as_said(trellis: Trellis, path: Sequence[int]) -> list[list[float]]:
    """Points by moment and finger, from the words in the head of ``habits.py``, note by note."""
    moments = trellis.moments
    alone = [len(moment.kind.pitch) == 1 for moment in moments]
    pitch = [int(moment.kind.pitch[0]) for moment in moments]
    taken = [int(m.kind.states.finger[row, 0]) for m, row in zip(moments, path, strict=True)]
    printed = [any(mark.fingers or mark.open_string for mark in m.kind.marks) for m in moments]
    strings = [string.midi for string in trellis.hand.instrument.strings]

    def inside(index: int, reach: int) -> bool:
        return all(
            0 <= place < len(moments) and alone[place]
            for place in range(index - reach, index + reach + 1)
        )

    def figure(index: int) -> tuple[int, ...] | None:
        return tuple(pitch[index - 2 : index + 3]) if inside(index, 2) else None

    def sequence(index: int) -> tuple[int, ...] | None:
        here = figure(index)
        return here and tuple(b - a for a, b in pairwise(here))

    def turn(index: int) -> tuple[bool, ...] | None:
        if not inside(index, 1) or pitch[index] not in strings:
            return None
        before, here, after = pitch[index - 1 : index + 2]
        return before > here, before < here, after > here, after < here

    points = [[0.0] * 5 for _ in moments]
    for name, alike, only_printed, doubt in (
        (FIGURE, figure, True, 1), (SEQUENCE, sequence, True, 1), (OPEN_STRING, turn, True, 4),
        (BEFORE, figure, False, 0),
    ):  # fmt: skip
        keys = [alike(index) for index in range(len(moments))]
        for index, key in enumerate(keys):
            elsewhere = [
                taken[other]
                for other in range(len(moments))
                if key is not None
                and keys[other] == key
                and other != index
                and (printed[other] or not only_printed)
            ]
            for one in range(5) if elsewhere else ():
                others = sum(other != one for other in elsewhere)
                points[index][one] += HABITS[name] * others / (len(elsewhere) + doubt)
    return points


def own_costs(trellis: Trellis, points: Sequence[Sequence[float]]) -> list[NDArray[np.int64]]:
    """Cost units of every state by itself, the habits' put in."""
    return [
        trellis.costs.rows(moment.kind.rows).lasting(moment.seconds)
        + BROKEN_MARK * moment.kind.broken
        + np.rint(POINT * np.array(priced)[moment.kind.states.finger[:, 0]]).astype(np.int64)
        for moment, priced in zip(trellis.moments, points, strict=True)
    ]


def first_pass(part: Part, ceiling: int) -> tuple[Trellis, tuple[int, ...]]:
    hand = replace(HAND, ceiling=PositionNumber(ceiling))
    trellis = build(hand, TASTES, part.events, use_marks=True)
    return trellis, run_passes(trellis, step_tables(trellis)).path


def least_of_all(trellis: Trellis, own: Sequence[NDArray[np.int64]]) -> int:
    """The cheapest of all paths, each priced."""
    table = step_tables(trellis)
    total = own[0]
    for index in range(1, len(own)):
        total = total[..., None] + table(index) + own[index]
    return int(total.min())


REPEATS = (
    "D5 E5:4 D5 E5 D5 E5 D5",
    "A4 A4 A4 A4 A4:0 A4",
    "C5 B4:2 C5 B4 C5 B4 C5",
    "D5 E5 C5 E5:0 D5 E5 C5",
    "E5 D5:4 E5 D5 E5:0 D5 E5",
    "A3 B3 C#4:3 D#4 F4 G4",
)


@pytest.mark.parametrize("words", REPEATS)
def test_the_second_pass_is_the_cheapest_of_all_paths(small_part: ReadPart, words: str) -> None:
    trellis, path = first_pass(small_part("violin", words), 1)
    points = as_said(trellis, path)
    assert any(map(any, points))
    found = solve(trellis)
    assert int(found.passes.forward[-1].min()) == pytest.approx(
        least_of_all(trellis, own_costs(trellis, points)), abs=len(HABITS) * len(points)
    )
    assert int(found.passes.forward[-1].min()) == least_of_all(trellis, found.passes.own)


def tune(seed: int) -> str:
    """Figures that come back, some a fifth lower, here and there with a mark, a rest, a chord."""
    rng = np.random.default_rng(seed)
    upper = ("A4", "B4", "C5", "D5", "E5", "F#5", "G5")
    lower = ("D4", "E4", "F4", "G4", "A4", "B4", "C5")
    figures = [rng.integers(0, 7, 6).tolist() for _ in range(2)]
    words: list[str] = []
    for _ in range(8):
        names = upper if rng.random() < 0.6 else lower
        for place in figures[int(rng.integers(0, 2))]:
            mark = f":{rng.integers(0, 5)}" if rng.random() < 0.15 else ""
            words.append(names[place] + mark)
        if rng.random() < 0.4:
            words.append(str(rng.choice(["r", "D4+B4", "G3+E4:1", "G5"])))
    return " ".join(words)


@pytest.mark.parametrize("seed", range(4))
def test_the_second_pass_is_a_shortest_path(small_part: ReadPart, seed: int) -> None:
    # Source: networkx, Dijkstra's shortest path on the graph of the second pass.
    trellis, path = first_pass(small_part("violin", tune(seed)), 3)
    found = solve(trellis)
    assert found.prices.keys() == set(HABITS)
    said = np.array(as_said(trellis, path))
    assert sum(found.prices.values()) == pytest.approx(said)
    graph: nx.DiGraph[object] = nx.DiGraph()
    for row, cost in enumerate(own_cost(found, 0)):
        graph.add_edge("start", (0, row), weight=cost)
    last = len(found.trellis.moments) - 1
    for index in range(1, last + 1):
        for (before, row), cost in np.ndenumerate(found.table(index) + own_cost(found, index)):
            graph.add_edge((index - 1, before), (index, row), weight=int(cost))
    for row in range(len(own_cost(found, last))):
        graph.add_edge((last, row), "end", weight=0)
    least = nx.dijkstra_path_length(graph, "start", "end")
    assert least == int(found.passes.forward[-1].min())
    assert path != found.passes.path


def own_cost(solution: Solution, index: int) -> NDArray[np.int64]:
    return solution.passes.own[index]


# ── items ───────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("seed", range(4))
def test_items_add_up_to_the_cost_habits_and_all(small_part: ReadPart, seed: int) -> None:
    found = finger(HAND, TASTES, small_part("violin", tune(seed)).events)
    items = [item for step in found.steps for item in step.costs]
    assert set(HABITS) & {name for name, _ in items}
    # Each item is rounded to a thousandth of a point.
    assert sum(points for _, points in items) == pytest.approx(found.cost, abs=0.001 * len(items))


def test_a_habit_is_itemised_where_it_is_paid(small_part: ReadPart) -> None:
    """The first E5 is printed 4 against two open ones of its kind: all of 1 point."""
    part = small_part("violin", f"{TWICE} G4 C5 D5 E5 D5 C5 G4")
    found = finger(HAND, by_letters({BEFORE: 1.0}), part.events)
    assert found.steps[2].costs == ((BEFORE, 1.0), ("fourth finger", 0.5))
    assert found.steps[8].costs == ((BEFORE, 0.5),)
    assert found.steps[3].costs == ()
    assert found.cost == pytest.approx(1.0 + 0.5 + 0.5 + 0.5)
