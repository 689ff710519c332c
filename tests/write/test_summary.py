"""The sentences, on an analysis made by hand."""

from dataclasses import replace
from pathlib import Path

import pytest

import scoretools
from scoretools.model import Analysis, BarLoad, Certainty
from scoretools.write.summary import (
    bar_ranges,
    ceiling_sentence,
    coverage_lines,
    drill_lines,
    hardest_bars,
    heading,
    notice_lines,
    percent,
    share_by_certainty,
    what_it_asks,
)


def test_the_heading_names_piece_composer_and_part(analysis: Analysis) -> None:
    assert heading(analysis) == "Study, A. Player — Violin, 4 bars"


def test_the_heading_falls_back_on_file_and_instrument(analysis: Analysis) -> None:
    bare = replace(analysis, part=replace(analysis.part, title="", composer="", name=""))
    assert heading(bare) == "study.musicxml (no title) — Violin, 4 bars"


# ── what it asks ────────────────────────────────────────────────────────────────────────────────


def test_it_says_where_the_hand_is(analysis: Analysis) -> None:
    # Events with a finger down: B4, C#5 and B3+G4 in first, D6 in third, Bb4 in half position.
    assert what_it_asks(analysis)[0] == (
        "The hand is in 1st position for 60 % of the stopped notes and goes to half and 3rd "
        "positions, with one shift."
    )


def test_it_says_so_when_the_hand_stays(analysis: Analysis) -> None:
    stays = replace(analysis, steps=analysis.steps[:4])
    assert what_it_asks(stays)[0] == "The hand stays in 1st position throughout."


def test_it_says_so_when_all_strings_are_open(analysis: Analysis) -> None:
    rests = replace(analysis, steps=analysis.steps[:1])
    assert what_it_asks(rests)[0] == "Open strings only: the left hand rests."


def test_it_says_so_when_nothing_can_be_fingered(analysis: Analysis) -> None:
    nothing = replace(analysis, steps=analysis.steps[5:6])
    assert what_it_asks(nothing) == ("Nothing in this part can be fingered.",)


def test_it_names_the_shapes_and_what_happens_on_the_way(analysis: Analysis) -> None:
    sentences = what_it_asks(analysis)
    assert "W-H-W (2 and 3 close, whole steps outside) on the A string" in sentences[1]
    assert sentences[2] == "On the way: 1 double stop."


def test_shares_of_certainty_count_notes(analysis: Analysis) -> None:
    # A4, B4, B3 and D6 are sure, C#5 likely, G4 and Bb4 open: seven notes with a finger.
    shares = share_by_certainty(analysis)
    assert shares == pytest.approx(
        {Certainty.SURE: 4 / 7, Certainty.LIKELY: 1 / 7, Certainty.OPEN: 2 / 7}
    )
    assert "57 % is sure, 14 % is likely and 29 % is open" in what_it_asks(analysis)[-1]


def test_shares_of_nothing_are_nothing(analysis: Analysis) -> None:
    assert set(share_by_certainty(replace(analysis, steps=())).values()) == {0.0}


@pytest.mark.parametrize(
    ("reason", "words"),
    [
        ("notes", "3rd position, from the highest notes"),
        ("player", "3rd position, as high as the player goes"),
        ("profile", "3rd position, as for a developing player"),
    ],
)
def test_the_ceiling_has_its_reason(analysis: Analysis, reason: str, words: str) -> None:
    assert words in ceiling_sentence(replace(analysis, ceiling_from=reason))


# ── bars ────────────────────────────────────────────────────────────────────────────────────────


def test_the_hardest_bars_come_first_and_light_ones_not_at_all(analysis: Analysis) -> None:
    assert [(bar.measure, sentence) for bar, sentence in hardest_bars(analysis)] == [
        (1, "1st movement bar 2: shift 1st to 3rd position, finger 2 to 4"),
        (0, "1st movement bar 1: W-H-W on A; double stop: sixth"),
        (3, "2nd movement bar 1: half position"),
    ]


def test_as_many_hardest_bars_as_wanted_with_three_reasons_at_most(analysis: Analysis) -> None:
    loads = (BarLoad(0, 9.0, ("one", "two", "three", "four")), *analysis.loads[1:])
    ((bar, sentence),) = hardest_bars(replace(analysis, loads=loads), count=1)
    assert (bar.measure, sentence) == (0, "1st movement bar 1: one; two; three")


