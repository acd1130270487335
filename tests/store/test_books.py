"""The books that the database adds up are those that the movements give one by one."""

import random
from collections import Counter
from collections.abc import Iterable
from decimal import Decimal

import pytest
from sqlalchemy import Connection, Engine, select

from prep.chemistry.model import Measure
from prep.errors import Refused
from prep.stocktake.methods import ClosedPacks
from prep.stocktake.tolerances import TAKEN
from prep.stocktake.turnover import PostedMovement, add_up
from prep.stocktake.verdict import BookBalance, judge
from prep.store import change_log, ledger, stocktakes
from prep.store.database import reading, writing
from prep.store.jobs.term_sums import Term, books, last_used
from prep.store.ledger import MovementLine
from prep.store.queries import bottles
from prep.store.stocktakes import Stocktake, Tally
from prep.store.table_rows import AT_ONCE, table
from prep.store.tables import JobRow, MovementRow
from tests.store.conftest import DAY, row

IN, OUT = ("receive", "arrive", "import", "make", "done"), (*("use", "make", "done") * 5, "discard")
TOLERANCES = {"acid": Decimal("0.5")}
CODES = ["V", "W", *(f"X{n}" for n in range(18))]


class School:
    """Jobs by chance, and counts in between; remembers what each count signed off."""

    def __init__(self, engine: Engine, seed: int) -> None:
        self.engine, self.draw = engine, random.Random(seed)
        self.signed: dict[str, tuple[int, float]] = {}
        self.jobs: list[int] = []
        self.counts = 0
        with writing(engine) as connection:
            job = ledger.begin(connection, "receive", "Ada", DAY)
            for code in CODES[2:]:
                ledger.fill(connection, job, row(code), 5000, "received")

    def work(self, jobs: int) -> None:
        for _ in range(jobs):
            (self.undo if self.draw.random() < 0.06 else self.move)()

    def move(self) -> None:
        came = self.draw.random() < 0.4
        kind = self.draw.choice(IN if came else OUT)
        lines = [
            MovementLine(code, self.draw.choice([250, self.draw.randint(1, 900)]) * (1 if came else -1), kind)
            for code in self.draw.sample(CODES, self.draw.randint(1, 3))
        ]
        try:
            with writing(self.engine) as connection:
                job = ledger.begin(connection, kind, "Ada", DAY)
                ledger.post(connection, job, lines)
            self.jobs.append(job)
        except Refused:
            pass  # not so much is in it

    def undo(self) -> None:
        if self.jobs:
            try:
                with writing(self.engine) as connection:
                    ledger.reverse(
                        connection,
                        ledger.reversal(connection, self.jobs.pop(self.draw.randrange(len(self.jobs)))),
                        "Bo",
                        DAY,
                    )
            except Refused:
                pass  # signed off, or what it filled was taken since

    def count(self, then: int) -> tuple[Term, dict[str, tuple[int, float]]]:
        """A count of some bottles, with jobs in between; its term once it is closed, and the earlier sign-offs."""
        self.counts += 1
        code, upto = f"C{self.counts}", {}
        with writing(self.engine) as connection:
            ledger.begin(connection, "count open", "Ada", DAY)
            stocktakes.open_count(connection, Stocktake(code, "", False, "open", DAY, "Ada"))
        for bottle in self.draw.sample(CODES, self.draw.randint(1, 8)):
            with writing(self.engine) as connection:
                amount = self.draw.randint(0, 6000)
                stocktakes.add(
                    connection,
                    ledger.begin(connection, "tally", "Bo", DAY),
                    [Tally(code, bottle, "counted", amount)],
                    "Bo",
                )
                upto[bottle] = stocktakes.tallies(connection, code)[-1].upto
            self.work(then)
        before = dict(self.signed)
        with writing(self.engine) as connection:
            known = books(connection, upto, Term(upto, None, TOLERANCES))
            assert told(known) == told(self.one_by_one(connection, upto, Term(upto, None, TOLERANCES), before))
            verdicts = [judge(one, ClosedPacks(1, 1000)) for one in known.values()]
            job = ledger.begin(connection, "count", "Bo", DAY)
            held = {b.code: b.amount for b in bottles(connection)}
            lines = [
                MovementLine(v.bottle, v.adjust, code) for v in verdicts if v.adjust and held[v.bottle] + v.adjust >= 0
            ]
            ledger.post(connection, job, lines)
            change_log.change(connection, job, "stocktake", code, status="closed", closed_on=DAY, job=job)
            stocktakes.sign(connection, job, code, verdicts)
        self.signed |= {v.bottle: (job, v.u_after) for v in verdicts}
        return Term(upto, job, TOLERANCES), before

    def one_by_one(
        self, connection: Connection, codes: Iterable[str], term: Term, signed: dict[str, tuple[int, float]]
    ) -> dict[str, BookBalance]:
        """The same books from every movement, the plain way."""
        m, j = table(MovementRow), table(JobRow)
        query = select(m.c.bottle, m.c.job, m.c.amount, j.c.kind, m.c.id, m.c.reverses).join(j).order_by(m.c.id)
        moved = connection.execute(query).all()
        found: dict[str, BookBalance] = {}
        for bottle in bottles(connection):
            job, u = signed.get(bottle.code, (0, 0.0))
            mine = [line for line in moved if line.bottle == bottle.code]
            known = [
                PostedMovement(*line[2:])
                for line in mine
                if line.job > job and term.knows(bottle.code, line.id, line.job)
            ]
            opening = sum(line.amount for line in mine if line.job <= job)
            flows = add_up(known, TOLERANCES[bottle.item])
            found[bottle.code] = BookBalance(bottle.code, bottle.item, Measure.VOLUME, opening, u, flows)
        return {code: found[code] for code in codes}


