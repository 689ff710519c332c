"""A picture of the fingerboard in words, for a reader who does not see it."""

from collections.abc import Iterator

from scoretools.instrument import position_label, string_names
from scoretools.model import StringIndex
from scoretools.note_names import said
from scoretools.write.fingerboard_values import (
    Board,
    Spot,
    across,
    close,
    distances,
    moves,
    position_places,
)

__all__ = ["description", "title"]

_CHECKS = {
    "unison": {0: "a unison with"},
    "octave": {12: "an octave above", -12: "an octave below"},
    "fourth": {-5: "a fourth below"},
    "sixth": {9: "a sixth above"},
}
"""How a check is said, by the semitones from the open string."""


def title(board: Board) -> str:
    """Name the strings in use and the position: ``D and A strings, 1st position``."""
    names = _strings(board)
    used = sorted({spot.stop.string for spot in board.spots})
    where = f"{_listed([names[string] for string in used])} string{'s' * (len(used) > 1)}"
    return f"{where if used else 'Fingerboard'}, {_positions(board)}"


def _positions(board: Board) -> str:
    """Name the position of the hand, and others to which a first finger moves."""
    places = sorted({board.position, *position_places(board)})
    return _listed([position_label(position) for position in places])


def description(board: Board, in_mm: bool) -> str:
    """Say where the fingers are, which are close, what moves, and what can be tested.

    Parameters
    ----------
    in_mm
        Whether to say how far neighbouring fingers lie apart.
    """
    used = [string for string in board.strings if any(_on(board, string))]
    sentences = [_string_sentence(board, string) for string in used]
    sentences += _across_sentences(board)
    sentences += [_move_sentence(board, here, there) for here, there in moves(board)]
    sentences += [_check_sentence(board, spot) for spot in board.fingers if spot.check]
    sentences += _distance_sentences(board) if in_mm else []
    return " ".join(sentences) or "No finger is down."


def _on(board: Board, string: StringIndex) -> Iterator[Spot]:
    yield from (spot for spot in board.spots if (spot.stop.string, spot.stop.finger) == (string, 0))
    yield from board.on(string)


def _string_sentence(board: Board, string: StringIndex) -> str:
    name = _strings(board)[string]
    told = ", ".join(_place(board, spot) for spot in _on(board, string))
    return f"{_spoken(name)} string, {_positions(board)}: {told}."


def _place(board: Board, spot: Spot) -> str:
    if not spot.stop.finger:
        return "open string"
    # A finger that does not play has its place named, never as if it were down.
    place = "would lie on" if spot.implied else "on"
    near = [low.stop.finger for low, high in close(board) if high == spot]
    wide = [
        low.stop.finger
        for low, high, _ in distances(board)
        if high == spot and spot.stop.offset - low.stop.offset == 3
        and spot.stop.finger - low.stop.finger == 1
    ]  # fmt: skip
    beside = "".join(
        [f" close to {finger}" for finger in near]
        + [f" an augmented second above {finger}" for finger in wide]
    )
    return f"{spot.stop.finger} {place} {_spoken(spot.letter)}{beside}"


def _across_sentences(board: Board) -> list[str]:
    names = _strings(board)
    return [
        f"{low.stop.finger} lies across the {names[low.stop.string]} and "
        f"{names[high.stop.string]} strings."
        for low, high in across(board).items()
    ]


def _move_sentence(board: Board, here: Spot, there: Spot) -> str:
    name = _strings(board)[here.stop.string]
    return (
        f"On the {_spoken(name)} string {here.stop.finger} moves from "
        f"{_spoken(here.letter)} to {_spoken(there.letter)}."
    )


def _check_sentence(board: Board, spot: Spot) -> str:
    strings = board.instrument.strings
    sounding = strings[spot.stop.string].midi + spot.stop.offset
    ways = _CHECKS.get(spot.check, {})
    for near in (spot.stop.string + 1, spot.stop.string - 1):
        if 0 <= near < len(strings) and sounding - strings[near].midi in ways:
            against = _strings(board)[near]
            way = ways[sounding - strings[near].midi]
            return f"{spot.stop.finger} on {_spoken(spot.letter)} is {way} open {against}."
    return f"{spot.stop.finger} on {_spoken(spot.letter)}: test the {spot.check}."


def _distance_sentences(board: Board) -> list[str]:
    return [
        f"{low.stop.finger} to {high.stop.finger} on the "
        f"{_strings(board)[low.stop.string]} string: {apart:.0f} mm."
        for low, high, apart in distances(board)
    ]


def _listed(names: list[str]) -> str:
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def _strings(board: Board) -> list[str]:
    return [said(name) for name in string_names(board.instrument)]


def _spoken(name: str) -> str:
    """Say the name of a note: ``C sharp`` for ``C#``."""
    name = said(name)
    signs = {"#": " sharp", "♯": " sharp", "b": " flat", "♭": " flat"}
    return name[:1] + "".join(signs.get(sign, sign) for sign in name[1:])
