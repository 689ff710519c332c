"""Every feature on scores small enough to count by hand."""

from collections.abc import Callable, Mapping
from dataclasses import replace

import pytest

import scoretools
from scoretools.difficulty import FEATURES, features
from scoretools.model import Analysis, Harmonic, Ornament, OrnamentKind, Part, Pitch, PositionNumber
from scoretools.player import Player

Analyse = Callable[..., Analysis]
ReadPart = Callable[..., Part]


def values(analysis: Analysis) -> Mapping[str, float]:
    return {feature.name: feature.value for feature in features(analysis)}


def assert_values(analysis: Analysis, **wanted: float) -> None:
    found = values(analysis)
    assert {name: found[name] for name in wanted} == pytest.approx(wanted)


def with_ornament(part: Part, event: int, ornament: Ornament) -> Part:
    """The same part with an ornament on the lowest note of an event."""
    here = part.events[event]
    notes = (replace(here.notes[0], ornament=ornament), *here.notes[1:])
    events = list(part.events)
    events[event] = replace(here, notes=notes)
    return replace(part, events=tuple(events))


# ── what every part has ─────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("words", ["D4 E4 F#4 G4", "G3 G3 G3 G3", "B4:1@2 D5:1@2 E6 r"])
def test_every_part_has_all_features_in_order(small_analysis: Analyse, words: str) -> None:
    analysis = small_analysis("violin", words)
    found = features(analysis)
    assert tuple(feature.name for feature in found) == FEATURES
    for feature in found:
        assert feature.words
        assert feature.unit
        assert feature.value >= 0
        assert len(feature.peak) <= 5
        assert (feature.peak_value is None) == (not feature.peak)
        assert all(bar < len(analysis.part.measures) for bar in feature.peak)


def test_shares_lie_between_none_and_all(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "E4:1@3+E5:4@2 B5 D6 F6 A4+C#5 Bb3 C#4 G3", fifths=-2)
    shares = [feature for feature in features(analysis) if feature.unit.startswith("share")]
    assert len(shares) > 10
    assert all(0 <= feature.value <= 1 for feature in shares)


def test_a_scale_in_first_position(small_analysis: Analyse) -> None:
    # Counted by hand: quarters at 120, the open A, and W-H-W on D and on A.
    analysis = small_analysis("violin", "D4 E4 F#4 G4 A4:0 B4 C#5 D5", fifths=2, tempo=120)
    assert_values(
        analysis,
        highest_position=1, positions_used=1, above_first_position=0, shifts_per_minute=0,
        longest_shift=0, shapes=1, fourth_finger=0, double_stops=0, notes_per_second=2,
        key_signature=2, flatward_keys=0, sharpward_keys=0, accidentals=0, bars=2, seconds=4,
    )  # fmt: skip


def test_open_strings_only_have_no_position(small_analysis: Analyse) -> None:
    found = values(small_analysis("violin", "G3:0 D4:0 A4:0 E5:0"))
    assert found["highest_position"] == 0
    assert found["positions_used"] == 0


def test_a_part_without_a_note_asks_nothing(small_part: ReadPart) -> None:
    part = replace(small_part("violin", "D4 E4 F#4 G4"), events=())
    found = values(scoretools.analyse(part))
    assert {name for name, value in found.items() if value} == {"bars", "seconds"}


# ── positions and shifts ────────────────────────────────────────────────────────────────────────


def test_a_shift_under_a_slur(small_analysis: Analyse) -> None:
    # Counted by hand: one shift in a bar of four seconds, B to D by the first finger; three of
    # four notes in third position.
    analysis = small_analysis("violin", "(B4:1@2 D5:1@2) E5:2@2 F5:3@2", tempo=60)
    assert_values(
        analysis,
        highest_position=3, highest_position_on_low_strings=0, positions_used=2,
        above_first_position=0.75, above_third_position=0, shifts_per_minute=15,
        longest_shift=3, slurred_shifts=1,
    )  # fmt: skip


def test_rates_count_only_bars_with_notes(small_analysis: Analyse) -> None:
    # Counted by hand: the same bar, then four seconds of rest.
    analysis = small_analysis("violin", "B4:1@2 D5:1@2 E5:2@2 F5:3@2 r*4", tempo=60)
    assert_values(analysis, shifts_per_minute=15, slurred_shifts=0, bars=2, seconds=8)


