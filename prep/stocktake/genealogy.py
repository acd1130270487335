"""Where the content of a bottle or lot went, and what the content of a bottle or booking came from.

The ledger is gone through once, job by job in its own order. A bottle is taken to be well mixed: what leaves it
carries the same share of everything that is in it, so every microgram or nanolitre of a source is accounted
for (in bottles, in bookings, used, written off). Since a job can only draw on what earlier jobs filled, a loop
cannot arise; a job that draws on a bottle and fills it too (making a stock up again) mixes the two. What
a booking brings back goes to the bottle that it came from. A correction (a count, an undoing) changes how much
there is and not what it is.

Amounts are integers in the unit of what they are an amount of (ug or nL).
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from prep.errors import PrepError
from prep.stocktake.model import (
    BatchRecord,
    BottleRecord,
    ContentShare,
    Downstream,
    Holding,
    Hop,
    HopKind,
    Movement,
    Upstream,
)
from prep.stocktake.turnover import standing
from prep.wording import AtTerminal


@dataclass(frozen=True, slots=True)
class Graph:
    """The ledger made ready for tracing (`build`)."""

    bottles: Mapping[str, BottleRecord]
    jobs: tuple[tuple[int, tuple[Movement, ...]], ...]  # in order, without what was undone
    fills: Mapping[int, frozenset[str]]  # job -> bottles it filled by making
    made_into: Mapping[str, tuple[str, ...]]  # bottle -> bottles filled by a job that drew on it
    made_from: Mapping[str, tuple[str, ...]]


def build(movements: Iterable[Movement], batches: Iterable[BatchRecord], bottles: Iterable[BottleRecord]) -> Graph:
    """Build the graph of who was filled from whom.

    Raises PrepError if a movement names a bottle that is not there.
    """
    known = {b.code: b for b in bottles}
    jobs: dict[int, list[Movement]] = defaultdict(list)
    for moved in standing(movements):
        if moved.bottle not in known:
            raise PrepError(f'Job {moved.job} moved bottle "{moved.bottle[:40]}", which is not on the books.')
        jobs[moved.job].append(moved)
    filled: dict[int, set[str]] = defaultdict(set)
    for batch in batches:
        if any(m.bottle == batch.bottle and m.amount > 0 for m in jobs.get(batch.job, ())):
            filled[batch.job].add(batch.bottle)
    into: dict[str, dict[str, None]] = defaultdict(dict)
    origin: dict[str, dict[str, None]] = defaultdict(dict)
    for job in sorted(filled):
        drawn = {m.bottle for m in jobs[job] if m.amount < 0}
        for source in sorted(drawn):
            for target in sorted(filled[job]):
                if source != target:
                    into[source][target] = None
                    origin[target][source] = None
    return Graph(
        known,
        tuple((job, tuple(jobs[job])) for job in sorted(jobs)),
        {job: frozenset(codes) for job, codes in filled.items()},
        {code: tuple(found) for code, found in into.items()},
        {code: tuple(found) for code, found in origin.items()},
    )


def downstream(graph: Graph, start: str) -> Downstream:
    """Trace everything that got some of a bottle (by code) or of a supplier's lot. Raises PrepError if neither."""
    of_lot = sorted(b.code for b in graph.bottles.values() if start and b.lot == start)
    sources = (start,) if start in graph.bottles else tuple(of_lot)
    if not sources:
        raise PrepError(
            f'"{start[:40]}" is neither a bottle nor a lot on the books', AtTerminal("; see: prep stock list", ".")
        )
    within = _reach(sources, graph.made_into)
    passage = _Passage(graph, within, frozenset(sources), every=False)
    passage.run()
    holds = []
    for code in sorted(within, key=lambda c: (c not in sources, c)):
        balance, record = passage.balance[code], graph.bottles[code]
        if balance <= 0:
            continue
        inside = {source: share * balance for source, share in passage.content[code].items()}
        for of, carried in passage.by_item(inside).items():
            unit = passage.measures[of]
            holds.append(Holding(code, record.item, record.measure, record.status, balance, of, unit, round(carried)))
    return Downstream(start, sources, tuple(passage.hops), tuple(holds))


def upstream(graph: Graph, start: str) -> Upstream:
    """Trace what a bottle's content, or what a booking got, was made from, back to where the trail ends.

    A bottle is shown at its present balance; an empty one at all that was ever put into it. Raises PrepError
    if `start` is neither a bottle nor a booking that got anything.
    """
    got = {m.bottle for _, moved in graph.jobs for m in moved if start and m.booking == start}
    drawn = (start,) if start in graph.bottles else tuple(sorted(got))
    if not drawn:
        raise PrepError(f'"{start[:40]}" is neither a bottle nor a booking that got anything from the shelves.')
    within = _reach(drawn, graph.made_from)
    passage = _Passage(graph, within, frozenset(), every=True, booking="" if start in graph.bottles else start)
    passage.run()
    if start in graph.bottles:
        size = passage.balance[start] if passage.balance[start] > 0 else passage.put_in[start]
        amounts = {s: share * size for s, share in passage.content[start].items()}
        if start not in passage.own:
            amounts.pop(start, None)
        if not amounts:  # no other bottle filled it: it is its own source
            amounts = {start: float(size)}
    else:
        amounts = passage.got
    steps = _steps(drawn, graph.made_from)
    shares = [
        ContentShare(
            code,
            graph.bottles[code].item,
            graph.bottles[code].measure,
            graph.bottles[code].lot,
            round(amount),
            code not in graph.made_from or code in passage.own,
            steps[code],
        )
        for code, amount in amounts.items()
        if amount > 0
    ]
    return Upstream(start, tuple(sorted(shares, key=lambda s: (s.steps, s.item, s.bottle))))


