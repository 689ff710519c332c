"""The index against the printed order of graded books, with each book left out of the fit in turn.

Run ``SCORETOOLS_CHECK_DATA=FOLDER python tests/benchmarks/graded.py``. It prints, for each book,
Kendall's tau between index and printed number, and for groups of pieces whose order is a known
fact the share of pairs in order; dumb predictors stand beside both. Facts: Wohlfahrt op. 45
Nos. 1–29 are in first position, Nos. 31–59 in the higher ones, Wieniawski op. 10 is concert
literature; Kayser op. 20 is printed as “elementary and progressive studies”; Küchler, Portnoff,
Rieding and Seitz wrote student concertos.
"""

import os
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from scipy.stats import kendalltau

import scoretools
from scoretools.difficulty import Feature, Rubric, features, read_rubric
from scoretools.difficulty.index_fit import fit_index
from scoretools.difficulty.rubric import index_of
from scoretools.errors import ScoretoolsError
from scoretools.model import Part

BOOKS = ("wohlfahrt_op45", "kayser_op20")
STUDENT = ("kuchler", "portnoff", "rieding", "seitz")


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece with its features."""

    name: str
    part: Part
    features: tuple[Feature, ...]

    def value(self, name: str) -> float:
        """One feature."""
        return next(one.value for one in self.features if one.name == name)


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
    for path in sorted([*folder.glob("students/*"), *folder.glob("polish/*")]):
        try:
            analysis = scoretools.analyse(scoretools.read_part(path))
        except ScoretoolsError as error:
            print(f"left out: {error}")
            continue
        yield Piece(path.stem, analysis.part, features(analysis))


def book_of(found: list[Piece], name: str) -> list[tuple[int, Piece]]:
    """The studies of a book with their printed numbers, in order."""
    numbered = ((re.fullmatch(rf"{name}_(\d+)", piece.name), piece) for piece in found)
    return sorted(((int(m[1]), piece) for m, piece in numbered if m), key=lambda one: one[0])


def judge_by(rubric: Rubric) -> Judge:
    """The index of a rubric as a judge."""
    return lambda piece: sum(index_of(rubric.terms, piece.features).values())


def tau(book: list[tuple[int, Piece]], judge: Judge) -> float:
    """Kendall's tau between printed numbers and a judge."""
    return float(kendalltau([n for n, _ in book], [judge(piece) for _, piece in book])[0])


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


def main(folder: Path) -> None:
    """Print both tables."""
    found = list(pieces(folder))
    books = {name: book_of(found, name) for name in BOOKS}
    studies = {name: [piece.features for _, piece in book] for name, book in books.items()}
    without = {
        name: judge_by(fit_index([book for other, book in studies.items() if other != name]))
        for name in BOOKS
    }
    shipped = judge_by(read_rubric("index"))
    print(f"{'Kendall tau':32}{'left out':>9}{'shipped':>9}" + "".join(f"{d:>15}" for d in DUMB))
    for name, book in books.items():
        dumb = "".join(f"{tau(book, judge):15.2f}" for judge in DUMB.values())
        print(f"{name:32}{tau(book, without[name]):9.2f}{tau(book, shipped):9.2f}{dumb}")
    wohlfahrt, kayser = books["wohlfahrt_op45"], books["kayser_op20"]
    concert = [piece for piece in found if piece.name.startswith("pl-")]
    groups = {
        "Wohlfahrt 1–29, 31–59, Wieniawski": (
            [
                [piece for number, piece in wohlfahrt if number < 30],
                [piece for number, piece in wohlfahrt if number > 30],
                [piece for piece in concert if "wieniawski" in piece.name],
            ],
            without["wohlfahrt_op45"],
        ),
        "Kayser, first and last third": (
            [[p for n, p in kayser if n <= 12], [p for n, p in kayser if n >= 25]],
            without["kayser_op20"],
        ),
        "student concertos, concert works": (
            [[piece for piece in found if piece.name.startswith(STUDENT)], concert],
            shipped,
        ),
    }
    print(f"\n{'pairs in order':36}{'index':>7}" + "".join(f"{d:>15}" for d in DUMB))
    for name, (group, judge) in groups.items():
        dumb = "".join(f"{in_order(group, other):15.3f}" for other in DUMB.values())
        print(f"{name:36}{in_order(group, judge):7.3f}{dumb}")


if __name__ == "__main__":
    main(Path(os.environ["SCORETOOLS_CHECK_DATA"]) / "fingered")
