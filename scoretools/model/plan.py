"""When to practise what: a plan of days and blocks, and what was done so far."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

__all__ = [
    "Block", "BlockKind", "Done", "NotFitting", "OnTheWay", "Plan", "PracticeDay", "Task",
]  # fmt: skip


class BlockKind(StrEnum):
    """What a stretch of a session is for."""

    WARM_UP = "warm-up"
    DRILL = "drill"
    PIECE = "piece"
    """The bars of the piece that a drill of the day serves, or the piece itself."""
    REST = "rest"


@dataclass(frozen=True, slots=True)
class Task:
    """One drill of one piece or of several."""

    number: int
    """Running number, from 1, in order of practice."""
    title: str
    """What is practised; names the task in the log."""
    drills: tuple[tuple[int, int], ...]
    """Where it comes from: indices of piece and drill."""
    minutes: int
    """Minutes of its first session."""
    share: float
    """Share of its pieces' demands, summed over the pieces."""
    after: tuple[int, ...]
    """Numbers of the tasks that prepare it."""
    ladder: tuple[int, ...]
    """Notes a minute, rung by rung."""
    bridges: tuple[tuple[int, tuple[int, int]], ...]
    """Bars of the pieces that follow it: index of the piece, first and last bar."""


@dataclass(frozen=True, slots=True)
class Block:
    """One stretch of a session."""

    kind: BlockKind
    """What it is for."""
    minutes: int
    """How long; a rest is not counted among the player's minutes."""
    task: int | None = None
    """Number of the task, for a drill."""
    session: int = 0
    """For a drill: which time it is practised, from 1."""
    per_minute: int = 0
    """For a drill: notes a minute to begin with that day."""
    up_to: int = 0
    """For a drill: notes a minute to end with, if all of it is clean."""
    half: int = 0
    """For a drill: 1 or 2 where it is played in two halves, else 0."""
    piece: int | None = None
    """Index of the piece, where it is the piece that is played."""
    bars: tuple[int, int] | None = None
    """For the piece: first and last bar that end a drill of the day; none: the piece itself."""


@dataclass(frozen=True, slots=True)
class PracticeDay:
    """What is done on one day."""

    day: date
    """The date."""
    blocks: tuple[Block, ...]
    """In order; the warm-up first."""

    @property
    def minutes(self) -> int:
        """Minutes of practice, rests left out."""
        return sum(block.minutes for block in self.blocks if block.kind is not BlockKind.REST)


@dataclass(frozen=True, slots=True)
class NotFitting:
    """A task for which there is no time before the date."""

    task: int
    """Its number."""
    minutes: int
    """Minutes it would need: a first session and one repetition."""


@dataclass(frozen=True, slots=True)
class OnTheWay:
    """A task that will not have reached its goal before the date."""

    task: int
    """Its number."""
    per_minute: int
    """Notes a minute it comes to, if every session is clean."""


@dataclass(frozen=True, slots=True)
class Done:
    """One line of the log: what was practised, and whether it was clean."""

    day: date
    """When."""
    title: str
    """The task's title."""
    clean: bool
    """Whether it was clean."""


@dataclass(frozen=True, slots=True)
class Plan:
    """A plan up to the lesson."""

    tasks: tuple[Task, ...]
    """All tasks, by number."""
    days: tuple[PracticeDay, ...]
    """Days with practice, in order."""
    lesson: date
    """The day it is for."""
    not_fitting: tuple[NotFitting, ...]
    """What there is no time for, heaviest first."""
    on_the_way: tuple[OnTheWay, ...]
    """What is practised and does not come to its goal in time, by number."""
    settled: tuple[int, ...]
    """Numbers of the tasks that the log says are clean for good."""
    kept_short: int
    """How many of the first days take fewer minutes, so that the load rises gently."""
    cautions: tuple[str, ...]
    """Shown with every plan."""
