"""The player's last word: a small table of marks that overrules and adds to what is printed.

A marks file is CSV with a row of headings; commas, semicolons or tabs stand between the columns::

    movement,bar,beat,note,string,finger,position
    1,12,1,C#5,,2,
    1,14,3.5,G5,D,1,5
    1,15,1,A4,,none,

========  ===================================================================================
movement  number from 1; may be empty
bar       bar number as printed
beat      beat in the bar from 1, such as ``2.5`` or ``5/2``; may be empty
note      name as in our tables, such as ``C#5`` or ``Bb3``; the octave, or all, may be empty
string    letter of the open string, or its number as printed (``1`` is the highest)
finger    ``0`` open string, ``1`` to ``4``
position  ``0.5`` or ``half`` for half position, ``1`` to ``12``
========  ===================================================================================

Conventions
-----------
* A line must fit one note of those that are struck; what is left empty does not narrow the choice.
  As many equal lines as there are equal notes (a unison on two strings) go to them in order.
* An empty cell under string, finger or position leaves what is printed; ``none`` lifts it.
* What spreadsheets make of a table is read: a mark before the first letter, other separators, a
  decimal comma, an apostrophe before a text, ``1st`` for 1.
"""

import csv
import io
import os
import re
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

from scoretools.errors import ScoretoolsError
from scoretools.instrument import HIGHEST_POSITION, instrument, position_number, string_names
from scoretools.model import (
    NO_MARKS,
    Address,
    Event,
    Finger,
    Marks,
    Note,
    Part,
    PositionNumber,
    PrintedString,
)

__all__ = ["COLUMNS", "MarksFileError", "apply_marks_file", "as_marks_file"]

COLUMNS = ("movement", "bar", "beat", "note", "string", "finger", "position")
"""Headings, in the order in which they are written."""

_MARKS = COLUMNS[4:]
_LIFTED = "none"
_MOST_BYTES = 16 * 1024 * 1024
_NEAR = Fraction(1, 100)
"""Beats by which a rounded beat may be off."""
_NUMBER = re.compile(r"(\d+)(?:\.0+)?(?:st|nd|rd|th|\.)?", re.IGNORECASE)
_NOTE = re.compile(r"([A-Ga-g])([#♯]{0,3}|[b♭]{0,3})(-?\d)?")
_ROMANS = {"i": 1, "ii": 2, "iii": 3, "iv": 4, "v": 5}
_HALF = ("0.5", "1/2", "½", "half")


class MarksFileError(ScoretoolsError):
    """A marks file is wrong; the message names every line that is."""


@dataclass(frozen=True, slots=True)
class _Row:
    """One line: its number in the file, from 1, and its cells by heading."""

    line: int
    cells: Mapping[str, str]

    def __getitem__(self, heading: str) -> str:
        return self.cells.get(heading, "")


class _Wrong(Exception):
    """A line that cannot be taken: its number, and what is wrong and what to do."""


# ── applying ────────────────────────────────────────────────────────────────────────────────────


def apply_marks_file(part: Part, path: str | os.PathLike[str]) -> Part:
    """Let a marks file overrule and add to what is printed.

    Parameters
    ----------
    path
        A marks file; see the head of this module.

    Raises
    ------
    MarksFileError
        The file cannot be read, has no headings, or some of its lines fit no note, fit several, or
        hold what is no string, finger or position; all such lines are named at once.
    """
    rows = _rows(Path(path))
    names = _string_names(part)
    by_bar: dict[str, list[tuple[Event, Note]]] = defaultdict(list)
    for event in part.events:
        bar = _plain_bar(part.measures[event.measure].number)
        by_bar[bar] += ((event, note) for note in event.notes)
    changed: dict[Address, Marks] = {}
    lines: dict[Address, int] = {}
    wrong: list[tuple[int, str]] = []
    for alike in _alike(rows):
        try:
            notes = _notes_for(part, alike, by_bar[_plain_bar(alike[0]["bar"])])
        except _Wrong as fault:
            wrong.append(fault.args)
            continue
        for row, note in zip(alike, notes, strict=True):
            try:
                if note.address in lines:
                    raise _twice(row, lines[note.address])
                changed[note.address] = _changed(note.marks, row, names)
                lines[note.address] = row.line
            except _Wrong as fault:
                wrong.append(fault.args)
    if wrong:
        said = "; ".join(f"line {line}: {what}" for line, what in sorted(wrong))
        raise MarksFileError(f"{path}: {said}")
    return replace(part, events=tuple(_with_marks(event, changed) for event in part.events))


def _string_names(part: Part) -> tuple[str, ...]:
    return string_names(instrument(part.instrument, tuning=part.tuning))


