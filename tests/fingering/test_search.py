"""The search finds the true optimum: against brute force, against a graph library, by hand."""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise, product
from types import MappingProxyType

import networkx as nx
import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scoretools.fingering.cost import FORBIDDEN, POINT, step_costs
from scoretools.fingering.rows import LET_GO, Hand
from scoretools.fingering.search import (
    BROKEN_MARK,
    Fingering,
    finger,
    run_passes,
)
from scoretools.fingering.states import States
from scoretools.fingering.step_terms import Pairs
from scoretools.fingering.tables import step_tables
from scoretools.fingering.trellis import Trellis, build
from scoretools.fingering.weights import weights_for
from scoretools.hand import hand_reach
from scoretools.instrument import Instrument, instrument
from scoretools.model import (
    Address,
    Event,
    Finger,
    Harmonic,
    Key,
    Marks,
    Note,
    NoteRef,
    Ornament,
    OrnamentKind,
    Pitch,
    PositionNumber,
    PrintedString,
)
from scoretools.player import Player, Profile

C_MAJOR = Key((0,) * 7, 0, "major")
UNMARKED = Marks()
VIOLIN = instrument("violin")
WEIGHTS = weights_for(Player())
BY_HAND = replace(
    WEIGHTS,
    note=MappingProxyType(
        {
            **WEIGHTS.note,
            "open string": 0.15,
            "open string rings on": 0.2,
            "fourth finger": 0.45,
            "fourth finger held": 0.0,
            "high second finger": 0.0,
            "high third finger": 0.0,
            "long note in first position": 0.0,
            "open top string rings on": 0.0,
        }
    ),
    step=MappingProxyType(
        {
            **WEIGHTS.step,
            "string crossing": 0.25,
            "string crossing under a slur": 0.3,
            "hasty string crossing": 0.4,
            "string crossing between stops": 0.0,
            "crossing from the fourth finger": 0.0,
        }
    ),
)
"""Round weights for what is worked by hand, so that it does not hang on the shipped ones."""


def hand(ceiling: int = 3, of: Instrument = VIOLIN) -> Hand:
    return Hand(of, hand_reach(of, Player()), PositionNumber(ceiling))


def pitch(name: str) -> Pitch:
    step, accidentals, octave = name[0], name[1:-1], int(name[-1])
    return Pitch(step, accidentals.count("#") - accidentals.count("b"), octave)


def note(name: str, marks: Marks = UNMARKED, ornament: Ornament | None = None) -> Note:
    quarter = Fraction(1)
    place = Address("P1", 0, 0)
    return Note(
        pitch(name), quarter, quarter, "1", 1, False, False, marks, place, ornament=ornament
    )


def trill(name: str, above: str, marks: Marks = UNMARKED) -> Note:
    return note(name, marks, Ornament(OrnamentKind.TRILL, (pitch(above),)))


def harmonic(name: str, kind: Harmonic) -> Note:
    return note(name, Marks(harmonic=kind))


def artificial(base: str, touching: str) -> list[Note]:
    """A stopped note and the one touched above it on the same string."""
    return [
        harmonic(base, Harmonic.ARTIFICIAL_BASE),
        harmonic(touching, Harmonic.ARTIFICIAL_TOUCHING),
    ]


def events(
    chords: Sequence[Sequence[Note]],
    seconds: float = 0.5,
    slurred: Sequence[bool] = (),
    held: Sequence[tuple[NoteRef, ...]] = (),
) -> tuple[Event, ...]:
    return tuple(
        Event(
            index=index,
            measure=0,
            onset_ql=Fraction(index),
            onset_s=index * seconds,
            end_s=(index + 1) * seconds,
            beat=Fraction(1 + index),
            notes=tuple(chord),
            held=held[index] if held else (),
            key=C_MAJOR,
            grace=False,
            slurred=bool(slurred) and slurred[index],
        )
        for index, chord in enumerate(chords)
    )


# ── by hand ─────────────────────────────────────────────────────────────────────────────────────


