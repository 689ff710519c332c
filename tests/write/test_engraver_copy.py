"""What is changed in a copy of the part, so that the engraver draws what a reader needs."""

import re
from xml.etree import ElementTree

import pytest

from scoretools.write.engrave import engraved, single_part

BACKUP = "<backup><duration>2</duration></backup>"
VIOLIN = ("sul E", "sul A", "sul D", "sul G")


def note(pitch: str, notations: str = "", before: str = "", voice: int = 1) -> str:
    if pitch == "r":
        what = "<rest/>"
    else:
        what = f"<pitch><step>{pitch[0]}</step><octave>{pitch[1]}</octave></pitch>"
    return (
        f"<note>{before}{what}<duration>1</duration><voice>{voice}</voice><type>quarter</type>"
        f"{notations}</note>"
    )


def part(name: str, bars: tuple[str, ...], divisions: int = 1) -> str:
    first, *others = bars
    opening = (
        f"<attributes><divisions>{divisions}</divisions>"
        f"<clef><sign>G</sign><line>2</line></clef></attributes>{first}"
    )
    measures = "".join(
        f'<measure number="{number}">{bar}</measure>'
        for number, bar in enumerate((opening, *others), start=1)
    )
    return f'<part id="{name}">{measures}</part>'


def copy_of(*parts: str, chosen: str = "P1") -> str:
    names = [re.search(r'id="(\w+)"', one)[1] for one in parts]
    listed = "".join(f'<score-part id="{name}"><part-name/></score-part>' for name in names)
    score = (
        f'<score-partwise version="4.0"><part-list>{listed}</part-list>{"".join(parts)}'
        "</score-partwise>"
    )
    bars = parts[names.index(chosen)].count("<measure ")
    return single_part(score.encode(), chosen, bars, VIOLIN)


# ── fingers ─────────────────────────────────────────────────────────────────────────────────────


def fingers_drawn(text: str) -> list[str]:
    (svg,) = engraved(text, 100)
    found = re.findall(r'<g class="fing"><text x="\d+" y="(\d+)".*?>(\d)<', svg)
    return [finger for _, finger in sorted((int(height), finger) for height, finger in found)]


def technical(sign: str) -> str:
    return f"<notations><technical>{sign}</technical></notations>"


# Common practice, no published source: fingers of a double stop stand above each other in the
# order of its notes, also where the heads of a second stand side by side.
@pytest.mark.parametrize("lower_first", [True, False])
def test_fingers_of_a_second_stand_in_a_column(lower_first: bool) -> None:
    low, high = ("G4", technical("<fingering>3</fingering>")), ("A4", technical("<open-string/>"))
    first, second = (low, high) if lower_first else (high, low)
    bar = note(*first) + note(*second, before="<chord/>")
    (svg,) = engraved(copy_of(part("P1", (bar,))), 100)
    found = re.findall(r'<g class="fing"><text x="(\d+)" y="(\d+)".*?>(\d)<', svg)
    assert len({across for across, _, _ in found}) == 1
    assert [finger for _, _, finger in sorted(found, key=lambda one: int(one[1]))] == ["0", "3"]


def test_fingers_beside_empty_notations_are_drawn() -> None:
    # Marks are put beside an empty element, which has no end tag to write before.
    lower = note("B3", "<notations/>" + technical("<fingering>2</fingering>"))
    upper = note("G4", technical("<fingering>3</fingering>"), "<chord/>")
    assert fingers_drawn(copy_of(part("P1", (lower + upper,)))) == ["3", "2"]


def test_technical_marks_in_two_elements_are_drawn() -> None:
    two = "<notations><technical><up-bow/></technical><technical><fingering>4</fingering>"
    assert fingers_drawn(copy_of(part("P1", (note("E5", two + "</technical></notations>"),)))) == [
        "4"
    ]


def test_a_chord_of_three_has_three_numbers_in_order() -> None:
    # Common practice, no published source: G3 open, E4 with 1, C5 with 2; 0 stands lowest.
    chord = (
        note("G3", technical("<open-string/>"))
        + note("E4", technical("<fingering>1</fingering>"), "<chord/>")
        + note("C5", technical("<fingering>2</fingering>"), "<chord/>")
    )
    assert fingers_drawn(copy_of(part("P1", (chord,)))) == ["2", "1", "0"]


def test_an_open_string_under_another_voice_has_a_number_too() -> None:
    upper = note("F4", technical("<fingering>2</fingering>")) + note("G4")
    lower = note("G3", technical("<open-string/>"), voice=2) + note("A3", voice=2)
    alone = note("D4", technical("<open-string/>"))
    voices = copy_of(part("P1", (upper + BACKUP + lower, alone)))
    assert fingers_drawn(voices) == ["2", "0"]
    assert voices.count("<open-string") == 1


