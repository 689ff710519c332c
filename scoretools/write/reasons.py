"""What a fingering pays, and what one plan gains by another, in a teacher's words.

Cost terms are told by theme: all that makes shifts dear is *shifts*, and so on. Points stand
beside the words, not in their stead.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from scoretools.fingering.plans import Plan
from scoretools.instrument import ordinal, position_label
from scoretools.model import Analysis, Placement, PositionNumber
from scoretools.note_names import said
from scoretools.write.summary import bar_ranges, listed

__all__ = [
    "SHIFTS",
    "THEMES",
    "Reasons",
    "Shift",
    "Theme",
    "bars_touched",
    "how_much_more",
    "payments",
    "reasons",
    "shifts",
]

Costs = Sequence[Sequence[tuple[str, float]]]
"""For each event its cost points by term."""


@dataclass(frozen=True, slots=True)
class Theme:
    """Cost terms that a teacher would call by one name."""

    one: str
    """One of it, with its article."""
    many: str
    """Several of it; its name in lists."""
    terms: tuple[str, ...]
    """Names of the terms."""
    on_string: bool = False
    """Whether the string is worth telling."""
    told: bool = True
    """Whether it is told in a sentence; else its points tell it."""
    graded: bool = False
    """Whether one can be harder than another."""


SHIFTS = Theme(
    "a shift", "shifts",
    ("shift", "shift distance", "far shift", "shift under a slur", "hasty shift",
     "shift on a sounding finger", "shift to another finger", "shift up to a higher finger",
     "shift up from a higher finger", "shift down to a lower finger",
     "shift up while the line falls", "shift against restez"),
    told=False,
)  # fmt: skip

THEMES: tuple[Theme, ...] = (
    SHIFTS,
    Theme("a higher position", "higher positions",
          ("above first position", "above sixth position", "beyond the ceiling"), told=False),
    Theme("a note sustained low on the string", "notes sustained low on the string",
          ("long note in first position",), told=False),
    Theme("a note in half position", "notes in half position",
          ("half position", "into half position")),
    Theme("a note in an even position", "notes in an even position",
          ("even position", "second position")),
    Theme("a note high on a low string", "notes high on a low string",
          ("high on a low string",)),
    Theme("a string crossing", "string crossings",
          ("string crossing", "string crossing under a slur", "hasty string crossing",
           "string crossing between stops", "crossing from the fourth finger"), graded=True),
    Theme("an open string", "open strings",
          ("open string", "open string rings on", "open top string rings on")),
    Theme("a fourth finger", "fourth fingers", ("fourth finger", "fourth finger held")),
    Theme("an extension", "extensions",
          ("extension", "stretch", "fourth finger for the next string"),
          on_string=True, graded=True),
    Theme("a reach back", "reaches back", ("reach back",), on_string=True),
    Theme("a high second finger", "high second fingers", ("high second finger",)),
    Theme("a high third finger", "high third fingers", ("high third finger",)),
    Theme("a crowded finger", "crowded fingers", ("contraction", "low fourth finger"),
          on_string=True),
    Theme("a strained hand shape", "strained hand shapes", ("shape strained",),
          on_string=True, graded=True),
    Theme("a spacing not known yet", "spacings not known yet", ("spacing not known yet",),
          on_string=True),
    Theme("a finger out of its order", "fingers out of their order", ("fingers out of order",)),
    Theme("a finger hopping to another string", "fingers hopping to another string",
          ("finger hops", "hasty hop")),
    Theme("a finger laid across two strings", "fingers laid across two strings",
          ("finger rolls across a fifth", "fifth under one finger")),
    Theme("a finger sliding to its next note", "fingers sliding to their next note",
          ("finger slides", "hasty slide")),
    Theme("a slide drawn by another finger", "slides drawn by another finger",
          ("slide by another finger",)),
    Theme("a note with the hand set high or low in its position",
          "notes with the hand set high or low in its position", ("hand off its place",)),
    Theme("a small move of the hand within its position",
          "small moves of the hand within a position", ("hand moves a little",)),
    Theme("a change of position in name only", "changes of position in name only",
          ("position renamed",)),
    Theme("a note under another finger than usual", "notes under another finger than usual",
          ("letter against finger",)),
    Theme("a repeated note that changes its finger", "repeated notes that change their finger",
          ("repeated note changes", "change among repetitions")),
    Theme("a lower string that sounds above a higher one",
          "lower strings that sound above higher ones", ("lower string above",)),
    Theme("a harmonic off the middle of the string", "harmonics off the middle of the string",
          ("harmonic off the middle",)),
    Theme("a broken chord", "broken chords", ("broken chord",)),
    Theme("a held note let go", "held notes let go", ("held note let go",)),
    Theme("a figure fingered differently elsewhere", "figures fingered differently elsewhere",
          ("figure as printed elsewhere", "sequence as printed elsewhere",
           "open string as printed elsewhere", "figure as before")),
)  # fmt: skip
"""All that a fingering can pay for, by the terms of `scoretools.fingering`."""

_TOLD = 3
"""Gains, and costs, told in a sentence; the points tell the rest."""

_SLIGHT = 0.15
"""Points below which a difference is not worth a word."""


# ── what is paid ────────────────────────────────────────────────────────────────────────────────


def payments(costs: Costs) -> tuple[tuple[str, float], ...]:
    """Sum cost points by theme, dearest first.

    Parameters
    ----------
    costs
        Cost points by term, of some events.

    Returns
    -------
    tuple of (str, float)
        Names of themes, or of a term that belongs to none, and their points.
    """
    names = {term: theme.many for theme in THEMES for term in theme.terms}
    sums: dict[str, float] = {}
    for event in costs:
        for term, points in event:
            name = names.get(term, term)
            sums[name] = sums.get(name, 0.0) + points
    ordered = sorted(sums.items(), key=lambda item: (-abs(item[1]), item[0]))
    return tuple((name, round(points, 3)) for name, points in ordered if abs(points) >= 0.0005)


def how_much_more(points: float) -> str:
    """Say how much dearer a plan is than the first one: the points, and what they mean."""
    if points < 0.05:
        return "as good"
    meaning = next(words for least, words in _MEANING if points >= least)
    unit = "point" if f"{points:.1f}" == "1.0" else "points"
    return f"{points:.1f} {unit} more, {meaning}"


_MEANING = (
    (8.0, "far-fetched"),
    (3.0, "few would choose it"),
    (1.0, "some would choose it"),
    (0.0, "a matter of taste"),
)
"""What a plan is that costs so many points more: a point is a factor of e, 2.7, in likelihood."""


# ── one plan against the first ──────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True)
class Reasons:
    """What a plan gains and what it costs, against the first one."""

    sentence: str
    """The whole in one sentence, without a full stop."""
    gains: tuple[str, ...]
    """What it avoids, most telling first."""
    costs: tuple[str, ...]
    """What it costs, dearest first."""
    points: tuple[tuple[str, float], ...]
    """By theme, cost points more (positive) or fewer (negative) than the first plan."""


@dataclass(frozen=True, slots=True)
class Shift:
    """One shift of a plan."""

    event: int
    """Index of the event of arrival."""
    left: PositionNumber
    """Position left."""
    reached: PositionNumber
    """Position reached."""


def shifts(placements: Sequence[Placement | None]) -> tuple[Shift, ...]:
    """List the shifts of a plan, by the events at which a finger arrives."""
    found: list[Shift] = []
    before: Placement | None = None
    for event, place in enumerate(placements):
        if place is None or not any(stop.finger for stop in place.stops):
            continue
        if before and before.position != place.position and before.home != place.home:
            found.append(Shift(event, before.position, place.position))
        before = place
    return tuple(found)


def reasons(analysis: Analysis, first: Plan, other: Plan) -> Reasons:
    """Say what a plan gains and what it costs, against the first one.

    Parameters
    ----------
    analysis
        The part they are for.
    first, other
        As `scoretools.fingering.plans.plans` gives them.
    """
    points = _more_by_theme(first, other)
    found = [
        (points.get(theme.many, 0.0), words)
        for theme in THEMES
        if theme.told
        and abs(points.get(theme.many, 0.0)) >= _SLIGHT
        and (words := _compared(analysis, theme, first, other, points[theme.many] > 0))
    ]
    told = sorted(found, key=lambda item: -abs(item[0]))
    avoided, paid, moved = _shifts_compared(analysis, first, other)
    gains = (*avoided, *(words for more, words in told if more < 0))[:_TOLD]
    costs = (*paid, *(words for more, words in told if more > 0))[:_TOLD]
    where = ", ".join((_where(analysis, other), *moved))
    gained = f", avoids {listed(gains)}" if gains else ""
    costing = f"; costs {listed(costs)}" if costs else ""
    return Reasons(f"{where}{gained}{costing}", gains, costs, _by_size(points))


def bars_touched(analysis: Analysis, first: Plan, other: Plan) -> tuple[int, ...]:
    """List the bars in which a plan goes elsewhere than the first, or shifts otherwise.

    Returns
    -------
    tuple of int
        Indices of bars, in order.
    """
    fewer, more = _other_shifts(first, other)
    events = (*other.elsewhere, *(shift.event for shift in (*fewer, *more)))
    return tuple(sorted({analysis.part.events[event].measure for event in events}))


def _other_shifts(first: Plan, other: Plan) -> tuple[list[Shift], list[Shift]]:
    """List the shifts of the first plan that are none of the other's, and the reverse."""
    before, after = shifts(first.placements), shifts(other.placements)
    known = [{(shift.event, shift.reached) for shift in some} for some in (before, after)]
    fewer = [shift for shift in before if (shift.event, shift.reached) not in known[1]]
    more = [shift for shift in after if (shift.event, shift.reached) not in known[0]]
    return fewer, more


