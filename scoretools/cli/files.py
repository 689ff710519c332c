"""Saving results: all of them, or none of them half."""

import os
from collections.abc import Mapping
from pathlib import Path

from scoretools.errors import WriteError

__all__ = ["prepare_folder", "save_all"]


def prepare_folder(folder: Path) -> None:
    """Make a folder and see that files can be written into it.

    Raises
    ------
    WriteError
        If it cannot be made or written into.
    """
    made = not folder.exists()
    probe = folder / ".scoretools-probe"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        probe.touch()
        probe.unlink()
        if made:
            folder.rmdir()
    except OSError as error:
        raise WriteError(
            f"{folder}: cannot write into this folder ({error.strerror or error}); "
            "choose another with --out"
        ) from error


def save_all(folder: Path, files: Mapping[str, str]) -> list[Path]:
    """Save texts under their names; first all beside their places, then all into them.

    Raises
    ------
    WriteError
        If a file cannot be written; none is then left half-written, and older ones stand.
    """
    beside = {folder / name: folder / f".{name}.part" for name in files}
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for (path, part), text in zip(beside.items(), files.values(), strict=True):
            part.write_text(text, encoding="utf-8", newline="")
            if path.is_dir():
                raise IsADirectoryError(None, "a folder stands in its place", str(path))
        for path, part in beside.items():
            os.replace(part, path)
    except OSError as error:
        for part in beside.values():
            part.unlink(missing_ok=True)
        raise WriteError(
            f"{error.filename or folder}: cannot be written ({error.strerror or error}); "
            "free the place or choose another folder with --out"
        ) from error
    return list(beside)
