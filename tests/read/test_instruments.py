import pytest

from scoretools.read.instruments import ordinal_words, recognised


# Common practice, no published source: names of the two instruments in printed scores.
@pytest.mark.parametrize(
    ("name", "instrument"),
    [
        ("Violin", "violin"),
        ("VIOLINO I", "violin"),
        ("Violine 2", "violin"),
        ("1er Violon", "violin"),
        ("Violín", "violin"),
        ("Vln.", "violin"),
        ("Vl. I", "violin"),
        ("Violin1", "violin"),
        ("Soloviolinen", "violin"),
        ("Geige", "violin"),
        ("Fiddle", "violin"),
        ("Viol. 1", "violin"),
        ("Viola", "viola"),
        ("Violas", "viola"),
        ("Viole", "viola"),
        ("Bratsche", "viola"),
        ("Solobratsche", "viola"),
        ("Vla.", "viola"),
        ("Va", "viola"),
        ("Violoncello", ""),
        ("Violone", ""),
        ("Viola da gamba", ""),
        ("Viola d'amore", ""),
        ("Bass viol", ""),
        ("Treble Viol", ""),
        ("Alto", ""),
        ("Vibraphone", ""),
        ("G_8va", ""),
        ("Piano", ""),
        ("", ""),
    ],
)
def test_names(name, instrument):
    assert recognised(name, (), (), (), False) == instrument


def test_name_goes_before_sound_and_sound_before_other_names_and_program():
    assert recognised("Violin", (), ("keyboard.piano",), ("1",), False) == "violin"
    assert recognised("Solo", (), ("strings.viola",), (), False) == "viola"
    assert recognised("Brass", ("Vl.",), ("brass.group",), ("41",), False) == ""
    assert recognised("Upper", ("Vln. 1",), ("strings.group",), (), False) == "violin"
    assert recognised("", (), (), ("1", "42"), False) == "viola"
    assert recognised("Violone", ("Vl.",), (), (), False) == ""


def test_alto_needs_a_sound_or_a_clef():
    assert recognised("Alto", (), (), (), True) == "viola"
    assert recognised("Alto", (), ("strings.viola",), (), False) == "viola"
    assert recognised("Alto", (), ("voice.alto",), (), True) == ""


def test_names_are_brought_to_one_form():
    assert ordinal_words("Violino II") == ordinal_words("2nd Violin")[::-1] == ("violin", "2")
    assert ordinal_words("Violine 1") == ordinal_words("violin i") == ("violin", "1")
