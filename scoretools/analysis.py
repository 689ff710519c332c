"""From a part and a player to everything the program says: the one place that knows the order.

Pure: reads no file, writes none.
"""

from collections.abc import Iterator, Sequence

from scoretools.collector import collector_paused
from scoretools.demands import gather, pace
from scoretools.drills.choose import choose
from scoretools.drills.exercises import Written
from scoretools.errors import PartNotFound, PlayerError
from scoretools.fingering.ceiling import ceiling_from_notes
from scoretools.fingering.contradictions import why_not_honoured
from scoretools.fingering.rows import Hand
from scoretools.fingering.search import Fingering, Solution, finger, solve
from scoretools.fingering.trellis import build
from scoretools.fingering.weights import Weights, weights_for
from scoretools.hand import Reach, hand_reach
from scoretools.instrument import (
    HIGHEST_POSITION,
    Instrument,
    instrument,
    ordinal,
    position_label,
    string_names,
)
from scoretools.model import Analysis, Event, Note, Notice, Part, PositionNumber, Step
from scoretools.moments import moments
from scoretools.note_names import Wording, joined, name_of, said, worded
from scoretools.passages import as_passages, bar_loads, passage_of_events, shapes_of_notes
from scoretools.player import Player
from scoretools.read.timing import clock_of, seconds
from scoretools.shapes import spans
from scoretools.stop_spelling import spelled_in
from scoretools.voices import Divisi, decide

__all__ = ["analyse", "instrument_of", "solution_of"]


@collector_paused()
def analyse(
    part: Part,
    player: Player | None = None,
    use_marks: bool = True,
    divisi: Divisi = Divisi.AUTO,
) -> Analysis:
    """Work out what a part asks of a player's left hand, and what to practise.

    Parameters
    ----------
    part
        A part as `scoretools.read_part` returns it.
    player
        Who plays; by default a developing player with an average hand.
    use_marks
        Whether printed fingerings and strings are honoured.
    divisi
        What one player takes where several notes sound; the analysis holds the part without the
        rest.

    Returns
    -------
    Analysis
        Fingering, shapes, passages, demands, loads and drills.

    Raises
    ------
    PlayerError
        If the player plays another instrument than the part is for.
    PartNotFound
        If most of the part lies below the instrument.
    """
    player = player or Player()
    played = instrument_of(part, player)
    _check_range(part, played)
    reach = hand_reach(played, player)
    any_height = Hand(played, reach, HIGHEST_POSITION, player.extensions)
    part, left_out = decide(part, any_height, divisi)
    weights = weights_for(player)
    ceiling, ceiling_from = _ceiling(part, player, weights, played, reach, use_marks)
    hand = Hand(played, reach, ceiling, player.extensions, player.known_shapes)
    fingering = finger(hand, weights, part.events, use_marks)
    hand_spans = spans(played, part.events, fingering.steps)
    found = moments(played, part, fingering.steps, hand_spans)
    demands = gather(part.events, fingering.steps, part.tempi, found)
    passages = as_passages(hand_spans)
    passage_of = passage_of_events(
        passages, [step.placement is not None for step in fingering.steps]
    )
    chosen = choose(
        Written(played, part.events, demands, hand_spans, spelled_in(part.events)), player
    )
    strings = [[choice.stop.string for choice in step.choices] for step in fingering.steps]
    return Analysis(
        part=part,
        profile=weights.profile,
        ceiling=ceiling,
        ceiling_from=ceiling_from,
        string_names=string_names(played),
        steps=fingering.steps,
        shapes=shapes_of_notes(passages, passage_of, strings),
        passages=passages,
        passage_of=passage_of,
        demands=demands,
        loads=bar_loads(played, part.measures, _bar_seconds(part), part.events, found),
        drills=chosen.drills,
        left_out=chosen.left_out,
        notices=(
            *part.notices,
            *left_out,
            *(() if use_marks else (_UNMARKED,)),
            *_notices(part, played, reach, fingering, ceiling),
        ),
        cost=fingering.cost,
        marks_broken=sum(fingering.marks_broken),
    )


@collector_paused()
def solution_of(
    analysis: Analysis, player: Player | None = None, use_marks: bool = True
) -> Solution | None:
    """Search an analysed part once more, to ask for other plans than the one chosen.

    Parameters
    ----------
    analysis
        What `analyse` made of the part.
    player, use_marks
        As they were given to `analyse`.

    Returns
    -------
    Solution or None
        None where nothing in the part can be played.
    """
    player = player or Player()
    played = instrument_of(analysis.part, player)
    reach = hand_reach(played, player)
    hand = Hand(played, reach, analysis.ceiling, player.extensions, player.known_shapes)
    trellis = build(hand, weights_for(player), analysis.part.events, use_marks)
    return solve(trellis) if trellis.moments else None