def _more_by_theme(first: Plan, other: Plan) -> Mapping[str, float]:
    before, after = dict(payments(first.costs)), dict(payments(other.costs))
    return {
        name: round(after.get(name, 0.0) - before.get(name, 0.0), 3) for name in {**before, **after}
    }


def _by_size(points: Mapping[str, float]) -> tuple[tuple[str, float], ...]:
    ordered = sorted(points.items(), key=lambda item: (-abs(item[1]), item[0]))
    return tuple((name, more) for name, more in ordered if abs(more) >= 0.05)


# ── where the hand is ───────────────────────────────────────────────────────────────────────────


def _where(analysis: Analysis, plan: Plan) -> str:
    """Say where the hand is while the plan goes elsewhere."""
    span = range(plan.elsewhere[0], plan.elsewhere[-1] + 1)
    stopped = [i for i in span if _position(plan, i) is not None]
    bars = _bars(analysis, plan.elsewhere)
    if not stopped:
        return f"takes {bars} on open strings"
    positions = sorted({p for i in stopped if (p := _position(plan, i)) is not None})
    before = next(
        (p for i in range(span[0] - 1, -1, -1) if (p := _position(plan, i)) is not None), None
    )
    if len(positions) == 1 and before in (None, positions[0]):
        return f"stays in {_positions(positions)} in {bars}{_on_strings(analysis, plan)}"
    return f"takes {bars} in {_positions(positions)}{_on_strings(analysis, plan)}"


