"""A part fingered as the report does it, note by note."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from scoretools.analysis import instrument_of
from scoretools.fingering.ceiling import ceiling_from_notes
from scoretools.fingering.rows import Hand
from scoretools.fingering.search import Fingering, finger
from scoretools.fingering.weights import Weights, weights_for
from scoretools.hand import Reach, hand_reach
from scoretools.instrument import HIGHEST_POSITION, Instrument, position_label, string_names
from scoretools.model import (
    Address,
    Certainty,
    Event,
    Finger,
    Part,
    PositionNumber,
    Step,
    StringIndex,
)
from scoretools.player import Player
from scoretools.voices import decide

__all__ = ["Found", "Playing", "fingered", "found_in", "hand_for", "one_line", "playing", "say"]


@dataclass(frozen=True, slots=True)
class Found:
    """How a note is played."""

    string: StringIndex
    """String, 0 = lowest."""
    position: PositionNumber
    """Position; 0 = half position."""
    finger: Finger
    """Finger, 0 = open string."""
    margin: float | None = None
    """Points by which the best fingering with another string or finger costs more; none where
    there is no other."""
    certainty: Certainty | None = None
    """The margin in a word; none for a rule that weighs nothing."""


@dataclass(frozen=True, slots=True)
class Playing:
    """Who plays what."""

    player: Player
    """The player."""
    instrument: Instrument
    """The instrument."""
    reach: Reach
    """The player's reach."""
    weights: Weights
    """The profile's weights."""


def playing(part: Part, player: Player) -> Playing:
    """Put a player to a part.

    Raises
    ------
    PlayerError
        If the player plays another instrument than the part is for.
    """
    played = instrument_of(part, player)
    return Playing(player, played, hand_reach(played, player), weights_for(player))


def one_line(who: Playing, part: Part) -> Part:
    """Reduce a part to what one player plays."""
    any_height = Hand(who.instrument, who.reach, HIGHEST_POSITION, who.player.extensions)
    return decide(part, any_height)[0]


def hand_for(who: Playing, events: Sequence[Event]) -> Hand:
    """Make the hand, with its ceiling from the player, the profile, or what the events show."""
    ceiling = who.player.highest_position
    if ceiling is None:
        ceiling = who.weights.ceiling
    if ceiling is None:
        ceiling = ceiling_from_notes(who.instrument, who.reach, events)
    return Hand(who.instrument, who.reach, ceiling, who.player.extensions, who.player.known_shapes)


def fingered(who: Playing, part: Part) -> Fingering:
    """Finger a part, honouring the marks that it still carries."""
    return finger(hand_for(who, part.events), who.weights, part.events)


def found_in(events: Sequence[Event], steps: Sequence[Step]) -> Mapping[Address, Found]:
    """List how each note is played; notes that no hand can play are missing."""
    return {
        note.address: Found(
            choice.stop.string,
            step.placement.position,
            choice.stop.finger,
            choice.margin,
            choice.certainty,
        )
        for event, step in zip(events, steps, strict=True)
        if step.placement is not None
        for note, choice in zip(event.notes, step.choices, strict=True)
    }


def say(played: Instrument, found: Found | None) -> str:
    """Say how a note is played, such as ``3, D string, 3rd position``."""
    if found is None:
        return "no fingering"
    said = f"{found.finger}, {string_names(played)[found.string]} string"
    return f"{said}, {position_label(found.position)}" if found.finger else said
