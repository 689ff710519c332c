"""The user's own part, with our marks in it, as pages for the stand."""

from collections.abc import Sequence

from scoretools.model import Analysis
from scoretools.note_names import said, worded
from scoretools.write.engrave import engraved, single_part
from scoretools.write.note_words import title_of
from scoretools.write.typeset import pdf_from

__all__ = ["marked_part_pdf", "part_alone", "part_systems"]

_SHEET_MM = {"a4": 210.0, "us-letter": 215.9}
_MARGIN_MM = 18.0


def part_systems(
    analysis: Analysis, document: bytes, paper: str = "a4", staff_mm: float = 7.0
) -> tuple[str, ...]:
    """Engrave a part as wide as a sheet.

    Parameters
    ----------
    analysis
        The analysis the marks come from.
    document
        The score with marks in it, as `scoretools.write.annotate.annotate` gives it.
    paper
        ``a4`` or ``us-letter``.
    staff_mm
        Height of a staff, mm.

    Returns
    -------
    tuple of str
        Systems, an SVG each.

    Raises
    ------
    WriteError
        If the part cannot be engraved.
    """
    alone = part_alone(analysis, document)
    return engraved(alone, _SHEET_MM[paper] - 2 * _MARGIN_MM, staff_mm)


def part_alone(analysis: Analysis, document: bytes) -> str:
    """Take the part out of its score for engraving, its strings named over the notes.

    Parameters
    ----------
    analysis, document
        As for `part_systems`.

    Raises
    ------
    WriteError
        If the document is not the one that was analysed.
    """
    part = analysis.part
    strings = [said(worded("sul {}", name)) for name in reversed(analysis.string_names)]
    return single_part(document, part.part_id, len(part.measures), strings)


def marked_part_pdf(analysis: Analysis, systems: Sequence[str], paper: str = "a4") -> bytes:
    """Set a part for the stand.

    Parameters
    ----------
    analysis
        The analysis the marks come from.
    systems
        The part, as `part_systems` engraves it for this paper.
    paper
        ``a4`` or ``us-letter``.

    Returns
    -------
    bytes
        A PDF; a system is never divided between pages.

    Raises
    ------
    WriteError
        If it cannot be set.
    """
    part = analysis.part
    pictures = {f"system-{number}.svg": svg for number, svg in enumerate(systems)}
    values = {
        "title": title_of(part),
        "composer": part.composer,
        "part": part.name or part.instrument.capitalize(),
        "margin_mm": _MARGIN_MM,
        "systems": list(pictures),
    }
    return pdf_from("part.typ", values, pictures, paper)
