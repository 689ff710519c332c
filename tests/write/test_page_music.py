"""Music in the page: signs once, bars that are found, frames that hold what is drawn in them."""

import re
from pathlib import Path
from xml.etree import ElementTree

import pytest

import scoretools
from scoretools.analysis import instrument_of
from scoretools.model import Analysis
from scoretools.player import Player
from scoretools.read import musicxml_document
from scoretools.write.annotate import annotate
from scoretools.write.drillbook import drill_book
from scoretools.write.engrave import engraved, single_part
from scoretools.write.figures import figures
from scoretools.write.marked_part import part_systems
from scoretools.write.page import PageFigures, page
from scoretools.write.page_music import (
    bar_ids,
    embedded_font,
    excerpt,
    is_wide,
    part_systems_of,
    picture,
    shared_signs,
)

SAMPLES = sorted((Path(__file__).parents[2] / "sample_scores").glob("*.musicxml"))
USED = re.compile(r'<use xlink:href="#([^"]*)"')
WIDTH = re.compile(r'<svg class="music" width="([\d.]+)mm" height="([\d.]+)mm" viewBox="0 0 (\d+) ')

RESTS = """<score-partwise version="4.0"><part-list><score-part id="P1"><part-name/></score-part>
</part-list><part id="P1"><measure number="1" id="bar-0"><attributes><divisions>1</divisions>
<time><beats>4</beats><beat-type>4</beat-type></time><clef><sign>G</sign><line>2</line></clef>
</attributes><note><pitch><step>A</step><octave>4</octave></pitch><duration>4</duration>
<type>whole</type></note></measure>{}</part></score-partwise>"""
REST = (
    '<measure number="{0}" id="bar-{1}">{2}<note><rest measure="yes"/><duration>4</duration>'
    "</note></measure>"
)
LONG = "<attributes><measure-style><multiple-rest>4</multiple-rest></measure-style></attributes>"
WORDS = """<direction placement="above"><direction-type><words>{}</words></direction-type>
</direction>"""


@pytest.fixture(scope="module", params=[SAMPLES[1], SAMPLES[4]], ids=lambda path: path.stem)
def drawn(request: pytest.FixtureRequest) -> tuple[Analysis, PageFigures]:
    analysis = scoretools.analyse(scoretools.read_part(request.param))
    data, _ = musicxml_document(request.param)
    alone = single_part(data, analysis.part.part_id, len(analysis.part.measures))
    played = instrument_of(analysis.part, Player())
    found = figures(analysis, played, drill_book(analysis), alone, 170)
    return analysis, PageFigures(part_systems(analysis, annotate(data, analysis)), found)


def excerpts(drawn: PageFigures) -> list[str]:
    return [
        svg
        for drill in drawn.drills.drills
        for systems in (*drill.exercises, drill.bridge)
        for svg in systems
    ]


# ── signs ───────────────────────────────────────────────────────────────────────────────────────


def test_every_sign_is_drawn_once_in_the_page(drawn: tuple[Analysis, PageFigures]) -> None:
    text = page(*drawn)
    ids = re.findall(r'<g id="([^"]*)"', text)
    used = USED.findall(text)
    assert used
    for name in set(used):
        assert ids.count(name) == 1
    before, _, after = text.partition('<svg class="signs"')[2].partition("</svg>")
    assert set(USED.findall(after)) <= set(re.findall(r'<g id="([^"]*)"', before))
    assert not re.search(r'<g id="E[0-9A-F]{3}-', after)


def test_equal_signs_of_two_pictures_are_shared() -> None:
    picture = engraved(RESTS.format(""), 60)
    assert shared_signs(picture) == shared_signs((*picture, *picture)) != ""
    assert shared_signs(()) == ""


def test_the_font_is_there_only_where_a_sign_stands_in_words() -> None:
    assert embedded_font(()) == embedded_font(engraved(RESTS.format(""), 60)) == ""
    assert embedded_font(('<tspan font-family="Leipzig">',)) != ""


# Common practice, no published source: a blank between the words of a tempo and its note.
def test_a_note_in_words_stands_off_them(drawn: tuple[Analysis, PageFigures]) -> None:
    text = "".join(part_systems_of(drawn[0], drawn[1].systems, told=False))
    notes = re.findall(r'<tspan font-family="Leipzig"[^>]*>', text)
    assert notes
    assert all('dx="0.25em"' in note for note in notes)


