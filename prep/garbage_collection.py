"""Garbage collection, out of the way of large plans."""

import gc
from collections.abc import Iterator
from contextlib import contextmanager

_MANY = 20_000
"""Objects made meanwhile that are worth sparing the collector: far more than a request or a write makes."""


@contextmanager
def collector_paused() -> Iterator[None]:
    """Pause the garbage collector while a large plan is drawn up.

    Such a plan is a million small objects in no cycle; the collector looks them over again and again, which would
    take half of the plan's time. They are then counted among the old ones, which it seldom looks at: else it would
    look them all over as soon as it goes on.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            if gc.get_count()[0] > _MANY and not gc.get_freeze_count():
                gc.freeze()
                gc.unfreeze()
            gc.enable()
