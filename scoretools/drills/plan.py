"""When to practise what, up to the lesson.

Common practice where no source is named: the session begins with a warm-up; short blocks, the
long ones in two halves with something else between (interleaved practice: Carter & Grahn 2016,
Frontiers in Psychology 7:1251); the heaviest first, while one is fresh; what prepares comes on an
earlier day, or earlier that day; a drill comes back after 1, 2, 4, 8 … days until it was clean
twice running at its goal, and once more before the lesson; what was clean begins some rungs higher
the next time, what was not begins lower; the first days are lighter; the piece itself has some
minutes of every day, and those that are left.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import groupby
from math import ceil
from operator import attrgetter

from scoretools.drills.choose import CAUTIONS, WARM_UP_MINUTES
from scoretools.model import Analysis
from scoretools.model.plan import (
    Block,
    BlockKind,
    Done,
    NotFitting,
    OnTheWay,
    Plan,
    PracticeDay,
    Task,
)
from scoretools.player import Player

__all__ = ["CLIMB", "INTERVALS", "PIECE_KEPT", "PIECE_MINUTES", "plan", "tasks"]

INTERVALS = (1, 2, 4, 8, 16)
"""Days until a drill comes back, after its first session, its second …"""

CLEAN_TWICE = 2
"""Clean sessions running at the goal after which a drill is settled."""

KEPT_DAYS = 3
"""Days before the lesson in which a settled drill comes back once."""

CLIMB = 2
"""Rungs that a clean session goes up; the next one begins where it ended."""

PIECE_KEPT = 8
"""One minute in so many is kept for the piece, whatever drills wait."""

PIECE_MINUTES = 15
"""Minutes a day for the piece itself at most."""

FIRST_DAYS = (0.7, 0.85)
"""Share of the minutes that the first days take: the load rises gently."""

LATELY = 7
"""Days within which what the log holds counts: whoever practised need not begin gently again."""

LONG_BLOCK = 3
"""Minutes from which on a drill is played in two halves."""

REVIEWS = 0.6
"""Share of a day that repetitions take at most while something new waits."""

REST_EVERY = 25
"""Minutes of practice after which a rest is due."""

REST_MINUTES = 5
"""Minutes of a rest: about ten in the hour (see `CAUTIONS`)."""


# ── tasks ───────────────────────────────────────────────────────────────────────────────────────


def tasks(pieces: Sequence[Analysis]) -> tuple[Task, ...]:
    """Gather the drills of one piece or several; drills of one title are one task.

    Returns
    -------
    tuple of Task
        Of one piece, in the order of its drills; of several, what prepares goes first, otherwise
        the heaviest of all pieces.
    """
    together: dict[str, list[tuple[int, int]]] = {}
    for piece, analysis in enumerate(pieces):
        for drill in analysis.drills:
            together.setdefault(drill.title, []).append((piece, drill.index))
    drafts = {title: _draft(pieces, title, places) for title, places in together.items()}
    ordered = _in_order(pieces, drafts) if len(pieces) > 1 else list(drafts)
    number = {title: place for place, title in enumerate(ordered, start=1)}
    return tuple(
        replace(
            drafts[title],
            number=number[title],
            after=tuple(sorted(number[name] for name in _prepared_by(pieces, drafts[title]))),
        )
        for title in ordered
    )


def _draft(pieces: Sequence[Analysis], title: str, places: Sequence[tuple[int, int]]) -> Task:
    drills = [pieces[piece].drills[index] for piece, index in places]
    longest = max(drills, key=lambda drill: drill.minutes)
    return Task(
        number=0,
        title=title,
        drills=tuple(places),
        minutes=longest.minutes,
        share=sum(drill.share for drill in drills),
        after=(),
        ladder=max((drill.ladder for drill in drills), key=lambda ladder: ladder[-1]),
        bridges=tuple((piece, pieces[piece].drills[index].bridge) for piece, index in places),
    )


def _prepared_by(pieces: Sequence[Analysis], task: Task) -> list[str]:
    return [
        pieces[piece].drills[before].title
        for piece, index in task.drills
        for before in pieces[piece].drills[index].after
    ]


def _in_order(pieces: Sequence[Analysis], drafts: Mapping[str, Task]) -> list[str]:
    order: list[str] = []

    def place(title: str) -> None:
        if title not in order:
            for before in _prepared_by(pieces, drafts[title]):
                place(before)
            order.append(title)

    for title in sorted(drafts, key=lambda title: (-drafts[title].share, title)):
        place(title)
    return order


# ── days ────────────────────────────────────────────────────────────────────────────────────────


@dataclass(slots=True)
class _State:
    """How far a task has come."""

    task: Task
    sessions: int = 0
    """Sessions that count for the interval: since it was last not clean."""
    practised: int = 0
    """Sessions in all."""
    rung: int = 0
    """Rung of its ladder on which the next session begins."""
    due: date = date.min
    at_goal: int = 0
    """Clean sessions running that came to the goal, by the log."""

    @property
    def settled(self) -> bool:
        return self.at_goal >= CLEAN_TWICE

    def climb(self) -> None:
        """Go on from where a clean session ended."""
        self.rung = min(self.rung + CLIMB, len(self.task.ladder) - 1)

    @property
    def minutes(self) -> int:
        """Minutes of the next session: a repetition takes half."""
        return self.task.minutes if self.sessions == 0 else max(1, ceil(self.task.minutes / 2))


def plan(pieces: Sequence[Analysis], player: Player, today: date, log: Sequence[Done] = ()) -> Plan:
    """Plan the practice of one piece or a programme.

    Parameters
    ----------
    pieces
        Analyses for this player; their drills are planned.
    today
        First day of the plan; the next one where this day's practice is in the log already.
    log
        What was practised so far.

    Returns
    -------
    Plan
        Never more than the player's minutes a day; every task is practised before the lesson, is
        settled already, or is listed as not fitting.
    """
    found = tasks(pieces)
    lesson = player.lesson or today + timedelta(days=player.days)
    states = [_from_log(task, log, lesson) for task in found]
    first = today + timedelta(days=any(done.day == today for done in log))
    gentle = FIRST_DAYS[_practised_lately(log, first) :]
    days = tuple(
        _day(day, states, _minutes(player, place, gentle), place % len(pieces))
        for place, day in enumerate(_practice_days(first, lesson, player.days_per_week))
    )
    begun = [s for s in states if s.sessions and not s.settled]
    missing = [s.task for s in states if s.sessions == 0]
    return Plan(
        tasks=found,
        days=tuple(day for day in days if day.blocks),
        lesson=lesson,
        not_fitting=tuple(
            NotFitting(task.number, task.minutes + max(1, ceil(task.minutes / 2)))
            for task in sorted(missing, key=lambda task: (-task.share, task.number))
        ),
        on_the_way=tuple(
            OnTheWay(s.task.number, s.task.ladder[s.rung])
            for s in begun
            if s.rung < len(s.task.ladder) - 1
        ),
        settled=tuple(state.task.number for state in states if state.settled),
        kept_short=min(len(gentle), len(days)),
        cautions=CAUTIONS,
    )


def _practice_days(first: date, lesson: date, days_per_week: int) -> Iterator[date]:
    """Days before the lesson, as many of every seven as are practised, evenly spread."""
    for place in range((lesson - first).days):
        if ceil((place + 1) * days_per_week / 7) > ceil(place * days_per_week / 7):
            yield first + timedelta(days=place)


def _practised_lately(log: Sequence[Done], first: date) -> int:
    """Count the days before this one on which something was practised lately."""
    since = first - timedelta(days=LATELY)
    return len({done.day for done in log if since <= done.day < first})


def _from_log(task: Task, log: Sequence[Done], lesson: date) -> _State:
    state, kept = _State(task), timedelta(days=KEPT_DAYS)
    for done in sorted(log, key=lambda done: done.day):
        if done.title == task.title:
            _take_in(state, done)
            next_time = done.day + _interval(state.sessions)
            state.due = max(done.day + kept, lesson - kept) if state.settled else next_time
    return state


def _take_in(state: _State, done: Done) -> None:
    """Go up from a clean session, and a rung down from one that was not."""
    state.practised += 1
    if not done.clean:
        state.sessions, state.at_goal, state.rung = 1, 0, max(state.rung - 1, 0)
        return
    state.sessions += 1
    state.climb()
    at_goal = state.rung == len(state.task.ladder) - 1
    state.at_goal = state.at_goal + 1 if at_goal else 0


def _interval(sessions: int) -> timedelta:
    return timedelta(days=INTERVALS[min(sessions, len(INTERVALS)) - 1])


def _day(day: date, states: Sequence[_State], minutes: int, piece: int) -> PracticeDay:
    """Choose what is practised on a day, and set it in order."""
    warm_up = min(WARM_UP_MINUTES, max(minutes - 1, 0))
    chosen = _chosen(day, states, minutes - warm_up - minutes // PIECE_KEPT)
    left = minutes - warm_up - sum(state.minutes for state in chosen)
    drills = [_block(state) for state in chosen]
    for state in chosen:
        state.sessions += 1
        state.practised += 1
        state.climb()
        state.due = day + _interval(state.sessions)
    bars = _bars(chosen, left)
    blocks = [*_interleaved(drills), *bars, *_piece(piece, left - len(bars))]
    opening = [Block(BlockKind.WARM_UP, warm_up)] if warm_up else []
    return PracticeDay(day, tuple(_with_rests([*opening, *blocks])))


def _minutes(player: Player, place: int, gentle: Sequence[float]) -> int:
    share = gentle[place] if place < len(gentle) else 1.0
    return max(1, int(player.minutes_per_day * share))


def _chosen(day: date, states: Sequence[_State], minutes: int) -> list[_State]:
    """Repetitions that are due, then what is new, then more repetitions, as far as they go."""
    due = sorted(
        (s for s in states if s.sessions and s.due <= day),
        key=lambda s: (s.settled, s.due, -s.task.share, s.task.number),
    )
    new = [s for s in states if s.sessions == 0]
    for_reviews = minutes if not new else int(minutes * REVIEWS)
    chosen = _filled([], due, for_reviews)
    begun = {s.task.number for s in states if s.sessions}
    for state in new:
        ready = set(state.task.after) <= begun
        if ready and _sum(chosen) + state.minutes <= minutes:
            chosen.append(state)
            begun.add(state.task.number)
    chosen = _filled(chosen, [s for s in due if s not in chosen], minutes)
    return sorted(chosen, key=lambda s: _rank(s, chosen))


def _filled(chosen: list[_State], more: Sequence[_State], minutes: int) -> list[_State]:
    for state in more:
        if _sum(chosen) + state.minutes <= minutes:
            chosen = [*chosen, state]
    return chosen


def _sum(chosen: Sequence[_State]) -> int:
    return sum(state.minutes for state in chosen)


def _rank(state: _State, chosen: Sequence[_State]) -> tuple[int, float, int]:
    """What prepares another task of the day goes before it; otherwise the heaviest first."""
    depth = sum(other.task.number in state.task.after for other in chosen)
    return depth, -state.task.share, state.task.number


def _block(state: _State) -> Block:
    ladder, top = state.task.ladder, min(state.rung + CLIMB, len(state.task.ladder) - 1)
    return Block(
        BlockKind.DRILL,
        state.minutes,
        state.task.number,
        session=state.practised + 1,
        per_minute=ladder[state.rung],
        up_to=ladder[top],
    )


def _interleaved(drills: Sequence[Block]) -> list[Block]:
    """Play long drills in two halves, the second after all the others."""
    first, second = [], []
    for block in drills:
        half = block.minutes // 2
        if block.minutes >= LONG_BLOCK and len(drills) > 1:
            first.append(replace(block, minutes=block.minutes - half, half=1))
            second.append(replace(block, minutes=half, half=2))
        else:
            first.append(block)
    return list(_joined([*first, *second]))


def _joined(blocks: Sequence[Block]) -> Iterator[Block]:
    """Make one of two halves that would follow each other."""
    for _, halves in groupby(blocks, key=attrgetter("task")):
        block, *others = halves
        total = block.minutes + sum(other.minutes for other in others)
        yield replace(block, minutes=total, half=0) if others else block


def _bars(chosen: Sequence[_State], minutes: int) -> list[Block]:
    """Play the bars of the piece that the drills of the day serve, a minute each."""
    once = dict.fromkeys(bridge for state in chosen for bridge in state.task.bridges)
    return [
        Block(BlockKind.PIECE, 1, piece=piece, bars=bars) for piece, bars in list(once)[:minutes]
    ]


def _piece(piece: int, minutes: int) -> list[Block]:
    """Play the piece itself in the minutes that are left."""
    if minutes < 1:
        return []
    return [Block(BlockKind.PIECE, min(minutes, PIECE_MINUTES), piece=piece)]


def _with_rests(blocks: Sequence[Block]) -> Iterator[Block]:
    """Put rests between blocks, none after the last."""
    played = 0
    for block in blocks:
        if played and (played >= REST_EVERY or played + block.minutes > REST_EVERY + REST_MINUTES):
            yield Block(BlockKind.REST, REST_MINUTES)
            played = 0
        yield block
        played += block.minutes
