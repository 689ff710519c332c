"""A library of scores, tagged by what each part asks of the left hand: one SQLite file."""

from scoretools.catalogue.criteria import Criteria, Range
from scoretools.catalogue.query import FoundPart, answer, counts, find, in_full, unread
from scoretools.catalogue.scan import Summary, scan
from scoretools.catalogue.store import catalogue, reading
from scoretools.catalogue.work import Wanted

__all__ = [
    "Criteria",
    "FoundPart",
    "Range",
    "Summary",
    "Wanted",
    "answer",
    "catalogue",
    "counts",
    "find",
    "in_full",
    "reading",
    "scan",
    "unread",
]
