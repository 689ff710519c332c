"""Pages set by typst: a template of ours, values from the analysis, pictures in SVG, to a PDF.

Conventions: values reach a template as JSON and are never pasted into its text, so a title may hold
any sign. Only typst's own fonts and the music font are used, so a page looks the same everywhere.
"""

import json
from collections.abc import Mapping
from functools import cache
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory

import typst
from fontTools.ttLib import TTFont

from scoretools.errors import WriteError
from scoretools.write.engrave import music_font

__all__ = ["pdf_from"]

_TEMPLATES = Path(__file__).parent / "templates"


def pdf_from(
    template: str, values: Mapping[str, object], pictures: Mapping[str, str], paper: str = "a4"
) -> bytes:
    """Set a document.

    Parameters
    ----------
    template
        Name of a template, such as ``book.typ``. It finds the values in ``values.json`` and the
        pictures beside it.
    values
        What JSON can hold; ``paper`` is added.
    pictures
        SVG texts by file name.
    paper
        A paper size of typst: ``a4`` or ``us-letter``.

    Returns
    -------
    bytes
        The PDF; the same input always gives the same bytes.

    Raises
    ------
    WriteError
        If it cannot be set.
    """
    try:
        with TemporaryDirectory(prefix="scoretools-") as folder:
            root = Path(folder)
            _lay_out(root, {**values, "paper": paper}, pictures)
            pdf = typst.compile(
                root / template,
                root=root,
                font_paths=[root],
                ignore_system_fonts=True,
                timestamp=0,
            )
    except typst.TypstError as error:
        raise WriteError(
            f"{template} cannot be set ({_first_line(error)}); install scoretools again"
        ) from error
    except OSError as error:
        why = (error.strerror or str(error)).lower()
        raise WriteError(
            f"the temporary folder cannot be written into ({why}); free some space, or name "
            "another folder in the environment variable TMPDIR"
        ) from error
    return bytes(pdf)


def _lay_out(root: Path, values: Mapping[str, object], pictures: Mapping[str, str]) -> None:
    """Put all that is set into one folder."""
    for source in _TEMPLATES.glob("*.typ"):
        (root / source.name).write_bytes(source.read_bytes())
    for name, svg in pictures.items():
        (root / name).write_text(svg, encoding="utf-8")
    (root / "values.json").write_text(json.dumps(values, ensure_ascii=False), encoding="utf-8")
    (root / "music.ttf").write_bytes(_music_font())


def _first_line(error: Exception) -> str:
    return next(iter(str(error).splitlines()), "without a reason").strip()


@cache
def _music_font() -> bytes:
    font = TTFont(BytesIO(music_font()))
    font.flavor = None
    plain = BytesIO()
    font.save(plain)
    return plain.getvalue()
