import re
from collections.abc import Sequence
from itertools import pairwise
from xml.etree import ElementTree

import pytest
import typst

from scoretools.instrument import Instrument, instrument, spacing_mm, stop_distance_mm
from scoretools.model import Finger, Offset, PositionNumber, Stop, StringIndex
from scoretools.write.fingerboard import Spot, fingerboard
from scoretools.write.fingerboard_values import across, board_under, close, position_places

VIOLIN = instrument("violin")
INSTRUMENTS = {
    "violin 4/4": VIOLIN,
    "violin 1/2": instrument("violin", "1/2"),
    "violin 1/10": instrument("violin", "1/10"),
    "viola": instrument("viola"),
}
G, D, A, E = (StringIndex(string) for string in range(4))
NUMBER = r"-?\d+(?:\.\d+)?(?:e-?\d+)?"


def spot(
    string: StringIndex,
    finger: int,
    offset: int,
    letter: str,
    implied: bool = False,
    check: str = "",
) -> Spot:
    return Spot(Stop(string, Finger(finger), Offset(offset)), letter, implied, check)


# First position on the A string, 2 and 3 close.
WORKED = (
    spot(A, 0, 0, "A"),
    spot(A, 1, 2, "B"),
    spot(A, 2, 4, "C#"),
    spot(A, 3, 5, "D", check="octave"),
    spot(A, 4, 7, "E", implied=True),
)


class Drawing:
    """A picture read back, in mm."""

    def __init__(self, svg: str) -> None:
        self.root = ElementTree.fromstring(svg)
        self.width_mm = float(self.root.attrib["width"].removesuffix("mm"))
        self.height_mm = float(self.root.attrib["height"].removesuffix("mm"))
        _, _, width, height = (float(number) for number in self.root.attrib["viewBox"].split())
        self.scales = self.width_mm / width, self.height_mm / height

    def texts(self, style: str = "") -> list[tuple[str, float, float]]:
        return [
            (element.text or "", *self.place(element.attrib["x"], element.attrib["y"]))
            for element in self.elements("text")
            if style in element.attrib["style"]
        ]

    def place(self, x: str, y: str) -> tuple[float, float]:
        return float(x) * self.scales[0], float(y) * self.scales[1]

    def elements(self, tag: str) -> list[ElementTree.Element]:
        return [element for element in self.root.iter() if element.tag.rpartition("}")[2] == tag]

    def boxes(self, fill: str, curved: bool) -> list[tuple[float, float, float, float]]:
        """Left, top, right, bottom of the shapes of one fill: circles, or all with straight
        edges."""
        found = []
        for element in self.elements("path"):
            style, outline = element.attrib.get("style", ""), element.attrib["d"]
            if f"fill: {fill}" in style and ("C" in outline) == curved:
                numbers = [float(number) for number in re.findall(NUMBER, outline)]
                xs, ys = numbers[::2], numbers[1::2]
                left, top = min(xs) * self.scales[0], min(ys) * self.scales[1]
                right, bottom = max(xs) * self.scales[0], max(ys) * self.scales[1]
                found.append((left, top, right, bottom))
        return found

    def circles(self, fill: str) -> list[tuple[float, float, float]]:
        """Place across and down, and radius, from the nut's end of the picture."""
        return sorted(
            (
                ((left + right) / 2, (top + bottom) / 2, (right - left) / 2)
                for left, top, right, bottom in self.boxes(fill, curved=True)
            ),
            key=lambda circle: circle[1],
        )

    def word(self, tag: str) -> str:
        return self.elements(tag)[0].text or ""


def draw(
    spots: Sequence[Spot], position: int = 1, on: Instrument = VIOLIN, in_mm: bool = False
) -> Drawing:
    return Drawing(fingerboard(on, PositionNumber(position), spots, in_mm=in_mm))


INK, PAPER = "#1a1a1a", "#ffffff"


