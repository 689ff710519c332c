"""Weights from marked parts: the objective and its slope by brute force, and what a fit finds.

Tunes are written as in ``tests/conftest.py``: ``E5:4`` is E5 with a printed fourth finger. All
weights are these tests' own.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise, product
from types import MappingProxyType

import numpy as np
import pytest
from numpy.typing import NDArray

from scoretools.fingering.cost import note_items, step_items
from scoretools.fingering.excess import NAMES, Example, Measures, excess
from scoretools.fingering.fit import FLOORS, KEPT, MARGIN, PULL, SHARPNESS, Fit, example, fit
from scoretools.fingering.note_terms import NOTE_TERMS
from scoretools.fingering.rows import LET_GO, Hand
from scoretools.fingering.search import finger
from scoretools.fingering.step_terms import STEP_TERMS, Pairs
from scoretools.fingering.trellis import Moment
from scoretools.fingering.weights import Weights, weights_for
from scoretools.hand import hand_reach
from scoretools.instrument import instrument
from scoretools.model import (
    NO_MARKS,
    Address,
    Event,
    Finger,
    Key,
    Marks,
    Note,
    NoteRef,
    Pitch,
    PositionNumber,
    PrintedString,
)
from scoretools.player import Player

pytest.importorskip("scipy")

FloatArray = NDArray[np.float64]

VIOLIN = instrument("violin")
LARGEST = 20.0


def hand(ceiling: int) -> Hand:
    return Hand(VIOLIN, hand_reach(VIOLIN, Player()), PositionNumber(ceiling))


# ── small parts ─────────────────────────────────────────────────────────────────────────────────


def note(word: str) -> Note:
    """Make a note of a word such as ``C#5:2@2``: a pitch, a printed finger, a printed string."""
    name, _, marked = word.partition(":")
    finger_printed, _, string_printed = marked.partition("@")
    alter = name.count("#") - name.count("b")
    marks = Marks(
        fingers=(Finger(int(finger_printed)),) if finger_printed not in ("", "0") else (),
        open_string=finger_printed == "0",
        string=PrintedString(int(string_printed)) if string_printed else None,
    )
    quarter = Fraction(1)
    place = Address("P1", 0, 0)
    return Note(
        Pitch(name[0], alter, int(name[-1])), quarter, quarter, "1", 1, False, False, marks, place
    )


def part(words: str, seconds: float = 0.4) -> tuple[Event, ...]:
    """Events of a row of words, all as long.

    ``D4+B4`` is struck together; a word in brackets comes under a slur; after ``=`` the lowest note
    before it sounds on.
    """
    key = Key((0,) * 7, 0, "major")
    return tuple(
        Event(
            index, 0, Fraction(index), index * seconds, (index + 1) * seconds, Fraction(1),
            tuple(note(one) for one in word.strip("=()").split("+")),
            (NoteRef(index - 1, 0),) if word.startswith("=") else (),
            key, False, word.endswith(")"),
        )
        for index, word in enumerate(words.split())
    )  # fmt: skip


def bare(events: Sequence[Event]) -> tuple[Event, ...]:
    """The same music without marks."""
    return tuple(
        replace(event, notes=tuple(replace(one, marks=NO_MARKS) for one in event.notes))
        for event in events
    )


def example_of(words: str, ceiling: int = 1) -> Example:
    made = example(hand(ceiling), as_weights(BASE), part(words))
    assert made is not None
    return made


BASE = MappingProxyType({name: max(FLOORS.get(name, 0.0), 0.2) for name in NAMES})
"""Weights in hand: every term counts."""


def as_weights(values: Mapping[str, float]) -> Weights:
    shipped = weights_for(Player())
    return replace(
        shipped,
        note=MappingProxyType({term.name: values[term.name] for term in NOTE_TERMS}),
        step=MappingProxyType({term.name: values[term.name] for term in STEP_TERMS}),
        habit=MappingProxyType(dict.fromkeys(shipped.habit, 0.0)),
    )


# ── the objective, by brute force ───────────────────────────────────────────────────────────────