def test_scale_in_first_position_worked_by_hand() -> None:
    """A B C# D on the A string, half a second each, no slur.

    Open A costs 0.15 and, ringing for half a second, half of 0.2. B, C# and D lie under fingers
    1, 2 and 3 of a hand at home (2 semitones above the nut): they cost nothing, and neither does
    a step between fingers that stay on one string.
    """
    found = finger(hand(1), BY_HAND, events([[note(n)] for n in ("A4", "B4", "C#5", "D5")]))
    stops = [step.choices[0].stop for step in found.steps]
    assert [(stop.string, stop.finger, stop.offset) for stop in stops] == [
        (2, 0, 0), (2, 1, 2), (2, 2, 4), (2, 3, 5)
    ]  # fmt: skip
    assert found.cost == pytest.approx(0.15 + 0.5 * 0.2)
    assert found.steps[0].costs == (("open string", 0.15), ("open string rings on", 0.1))


def test_fourth_finger_or_open_string_worked_by_hand() -> None:
    """D5 E5 D5 with a slur: the fourth finger stays, the open E crosses twice under the slur."""
    line = events([[note(n)] for n in ("D5", "E5", "D5")], slurred=[False, True, True])
    found = finger(hand(1), BY_HAND, line)
    assert [step.choices[0].stop.finger for step in found.steps] == [3, 4, 3]
    # Half a second is a haste of 5 sixteenths; the open string rings for half a second.
    crossing = 0.25 + 0.3 + 5 / 16 * 0.4
    expected = 2 * crossing + (0.15 + 0.5 * 0.2) - 0.45
    assert found.steps[1].choices[0].margin == pytest.approx(expected, abs=0.002)


def test_items_add_up_to_the_cost() -> None:
    line = events(
        [[note(n)] for n in ("G3", "E5", "B5", "D6", "F#5", "C5")] + [[note("D4"), note("B4")]]
    )
    found = finger(hand(3), WEIGHTS, line)
    items = sum(points for step in found.steps for _, points in step.costs)
    assert items == pytest.approx(found.cost, abs=0.01)


# ── brute force ─────────────────────────────────────────────────────────────────────────────────

NAMES = (
    "G3", "A3", "Bb3", "C4", "D4", "E4", "F4", "F#4", "G#4", "A4", "B4", "C5", "C#5", "D5", "E5",
    "F5", "G5", "A5", "B5", "C6",
)  # fmt: skip


TRILLS = (("E4", "F#4"), ("A4", "Bb4"), ("B4", "C5"), ("D5", "E5"), ("F#5", "G5"), ("B5", "C6"))
NATURAL = ("G4", "D5", "A5", "E6", "G5", "B6", "D6")
"""What a string sounds when touched at its half, third or quarter. Source: the harmonic series."""
ARTIFICIAL = (("A3", "D4"), ("E4", "A4"), ("F4", "A4"), ("B4", "E5"), ("C5", "F5"), ("F#5", "B5"))
"""Stopped notes and what is touched above them, a fourth, or once a third."""
BROKEN_CHORDS = (("B4", "D5", "F#5"), ("E4", "G4", "B4"), ("A3", "D4", "C5", "F#5"))


@st.composite
def short_parts(draw: st.DrawFn) -> tuple[Event, ...]:
    count = draw(st.integers(2, 4))
    chords: list[list[Note]] = []
    held: list[tuple[NoteRef, ...]] = []
    for index in range(count):
        chords.append(draw(chord()))
        ways: list[tuple[NoteRef, ...]] = [(), ()]
        if index:
            ways += [(NoteRef(index - 1, place),) for place, _ in enumerate(chords[-2])]
            ways += [held[-1]]  # what was held before goes on
        held.append(draw(st.sampled_from(ways)))
    slurs = draw(st.lists(st.booleans(), min_size=count, max_size=count))
    return events(chords, draw(st.sampled_from([0.1, 0.3, 1.0])), slurs, held)


@st.composite
def chord(draw: st.DrawFn) -> list[Note]:
    kind = draw(
        st.sampled_from(["one", "one", "two", "two", "trill", "natural", "artificial", "alone"])
    )
    if kind == "trill":
        return [trill(*draw(st.sampled_from(TRILLS)), draw(marks()))]
    if kind == "natural":
        return [harmonic(draw(st.sampled_from(NATURAL)), Harmonic.NATURAL)]
    if kind == "artificial":
        return artificial(*draw(st.sampled_from(ARTIFICIAL)))
    if kind == "alone":
        sounds = pitch(draw(st.sampled_from(ARTIFICIAL))[0])
        return [harmonic(replace(sounds, octave=sounds.octave + 2).name, Harmonic.ARTIFICIAL)]
    size = 1 if kind == "one" else 2
    names = draw(st.lists(st.sampled_from(NAMES), min_size=size, max_size=size, unique=True))
    return [note(name, draw(marks())) for name in sorted(names, key=lambda n: pitch(n).midi)]


