"""Receive, use, discard, move, undo, history: what a technician does, on each kind of database."""

import re
from datetime import date, timedelta

import pytest

from prep.books import BottleStatus, JobKind
from prep.errors import PrepError, Refused
from prep.services.inventory import session
from prep.services.stock import changes, listing, orders
from prep.store import change_log, ledger
from prep.store.bottles import HeldBottle
from prep.store.check import check
from prep.store.school.orders import Purchase
from tests.databases import snapshot_of
from tests.days import act
from tests.services.conftest import DAY

pytestmark = pytest.mark.usefixtures("inventory")


def clean() -> bool:
    with session.reading(None) as connection:
        return check(connection) == []


def receive(amount: str = "500 g", count: int = 1, item: str = "sodium-hydroxide") -> list[HeldBottle]:
    return changes.receive(None, changes.Receipt(item, amount, count, "PREP", None, "L9", ""), act("Ada", DAY))


def held(code: str) -> HeldBottle:
    return listing.show(None, code).bottle


def test_new_bottles_get_codes_that_cannot_be_misread() -> None:
    codes = [bottle.code for bottle in receive(count=40)]
    assert len(set(codes)) == 40
    assert all(len(code) == 4 and not set(code) & set("01OIL") and code == code.upper() for code in codes)
    assert clean()


def test_a_code_that_is_taken_is_drawn_again(monkeypatch: pytest.MonkeyPatch) -> None:
    drawn = iter("AAAA" + "AAAA" + "BBBB")
    monkeypatch.setattr("prep.services.stock.codes.secrets.choice", lambda _: next(drawn))
    assert [bottle.code for bottle in receive(count=2)] == ["AAAA", "BBBB"]


def test_using_takes_exactly_and_opens_the_bottle() -> None:
    (bottle,) = receive()
    after = changes.use(None, bottle.code.lower(), "0.1 g", "", act("Bo", DAY))
    assert (after.balance, after.opened) == (499_900_000, DAY)
    assert changes.use(None, bottle.code, "499.9 g", "", act("Bo", DAY)).balance == 0
    with pytest.raises(Refused, match="which is less than the"):
        changes.use(None, bottle.code, "1 mg", "", act("Bo", DAY))


@pytest.mark.parametrize("amount", ["5 mL", "40 drops", "-1 g", "nan g", "5", "0 g", "1e400 g", "5 stone"])
def test_a_wrong_amount_changes_nothing(amount: str) -> None:
    with pytest.raises(PrepError) as problem:
        changes.use(None, "NA1", amount, "", act("Bo", DAY))
    assert "\n" not in str(problem.value)
    assert held("NA1").balance == 487_350_000


def test_a_bottle_that_is_not_in_service_is_not_used() -> None:
    with pytest.raises(Refused, match="NA1 is quarantine"):
        changes.use(None, "NA1", "1 g", "", act("Bo", DAY))
    changes.set_status(None, "NA1", "in service", "dried", act("Bo", DAY))
    assert changes.use(None, "NA1", "1 g", "", act("Bo", DAY)).balance == 486_350_000


def test_a_discard_is_all_or_nothing_and_undone_as_a_whole() -> None:
    with pytest.raises(PrepError, match="AC2 is discarded already"):
        changes.discard(None, ["AC1", "AC2"], "old", act("Bo", DAY))
    assert held("AC1").balance == 2_500_000_000
    changes.discard(None, ["AC1", "NA1"], "old", act("Bo", DAY))
    assert (held("AC1").status, held("AC1").balance, held("NA1").balance) == ("discarded", 0, 0)
    changes.undo(None, listing.history(None, None, 1)[0].job, act("Bo", DAY))
    assert [(held(c).status, held(c).balance) for c in ("AC1", "NA1")] == [
        ("in service", 2_500_000_000),
        ("quarantine", 487_350_000),
    ]
    assert clean()


def test_a_part_is_written_off_and_the_bottle_stays() -> None:
    held = changes.discard(None, ["AC1"], "spilled", act("Ada", DAY), "500 mL")[0]
    assert (held.balance, held.status) == (2_000_000_000, "in service")
    with pytest.raises(Refused, match="less than"):
        changes.discard(None, ["AC1"], "spilled", act("Ada", DAY), "3 L")
    with pytest.raises(PrepError, match="of one bottle"):
        changes.discard(None, ["AC1", "HC1"], "spilled", act("Ada", DAY), "1 mL")


def test_a_move_is_in_the_history_and_undone() -> None:
    changes.move(None, "AC1", "PREP", act("Bo", DAY))
    shown = listing.show(None, "AC1")
    bottle, lines = shown.bottle, shown.moves
    assert bottle.location == "PREP"
    assert [(line.kind, line.bottle, line.by) for line in lines] == [
        ("move", "AC1", "Bo"),
        ("opening", "AC1", "Ada"),
    ]
    changes.undo(None, lines[0].job, act("Bo", DAY))
    assert held("AC1").location == "ACID"
    with pytest.raises(PrepError, match="is at ACID already"):
        changes.move(None, "AC1", "ACID", act("Bo", DAY))
    with pytest.raises(PrepError, match='"ROOF" is no location'):
        changes.move(None, "AC1", "ROOF", act("Bo", DAY))


