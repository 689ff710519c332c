"""Words over the music: none lies over another, none leaves the page."""

import re

import pytest

from scoretools.write.engraved_words import padded, set_apart, unpadded

LINE = re.compile(r'y="(-?\d+)"[^>]*>(?:<tspan[^>]*>)+([^<]*)')
STAFF = '<g class="staff"><path d="M0 2000 L9000 2000" stroke-width="13"/></g>'


def words(said: str, x: int, y: int, anchor: str = "", kind: str = "dir") -> str:
    anchored = f' text-anchor="{anchor}"' if anchor else ""
    return (
        f'<g class="{kind}"><text x="{x}" y="{y}"{anchored} font-size="0px"><tspan class="text">'
        f'<tspan font-size="400px">{said}</tspan></tspan></text></g>'
    )


def system(*lines: str) -> str:
    return (
        '<svg viewBox="0 0 900 300" version="1.1"><svg class="definition-scale" color="black" '
        'viewBox="0 0 9000 3000"><g class="page-margin" transform="translate(250, 100)">'
        f"{STAFF}{''.join(lines)}</g></svg></svg>"
    )


def feet(svg: str) -> dict[str, int]:
    return {said: int(y) for y, said in LINE.findall(svg)}


def test_words_over_words_are_moved_up() -> None:
    svg = set_apart(system(words("3rd pos.", 1000, 1500), words("sul A", 1800, 1400)))
    assert feet(svg) == {"3rd pos.": 1500, "sul A": 1100}


def test_words_that_would_then_lie_over_others_go_on_moving() -> None:
    three = (
        words("W-W-W, whole steps", 1000, 1100),
        words("3rd pos.", 1000, 1500),
        words("sul E", 3000, 1100),
    )
    assert feet(set_apart(system(*three)))["sul E"] == 700


def test_words_keep_off_fingers() -> None:
    svg = set_apart(system(words("loco", 1000, 1500), words("4", 1400, 1500, "middle", "fing")))
    assert feet(svg) == {"loco": 1100, "4": 1500}


@pytest.mark.parametrize(
    "lines",
    [
        (words("loco", 1000, 1500), words("loco", 3000, 1500)),
        (words("3rd pos.", 1000, 1500), words("sul A", 1000, 1100)),
        (words("loco", 1000, 1500), words("3rd pos.", 4000, 1500, "end")),
        (words("dim.", 1000, 2900), words("cresc.", 1200, 2900)),
    ],
    ids=["beside", "above", "ending before", "below the staff"],
)
def test_other_words_stay(lines: tuple[str, ...]) -> None:
    assert set_apart(system(*lines)) == system(*lines)


def test_a_picture_grows_with_words_that_reach_above_it() -> None:
    svg = set_apart(system(words("3rd pos.", 1000, 300), words("sul A", 1000, 250)))
    assert feet(svg)["sul A"] == -100
    # Capitals reach 300 above the foot of the line, and there were 100 of margin: 300 more.
    assert 'viewBox="0 0 900 330"' in svg
    assert 'viewBox="0 0 9000 3300"' in svg
    assert "translate(250, 400)" in svg


def test_padding_comes_and_goes() -> None:
    text = "<words>3rd pos.</words><words></words>"
    assert padded(text) != text
    assert unpadded(padded(text)) == text