def told(of: dict[str, BookBalance]) -> dict[str, tuple[object, ...]]:
    """What a count makes of the books; whatever was taken to be used is one thing to it."""
    out = {}
    for code, one in of.items():
        sums: Counter[tuple[str, bool]] = Counter()
        times: Counter[tuple[str, bool]] = Counter()
        for f in one.flows:
            key = ("use" if f.kind in TAKEN and f.amount < 0 else f.kind, f.amount > 0)
            sums[key] += f.amount
            times[key] += f.times
        out[code] = (one.opening, one.balance, pytest.approx(one.u, rel=1e-9), dict(sums), dict(times))
    return out


@pytest.mark.parametrize("seed", range(4))
def test_added_up_by_the_database_as_one_by_one(engine: Engine, seed: int) -> None:
    school = School(engine, seed)
    closed = []
    for _ in range(3):
        school.work(25)
        closed.append(school.count(then=2))
    for term, signed in closed:  # and looked back at, when more has happened
        with reading(engine) as connection:
            known = books(connection, CODES, term)
            assert told(known) == told(school.one_by_one(connection, CODES, term, signed))


def test_more_bottles_than_a_statement_names(engine: Engine) -> None:
    many = [f"Z{number}" for number in range(AT_ONCE + 5)]
    with writing(engine) as connection:
        job = ledger.begin(connection, "receive", "Ada", DAY)
        ledger.load(connection, job, [row(code, 1000) for code in many], "received")
        job = ledger.begin(connection, "use", "Ada", DAY)
        ledger.post(connection, job, [MovementLine(code, -10, "used") for code in many[1:]])
        undone = ledger.begin(connection, "use", "Ada", DAY)
        ledger.post(connection, undone, [MovementLine(code, -20, "used") for code in many])
        ledger.reverse(connection, ledger.reversal(connection, undone), "Bo", DAY)
    with reading(engine) as connection:
        known = books(connection, many, Term({}, None, {}))
        assert {code: one.balance for code, one in known.items()} == dict.fromkeys(many, 990) | {"Z0": 1000}
        assert {sum(f.times for f in one.flows) for one in known.values()} == {1, 2}  # the undone never happened
        assert last_used(connection, many) == dict.fromkeys(many, DAY)
        assert last_used(connection, ["V"]) == {}
