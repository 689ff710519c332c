"""What is looked for in a catalogue, and the statement that finds it.

Every wish is a row of conditions joined by *and*. All that a user says is bound to the statement,
never written into it.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from scoretools.difficulty import FEATURES
from scoretools.errors import CatalogueError
from scoretools.read.instruments import VIOLA, VIOLIN, ordinal_words

__all__ = ["ORDERS", "Criteria", "Range", "statement"]


@dataclass(frozen=True, slots=True)
class Range:
    """A range of figures, ends included."""

    least: float | None = None
    """Lower end; none: open."""
    most: float | None = None
    """Upper end; none: open."""


@dataclass(frozen=True, slots=True)
class Criteria:
    """What a part must be like; what is left out is not asked."""

    title: str = ""
    """Words of the title, or beginnings of words, without regard to case and accents; of the file's
    name where the score has no title."""
    composer: str = ""
    """Words of the composer's name, in the same way."""
    part: str = ""
    """Words of the part's name, in the same way; instruments and ordinals in any of their forms,
    but whole: ``violin 1`` is *Violino I*, and not *Violin II*."""
    instrument: str = ""
    """``violin`` or ``viola``."""
    level: Range | None = None
    """Level by `rubric`."""
    rubric: str = ""
    """Name of the rubric; empty: the one each score was scanned with."""
    features: tuple[tuple[str, Range], ...] = ()
    """Names of features, each with the range of its figure."""
    shapes: tuple[str, ...] = ()
    """Shapes that are all used, such as ``W-H-W``."""
    without_shapes: tuple[str, ...] = ()
    """Shapes of which none is used."""
    only_shapes: tuple[str, ...] = ()
    """Shapes beside which none is used; none given: not asked."""
    keys: tuple[int, ...] = ()
    """Key signatures beside which none is used: sharps, or flats as negative numbers."""
    double_stops: bool | None = None
    """Whether there are double stops; none: not asked."""
    tags: tuple[str, ...] = ()
    """Tags it bears, all of them."""
    without_tags: tuple[str, ...] = ()
    """Tags of which it bears none."""
    numbers: tuple[int, ...] = ()
    """Numbers of parts in the catalogue; none given: not asked."""
    missing: bool | None = False
    """Whether scores that are gone are looked for, instead of those that are there; none: both."""
    order: str = "level"
    """One of `ORDERS`."""
    limit: int | None = None
    """Most rows; none: all."""


ORDERS = {
    "level": "level.value, part.id",
    "title": "part.shown_title COLLATE NOCASE, score.path, part.number",
    "composer": "part.composer COLLATE NOCASE, part.shown_title COLLATE NOCASE, part.number",
    "length": "bars.value, part.id",
    "number": "part.id",
}
"""What parts can be ordered by, as columns."""

_Condition = tuple[str, tuple[object, ...]]
"""An SQL condition, and what is bound to its question marks."""

_SELECTED = """
SELECT part.id, part.shown_title, part.composer, part.name, part.instrument, level.label,
    level.value, level.rubric, part.tempo_assumed, highest.value, bars.value, seconds.value,
    (SELECT group_concat(gaps, ' ') FROM
        (SELECT gaps FROM shape WHERE part_id = part.id ORDER BY weight DESC)),
    (SELECT json_group_array(tag) FROM
        (SELECT tag FROM tag WHERE score_id = part.score_id AND number = part.number
            ORDER BY tag)),
    score.path
FROM part
JOIN score ON score.id = part.score_id
JOIN level ON level.part_id = part.id AND level.rubric = {rubric}
JOIN feature AS highest ON highest.part_id = part.id AND highest.name = 'highest_position'
JOIN feature AS bars ON bars.part_id = part.id AND bars.name = 'bars'
JOIN feature AS seconds ON seconds.part_id = part.id AND seconds.name = 'seconds'
WHERE {conditions}
ORDER BY {order}
LIMIT ?
"""

_NO_LIMIT = -1


def statement(criteria: Criteria) -> tuple[str, tuple[object, ...]]:
    """Write the statement that finds parts.

    Parameters
    ----------
    criteria
        What is looked for.

    Returns
    -------
    str, tuple
        The statement, and what is bound to it.

    Raises
    ------
    CatalogueError
        A feature or an order is not known.
    """
    if criteria.order not in ORDERS:
        raise CatalogueError(
            f"“{criteria.order}” is nothing to sort by; choose one of {', '.join(ORDERS)}"
        )
    conditions = list(_conditions(criteria))
    limit = _NO_LIMIT if criteria.limit is None else criteria.limit
    values = [value for _, bound in conditions for value in bound]
    named = [criteria.rubric] if criteria.rubric else []
    text = _SELECTED.format(
        rubric="?" if criteria.rubric else "score.rubric",
        conditions=" AND ".join(condition for condition, _ in conditions),
        order=ORDERS[criteria.order],
    )
    return text, (*named, *values, limit)


