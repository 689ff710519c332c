"""Every error says what to do next: read from the source, sentence by sentence.

A sentence says what is wrong and then, after a semicolon or a colon, what to do. Those that are
handed on from elsewhere, or say it in other words, are listed with the reason.
"""

import ast
from collections.abc import Iterator
from fnmatch import fnmatch
from pathlib import Path

import pytest

import scoretools.errors

PACKAGE = Path(__file__).resolve().parents[1] / "scoretools"
ERRORS = {
    *(name for name in scoretools.errors.__all__ if name != "nearest"),
    "MarksFileError",
    "_Wrong",
}
WRONG = "wrong"
"""Method that refuses a rubric with its line."""

SAYS_WHAT_TO_DO = ("; ", ": choose", "as in: ")

WITHOUT = {
    "cli/agreement.py": ("{}{}", ""),  # the first file's own sentence; one put together
    "cli/bars.py": ("",),  # put together by a function, tested with the command
    "difficulty/rubric_file.py": ("{}, line {}: {}",),  # from where the file is checked
    "marks_file.py": ("{}: {}",),  # one sentence for each wrong line
    "player.py": ("{}: {}", "* is not *", "* is outside *"),  # names the choices, or the range
    # Reasons in a notice, after which the report goes on without the picture.
    "write/engrave.py": ("the engraver *",),
}
"""Sentences that need no second half, by file; ``*`` stands for any words."""


def text_of(node: ast.expr) -> str:
    """The literal text of an argument, with ``{}`` for what is filled in; empty for a variable."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.JoinedStr):
        return "".join(
            str(part.value) if isinstance(part, ast.Constant) else "{}" for part in node.values
        )
    return ""


def name_of(call: ast.Call) -> str:
    function = call.func
    return function.attr if isinstance(function, ast.Attribute) else getattr(function, "id", "")


def sentences(source: str) -> Iterator[tuple[int, str]]:
    """Every error made in a module, with its line."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call) and name_of(node) in {*ERRORS, WRONG}:
            place = 1 if name_of(node) == "_Wrong" else 0
            if len(node.args) > place:
                yield node.lineno, text_of(node.args[place])


MADE = [
    (str(path.relative_to(PACKAGE).as_posix()), line, text)
    for path in sorted(PACKAGE.rglob("*.py"))
    for line, text in sentences(path.read_text(encoding="utf-8"))
]


def lacks_advice(file: str, text: str) -> bool:
    advises = any(words in text for words in SAYS_WHAT_TO_DO)
    return not advises and not any(fnmatch(text, words) for words in WITHOUT.get(file, ()))


def test_there_are_sentences_to_read() -> None:
    assert len(MADE) > 100


@pytest.mark.parametrize(("file", "line", "text"), MADE)
def test_a_sentence_says_what_to_do(file: str, line: int, text: str) -> None:
    assert not lacks_advice(file, text), f"{file}, line {line}: {text}"


def test_a_sentence_without_advice_is_noticed() -> None:
    source = 'raise ReadError(f"{name}: the table has no heading")'
    assert list(sentences(source)) == [(1, "{}: the table has no heading")]
    assert lacks_advice("read/annotated.py", "{}: the table has no heading")
    assert not lacks_advice("read/annotated.py", "{}: the table has no heading; write one")
    assert lacks_advice("read/annotated.py", "")
    assert lacks_advice("player.py", "{}: {} will not do")
