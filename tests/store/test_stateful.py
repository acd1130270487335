"""The whole store against a simple model in memory: receive, make, use, undo, move, quarantine, count, close.

The model keeps what each bottle holds, where it stands and its status, and for each job the state before it; it
says which jobs must be refused. After every step the books must be the model's, and clean.
"""

from dataclasses import dataclass, replace
from datetime import date

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)
from sqlalchemy import select

from prep.chemistry.model import Form, Substance
from prep.errors import PrepError, Refused
from prep.stocktake.methods import ClosedPacks
from prep.stocktake.verdict import judge
from prep.store import change_log, ledger, seeding, stocktakes
from prep.store.check import check
from prep.store.database import open_engine, reading, writing
from prep.store.jobs.term_sums import Term
from prep.store.jobs.term_sums import books as books_of
from prep.store.ledger import MovementLine
from prep.store.stocktakes import Stocktake, Tally
from prep.store.table_rows import table
from prep.store.tables import BottleRow
from tests.databases import BACKENDS, create_stamped, empty

DAY = date(2027, 1, 4)
PLACES = ("A", "B", "C")
amounts = st.integers(1, 1000)
picks = st.integers(0, 10**6)


@dataclass(frozen=True)
class Has:
    """A bottle as the model has it."""

    amount: int
    place: str = "A"
    status: str = "in service"


@dataclass(frozen=True)
class Did:
    """A job as the model has it: what it added to which bottle, and what else it changed, before and after."""

    number: int
    moved: dict[str, int]
    changed: dict[tuple[str, str], tuple[str, str]]
    made: tuple[str, ...] = ()
    count: str = ""


