"""The rubrics against the order of graded books, with each book left out of the fit in turn.

Run ``SCORETOOLS_CHECK_DATA=FOLDER python tests/benchmarks/graded.py``. It prints, for each book,
the rank correlation (Kendall's tau, Spearman's rho) between index and printed number; for groups
of pieces whose order is a known fact, the share of pairs in order, and whether it reaches `GOAL`;
and the sources of these facts. Dumb predictors stand beside all of it.

No book is judged by an index that was fitted to it: the index of a book is that of the other book
alone, and the shipped one judges only what is in neither.
"""

import os
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from scipy.stats import kendalltau, spearmanr

import scoretools
from scoretools.difficulty import Level, Rubric, level, read_rubric
from scoretools.difficulty.index_fit import fit_index
from scoretools.difficulty.rubric import index_of
from scoretools.errors import ScoretoolsError
from scoretools.model import Part

BOOKS = ("wohlfahrt_op45", "kayser_op20")
STUDENT = ("kuchler", "portnoff", "rieding", "seitz")
GOAL = 0.9
"""Least share of pairs in order."""

SOURCES = """\
Sources of the facts (B from the books' titles and use, from memory; D from the check data):
  B  Wohlfahrt op. 45, Sixty Studies: Book I (to No. 30) in first position, Book II (from No. 31)
     for third position and changing to it
  D  Wohlfahrt's printed first fingers: up to No. 29 a single one lies above first position (G5 in
     bar 31 of No. 23); from No. 31 on they reach third, but for No. 45, which prints none
  B  Kayser op. 20, 36 Elementary and Progressive Studies: progressive by its title
  B  Wieniawski op. 10, L'École moderne: concert studies; D  their range, to B7
  B  Küchler, Portnoff, Rieding, Seitz: concertos and concertinos for students
  B  concert works: the Polish first editions (Wieniawski, Młynarski, Żeleński, Kątski …), an album
     of salon dances among them, none of which prints a finger above fourth position
  D  data: student books engraved by Philipp Büttgenbach (CC BY-SA 4.0, odd numbers only); Polish
     Music in Open Access (NIFC, CC BY 4.0)"""


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece with its verdict by bands, which carries the features."""

    name: str
    part: Part
    bands: Level

    def value(self, name: str) -> float:
        """One feature."""
        return next(one.value for one in self.bands.features if one.name == name)


Judge = Callable[[Piece], float]

DUMB: dict[str, Judge] = {
    "note count": lambda piece: sum(len(event.notes) for event in piece.part.events),
    "notes/s": lambda piece: piece.value("notes_per_second"),
    "highest pitch": lambda piece: max(
        note.pitch.midi for event in piece.part.events for note in event.notes
    ),
}


def pieces(folder: Path) -> Iterator[Piece]:
    """Analyse student music and concert works, for a developing player."""
    bands = read_rubric("bands")
    for path in sorted([*folder.glob("students/*"), *folder.glob("polish/*")]):
        try:
            analysis = scoretools.analyse(scoretools.read_part(path))
        except ScoretoolsError as error:
            print(f"left out: {error}")
            continue
        yield Piece(path.stem, analysis.part, level(analysis, bands))


def book_of(found: list[Piece], name: str) -> list[tuple[int, Piece]]:
    """The studies of a book with their printed numbers, in order."""
    numbered = ((re.fullmatch(rf"{name}_(\d+)", piece.name), piece) for piece in found)
    return sorted(((int(m[1]), piece) for m, piece in numbered if m), key=lambda one: one[0])


def judge_by(rubric: Rubric) -> Judge:
    """The index of a rubric as a judge."""
    return lambda piece: sum(index_of(rubric.terms, piece.bands.features).values())


def by_bands(piece: Piece) -> float:
    """The number of the band as a judge; many pieces tie."""
    return piece.bands.value


def tau(book: list[tuple[int, Piece]], judge: Judge) -> float:
    """Kendall's tau between printed numbers and a judge."""
    return float(kendalltau([n for n, _ in book], [judge(piece) for _, piece in book])[0])


def rho(book: list[tuple[int, Piece]], judge: Judge) -> float:
    """Spearman's rho between printed numbers and a judge."""
    return float(spearmanr([n for n, _ in book], [judge(piece) for _, piece in book])[0])


