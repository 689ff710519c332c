"""What a plan gains and costs, in a teacher's words."""

import re
from collections.abc import Callable, Sequence
from pathlib import Path

import pytest

from scoretools.analysis import analyse, solution_of
from scoretools.fingering.habits import HABIT_TERMS
from scoretools.fingering.note_terms import NOTE_TERMS
from scoretools.fingering.plans import Plan, plans
from scoretools.fingering.step_terms import STEP_TERMS
from scoretools.model import Analysis, Finger, Offset, Placement, PositionNumber, Stop, StringIndex
from scoretools.read import read_part
from scoretools.write.reasons import (
    THEMES,
    Shift,
    bars_touched,
    how_much_more,
    payments,
    reasons,
    shifts,
)

Analyse = Callable[..., Analysis]
SAMPLES = sorted((Path(__file__).resolve().parents[2] / "sample_scores").glob("*.musicxml"))

HOMES = {0: 1, 1: 2, 2: 4, 3: 5}
"""Where the first finger lies, by position, semitones above the nut."""
G, D, A, E = range(4)


def place(position: int, string: int, finger: int) -> Placement:
    """A hand in a position, one finger down; its place on the string does not matter here."""
    offset = HOMES[position] + finger - 1 if finger else 0
    stop = Stop(StringIndex(string), Finger(finger), Offset(offset))
    return Placement(Offset(HOMES[position]), PositionNumber(position), (stop,), broken=False)


def plan(
    places: Sequence[tuple[int, int, int]],
    costs: dict[int, dict[str, float]],
    elsewhere: Sequence[int] = (),
) -> Plan:
    return Plan(
        placements=tuple(place(*one) for one in places),
        costs=tuple(tuple(costs.get(event, {}).items()) for event in range(len(places))),
        more=sum(points for items in costs.values() for points in items.values()),
        elsewhere=tuple(elsewhere),
    )


# ── themes ──────────────────────────────────────────────────────────────────────────────────────


def test_every_term_of_the_cost_belongs_to_one_theme() -> None:
    terms = [term.name for term in (*NOTE_TERMS, *STEP_TERMS, *HABIT_TERMS)]
    told = [term for theme in THEMES for term in theme.terms]
    assert sorted(told) == sorted(terms)


def test_themes_have_names_of_their_own() -> None:
    names = [theme.many for theme in THEMES]
    assert len(set(names)) == len(names)
    assert all(theme.one.startswith(("a ", "an ")) for theme in THEMES)


@pytest.mark.parametrize(
    ("term", "name"),
    [
        ("letter against finger", "notes under another finger than usual"),
        ("long note in first position", "notes sustained low on the string"),
        ("position renamed", "changes of position in name only"),
        ("hand off its place", "notes with the hand set high or low in its position"),
        ("hand moves a little", "small moves of the hand within a position"),
        ("figure as before", "figures fingered differently elsewhere"),
    ],
)
def test_prices_are_named_as_a_teacher_would(term: str, name: str) -> None:
    """Each name goes behind “0.5 points for …”."""
    assert payments([((term, 0.5),)]) == ((name, 0.5),)


def test_payments_are_summed_by_theme_dearest_first() -> None:
    costs = [
        (("shift", 1.0), ("shift distance", 0.5), ("fourth finger", 0.95)),
        (("string crossing", 2.0), ("fourth finger", 0.95), ("open string", 0.0001)),
    ]
    assert payments(costs) == (
        ("string crossings", 2.0),
        ("fourth fingers", 1.9),
        ("shifts", 1.5),
    )


def test_a_term_without_a_theme_keeps_its_own_name() -> None:
    assert payments([(("sul tasto", 1.0),)]) == (("sul tasto", 1.0),)


@pytest.mark.parametrize(
    ("points", "words"),
    [
        (0.0, "as good"),
        (0.4, "0.4 points more, a matter of taste"),
        (1.0, "1.0 point more, some would choose it"),
        (2.99, "3.0 points more, some would choose it"),
        (3.0, "3.0 points more, few would choose it"),
        (8.2, "8.2 points more, far-fetched"),
    ],
)
def test_points_beside_words(points: float, words: str) -> None:
    assert how_much_more(points) == words


# ── shifts ──────────────────────────────────────────────────────────────────────────────────────


def test_shifts_are_where_a_finger_arrives() -> None:
    line = plan([(1, A, 3), (3, A, 0), (3, A, 1), (3, A, 2), (1, E, 1)], {})
    assert shifts(line.placements) == (
        Shift(2, PositionNumber(1), PositionNumber(3)),
        Shift(4, PositionNumber(3), PositionNumber(1)),
    )


def test_a_place_called_by_another_name_is_no_shift() -> None:
    second = place(2, A, 1)
    third = Placement(second.home, PositionNumber(3), second.stops, broken=False)
    assert shifts((second, None, third)) == ()


