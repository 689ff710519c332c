"""How the catalogue's answers are printed."""

import json
from collections.abc import Iterable, Sequence
from pathlib import Path

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table

from scoretools.catalogue import FoundPart, Summary
from scoretools.catalogue.next_piece import Suggestion, words_of_new
from scoretools.catalogue.query import Counts, PartInFull, Rows, Unread
from scoretools.catalogue.together import Difference, Needed, Together
from scoretools.cli.catalogue_options import counted, plain
from scoretools.cli.show import show_line, show_section
from scoretools.difficulty.features import words_of
from scoretools.difficulty.rubric import figure_in_words
from scoretools.instrument import ordinal, position_label
from scoretools.model import PositionNumber
from scoretools.player import Player

__all__ = [
    "show_difference",
    "show_found",
    "show_next",
    "show_part",
    "show_rows",
    "show_status",
    "show_summary",
    "show_together",
]

_PIPED = 160
"""Columns where there is no terminal."""

_SHAPES = 4
"""Shapes of a part that are listed; ``show`` names all."""


def _console() -> Console:
    console = Console(highlight=False, markup=False)
    if not console.is_terminal:
        console.width = _PIPED
    return console


def _table(*headings: str, right: Sequence[str] = ()) -> Table:
    table = Table(box=SIMPLE_HEAD, pad_edge=False, show_edge=False)
    for heading in headings:
        table.add_column(heading, justify="right" if heading in right else "left", overflow="fold")
    return table


# ── the scan ────────────────────────────────────────────────────────────────────────────────────


def show_summary(summary: Summary, db: Path) -> None:
    """Say what a scan did, and what could not be read."""
    console = _console()
    done = (
        f"{counted(summary.scores, 'score')} found: {summary.read:,} read "
        f"({counted(summary.parts, 'part')} fingered), {summary.unchanged:,} unchanged"
    )
    gone = f"; {counted(summary.gone, 'score')} no longer there" if summary.gone else ""
    show_line(console, "", f"{done}{gone}. The catalogue is {plain(db)}.", "")
    if summary.faults:
        lines = [("- ", f"{plain(one.path)}: {plain(one.sentence)}") for one in summary.faults]
        show_section(console, "Could not be read", lines)
    if summary.closed:
        lines = [("- ", plain(folder)) for folder in summary.closed]
        show_section(console, "Folders that could not be opened", lines)


def show_status(counts: Counts, unread: Sequence[Unread], db: Path) -> None:
    """Say what a catalogue holds."""
    console = _console()
    show_line(console, "", f"{plain(db)}: {counted(counts.scores, 'score')}, "
              f"{counted(counts.parts, 'violin or viola part')}.", "bold")  # fmt: skip
    if counts.missing:
        show_line(console, "", f"{counted(counts.missing, 'score')} no longer there; "
                  "find --gone lists the parts.", "")  # fmt: skip
    show_line(console, "", f"Fingered for: {_profiles(counts)}.", "")
    if unread:
        lines = [("- ", f"{plain(one.path)}: {plain(one.fault)}") for one in unread]
        show_section(console, f"Not all could be read in {counted(len(unread), 'score')}", lines)


def _profiles(counts: Counts) -> str:
    names = [*(profile.replace("-", " ") for profile in counts.profiles), *counts.players]
    return ", ".join(plain(name) for name in names) or "nobody yet"


# ── parts ───────────────────────────────────────────────────────────────────────────────────────


def show_found(found: Sequence[FoundPart], fitting: int, total: int) -> None:
    """List parts."""
    console = _console()
    if not found:
        show_line(console, "", f"None of {counted(total, 'part')} fits.", "")
        return
    table = _table("No.", "Title", "Composer", "Part", "Level", "Highest", "Bars", "Shapes", "Tags",
                   right=("No.", "Bars"))  # fmt: skip
    for one in found:
        table.add_row(
            str(one.id), plain(one.title), plain(one.composer), plain(one.part), _level(one),
            _highest(one), str(one.bars), _some(one.shapes), plain(", ".join(one.tags)),
        )  # fmt: skip
    console.print(table)
    more = f", {len(found)} of them listed (--limit 0 lists all)" if fitting > len(found) else ""
    show_line(console, "", f"{fitting:,} of {counted(total, 'part')} fit{more}.", "")


