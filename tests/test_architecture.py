"""The rooms of the package and the arrows between them, read from the source."""

import ast
from collections.abc import Iterator
from itertools import takewhile
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parents[1] / "scoretools"
MODULES = {
    ".".join(path.relative_to(PACKAGE.parent).with_suffix("").parts).removesuffix(".__init__"): path
    for path in sorted(PACKAGE.rglob("*.py"))
}

LEFT_TO_RIGHT: tuple[frozenset[str], ...] = tuple(
    frozenset(rooms.split())
    for rooms in (
        "errors collector version",
        "model",
        "note_names",
        "instrument",
        "bar_names",
        "player",
        "hand",
        "read fingering marks_file practice_log",
        "voices",
        "shapes",
        "stop_spelling",
        "moments",
        "demands",
        "passages",
        "difficulty",
        "drills",
        "analysis",
        "agreement",
        "write",
        "catalogue",
        "cli",
    )
)
"""A room imports only from rooms to its left; rooms named together do not know each other."""

HEAVY = {
    "music21": ("read.convert", "write.drillbook", "write.sound"),
    "lxml": ("read",),
    "pandas": ("write.tables", "write.document", "write.overview", "catalogue"),
    "matplotlib": ("write",),
    "verovio": ("write",),
    "jinja2": ("write",),
    "typst": ("write",),
    "typer": ("cli",),
    "rich": ("cli",),
}
"""Where a library may appear: rooms or modules of the package."""


def room_of(module: str) -> str:
    return module.split(".")[1] if "." in module else ""


def rooms_left_of(room: str) -> frozenset[str]:
    left = takewhile(lambda rooms: room not in rooms, LEFT_TO_RIGHT)
    return frozenset().union(*left)


def imports(path: Path, module: str) -> Iterator[str]:
    """Every module a file imports, wherever in it, absolute; names from a package as modules."""
    package = module if path.name == "__init__.py" else module.rpartition(".")[0]
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                above = package.split(".")[: len(package.split(".")) - node.level + 1]
                base = ".".join([*above, *([base] if base else [])])
            names = [f"{base}.{alias.name}" for alias in node.names]
            found = [name for name in names if name in MODULES]
            yield from found
            if len(found) < len(names):
                yield base


def own_imports(module: str) -> set[str]:
    found = imports(MODULES[module], module)
    return {name for name in found if name == "scoretools" or name.startswith("scoretools.")}


@pytest.mark.parametrize("module", [name for name in MODULES if name != "scoretools"])
def test_a_room_imports_only_from_rooms_to_its_left(module: str) -> None:
    room = room_of(module)
    allowed = rooms_left_of(room) | {room}
    wrong = {
        name
        for name in own_imports(module)
        if name != "scoretools" and room_of(name) not in allowed
    }
    assert not wrong, f"{module} reaches to the right or beside itself"


@pytest.mark.parametrize("module", [name for name in MODULES if name != "scoretools"])
def test_only_the_command_line_imports_the_package_as_a_whole(module: str) -> None:
    assert "scoretools" not in own_imports(module) or room_of(module) == "cli"


def test_every_room_has_its_place_in_the_order() -> None:
    known = frozenset().union(*LEFT_TO_RIGHT)
    assert {room_of(module) for module in MODULES} - {""} <= known


@pytest.mark.parametrize("module", MODULES)
def test_heavy_libraries_stay_in_their_rooms(module: str) -> None:
    libraries = {name.partition(".")[0] for name in imports(MODULES[module], module)}
    inside = module.removeprefix("scoretools.")
    for library in libraries & HEAVY.keys():
        homes = HEAVY[library]
        assert any(inside == home or inside.startswith(f"{home}.") for home in homes), (
            f"{module} imports {library}, which belongs to {', '.join(homes)}"
        )


def test_no_module_imports_itself_by_a_detour() -> None:
    arrows = {module: own_imports(module) & MODULES.keys() for module in MODULES}
    arrows["scoretools"] = set()  # its imports wait for the first use of a name
    done: set[str] = set()

    def visit(module: str, way: tuple[str, ...]) -> None:
        assert module not in way, " → ".join((*way, module))
        if module not in done:
            for other in sorted(arrows[module]):
                visit(other, (*way, module))
            done.add(module)

    for module in arrows:
        visit(module, ())


# ── the checks above can fail ───────────────────────────────────────────────────────────────────


def test_imports_are_found_wherever_they_stand(tmp_path: Path) -> None:
    path = tmp_path / "page.py"
    path.write_text(
        "import lxml.etree\n"
        "from scoretools import model\n"
        "from . import tables\n"
        "from ..cli.files import save_all\n"
        "def late():\n"
        "    from music21 import stream\n"
        "    if True:\n"
        "        import scoretools.cli.report as r\n",
        encoding="utf-8",
    )
    assert set(imports(path, "scoretools.write.page")) == {
        "lxml.etree",
        "scoretools.model",
        "scoretools.write.tables",
        "scoretools.cli.files",
        "music21",
        "scoretools.cli.report",
    }


def test_the_order_of_rooms_is_the_one_drawn() -> None:
    assert rooms_left_of("errors") == frozenset()
    first = {"errors", "collector", "version"}
    assert rooms_left_of("read") == first | {
        "model",
        "note_names",
        "instrument",
        "bar_names",
        "player",
        "hand",
    }
    assert "read" not in rooms_left_of("fingering")
    assert "fingering" not in rooms_left_of("read")
    assert "write" not in rooms_left_of("analysis")
    assert "analysis" in rooms_left_of("write")