# ── sentences ───────────────────────────────────────────────────────────────────────────────────

WORDS = "D5 E5 F5 G5 A5 G5 F5 E5 D5*4"
"""Three bars: 1 to 4, 5 to 8, and one long note."""


def test_a_plan_that_stays_in_third_position(small_analysis: Analyse) -> None:
    """The first plan shifts down in bar 2, the other stays up at the price of an extension."""
    analysis = small_analysis("violin", WORDS)
    high = [(3, A, 1), (3, A, 2), (3, A, 3), (3, A, 4)]
    first = plan(
        [*high, (1, E, 3), (1, E, 2), (1, E, 1), (1, E, 0), (1, A, 3)],
        {4: {"shift": 2.0, "string crossing": 1.0}, 7: {"open string": 0.5}},
    )
    other = plan(
        [*high, (3, A, 4), (3, A, 4), (3, A, 3), (3, A, 2), (3, A, 1)],
        {4: {"extension": 3.0}, 5: {"fourth finger": 1.0}},
        range(4, 9),
    )
    told = reasons(analysis, first, other)
    assert told.sentence == (
        "stays in 3rd position in bars 2–3 on the A string, avoids the shift to 1st position in "
        "bar 2, a string crossing (bar 2) and an open string (bar 2); costs an extension on the "
        "A string (bar 2) and a fourth finger (bar 2)"
    )
    assert dict(told.points) == {
        "extensions": 3.0,
        "shifts": -2.0,
        "fourth fingers": 1.0,
        "string crossings": -1.0,
        "open strings": -0.5,
    }
    assert bars_touched(analysis, first, other) == (1, 2)


def test_a_plan_that_leaves_first_position(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", WORDS)
    low = [(1, A, 3), (1, A, 4), (1, E, 1), (1, E, 2)]
    down = [(1, E, 2), (1, E, 1), (1, A, 4), (1, A, 3)]
    first = plan([*low, (1, E, 3), *down], {2: {"string crossing": 1.0}})
    other = plan(
        [(1, A, 3), (2, A, 3), (2, A, 4), (3, A, 4), (3, E, 1), *down],
        {
            1: {"shift": 2.0, "even position": 0.4},
            2: {"even position": 0.4},
            3: {"shift": 2.0},
            5: {"shift": 2.0},
        },
        range(1, 5),
    )
    told = reasons(analysis, first, other)
    assert told.sentence == (
        "takes bars 1–2 in 2nd and 3rd positions on the A and E strings, avoids a string crossing "
        "(bar 1); costs 3 shifts (bars 1–2) and 2 notes in an even position (bar 1)"
    )


def test_a_shift_at_another_place(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", WORDS)
    line = [(3, A, 1), (3, A, 2), (3, A, 3), (3, A, 4)]
    early = plan([*line, *[(1, E, 3)] * 5], {4: {"shift": 2.0}})
    late = plan([*line, *[(3, E, 1)] * 4, (1, A, 3)], {8: {"shift": 2.0}}, range(4, 8))
    assert reasons(analysis, early, late).sentence == (
        "stays in 3rd position in bar 2 on the E string, shifts in bar 3 instead of bar 2"
    )


def test_open_strings_have_no_position(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "A4 A4 A4 A4")
    stopped = plan([(1, D, 4)] * 4, {0: {"fourth finger": 1.0}})
    opened = plan([(1, A, 0)] * 4, {}, range(4))
    assert reasons(analysis, stopped, opened).sentence == (
        "takes bar 1 on open strings, avoids a fourth finger (bar 1)"
    )


def test_slight_differences_are_left_to_the_points(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "A4 A4 A4 A4")
    first = plan([(1, D, 4)] * 4, {})
    other = plan([(3, D, 2)] * 4, {0: {"contraction": 0.1}}, range(4))
    told = reasons(analysis, first, other)
    assert "crowded" not in told.sentence
    assert dict(told.points) == {"crowded fingers": 0.1}


# ── what is said of real plans ──────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("score", SAMPLES, ids=lambda path: path.stem)
def test_sentences_a_teacher_can_read(score: Path) -> None:
    analysis = analyse(read_part(score))
    solution = solution_of(analysis)
    assert solution is not None
    first, *others = plans(solution, range(len(analysis.part.events)), 3, within=60.0)
    for other in others:
        told = reasons(analysis, first, other)
        assert re.match(r"(stays in|takes) ", told.sentence)
        assert "bar" in told.sentence
        assert not re.search(r"\b[IVX]+\b|_", told.sentence), "no bare numeral"
        assert "  " not in told.sentence
        assert sum(points for _, points in told.points) == pytest.approx(other.more, abs=0.5)
