"""Words as parts print them. Common practice, no published source, unless one is named."""

import pytest

from scoretools.read.lexicon import Sense, meanings


def said(text):
    return [(one.sense.value, one.value) for one in meanings(text)]


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("sul G", "G"),
        ("Sul D.", "D"),
        ("sul A_", "A"),
        ("sol. G.", "G"),
        ("sul G du talon.", "G"),
        ("Flag. sul A", "A"),
        ("Solo, quasi Tromba, sul C", "C"),
        ("sul Re", "D"),
        ("sulla IV", "4"),
        ("sul IV", "4"),
        ("sulla quarta corda", "4"),
        ("IIIa corda", "3"),
        ("4a. corda", "4"),
        ("4.a corda", "4"),
        ("sur la 4e corde", "4"),
        ("4<sup>e</sup> Corde", "4"),
        ("4 e Corde", "4"),
        ("3ème corde", "3"),
        ("Corde IV", "4"),
        ("corde de sol", "G"),
        ("3.C.", "3"),
        ("auf der G-Saite", "G"),
        ("D-Saite", "D"),
        ("IV. Saite", "4"),
        ("on the G string", "G"),
        ("4th string", "4"),
    ],
)
def test_strings(text, value):
    assert ("string", value) in said(text)


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("III pos.", "3"),
        ("3rd pos.", "3"),
        ("2nd position", "2"),
        ("Position III", "3"),
        ("first position", "1"),
        ("half pos.", "0"),
        ("½ pos.", "0"),
        ("1. Pos.", "1"),
        ("5.Pos.", "5"),
        ("3. Lage", "3"),
        ("III. Lage", "3"),
        ("erste Lage", "1"),
        ("3e position", "3"),
        ("2a posizione", "2"),
    ],
)
def test_positions(text, number):
    assert said(text) == [("position", number)]


@pytest.mark.parametrize(
    ("text", "senses"),
    [
        ("à la 5me position", ["position", "stay"]),
        ("restez", ["stay"]),
        ("restez à la position.", ["stay"]),
        ("à la posit.", ["stay"]),
        ("a la posit. loco", ["stay"]),
        ("loco", ["loco"]),
        ("pizz.", ["pizzicato"]),
        ("[pizz]].", ["pizzicato"]),
        ("arco ordinario", ["arco"]),
        ("l. h. pizz.", ["left hand"]),
        ("+ pizzicato main gauche.", ["left hand"]),
        ("+", ["left hand"]),
        ("div. a 2", ["divided"]),
        ("geteilt", ["divided"]),
        ("non div.", ["unison"]),
        ("unis.", ["unison"]),
        ("zus.", ["unison"]),
        ("Sul G e D_", ["strings"]),
        ("Sul D.A", ["strings"]),
        ("sur deux cordes.", ["strings"]),
        ("gliss.", ["glide"]),
        ("sons harmoniques", ["harmonics"]),
    ],
)
def test_other_words(text, senses):
    assert [sense for sense, _ in said(text)] == senses


@pytest.mark.parametrize(
    ("text", "read"),
    [
        ("IV", ("numeral", "4")),
        ("II.", ("numeral", "2")),
        ("4a", ("numeral", "4")),
        ("D", ("letter", "D")),
        ("2", ("fingers", "2")),
        ("1-2", ("fingers", "1-2")),
        ("12", ("count", "12")),
    ],
)
def test_lone_signs(text, read):
    assert said(text) == [read]


@pytest.mark.parametrize(
    "text",
    [
        "II. Menuetto",
        "stringendo",
        "poco string.",
        "sul ponticello",
        "sul tasto",
        "sur la touche",
        "jetez l`archet",
        "punta d'arco",
        "Presto",
        "appassionato",
        "composer",
        "divertimento",
        "con sordino",
        "a. d. Sp.",
        "",
    ],
)
def test_words_about_other_things(text):
    assert said(text) == []


@pytest.mark.parametrize("text", ["13th pos.", "0. Saite", "9. Saite"])
def test_impossible_numbers_say_nothing(text):
    assert said(text) == []


def test_every_sense_can_be_said():
    texts = ("sul G", "sul D e A", "3. Lage", "restez", "loco", "pizz.", "arco", "+", "div.")
    lone = ("unis.", "II", "A", "1", "17", "gliss.", "flag.")
    assert {one.sense for text in texts + lone for one in meanings(text)} == set(Sense)
