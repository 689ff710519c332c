"""How the note under a finger is spelled: as the part spells it, else as its key would.

A stop is a place on a string; the same place is E or F-flat. What a player reads in the bars at
hand counts most. For a note that does not stand there the letter under the finger goes first, as
long as the key signature has it; E-sharp, B-sharp, C-flat and F-flat are written only where the
part or its key has them (common practice, no published source).
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType

from scoretools.instrument import Instrument
from scoretools.model import Event, Key, Pitch, PositionNumber, Stop
from scoretools.shapes import spell_stop

__all__ = ["Spelling", "spelled_in"]

_RARE = frozenset({("E", 1), ("B", 1), ("C", -1), ("F", -1)})
"""Names that need the key or the part behind them, since a natural has the same pitch."""


@dataclass(frozen=True, slots=True)
class Spelling:
    """How some bars of a part spell what lies under the fingers."""

    key: Key
    """Key signature in force there."""
    here: Mapping[int, Pitch] = field(default_factory=lambda: MappingProxyType({}))
    """Spellings of these bars, by MIDI number."""
    elsewhere: Mapping[int, Pitch] = field(default_factory=lambda: MappingProxyType({}))
    """Spellings of the whole part, by MIDI number."""

    @classmethod
    def of(
        cls, events: Sequence[Event], measures: Iterable[int], elsewhere: Mapping[int, Pitch]
    ) -> "Spelling":
        """Read off how some bars spell their pitches; the commonest spelling counts.

        Parameters
        ----------
        events
            All events of the part.
        measures
            Indices of the bars, the one whose key signature counts first.
        elsewhere
            What `spelled_in` says of all events.
        """
        wanted = dict.fromkeys(measures)
        first = next(iter(wanted))
        here = [event for event in events if event.measure in wanted]
        key = next((event.key for event in here if event.measure == first), here[0].key)
        return cls(key, spelled_in(here), elsewhere)

    def pitch(self, instrument: Instrument, stop: Stop, position: PositionNumber) -> Pitch:
        """Spell a stop."""
        string = instrument.strings[stop.string]
        midi = string.midi + stop.offset
        if midi in self.here:
            return self.here[midi]
        under = spell_stop(string, position, stop)
        if _in_key(under, self.key):
            return under
        candidates = (*_of_key(midi, self.key), self.elsewhere.get(midi), under)
        plain = (pitch for pitch in candidates if pitch and _is_plain(pitch, self))
        return next(plain, None) or _natural(midi)


def spelled_in(events: Iterable[Event]) -> Mapping[int, Pitch]:
    """Give the commonest spelling of every pitch, by MIDI number."""
    heard = Counter(note.pitch for event in events for note in event.notes)
    return {pitch.midi: pitch for pitch, _ in reversed(heard.most_common())}


def _in_key(pitch: Pitch, key: Key) -> bool:
    return key.alters[pitch.letter % 7] == pitch.alter


def _of_key(midi: int, key: Key) -> Iterator[Pitch]:
    """The notes of the key that sound so: one, or none."""
    for octave in (midi // 12 - 2, midi // 12 - 1, midi // 12):
        for step, alter in zip("CDEFGAB", key.alters, strict=True):
            pitch = Pitch(step, alter, octave)
            if pitch.midi == midi:
                yield pitch


def _is_plain(pitch: Pitch, spelling: Spelling) -> bool:
    if (pitch.step, pitch.alter) not in _RARE:
        return True
    return _in_key(pitch, spelling.key) or spelling.elsewhere.get(pitch.midi) == pitch


def _natural(midi: int) -> Pitch:
    plain = (Pitch(step, 0, midi // 12 - 1) for step in "CDEFGAB")
    return next(pitch for pitch in plain if pitch.midi == midi)
