"""Music, and the fingerboards beside it, as they stand in the page.

Many pictures stand in one page: they share their signs, which are drawn once at its head, and their
style, which the page's own style sheet holds. Only the bars of the part keep an id, so that words
elsewhere can lead to them.
"""

import re
from base64 import b64encode
from collections.abc import Iterable, Iterator, Sequence
from html import unescape

from markupsafe import Markup

from scoretools.model import Analysis
from scoretools.write.engrave import MUSIC_FONT, linked, music_font
from scoretools.write.summary import bar_ranges

__all__ = [
    "bar_ids",
    "embedded_font",
    "excerpt",
    "is_wide",
    "part_systems_of",
    "picture",
    "shared_signs",
]

_SIGN = re.compile(r'<g id="([^"]+)">\s*<path transform="scale\(1,\s*-1\)" d="[^"]*"\s*/></g>')
_DEFINED = re.compile(r"<defs>.*?</defs>|<style\b.*?</style>|<desc>.*?</desc>", re.DOTALL)
_BAR_ID = re.compile(r' id="(bar-\d+)"')
_SIGN_AFTER_WORDS = re.compile(
    rf'([^\s<>](?:</tspan>)+(?:<tspan[^>]*>)*<tspan font-family="{MUSIC_FONT}")'
)


def shared_signs(pictures: Iterable[str]) -> Markup:
    """Gather the signs of all pictures, each once: the engraver names equal signs alike."""
    signs = {sign[1]: sign[0] for svg in pictures for sign in _SIGN.finditer(svg)}
    return Markup("".join(signs[name] for name in sorted(signs)))


def embedded_font(pictures: Iterable[str]) -> str:
    """Give the music font in base 64, where signs of it stand inside words; else nothing."""
    if not any(f'font-family="{MUSIC_FONT}"' in svg for svg in pictures):
        return ""
    return b64encode(music_font()).decode("ascii")


def _plain(svg: str) -> str:
    """Music in the ink of the page, with the signs and the style that the page shares."""
    music = _DEFINED.sub("", svg).replace('color="black"', 'color="currentColor"')
    return _SIGN_AFTER_WORDS.sub(r'\1 dx="0.25em"', music)


# ── the part ────────────────────────────────────────────────────────────────────────────────────


def part_systems_of(analysis: Analysis, systems: Sequence[str], told: bool) -> Iterator[Markup]:
    """Give the systems of the part.

    Parameters
    ----------
    systems
        As `scoretools.write.engrave.engraved` gives them, without a prefix.
    told
        Whether each bar is a link to what is said of it.

    Yields
    ------
    Markup
        A system, in which each bar, or its link, has the id of the bar.
    """
    for svg in systems:
        music = _plain(svg)
        if told:
            music = linked(
                music,
                lambda bar: f"#bar-{bar}-told",
                lambda bar: bar_ranges(analysis, (bar,)),
            )
            music = _id_on_the_link(music)
        yield Markup(music)


def _id_on_the_link(music: str) -> str:
    """Let a link be found by its bar's id, so that the keyboard goes on from there."""
    without = _BAR_ID.sub("", music)
    return re.sub(r'<a href="#(bar-\d+)-told"', r'<a id="\1" href="#\1-told"', without)


def bar_ids(systems: Sequence[str]) -> frozenset[str]:
    """Name the bars that are drawn; the inner ones of a long rest are not."""
    return frozenset(name for svg in systems for name in _BAR_ID.findall(svg))


# ── fingerboards ────────────────────────────────────────────────────────────────────────────────

_PICTURE = re.compile(r'<title id="([^"]+)-title"')


def picture(svg: str, number: int) -> Markup:
    """Give the fingerboard of a drill ids of its own: two drills may have the same picture."""
    name = _PICTURE.search(svg)
    return Markup(svg.replace(f"{name[1]}-", f"fingerboard-{number}-") if name else svg)


# ── exercises and bars of the piece ─────────────────────────────────────────────────────────────

_OUTER = re.compile(r'<svg class="music" width="([\d.]+)mm" height="([^"]*)" viewBox="0 0 (\d+) ')
_INNER = re.compile(r'(<svg class="definition-scale"[^>]* viewBox="0 0 )\d+ ')
_LEVEL_LINE = re.compile(r'd="M-?\d+ (-?\d+) L(\d+) \1"')
_WORDS = re.compile(r'<text x="(\d+)"([^>]*)>(.*?)</text>', re.DOTALL)
_LETTERS = re.compile(r'font-size="(\d+)px"[^>]*>([^<]+)<')

_LETTER_EM = 0.5
"""Width of a letter, as a share of its size."""

_EDGE = 400
"""Room to the left of a system and after its end, in the units it is drawn in."""

_UNITS = 10
"""These units in one unit of the picture's frame."""

_WIDE_MM = 118.0
"""Wider music would be too small on a telephone: it keeps its size and is scrolled."""


def excerpt(svg: str) -> Markup:
    """Give an exercise or some bars of the piece no wider than the music is.

    Parameters
    ----------
    svg
        A system, as `scoretools.write.engrave.engraved` gives it.

    Returns
    -------
    Markup
        The system in a frame that ends where its lines and its words end, at the same size; it
        needs `shared_signs` in the page.
    """
    music = _BAR_ID.sub("", _plain(svg))
    outer = _OUTER.match(music)
    if outer is None:
        return Markup(music)
    was = int(outer[3])
    now = min(was, (_drawn_end(music) + _EDGE) // _UNITS)
    width_mm = float(outer[1]) * now / was
    frame = f'<svg class="music" width="{width_mm:.2f}mm" height="{outer[2]}" viewBox="0 0 {now} '
    music = _INNER.sub(rf"\g<1>{now * _UNITS} ", music, count=1)
    return Markup(frame + music[outer.end() :])


def _drawn_end(music: str) -> int:
    """Find where the longest line or word ends, in the units it is drawn in."""
    lines = [int(found[2]) for found in _LEVEL_LINE.finditer(music)]
    return max([*lines, *map(_end_of_words, _WORDS.finditer(music))], default=0)


def _end_of_words(words: re.Match[str]) -> int:
    sized = [(int(size), unescape(letters)) for size, letters in _LETTERS.findall(words[3])]
    width = sum(size * _LETTER_EM * len(letters) for size, letters in sized)
    return int(words[1]) + round(width / 2 if 'text-anchor="middle"' in words[2] else width)


def is_wide(music: Sequence[str]) -> bool:
    """Whether a telephone has to scroll some of this music, as `excerpt` gives it."""
    frames = (_OUTER.match(svg) for svg in music)
    return any(float(frame[1]) > _WIDE_MM for frame in frames if frame)
