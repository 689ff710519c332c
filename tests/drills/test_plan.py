"""The plan: never over the minutes, what prepares first, intervals that widen, cautions always."""

from datetime import date, timedelta
from functools import cache
from itertools import pairwise
from math import ceil

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import scoretools
from scoretools.drills.choose import CAUTIONS
from scoretools.drills.plan import CLIMB, INTERVALS, plan, tasks
from scoretools.model import Analysis
from scoretools.model.plan import BlockKind, Done, Plan
from scoretools.player import Player
from tests.conftest import Analyse
from tests.drills.conftest import SAMPLES

MONDAY = date(2027, 1, 4)
DRILL, PIECE, REST, WARM_UP = BlockKind.DRILL, BlockKind.PIECE, BlockKind.REST, BlockKind.WARM_UP


@cache
def analysed(place: int, minutes: int = 20, days: int = 7) -> Analysis:
    player = Player(minutes_per_day=minutes, days=days)
    return scoretools.analyse(scoretools.read_part(SAMPLES[place]), player)


def sessions(found: Plan) -> dict[int, list[date]]:
    """The days of each task, by its number."""
    days: dict[int, list[date]] = {}
    for day in found.days:
        for block in day.blocks:
            if block.kind is DRILL and day.day not in days.setdefault(block.task or 0, []):
                days[block.task or 0].append(day.day)
    return days


players = st.builds(
    Player,
    minutes_per_day=st.integers(1, 120),
    days=st.integers(1, 40),
    days_per_week=st.integers(1, 7),
)
programmes = st.lists(st.integers(0, len(SAMPLES) - 1), min_size=1, max_size=3, unique=True)


@settings(max_examples=60, deadline=None)
@given(players, programmes)
def test_what_holds_of_every_plan(player: Player, pieces: list[int]) -> None:
    programme = [analysed(place) for place in pieces]
    found = plan(programme, player, MONDAY)
    assert found.cautions == CAUTIONS
    missing = {one.task for one in found.not_fitting}
    met = sessions(found)
    assert missing | met.keys() == {task.number for task in found.tasks}
    assert missing.isdisjoint(met)
    first = {number: min(days) for number, days in met.items()}
    for day in found.days:
        assert MONDAY <= day.day < found.lesson
        assert day.minutes <= player.minutes_per_day
        kinds = [block.kind for block in day.blocks]
        assert kinds[0] is WARM_UP or player.minutes_per_day <= 3
        assert kinds.count(WARM_UP) <= 1
        assert kinds[-1] is not REST
        assert all(block.minutes > 0 for block in day.blocks)
    for task in found.tasks:
        if task.number in first:
            for before in task.after:
                assert first[before] <= first[task.number]
        days = met.get(task.number, [])
        gaps = [(b - a).days for a, b in pairwise(days)]
        assert all(gap >= INTERVALS[min(n, len(INTERVALS) - 1)] for n, gap in enumerate(gaps))
    practised = [day.day for day in found.days]
    for start in practised:
        week = [d for d in practised if start <= d < start + timedelta(days=7)]
        assert len(week) <= player.days_per_week


@settings(max_examples=30, deadline=None)
@given(players, programmes)
def test_rests_are_due_after_twenty_five_minutes(player: Player, pieces: list[int]) -> None:
    # Source: NASM–PAMA health guides: about ten minutes in the hour.
    for day in plan([analysed(place) for place in pieces], player, MONDAY).days:
        played = 0
        for block in day.blocks:
            played = 0 if block.kind is REST else played + block.minutes
            assert played < 25 + 6


def test_a_short_plan_worked_by_hand() -> None:
    # One drill of five minutes, ten minutes a day, five days from Monday. Monday takes 7 minutes:
    # 2 of warm-up, 5 of the drill. It comes back after 1, 2 and 4 days, in 3 minutes: on Tuesday
    # (8 minutes) and Thursday; the next time would be Monday, after the lesson. What is left goes
    # to the piece.
    found = plan([analysed(0)], Player(minutes_per_day=10, days=5), MONDAY)
    (task,) = found.tasks
    assert task.minutes == 5
    told = [
        (day.day.day, [(block.kind, block.minutes, block.session) for block in day.blocks])
        for day in found.days
    ]
    assert told == [
        (4, [(WARM_UP, 2, 0), (DRILL, 5, 1)]),
        (5, [(WARM_UP, 2, 0), (DRILL, 3, 2), (PIECE, 1, 0), (PIECE, 2, 0)]),
        (6, [(WARM_UP, 2, 0), (PIECE, 8, 0)]),
        (7, [(WARM_UP, 2, 0), (DRILL, 3, 3), (PIECE, 1, 0), (PIECE, 4, 0)]),
        (8, [(WARM_UP, 2, 0), (PIECE, 8, 0)]),
    ]
    assert found.not_fitting == ()
    assert found.lesson == date(2027, 1, 9)


