"""What a string part asks of the left hand, and what to practise first.

>>> import scoretools
>>> part = scoretools.read_part("study.musicxml")          # doctest: +SKIP
>>> analysis = scoretools.analyse(part)                     # doctest: +SKIP
>>> scoretools.notes_table(analysis)                        # doctest: +SKIP

Heavy libraries are imported on first use.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from scoretools.version import VERSION

if TYPE_CHECKING:
    from scoretools.analysis import analyse
    from scoretools.errors import ScoretoolsError
    from scoretools.model import Analysis, Part
    from scoretools.player import Player, read_player
    from scoretools.read import read_part
    from scoretools.write.tables import demands_table, drills_table, notes_table, passages_table

__all__ = [
    "Analysis",
    "Part",
    "Player",
    "ScoretoolsError",
    "__version__",
    "analyse",
    "demands_table",
    "drills_table",
    "notes_table",
    "passages_table",
    "read_part",
    "read_player",
]

__version__ = VERSION

_ROOMS = {
    "Analysis": "model",
    "Part": "model",
    "Player": "player",
    "ScoretoolsError": "errors",
    "analyse": "analysis",
    "demands_table": "write.tables",
    "drills_table": "write.tables",
    "notes_table": "write.tables",
    "passages_table": "write.tables",
    "read_part": "read",
    "read_player": "player",
}


def __getattr__(name: str) -> Any:
    """Import a public name from its room on first use."""
    if name not in _ROOMS:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_ROOMS[name]}"), name)


def __dir__() -> list[str]:
    return __all__
