"""Double stop or divisi: what one player plays of several notes.

Parts are made by hand from words, in bars of 4/4 at 60 quarters a minute, one word for each note:
``D5@2*1/2`` begins two quarters into the part and lasts half a quarter.
"""

import os
import re
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import groupby, pairwise
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from typer.testing import CliRunner

import scoretools
from scoretools.cli.main import app
from scoretools.fingering.rows import Hand
from scoretools.hand import hand_reach
from scoretools.instrument import HIGHEST_POSITION, instrument
from scoretools.model import (
    NO_MARKS,
    Address,
    Divided,
    Event,
    Harmonic,
    Key,
    Measure,
    Note,
    NoteRef,
    Part,
    Pitch,
    Tempo,
    Words,
)
from scoretools.player import Player
from scoretools.voices import STRETCHES, Divisi, decide
from scoretools.voices.hands import handful, holds
from tests.conftest import ReadPart, score_text

CHECK_DATA = os.environ.get("SCORETOOLS_CHECK_DATA")
KEY = Key((0,) * 7, 0, "major")
_WORD = re.compile(r"([A-G])(#*|b*)(\d)@([\d/]+)\*([\d/]+)")


def hand_of(part: Part, player: Player | None = None) -> Hand:
    played = instrument(part.instrument)
    return Hand(played, hand_reach(played, player or Player()), HIGHEST_POSITION)


def voice(words: str, name: str = "1", staff: int = 1) -> list[tuple[Fraction, Note]]:
    """Notes of one voice with their onsets."""
    notes = []
    for word in words.split():
        read = _WORD.fullmatch(word)
        assert read, word
        step, accidentals, octave, onset, length = read.groups()
        alter = accidentals.count("#") - accidentals.count("b")
        notes.append((Fraction(onset), note(Pitch(step, alter, int(octave)), length, name, staff)))
    return notes


def note(pitch: Pitch, length: str | Fraction, name: str = "1", staff: int = 1) -> Note:
    quarters = Fraction(length)
    return Note(pitch, quarters, quarters, name, staff, False, False, NO_MARKS, Address("P1", 0, 0))