def test_the_history_of_a_bottle_shows_no_other_bottles_lines() -> None:
    changes.discard(None, ["AC1", "NA1"], "old", act("Bo", DAY))
    assert {line.bottle for line in listing.show(None, "AC1").moves} == {"AC1"}


def test_a_school_s_list_of_orders_keeps_packs_and_day() -> None:
    (order,) = orders.list_orders(None, False)
    assert (orders.shown(order), order.placed) == ("2 x 500 g", DAY - timedelta(days=3))


def test_an_arrival_is_undone_with_its_order() -> None:
    before = snapshot_of(None, DAY).orders
    bottles = orders.arrived(
        None, "O1", orders.Delivery("PREP", DAY + timedelta(days=900), "L5"), act("Ada", DAY)
    ).bottles
    assert snapshot_of(None, DAY).orders == ()
    changes.undo(None, listing.history(None, bottles[0].code, 1)[0].job, act("Ada", DAY))
    assert snapshot_of(None, DAY).orders == before
    assert all(held(bottle.code).status == "discarded" for bottle in bottles)
    assert clean()


def _came(packs: int | None, *, cancel_rest: bool = False) -> tuple[int, Purchase]:
    """The job that books so many packs of the order of two, and the order after it."""
    came = orders.arrived(
        None, "O1", orders.Delivery(None, None, "", packs=packs, cancel_rest=cancel_rest), act("Ada", DAY)
    )
    assert len(came.bottles) == (packs or came.order.packs)
    return listing.history(None, came.bottles[0].code, 1)[0].job, came.order


def test_of_a_short_delivery_the_rest_stays_on_order() -> None:
    before = snapshot_of(None, DAY).orders
    assert [order.amount for order in before] == [1_000_000_000]  # two of 500 g
    first, order = _came(1)
    assert (order.status, order.packs) == ("placed", 1)
    assert [order.amount for order in snapshot_of(None, DAY).orders] == [500_000_000]
    second, order = _came(None)
    assert (order.status, order.packs) == ("arrived", 1)
    assert snapshot_of(None, DAY).orders == ()
    with pytest.raises(Refused, match=f"Job {first} cannot be undone: order O1 was changed since by job {second};"):
        changes.undo(None, first, act("Ada", DAY))
    changes.undo(None, second, act("Ada", DAY))
    changes.undo(None, first, act("Ada", DAY))
    assert snapshot_of(None, DAY).orders == before
    assert clean()


def test_the_rest_of_a_short_delivery_is_cancelled() -> None:
    before = snapshot_of(None, DAY).orders
    job, order = _came(1, cancel_rest=True)
    assert (order.status, order.packs) == ("arrived", 1)
    assert snapshot_of(None, DAY).orders == ()
    changes.undo(None, job, act("Ada", DAY))
    assert snapshot_of(None, DAY).orders == before


@pytest.mark.parametrize(("packs", "told"), [(0, "a number from 1 to 2"), (3, "is of 2 x 500 g"), (None, "goes with")])
def test_more_packs_than_were_ordered_do_not_come(packs: int | None, told: str) -> None:
    with pytest.raises(PrepError, match=told):
        _came(packs, cancel_rest=packs is None)
    assert len(listing.list_stock(None, None, None, True, None)) == 4


def test_nothing_is_recorded_when_a_job_fails_half_way(monkeypatch: pytest.MonkeyPatch) -> None:
    before = listing.history(None, None, 1000), listing.list_stock(None, None, None, True, None)
    codes = iter(["QQQ2", None])

    def fail_on_the_second(_: object) -> str:
        code = next(codes)
        if code is None:
            raise PrepError("stop")
        return code

    monkeypatch.setattr(changes, "new_code", fail_on_the_second)
    with pytest.raises(PrepError, match="stop"):
        receive(count=2)
    assert (listing.history(None, None, 1000), listing.list_stock(None, None, None, True, None)) == before


def test_the_list_leaves_out_what_is_gone_unless_asked() -> None:
    assert {b.code for b in listing.list_stock(None, None, None, False, None)} == {"AC1", "NA1", "HC1"}
    assert {b.code for b in listing.list_stock(None, None, None, True, None)} == {"AC1", "AC2", "NA1", "HC1"}
    assert [b.code for b in listing.list_stock(None, "sodium-hydroxide", None, False, None)] == ["NA1"]
    assert [b.code for b in listing.list_stock(None, None, "ACID", False, None)] == ["AC1"]


def test_unknown_names_are_told() -> None:
    for call, says in (
        (lambda: listing.show(None, "ZZZZ"), 'no bottle "ZZZZ"'),
        (lambda: changes.undo(None, 9999, act("Bo", DAY)), "no job 9999"),
        (lambda: receive(item="unobtainium"), "neither a substance nor a solution"),
    ):
        with pytest.raises(PrepError, match=says):
            call()