def test_tempi_climb_the_ladder_session_by_session() -> None:
    found = plan([analysed(1)], Player(days=21), MONDAY)
    for task in found.tasks:
        tempi = [
            block.per_minute
            for day in found.days
            for block in day.blocks
            if block.kind is DRILL and block.task == task.number
        ]
        assert tempi == sorted(tempi)
        assert set(tempi) <= set(task.ladder)
        assert not tempi or tempi[0] == task.ladder[0]
        for block in (b for day in found.days for b in day.blocks if b.task == task.number):
            rungs = task.ladder.index(block.up_to) - task.ladder.index(block.per_minute)
            assert rungs == CLIMB or block.up_to == task.ladder[-1]


def test_long_drills_are_played_in_two_halves_with_others_between() -> None:
    found = plan([analysed(1)], Player(minutes_per_day=30), MONDAY)
    halves = 0
    for day in found.days:
        order = [block.task for block in day.blocks if block.kind is DRILL]
        for number in set(order):
            places = [place for place, one in enumerate(order) if one == number]
            if len(places) == 2:
                halves += 1
                assert places[1] - places[0] > 1
                assert [b.half for b in day.blocks if b.task == number] == [1, 2]
            else:
                assert [b.half for b in day.blocks if b.task == number] == [0]
    assert halves


# ── one answer changed ──────────────────────────────────────────────────────────────────────────


def test_less_time_meets_less() -> None:
    programme = [analysed(1), analysed(5)]
    usual, short = (plan(programme, Player(minutes_per_day=n), MONDAY) for n in (25, 8))
    assert len(sessions(short)) < len(sessions(usual))
    assert {one.task for one in usual.not_fitting} < {one.task for one in short.not_fitting}
    assert all(one.minutes > found.minutes for one in short.not_fitting
               for found in short.tasks if found.number == one.task)  # fmt: skip


def test_more_days_repeat_more_often() -> None:
    week, month = (plan([analysed(2)], Player(days=n), MONDAY) for n in (7, 28))
    assert sum(map(len, sessions(month).values())) > sum(map(len, sessions(week).values()))


def test_days_without_practice_are_left_free() -> None:
    found = plan([analysed(1)], Player(days=28, days_per_week=5), MONDAY)
    assert len({day.day for day in found.days}) <= 20


def test_a_lesson_date_goes_before_the_days() -> None:
    found = plan([analysed(0)], Player(days=3, lesson=date(2027, 1, 15)), MONDAY)
    assert found.lesson == date(2027, 1, 15)
    assert found.days[-1].day > date(2027, 1, 7)


# ── the log ─────────────────────────────────────────────────────────────────────────────────────


@pytest.fixture
def title() -> str:
    return tasks([analysed(0)])[0].title


def clean(title: str, *days: int) -> list[Done]:
    return [Done(date(2027, 1, day), title, True) for day in days]


def drilled(found: Plan) -> list[int]:
    """Tempi at which drills begin, in order."""
    return [b.per_minute for day in found.days for b in day.blocks if b.kind is DRILL]


def test_what_was_clean_twice_at_its_goal_is_settled(title: str) -> None:
    ladder = tasks([analysed(0)])[0].ladder
    to_the_goal = ceil((len(ladder) - 1) / CLIMB)
    early = date(2026, 12, 1)
    log = [Done(early + timedelta(days=n), title, True) for n in range(to_the_goal + 1)]
    found = plan([analysed(0)], Player(), MONDAY, log)
    assert found.settled == (1,)
    assert found.not_fitting == found.on_the_way == ()
    # It comes back once, in the last days, at its goal.
    assert drilled(found) == [ladder[-1]]
    (day,) = (day for day in found.days if any(block.kind is DRILL for block in day.blocks))
    assert timedelta() < found.lesson - day.day <= timedelta(days=3)
    # The piece itself is still practised.
    assert found.days
    assert all(day.blocks[-1].piece == 0 for day in found.days)
    assert plan([analysed(0)], Player(), MONDAY, log[:-1]).settled == ()


def test_twice_clean_below_the_goal_is_not_settled() -> None:
    found = tasks([analysed(1)])
    steep = next(task for task in found if len(task.ladder) > 2 * CLIMB + 1)
    planned = plan([analysed(1)], Player(), MONDAY, clean(steep.title, 1, 2))
    assert planned.settled == ()


