"""``scoretools programme``: a concert of an invented orchestra on one sheet."""

from pathlib import Path

import pytest
from music21 import corpus

from tests.cli.conftest import Command

SAMPLES = sorted((Path(__file__).resolve().parents[2] / "sample_scores").glob("*.musicxml"))
QUARTET = corpus.getWork("haydn/opus1no1/movement1")


def test_every_string_part_has_its_row(command: Command, tmp_path: Path) -> None:
    # Source: the music21 corpus; a string quartet has two violins and a viola.
    ended = command("programme", SAMPLES[0], QUARTET, "--out", tmp_path / "out")
    assert ended.code == 0
    page = (tmp_path / "out" / "programme.html").read_text("utf-8")
    assert page.count("<tr><td>") == 4
    for words in ("First Steps", "Violin", "Viola", "of the left hand only", "Index"):
        assert words in page
    assert (tmp_path / "out" / "programme.pdf").read_bytes().startswith(b"%PDF")
    assert ended.out.count(", index ") == 4


def test_the_harder_piece_has_the_longer_bar(command: Command, tmp_path: Path) -> None:
    command("programme", SAMPLES[0], SAMPLES[3], "--out", tmp_path, "--title", "Two <b> & one")
    page = (tmp_path / "programme.html").read_text("utf-8")
    assert "Two &lt;b&gt; &amp; one" in page
    assert page.count("<i style=") == 2
    assert "width: 5.0rem" in page.split("<tr><td>")[2]
    assert "width: 5.0rem" not in page.split("<tr><td>")[1]


def test_a_bad_score_is_named_and_the_others_stand(command: Command, tmp_path: Path) -> None:
    bad = tmp_path / "bad.musicxml"
    bad.write_text("no music", "utf-8")
    ended = command("programme", bad, SAMPLES[0], "--out", tmp_path / "out")
    assert ended.code == 0
    assert "Skipped: bad.musicxml" in ended.out
    assert "First Steps" in ended.out


@pytest.mark.parametrize("words", [("none.musicxml",), ("none.musicxml", "--paper", "a5")])
def test_nothing_to_show_is_one_sentence(
    words: tuple[str, ...], command: Command, tmp_path: Path
) -> None:
    ended = command("programme", *words, "--out", tmp_path / "out")
    assert ended.code == 2
    assert ended.err.count("\n") == 1
