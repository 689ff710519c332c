"""Reads a rubric from a TOML file and checks it.

A rubric of bands::

    kind = "bands"
    name = "my bands"
    about = "what it is for"

    [[bands]]
    label = "first position"
    limits.highest_position = 1      # the most the band allows, by name of a feature
    limits.shifts_per_minute = 0

    [[bands]]                        # the last band takes all the rest and has no limits
    label = "higher"

Limits never fall from band to band, and one that is lifted stays lifted. An index::

    kind = "index"

    [terms]                          # above: counts nothing up to there, 0 where left out
    highest_position = { above = 1, half = 4, points = 10 }
    shifts_per_minute = { half = 20, points = 8 }

`scoretools.difficulty.rubric` says what the figures do, `scoretools.difficulty.features` which
features there are.
"""

import os
import re
import tomllib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from importlib.resources import files
from itertools import pairwise
from math import isfinite
from pathlib import Path
from typing import Any, NoReturn

from scoretools.difficulty.features import FEATURES
from scoretools.difficulty.rubric import Band, Rubric, Term
from scoretools.errors import ReadError

__all__ = ["SHIPPED", "read_rubric"]

SHIPPED = ("bands", "index")
"""Names of the rubrics that come with the program."""


def read_rubric(name_or_path: str | os.PathLike[str]) -> Rubric:
    """Read a rubric.

    Parameters
    ----------
    name_or_path
        One of `SHIPPED`, or a TOML file.

    Raises
    ------
    ReadError
        If the file cannot be read, is not TOML, or is no rubric; the sentence names the file, the
        line and the field.
    """
    if str(name_or_path) in SHIPPED:
        name = f"{name_or_path}.toml"
        text = files("scoretools.difficulty").joinpath("rubrics", name).read_text("utf-8")
    else:
        name = str(name_or_path)
        text = _text_of(Path(name_or_path))
    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise ReadError(f"{name}: not a TOML file ({error}); mend that line") from error
    return _rubric(_Source(name, text), data)


