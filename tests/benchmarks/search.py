"""Events a second of the search, and its ratio to a graph library's shortest path.

Run ``python tests/benchmarks/search.py``. Everything is measured in one run, in processor time, the
fastest of three; figures are printed, never asserted. Bach's movements are read from the folder
named by ``SCORETOOLS_CHECK_DATA`` and left out where it is not set.
"""

import os
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path

import networkx as nx
from speed import best, made_up

import scoretools
from scoretools.analysis import instrument_of
from scoretools.fingering.ceiling import ceiling_from_notes
from scoretools.fingering.rows import Hand
from scoretools.fingering.search import finger, solve
from scoretools.fingering.states import candidates
from scoretools.fingering.trellis import Trellis, build
from scoretools.fingering.weights import weights_for
from scoretools.hand import hand_reach
from scoretools.player import Player

CHORDAL = 1.2
"""Notes an event from which a movement counts as chordal."""

RUNS = 3


def hand_of(part: scoretools.Part) -> Hand:
    """Make the hand that plays a part."""
    played = instrument_of(part, Player())
    reach = hand_reach(played, Player())
    return Hand(played, reach, ceiling_from_notes(played, reach, part.events))


def search(part: scoretools.Part) -> Callable[[], object]:
    """Finger a part in both passes, with margins and itemised costs, nothing known beforehand."""

    def run() -> object:
        candidates.cache_clear()
        return finger(hand_of(part), weights_for(Player()), part.events)

    return run


def rate(name: str, parts: Sequence[scoretools.Part]) -> None:
    """Print the events a second of some parts."""
    events = sum(len(part.events) for part in parts)
    seconds = sum(best(search(part), RUNS) for part in parts)
    print(f"{name:40}{len(parts):4} parts {events:7} events {events / seconds:9.0f} events/s")


def as_graph(trellis: Trellis) -> nx.DiGraph:
    """The same graph for networkx: a node for each state, the costs on the edges."""
    found = solve(trellis)
    own = found.passes.own
    graph = nx.DiGraph()
    graph.add_weighted_edges_from(("start", (0, row), int(cost)) for row, cost in enumerate(own[0]))
    for place in range(1, len(own)):
        costs = (found.table(place) + own[place][None, :]).tolist()
        graph.add_weighted_edges_from(
            ((place - 1, a), (place, b), cost)
            for a, row in enumerate(costs)
            for b, cost in enumerate(row)
        )
    last = len(own) - 1
    graph.add_weighted_edges_from(((last, row), "end", 0) for row in range(len(own[last])))
    return graph


def against_networkx(part: scoretools.Part) -> None:
    """Print how many times as fast the search is, its graph's pricing and margins included."""
    trellis = build(hand_of(part), weights_for(Player()), part.events, use_marks=True)
    graph = as_graph(trellis)
    ours = best(search(part), RUNS)
    theirs = best(lambda: nx.dijkstra_path_length(graph, "start", "end"), RUNS)
    print(
        f"networkx, one shortest path, graph built beforehand: {theirs / ours:.1f} times our whole "
        f"search ({len(part.events)} events, {graph.number_of_edges()} edges)"
    )


def read_made_up(folder: Path, events: int) -> scoretools.Part:
    """Read a made-up part of so many events."""
    path = folder / f"{events}.musicxml"
    path.write_text(made_up(events), encoding="utf-8")
    return scoretools.read_part(path)


def main() -> None:
    """Run all of it."""
    with tempfile.TemporaryDirectory() as name:
        small, large = (read_made_up(Path(name), events) for events in (1_000, 10_000))
    rate("made-up single line", [small])
    rate("made-up single line", [large])
    growth = best(search(large), RUNS) / best(search(small), RUNS)
    print(f"growth from {len(small.events)} to {len(large.events)} events: {growth:.1f} times")
    against_networkx(small)
    data = os.environ.get("SCORETOOLS_CHECK_DATA")
    if not data:
        print("SCORETOOLS_CHECK_DATA is not set: Bach and the student books are left out")
        return
    bach = [scoretools.read_part(path) for path in sorted(Path(data, "plain/bach").glob("*.mxl"))]
    notes = [sum(len(event.notes) for event in part.events) / len(part.events) for part in bach]
    rate("Bach, chordal movements", [p for p, n in zip(bach, notes, strict=True) if n >= CHORDAL])
    rate("Bach, the others", [p for p, n in zip(bach, notes, strict=True) if n < CHORDAL])
    students = sorted(Path(data, "fingered/students").glob("kayser*"))
    rate("student studies", [scoretools.read_part(path) for path in students])


if __name__ == "__main__":
    main()