ONE_UNIT_A_POINT = as_weights(dict.fromkeys(NAMES, 1.0))


def units_alone(who: Hand, moment: Moment) -> FloatArray:
    """(n, note terms) units of each state of a moment."""
    states = moment.kind.states
    seconds = np.full(len(states), moment.seconds)
    items = note_items(who, ONE_UNIT_A_POINT, states, seconds)
    return np.stack([items[term.name] for term in NOTE_TERMS], axis=1)


def units_between(who: Hand, before: Moment, after: Moment) -> tuple[FloatArray, NDArray[np.bool_]]:
    """(n, m, step terms) units of each step, and whether a held note stays where it is."""
    n, m = len(before.kind.states), len(after.kind.states)
    first, second = np.repeat(np.arange(n), m), np.tile(np.arange(m), n)
    states = before.kind.states.rows(first), after.kind.states.rows(second)
    pitch = np.tile(before.kind.pitch, (n * m, 1)), np.tile(after.kind.pitch, (n * m, 1))
    kept = np.zeros((len(before.kind.pitch), len(after.kind.pitch)), dtype=np.bool_)
    for pair in after.kept:
        kept[pair] = True
    pairs = Pairs.between(who, states, pitch, kept)
    items = step_items(ONE_UNIT_A_POINT, pairs, [after.context] * (n * m))
    units = np.stack([items[term.name] for term in STEP_TERMS], axis=1)
    stays = np.ones(n * m, dtype=np.bool_)
    for a, b in after.kept:
        same = states[0].string[:, a] == states[1].string[:, b]
        same &= states[0].finger[:, a] == states[1].finger[:, b]
        stays &= same | (states[1].finger[:, b] == LET_GO)
    return units.reshape(n, m, -1), stays.reshape(n, m)


def every_fingering(made: Example) -> tuple[FloatArray, FloatArray]:
    """Units of every term, and events whose marks are missed, for each complete fingering."""
    moments = [one.moment for one in made.moments]
    alone = [units_alone(made.hand, moment) for moment in moments]
    between = [units_between(made.hand, *pair) for pair in pairwise(moments)]
    rows = np.array(list(product(*(range(len(units)) for units in alone))))
    notes = sum(units[rows[:, index]] for index, units in enumerate(alone))
    steps = np.zeros((len(rows), len(STEP_TERMS)))
    possible = np.ones(len(rows), dtype=np.bool_)
    for index, (units, stays) in enumerate(between):
        steps += units[rows[:, index], rows[:, index + 1]]
        possible &= stays[rows[:, index], rows[:, index + 1]]
    missed = np.zeros(len(rows))
    for index, one in enumerate(made.moments):
        if one.missed is not None:
            missed += one.missed[rows[:, index]]
    return np.concatenate([notes, steps], axis=1)[possible], missed[possible]


def log_sum(logs: FloatArray) -> float:
    return float(logs.max() + np.log(np.exp(logs - logs.max()).sum()))


def by_brute_force(
    all_of_them: tuple[FloatArray, FloatArray], values: FloatArray, sharpness: float, margin: float
) -> float:
    """What the head of ``fit.py`` says of one part."""
    units, missed = all_of_them
    cost = units @ values
    free = log_sum(sharpness * (margin * missed - cost))
    marked = log_sum(-sharpness * cost[missed == 0])
    return (free - marked) / sharpness


SHORT = (
    "D5 E5:4 D5",
    "C#5 (B4:1 A4) G#4:3@3",
    "D4+B4:1 A4:0 F#4",
    "D5:3 =F#4 =G4:3 E5",
    "G4:3+D5:3 E5",
)
"""Short marked parts: single notes, a slur, double stops, a held note."""


@pytest.mark.parametrize("words", SHORT)
@pytest.mark.parametrize(("sharpness", "margin"), [(SHARPNESS, MARGIN), (1.0, 0.0), (0.7, 2.0)])
def test_the_objective_is_what_it_is_said_to_be(
    words: str, sharpness: float, margin: float
) -> None:
    made = example_of(words)
    all_of_them = every_fingering(made)
    rng = np.random.default_rng(len(words))
    for _ in range(3):
        values = rng.uniform(0.05, 1.5, len(NAMES))
        points, _ = excess([made], [0.3], values, Measures(), sharpness, margin)
        expected = by_brute_force(all_of_them, values, sharpness, margin)
        assert points == pytest.approx(0.3 * expected, abs=2e-4)


