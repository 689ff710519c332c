"""What printed words tell the left hand, in the languages parts are printed in.

Conventions: a text is compared on one line, accents and capitals mostly ignored; what stands first
in the table goes before what follows where both would match the same letters. A lone roman numeral,
a lone letter and lone digits are told apart, since only their surroundings say what they mean.
Common practice, no published source: the words, in English, German, French and Italian.
"""

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

__all__ = ["Meaning", "Sense", "meanings", "plain"]


class Sense(StrEnum):
    """What a word is about."""

    STRING = "string"
    """A string by its letter (a single ``A`` to ``G``) or number (``1`` is the highest)."""
    STRINGS = "strings"
    """Two strings or more in one breath, or a string that is not named."""
    POSITION = "position"
    """A position; ``0`` is half position."""
    STAY = "stay"
    """The hand stays where it is."""
    LOCO = "loco"
    """Strings and positions are free again."""
    PIZZICATO = "pizzicato"
    """Plucked from here on."""
    ARCO = "arco"
    """Bowed from here on."""
    LEFT_HAND = "left hand"
    """Plucked by the left hand."""
    DIVIDED = "divided"
    """Several notes are shared among players from here on."""
    UNISON = "unison"
    """All players play all notes from here on."""
    GLIDE = "glide"
    """The finger slides on from here."""
    HARMONICS = "harmonics"
    """Harmonics from here on."""
    NUMERAL = "numeral"
    """A lone numeral from one to four, by its number: a string, or something else."""
    LETTER = "letter"
    """A lone letter that names a string: a string, or a section."""
    FINGERS = "fingers"
    """Lone digits from 0 to 4: fingers, or a count."""
    COUNT = "count"
    """A lone number above four."""


@dataclass(frozen=True, slots=True)
class Meaning:
    """One thing that words say."""

    sense: Sense
    """What it is about."""
    value: str = ""
    """Which string, position, letter or digits; empty where there is nothing to tell."""


_ROMANS = ("i", "ii", "iii", "iv", "v", "vi", "vii", "viii", "ix", "x", "xi", "xii")
_ORDINALS = {
    word: number
    for number, words in enumerate(
        (
            "half demi halbe halben mezza 1/2 ½",
            "first erste ersten premiere prima",
            "second zweite zweiten deuxieme seconde seconda",
            "third dritte dritten troisieme terza",
            "fourth vierte vierten quatrieme quarta",
            "fifth funfte funften cinquieme quinta",
            "sixth sechste sechsten sixieme sesta",
            "seventh siebte siebten septieme settima",
        )
    )
    for word in words.split()
}
"""Ordinal words by their number; 0 is the half position."""

_SYLLABLES = {"do": "C", "ut": "C", "re": "D", "mi": "E", "fa": "F", "sol": "G", "la": "A"}
"""Strings as Italian and French name them."""

_NUMBER = r"(?P<n>1/2|½|\d\d?|[ivx]{1,4}|" + "|".join(sorted(_ORDINALS, key=len)[::-1]) + r")"
_ENDING = r" ?\.? ?-?(?:st|nd|rd|th|er|ere|eme|ieme|me|e|a|o|ª|°)?\.? ?-?"
_CORDS = r"(?:corde|corda|chorde|saiten?|strings?|str\.)"
_POSITIONS = r"(?:positione?|posizione|posit\b|pos\b|lage)"
_NAME = r"(?P<l>sol|la|re|mi|do|[cgdae])"
_ON = (
    r"(?:su(?:lla|l|r l[ae](?= cord|[ -](?:sol|la|re|mi|ut|do)\b)|r)|s[ou]l\.|sol(?= [cgdae]\b)|"
    r"auf der|auf|a\. ?d\.|on(?: the)?)"
)
# A second letter in capitals right behind the first, such as "Sul D. A" or "sul G e D".
_MORE = r"(?P<more>(?:[ .,&+/_-]|\b(?:e|ed|und|and|et)\b)+(?-i:[CGDAE])\b)?"

