"""A plan as pages: to print (PDF) and to read on screen (HTML)."""

from collections.abc import Sequence
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from scoretools.model import Analysis
from scoretools.model.plan import Plan
from scoretools.write.plan_words import plan_values
from scoretools.write.typeset import pdf_from

__all__ = ["plan_page", "plan_pdf"]

_TEMPLATES = Path(__file__).parent / "templates"


def plan_pdf(
    plan: Plan,
    pieces: Sequence[Analysis],
    name: str = "",
    paper: str = "a4",
    with_books: bool = False,
) -> bytes:
    """Set the table of all days and a sheet for every day, with boxes to tick.

    Parameters
    ----------
    pieces
        What was planned, in the same order.
    name
        The player's name, or empty.
    paper
        ``a4`` or ``us-letter``.
    with_books
        Whether the drill books lie beside the plan.

    Raises
    ------
    WriteError
        If it cannot be set.
    """
    return pdf_from("plan.typ", plan_values(plan, pieces, name, with_books), {}, paper)


def plan_page(
    plan: Plan, pieces: Sequence[Analysis], name: str = "", with_books: bool = False
) -> str:
    """Render the same as one page that needs nothing beside itself.

    Parameters
    ----------
    pieces, name, with_books
        As for `plan_pdf`.
    """
    environment = Environment(
        loader=FileSystemLoader(_TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return environment.get_template("plan.html").render(
        **plan_values(plan, pieces, name, with_books)
    )