def _with_marks(event: Event, changed: Mapping[Address, Marks]) -> Event:
    if not any(note.address in changed for note in event.notes):
        return event
    notes = (replace(n, marks=changed.get(n.address, n.marks)) for n in event.notes)
    return replace(event, notes=tuple(notes))


# ── lines and notes ─────────────────────────────────────────────────────────────────────────────


def _alike(rows: Sequence[_Row]) -> Iterator[list[_Row]]:
    """Yield lines that name the same note, together."""
    found: dict[tuple[str, ...], list[_Row]] = {}
    for row in rows:
        found.setdefault(tuple(row[heading].casefold() for heading in COLUMNS[:4]), []).append(row)
    yield from found.values()


def _notes_for(
    part: Part, alike: Sequence[_Row], in_bar: Sequence[tuple[Event, Note]]
) -> list[Note]:
    """Return the notes that equal lines name, one for each."""
    row = alike[0]
    if not row["bar"]:
        raise _Wrong(row.line, "no bar is given; write its number as printed")
    movement, beat = _movement(row), _beat(row)
    named = _note_test(row)
    fitting = [
        note
        for event, note in in_bar
        if movement in (None, part.measures[event.measure].movement)
        and (beat is None or abs(event.beat - beat) < _NEAR)
        and named(note)
    ]
    if len(fitting) == len(alike):
        return fitting
    if not fitting:
        raise _Wrong(row.line, f"no note fits ({_shown(row)}); {_advice(part, movement, in_bar)}")
    if len(fitting) < len(alike):
        raise _twice(alike[-1], alike[0].line)
    raise _Wrong(
        row.line, f"{len(fitting)} notes fit ({_shown(row)}); give movement, beat and note"
    )


def _twice(row: _Row, before: int) -> _Wrong:
    return _Wrong(row.line, f"the same note as in line {before}; leave out one of them")


def _shown(row: _Row) -> str:
    return ", ".join(f"{heading} {row[heading]}" for heading in COLUMNS[:4] if row[heading])


def _advice(part: Part, movement: int | None, in_bar: Sequence[tuple[Event, Note]]) -> str:
    """Say what the bar holds, so that the line can be mended."""
    there = [
        f"{note.pitch.name} on beat {_beat_text(event.beat)}"
        for event, note in in_bar
        if movement in (None, part.measures[event.measure].movement)
    ]
    if not there:
        return "no such bar has a struck note; a tied note is named where it begins"
    more = f" and {len(there) - 8} more" if len(there) > 8 else ""
    return f"the bar has {', '.join(there[:8])}{more}"


def _plain_bar(text: str) -> str:
    found = re.fullmatch(r"(\d+)\.0+", text)
    return (found[1] if found else text).casefold()


def _movement(row: _Row) -> int | None:
    if not row["movement"]:
        return None
    if found := _NUMBER.fullmatch(row["movement"]):
        return int(found[1])
    raise _Wrong(row.line, f"movement “{row['movement']}” is no number; write 1 for the first")


def _beat(row: _Row) -> Fraction | None:
    text = row["beat"].replace(",", ".")
    if not text:
        return None
    try:
        return Fraction(text)
    except (ValueError, ZeroDivisionError):
        raise _Wrong(
            row.line, f"beat “{row['beat']}” is no number; write it as 2.5 or 5/2"
        ) from None


def _note_test(row: _Row) -> Callable[[Note], bool]:
    text = row["note"].replace(" ", "")
    if not text:
        return lambda note: True
    found = _NOTE.fullmatch(text)
    if found is None:
        raise _Wrong(row.line, f"note “{row['note']}” is no name; write it as C#5 or Bb3")
    step, accidentals, octave = found.groups()
    alter = len(accidentals) if accidentals[:1] in ("#", "♯") else -len(accidentals)

    def fits(note: Note) -> bool:
        pitch = note.pitch
        same = (pitch.step, pitch.alter) == (step.upper(), alter)
        return same and (octave is None or pitch.octave == int(octave))

    return fits


# ── marks ───────────────────────────────────────────────────────────────────────────────────────


def _changed(marks: Marks, row: _Row, names: Sequence[str]) -> Marks:
    if text := row["finger"]:
        finger = _finger(row, text)
        marks = replace(
            marks,
            fingers=(finger,) if finger else (),
            open_string=finger == 0,
            substitute=None,
            thumb=False,
        )
    if text := row["string"]:
        marks = replace(marks, string=_string(row, text, names))
    if text := row["position"]:
        marks = replace(marks, position=_position(row, text))
    return marks


def _finger(row: _Row, text: str) -> Finger | None:
    if text.casefold() == _LIFTED:
        return None
    found = _NUMBER.fullmatch(text)
    if found and int(found[1]) <= 4:
        return Finger(int(found[1]))
    raise _Wrong(row.line, f"finger “{text}” is no finger; write 0 (open) to 4, or none")


