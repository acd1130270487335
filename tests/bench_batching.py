"""The batching programme's time: beside an exact MILP on the same cases, and as the wants grow in number."""

import random
import statistics
import time
from collections.abc import Callable
from datetime import timedelta

from prep.garbage_collection import collector_paused
from prep.planning.engine.lot_sizing import Want, batch
from prep.planning.model import Calendar
from prep.planning.workdays import Workdays
from tests.planning.engine.lot_sizing_milp import TODAY, Case, least_cost, random_case

ML = 1_000_000
_SIZES = tuple(n * ML for n in (50, 100, 250, 500, 1000, 2000))


def _seconds(work: Callable[[], object]) -> float:
    with collector_paused():  # as in a plan
        start = time.perf_counter()
        work()
        return time.perf_counter() - start


def _solve(cases: list[Case]) -> None:
    for case in cases:
        batch(
            case.wants,
            shelf_life_days=case.shelf_life_days,
            sizes=case.sizes,
            last_workday=case.last_workday,
            today=case.today,
            costs=case.costs,
        )


def _year(count: int) -> Callable[[], object]:
    """`count` wants of one solution, as many a day however many they are."""
    rng = random.Random(count)
    span = count // 10
    days = Workdays(Calendar(), TODAY, TODAY + timedelta(days=span + 9))
    wants = []
    for number in range(count):
        needed = TODAY + timedelta(days=rng.randrange(7, span))
        wants.append(Want(str(number), rng.randrange(5, 300) * ML, needed, needed - timedelta(days=1)))
    return lambda: batch(wants, shelf_life_days=180, sizes=_SIZES, last_workday=days.last_to, today=TODAY)


def _against_milp(cases: list[Case]) -> tuple[float, float]:
    """Our time, and what HiGHS itself takes: building its model in Python does not count against it."""
    return _seconds(lambda: _solve(cases)), sum(least_cost(case)[2] for case in cases)


def rows(cases: int = 30, runs: int = 3) -> list[tuple[str, float, float, float]]:
    """(what, seconds, seconds of the floor, the most that their ratio may be), medians of alternate runs."""
    out = []
    for most in (7, 12):
        rng = random.Random(most)
        some = [random_case(rng, most_wants=most) for _ in range(cases)]
        pairs = [_against_milp(some) for _ in range(runs)]
        ours, theirs = (statistics.median(column) for column in zip(*pairs, strict=True))
        out.append((f"batching, up to {most} wants, against HiGHS", ours, theirs, 0.01))
    small, large = _year(1_000), _year(20_000)
    pairs = [(_seconds(large), 20 * _seconds(small)) for _ in range(runs)]
    ours, theirs = (statistics.median(column) for column in zip(*pairs, strict=True))
    out.append(("batching 20,000 wants, against 20 x 1,000", ours, theirs, 1.5))
    return out


if __name__ == "__main__":
    for name, ours, theirs, limit in rows():
        verdict = "ok" if ours <= limit * theirs else "OVER"
        print(f"{name:<46} {ours * 1000:9.1f} ms  floor {theirs * 1000:9.1f} ms  x{ours / theirs:.5f}  {verdict}")
