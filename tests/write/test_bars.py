"""A fingering in short words, bar by bar; what is printed on the notes makes it sure."""

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

import pytest

from scoretools.model import Analysis, Finger, Offset, Placement, PositionNumber, Stop, StringIndex
from scoretools.write.bars import (
    BarLine,
    Sign,
    Token,
    bar_lines,
    beat_words,
    legend,
    stop_words,
)

Analyse = Callable[..., Analysis]


def texts(lines: tuple[BarLine, ...]) -> list[str]:
    return [f"{line.name}: {' '.join(token.text for token in line.tokens)}" for line in lines]


def every_bar(analysis: Analysis) -> tuple[BarLine, ...]:
    return bar_lines(analysis, range(len(analysis.part.measures)))


def test_position_string_note_and_finger(small_analysis: Analyse) -> None:
    analysis = small_analysis(
        "violin", "A4:0 B4:1 C#5:2 E5:0 F#5:1@1 E5:0 D5:3@2 C#5:2@2", fifths=3
    )
    assert texts(every_bar(analysis)) == [
        "bar 1: 1st position A: A4 0 B4 1 C#5 2 E: E5 0",
        "bar 2: 1st position E: F#5 1 E5 0 A: D5 3 C#5 2",
    ]
    assert {token.sign for line in every_bar(analysis) for token in line.tokens} == {
        Sign.POSITION, Sign.STRING, Sign.SURE
    }  # fmt: skip


def test_a_shift_has_an_arrow_and_the_string_again(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "B4:1@2 C#5:2@2 D5:1@2 E5:2@2 F#5:3@2 E5:2@2 D5:3@2 B4:1@2",
                              fifths=2)  # fmt: skip
    assert texts(every_bar(analysis)) == [
        "bar 1: 1st position A: B4 1 C#5 2 → 3rd position A: D5 1 E5 2",
        "bar 2: 3rd position A: F#5 3 E5 2 → 1st position A: D5 3 B4 1",
    ]


def test_a_bar_that_begins_with_a_shift(small_analysis: Analyse) -> None:
    analysis = small_analysis(
        "violin", "B4:1@2 C#5:2@2 D5:3@2 C#5:2@2 D5:1@2 E5:2@2 F#5:3@2 G5:4@2"
    )
    assert texts(every_bar(analysis))[1] == "bar 2: → 3rd position A: D5 1 E5 2 F#5 3 G5 4"
    assert texts(bar_lines(analysis, [1])) == texts(every_bar(analysis))[1:]


def test_open_strings_alone_have_no_position(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "A4:0 A4:0 D4:0 D4:0")
    assert texts(every_bar(analysis)) == ["bar 1: open strings A: A4 0 A4 0 D: D4 0 D4 0"]


def test_a_double_stop_names_both_strings(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "B4:3@3+G5:4@2 A4:2@3+F5:3@2 G4:1@3+E5:2@2 G4:1@3+E5:2@2")
    (line,) = texts(every_bar(analysis))
    assert line.endswith("D+A: B4+G5 3+4 A4+F5 2+3 G4+E5 1+2 G4+E5 1+2")


def test_bars_without_notes_are_drawn_together(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "A4:0*4 r*4 r*4 A4:0*4")
    assert texts(every_bar(analysis)) == [
        "bar 1: open strings A: A4 0",
        "bars 2–3: no note begins",
        "bar 4: open strings A: A4 0",
    ]


def test_the_rest_of_a_divided_bar_is_told_by_its_first_beat(small_analysis: Analyse) -> None:
    """Bar 1 of four beats is divided by a repeat: three beats before it, one after."""
    analysis = small_analysis("violin", "A4:0 A4:0*2 A4:0 A4:0*4")
    whole, after = analysis.part.measures
    divided = (
        replace(whole, duration_ql=Fraction(3)),
        replace(whole, index=1, upbeat=True, onset_ql=Fraction(3), duration_ql=Fraction(1)),
        replace(after, index=2),
    )
    events = tuple(
        replace(event, measure=measure)
        for event, measure in zip(analysis.part.events, (0, 0, 1, 2), strict=True)
    )
    part = replace(analysis.part, measures=divided, events=events)
    lines = every_bar(replace(analysis, part=part))
    assert [line.name for line in lines] == ["bar 1", "bar 1, from beat 4", "bar 2"]
    assert [line.measures for line in lines] == [(0,), (1,), (2,)]


