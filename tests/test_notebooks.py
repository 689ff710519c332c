"""The notebooks run, and what they print is what is stored in them."""

import contextlib
import io
import json
from pathlib import Path

import pytest

NOTEBOOKS = sorted((Path(__file__).parent.parent / "notebooks").glob("*.ipynb"))


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_a_notebook_runs_and_prints_what_it_stores(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(path.parent)
    cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
    names: dict[str, object] = {}
    for cell in cells:
        if cell["cell_type"] == "code":
            printed = io.StringIO()
            with contextlib.redirect_stdout(printed):
                exec(compile("".join(cell["source"]), path.name, "exec"), names)
            stored = (o for o in cell["outputs"] if o["output_type"] == "stream")
            assert printed.getvalue() == "".join("".join(o["text"]) for o in stored)


def test_there_are_notebooks() -> None:
    assert NOTEBOOKS
