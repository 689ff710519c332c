"""Several notes at once in one part: a double stop for one player, or shared among players.

The reader keeps all voices; here the part becomes what one player plays.

The rule
--------
Notes are left out only for a reason, looked for in this order; whatever gives none stays a double
stop or a chord, as a soloist expects of unaccompanied Bach: long notes against moving ones too,
which the hand may let go.

Words
    From *div.* to *unis.* each player has one line, even where a hand could hold both: a librarian
    hands the part to two players of one desk.
Staves
    Notes on two staves at once are two players or an ossia; nobody reads both. The upper staff is
    kept with its own double stops.
Persistence
    Where no hand holds the notes together again and again over many bars, nobody meant one player.
    A soloist's music may ask too much now and then (a bass that must be let go, a broken tenth),
    never so often for so long; the limits are in `STRETCHES`. The stretch is divided as far as two
    voices go on without a bar's break.
Playability
    A single chord beyond the hand is broken or thinned: the top note stays, then as many others as
    can be held, the bass before the inner notes.

After *unis.* only playability counts.

The top line is taken in every part, first violin, second and viola alike: in every section the
outside player of a desk takes the upper line. `Divisi.BOTTOM` takes the other.

A line is a voice, and its rests belong to it; where one voice has several notes, it is the highest
(or lowest) of them. Where only the voice that stands first in the bar sounds, both players have
it, since a score prints a unison once; another voice that sounds with it belongs to the second
player for the whole bar. The notes of one artificial harmonic count as one. Three lines
(*div. a 3*) have a middle one that is neither top nor bottom.

All of this is common practice, without a published source.
"""

from scoretools.voices.rules import STRETCHES, Divisi, decide

__all__ = ["STRETCHES", "Divisi", "decide"]
