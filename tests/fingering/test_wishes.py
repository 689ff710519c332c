"""What a player's wishes change in a fingering: each in the direction asked for, and no further."""

from pathlib import Path

import pytest

from scoretools import analyse, read_part
from scoretools.fingering.trellis import NEAR
from scoretools.fingering.weights import weights_for
from scoretools.model import Analysis, Part
from scoretools.player import Player

SCORES = Path(__file__).parents[2] / "sample_scores"


@pytest.fixture(scope="module")
def dance() -> Part:
    """A dance in first and third position, without looking at its marks."""
    return read_part(SCORES / "04_upland_dance.musicxml")


def fingered(part: Part, player: Player) -> Analysis:
    return analyse(part, player, use_marks=False)


def count(analysis: Analysis, finger: int) -> int:
    return sum(choice.stop.finger == finger for step in analysis.steps for choice in step.choices)


def spent_on(analysis: Analysis, term: str) -> float:
    return sum(points for step in analysis.steps for name, points in step.costs if name == term)


def test_a_weak_fourth_finger_is_spared(dance: Part) -> None:
    assert count(fingered(dance, Player(weak_fourth_finger=True)), 4) < count(
        fingered(dance, Player()), 4
    )


def test_open_strings_are_welcome_or_avoided(dance: Part) -> None:
    avoided, usual, welcome = (
        count(fingered(dance, Player(open_strings=wish)), 0)
        for wish in ("avoid", "as usual", "welcome")
    )
    assert avoided < usual < welcome


def test_keeping_to_known_shapes_asks_for_no_other_spacing(dance: Part) -> None:
    known = ("W-H-W", "H-W-W")
    preferred = fingered(dance, Player(known_shapes=known))
    kept = fingered(dance, Player(known_shapes=known, only_known_shapes=True))
    unit = {
        player.only_known_shapes: weights_for(player).step["spacing not known yet"]
        for player in (
            Player(known_shapes=known),
            Player(known_shapes=known, only_known_shapes=True),
        )
    }
    fewer = spent_on(kept, "spacing not known yet") / unit[True]
    more = spent_on(preferred, "spacing not known yet") / unit[False]
    assert fewer < more


def test_without_known_shapes_no_spacing_is_priced(dance: Part) -> None:
    assert spent_on(fingered(dance, Player()), "spacing not known yet") == 0


def test_a_short_fourth_finger_makes_extensions_dearer() -> None:
    usual, short = weights_for(Player()), weights_for(Player(short_fourth_finger=True))
    assert short.note["extension"] > usual.note["extension"]
    assert short.note["stretch"] > usual.note["stretch"]
    assert {name for name in usual.note if usual.note[name] != short.note[name]} == {
        "extension",
        "stretch",
    }


def test_no_extensions_means_none_where_there_is_another_way(dance: Part) -> None:
    assert spent_on(fingered(dance, Player(extensions=False)), "extension") == 0


@pytest.mark.parametrize(("highest", "top"), [(1, 83), (3, 86)])
def test_only_what_lies_above_a_ceiling_is_played_above_it(
    dance: Part, highest: int, top: int
) -> None:
    # Common practice, no published source: on the E string first position ends at B5 and third at
    # D6 (MIDI 83 and 86), without an extension.
    analysis = fingered(dance, Player(highest_position=highest))
    assert analysis.ceiling == highest
    tops = [max(note.pitch.midi for note in event.notes) for event in dance.events]
    above = [
        index
        for index, step in enumerate(analysis.steps)
        if step.placement and step.placement.position > highest
    ]
    for index in above:  # the hand that must go up may stay there for the notes around
        assert max(tops[max(0, index - NEAR) : index + NEAR + 1]) > top
