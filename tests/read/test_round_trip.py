"""Random parts, written as MusicXML here and read back, are equal."""

from fractions import Fraction

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scoretools.read.document import document
from scoretools.read.musicxml import part_of

DIVISIONS = 12
LENGTHS = (3, 4, 6, 8, 12, 18, 24, 36, 48)
BAR = 48

pitches = st.tuples(st.sampled_from("CDEFGAB"), st.integers(-2, 2), st.integers(4, 6))
marks = st.tuples(
    st.lists(st.integers(0, 4), max_size=2, unique=True),
    st.one_of(st.none(), st.integers(1, 4)),
    st.booleans(),
)


@st.composite
def bars(draw):
    """Draw the chords of one voice in one bar, each (onset, length, notes with marks)."""
    left, chords = BAR, []
    while left:
        length = draw(st.sampled_from([one for one in LENGTHS if one <= left] or [left]))
        names = draw(st.lists(pitches, max_size=3, unique_by=_midi))
        chords.append(
            (BAR - left, length, [(name, _possible(name, draw(marks))) for name in names])
        )
        left -= length
    return chords


def _possible(pitch, printed):
    """Leave the signs of an open string out where no open string sounds the note."""
    fingers, string, _ = printed
    if _midi(pitch) in OPEN_STRINGS:
        return printed
    return [finger for finger in fingers if finger], string, False


OPEN_STRINGS = (43, 50, 57, 64)
"""G3, D4, A4 and E5, in semitones above C of octave 0."""


parts = st.lists(st.lists(bars(), min_size=1, max_size=2), min_size=1, max_size=4)
"""Bars of one or two voices."""


def _midi(pitch):
    step, alter, octave = pitch
    return 12 * octave + (0, 2, 4, 5, 7, 9, 11)["CDEFGAB".index(step)] + alter


def note_xml(pitch, printed, length, voice, place):
    step, alter, octave = pitch
    fingers, string, opened = printed
    technical = "".join(f"<fingering>{finger}</fingering>" for finger in fingers)
    technical += f"<string>{string}</string>" if string else ""
    technical += "<open-string/>" if opened else ""
    return (
        f"<note>{'<chord/>' if place else ''}<pitch><step>{step}</step><alter>{alter}</alter>"
        f"<octave>{octave}</octave></pitch><duration>{length}</duration><voice>{voice}</voice>"
        f"<notations><technical>{technical}</technical></notations></note>"
    )


def part_xml(part):
    measures = []
    for number, voices in enumerate(part, 1):
        lines = []
        for voice, chords in enumerate(voices, 1):
            line = ""
            for _, length, notes in chords:
                line += "".join(
                    note_xml(pitch, printed, length, voice, place)
                    for place, (pitch, printed) in enumerate(notes)
                )
                if not notes:
                    line += f"<note><rest/><duration>{length}</duration></note>"
            lines.append(line)
        back = f"<backup><duration>{BAR}</duration></backup>"
        head = f"<attributes><divisions>{DIVISIONS}</divisions></attributes>" * (number == 1)
        measures.append(f'<measure number="{number}">{head}{back.join(lines)}</measure>')
    return (
        '<score-partwise><part-list><score-part id="P1"><part-name>Violin</part-name>'
        f'</score-part></part-list><part id="P1">{"".join(measures)}</part></score-partwise>'
    )


def written(part):
    """Return each note as (bar, onset, length, pitch, fingers, string, open)."""
    return sorted(
        (bar, onset, length, pitch, tuple(fingers), string or 0, opened)
        for bar, voices in enumerate(part)
        for chords in voices
        for onset, length, notes in chords
        for pitch, (fingers, string, opened) in notes
    )


def read(part):
    return sorted(
        (
            event.measure,
            int((event.onset_ql - event.measure * 4) * DIVISIONS),
            int(note.duration_ql * DIVISIONS),
            (note.pitch.step, note.pitch.alter, note.pitch.octave),
            tuple(note.marks.fingers),
            note.marks.string or 0,
            note.marks.open_string,
        )
        for event in part.events
        for note in event.notes
    )


def dealt_or_doubled(part):
    """Whether fingers of a chord are printed on one of its notes, or two voices share a pitch."""
    for voices in part:
        names = [(o, p) for chords in voices for o, _, notes in chords for p, _ in notes]
        if len(names) != len(set(names)):
            return True
        for chords in voices:
            for _, _, notes in chords:
                for kind in (0, 1):
                    bearers = [m[kind] for _, m in notes if m[kind]]
                    if len(notes) > 1 and len(bearers) == 1:
                        return True
    return False


@settings(
    max_examples=120,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow],
)
@given(parts)
def test_random_parts_read_back_equal(part):
    if not any(notes for voices in part for chords in voices for _, _, notes in chords):
        return
    found = part_of("s.xml", document("s.xml", part_xml(part).encode()), None)
    if dealt_or_doubled(part):
        # Marks may move inside such a chord and doubled notes are one; onsets and pitches stay.
        assert {one[:2] + one[3:4] for one in read(found)} == {
            one[:2] + one[3:4] for one in written(part)
        }
    else:
        assert read(found) == written(part)
    assert [bar.duration_ql for bar in found.measures] == [Fraction(4) for _ in part]
    assert not found.notices
