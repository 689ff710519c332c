import re
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import pytest
from matplotlib.figure import Figure
from matplotlib.patches import PathPatch
from matplotlib.path import Path as Outline

import scoretools
from scoretools.hand import gap_letters
from scoretools.model import Analysis, Measure
from scoretools.write.chart_values import (
    fingerboard_counts,
    position_line,
    rows_of_bars,
    shape_runs,
)
from scoretools.write.charts import as_svg, fingerboard_use, shapes_over_bars

SCORES = sorted((Path(__file__).resolve().parents[2] / "sample_scores").glob("*.musicxml"))
Analyse = Callable[..., Analysis]

# Two bars of rest part the first run from the second; C sharp makes another shape.
WORKED = (
    "B4:1@2 C5:2@2 D5:3@2 E5:4@2 r*4 r*4 B4:1@2 C5:2@2 D5:3@2 r "
    "A4:0@2 C#5:2@2 D5:3@2 E5:0@1"
)  # fmt: skip


@pytest.fixture(scope="module", params=SCORES, ids=lambda path: path.stem)
def sample(request: pytest.FixtureRequest) -> Analysis:
    return scoretools.analyse(scoretools.read_part(request.param))


@pytest.fixture
def worked(small_analysis: Analyse) -> Analysis:
    return small_analysis("violin", WORKED)


def bars(count: int, movement: int = 1, first: int = 0) -> list[Measure]:
    return [
        Measure(first + place, str(place + 1), movement, "", Fraction(4 * (first + place)),
                Fraction(4), (4, 4), False)
        for place in range(count)
    ]  # fmt: skip


def outlines(figure: Figure, kind: str) -> list[list[tuple[float, float]]]:
    """Strokes of the lower chart: ``played`` or ``implied`` lines, ``close`` or ``wide`` boxes."""
    found = []
    for patch in figure.axes[0].patches:
        assert isinstance(patch, PathPatch)
        if kind == kind_of(patch):
            for (x, y), code in zip(*drawn(patch), strict=True):
                if code == Outline.MOVETO:
                    found.append([])
                found[-1].append((round(float(x), 6), round(float(y), 6)))
    return found


def kind_of(patch: PathPatch) -> str:
    if patch.get_hatch():
        return "wide"
    if patch.get_facecolor()[3]:
        return "close"
    return "played" if patch.get_linestyle() == "solid" else "implied"


def drawn(patch: PathPatch) -> tuple[object, object]:
    return patch.get_path().vertices, patch.get_path().codes


# ── runs of one shape ───────────────────────────────────────────────────────────────────────────


def test_runs_of_a_worked_example(worked: Analysis) -> None:
    found = [
        (run.string, gap_letters(run.shape.gaps), run.start, run.end, run.notes)
        for run in shape_runs(worked)
    ]
    assert found == [
        (2, "H-W-W", 0.0, 1.0, 4),
        (2, "H-W-W", 3.0, 3.75, 3),
        (2, "W-H-W", 4.25, 4.75, 2),
    ]


def test_every_stopped_note_belongs_to_one_run(sample: Analysis) -> None:
    stopped = Counter(
        choice.stop.string
        for step in sample.steps
        for choice in step.choices
        if choice.stop.finger and not choice.stop.touched
    )
    in_runs: Counter[int] = Counter()
    for run in shape_runs(sample):
        in_runs[run.string] += run.notes
        assert 0 <= run.start < run.end <= len(sample.part.measures)
    assert in_runs == stopped


def test_runs_on_one_string_follow_each_other(sample: Analysis) -> None:
    for string in range(len(sample.string_names)):
        starts = [run.start for run in shape_runs(sample) if run.string == string]
        assert starts == sorted(starts)


def test_the_position_line_has_the_positions_of_the_passages(sample: Analysis) -> None:
    line = position_line(sample)
    assert [place for _, _, place in line] == [p.position for p in sample.passages if p.shapes]
    assert all(a[1] == b[0] for a, b in pairwise(line))


# ── rows ────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("count", "rows"),
    [
        (1, [(0, 1)]),
        (16, [(0, 16)]),
        (40, [(0, 40)]),
        (41, [(0, 21), (21, 41)]),
        (100, [(0, 34), (34, 68), (68, 100)]),
    ],
)
def test_bars_fall_into_even_rows(count: int, rows: list[tuple[int, int]]) -> None:
    assert list(rows_of_bars(bars(count))) == rows


def test_a_movement_begins_a_new_row() -> None:
    assert rows_of_bars([*bars(3), *bars(2, 2, 3)]) == ((0, 3), (3, 5))


def test_four_hundred_bars_make_ten_rows_and_lose_none() -> None:
    rows = rows_of_bars(bars(400))
    assert len(rows) == 10
    assert [bar for first, after in rows for bar in range(first, after)] == list(range(400))


# ── what is drawn ───────────────────────────────────────────────────────────────────────────────


def test_the_lines_of_a_shape_lie_as_the_fingers_do(small_analysis: Analyse) -> None:
    (figure,) = shapes_over_bars(small_analysis("violin", "B4:1@2 C5:2@2 D5:3@2 E5:4@2"))
    heights = [line[0][1] for line in outlines(figure, "played")]
    # Common practice: 1 and 2 close, then two whole steps.
    assert [round(b - a, 6) for a, b in pairwise(heights)] == [1, 2, 2]
    assert outlines(figure, "close") == [
        [(0, heights[0]), (1, heights[0]), (1, heights[1]), (0, heights[1])]
    ]
    assert not outlines(figure, "wide")
    assert [text.get_text() for text in figure.axes[0].texts] == ["H-W-W"]


