"""Damages scores in every way and reads them: nothing may escape, hang or take much memory.

Run from anywhere::

    python tests/benchmarks/damage.py [cases] [seed]

The default is 20,000 cases from seed 1. Child processes with a limit of memory read the damaged
scores; a case that ends in anything but a part or a `ScoretoolsError` of one sentence, takes more
than ten seconds or more than 1 GiB, is printed with its number and makes the program fail. The
scores are taken from the check data where SCORETOOLS_CHECK_DATA is set, else from music21's corpus.
"""

import io
import multiprocessing
import os
import random
import resource
import sys
import tempfile
import time
import traceback
import zipfile
from collections import Counter
from collections.abc import Callable
from pathlib import Path

from lxml import etree

from scoretools.errors import ScoretoolsError
from scoretools.read import list_parts, read_part

MOST_SECONDS = 10.0
MOST_BYTES = 1024**3
LARGEST_SOURCE = 60_000
CASES_A_CHILD = 250

TEXTS = ("", "x", "-1", "0", "99999999999999999999", "1e99", "0.5", "\N{SNOWMAN}", "7", "+", "IV")
WORDS = ("sul G", "IV", "II.", "3rd pos.", "pizz.", "D.C. al Coda", "Presto", "restez", "1-2", "17")
SNIPPETS = (
    "<backup><duration>7</duration></backup>",
    "<forward><duration>99999</duration></forward>",
    "<note><grace/><pitch><step>B</step><octave>4</octave></pitch></note>",
    "<note><chord/><pitch><step>A</step><octave>4</octave></pitch><duration>3</duration></note>",
    "<attributes><divisions>7</divisions></attributes>",
    '<attributes><measure-style><measure-repeat type="start">2</measure-repeat></measure-style>'
    "</attributes>",
    '<barline><repeat direction="backward"/><ending number="1" type="start"/></barline>',
    '<sound dacapo="yes" tocoda="x" coda="x" dalsegno="x"/>',
    '<notations><ornaments><trill-mark/><wavy-line type="start"/><tremolo type="start">2</tremolo>'
    '<tremolo type="stop"/><accidental-mark>flat</accidental-mark></ornaments><technical>'
    "<fingering>2</fingering><string>9</string><harmonic/></technical></notations>",
    "<notehead>diamond</notehead>",
)

Damage = Callable[[bytes, random.Random], bytes]


def some_bytes(data: bytes, rng: random.Random) -> bytes:
    """Change, delete or double some bytes."""
    damaged = bytearray(data)
    for _ in range(rng.randint(1, 6)):
        at = rng.randrange(len(damaged) or 1)
        way = rng.randrange(3)
        if way == 0 and damaged:
            damaged[at] = rng.randrange(256)
        elif way == 1:
            del damaged[at : at + rng.randint(1, 60)]
        else:
            damaged[at:at] = damaged[at : at + rng.randint(1, 60)]
    return bytes(damaged)


def broken_off(data: bytes, rng: random.Random) -> bytes:
    """Keep the beginning alone."""
    return data[: rng.randrange(len(data))]


def some_tags(data: bytes, rng: random.Random) -> bytes:
    """Remove, double, move, rename or fill elements, keeping the document well formed."""
    try:
        root = etree.fromstring(data)
    except etree.XMLSyntaxError:
        return some_bytes(data, rng)
    elements = [element for element in root.iter("*") if element is not root]
    for _ in range(rng.randint(1, 8)):
        element, other = rng.choice(elements), rng.choice(elements)
        parent = element.getparent()
        way = rng.randrange(7)
        if parent is None:
            continue
        if way == 0:
            parent.remove(element)
        elif way == 1:
            element.addnext(etree.fromstring(etree.tostring(element, with_tail=False)))
        elif way == 2:
            element.text = rng.choice(TEXTS)
        elif way == 3:
            element.tag = other.tag
        elif way == 4:
            parent.append(etree.fromstring(rng.choice(SNIPPETS)))
        elif way == 5:
            direction = etree.SubElement(parent, "direction")
            kind = etree.SubElement(direction, "direction-type")
            etree.SubElement(kind, "words").text = rng.choice(WORDS)
        elif other.getparent() is not None and element not in other.iterancestors():
            other.append(etree.fromstring(etree.tostring(element, with_tail=False)))
    return etree.tostring(root, encoding=rng.choice(("utf-8", "utf-16", "iso-8859-1")))