def in_one_movement(analysis: Analysis) -> Analysis:
    measures = tuple(replace(measure, movement=1) for measure in analysis.part.measures)
    return replace(analysis, part=replace(analysis.part, measures=measures))


@pytest.mark.parametrize(
    ("measures", "words"),
    [
        ((0,), "bar 1"),
        ((0, 1), "bars 1–2"),
        ((2, 0, 1, 0), "bars 1–2a"),
        ((0, 2), "bars 1, 2a"),
        ((), "no bar"),
    ],
)
def test_bars_in_a_row_are_drawn_together(
    analysis: Analysis, measures: tuple[int, ...], words: str
) -> None:
    assert bar_ranges(in_one_movement(analysis), measures) == words


def test_movements_are_named_where_there_are_several(analysis: Analysis) -> None:
    assert bar_ranges(analysis, (0, 1, 3)) == "1st movement bars 1–2; 2nd movement bar 1"


# ── drills and notices ──────────────────────────────────────────────────────────────────────────


def test_a_drill_says_why_and_how(analysis: Analysis) -> None:
    lines = drill_lines(in_one_movement(analysis), analysis.drills[0])
    assert lines[0].startswith("W-H-W on the A string, 1st position")
    assert lines[1:4] == (
        "For bar 1; 23 % of the part's load; 4 minutes.",
        "On A, then D and E: up; up again.",
        "From 60 to 120 notes a minute (the goal rests on an assumed tempo).",
    )
    assert "Check: D5 with open D4 (octave)." in lines
    assert "=keep the thumb light" in lines


def test_a_drill_whose_fingering_is_open_says_so(analysis: Analysis) -> None:
    sure, open_ = (drill_lines(analysis, drill) for drill in analysis.drills)
    assert not any("open: settle" in line for line in sure)
    assert any("open: settle it with your teacher" in line for line in open_)
    assert not any("assumed" in line for line in open_)


def test_what_the_drills_serve_and_leave_out_is_said(analysis: Analysis) -> None:
    assert coverage_lines(in_one_movement(analysis)) == (
        "These drills serve 46 % of the part's load on this hand.",
        "Left out: Shifts between 1st and 3rd position, finger 2 to 4 (bar 2; 54 %): "
        "no time: it would take 3 minutes, 2 times.",
    )
    assert coverage_lines(replace(analysis, drills=(), left_out=())) == ()


@pytest.mark.parametrize(
    ("share", "words"),
    [(0, "0 %"), (0.001, "under 1 %"), (0.5, "50 %"), (0.997, "over 99 %"), (1.0, "100 %")],
)
def test_shares_are_never_rounded_to_nothing_or_all(share: float, words: str) -> None:
    assert percent(share) == words


def test_notices_name_their_bar_as_printed(analysis: Analysis) -> None:
    assert notice_lines(in_one_movement(analysis)) == (
        "The score prints no tempo.",
        "bar 2a: C2 goes below the open G; left unfingered",
    )


def test_no_sentence_holds_a_line_end(analysis: Analysis) -> None:
    said = (
        heading(analysis),
        *what_it_asks(analysis),
        ceiling_sentence(analysis),
        *(sentence for _, sentence in hardest_bars(analysis)),
        *(line for drill in analysis.drills for line in drill_lines(analysis, drill)),
        *notice_lines(analysis),
    )
    assert all(sentence and "\n" not in sentence for sentence in said)


def test_a_small_drill_before_a_heavy_one_says_why() -> None:
    # The order itself is tested with the drills: what prepares comes first.
    path = Path(__file__).parents[2] / "sample_scores" / "04_upland_dance.musicxml"
    analysis = scoretools.analyse(scoretools.read_part(path))
    told = 0
    for drill in analysis.drills:
        text = " ".join(drill_lines(analysis, drill))
        heavier = [d for d in analysis.drills if drill.index in d.after and d.share > drill.share]
        assert ("It comes first to prepare" in text) is bool(heavier)
        told += bool(heavier)
        if len(heavier) == 1:
            assert f"prepare drill {heavier[0].index + 1}." in text
    assert told
