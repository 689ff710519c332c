"""How the help of a command reads: usage, arguments and options, the commands in groups.

The help of every command holds a line that begins with “Example:”. `example_of` finds it, so that
an error can show it too.
"""

import inspect
import re
from collections.abc import Mapping
from textwrap import shorten
from types import MappingProxyType
from typing import Any

from typer.core import TyperCommand, TyperGroup

__all__ = ["SECTIONS", "Command", "Commands", "example_of", "rows_of", "write_rows"]

SECTIONS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "One part": ("report", "level", "finger", "mark"),
        "From lesson to lesson": ("plan", "player", "sheets"),
        "Programme and library": ("programme", "catalogue"),
        "How good the fingering is": ("agreement", "fit"),
        "Help": ("guide",),
    }
)
"""The commands in the order in which they are met, under the heading of each group."""

_OTHERS = "Commands"
"""Heading of commands that are in no group."""

_LONGEST_PROPOSAL = 60
"""Letters of help beside what a shell proposes."""

_EXAMPLE = re.compile(r"^\s*Example:\s+(scoretools\b.*)$", re.MULTILINE)


def example_of(command: Any) -> str:
    """Find the example in a command's help.

    Parameters
    ----------
    command
        A command or a group of them, as typer makes it.

    Returns
    -------
    str
        The line to copy; empty where the help has none.
    """
    found = _EXAMPLE.search(inspect.cleandoc(command.help or ""))
    return found[1].strip() if found else ""


class Command(TyperCommand):
    """A command whose help names its arguments as they are typed, without their types."""

    def collect_usage_pieces(self, ctx: Any) -> list[str]:
        """Name the arguments first, as they stand in the examples."""
        return [*(_name(param) for param in _arguments(self)), "[OPTIONS]"]

    def format_options(self, ctx: Any, formatter: Any) -> None:
        """Write the arguments, then the options."""
        write_rows(formatter, rows_of(self, ctx))

    def shell_complete(self, ctx: Any, incomplete: str) -> list[Any]:
        """Propose what may come next, each with a few words of its help."""
        return [_brief(item) for item in super().shell_complete(ctx, incomplete)]


class Commands(TyperGroup):
    """A group whose help lists its commands by what they are for, each in a whole sentence."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Without words, give the help; the root has a callback of its own for that."""
        if not args and not self.invoke_without_command and not ctx.resilient_parsing:
            args = ["--help"]
        return list(super().parse_args(ctx, args))

    def format_options(self, ctx: Any, formatter: Any) -> None:
        """Write the commands first, then the options."""
        self.format_commands(ctx, formatter)
        write_rows(formatter, rows_of(self, ctx))

    def shell_complete(self, ctx: Any, incomplete: str) -> list[Any]:
        """Propose what may come next, each with a few words of its help."""
        return [_brief(item) for item in super().shell_complete(ctx, incomplete)]

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        """Write the commands in their groups."""
        told = {
            name: command.get_short_help_str(limit=200)
            for name in self.list_commands(ctx)
            if (command := self.get_command(ctx, name)) is not None and not command.hidden
        }
        grouped = {
            heading: [(name, told.pop(name)) for name in names if name in told]
            for heading, names in SECTIONS.items()
            if ctx.parent is None
        }
        widest = max((len(name) for rows in grouped.values() for name, _ in rows), default=0)
        for heading, rows in {**grouped, _OTHERS: list(told.items())}.items():
            _write_section(formatter, heading, [(f"{name:{widest}}", text) for name, text in rows])


def rows_of(command: Any, ctx: Any) -> dict[str, list[tuple[str, str]]]:
    """List a command's arguments and options, each with what it means."""
    options = (param for param in command.get_params(ctx) if param.param_type_name == "option")
    records = [record for param in options if (record := param.get_help_record(ctx)) is not None]
    return {
        "Arguments": [(_name(param), param.help or "") for param in _arguments(command)],
        "Options": records,
    }


def _brief(item: Any) -> Any:
    """Keep the first few words of a proposal's help: shells take it for a line each."""
    clause, *_ = re.split(r"[:;.](?:\s|$)", item.help or "", maxsplit=1)
    item.help = shorten(clause, _LONGEST_PROPOSAL, placeholder=" …")
    return item


def _arguments(command: Any) -> list[Any]:
    return [param for param in command.params if param.param_type_name == "argument"]


def _name(argument: Any) -> str:
    name = argument.metavar or argument.name.upper()
    return name if argument.required else f"[{name}]"


def write_rows(formatter: Any, sections: Mapping[str, list[tuple[str, str]]]) -> None:
    """Write sections of a help, each under its heading; one without rows is left out."""
    for heading, rows in sections.items():
        _write_section(formatter, heading, rows)


def _write_section(formatter: Any, heading: str, rows: list[tuple[str, str]]) -> None:
    if rows:
        with formatter.section(heading):
            formatter.write_dl(rows)
