"""The acid-base solver's time beside PHREEQC's, on the same compositions: `python -m tests.bench_acidbase`."""

import statistics
import time
from collections.abc import Callable, Sequence

from prep.chemistry.acid_base.equilibrium import mixture_of, ph_of, solve
from prep.chemistry.acid_base.species import Component
from tests.acidbase_mixtures import drawn, written
from tests.phreeqc import Judge

ROUNDS = 15


Job = Callable[[list[Component]], object]


def _each(jobs: Sequence[Job], cases: list[list[Component]]) -> list[float]:
    """Median over rounds of the seconds that one composition takes each job; they take turns, on the same machine."""
    times: list[list[float]] = [[] for _ in jobs]
    for _ in range(ROUNDS):
        for job, found in zip(jobs, times, strict=True):
            start = time.perf_counter()
            for case in cases:
                job(case)
            found.append((time.perf_counter() - start) / len(cases))
    return [statistics.median(found) for found in times]


def rows() -> list[tuple[str, float, float]]:
    """(name, our seconds a solve, PHREEQC's) on certified buffers and on 100 random mixtures."""
    judge = Judge()
    standards = [
        written(text)
        for text in (
            "KHC8H4O4=0.05",
            "KH2PO4=0.025;Na2HPO4=0.025",
            "Na2B4O7=0.01",
            "NaHCO3=0.025;Na2CO3=0.025",
            "CH3COOH=0.1;CH3COONa=0.1",
        )
    ]
    found = []
    for name, cases in (("pH standards", standards * 10), ("random mixtures", list(drawn(100, seed=11)))):
        theirs, bare, worked = _each([judge.ph, lambda case: solve(mixture_of(case)), ph_of], cases)
        found.append((f"pH, {name}", bare, theirs))
        found.append((f"pH with working, {name}", worked, theirs))
    return found


if __name__ == "__main__":
    for label, ours, theirs in rows():
        print(f"{label:<34} {ours * 1e3:8.3f} ms  PHREEQC {theirs * 1e3:8.3f} ms  x{ours / theirs:5.2f}")
