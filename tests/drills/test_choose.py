"""Which drills are chosen, in what order, and what is left out."""

from functools import cache
from pathlib import Path

import pytest
from music21 import corpus

import scoretools
from scoretools.demands import pace
from scoretools.drills.choose import (
    CAUTIONS,
    FASTEST_OF,
    FASTEST_PER_MINUTE,
    SESSIONS,
    WARM_UP_MINUTES,
)
from scoretools.drills.groups import OF_ONE_HAND, rank
from scoretools.model import Analysis, DemandKind, Part
from scoretools.player import Player
from tests.conftest import Analyse
from tests.drills.conftest import PATIENT, SAMPLES

CORPUS = (
    "haydn/opus1no1/movement1",
    "haydn/opus74no1/movement3",
    "mozart/k80/movement1",
    "mozart/k155/movement2",
    "mozart/k156/movement1",
)
"""First violin parts of the music21 corpus."""


def room(player: Player) -> int:
    return max(player.minutes_per_day - WARM_UP_MINUTES, 1) * player.days // SESSIONS


@cache
def read(path: Path) -> Part:
    return scoretools.read_part(path)


def covered(analysis: Analysis) -> float:
    return sum(drill.share for drill in analysis.drills)


# Source: the music21 corpus beside the sample scores.
@pytest.mark.parametrize(
    "path", [*SAMPLES, *map(corpus.getWork, CORPUS)], ids=lambda p: str(p)[-34:]
)
def test_a_week_of_a_quarter_of_an_hour_covers_nine_tenths(path: Path) -> None:
    player = Player(minutes_per_day=15, days=7)
    whole = scoretools.analyse(read(path), player)
    assert covered(whole) >= 0.9
    half = scoretools.analyse(read(path), Player(minutes_per_day=8, days=7))
    assert covered(half) <= covered(whole)
    if sum(drill.minutes for drill in whole.drills) > room(Player(minutes_per_day=8)):
        assert covered(half) < covered(whole)
        assert any(left.why.startswith("no time") for left in half.left_out)
        gone = {i for left in half.left_out for i in left.demands}
        assert gone > {i for left in whole.left_out for i in left.demands}


def test_every_demand_is_drilled_or_left_out_once(sample: Analysis) -> None:
    for player in (Player(minutes_per_day=5), Player(), PATIENT):
        analysis = scoretools.analyse(sample.part, player)
        places = [i for drill in analysis.drills for i in drill.demands]
        places += [i for left in analysis.left_out for i in left.demands]
        assert sorted(places) == list(range(len(analysis.demands)))
        shares = covered(analysis) + sum(left.share for left in analysis.left_out)
        assert shares == pytest.approx(1)
        assert all(left.why and left.title and left.measures for left in analysis.left_out)


def test_known_shapes_are_neither_drilled_nor_missed(sample: Analysis) -> None:
    player = Player(known_shapes=("W-H-W", "H-W-W", "W-W-H"), minutes_per_day=300)
    analysis = scoretools.analyse(sample.part, player)
    for index in (i for one in (*analysis.drills, *analysis.left_out) for i in one.demands):
        demand = analysis.demands[index]
        assert demand.kind != "shape" or demand.gaps not in player.known_shapes


def test_drills_keep_to_the_minutes() -> None:
    for path in SAMPLES:
        for minutes in (1, 5, 10, 20, 45, 300):
            for days in (1, 7, 30):
                player = Player(minutes_per_day=minutes, days=days)
                drills = scoretools.analyse(read(path), player).drills
                total = sum(drill.minutes for drill in drills)
                assert total <= room(player) or len(drills) == 1


def test_drills_begin_slowly_and_count_their_share(sample: Analysis) -> None:
    whole = sum(demand.weight for demand in sample.demands)
    for index, drill in enumerate(sample.drills):
        assert drill.index == index
        assert 0 < drill.start_per_minute <= drill.goal_per_minute
        assert drill.ladder[0] == drill.start_per_minute
        assert drill.ladder[-1] == drill.goal_per_minute
        assert list(drill.ladder) == sorted(set(drill.ladder))
        steps = zip(drill.ladder, drill.ladder[1:], strict=False)
        assert all(after <= before * 1.4 for before, after in steps)
        served = sum(sample.demands[one].weight for one in drill.demands)
        assert drill.share == pytest.approx(served / whole, abs=1e-6)
        bars = {bar for one in drill.demands for bar in sample.demands[one].measures}
        assert set(drill.measures) == bars
        moments = [event for one in drill.demands for event in sample.demands[one].moments]
        paces = [pace(sample.part.events, event) * 60 for event in moments]
        faster = sum(one > drill.goal_per_minute + 3 for one in paces)
        bound = FASTEST_OF.get(drill.kind, FASTEST_PER_MINUTE)
        assert 10 * faster <= len(paces) or drill.goal_per_minute == bound
        assert drill.goal_per_minute <= max(40, *paces) + 3


def test_the_bridge_is_bars_of_the_piece_that_ask_for_it(sample: Analysis) -> None:
    for drill in sample.drills:
        first, last = drill.bridge
        assert 0 <= first <= last < len(sample.part.measures)
        assert last - first <= 3
        assert set(range(first, last + 1)) & set(drill.measures)


def test_the_bridge_of_a_shift_has_departure_and_arrival(small_analysis: Analyse) -> None:
    # Counted by hand: the only way up to third position goes over the second barline.
    words = (
        "A4:0 B4 C#5 D5 E5:0 D5 C#5 B4 D5:1@2 E5:2@2 F#5:3@2 G5:4@2 F#5:3@2 E5:2@2 D5:1@2 D5:1@2"
    )
    analysis = small_analysis("violin", words, player=PATIENT, fifths=2)
    (drill,) = (drill for drill in analysis.drills if drill.kind is DemandKind.SHIFT)
    assert drill.bridge == (1, 2)


def test_what_prepares_comes_before_what_it_prepares() -> None:
    pairs = 0
    for path in SAMPLES:
        drills = scoretools.analyse(read(path), PATIENT).drills
        for drill in drills:
            easier = {
                other.index
                for other in drills
                if drill.kind in OF_ONE_HAND
                and other.kind in OF_ONE_HAND
                and other.position == drill.position
                and rank(other.gaps) < rank(drill.gaps)
            }
            assert all(other < drill.index for other in easier | set(drill.after))
            assert easier <= set(drill.after)
            pairs += len(easier)
    assert pairs


def test_what_cannot_be_written_is_said(small_analysis: Analyse) -> None:
    # A shift between strings from an open neighbour has its two notes and nothing else to practise;
    # every demand here must come back as a drill or as a sentence.
    analysis = small_analysis(
        "violin", "G3:0 B4:1@4 G3:0 D5:3@4 C5:2@4 B4:1@4 A4:4 r", player=PATIENT
    )
    places = [i for one in (*analysis.drills, *analysis.left_out) for i in one.demands]
    assert sorted(places) == list(range(len(analysis.demands)))


def test_the_cautions_are_the_usual_ones() -> None:
    # Source: NASM–PAMA health guides.
    said = " ".join(CAUTIONS).lower()
    for word in ("warm up", "10 minutes", "gradually", "pain", "teacher", "health professional"):
        assert word in said
