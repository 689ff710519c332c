"""Names of notes: every form by hand, sentences in three languages, and what never changes."""

import copy
import json
import pickle
import sqlite3
from collections.abc import Callable

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scoretools.instrument import INSTRUMENTS, instrument, string_names
from scoretools.model import Analysis, Pitch
from scoretools.note_names import (
    NoteNames,
    Wording,
    bare_name_of,
    joined,
    name_of,
    names_in_force,
    naming,
    said,
    worded,
)

ALL = tuple(NoteNames)
PITCHES = st.builds(Pitch, st.sampled_from("CDEFGAB"), st.integers(-3, 3), st.integers(0, 8))


def in_all(text: str) -> list[str]:
    """Say something by letters, in solfège and in German."""
    found = []
    for names in ALL:
        with naming(names):
            found.append(said(text))
    return found


# ── names ───────────────────────────────────────────────────────────────────────────────────────


# Common practice, no published source: fixed do; German B natural is H and B flat is B. A B
# with two flats is Heses in German, told apart from B flat.
@pytest.mark.parametrize(
    ("step", "alter", "names"),
    [
        ("C", 0, ["C4", "do4", "C4"]),
        ("D", 0, ["D4", "ré4", "D4"]),
        ("E", 0, ["E4", "mi4", "E4"]),
        ("F", 0, ["F4", "fa4", "F4"]),
        ("G", 0, ["G4", "sol4", "G4"]),
        ("A", 0, ["A4", "la4", "A4"]),
        ("B", 0, ["B4", "si4", "H4"]),
        ("F", 1, ["F#4", "fa♯4", "Fis4"]),
        ("E", -1, ["Eb4", "mi♭4", "Es4"]),
        ("B", -1, ["Bb4", "si♭4", "B4"]),
        ("B", 1, ["B#4", "si♯4", "His4"]),
        ("B", -2, ["Bbb4", "si♭♭4", "Heses4"]),
        ("B", 2, ["B##4", "si♯♯4", "Hisis4"]),
        ("C", -1, ["Cb4", "do♭4", "Ces4"]),
        ("A", -2, ["Abb4", "la♭♭4", "Ases4"]),
    ],
)
def test_a_note_has_its_name_in_every_language(step: str, alter: int, names: list[str]) -> None:
    assert in_all(name_of(Pitch(step, alter, 4))) == names
    assert in_all(bare_name_of(Pitch(step, alter, 4))) == [name.rstrip("4") for name in names]


@given(PITCHES)
def test_letters_are_the_names_of_the_model(pitch: Pitch) -> None:
    assert name_of(pitch) == said(name_of(pitch)) == pitch.name


@given(PITCHES, PITCHES)
def test_no_two_notes_share_a_name(one: Pitch, other: Pitch) -> None:
    pairs = zip(in_all(name_of(one)), in_all(name_of(other)), strict=True)
    assert all((first == second) is (one == other) for first, second in pairs)


def test_strings_are_named_as_their_player_calls_them() -> None:
    violin, viola = (string_names(instrument(name)) for name in INSTRUMENTS)
    assert violin == ("G", "D", "A", "E")
    assert [in_all(name)[1] for name in violin] == ["sol", "ré", "la", "mi"]
    assert [in_all(name)[1] for name in viola] == ["do", "sol", "ré", "la"]
    assert [in_all(name)[2] for name in violin] == ["G", "D", "A", "E"]
    # A violin tuned B flat, D, B flat, E: two strings of one letter have their octaves.
    tuned = (Pitch("B", -1, 3), Pitch("D", 0, 4), Pitch("B", -1, 4), Pitch("E", 0, 5))
    names = string_names(instrument("violin", tuning=tuned))
    assert [in_all(name)[2] for name in names] == ["B3", "D", "B4", "E"]


# ── sentences ───────────────────────────────────────────────────────────────────────────────────

