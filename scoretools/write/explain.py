"""The chosen fingering explained: where the hand is, what it pays, what is sure and what else goes.

Also where it differs from what is printed, when that was left out.
"""

from collections.abc import Container, Iterator, Mapping, Sequence

from scoretools.fingering.plans import RunnerUp
from scoretools.instrument import from_printed_string, instrument, position_label
from scoretools.model import (
    Analysis,
    Certainty,
    Choice,
    DemandKind,
    Event,
    Marks,
    Note,
    Placement,
    PositionNumber,
)
from scoretools.note_names import name_of, said
from scoretools.write.bars import beat_words, stop_words
from scoretools.write.reasons import payments, shifts
from scoretools.write.summary import bar_ranges, listed

__all__ = ["RunnersUp", "bar_reasons", "printed_otherwise"]

RunnersUp = Mapping[tuple[int, int], RunnerUp]
"""Second choices by index of the event and of the note in it."""

_TOLD = 4
"""Payments of a bar that are told; the rest is summed up."""

_LEAST = 0.05
"""Points below which a payment would read as none."""


def bar_reasons(
    analysis: Analysis, measures: Sequence[int], seconds: RunnersUp
) -> dict[int, tuple[str, ...]]:
    """Explain the fingering of bars, in sentences.

    Parameters
    ----------
    measures
        Indices of the bars.
    seconds
        As `scoretools.fingering.plans.runners_up` gives them, for these bars at least.

    Returns
    -------
    dict
        Sentences by index of the bar, for the bars in which something is fingered.
    """
    found: dict[int, list[Event]] = {measure: [] for measure in measures}
    for event in analysis.part.events:
        if event.measure in found and analysis.steps[event.index].placement is not None:
            found[event.measure].append(event)
    figures = _figures(analysis)
    arrivals = {shift.event for shift in shifts([step.placement for step in analysis.steps])}
    return {
        measure: (
            *_hand(analysis, events, arrivals),
            _paid(analysis, events),
            *_elsewhere(analysis, events, figures),
            *_certainty(analysis, events, seconds),
        )
        for measure, events in found.items()
        if events
    }


# ── the hand ────────────────────────────────────────────────────────────────────────────────────


def _hand(analysis: Analysis, events: Sequence[Event], arrivals: Container[int]) -> Iterator[str]:
    moved = [event for event in events if event.index in arrivals]
    for event in moved:
        where = _where(analysis, event, event.notes[0])
        yield f"Shift at {where}: {_shift_detail(analysis, event)}."
    placements = [analysis.steps[event.index].placement for event in events]
    stopped = [place for place in placements if place is not None and _is_down(place)]
    if not stopped:
        yield "Open strings only: the left hand rests."
    elif not moved:
        yield f"The hand stays in {position_label(stopped[0].position)}."


def _is_down(place: Placement) -> bool:
    return any(stop.finger for stop in place.stops)


def _shift_detail(analysis: Analysis, event: Event) -> str:
    told = (
        demand.detail
        for demand in analysis.demands
        if demand.kind is DemandKind.SHIFT and event.index in demand.moments
    )
    place = analysis.steps[event.index].placement
    reached = f"to {position_label(place.position)}" if place else ""
    return said(next(told, reached))


# ── what it pays ────────────────────────────────────────────────────────────────────────────────


def _paid(analysis: Analysis, events: Sequence[Event]) -> str:
    paid = payments([analysis.steps[event.index].costs for event in events])
    worth = [(name, points) for name, points in paid if abs(points) >= _LEAST]
    if not worth:
        return "It costs nothing: no fingering could lie better."
    told = [f"{points:.1f} for {name}" for name, points in worth[:_TOLD]]
    rest = sum(points for _, points in worth[_TOLD:])
    more = [f"{rest:.1f} for the rest"] if rest >= _LEAST else []
    return f"It costs, in points: {listed([*told, *more])}."


# ── figures that come back ──────────────────────────────────────────────────────────────────────

_AROUND = 2
"""Notes before and after one that make it part of the same figure (see `fingering.habits`)."""

_FIGURE_TERMS = frozenset(("figure as before", "figure as printed elsewhere"))

Figure = tuple[int, ...]


def _figures(analysis: Analysis) -> Mapping[int, Figure]:
    """Give the pitches around each note struck alone, by index of its event."""
    events, steps = analysis.part.events, analysis.steps
    pitches = [event.notes[0].pitch.midi if len(event.notes) == 1 else None for event in events]
    found: dict[int, Figure] = {}
    for index in range(_AROUND, len(events) - _AROUND):
        near = pitches[index - _AROUND : index + _AROUND + 1]
        whole = tuple(pitch for pitch in near if pitch is not None)
        if len(whole) == len(near) and steps[index].placement is not None:
            found[index] = whole
    return found


def _elsewhere(
    analysis: Analysis, events: Sequence[Event], figures: Mapping[int, Figure]
) -> Iterator[str]:
    """Say where a figure of the bar comes with other fingers."""
    steps = analysis.steps
    bars: set[int] = set()
    for event in events:
        terms = {term for term, points in steps[event.index].costs if points >= _LEAST}
        if not terms & _FIGURE_TERMS or event.index not in figures:
            continue
        finger = steps[event.index].choices[0].stop.finger
        bars |= {
            analysis.part.events[other].measure
            for other, figure in figures.items()
            if figure == figures[event.index] and steps[other].choices[0].stop.finger != finger
        }
    bars -= {event.measure for event in events}
    if bars:
        yield f"The same figure is fingered differently in {bar_ranges(analysis, bars)}."


# ── sure, likely, open ──────────────────────────────────────────────────────────────────────────