@dataclass(frozen=True, slots=True)
class _PassedOn:
    """The share of a movement that went to one thing."""

    kind: HopKind
    to: str
    share: float


class _Passage:
    """One passage through the ledger, keeping what a unit of each bottle's content is made of.

    `content` maps a bottle to source -> amount of the source in one unit of the bottle. Taking something out
    leaves it as it is; only filling changes it.
    """

    def __init__(
        self, graph: Graph, within: Mapping[str, None], sources: frozenset[str], every: bool, booking: str = ""
    ) -> None:
        self.graph, self.within, self.sources, self.every, self.booking = graph, within, sources, every, booking
        self.content: dict[str, dict[str, float]] = {code: {} for code in within}
        self.balance: dict[str, int] = dict.fromkeys(within, 0)
        self.put_in: dict[str, int] = dict.fromkeys(within, 0)
        self.got: dict[str, float] = defaultdict(float)
        self.hops: list[Hop] = []
        self.measures = {b.item: b.measure for b in graph.bottles.values()}
        self.own: set[str] = set()  # bottles whose first content came from no other bottle

    def run(self) -> None:
        """Follow every job of the ledger once, in order."""
        for job, moved in self.graph.jobs:
            if any(m.bottle in self.within for m in moved):
                self._job(job, moved)

    def _job(self, job: int, moved: Sequence[Movement]) -> None:
        made = self.graph.fills.get(job, frozenset())
        fills = [m for m in moved if m.amount > 0 and m.bottle in made]
        rest = [m for m in moved if not (m.amount > 0 and m.bottle in made)]
        carried: dict[str, float] = defaultdict(float)
        for m in rest:
            if m.bottle not in self.within:
                continue
            self._begin(m)
            for source, share in self.content[m.bottle].items():
                carried[source] -= share * m.amount
            first = self.balance[m.bottle] == 0 and self.put_in[m.bottle] == 0 and m.amount > 0
            self.balance[m.bottle] += m.amount
            if m.amount > 0:
                self.put_in[m.bottle] += m.amount
            if not first:
                self._hop(m, fills)
        total = sum(m.amount for m in fills)
        for m in fills:
            if m.bottle in self.within:
                self._fill(m, {source: amount * m.amount / total for source, amount in carried.items()})

    def _begin(self, m: Movement) -> None:
        """Start the trail of a bottle that no making filled: it is its own source."""
        content = self.content[m.bottle]
        if m.bottle in self.sources or self.every:
            if m.bottle not in content:
                self.own.add(m.bottle)
            content.setdefault(m.bottle, 1.0)

    def _fill(self, m: Movement, arrived: Mapping[str, float]) -> None:
        held = max(self.balance[m.bottle], 0)
        now = {source: share * held for source, share in self.content[m.bottle].items()}
        for source, amount in arrived.items():
            now[source] = now.get(source, 0.0) + amount
        self.balance[m.bottle] += m.amount
        self.put_in[m.bottle] += m.amount
        self.content[m.bottle] = {s: amount / (held + m.amount) for s, amount in now.items() if amount > 0}
        if m.bottle in self.sources:  # all of it counts, and once, whichever source it was poured from
            self.content[m.bottle] = {m.bottle: 1.0}
        elif self.every and m.bottle not in self.own:
            self.content[m.bottle][m.bottle] = 1.0

    def _hop(self, m: Movement, fills: Sequence[Movement]) -> None:
        content = self.content[m.bottle]
        if self.every:
            if m.booking and m.booking == self.booking:
                for source, share in content.items():
                    self.got[source] -= share * m.amount
            return
        total = sum(f.amount for f in fills)
        if fills and m.amount < 0:
            parts = [_PassedOn(HopKind.BATCH, f.bottle, f.amount / total) for f in fills]
        elif m.booking:
            parts = [_PassedOn(HopKind.BOOKING, m.booking, 1.0)]
        else:
            parts = [_PassedOn(HopKind.OTHER, m.reason, 1.0)]
        record = self.graph.bottles[m.bottle]
        for of, carried in self.by_item({s: -share * m.amount for s, share in content.items()}).items():
            for part in parts:
                self.hops.append(
                    Hop(
                        m.job,
                        m.on,
                        m.bottle,
                        record.item,
                        record.measure,
                        part.kind,
                        part.to,
                        round(-m.amount * part.share),
                        of,
                        self.measures[of],
                        round(carried * part.share),
                    )
                )

    def by_item(self, amounts: Mapping[str, float]) -> dict[str, float]:
        """Add up amounts by source bottle to amounts by the item of the source, in the order of the items."""
        items: dict[str, float] = defaultdict(float)
        for source, amount in amounts.items():
            items[self.graph.bottles[source].item] += amount
        return {item: items[item] for item in sorted(items) if items[item]}


def _reach(start: Sequence[str], edges: Mapping[str, tuple[str, ...]]) -> dict[str, None]:
    """Find everything that can be got to, the start included; each once, so that even a loop would end."""
    seen = dict.fromkeys(start)
    todo = list(start)
    while todo:
        for code in edges.get(todo.pop(), ()):
            if code not in seen:
                seen[code] = None
                todo.append(code)
    return seen


def _steps(start: Sequence[str], edges: Mapping[str, tuple[str, ...]]) -> dict[str, int]:
    steps = dict.fromkeys(start, 0)
    ring = list(start)
    while ring:
        ring = [
            code
            for near in ring
            for code in edges.get(near, ())
            if code not in steps and steps.setdefault(code, steps[near] + 1)
        ]
    return steps
