"""The tables of a catalogue, and how an older file comes to have them.

A catalogue is one SQLite file. `STEPS` are the scripts that make its tables, each with the tables
of the step before as its ground; a file remembers in ``PRAGMA user_version`` how many it has seen.
A step that was once released is never changed: what is new goes into a step of its own.

Conventions
-----------
* ``score`` is one file, ``part`` one violin or viola part of it (in a book of tunes, one tune). All
  other tables but ``tag`` belong to a part and are made anew with it.
* Bars are texts, as printed (``bars 3–5``), shapes spelled by their gaps (``W-H-W``), positions
  numbers with 0 for half position, shares 0 to 1, loads points a second, times seconds.
* ``part.shown_title`` and ``part.name_words`` are what parts are found by: the title or the file's
  name, and the part's name with instruments and ordinals in one form (see
  `scoretools.catalogue.found_by`).
* A score that is no longer where it was keeps its rows, with ``missing`` 1; one that cannot be read
  has no parts, and a sentence in ``fault``. Tags belong to the place of a part in its score, and
  outlive both.
"""

__all__ = ["APPLICATION_ID", "STEPS"]

APPLICATION_ID = 0x53747243
"""Tells a catalogue from other SQLite files (``PRAGMA application_id``)."""

_TABLES = """
CREATE TABLE score (
    id INTEGER PRIMARY KEY,
    path TEXT NOT NULL UNIQUE,
    content_hash TEXT NOT NULL,
    scan_key TEXT NOT NULL,
    tool_version TEXT NOT NULL,
    profile TEXT NOT NULL,
    player TEXT NOT NULL,
    rubric TEXT NOT NULL,
    scanned_at TEXT NOT NULL,
    fault TEXT NOT NULL DEFAULT '',
    missing INTEGER NOT NULL DEFAULT 0 CHECK (missing IN (0, 1))
);
CREATE INDEX score_by_content ON score (content_hash);

CREATE TABLE part (
    id INTEGER PRIMARY KEY,
    score_id INTEGER NOT NULL REFERENCES score ON DELETE CASCADE,
    number INTEGER NOT NULL,
    title TEXT NOT NULL,
    composer TEXT NOT NULL,
    name TEXT NOT NULL,
    instrument TEXT NOT NULL,
    profile TEXT NOT NULL,
    ceiling INTEGER NOT NULL,
    divisi TEXT NOT NULL,
    tempo_assumed INTEGER NOT NULL,
    notes INTEGER NOT NULL,
    lowest TEXT NOT NULL,
    highest TEXT NOT NULL,
    demand_weight REAL NOT NULL,
    UNIQUE (score_id, number)
);

CREATE TABLE feature (
    part_id INTEGER NOT NULL REFERENCES part ON DELETE CASCADE,
    name TEXT NOT NULL,
    value REAL NOT NULL,
    unit TEXT NOT NULL,
    peak_value REAL,
    peak_bars TEXT NOT NULL,
    PRIMARY KEY (part_id, name)
) WITHOUT ROWID;
CREATE INDEX feature_by_value ON feature (name, value);

CREATE TABLE level (
    part_id INTEGER NOT NULL REFERENCES part ON DELETE CASCADE,
    rubric TEXT NOT NULL,
    value REAL NOT NULL,
    label TEXT NOT NULL,
    reasons TEXT NOT NULL,
    about TEXT NOT NULL,
    PRIMARY KEY (part_id, rubric)
) WITHOUT ROWID;
CREATE INDEX level_by_value ON level (rubric, value);

CREATE TABLE hand_position (
    part_id INTEGER NOT NULL REFERENCES part ON DELETE CASCADE,
    position INTEGER NOT NULL,
    moments INTEGER NOT NULL,
    bars TEXT NOT NULL,
    PRIMARY KEY (part_id, position)
) WITHOUT ROWID;

CREATE TABLE shape (
    part_id INTEGER NOT NULL REFERENCES part ON DELETE CASCADE,
    gaps TEXT NOT NULL,
    moments INTEGER NOT NULL,
    weight REAL NOT NULL,
    bars TEXT NOT NULL,
    PRIMARY KEY (part_id, gaps)
) WITHOUT ROWID;
CREATE INDEX shape_by_gaps ON shape (gaps, part_id);

CREATE TABLE double_stop (
    part_id INTEGER NOT NULL REFERENCES part ON DELETE CASCADE,
    interval TEXT NOT NULL,
    moments INTEGER NOT NULL,
    bars TEXT NOT NULL,
    PRIMARY KEY (part_id, interval)
) WITHOUT ROWID;

CREATE TABLE key_signature (
    part_id INTEGER NOT NULL REFERENCES part ON DELETE CASCADE,
    fifths INTEGER NOT NULL,
    bars TEXT NOT NULL,
    PRIMARY KEY (part_id, fifths)
) WITHOUT ROWID;

CREATE TABLE demand (
    part_id INTEGER NOT NULL REFERENCES part ON DELETE CASCADE,
    place INTEGER NOT NULL,
    kind TEXT NOT NULL,
    string TEXT NOT NULL,
    position INTEGER NOT NULL,
    gaps TEXT NOT NULL,
    detail TEXT NOT NULL,
    moments INTEGER NOT NULL,
    bars TEXT NOT NULL,
    notes_per_s REAL NOT NULL,
    certainty TEXT NOT NULL,
    weight REAL NOT NULL,
    PRIMARY KEY (part_id, place)
) WITHOUT ROWID;

CREATE TABLE passage (
    part_id INTEGER NOT NULL REFERENCES part ON DELETE CASCADE,
    place INTEGER NOT NULL,
    bars TEXT NOT NULL,
    position INTEGER NOT NULL,
    begins_with TEXT NOT NULL,
    shapes TEXT NOT NULL,
    PRIMARY KEY (part_id, place)
) WITHOUT ROWID;

CREATE TABLE hard_bar (
    part_id INTEGER NOT NULL REFERENCES part ON DELETE CASCADE,
    place INTEGER NOT NULL,
    bar TEXT NOT NULL,
    load REAL NOT NULL,
    reasons TEXT NOT NULL,
    PRIMARY KEY (part_id, place)
) WITHOUT ROWID;

CREATE TABLE drill (
    part_id INTEGER NOT NULL REFERENCES part ON DELETE CASCADE,
    place INTEGER NOT NULL,
    title TEXT NOT NULL,
    gaps TEXT NOT NULL,
    minutes INTEGER NOT NULL,
    share REAL NOT NULL,
    bars TEXT NOT NULL,
    PRIMARY KEY (part_id, place)
) WITHOUT ROWID;

CREATE TABLE warning (
    part_id INTEGER NOT NULL REFERENCES part ON DELETE CASCADE,
    place INTEGER NOT NULL,
    bar TEXT NOT NULL,
    message TEXT NOT NULL,
    PRIMARY KEY (part_id, place)
) WITHOUT ROWID;

CREATE TABLE tag (
    score_id INTEGER NOT NULL REFERENCES score ON DELETE CASCADE,
    number INTEGER NOT NULL,
    tag TEXT NOT NULL CHECK (tag <> ''),
    PRIMARY KEY (score_id, number, tag)
) WITHOUT ROWID;
CREATE INDEX tag_by_name ON tag (tag, score_id, number);
"""