class Store(RuleBasedStateMachine):
    """Jobs in any order."""

    url = "sqlite://"

    def __init__(self) -> None:
        super().__init__()
        empty(self.url)
        self.engine = open_engine(self.url)
        create_stamped(self.engine)
        self.bottles: dict[str, Has] = {}
        self.jobs: list[Did] = []
        self.undone: set[int] = set()
        self.signed: dict[str, int] = {}  # bottle -> the job that closed its last count
        self.counts = 0
        self.open = ""
        self.of_count: dict[int, dict[str, int]] = {}  # closing job -> its tallies
        self.closed: dict[int, tuple[str, ...]] = {}  # closing job -> bottles that it signed off
        self.tallied: dict[str, int] = {}  # bottle -> counted minus books at that moment

    @initialize()
    def places(self) -> None:
        """Three locations, a substance, three bottles."""
        with writing(self.engine) as connection:
            seeding.put_locations(connection, [(code, code, n, "") for n, code in enumerate(PLACES)])
            seeding.put_substances(connection, [Substance("salt", "Salt", "NaCl", "salt", Form.SOLID)])
        for _ in range(3):
            self.new_bottle(1000)

    def pick(self, draw: int, status: str = "") -> str:
        """A bottle that is on the shelves."""
        codes = [c for c, h in self.bottles.items() if h.status != "discarded" and status in ("", h.status)]
        return codes[draw % len(codes)] if codes else ""

    def row(self, code: str) -> dict[str, object]:
        """A new bottle's row."""
        fixed = {"item": "salt", "measure": "mass", "status": "in service", "location": "A"}
        return {"code": code, **fixed, "lot": "", "made_by": "", "note": ""}

    def stand(self, job: int, moved: dict[str, int], **more: object) -> None:
        """What a job that succeeded did."""
        for code, amount in moved.items():
            before = self.bottles.get(code, Has(0))
            self.bottles[code] = replace(before, amount=before.amount + amount)
        self.jobs.append(Did(job, moved, {}, **more))  # type: ignore[arg-type]

    @rule(amount=amounts)
    def receive(self, amount: int) -> None:
        """A new bottle."""
        self.new_bottle(amount)

    def new_bottle(self, amount: int) -> None:
        """Puts a bottle on the books."""
        code = f"N{len(self.bottles)}"
        with writing(self.engine) as connection:
            job = ledger.begin(connection, "receive", "Ada", DAY)
            ledger.fill(connection, job, self.row(code), amount, "received")
        self.stand(job, {code: amount}, made=(code,))

    @rule(draw=picks, amount=amounts)
    def use(self, draw: int, amount: int) -> None:
        """Takes from a bottle what it holds, and is refused more."""
        if not (code := self.pick(draw)):
            return
        enough = self.bottles[code].amount >= amount
        try:
            with writing(self.engine) as connection:
                job = ledger.begin(connection, "use", "Ada", DAY)
                ledger.post(connection, job, [MovementLine(code, -amount, "used")])
        except Refused:
            assert not enough
            return
        assert enough
        self.stand(job, {code: -amount})

    @rule(first=picks, second=picks, amount=amounts, other=amounts)
    def make(self, first: int, second: int, amount: int, other: int) -> None:
        """Takes from two bottles and fills one, or does nothing."""
        a, b = self.pick(first), self.pick(second)
        if not a:
            return
        takes: dict[str, int] = {}
        for code, taken in ((a, amount), (b, other)):
            takes[code] = takes.get(code, 0) - taken
        enough = all(self.bottles[code].amount + taken >= 0 for code, taken in takes.items())
        new = f"N{len(self.bottles)}"
        try:
            with writing(self.engine) as connection:
                job = ledger.begin(connection, "make", "Bo", DAY)
                ledger.fill(connection, job, self.row(new), amount + other, "made")
                ledger.post(connection, job, [MovementLine(code, taken, "to make") for code, taken in takes.items()])
        except Refused:
            assert not enough
            return
        assert enough
        self.stand(job, {**takes, new: amount + other}, made=(new,))

    @rule(draw=picks, place=st.sampled_from(PLACES))
    def move(self, draw: int, place: str) -> None:
        """Puts a bottle elsewhere."""
        self.change(draw, "place", "location", place)

    @rule(draw=picks, status=st.sampled_from(["in service", "quarantine"]))
    def quarantine(self, draw: int, status: str) -> None:
        """Takes a bottle out of service, or puts it back."""
        self.change(draw, "status", "status", status)

    def change(self, draw: int, ours: str, theirs: str, value: str) -> None:
        """One field of one bottle."""
        code = self.pick(draw)
        if not code or getattr(self.bottles[code], ours) == value:
            return
        with writing(self.engine) as connection:
            job = ledger.begin(connection, "change", "Ada", DAY)
            change_log.change(connection, job, "bottle", code, **{theirs: value})
        before = getattr(self.bottles[code], ours)
        self.bottles[code] = replace(self.bottles[code], **{ours: value})  # type: ignore[arg-type]
        self.jobs.append(Did(job, {}, {(code, ours): (before, value)}))

    @precondition(lambda self: self.jobs)
    @rule(draw=picks, late=st.booleans())
    def undo(self, draw: int, late: bool) -> None:
        """Reverses a job as a whole, or is refused for a reason that the model knows."""
        among = self.jobs[-3:] if late else self.jobs
        did = among[draw % len(among)]
        if did.count and self.open:
            return  # one count at a time
        may = did.number not in self.undone and self.may_undo(did)
        said = ""
        try:
            with writing(self.engine) as connection:
                ledger.reverse(connection, ledger.reversal(connection, did.number), "Bo", DAY)
        except PrepError as refused:
            said = str(refused)
        assert may == (not said), said or did
        if said:
            return
        self.undone.add(did.number)
        for code, amount in did.moved.items():
            self.bottles[code] = replace(self.bottles[code], amount=self.bottles[code].amount - amount)
        for code in did.made:
            self.bottles[code] = replace(self.bottles[code], status="discarded")
        for (code, field), (before, _) in did.changed.items():
            self.bottles[code] = replace(self.bottles[code], **{field: before})  # type: ignore[arg-type]
        if did.count:
            self.open, self.tallied = did.count, self.of_count[did.number]
            self.recompute_signed()

    def may_undo(self, did: Did) -> bool:
        """Not what a later count fixed, nor what would leave a bottle below nothing or changed twice."""
        touched = {*did.moved, *(code for code, _ in did.changed)}
        if any(did.number < self.signed.get(code, 0) for code in touched):
            return False
        for code, amount in did.moved.items():
            left = self.bottles[code].amount - amount
            if left < 0 or (code in did.made and left):
                return False
            if self.bottles[code].status == "discarded" and amount < 0:
                return False
        return all(getattr(self.bottles[code], field) == after for (code, field), (_, after) in did.changed.items())

    def recompute_signed(self) -> None:
        """Sign-offs that stand."""
        self.signed = {}
        for did in self.jobs:
            if did.count and did.number not in self.undone:
                for code in self.closed[did.number]:
                    self.signed[code] = did.number

    @precondition(lambda self: not self.open and self.bottles)
    @rule()
    def open_count(self) -> None:
        """One count at a time."""
        self.counts += 1
        self.open = f"C{self.counts}"
        self.tallied = {}
        with writing(self.engine) as connection:
            ledger.begin(connection, "count open", "Ada", DAY)
            stocktakes.open_count(connection, Stocktake(self.open, "", False, "open", DAY, "Ada"))

    @precondition(lambda self: self.open)
    @rule(found=st.lists(st.tuples(picks, st.integers(0, 1500)), min_size=1, max_size=4))
    def tally(self, found: list[tuple[int, int]]) -> None:
        """Writes down what is in some bottles."""
        for draw, amount in found:
            if code := self.pick(draw):
                with writing(self.engine) as connection:
                    stocktakes.add(
                        connection,
                        ledger.begin(connection, "tally", "Bo", DAY),
                        [Tally(self.open, code, "counted", amount)],
                        "Bo",
                    )
                self.tallied[code] = amount - self.bottles[code].amount

    @precondition(lambda self: self.open)
    @rule()
    def close(self) -> None:
        """Posts what was found; the model takes every difference as it was at the moment of counting."""
        moved = {c: d for c, d in self.tallied.items() if self.bottles[c].status != "discarded"}
        enough = all(self.bottles[code].amount + by >= 0 for code, by in moved.items())
        try:
            with writing(self.engine) as connection:
                latest = {t.bottle: t for t in stocktakes.tallies(connection, self.open) if t.bottle in moved}
                books = books_of(connection, latest, Term({c: t.upto for c, t in latest.items()}, None, {}))
                verdicts = [
                    judge(books[c], ClosedPacks(1, t.amount) if t.amount else ClosedPacks(0, 1))
                    for c, t in latest.items()
                ]
                job = ledger.begin(connection, "count", "Bo", DAY)
                for verdict in verdicts:
                    assert verdict.difference == moved[verdict.bottle]
                ledger.post(connection, job, [MovementLine(v.bottle, v.difference, "count") for v in verdicts])
                change_log.change(connection, job, "stocktake", self.open, status="closed", closed_on=DAY, job=job)
                stocktakes.sign(connection, job, self.open, verdicts)
        except Refused:
            assert not enough
            return
        assert enough
        self.stand(job, {c: by for c, by in moved.items() if by}, count=self.open)
        self.of_count[job], self.closed[job] = self.tallied, tuple(moved)
        self.open, self.tallied = "", {}
        self.recompute_signed()

    @invariant()
    def the_books_are_the_models(self) -> None:
        """Every bottle, and nothing else."""
        rows = table(BottleRow)
        with reading(self.engine) as connection:
            held = {
                row.code: Has(row.balance, row.location, row.status)
                for row in connection.execute(select(rows.c.code, rows.c.balance, rows.c.location, rows.c.status))
            }
            assert check(connection) == []
        assert held == self.bottles

    def teardown(self) -> None:
        """The database ends with the run."""
        self.engine.dispose()


@pytest.mark.parametrize(("url", "examples"), [("sqlite", 25), ("postgresql", 4)][: len(BACKENDS)], indirect=["url"])
def test_the_store_does_what_the_model_says(url: str, examples: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Store, "url", "sqlite://" if url.startswith("sqlite") else url)
    run_state_machine_as_test(
        Store,
        settings=settings(
            max_examples=examples,
            stateful_step_count=30,
            deadline=None,
            derandomize=True,
            suppress_health_check=list(HealthCheck),
        ),
    )
