"""The chosen fingering explained, and compared with what is printed."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction

import scoretools
from scoretools.analysis import solution_of
from scoretools.fingering.plans import RunnerUp, runners_up
from scoretools.model import (
    Analysis,
    Certainty,
    Choice,
    Finger,
    Offset,
    Part,
    PositionNumber,
    Step,
    Stop,
    StringIndex,
)
from scoretools.write.explain import bar_reasons, printed_otherwise

Analyse = Callable[..., Analysis]
ReadPart = Callable[..., Part]


def with_step(analysis: Analysis, event: int, **changes: object) -> Analysis:
    steps = list(analysis.steps)
    steps[event] = replace(steps[event], **changes)
    return replace(analysis, steps=tuple(steps))


def with_beats(analysis: Analysis, beats: Sequence[Fraction]) -> Analysis:
    """Put all events into the first bar, on these beats of quarter notes."""
    events = tuple(
        replace(event, measure=0, beat=beat, onset_ql=beat - 1)
        for event, beat in zip(analysis.part.events, beats, strict=True)
    )
    return replace(analysis, part=replace(analysis.part, events=events))


def choice(string: int, finger: int, offset: int, certainty: Certainty) -> Choice:
    return Choice(Stop(StringIndex(string), Finger(finger), Offset(offset)), 0.4, certainty)


def test_a_bar_where_the_hand_stays(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "B4:1 C#5:2 D5:3 C#5:2", fifths=3)
    assert bar_reasons(analysis, [0], {})[0][0] == "The hand stays in 1st position."
    assert bar_reasons(analysis, [0], {})[0][-1] == "Every note is sure."


def test_a_shift_is_told_with_its_fingers(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "B4:1@2 C#5:2@2 D5:1@2 E5:2@2", fifths=2)
    assert bar_reasons(analysis, [0], {})[0][0] == (
        "Shift at D5 on beat 3: 1st to 3rd position, finger 2 to 1."
    )


def test_open_strings_rest_the_hand(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "A4:0*4")
    told = bar_reasons(analysis, [0], {})[0]
    assert told[0] == "Open strings only: the left hand rests."
    assert told[-1] == "The note is sure."


def test_payments_are_told_and_the_rest_summed_up(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "B4:1*4")
    costs = (
        ("shift", 2.0), ("string crossing", 1.5), ("fourth finger", 1.0), ("extension", 0.9),
        ("open string", 0.3), ("reach back", 0.2),
    )  # fmt: skip
    dear = with_step(analysis, 0, costs=costs)
    assert bar_reasons(dear, [0], {})[0][1] == (
        "It costs, in points: 2.0 for shifts, 1.5 for string crossings, 1.0 for fourth fingers, "
        "0.9 for extensions and 0.5 for the rest."
    )
    slight = with_step(analysis, 0, costs=(("shift", 1.0), ("fourth finger", 0.04)))
    assert bar_reasons(slight, [0], {})[0][1] == "It costs, in points: 1.0 for shifts."
    free = with_step(analysis, 0, costs=())
    assert bar_reasons(free, [0], {})[0][1] == "It costs nothing: no fingering could lie better."


def test_an_open_note_has_its_second_choice(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "D5 E5 D5 E5")
    doubtful = choice(2, 4, 7, Certainty.OPEN)
    for event in (1, 3):
        analysis = with_step(analysis, event, choices=(doubtful,))
    for event in (0, 2):
        analysis = with_step(analysis, event, choices=(choice(2, 3, 5, Certainty.SURE),))
    other = Stop(StringIndex(3), Finger(0), Offset(0))
    first = Stop(StringIndex(2), Finger(1), Offset(5))
    seconds = {
        (0, 0): RunnerUp(first, PositionNumber(3), 4.0),
        (1, 0): RunnerUp(other, PositionNumber(1), 0.4),
        (3, 0): RunnerUp(other, PositionNumber(1), 0.4),
    }
    assert bar_reasons(analysis, [0], seconds)[0][2:] == (
        "Of 4 notes, 2 sure and 2 open.",
        "E5 on beats 2 and 4: open; second choice open E string, 0.4 points more.",
    )


def test_a_printed_finger_is_told_where_another_would_cost_less(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "D5:1@2*4")
    third = Stop(StringIndex(2), Finger(3), Offset(5))
    told = bar_reasons(analysis, [0], {(0, 0): RunnerUp(third, PositionNumber(1), -0.8)})[0]
    assert told[-1] == (
        "D5 on beat 1: 1 on the A string, as printed; "
        "3 on the A string in 1st position would cost 0.8 points less."
    )


def test_beats_are_said_as_a_teacher_says_them(small_analysis: Analyse) -> None:
    """On beats 1, 2½, a sixteenth after 3 and twice more in that beat, at places without a name."""
    analysis = small_analysis("violin", "E5 E5 E5 E5 E5")
    doubtful = choice(2, 4, 7, Certainty.OPEN)
    other = RunnerUp(Stop(StringIndex(3), Finger(0), Offset(0)), PositionNumber(1), 0.4)
    beats = [Fraction(1), Fraction(5, 2), Fraction(13, 4), Fraction(27, 8), Fraction(29, 8)]
    analysis = with_beats(analysis, beats)
    for event in range(5):
        analysis = with_step(analysis, event, choices=(doubtful,))
    told = [
        bar_reasons(analysis, [0], {(event, 0): other for event in events})[0][-1].partition(":")[0]
        for events in ([0], [1], [3], [1, 2], [0, 1, 3, 4])
    ]
    assert told == [
        "E5 on beat 1",
        "E5 on beat 2½",
        "E5 after beat 3",
        "E5 on beats 2½ and 3 (second sixteenth)",
        "E5 on beats 1 and 2½ and after beat 3",
    ]


def test_a_figure_with_other_fingers_elsewhere_is_told_with_its_bar(
    small_analysis: Analyse,
) -> None:
    """The same five notes twice; printed fingers make the second time another one."""
    analysis = small_analysis(
        "violin",
        "B4:1 C#5:2 D5:3 C#5:2 B4:1 r*3 B4:1@2 C#5:2@2 D5:1@2 C#5:2@2 B4:1@2 r*3",
        fifths=2,
    )
    middle = 2
    dear = with_step(analysis, middle, costs=(("figure as before", 0.6),))
    told = bar_reasons(dear, [0], {})[0]
    assert "0.6 for figures fingered differently elsewhere" in told[1]
    assert told[2] == "The same figure is fingered differently in bar 3."
    free = with_step(analysis, middle, costs=(("fourth finger", 0.6),))
    assert not any("same figure" in sentence for sentence in bar_reasons(free, [0], {})[0])
    settled = with_step(dear, 7, choices=dear.steps[middle].choices)
    assert not any("same figure" in sentence for sentence in bar_reasons(settled, [0], {})[0])


def test_small_notes_behind_the_last_beat_end_the_bar(small_analysis: Analyse) -> None:
    """A turn after a trill begins where the bar is over; there is no beat 5."""
    analysis = small_analysis("violin", "B4:1 C#5:2 D5:1@2 E5:2@2", fifths=2)
    assert "D5 on beat 3" in bar_reasons(analysis, [0], {})[0][0]
    events = list(analysis.part.events)
    events[2] = replace(events[2], onset_ql=Fraction(4), beat=Fraction(5))
    late = replace(analysis, part=replace(analysis.part, events=tuple(events)))
    assert bar_reasons(late, [0], {})[0][0].startswith("Shift at D5 at the end of the bar: ")


def test_second_choices_of_the_search_are_told(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "D5 E5 D5 E5 F5 E5 D5 E5")
    solution = solution_of(analysis)
    assert solution is not None
    seconds = runners_up(solution, range(8))
    told = " ".join(s for bar in bar_reasons(analysis, [0, 1], seconds).values() for s in bar)
    unsure = [c for step in analysis.steps for c in step.choices if c.certainty != "sure"]
    assert ("second choice" in told) == bool(unsure)


def test_bars_without_a_fingering_are_left_out(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "B4:1*4 r*4 F3*4")
    assert list(bar_reasons(analysis, [0, 1, 2], {})) == [0]


# ── against what is printed ─────────────────────────────────────────────────────────────────────


def test_what_is_played_as_printed(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "B4:1 C5 D5:3@2 A4:0")
    assert printed_otherwise(analysis, [0]) == (3, 3, ())


def test_what_is_played_otherwise(small_part: ReadPart) -> None:
    part = small_part("violin", "B4:3@3 A4:0 C5 D5:3")
    analysis = scoretools.analyse(part, use_marks=False)
    steps = [
        replace(step, choices=(choice(*stop, Certainty.SURE),))
        for step, stop in zip(
            analysis.steps, [(2, 1, 2), (1, 4, 7), (2, 2, 3), (2, 3, 5)], strict=True
        )
    ]
    analysis = replace(analysis, steps=tuple(steps))
    assert printed_otherwise(analysis, [0]) == (
        3,
        1,
        (
            "bar 1, B4 on beat 1: finger 3 and the D string printed, here 1 on the A string",
            "bar 1, A4 on beat 2: an open string printed, here 4 on the D string",
        ),
    )
    assert printed_otherwise(analysis, []) == (0, 0, ())


def test_notes_no_hand_can_play_are_not_compared(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "F3:1 B4:1 B4 B4")
    assert analysis.steps[0] == Step(None, (), ())
    assert printed_otherwise(analysis, [0]) == (1, 1, ())
