"""When a hand close to the nut is in half position, and when its first finger is only low."""

from collections.abc import Callable

from scoretools.model import Analysis, DemandKind

Analyse = Callable[..., Analysis]


def placed(analysis: Analysis) -> list[tuple[int, int]]:
    """For every stopped note: finger and position."""
    return [
        (choice.stop.finger, step.placement.position)
        for step in analysis.steps
        for choice in step.choices
        if step.placement and choice.stop.finger
    ]


# Common practice, no published source: the first finger goes back for a leading note, or lies low
# in a flat key, and the hand stays where it is.
def test_a_low_first_finger_alone_is_first_positions(small_analysis: Analyse) -> None:
    for words, fifths in (("D5 C#5 B4 A#4 B4 C#5 D5", 2), ("F4 G4 A4 Bb4 C5 D5", -1)):
        analysis = small_analysis("violin", words, fifths=fifths)
        assert {position for _, position in placed(analysis)} == {1}
        assert not any(demand.kind is DemandKind.SHIFT for demand in analysis.demands)


# Common practice, no published source: with C-sharp and D under second and third finger an A-sharp
# would be a first position's stretch; under half position's letters it is none.
def test_half_position_is_named_by_the_letters_of_the_other_fingers(
    small_analysis: Analyse,
) -> None:
    low = small_analysis("violin", "A#4:1 B4:2 C#5:3 A#4:1 B4:2 C#5:3", fifths=5)
    assert set(placed(low)) == {(1, 0), (2, 0), (3, 0)}
    flat = small_analysis("violin", "Bb4:1 C5:2 Db5:3 Bb4:1 C5:2 Db5:3", fifths=-5)
    assert set(placed(flat)) == {(1, 1), (2, 1), (3, 1)}


# Clara Schumann, op. 17, third movement, bars 57 and 59.
def test_a_chord_is_not_broken_where_a_hand_holds_it(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "C4+A4+D#5 C4+A4+E5", fifths=1)
    for step in analysis.steps:
        assert step.placement is not None
        assert not step.placement.broken
        fifth = [stop.offset for stop in step.placement.stops if stop.finger == 4]
        assert len(fifth) < 2