def _level(one: FoundPart) -> str:
    number = "" if one.rubric == "index" else f" ({one.value:g})"
    return plain(f"{one.level}{number}")


def _highest(one: FoundPart) -> str:
    return _position(int(one.highest_position)) if one.highest_position else "open"


def _position(number: int) -> str:
    return ordinal(PositionNumber(number)) if number else "half"


def _some(shapes: Sequence[str]) -> str:
    more = f" +{len(shapes) - _SHAPES}" if len(shapes) > _SHAPES else ""
    return " ".join(shapes[:_SHAPES]) + more


def show_rows(found: Rows) -> None:
    """Print the answer to a question in SQL."""
    console = _console()
    table = _table(*(plain(name) for name in found.columns))
    for row in found.rows:
        table.add_row(*("" if cell is None else plain(cell) for cell in row))
    console.print(table)
    show_line(console, "", f"{counted(len(found.rows), 'row')}.", "")


def show_part(full: PartInFull) -> None:
    """Print all that matters of one part."""
    console = _console()
    facts, rows = full.facts, full.rows
    show_line(console, "", _heading(full), "bold")
    show_line(console, "", plain(full.found.path), "dim")
    show_line(console, "", _for_whom(full), "")
    for level in rows["level"]:
        reasons = json.loads(level["reasons"])
        title = f"By the rubric “{plain(level['rubric'])}”: {plain(level['label'])}"
        show_section(console, title, [("- ", plain(reason)) for reason in reasons])
    hard = [("- ", f"{one['bar']}: {plain(one['reasons'])}") for one in rows["hard_bar"]]
    show_section(console, "Hardest bars first", hard)
    show_section(console, "Hand", list(_hand(full)))
    drills = [
        ("- ", f"{plain(one['title'])}: {one['minutes']} minutes, {one['bars']}")
        for one in rows["drill"]
    ]
    show_section(console, "Drills, in this order", drills)
    features = [("- ", _feature(one)) for one in rows["feature"]]
    show_section(console, "Features, with the bars where there is most", features)
    if rows["warning"]:
        told = [("- ", plain(f"{one['bar']}: {one['message']}".removeprefix(": ")))
                for one in rows["warning"]]  # fmt: skip
        show_section(console, "Skipped, assumed or contradictory", told)
    if facts["fault"]:
        show_section(console, "Other parts of the score", [("- ", plain(facts["fault"]))])


def _heading(full: PartInFull) -> str:
    one = full.found
    by = f", {one.composer}" if one.composer else ""
    name = one.part or one.instrument.capitalize()
    return plain(f"{one.id}. {one.title}{by} — {name}, {one.bars} bars")


def _for_whom(full: PartInFull) -> str:
    facts = full.facts
    tempo = "an assumed tempo" if facts["tempo_assumed"] else "the printed tempo"
    tags = f" Tags: {plain(', '.join(full.found.tags))}." if full.found.tags else ""
    gone = " The score is no longer there." if facts["missing"] else ""
    return (
        f"Fingered for: {facts['profile'].replace('-', ' ')}. It rests on {tempo}; "
        f"divisi: {facts['divisi']}.{tags}{gone}"
    )


def _hand(full: PartInFull) -> Iterable[tuple[str, str]]:
    for one in full.rows["hand_position"]:
        words = position_label(PositionNumber(one["position"]))
        yield "- ", f"{words}: {_times(one['moments'])}, {one['bars']}"
    for one in full.rows["shape"]:
        yield "- ", f"shape {one['gaps']}: {_times(one['moments'])}, {one['bars']}"
    for one in full.rows["double_stop"]:
        yield "- ", f"double stops, {one['interval']}: {_times(one['moments'])}, {one['bars']}"
    for one in full.rows["key_signature"]:
        yield "- ", f"{_signature(one['fifths'])}: {one['bars']}"


def _times(moments: int) -> str:
    return "once" if moments == 1 else f"{moments} times"


def _signature(fifths: int) -> str:
    if not fifths:
        return "no sharps or flats"
    return counted(abs(fifths), "sharp" if fifths > 0 else "flat")


