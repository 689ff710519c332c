from fractions import Fraction

from scoretools.model import Measure, Notice
from scoretools.read.notices import Log, closed, count, remark


def measures(*numbers):
    return [
        Measure(index, number, 1, "", Fraction(4 * index), Fraction(4), (4, 4), False)
        for index, number in enumerate(numbers)
    ]


def test_remarks_about_the_part_come_first_then_by_bar():
    log = Log([Notice("About the whole.")])
    count(log, "cue", 2)
    remark(log, "About bar two.", 1)
    remark(log, "About bar two.", 1)
    assert closed(log, measures("1", "2", "3")) == (
        Notice("About the whole."),
        Notice("About bar two.", 1),
        Notice("A cue note is skipped in bar 3.", 2),
    )


def test_runs_of_bars_bear_printed_numbers():
    log = Log()
    for bar in (0, 0, 1, 3):
        count(log, "microtone", bar)
    told = closed(log, measures("12", "12a", "13", "14"))
    assert [notice.message for notice in told] == [
        "3 microtones are rounded to the nearest semitone in bars 12 to 12a.",
        "A microtone is rounded to the nearest semitone in bar 14.",
    ]


def test_many_bars_of_one_sign_are_named_up_to_twelve():
    log = Log()
    for bar in range(14):
        count(log, "nought", bar)
    (told,) = closed(log, measures(*map(str, range(1, 15))))
    assert told.message.endswith("in bars 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12 and 2 more.")
    assert told.message.startswith("14 times a 0")