_WORDS = """
CREATE VIRTUAL TABLE words USING fts5 (
    title, composer, name, tokenize = 'unicode61 remove_diacritics 2'
);
INSERT INTO words (rowid, title, composer, name) SELECT id, title, composer, name FROM part;
CREATE TRIGGER words_of_new_part AFTER INSERT ON part BEGIN
    INSERT INTO words (rowid, title, composer, name)
    VALUES (new.id, new.title, new.composer, new.name);
END;
CREATE TRIGGER words_of_changed_part AFTER UPDATE ON part BEGIN
    UPDATE words SET title = new.title, composer = new.composer, name = new.name
    WHERE rowid = new.id;
END;
CREATE TRIGGER words_of_gone_part AFTER DELETE ON part BEGIN
    DELETE FROM words WHERE rowid = old.id;
END;
"""
"""Words of titles, composers and part names, found without regard to accents and case."""

_RUBRICS = "CREATE INDEX score_by_rubric ON score (rubric);"
"""Whether all scores were scanned with one rubric is asked whenever parts are found by level."""

_FOUND_BY = """
DROP TRIGGER words_of_new_part;
DROP TRIGGER words_of_changed_part;
DROP TRIGGER words_of_gone_part;
DROP TABLE words;
ALTER TABLE part ADD COLUMN shown_title TEXT NOT NULL DEFAULT '';
ALTER TABLE part ADD COLUMN name_words TEXT NOT NULL DEFAULT '';
UPDATE part SET
    shown_title = shown_title_of(title, (SELECT path FROM score WHERE score.id = score_id)),
    name_words = name_words_of(name, instrument);
CREATE VIRTUAL TABLE words USING fts5 (
    title, composer, name, name_words, tokenize = 'unicode61 remove_diacritics 2'
);
INSERT INTO words (rowid, title, composer, name, name_words)
    SELECT id, shown_title, composer, name, name_words FROM part;
CREATE TRIGGER words_of_new_part AFTER INSERT ON part BEGIN
    INSERT INTO words (rowid, title, composer, name, name_words)
    VALUES (new.id, new.shown_title, new.composer, new.name, new.name_words);
END;
CREATE TRIGGER words_of_changed_part AFTER UPDATE ON part BEGIN
    UPDATE words SET title = new.shown_title, composer = new.composer, name = new.name,
        name_words = new.name_words
    WHERE rowid = new.id;
END;
CREATE TRIGGER words_of_gone_part AFTER DELETE ON part BEGIN
    DELETE FROM words WHERE rowid = old.id;
END;
UPDATE OR REPLACE tag SET tag = one_line_of(tag) WHERE one_line_of(tag) NOT IN (tag, '');
"""
"""A score without a title is found by its file's name, the second violin under any of its names;
tags that tables could not keep apart are written anew. The functions are those of
`scoretools.catalogue.found_by`."""

STEPS: tuple[str, ...] = (_TABLES, _WORDS, _RUBRICS, _FOUND_BY)
"""Scripts that make the tables, oldest first."""
