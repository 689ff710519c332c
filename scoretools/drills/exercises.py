"""The exercises of a drill: which forms, on which strings, made for the demands they serve."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from scoretools.drills.forms import CARRIED, FORMS, Form, When
from scoretools.drills.groups import OF_ONE_HAND, Group, lead
from scoretools.drills.realise import realise
from scoretools.drills.spelling import carried_spelling
from scoretools.drills.vocabulary import (
    CARRIED_DOWN,
    WIDEST_FRAME,
    Sound,
    moved,
    vocabulary,
)
from scoretools.instrument import Instrument
from scoretools.model import (
    Demand,
    DemandKind,
    Event,
    Exercise,
    Pitch,
    Shape,
    StringIndex,
)
from scoretools.shapes import Span, spell_stop
from scoretools.stop_spelling import Spelling

__all__ = ["Written", "written"]

FAST_NOTES_PER_S = 3.0
"""Notes a second from which on a shape is practised in rhythms, not only in its places."""

MUCH = 0.05
"""Share of a part's demands from which on a shape is carried to strings the piece does not ask."""

FEWEST_FORMS, MOST_FORMS = 3, 7
"""Forms of one shape, by its share of the part."""


@dataclass(frozen=True, slots=True)
class Written:
    """The music that drills are written for."""

    instrument: Instrument
    """With its strings."""
    events: Sequence[Event]
    """All events of the part; drills are spelled as their bars are."""
    demands: Sequence[Demand]
    """All demands of the part."""
    spans: Sequence[Span]
    """How the hand lies."""
    spelled: Mapping[int, Pitch]
    """How the part spells its pitches (see `scoretools.stop_spelling.spelled_in`)."""

    def spelling(self, served: Sequence[Demand]) -> Spelling:
        """How the bars of some demands spell what lies under the fingers."""
        bars = [bar for demand in served for bar in demand.measures]
        bars += [self.events[event].measure for demand in served for event in demand.departures]
        spelling = Spelling.of(self.events, bars, self.spelled)
        for demand in served:
            if demand.kind is DemandKind.AUGMENTED_SECOND:
                spelling = self._with_neighbours(spelling, demand)
        return spelling

    def _with_neighbours(self, spelling: Spelling, demand: Demand) -> Spelling:
        """Spell an augmented second by neighbouring letters, whatever else the bars have."""
        low, high = (
            spelling.pitch(self.instrument, stop, demand.position) for stop in demand.stops
        )
        if high.letter - low.letter == 1:
            return spelling
        strings = self.instrument.strings
        under = (spell_stop(strings[s.string], demand.position, s) for s in demand.stops)
        return replace(spelling, here={**spelling.here, **{one.midi: one for one in under}})


def written(music: Written, group: Group, share: float) -> tuple[Exercise, ...]:
    """Write out the exercises of a group.

    Parameters
    ----------
    share
        Share of the part's demands that the group has, 0 to 1: a heavier shape gets more forms.

    Returns
    -------
    tuple of Exercise
        In order of practice, none twice; empty where nothing can be written.
    """
    served = [music.demands[index] for index in group.demands]
    if lead(served).kind in OF_ONE_HAND:
        found = _of_one_hand(music, served, share)
    else:
        found = (
            exercise
            for number, item in enumerate(group.items)
            for exercise in _of_item(music, [music.demands[index] for index in item], number == 0)
        )
    return tuple(_each_once(found))


def _each_once(found: Iterator[Exercise]) -> Iterator[Exercise]:
    have: set[object] = set()
    for exercise in found:
        sounds = tuple((n.stop, n.position, n.length_ql, n.silent) for n in exercise.notes)
        if sounds not in have:
            have.add(sounds)
            yield exercise


# ── one hand shape ──────────────────────────────────────────────────────────────────────────────


def _of_one_hand(music: Written, served: Sequence[Demand], share: float) -> Iterator[Exercise]:
    """The stretch, then the shape on its first string, then the other strings."""
    first = lead(served)
    leads = [
        max(
            (d for d in served if d.kind is kind),
            key=lambda d: (d.string == first.string, d.weight),
        )
        for kind in OF_ONE_HAND
        if any(demand.kind is kind for demand in served)
    ]
    fast = max(demand.notes_per_s for demand in served) >= FAST_NOTES_PER_S
    room = max(FEWEST_FORMS, min(MOST_FORMS, 2 + round(20 * share)))
    for demand in leads:
        words = _words(music, demand)
        yield from _realised(music, demand, served, words, _offered(words, demand, fast, room))
    if first.kind is not DemandKind.SHAPE and leads[-1].kind is not DemandKind.SHAPE:
        yield from _realised(music, first, served, _words(music, first), [CARRIED])
    for string in _other_strings(music.instrument, first, served, share >= MUCH):
        yield from _carried(music, first, string, served, CARRIED)