# ── slurs ───────────────────────────────────────────────────────────────────────────────────────

START = '<notations><slur type="start" number="1"/></notations>'
STOP = '<notations><slur type="stop" number="1"/></notations>'


def slurs(*bars: str) -> list[str]:
    """For each note the slurs on it: ``(`` begins, ``)`` ends."""
    root = ElementTree.fromstring(copy_of(part("P1", bars)))
    signs = {"start": "(", "stop": ")"}
    return [
        "".join(signs[slur.get("type")] for slur in one.iterfind("notations/slur"))
        for one in root.iter("note")
    ]


@pytest.mark.parametrize(
    ("bars", "expected"),
    [
        ((note("A4", START) + note("B4") + note("C5"), note("D5")), ["(", "", ")", ""]),
        ((note("A4", START) + note("B4") + note("r") + note("C5"),), ["(", ")", "", ""]),
        (
            (note("A4", START) + note("B4") + note("C5", START) + note("D5", STOP),),
            ["(", ")", "(", ")"],
        ),
        ((note("A4", START), note("B4")), ["", ""]),
        ((note("A4", START) + note("B4"), note("C5", STOP)), ["(", "", ")"]),
    ],
    ids=["the bar's end", "a rest", "the next beginning", "no other note", "an end in time"],
)
def test_a_slur_without_an_end_stops_where_it_is_read_to_end(
    bars: tuple[str, ...], expected: list[str]
) -> None:
    assert slurs(*bars) == expected


def test_a_slur_stays_in_its_voice() -> None:
    second = BACKUP + note("E4", voice=2) + note("F4", voice=2)
    assert slurs(note("A4", START) + note("B4") + second) == ["(", ")", "", ""]


def test_a_slur_ends_on_the_first_note_of_a_chord() -> None:
    assert slurs(note("A4", START) + note("B4") + note("D5", before="<chord/>")) == ["(", ")", ""]


# ── tempi ───────────────────────────────────────────────────────────────────────────────────────


def direction(inside: str, more: str = "") -> str:
    return f"<direction><direction-type>{inside}</direction-type>{more}</direction>"


ADAGIO = direction("<words>Adagio</words>")
AT_60 = direction(
    "<metronome><beat-unit>quarter</beat-unit><per-minute>60</per-minute></metronome>"
)


def below(*top: str, own: tuple[str, ...]) -> list[list[str]]:
    """For each bar of a lower part its notes and directions in order."""
    text = copy_of(part("P1", top, divisions=1), part("P2", own, divisions=1), chosen="P2")
    return [
        [
            one.findtext("pitch/step") or "rest"
            if one.tag == "note"
            else one.findtext("direction-type/words") or "metronome"
            for one in measure
            if one.tag in ("note", "direction")
        ]
        for measure in ElementTree.fromstring(text).iter("measure")
    ]


def test_tempo_words_over_the_top_part_hold_for_all() -> None:
    assert below(ADAGIO + note("A5"), own=(note("C4"),)) == [["Adagio", "C"]]
    assert below(AT_60 + note("A5"), own=(note("C4"),)) == [["metronome", "C"]]


def test_a_change_of_tempo_stands_over_the_same_beat() -> None:
    change = note("A5") + direction("<words>poco rit.</words>", "<voice>1</voice>") + note("B5")
    assert below(change, own=(note("C4") + note("D4"),)) == [["C", "poco rit.", "D"]]
    chord = note("C4") + note("E4", before="<chord/>") + note("D4")
    assert below(change, own=(chord,)) == [["C", "E", "poco rit.", "D"]]


def test_what_the_part_says_itself_is_not_said_twice() -> None:
    assert below(ADAGIO + note("A5"), own=(ADAGIO + note("C4"),)) == [["Adagio", "C"]]


def test_other_words_of_the_top_part_are_its_own() -> None:
    assert below(
        direction("<words>dolce</words>") + note("A5"), note("A5"), own=(note("C4"), note("D4"))
    ) == [["C"], ["D"]]


def test_the_top_part_keeps_its_own_words_once() -> None:
    text = copy_of(part("P1", (ADAGIO + note("A5"),)), part("P2", (note("C4"),)))
    assert text.count("Adagio") == 1


# ── strings ─────────────────────────────────────────────────────────────────────────────────────


def test_a_string_is_not_named_where_a_line_of_words_has_it() -> None:
    marked = note("C5", technical("<string>3</string>"))
    lines = direction("<words>3rd pos., sul D</words>") + direction("<words>1 and 2 close</words>")
    root = ElementTree.fromstring(copy_of(part("P1", (lines + marked,))))
    assert [one.text for one in root.iter("words")] == ["3rd pos., sul D", "1 and 2 close"]
