"""What it would cost to play single notes as an edition prints them."""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from scoretools.agreement.found import Playing, hand_for
from scoretools.agreement.printed import Printed
from scoretools.fingering.cost import POINT
from scoretools.fingering.search import solve
from scoretools.fingering.states import States
from scoretools.fingering.trellis import build
from scoretools.model import Address, Part

__all__ = ["prices"]


def prices(who: Playing, part: Part, wanted: Mapping[Address, Printed]) -> Mapping[Address, float]:
    """Price single notes as printed: how much more the best whole fingering then costs.

    Parameters
    ----------
    part
        A part without marks.
    wanted
        What is printed on some of its notes; each is priced by itself.

    Returns
    -------
    Mapping
        Points, 0 where the best fingering has it so; what no hand up to the ceiling can play is
        missing.
    """
    trellis = build(hand_for(who, part.events), who.weights, part.events, use_marks=True)
    if not trellis.moments:
        return {}
    solution = solve(trellis)
    passes, found = solution.passes, {}
    for index, moment in enumerate(solution.trellis.moments):
        through = passes.forward[index] + passes.backward[index]
        for column, note in enumerate(part.events[moment.event].notes):
            if note.address in wanted:
                fits = _fits(moment.kind.states, column, wanted[note.address])
                if fits.any():
                    found[note.address] = int(through[fits].min() - through.min()) / POINT
    return found


def _fits(states: States, column: int, printed: Printed) -> NDArray[np.bool_]:
    finger = states.finger[:, column]
    fits = np.ones(len(states), dtype=np.bool_)
    if printed.fingers:
        fits &= np.isin(finger, printed.fingers)
    if printed.string is not None:
        fits &= states.string[:, column] == printed.string
    if printed.position is not None:
        fits &= (states.position == printed.position) | (finger == 0)
    return fits
