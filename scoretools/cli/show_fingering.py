"""How a fingering is printed: a line for each bar, other plans below."""

import sys
from collections.abc import Iterable, Mapping, Sequence

from rich.console import Console
from rich.text import Text

from scoretools.cli.show import NARROWEST, WIDEST, show_line, show_section
from scoretools.fingering.plans import WITHIN, Plan, stretch_of
from scoretools.instrument import position_label
from scoretools.model import Analysis
from scoretools.write.bars import BarLine, Sign, Token, bar_lines, legend
from scoretools.write.explain import printed_otherwise
from scoretools.write.fingering_document import Passage
from scoretools.write.reasons import bars_touched, how_much_more, reasons
from scoretools.write.summary import bar_ranges, heading, notice_lines

__all__ = ["show_fingering"]

_STYLES = {
    Sign.POSITION: "cyan",
    Sign.SHIFT: "bold cyan",
    Sign.STRING: "green",
    Sign.SURE: "",
    Sign.LIKELY: "",
    Sign.OPEN: "yellow",
    Sign.WORDS: "dim",
}
_WIDE_GAP = frozenset((Sign.POSITION, Sign.SHIFT, Sign.STRING))
"""Tokens before which there is more room."""
_TOLD = 6
"""Differences in points that are listed under a plan."""


def show_fingering(
    analysis: Analysis,
    passages: Sequence[Passage],
    sentences: Mapping[int, Sequence[str]],
    plans_wanted: int,
    against_print: bool,
) -> None:
    """Print passages bar by bar, then what brackets mean, other plans and the notices about them.

    Parameters
    ----------
    sentences
        What explains the bars, by index.
    plans_wanted
        Other plans that were asked for, for each passage.
    against_print
        Whether the fingering is compared with what is printed.
    """
    console = Console(highlight=False)
    measures = [index for passage in passages for index in passage.measures]
    show_line(console, "", heading(analysis), "bold")
    console.print()
    lines = bar_lines(analysis, measures)
    _show_bars(console, lines, sentences)
    if words := legend(lines):
        console.print()
        show_line(console, "", words, "dim")
    if plans_wanted:
        for passage in passages:
            _show_plans(console, analysis, passage, plans_wanted)
    if against_print:
        _show_printed(console, analysis, measures)
    _show_notices(console, analysis, measures)


def _show_printed(console: Console, analysis: Analysis, measures: Sequence[int]) -> None:
    marked, kept, apart = printed_otherwise(analysis, measures)
    if not marked:
        said = "No finger, string or position is printed on these notes."
    else:
        said = f"Marked notes that are played as printed: {kept} of {marked}."
    rest = [("- ", f"{sentence}.") for sentence in apart]
    show_section(console, "Against what is printed", [("", said), *rest])


def _show_notices(console: Console, analysis: Analysis, measures: Sequence[int]) -> None:
    shown = set(measures)
    wanted = [
        line
        for notice, line in zip(analysis.notices, notice_lines(analysis), strict=True)
        if notice.measure is None or notice.measure in shown
    ]
    if wanted:
        lines = [("- ", line) for line in wanted]
        show_section(console, "Skipped, assumed or contradictory", lines)


# ── bars ────────────────────────────────────────────────────────────────────────────────────────


def _show_bars(
    console: Console, lines: Sequence[BarLine], sentences: Mapping[int, Sequence[str]]
) -> None:
    margin = 2 + max((len(line.name) for line in lines), default=0)
    for line in lines:
        for row, text in enumerate(_wrapped(console, line.tokens, margin)):
            name = line.name if row == 0 else ""
            console.print(Text(f"{name:<{margin}}") + text, soft_wrap=True)
        for sentence in sentences.get(line.measures[0], ()):
            show_line(console, " " * margin, sentence, "dim")


def _wrapped(console: Console, tokens: Sequence[Token], margin: int) -> Iterable[Text]:
    """Set tokens side by side; on a terminal, in lines that fit, none of them broken."""
    room = max(NARROWEST, min(console.width, WIDEST) - margin) if sys.stdout.isatty() else None
    line = Text()
    before: Token | None = None
    for token in tokens:
        gap = "" if before is None else _gap(before, token)
        if before and room is not None and len(line) + len(gap) + len(token.text) > room:
            yield line
            line, gap = Text(), ""
        line.append(gap).append(token.text, _STYLES[token.sign])
        before = token
    yield line


def _gap(before: Token, token: Token) -> str:
    if before.sign is Sign.STRING:
        return " "
    return "   " if token.sign in _WIDE_GAP else "  "


# ── other fingerings ──────────────────────────────────────────────────────────────────────────────


def _show_plans(console: Console, analysis: Analysis, passage: Passage, wanted: int) -> None:
    show_section(console, f"Other fingerings for {bar_ranges(analysis, passage.measures)}", [])
    others = passage.plans[1:]
    for number, plan in enumerate(others, start=1):
        _show_plan(console, analysis, number, passage.plans[0], plan)
    if len(others) < wanted:
        show_line(console, "", _no_more(analysis, passage, len(others)), "")


def _no_more(analysis: Analysis, passage: Passage, found: int) -> str:
    notes = sum(
        event.measure in passage.measures and analysis.steps[event.index].placement is not None
        for event in analysis.part.events
    )
    if not notes:
        return "There is nothing to play."
    higher = "" if analysis.ceiling_from == "notes" else "; --highest-position may allow more"
    stretch = stretch_of(notes)
    long = "a note" if stretch == 1 else f"{stretch} notes in a row"
    return (
        f"There is no {'further' if found else 'other'} way up to "
        f"{position_label(analysis.ceiling)} that takes {long} in another place, keeps to the "
        f"printed marks and is not far-fetched (over {WITHIN:g} points){higher}."
    )


def _show_plan(console: Console, analysis: Analysis, number: int, first: Plan, plan: Plan) -> None:
    told = reasons(analysis, first, plan)
    marker = f"{number}. "
    show_line(console, marker, f"{_capital(told.sentence)}.", "")
    indent = " " * len(marker)
    points = ", ".join(f"{name} {more:+.1f}" for name, more in told.points[:_TOLD])
    show_line(console, indent, f"{_capital(how_much_more(plan.more))}: {points}.", "dim")
    for line in bar_lines(analysis, bars_touched(analysis, first, plan), plan.placements):
        margin = len(indent) + len(line.name) + 2
        for row, text in enumerate(_wrapped(console, line.tokens, margin)):
            name = line.name if row == 0 else ""
            console.print(Text(f"{indent}{name:<{margin - len(indent)}}") + text, soft_wrap=True)


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
