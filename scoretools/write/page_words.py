"""Words as they are set in the page: signs, what stays on one line, bars that lead to the music."""

import re
from collections.abc import Collection, Sequence

from markupsafe import Markup, escape

from scoretools.bar_names import NamedRun, bars_in_words, named_runs
from scoretools.model import Analysis
from scoretools.write.note_words import signed

__all__ = ["bar_links", "typeset"]

_UNBROKEN = re.compile(r"[HWA?]-[HWA?]-[HWA?]|\w+–\w+|\d+ %")


def typeset(text: str) -> Markup:
    """Set a text for the page: sharp and flat signs; shapes, ranges and shares on one line."""
    whole = _UNBROKEN.sub(
        lambda word: f'<span class="nowrap">{word[0]}</span>', str(escape(signed(text)))
    )
    return Markup(whole)


# ── bars ────────────────────────────────────────────────────────────────────────────────────────


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
    runs = named_runs(analysis.part.measures, measures, words)
    if not runs:
        return typeset(bars_in_words(analysis.part.measures, measures))
    return Markup("").join(typeset(run.before) + _linked(drawn, run) for run in runs)


def _linked(drawn: Collection[str], run: NamedRun) -> Markup:
    """Make a link of a run's name, where one of its bars is drawn."""
    first = next((f"bar-{bar}" for bar in run.measures if f"bar-{bar}" in drawn), None)
    name = typeset(run.name)
    return name if first is None else Markup('<a href="#{}">{}</a>').format(first, name)