@st.composite
def marks(draw: st.DrawFn) -> Marks:
    kind = draw(
        st.sampled_from(["none", "none", "none", "finger", "either", "string", "open", "position"])
    )
    if kind == "finger":
        return Marks(fingers=(Finger(draw(st.integers(0, 4))),))
    if kind == "either":
        return Marks(fingers=(Finger(1), Finger(draw(st.integers(2, 4)))))
    if kind == "string":
        return Marks(string=PrintedString(draw(st.integers(1, 4))))
    if kind == "open":
        return Marks(open_string=True)
    if kind == "position":
        return Marks(position=PositionNumber(draw(st.integers(0, 3))))
    return Marks()


def row_of(states: States, row: int) -> States:
    return states.rows(np.array([row]))


def path_cost(trellis: Trellis, path: Sequence[int]) -> int:
    """Price one path step by step, without any table."""
    total = 0
    for place, (moment, row) in enumerate(zip(trellis.moments, path, strict=True)):
        costs = trellis.costs.rows(moment.kind.rows[[row]])
        total += int(costs.lasting(moment.seconds)[0])
        total += BROKEN_MARK * int(moment.kind.broken[row])
        if place:
            before = trellis.moments[place - 1]
            kept = np.zeros((len(before.kind.pitch), len(moment.kind.pitch)), dtype=np.bool_)
            for pair in moment.kept:
                kept[pair] = True
            pairs = Pairs.between(
                trellis.hand,
                (
                    row_of(before.kind.states, path[place - 1]),
                    row_of(moment.kind.states, row),
                ),
                (before.kind.pitch[None, :], moment.kind.pitch[None, :]),
                kept,
            )
            total += int(step_costs(trellis.weights, pairs).within(moment.context)[0])
    return total


def brute_force(trellis: Trellis) -> dict[tuple[int, ...], int]:
    sizes = [range(len(moment.kind.states)) for moment in trellis.moments]
    steps = [
        {
            (a, b): path_cost(two := _pair(trellis, place), (a, b)) - path_cost(_only(two, 0), (a,))
            for a in sizes[place]
            for b in sizes[place + 1]
        }
        for place in range(len(sizes) - 1)
    ]
    first = [path_cost(_only(trellis, 0), (row,)) for row in sizes[0]]
    return {
        path: first[path[0]] + sum(s[ab] for s, ab in zip(steps, pairwise(path), strict=True))
        for path in product(*sizes)
    }


def _pair(trellis: Trellis, place: int) -> Trellis:
    return replace(trellis, moments=trellis.moments[place : place + 2])


def _only(trellis: Trellis, place: int) -> Trellis:
    return replace(trellis, moments=trellis.moments[place : place + 1])


@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True)
@given(short_parts())
def test_equal_to_brute_force(part: tuple[Event, ...]) -> None:
    trellis = build(hand(1), WEIGHTS, part, use_marks=True)
    while np.prod(sizes(trellis), dtype=float) > 40_000:
        trellis = replace(trellis, moments=trellis.moments[:-1])
    if trellis.moments:
        compare_with_brute_force(trellis)


def sizes(trellis: Trellis) -> list[int]:
    return [len(moment.kind.states) for moment in trellis.moments]


def compare_with_brute_force(trellis: Trellis) -> None:
    costs = brute_force(trellis)
    passes = run_passes(trellis, step_tables(trellis))
    best = min(costs.values())
    assert int(passes.forward[-1].min()) == best
    assert costs[passes.path] == best
    least = [np.full(size, FORBIDDEN * BROKEN_MARK, dtype=object) for size in sizes(trellis)]
    for path, cost in costs.items():
        for place, row in enumerate(path):
            least[place][row] = min(least[place][row], cost)
    for place, true in enumerate(least):
        through = passes.forward[place] + passes.backward[place]
        possible = np.array([cost % BROKEN_MARK < FORBIDDEN for cost in true])
        assert through[possible].tolist() == true[possible].tolist()


