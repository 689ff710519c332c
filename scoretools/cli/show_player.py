"""How a player file is understood, in a musician's words: what it gives, then what is as usual."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from rich.console import Console

from scoretools.cli.show import show_section
from scoretools.instrument import position_label
from scoretools.note_names import NoteNames
from scoretools.player import Paper, Player
from scoretools.write.summary import listed

__all__ = ["show_player"]


@dataclass(frozen=True, slots=True)
class _Line:
    """What is said of a field."""

    field: str
    """Field of the player."""
    about: str
    """What it is about."""
    said: Callable[[Player], str]
    """What holds for a player; empty where another line says it."""


def show_player(player: Player) -> None:
    """Print how a player is understood; what the file leaves as usual comes after the rest."""
    console = Console(highlight=False)
    usual = Player()
    given: list[tuple[str, str]] = []
    as_usual: list[tuple[str, str]] = []
    for line in _LINES:
        if said := line.said(player):
            same = getattr(player, line.field) == getattr(usual, line.field)
            (as_usual if same else given).append(("- ", f"{line.about}: {said}"))
    show_section(console, "As the file says", given or [("", "Nothing.")])
    show_section(console, "As usual, since the file says nothing else", as_usual)


# ── words ───────────────────────────────────────────────────────────────────────────────────────


def _all_of(values: tuple[str, ...]) -> str:
    return listed(values) or "none yet"


def _length(player: Player) -> str:
    return f"{player.string_length_mm:g} mm" if player.string_length_mm else ""


def _size(player: Player) -> str:
    if player.string_length_mm:
        return ""
    return player.size or "full-size violin, or medium viola"


def _reach(player: Player) -> str:
    return (
        f"{player.reach_mm:g} mm" if player.reach_mm else "that of a hand that fits the instrument"
    )


def _highest(player: Player) -> str:
    if player.highest_position is None:
        return "as high as the notes go"
    return position_label(player.highest_position)


def _positions(player: Player) -> str:
    if player.known_positions is not None:
        return listed([position_label(position) for position in player.known_positions])
    return "1st only" if player.highest_position is None else "all up to the highest"


def _days(player: Player) -> str:
    return "every day" if player.days_per_week == 7 else f"{player.days_per_week} days in a week"


def _lesson(player: Player) -> str:
    return f"on {player.lesson.isoformat()}" if player.lesson else ""


def _days_to_lesson(player: Player) -> str:
    return "" if player.lesson else f"in {player.days} day{'' if player.days == 1 else 's'}"


_OPEN_STRINGS: Mapping[str, str] = MappingProxyType(
    {
        "welcome": "welcome",
        "as usual": "neither sought nor avoided",
        "avoid": "avoided where it can be helped",
    }
)

_NAMES: Mapping[NoteNames, str] = MappingProxyType(
    {
        NoteNames.LETTERS: "letters (C D E)",
        NoteNames.SOLFEGE: "solfège (do ré mi)",
        NoteNames.GERMAN: "German (H for B, B for B flat)",
    }
)

_PAPERS: Mapping[Paper, str] = MappingProxyType({Paper.A4: "A4", Paper.LETTER: "Letter"})

_LINES = (
    _Line("name", "name", lambda player: player.name),
    _Line("instrument", "instrument", lambda player: player.instrument or "that of the part"),
    _Line("size", "size", _size),
    _Line("string_length_mm", "sounding length of the strings", _length),
    _Line("reach_mm", "reach from first to fourth finger", _reach),
    _Line("highest_position", "highest position", _highest),
    _Line("profile", "plays as a", lambda player: player.profile.replace("-", " ")),
    _Line("known_shapes", "hand shapes known", lambda player: _all_of(player.known_shapes)),
    _Line("shapes_in_work", "hand shapes in work", lambda player: _all_of(player.shapes_in_work)),
    _Line("known_positions", "positions known", _positions),
    _Line("known_double_stops", "double stops known",
          lambda player: _all_of(player.known_double_stops)),
    _Line("only_known_shapes", "hand shapes not known yet",
          lambda player: ("only where there is no way round them" if player.only_known_shapes
                          else "taken where they lie well")),
    _Line("weak_fourth_finger", "fourth finger",
          lambda player: "spared" if player.weak_fourth_finger else "used like the others"),
    _Line("short_fourth_finger", "reaching up with the fourth finger",
          lambda player: ("avoided where it can be helped" if player.short_fourth_finger
                          else "allowed")),
    _Line("open_strings", "open strings", lambda player: _OPEN_STRINGS[player.open_strings]),
    _Line("extensions", "stretched fingers",
          lambda player: "allowed" if player.extensions else "only where there is no other way"),
    _Line("minutes_per_day", "time for the drills",
          lambda player: f"{player.minutes_per_day} minutes a day"),
    _Line("days_per_week", "practice", _days),
    _Line("lesson", "next lesson or performance", _lesson),
    _Line("days", "next lesson", _days_to_lesson),
    _Line("note_names", "names of notes", lambda player: _NAMES[player.note_names]),
    _Line("paper", "paper", lambda player: _PAPERS[player.paper]),
    _Line("left_handed", "strings", lambda player: "in the usual order"),
)  # fmt: skip
"""What is said of each field, in order; every field of `Player` has a line."""
