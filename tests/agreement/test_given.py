"""Which bars keep their marks."""

from collections.abc import Callable

from scoretools.agreement.given import SEEDS, hidden_bars
from scoretools.model import Part

ReadPart = Callable[..., Part]

FIVE_BARS = "A3*4 B3*4 C4*4 D4*4 E4*4"


def hidden(part: Part, marked: set[int], percent: float, seed: int) -> frozenset[int]:
    return hidden_bars(part.measures, part.events, marked, percent, seed)


def test_a_fifth_of_five_different_bars_is_one(small_part: ReadPart) -> None:
    part = small_part("violin", FIVE_BARS)
    for seed in SEEDS:
        assert len(hidden(part, {0, 1, 2, 3, 4}, 80, seed)) == 1


def test_shares_are_rounded_up_and_one_bar_is_always_hidden(small_part: ReadPart) -> None:
    part = small_part("violin", FIVE_BARS)
    assert len(hidden(part, {0, 1, 2, 3, 4}, 50, 1)) == 3
    assert len(hidden(part, {0, 1, 2, 3, 4}, 0, 1)) == 5
    assert hidden(part, {2}, 99, 1) == {2}


def test_only_marked_bars_are_dealt_out(small_part: ReadPart) -> None:
    part = small_part("violin", FIVE_BARS)
    assert hidden(part, {1, 3}, 0, 1) == {1, 3}


def test_the_draw_depends_on_the_seed_alone(small_part: ReadPart) -> None:
    part = small_part("violin", FIVE_BARS)
    draws = [hidden(part, {0, 1, 2, 3, 4}, 80, seed) for seed in range(40)]
    assert draws == [hidden(part, {0, 1, 2, 3, 4}, 80, seed) for seed in range(40)]
    assert len(set(draws)) == 5


def test_identical_bars_stay_together(small_part: ReadPart) -> None:
    # Bars 1, 3 and 5 are alike; 2 has their notes in another rhythm.
    part = small_part("violin", "A3*2 B3*2 A3*1 B3*3 A3:1*2 B3*2 C4*4 A3*2 B3*2")
    for seed in range(40):
        bars = hidden(part, {0, 1, 2, 3, 4}, 80, seed)
        assert bars in ({0, 2, 4}, {1}, {3})
