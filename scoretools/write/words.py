"""Words over the notes: the position, the string and the shape of the hand, in a few letters.

Conventions: as a text ASCII only (for a person see `scoretools.note_names.said`), and never a bare
roman numeral, which may mean a string or a position.
Words stand at the first note they are about. ``sul D`` holds until ``loco``.
"""

from collections import Counter
from collections.abc import Collection, Iterator

from scoretools.hand import FINGERS, gap_letters
from scoretools.instrument import ordinal
from scoretools.model import Analysis, Finger, Passage, PositionNumber, Shape, StringIndex
from scoretools.note_names import worded
from scoretools.write.hand_walk import Moment, moments
from scoretools.write.marks import ON_NEXT_STRING, Amount
from scoretools.write.named_positions import SETTLED

__all__ = ["ROOM", "SHAPE_KNOWN", "position_words", "shape_words", "words_over"]

SHAPE_KNOWN = 3
"""Fingers that play on a string in a passage, from which on its shape is told."""

ROOM = 2
"""Bars from one shape in words to the next, so that they do not run into each other."""

_PAIRS = ("1 and 2", "2 and 3", "3 and 4")
_CLOSE: dict[tuple[bool, ...], str] = {
    (False, False, False): "whole steps",
    (True, False, False): "1 and 2 close",
    (False, True, False): "2 and 3 close",
    (False, False, True): "3 and 4 close",
    (True, True, False): "1, 2 and 3 close",
    (False, True, True): "2, 3 and 4 close",
    (True, False, True): "1-2 and 3-4 close",
    (True, True, True): "all close",
}
"""What to say of a shape without wide gaps, by which of its gaps are half steps."""


def words_over(analysis: Analysis, amount: Amount) -> dict[int, tuple[str, ...]]:
    """Choose words on strings and shapes.

    Returns
    -------
    dict
        Words by index of the event they stand over: on the string, and on the shape, each of which
        may be empty.
    """
    if amount is Amount.NONE:
        return {}
    strings = dict(_strings(analysis))
    shapes = dict(_shapes(analysis, amount))
    return {
        event: (strings.get(event, ""), shapes.get(event, ""))
        for event in sorted(strings.keys() | shapes.keys())
    }


# ── positions ───────────────────────────────────────────────────────────────────────────────────


def position_words(position: PositionNumber) -> str:
    """Write a position: ``half pos.``, ``3rd pos.``."""
    return "half pos." if position == 0 else f"{ordinal(position)} pos."


# ── strings ─────────────────────────────────────────────────────────────────────────────────────


def _strings(analysis: Analysis) -> Iterator[tuple[int, str]]:
    """Yield ``sul D`` where a run goes on high on a string that is not the highest, and its end.

    In first position all these notes would be on the next string. Where the score itself has words
    on the string in force, nothing is added.
    """
    for run, ending in _runs(analysis):
        stops = [moment.down[0] for moment in run]
        high = [stop.offset >= ON_NEXT_STRING for stop in stops]
        top = stops[0].string == len(analysis.string_names) - 1
        printed = any(moment.event.words.string is not None for moment in run)
        if not top and not printed and sum(high) >= max(SETTLED, len(run) // 2 + 1):
            yield run[0].event.index, worded("sul {}", analysis.string_names[stops[0].string])
            if ending is not None:
                yield ending.event.index, "loco"


def _runs(analysis: Analysis) -> Iterator[tuple[list[Moment], Moment | None]]:
    """Yield runs of single stopped notes on one string, and the event that ends each."""
    run: list[Moment] = []
    for moment in moments(analysis):
        string = moment.down[0].string if len(moment.down) == len(moment.choices) == 1 else None
        if run and string != run[0].down[0].string:
            yield run, moment
            run = []
        if string is not None:
            run.append(moment)
    if run:
        yield run, None


# ── shapes ──────────────────────────────────────────────────────────────────────────────────────


def _shapes(analysis: Analysis, amount: Amount) -> Iterator[tuple[int, str]]:
    """Yield shapes at the first note on their string: sparse, each where it is first needed.

    Words take room: what comes too close behind the last ones waits for the next time.
    """
    room = ROOM if amount is Amount.SPARSE else 1
    told: set[str] = set()
    latest: dict[StringIndex, str] = {}
    last = -room
    for passage in analysis.passages:
        shape = _main_shape(analysis, passage)
        event = None if shape is None else _first_on(analysis, passage, shape.string)
        if shape is None or event is None:
            continue
        words = shape_words(shape.gaps, shape.known)
        known = not words or words in told
        if amount is not Amount.SPARSE:
            known = not words or latest.get(shape.string) == words
        measure = analysis.part.events[event].measure
        if not known and measure - last >= room:
            told |= {words, words.partition(", ")[2]}  # what lies close is known with its shape
            latest[shape.string] = words
            last = measure
            yield event, words


def _main_shape(analysis: Analysis, passage: Passage) -> Shape | None:
    """Return the shape under which most notes of a passage are played, if it is well known."""
    played = Counter(
        choice.stop.string
        for step in analysis.steps[passage.first_event : passage.last_event + 1]
        for choice in step.choices
        if choice.stop.finger
    )
    known = [
        shape
        for shape in passage.shapes
        if len(shape.known) >= SHAPE_KNOWN and "?" not in gap_letters(shape.gaps)
    ]
    return max(known, key=lambda shape: played[shape.string], default=None)


def _first_on(analysis: Analysis, passage: Passage, string: StringIndex) -> int | None:
    return next(
        (
            event
            for event in range(passage.first_event, passage.last_event + 1)
            if any(c.stop.string == string and c.stop.finger for c in analysis.steps[event].choices)
        ),
        None,
    )


def shape_words(gaps: tuple[int, int, int], known: Collection[Finger] = FINGERS) -> str:
    """Write a shape: ``W-H-W, 2 and 3 close``; of a wide gap it says where, which is enough.

    Of a shape in which not all fingers play, only what lies between those that do is said:
    ``2 and 3 close``; nothing where that is a single whole step.

    Parameters
    ----------
    gaps
        Semitones between fingers 1 and 2, 2 and 3, 3 and 4; each 1 to 3.
    known
        Fingers that play.
    """
    played = [lower in known and lower + 1 in known for lower in FINGERS[:-1]]
    pairs = zip(_PAIRS, gaps, played, strict=True)
    wide = [pair for pair, gap, here in pairs if here and gap > 2]
    close = tuple(gap == 1 and here for gap, here in zip(gaps, played, strict=True))
    said = ", ".join(f"{pair} wide" for pair in wide) or _CLOSE[close]
    if all(played):
        return f"{gap_letters(gaps)}, {said}"
    if wide or any(close):
        return said
    if played.count(True) < 2:
        return ""
    return "whole steps from 1 to 3" if played[0] else "whole steps from 2 to 4"