# ── true scale ──────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("size", INSTRUMENTS)
@pytest.mark.parametrize("home", [1, 2, 5, 12, 20])
@pytest.mark.parametrize("gaps", [(2, 1, 2), (1, 1, 1), (3, 1, 2)])
def test_fingers_lie_as_far_apart_as_on_the_string(
    size: str, home: int, gaps: tuple[int, int, int]
) -> None:
    on = INSTRUMENTS[size]
    offsets = [home, home + gaps[0], home + sum(gaps[:2]), home + sum(gaps)]
    drawing = draw([spot(A, f, o, "B") for f, o in enumerate(offsets, start=1)], 1, on)
    circles = drawing.circles(INK)
    assert len(circles) == 4
    for (low, high), (one, other) in zip(pairwise(offsets), pairwise(circles), strict=True):
        assert other[1] - one[1] == pytest.approx(spacing_mm(on, low, high), abs=0.01)
        assert one[2] + other[2] < other[1] - one[1]
    digits = [(text, y) for text, _, y in drawing.texts(f"fill: {PAPER}")]
    assert [text for text, _ in digits] == ["1", "2", "3", "4"]
    for (_, y), circle in zip(digits, circles, strict=True):
        assert 0 < y - circle[1] < circle[2]


@pytest.mark.parametrize("size", INSTRUMENTS)
def test_the_nut_is_where_the_string_begins(size: str) -> None:
    on = INSTRUMENTS[size]
    drawing = draw([spot(A, 1, 2, "B")], 1, on)
    nut = max(drawing.boxes(INK, curved=False), key=lambda box: box[2] - box[0])
    finger = drawing.circles(INK)[0]
    assert finger[1] - nut[3] == pytest.approx(stop_distance_mm(on, 2), abs=0.01)


def test_a_measured_distance_of_a_full_size_violin() -> None:
    circles = draw(WORKED[1:4]).circles(INK)
    # CALC: 328·(2^(−2/12) − 2^(−4/12)) = 31.9 mm; 328·(2^(−4/12) − 2^(−5/12)) = 14.6 mm
    assert circles[1][1] - circles[0][1] == pytest.approx(31.9, abs=0.05)
    assert circles[2][1] - circles[1][1] == pytest.approx(14.6, abs=0.05)


def test_second_rings_do_not_touch_high_on_the_smallest_violin() -> None:
    tiny = instrument("violin", "1/16")
    spots = [spot(E, f, 19 + f, "C", check="octave") for f in range(1, 5)]
    drawing = draw(spots, 12, tiny)
    rings = [ring for ring in drawing.circles(PAPER) if ring[2] < 5]
    assert len(rings) == 4
    assert all(b[1] - a[1] > a[2] + b[2] for a, b in pairwise(rings))


def test_a_high_hand_is_drawn_without_the_rest_of_the_string() -> None:
    high = draw([spot(G, 1, 12, "G"), spot(G, 2, 14, "A")], 7)
    assert high.height_mm < 50
    assert board_under(VIOLIN, PositionNumber(7), [spot(G, 1, 12, "G")]).top_mm > 150
    assert board_under(VIOLIN, PositionNumber(2), [spot(G, 1, 4, "B")]).top_mm == 0


# ── what is drawn ───────────────────────────────────────────────────────────────────────────────


def test_a_finger_that_plays_is_filled_and_an_implied_one_hollow() -> None:
    drawing = draw(WORKED)
    assert [text for text, _, _ in drawing.texts(f"fill: {PAPER}")] == ["1", "2", "3"]
    dark = [text for text, _, _ in drawing.texts(f"fill: {INK}")]
    assert {"0", "4"} <= set(dark)
    assert len(drawing.circles(INK)) == 3
    # The open string, the fourth finger, and the second ring of the third.
    assert len(drawing.circles(PAPER)) == 3


def test_strings_and_notes_are_named() -> None:
    drawing = draw(WORKED)
    texts = drawing.texts()
    names = texts[:4]
    assert [text for text, _, _ in names] == ["G", "D", "A", "E"]
    assert [x for _, x, _ in names] == sorted(x for _, x, _ in names)
    assert {"1st pos.", "B", "C♯", "octave"} <= {text for text, _, _ in texts}
    assert {"C", "G"} <= {text for text, _, _ in draw([], 1, instrument("viola")).texts()}


