"""Tempo words such as *Allegro*: a stated speed where the score prints no figure.

Conventions: the figures count quarter notes a minute; in compound time (6/8, 9/8, 12/8 …) a beat
is a dotted quarter, and there are two thirds as many of them. A word counts where it opens the text
with a capital letter, a few words of degree before it left aside. Words that compare (*più mosso*,
*meno*, *a tempo*) set no speed.
Common practice, no published source: the table, a middling speed for each word.
"""

import re
from functools import lru_cache

from scoretools.read.lexicon import plain

__all__ = ["TEMPO_WORDS", "beats_of"]

TEMPO_WORDS = {
    "grave": 44, "larghissimo": 44, "largo": 50, "lento": 54, "larghetto": 60, "adagio": 64,
    "adagietto": 70, "andante": 80, "andantino": 88, "maestoso": 88, "moderato": 104,
    "allegretto": 112, "allegro moderato": 116, "allegro": 132, "allegro assai": 144,
    "allegro molto": 144, "animato": 126, "agitato": 132, "vivace": 156, "vivo": 156,
    "vivacissimo": 168, "presto": 184, "prestissimo": 200,
    "langsam": 56, "ruhig": 66, "gehend": 80, "massig": 96, "bewegt": 112, "lebhaft": 138,
    "rasch": 144, "schnell": 152,
    "lent": 54, "modere": 100, "anime": 126, "vite": 144, "vif": 152,
    "slow": 56, "slowly": 56, "moderate": 100, "lively": 138, "fast": 152, "quick": 152,
}  # fmt: skip
"""Quarter notes a minute by the word in small letters without accents."""

_BEFORE = r"(?:[IVX]{1,4}\.? )?(?:(?:un )?poco |molto |assez |tres |sehr |ziemlich |tempo di )?"
_WORD = re.compile(
    _BEFORE + r"(" + "|".join(sorted(TEMPO_WORDS, key=len, reverse=True)) + r")\b", re.IGNORECASE
)


@lru_cache(maxsize=4096)
def beats_of(text: str) -> tuple[str, int] | None:
    """Return the speed that words stand for.

    Parameters
    ----------
    text : str
        Printed words.

    Returns
    -------
    tuple of str and int, or None
        The word as printed and its quarter notes a minute; none for other words.

    Raises
    ------
    Nothing.
    """
    if not text[:1].isupper():
        return None
    found = _WORD.match(plain(text))
    if found is None:
        return None
    # Without accents a text may be longer or shorter by some marks, its words stay where they are.
    words = text.split()[: len(found.group().split())]
    return " ".join(words).rstrip(".,"), TEMPO_WORDS[found.group(1).lower()]
