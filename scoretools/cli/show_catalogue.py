"""How the catalogue's answers are printed."""

import json
from collections.abc import Iterable, Sequence
from pathlib import Path

from rich.console import Console

from scoretools.catalogue import Summary
from scoretools.catalogue.query import Counts, PartInFull, Rows, Unread
from scoretools.catalogue.tags import BETWEEN_TAGS
from scoretools.catalogue.together import Difference, Needed, Together
from scoretools.cli.catalogue_lists import (
    ASSUMED,
    console_for,
    level_words,
    position_words,
    profiles_of,
    show_tempo,
    table_of,
)
from scoretools.cli.catalogue_options import counted, plain
from scoretools.cli.show import show_line, show_section
from scoretools.difficulty.features import unit_of, words_of
from scoretools.difficulty.rubric import figure_in_words
from scoretools.instrument import position_label
from scoretools.model import PositionNumber

__all__ = [
    "show_difference",
    "show_part",
    "show_rows",
    "show_status",
    "show_summary",
    "show_together",
]

# ── the scan ────────────────────────────────────────────────────────────────────────────────────


def show_summary(summary: Summary, db: Path) -> None:
    """Say what a scan did, and what could not be read."""
    console = console_for()
    in_part = len({one.path for one in summary.faults if one.parts})
    counts = (
        f"{summary.read:,} read ({counted(summary.parts, 'part')} fingered)",
        f"{in_part:,} of them in part" if in_part else "",
        f"{summary.failed:,} could not be read" if summary.failed else "",
        f"{summary.unchanged:,} unchanged",
    )
    done = f"{counted(summary.scores, 'score')} found: {', '.join(filter(None, counts))}"
    gone = f"; {counted(summary.gone, 'score')} no longer there" if summary.gone else ""
    show_line(console, "", f"{done}{gone}. The catalogue is {plain(db)}.", "")
    if summary.faulty_before:
        show_line(console, "", f"{summary.faulty_before:,} of the unchanged could not be read, or "
                  "not wholly; scoretools catalogue status says why.", "")  # fmt: skip
    _show_faults(console, [(one.path, one.parts, one.sentence) for one in summary.faults])
    if summary.closed:
        lines = [("- ", plain(folder)) for folder in summary.closed]
        show_section(console, "Folders that could not be opened", lines)


def show_status(counts: Counts, unread: Sequence[Unread], db: Path) -> None:
    """Say what a catalogue holds."""
    console = console_for()
    show_line(console, "", f"{plain(db)}: {counted(counts.scores, 'score')}, "
              f"{counted(counts.parts, 'violin or viola part')}.", "bold")  # fmt: skip
    if counts.missing:
        show_line(console, "", f"{counted(counts.missing, 'score')} no longer there; "
                  "find --gone lists the parts.", "")  # fmt: skip
    show_line(console, "", f"Fingered for: {profiles_of(counts)}.", "")
    _show_faults(console, [(one.path, one.parts, one.fault) for one in unread])


def _show_faults(console: Console, faults: Sequence[tuple[Path | str, int, str]]) -> None:
    """List the scores of which nothing could be read, then those read in part."""
    for heading, wanted in (("Could not be read", False), ("Read only in part", True)):
        chosen = [(path, sentence) for path, parts, sentence in faults if bool(parts) is wanted]
        if chosen:
            scores = counted(len({path for path, _ in chosen}), "score")
            lines = [
                ("- ", f"{plain(path)}: {plain(sentence).rstrip('.')}.")
                for path, sentence in chosen
            ]
            show_section(console, f"{heading}: {scores}", lines)


# ── parts ───────────────────────────────────────────────────────────────────────────────────────


def show_rows(found: Rows) -> None:
    """Print the answer to a question in SQL."""
    console = console_for()
    table = table_of(*(plain(name) for name in found.columns))
    for row in found.rows:
        table.add_row(*("" if cell is None else plain(cell) for cell in row))
    console.print(table)
    show_line(console, "", f"{counted(len(found.rows), 'row')}.", "")