def test_an_augmented_second_is_hatched(small_analysis: Analyse) -> None:
    (figure,) = shapes_over_bars(small_analysis("violin", "E4:1 F4:2 G#4:3 A4:4@3"))
    (box,) = outlines(figure, "wide")
    assert max(y for _, y in box) - min(y for _, y in box) == 3
    assert len(outlines(figure, "close")) == 2


def test_a_finger_that_does_not_play_is_dotted(small_analysis: Analyse) -> None:
    (figure,) = shapes_over_bars(small_analysis("violin", "B4:1@2 C5:2@2 B4:1@2 C5:2@2"))
    assert len(outlines(figure, "played")) == 2
    assert len(outlines(figure, "implied")) == 2


def test_every_known_finger_of_every_run_has_its_line(sample: Analysis) -> None:
    rows = rows_of_bars(sample.part.measures)
    figures = shapes_over_bars(sample)
    assert len(figures) == len(rows)
    for figure, (first, after) in zip(figures, rows, strict=True):
        here = [run for run in shape_runs(sample) if run.start < after and run.end > first]
        assert len(outlines(figure, "played")) == sum(len(run.shape.known) for run in here)


def test_bars_are_numbered_as_printed(worked: Analysis) -> None:
    part = worked.part
    renumbered = tuple(
        replace(bar, number=number)
        for bar, number in zip(part.measures, ("0", "101", "102", "X1", "103"), strict=True)
    )
    (figure,) = shapes_over_bars(replace(worked, part=replace(part, measures=renumbered)))
    labels = [label.get_text() for label in figure.axes[0].get_xticklabels()]
    assert labels == ["101", "102", "103"]


# ── fingerboard ─────────────────────────────────────────────────────────────────────────────────


def test_counts_of_a_worked_example(worked: Analysis) -> None:
    assert fingerboard_counts(worked) == {(2, 1): 9, (2, None): 1, (3, None): 1}


def test_every_cell_tells_the_notes_of_its_string_and_position(sample: Analysis) -> None:
    (axes,) = fingerboard_use(sample).axes
    heads = [label.get_text() for label in axes.get_xticklabels()]
    told = {
        (int(text.get_position()[1]), heads[int(text.get_position()[0])]): int(text.get_text())
        for text in axes.texts
    }
    assert sum(told.values()) == sum(len(step.choices) for step in sample.steps)
    for (string, place), count in fingerboard_counts(sample).items():
        head = {None: "open", 0: "half pos.", 1: "1st pos.", 2: "2nd pos.", 3: "3rd pos."}[place]
        assert told[string, head] == count


# ── SVG ─────────────────────────────────────────────────────────────────────────────────────────


def test_a_chart_speaks_to_a_screen_reader_and_escapes_what_it_says(worked: Analysis) -> None:
    svg = as_svg(fingerboard_use(worked), "A <b>title</b>", 'Says "much" & more')
    root = ElementTree.fromstring(svg)
    name = "{http://www.w3.org/2000/svg}"
    title, description = root.find(f"{name}title"), root.find(f"{name}desc")
    assert title is not None
    assert description is not None
    assert title.text == "A <b>title</b>"
    assert description.text == 'Says "much" & more'
    assert root.get("aria-labelledby") == f"{title.get('id')} {description.get('id')}"
    assert root.get("role") == "img"


def test_text_stays_text_and_nothing_is_loaded(worked: Analysis) -> None:
    svg = as_svg(fingerboard_use(worked), "Use", "Use")
    assert ">A string</text>" in svg
    assert re.findall(r"https?://[^\"]*", svg) == ["http://www.w3.org/2000/svg"]
    assert "<style" not in svg
    assert "<image" not in svg


def test_a_chart_uses_the_inks_of_the_page_only(sample: Analysis) -> None:
    for figure in (*shapes_over_bars(sample), fingerboard_use(sample)):
        svg = as_svg(figure, "Chart", "Chart")
        assert not re.findall(r"(?<!, )#[0-9a-f]{6}\b", svg)
        assert set(re.findall(r"var\((--\w+)", svg)) <= {"--ink", "--faint", "--paper"}


def test_the_same_analysis_draws_the_same_chart(sample: Analysis) -> None:
    first, second = (
        [as_svg(figure, "Row", "Row") for figure in shapes_over_bars(sample)] for _ in range(2)
    )
    assert first == second


def test_two_charts_share_no_id(sample: Analysis) -> None:
    charts = [*shapes_over_bars(sample), fingerboard_use(sample)]
    ids = [
        found
        for place, figure in enumerate(charts)
        for found in re.findall(r'\bid="([^"]+)"', as_svg(figure, f"Chart {place}", ""))
    ]
    assert len(ids) == len(set(ids))


def test_every_reference_inside_a_chart_finds_its_target(sample: Analysis) -> None:
    for figure in (*shapes_over_bars(sample), fingerboard_use(sample)):
        svg = as_svg(figure, "Chart", "Chart")
        pointed = set(re.findall(r"url\(#([^)]+)\)", svg)) | set(
            re.findall(r'href="#([^"]+)"', svg)
        )
        assert pointed <= set(re.findall(r'\bid="([^"]+)"', svg))