def test_other_names_can_be_printed() -> None:
    names = ["", "Si", "Do#", "Re", "Mi"]
    svg = fingerboard(VIOLIN, PositionNumber(1), WORKED, names=names)
    assert {"Si", "Do♯", "Re", "Mi"} <= {text for text, _, _ in Drawing(svg).texts()}
    with pytest.raises(ValueError, match="zip"):
        fingerboard(VIOLIN, PositionNumber(1), WORKED, names=["Si"])


def test_half_steps_between_neighbouring_fingers_are_joined() -> None:
    board = board_under(VIOLIN, PositionNumber(1), WORKED)
    assert [(low.stop.finger, high.stop.finger) for low, high in close(board)] == [(2, 3)]
    joined = draw(WORKED[1:4])
    apart = draw([*WORKED[1:3], spot(A, 3, 6, "D#")])
    assert len(joined.boxes(INK, curved=False)) == len(apart.boxes(INK, curved=False)) + 1


def test_the_join_to_an_implied_finger_is_hollow() -> None:
    played = [spot(A, 1, 2, "B"), spot(A, 2, 3, "C")]
    implied = [played[0], spot(A, 2, 3, "C", implied=True)]
    assert len(draw(played).boxes(INK, curved=False)) == 2
    assert len(draw(implied).boxes(INK, curved=False)) == 1


def test_one_finger_across_two_strings_is_one_bar() -> None:
    fifth = [spot(D, 2, 3, "F"), spot(A, 2, 3, "C")]
    drawing = draw(fifth)
    assert drawing.circles(INK) == []
    assert [text for text, _, _ in drawing.texts(f"fill: {PAPER}")] == ["2"]
    texts = {text: x for text, x, _ in drawing.texts()}
    assert texts["F"] < texts["2"] < texts["C"]


def test_frames_on_two_strings_hold_no_fifth() -> None:
    both = [spot(string, f, o, "B") for string in (D, A) for f, o in ((1, 2), (2, 4))]
    assert across(board_under(VIOLIN, PositionNumber(1), both)) == {}
    assert len(draw(both).circles(INK)) == 4


def test_a_finger_that_moves_has_an_arrow_to_where_it_goes() -> None:
    up = draw([spot(A, 1, 2, "B"), spot(A, 1, 5, "D")])
    down = draw([spot(A, 1, 5, "D"), spot(A, 1, 2, "B")], 3)
    (_, high_y, _), (_, low_y, _) = up.circles(INK)
    heads = [box for box in up.boxes(INK, curved=False) if box[3] - box[1] < 3 < box[0] + 1]
    assert any(head[3] == pytest.approx(low_y, abs=0.01) for head in heads)
    heads = down.boxes(INK, curved=False)
    assert any(head[1] == pytest.approx(high_y, abs=0.01) for head in heads)
    assert {"1st pos.", "3rd pos."} <= {text for text, _, _ in up.texts()}


def test_fingers_that_meet_at_one_place_stand_side_by_side() -> None:
    first, second = draw([*WORKED[1:4], spot(A, 1, 5, "D")]).circles(INK)[-2:]
    assert first[1] == pytest.approx(second[1], abs=0.01)
    assert abs(first[0] - second[0]) > first[2] + second[2]


def test_a_spot_given_twice_is_drawn_once_as_played() -> None:
    drawing = draw([spot(A, 1, 2, "B", implied=True), spot(A, 1, 2, "B")])
    assert len(drawing.circles(INK)) == 1


def test_distances_are_printed_on_request() -> None:
    printed = [text for text, _, _ in draw(WORKED, in_mm=True).texts() if text.endswith("mm")]
    assert printed == ["32 mm", "15 mm", "27 mm"]
    assert not any(text.endswith("mm") for text, _, _ in draw(WORKED).texts())


