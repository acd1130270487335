"""From a lot to every batch and booking that got some, and back."""

from collections import defaultdict
from datetime import date, timedelta
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from prep.chemistry.model import Measure
from prep.errors import PrepError
from prep.stocktake.genealogy import Graph, build, downstream, upstream
from prep.stocktake.model import BatchRecord, BookingShare, BottleRecord, LotShare, Movement

G = ML = 1_000_000
DAY = date(2031, 5, 5)


class Shelf:
    """A ledger written by hand, a job at a time."""

    def __init__(self) -> None:
        self.bottles: dict[str, BottleRecord] = {}
        self.movements: list[Movement] = []
        self.batches: list[BatchRecord] = []
        self.job = 0

    def _post(self, bottle: str, amount: int, reason: str, booking: str = "", reverses: int | None = None) -> None:
        on = DAY + timedelta(days=self.job)
        number = len(self.movements) + 1
        self.movements.append(Movement(self.job, bottle, amount, reason, on, booking, number, reverses))

    def receive(self, code: str, item: str, amount: int, lot: str = "", measure: Measure = Measure.MASS) -> None:
        self.job += 1
        self.bottles.setdefault(code, BottleRecord(code, item, measure, lot))
        self._post(code, amount, "received")

    def make(self, item: str, takes: dict[str, int], fills: dict[str, int]) -> None:
        self.job += 1
        for code, amount in takes.items():
            self._post(code, -amount, f"to make {item}")
        for code, amount in fills.items():
            self.bottles.setdefault(code, BottleRecord(code, item, Measure.VOLUME))
            self._post(code, amount, f"made {item}")
            self.batches.append(BatchRecord(code, self.job))

    def give(self, booking: str, takes: dict[str, int]) -> None:
        self.job += 1
        for code, amount in takes.items():
            self._post(code, -amount, f"for {booking}", booking)

    def use(self, code: str, amount: int, reason: str = "used") -> None:
        self.job += 1
        self._post(code, -amount, reason)

    def undo(self, job: int) -> None:
        self.job += 1
        for old in [m for m in self.movements if m.job == job]:
            self._post(old.bottle, -old.amount, f"undo: {old.reason}", old.booking, old.id)

    @property
    def graph(self) -> Graph:
        return build(self.movements, self.batches, self.bottles.values())


@pytest.fixture
def shelf() -> Shelf:
    """Two lots of a salt; a stock from lot L1; a weaker one from the stock, in two bottles; two bookings."""
    s = Shelf()
    s.receive("N1", "sodium-thiosulfate-5-water", 500 * G, "L1")
    s.receive("N2", "sodium-thiosulfate-5-water", 500 * G, "L2")
    s.make("thiosulfate-1", {"N1": 250 * G}, {"S1": 1000 * ML})
    s.make("thiosulfate-0.1", {"S1": 100 * ML}, {"W1": 600 * ML, "W2": 400 * ML})
    s.give("B1", {"W1": 300 * ML})
    s.give("B2", {"W2": 100 * ML, "N2": 5 * G})
    return s


def test_a_lot_is_followed_through_two_makings_to_a_booking(shelf: Shelf) -> None:
    down = downstream(shelf.graph, "L1")
    assert down.sources == ("N1",)
    assert down.batches == ("S1", "W1", "W2")
    assert down.bookings == (
        BookingShare("B1", "sodium-thiosulfate-5-water", 7_500_000),
        BookingShare("B2", "sodium-thiosulfate-5-water", 2_500_000),
    )
    assert [(h.bottle, h.kind, h.to, h.carried) for h in down.hops] == [
        ("N1", "batch", "S1", 250 * G),
        ("S1", "batch", "W1", 15 * G),
        ("S1", "batch", "W2", 10 * G),
        ("W1", "booking", "B1", 7_500_000),
        ("W2", "booking", "B2", 2_500_000),
    ]
    assert {h.bottle: h.carried for h in down.holds} == {
        "N1": 250 * G,
        "S1": 225 * G,
        "W1": 7_500_000,
        "W2": 7_500_000,
    }
    assert down.quarantine == ("N1", "S1", "W1", "W2")


def test_the_other_lot_touches_only_what_it_went_into(shelf: Shelf) -> None:
    down = downstream(shelf.graph, "L2")
    assert down.bookings == (BookingShare("B2", "sodium-thiosulfate-5-water", 5 * G),)
    assert down.quarantine == ("N2",)


def test_a_booking_is_followed_back_to_both_lots(shelf: Shelf) -> None:
    up = upstream(shelf.graph, "B2")
    assert up.lots == (
        LotShare("sodium-thiosulfate-5-water", "L1", 2_500_000),
        LotShare("sodium-thiosulfate-5-water", "L2", 5 * G),
    )
    assert [(s.bottle, s.steps, s.amount, s.origin) for s in up.shares] == [
        ("N2", 0, 5 * G, True),
        ("W2", 0, 100 * ML, False),
        ("S1", 1, 10 * ML, False),
        ("N1", 2, 2_500_000, True),
    ]