def test_an_upbeat_keeps_its_name(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "A4:0*4 A4:0*4")
    measures = analysis.part.measures
    upbeat = replace(measures[0], number="0", upbeat=True, duration_ql=Fraction(1))
    part = replace(analysis.part, measures=(upbeat, *measures[1:]))
    assert every_bar(replace(analysis, part=part))[0].name == "the upbeat"


# Common practice, no published source
@pytest.mark.parametrize(
    ("beat", "unit", "words"),
    [
        (Fraction(2), 4, "beat 2"),
        (Fraction(5, 2), 4, "beat 2½"),
        (Fraction(5, 4), 4, "beat 1 (second sixteenth)"),
        (Fraction(11, 4), 4, "beat 2 (fourth sixteenth)"),
        (Fraction(5, 4), 2, "beat 1 (second eighth)"),
        (Fraction(11, 4), 8, "beat 2 (fourth thirty-second)"),
        (Fraction(11, 4), 16, "after beat 2"),
        (Fraction(7, 3), 4, "beat 2 (second of the triplet)"),
        (Fraction(8, 3), 4, "beat 2 (third of the triplet)"),
        (Fraction(19, 8), 4, "after beat 2"),
    ],
)
def test_a_beat_is_said_as_a_teacher_says_it(beat: Fraction, unit: int, words: str) -> None:
    assert beat_words(beat, unit) == words


def test_what_cannot_be_played_is_said(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "F3 A4:0 A4:0 A4:0")
    assert texts(every_bar(analysis)) == ["bar 1: F3 not playable open strings A: A4 0 A4 0 A4 0"]


def test_brackets_tell_how_sure(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "D5 E5 D5 E5 F5 E5 D5 E5 A4 E5 A4 B4")
    signs = {"sure": Sign.SURE, "likely": Sign.LIKELY, "open": Sign.OPEN}
    notes = [t for line in every_bar(analysis) for t in line.tokens if t.sign in signs.values()]
    choices = [step.choices[0] for step in analysis.steps]
    assert len(notes) == len(choices)
    for token, choice in zip(notes, choices, strict=True):
        finger = choice.stop.finger
        written = {"sure": f"{finger}", "likely": f"({finger})", "open": f"({finger}?)"}
        assert token.sign is signs[choice.certainty]
        assert token.text.split()[1] == written[choice.certainty]
    assert len({choice.certainty for choice in choices}) > 1


def test_another_plan_is_written_without_brackets(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "D5 E5 F5 G5")
    fingers = [(1, 5), (2, 7), (3, 8), (4, 10)]
    placements = [
        Placement(Offset(5), PositionNumber(3),
                  (Stop(StringIndex(2), Finger(finger), Offset(offset)),), broken=False)
        for finger, offset in fingers
    ]  # fmt: skip
    lines = bar_lines(analysis, [0], placements)
    assert texts(lines) == ["bar 1: 3rd position A: D5 1 E5 2 F5 3 G5 4"]
    assert legend(lines) == ""


def test_the_legend_tells_of_what_is_there() -> None:
    def line(*signs: Sign) -> BarLine:
        return BarLine("bar 1", (0,), tuple(Token("A4 0", sign) for sign in signs))

    assert legend([line(Sign.SURE)]) == ""
    assert legend([line(Sign.SURE), line(Sign.LIKELY)]) == (
        "A finger without brackets is sure; (2) is likely."
    )
    assert "(2?) is open" in legend([line(Sign.OPEN, Sign.LIKELY)])


@pytest.mark.parametrize(
    ("stop", "words"),
    [
        (Stop(StringIndex(2), Finger(0), Offset(0)), "open A string"),
        (Stop(StringIndex(1), Finger(2), Offset(4)), "2 on the D string"),
        (Stop(StringIndex(3), Finger(4), Offset(12), touched=True), "4 touching on the E string"),
    ],
)
def test_a_stop_in_words(small_analysis: Analyse, stop: Stop, words: str) -> None:
    assert stop_words(small_analysis("violin", "A4"), stop) == words