# ── the part ────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("edition", ["teacher", "student"])
def test_bars_named_in_the_page_are_found_in_the_music(
    drawn: tuple[Analysis, PageFigures], edition: str
) -> None:
    text = page(*drawn, edition=edition)
    wanted = set(re.findall(r'href="#(bar-\d+)"', text))
    ids = re.findall(r'\bid="([^"]*)"', text)
    assert wanted
    assert wanted <= set(ids)
    assert len(ids) == len(set(ids))


def test_the_link_itself_is_found(drawn: tuple[Analysis, PageFigures]) -> None:
    analysis, figures_ = drawn
    systems = list(part_systems_of(analysis, figures_.systems, told=True))
    assert bar_ids(systems) == {f"bar-{bar.index}" for bar in analysis.part.measures}
    for svg in systems:
        carriers = re.findall(r'<(\w+) [^>]*\bid="(bar-\d+)"', svg)
        assert carriers
        assert {tag for tag, _ in carriers} == {"a"}
        for _, name in carriers:
            assert f'<a id="{name}" href="#{name}-told"' in svg


def test_the_inner_bars_of_a_long_rest_are_not_drawn() -> None:
    bars = [REST.format(bar + 1, bar, LONG if bar == 1 else "") for bar in range(1, 5)]
    systems = engraved(RESTS.format("".join(bars)), 120)
    assert "bar-0" in bar_ids(systems)
    assert len(bar_ids(systems)) < 5


def test_a_page_in_words_alone_links_no_bar(drawn: tuple[Analysis, PageFigures]) -> None:
    assert 'href="#bar-' not in page(drawn[0])


# ── fingerboards ────────────────────────────────────────────────────────────────────────────────


def test_two_drills_may_have_the_same_picture(drawn: tuple[Analysis, PageFigures]) -> None:
    board = drawn[1].drills.drills[0].picture
    ids = [re.findall(r'\bid="([^"]*)"', picture(board, number)) for number in (1, 2)]
    assert not set(ids[0]) & set(ids[1])
    for number, names in enumerate(ids, start=1):
        svg = picture(board, number)
        assert set(re.findall(r"url\(#([^)]*)\)", svg)) <= set(names)
        (labels,) = re.findall(r'aria-labelledby="([^"]*)"', svg)
        assert set(labels.split()) <= set(names)


# ── exercises and bars of the piece ─────────────────────────────────────────────────────────────


def test_an_excerpt_keeps_its_size_and_ends_with_its_music(
    drawn: tuple[Analysis, PageFigures],
) -> None:
    narrower = 0
    for svg in excerpts(drawn[1]):
        before, after = WIDTH.match(svg), WIDTH.match(excerpt(svg))
        assert before
        assert after
        assert float(after[1]) <= float(before[1])
        assert before[2] == after[2]
        scale = float(before[1]) / float(before[3])
        assert float(after[1]) / float(after[3]) == pytest.approx(scale, rel=1e-3)
        narrower += float(after[1]) < float(before[1])
    assert narrower


def test_an_excerpt_is_not_narrower_than_its_signs_and_lines(
    drawn: tuple[Analysis, PageFigures],
) -> None:
    for svg in map(excerpt, excerpts(drawn[1])):
        inner = re.search(r'class="definition-scale"[^>]*viewBox="0 0 (\d+) ', svg)
        (margin,) = re.findall(r'class="page-margin" transform="translate\((\d+),', svg)
        places = re.findall(r'translate\((\d+), -?\d+\) scale|d="M(\d+)[ ,]', svg)
        ends = [int(one or other) for one, other in places]
        assert inner
        assert max(ends) + int(margin) <= int(inner[1])


def test_an_excerpt_carries_no_id_of_a_bar(drawn: tuple[Analysis, PageFigures]) -> None:
    for svg in map(excerpt, excerpts(drawn[1])):
        assert " id=" not in svg
        ElementTree.fromstring(svg)


def test_long_words_over_short_music_are_kept_whole() -> None:
    plain = RESTS.format("")
    worded = plain.replace("<note>", WORDS.format("very long words over few notes") + "<note>", 1)
    widths = []
    for text in (plain, worded):
        (svg,) = engraved(text, 120, bars=(0, 0))
        frame = WIDTH.match(excerpt(svg))
        assert frame
        widths.append(float(frame[1]))
    assert widths[1] > widths[0] + 10


def test_music_wider_than_a_telephone_is_scrolled(drawn: tuple[Analysis, PageFigures]) -> None:
    frame = '<svg class="music" width="{}mm" height="20mm" viewBox="0 0 100 '
    assert not is_wide([])
    assert not is_wide([frame.format("60.00"), frame.format("100.00")])
    assert is_wide([frame.format("60.00"), frame.format("150.00")])