def some_attributes(data: bytes, rng: random.Random) -> bytes:
    """Change, remove or swap attributes."""
    try:
        root = etree.fromstring(data)
    except etree.XMLSyntaxError:
        return some_bytes(data, rng)
    bearing = [element for element in root.iter("*") if element.attrib]
    for _ in range(rng.randint(1, 10)):
        element, other = rng.choice(bearing), rng.choice(bearing)
        name = rng.choice(list(element.attrib) or ["number"])
        way = rng.randrange(3)
        if way == 0:
            element.set(name, rng.choice(TEXTS))
        elif way == 1:
            element.attrib.pop(name, None)
        elif other.attrib:
            element.set(name, rng.choice(list(other.attrib.values())))
    return etree.tostring(root)


def false_head(data: bytes, rng: random.Random) -> bytes:
    """Declare another encoding, a document type or entities."""
    body = data[data.find(b"?>") + 2 :] if data.startswith(b"<?xml") else data
    heads = (
        b'<?xml version="1.0" encoding="UTF-16"?>',
        b'<?xml version="1.0" encoding="x-unknown"?>',
        b'<?xml version="9.9"?>',
        b'<!DOCTYPE score-partwise SYSTEM "http://localhost/none.dtd">',
        b'<!DOCTYPE a [<!ENTITY b "b"><!ENTITY c "&b;&b;">]>',
        b"\xff\xfe",
        b"\xef\xbb\xbf",
        b"\n \n",
    )
    return rng.choice(heads) + body


def container_structure(data: bytes, rng: random.Random) -> bytes:
    """Pack the score into a container that is odd, or damaged, or both."""
    target = io.BytesIO()
    names = ("a.xml", "../../a.xml", "/etc/a.xml", "a b\N{SNOWMAN}.musicxml", "A.XML", "score")
    name = rng.choice(names)
    named = rng.choice((name, name, "other.xml", "", "\N{SNOWMAN}" * 300))
    with zipfile.ZipFile(target, "w", rng.choice((zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED))) as z:
        if rng.random() < 0.7:
            rootfile = f'<container><rootfiles><rootfile full-path="{named}"/></rootfiles>'
            z.writestr("META-INF/container.xml", rootfile + "</container>" * rng.randrange(2))
        z.writestr(name, data)
        for extra in range(rng.choice((0, 0, 1, 30))):
            z.writestr(f"{extra}.xml", b"<a/>")
    packed = target.getvalue()
    return some_bytes(packed, rng) if rng.random() < 0.7 else packed


DAMAGES: tuple[Damage, ...] = (
    some_bytes,
    broken_off,
    some_tags,
    some_tags,
    some_attributes,
    false_head,
    container_structure,
)


def damaged_score(sources: list[bytes], seed: int, case: int) -> tuple[str, bytes]:
    """Return what was done, and the damaged score, of one case."""
    rng = random.Random(f"{seed} {case}")
    damage = DAMAGES[case % len(DAMAGES)]
    data = damage(rng.choice(sources), rng)
    if damage is not container_structure and rng.random() < 0.1:
        data = some_bytes(data or b" ", rng)
    return damage.__name__, data


def outcome(path: Path) -> str:
    """Read a score; return ``read``, ``refused`` or what was wrong with the reading."""
    try:
        listed = list_parts(path)
        for part in listed[:2]:
            read_part(path, part.number)
        read_part(path)
    except ScoretoolsError as refusal:
        if "\n" in str(refusal):
            return "a refusal of several lines"
        return "refused"
    except BaseException:
        return traceback.format_exc()
    return "read"


