"""The parts of a score, and which of them is meant.

Conventions: parts are numbered from 1 in the order of the score. A name fits when it equals the
part's name, abbreviation or ``id`` (capitals ignored); else when it begins, else when it is
contained in the name of one part alone.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from scoretools.errors import PartNotFound
from scoretools.read.document import Element, text_of
from scoretools.read.instruments import VIOLA, VIOLIN, ordinal_words, recognised

__all__ = ["ScorePart", "chosen", "listing", "score_parts"]

_LONGEST_NAME = 60
_MOST_DIGITS = 10


@dataclass(frozen=True, slots=True)
class ScorePart:
    """One part of a score, not yet read."""

    number: int
    """Place in the score, from 1."""
    part_id: str
    """Its ``id``."""
    name: str
    """Name as printed, empty when there is none."""
    abbreviation: str
    """Short name, empty when there is none."""
    instrument: str
    """``violin``, ``viola``, or empty for anything else."""
    alto_clef: bool
    """Whether it begins in the alto clef."""
    staves: int
    """How many staves it has."""
    element: Element
    """Its measures."""


def score_parts(root: Element) -> tuple[ScorePart, ...]:
    """Return the parts of a score in their order.

    Parameters
    ----------
    root : Element
        A ``score-partwise`` element.

    Returns
    -------
    tuple of ScorePart
        Parts that have measures; a part the list of parts does not know has no name.

    Raises
    ------
    Nothing.
    """
    heads = _heads(root)
    elements = list(root.iterchildren("part"))
    return tuple(
        _score_part(number, element, heads.get(element.get("id", ""), (None, "")))
        for number, element in enumerate(elements, 1)
    )


def listing(parts: Sequence[ScorePart]) -> str:
    """Return the parts with their numbers, for a message.

    Parameters
    ----------
    parts : sequence of ScorePart
        Any parts.

    Returns
    -------
    str
        Such as ``(1) Violin I, (2) Violin II``.

    Raises
    ------
    Nothing.
    """
    return ", ".join(f"({part.number}) {part.name or 'no name'}" for part in parts)


def chosen(
    source: str, parts: Sequence[ScorePart], part: str | int | None
) -> tuple[ScorePart, tuple[str, ...]]:
    """Return the part that is meant, and what the user should know about the choice.

    Parameters
    ----------
    source : str
        The file's name, for messages.
    parts : sequence of ScorePart
        The parts of the score.
    part : str, int or None
        A name, a number from 1, or none for the first violin or viola part.

    Returns
    -------
    ScorePart
        The part; its instrument is never empty.
    tuple of str
        Sentences about what was assumed.

    Raises
    ------
    PartNotFound
        No part fits, or several do; the message lists the parts.
    """
    if not parts:
        raise PartNotFound(f"{source}: the score holds no parts; export it again with its music.")
    if part is None or (isinstance(part, str) and not part.strip()):
        return _by_default(source, parts)
    if isinstance(part, int) or (part.strip().isdecimal() and len(part) < _MOST_DIGITS):
        found = _by_number(source, parts, int(part))
    else:
        found = _by_name(source, parts, part.strip())
    return _as_string_part(found)


def _heads(root: Element) -> dict[str, tuple[Element | None, str]]:
    """Return for each part ``id`` its entry in the list of parts and the name of its group."""
    heads: dict[str, tuple[Element | None, str]] = {}
    groups: dict[str, str] = {}
    for entry in root.iterfind("part-list/*"):
        if entry.tag == "part-group":
            number = entry.get("number", "1")
            if entry.get("type") == "stop":
                groups.pop(number, None)
            else:
                groups[number] = text_of(entry.find("group-name"))
        elif entry.tag == "score-part":
            heads.setdefault(entry.get("id", ""), (entry, " ".join(filter(None, groups.values()))))
    return heads


def _score_part(number: int, element: Element, head: tuple[Element | None, str]) -> ScorePart:
    entry, group = head
    name = _text(entry, "part-name") or _display(entry, "part-name-display")
    abbreviation = _text(entry, "part-abbreviation") or _display(entry, "part-abbreviation-display")
    alto_clef = _alto_clef(element)
    instruments = _texts(entry, "score-instrument/instrument-name")
    staves = element.find("measure/attributes/staves")
    return ScorePart(
        number=number,
        part_id=element.get("id", ""),
        name=name[:_LONGEST_NAME],
        abbreviation=abbreviation[:_LONGEST_NAME],
        instrument=recognised(
            name,
            (abbreviation, *instruments, group),
            _texts(entry, "score-instrument/instrument-sound"),
            _texts(entry, "midi-instrument/midi-program"),
            alto_clef,
        ),
        alto_clef=alto_clef,
        staves=int(text) if (text := text_of(staves)).isdecimal() and len(text) < 3 else 1,
        element=element,
    )


def _text(entry: Element | None, path: str) -> str:
    return text_of(entry.find(path)) if entry is not None else ""


def _texts(entry: Element | None, path: str) -> tuple[str, ...]:
    if entry is None:
        return ()
    return tuple(text for found in entry.iterfind(path) if (text := text_of(found)))


def _display(entry: Element | None, path: str) -> str:
    return " ".join(_texts(entry, f"{path}/display-text"))


def _alto_clef(element: Element) -> bool:
    clef = element.find("measure/attributes/clef")
    if clef is None:
        return False
    return text_of(clef.find("sign")) == "C" and text_of(clef.find("line")) in ("3", "")


def _by_default(source: str, parts: Sequence[ScorePart]) -> tuple[ScorePart, tuple[str, ...]]:
    strings = [part for part in parts if part.instrument]
    if strings:
        if len(parts) == 1:
            return strings[0], ()
        said = f"The part read is {strings[0].name or strings[0].instrument} (part "
        return strings[0], (f"{said}{strings[0].number} of {len(parts)}).",)
    if len(parts) == 1 and parts[0].staves == 1:
        return _as_string_part(parts[0])
    raise PartNotFound(
        f"{source}: the score names no violin or viola part; it has {listing(parts)}: "
        "choose one by its name or number."
    )


def _by_number(source: str, parts: Sequence[ScorePart], number: int) -> ScorePart:
    if 1 <= number <= len(parts):
        return parts[number - 1]
    raise PartNotFound(
        f"{source}: there is no part number {number}; the score has {listing(parts)}: "
        "choose one of these."
    )


def _by_name(source: str, parts: Sequence[ScorePart], name: str) -> ScorePart:
    wanted = name.casefold()
    words = ordinal_words(name)
    tests: tuple[Callable[[ScorePart], bool], ...] = (
        lambda part: wanted in _called(part),
        lambda part: ordinal_words(part.name) == words,
        lambda part: any(called.startswith(wanted) for called in _called(part)),
        lambda part: any(wanted in called for called in _called(part)),
    )
    for test in tests:
        fitting = [part for part in parts if test(part)]
        if len(fitting) == 1:
            return fitting[0]
        if fitting:
            raise PartNotFound(
                f"{source}: several parts fit “{name}”, namely {listing(fitting)}: "
                "choose one by its number."
            )
    raise PartNotFound(
        f"{source}: no part fits “{name}”; the score has {listing(parts)}: "
        "choose one by its name or number."
    )


def _called(part: ScorePart) -> tuple[str, ...]:
    return (part.name.casefold(), part.abbreviation.casefold(), part.part_id.casefold())


def _as_string_part(part: ScorePart) -> tuple[ScorePart, tuple[str, ...]]:
    """Return the part with an instrument, assumed from its clef where the score names none."""
    if part.instrument:
        return part, ()
    instrument = VIOLA if part.alto_clef else VIOLIN
    called = f"The part “{part.name}”" if part.name else "The part has no name and"
    taken = replace(part, instrument=instrument)
    return taken, (f"{called} is taken as a {instrument} part.",)