@pytest.mark.parametrize("words", SHORT)
def test_the_slope_is_that_of_brute_force(words: str) -> None:
    made = example_of(words)
    all_of_them = every_fingering(made)
    values = np.random.default_rng(len(words)).uniform(0.05, 1.5, len(NAMES))
    _, slope = excess([made], [2.0], values, Measures(), 1.3, MARGIN)
    around = np.eye(len(NAMES)) * 1e-4
    expected = [
        2.0
        * (
            by_brute_force(all_of_them, values + away, 1.3, MARGIN)
            - by_brute_force(all_of_them, values - away, 1.3, MARGIN)
        )
        / 2e-4
        for away in around
    ]
    assert np.abs(slope).max() > 0.05
    assert slope == pytest.approx(np.array(expected), abs=1e-3)


LONGER = (
    "G3 B3:2 D4 G4:3 B4 D5 G5:2 (F#5 E5) D5:3@3 C5 (B4 A4:0) G4",
    "D4+B4 A4 =B4:1 =C#5 D5 F#4+A4:0 E5:4 D5 G#4:3 F4+D5:3",
    "A4 A4 A4 E5:4 E5 E5 A5:3 A5 A5 E5:0 E5",
)


def test_the_slope_equals_finite_differences() -> None:
    examples = [example_of(words, ceiling=3) for words in LONGER]
    shares = [1.0, 0.5, 0.25]
    measures = Measures()
    rng = np.random.default_rng(7)
    values = rng.uniform(0.05, 1.2, len(NAMES))
    _, slope = excess(examples, shares, values, measures, 1.0, MARGIN)
    step = 0.004
    for index, name in enumerate(NAMES):
        away = np.zeros(len(NAMES))
        away[index] = step
        more, _ = excess(examples, shares, values + away, measures, 1.0, MARGIN)
        less, _ = excess(examples, shares, values - away, measures, 1.0, MARGIN)
        assert slope[index] == pytest.approx((more - less) / (2 * step), abs=4e-3), name
    assert (np.abs(slope) > 0.02).sum() > len(NAMES) // 2


def test_parts_are_added_up_by_their_shares() -> None:
    examples = [example_of(words) for words in SHORT]
    shares = [0.1, 0.7, 1.0, 0.4, 2.0]
    values = np.array([BASE[name] for name in NAMES])
    together, slope = excess(examples, shares, values, Measures(), SHARPNESS, MARGIN)
    each = [
        excess([one], [share], values, Measures(), SHARPNESS, MARGIN)
        for one, share in zip(examples, shares, strict=True)
    ]
    assert together == pytest.approx(sum(points for points, _ in each))
    assert slope == pytest.approx(sum(slopes for _, slopes in each), abs=1e-5)


# ── a fit ───────────────────────────────────────────────────────────────────────────────────────

TUNES = (
    "A4 B4 C#5 D5 E5 D5 C#5 B4 A4 C#5 E5 C#5 A4",
    "D4 F#4 A4 D5 F#5 D5 A4 F#4 D4 E4 F#4 G4 A4 G4 F#4 E4",
    "G4 A4 B4 C5 D5 E5 D5 B4 G4 A4 G4 F#4 G4",
    "E4 A4 G#4 A4 B4 A4 E4 C5 B4 E5 D5 B4 A4",
)
TASTE = {**BASE, "open string": 3.0, "open string rings on": 2.0, "fourth finger": 0.1}
"""A player who shuns open strings."""


def marked(words: str, values: Mapping[str, float]) -> tuple[Event, ...]:
    """A tune with the fingers printed that a player of these weights takes."""
    events = part(words)
    found = finger(hand(1), as_weights(values), events)
    return tuple(
        replace(
            event,
            notes=tuple(
                replace(one, marks=Marks(fingers=(choice.stop.finger,)))
                for one, choice in zip(event.notes, step.choices, strict=True)
            ),
        )
        for event, step in zip(events, found.steps, strict=True)
    )