_TABLE: tuple[tuple[str, Sense], ...] = (
    (r"\b(?:l\. ?h\.|left[ -]hand|linken? hand|m\. ?g\.|main gauche|m\. ?s\.) ?pizz\w*\.?|"
     r"\+ ?pizz\w*[^,;]*|"
     r"pizz\w*\.? (?:with |mit |con |avec |de )?(?:the |der |la )?"
     r"(?:l\. ?h\.|left[ -]hand|linken? hand|m\. ?g\.|main gauche|m\. ?s\.|mano sinistra)",
     Sense.LEFT_HAND),
    (rf"(?:\b{_ON} )?(?:\b(?:la|le|der|the) )?\b{_NUMBER}{_ENDING} ?{_CORDS}", Sense.STRING),
    (rf"\b{_CORDS} {_NUMBER}\b", Sense.STRING),
    (rf"\b{_ON} {_NAME}[ -]{_CORDS}", Sense.STRING),
    (r"\b(?P<l>[cgdae])[ -](?:saite|string)\b", Sense.STRING),
    (r"\bcorde (?:de |du )?(?P<l>sol|la|re|mi|do|ut)\b", Sense.STRING),
    (rf"(?<!\w){_ON} (?P<l>[cgdae]|(?:sol|la|re|mi|do)(?! ?\w))\b(?:\.(?!\w))?{_MORE}",
     Sense.STRING),
    (rf"\bsu(?:l|lla|r la) (?P<n>[1-4]|i|ii|iii|iv){_ENDING}(?!\w)", Sense.STRING),
    (r"^(?P<n>[1-4]) ?\. ?c\.?$", Sense.STRING),
    (r"\b(?:sopra|sul(?:la)?|sur) (?:un[ae]?|due|deux|zwei) (?:meme )?cord[ae]s?", Sense.STRINGS),
    (rf"\b(?P<stay>a la |alla )?{_NUMBER}{_ENDING} ?{_POSITIONS}\.?", Sense.POSITION),
    (rf"\b{_POSITIONS}\.? {_NUMBER}\b", Sense.POSITION),
    (r"\breste[zr]?\b|^rest\.?$|\ba la (?:meme )?posi?t(?:ion)?\b|\bin (?:der )?lage bleiben\b|"
     r"\bbleiben\b|\bstay\b|\brestare\b|\bin posi(?:tion|zione)\b", Sense.STAY),
    (r"\bloco\b", Sense.LOCO),
    (r"\bpizz", Sense.PIZZICATO),
    (r"(?<!['’`]|-)\b(?:coll['’] ?)?arco\b(?! in )|\bbogen\b|\bbowed\b", Sense.ARCO),
    (r"\bgliss(?:\.|ez|ando|ato)?(?!\w)|\bport\.|\bportamento\b", Sense.GLIDE),
    (r"\bflag(?:\.|eolet\w*)|\bsons harm\w*|\bharmoniques\b", Sense.HARMONICS),
    (r"\bnon div\w*|\bnicht (?:geteilt|get\.)|\bunis\w*|\bzus(?:\.|ammen)", Sense.UNISON),
    (r"\bdiv(?:\.|isi|ise?s|ided)?(?!\w)|\bgeteilt\b|\bget\.", Sense.DIVIDED),
)  # fmt: skip
"""Patterns and what they are about: ``n`` is a number, ``l`` a letter or syllable."""

_PATTERNS = tuple((re.compile(pattern, re.IGNORECASE), sense) for pattern, sense in _TABLE)
_LONE = (
    (re.compile(r"(?P<v>IV|I{1,3})[ ._–-]*"), Sense.NUMERAL),
    (re.compile(r"(?P<v>[1-4])(?:a|ª)\.?[ _–-]*"), Sense.NUMERAL),
    (re.compile(r"(?P<v>[CGDAE])\.?[ _–-]*"), Sense.LETTER),
    (re.compile(r"(?P<v>[(\[]?[0-4](?:[-–, ]+[0-4])*[)\]]?)"), Sense.FINGERS),
    (re.compile(r"(?P<v>\d{1,4})"), Sense.COUNT),
    (re.compile(r"(?P<v>\+)"), Sense.LEFT_HAND),
    (re.compile(r"(?:m\. ?g\.|l\. ?h\.)(?P<v>)"), Sense.LEFT_HAND),
)
"""Texts that hold nothing else."""

