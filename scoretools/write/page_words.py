"""Words as they are set in the page: signs, what stays on one line, bars that lead to the music."""

import re
from collections.abc import Collection, Sequence

from markupsafe import Markup, escape

from scoretools.model import Analysis, Measure
from scoretools.write.note_words import signed
from scoretools.write.page_rows import bar_names
from scoretools.write.summary import bar_ranges

__all__ = ["bar_links", "typeset"]

_UNBROKEN = re.compile(r"[HWA?]-[HWA?]-[HWA?]|\w+–\w+|\d+ %")


def typeset(text: str) -> Markup:
    """Set a text for the page: sharp and flat signs; shapes, ranges and shares on one line."""
    whole = _UNBROKEN.sub(
        lambda word: f'<span class="nowrap">{word[0]}</span>', str(escape(signed(text)))
    )
    return Markup(whole)


# ── bars ────────────────────────────────────────────────────────────────────────────────────────

_BETWEEN = re.compile(r"([,;] )")
_NO_LINK = re.compile(r"(?:\w+ movement )?(?:bars? )?")


def bar_links(
    analysis: Analysis, drawn: Collection[str], measures: Sequence[int], words: bool = False
) -> Markup:
    """List bars as printed, each run of them a link to its first bar in the music.

    Parameters
    ----------
    drawn
        Ids of the bars that are drawn; other bars are no links.
    measures
        Indices of the bars.
    words
        Whether the word *bars* stands before them; a column headed so needs none.

    Returns
    -------
    Markup
        The words of `scoretools.write.summary.bar_ranges`, in HTML.
    """
    whole = (bar_ranges if words else bar_names)(analysis, measures)
    runs = _runs(analysis, measures)
    pieces = _BETWEEN.split(whole)
    if len(pieces[::2]) != len(runs):
        return _linked(drawn, sorted(set(measures)), whole)
    pieces[::2] = [_linked(drawn, run, name) for run, name in zip(runs, pieces[::2], strict=True)]
    return Markup("").join(pieces)


def _runs(analysis: Analysis, measures: Sequence[int]) -> list[list[int]]:
    """Divide bars as `bar_ranges` does: an upbeat among them does not count; a name comes once."""
    runs: list[list[int]] = []
    for measure in sorted(set(measures)):
        if runs and _follows(analysis.part.measures, runs[-1][-1], measure):
            runs[-1].append(measure)
        else:
            runs.append([measure])
    named: dict[str, list[int]] = {}
    for run in runs:
        named.setdefault(bar_ranges(analysis, run), run)
    return list(named.values())


def _follows(measures: Sequence[Measure], before: int, measure: int) -> bool:
    same = measures[before].movement == measures[measure].movement
    return same and all(measures[bar].upbeat for bar in range(before + 1, measure))


def _linked(drawn: Collection[str], run: Sequence[int], words: str) -> Markup:
    """Make a link of the words after *bars*, where a bar of the run is drawn."""
    first = next((f"bar-{bar}" for bar in run if f"bar-{bar}" in drawn), None)
    if first is None:
        return typeset(words)
    before = _NO_LINK.match(words)
    start = before.end() if before else 0
    link = Markup('<a href="#{}">{}</a>').format(first, typeset(words[start:]))
    return typeset(words[:start]) + link