FIRST = Marks(fingers=(Finger(1),))
THIRD = Marks(fingers=(Finger(3),))
BY_KIND = {
    "natural harmonics": events(
        [[note("A4")], [harmonic("A5", Harmonic.NATURAL)], [harmonic("E6", Harmonic.NATURAL)]]
    ),
    "touched places": events(
        [[harmonic("D5", Harmonic.NATURAL_TOUCHING)], [note("E5")], [note("D5")]]
    ),
    "artificial harmonics": events([artificial("B4", "E5"), [note("B4")], artificial("C5", "E5")]),
    "artificial harmonics by their sound": events(
        [[note("C5")], [harmonic("B6", Harmonic.ARTIFICIAL)], [note("B4")]]
    ),
    "trills": events([[note("D5")], [trill("E5", "F#5")], [trill("A4", "Bb4")], [note("A4")]]),
    "a trill under a printed finger": events([[trill("B4", "C5", THIRD)], [note("C5")]]),
    "broken chords": events([[note(n) for n in BROKEN_CHORDS[0]], [note("B4")], [note("E4")]]),
    "a held note": events(
        [[note("D5")], [note("F#4")], [note("G4")]],
        held=[(), (NoteRef(0, 0),), (NoteRef(0, 0),)],
    ),
    "a held note that must go": events(
        [[note("D5", THIRD)], [note("F#4", THIRD)], [note("G4")]],
        held=[(), (NoteRef(0, 0),), (NoteRef(0, 0),)],
    ),
    "an artificial harmonic that must go": events(
        [[harmonic("B6", Harmonic.ARTIFICIAL)], [note("A3")], [note("B3")]],
        held=[(), (NoteRef(0, 0),), (NoteRef(0, 0),)],
    ),
    "a mark no hand can honour": events([[note("B4", Marks(open_string=True))], [note("C5")]]),
    "marks that send the hand up": events([[note("B4")], [note("D5", FIRST)], [note("E5")]]),
}


@pytest.mark.parametrize("kind", BY_KIND)
def test_equal_to_brute_force_by_kind(kind: str) -> None:
    trellis = build(hand(1), WEIGHTS, BY_KIND[kind], use_marks=True)
    assert not trellis.unplayable
    assert np.prod(sizes(trellis), dtype=float) < 100_000
    compare_with_brute_force(trellis)


# ── a graph library ─────────────────────────────────────────────────────────────────────────────


def as_graph(trellis: Trellis) -> nx.DiGraph:
    graph = nx.DiGraph()
    table = step_tables(trellis)
    own = run_passes(trellis, table).own
    for row, cost in enumerate(own[0].tolist()):
        graph.add_edge("start", (0, row), weight=cost)
    for place in range(1, len(trellis.moments)):
        weights = table(place) + own[place][None, :]
        for a, row in enumerate(weights.tolist()):
            for b, cost in enumerate(row):
                graph.add_edge((place - 1, a), (place, b), weight=cost)
    last = len(trellis.moments) - 1
    for row in range(len(own[last])):
        graph.add_edge((last, row), "end", weight=0)
    return graph


def long_part(
    seed: int, count: int = 60, names: Sequence[str] = NAMES, coloured: bool = False
) -> tuple[Event, ...]:
    """A line that wanders, with double stops, marks, held notes, slurs.

    Parameters
    ----------
    coloured
        Whether trills, harmonics and broken chords come in as well.
    """
    rng = np.random.default_rng(seed)
    chords: list[list[Note]] = []
    held: list[tuple[NoteRef, ...]] = []
    place = 8
    for index in range(count):
        place = int(np.clip(place + rng.integers(-4, 5), 0, len(names) - 1))
        chord = [note(names[place])]
        if rng.random() < 0.15 and place > 4:
            chord.insert(0, note(names[place - 4]))
        if rng.random() < 0.1:
            marked = Marks(fingers=(Finger(int(rng.integers(0, 5))),))
            chord[-1] = replace(chord[-1], marks=marked)
        if coloured and rng.random() < 0.3:
            chord = colour(rng)
        chords.append(chord)
        held.append((NoteRef(index - 1, 0),) if index and rng.random() < 0.1 else ())
    return events(chords, 0.2, [bool(rng.random() < 0.3) for _ in range(count)], held)


def colour(rng: np.random.Generator) -> list[Note]:
    kind = rng.integers(0, 6)
    if kind == 0:
        return [trill(*rng.choice(TRILLS).tolist())]
    if kind == 1:
        return [harmonic(str(rng.choice(NATURAL)), Harmonic.NATURAL)]
    if kind == 2:
        return artificial(*rng.choice(ARTIFICIAL).tolist())
    if kind == 3:
        return [note(name) for name in BROKEN_CHORDS[int(rng.integers(0, len(BROKEN_CHORDS)))]]
    if kind == 4:
        return [note("D5", Marks(string=PrintedString(int(rng.integers(1, 4)))))]
    return [note("D5", Marks(position=PositionNumber(int(rng.integers(1, 4)))))]