def _child(sources: list[bytes], seed: int, cases: range, folder: str, pipe: object) -> None:
    base = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    resource.setrlimit(resource.RLIMIT_AS, (3 * MOST_BYTES, 3 * MOST_BYTES))
    # The name must tell nothing that the content does not.
    path = Path(folder) / f"{cases.start}.xml"
    for case in cases:
        pipe.send((case, "", "", 0.0, 0))
        kind, data = damaged_score(sources, seed, case)
        path.write_bytes(data)
        begin = time.perf_counter()
        said = outcome(path)
        peak = 1024 * (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - base)
        pipe.send((case, kind, said, time.perf_counter() - begin, peak))
    pipe.send(None)


def sources() -> list[bytes]:
    """Return small scores of many kinds."""
    root = os.environ.get("SCORETOOLS_CHECK_DATA")
    if root:
        folders = ("conformance", "fingered/students", "fingered/fiddle", "plain")
        paths = [p for f in folders for p in sorted((Path(root) / f).rglob("*.*xml"))[::9]]
    else:
        from music21 import common

        paths = sorted(common.getCorpusFilePath().rglob("*.xml"))
    found = [path.read_bytes() for path in paths if path.stat().st_size <= LARGEST_SOURCE]
    return [data for data in found if data.strip()]


def run(
    scores: list[bytes], seed: int, cases: range, folder: str
) -> tuple[Counter[str], list[str]]:
    """Read the cases in a child; return outcomes by damage, and what went wrong."""
    counts: Counter[str] = Counter()
    wrong: list[str] = []
    context = multiprocessing.get_context("fork")
    here, there = context.Pipe(duplex=False)
    child = context.Process(target=_child, args=(scores, seed, cases, folder, there))
    child.start()
    there.close()
    last, slowest, peak = cases.start, 0.0, 0
    while True:
        try:
            if not here.poll(MOST_SECONDS + 5):
                wrong.append(f"case {last}: hangs")
                break
            message = here.recv()
        except EOFError:
            wrong.append(f"case {last}: the process died")
            break
        if message is None:
            break
        last, kind, said, took, most = message
        if not kind:
            continue
        slowest, peak = max(slowest, took), max(peak, most)
        counts[f"{kind}: {said if said in ('read', 'refused') else 'wrong'}"] += 1
        if said not in ("read", "refused"):
            wrong.append(f"case {last} ({kind}): {said}")
        elif took > MOST_SECONDS or most > MOST_BYTES:
            wrong.append(f"case {last} ({kind}): {took:.1f} s, {most / 1024**2:.0f} MiB")
    child.kill()
    child.join()
    counts["slowest, ms"] = round(1000 * slowest)
    counts["peak, MiB"] = peak // 1024**2
    if wrong and last + 1 < cases.stop and ("hangs" in wrong[-1] or "died" in wrong[-1]):
        more, again = run(scores, seed, range(last + 1, cases.stop), folder)
        wrong += again
        counts = _added(counts, more)
    return counts, wrong


def _added(first: Counter[str], second: Counter[str]) -> Counter[str]:
    """Return both counts together, maxima as maxima."""
    both = first + second
    for name in ("slowest, ms", "peak, MiB"):
        both[name] = max(first[name], second[name])
    return both


def main() -> int:
    """Run the cases and print what came of them."""
    cases = int(sys.argv[1]) if len(sys.argv) > 1 else 20_000
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    scores = sources()
    print(f"{len(scores)} scores of at most {LARGEST_SOURCE} bytes, {cases} cases, seed {seed}")
    counts: Counter[str] = Counter()
    wrong: list[str] = []
    begin = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        for start in range(0, cases, CASES_A_CHILD):
            found = run(scores, seed, range(start, min(start + CASES_A_CHILD, cases)), folder)
            counts = _added(counts, found[0])
            for one in found[1]:
                print(one)
            wrong += found[1]
    for name, number in sorted(counts.items()):
        print(f"{name}: {number}")
    print(f"{len(wrong)} went wrong; {time.perf_counter() - begin:.0f} s")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