def _offered(
    words: Mapping[str, Sequence[Sound]], demand: Demand, fast: bool, room: int
) -> list[Form]:
    """Choose forms that can be played and suit the music: those of lowest rank, in their order."""
    suits = {
        When.ALWAYS,
        When.FAST if fast else When.SLOW,
        When.LOW if demand.position <= 1 else When.HIGH,
    }
    forms = FORMS[demand.kind]
    wide = demand.shape is not None and sum(demand.shape.gaps) > WIDEST_FRAME
    fit = [
        form
        for form in forms
        if form.when in suits
        and not (form.spread and wide)
        and all(token in words for token in form.tokens)
    ]
    return sorted(sorted(fit, key=lambda form: form.rank)[:room], key=forms.index)


def _other_strings(
    instrument: Instrument, first: Demand, served: Sequence[Demand], much: bool
) -> list[StringIndex]:
    """Strings to carry a shape to: those of the piece, heaviest first; of much, the neighbours."""
    weight: dict[StringIndex, float] = {}
    for demand in served:
        weight[demand.string] = weight.get(demand.string, 0.0) + demand.weight
    asked = sorted((s for s in weight if s != first.string), key=lambda s: (-weight[s], s))
    near = [first.string + 1, first.string - 1] if much else []
    more = [
        StringIndex(string)
        for string in near
        if 0 <= string < len(instrument.strings)
        and string not in asked
        and (string > first.string or first.position <= CARRIED_DOWN)
    ]
    return [*asked, *more]


# ── what changes, and what sounds together ──────────────────────────────────────────────────────


def _of_item(music: Written, served: Sequence[Demand], foremost: bool) -> Iterator[Exercise]:
    """All forms for the foremost item of a drill, the one that matters most for the others.

    A finger that changes does so on every string of the item, each in its own spelling.
    """
    demand = served[0]
    changes = demand.kind in (DemandKind.SHAPE_CHANGE, DemandKind.CHROMATIC_SLIDE)
    yield from _in_forms(music, demand, [demand] if changes else served, foremost)
    if changes:
        heaviest = {other.string: other for other in reversed(served)}
        del heaviest[demand.string]
        for other in sorted(heaviest.values(), key=served.index):
            yield from _in_forms(music, other, [other], foremost=False)


def _in_forms(
    music: Written, demand: Demand, served: Sequence[Demand], foremost: bool
) -> Iterator[Exercise]:
    words = _words(music, demand)
    forms = [f for f in FORMS[demand.kind] if all(token in words for token in f.tokens)]
    if not foremost:
        forms = sorted(forms, key=lambda form: form.rank)[:1]
    yield from _realised(music, demand, served, words, forms)


# ── writing ─────────────────────────────────────────────────────────────────────────────────────


def _words(music: Written, demand: Demand) -> Mapping[str, Sequence[Sound]]:
    key = music.events[demand.moments[0]].key
    return vocabulary(music.instrument, demand, key, _beside(music, demand))


def _beside(music: Written, demand: Demand) -> Shape | None:
    """The shape of a neighbouring string while the demand occurs, where it is another one."""
    if demand.shape is None:
        return None
    for span in music.spans:
        if span.first_event <= demand.moments[0] <= span.last_event:
            for shape in span.shapes:
                near = abs(shape.string - demand.string) == 1
                if near and len(shape.known) > 1 and shape.gaps != demand.shape.gaps:
                    return shape
    return None


def _carried(
    music: Written, demand: Demand, string: StringIndex, served: Sequence[Demand], form: Form
) -> Iterator[Exercise]:
    """Write out a form on another string; the signature has a sharp more for every string up."""
    own = _words(music, demand)
    stops = [
        (stop, sound.position)
        for token in form.tokens
        for sound in own.get(token, ())
        for stop in sound.stops
    ]
    spelling = carried_spelling(music.instrument, music.spelling(served), stops, string)
    words = _words(music, moved(music.instrument, demand, string))
    fifths = _fifths(music, demand) + string - demand.string
    exercise = realise(music.instrument, form, words, spelling, fifths)
    if exercise:
        yield exercise


def _realised(
    music: Written,
    demand: Demand,
    served: Sequence[Demand],
    words: Mapping[str, Sequence[Sound]],
    forms: Sequence[Form],
) -> Iterator[Exercise]:
    spelling, fifths = music.spelling(served), _fifths(music, demand)
    for form in forms:
        exercise = realise(music.instrument, form, words, spelling, fifths)
        if exercise:
            yield exercise


def _fifths(music: Written, demand: Demand) -> int:
    return music.events[demand.moments[0]].key.fifths or 0
