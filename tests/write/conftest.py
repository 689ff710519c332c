"""One small analysis, made by hand, of which every cell of every table is known beforehand.

Four bars for violin in two movements, at 60 quarters a minute::

    bar      1 (first movement)          2                     2a           1 (second movement)
    notes    A4 B4 C#5 B3+G4 (crotchets) D6 (minim) rest       C2 (minim)   Bb4 (semibreve)
    hand     open, then first position   third position        none         half position
"""

from fractions import Fraction

import pytest

from scoretools.model import (
    NO_MARKS,
    Address,
    Analysis,
    BarLoad,
    Certainty,
    Check,
    Choice,
    Demand,
    DemandKind,
    Drill,
    DrillNote,
    Event,
    Exercise,
    Finger,
    Key,
    LeftOut,
    Marks,
    Measure,
    Note,
    Notice,
    Offset,
    Part,
    Passage,
    Pitch,
    Placement,
    PositionNumber,
    PrintedString,
    Shape,
    Step,
    Stop,
    StringIndex,
    Tempo,
)

G, D, A, E = map(StringIndex, range(4))
D_MAJOR = Key((1, 0, 0, 1, 0, 0, 0), 2, "major")


def pitch(name: str) -> Pitch:
    return Pitch(name[0], name.count("#") - name[1:].count("b"), int(name[-1]))


def stop(string: StringIndex, finger: int, offset: int) -> Stop:
    return Stop(string, Finger(finger), Offset(offset))


def shape(string: StringIndex, position: int, offsets: str, known: str) -> Shape:
    one, two, three, four = (Offset(int(word)) for word in offsets.split())
    fingers = tuple(Finger(int(word)) for word in known.split())
    return Shape(string, PositionNumber(position), (one, two, three, four), fingers)


FIRST_ON_A = shape(A, 1, "2 4 5 7", "1 2")
FIRST_ON_D = shape(D, 1, "2 4 5 7", "3")
FIRST_ON_G = shape(G, 1, "2 4 6 7", "2")
THIRD_ON_E = shape(E, 3, "5 7 9 10", "4")
HALF_ON_A = shape(A, 0, "1 3 4 6", "1")


def measure(
    index: int, number: str, onset: int, length: int, movement: int, rehearsal: str
) -> Measure:
    return Measure(
        index, number, movement, rehearsal, Fraction(onset), Fraction(length), (4, 4), False
    )


def event(index: int, bar: int, onset: int, beat: int, length: int, *notes: Note) -> Event:
    return Event(
        index, bar, Fraction(onset), float(onset), float(onset + length), Fraction(beat),
        notes, (), D_MAJOR, False, False,
    )  # fmt: skip


def note(name: str, length: int, bar: int, place: int, marks: Marks = NO_MARKS) -> Note:
    quarters = Fraction(length)
    address = Address("P1", bar, place)
    return Note(pitch(name), quarters, quarters, "1", 1, False, False, marks, address)


def step(
    home: int, position: int, *choices: tuple[Stop, float | None, Certainty], costs: float = 0.0
) -> Step:
    stops = tuple(stop for stop, _, _ in choices)
    return Step(
        Placement(Offset(home), PositionNumber(position), stops, False),
        tuple(Choice(*choice) for choice in choices),
        (("fourth finger", costs),) if costs else (),
    )


def part() -> Part:
    printed = Marks(fingers=(Finger(4), Finger(3)), string=PrintedString(1))
    open_a = Marks(open_string=True)
    return Part(
        source="study.musicxml",
        title="Study",
        composer="A. Player",
        name="Violin",
        part_id="P1",
        number=1,
        instrument="violin",
        tuning=None,
        measures=(
            measure(0, "1", 0, 4, 1, ""),
            measure(1, "2", 4, 4, 1, "=A"),
            measure(2, "2a", 8, 2, 1, "=A"),
            measure(3, "1", 10, 4, 2, ""),
        ),
        events=(
            event(0, 0, 0, 1, 1, note("A4", 1, 0, 0, open_a)),
            event(1, 0, 1, 2, 1, note("B4", 1, 0, 1)),
            event(2, 0, 2, 3, 1, note("C#5", 1, 0, 2)),
            event(3, 0, 3, 4, 1, note("B3", 1, 0, 3), note("G4", 1, 0, 4)),
            event(4, 1, 4, 1, 2, note("D6", 2, 1, 0, printed)),
            event(5, 2, 8, 1, 2, note("C2", 2, 2, 0)),
            event(6, 3, 10, 1, 4, note("Bb4", 4, 3, 0)),
        ),
        tempi=(Tempo(Fraction(0), 60.0, True),),
        notices=(Notice("The score prints no tempo."),),
    )


def steps() -> tuple[Step, ...]:
    sure, likely, open_ = Certainty.SURE, Certainty.LIKELY, Certainty.OPEN
    return (
        step(2, 1, (stop(A, 0, 0), 1.25, sure)),
        step(2, 1, (stop(A, 1, 2), 3.5, sure)),
        step(2, 1, (stop(A, 2, 4), 0.9, likely)),
        step(2, 1, (stop(G, 2, 4), None, sure), (stop(D, 3, 5), -0.5, open_)),
        step(5, 3, (stop(E, 4, 10), 2.0, sure), costs=0.45),
        Step(None, (), ()),
        step(1, 0, (stop(A, 1, 1), 0.2, open_)),
    )


