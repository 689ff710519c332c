"""An analysis as one HTML page that needs nothing beside itself.

The page prints in black and white without loss, fits a telephone and follows the reader's choice of
a dark screen. Everything is there without scripts: bars of the engraved part are links to what is
said of them; a small script of our own, allowed by its hash alone, sorts and filters the table of
demands and opens a bar's words beside the music. Words come from `scoretools.write.summary`,
pictures from `scoretools.write.charts` and `scoretools.write.figures`, the layout from the
templates beside this file. Everything from a score is escaped: a title may hold markup or quotes.
"""

from base64 import b64encode
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from hashlib import sha256
from pathlib import Path
from types import MappingProxyType

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from scoretools.bar_names import length_words
from scoretools.drills.choose import CAUTIONS
from scoretools.hand import gap_letters
from scoretools.instrument import instrument, position_label
from scoretools.model import Analysis, Drill
from scoretools.model.plan import Plan
from scoretools.note_names import said
from scoretools.write.bars import BarLine, bar_lines, legend
from scoretools.write.chart_values import fingerboard_counts
from scoretools.write.charts import as_svg, fingerboard_use, shapes_over_bars
from scoretools.write.figures import Figures
from scoretools.write.hand_map import hand_map
from scoretools.write.note_words import check_words, letter, title_of
from scoretools.write.page_music import (
    bar_ids,
    embedded_font,
    excerpt,
    is_wide,
    part_systems_of,
    picture,
    shared_signs,
)
from scoretools.write.page_rows import (
    BarTold,
    bar_names,
    demand_strings,
    demand_words,
    grid,
    heaviest_first,
    passage_rows,
    told_bars,
)
from scoretools.write.page_words import bar_links, typeset
from scoretools.write.plan_words import week_rows
from scoretools.write.summary import (
    assumptions,
    bar_ranges,
    ceiling_sentence,
    clicks,
    coverage_lines,
    percent,
    strings_in_order,
    what_it_asks,
)

__all__ = ["NOTHING_DRAWN", "BarTold", "PageFigures", "page"]

_TEMPLATES = Path(__file__).parent / "templates"

_FULL_BARS = 12
"""Hardest bars told with all their reasons; the others are told in one line each."""


@dataclass(frozen=True, slots=True)
class PageFigures:
    """What is drawn for a page; what is missing is told in words."""

    systems: tuple[str, ...]
    """Systems of the part with marks in it, as `scoretools.write.engrave.engraved` gives them."""
    drills: Figures
    """What is drawn for the drills; none, or one for each."""


NOTHING_DRAWN = PageFigures((), Figures((), ()))
"""A page in words alone."""


def page(
    analysis: Analysis,
    drawn: PageFigures = NOTHING_DRAWN,
    edition: str = "teacher",
    told: Mapping[int, BarTold] = MappingProxyType({}),
    plan: Plan | None = None,
) -> str:
    """Render an analysis as one self-contained HTML page.

    Parameters
    ----------
    analysis
        As `scoretools.analyse` returns it.
    drawn
        The part and the drills as music.
    edition
        ``teacher`` (everything) or ``student`` (what it asks, the part, the drills, the cautions).
    told
        What is said of bars, by index of the bar.
    plan
        When to practise what; its days are numbered, not dated.

    Returns
    -------
    str
        The page; the same input always gives the same text.
    """
    loaded = heaviest_first(analysis.loads)
    for_teacher = edition == "teacher"
    pictures = tuple(_pictures(drawn))
    bars = tuple(told_bars(analysis, told)) if for_teacher else ()
    script = (_TEMPLATES / "page.js").read_text("utf-8")
    played = instrument(analysis.part.instrument, tuning=analysis.part.tuning)
    return (
        _environment(analysis, bar_ids(drawn.systems))
        .get_template("report.html")
        .render(
            part=analysis.part,
            title=title_of(analysis.part),
            strings=tuple(said(name) for name in analysis.string_names),
            for_teacher=for_teacher,
            asks=(*what_it_asks(analysis), ceiling_sentence(analysis)),
            unknown_gap=any("?" in demand.gaps for demand in analysis.demands),
            hand_map=hand_map(analysis, played),
            systems=tuple(part_systems_of(analysis, drawn.systems, for_teacher)),
            signs=shared_signs(pictures),
            music_font=embedded_font(pictures),
            bars=bars,
            legend=legend([line for bar in bars for line in bar.lines]),
            hardest=loaded[:_FULL_BARS],
            other_bars=loaded[_FULL_BARS:],
            drills=analysis.drills,
            drawn=drawn.drills.drills,
            problems=drawn.drills.problems,
            coverage=coverage_lines(analysis),
            plan_rows=tuple(week_rows(plan)) if plan else (),
            plan_days=plan.days if plan else (),
            passages=tuple(passage_rows(analysis)),
            demands=analysis.demands,
            kinds=tuple(dict.fromkeys(demand_words(d)[0] for d in analysis.demands)),
            shape_charts=_shape_charts(analysis) if for_teacher else (),
            fingerboard_chart=_fingerboard_chart(analysis) if for_teacher else Markup(),
            assumptions=assumptions(analysis),
            notices=tuple(_notices(analysis)),
            cautions=CAUTIONS,
            script=Markup(script),
            script_hash=b64encode(sha256(script.encode("utf-8")).digest()).decode("ascii"),
        )
    )


