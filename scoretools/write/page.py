"""An analysis as one HTML page that needs nothing beside itself.

The page prints in black and white without loss, fits a telephone, follows the reader's choice of a
dark screen, and holds no script. Words come from `scoretools.write.summary`, pictures from
`scoretools.write.charts`, the layout from the templates beside this file. Everything from a score
is escaped: a title may hold markup or quotes.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from pathlib import Path
from types import MappingProxyType

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup, escape

from scoretools.drills.choose import CAUTIONS
from scoretools.hand import gap_letters, gap_words
from scoretools.instrument import position_label
from scoretools.model import (
    Analysis,
    BarLoad,
    Check,
    Demand,
    DemandKind,
    Drill,
    DrillNote,
    Passage,
    Pitch,
    Shape,
    StringIndex,
)
from scoretools.write.chart_values import fingerboard_counts
from scoretools.write.charts import as_svg, fingerboard_use, shapes_over_bars
from scoretools.write.summary import (
    assumptions,
    bar_ranges,
    ceiling_sentence,
    clicks,
    percent,
    strings_in_order,
    what_it_asks,
)

__all__ = ["page"]

_TEMPLATES = Path(__file__).parent / "templates"

_FULL_BARS = 12
"""Hardest bars told with all their reasons; the others are told in one line each."""


def page(analysis: Analysis) -> str:
    """Render an analysis as one self-contained HTML page.

    Parameters
    ----------
    analysis
        As `scoretools.analyse` returns it.

    Returns
    -------
    str
        The page; the same analysis always gives the same text.
    """
    loaded = _heaviest_first(analysis.loads)
    return (
        _environment(analysis)
        .get_template("report.html")
        .render(
            part=analysis.part,
            strings=analysis.string_names,
            asks=(*what_it_asks(analysis), ceiling_sentence(analysis)),
            unknown_gap=any("?" in demand.gaps for demand in analysis.demands),
            hardest=loaded[:_FULL_BARS],
            other_bars=loaded[_FULL_BARS:],
            drills=analysis.drills,
            passages=tuple(_passage_rows(analysis)),
            demands=analysis.demands,
            shape_charts=_shape_charts(analysis),
            fingerboard_chart=_fingerboard_chart(analysis),
            assumptions=assumptions(analysis),
            notices=tuple(_notices(analysis)),
            cautions=CAUTIONS,
        )
    )


def _environment(analysis: Analysis) -> Environment:
    environment = Environment(
        loader=FileSystemLoader(_TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters |= {
        "bar_names": partial(_bar_names, analysis),
        "bars": partial(bar_ranges, analysis),
        "check_words": partial(_check_words, analysis),
        "clicks": clicks,
        "strings_in_order": partial(strings_in_order, analysis),
        "demand_strings": partial(_demand_strings, analysis),
        "demand_words": _demand_words,
        "gap_letters": gap_letters,
        "grid": _grid,
        "letter": _letter,
        "percent": percent,
        "position": position_label,
        "typeset": _typeset,
    }
    return environment


# ── bars ────────────────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True)
class _HardBar:
    """A bar with a load."""

    measure: int
    """Index of the bar."""
    load: float
    """Load points a second."""
    tenths: int
    """Load in tenths of the heaviest bar's, 1 to 10."""
    reasons: tuple[str, ...]
    """What makes it, heaviest first."""


def _heaviest_first(loads: Sequence[BarLoad]) -> tuple[_HardBar, ...]:
    loaded = sorted(
        (bar for bar in loads if bar.load > 0), key=lambda bar: (-bar.load, bar.measure)
    )
    return tuple(
        _HardBar(bar.measure, bar.load, max(1, round(10 * bar.load / loaded[0].load)), bar.reasons)
        for bar in loaded
    )


def _bar_names(analysis: Analysis, measures: Sequence[int]) -> str:
    """List bars as printed for a column headed *Bars*, where the word itself would repeat."""
    return re.sub(r"\bbars? ", "", bar_ranges(analysis, measures))


_BEAT_PARTS = MappingProxyType(
    {Fraction(1, 2): "½", Fraction(1, 3): "⅓", Fraction(2, 3): "⅔",
     Fraction(1, 4): "¼", Fraction(3, 4): "¾"}
)  # fmt: skip


def _beat_words(beat: Fraction) -> str:
    whole, rest = divmod(beat, 1)
    if rest in _BEAT_PARTS:
        return f"beat {whole}{_BEAT_PARTS[rest]}"
    return f"after beat {whole}" if rest else f"beat {whole}"