def test_what_was_not_clean_comes_back_the_next_day_and_no_faster(title: str) -> None:
    log = [*clean(title, 1), Done(date(2027, 1, 3), title, False)]
    found = plan([analysed(0)], Player(), MONDAY, log)
    assert found.days[0].day == MONDAY
    # The third time; a rung below the one it was tried on.
    (block,) = (b for b in found.days[0].blocks if b.kind is DRILL)
    assert block.session == 3
    assert block.per_minute == found.tasks[0].ladder[CLIMB - 1]


def test_what_is_never_clean_stays_at_its_start(title: str) -> None:
    log = [Done(date(2026, 12, day), title, False) for day in (28, 29, 30)]
    found = plan([analysed(0)], Player(), MONDAY, log)
    assert drilled(found)[0] == found.tasks[0].ladder[0]


def test_how_far_it_comes_is_told() -> None:
    found = plan([analysed(1)], Player(days=2), MONDAY)
    assert found.on_the_way
    for one in found.on_the_way:
        ladder = found.tasks[one.task - 1].ladder
        assert one.per_minute in ladder[:-1]
    later = plan([analysed(1)], Player(days=200, minutes_per_day=60), MONDAY)
    assert len(later.on_the_way) < len(found.tasks)


def test_every_day_has_the_piece_where_minutes_are_left() -> None:
    found = plan([analysed(0), analysed(1)], Player(minutes_per_day=40, days=14), MONDAY)
    played = [b.piece for day in found.days for b in day.blocks if b.piece is not None]
    assert set(played) == {0, 1}
    assert len(played) >= len(found.days) - 3
    # However much waits, no day of eight minutes and more goes by without music of the pieces.
    busy = plan([analysed(n, 300) for n in range(4)], Player(minutes_per_day=20), MONDAY)
    assert busy.not_fitting
    assert all(PIECE in {b.kind for b in day.blocks} for day in busy.days if day.minutes >= 10)


def test_the_same_bars_are_played_once_a_day() -> None:
    for place in range(len(SAMPLES)):
        found = plan([analysed(place)], Player(minutes_per_day=60), MONDAY)
        for day in found.days:
            bars = [(block.piece, block.bars) for block in day.blocks if block.kind is PIECE]
            assert len(bars) == len(set(bars))


def test_what_was_clean_once_waits_its_interval(title: str) -> None:
    log = [Done(date(2027, 1, 2), title, True), Done(date(2027, 1, 3), "another piece", True)]
    found = plan([analysed(0)], Player(), MONDAY, log)
    assert found.settled == ()
    assert found.days[0].day == MONDAY


def test_whoever_practised_lately_does_not_begin_gently_again(title: str) -> None:
    player = Player(minutes_per_day=20)
    for days, kept_short, minutes in ((0, 2, 14), (1, 1, 17), (2, 0, 20), (5, 0, 20)):
        log = [Done(MONDAY - timedelta(days=n + 1), title, True) for n in range(days)]
        found = plan([analysed(5)], player, MONDAY, log)
        assert found.kept_short == kept_short
        assert found.days[0].minutes <= minutes
        assert (found.days[0].minutes > 17) == (kept_short == 0)
    # What was long ago does not count.
    log = [Done(MONDAY - timedelta(days=n), title, True) for n in (20, 30)]
    assert plan([analysed(5)], player, MONDAY, log).kept_short == 2


def test_the_drills_of_one_piece_have_the_numbers_of_their_book() -> None:
    for place in range(len(SAMPLES)):
        piece = analysed(place)
        numbers = {task.title: task.number for task in tasks([piece])}
        assert numbers == {drill.title: drill.index + 1 for drill in piece.drills}


# ── several pieces ──────────────────────────────────────────────────────────────────────────────


def test_drills_of_one_title_are_one_task() -> None:
    one, other = analysed(1), analysed(3)
    shared = {d.title for d in one.drills} & {d.title for d in other.drills}
    assert shared
    found = {task.title: task for task in tasks([one, other])}
    assert len(found) == len({d.title for a in (one, other) for d in a.drills})
    for name in shared:
        assert {piece for piece, _ in found[name].drills} == {0, 1}
        assert found[name].share == pytest.approx(
            sum(d.share for a in (one, other) for d in a.drills if d.title == name)
        )


def test_a_day_that_is_in_the_log_is_not_planned_again(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "A4 B4 C5 D5 E5 D5 C5 B4 " * 4, fifths=0)
    today = date(2027, 3, 1)
    (title, *_) = (drill.title for drill in analysis.drills)
    before = plan([analysis], Player(), today)
    after = plan([analysis], Player(), today, [Done(today, title, True)])
    assert before.days[0].day == today
    assert after.days[0].day == today + timedelta(days=1)
