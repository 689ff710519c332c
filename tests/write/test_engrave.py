"""Music engraved as SVG: every bar is there, in mm, and can be clicked."""

import re
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import pytest
from music21 import corpus

import scoretools
from scoretools.errors import WriteError
from scoretools.read import musicxml_document
from scoretools.write.engrave import engraved, linked, music_font, single_part

SAMPLES = sorted((Path(__file__).parents[2] / "sample_scores").glob("*.musicxml"))
QUARTET = corpus.getWork("haydn/opus1no1/movement1")
SVG = "{http://www.w3.org/2000/svg}"


def alone(path: Path, part: str | int | None = None) -> tuple[str, int]:
    read = scoretools.read_part(path, part)
    data, _ = musicxml_document(path, part)
    return single_part(data, read.part_id, len(read.measures)), len(read.measures)


def bars_of(systems: tuple[str, ...]) -> list[int]:
    return [int(bar) for svg in systems for bar in re.findall(r'id="bar-(\d+)"', svg)]


@pytest.mark.parametrize("path", [*SAMPLES, QUARTET], ids=lambda path: str(path)[-30:])
def test_every_bar_is_drawn_once_in_order(path: Path) -> None:
    text, count = alone(path)
    assert bars_of(engraved(text, 170)) == list(range(count))


def test_one_part_is_left_of_a_quartet() -> None:
    for number in (1, 2, 3):
        root = ElementTree.fromstring(alone(QUARTET, number)[0])
        assert len(root.findall("part")) == len(root.findall("part-list/score-part")) == 1
        assert root.find("part").get("id") == root.find("part-list/score-part").get("id")


def test_a_part_that_is_not_there_is_refused() -> None:
    data, _ = musicxml_document(SAMPLES[0])
    with pytest.raises(WriteError, match="no part 'P9' of 3 bars"):
        single_part(data, "P9", 3)


# ── what the engraver would draw wrongly ────────────────────────────────────────────────────────


def small(notes: str) -> str:
    score = (
        '<score-partwise version="4.0"><part-list><score-part id="P1"><part-name/></score-part>'
        '</part-list><part id="P1"><measure number="1"><attributes><divisions>1</divisions>'
        f"<clef><sign>G</sign><line>2</line></clef></attributes>{notes}</measure></part>"
        "</score-partwise>"
    )
    return single_part(score.encode(), "P1", 1, ("sul E", "sul A", "sul D", "sul G"))


def note(pitch: str, notations: str = "", before: str = "") -> str:
    return (
        f"<note>{before}<pitch><step>{pitch[0]}</step><octave>{pitch[1]}</octave></pitch>"
        f"<duration>1</duration><type>quarter</type><notations>{notations}</notations></note>"
    )


def technical(sign: str) -> str:
    return f"<technical>{sign}</technical>"


def test_fingers_of_a_double_stop_stand_in_the_order_of_its_notes() -> None:
    # Common practice, no published source: F under 2 on the D string, the open A above it.
    (svg,) = engraved(
        small(
            note("F4", technical("<fingering>2</fingering>"))
            + note("A4", technical("<open-string/>"), "<chord/>")
        ),
        100,
    )
    pattern = r'<g class="fing"><text x="\d+" y="(\d+)".*?>([02])<'
    heights = {finger: int(height) for height, finger in re.findall(pattern, svg)}
    assert heights["0"] < heights["2"]  # counted from above


def test_a_slur_that_never_ends_is_not_drawn_over_all_that_follows() -> None:
    slur = '<slur type="{}" number="1"/>'
    endless = note("A4", slur.format("start"))
    slurred = note("B4", slur.format("start")) + note("C5", slur.format("stop"))
    root = ElementTree.fromstring(small(endless + slurred + note("D5", slur.format("start"))))
    assert [one.get("type") for one in root.iter("slur")] == ["start", "stop"]
    assert [len(one.findall("notations/slur")) for one in root.iter("note")] == [0, 1, 1, 0]


def test_slurs_from_note_to_note_stay() -> None:
    slur = '<slur type="{}" number="1"/>'
    both = slur.format("start") + slur.format("stop")
    text = small(note("A4", slur.format("start")) + note("B4", both)
                 + note("C5", slur.format("stop")))  # fmt: skip
    assert len(list(ElementTree.fromstring(text).iter("slur"))) == 4


def test_strings_are_named_over_their_notes_once() -> None:
    second = note("A5", technical("<string>2</string><fingering>3</fingering>"))
    words = "<direction><direction-type><words>{}</words></direction-type></direction>"
    third = note("C5", technical("<string>3</string>"))
    named = words.format("3rd pos., sul D") + third
    root = ElementTree.fromstring(small(second + second + named + note("A4")))
    assert [one.text for one in root.iter("words")] == ["sul A", "3rd pos., sul D"]


