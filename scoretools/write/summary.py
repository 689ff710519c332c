"""An analysis in sentences that can be read aloud.

Every function returns plain sentences; the command line and the page set them in their own way.
"""

from collections import Counter
from collections.abc import Iterable, Sequence

from scoretools.bar_names import bars_in_words, length_words
from scoretools.hand import gap_letters, gap_words
from scoretools.instrument import ordinal, position_label
from scoretools.model import (
    Analysis,
    BarLoad,
    Certainty,
    Demand,
    DemandKind,
    Drill,
    Notice,
    PositionNumber,
)
from scoretools.note_names import name_of, said

__all__ = [
    "assumptions",
    "bar_ranges",
    "ceiling_sentence",
    "clicks",
    "coverage_lines",
    "drill_lines",
    "drill_lines_in_short",
    "hardest_bars",
    "heading",
    "listed",
    "notice_lines",
    "percent",
    "share_by_certainty",
    "strings_in_order",
    "what_it_asks",
]


def heading(analysis: Analysis) -> str:
    """Name the piece, its composer and the part."""
    part = analysis.part
    piece = part.title or f"{part.source} (no title)"
    by = f", {part.composer}" if part.composer else ""
    name = part.name or part.instrument.capitalize()
    return f"{piece}{by} — {name}, {length_words(part.measures)}"


# ── what it asks ────────────────────────────────────────────────────────────────────────────────


def what_it_asks(analysis: Analysis) -> tuple[str, ...]:
    """Say in a few sentences what the part asks of the left hand."""
    if not any(step.placement for step in analysis.steps):
        return ("Nothing in this part can be fingered.",)
    return (
        _positions_sentence(analysis),
        *_shapes_sentence(analysis),
        *_moments_sentence(analysis),
        _certainty_sentence(analysis),
    )


def _positions_sentence(analysis: Analysis) -> str:
    counts: Counter[PositionNumber] = Counter()
    for step in analysis.steps:
        if step.placement and any(stop.finger for stop in step.placement.stops):
            counts[step.placement.position] += 1
    if not counts:
        return "Open strings only: the left hand rests."
    shifts = _count(analysis, DemandKind.SHIFT)
    if len(counts) == 1:
        return f"The hand stays in {position_label(next(iter(counts)))} throughout."
    usual, often = counts.most_common(1)[0]
    share = round(100 * often / counts.total())
    times = {0: "without a shift", 1: "with one shift"}.get(shifts, f"with {shifts} shifts")
    return (
        f"The hand is in {position_label(usual)} for {share} % of the stopped notes and "
        f"goes to {_positions_listed([p for p in sorted(counts) if p != usual])}, {times}."
    )


def _positions_listed(positions: Sequence[PositionNumber]) -> str:
    """List positions: ``half, 2nd and 3rd positions``."""
    named = [ordinal(position) if position else "half" for position in positions]
    return f"{listed(named)} position{'s' if len(named) > 1 else ''}"


def _shapes_sentence(analysis: Analysis) -> tuple[str, ...]:
    weights: Counter[tuple[int, int, int]] = Counter()
    strings: dict[tuple[int, int, int], Counter[str]] = {}
    for demand in analysis.demands:
        if demand.kind is DemandKind.SHAPE and demand.shape:
            gaps = demand.shape.gaps
            weights[gaps] += len(demand.moments)
            names = strings.setdefault(gaps, Counter())
            names[said(analysis.string_names[demand.string])] += len(demand.moments)
    if not weights:
        return ()
    phrases = [
        f"{gap_letters(gaps)} ({gap_words(gaps)}) on the "
        f"{listed([name for name, _ in strings[gaps].most_common()])} "
        f"string{'s' if len(strings[gaps]) > 1 else ''}"
        for gaps, _ in weights.most_common(3)
    ]
    more = len(weights) - len(phrases)
    rest = f"; {more} more shape{'s' if more > 1 else ''} in passing" if more else ""
    return (f"Hand shapes, commonest first: {'; '.join(phrases)}{rest}.",)


_MOMENTS = (
    (DemandKind.SHAPE_CHANGE, "change of shape", "changes of shape"),
    (DemandKind.REACH_BACK, "reach back of the first finger", "reaches back of the first finger"),
    (DemandKind.EXTENSION, "extension", "extensions"),
    (DemandKind.AUGMENTED_SECOND, "augmented second", "augmented seconds"),
    (DemandKind.CHROMATIC_SLIDE, "chromatic slide", "chromatic slides"),
    (DemandKind.DOUBLE_STOP, "double stop", "double stops"),
    (DemandKind.CHORD, "chord", "chords"),
)


def _moments_sentence(analysis: Analysis) -> tuple[str, ...]:
    phrases = [
        f"{count} {one if count == 1 else many}"
        for kind, one, many in _MOMENTS
        if (count := _count(analysis, kind))
    ]
    return (f"On the way: {listed(phrases)}.",) if phrases else ()


