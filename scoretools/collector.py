"""Python's cycle collector, paused while many values are made.

A part is hundreds of thousands of small values without a cycle among them. The collector would go
over all of them again and again, so that time would grow faster than the music.
"""

import gc
from collections.abc import Iterator
from contextlib import contextmanager

__all__ = ["collector_paused"]


@contextmanager
def collector_paused() -> Iterator[None]:
    """Pause the cycle collector; it goes on afterwards if it was on before."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
