"""The forms as data."""

from itertools import chain

import pytest

from scoretools.drills import forms
from scoretools.drills.forms import ADVICE, CARRIED, FORMS, LEARNING_ORDER, Form
from scoretools.model import DemandKind

EVERY = (*chain.from_iterable(FORMS.values()), CARRIED)


@pytest.mark.parametrize("kind", DemandKind)
def test_every_kind_of_demand_has_a_form(kind: DemandKind) -> None:
    assert FORMS[kind]
    names = [form.name for form in FORMS[kind]]
    assert len(names) == len(set(names))


@pytest.mark.parametrize("form", EVERY, ids=lambda form: form.name)
def test_every_token_is_explained_at_the_head_of_the_module(form: Form) -> None:
    head = forms.__doc__ or ""
    for token in set(form.tokens):
        plain = token.strip("~^/")
        word = "before 1" if token.startswith("before") else plain
        if plain.isdigit():
            mark = token.replace(plain, "")
            assert plain in "01234"
            assert not mark or f"1{mark}``" in head or f"``{mark}1``" in head
        else:
            assert f"``{word}``" in head


# Common practice, no published source; teachers differ.
def test_the_usual_learning_order() -> None:
    assert LEARNING_ORDER[:4] == ("W-H-W", "H-W-W", "W-W-H", "W-W-W")
    assert set(LEARNING_ORDER[4:-1]) == {"W-H-A", "A-H-W", "H-A-H", "H-W-H"}
    assert set(ADVICE) == set(LEARNING_ORDER)


# Common practice, no published source: the forms string teachers use for a shape.
@pytest.mark.parametrize(
    "words",
    [
        "silent", "up and down", "down and up from the fourth", "skipping", "stays down",
        "two strings", "shape against shape", "octave frame", "measured trill", "long and short",
        "short and long", "accent", "scale",
    ],
)  # fmt: skip
def test_the_forms_in_use_are_there(words: str) -> None:
    assert any(words in form.name for form in FORMS[DemandKind.SHAPE])
