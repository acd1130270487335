"""Eight processes with mixed jobs on one inventory: what each was told succeeded is there, and nothing else.

`PREP_TEST_JOBS=500` lets each of them do that many.
"""

import os
import random
from collections import Counter
from datetime import date
from multiprocessing import get_context
from multiprocessing.queues import Queue
from multiprocessing.synchronize import Barrier

import pytest
from sqlalchemy import text

from prep.errors import PrepError, Refused
from prep.services.inventory import backup, init, session
from prep.services.making import make
from prep.services.stock import changes, listing
from prep.services.stock import orders as stock_orders
from prep.services.stock.places import add_place
from tests.days import act

WRITERS, JOBS = 8, int(os.environ.get("PREP_TEST_JOBS", "6"))  # of each writer
DAY = date(2027, 1, 11)
KINDS = ("receive", "make", "use", "undo", "move", "order", "arrive")
Told = tuple[list[tuple[int, str]], list[str], list[str]]


def writer(seed: int, told: "Queue[Told]") -> None:
    """Job after job on bottles that all share; reports each (job, kind), its orders, and every surprise."""
    chance, by = random.Random(seed), f"writer {seed}"
    done: list[tuple[int, str]] = []
    orders: list[str] = []
    problems: list[str] = []
    undone: set[int] = set()
    for number in range(JOBS):
        kind = KINDS[(seed + number) % len(KINDS)]
        try:
            if kind == "undo":
                mine = [job for job, what in done if what not in ("undo", "order") and job not in undone]
                if mine:
                    job = chance.choice(mine)
                    done.append((changes.undo(None, job, act(by, DAY)), "undo"))
                    undone.add(job)
                continue
            if kind == "order":
                orders.append(
                    stock_orders.placed(
                        None, stock_orders.OrderRequest("sodium-chloride", 1, None, None), act(by, DAY)
                    ).code
                )
                done.append((newest(by), "order"))
                continue
            do(kind, chance, by)
            done.append((newest(by), kind))
        except Refused:
            pass  # somebody was first: nothing was written
        except PrepError as problem:
            if " already" not in str(problem):
                problems.append(str(problem))
    told.put((done, orders, problems))


def do(kind: str, chance: random.Random, by: str) -> None:
    """One job of the kind."""
    if kind == "receive":
        changes.receive(
            None, changes.Receipt("sodium-chloride", "100 g", chance.randint(1, 3), "A", None, "", ""), act(by, DAY)
        )
    elif kind == "make":
        make.log(None, make.MakeRequest("hcl-0.1", "100 mL", location="A"), act(by, DAY))
    elif kind == "arrive":
        code = chance.choice([order.code for order in stock_orders.list_orders(None, False)] or ["P1"])
        stock_orders.arrived(None, code, stock_orders.Delivery("A", None, ""), act(by, DAY))
    else:
        held = chance.choice(listing.list_stock(None, "sodium-chloride", None, False, None))
        if kind == "use":
            changes.use(None, held.code, f"{chance.randint(1, 60)} g", "", act(by, DAY))
        else:
            changes.move(None, held.code, "B" if held.location == "A" else "A", act(by, DAY))


def newest(by: str) -> int:
    """The last job of this writer, whose name nobody else uses."""
    with session.reading(None) as connection:
        query = text('SELECT max(id) FROM job WHERE "by" = :by')
        return int(connection.execute(query, {"by": by}).scalar_one())


def maker(start: "Barrier", said: "Queue[str]") -> None:
    """Makes the inventory, if nobody was first."""
    start.wait()
    try:
        init.init(None, "Ada", DAY, None, "")
        said.put("made")
    except PrepError as problem:
        said.put(str(problem))


def test_of_those_who_make_it_at_once_one_is_told_that_it_is_made(url: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PREP_DATABASE_URL", url)
    context = get_context("fork")
    start, said = context.Barrier(3), context.Queue()
    makers = [context.Process(target=maker, args=(start, said)) for _ in range(3)]
    for process in makers:
        process.start()
    told = [said.get(timeout=60) for _ in makers]
    for process in makers:
        process.join()
    assert told.count("made") == 1
    assert all(one == "made" or "there is an inventory already" in one for one in told), told
    assert backup.check(None) == []


def test_eight_processes_with_mixed_jobs_lose_nothing(url: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PREP_DATABASE_URL", url)  # the writers' too
    init.init(None, "Ada", DAY, None, "")
    for code in ("A", "B"):
        add_place(None, code, "", 1, act("Ada", DAY))
    changes.receive(None, changes.Receipt("sodium-chloride", "100 g", 3, "A", None, "", ""), act("Ada", DAY))
    stock_orders.placed(None, stock_orders.OrderRequest("sodium-chloride", 1, None, None), act("Ada", DAY))
    changes.receive(None, changes.Receipt("hcl-1", "2.5 L", 1, "A", None, "", ""), act("Ada", DAY))
    context = get_context("fork")  # the children need not import everything again
    told: Queue[Told] = context.Queue()
    writers = [context.Process(target=writer, args=(seed, told)) for seed in range(WRITERS)]
    for process in writers:
        process.start()
    reports = [told.get(timeout=60 + 4 * JOBS) for _ in writers]
    for process in writers:
        process.join()
    assert [problem for _, _, problems in reports for problem in problems] == []
    assert backup.check(None) == []
    said = dict(line for done, _, _ in reports for line in done)
    with session.reading(None) as connection:
        there = dict(connection.execute(text("SELECT id, kind FROM job WHERE \"by\" LIKE 'writer %'")).all())
        arrived = [
            note.removeprefix("order ")
            for (note,) in connection.execute(
                text(
                    "SELECT note FROM job WHERE kind = 'arrive' "
                    "AND id NOT IN (SELECT reverses FROM job WHERE reverses IS NOT NULL)"
                )
            )
        ]
        empty = connection.execute(
            text(
                "SELECT count(*) FROM job WHERE id NOT IN (SELECT job FROM movement) "
                "AND id NOT IN (SELECT job FROM change)"
            )
        ).scalar_one()
        makes = connection.execute(
            text(
                "SELECT j.id, min(m.amount), max(m.amount), count(b.bottle) FROM job j JOIN movement m ON m.job = j.id "
                "LEFT JOIN batch b ON b.job = j.id WHERE j.kind = 'make' GROUP BY j.id"
            )
        ).all()
    assert there == said
    assert empty == 0
    assert all(least < 0 < most and filled for _, least, most, filled in makes)  # taken and filled, or neither
    bought = {order.code: order.status for order in stock_orders.list_orders(None, True)}
    assert sorted(bought) == sorted(["P1", *(code for _, orders, _ in reports for code in orders)])
    assert sorted(arrived) == sorted(code for code, status in bought.items() if status == "arrived")
    kinds = Counter(there.values())
    assert set(kinds) == set(KINDS)
    assert sum(kinds.values()) > WRITERS * JOBS / 4
