"""Words laid over notes. Common practice, no published source, unless one is named."""


def strings(part):
    return [event.words.string for event in part.events]


def test_words_split_by_font_are_read_together(read, four, words):
    # Source: a string quartet among the OpenScore String Quartets writes "4", "e", "Corde" so.
    parts = "</words></direction-type><direction-type><words>"
    assert strings(read(four(at1=words(f"4{parts}e{parts}Corde"))))[0] == 4


def test_digits_that_count_bars_are_no_fingers(read, four, words, told):
    # Source: a string quartet among the OpenScore String Quartets counts repeated bars so.
    for texts in (("1", "2", "3"), ("4", "5", "6")):
        part = read(*(four(at1=words(text)) for text in texts))
        assert not any(event.notes[0].marks.fingers for event in part.events)
        assert told(part) == [
            "Lone digits among the words count bars and are not taken as fingers."
        ]


def test_sound_tells_pizzicato_too(read, four):
    part = read(four(at2='<direction><sound pizzicato="yes"/></direction>'))
    assert [event.words.pizzicato for event in part.events] == [False, True, True, True]


def test_offset_moves_words(read, four, note, words):
    moved = words("sul G", more="<offset>4</offset>")
    assert strings(read(four(at1=moved))) == [None, 4, 4, 4]
