"""Bars of converted tunes: numbered as musicians count, whole, and with no stray accidentals."""

import pytest
from music21 import corpus

from scoretools.read import read_part

HEAD = "X:1\nT:Test\nM:2/4\nL:1/8\nK:D\n"


def bars(part):
    return [(measure.number, float(measure.duration_ql)) for measure in part.measures]


def test_a_full_first_bar_is_bar_one_and_an_upbeat_is_bar_nought(write):
    assert bars(read_part(write(f"{HEAD}dfaf|d2d2|]\n", "t.abc"))) == [("1", 2.0), ("2", 2.0)]
    assert bars(read_part(write(f"{HEAD}A|dfaf|d3|]\n", "t.abc")))[0] == ("0", 0.5)


def test_an_overfull_bar_is_one_bar_and_told(write):
    part = read_part(write(f"{HEAD}dfaf|dfafd|d2d2|]\n", "t.abc"))
    assert bars(part) == [("1", 2.0), ("2", 2.5), ("3", 2.0)]
    assert "Bar 2 holds more" in " ".join(notice.message for notice in part.notices)


def test_a_bar_after_a_new_time_signature_is_not_called_overfull(write):
    part = read_part(write(f"{HEAD}dfaf|\nM:3/4\ndfafdf|d6|]\n", "t.abc"))
    assert "holds more" not in " ".join(notice.message for notice in part.notices)


# Source: Ryan's Mammoth Collection of Fiddle Tunes, 1883, in the music21 corpus; the eighteenth
# sixteenth of bar 15 is the transcriber's.
def test_a_tune_in_print(tmp_path):
    part = read_part(corpus.getWork("ryansMammoth/CarmichaelsStrathspey"))
    assert [measure.number for measure in part.measures] == [str(n) for n in range(1, 17)]
    assert float(part.measures[14].duration_ql) == 4.5


# Source: as above; its editor's note speaks of the fourth finger on A-flat in bars 11 and 15.
def test_a_divided_bar_counts_once_whatever_fills_it(tmp_path):
    part = read_part(corpus.getWork("ryansMammoth/BuckleysHornpipe"))
    bars = {
        part.measures[event.measure].number
        for event in part.events
        for note in event.notes
        if note.pitch.name == "Ab5" and 4 in note.marks.fingers
    }
    assert bars == {"11", "15"}


@pytest.mark.parametrize(
    ("music", "signs"),
    [
        ('"1"D"2"E"3"F"4"G|D4|]', []),  # the key's own notes
        ("D=C^CD|C4|]", ["natural", "sharp"]),  # altered, and a reminder in the same bar
        ("^GABc|=G4|]", ["sharp", "natural"]),  # altered in the bar before
    ],
)
def test_accidentals_are_printed_where_notes_ask_for_them(write, music, signs):
    from scoretools.read.container import contents
    from scoretools.read.convert import converted

    root = converted(contents(write(f"{HEAD}{music}\n", "t.abc")), "abc", None).root
    assert [sign.text for sign in root.iter("accidental")] == signs