def _string(row: _Row, text: str, names: Sequence[str]) -> PrintedString | None:
    if text.casefold() == _LIFTED:
        return None
    letters = [name.casefold() for name in names]
    if (name := text.casefold()) in letters:
        return PrintedString(len(names) - letters.index(name))
    found = _NUMBER.fullmatch(text)
    number = int(found[1]) if found else _ROMANS.get(name, 0)
    if 1 <= number <= len(names):
        return PrintedString(number)
    choice = f"{', '.join(names)}, or 1 (highest) to {len(names)}, or none"
    raise _Wrong(row.line, f"string “{text}” is no string; write {choice}")


def _position(row: _Row, text: str) -> PositionNumber | None:
    if text.casefold() == _LIFTED:
        return None
    if text.casefold().replace(",", ".") in _HALF:
        return PositionNumber(0)
    found = _NUMBER.fullmatch(text)
    if found and 1 <= int(found[1]) <= HIGHEST_POSITION:
        return PositionNumber(int(found[1]))
    choice = f"0.5 (half) or 1 to {HIGHEST_POSITION}, or none"
    raise _Wrong(row.line, f"position “{text}” is no position; write {choice}")


# ── the table ───────────────────────────────────────────────────────────────────────────────────


def _rows(path: Path) -> list[_Row]:
    text = _text(path)
    separator = max(",;\t", key=text.lstrip().partition("\n")[0].count)
    try:
        lines = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
        headings, rows = None, []
        for cells in lines:
            plain = [cell.strip().removeprefix("'") for cell in cells]
            if not any(plain):
                continue
            if headings is None:
                headings = _headings(path, plain)
            else:
                rows.append(_Row(lines.line_num, dict(zip(headings, plain, strict=False))))
    except csv.Error as fault:
        raise MarksFileError(
            f"{path}: line {lines.line_num} is no table row ({fault}); mend its quotation marks"
        ) from None
    if headings is None:
        raise MarksFileError(f"{path}: the marks file is empty; write {','.join(COLUMNS)} first")
    return rows


def _headings(path: Path, cells: Sequence[str]) -> list[str]:
    headings = [cell.casefold() for cell in cells]
    if "bar" not in headings or not set(headings) & set(_MARKS):
        raise MarksFileError(
            f"{path}: the first line is no row of headings; write {','.join(COLUMNS)} there"
        )
    for heading in headings:
        if heading and (heading not in COLUMNS or headings.count(heading) > 1):
            raise MarksFileError(
                f"{path}: the heading “{heading}” is unknown or stands there twice; "
                f"leave it out or write one of {', '.join(COLUMNS)}"
            )
    return headings


def _text(path: Path) -> str:
    try:
        with path.open("rb") as file:
            data = file.read(_MOST_BYTES + 1)
    except (OSError, ValueError) as fault:
        reason = getattr(fault, "strerror", None) or fault
        raise MarksFileError(
            f"{path}: the marks file cannot be read ({reason}); check the name"
        ) from None
    if len(data) > _MOST_BYTES:
        raise MarksFileError(
            f"{path}: the marks file is larger than 16 MiB; name one that scoretools mark "
            "--template has written"
        )
    wide = data[:2] in (b"\xff\xfe", b"\xfe\xff")
    try:
        return data.decode("utf-16" if wide else "utf-8-sig")
    except UnicodeDecodeError:
        raise MarksFileError(
            f"{path}: the marks file is not plain text in UTF-8; save it again as CSV in UTF-8"
        ) from None


# ── writing ─────────────────────────────────────────────────────────────────────────────────────


def as_marks_file(part: Part, marks: Mapping[Address, Marks]) -> str:
    """Write a marks file with a line for each struck note.

    Parameters
    ----------
    marks
        What stands in the lines of some notes already; the others are empty there.
    """
    names = _string_names(part)
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerow(COLUMNS)
    for event in part.events:
        measure = part.measures[event.measure]
        for note in event.notes:
            cells = _mark_cells(marks.get(note.address, NO_MARKS), names)
            head = measure.movement, _harmless(measure.number), _beat_text(event.beat)
            table.writerow((*head, note.pitch.name, *cells))
    return out.getvalue()


def _mark_cells(mark: Marks, names: Sequence[str]) -> tuple[str, str, str]:
    string = "" if mark.string is None else names[len(names) - mark.string]
    finger = "0" if mark.open_string else "".join(str(finger) for finger in mark.fingers[:1])
    position = "" if mark.position is None else f"{position_number(mark.position):g}"
    return string, finger, position


def _harmless(text: str) -> str:
    """Put an apostrophe before what a spreadsheet would take for a formula."""
    return f"'{text}" if text.startswith(("=", "+", "-", "@")) else text


def _beat_text(beat: Fraction) -> str:
    return str(beat.numerator) if beat.denominator == 1 else f"{float(beat):.6g}"
