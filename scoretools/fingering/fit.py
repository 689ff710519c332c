"""Weights from marked scores.

What is learnt: the points per unit of every note and step term, so that the cheapest fingering of a
part agrees with the fingers and open strings printed in it. Marks are partial labels: any complete
fingering that honours them is right, and the one that the weights in hand make cheapest is the
target.

How: a smoothed maximum-margin objective for structured prediction with latent variables (Source:
Yu and Joachims, *Learning structural SVMs with latent variables*, ICML 2009; smoothed as in
Gimpel and Smith, *Softmax-margin CRFs*, NAACL 2010). For every part, with `SHARPNESS` b and
`MARGIN` m,

    [log sum over all fingerings of exp b(m * events amiss - cost)
     - log sum over the fingerings that honour the marks of exp b(-cost)] / b

(an event is amiss where it misses a mark) is the smooth measure of how far the cheapest fingering
is from honouring the marks; the weighted sum over parts, with a quadratic pull towards the weights
in hand, is minimised within bounds by L-BFGS-B (scipy). The search's own graph and terms are used
throughout.

What keeps it honest: an edition marks what is not obvious, so weights fitted to marks alone shun
first position, open strings and ordinary fingers. `FLOORS` keeps every price at least where common
practice has it, and terms the marks say nothing of stay as they are. No term knows which piece it
is in.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from scoretools.fingering.excess import NAMES, Example, Labelled, Measures, excess
from scoretools.fingering.note_terms import NOTE_TERMS
from scoretools.fingering.rows import Hand
from scoretools.fingering.states import broken_marks
from scoretools.fingering.step_terms import STEP_TERMS
from scoretools.fingering.trellis import build
from scoretools.fingering.weights import Weights
from scoretools.model import Event

__all__ = ["FLOORS", "KEPT", "MARGIN", "SHARPNESS", "Fit", "example", "fit"]

FloatArray = NDArray[np.float64]

SHARPNESS = 3.0
"""b: the higher, the more the cheapest fingering alone counts."""

MARGIN = 0.7
"""m: points by which a fingering that misses a mark should be dearer, for each such event."""

PULL = 0.01
"""Weight of the squared distance from the weights in hand."""

LARGEST = 20.0
"""No weight is larger, points per unit."""

FLOORS: Mapping[str, float] = MappingProxyType(
    {
        "above first position": 0.02, "half position": 0.3, "even position": 0.1,
        "hand off its place": 0.05, "reach back": 0.4, "extension": 0.3, "stretch": 0.5,
        "contraction": 0.8, "low fourth finger": 0.3, "fourth finger": 0.1, "open string": 0.05,
        "open string rings on": 0.5, "letter against finger": 2.5,
        "fourth finger for the next string": 0.6, "fifth under one finger": 0.4,
        "shift": 0.75, "shift under a slur": 0.3, "shift distance": 0.03, "hasty shift": 1.0,
        "shift on a sounding finger": 0.3, "shift to another finger": 0.05,
        "hand moves a little": 0.1, "into half position": 1.0, "position renamed": 2.0,
        "string crossing": 0.1,
        "finger hops": 1.0, "hasty hop": 1.0, "finger rolls across a fifth": 0.5,
        "finger slides": 0.2, "hasty slide": 0.3, "shape strained": 0.1,
        "fingers out of order": 5.0, "repeated note changes": 0.3,
    }
)  # fmt: skip
"""Least points per unit; 0 for terms not named. Common practice, no published source."""

KEPT = frozenset(
    {
        "beyond the ceiling",
        "held note let go",
        "broken chord",
        "harmonic off the middle",
        "lower string above",
        "slide by another finger",
        "shift against restez",
        "spacing not known yet",
    }
)
"""Terms that marks say nothing of: never fitted."""


@dataclass(frozen=True, slots=True)
class Fit:
    """The result."""

    note: Mapping[str, float]
    """Points per unit of each note term."""
    step: Mapping[str, float]
    """Points per unit of each step term."""
    objective_before: float
    """Objective at the weights in hand."""
    objective: float
    """Objective at the weights found; lower is better."""
    evaluations: int
    """Evaluations of the objective."""


def example(hand: Hand, weights: Weights, events: Sequence[Event]) -> Example | None:
    """Make an example of a marked part; none where no mark tells one fingering from another."""
    moments = []
    marks = 0
    for moment in build(hand, weights, events, use_marks=False).moments:
        notes = events[moment.event].notes
        missed = broken_marks(hand, moment.kind.states, [note.marks for note in notes]) > 0
        told = bool(missed.any() and not missed.all())
        if told:
            marks += sum(bool(note.marks.fingers or note.marks.open_string) for note in notes)
        moments.append(Labelled(moment, missed.astype(np.float64) if told else None))
    return Example(hand, tuple(moments), marks) if marks else None


def fit(
    examples: Sequence[Example],
    shares: Sequence[float],
    weights: Weights,
    rounds: int = 60,
    tell: Callable[[int, float], None] | None = None,
) -> Fit:
    """Fit the weights of a profile.

    Parameters
    ----------
    examples
        Marked parts.
    shares
        What each part counts.
    weights
        The weights in hand: where the search for better ones begins, and what they are drawn to.
    rounds
        Most rounds of L-BFGS-B.
    tell
        Called with the number of evaluations so far and the objective, after each.
    """
    from scipy.optimize import minimize  # an extra: only fitting needs it

    start = np.array([_start(weights)[name] for name in NAMES])
    measures = Measures()
    count = 0

    def objective(values: FloatArray) -> tuple[float, FloatArray]:
        nonlocal count
        count += 1
        distance, slope = excess(examples, shares, values, measures, SHARPNESS, MARGIN)
        away = values - start
        total = distance + PULL * float(away @ away)
        if tell is not None:
            tell(count, total)
        return total, slope + 2 * PULL * away

    before = objective(start)[0]
    found = minimize(
        objective, start, jac=True, method="L-BFGS-B",
        bounds=[_bounds(name, value) for name, value in zip(NAMES, start.tolist(), strict=True)],
        options={"maxiter": rounds},
    )  # fmt: skip
    values = dict(zip(NAMES, (round(value, 3) for value in found.x.tolist()), strict=True))
    return Fit(
        note=MappingProxyType({term.name: values[term.name] for term in NOTE_TERMS}),
        step=MappingProxyType({term.name: values[term.name] for term in STEP_TERMS}),
        objective_before=before,
        objective=float(found.fun),
        evaluations=count,
    )


def _start(weights: Weights) -> Mapping[str, float]:
    given = {**weights.note, **weights.step}
    return {name: max(given[name], FLOORS.get(name, 0.0)) for name in NAMES}


def _bounds(name: str, value: float) -> tuple[float, float]:
    return (value, value) if name in KEPT else (FLOORS.get(name, 0.0), LARGEST)