# ── filters of the templates ────────────────────────────────────────────────────────────────────


def _environment(analysis: Analysis, drawn: frozenset[str]) -> Environment:
    environment = Environment(
        loader=FileSystemLoader(_TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters |= {
        "bar_links": partial(bar_links, analysis, drawn),
        "bar_names": partial(bar_names, analysis),
        "bars": partial(bar_ranges, analysis),
        "bridge": partial(_bridge, analysis),
        "check_words": partial(check_words, analysis),
        "clicks": clicks,
        "strings_in_order": partial(strings_in_order, analysis),
        "demand_strings": partial(demand_strings, analysis),
        "demand_words": demand_words,
        "gap_letters": gap_letters,
        "grid": grid,
        "is_wide": is_wide,
        "length_words": length_words,
        "letter": letter,
        "excerpt": excerpt,
        "percent": percent,
        "picture": picture,
        "position": position_label,
        "typeset": typeset,
    }
    return environment


def _pictures(drawn: PageFigures) -> Iterator[str]:
    """All music of the page."""
    yield from drawn.systems
    for drill in drawn.drills.drills:
        for systems in (*drill.exercises, drill.bridge):
            yield from systems


def _bridge(analysis: Analysis, drill: Drill) -> tuple[BarLine, ...]:
    """Give the bars of the piece that end a drill, in words."""
    first, last = drill.bridge
    return bar_lines(analysis, range(first, last + 1))


# ── charts ──────────────────────────────────────────────────────────────────────────────────────


def _shape_charts(analysis: Analysis) -> tuple[Markup, ...]:
    figures = shapes_over_bars(analysis)
    return tuple(
        Markup(
            as_svg(
                figure,
                f"Hand shapes over the bars, row {row} of {len(figures)}",
                "What this picture shows is told bar by bar in the table of passages.",
            )
        )
        for row, figure in enumerate(figures, start=1)
    )


def _fingerboard_chart(analysis: Analysis) -> Markup:
    counts = sorted(
        fingerboard_counts(analysis).items(),
        key=lambda item: (item[0][0], -1 if item[0][1] is None else item[0][1]),
    )
    told = "; ".join(
        f"{said(analysis.string_names[string])} string, "
        f"{'open' if place is None else position_label(place)}: {count}"
        for (string, place), count in counts
    )
    title = "Notes on each string in each position"
    return Markup(as_svg(fingerboard_use(analysis), title, f"{told or 'No notes'}."))


# ── assumptions and notices ─────────────────────────────────────────────────────────────────────


def _notices(analysis: Analysis) -> Iterator[tuple[str, tuple[int, ...]]]:
    """Give each message once, with all its bars."""
    bars: dict[str, list[int]] = {}
    for notice in analysis.notices:
        here = bars.setdefault(notice.message, [])
        if notice.measure is not None:
            here.append(notice.measure)
    yield from ((message, tuple(measures)) for message, measures in bars.items())
