"""Profiles of weights: what each term of the cost is worth to whom.

The numbers live in ``weights.toml`` beside this file, in points per unit of a term.
"""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any

from scoretools.model import PositionNumber
from scoretools.player import Player

__all__ = ["Weights", "weights_for"]


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
    sure: float
    """Margin, in points, from which a fingering is *sure*."""
    likely: float
    """Margin, in points, from which it is *likely*."""


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
    if player.weak_fourth_finger:
        note["fourth finger"] *= wishes["weak_fourth_finger"]["fourth finger"]
    if player.open_strings == "avoid":
        note["open string"] += wishes["avoid_open_strings"]["open string"]
    if player.open_strings == "welcome":
        note["open string"] *= wishes["welcome_open_strings"]["open string"]
        note["open string rings on"] *= wishes["welcome_open_strings"]["open string rings on"]
    ceiling = profile["limits"].get("ceiling")
    return Weights(
        profile=player.profile,
        note=MappingProxyType(note),
        step=MappingProxyType(step),
        habit=MappingProxyType(data["habit"]["points"]),
        ceiling=None if ceiling is None else PositionNumber(int(ceiling)),
        sure=data["certainty"]["margin"]["sure"],
        likely=data["certainty"]["margin"]["likely"],
    )