# ── drills ──────────────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True)
class _Grid:
    """The notes of a form as they are set: a line for each string, a column for each moment."""

    strings: tuple[StringIndex, ...]
    """Strings in use, highest first."""
    columns: tuple[tuple[DrillNote | None, ...], ...]
    """For each moment, one note or none for each of these strings."""


def _grid(notes: Sequence[DrillNote]) -> _Grid:
    strings = tuple(sorted({note.stop.string for note in notes}, reverse=True))
    moments: list[dict[StringIndex, DrillNote]] = [{}]
    for note in notes:
        moments[-1][note.stop.string] = note
        if not note.with_next:
            moments.append({})
    columns = tuple(tuple(map(moment.get, strings)) for moment in moments if moment)
    return _Grid(strings, columns)


_FINGER_WORDS = ("open", "1st finger", "2nd finger", "3rd finger", "4th finger")


def _check_words(analysis: Analysis, check: Check, drill: Drill) -> str:
    """Say which finger is tested, and how: ``1st finger, E: a fourth below open A``."""
    notes = [note for one in drill.exercises for note in one.notes if note.pitch == check.pitch]
    finger = f"{_FINGER_WORDS[notes[0].stop.finger]}, " if notes else ""
    if check.interval == "unison":
        heard = "in unison with"
    else:
        article = "an" if check.interval == "octave" else "a"
        side = "above" if check.pitch.midi > check.against.midi else "below"
        heard = f"{article} {check.interval} {side}"
    letter = _letter(check.against)
    against = letter if letter in analysis.string_names else check.against.name
    return f"{finger}{_letter(check.pitch)}: {heard} open {against}"


# ── passages and demands ────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True)
class _PassageRow:
    """One line of the table of passages."""

    measures: tuple[int, ...]
    """Indices of its bars."""
    position: str
    """Position in words."""
    begins: str
    """What begins it, and on which beat."""
    shapes: tuple[Shape | None, ...]
    """One for each string, lowest first; none where no finger plays."""


def _passage_rows(analysis: Analysis) -> Iterator[_PassageRow]:
    events = analysis.part.events
    before: Passage | None = None
    for passage in analysis.passages:
        first, last = (events[index] for index in (passage.first_event, passage.last_event))
        by_string = {shape.string: shape for shape in passage.shapes}
        yield _PassageRow(
            measures=tuple(range(first.measure, last.measure + 1)),
            position=position_label(passage.position) if passage.shapes else "open strings",
            begins=f"{_begins(passage, before)}, {_beat_words(first.beat)}",
            shapes=tuple(
                by_string.get(StringIndex(string)) for string in range(len(analysis.string_names))
            ),
        )
        before = passage


def _begins(passage: Passage, before: Passage | None) -> str:
    if passage.begins_with == "shift" and before is not None:
        return f"shift from {position_label(before.position)}"
    return "change of shape" if passage.begins_with == "shape change" else passage.begins_with


_KIND_WORDS: Mapping[DemandKind, str] = MappingProxyType(
    {DemandKind.SHAPE: "hand shape", DemandKind.SHAPE_CHANGE: "change of shape"}
)


def _demand_words(demand: Demand) -> tuple[str, str]:
    """Name a demand: what kind, and what exactly."""
    kind = _KIND_WORDS.get(demand.kind, demand.kind.value)
    shape = demand.kind is DemandKind.SHAPE and demand.shape
    return kind, gap_words(demand.shape.gaps) if shape and demand.shape else demand.detail


def _demand_strings(analysis: Analysis, demand: Demand) -> str:
    at_once = demand.kind in (DemandKind.DOUBLE_STOP, DemandKind.CHORD)
    strings = sorted({stop.string for stop in demand.stops}) if at_once else [demand.string]
    return " ".join(analysis.string_names[string] for string in strings)


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
        f"{analysis.string_names[string]} string, "
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


# ── words and figures ───────────────────────────────────────────────────────────────────────────

_ACCIDENTAL = re.compile(r"\b([A-G])(#{1,2}|b{1,2})(?=-?\d|\W|$)")
_SIGNS = str.maketrans({"#": "♯", "b": "♭"})
_UNBROKEN = re.compile(r"[HWA?]-[HWA?]-[HWA?]|\w+–\w+|\d+ %")


def _typeset(text: str) -> Markup:
    """Set a text for the page: sharp and flat signs; shapes, ranges and shares on one line."""
    signed = _ACCIDENTAL.sub(lambda name: name[1] + name[2].translate(_SIGNS), text)
    whole = _UNBROKEN.sub(
        lambda word: f'<span class="nowrap">{word[0]}</span>', str(escape(signed))
    )
    return Markup(whole)


def _letter(pitch: Pitch) -> str:
    """Name a note without its octave, as players do when string and finger are known."""
    return pitch.name.rstrip("0123456789-")
