"""A programme on one sheet: every part with its level, its hardest bars, positions and shapes."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from scoretools.difficulty import Level
from scoretools.instrument import ordinal
from scoretools.model import Analysis, DemandKind
from scoretools.note_names import said
from scoretools.write.note_words import title_of
from scoretools.write.summary import bar_ranges
from scoretools.write.typeset import pdf_from

__all__ = ["Judged", "programme_page", "programme_pdf"]

_TEMPLATES = Path(__file__).parent / "templates"

HARDEST_BARS = 3
"""Hardest bars named for each part."""

SHAPES = 3
"""Hand shapes named for each part."""


@dataclass(frozen=True, slots=True)
class Judged:
    """One part of the programme."""

    analysis: Analysis
    """The part, analysed."""
    band: Level
    """Its level in words."""
    index: Level
    """Its level as a number."""


def programme_page(parts: Sequence[Judged], title: str) -> str:
    """Render a programme as one page that needs nothing beside itself.

    Parameters
    ----------
    parts
        In the order of the programme.
    title
        What the sheet is called.
    """
    environment = Environment(
        loader=FileSystemLoader(_TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return environment.get_template("programme.html").render(**_values(parts, title))


def programme_pdf(parts: Sequence[Judged], title: str, paper: str = "a4") -> bytes:
    """Set a programme on paper, across.

    Parameters
    ----------
    parts, title
        As for `programme_page`.
    paper
        ``a4`` or ``us-letter``.

    Raises
    ------
    WriteError
        If it cannot be set.
    """
    return pdf_from("programme.typ", _values(parts, title), {}, paper)


def _values(parts: Sequence[Judged], title: str) -> dict[str, object]:
    most = max((one.index.value for one in parts), default=0.0) or 1.0
    return {
        "title": title,
        "rows": [_row(one, most) for one in parts],
        "about": parts[0].band.about if parts else "",
        "profiles": sorted({one.band.profile.replace("-", " ") for one in parts}),
        "assumed": any(one.band.tempo_assumed for one in parts),
    }


def _row(one: Judged, most: float) -> dict[str, object]:
    part = one.analysis.part
    heaviest = sorted(one.analysis.loads, key=lambda bar: (-bar.load, bar.measure))
    return {
        "piece": title_of(part),
        "part": part.name or part.instrument.capitalize(),
        "band": one.band.label,
        "because": said(one.band.reasons[0]).partition(";")[0] if one.band.reasons else "",
        "index": f"{one.index.value:.0f}",
        "bar": round(100 * one.index.value / most),
        "positions": _positions(one.analysis),
        "shapes": _shapes(one.analysis),
        "hardest": [
            f"{bar_ranges(one.analysis, (bar.measure,))}: {said(bar.reasons[0])}"
            for bar in heaviest[:HARDEST_BARS]
            if bar.load > 0
        ],
    }


def _positions(analysis: Analysis) -> str:
    """List the positions in which a finger is down: ``half, 1st, 3rd``."""
    used = {
        step.placement.position
        for step in analysis.steps
        if step.placement and any(stop.finger for stop in step.placement.stops)
    }
    return ", ".join(ordinal(p) if p else "half" for p in sorted(used)) or "open strings only"


def _shapes(analysis: Analysis) -> list[str]:
    """The commonest hand shapes."""
    often: Counter[str] = Counter()
    for demand in analysis.demands:
        if demand.kind is DemandKind.SHAPE:
            often[demand.gaps] += len(demand.moments)
    return [gaps for gaps, _ in often.most_common(SHAPES)]
