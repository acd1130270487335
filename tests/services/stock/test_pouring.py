"""From bottle to bottle: what is poured keeps its amount, strength, dates and trace."""

from datetime import date

import pytest

from prep.errors import PrepError, Refused
from prep.services.inventory import session
from prep.services.stock import changes, pouring, recall
from prep.services.stock.listing import show
from prep.store.bottles import HeldBottle
from prep.store.check import check
from tests.days import act
from tests.services.conftest import DAY

pytestmark = pytest.mark.usefixtures("inventory")
ACT = act("Ada", DAY)


def receive(item: str, amount: str, strength: str | None = None, use_by: int = 2028, lot: str = "L1") -> str:
    receipt = changes.Receipt(item, amount, 1, "ACID", date(use_by, 6, 1), lot, "", strength)
    return changes.receive(None, receipt, ACT)[0].code


def held(code: str) -> HeldBottle:
    return show(None, code).bottle


def test_a_decanted_bottle_is_the_same_thing() -> None:
    whole = receive("nitric acid", "1 L", "70 % w/w")
    done = pouring.decant(None, whole, "250 mL", "PREP", ACT)
    (new,) = done.filled
    assert (new.balance, held(whole).balance) == (250_000_000, 750_000_000)
    assert (new.strength, new.lot, new.use_by, new.location) == ("70 % w/w", "L1", date(2028, 6, 1), "PREP")
    assert (held(whole).opened, new.opened) == (DAY, DAY)
    found = recall.recall(None, "L1", "recalled by the supplier", ACT)
    assert {whole, new.code} <= set(found.quarantined)
    assert found.down is not None
    carried = {one.bottle: one.carried for one in found.down.holds}
    assert (carried[whole], carried[new.code]) == (750_000_000, 250_000_000)  # of the lot, and each drop once
    with session.reading(None) as connection:
        assert check(connection) == []


def test_what_a_bottle_cost_is_shared() -> None:
    first, second = (
        changes.receive(None, changes.Receipt("nitric acid", "1 L", 1, "ACID", cost=cost), ACT)[0].code
        for cost in ("24.50", "20")
    )
    poured = pouring.decant(None, first, "100 mL", None, ACT).filled[0]
    assert (poured.cost, held(first).cost) == ("2.45", "24.50")
    together = pouring.pour_together(None, [first, second], None, ACT).filled[0]
    assert together.cost == "42.05"
    assert [one.cost for one in pouring.split(None, together.code, 2, None, ACT).filled] == ["21.02", "21.02"]
    assert pouring.decant(None, receive("nitric acid", "1 L"), "100 mL", None, ACT).filled[0].cost is None


def test_undoing_puts_it_back() -> None:
    whole = receive("nitric acid", "1 L")
    done = pouring.decant(None, whole, "250 mL", None, ACT)
    changes.undo(None, done.job, ACT)
    assert held(whole).balance == 1_000_000_000
    assert held(done.filled[0].code).status == "discarded"


def test_a_split_shares_to_the_last_nanolitre() -> None:
    whole = receive("nitric acid", "1 L")
    done = pouring.split(None, whole, 3, None, ACT)
    assert [h.balance for h in done.filled] == [333_333_334, 333_333_333, 333_333_333]
    assert held(whole).balance == 0


def test_topped_up_it_is_blended_and_keeps_the_earlier_date() -> None:
    strong = receive("nitric acid", "1 L", "70 % w/w", 2030)
    weak = receive("nitric acid", "1 L", "50 % w/w", 2027, "L2")
    done = pouring.top_up(None, strong, weak, "500 mL", ACT)
    (after,) = done.filled
    assert after.balance == 1_500_000_000
    assert after.use_by == date(2027, 6, 1)
    # CRC Handbook: 70 % is 1.4134 g/mL, 50 % is 1.3100 g/mL; masses add
    pct = (1000 * 1.4134 * 70 + 500 * 1.3100 * 50) / (1000 * 1.4134 + 500 * 1.3100)
    assert after.strength is not None
    assert float(after.strength.split()[0]) == pytest.approx(pct, abs=0.1)
    up = recall.trace(None, strong).up
    assert up is not None
    assert {(one.lot, round(one.amount / 1e6)) for one in up.lots} == {("L1", 1000), ("L2", 500)}


def test_poured_together_of_the_same_strength_it_stays() -> None:
    one, other = receive("nitric acid", "1 L"), receive("nitric acid", "500 mL", None, 2027, "L2")
    done = pouring.pour_together(None, [one, other], None, ACT)
    (new,) = done.filled
    assert (new.balance, new.strength, new.use_by, new.lot) == (1_500_000_000, None, date(2027, 6, 1), "")
    assert {h.balance for h in done.sources} == {0}


def test_solids_blend_by_mass() -> None:
    one, other = receive("sodium chloride", "100 g", "99 % w/w"), receive("sodium chloride", "300 g", "95 % w/w")
    (new,) = pouring.pour_together(None, [one, other], None, ACT).filled
    assert new.strength == "96 % w/w"


@pytest.mark.parametrize("what", ["another", "itself", "too much", "quarantine", "empty", "mass"])
def test_what_cannot_be_poured_changes_nothing(what: str) -> None:
    one, other = receive("nitric acid", "1 L"), receive("hydrochloric-acid", "1 L")
    if what == "quarantine":
        changes.set_status(None, one, "quarantine", "", ACT)
    if what == "empty":
        changes.use(None, one, "1 L", "", ACT)
    before = [held(code) for code in (one, other)]
    pours = {
        "another": lambda: pouring.top_up(None, one, other, None, ACT),
        "itself": lambda: pouring.top_up(None, one, one, None, ACT),
        "mass": lambda: pouring.decant(None, one, "10 g", None, ACT),
    }
    with pytest.raises((PrepError, Refused)) as problem:
        pours.get(what, lambda: pouring.decant(None, one, "2 L", None, ACT))()
    assert "\n" not in str(problem.value)
    assert [held(code) for code in (one, other)] == before
