"""The numbers of the jobs that were done, for whoever tells them to a person: so that each can be undone."""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any

_DONE: ContextVar[list[int] | None] = ContextVar("jobs_done", default=None)


@contextmanager
def collected() -> Iterator[list[int]]:
    """Collect the numbers of the jobs that are done inside, in their order."""
    jobs: list[int] = []
    token = _DONE.set(jobs)
    try:
        yield jobs
    finally:
        _DONE.reset(token)


def note(jobs: Iterable[int]) -> None:
    """Note jobs that were done, where somebody collects them."""
    if (found := _DONE.get()) is not None:
        found += jobs


def take() -> list[int]:
    """Take the numbers that were noted so far, so that they are told once."""
    found = _DONE.get()
    taken = list(found or ())
    if found:
        found.clear()
    return taken


def brackets(jobs: Iterable[int]) -> str:
    """Write the numbers as they stand behind a sentence's last word, ` (job 12)`; nothing where there are none."""
    numbers = list(jobs)
    if not numbers:
        return ""
    first, last = numbers[0], numbers[-1]
    if len(numbers) > 2 and numbers == list(range(first, last + 1)):
        return f" (jobs {first} to {last})"
    return f" (job{'s' if len(numbers) > 1 else ''} {', '.join(map(str, numbers))})"


def written_into(document: Any, jobs: list[int]) -> Any:
    """Write into a document of what was done, or into each of a list of them, the number of the job that did it."""
    if isinstance(document, list):
        return [written_into(one, jobs) for one in document] if len(jobs) == 1 else document
    if not jobs or not isinstance(document, dict) or "job" in document:
        return document
    return document | ({"job": jobs[0]} if len(jobs) == 1 else {"jobs": list(jobs)})
