"""Which instrument a part is for, told from the names and sounds the score gives it.

Conventions: names are compared in small letters without accents, word by word. A name decides
before a sound, a sound before a playback program; the word *alto* counts only where a sound or an
alto clef confirms it, since it also names a singer.
Source of the sounds: MusicXML 4.0, standard sounds; of the programs: General MIDI level 1.
Common practice, no published source: the names in the languages scores are printed in.
"""

import re
import unicodedata
from collections.abc import Collection, Iterable

__all__ = ["VIOLA", "VIOLIN", "ordinal_words", "recognised"]

VIOLIN = "violin"
"""Name of the violin in `Part.instrument`."""

VIOLA = "viola"
"""Name of the viola in `Part.instrument`."""


def _words(name: str) -> frozenset[str]:
    # Letters right behind a figure are no word of their own: 1st, 8va.
    return frozenset(re.findall(r"(?<![^\W_])[^\W\d_]+", _plain(name)))


def _plain(name: str) -> str:
    decomposed = unicodedata.normalize("NFKD", name.casefold())
    return "".join(c for c in decomposed if not unicodedata.combining(c)).replace("ł", "l")


_NAMES = {
    VIOLIN: _words(
        "violin violins violine violinen violino violini violon violons violines violinos viool "
        "vln vlns vn vns vl vno vni viol geige geigen fiddle fiddles fidel fidula "
        "fiol fioler fiolin fioliner hegedu hegeduk housle skrzypce viulu viulut "
        "skripka скрипка скрипки vioara viori"
    ),
    VIOLA: _words(
        "viola violas viole bratsche bratschen bratsch vla vlas vle va altviool "
        "altviolen altviolin altfiol bracsa altowka alttoviulu альт альты"
    ),
}
"""Words that name an instrument."""

_ENDINGS = (
    (VIOLIN, ("violin", "violine", "violinen", "violino", "violini", "geige", "geigen", "violon")),
    (VIOLA, ("bratsche", "bratschen")),
)
"""How compound words that name an instrument end, such as *Solovioline*."""

_ALTO = _words("alto altos alti")
_OTHERS = _words(
    "gamba gambe gambas amore damore amour damour bass basso pomposa bastarda "
    "cello celli violoncello violoncelli violoncelle violone contrabass kontrabass contrabasso"
)
"""Words that name, or make of a viola, another instrument, such as *viola d'amore*."""

_VIOLS = _OTHERS | _words("treble tenor alto consort descant pardessus dessus")
"""Words beside which *viol* is not short for violin."""

_SOUNDS = {"strings.violin": VIOLIN, "strings.fiddle": VIOLIN, "strings.viola": VIOLA}
_PROGRAMS = {"41": VIOLIN, "42": VIOLA}

_ORDINALS = {
    word: str(number)
    for number, words in enumerate(
        (
            "1 i 1st first primo prima premier 1er erste 1mo 1o",
            "2 ii 2nd second secondo seconda deuxieme 2e 2nde zweite 2do 2o",
            "3 iii 3rd third terzo terza troisieme 3e dritte",
            "4 iv 4th fourth quarto quarta quatrieme 4e vierte",
        ),
        1,
    )
    for word in words.split()
}


def recognised(
    name: str,
    other_names: Iterable[str],
    sounds: Collection[str],
    programs: Iterable[str],
    alto_clef: bool,
) -> str:
    """Return the instrument a part is for.

    Parameters
    ----------
    name : str
        Name of the part.
    other_names : iterable of str
        Its abbreviation, names of its instruments and of its group, the most telling first.
    sounds : collection of str
        Sound identifiers, such as ``strings.violin``.
    programs : iterable of str
        Playback programs, counted from 1.
    alto_clef : bool
        Whether the part begins in the alto clef.

    Returns
    -------
    str
        `VIOLIN`, `VIOLA`, or an empty string for anything else.

    Raises
    ------
    Nothing.
    """
    words = _words(name)
    by_sound = next((i for sound in sounds if (i := _by_sound(sound))), "")
    if by_name := _by_name(words):
        return by_name
    if words & _ALTO and (by_sound == VIOLA or (alto_clef and not sounds)):
        return VIOLA
    if words & _OTHERS or by_sound:
        return "" if words & _OTHERS else by_sound
    if sounds and not any(sound.startswith("strings") for sound in sounds):
        return ""
    for other in other_names:
        if by_name := _by_name(_words(other)):
            return by_name
    return next((_PROGRAMS[program] for program in programs if program in _PROGRAMS), "")


def ordinal_words(name: str) -> tuple[str, ...]:
    """Return the words of a name with instruments and ordinals brought to one form.

    Parameters
    ----------
    name : str
        A part name, such as ``Violino II``.

    Returns
    -------
    tuple of str
        Words for comparison, such as ``('violin', '2')``.

    Raises
    ------
    Nothing.
    """
    words = re.findall(r"[^\W\d_]+|\d+[^\W\d_]*", _plain(name))
    return tuple(_ORDINALS.get(word) or _by_name(frozenset((word,))) or word for word in words)


def _by_sound(sound: str) -> str:
    return _SOUNDS.get(".".join(sound.split(".")[:2]), "")


def _by_name(words: frozenset[str]) -> str:
    violins = words & _NAMES[VIOLIN]
    if violins and not (violins == {"viol"} and words & _VIOLS):
        return VIOLIN
    if words & _NAMES[VIOLA]:
        return "" if words & _OTHERS else VIOLA
    for instrument, endings in _ENDINGS:
        if any(word.endswith(endings) for word in words):
            return instrument
    return ""
