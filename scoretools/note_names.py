"""Names of notes as a reader calls them: by letters, do ré mi, or as in German.

Names are formed here alone. A sentence that names notes is a `Wording`: as a text it holds letters,
so that tables, JSON, MusicXML, logs and whatever compares texts always have one form; `said` gives
it to a person, under the names in force (see `naming`).

Conventions
-----------
* Letters: ``F#5``, ``Bb``; pages set their signs.
* Solfège: ``fa♯5``, ``si♭``. *Do* is always C (fixed do).
* German: B natural is ``H``, B flat is ``B``; a sharp is ``-is``, a flat ``-es``, after E and A
  ``-s``: ``Fis5``, ``Es``, ``As``, ``Des``, ``His``, and twice the same: ``Fisis``, ``Eses``,
  ``Heses``.
* Octaves are numbered alike in all of them: the open A string of a violin is ``A4`` and ``la4``.

Sources: common practice, no published source.
"""

import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

from scoretools.model import Pitch

__all__ = [
    "NoteNames",
    "Wording",
    "bare_name_of",
    "joined",
    "name_of",
    "names_in_force",
    "naming",
    "note_names_from",
    "said",
    "worded",
]


class NoteNames(StrEnum):
    """How notes are called."""

    LETTERS = "letters"
    """C D E F G A B."""
    SOLFEGE = "solfège"
    """do ré mi fa sol la si."""
    GERMAN = "german"
    """C D E F G A H."""


_IN_FORCE: ContextVar[NoteNames] = ContextVar("note_names", default=NoteNames.LETTERS)


@contextmanager
def naming(names: NoteNames) -> Iterator[None]:
    """Let notes be called so for a person, as long as the context lasts."""
    before = _IN_FORCE.set(names)
    try:
        yield
    finally:
        _IN_FORCE.reset(before)


def names_in_force() -> NoteNames:
    """How notes are called here and now; by letters where nothing else was asked for."""
    return _IN_FORCE.get()


def note_names_from(text: str) -> NoteNames | None:
    """Read what a player calls the way to name notes; none where it is not known.

    Parameters
    ----------
    text
        A word for it (``solfège``) or its first notes (``do ré mi``); capitals, accents and signs
        between the letters do not matter.
    """
    letters = unicodedata.normalize("NFKD", text).casefold()
    return _ASKED_FOR.get("".join(sign for sign in letters if sign.isalnum()))


_ASKED_FOR: Mapping[str, NoteNames] = MappingProxyType(
    {
        **dict.fromkeys(
            ("letters", "english", "abc", "cde", "cdefgab", "cdefgabc", "cdeb"), NoteNames.LETTERS
        ),
        **dict.fromkeys(
            ("solfege", "solfeggio", "fixeddo", "doremi", "doremifasollasi", "doremifasollasido"),
            NoteNames.SOLFEGE,
        ),
        **dict.fromkeys(
            ("german", "deutsch", "h", "cdeh", "cdefgah", "cdefgahc"), NoteNames.GERMAN
        ),
    }
)


# ── wordings ────────────────────────────────────────────────────────────────────────────────────


class Wording(str):
    """Words that name notes; as a text, with letters."""

    __slots__ = ("parts", "template")

    template: str
    """The words, with ``{}`` for each part."""
    parts: tuple[object, ...]
    """Names, other wordings, and what else is put into the words."""

    def __new__(cls, template: str, parts: tuple[object, ...]) -> "Wording":
        """Make a wording; see `worded`."""
        made = super().__new__(cls, _formed(template, parts, NoteNames.LETTERS))
        made.template = template
        made.parts = parts
        return made

    def __getnewargs__(self) -> tuple[str, tuple[object, ...]]:  # type: ignore[override]
        """Give what it is made of, for a copy and for another process."""
        return self.template, self.parts


def worded(template: str, *parts: object) -> Wording:
    """Put names and other parts into words.

    Parameters
    ----------
    template
        Words with ``{}`` for each part, as `str.format` takes them.
    parts
        Wordings keep their names; anything else is put in as it is.
    """
    return Wording(template, parts)


def joined(between: str, parts: Iterable[str]) -> Wording:
    """Join words as `str.join` does, names kept."""
    found = tuple(parts)
    plain = between.replace("{", "{{").replace("}", "}}")
    return Wording(plain.join(["{}"] * len(found)), found)


def said(text: str) -> str:
    """Give words to a person, their notes called by the names in force."""
    if isinstance(text, Wording):
        return _formed(text.template, text.parts, _IN_FORCE.get())
    return text


def name_of(pitch: Pitch) -> Wording:
    """Name a note with its octave, such as ``F#5``."""
    return Wording("{}", (_Name(pitch, with_octave=True),))


def bare_name_of(pitch: Pitch) -> Wording:
    """Name a note without its octave, such as ``F#``."""
    return Wording("{}", (_Name(pitch, with_octave=False),))


# ── forming ─────────────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True)
class _Name:
    """A note to be named."""

    pitch: Pitch
    """The note."""
    with_octave: bool
    """Whether its octave is told."""


_STEPS: Mapping[NoteNames, Mapping[str, str]] = MappingProxyType(
    {
        NoteNames.LETTERS: {step: step for step in "CDEFGAB"},
        NoteNames.SOLFEGE: {
            "C": "do", "D": "ré", "E": "mi", "F": "fa", "G": "sol", "A": "la", "B": "si",
        },
    }
)  # fmt: skip
"""The natural notes, by letter."""

_SIGNS: Mapping[NoteNames, tuple[str, str]] = MappingProxyType(
    {
        NoteNames.LETTERS: ("#", "b"),
        NoteNames.SOLFEGE: ("♯", "♭"),
    }
)
"""Sharp and flat."""


def _formed(template: str, parts: tuple[object, ...], names: NoteNames) -> str:
    return template.format(*(_part(part, names) for part in parts))


def _part(part: object, names: NoteNames) -> object:
    if isinstance(part, Wording):
        return _formed(part.template, part.parts, names)
    return _called(part, names) if isinstance(part, _Name) else part


def _called(name: _Name, names: NoteNames) -> str:
    pitch = name.pitch
    octave = str(pitch.octave) if name.with_octave else ""
    if names is NoteNames.GERMAN:
        return f"{_in_german(pitch)}{octave}"
    sharp, flat = _SIGNS[names]
    signs = sharp * pitch.alter if pitch.alter > 0 else flat * -pitch.alter
    return f"{_STEPS[names][pitch.step]}{signs}{octave}"


def _in_german(pitch: Pitch) -> str:
    if (pitch.step, pitch.alter) == ("B", -1):
        return "B"
    letter = "H" if pitch.step == "B" else pitch.step
    if pitch.alter >= 0:
        return letter + "is" * pitch.alter
    flats = "es" * -pitch.alter
    return letter + (flats[1:] if letter in "AE" else flats)