def show_part(full: PartInFull) -> None:
    """Print all that matters of one part."""
    console = console_for()
    facts, rows = full.facts, full.rows
    show_line(console, "", _heading(full), "bold")
    show_line(console, "", plain(full.found.path), "dim")
    show_line(console, "", _for_whom(full), "")
    show_tempo(console, [full.found])
    assumed = ASSUMED if full.found.tempo_assumed else ""
    for level in rows["level"]:
        reasons = json.loads(level["reasons"])
        title = f"By the rubric “{plain(level['rubric'])}”: {plain(level['label'])}{assumed}"
        show_section(console, title, [("- ", plain(reason)) for reason in reasons])
    hard = [("- ", f"{one['bar']}: {plain(one['reasons'])}") for one in rows["hard_bar"]]
    show_section(console, "Hardest bars first", hard)
    show_section(console, "Hand", list(_hand(full)))
    drills = [
        ("- ", f"{plain(one['title'])}: {one['minutes']} minutes, {one['bars']}")
        for one in rows["drill"]
    ]
    show_section(console, "Drills, in this order", drills)
    features = [("- ", _feature(one, full)) for one in rows["feature"]]
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
    return plain(f"{one.id}. {one.title}{by} — {name}, {counted(one.bars, 'bar')}")


def _for_whom(full: PartInFull) -> str:
    facts = full.facts
    tags = f" Tags: {plain(BETWEEN_TAGS.join(full.found.tags))}." if full.found.tags else ""
    gone = " The score is no longer there." if facts["missing"] else ""
    return (
        f"Fingered for: {facts['profile'].replace('-', ' ')}; tempo: "
        f"{'assumed' if facts['tempo_assumed'] else 'printed'}; divisi: {facts['divisi']}."
        f"{tags}{gone}"
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
    return "once" if moments == 1 else f"at {moments} places"


def _signature(fifths: int) -> str:
    if not fifths:
        return "no sharps or flats"
    return counted(abs(fifths), "sharp" if fifths > 0 else "flat")


def _feature(row: dict[str, object], full: PartInFull) -> str:
    name, value = str(row["name"]), float(str(row["value"]))
    where = f" ({row['peak_bars']})" if row["peak_bars"] else ""
    return f"{words_of(name)}: {_figure(name, value, full)}{where}"


def _figure(name: str, value: float, full: PartInFull) -> str:
    """Write a figure, marked where it rests on an assumed tempo."""
    timed = any(word in unit_of(name) for word in ("second", "minute"))
    mark = ASSUMED if timed and value and full.found.tempo_assumed else ""
    return f"{figure_in_words(name, value)}{mark}"


# ── several parts ───────────────────────────────────────────────────────────────────────────────


def show_difference(difference: Difference) -> None:
    """Print two parts side by side."""
    console = console_for()
    one, other = difference.first.found, difference.second.found
    for full in (difference.first, difference.second):
        show_line(console, "", f"{_heading(full)}: {level_words(full.found)}", "bold")
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
    table = table_of("What differs", str(one.id), str(other.id), right=(str(one.id), str(other.id)))
    for name, mine, yours in difference.features:
        table.add_row(
            words_of(name),
            _figure(name, mine, difference.first),
            _figure(name, yours, difference.second),
        )
    console.print(table)
    show_tempo(console, (one, other))


def _positions(numbers: Sequence[int]) -> str:
    return ", ".join(position_words(number) for number in numbers) or "none"


def show_together(whole: Together) -> None:
    """Print what several parts need."""
    console = console_for()
    for one in whole.parts:
        name = one.part or one.instrument.capitalize()
        show_line(console, f"{one.id}. ", plain(f"{one.title}, {name}: {level_words(one)}"), "bold")
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
    if any(one.tempo_assumed for one in whole.parts):
        console.print()
        show_tempo(console, whole.parts)


def _where(one: Needed, every: int) -> str:
    return f"{_times(one.moments)}, {_of(one.parts, every)}"


def _of(parts: Sequence[int], every: int) -> str:
    if len(parts) == every > 1:
        return "in all parts"
    return f"in {', '.join(map(str, parts))}"