@pytest.mark.parametrize(
    ("position", "spots", "places"),
    [
        (1, [spot(A, 1, 1, "Bb")], {1: 1}),
        (1, [spot(E, 1, 2, "F#"), spot(D, 1, 1, "Eb")], {1: 2}),
        (0, [spot(A, 1, 1, "Bb")], {0: 1}),
        (1, [spot(A, 1, 2, "B"), spot(A, 1, 5, "D")], {1: 2, 3: 5}),
        (1, [spot(A, 3, 5, "D")], {1: 2}),
        (5, [spot(E, 4, 13, "F")], {5: 8}),
        (5, [], {5: 9}),
        (1, [spot(A, 3, 5, "D"), spot(A, 1, 3, "C")], {1: 2, 2: 3}),
        (3, [spot(A, 1, 2, "B"), spot(A, 2, 7, "E")], {1: 2, 3: 5}),
        (1, [spot(A, 1, 2, "B"), spot(A, 1, 1, "A#")], {1: 2}),
    ],
)
def test_positions_are_named_at_their_first_finger(
    position: int, spots: list[Spot], places: dict[int, int]
) -> None:
    # Common practice, no published source: the position goes by the letter of the first finger
    assert position_places(board_under(VIOLIN, PositionNumber(position), spots)) == places


# ── in words ────────────────────────────────────────────────────────────────────────────────────


def test_the_picture_is_told_in_words() -> None:
    drawing = draw(WORKED)
    assert drawing.root.attrib["role"] == "img"
    assert drawing.word("title") == "A string, 1st position"
    assert drawing.word("desc") == (
        "A string, 1st position: open string, 1 on B, 2 on C sharp, 3 on D close to 2, "
        "4 would lie on E. 3 on D is an octave above open D."
    )


@pytest.mark.parametrize(
    ("spots", "said"),
    [
        ([spot(A, 4, 7, "E", check="unison")], "4 on E is a unison with open E."),
        ([spot(D, 1, 2, "E", check="fourth")], "1 on E is a fourth below open A."),
        ([spot(D, 1, 2, "E", check="sixth")], "1 on E is a sixth above open G."),
        ([spot(D, 1, 14, "E", check="octave")], "1 on E: test the octave."),
        ([spot(D, 2, 3, "F"), spot(A, 2, 3, "C")], "2 lies across the D and A strings."),
        ([spot(A, 1, 2, "B"), spot(A, 1, 5, "D")], "On the A string 1 moves from B to D."),
        ([spot(A, 1, 1, "Bb"), spot(A, 2, 4, "C#")], "2 on C sharp an augmented second above 1."),
        ([], "No finger is down."),
    ],
)
def test_checks_moves_and_fifths_are_told(spots: list[Spot], said: str) -> None:
    assert said in draw(spots).word("desc")


def test_distances_are_told_where_they_are_printed() -> None:
    said = "1 to 2 on the A string: 32 mm."
    assert said in draw(WORKED, in_mm=True).word("desc")
    assert said not in draw(WORKED).word("desc")


# ── for page and typesetter ─────────────────────────────────────────────────────────────────────


def test_letters_are_text_in_a_common_face() -> None:
    texts = draw(WORKED).elements("text")
    assert len(texts) == 15
    assert all("sans-serif" in text.attrib["style"] for text in texts)
    assert not any("Bitstream" in text.attrib["style"] for text in texts)


def test_the_same_hand_always_gives_the_same_picture() -> None:
    first = fingerboard(VIOLIN, PositionNumber(1), WORKED)
    assert fingerboard(VIOLIN, PositionNumber(1), WORKED) == first


def test_every_ink_is_written_out_and_left_to_the_page() -> None:
    svg = fingerboard(VIOLIN, PositionNumber(1), WORKED)
    rule = re.search(r"<style>@supports .*?</style>", svg)
    assert rule is not None
    assert "var(--ink, #1a1a1a)" in rule[0]
    without = svg.replace(rule[0], "")
    assert "var(" not in without
    assert set(re.findall(r"#[0-9a-f]{6}\b", without)) == {INK, PAPER, "#8c8c8c"}


def test_a_typesetter_prints_it_at_its_own_size() -> None:
    svg = fingerboard(VIOLIN, PositionNumber(1), WORKED)
    drawing = Drawing(svg)
    page = (
        "#set page(width: auto, height: auto, margin: 0pt)\n"
        f'#image(bytes({_quoted(svg)}), format: "svg")'
    )
    printed = ElementTree.fromstring(typst.compile(page.encode(), format="svg"))
    width, height = (float(number) for number in printed.attrib["viewBox"].split()[2:])
    assert width == pytest.approx(drawing.width_mm * 72 / 25.4, abs=0.05)
    assert height == pytest.approx(drawing.height_mm * 72 / 25.4, abs=0.05)


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
