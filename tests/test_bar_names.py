"""Bars are named, and counted, as musicians do, in one way."""

from collections.abc import Sequence
from fractions import Fraction

import pytest

from scoretools.bar_names import (
    bar_name,
    bars_counted,
    bars_in_words,
    is_upbeat,
    length_words,
    named_runs,
)
from scoretools.model import Measure


def bars(*movements: str) -> tuple[Measure, ...]:
    """Bars with these numbers; a ``+`` before one makes it shorter and not counted."""
    found: list[Measure] = []
    for movement, numbers in enumerate(movements, start=1):
        for number in numbers.split():
            whole, short = Fraction(4), Fraction(1)
            upbeat = number.startswith("+")
            found.append(
                Measure(
                    index=len(found),
                    number=number.lstrip("+"),
                    movement=movement,
                    rehearsal="",
                    onset_ql=Fraction(0),
                    duration_ql=short if upbeat else whole,
                    time=(4, 4),
                    upbeat=upbeat,
                )
            )
    return tuple(found)


WITH_UPBEAT = bars("+0 1 2 3 4 5")
DIVIDED = bars("+0 1 2 +X1 3 4")
TWO_MOVEMENTS = bars("1 2 3", "+0 1 2")


# Common practice, no published source
@pytest.mark.parametrize(
    ("indices", "words"),
    [
        ((0,), "the upbeat"),
        ((0, 1), "the upbeat and bar 1"),
        ((0, 1, 2, 3), "the upbeat and bars 1–3"),
        ((5, 0, 1, 3), "the upbeat and bars 1, 3, 5"),
        ((1, 2, 5), "bars 1–2, 5"),
        ((2,), "bar 2"),
        ((), "no bar"),
    ],
)
def test_the_upbeat_has_one_name(indices: Sequence[int], words: str) -> None:
    assert bars_in_words(WITH_UPBEAT, indices) == words


def test_an_upbeat_is_never_said_to_lead_to_a_later_bar() -> None:
    """*Upbeat to bar 3* are the notes just before bar 3, not all from the beginning."""
    assert " to bar" not in bars_in_words(WITH_UPBEAT, range(4))


@pytest.mark.parametrize(
    ("indices", "words"),
    [((2, 3), "bar 2"), ((3,), "bar 2"), ((1, 2, 4), "bars 1–3"), ((0, 3), "the upbeat and bar 2")],
)
def test_the_rest_of_a_divided_bar_has_its_name(indices: Sequence[int], words: str) -> None:
    assert bars_in_words(DIVIDED, indices) == words


def test_the_upbeat_of_a_later_movement_is_none_of_the_bars_before_it() -> None:
    assert bar_name(TWO_MOVEMENTS, 3) == "upbeat"
    assert bars_in_words(TWO_MOVEMENTS, (3,)) == "2nd movement upbeat"
    assert bars_in_words(TWO_MOVEMENTS, (1, 2, 3, 4)) == (
        "1st movement bars 2–3; 2nd movement upbeat and bar 1"
    )


def test_a_column_does_without_the_words() -> None:
    assert bars_in_words(WITH_UPBEAT, (0, 1, 2, 5), words=False) == "upbeat, 1–2, 5"
    assert bars_in_words(TWO_MOVEMENTS, (0, 3, 4), words=False) == (
        "1st movement 1; 2nd movement upbeat, 1"
    )


def test_runs_keep_their_bars() -> None:
    assert [(run.name, run.measures) for run in named_runs(DIVIDED, (0, 2, 3, 4))] == [
        ("the upbeat", (0,)),
        ("2–3", (2, 3, 4)),
    ]


def test_only_what_opens_a_movement_is_an_upbeat() -> None:
    assert [is_upbeat(DIVIDED, index) for index in range(6)] == [True, *[False] * 5]


@pytest.mark.parametrize(
    ("measures", "count", "words"),
    [
        (bars("1 2 3"), 3, "3 bars"),
        (bars("1"), 1, "1 bar"),
        (WITH_UPBEAT, 5, "5 bars and an upbeat"),
        (DIVIDED, 4, "4 bars and an upbeat"),
        (TWO_MOVEMENTS, 5, "5 bars and an upbeat"),
        (bars("+0 1", "+0 1"), 2, "2 bars and 2 upbeats"),
        (bars("+0"), 0, "an upbeat"),
        ((), 0, "0 bars"),
    ],
)
def test_an_upbeat_is_no_bar(measures: Sequence[Measure], count: int, words: str) -> None:
    assert bars_counted(measures) == count
    assert length_words(measures) == words