def passages() -> tuple[Passage, ...]:
    return (
        Passage(0, 0, 3, Offset(2), PositionNumber(1), (FIRST_ON_G, FIRST_ON_D, FIRST_ON_A),
                "start"),
        Passage(1, 4, 4, Offset(5), PositionNumber(3), (THIRD_ON_E,), "shift"),
        Passage(2, 6, 6, Offset(1), PositionNumber(0), (HALF_ON_A,), "shift"),
    )  # fmt: skip


def demands() -> tuple[Demand, ...]:
    return (
        Demand(
            DemandKind.SHIFT, E, PositionNumber(3), Offset(0), "",
            "1st to 3rd position, finger 2 to 4", (4,), (1,), 1.0, True, Certainty.SURE, 5.5,
            stops=(stop(A, 2, 4), stop(E, 4, 10)), from_position=PositionNumber(1), travel=3,
        ),
        Demand(
            DemandKind.SHAPE, A, PositionNumber(1), Offset(2), "W-H-W", "W-H-W", (1, 2), (0,),
            1.0, True, Certainty.SURE, 2.25, shape=FIRST_ON_A,
        ),
        Demand(
            DemandKind.DOUBLE_STOP, G, PositionNumber(1), Offset(0), "",
            "sixth on the G and D strings", (3,), (0,), 1.0, True, Certainty.OPEN, 2.25,
            stops=(stop(G, 2, 4), stop(D, 3, 5)),
        ),
    )  # fmt: skip


NO_KEY = Key((0, 0, 0, 0, 0, 0, 0), 0, None)


def drill_note(name: str, placed: Stop, quarters: int = 1, with_next: bool = False) -> DrillNote:
    return DrillNote(pitch(name), placed, PositionNumber(1), Fraction(quarters), with_next)


def drills() -> tuple[Drill, ...]:
    up = (
        drill_note("B4", stop(A, 1, 2)),
        drill_note("C#5", stop(A, 2, 4)),
        drill_note("D5", stop(A, 3, 5), 2),
    )
    on_d = (drill_note("E4", stop(D, 1, 2)), drill_note("F#4", stop(D, 2, 4), 3))
    on_e = (drill_note("F#5", stop(E, 1, 2)), drill_note("G#5", stop(E, 2, 4), 3))
    both = (
        drill_note("B3", stop(G, 2, 4)),
        drill_note("B3", stop(G, 2, 4), 3, with_next=True),
        drill_note("G4", stop(D, 3, 5), 3),
    )

    def exercise(name: str, notes: tuple[DrillNote, ...]) -> Exercise:
        return Exercise(name, "", NO_KEY, 4, notes)

    return (
        Drill(
            0, "W-H-W on the A string, 1st position", DemandKind.SHAPE, A, PositionNumber(1),
            "W-H-W", FIRST_ON_A,
            (exercise("up", up), exercise("up again", on_d), exercise("up again", on_e)),
            (Check(pitch("D5"), pitch("D4"), "octave"),), "=keep the thumb light", (0,), (1,),
            0.23, (), 60, 120, True, (60, 84, 120), 4, (0, 1),
        ),
        Drill(
            1, "Double stops in sixths, 1st position", DemandKind.DOUBLE_STOP, G,
            PositionNumber(1), "", None, (exercise("one by one, then together", both),), (), "",
            (0, 1, 2, 3), (2,), 0.23, (0,), 40, 60, False, (40, 60), 3, (0, 1),
        ),
    )  # fmt: skip


LEFT_OUT = LeftOut(
    "Shifts between 1st and 3rd position, finger 2 to 4", (0,), (1,), 0.54,
    "no time: it would take 3 minutes, 2 times",
)  # fmt: skip


@pytest.fixture
def analysis() -> Analysis:
    """The analysis drawn at the head of this module."""
    return Analysis(
        part=part(),
        profile="developing-player",
        ceiling=PositionNumber(3),
        ceiling_from="notes",
        string_names=("G", "D", "A", "E"),
        steps=steps(),
        shapes=(
            (FIRST_ON_A,),
            (FIRST_ON_A,),
            (FIRST_ON_A,),
            (FIRST_ON_G, FIRST_ON_D),
            (THIRD_ON_E,),
            (),
            (HALF_ON_A,),
        ),
        passages=passages(),
        passage_of=(0, 0, 0, 0, 1, None, 2),
        demands=demands(),
        loads=(
            BarLoad(0, 1.5, ("W-H-W on A", "double stop: sixth")),
            BarLoad(1, 2.75, ("shift 1st to 3rd position, finger 2 to 4",)),
            BarLoad(2, 0.0, ()),
            BarLoad(3, 1.5, ("half position",)),
        ),
        drills=drills(),
        left_out=(LEFT_OUT,),
        notices=(
            Notice("The score prints no tempo."),
            Notice("C2 goes below the open G; left unfingered", 2),
        ),
        cost=0.45,
        marks_broken=0,
    )