def made(
    *voices: Sequence[tuple[Fraction, Note]],
    words: dict[int, Divided] | None = None,
    name: str = "violin",
) -> Part:
    """Make a part of voices; words hold from the bar (by index) at which they stand."""
    addressed = []
    places: dict[int, int] = {}
    for one in voices:
        for onset, written in one:
            bar = int(onset // 4)
            place = places[bar] = places.get(bar, -1) + 1
            addressed.append((onset, replace(written, address=Address("P1", bar, place))))
    addressed.sort(key=lambda pair: (pair[0], pair[1].pitch.midi, pair[1].pitch.letter))
    events: list[Event] = []
    sounding: list[tuple[Fraction, NoteRef]] = []
    for onset, together in groupby(addressed, key=lambda pair: pair[0]):
        notes = tuple(one for _, one in together)
        index, bar = len(events), int(onset // 4)
        sounding = [(end, ref) for end, ref in sounding if end > onset]
        said = [word for at, word in sorted((words or {}).items()) if at <= bar]
        events.append(
            Event(
                index, bar, onset, float(onset),
                float(onset + max(one.duration_ql for one in notes)),
                onset % 4 + 1, notes, tuple(ref for _, ref in sounding), KEY, False, False,
                Words(divided=said[-1]) if said else Words(),
            )
        )  # fmt: skip
        sounding += [(onset + one.duration_ql, NoteRef(index, i)) for i, one in enumerate(notes)]
    bars = tuple(
        Measure(bar, str(bar + 1), 1, "", Fraction(4 * bar), Fraction(4), (4, 4), False)
        for bar in range(max(places) + 1)
    )
    return Part(
        "made.musicxml", "", "", "Part", "P1", 1, name, None, bars, tuple(events),
        (Tempo(Fraction(0), 60.0, False),), (),
    )  # fmt: skip


def played(part: Part) -> str:
    """What is struck, chords joined by ``+``."""
    return " ".join("+".join(n.pitch.name for n in event.notes) for event in part.events)


def decided(part: Part, divisi: Divisi = Divisi.AUTO) -> str:
    return played(decide(part, hand_of(part), divisi)[0])


def told(part: Part, divisi: Divisi = Divisi.AUTO) -> list[tuple[int | None, str]]:
    return [(notice.measure, notice.message) for notice in decide(part, hand_of(part), divisi)[1]]


THIRDS = (voice("E5@0*1 F5@1*1 G5@4*1 A5@8*1"), voice("C5@0*1 D5@1*1 E5@4*1 F5@8*1", "2"))


# ── double stops stay ───────────────────────────────────────────────────────────────────────────


def test_what_a_hand_holds_is_one_players() -> None:
    part = made(*THIRDS)
    assert decide(part, hand_of(part)) == (part, ())


def test_one_line_stays_as_it_is() -> None:
    part = made(voice("A4@0*1 B4@1*1"), words={0: Divided.DIVIDED})
    for divisi in Divisi:
        assert decide(part, hand_of(part), divisi)[0] is part


# Common practice, no published source: a long note that must be let go is polyphony for one.
def test_a_long_note_under_moving_ones_stays_though_it_must_be_let_go() -> None:
    part = made(voice("D5@0*1 E5@1*1 F5@2*1 E6@3*1"), voice("G3@0*4", "2"))
    assert decide(part, hand_of(part)) == (part, ())


def test_a_chord_in_a_score_stays(small_part: ReadPart) -> None:
    part = small_part("violin", "G3+D4+B4+G5*2 D4+B4 r")
    assert decide(part, hand_of(part)) == (part, ())


# ── words ───────────────────────────────────────────────────────────────────────────────────────


# Common practice, no published source: div. gives each player one line, playable or not.
def test_divided_by_words_until_unison() -> None:
    part = made(*THIRDS, words={1: Divided.DIVIDED, 2: Divided.UNISON})
    assert decided(part) == "C5+E5 D5+F5 G5 F5+A5"
    assert told(part) == [
        (1, "taken as divided, as the score says (div.); the top line is fingered, "
            "--divisi bottom gives the other"),
    ]  # fmt: skip


def test_a_divided_stretch_is_told_once() -> None:
    part = made(*THIRDS, words={0: Divided.DIVIDED})
    ((measure, message),) = told(part)
    assert measure == 0
    assert message.startswith("taken as divided up to bar 3, as the score says (div.)")


def test_many_divided_stretches_are_summed_up() -> None:
    chords = " ".join(
        f"E5@{4 * bar}*1 C5@{4 * bar}*1 A4@{4 * bar + 4}*1" for bar in range(0, 12, 2)
    )
    words = {bar: Divided.UNISON if bar % 2 else Divided.DIVIDED for bar in range(12)}
    ((measure, message),) = told(made(voice(chords), words=words))
    assert measure == 0
    assert message.startswith("taken as divided in 6 places up to bar 11, as the score says")


def test_a_divided_chord_of_one_voice_gives_its_top_note() -> None:
    part = made(voice("D4@0*1 B4@0*1 A4@1*1"), words={0: Divided.DIVIDED})
    assert decided(part) == "B4 A4"


@pytest.mark.parametrize("part_name", ["violin", "viola"])
def test_every_section_takes_the_top_line(part_name: str) -> None:
    part = made(*THIRDS, words={0: Divided.DIVIDED}, name=part_name)
    assert decided(part) == "E5 F5 G5 A5"


def test_after_unison_only_playability_counts() -> None:
    far = voice(" ".join(f"B5@{4 * bar}*4 A3@{4 * bar}*4" for bar in range(6)))
    assert told(made(far))[0][1].startswith("taken as divided up to bar 6, since")
    ((_, message),) = told(made(far, words={0: Divided.UNISON}))
    assert message.startswith("no hand can hold 6 chords up to bar 6;")


# ── lines ───────────────────────────────────────────────────────────────────────────────────────


def test_the_upper_voice_keeps_its_rests() -> None:
    # The lower voice goes on while the upper rests: those notes are the second player's.
    part = made(voice("A5@0*2"), voice("F5@0*1 E5@1*1 D5@2*1 C5@3*1", "2"))
    assert decided(part, Divisi.TOP) == "A5"
    assert decided(part, Divisi.BOTTOM) == "F5 E5 D5 C5"


def test_what_the_first_voice_has_alone_is_both_players() -> None:
    part = made(voice("A5@0*1 G5@1*1 F5@2*1 E5@3*1"), voice("D5@2*1 C5@3*1", "2"))
    assert decided(part, Divisi.TOP) == "A5 G5 F5 E5"
    assert decided(part, Divisi.BOTTOM) == "A5 G5 D5 C5"


def test_lines_that_cross_stay_with_their_player() -> None:
    part = made(voice("A5@0*1 C5@1*1 A5@2*1"), voice("D5@0*1 E5@1*1 D5@2*1", "2"))
    assert decided(part, Divisi.TOP) == "A5 C5 A5"
    assert decided(part, Divisi.BOTTOM) == "D5 E5 D5"


def test_the_higher_voice_is_the_top_line_whatever_its_number() -> None:
    part = made(voice("C5@0*1 D5@1*1"), voice("E5@0*1 F5@1*1", "2"))
    assert decided(part, Divisi.TOP) == "E5 F5"


def test_notes_under_a_long_one_are_the_second_players() -> None:
    part = made(voice("A5@0*4"), voice("C5@0*1 D5@1*1 E5@2*1 F5@3*1", "2"))
    assert decided(part, Divisi.TOP) == "A5"
    long_below = made(voice("A5@0*1 B5@1*1"), voice("C5@0*4", "2"))
    assert decided(long_below, Divisi.TOP) == "A5 B5"
    assert decided(long_below, Divisi.BOTTOM) == "C5"


def test_a_third_line_in_the_middle_is_neither_players() -> None:
    part = made(voice("A5@0*1"), voice("F5@0*1", "2"), voice("D5@0*1", "3"))
    assert decided(part, Divisi.TOP) == "A5"
    assert decided(part, Divisi.BOTTOM) == "D5"


def test_one_line_asked_for_is_told_once() -> None:
    part = made(*THIRDS)
    assert told(part, Divisi.TOP) == [(0, "one line alone up to bar 3, as asked; 4 notes are left "
                                          "out")]  # fmt: skip
    assert told(made(voice("D5@0*1 B4@0*1")), Divisi.BOTTOM) == [
        (0, "one line alone, as asked; 1 note is left out")
    ]


def test_both_leaves_all_as_written() -> None:
    part = made(voice("G3@0*1 A3@0*1"), words={0: Divided.DIVIDED})
    assert decide(part, hand_of(part), Divisi.BOTH) == (part, ())


def test_an_artificial_harmonic_is_one_note() -> None:
    (onset, base), (_, touched) = voice("A4@0*1 D5@0*1")
    base = replace(base, marks=replace(NO_MARKS, harmonic=Harmonic.ARTIFICIAL_BASE))
    touched = replace(touched, marks=replace(NO_MARKS, harmonic=Harmonic.ARTIFICIAL_TOUCHING))
    part = made([(onset, base), (onset, touched)], voice("F#4@0*1", "2"))
    assert decided(part, Divisi.TOP) == "A4+D5"
    assert decided(part, Divisi.BOTTOM) == "F#4"
    assert decided(part) == "F#4+A4+D5"


# ── staves ──────────────────────────────────────────────────────────────────────────────────────


def test_two_staves_are_two_players_each_with_double_stops() -> None:
    part = made(voice("C6@0*1 A5@0*1 B5@1*1"), voice("D5@0*1 B4@0*1", "5", staff=2))
    assert decided(part) == "A5+C6 B5"
    ((measure, message),) = told(part)
    assert measure == 0
    assert message.startswith("two staves at once are taken as two players'; the upper is fingered")


def test_staves_that_take_turns_are_one_player() -> None:
    part = made(voice("C6@0*1 B5@1*1"), voice("D5@2*1", "5", staff=2))
    assert decided(part) == "C6 B5 D5"


# ── persistence ─────────────────────────────────────────────────────────────────────────────────


def duet(hard: Sequence[int], bars: int) -> Part:
    """Two voices, sixths apart; two octaves and a step apart where a bar is hard."""
    upper, lower = "", ""
    for bar in range(bars):
        high, low = ("B5", "A3") if bar in hard else ("B4", "D4")
        upper += f" {high}@{4 * bar}*2 B4@{4 * bar + 2}*2"
        lower += f" {low}@{4 * bar}*2 D4@{4 * bar + 2}*2"
    return made(voice(upper), voice(lower, "2"))


def test_what_no_hand_holds_bar_after_bar_is_divided_as_long_as_two_voices_go_on() -> None:
    part = duet(range(2, 6), 8)
    ((measure, message),) = told(part)
    assert measure == 0
    assert message.startswith("taken as divided up to bar 8, since one hand cannot hold")
    assert "+" not in decided(part)


def test_three_such_bars_are_not_enough() -> None:
    part = duet(range(2, 5), 8)
    assert decided(part).count("+") == 13
    assert [message for _, message in told(part)] == [
        "no hand can hold A3 B5 at once; only B5 fingered"
    ] * 3


def test_now_and_then_for_long_is_divided_too() -> None:
    steady = STRETCHES[0]
    part = duet(range(0, 8 * steady.bars, 8), 8 * steady.bars)
    assert "+" not in decided(part)
    shorter = duet(range(0, 8 * (steady.bars - 1), 8), 8 * steady.bars)
    assert decided(shorter).count("+") > 12 * steady.bars


def test_a_stretch_is_the_same_for_a_small_hand() -> None:
    # Octaves in first position: a small hand leaves notes out, but nobody takes them for divisi.
    octaves = voice(" ".join(f"A3@{4 * bar}*4 A4@{4 * bar}*4" for bar in range(8)))
    part = made(octaves)
    small = hand_of(part, Player(reach_mm=40))
    assert not holds(small, part.events[0].notes)
    assert holds(hand_of(part), part.events[0].notes)
    _, notices = decide(part, small)
    assert [notice.message.split(";")[0] for notice in notices] == [
        "no hand can hold 8 chords up to bar 8"
    ]


# ── playability ─────────────────────────────────────────────────────────────────────────────────


def test_a_chord_beyond_the_hand_is_thinned_alone() -> None:
    part = made(voice("D4@0*1 B4@0*1 A3@1*1 B3@1*1 D4@2*1 B4@2*1"))
    assert decided(part) == "D4+B4 B3 D4+B4"
    assert told(part) == [(0, "no hand can hold A3 B3 at once; only B3 fingered")]


def test_of_five_notes_four_stay_with_top_and_bass() -> None:
    part = made(voice("G3@0*1 D4@0*1 B4@0*1 D5@0*1 G5@0*1"))
    assert decided(part) == "G3+D4+B4+G5"


def test_a_very_thick_chord_is_soon_decided() -> None:
    thick = voice(" ".join(f"{step}{octave}@0*1" for octave in range(3, 7) for step in "CDEFGAB"))
    part = made(thick)
    kept = decide(part, hand_of(part))[0].events[0].notes
    assert kept[-1].pitch.name == "B6"


def test_notes_below_the_instrument_are_left_out_of_chords_and_named() -> None:
    part = made(voice("D3@0*1 A4@0*1"))
    assert decided(part) == "A4"
    assert told(part) == [(0, "D3 cannot be played on this violin; only A4 fingered")]


def test_a_note_no_hand_reaches_stays_to_be_reported() -> None:
    part = made(voice("D3@0*1 E3@0*1 F3@1*1"))
    assert decide(part, hand_of(part)) == (part, ())


def test_many_chords_are_summed_up() -> None:
    chords = " ".join(f"A3@{8 * bar}*1 B3@{8 * bar}*1 A4@{8 * bar + 1}*1" for bar in range(6))
    ((measure, message),) = told(made(voice(chords), words={0: Divided.UNISON}))
    assert measure == 0
    assert message.startswith("no hand can hold 6 chords up to bar 11;")


def test_a_handful_keeps_the_bass_before_the_inner_note() -> None:
    part = made(voice("A3@0*1 D4@0*1 F#4@0*1"))
    notes = part.events[0].notes
    assert not holds(hand_of(part), notes)
    assert handful(hand_of(part), notes) == (0, 2)


# ── a part without some notes ───────────────────────────────────────────────────────────────────


def test_ends_slurs_and_held_notes_follow_what_stays() -> None:
    upper = voice("A5@0*1 B5@1*3")
    lower = [(onset, replace(one, slurred=True)) for onset, one in voice("C5@0*4", "2")]
    part = made(upper, lower)
    part = replace(part, events=(replace(part.events[0], slurred=True), part.events[1]))
    top = decide(part, hand_of(part), Divisi.TOP)[0]
    assert [(e.index, e.end_s, e.slurred, e.held) for e in top.events] == [
        (0, 1.0, False, ()),
        (1, 4.0, False, ()),
    ]
    bottom = decide(part, hand_of(part), Divisi.BOTTOM)[0]
    assert [(e.index, e.end_s, e.slurred, e.held) for e in bottom.events] == [(0, 4.0, True, ())]


def test_held_notes_are_found_again_under_their_new_number() -> None:
    part = made(
        voice("A3@0*1 B3@0*1 E5@4*2 F5@6*1"),
        voice("D5@1*1", "3"), voice("C5@1*2 G4@4*4", "2"),
        words={0: Divided.DIVIDED, 1: Divided.UNISON},
    )  # fmt: skip
    one = decide(part, hand_of(part))[0]
    assert played(one) == "B3 D5 G4+E5 F5"
    assert one.events[3].held == (NoteRef(2, 0),)


# ── whatever the part ───────────────────────────────────────────────────────────────────────────

NOTES = st.tuples(
    st.integers(0, 31),
    st.integers(1, 8),
    st.sampled_from([Pitch(step, 0, octave) for octave in (3, 4, 5) for step in "CEGAB"]),
    st.sampled_from(["1", "2", "3"]),
    st.sampled_from([1, 1, 1, 2]),
)
PARTS = st.builds(
    lambda notes, words: made(
        [(Fraction(on, 2), note(pitch, Fraction(length, 2), name, staff))
         for on, length, pitch, name, staff in notes],
        words=dict(words),
    ),
    st.lists(NOTES, min_size=1, max_size=24, unique_by=lambda one: (one[0], one[2], one[3])),
    st.lists(st.tuples(st.integers(0, 3), st.sampled_from(list(Divided))), max_size=2),
)  # fmt: skip
SOME = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def _struck(part: Part) -> dict[Address, tuple[Fraction, Note]]:
    return {one.address: (e.onset_ql, one) for e in part.events for one in e.notes}


@SOME
@given(part=PARTS, divisi=st.sampled_from(list(Divisi)))
def test_nothing_is_invented_and_all_hangs_together(part: Part, divisi: Divisi) -> None:
    one, notices = decide(part, hand_of(part), divisi)
    assert _struck(one).items() <= _struck(part).items()
    assert (one == part) == (not notices)
    assert [event.index for event in one.events] == list(range(len(one.events)))
    for event in one.events:
        assert event.notes
        ends = [event.onset_ql + n.duration_ql for n in event.notes]
        assert event.end_s == pytest.approx(float(max(ends)))
        sounding = {
            NoteRef(before.index, place)
            for before in one.events[: event.index]
            for place, n in enumerate(before.notes)
            if before.onset_ql + n.duration_ql > event.onset_ql
        }
        assert set(event.held) == sounding


@SOME
@given(part=PARTS, divisi=st.sampled_from(list(Divisi)))
def test_deciding_once_more_changes_nothing(part: Part, divisi: Divisi) -> None:
    one, _ = decide(part, hand_of(part), divisi)
    assert decide(one, hand_of(part), divisi) == (one, ())


@SOME
@given(part=PARTS)
def test_top_and_bottom_share_out_every_two_notes(part: Part) -> None:
    top = _struck(decide(part, hand_of(part), Divisi.TOP)[0])
    bottom = _struck(decide(part, hand_of(part), Divisi.BOTTOM)[0])
    for event in part.events:
        if len(event.notes) == 2 and not event.held:
            ways = [(n.address in top, n.address in bottom) for n in event.notes]
            assert all(not (up and down) for up, down in ways)
    for line in (top, bottom):
        spans = sorted((on, on + n.duration_ql) for on, n in line.values())
        assert all(end <= on for (_, end), (on, _) in pairwise(spans))


@SOME
@given(part=PARTS)
def test_of_two_notes_struck_alone_each_player_has_one(part: Part) -> None:
    lonely = [event for event in part.events if len(event.notes) == 2 and not event.held]
    for event in lonely[:1]:
        alone = replace(part, events=(replace(event, index=0),))
        top = decide(alone, hand_of(part), Divisi.TOP)[0].events[0].notes
        bottom = decide(alone, hand_of(part), Divisi.BOTTOM)[0].events[0].notes
        assert sorted(n.address.note for n in (*top, *bottom)) == sorted(
            n.address.note for n in event.notes
        )


@SOME
@given(part=PARTS)
def test_afterwards_every_chord_can_be_played_or_has_no_playable_note(part: Part) -> None:
    hand = hand_of(part)
    for event in decide(part, hand)[0].events:
        assert holds(hand, event.notes) or not any(holds(hand, (n,)) for n in event.notes)


# ── in the analysis and the command ─────────────────────────────────────────────────────────────


def test_the_analysis_fingers_what_one_player_plays(small_part: ReadPart) -> None:
    part = small_part("violin", "A3+B3 D4+B4 A4 G4")
    auto = scoretools.analyse(part)
    assert [len(step.choices) for step in auto.steps] == [1, 2, 1, 1]
    assert any("only B3 fingered" in notice.message for notice in auto.notices)
    top = scoretools.analyse(part, divisi=Divisi.TOP)
    assert [len(step.choices) for step in top.steps] == [1, 1, 1, 1]
    both = scoretools.analyse(part, divisi=Divisi.BOTH)
    assert both.steps[0].placement is None
    assert any("left unfingered" in notice.message for notice in both.notices)


def test_the_command_takes_one_line(tmp_path: Path) -> None:
    path = tmp_path / "small.musicxml"
    path.write_text(score_text("violin", "D4+B4 D4+B4 A4 G4"), encoding="utf-8")
    result = CliRunner().invoke(app, ["report", str(path), "--divisi", "bottom"])
    assert result.exit_code == 0, result.output
    assert "one line alone, as asked; 2 notes are left out" in result.output


def test_the_command_refuses_another_word(tmp_path: Path) -> None:
    path = tmp_path / "small.musicxml"
    path.write_text(score_text("violin", "D4"), encoding="utf-8")
    result = CliRunner().invoke(app, ["report", str(path), "--divisi", "middle"])
    assert "choose auto, top, bottom or both" in str(result.exception)


# Common practice, no published source: unaccompanied Bach is one player's, every note of it.
@pytest.mark.skipif(not CHECK_DATA, reason="SCORETOOLS_CHECK_DATA names no folder of check data")
def test_unaccompanied_bach_is_kept_whole() -> None:
    paths = sorted((Path(CHECK_DATA or "") / "plain" / "bach").glob("*.mxl"))
    assert paths
    for path in paths:
        part = scoretools.read_part(path)
        assert decide(part, hand_of(part)) == (part, ()), path.name
