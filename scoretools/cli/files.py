"""Finding scores; saving results: all of them, or none of them half."""

import os
from collections.abc import Collection, Iterable, Mapping, Sequence
from contextlib import suppress
from pathlib import Path

from scoretools.errors import ReadError, WriteError

__all__ = ["prepare_folder", "save_all", "scores_in"]


def scores_in(paths: Sequence[Path], suffixes: Collection[str]) -> list[Path]:
    """List files, and those of these suffixes in folders and the folders in them, in order.

    Raises
    ------
    ReadError
        If there are none.
    """
    files = list(dict.fromkeys(file for path in paths for file in _inside(path, suffixes)))
    if not files:
        where = ", ".join(map(str, paths))
        raise ReadError(f"{where}: there are no scores here; name scores or folders of them")
    return files


def _inside(path: Path, suffixes: Collection[str]) -> list[Path]:
    if not path.is_dir():
        return [path]
    inside = (file for file in path.rglob("*") if file.suffix.lower() in suffixes)
    return sorted(file for file in inside if file.is_file() and not file.name.startswith("."))


def prepare_folder(folder: Path) -> None:
    """See that a folder can be made and written into; leave all as it was.

    Raises
    ------
    WriteError
        If it cannot be made or written into.
    """
    missing = _missing(folder)
    probe = folder / f".scoretools-{os.getpid()}"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        probe.touch()
    except OSError as error:
        raise WriteError(
            f"{folder}: nothing can be written into this folder ({_reason(error)}); "
            "choose another with --out"
        ) from error
    finally:
        _clear([probe], missing)


def save_all(folder: Path, files: Mapping[str, str | bytes]) -> list[Path]:
    """Save files under their names: first all in full beside their places, then all into them.

    Raises
    ------
    WriteError
        If a file cannot be written; older files then stand, and nothing half-written is left, nor
        a folder that was not there before.
    """
    missing = _missing(folder)
    beside = {folder / name: folder / f".{name}.part" for name in files}
    try:
        folder.mkdir(parents=True, exist_ok=True)
        _refuse_folders(beside)
        for part, content in zip(beside.values(), files.values(), strict=True):
            if isinstance(content, str):
                part.write_text(content, encoding="utf-8", newline="")
            else:
                part.write_bytes(content)
        for path, part in beside.items():
            os.replace(part, path)
    except BaseException as error:
        _clear(beside.values(), missing)
        if isinstance(error, OSError):
            raise WriteError(
                f"{_shown(error, folder)}: cannot be written ({_reason(error)}); "
                "free the place or choose another folder with --out"
            ) from error
        raise
    return list(beside)


def _refuse_folders(paths: Mapping[Path, Path]) -> None:
    for path in paths:
        if path.is_dir():
            raise IsADirectoryError(None, "a folder of that name stands in its place", str(path))


def _missing(folder: Path) -> list[Path]:
    """Folders that would have to be made, innermost first."""
    return [path for path in (folder, *folder.parents) if not os.path.exists(path)]


def _clear(files: Iterable[Path], folders: Iterable[Path]) -> None:
    """Remove files, and those folders that are empty."""
    for path in files:
        with suppress(OSError):
            path.unlink()
    for path in folders:
        with suppress(OSError):
            path.rmdir()


def _shown(error: OSError, folder: Path) -> str:
    """Name the file the user asked for, not the one beside it."""
    path = Path(error.filename or folder)
    if path.suffix == ".part":
        path = path.with_name(path.stem.removeprefix("."))
    return str(path)


def _reason(error: OSError) -> str:
    return (error.strerror or str(error)).lower()
