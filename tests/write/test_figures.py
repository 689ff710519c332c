"""What is drawn for the drills: all of it, and what fails is named while the rest appears."""

from pathlib import Path
from typing import Any

import pytest

import scoretools
from scoretools.analysis import instrument_of
from scoretools.errors import WriteError
from scoretools.model import Analysis
from scoretools.player import Player
from scoretools.read import musicxml_document
from scoretools.write import figures as module
from scoretools.write.drillbook import drill_book
from scoretools.write.engrave import single_part
from scoretools.write.figures import Figures, figures

SAMPLES = sorted((Path(__file__).parents[2] / "sample_scores").glob("*.musicxml"))


def drawn(path: Path, part_document: bool = True) -> tuple[Analysis, Figures]:
    part = scoretools.read_part(path)
    analysis = scoretools.analyse(part)
    data, _ = musicxml_document(path)
    alone = single_part(data, part.part_id, len(part.measures)) if part_document else None
    played = instrument_of(part, Player())
    return analysis, figures(analysis, played, drill_book(analysis), alone, 170)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_every_drill_has_its_picture_its_music_and_its_bars(path: Path) -> None:
    analysis, found = drawn(path)
    assert found.problems == ()
    assert len(found.drills) == len(analysis.drills)
    for drill, figure in zip(analysis.drills, found.drills, strict=True):
        assert "<svg" in figure.picture
        assert len(figure.exercises) == len(drill.exercises)
        assert all(systems for systems in figure.exercises)
        assert figure.bridge
        bars = range(drill.bridge[0], drill.bridge[1] + 1)
        assert all(f'bar-{bar}"' in "".join(figure.bridge) for bar in bars)


def test_without_the_score_only_the_bars_are_missing() -> None:
    _, found = drawn(SAMPLES[0], part_document=False)
    assert found.problems == ()
    assert all(figure.bridge == () and figure.exercises[0] for figure in found.drills)


def test_one_failure_is_named_and_the_rest_appears(monkeypatch: pytest.MonkeyPatch) -> None:
    engrave = module.engraved
    calls = []

    def failing(*given: Any) -> tuple[str, ...]:
        calls.append(given)
        if len(calls) == 2:
            raise WriteError("the engraver finds no bar in it")
        return engrave(*given)

    monkeypatch.setattr(module, "engraved", failing)
    _, found = drawn(SAMPLES[1])
    assert found.problems == (
        "The music of drill 1 could not be engraved: the engraver finds no bar in it.",
    )
    empty = [systems for figure in found.drills for systems in figure.exercises if not systems]
    assert len(empty) == 1


def test_a_shift_shows_both_of_its_places() -> None:
    analysis, found = drawn(SAMPLES[3])
    place = next(drill.index for drill in analysis.drills if drill.kind == "shift")
    assert "1st position and 3rd position" in found.drills[place].picture
