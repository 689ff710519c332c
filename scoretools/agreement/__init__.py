"""How far the tool agrees with what an edition prints, or with what players played.

Conventions
-----------
* The printed marks are hidden, the part is fingered, and then the marks are looked up. Words that
  guide the left hand (*sul G*, *restez*, a position) are hidden too. Harmonic signs stay, since
  they say which note is meant.
* A *mark* is a printed finger or the sign for the open string; of several fingers printed as
  alternatives any is right. A note that is left unfingered counts as wrong.
* The ceiling is the player's or the profile's; else it comes from the notes, never from what is
  hidden.
* Shares are between 0 and 1. A *book* is a work, or all études of a collection; a file that belongs
  to none is a *piece*, and counts like a book. The headline is the mean over books, so that a thick
  book weighs no more than a thin one.
"""

from scoretools.agreement.annotated import measure_players
from scoretools.agreement.books import book_of
from scoretools.agreement.given import SEEDS
from scoretools.agreement.printed import has_marks
from scoretools.agreement.report import Entry, as_data, headline, total
from scoretools.agreement.rules import RULES
from scoretools.agreement.scored import Difference, Measured, measure_part
from scoretools.agreement.tally import Hits, Share, Tally, added, share_of

__all__ = [
    "RULES",
    "SEEDS",
    "Difference",
    "Entry",
    "Hits",
    "Measured",
    "Share",
    "Tally",
    "added",
    "as_data",
    "book_of",
    "has_marks",
    "headline",
    "measure_part",
    "measure_players",
    "share_of",
    "total",
]