def _count(analysis: Analysis, kind: DemandKind) -> int:
    return sum(len(demand.moments) for demand in analysis.demands if demand.kind is kind)


def share_by_certainty(analysis: Analysis) -> dict[Certainty, float]:
    """Share of the fingered notes by how sure their fingering is, 0 to 1."""
    counts = Counter(choice.certainty for step in analysis.steps for choice in step.choices)
    whole = counts.total() or 1
    return {certainty: counts[certainty] / whole for certainty in Certainty}


def _certainty_sentence(analysis: Analysis) -> str:
    share = share_by_certainty(analysis)
    percent = _whole_percent(share)
    if percent[Certainty.SURE] == 100:
        return "All of the fingering is sure."
    phrases = [f"{part} % is {certainty}" for certainty, part in percent.items() if part]
    doubt = ": other players would choose otherwise there" if percent[Certainty.OPEN] else ""
    return f"Of the fingering, {listed(phrases)}{doubt}."


def _whole_percent(share: dict[Certainty, float]) -> dict[Certainty, int]:
    """Round shares to whole per cent that add up to 100: the largest remainders go up."""
    percent = {certainty: int(100 * part) for certainty, part in share.items()}
    lacking = 100 - sum(percent.values()) if any(share.values()) else 0
    remainders = sorted(share, key=lambda certainty: percent[certainty] - 100 * share[certainty])
    for certainty in remainders[:lacking]:
        percent[certainty] += 1
    return percent


# ── bars and drills ─────────────────────────────────────────────────────────────────────────────


def hardest_bars(analysis: Analysis, count: int = 5) -> tuple[tuple[BarLoad, str], ...]:
    """Give the bars that load the left hand most, heaviest first, each with a sentence."""
    heaviest = sorted(analysis.loads, key=lambda bar: (-bar.load, bar.measure))[:count]
    return tuple(
        (bar, f"{bar_ranges(analysis, (bar.measure,))}: {'; '.join(map(said, bar.reasons[:3]))}")
        for bar in heaviest
        if bar.load > 0
    )


def drill_lines(analysis: Analysis, drill: Drill) -> tuple[str, ...]:
    """Say what a drill is, why it is there and how to go about it."""
    demands = [analysis.demands[index] for index in drill.demands]
    lines = [
        f"{said(drill.title)}.",
        f"For {bar_ranges(analysis, drill.measures)}; "
        f"{percent(drill.share)} of the part's load; {drill.minutes} minutes."
        f"{_prepares(analysis, drill)}",
        f"On {strings_in_order(analysis, drill)}: {'; '.join(_names(drill))}.",
        _tempo_sentence(drill),
    ]
    if drill.checks:
        told = (
            f"{said(name_of(check.pitch))} with open {said(name_of(check.against))} "
            f"({check.interval})"
            for check in drill.checks
        )
        lines.append(f"Check: {', '.join(told)}.")
    if drill.advice:
        lines.append(drill.advice)
    if _least_sure(demands) is Certainty.OPEN:
        lines.append(_SETTLE)
    return tuple(lines)


def _prepares(analysis: Analysis, drill: Drill) -> str:
    """Say for the sake of which heavier drills a small one comes first; empty where none."""
    later = [
        str(other.index + 1)
        for other in analysis.drills
        if drill.index in other.after and other.share > drill.share
    ]
    return f" It comes first to prepare {_drills(later)}." if later else ""


def _drills(numbers: Sequence[str]) -> str:
    if len(numbers) == 1:
        return f"drill {numbers[0]}"
    return f"drills {listed(list(numbers) if len(numbers) <= _FEW else [*numbers[:2], 'others'])}"


_FEW = 3


def drill_lines_in_short(analysis: Analysis, drill: Drill) -> tuple[str, ...]:
    """Say what a drill is, where it helps, for how long and how fast; for a student."""
    lines = [
        f"{said(drill.title)}.",
        f"For {bar_ranges(analysis, drill.measures)}; {drill.minutes} minutes.",
        _tempo_sentence(drill),
    ]
    if _least_sure([analysis.demands[index] for index in drill.demands]) is Certainty.OPEN:
        lines.append(_SETTLE)
    return tuple(lines)


_SETTLE = "The fingering here is open: settle it with your teacher first."


def _tempo_sentence(drill: Drill) -> str:
    assumed = "the goal rests on an assumed tempo" if drill.goal_assumed else ""
    aside = "; ".join(words for words in (clicks(drill.goal_per_minute), assumed) if words)
    assumed = f" ({aside})" if aside else ""
    if drill.start_per_minute == drill.goal_per_minute:
        return f"At {drill.goal_per_minute} notes a minute{assumed}."
    return f"From {drill.start_per_minute} to {drill.goal_per_minute} notes a minute{assumed}."


FASTEST_CLICK = 160
"""Clicks a minute beyond which a player no longer follows one click a note (common practice)."""


def clicks(per_minute: int) -> str:
    """Say how to set a metronome where the notes come faster than one follows its clicks."""
    if per_minute <= FASTEST_CLICK:
        return ""
    notes, words = (2, "two") if per_minute <= 2 * FASTEST_CLICK else (4, "four")
    return f"metronome {round(per_minute / notes)}, {words} notes to a click"


