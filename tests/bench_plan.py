"""The plan at scale: generated school groups of 1,000, 10,000 and 100,000 bookings.

Called by `python -m tests.bench scale`. Each size runs in a process of its own, so that its peak memory is
its own. The floor is what nobody can do without: reading the same rows with plain `sqlite3` and writing the
same document with plain `json`.
"""

import io
import json
import math
import random
import resource
import sqlite3
import statistics
import subprocess
import sys
import time
from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from functools import partial
from typing import Any

from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import Solution, StrengthKind
from prep.planning.model import Booking, Bottle, Calendar, Demo, Horizon, Need, Snapshot, StockRule

TODAY = date(2027, 1, 4)
DAYS = 280
SOLUTIONS, BOTTLES = 400, 20_000
UNIT = 1_000_000


def group(bookings: int, seed: int = 7) -> tuple[Snapshot, Horizon]:
    """A group of schools served by one prep room: its size grows with its bookings, its catalogue does not."""
    from prep.resources import seed_data
    from prep.services.catalogue.seed import read_catalogue

    draw = random.Random(seed)
    catalogue = read_catalogue(seed_data())
    solutions = _solutions(dict(catalogue.solutions), draw)
    codes = sorted(solutions)
    solids = [s.code for s in catalogue.substances.values() if s.measure.value == "mass"]
    demos = {}
    for number in range(300):
        picked = draw.sample(codes, draw.choice((2, 3, 3, 3, 4)))
        needs = [Need(code, draw.randrange(20, 160) * UNIT, dead=draw.choice((0, 5, 10)) * UNIT) for code in picked]
        if draw.random() < 0.1:
            needs.append(Need(draw.choice(solids), draw.randrange(1, 20) * UNIT))
        demos[f"d{number}"] = Demo(f"d{number}", f"Demo {number}", tuple(needs), Decimal("0.1"))
    last = TODAY + timedelta(days=DAYS)
    days = [d for n in range(1, DAYS) if (d := TODAY + timedelta(days=n)).weekday() < 5]
    booked = tuple(
        Booking(
            f"B{n}",
            draw.choice(days),
            f"P{draw.randrange(1, 7)}",
            f"School {draw.randrange(1, 1 + max(1, bookings // 300))}",
            "",
            f"d{draw.randrange(300)}",
            draw.choice((1, 1, 1, 2, 3)),
        )
        for n in range(bookings)
    )
    reagents = sorted(catalogue.substances)
    bottles = []
    for number in range(BOTTLES):
        made = draw.random() < 0.4
        item = draw.choice(codes if made else reagents)
        days_left = draw.randrange(0, DAYS) if made else draw.randrange(100, 1500)
        bottles.append(
            Bottle(
                f"K{number}",
                item,
                draw.choice((100, 250, 500, 1000, 2500)) * UNIT,
                TODAY + timedelta(days=days_left),
                "PREP",
                received=TODAY - timedelta(days=draw.randrange(1, 300)),
            )
        )
    rules = {
        code: StockRule(code, 500 * UNIT, (500 * UNIT, 1000 * UNIT, 2500 * UNIT), draw.randrange(2, 15))
        for code in reagents
    }
    closed = {TODAY + timedelta(days=n): "closed" for start in (40, 100, 180) for n in range(start, start + 7)}
    return (
        Snapshot(
            today=TODAY,
            catalogue=Catalogue(catalogue.substances, solutions),
            demos=demos,
            bookings=booked,
            bottles=tuple(bottles),
            orders=(),
            rules=rules,
            instruments=catalogue.instruments,
            calendar=Calendar(closed=closed, minutes_per_day=240 * max(1, bookings // 300)),
        ),
        Horizon(TODAY, last),
    )


def _solutions(solutions: dict[str, Solution], draw: random.Random) -> dict[str, Solution]:
    """The shipped solutions, and weaker ones of the same solutes up to the number wanted."""
    plain = [
        s
        for s in solutions.values()
        if s.strength and s.strength.kind is StrengthKind.MOL_PER_L and not s.recipe and s.make_up_with == "water"
    ]
    number = 0
    while len(solutions) < SOLUTIONS:
        base = plain[number % len(plain)]
        assert base.strength is not None
        share = Decimal(draw.randrange(20, 95)) / 100
        code = f"{base.code}-w{number}"
        weaker = replace(base.strength, value=base.strength.value * share)
        solutions[code] = replace(base, code=code, name=f"{base.name} ({share})", strength=weaker, made_from=())
        number += 1
    return solutions


def rows_of(stock: Snapshot) -> sqlite3.Connection:
    """The rows of a plan's input in plain tables: what any program would have to read."""
    connection = sqlite3.connect(":memory:")
    tables: list[tuple[str, Iterable[Any]]] = [
        ("bookings", ((b.code, b.on, b.period, b.room, b.teacher, b.demo, b.showings) for b in stock.bookings)),
        ("bottles", ((b.code, b.item, b.amount, b.use_by, b.location, b.received) for b in stock.bottles)),
        ("needs", ((d.code, n.item, n.per_showing, n.dead) for d in stock.demos.values() for n in d.needs)),
        ("solutions", ((s.code, s.name, str(s.strength), s.shelf_life_days) for s in stock.solutions.values())),
        ("substances", ((s.code, s.name, s.formula, s.form) for s in stock.substances.values())),
    ]
    for name, rows in tables:
        rows = [tuple(str(v) if isinstance(v, date) else v for v in row) for row in rows]
        connection.execute(f"create table {name} ({', '.join(f'c{n}' for n in range(len(rows[0])))})")
        connection.executemany(f"insert into {name} values ({', '.join('?' * len(rows[0]))})", rows)
    return connection


def _timed(job: Callable[[], Any]) -> tuple[float, Any]:
    start = time.process_time()  # nobody else runs in this process; others on the machine are not counted
    out = job()
    return time.process_time() - start, out


def measure(bookings: int) -> dict[str, float]:
    """Seconds of the plan, of its document, and of the floor; peak memory in MB; the sizes of the plan."""
    from prep.planning.plan import make_plan
    from prep.reports.plan.document import plan_document

    stock, horizon = group(bookings)
    connection = rows_of(stock)
    names = [row[0] for row in connection.execute("select name from sqlite_master")]
    plan_s, plan = _timed(lambda: make_plan(stock, horizon))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    document_s, document = _timed(partial(plan_document, plan, stock))
    counts = {
        "requirements": len(plan.requirements),
        "batches": len(plan.batches),
        "short": sum(1 for need in plan.requirements if need.short),
    }
    del plan
    read_s, _ = _timed(lambda: [connection.execute(f"select * from {name}").fetchall() for name in names])
    write_s, text = _timed(lambda: io.StringIO().write(json.dumps(document)))
    return {"plan_s": plan_s, "document_s": document_s, "read_s": read_s, "write_s": write_s,
            "peak_mb": peak, "text_mb": text / 1e6, **counts}  # fmt: skip


def sample(limit: float = 50.0, runs: int = 15) -> bool:
    """The sample school's pure plan, median of some runs, in milliseconds."""
    from prep.planning.plan import make_plan
    from prep.services.plan import snapshot as plan_snapshot

    school = plan_snapshot.sample()
    horizon = Horizon(school.start, school.end)
    median = 1000 * statistics.median(_timed(partial(make_plan, school.snapshot, horizon))[0] for _ in range(runs))
    print(f"{'plan of the sample school':<40} {median:8.1f} ms  limit {limit:g}  {'ok' if median <= limit else 'OVER'}")
    return median <= limit


def scale() -> bool:
    """Print the three sizes and hold them to their limits."""
    found = {}
    for bookings in (1_000, 10_000, 100_000):
        out = subprocess.run(
            [sys.executable, "-m", "tests.bench_plan", str(bookings)], check=True, capture_output=True, text=True
        )
        one = found[bookings] = json.loads(out.stdout)
        floor = one["read_s"] + one["write_s"]
        print(
            f"plan of {bookings:>7,} bookings  {one['plan_s']:7.2f} s, with its document "
            f"{one['plan_s'] + one['document_s']:6.2f} s  floor {floor:6.2f} s  peak {one['peak_mb']:5.0f} MB  "
            f"({one['requirements']:,} requirements, {one['batches']:,} batches, {one['short']:,} short; "
            f"{one['text_mb']:.0f} MB of document)"
        )
    large = found[100_000]
    whole = {size: one["plan_s"] + one["document_s"] for size, one in found.items()}
    ratio = whole[100_000] / (large["read_s"] + large["write_s"])
    learned = [
        ("growth exponent 1,000 -> 100,000", math.log(large["plan_s"] / found[1_000]["plan_s"]) / math.log(100), 1.15),
        ("the same 10,000 -> 100,000, document too", math.log10(whole[100_000] / whole[10_000]), 1.15),
        ("100,000, plan and document, to floor", ratio, 5.0),
        ("peak memory, MB", large["peak_mb"], 1536.0),
    ]
    for name, value, limit in learned:
        print(f"{name:<40} {value:8.2f}  limit {limit}  {'ok' if value <= limit else 'OVER'}")
    return all(value <= limit for _, value, limit in learned)


if __name__ == "__main__":
    print(json.dumps(measure(int(sys.argv[1]))))