_TELLING = re.compile(
    r"corda|corde|saite|string|su[lr]|sol|auf|a\.|on |pos|lage|rest|bleib|stay|loco|pizz|arco|"
    r"bogen|bowed|gliss|port|flag|harm|div|unis|zus|get|\d\. ?c",
    re.IGNORECASE,
)
_LONGEST = 80
_HIGHEST_POSITION = 12
_STRINGS = 5


def plain(text: str) -> str:
    """Return a text as the table is written: on one line, without accents and mark-up.

    Parameters
    ----------
    text : str
        Printed words.

    Returns
    -------
    str
        The text, capitals kept.

    Raises
    ------
    Nothing.
    """
    text = re.sub(r"</?\w{1,8}>", "", text).replace("&amp;", "&").replace("_", " ")
    decomposed = unicodedata.normalize("NFKD", text.replace("½", "1/2"))
    return " ".join("".join(c for c in decomposed if not unicodedata.combining(c)).split())


@lru_cache(maxsize=4096)
def meanings(text: str) -> tuple[Meaning, ...]:
    """Return what words say to the left hand.

    Parameters
    ----------
    text : str
        Printed words; long sentences are read by their first eighty letters.

    Returns
    -------
    tuple of Meaning
        In the order of the text, none for words about anything else.

    Raises
    ------
    Nothing.
    """
    said = plain(text[: 2 * _LONGEST])[:_LONGEST]
    for pattern, sense in _LONE:
        if found := pattern.fullmatch(said):
            return (Meaning(sense, _value(found["v"])),)
    if not _TELLING.search(said):
        return ()
    found_at: list[tuple[int, Meaning]] = []
    for pattern, sense in _PATTERNS:
        for found in pattern.finditer(said):
            found_at += [(found.start(), meaning) for meaning in _read(found, sense)]
            blank = " " * (found.end() - found.start())
            said = said[: found.start()] + blank + said[found.end() :]
    said_in_order = (meaning for _, meaning in sorted(found_at, key=lambda pair: pair[0]))
    senses = {meaning.sense for _, meaning in found_at}
    # "A la position, loco": the hand stays, only the octave sign ends.
    return tuple(
        meaning
        for meaning in dict.fromkeys(said_in_order)
        if not (meaning.sense is Sense.LOCO and Sense.STAY in senses)
    )


def _read(found: "re.Match[str]", sense: Sense) -> Iterator[Meaning]:
    groups = found.groupdict()
    if sense is Sense.STRING and groups.get("more"):
        yield Meaning(Sense.STRINGS)
    elif sense is Sense.STRING and (letter := groups.get("l")):
        yield Meaning(sense, _SYLLABLES.get(letter.lower(), letter.upper()))
    elif sense in (Sense.STRING, Sense.POSITION):
        number = _value(groups["n"])
        most = _STRINGS if sense is Sense.STRING else _HIGHEST_POSITION
        if (
            number.isdecimal()
            and (sense is Sense.POSITION or number != "0")
            and int(number) <= most
        ):
            yield Meaning(sense, number)
            if groups.get("stay"):
                yield Meaning(Sense.STAY)
    else:
        yield Meaning(sense)


def _value(text: str) -> str:
    """Return a numeral, figure or ordinal word as a figure; anything else as it is."""
    small = text.lower()
    if small in _ROMANS:
        return str(_ROMANS.index(small) + 1)
    return str(_ORDINALS[small]) if small in _ORDINALS else text