def strings_in_order(analysis: Analysis, drill: Drill) -> str:
    """Name the strings a drill is played on, in order: ``A, then D and E``."""
    names = [said(name) for name in analysis.string_names]
    strings = dict.fromkeys(n.stop.string for one in drill.exercises for n in one.notes)
    first, *others = [names[string] for string in strings]
    return f"{first}, then {listed(others)}" if others else first


def _names(drill: Drill) -> list[str]:
    return list(dict.fromkeys(exercise.name for exercise in drill.exercises))


def coverage_lines(analysis: Analysis) -> tuple[str, ...]:
    """Say how much of what is asked the drills serve, and what is left out, heaviest first."""
    served = sum(drill.share for drill in analysis.drills)
    lines = [
        f"Left out: {said(left.title)} ({bar_ranges(analysis, left.measures)}; "
        f"{percent(left.share)}): {left.why}."
        for left in analysis.left_out
    ]
    if analysis.drills:
        lines.insert(0, f"These drills serve {percent(served)} of the part's load on this hand.")
    return tuple(lines)


def percent(share: float) -> str:
    """Write a share as whole per cent, never a little as nothing or not quite all as all."""
    if 0 < share < 0.005:
        return "under 1 %"
    return "over 99 %" if 0.995 <= share < 1 - 1e-9 else f"{round(100 * share)} %"


def assumptions(analysis: Analysis) -> tuple[str, ...]:
    """Say what the analysis takes for granted."""
    part = analysis.part
    lines = [f"Fingered for: {analysis.profile.replace('-', ' ')}."]
    if part.tuning:
        names = " ".join(said(name_of(pitch)) for pitch in part.tuning)
        lines.append(f"Tuned, from the lowest string: {names}.")
    lines += _assumed_tempi(analysis)
    if analysis.marks_broken:
        lines.append(f"Printed fingers or strings that could not be kept: {analysis.marks_broken}.")
    return tuple(lines)


def _assumed_tempi(analysis: Analysis) -> list[str]:
    """Say which tempi are assumed, one by one if they are few."""
    assumed = [tempo for tempo in analysis.part.tempi if tempo.assumed]
    if len(assumed) > _FEW_TEMPI:
        speeds = [tempo.quarters_per_minute for tempo in assumed]
        return [
            f"The score prints no figure for {len(assumed)} of its tempi; {min(speeds):g} to "
            f"{max(speeds):g} quarter notes a minute are assumed, and speeds and loads rest on it."
        ]
    lines = []
    for tempo in assumed:
        measures = analysis.part.measures
        here = [m.index for m in measures if m.onset_ql <= tempo.onset_ql][-1:]
        where = f" at {bar_ranges(analysis, here)}" if here and here[0] else ""
        lines.append(
            f"The score prints no tempo figure{where}; {tempo.quarters_per_minute:g} quarter notes "
            "a minute are assumed, and speeds and loads rest on it."
        )
    return lines


_FEW_TEMPI = 3


def _least_sure(demands: Sequence[Demand]) -> Certainty:
    rank = [Certainty.OPEN, Certainty.LIKELY, Certainty.SURE]
    return max((demand.certainty for demand in demands), key=rank.index)


def notice_lines(analysis: Analysis) -> tuple[str, ...]:
    """Say what was skipped, assumed or contradictory, each with its bar."""
    return tuple(_notice_line(analysis, notice) for notice in analysis.notices)


def _notice_line(analysis: Analysis, notice: Notice) -> str:
    if notice.measure is None:
        return said(notice.message)
    return f"{bar_ranges(analysis, (notice.measure,))}: {said(notice.message)}"


def ceiling_sentence(analysis: Analysis) -> str:
    """Say how high the fingering may go, and why."""
    why = {
        "notes": "from the highest notes and printed marks",
        "player": "as high as the player goes",
        "profile": f"as for a {analysis.profile.replace('-', ' ')}",
    }[analysis.ceiling_from]
    above = sum(
        step.placement is not None
        and step.placement.position > analysis.ceiling
        and any(choice.stop.finger for choice in step.choices)
        for step in analysis.steps
    )
    offered = f"Highest position offered: {position_label(analysis.ceiling)}, {why}"
    notes = "1 note lies" if above == 1 else f"{above} notes lie"
    return f"{offered}; {notes} above it, for want of a lower place." if above else f"{offered}."


# ── bars as printed ─────────────────────────────────────────────────────────────────────────────


def bar_ranges(analysis: Analysis, measures: Iterable[int]) -> str:
    """List bars as musicians name them, runs drawn together: ``the upbeat and bars 3–5, 9``.

    The movement is named where the part has more than one; see `scoretools.bar_names`.
    """
    return bars_in_words(analysis.part.measures, measures)


def listed(words: Sequence[str]) -> str:
    """List words as a sentence does: ``1, 2 and 3``."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"