def test_long_parts_hold_what_they_are_to_prove() -> None:
    moments = [
        moment
        for seed in range(4)
        for moment in build(hand(3), WEIGHTS, long_part(seed, coloured=True), True).moments
    ]
    kinds = [moment.kind for moment in moments]
    touched = [kind.states.touched.any(axis=0).tolist() for kind in kinds]
    found = {
        "natural harmonics": touched.count([True]),
        "artificial harmonics": touched.count([False, True]),
        "double stops": sum(kind.pitch.tolist()[1:] > [0] for kind in kinds),
        "held notes": sum(bool(moment.kept) for moment in moments),
        "held notes that may go": sum(bool((kind.states.finger == LET_GO).any()) for kind in kinds),
        "broken chords": sum(bool(kind.states.broken.any()) for kind in kinds),
        "fingers": sum(any(mark.fingers for mark in kind.marks) for kind in kinds),
        "strings": sum(any(mark.string for mark in kind.marks) for kind in kinds),
        "positions": sum(any(mark.position for mark in kind.marks) for kind in kinds),
        "marks no hand can honour": sum(bool(kind.broken.all()) for kind in kinds),
        "trills": sum(
            bool(one.ornament)
            for seed in range(4)
            for event in long_part(seed, coloured=True)
            for one in event.notes
        ),
    }
    assert {name for name, count in found.items() if count < 3} == set(), found


@pytest.mark.parametrize("seed", range(4))
def test_equal_to_shortest_path_of_a_graph_library(seed: int) -> None:
    # Source: networkx, Dijkstra's shortest path on the same graph.
    part = long_part(seed, coloured=True)
    trellis = build(hand(3), WEIGHTS, part, use_marks=True)
    graph = as_graph(trellis)
    table = step_tables(trellis)
    passes = run_passes(trellis, table)
    assert int(passes.forward[-1].min()) == nx.dijkstra_path_length(graph, "start", "end")
    # Every margin is the price of a detour: the same graph without the chosen string and finger.
    path = passes.path
    found = finger(hand(3), WEIGHTS, part)
    for place in range(0, len(path), 17):
        moment = trellis.moments[place]
        choice = found.steps[moment.event].choices[0]
        states = moment.kind.states
        chosen = (states.string[:, 0] == choice.stop.string) & (
            states.finger[:, 0] == choice.stop.finger
        )
        if moment.kind.broken.any() or chosen.all():
            continue
        without = graph.copy()
        without.remove_nodes_from([(place, row) for row in np.flatnonzero(chosen).tolist()])
        detour = nx.dijkstra_path_length(without, "start", "end")
        if detour < BROKEN_MARK:
            least = int(passes.forward[-1].min())
            assert choice.margin == pytest.approx((detour - least) / POINT)


# ── properties ──────────────────────────────────────────────────────────────────────────────────


def fifths(lowest: str, count: int) -> Instrument:
    """An instrument of any number of strings in fifths: tuning is data."""
    letters = "FCGDAEB"
    strings = [note(lowest).pitch]
    while len(strings) < count:
        last = strings[-1]
        octave = last.octave + (1 if last.step in "FGAB" else 0)
        strings.append(Pitch(letters[letters.index(last.step) + 1], 0, octave))
    return replace(VIOLIN, strings=tuple(strings))


def up_a_fifth(line: tuple[Event, ...]) -> tuple[Event, ...]:
    def higher(pitch: Pitch) -> Pitch:
        octave, step = divmod(pitch.letter + 4, 7)
        plain = Pitch("CDEFGAB"[step], 0, octave)
        return replace(plain, alter=pitch.midi + 7 - plain.midi)

    def all_higher(one: Note) -> Note:
        ornament = one.ornament
        if ornament:
            ornament = replace(ornament, others=tuple(map(higher, ornament.others)))
        return replace(one, pitch=higher(one.pitch), ornament=ornament)

    return tuple(replace(event, notes=tuple(map(all_higher, event.notes))) for event in line)


