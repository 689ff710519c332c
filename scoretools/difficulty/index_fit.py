"""Fits the weights of an index to books whose studies stand in graded order.

Within a book, of any two studies the later one should have the higher index. The points are those
that make the logistic loss over all such pairs least (Source: Burges et al., *Learning to rank
using gradient descent*, ICML 2005; here the score is a plain sum, so the minimum is the only one).
Every book counts alike, however many studies it has. Points never fall below 0: what is hard for
the hand makes no part easier.

A book says nothing of what does not occur in it: studies without tenths cannot price tenths. So the
points are drawn by a quadratic pull to `STARTING_TERMS`, set by hand in the order of common
practice, and stay there where no book speaks. No term knows how long a study is or what it is
called.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from scoretools.difficulty.features import Feature
from scoretools.difficulty.rubric import Rubric, Term, index_of

__all__ = ["PULL", "SHARPNESS", "STARTING_TERMS", "WHOLE", "fit_index"]

FloatArray = NDArray[np.float64]

WHOLE = 100.0
"""Points of an index in all."""

SHARPNESS = 0.1
"""How soon a pair counts as told apart, per point: at ten points of difference an order is taken
as 2.7 times as likely as at none."""

PULL = 0.001
"""Weight of the squared distance, in points, from the starting points."""

STARTING_TERMS: tuple[Term, ...] = tuple(
    Term(feature, above, half, points)
    for feature, above, half, points in (
        ("highest_position", 1, 4, 9), ("highest_position_on_low_strings", 1, 4, 4),
        ("above_first_position", 0, 0.4, 5), ("second_position", 0, 0.1, 2),
        ("fourth_position", 0, 0.1, 2), ("shifts_per_minute", 0, 20, 7),
        ("longest_shift", 0, 7, 3), ("slurred_shifts", 0, 0.5, 2),
        ("reaches_back_per_minute", 0, 5, 3), ("extensions_per_minute", 0, 3, 4),
        ("shapes", 1, 5, 4), ("shape_changes_per_minute", 0, 8, 3),
        ("abrupt_changes_per_minute", 0, 6, 2), ("chromatic_slides_per_minute", 0, 4, 3),
        ("augmented_seconds_per_minute", 0, 2, 3), ("fourth_finger", 0, 0.2, 3),
        ("weak_trills_per_minute", 0, 2, 2), ("stopped_double_stops", 0, 0.2, 4),
        ("thirds", 0, 0.1, 3), ("octaves", 0, 0.05, 3), ("tenths", 0, 0.02, 3),
        ("chords", 0, 0.1, 3), ("artificial_harmonics_per_minute", 0, 2, 3),
        ("notes_per_second", 0, 8, 5), ("double_stops_per_second", 0, 4, 2),
        ("flatward_keys", 0, 4, 3), ("sharpward_keys", 0, 2, 2), ("accidentals", 0, 0.1, 3),
        ("mean_load", 0, 3, 4), ("hardest_bar", 0, 10, 3),
    )
)  # fmt: skip
"""Where the fit begins. Common practice, no published source."""


def fit_index(books: Sequence[Sequence[Sequence[Feature]]]) -> Rubric:
    """Fit an index.

    Parameters
    ----------
    books
        For each book its studies in graded order, for each study its features. Without a book the
        starting points come back.

    Returns
    -------
    Rubric
        An index of `WHOLE` points, rounded to a tenth.
    """
    from scipy.optimize import minimize  # an extra: only fitting needs it

    start = _whole(np.array([term.points for term in STARTING_TERMS]))
    steps = [_steps(book) for book in books if len(book) > 1]

    def objective(points: FloatArray) -> tuple[float, FloatArray]:
        away = points - start
        total, slope = PULL * float(away @ away), 2 * PULL * away
        for step in steps:
            apart = SHARPNESS * (step @ points)
            total += float(np.logaddexp(0, -apart).mean()) / len(steps)
            doubt = 1 / (1 + np.exp(apart))
            slope = slope - SHARPNESS * (doubt @ step) / (len(step) * len(steps))
        return total, slope

    found = minimize(
        objective, start, jac=True, method="L-BFGS-B", bounds=[(0.0, None)] * len(start)
    )
    return _as_rubric(found.x)


def _steps(book: Sequence[Sequence[Feature]]) -> FloatArray:
    """For each pair of a book, what the later study has more of, one column for each term."""
    unit = [Term(term.feature, term.above, term.half, 1.0) for term in STARTING_TERMS]
    rows = np.array([list(index_of(unit, study).values()) for study in book])
    earlier, later = np.triu_indices(len(book), k=1)
    return np.asarray(rows[later] - rows[earlier], dtype=np.float64)


def _whole(points: FloatArray) -> FloatArray:
    return np.asarray(points * (WHOLE / points.sum()), dtype=np.float64)


def _as_rubric(points: FloatArray) -> Rubric:
    return Rubric(
        name="index",
        about="fitted to books in graded order",
        terms=tuple(
            Term(term.feature, term.above, term.half, tenths / 10)
            for term, tenths in zip(STARTING_TERMS, _tenths(_whole(points)), strict=True)
        ),
    )


def _tenths(points: FloatArray) -> list[int]:
    """Round to tenths so that the whole stays whole: the largest remainders are rounded up."""
    exact = points * 10
    rounded = np.floor(exact).astype(int)
    left_over = round(WHOLE * 10) - int(rounded.sum())
    rounded[np.argsort(rounded - exact, kind="stable")[:left_over]] += 1
    return [int(tenths) for tenths in rounded]