def fitted(examples: Sequence[Example], weights: Weights, rounds: int = 25) -> Fit:
    return fit(examples, [1.0] * len(examples), weights, rounds)


def agreement(tunes: Sequence[Sequence[Event]], weights: Weights) -> float:
    """Share of the printed fingers that the search takes without looking at them."""
    same = [
        choice.stop.finger in one.marks.fingers
        for events in tunes
        for event, step in zip(
            events, finger(hand(1), weights, events, use_marks=False).steps, strict=True
        )
        for one, choice in zip(event.notes, step.choices, strict=True)
    ]
    return sum(same) / len(same)


@pytest.fixture(scope="module")
def tunes() -> list[tuple[Event, ...]]:
    return [marked(words, TASTE) for words in TUNES]


@pytest.fixture(scope="module")
def found(tunes: list[tuple[Event, ...]]) -> Fit:
    return fitted(examples_of(tunes), as_weights(BASE))


def examples_of(tunes: Sequence[Sequence[Event]]) -> list[Example]:
    made = [example(hand(1), as_weights(BASE), events) for events in tunes]
    return [one for one in made if one is not None]


def test_a_fit_finds_the_player_s_taste(tunes: list[tuple[Event, ...]], found: Fit) -> None:
    assert len(examples_of(tunes)) == len(TUNES)
    before = agreement(tunes, as_weights(BASE))
    after = agreement(tunes, as_weights({**found.note, **found.step}))
    assert before < 0.9
    assert after > 0.98
    price = found.note["open string"] - found.note["fourth finger"]
    assert price > BASE["open string"] - BASE["fourth finger"]


def test_a_fit_carries_over_to_a_tune_it_has_not_seen(found: Fit) -> None:
    unseen = [marked("B4 C#5 D5 E5 C#5 A4 F#4 A4 D5 E5 D5 G4 A4 F#4 G4", TASTE)]
    before = agreement(unseen, as_weights(BASE))
    assert agreement(unseen, as_weights({**found.note, **found.step})) > before


def test_a_fit_lowers_the_objective(tunes: list[tuple[Event, ...]], found: Fit) -> None:
    """The objective is the excess and the pull towards the weights in hand."""
    examples = examples_of(tunes)
    shares = [1.0] * len(examples)
    start = np.array([BASE[name] for name in NAMES])
    end = np.array([{**found.note, **found.step}[name] for name in NAMES])
    before, _ = excess(examples, shares, start, Measures(), SHARPNESS, MARGIN)
    after, _ = excess(examples, shares, end, Measures(), SHARPNESS, MARGIN)
    assert found.objective_before == pytest.approx(before)
    # The weights are told to a thousandth of a point.
    pull = PULL * float(((end - start) ** 2).sum())
    assert found.objective == pytest.approx(after + pull, abs=0.01)
    assert found.objective < found.objective_before / 2


def test_a_fit_ends_where_the_marks_and_the_pull_balance() -> None:
    """Prices between their bounds stop where neither way is better, those at a floor below it."""
    examples = examples_of([part("D5 E5:4 D5:3 C5 B4:1 A4:0 G4:3")])
    result = fit(examples, [0.3], as_weights(BASE), 300)
    end = np.array([{**result.note, **result.step}[name] for name in NAMES])
    start = np.array([BASE[name] for name in NAMES])
    _, slope = excess(examples, [0.3], end, Measures(), SHARPNESS, MARGIN)
    whole = slope + 2 * PULL * (end - start)
    for name, value, here in zip(NAMES, end.tolist(), whole.tolist(), strict=True):
        if name in KEPT:
            continue
        if value > FLOORS.get(name, 0.0):
            assert here == pytest.approx(0, abs=2e-3), name
        else:
            assert here > -2e-3, name
    assert (np.abs(end - start) > 0.05).any()


