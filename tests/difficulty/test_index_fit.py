"""The fit of the index, on books made up and on books in print."""

import os
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

import pytest
from scipy.stats import kendalltau

import scoretools
from scoretools.difficulty import Feature, Rubric, features, read_rubric
from scoretools.difficulty.index_fit import STARTING_TERMS, WHOLE, fit_index
from scoretools.difficulty.rubric import index_of
from scoretools.model import Analysis

Analyse = Callable[..., Analysis]
Study = tuple[Feature, ...]


def points(rubric: Rubric) -> dict[str, float]:
    return {term.feature: term.points for term in rubric.terms}


def changed(study: Study, **figures: float) -> Study:
    return tuple(
        replace(feature, value=figures.get(feature.name, feature.value)) for feature in study
    )


@pytest.fixture
def plain(small_analysis: Analyse) -> Study:
    return features(small_analysis("violin", "D4 E4 F#4 G4", fifths=2))


def test_without_a_book_the_starting_points_come_back(plain: Study) -> None:
    whole = sum(term.points for term in STARTING_TERMS)
    for found in (fit_index([]), fit_index([[plain]])):
        assert points(found) == pytest.approx(
            {term.feature: term.points * WHOLE / whole for term in STARTING_TERMS}, abs=0.1
        )


def test_what_grows_through_a_book_gains_and_what_falls_loses(plain: Study) -> None:
    book = [
        changed(plain, slurred_shifts=number / 10, fourth_finger=1 - number / 10)
        for number in range(10)
    ]
    before, found = points(fit_index([])), points(fit_index([book]))
    assert found["slurred_shifts"] > before["slurred_shifts"] + 1
    assert found["fourth_finger"] < before["fourth_finger"] - 1
    assert min(found.values()) >= 0
    assert sum(found.values()) == pytest.approx(WHOLE)


def test_a_book_is_told_in_its_order(plain: Study) -> None:
    book = [changed(plain, augmented_seconds_per_minute=number) for number in range(8)]
    terms = fit_index([book]).terms
    indices = [sum(index_of(terms, study).values()) for study in book]
    assert indices == sorted(indices)


def test_the_length_of_a_study_counts_nothing(plain: Study) -> None:
    book = [changed(plain, bars=number, seconds=number) for number in range(8)]
    assert points(fit_index([book])) == points(fit_index([]))


# ── books in print ──────────────────────────────────────────────────────────────────────────────

BOOKS = ("wohlfahrt_op45", "kayser_op20")


@pytest.fixture(scope="module")
def printed() -> dict[str, list[Study]]:
    folder = os.environ.get("SCORETOOLS_CHECK_DATA")
    if not folder:
        pytest.skip("SCORETOOLS_CHECK_DATA is not set: there are no books in graded order")
    students = Path(folder) / "fingered" / "students"
    return {
        book: [
            features(scoretools.analyse(scoretools.read_part(path)))
            for path in sorted(students.glob(f"{book}_*.musicxml"))
        ]
        for book in BOOKS
    }


def tau(rubric: Rubric, book: Sequence[Study]) -> float:
    indices = [sum(index_of(rubric.terms, study).values()) for study in book]
    return float(kendalltau(range(len(book)), indices).statistic)


def test_a_book_left_out_comes_out_in_its_order(printed: dict[str, list[Study]]) -> None:
    # Source: the printed order of Wohlfahrt op. 45 and Kayser op. 20, published as progressive.
    for book in BOOKS:
        others = [studies for name, studies in printed.items() if name != book]
        assert tau(fit_index(others), printed[book]) > 0.7, book


def test_the_shipped_index_is_this_fit(printed: dict[str, list[Study]]) -> None:
    fitted = points(fit_index(list(printed.values())))
    # The fingering may be refined under the index; it need not be fitted again for a tenth or so.
    assert points(read_rubric("index")) == pytest.approx(fitted, abs=0.5)
