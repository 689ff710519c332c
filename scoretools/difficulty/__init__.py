"""How hard a part is for the left hand: features, and rubrics that make a level of them."""

from scoretools.difficulty.features import FEATURES, Feature, features
from scoretools.difficulty.rubric import Level, Rubric, level, tempo_is_assumed
from scoretools.difficulty.rubric_file import SHIPPED, read_rubric

__all__ = [
    "FEATURES",
    "SHIPPED",
    "Feature",
    "Level",
    "Rubric",
    "features",
    "level",
    "read_rubric",
    "tempo_is_assumed",
]
