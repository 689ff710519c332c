"""Words as they are set in the page: signs, what stays on one line, bars that lead to the music."""

import re
from collections.abc import Collection, Sequence

from markupsafe import Markup, escape

from scoretools.model import Analysis
from scoretools.write.note_words import signed
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

_BAR_WORD = re.compile(r"bars? ")


def bar_links(
    analysis: Analysis, drawn: Collection[str], measures: Sequence[int], words: bool = False
) -> Markup:
    """List bars as printed, each run of them a link to its first bar in the music.

    Parameters
    ----------
    drawn
        Ids of the bars that are drawn; other bars are no links.
    words
        Whether the word *bars* stands before them; a column headed so needs none.
    """
    whole = bar_ranges(analysis, measures)
    word = _BAR_WORD.match(whole)
    numbers = whole[word.end() :] if word else whole
    runs = _runs(sorted(set(measures)))
    names = [_BAR_WORD.sub("", bar_ranges(analysis, run), count=1) for run in runs]
    if ", ".join(names) != numbers:
        runs, names = [list(measures)], [numbers]
    links = [_link(drawn, run, name) for run, name in zip(runs, names, strict=True)]
    return Markup(word[0] if word and words else "") + Markup(", ").join(links)


def _runs(measures: Sequence[int]) -> list[list[int]]:
    runs: list[list[int]] = []
    for measure in measures:
        if runs and measure == runs[-1][-1] + 1:
            runs[-1].append(measure)
        else:
            runs.append([measure])
    return runs


def _link(drawn: Collection[str], run: Sequence[int], name: str) -> Markup:
    first = next((f"bar-{bar}" for bar in run if f"bar-{bar}" in drawn), None)
    text = typeset(name)
    return Markup('<a href="#{}">{}</a>').format(first, text) if first else text