def test_even_positions_and_low_strings(small_analysis: Analyse) -> None:
    # Common practice, no published source: 1 on G takes B in 2nd position, D in 4th, F in 6th.
    second = small_analysis("violin", "B3:1@4 C4:2@4 D4:3@4 E4:4@4")
    assert_values(second, second_position=1, highest_position_on_low_strings=2)
    fourth = small_analysis("violin", "D4:1@4 E4:2@4 F4:3@4 G4:4@4")
    assert_values(fourth, fourth_position=1, above_third_position=1)
    words = "F4:1@4 G4:2@4 A4:3@4 Bb4:4@4"
    sixth = small_analysis("violin", words, Player(highest_position=PositionNumber(6)), fifths=-1)
    assert_values(sixth, sixth_position=1)


def test_a_high_position_peaks_in_its_bar(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "D4 E4 F#4 G4 D5:1@2 E5:2@2 F#5:3@2 G5:4@2", fifths=1)
    found = {feature.name: feature for feature in features(analysis)}
    assert found["highest_position"].peak == (1,)
    assert found["highest_position"].peak_value == 3
    assert found["above_first_position"].peak == (1,)
    assert found["above_first_position"].value == pytest.approx(4 / 7)  # D4 is open
    assert found["above_first_position"].peak_value == 1


# ── shapes ──────────────────────────────────────────────────────────────────────────────────────


def test_a_low_first_finger_and_an_augmented_second(
    small_analysis: Analyse,
) -> None:
    # Counted by hand: B-flat to C-sharp once; B-flat to E is half a step beyond the frame.
    words = "Bb4:1@2 C#5:2@2 D5:3@2 E5:4@2"
    assert_values(
        small_analysis("violin", words, fifths=-1, tempo=60),
        augmented_seconds_per_minute=15, reaches_back_per_minute=15, extensions_per_minute=0,
        accidentals=0.25, fourth_finger=0.25,
    )  # fmt: skip


def test_a_fourth_finger_reaching_up(small_analysis: Analyse) -> None:
    words = "B4:1@2 C#5:2@2 D5:3@2 F5:4@2"
    found = values(small_analysis("violin", words, fifths=2, tempo=60))
    assert found["extensions_per_minute"] == pytest.approx(15)
    assert found["reaches_back_per_minute"] == 0


def test_a_chromatic_slide(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "C5:2@2 C#5:2@2 D5:3@2 r", tempo=60)
    assert_values(analysis, chromatic_slides_per_minute=15, shape_changes_per_minute=0)


def test_changes_of_shape_with_and_without_time_between(
    small_analysis: Analyse,
) -> None:
    straight = small_analysis("violin", "C5:2@2 B4:1@2 C#5:2@2 D5:3@2", tempo=60)
    assert_values(straight, shape_changes_per_minute=15, abrupt_changes_per_minute=15)
    rested = small_analysis("violin", "C5:2@2 B4:1@2 r C#5:2@2 D5:3@2 r*3", tempo=60)
    assert_values(rested, shape_changes_per_minute=7.5, abrupt_changes_per_minute=0)
    crossed = small_analysis("violin", "C5:2@2 B4:1@2 E5:0 C#5:2@2", tempo=60)
    assert_values(crossed, shape_changes_per_minute=15, abrupt_changes_per_minute=0)


def test_shapes_are_counted_by_spacing(small_analysis: Analyse) -> None:
    # W-H-W on D, H-W-W on A: two spacings.
    words = "E4:1 F#4:2 G4:3 A4:4 B4:1 C5:2 D5:3 E5:4@2"
    assert_values(small_analysis("violin", words, fifths=1), shapes=2)


# ── several strings ─────────────────────────────────────────────────────────────────────────────


def test_double_stops_by_kind(small_analysis: Analyse) -> None:
    # Counted by hand: an octave E–E, a third G–B, a sixth with the open D, one note alone.
    analysis = small_analysis("violin", "E4:1@3+E5:4@2 G4:3@3+B4:1@2 D4:0+B4:1@2 D4:0", tempo=60)
    assert_values(
        analysis,
        double_stops=0.75, stopped_double_stops=0.5, octaves=0.25, thirds=0.25, tenths=0,
        chords=0, double_stops_per_second=1,
    )  # fmt: skip


def test_a_tenth_and_a_chord(small_analysis: Analyse) -> None:
    tenth = small_analysis("violin", "E5:1@2+G6:4@1 r*3")
    assert_values(tenth, tenths=1)
    chord = small_analysis("violin", "G3+D4+B4+G5 r*3")
    assert_values(chord, chords=1, double_stops=0)


# ── speed, keys, ornaments, load ────────────────────────────────────────────────────────────────