def test_a_bottle_is_followed_back(shelf: Shelf) -> None:
    up = upstream(shelf.graph, "W1")  # 300 mL are left
    assert [(s.bottle, s.amount) for s in up.shares] == [("S1", 30 * ML), ("N1", 7_500_000)]
    shelf.use("W1", 300 * ML)  # emptied: then all that was ever in it
    assert [(s.bottle, s.amount) for s in upstream(shelf.graph, "W1").shares] == [("S1", 60 * ML), ("N1", 15 * G)]
    assert [(s.bottle, s.amount, s.origin) for s in upstream(shelf.graph, "N1").shares] == [("N1", 250 * G, True)]


def test_the_middle_can_be_asked_for_too(shelf: Shelf) -> None:
    down = downstream(shelf.graph, "S1")
    assert down.bookings == (BookingShare("B1", "thiosulfate-1", 30 * ML), BookingShare("B2", "thiosulfate-1", 10 * ML))


def test_what_was_taken_before_is_not_touched_by_what_came_after() -> None:
    s = Shelf()
    s.receive("N1", "salt", 100 * G, "L1")
    s.receive("N2", "salt", 100 * G, "L2")
    s.make("stock", {"N1": 10 * G}, {"S1": 1000 * ML})
    s.give("B1", {"S1": 500 * ML})
    s.make("stock", {"N2": 5 * G}, {"S1": 500 * ML})  # made up again
    s.give("B2", {"S1": 500 * ML})
    assert [one.booking for one in downstream(s.graph, "L2").bookings] == ["B2"]
    assert downstream(s.graph, "L1").bookings == (
        BookingShare("B1", "salt", 5 * G),
        BookingShare("B2", "salt", 2_500_000),
    )
    assert upstream(s.graph, "B1").lots == (LotShare("salt", "L1", 5 * G),)
    assert upstream(s.graph, "B2").lots == (LotShare("salt", "L1", 2_500_000), LotShare("salt", "L2", 2_500_000))


def test_what_comes_back_from_a_booking_is_taken_off(shelf: Shelf) -> None:
    shelf.job += 1
    shelf._post("W1", 100 * ML, "back from B1", "B1")
    assert downstream(shelf.graph, "L1").bookings[0] == BookingShare("B1", "sodium-thiosulfate-5-water", 5 * G)
    assert upstream(shelf.graph, "B1").lots == (LotShare("sodium-thiosulfate-5-water", "L1", 5 * G),)


def test_what_was_undone_leaves_no_trace(shelf: Shelf) -> None:
    before = downstream(shelf.graph, "L1")
    shelf.give("B9", {"W1": 50 * ML})
    shelf.undo(shelf.job)
    assert downstream(shelf.graph, "L1") == before
    with pytest.raises(PrepError, match="neither a bottle nor a booking"):
        upstream(shelf.graph, "B9")


def test_a_count_changes_how_much_and_not_what(shelf: Shelf) -> None:
    shelf.use("W1", 60 * ML, "count: less than the books")
    shelf.give("B3", {"W1": 40 * ML})
    down = downstream(shelf.graph, "L1")
    assert down.hops[-2].kind == "other"
    assert down.hops[-2].carried == 1_500_000
    assert down.bookings[-1] == BookingShare("B3", "sodium-thiosulfate-5-water", G)


def test_one_job_that_corrects_many_bottles_links_none(shelf: Shelf) -> None:
    shelf.job += 1
    shelf._post("N1", -10 * G, "count")
    shelf._post("N2", 10 * G, "count")
    assert downstream(shelf.graph, "L1").quarantine == ("N1", "S1", "W1", "W2")
    assert upstream(shelf.graph, "N2").lots == (LotShare("sodium-thiosulfate-5-water", "L2", 505 * G),)


def test_a_lot_of_two_bottles_and_of_two_items_stays_apart_by_item() -> None:
    s = Shelf()
    s.receive("A", "salt", 10 * G, "X")
    s.receive("B", "salt", 20 * G, "X")
    s.receive("C", "acid", 30 * ML, "X", Measure.VOLUME)
    s.make("mix", {"A": 4 * G, "B": 6 * G, "C": 5 * ML}, {"M": 100 * ML})
    s.give("P", {"M": 10 * ML})
    down = downstream(s.graph, "X")
    assert down.sources == ("A", "B", "C")
    assert down.bookings == (BookingShare("P", "acid", 500_000), BookingShare("P", "salt", G))
    assert {(h.of, h.of_measure) for h in down.holds if h.bottle == "M"} == {
        ("acid", Measure.VOLUME),
        ("salt", Measure.MASS),
    }


def test_going_round_ends() -> None:
    """Some of a stock into another bottle and back again: no loop, and nothing is counted twice."""
    s = Shelf()
    s.receive("N", "salt", 100 * G, "L")
    s.make("a", {"N": 100 * G}, {"A": 1000 * ML})
    s.make("b", {"A": 500 * ML}, {"B": 500 * ML})
    s.make("a", {"B": 250 * ML}, {"A": 250 * ML})
    s.make("a", {"A": 100 * ML, "B": 50 * ML}, {"A": 150 * ML})  # draws on what it fills
    down = downstream(s.graph, "L")
    assert sum(h.carried for h in down.holds) == 100 * G
    up = upstream(s.graph, "A")
    assert down.holds[0].bottle == "A"
    assert up.lots == (LotShare("salt", "L", down.holds[0].carried),)