def test_the_list_is_in_order_of_the_names_that_it_prints() -> None:
    for days in (900, 400):
        use_by = DAY + timedelta(days=days)
        changes.receive(None, changes.Receipt("ethanol-96", "1 L", 1, "PREP", use_by, "", ""), act("Ada", DAY))
    changes.receive(None, changes.Receipt("agno3-0.1", "250 mL", 1, "PREP", None, "", ""), act("Ada", DAY))
    listed = listing.list_stock(None, None, None, False, None)
    names = [h.name.casefold() for h in listed]
    assert names == sorted(names)
    assert [h.item for h in listed] != sorted(h.item for h in listed)  # silver nitrate's card is agno3-0.1
    dates = [h.use_by for h in listed if h.item == "ethanol-96"]
    assert dates == [DAY + timedelta(days=400), DAY + timedelta(days=900)]


def _correct(code: str, **given: str) -> HeldBottle:
    return changes.correct(None, code, changes.Correction(**given), "as its label says", act("Bo", DAY))


def test_a_bottle_is_corrected_and_put_back() -> None:
    before = held("AC1")
    after = _correct("ac1", use_by="2029-06-30", opened="2026-11-02", lot="L78", tare="412.35 g", note="new cap")
    assert (after.use_by, after.opened) == (date(2029, 6, 30), date(2026, 11, 2))
    assert (after.lot, after.tare, after.note) == ("L78", 412_350_000, "new cap")
    assert (after.balance, after.strength, after.location) == (before.balance, before.strength, before.location)
    line = listing.history(None, "AC1", 1)[0]
    assert (line.kind, line.by, line.bottle) == ("correct", "Bo", "AC1")
    assert "use by 2028-01-01 -> 2029-06-30, opened 2026-10-01 -> 2026-11-02, tare none" in line.reason
    assert line.reason.endswith("tare none -> 412.35 g, lot L77 -> L78, note none -> new cap; as its label says")
    none = _correct("AC1", use_by="none", opened="none", tare="none", lot="", note="")
    assert (none.use_by, none.opened, none.tare, none.lot, none.note) == (None, None, None, "", "")
    for _ in range(2):
        (job, *_) = [m.job for m in listing.history(None, "AC1", 99) if m.kind == "correct" and not _undone(m.job)]
        changes.undo(None, job, act("Bo", DAY))
    assert held("AC1") == before
    assert clean()


def _undone(job: int) -> bool:
    return any(line.reverses == job for line in listing.history(None, None, 999))


def test_a_correction_of_the_day_it_was_opened_is_put_back_although_it_was_used_since() -> None:
    _correct("AC1", opened="2026-11-02")
    job = listing.history(None, "AC1", 1)[0].job
    changes.use(None, "AC1", "5 mL", "", act("Ada", DAY))
    changes.undo(None, job, act("Ada", DAY))
    assert held("AC1").opened == date(2026, 10, 1)


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({}, "Say what is corrected"),
        ({"use_by": "soon"}, '--use-by "soon" is no date'),
        ({"use_by": "2026-08-31"}, "before the day it came, 2026-09-01"),
        ({"opened": "2027-01-12"}, "--opened 2027-01-12 is still to come"),
        ({"tare": "5 mL"}, "is not a mass"),
        ({"tare": "0 g"}, "is zero"),
        ({"note": "x" * 201}, "--note is at most 200"),
        ({"lot": "a\nb"}, "--lot is at most 200 printable"),
    ],
)
def test_what_no_label_says_is_not_written_down(given: dict[str, str], told: str) -> None:
    with pytest.raises(PrepError, match=re.escape(told)):
        _correct("AC1", **given)
    assert held("AC1").use_by == date(2028, 1, 1)


def test_what_is_as_it_is_asked_to_be_or_gone_is_refused_alike() -> None:
    """One kind of refusal, one exit code: the books say no."""
    jobs = [
        lambda: changes.use(None, "AC2", "5 mL", "", act("Bo", DAY)),
        lambda: changes.discard(None, ["AC2"], "", act("Bo", DAY)),
        lambda: changes.move(None, "AC2", "PREP", act("Bo", DAY)),
        lambda: changes.set_status(None, "AC2", "quarantine", "", act("Bo", DAY)),
        lambda: _correct("AC2", lot="L1"),
        lambda: changes.move(None, "AC1", "ACID", act("Bo", DAY)),
        lambda: changes.set_status(None, "NA1", "quarantine", "", act("Bo", DAY)),
        lambda: _correct("AC1", lot="L77"),
    ]
    for job in jobs:
        with pytest.raises(Refused):
            job()


def test_the_history_names_bottles_and_nothing_else() -> None:
    first, second = receive(count=2)
    with session.writing(None) as connection:
        job = ledger.begin(connection, JobKind.RECALL, "Ada", DAY, f"{first.code}, {second.code}: recall of lot L9")
        for one in (first, second):
            change_log.change(connection, job, "bottle", one.code, status=BottleStatus.QUARANTINE)
        about_none = ledger.begin(connection, JobKind.BOOK, "Ada", DAY, "B7: booked")
    lines = [(line.job, line.bottle) for line in listing.history(None, None, 3)]
    assert lines == [(about_none, ""), *((job, code) for code in sorted((first.code, second.code)))]
    assert next(line.job for line in listing.history(None, first.code, 5)) == job
