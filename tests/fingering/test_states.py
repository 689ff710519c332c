"""What the hand is offered for an event, and what printed marks and words ask of it."""

from dataclasses import replace
from fractions import Fraction

import pytest

from scoretools.fingering.rows import Hand
from scoretools.fingering.search import Fingering, finger
from scoretools.fingering.states import candidates, soundings
from scoretools.fingering.weights import weights_for
from scoretools.hand import hand_reach
from scoretools.instrument import instrument
from scoretools.model import (
    NO_MARKS,
    NO_WORDS,
    Address,
    Event,
    Finger,
    Harmonic,
    Key,
    Marks,
    Note,
    Ornament,
    OrnamentKind,
    Pitch,
    PositionNumber,
    PrintedString,
    Words,
)
from scoretools.player import Player

VIOLIN = instrument("violin")
HAND = Hand(VIOLIN, hand_reach(VIOLIN, Player()), PositionNumber(5))
G, D, A, E = range(4)


def pitch(name: str) -> Pitch:
    return Pitch(name[0], name.count("#") - name[1:].count("b"), int(name[-1]))


def note(name: str, marks: Marks = NO_MARKS, ornament: Ornament | None = None) -> Note:
    one = Fraction(1)
    place = Address("P1", 0, 0)
    return Note(pitch(name), one, one, "1", 1, False, False, marks, place, ornament=ornament)


def line(*chords: Note | tuple[Note, ...], words: Words = NO_WORDS) -> tuple[Event, ...]:
    return tuple(
        Event(
            index, 0, Fraction(index), index * 0.5, index * 0.5 + 0.5, Fraction(index + 1),
            chord if isinstance(chord, tuple) else (chord,), (), Key((0,) * 7, 0, None),
            False, False, words,
        )
        for index, chord in enumerate(chords)
    )  # fmt: skip


def fingered(*chords: Note | tuple[Note, ...], words: Words = NO_WORDS) -> Fingering:
    return finger(HAND, weights_for(Player()), line(*chords, words=words))


def stops(found: Fingering) -> list[tuple[tuple[int, int, int], ...]]:
    return [
        tuple((c.stop.string, c.stop.finger, c.stop.offset) for c in step.choices)
        for step in found.steps
    ]


# ── harmonics ───────────────────────────────────────────────────────────────────────────────────


def test_natural_harmonic_in_the_middle_of_the_string() -> None:
    # Source: the harmonic series; touched an octave above the open string it sounds the octave.
    (((string, finger_used, place),),) = stops(
        fingered(note("E6", Marks(harmonic=Harmonic.NATURAL)))
    )
    assert (string, place) == (E, 12)
    assert finger_used > 0


def test_artificial_harmonic_is_a_first_and_a_fourth_finger_on_one_string() -> None:
    # Source: touching a fourth above the stopped note sounds two octaves above it.
    base = note("B4", Marks(harmonic=Harmonic.ARTIFICIAL_BASE))
    touch = note("E5", Marks(harmonic=Harmonic.ARTIFICIAL_TOUCHING))
    sounds = note("B6", Marks(harmonic=Harmonic.ARTIFICIAL_SOUNDING))
    found = fingered((base, touch, sounds))
    (chord,) = stops(found)
    assert chord == ((A, 1, 2), (A, 4, 7), (A, 4, 7))
    assert [choice.stop.touched for choice in found.steps[0].choices] == [False, True, True]


def test_artificial_harmonic_printed_by_its_sound_alone() -> None:
    (((string, finger_used, place),),) = stops(
        fingered(note("B6", Marks(harmonic=Harmonic.ARTIFICIAL)))
    )
    assert (finger_used, VIOLIN.strings[string].midi + place) == (1, pitch("B4").midi)


def test_a_touched_note_below_its_stopped_one_is_an_ordinary_double_stop() -> None:
    touch = note("E4", Marks(harmonic=Harmonic.ARTIFICIAL_TOUCHING))
    base = note("C5", Marks(harmonic=Harmonic.ARTIFICIAL_BASE))
    found = fingered((touch, base))
    assert found.unplayable == ()
    assert len({string for string, _, _ in stops(found)[0]}) == 2


# ── ornaments ───────────────────────────────────────────────────────────────────────────────────


def test_both_notes_of_a_trill_have_a_finger_on_one_string() -> None:
    """In first position E5 under 4 leaves no finger for F#5 above it."""
    trill = Ornament(OrnamentKind.TRILL, (pitch("F#5"),))
    states = candidates(HAND, soundings((note("E5", ornament=trill),)), ())
    plain = candidates(HAND, soundings((note("E5"),)), ())
    assert states is not None
    assert plain is not None
    assert 4 in plain.finger
    assert 4 not in states.finger
    assert 0 in states.finger  # an open string trills with a finger


def test_an_ornament_beyond_the_hand_leaves_its_note_playable() -> None:
    wide = Ornament(OrnamentKind.TURN, (pitch("C7"),))
    assert candidates(HAND, soundings((note("E5", ornament=wide),)), ()) is not None


# ── marks and words ─────────────────────────────────────────────────────────────────────────────


def test_a_string_asked_for_in_words_is_kept() -> None:
    under = Words(string=PrintedString(4))
    found = fingered(note("A4"), note("B4"), note("C5"), words=under)
    assert {stop[0] for chord in stops(found) for stop in chord} == {G}
    free = fingered(note("A4"), note("B4"), note("C5"))
    assert G not in {stop[0] for chord in stops(free) for stop in chord}


def test_a_string_asked_for_in_words_spares_what_lies_below_it() -> None:
    found = fingered(note("B3"), words=Words(string=PrintedString(1)))
    assert stops(found) == [((G, 2, 4),)]
    assert found.marks_broken == (0,)


def test_a_position_in_words_is_kept() -> None:
    third = Marks(position=PositionNumber(3))
    found = fingered(note("D5", third), note("E5"), note("F5"))
    assert stops(found)[0] == ((A, 1, 5),)
    placement = found.steps[0].placement
    assert placement is not None
    assert placement.position == 3


def test_restez_keeps_the_hand_where_it_is() -> None:
    third = Marks(position=PositionNumber(3), fingers=(Finger(1),))
    music = (note("D5", third), note("E5"), note("A4"), note("B4"), note("C5"))
    stays = fingered(*music, words=Words(stay=True))
    positions = {step.placement.position for step in stays.steps if step.placement}
    assert positions == {3}


def test_a_slide_is_drawn_by_one_finger() -> None:
    music = [note("B4"), note("D5")]
    music[0] = replace(music[0], glides=True)
    (before,), (after,) = stops(fingered(*music))
    assert before[:2] == after[:2]
    (before,), (after,) = stops(fingered(note("B4"), note("D5")))
    assert before[1] != after[1]


@pytest.mark.parametrize("fingers", [(1, 2), (2, 1)])
def test_alternative_fingers_are_both_allowed(fingers: tuple[int, int]) -> None:
    allowed = Marks(fingers=tuple(Finger(f) for f in fingers))
    found = fingered(note("B4", allowed))
    assert found.marks_broken == (0,)
    assert stops(found)[0][0][1] in fingers
