"""A fingering bar by bar, in short words: position, strings, notes and fingers.

Conventions: a string stands before its notes (``A:``, ``D+A:`` for a double stop), a finger after
its note (``C#5 2``, 0 for an open string). The position stands where a bar begins and where it
changes; ``→`` is a shift. A finger without brackets is sure, ``(2)`` is likely, ``(2?)`` is open.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from types import MappingProxyType

from scoretools.bar_names import is_upbeat
from scoretools.instrument import position_label
from scoretools.model import Analysis, Certainty, Event, Placement, Step, Stop
from scoretools.note_names import name_of, said
from scoretools.write.summary import bar_ranges

__all__ = ["BarLine", "Sign", "Token", "bar_lines", "beat_words", "legend", "stop_words"]


class Sign(StrEnum):
    """What a token is, for its colour."""

    POSITION = "position"
    SHIFT = "shift"
    STRING = "string"
    SURE = "sure"
    LIKELY = "likely"
    OPEN = "open"
    WORDS = "words"


@dataclass(frozen=True, slots=True)
class Token:
    """A few words that stay on one line."""

    text: str
    """The words."""
    sign: Sign
    """What they are."""


@dataclass(frozen=True, slots=True)
class BarLine:
    """One bar, or several without a note."""

    name: str
    """Its name, such as ``bar 12``; the rest of a divided bar is ``bar 8, from beat 3``."""
    measures: tuple[int, ...]
    """Indices of its bars."""
    tokens: tuple[Token, ...]
    """What is played in it."""


def bar_lines(
    analysis: Analysis,
    measures: Sequence[int],
    placements: Sequence[Placement | None] | None = None,
) -> tuple[BarLine, ...]:
    """Write bars, one line each; bars without a note are drawn together.

    Parameters
    ----------
    measures
        Indices of the bars, in order.
    placements
        Another plan than the chosen one, for every event of the part; nothing is said of how sure
        it is.
    """
    by_bar: dict[int, list[Event]] = {}
    for event in analysis.part.events:
        by_bar.setdefault(event.measure, []).append(event)
    plan = placements or [step.placement for step in analysis.steps]
    writer = _Writer(analysis, plan, certain=placements is None)
    lines: list[BarLine] = []
    empty: list[int] = []
    for measure in measures:
        events = by_bar.get(measure)
        if events is None:
            empty.append(measure)
            continue
        lines += _without_notes(analysis, empty)
        empty = []
        tokens = tuple(writer.bar(events))
        lines.append(BarLine(_heading(analysis, measure), (measure,), tokens))
    return (*lines, *_without_notes(analysis, empty))


def _without_notes(analysis: Analysis, measures: Sequence[int]) -> Iterator[BarLine]:
    if measures:
        words = Token("no note begins", Sign.WORDS)
        yield BarLine(bar_ranges(analysis, measures), tuple(measures), (words,))


def _heading(analysis: Analysis, measure: int) -> str:
    """Name a bar; what follows the bar line within a divided bar is told by its first beat."""
    name = bar_ranges(analysis, (measure,))
    here = analysis.part.measures[measure]
    if not here.upbeat or is_upbeat(analysis.part.measures, measure):
        return name
    upper, lower = here.time
    first = upper + 1 - here.duration_ql * Fraction(lower, 4)
    return f"{name}, from {beat_words(first, lower).removeprefix('after ')}"


def legend(lines: Sequence[BarLine]) -> str:
    """Explain the brackets, where there are some; else nothing."""
    signs = {token.sign for line in lines for token in line.tokens}
    said = [
        words
        for sign, words in (
            (Sign.LIKELY, "(2) is likely"),
            (Sign.OPEN, "(2?) is open: other players would choose otherwise"),
        )
        if sign in signs
    ]
    return f"A finger without brackets is sure; {'; '.join(said)}." if said else ""


_NTH = ("", "second", "third", "fourth")
_TRIPLET = (Fraction(1, 3), Fraction(2, 3))
_SHORT_NOTES = MappingProxyType({8: "eighth", 16: "sixteenth", 32: "thirty-second"})
"""Names of notes that are a quarter of a beat, by how many make a whole note."""


def beat_words(beat: Fraction, unit: int) -> str:
    """Say a beat as a teacher would.

    Parameters
    ----------
    beat
        Beat in the bar, from 1.
    unit
        Lower figure of the time signature.

    Returns
    -------
    str
        ``beat 2``, ``beat 2½``, ``beat 2 (second sixteenth)``, ``beat 2 (third of the triplet)``,
        else ``after beat 2``.
    """
    whole, rest = divmod(beat, 1)
    if not rest:
        return f"beat {whole}"
    if rest == Fraction(1, 2):
        return f"beat {whole}½"
    if rest in _TRIPLET:
        return f"beat {whole} ({_NTH[int(3 * rest)]} of the triplet)"
    short = _SHORT_NOTES.get(4 * unit)
    if (4 * rest).denominator == 1 and short:
        return f"beat {whole} ({_NTH[int(4 * rest)]} {short})"
    return f"after beat {whole}"


def stop_words(analysis: Analysis, stop: Stop) -> str:
    """Say how a note is played: ``open A string``, ``2 on the D string``."""
    name = said(analysis.string_names[stop.string])
    if stop.finger == 0:
        return f"harmonic on the {name} string" if stop.touched else f"open {name} string"
    touching = " touching" if stop.touched else ""
    return f"{stop.finger}{touching} on the {name} string"


# ── one bar ─────────────────────────────────────────────────────────────────────────────────────

_SIGNS = {
    Certainty.SURE: Sign.SURE,
    Certainty.LIKELY: Sign.LIKELY,
    Certainty.OPEN: Sign.OPEN,
}
_BRACKETS = {Sign.SURE: "{}", Sign.LIKELY: "({})", Sign.OPEN: "({}?)"}


@dataclass(slots=True)
class _Writer:
    """Writes the events of bars in turn, and knows where the hand was last."""

    analysis: Analysis
    plan: Sequence[Placement | None]
    certain: bool

    def bar(self, events: Sequence[Event]) -> Iterator[Token]:
        """Write one bar."""
        here = [event.index for event in events]
        before = self._first_down(range(here[0] - 1, -1, -1)) or self._first_down(here)
        told, strings = False, ""
        for event in events:
            place = self.plan[event.index]
            if place is None:
                yield Token(f"{_names(event)} not playable", Sign.WORDS)
                continue
            down = any(stop.finger for stop in place.stops)
            position = _position_token(before, place) if down else None
            if position is None and not told:
                position = self._waiting(before or place, here)
            if position is not None:
                yield position
                strings = ""
            told = True
            before = place if down else before
            if (on := self._strings(event, place)) != strings:
                strings = on
                yield Token(f"{strings}:", Sign.STRING)
            yield self._note(event, place)

    def _waiting(self, before: Placement, here: Sequence[int]) -> Token:
        """Name the position in which a bar begins without a shift."""
        if self._first_down(here) is None:
            return Token("open strings", Sign.POSITION)
        return Token(position_label(before.position), Sign.POSITION)

    def _first_down(self, events: Sequence[int]) -> Placement | None:
        """Find the first of these events at which a finger is down."""
        for index in events:
            place = self.plan[index]
            if place is not None and any(stop.finger for stop in place.stops):
                return place
        return None

    def _strings(self, event: Event, place: Placement) -> str:
        strings = (stop.string for stop in place.stops[: len(event.notes)])
        return "+".join(said(self.analysis.string_names[string]) for string in strings)

    def _note(self, event: Event, place: Placement) -> Token:
        fingers = "+".join(map(_finger, place.stops[: len(event.notes)]))
        sign = self._sign(self.analysis.steps[event.index])
        return Token(f"{_names(event)} {_BRACKETS[sign].format(fingers)}", sign)

    def _sign(self, step: Step) -> Sign:
        """Call a chord as sure as its least sure note."""
        if not self.certain:
            return Sign.SURE
        signs = [_SIGNS[choice.certainty] for choice in step.choices]
        return max(signs, key=list(_BRACKETS).index)


def _names(event: Event) -> str:
    return "+".join(said(name_of(note.pitch)) for note in event.notes)


def _finger(stop: Stop) -> str:
    return f"{stop.finger} harmonic" if stop.touched else str(stop.finger)


def _position_token(before: Placement | None, place: Placement) -> Token | None:
    """Tell where the hand comes to; none where it stays."""
    label = position_label(place.position)
    if before is None or before.position == place.position:
        return None
    if before.home == place.home:
        return Token(f"now called {label}", Sign.POSITION)
    return Token(f"→ {label}", Sign.SHIFT)
