"""One piece, several players: who needs which drill, and which drills serve most of them."""

from collections.abc import Mapping
from dataclasses import dataclass

import pandas as pd

from scoretools.drills.choose import CAUTIONS
from scoretools.model import Analysis
from scoretools.note_names import said
from scoretools.write.note_words import title_of
from scoretools.write.summary import percent
from scoretools.write.typeset import pdf_from

__all__ = ["Shared", "overview_pdf", "overview_table", "shared_drills"]


@dataclass(frozen=True, slots=True)
class Shared:
    """A drill, and the players it is for."""

    title: str
    """What is practised."""
    shares: Mapping[str, float]
    """Share of what the part asks of each player, by name; who does not need it is left out."""


def shared_drills(analyses: Mapping[str, Analysis]) -> tuple[Shared, ...]:
    """Gather the drills of all players: what serves most players first, then what weighs most.

    Parameters
    ----------
    analyses
        The same part analysed for each player, by name.
    """
    shares: dict[str, dict[str, float]] = {}
    for name, analysis in analyses.items():
        for drill in analysis.drills:
            shares.setdefault(drill.title, {})[name] = drill.share
    found = (Shared(title, by_name) for title, by_name in shares.items())
    return tuple(
        sorted(found, key=lambda one: (-len(one.shares), -sum(one.shares.values()), one.title))
    )


def overview_table(analyses: Mapping[str, Analysis]) -> pd.DataFrame:
    """One row for each drill, one column for each player: the share of the part it serves."""
    rows = [
        (
            str(one.title),
            len(one.shares),
            *(round(one.shares.get(name, 0.0), 4) for name in analyses),
        )
        for one in shared_drills(analyses)
    ]
    return pd.DataFrame(rows, columns=["drill", "players", *analyses])


def overview_pdf(analyses: Mapping[str, Analysis], paper: str = "a4") -> bytes:
    """Set the overview of a studio on paper.

    Parameters
    ----------
    analyses
        At least one player's.
    paper
        ``a4`` or ``us-letter``.

    Raises
    ------
    WriteError
        If it cannot be set.
    """
    part = next(iter(analyses.values())).part
    values: dict[str, object] = {
        "title": title_of(part),
        "players": [
            {
                "name": name,
                "minutes": sum(drill.minutes for drill in analysis.drills),
                "served": percent(sum(drill.share for drill in analysis.drills)),
            }
            for name, analysis in analyses.items()
        ],
        "rows": [
            {
                "title": said(one.title),
                "shares": [percent(one.shares[n]) if n in one.shares else "" for n in analyses],
            }
            for one in shared_drills(analyses)
        ],
        "cautions": CAUTIONS,
    }
    return pdf_from("overview.typ", values, {}, paper)