def pair_count(groups: list[list[Piece]]) -> int:
    """How many pairs of pieces from different groups there are."""
    sizes = [len(group) for group in groups]
    return (sum(sizes) ** 2 - sum(size**2 for size in sizes)) // 2


def in_order(groups: list[list[Piece]], judge: Judge) -> float:
    """Share of pairs from different groups in order; a tie counts half."""
    values = [[judge(piece) for piece in group] for group in groups]
    pairs = [
        (easy < hard) + 0.5 * (easy == hard)
        for place, lower in enumerate(values)
        for higher in values[place + 1 :]
        for easy in lower
        for hard in higher
    ]
    return sum(pairs) / len(pairs)


Groups = dict[str, tuple[list[list[Piece]], Judge]]


def known_groups(found: list[Piece], without: dict[str, Judge], shipped: Judge) -> Groups:
    """Groups whose order is known, easier first, with the index that has not seen them."""
    wohlfahrt, kayser = (book_of(found, name) for name in BOOKS)
    first = [piece for number, piece in wohlfahrt if number < 30]
    second = [piece for number, piece in wohlfahrt if number > 30]
    concert = [piece for piece in found if piece.name.startswith("pl-")]
    caprices = [piece for piece in concert if "op-10-" in piece.name]
    student = [piece for piece in found if piece.name.startswith(STUDENT)]
    judge = without["wohlfahrt_op45"]
    thirds = [[p for n, p in kayser if n <= 12], [p for n, p in kayser if n >= 25]]
    return {
        "Wohlfahrt 1–29, 31–59, Wieniawski op. 10": ([first, second, caprices], judge),
        "  Wohlfahrt 1–29, 31–59": ([first, second], judge),
        "  Wohlfahrt 31–59, Wieniawski op. 10": ([second, caprices], judge),
        "Kayser op. 20, first and last third": (thirds, without["kayser_op20"]),
        "student concertos, concert works": ([student, concert], shipped),
    }


def print_correlations(found: list[Piece], without: dict[str, Judge], shipped: Judge) -> None:
    """Print how a book's numbers and the verdicts agree, in ranks."""
    for title, agree in (("Kendall tau", tau), ("Spearman rho", rho)):
        head = "".join(f"{name:>15}" for name in ("bands", *DUMB))
        print(f"{title + ' with the number':41}{'left out':>9}{'shipped':>9}{head}")
        for name in BOOKS:
            book = book_of(found, name)
            others = "".join(f"{agree(book, one):15.2f}" for one in (by_bands, *DUMB.values()))
            row = f"{name} ({len(book)} studies)"
            print(f"{row:41}{agree(book, without[name]):9.2f}{agree(book, shipped):9.2f}{others}")
        print()


def print_pairs(groups: Groups) -> None:
    """Print the share of pairs in order."""
    head = "".join(f"{name:>15}" for name in ("bands", *DUMB))
    print(f"{'pairs in order':41}{'pairs':>6}{'index':>7}{f'≥ {GOAL}':>7}{head}")
    for name, (group, judge) in groups.items():
        others = "".join(f"{in_order(group, one):15.3f}" for one in (by_bands, *DUMB.values()))
        share = in_order(group, judge)
        reached = "yes" if share >= GOAL else "no"
        print(f"{name:41}{pair_count(group):6}{share:7.3f}{reached:>7}{others}")


def main(folder: Path) -> None:
    """Print both tables and the sources."""
    found = list(pieces(folder))
    studies = {name: [piece.bands.features for _, piece in book_of(found, name)] for name in BOOKS}
    without = {
        name: judge_by(fit_index([book for other, book in studies.items() if other != name]))
        for name in BOOKS
    }
    shipped = judge_by(read_rubric("index"))
    print_correlations(found, without, shipped)
    print_pairs(known_groups(found, without, shipped))
    print("\nleft out: the index fitted to the other book alone; it also judges the book's pairs")
    print("shipped: the index fitted to both books; it judges the concertos and concert works")
    print(f"a tie counts half; bands tie often\n\n{SOURCES}")


if __name__ == "__main__":
    main(Path(os.environ["SCORETOOLS_CHECK_DATA"]) / "fingered")