def _check_range(part: Part, played: Instrument) -> None:
    """Refuse a part that is plainly for a lower instrument."""
    lowest = played.strings[0]
    pitches = [note.pitch.midi for event in part.events for note in event.notes]
    below = sum(midi < lowest.midi for midi in pitches)
    if 2 * below > len(pitches):
        raise PartNotFound(
            f"{part.source}: the part “{part.name}” goes below the {part.instrument}'s open "
            f"{said(name_of(lowest))} in {below} of {len(pitches)} notes, so it is for a lower "
            "instrument; choose a violin or viola part with --part"
        )


def instrument_of(part: Part, player: Player) -> Instrument:
    """Make the instrument a part is played on, in the player's size and the part's tuning.

    Raises
    ------
    PlayerError
        If the player plays another instrument than the part is for.
    """
    if player.instrument not in (None, part.instrument):
        what = f"the part “{part.name}” of {part.source}" if part.name else part.source
        raise PlayerError(
            f"instrument: the player plays the {player.instrument}, but {what} is for "
            f"{part.instrument}; choose a part or a score for {player.instrument}"
        )
    return instrument(part.instrument, player.size, player.string_length_mm, part.tuning)


def _ceiling(
    part: Part,
    player: Player,
    weights: Weights,
    played: Instrument,
    reach: Reach,
    use_marks: bool,
) -> tuple[PositionNumber, str]:
    """As high as the notes ask, and no higher than the player goes.

    That a player could go higher makes no part harder: nobody leaves first position in a part that
    lies in it for the sake of a position that is known.
    """
    asked = ceiling_from_notes(played, reach, part.events, use_marks)
    if player.highest_position is not None and player.highest_position < asked:
        return player.highest_position, "player"
    if player.highest_position is None and weights.ceiling is not None and weights.ceiling < asked:
        return weights.ceiling, "profile"
    return asked, "notes"


def _bar_seconds(part: Part) -> list[float]:
    clock = clock_of(part.tempi)
    return [
        seconds(clock, measure.onset_ql + measure.duration_ql) - seconds(clock, measure.onset_ql)
        for measure in part.measures
    ]


_UNMARKED = Notice("printed fingers, strings and positions are left out of account, as asked")


# ── notices ─────────────────────────────────────────────────────────────────────────────────────


def _notices(
    part: Part, played: Instrument, reach: Reach, fingering: Fingering, ceiling: PositionNumber
) -> Iterator[Notice]:
    for index in fingering.unplayable:
        event = part.events[index]
        yield Notice(_why_unplayable(played, event.notes), event.measure)
    for index, count in enumerate(fingering.marks_broken):
        if count:
            event = part.events[index]
            reasons = joined("; ", _broken_marks(played, event, fingering.steps[index]))
            told = worded("{}; the fingering given is the nearest that can be played", reasons)
            yield Notice(told, event.measure)
    yield from _above_ceiling(part.events, played, reach, fingering, ceiling)
    yield from _too_fast(part)


FASTEST_FINGERS = 12.0
"""Notes a second beyond which no run is played (common practice, no published source)."""


def _too_fast(part: Part) -> Iterator[Notice]:
    """Doubt an assumed tempo at which one note in twenty would go faster than fingers can."""
    if not any(tempo.assumed for tempo in part.tempi):
        return
    paces = sorted(pace(part.events, event.index) for event in part.events if not event.grace)
    fast = paces[len(paces) * 19 // 20] if paces else 0.0
    if fast > FASTEST_FINGERS:
        yield Notice(
            f"At the assumed tempo the fast notes would go at {fast:.0f} a second, faster than "
            "fingers can: the tempo is too quick, and so are speeds and loads."
        )


def _broken_marks(played: Instrument, event: Event, step: Step) -> Iterator[str]:
    if step.placement is not None:
        for note, choice in zip(event.notes, step.choices, strict=True):
            why = why_not_honoured(played, note, choice.stop, step.placement.position)
            if why:
                yield why


def _why_unplayable(played: Instrument, notes: Sequence[Note]) -> str:
    lowest = played.strings[0]
    names = _names(notes)
    if any(note.pitch.midi < lowest.midi for note in notes):
        open_string = name_of(lowest)
        return worded(
            "{} goes below the open {}, the lowest note; left unfingered", names, open_string
        )
    if len(notes) == 1:
        return worded("{} lies above the twelfth position; left unfingered", names)
    return worded("no hand can hold {} at once; left unfingered (divided among players?)", names)


def _names(notes: Sequence[Note]) -> Wording:
    return joined(" ", (name_of(note.pitch) for note in notes))


def _above_ceiling(
    events: Sequence[Event],
    played: Instrument,
    reach: Reach,
    fingering: Fingering,
    ceiling: PositionNumber,
) -> Iterator[Notice]:
    """Name what lies above the ceiling; what is played up there beside it needs no word."""
    for event, step in zip(events, fingering.steps, strict=True):
        stopped = step.placement and any(stop.finger for stop in step.placement.stops)
        if not (step.placement and stopped and step.placement.position > ceiling):
            continue
        if len(event.notes) > 1 or ceiling_from_notes(played, reach, (event,)) > ceiling:
            told = worded(
                "{} needs {}, above the {} that is the ceiling here",
                _names(event.notes),
                position_label(step.placement.position),
                ordinal(ceiling),
            )
            yield Notice(told, event.measure)
