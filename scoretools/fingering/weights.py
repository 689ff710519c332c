"""Profiles of weights: what each term of the cost is worth to whom.

The numbers live in ``weights.toml`` beside this file, in points per unit of a term.
"""

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any

from scoretools.model import PositionNumber
from scoretools.player import OPEN_STRING_WISHES, Player

__all__ = ["Bounds", "Weights", "weights_for"]


@dataclass(frozen=True, slots=True)
class Bounds:
    """What a margin means in words."""

    sure: float
    """Margin, in points, from which a fingering is *sure*."""
    likely: float
    """Margin, in points, from which it is *likely*."""


@dataclass(frozen=True, slots=True)
class Weights:
    """A profile: points per unit of each term, and what the margins mean in words."""

    profile: str
    """Name of the profile."""
    note: Mapping[str, float]
    """Points per unit of each note term."""
    step: Mapping[str, float]
    """Points per unit of each step term."""
    habit: Mapping[str, float]
    """Points per unit of each term of the second pass."""
    ceiling: PositionNumber | None
    """Highest position of the profile; none: from the notes."""
    in_first_position: "Bounds"
    """What the margins mean in a part that stays in first position or below."""
    higher: "Bounds"
    """What they mean in a part that goes higher, where tastes differ more."""


@cache
def _profiles() -> Mapping[str, Any]:
    text = files("scoretools.fingering").joinpath("weights.toml").read_text(encoding="utf-8")
    return MappingProxyType(tomllib.loads(text))


def weights_for(player: Player) -> Weights:
    """Weights of a player: those of the profile, changed by the player's wishes."""
    data = _profiles()
    profile = data[player.profile]
    note = dict(profile["note"])
    step = dict(profile["step"])
    wishes = data["wishes"]
    for wish in _wishes(player):
        for weights in (note, step):
            for name, change in wishes[wish].items():
                if name in weights:
                    weights[name] = weights[name] * change["times"] + change["plus"]
    ceiling = profile["limits"].get("ceiling")
    return Weights(
        profile=player.profile,
        note=MappingProxyType(note),
        step=MappingProxyType(step),
        habit=MappingProxyType(data["habit"]["points"]),
        ceiling=None if ceiling is None else PositionNumber(int(ceiling)),
        in_first_position=Bounds(**data["certainty"]["in_first_position"]),
        higher=Bounds(**data["certainty"]["higher"]),
    )


def _wishes(player: Player) -> Iterator[str]:
    if player.weak_fourth_finger:
        yield "weak_fourth_finger"
    if player.short_fourth_finger:
        yield "short_fourth_finger"
    if player.open_strings != OPEN_STRING_WISHES[1]:
        yield f"{player.open_strings}_open_strings"
    if player.known_shapes:
        yield "only_known_shapes" if player.only_known_shapes else "known_shapes"