def test_every_evaluation_is_told(tunes: list[tuple[Event, ...]]) -> None:
    told: list[tuple[int, float]] = []
    examples = examples_of(tunes)
    result = fit(
        examples, [1.0] * len(examples), as_weights(BASE), 3,
        lambda count, objective: told.append((count, objective)),
    )  # fmt: skip
    assert [count for count, _ in told] == list(range(1, result.evaluations + 1))
    assert told[0][1] == result.objective_before
    assert min(objective for _, objective in told) == result.objective


def test_every_weight_is_told_within_its_bounds(found: Fit) -> None:
    values = {**found.note, **found.step}
    assert set(values) == set(NAMES)
    for name, value in values.items():
        assert FLOORS.get(name, 0.0) <= value <= LARGEST, name


def test_prices_stop_at_their_floors() -> None:
    """The fourth finger is printed throughout, on long notes: no price is low enough for that."""
    examples = examples_of([part("D5 E5:4 C5 A4:4 G4 A4:4 D5 E5:4", seconds=2.0)])
    floor = FLOORS["fourth finger"]
    values = fit(examples, [10.0], as_weights({**BASE, "fourth finger": floor + 0.05})).note
    assert values["fourth finger"] == floor > 0
    assert "fourth finger held" not in FLOORS
    assert values["fourth finger held"] == 0.0


def test_weights_in_hand_are_first_brought_within_bounds() -> None:
    fond = examples_of([part("D5:3 E5:4 D5:3")])
    low = {**BASE, "shift": 0.0, "letter against finger": 0.0}
    brought = {**BASE, **{name: FLOORS[name] for name in ("shift", "letter against finger")}}
    start = np.array([brought[name] for name in NAMES])
    expected, _ = excess(fond, [1.0], start, Measures(), SHARPNESS, MARGIN)
    result = fitted(fond, as_weights(low), 2)
    assert result.objective_before == pytest.approx(expected)
    high = {**BASE, "fingers out of order": 50.0}
    assert fitted(fond, as_weights(high), 2).step["fingers out of order"] == LARGEST


def test_terms_that_marks_say_nothing_of_are_kept() -> None:
    """The third finger is printed below a note that it should hold: that must be let go."""
    music = part("D5:3 =F#4:3 D5:3 =F4:3")
    odd = {**BASE, **dict.fromkeys(KEPT, 1.234)}
    made = example(hand(1), as_weights(odd), music)
    assert made is not None
    start = np.array([odd[name] for name in NAMES])
    _, slope = excess([made], [1.0], start, Measures(), SHARPNESS, MARGIN)
    assert abs(slope[NAMES.index("held note let go")]) > 0.05  # it would be fitted if it might
    result = fitted([made], as_weights(odd), 20)
    values = {**result.note, **result.step}
    assert set(NAMES) > KEPT
    assert {name: values[name] for name in KEPT} == dict.fromkeys(KEPT, 1.234)
    assert values != odd


# ── examples ────────────────────────────────────────────────────────────────────────────────────


def test_an_example_counts_its_marks() -> None:
    made = example_of("A4:0 B4 C#5:2 D4+B4:1")
    assert made.marks == 3
    assert [one.missed is not None for one in made.moments] == [True, False, True, True]
    missed = made.moments[2].missed
    assert missed is not None
    fingers = made.moments[2].moment.kind.states.finger[:, 0]
    assert missed.tolist() == [float(one != 2) for one in fingers]


@pytest.mark.parametrize(
    "words",
    [
        "A4 B4 C5",  # nothing is printed
        "B4:0 C5 D5",  # no hand can do what is printed
        "G3:0 C4 D4",  # nothing else can be done
        "F3:1 A4",  # the note is below the instrument
        "B4 D5:1 E5",  # only a hand beyond its ceiling can do it
    ],
)
def test_what_carries_no_usable_mark_is_no_example(words: str) -> None:
    assert example(hand(1), as_weights(BASE), part(words)) is None


def test_bare_music_is_no_example(tunes: list[tuple[Event, ...]]) -> None:
    assert example(hand(1), as_weights(BASE), bare(tunes[0])) is None