_STATES: dict[bool | None, tuple[object, ...]] = {False: (0, 0), True: (1, 1), None: (0, 1)}
"""What the mark of a missing score may be."""

# ── conditions ──────────────────────────────────────────────────────────────────────────────────


def _conditions(criteria: Criteria) -> Iterator[_Condition]:
    yield "score.missing IN (?, ?)", _STATES[criteria.missing]
    if criteria.numbers:
        yield f"part.id IN ({_marks(criteria.numbers)})", criteria.numbers
    yield from _words(criteria)
    if criteria.instrument:
        yield "part.instrument = ?", (criteria.instrument,)
    if criteria.level is not None:
        yield from _within("level.value", criteria.level)
    for name, wanted in criteria.features:
        yield _feature(name, wanted)
    yield from _shapes(criteria)
    if criteria.keys:
        yield _none_beside("key_signature", "fifths", criteria.keys)
    if criteria.double_stops is not None:
        no = "" if criteria.double_stops else "NOT "
        yield f"{no}EXISTS (SELECT 1 FROM double_stop WHERE part_id = part.id)", ()
    yield from _tags(criteria)


def _words(criteria: Criteria) -> Iterator[_Condition]:
    wanted = {"title": criteria.title, "composer": criteria.composer}
    asked = [f"{column} : {_beginnings(text)}" for column, text in wanted.items() if text.strip()]
    asked += [_of_part_name(word) for word in criteria.part.split()]
    if asked:
        yield "part.id IN (SELECT rowid FROM words WHERE words MATCH ?)", (" AND ".join(asked),)


def _beginnings(text: str) -> str:
    """Ask for words that begin so, in any order, as FTS5 has it; quotes are doubled."""
    words = text.replace("\0", " ").split() or [""]
    return "(" + " AND ".join(f"{_quoted(word)}*" for word in words) + ")"


def _quoted(word: str) -> str:
    return '"' + word.replace('"', '""') + '"'


def _of_part_name(word: str) -> str:
    """Ask for a word of a part's name in its one form, or for a name with a word that begins so.

    A number stands for itself alone: *I* is not the beginning of *II*. An instrument written out
    stands for itself too, and is found without looking at what else begins so.
    """
    forms = ordinal_words(word)
    whole = " AND ".join(f"name_words : {_quoted(form)}" for form in forms)
    written_out = word.casefold().startswith((VIOLIN, VIOLA)) and forms[0] in (VIOLIN, VIOLA)
    if written_out or any(form.isdecimal() for form in forms):
        return f"({whole})"
    begun = f"name : {_beginnings(word)}"
    return f"(({whole}) OR {begun})" if whole else f"({begun})"


def _within(column: str, wanted: Range) -> Iterator[_Condition]:
    if wanted.least is not None:
        yield f"{column} >= ?", (wanted.least,)
    if wanted.most is not None:
        yield f"{column} <= ?", (wanted.most,)


def _feature(name: str, wanted: Range) -> _Condition:
    if name not in FEATURES:
        raise CatalogueError(
            f"there is no feature “{name}”; choose one of {', '.join(sorted(FEATURES))}"
        )
    ends = list(_within("value", wanted))
    limits = "".join(f" AND {condition}" for condition, _ in ends)
    return (
        f"EXISTS (SELECT 1 FROM feature WHERE part_id = part.id AND name = ?{limits})",
        (name, *(value for _, bound in ends for value in bound)),
    )


def _shapes(criteria: Criteria) -> Iterator[_Condition]:
    for gaps in criteria.shapes:
        yield "part.id IN (SELECT part_id FROM shape WHERE gaps = ?)", (gaps,)
    for gaps in criteria.without_shapes:
        yield "NOT EXISTS (SELECT 1 FROM shape WHERE part_id = part.id AND gaps = ?)", (gaps,)
    if criteria.only_shapes:
        yield _none_beside("shape", "gaps", criteria.only_shapes)


def _none_beside(table: str, column: str, allowed: tuple[object, ...]) -> _Condition:
    beside = f"part_id = part.id AND {column} NOT IN ({_marks(allowed)})"
    return f"NOT EXISTS (SELECT 1 FROM {table} WHERE {beside})", allowed


def _marks(values: tuple[object, ...]) -> str:
    return ", ".join("?" * len(values))


def _tags(criteria: Criteria) -> Iterator[_Condition]:
    here = "(part.score_id, part.number)"
    for tag in criteria.tags:
        yield f"{here} IN (SELECT score_id, number FROM tag WHERE tag = ?)", (tag,)
    for tag in criteria.without_tags:
        yield f"{here} NOT IN (SELECT score_id, number FROM tag WHERE tag = ?)", (tag,)
