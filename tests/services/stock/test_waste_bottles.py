"""Waste bottles: what was put in, full at a level, emptied on a date, and taken back with its job."""

from datetime import timedelta

import pytest

from prep.dates import DoneOn
from prep.errors import PrepError, Refused
from prep.services.input.act import Act
from prep.services.inventory import session
from prep.services.stock import changes, waste_bottles
from prep.services.stock.listing import show
from prep.services.stock.waste_bottles import WastePortion
from prep.store.check import check
from tests.days import act
from tests.services.conftest import DAY

pytestmark = pytest.mark.usefixtures("inventory")
ACT = act("Ada", DAY)


def test_from_first_drop_to_collection() -> None:
    one = waste_bottles.new(None, "heavy metals", "1 L", "PREP", ACT)
    waste_bottles.put(None, one.code, WastePortion("300 mL", "copper sulfate residues"), ACT)
    assert waste_bottles.put(None, one.code, WastePortion("450 mL", bottle="AC1"), ACT).holds == 750_000_000
    assert show(None, "AC1").bottle.balance == 2_050_000_000
    assert waste_bottles.says(waste_bottles.put(None, one.code, WastePortion("100 mL", "rinsings"), ACT)).startswith(
        "full"
    )
    with pytest.raises(Refused, match="takes 1 L"):
        waste_bottles.put(None, one.code, WastePortion("200 mL", "rinsings"), ACT)
    assert waste_bottles.empty(None, one.code, "collected by the carrier", ACT).holds == 0
    lines = waste_bottles.show(None, one.code).residues
    assert [(line.on, line.by) for line in lines] == [(DAY, "Ada")] * 4
    assert sum(line.amount for line in lines) == 0
    with session.reading(None) as connection:
        assert check(connection) == []


def test_undone_it_never_went_in() -> None:
    one = waste_bottles.new(None, "neutralise", "1 L", "PREP", ACT)
    waste_bottles.put(None, one.code, WastePortion("450 mL", bottle="AC1"), ACT)
    with session.reading(None) as connection:
        job = connection.exec_driver_sql("SELECT max(id) FROM job").scalar_one()
    changes.undo(None, job, ACT)
    assert waste_bottles.listed(None)[0].holds == 0
    assert show(None, "AC1").bottle.balance == 2_500_000_000


def test_a_bottle_that_was_used_is_not_undone_and_takes_nothing_before_it_came() -> None:
    one = waste_bottles.new(None, "neutralise", "1 L", "PREP", ACT)
    with session.reading(None) as connection:
        made = connection.exec_driver_sql("SELECT max(id) FROM job").scalar_one()
    before = Act("Ada", DoneOn(DAY - timedelta(days=1), DAY))
    for early in (
        lambda: waste_bottles.put(None, one.code, WastePortion("10 mL", "rinsings"), before),
        lambda: waste_bottles.empty(None, one.code, "", before, close=True),
    ):
        with pytest.raises(PrepError, match="came on the books"):
            early()
    waste_bottles.put(None, one.code, WastePortion("10 mL", "rinsings"), ACT)
    with pytest.raises(Refused, match="has been used since"):
        changes.undo(None, made, ACT)
    changes.undo(None, made + 1, ACT)
    changes.undo(None, made, ACT)
    assert waste_bottles.listed(None)[0].status == "closed"


@pytest.mark.parametrize(("stream", "full"), [("plutonium", "1 L"), ("drain", "1 kg")])
def test_what_is_no_waste_bottle(stream: str, full: str) -> None:
    with pytest.raises(PrepError):
        waste_bottles.new(None, stream, full, "PREP", ACT)
    assert waste_bottles.listed(None) == []
