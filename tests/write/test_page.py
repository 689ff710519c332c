import re
from base64 import b64encode
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from hashlib import sha256
from html import unescape
from html.parser import HTMLParser
from pathlib import Path

import pytest

import scoretools
from scoretools.analysis import instrument_of
from scoretools.drills.choose import CAUTIONS
from scoretools.instrument import position_label
from scoretools.model import Analysis, Check, Notice, Pitch, Tempo
from scoretools.player import Player
from scoretools.read import musicxml_document
from scoretools.write.annotate import annotate
from scoretools.write.drillbook import drill_book
from scoretools.write.engrave import single_part
from scoretools.write.figures import figures
from scoretools.write.marked_part import part_systems
from scoretools.write.page import BarTold, PageFigures, page

SCORES = sorted((Path(__file__).resolve().parents[2] / "sample_scores").glob("*.musicxml"))
Analyse = Callable[..., Analysis]

VOID = {"br", "meta", "hr", "img", "link", "input"}
HARM = '<script>alert("harm")</script> & "quotes" \'here\''


class Outline(HTMLParser):
    """Tags of a page: which stand open, what they carry, what is said inside each section."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.sections: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.said: dict[str, str] = {}
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag == "section":
            self.sections.append(dict(attrs)["id"] or "")
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open, f"</{tag}> closes nothing"
        assert self.open.pop() == tag
        if tag == "section":
            self.sections.pop()

    def handle_data(self, data: str) -> None:
        where = self.sections[-1] if self.sections else "head"
        self.said[where] = self.said.get(where, "") + data


@pytest.fixture(scope="module", params=SCORES, ids=lambda path: path.stem)
def sample(request: pytest.FixtureRequest) -> Analysis:
    return scoretools.analyse(scoretools.read_part(request.param))


@pytest.fixture
def small(small_analysis: Analyse) -> Analysis:
    return small_analysis("violin", "A4:0 B4:1 C#5:2 D5:3 E5:4@2 D5:3 C#5:2 B4:1", fifths=3)


def plain(text: str) -> str:
    """A text as it reads: accidentals as written in names, blanks drawn together."""
    return re.sub(r"\s+", " ", text.replace("♯", "#").replace("♭", "b"))


def said(analysis: Analysis, section: str) -> str:
    return plain(Outline(page(analysis)).said.get(section, ""))


# ── form ────────────────────────────────────────────────────────────────────────────────────────


def test_every_tag_is_closed_in_its_place(sample: Analysis) -> None:
    outline = Outline(page(sample))
    assert outline.open == []
    assert page(sample).startswith("<!DOCTYPE html>")


def test_ids_are_given_once_and_links_find_them(sample: Analysis) -> None:
    tags = Outline(page(sample)).tags
    ids = [attributes["id"] for _, attributes in tags if "id" in attributes]
    assert len(ids) == len(set(ids))
    links = [attributes["href"] for tag, attributes in tags if tag == "a"]
    assert {f"#{name}" for name in ids} >= set(links)


def test_nothing_is_loaded_and_nothing_runs(sample: Analysis) -> None:
    text = page(sample)
    assert set(re.findall(r"\w+://[^\"\s]*", text)) == {"http://www.w3.org/2000/svg"}
    assert "@import" not in text
    (script,) = re.findall(r"<script>(.*?)</script>", text, re.DOTALL)
    allowed = b64encode(sha256(script.encode("utf-8")).digest()).decode("ascii")
    assert f"script-src 'sha256-{allowed}'" in text
    assert "default-src 'none'" in text
    for tag, attributes in Outline(text).tags:
        assert tag not in {"link", "img", "iframe", "object", "embed", "image"}
        assert not {"src", "srcset", "action"} & attributes.keys()
        assert not [name for name in attributes if name.startswith("on")]
        assert all(
            (value or "").startswith("#") for name, value in attributes.items() if "href" in name
        )
        assert all(
            target.startswith("#")
            for value in attributes.values()
            for target in re.findall(r"url\(([^)]*)\)", value or "")
        )


def test_the_same_analysis_gives_the_same_page(sample: Analysis) -> None:
    assert page(sample) == page(sample)


def test_sections_come_in_the_order_of_use(sample: Analysis) -> None:
    sections = [a["id"] for tag, a in Outline(page(sample)).tags if tag == "section"]
    assert sections == [
        "asks", "bars", "drills", "passages", "demands", "charts", "notes", "cautions",
    ]  # fmt: skip


def test_a_student_reads_what_to_practise_and_no_tables(sample: Analysis) -> None:
    outline = Outline(page(sample, edition="student"))
    sections = [a["id"] for tag, a in outline.tags if tag == "section"]
    assert sections == ["asks", "bars", "drills", "notes", "cautions"]
    assert all(caution in outline.said["cautions"] for caution in CAUTIONS)
    ids = {attributes["id"] for _, attributes in outline.tags if "id" in attributes}
    links = {attributes["href"] for tag, attributes in outline.tags if tag == "a"}
    assert {f"#{name}" for name in ids} >= links


def test_the_page_is_ready_for_print_phone_and_dark_screens(small: Analysis) -> None:
    text = page(small)
    assert "@media print" in text
    assert "@media screen and (prefers-color-scheme: dark)" in text
    assert 'name="viewport"' in text


# ── content ─────────────────────────────────────────────────────────────────────────────────────


def test_every_bar_with_a_load_is_there_heaviest_first(sample: Analysis) -> None:
    rows = re.search(r'<section id="bars">.*?</section>', page(sample), re.DOTALL)
    assert rows is not None
    told = re.findall(r'<th scope="row">([^<]*)</th>|<b>([^<]*)</b>', rows[0])
    loaded = sorted(
        (bar for bar in sample.loads if bar.load > 0), key=lambda bar: (-bar.load, bar.measure)
    )
    assert len(told) == len(loaded)
    numbered = [
        (one or other, bar)
        for (one, other), bar in zip(told, loaded, strict=True)
        if sample.part.measures[bar.measure].number.isdecimal()
        and not sample.part.measures[bar.measure].upbeat
    ]
    assert numbered
    assert all(name == sample.part.measures[bar.measure].number for name, bar in numbered)


def test_the_hardest_bar_has_all_its_reasons(sample: Analysis) -> None:
    hardest = max(sample.loads, key=lambda bar: bar.load)
    text = said(sample, "bars")
    assert "; ".join(hardest.reasons) in text


def test_every_drill_is_there_with_its_notes_and_fingers(sample: Analysis) -> None:
    text = page(sample)
    articles = re.findall(r'<article class="drill" id=.*?</article>', text, re.DOTALL)
    assert len(articles) == len(sample.drills)
    for drill, article in zip(sample.drills, articles, strict=True):
        assert f"{drill.index + 1}. {drill.title}" in plain(Outline(article).said["head"])
        pairs = re.findall(
            r'<span class="note">([^<]*)</span><span class="finger">(\d)</span>', article
        )
        written = [(plain(note), int(finger)) for note, finger in pairs]
        notes = [note for exercise in drill.exercises for note in exercise.notes]
        # What sounds together stands with the highest string on top.
        wanted = [(note.pitch.name.rstrip("0123456789"), note.stop.finger) for note in notes]
        assert sorted(written) == sorted(wanted)
        if not any(note.with_next for note in notes):
            assert written == wanted
        assert len(re.findall(r'<div class="form">', article)) == len(drill.exercises)
        assert plain(drill.advice) in plain(Outline(article).said["head"])


def test_a_score_without_a_title_is_called_by_its_file(small: Analysis) -> None:
    assert "<h1>small</h1>" in page(small)


def test_what_sounds_together_stands_in_one_column(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "G4:1@3+B4:1@2 G4:1@3+B4:1@2 B4:3@3+D5:1@2 B4:3@3+D5:1@2")
    drill = next(
        drill
        for drill in analysis.drills
        if any(note.with_next for one in drill.exercises for note in one.notes)
    )
    text = page(replace(analysis, drills=(replace(drill, index=0, after=()),)))
    columns = re.findall(r"<li>(<span class=\"stop\">.*?)</li>", text)
    notes = drill.exercises[0].notes
    every = [note for one in drill.exercises for note in one.notes]
    assert len(every) - sum(note.with_next for note in every) == len(columns)
    together = next(column for column in columns if column.count('class="note"') == 2)
    high, low = re.findall(r'class="finger">(\d)<', together)
    place = next(i for i, note in enumerate(notes) if note.with_next)
    assert (int(low), int(high)) == (notes[place].stop.finger, notes[place + 1].stop.finger)


@pytest.mark.parametrize(
    ("pitch", "against", "interval", "words"),
    [
        # Common practice: how a player names the check of a stopped note.
        (("B", 0, 4), ("E", 0, 5), "fourth", "B, 1st finger on A: a fourth below open E"),
        (("D", 0, 5), ("D", 0, 4), "octave", "D, 3rd finger on A: an octave above open D"),
        (("E", 0, 5), ("E", 0, 5), "unison", "E, 4th finger on A: in unison with open E"),
        (("B", 0, 4), ("D", 0, 4), "sixth", "B, 1st finger on A: a sixth above open D"),
        (("A", 0, 3), ("A", 0, 4), "octave", "A: an octave below open A"),
    ],
)
def test_checks_are_said_as_players_say_them(
    small: Analysis,
    pitch: tuple[str, int, int],
    against: tuple[str, int, int],
    interval: str,
    words: str,
) -> None:
    (drill, *_) = small.drills
    check = Check(Pitch(*pitch), Pitch(*against), interval)
    assert words in said(replace(small, drills=(replace(drill, checks=(check,)),)), "drills")


@pytest.mark.parametrize(
    ("ladder", "words"),
    [
        ((40,), "40 notes a minute Strings"),
        ((60, 100, 160), "60 · 100 · 160 notes a minute Strings"),
        ((60, 184), "60 · 184 notes a minute (at 184: metronome 92, two notes to a click)"),
        ((60, 400), "60 · 400 notes a minute (at 400: metronome 100, four notes to a click)"),
    ],
)
def test_tempi_can_be_set_on_a_metronome(
    small: Analysis, ladder: tuple[int, ...], words: str
) -> None:
    drill = replace(
        small.drills[0],
        start_per_minute=ladder[0], goal_per_minute=ladder[-1], ladder=ladder, goal_assumed=False,
    )  # fmt: skip
    assert words in said(replace(small, drills=(drill,)), "drills")


def test_an_assumed_goal_is_marked(small: Analysis) -> None:
    (drill, *_) = small.drills
    for assumed in (True, False):
        text = said(replace(small, drills=(replace(drill, goal_assumed=assumed),)), "drills")
        assert ("rests on an assumed tempo" in text) is assumed


def test_every_passage_has_its_row(sample: Analysis) -> None:
    text = page(sample)
    table = re.search(r'<section id="passages">.*?</section>', text, re.DOTALL)
    assert table is not None
    rows = re.findall(r"<tr><th scope=\"row\">.*?</tr>", table[0], re.DOTALL)
    assert len(rows) == len(sample.passages)
    for row, passage in zip(rows, sample.passages, strict=True):
        assert not passage.shapes or position_label(passage.position) in row
        fingers = [
            " ".join(map(str, shape.known)) for shape in passage.shapes if len(shape.known) > 1
        ]
        assert re.findall(r'soft">([\d ]+)</span>', row) == fingers


def test_a_passage_tells_what_begins_it(small_analysis: Analyse) -> None:
    analysis = small_analysis("violin", "B4:1@2*1/2 D5:1@2*1/2 E5:2@2 F#5:3@2 G5:4@2", fifths=1)
    assert "shift from 1st position, beat 1½" in said(analysis, "passages")


def test_every_demand_has_its_row(sample: Analysis) -> None:
    text = page(sample)
    table = re.search(r'<section id="demands">.*?</section>', text, re.DOTALL)
    assert table is not None
    assert table[0].count('<tr data-kind="') == len(sample.demands)


def test_cautions_are_always_there(sample: Analysis) -> None:
    for analysis in (sample, replace(sample, drills=())):
        text = said(analysis, "cautions")
        assert all(caution in text for caution in CAUTIONS)


def test_notices_come_with_their_bars_each_once(small: Analysis) -> None:
    notices = (Notice("C#7 was skipped", 0), Notice("No clef"), Notice("C#7 was skipped", 1))
    text = said(replace(small, notices=notices), "notes")
    assert "Bars 1–2: C#7 was skipped" in text
    assert text.count("C#7") == 1
    assert "No clef" in text


def test_an_assumed_tempo_is_told(small: Analysis) -> None:
    for assumed in (True, False):
        tempi = (Tempo(Fraction(0), 100.0, assumed),)
        text = said(replace(small, part=replace(small.part, tempi=tempi)), "notes")
        assert ("100 quarter notes a minute are assumed" in text) is assumed


def test_movements_are_named_where_there_are_two(small: Analysis) -> None:
    first, second = small.part.measures
    part = replace(small.part, measures=(first, replace(second, movement=2, number="1")))
    text = page(replace(small, part=part))
    assert "in 2 movements" in text
    assert "2nd movement" in said(replace(small, part=part), "drills")
    assert "movement" not in said(small, "drills")


# ── harm ────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("field", ["title", "composer", "name", "source"])
def test_markup_in_the_names_of_a_score_does_no_harm(small: Analysis, field: str) -> None:
    text = page(replace(small, part=replace(small.part, **{field: HARM})))
    assert text.count("<script") == 1
    assert HARM in unescape(text)
    assert Outline(text).open == []


def test_markup_in_a_notice_or_a_bar_number_does_no_harm(small: Analysis) -> None:
    first, second = small.part.measures
    part = replace(small.part, measures=(replace(first, number='<i a="b">'), second))
    text = page(replace(small, part=part, notices=(Notice(HARM, 0),)))
    assert text.count("<script") == 1
    assert "<i a" not in text
    assert HARM in unescape(text)


def test_a_part_without_notes_still_makes_a_page(small: Analysis) -> None:
    part = replace(small.part, events=())
    empty = replace(
        small, part=part, steps=(), shapes=(), passages=(), passage_of=(), demands=(), loads=(),
        drills=(),
    )  # fmt: skip
    outline = Outline(page(empty))
    assert outline.open == []
    assert CAUTIONS[0] in outline.said["cautions"]


# ── music ───────────────────────────────────────────────────────────────────────────────────────


@pytest.fixture(scope="module")
def drawn(sample: Analysis) -> str:
    path = next(path for path in SCORES if path.name == sample.part.source)
    data, _ = musicxml_document(path)
    systems = part_systems(sample, annotate(data, sample))
    alone = single_part(data, sample.part.part_id, len(sample.part.measures))
    played = instrument_of(sample.part, Player())
    found = figures(sample, played, drill_book(sample), alone, 170)
    told = {0: BarTold(("It lies well.",), ("Stays on the A string.",))}
    return page(sample, PageFigures(systems, found), told=told)


def test_every_bar_of_the_part_leads_to_what_is_said_of_it(drawn: str, sample: Analysis) -> None:
    outline = Outline(drawn)
    assert outline.open == []
    bars = [a["href"] for tag, a in outline.tags if tag == "a" and a.get("class") == "bar-link"]
    assert bars == [f"#bar-{index}-told" for index in range(len(sample.part.measures))]
    ids = [attributes["id"] for _, attributes in outline.tags if "id" in attributes]
    assert {href[1:] for href in bars} <= set(ids)
    assert "It lies well." in outline.said["part"]
    assert "Stays on the A string." in outline.said["part"]


def test_every_exercise_is_there_as_music(drawn: str, sample: Analysis) -> None:
    articles = re.findall(r'<article class="drill" id=.*?</article>', drawn, re.DOTALL)
    for drill, article in zip(sample.drills, articles, strict=True):
        assert (
            len(re.findall(r'<div class="form(?: bridge)?">', article)) == len(drill.exercises) + 1
        )
        assert article.count('<svg class="music"') >= len(drill.exercises) + 1
        assert 'class="fingerboard"' in article


def test_music_is_drawn_in_the_ink_of_the_page(drawn: str) -> None:
    assert 'color="black"' not in drawn
    assert drawn.count("@font-face") == ('font-family="Leipzig"' in drawn)