def _certainty(analysis: Analysis, events: Sequence[Event], seconds: RunnersUp) -> Iterator[str]:
    choices = [choice for event in events for choice in analysis.steps[event.index].choices]
    counts = {sign: sum(c.certainty is sign for c in choices) for sign in Certainty}
    if counts[Certainty.SURE] == len(choices):
        yield "Every note is sure." if len(choices) > 1 else "The note is sure."
    else:
        told = [f"{count} {sign}" for sign, count in counts.items() if count]
        yield (
            f"Of {len(choices)} notes, {listed(told)}."
            if len(choices) > 1
            else (f"The note is {choices[0].certainty}.")
        )
    yield from _second_choices(analysis, events, seconds)


def _second_choices(
    analysis: Analysis, events: Sequence[Event], seconds: RunnersUp
) -> Iterator[str]:
    """Tell what notes that are not sure, and printed ones, would be played with otherwise."""
    found: dict[tuple[str, str], list[Event]] = {}
    for event in events:
        for column, choice in enumerate(analysis.steps[event.index].choices):
            second = seconds.get((event.index, column))
            if second is None or not (choice.certainty is not Certainty.SURE or second.more < 0):
                continue
            words = _second_words(analysis, choice, second)
            name = said(name_of(event.notes[column].pitch))
            found.setdefault((name, words), []).append(event)
    for (name, words), alike in found.items():
        yield f"{name} {_when(analysis, alike)}: {words}."


def _second_words(analysis: Analysis, choice: Choice, second: RunnerUp) -> str:
    other = stop_words(analysis, second.stop)
    if second.stop.finger:
        other = f"{other} in {position_label(second.position)}"
    if second.more < 0:
        kept = stop_words(analysis, choice.stop)
        return f"{kept}, as printed; {other} would cost {-second.more:.1f} points less"
    return f"{choice.certainty}; second choice {other}, {second.more:.1f} points more"


def _where(analysis: Analysis, event: Event, note: Note) -> str:
    return f"{said(name_of(note.pitch))} {_when(analysis, [event])}"


def _when(analysis: Analysis, events: Sequence[Event]) -> str:
    """Say when notes of a bar begin: ``on beats 1 and 2½ and after beat 3``."""
    last = [event for event in events if _closes_its_bar(analysis, event)]
    within = [event for event in events if event not in last]
    words = [_on_beats(analysis, within)] if within else []
    return " and ".join([*words, "at the end of the bar"] if last else words)


def _closes_its_bar(analysis: Analysis, event: Event) -> bool:
    """Tell whether small notes come so late that the beat after them is none of the bar's."""
    measure = analysis.part.measures[event.measure]
    return event.onset_ql >= measure.onset_ql + measure.duration_ql


def _on_beats(analysis: Analysis, events: Sequence[Event]) -> str:
    measures = analysis.part.measures
    words = dict.fromkeys(
        beat_words(event.beat, measures[event.measure].time[1]) for event in events
    )
    on = [beat.removeprefix("beat ") for beat in words if beat.startswith("beat ")]
    after = [beat.removeprefix("after beat ") for beat in words if beat.startswith("after ")]
    named = [
        f"{when} beat{'s' if len(beats) > 1 else ''} {listed(beats)}"
        for when, beats in (("on", on), ("after", after))
        if beats
    ]
    return " and ".join(named)


# ── against what is printed ─────────────────────────────────────────────────────────────────────


def printed_otherwise(
    analysis: Analysis, measures: Sequence[int]
) -> tuple[int, int, tuple[str, ...]]:
    """Compare a fingering with the fingers, strings and positions printed on its notes.

    Returns
    -------
    int, int, tuple of str
        Notes that carry such marks, those that are played as printed, and a sentence for each of
        the others, without a full stop.
    """
    wanted = set(measures)
    marked = 0
    apart: list[str] = []
    for event, step in zip(analysis.part.events, analysis.steps, strict=True):
        if event.measure not in wanted or step.placement is None:
            continue
        for note, choice in zip(event.notes, step.choices, strict=True):
            marked += _is_marked(note.marks)
            printed = _not_as_printed(analysis, note.marks, choice, step.placement.position)
            if printed:
                bar = bar_ranges(analysis, (event.measure,))
                apart.append(
                    f"{bar}, {_where(analysis, event, note)}: {listed(printed)} printed, "
                    f"here {stop_words(analysis, choice.stop)}"
                )
    return marked, marked - len(apart), tuple(apart)


def _is_marked(marks: Marks) -> bool:
    if marks.harmonic:
        return marks.string is not None or bool(marks.fingers and 0 not in marks.fingers)
    placed = marks.string is not None or marks.position is not None
    return bool(marks.fingers) or marks.open_string or placed


def _not_as_printed(
    analysis: Analysis, marks: Marks, choice: Choice, position: PositionNumber
) -> list[str]:
    stop = choice.stop
    found: list[str] = []
    fingered = marks.fingers and not (marks.harmonic and 0 in marks.fingers)
    opened = marks.open_string or marks.fingers == (0,)
    if opened and not marks.harmonic and stop.finger:
        found.append("an open string")
    elif fingered and not opened and stop.finger not in marks.fingers:
        found.append(f"finger {' or '.join(map(str, marks.fingers))}")
    if marks.string is not None:
        played = instrument(analysis.part.instrument, tuning=analysis.part.tuning)
        string = from_printed_string(played, marks.string)
        if string is None:
            found.append(f"string {marks.string}")
        elif string != stop.string:
            found.append(f"the {said(analysis.string_names[string])} string")
    if marks.position not in (None, position) and stop.finger:
        found.append(position_label(PositionNumber(marks.position or 0)))
    return found