def test_stock_made_before_the_books_began_is_its_own_origin() -> None:
    s = Shelf()
    s.receive("S", "stock", 500 * ML, measure=Measure.VOLUME)
    s.make("weak", {"S": 50 * ML}, {"W": 500 * ML})
    s.give("B", {"W": 100 * ML})
    assert upstream(s.graph, "B").lots == (LotShare("stock", "", 10 * ML),)


def test_a_discarded_bottle_is_not_put_in_quarantine(shelf: Shelf) -> None:
    shelf.bottles["W2"] = BottleRecord("W2", "thiosulfate-0.1", Measure.VOLUME, status="discarded")
    assert downstream(shelf.graph, "L1").quarantine == ("N1", "S1", "W1")


@pytest.mark.parametrize("start", ["", "L9", "B1"])
def test_what_is_unknown_is_said(shelf: Shelf, start: str) -> None:
    with pytest.raises(PrepError, match="neither a bottle nor a lot"):
        downstream(shelf.graph, start)


def test_a_booking_that_got_nothing_is_said(shelf: Shelf) -> None:
    for start in ("", "B7"):
        with pytest.raises(PrepError, match="neither a bottle nor a booking"):
            upstream(shelf.graph, start)


def test_a_movement_of_an_unknown_bottle_is_said() -> None:
    with pytest.raises(PrepError, match="not on the books"):
        build([Movement(1, "ZZ", 5, "received", DAY)], [], [])


def a_room(rng: Random, jobs: int) -> Shelf:
    """A ledger of random makes, uses, bookings, returns, corrections and undoings that never overdraws."""
    s = Shelf()
    held: dict[str, int] = defaultdict(int)
    for n in range(rng.randint(1, 4)):
        held[f"N{n}"] = rng.randint(10, 500) * G
        s.receive(f"N{n}", "salt", held[f"N{n}"], rng.choice(["L1", "L2"]))
    for n in range(jobs):
        full = [code for code, amount in held.items() if amount > 1000]
        if not full:
            break
        takes = {c: rng.randint(1, held[c]) for c in rng.sample(full, min(len(full), rng.randint(1, 3)))}
        kind = rng.choice(["make", "make", "give", "use", "count", "undo"])
        if kind == "make":
            old = [c for c in held if c.startswith("S")]
            fills = {
                (rng.choice(old) if old and rng.random() < 0.3 else f"S{n}.{i}"): 0 for i in range(rng.randint(1, 2))
            }
            fills = {c: rng.randint(1, 1000) * ML for c in fills}
            s.make("sol", takes, fills)
            for c, a in fills.items():
                held[c] += a
        elif kind == "give":
            s.give(f"B{rng.randint(1, 3)}", takes)
        elif kind == "use":
            code = next(iter(takes))
            takes = {code: takes[code]}
            s.use(code, takes[code])
        elif kind == "count":
            code = next(iter(takes))
            takes = {code: -rng.randint(1, 1000)}
            s.use(code, takes[code], "count")
        else:
            s.use(next(iter(takes)), 1)
            s.undo(s.job)
            takes = {}
        for c, a in takes.items():
            held[c] -= a
    return s


@given(seed=st.integers(0, 2**32), jobs=st.integers(0, 30))
@settings(max_examples=150, deadline=None)
def test_nothing_of_a_lot_is_lost_and_both_ways_agree(seed: int, jobs: int) -> None:
    s = a_room(Random(seed), jobs)
    graph = s.graph
    got: dict[tuple[str, str], int] = {}
    for lot in sorted({b.lot for b in s.bottles.values() if b.lot}):
        down = downstream(graph, lot)
        came = sum(m.amount for m in s.movements if m.reason == "received" and s.bottles[m.bottle].lot == lot)
        left = sum(h.carried for h in down.holds)
        out = sum(h.carried for h in down.hops if h.kind != "batch")
        assert left + out == pytest.approx(came, abs=len(down.hops) + len(down.holds) + 1)
        got |= {(one.booking, lot): one.amount for one in down.bookings}
        balances: dict[str, int] = defaultdict(int)
        for m in s.movements:
            balances[m.bottle] += m.amount
        for h in down.holds:
            assert h.balance == balances[h.bottle] > 0
            back = {one.lot: one.amount for one in upstream(graph, h.bottle).lots}
            if h.bottle not in down.sources:
                assert back[lot] == pytest.approx(h.carried, abs=len(down.sources) + 1)
    for booking in {m.booking for m in s.movements if m.booking}:
        for one in upstream(graph, booking).lots:
            assert one.amount == pytest.approx(got[booking, one.lot], abs=len(s.movements))


def test_a_long_ledger_is_walked_in_one_pass() -> None:
    s = a_room(Random(3), 30)
    for n in range(20_000):
        s.receive(f"Z{n}", "other", G)
    graph = s.graph
    assert downstream(graph, "L1").sources
