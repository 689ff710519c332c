"""Bars in words: every run leads to its own first bar, and the words stay those of the terminal."""

import re
from dataclasses import replace
from html import unescape

import pytest

from scoretools.model import Analysis
from scoretools.write.page_words import bar_links, typeset
from scoretools.write.summary import bar_ranges

LINK = re.compile(r'<a href="#([^"]*)">(.*?)</a>')


def plain(text: str) -> str:
    return unescape(re.sub(r"<[^>]*>", "", text))


def numbered(analysis: Analysis, *numbers: str) -> Analysis:
    """One movement of bars with these numbers; ``+`` marks an upbeat."""
    (measure, *_) = analysis.part.measures
    measures = tuple(
        replace(measure, index=index, number=number, upbeat=number == "+", movement=1)
        for index, number in enumerate(numbers)
    )
    return replace(analysis, part=replace(analysis.part, measures=measures))


def every_bar(analysis: Analysis) -> frozenset[str]:
    return frozenset(f"bar-{measure.index}" for measure in analysis.part.measures)


def links(analysis: Analysis, *measures: int) -> list[tuple[str, str]]:
    found = LINK.findall(bar_links(analysis, every_bar(analysis), measures, words=True))
    return [(target, plain(name)) for target, name in found]


# ── bars ────────────────────────────────────────────────────────────────────────────────────────


def test_each_run_leads_to_its_first_bar(analysis: Analysis) -> None:
    eight = numbered(analysis, *"12345678")
    assert links(eight, 6, 0, 1, 2, 4) == [("bar-0", "1–3"), ("bar-4", "5"), ("bar-6", "7")]


def test_an_upbeat_has_its_own_link(analysis: Analysis) -> None:
    eight = numbered(analysis, "+", *"1234567")
    assert links(eight, 0, 1, 2, 5) == [
        ("bar-0", "the upbeat"), ("bar-1", "1–2"), ("bar-5", "5")
    ]  # fmt: skip


def test_an_upbeat_inside_the_part_divides_no_run(analysis: Analysis) -> None:
    eight = numbered(analysis, "1", "2", "+", "3", "4", "5")
    assert links(eight, 0, 1, 3, 5) == [("bar-0", "1–3"), ("bar-5", "5")]


def test_each_movement_has_its_own_links(analysis: Analysis) -> None:
    assert links(analysis, 0, 2, 3) == [("bar-0", "1"), ("bar-2", "2a"), ("bar-3", "1")]


def test_bars_of_one_name_are_named_once(analysis: Analysis) -> None:
    assert links(numbered(analysis, "1", "2", "1", "3"), 0, 2) == [("bar-0", "1")]


# The names of bars are free text, and one may look like a list.
def test_a_name_like_a_list_has_one_link(analysis: Analysis) -> None:
    odd = numbered(analysis, "1, 2", "3", "4")
    assert links(odd, 0, 2) == [("bar-0", "1, 2"), ("bar-2", "4")]


@pytest.mark.parametrize(
    "measures", [(0,), (0, 1), (0, 2), (0, 1, 2, 3), (1, 3), (3,), ()], ids=str
)
@pytest.mark.parametrize("first", ["1", "+"])
def test_the_words_stay_the_same(analysis: Analysis, measures: tuple[int, ...], first: str) -> None:
    for one in (analysis, numbered(analysis, first, "2", "3", "4")):
        for drawn in (every_bar(one), frozenset[str]()):
            assert plain(bar_links(one, drawn, measures, words=True)) == bar_ranges(one, measures)


def test_a_column_of_bars_does_not_repeat_the_word(analysis: Analysis) -> None:
    assert (
        plain(bar_links(analysis, frozenset(), (0, 2, 3))) == "1st movement 1, 2a; 2nd movement 1"
    )


def test_only_drawn_bars_are_links(analysis: Analysis) -> None:
    eight = numbered(analysis, *"12345678")
    text = bar_links(eight, {"bar-2"}, (1, 2, 3, 5), words=True)
    assert LINK.findall(text) == [("bar-2", str(typeset("2–4")))]
    assert "<a" not in bar_links(eight, (), (1, 2, 3, 5), words=True)


def test_markup_in_the_number_of_a_bar_does_no_harm(analysis: Analysis) -> None:
    harm = numbered(analysis, '<b a="b">', "2")
    for drawn in (every_bar(harm), frozenset[str]()):
        assert "<b" not in bar_links(harm, drawn, (0,))


# ── signs and line ends ─────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("whole", ["H-W-W", "A-H-?", "3–12", "94 %"])
def test_what_belongs_together_stays_on_one_line(whole: str) -> None:
    assert typeset(f"see {whole} there") == f'see <span class="nowrap">{whole}</span> there'


def test_sharps_and_flats_are_signs() -> None:
    assert typeset("C# to Bb") == "C♯ to B♭"
