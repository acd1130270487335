"""How far a long job is, told to whoever waits for it."""

from collections.abc import Callable, Iterable, Iterator
from typing import TypeVar

T = TypeVar("T")
Watcher = Callable[[int, int], None]
"""Called now and then with the steps that are done and with all there are."""
More = Callable[[int], None]
"""Called with the steps that were done since."""
_EVERY = 1000


def nobody(_done: int, _total: int) -> None:
    """Report no progress: a `Watcher` for a job that nobody waits for."""


def steps(watcher: Watcher, total: int) -> More:
    """Add up the steps of a job of `total` steps, and tell the watcher."""
    done = 0

    def more(count: int) -> None:
        nonlocal done
        done += count
        watcher(done, total)

    return more


def each(rows: Iterable[T], more: More) -> Iterator[T]:
    """Give the rows one by one, and report a step for each."""
    count = 0
    for count, row in enumerate(rows, 1):
        yield row
        if count % _EVERY == 0:
            more(_EVERY)
    more(count % _EVERY)