@pytest.mark.parametrize("width_mm", [120, 170.5])
@pytest.mark.parametrize("staff_mm", [6, 7, 9])
def test_systems_are_as_wide_as_asked_and_staves_as_high(width_mm: float, staff_mm: float) -> None:
    for svg in engraved(alone(SAMPLES[1])[0], width_mm, staff_mm):
        root = ElementTree.fromstring(svg)
        assert float(root.get("width").removesuffix("mm")) == pytest.approx(width_mm, abs=0.1)
        box = [float(number) for number in root.get("viewBox").split()]
        mm = width_mm / box[2]
        lines = [
            float(re.findall(r"[-\d.]+", line.get("d"))[1])
            for line in next(g for g in root.iter(f"{SVG}g") if g.get("class") == "staff").iterfind(
                f"{SVG}path"
            )
        ][:5]
        # Inside, a unit is a tenth of one of the picture.
        assert (max(lines) - min(lines)) / 10 * mm == pytest.approx(staff_mm, rel=0.03)


def test_an_excerpt_has_its_bars_with_clef_key_and_time() -> None:
    text, _ = alone(SAMPLES[5])
    (svg,) = engraved(text, 170, bars=(8, 9))
    assert bars_of((svg,)) == [8, 9]
    classes = re.findall(r'class="(clef|keySig|meterSig)"', svg)
    assert set(classes) == {"clef", "keySig", "meterSig"}
    # Source: SMuFL, U+E05C C clef: the part is for viola.
    assert "E05C" in svg
    with pytest.raises(WriteError, match="no bars 8 to 900"):
        engraved(text, 170, bars=(8, 900))


def test_pictures_with_a_prefix_can_stand_in_one_page() -> None:
    text, _ = alone(SAMPLES[0])
    one, other = (engraved(text, 170, bars=(0, 1), prefix=name)[0] for name in ("a-", "b-"))
    ids = [set(re.findall(r' id="([^"]*)"', svg)) for svg in (one, other)]
    assert ids[0]
    assert ids[0].isdisjoint(ids[1])
    for svg, names in zip((one, other), ids, strict=True):
        assert set(re.findall(r'href="#([^"]*)"', svg)) <= names


def test_what_is_no_music_is_refused() -> None:
    with pytest.raises(WriteError, match="no bar in it"):
        engraved("<score-partwise><part/></score-partwise>", 170)
    with pytest.raises(WriteError, match="cannot read it"):
        engraved("no music at all", 170)


def test_words_do_not_run_over_the_edge() -> None:
    text, _ = alone(SAMPLES[1])
    found = 0
    for svg in engraved(text, 60):
        for x, size, words in re.findall(
            r'<g class="dir"><text x="(\d+)".*?font-size="(\d+)px">([^<]+)', svg
        ):
            assert int(x) + 0.45 * int(size) * len(words) <= 6200 or int(x) == 0
            found += 1
    assert found


WORDS = (
    "<direction placement='above'><direction-type><words>{}</words></direction-type></direction>"
)
TEXT = re.compile(
    r'<g class="(dir|fing)"><text x="(\d+)" y="(\d+)"( text-anchor="end")?.*?'
    r'font-size="(\d+)px">([^<]+)'
)


def test_short_words_at_the_right_edge_end_at_their_note() -> None:
    line = "".join(note("A4") for _ in range(7))
    (svg,) = engraved(small(line + WORDS.format("3rd pos.") + note("D5")), 50)
    ((kind, x, _, anchor, size, words),) = TEXT.findall(svg)
    assert (kind, words) == ("dir", "3rd pos.")
    assert anchor
    head = max(int(at) for at in re.findall(r"translate\((\d+), \d+\) scale", svg))
    assert head < int(x) < head + 2 * int(size)


def test_words_that_follow_each_other_do_not_touch() -> None:
    line = WORDS.format("1st pos.") + note("A4") + WORDS.format("3rd pos.") + note("D5")
    (svg,) = engraved(small(line * 8 + note("A4")), 160)
    found = sorted(TEXT.findall(svg), key=lambda one: int(one[1]))
    assert len(found) == 16
    for (_, x, y, _, size, words), after in pairwise(found):
        apart = abs(int(after[2]) - int(y)) > 0.9 * int(size)
        assert apart or int(x) + 0.45 * int(size) * len(words) < int(after[1])
    assert "\N{NO-BREAK SPACE}" not in svg


def test_bars_are_links_with_a_name_and_a_surface() -> None:
    system = engraved(alone(SAMPLES[0])[0], 170)[0]
    root = ElementTree.fromstring(linked(system, lambda i: f"#at-{i}", lambda i: f"bar {i + 1}"))
    links = list(root.iter(f"{SVG}a"))
    assert [link.get("href") for link in links] == [f"#at-{bar}" for bar in bars_of((system,))]
    assert [link.findtext(f"{SVG}title") for link in links][:2] == ["bar 1", "bar 2"]
    for link in links:
        (surface,) = link.findall(f"{SVG}rect")
        assert float(surface.get("width")) > 0
        assert surface.get("pointer-events") == "all"
        assert len(link.findall(f"{SVG}g")) == 1


def test_the_same_score_gives_the_same_pictures() -> None:
    text, _ = alone(SAMPLES[2])
    assert engraved(text, 170) == engraved(text, 170)


def test_the_music_font_is_a_font() -> None:
    assert music_font().startswith(b"wOF2")