def _position(plan: Plan, event: int) -> PositionNumber | None:
    place = plan.placements[event]
    down = place is not None and any(stop.finger for stop in place.stops)
    return place.position if place is not None and down else None


def _positions(positions: Sequence[PositionNumber]) -> str:
    if len(positions) == 1:
        return position_label(positions[0])
    return f"{listed([ordinal(p) if p else 'half' for p in positions])} positions"


def _on_strings(analysis: Analysis, plan: Plan) -> str:
    used = {
        stop.string
        for event in plan.elsewhere
        if (place := plan.placements[event]) is not None
        for stop in place.stops[: len(analysis.part.events[event].notes)]
        if stop.finger
    }
    names = [said(analysis.string_names[string]) for string in sorted(used)]
    if not names or len(names) == len(analysis.string_names):
        return ""
    return f" on the {listed(names)} string{'s' if len(names) > 1 else ''}"


# ── shifts and other themes ─────────────────────────────────────────────────────────────────────


def _shifts_compared(
    analysis: Analysis, first: Plan, other: Plan
) -> tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]]:
    """Say which shifts a plan avoids, which it costs, and which it makes at another place."""
    fewer, more = _other_shifts(first, other)
    if len(fewer) == len(more) and fewer:
        here, there = (_bars(analysis, [s.event for s in some]) for some in (more, fewer))
        words = f"at other notes in {here}" if here == there else f"in {here} instead of {there}"
        return (), (), (f"shifts {words}",)
    return (
        (_shifts_told(analysis, fewer, "the shift"),) if fewer else (),
        (_shifts_told(analysis, more, "a shift"),) if more else (),
        (),
    )


def _shifts_told(analysis: Analysis, found: Sequence[Shift], one: str) -> str:
    bars = _bars(analysis, [shift.event for shift in found])
    if len(found) == 1:
        return f"{one} to {position_label(found[0].reached)} in {bars}"
    return f"{len(found)} shifts ({bars})"


def _compared(analysis: Analysis, theme: Theme, first: Plan, other: Plan, dearer: bool) -> str:
    """Say in which bars a theme is met more often (or less often) than in the first plan."""
    less, more = (first, other) if dearer else (other, first)
    here, there = _events_of(theme, more), _events_of(theme, less)
    only = [event for event in here if event not in there]
    surplus = len(here) - len(there)
    where = _strings_of(analysis, more, only) if theme.on_string else ""
    if surplus <= 0 and not theme.graded:
        return ""
    if surplus <= 0:
        changed = [i for i in here if dict(more.costs[i]) != dict(less.costs[i])]
        return f"harder {theme.many} ({_bars(analysis, only or changed)})"
    extra = "" if len(only) == surplus or not dearer else "more "
    counted = f"{surplus} {extra}{theme.many}"
    if surplus == 1:
        counted = (
            f"one more {theme.one.removeprefix('a ').removeprefix('an ')}" if extra else theme.one
        )
    return f"{counted}{where} ({_bars(analysis, only)})"


def _events_of(theme: Theme, plan: Plan) -> list[int]:
    return [
        event
        for event, costs in enumerate(plan.costs)
        if any(term in theme.terms for term, _ in costs)
    ]


def _strings_of(analysis: Analysis, plan: Plan, events: Iterable[int]) -> str:
    """Name the string, where all of these notes lie on one."""
    strings = {
        stop.string
        for event in events
        if (place := plan.placements[event]) is not None
        for stop in place.stops[: len(analysis.part.events[event].notes)]
    }
    if len(strings) != 1:
        return ""
    return f" on the {said(analysis.string_names[strings.pop()])} string"


def _bars(analysis: Analysis, events: Iterable[int]) -> str:
    return bar_ranges(analysis, [analysis.part.events[event].measure for event in events])
