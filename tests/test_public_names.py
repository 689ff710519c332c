"""What the package offers, and what it costs to ask for it."""

import ast
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest

import scoretools

ROOT = Path(__file__).resolve().parents[1]
MODULES = sorted((ROOT / "scoretools").rglob("*.py"))

PUBLIC = [
    "Analysis",
    "Part",
    "Player",
    "ScoretoolsError",
    "__version__",
    "analyse",
    "demands_table",
    "drills_table",
    "notes_table",
    "passages_table",
    "read_part",
    "read_player",
]

HEAVY = ("lxml", "matplotlib", "music21", "numpy", "pandas")


def exported(path: Path) -> list[str] | None:
    """The names in a module's ``__all__``; none where it has none."""
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "__all__":
            return list(ast.literal_eval(node.value))
    return None


def in_order(name: str) -> tuple[bool, bool, str]:
    """Constants, then classes, then the rest, each in order."""
    return not name.isupper(), not name[0].isupper(), name


def test_the_public_names_are_these() -> None:
    assert scoretools.__all__ == PUBLIC
    assert sorted(PUBLIC, key=in_order) == PUBLIC


@pytest.mark.parametrize("name", PUBLIC)
def test_every_public_name_can_be_had(name: str) -> None:
    assert getattr(scoretools, name) is not None
    assert name in dir(scoretools)


def test_another_name_is_refused_as_python_does() -> None:
    with pytest.raises(AttributeError, match="no attribute 'bow'"):
        _ = scoretools.bow  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    "path", MODULES, ids=lambda path: str(path.relative_to(ROOT)).replace("/", ".")
)
def test_every_module_says_what_it_exports_in_order(path: Path) -> None:
    names = exported(path)
    if names is None:
        source = ast.parse(path.read_text(encoding="utf-8"))
        defined = [n for n in source.body if isinstance(n, ast.FunctionDef | ast.ClassDef)]
        assert not defined, "defines names, but has no __all__"
        return
    assert names == sorted(names, key=in_order)
    module = ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")
    assert all(hasattr(import_module(module), name) for name in names)


@pytest.mark.parametrize(
    "program",
    [
        "import scoretools",
        "import scoretools.cli.main",
        "import sys; sys.argv = ['scoretools', '--help']\n"
        "from scoretools.cli.main import run\n"
        "try: run()\n"
        "except SystemExit: pass",
        "import scoretools.cli.report, scoretools.player; scoretools.Player()",
    ],
    ids=["import", "import the command", "help", "a player"],
)
def test_heavy_libraries_wait_until_they_are_used(program: str) -> None:
    ask = f"import sys; print(*sorted(set({HEAVY!r}) & set(sys.modules)), file=sys.stderr)"
    done = subprocess.run(
        [sys.executable, "-c", f"{program}\n{ask}"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    assert done.stderr.split() == []


def test_a_heavy_library_would_be_noticed() -> None:
    ask = f"import sys, numpy; print(*sorted(set({HEAVY!r}) & set(sys.modules)))"
    done = subprocess.run(
        [sys.executable, "-c", ask], capture_output=True, text=True, timeout=60, check=True
    )
    assert done.stdout.split() == ["numpy"]
