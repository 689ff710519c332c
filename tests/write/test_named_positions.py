"""Where ``3rd pos.`` and its like stand: a reader always knows where the hand is."""

from collections.abc import Callable

import pytest
from music21 import corpus

import scoretools
from scoretools.model import Analysis
from scoretools.write.named_positions import REMINDER, named_positions

Named = Callable[..., list[tuple[str, int]]]


@pytest.fixture
def named(small_analysis: Callable[..., Analysis]) -> Named:
    """Name positions in a small score: the first note of each place, and the position."""

    def run(words: str, settled: int = 4, **score: object) -> list[tuple[str, int]]:
        analysis = small_analysis("violin", words, **score)
        return [
            (f"{event.notes[0].pitch.name} in {event.measure + 1}", position)
            for event, position in named_positions(analysis, settled)
        ]

    return run


IN_THIRD = "D5:1@2 E5:2@2 F#5:3@2 G5:4@2"
IN_FIRST = "B4:1@2 C#5:2@2 D5:3@2 E5:4@2"
# A bar has four notes.


def test_first_position_needs_no_name(named: Named) -> None:
    assert named(f"{IN_FIRST} {IN_FIRST}", fifths=2) == []


def test_every_shift_is_named(named: Named) -> None:
    assert named(f"{IN_FIRST} {IN_THIRD} {IN_FIRST}", fifths=2) == [
        ("D5 in 2", 3),
        ("B4 in 3", 1),
    ]


def test_a_short_stay_is_named_too(named: Named) -> None:
    assert named(f"{IN_THIRD} C#5:2@2 B4:1@2 D5:1@2 E5:2@2 {IN_THIRD}", fifths=2) == [
        ("D5 in 1", 3),
        ("C#5 in 2", 1),
        ("D5 in 2", 3),
    ]


def test_the_same_short_stay_is_not_named_again_at_once(named: Named) -> None:
    once = "C#5:2@2 B4:1@2 D5:1@2 E5:2@2"
    # The fingers over C# and D tell it while it takes turns; the long stay is named again.
    assert named(f"{IN_THIRD} {once} {once} {IN_THIRD}", fifths=2) == [
        ("D5 in 1", 3),
        ("C#5 in 2", 1),
        ("D5 in 3", 3),
    ]


def test_half_a_step_there_and_back_is_left_to_the_fingers(named: Named) -> None:
    # Common practice, no published source: 1-1 over D# and E.
    assert named("E4:1@3 F#4:2@3 D#4:1@3 E4:1@3 F#4:2@3 G4:3@3", fifths=1) == []


def test_a_position_is_said_again_after_a_rest_and_after_many_bars(named: Named) -> None:
    rested = named(f"{IN_THIRD} {'r ' * 8} {IN_THIRD}", fifths=2)
    assert rested == [("D5 in 1", 3), ("D5 in 4", 3)]
    assert named(f"{IN_THIRD} {'r ' * 4} {IN_THIRD}", fifths=2) == [("D5 in 1", 3)]
    long = named(" ".join([IN_THIRD] * (REMINDER + 1)), fifths=2)
    assert long == [("D5 in 1", 3), (f"D5 in {REMINDER + 1}", 3)]


def test_every_shift_is_named_where_all_is_marked(named: Named) -> None:
    once = "C#5:2@2 B4:1@2 D5:1@2 E5:2@2"
    assert len(named(f"{IN_THIRD} {once} {once} {IN_THIRD}", settled=1, fifths=2)) == 5


# Source: Haydn, op. 74 no. 1, first movement, violin I, of the music21 corpus, read by a teacher: E
# under 4 in fourth position, then C and A in third, as a bar before.
def test_a_short_stay_is_named_where_another_one_was_named_in_its_bar() -> None:
    part = scoretools.read_part(corpus.getWork("haydn/opus74no1/movement1"), "Violin 1")
    analysis = scoretools.analyse(part)
    named_in = [
        position
        for event, position in named_positions(analysis)
        if part.measures[event.measure].number == "76"
    ]
    reached = {
        step.placement.position
        for event, step in zip(part.events, analysis.steps, strict=True)
        if step.placement and part.measures[event.measure].number == "76"
    }
    assert {3, 4} <= reached
    assert named_in[:2] == [4, 3]