def _feature(row: dict[str, object]) -> str:
    name, value = str(row["name"]), float(str(row["value"]))
    where = f" ({row['peak_bars']})" if row["peak_bars"] else ""
    return f"{words_of(name)}: {figure_in_words(name, value)}{where}"


# ── several parts ───────────────────────────────────────────────────────────────────────────────


def show_difference(difference: Difference) -> None:
    """Print two parts side by side."""
    console = _console()
    one, other = difference.first.found, difference.second.found
    for full in (difference.first, difference.second):
        show_line(console, "", f"{_heading(full)}: {_level(full.found)}", "bold")
    both, first, second = difference.shapes
    held, lower, higher = difference.positions
    show_section(
        console,
        "Hand",
        [
            ("- ", f"shapes of both: {' '.join(both) or 'none'}"),
            ("- ", f"shapes of {one.id} alone: {' '.join(first) or 'none'}"),
            ("- ", f"shapes of {other.id} alone: {' '.join(second) or 'none'}"),
            ("- ", f"positions of both: {_positions(held)}"),
            ("- ", f"positions of {one.id} alone: {_positions(lower)}"),
            ("- ", f"positions of {other.id} alone: {_positions(higher)}"),
        ],
    )
    console.print()
    table = _table("What differs", str(one.id), str(other.id), right=(str(one.id), str(other.id)))
    for name, mine, yours in difference.features:
        table.add_row(words_of(name), figure_in_words(name, mine), figure_in_words(name, yours))
    console.print(table)


def _positions(numbers: Sequence[int]) -> str:
    return ", ".join(_position(number) for number in numbers) or "none"


def show_together(whole: Together) -> None:
    """Print what several parts need."""
    console = _console()
    for one in whole.parts:
        name = one.part or one.instrument.capitalize()
        show_line(console, f"{one.id}. ", plain(f"{one.title}, {name}: {_level(one)}"), "bold")
    every = len(whole.parts)
    shapes = [("- ", f"{one.name}: {_where(one, every)}") for one in whole.shapes]
    show_section(console, "Hand shapes, those of most parts first", shapes)
    positions = [
        ("- ", f"{position_label(PositionNumber(int(one.name)))}: {_where(one, every)}")
        for one in whole.positions
    ]
    show_section(console, "Positions", positions)
    drills = [
        ("- ", f"{plain(one.title)}: {100 * one.share:.0f} % of the whole, {_of(one.parts, every)}")
        for one in whole.drills
    ]
    show_section(console, "Drills, those that serve most first", drills)
    titles = {one.id: one.title for one in whole.parts}
    bars = [
        ("- ", plain(f"{one.part}, {titles[one.part]}, {one.bar}: {one.reasons}"))
        for one in whole.hardest
    ]
    show_section(console, "The hardest bars of all", bars)


def _where(one: Needed, every: int) -> str:
    return f"{_times(one.moments)}, {_of(one.parts, every)}"


def _of(parts: Sequence[int], every: int) -> str:
    if len(parts) == every > 1:
        return "in all parts"
    return f"in {', '.join(map(str, parts))}"


def show_next(
    player: Player,
    listed: Sequence[Suggestion],
    fitting: int,
    ranked: Sequence[Suggestion],
    counts: Counts,
) -> None:
    """List pieces with what is new in them."""
    console = _console()
    who = plain(player.name) or "this player"
    if not listed:
        show_line(console, "", f"No part brings that many new things for {who}.", "")
    for place, one in enumerate(listed, 1):
        found = one.found
        name = found.part or found.instrument.capitalize()
        show_line(console, f"{place}. ", plain(f"No. {found.id}, {found.title}, {name}: "
                  f"{_level(found)}"), "bold")  # fmt: skip
        show_line(console, "   ", f"New: {words_of_new(one.new)}", "")
    console.print()
    known = sum(not one.new for one in ranked)
    show_line(console, "", f"{counted(fitting, 'part')} of {len(ranked):,} bring that many new "
              f"things, {len(listed)} listed; {known:,} bring nothing new for {who} "
              "(--new 0 lists them).", "")  # fmt: skip
    if str(player.profile) not in counts.profiles or player.name not in ("", *counts.players):
        show_line(console, "", f"The catalogue was fingered for: {_profiles(counts)}; scanned with "
                  "--player it tells more exactly what this player meets.", "")  # fmt: skip