SLIDE = worded(
    "finger {} from {} to {} on the {} string",
    1, bare_name_of(Pitch("B", -1, 4)), bare_name_of(Pitch("B", 0, 4)), string_names(
        instrument("violin"))[2],
)  # fmt: skip


def test_a_sentence_is_said_in_every_language() -> None:
    assert in_all(SLIDE) == [
        "finger 1 from Bb to B on the A string",
        "finger 1 from si♭ to si on the la string",
        "finger 1 from B to H on the A string",
    ]


def test_sentences_in_sentences_keep_their_names() -> None:
    whole = joined("; ", (worded("{}, {}", SLIDE, "under a slur"), "B {} stays"))
    assert in_all(whole)[1] == (
        "finger 1 from si♭ to si on the la string, under a slur; B {} stays"
    )
    assert joined(", ", ()) == ""
    assert in_all(joined(" {} ", (SLIDE, SLIDE)))[2].count("from B to H") == 2


def test_what_names_no_note_is_said_as_it_is() -> None:
    assert in_all("C is no name here") == ["C is no name here"] * 3


@pytest.mark.parametrize("names", ALL)
def test_as_a_text_a_sentence_has_letters(names: NoteNames) -> None:
    with naming(names):
        letters = "finger 1 from Bb to B on the A string"
        assert SLIDE == letters == str(SLIDE) == f"{SLIDE}"
        assert {letters: 1}[SLIDE] == 1
        assert json.loads(json.dumps([SLIDE], indent=1)) == [letters]
        assert pd.DataFrame({"detail": [SLIDE]}).to_csv(index=False) == f"detail\n{letters}\n"
        with sqlite3.connect(":memory:") as store:
            assert store.execute("select ?", (SLIDE,)).fetchone() == (letters,)


@pytest.mark.parametrize(
    "again", [copy.copy, copy.deepcopy, lambda text: pickle.loads(pickle.dumps(text))]
)
def test_a_copy_keeps_its_names(again: Callable[[Wording], Wording]) -> None:
    assert in_all(again(SLIDE)) == in_all(SLIDE)


# ── names in force ──────────────────────────────────────────────────────────────────────────────


def test_names_hold_inside_their_context_alone() -> None:
    assert names_in_force() is NoteNames.LETTERS
    with naming(NoteNames.GERMAN):
        with naming(NoteNames.SOLFEGE):
            assert names_in_force() is NoteNames.SOLFEGE
        assert names_in_force() is NoteNames.GERMAN
    with pytest.raises(ZeroDivisionError), naming(NoteNames.SOLFEGE):
        _ = 1 // 0
    assert names_in_force() is NoteNames.LETTERS


@pytest.fixture
def everything(small_analysis: Callable[..., Analysis]) -> Callable[[], Analysis]:
    """Analyse a small part with a shift, a shape change, double stops and a note too low."""
    return lambda: small_analysis(
        "violin",
        "A4 B4:1 Bb4:1 C5 D5 E5 F#5:1@1 G5 A5 B5 A4+F#5 G4+B4 D4+B4+G5 C3 D5 r*2 E4+Bb4 r",
    )


@pytest.mark.parametrize("names", ALL)
def test_an_analysis_does_not_depend_on_the_names(
    everything: Callable[[], Analysis], names: NoteNames
) -> None:
    plain = everything()
    with naming(names):
        assert everything() == plain


def test_titles_demands_loads_and_notices_name_their_notes(
    everything: Callable[[], Analysis],
) -> None:
    analysis = everything()
    texts = [
        *(demand.detail for demand in analysis.demands),
        *(drill.title for drill in analysis.drills),
        *(reason for load in analysis.loads for reason in load.reasons),
        *(notice.message for notice in analysis.notices),
    ]
    with naming(NoteNames.SOLFEGE):
        told = [said(text) for text in texts]
    for words in ("si♭", "on the ré and la strings", "on la", "do3 goes below the open sol3"):
        assert any(words in text for text in told), (words, told)
