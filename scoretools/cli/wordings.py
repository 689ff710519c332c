"""What is said of a command line that cannot be understood: what is wrong, and what to type."""

import re
from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType
from typing import Any

from scoretools.cli.help import example_of
from scoretools.errors import nearest

__all__ = ["usage_sentence"]


def usage_sentence(error: Exception, words: Sequence[str], root: Any) -> str:
    """Say what is wrong with a command line, and what would be right.

    Parameters
    ----------
    error
        What the library raised; its own words come where there are no better ones.
    words
        What was typed after ``scoretools``.
    root
        The command ``scoretools`` itself.
    """
    path, command = _command_of(error, words, root)
    said = str(getattr(error, "format_message", error.__str__)()).rstrip(". ")
    for pattern, wording in _WORDINGS.items():
        if found := re.match(pattern, said):
            return f"{wording(found, command)}; see {path} --help"
    return f"{said[:1].lower()}{said[1:]}; see {path} --help"


def _command_of(error: Exception, words: Sequence[str], root: Any) -> tuple[str, Any]:
    """Find the command that was meant: where the library does not tell, by the words typed."""
    context = getattr(error, "ctx", None)
    if context is not None:
        return context.command_path, context.command
    path, command = "scoretools", root
    for word in words:
        if word not in getattr(command, "commands", {}):
            break
        path, command = f"{path} {word}", command.commands[word]
    return path, command


# ── wordings ────────────────────────────────────────────────────────────────────────────────────


def _no_command(found: re.Match[str], command: Any) -> str:
    typed = found["word"]
    named = [name for name, one in command.commands.items() if not one.hidden]
    if close := nearest(typed, named):
        return f"there is no command “{typed}”, perhaps {close} was meant"
    if "." in typed:
        return f"“{typed}” is no command; if it is a score, write scoretools report {typed}"
    return f"there is no command “{typed}”; the commands are {', '.join(named)}"


def _no_option(found: re.Match[str], command: Any) -> str:
    typed = found["word"]
    close = nearest(typed, [name for param in command.params for name in param.opts])
    meant = f", perhaps {close} was meant" if close else ""
    return f"there is no option {typed}{meant}"


def _missing_option(found: re.Match[str], command: Any) -> str:
    return f"{found['word']} is missing{_as_in(command)}"


def _missing_argument(found: re.Match[str], command: Any) -> str:
    what = _MISSING.get(found["word"], found["word"])
    return f"name {what}{_as_in(command)}"


def _no_value(found: re.Match[str], command: Any) -> str:
    hidden = (one for one in getattr(command, "commands", {}).values() if one.hidden)
    params = (param for one in (command, *hidden) for param in one.params)
    named = (param.metavar for param in params if found["word"] in param.opts)
    what = next(named, None) or "a value"
    return f"{found['word']}: write {what} after it{_as_in(command)}"


def _needless_value(found: re.Match[str], command: Any) -> str:
    return f"{found['word']} takes nothing after it; write {found['word']} alone"


def _too_much(found: re.Match[str], command: Any) -> str:
    return (
        "there are more words than the command takes; put a name with spaces in quotation marks"
        f"{_as_in(command)}"
    )


def _as_in(command: Any) -> str:
    example = example_of(command)
    return f", as in: {example}" if example else ""


_MISSING = MappingProxyType(
    {
        "SCORE": "a score",
        "SCORE…": "one score or several",
        "PATH…": "scores, or a folder of them",
        "FILE.toml": "the player file",
        "FILE.txt": "the practice log",
    }
)
"""How an argument is called in a sentence."""

_WORDINGS: Mapping[str, Callable[[re.Match[str], Any], str]] = MappingProxyType(
    {
        r"No such command '(?P<word>.*?)'": _no_command,
        r"No such option:? '?(?P<word>--?[^\s']*)": _no_option,
        r"Missing option '(?P<word>[^' ]*)": _missing_option,
        r"Missing argument '(?P<word>[^']*?)(\.\.\.)?'": _missing_argument,
        r"Option '(?P<word>.*?)' requires an argument": _no_value,
        r"Option '(?P<word>.*?)' does not take a value": _needless_value,
        r"Got unexpected extra argument": _too_much,
    }
)
"""What to say for what the library says, by how that begins."""