def _text_of(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise ReadError(
            f"{path}: the rubric cannot be read ({error.strerror or error}); "
            f"check the name, or take one of {', '.join(SHIPPED)}"
        ) from error
    except ValueError as error:
        raise ReadError(
            f"{path}: the rubric is not plain text in UTF-8; save it again as UTF-8"
        ) from error


# ── where something is wrong ────────────────────────────────────────────────────────────────────

_BAND = re.compile(r"\s*\[\[\s*bands\s*\]\]")


@dataclass(frozen=True, slots=True)
class _Source:
    """A rubric's text, to tell the line at which something stands."""

    name: str
    text: str

    def wrong(self, message: str, field: str = "", band: int | None = None) -> NoReturn:
        """Refuse the file, with the line of a field, or of the head of a band."""
        raise ReadError(f"{self.name}, line {self._line(field, band)}: {message}")

    def _line(self, field: str, band: int | None) -> int:
        """Line of a field in the whole file or in a band; of the band itself; else the first."""
        lines = self.text.splitlines()
        heads = [number for number, line in enumerate(lines) if _BAND.match(line)]
        first, last = 0, len(lines)
        if band is not None and band < len(heads):
            first = heads[band]
            last = heads[band + 1] if band + 1 < len(heads) else last
        key = re.compile(rf"""\s*\[*\s*(?:\w+\s*\.\s*)*["']?{re.escape(field)}["']?\s*[.=\]]""")
        found = (number for number in range(first, last) if field and key.match(lines[number]))
        return next(found, first) + 1


# ── checking ────────────────────────────────────────────────────────────────────────────────────


def _rubric(source: _Source, data: Mapping[str, Any]) -> Rubric:
    kinds: dict[str, Callable[[_Source, Mapping[str, Any]], Rubric]] = {
        "bands": _of_bands,
        "index": _of_terms,
    }
    kind = data.get("kind")
    if not isinstance(kind, str) or kind not in kinds:
        source.wrong(
            f"kind: {kind!r} is no kind of rubric; write one of {', '.join(kinds)}", "kind"
        )
    holds = "bands" if kind == "bands" else "terms"
    known = ("kind", "name", "about", holds)
    for field in data:
        if field not in known:
            source.wrong(
                f"{field}: no such field; leave it out or write one of {', '.join(known)}", field
            )
    if holds not in data:
        source.wrong(f"{holds}: missing; add them, as a rubric of kind “{kind}” has them", "kind")
    return kinds[kind](source, data)


def _name_and_about(source: _Source, data: Mapping[str, Any]) -> tuple[str, str]:
    name = _text(source, data, "name", Path(source.name).stem)
    return name, _text(source, data, "about", "")


def _text(
    source: _Source,
    data: Mapping[str, Any],
    field: str,
    default: str | None,
    band: int | None = None,
) -> str:
    value = data.get(field, default)
    if not isinstance(value, str):
        source.wrong(f"{field}: {value!r} is not a text; put it in quotation marks", field, band)
    return value


def _number(source: _Source, field: str, value: object, line: str, band: int | None) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        source.wrong(f"{field}: {value!r} is not a number; write one", line, band)
    # A whole number of hundreds of digits fits no float; no feature comes near it.
    number = float(value) if abs(value) < 1e9 else float("inf")
    if not isfinite(number) or number < 0:
        source.wrong(f"{field}: {value!r} will not do; write 0 or more", line, band)
    return number


def _feature(source: _Source, name: str, band: int | None) -> None:
    if name not in FEATURES:
        source.wrong(f"{name}: no such feature; write one of {', '.join(FEATURES)}", name, band)


def _of_bands(source: _Source, data: Mapping[str, Any]) -> Rubric:
    name, about = _name_and_about(source, data)
    given = data["bands"]
    if not isinstance(given, list) or not all(isinstance(band, dict) for band in given):
        source.wrong("bands: not a list of tables; begin each band with [[bands]]", "bands")
    bands = tuple(_band(source, band, number) for number, band in enumerate(given))
    _check_order(source, bands)
    return Rubric(name, about, bands=bands)


def _band(source: _Source, data: Mapping[str, Any], number: int) -> Band:
    for field in data:
        if field not in ("label", "limits"):
            source.wrong(
                f"{field}: no such field; leave it out, as a band has label and limits",
                field,
                number,
            )
    if "label" not in data:
        source.wrong("label: missing; give the band a name", band=number)
    label = _text(source, data, "label", None, number)
    limits = data.get("limits", {})
    if not isinstance(limits, dict):
        source.wrong(
            f"limits: {limits!r} is not a table of features; write {{ highest_position = 1 }}",
            "limits", number,
        )  # fmt: skip
    for feature in limits:
        _feature(source, feature, number)
    return Band(
        label,
        {
            feature: _number(source, feature, value, feature, number)
            for feature, value in limits.items()
        },
    )


def _check_order(source: _Source, bands: Sequence[Band]) -> None:
    if not bands or bands[-1].limits:
        source.wrong(
            "bands: a last band without limits is missing, so harder parts would have no level; "
            "add one at the end",
            band=max(len(bands) - 1, 0),
        )
    labels = [band.label for band in bands]
    for number, (below, band) in enumerate(pairwise(bands), start=1):
        if band.label in labels[:number]:
            source.wrong(f"label: “{band.label}” stands twice; name them apart", "label", number)
        if not below.limits:
            source.wrong(
                f"limits: “{below.label}” has none, so no part would go on from there; add some",
                band=number - 1,
            )
        _check_rising(source, below, band, number)


def _check_rising(source: _Source, below: Band, band: Band, number: int) -> None:
    for feature, limit in band.limits.items():
        if feature not in below.limits:
            source.wrong(
                f"{feature}: limited here but not in “{below.label}” below; limit it there too",
                feature, number,
            )  # fmt: skip
        if limit < below.limits[feature]:
            source.wrong(
                f"{feature}: {limit:g} is less than “{below.label}” below allows "
                f"({below.limits[feature]:g}); limits may not fall, so write as much or more",
                feature, number,
            )  # fmt: skip


def _of_terms(source: _Source, data: Mapping[str, Any]) -> Rubric:
    name, about = _name_and_about(source, data)
    given = data["terms"]
    if not isinstance(given, dict):
        source.wrong("terms: not a table; begin it with [terms]", "terms")
    terms = tuple(_term(source, feature, term) for feature, term in given.items())
    if not sum(term.points for term in terms):
        source.wrong(
            "terms: no feature has points, so every part would get 0; give one some", "terms"
        )
    return Rubric(name, about, terms=terms)


def _term(source: _Source, feature: str, data: object) -> Term:
    _feature(source, feature, None)
    if not isinstance(data, dict):
        source.wrong(f"{feature}: {data!r} will not do; write {{ half = 5, points = 10 }}", feature)
    for field in data:
        if field not in ("above", "half", "points"):
            source.wrong(
                f"{feature}: no field {field}; leave it out, as a term has above, half and points",
                feature,
            )
    for field in ("half", "points"):
        if field not in data:
            source.wrong(f"{feature}: {field} is missing; write it", feature)
    above, half, points = (
        _number(source, f"{feature}, {field}", data.get(field, 0), feature, None)
        for field in ("above", "half", "points")
    )
    if not half:
        source.wrong(f"{feature}, half: 0 will not do; write more than 0", feature)
    return Term(feature, above, half, points)