def test_the_speed_of_repeated_notes_is_none_of_the_left_hand(
    small_analysis: Analyse,
) -> None:
    # Counted by hand: sixteenths at 60 repeat; the finger moves once a second.
    words = " ".join(f"{note}*1/4" for note in ("B4 " * 4 + "C#5 " * 4 + "D5 " * 4).split())
    found = values(small_analysis("violin", f"{words} r", fifths=2, tempo=60))
    assert found["notes_per_second"] == pytest.approx(4)  # the way into each new note is quick
    slow = values(small_analysis("violin", "B4 B4 C#5 C#5", fifths=2, tempo=60))
    assert slow["notes_per_second"] == pytest.approx(1)


def test_one_fast_run_in_a_long_slow_part_is_not_sustained(
    small_analysis: Analyse,
) -> None:
    slow = "B4 C#5 D5 C#5 " * 10
    analysis = small_analysis("violin", f"{slow} D5*1/4 C#5*1/4 r*7/2", fifths=2, tempo=60)
    assert_values(analysis, notes_per_second=1)


@pytest.mark.parametrize(
    ("instrument", "fifths", "flatward", "sharpward"),
    [
        ("violin", 2, 0, 0), ("violin", 3, 0, 1), ("violin", 1, 1, 0), ("violin", -2, 4, 0),
        ("violin", 4, 0, 2), ("viola", 1, 0, 0), ("viola", 0, 1, 0), ("viola", -3, 4, 0),
    ],
)  # fmt: skip
def test_keys_go_out_from_d_on_the_violin_and_g_on_the_viola(
    small_analysis: Analyse,
    instrument: str,
    fifths: int,
    flatward: int,
    sharpward: int,
) -> None:
    # Common practice, no published source: D on the violin and G on the viola are met first.
    assert_values(
        small_analysis(instrument, "D4 E4 D4 E4", fifths=fifths),
        flatward_keys=flatward, sharpward_keys=sharpward, key_signature=abs(fifths),
    )  # fmt: skip


def test_trills_on_weak_fingers(small_part: ReadPart) -> None:
    part = small_part("violin", "B4:1@2 C#5:2@2 D5:3@2 r", fifths=2, tempo=60)
    trill = Ornament(OrnamentKind.TRILL, (Pitch("E", 0, 5),))
    on_third = scoretools.analyse(with_ornament(part, 2, trill))
    assert_values(on_third, weak_trills_per_minute=15)
    other = Ornament(OrnamentKind.TRILL, (Pitch("C", 1, 5),))
    on_first = scoretools.analyse(with_ornament(part, 0, other))
    assert_values(on_first, weak_trills_per_minute=0)


def test_artificial_harmonics(small_part: ReadPart) -> None:
    part = small_part("violin", "A5 B4 C5 D5", tempo=60)
    first = part.events[0]
    marks = replace(first.notes[0].marks, harmonic=Harmonic.ARTIFICIAL_SOUNDING)
    event = replace(first, notes=(replace(first.notes[0], marks=marks),))
    analysis = scoretools.analyse(replace(part, events=(event, *part.events[1:])))
    assert_values(analysis, artificial_harmonics_per_minute=15)


def test_the_load_is_that_of_the_bars(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "B4:1@2 D5:1@2 E5:2@2 F5:3@2 A4 B4 A4 B4", tempo=60)
    loads = [bar.load for bar in analysis.loads]
    found = {feature.name: feature for feature in features(analysis)}
    assert found["hardest_bar"].value == max(loads) > 0
    assert found["hardest_bar"].peak == (loads.index(max(loads)),)
    assert found["mean_load"].value == pytest.approx(sum(loads) / 2)


def test_no_rounding_error_is_part_of_a_figure(small_analysis: Analyse) -> None:
    """Two of three notes with the fourth finger, and as many shifts in a time that is no number."""
    analysis = small_analysis("violin", "D5:4 B4:1 D5:1@2 A4:4@3 G4:3 r*2", fifths=1)
    for feature in features(analysis):
        figures = [feature.value, *([] if feature.peak_value is None else [feature.peak_value])]
        assert figures == [round(figure, 6) for figure in figures]
    assert 0 < values(analysis)["fourth_finger"] < 1


def test_an_upbeat_is_no_bar_of_the_length(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "A4*4 A4*4 A4*4")
    upbeat = replace(analysis.part.measures[0], upbeat=True)
    part = replace(analysis.part, measures=(upbeat, *analysis.part.measures[1:]))
    assert_values(replace(analysis, part=part), bars=2)