@pytest.mark.parametrize("seed", range(5))
def test_a_fifth_higher_is_one_string_over_at_the_same_cost(seed: int) -> None:
    # All strings exist: seven of them, and music that leaves the outer ones alone.
    seven = fifths("F2", 7)
    by_string = {"high on a low string": 0.0, "open top string rings on": 0.0}
    level = replace(WEIGHTS, note=MappingProxyType({**WEIGHTS.note, **by_string}))
    low = tuple(
        replace(event, notes=tuple(replace(n, marks=Marks()) for n in event.notes))
        for event in long_part(seed, 40, NAMES[: NAMES.index("A5") + 1])
    )
    below: Fingering = finger(hand(1, seven), level, low)
    above: Fingering = finger(hand(1, seven), level, up_a_fifth(low))
    assert below.cost == above.cost
    for one, other in zip(below.steps, above.steps, strict=True):
        for a, b in zip(one.choices, other.choices, strict=True):
            assert (a.stop.string + 1, a.stop.finger, a.stop.offset) == (
                b.stop.string, b.stop.finger, b.stop.offset
            )  # fmt: skip
            assert a.margin == b.margin


def test_marks_come_first_and_a_broken_one_is_counted() -> None:
    third = Marks(fingers=(Finger(1),), string=PrintedString(2))
    line = events([[note("B4")], [note("D5", third)], [note("E5")]])
    found = finger(hand(1), WEIGHTS, line)
    stop = found.steps[1].choices[0].stop
    assert (stop.string, stop.finger) == (2, 1)
    assert found.marks_broken == (0, 0, 0)
    margin = found.steps[1].choices[0].margin
    assert margin is not None
    assert margin < 0  # without the mark another finger would be cheaper
    impossible = events([[note("B4", Marks(fingers=(Finger(0),)))]])
    assert finger(hand(1), WEIGHTS, impossible).marks_broken == (1,)


def test_what_no_hand_can_play_is_named_and_the_rest_is_fingered() -> None:
    line = events([[note("A4")], [note("F3")], [note("G3"), note("A3")], [note("B4")]])
    found = finger(hand(1), WEIGHTS, line)
    assert found.unplayable == (1, 2)
    assert [step.placement is None for step in found.steps] == [False, True, True, False]


def test_a_held_note_keeps_its_finger_and_string() -> None:
    """D5 under the third finger sounds on while F#4 and G4 are played below it."""
    line = events(
        [[note("D5")], [note("F#4")], [note("G4")]],
        held=[(), (NoteRef(0, 0),), (NoteRef(0, 0),)],
    )
    found = finger(hand(1), WEIGHTS, line)
    held = [step.placement.stops[-1] for step in found.steps if step.placement]
    assert held[0] == held[1] == held[2]


def test_a_held_note_does_not_turn_into_the_open_string() -> None:
    """A4 under the fourth finger lies on the D string, where F#4 must be taken: it is let go.

    The open A string would sound the same note, but a note that sounds on is not struck again.
    """
    fourth = Marks(fingers=(Finger(4),))
    line = events([[note("A4", fourth)], [note("F#4")]], held=[(), (NoteRef(0, 0),)])
    found = finger(hand(1), WEIGHTS, line)
    stops = [step.placement.stops for step in found.steps if step.placement]
    assert [[(stop.string, stop.finger) for stop in one] for one in stops] == [[(1, 4)], [(1, 2)]]


def test_a_held_note_is_found_among_what_was_struck_and_what_is() -> None:
    """Of D4 and B4 the upper one sounds on, under F#5 alone and then below a double stop."""
    line = events(
        [[note("D4"), note("B4")], [note("F#5")], [note("D4"), note("F#5")]],
        held=[(), (NoteRef(0, 1),), (NoteRef(0, 1),)],
    )
    trellis = build(hand(1), WEIGHTS, line, use_marks=True)
    # Columns are struck notes from the lowest, then held ones.
    assert [moment.kept for moment in trellis.moments] == [(), ((1, 1),), ((1, 2),)]


@pytest.mark.parametrize("profile", list(Profile))
def test_every_profile_prices_every_term(profile: Profile) -> None:
    from scoretools.fingering.note_terms import NOTE_TERMS
    from scoretools.fingering.step_terms import STEP_TERMS

    weights = weights_for(Player(profile=profile))
    assert set(weights.note) == {term.name for term in NOTE_TERMS}
    assert set(weights.step) == {term.name for term in STEP_TERMS}
    assert min([*weights.note.values(), *weights.step.values()]) >= 0


def test_output_is_stable() -> None:
    part = long_part(9, coloured=True)
    assert finger(hand(3), WEIGHTS, part) == finger(hand(3), WEIGHTS, part)
