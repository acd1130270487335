"""Garbage collection, out of the way of large plans."""

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def collector_paused() -> Iterator[None]:
    """Pause the garbage collector while a large plan is drawn up.

    Such a plan is a million small objects in no cycle; the collector looks them over again and again, which would
    take half of the plan's time.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
