"""What becomes explosive when kept: on no shelf, STOP when its period is over, and its label says so."""

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from prep.chemistry.catalogue import Catalogue
from prep.errors import PrepError, Refused
from prep.findings import Severity
from prep.planning.model import Booking, Bottle, Horizon, Policy
from prep.planning.plan import make_plan
from prep.services.inventory import session
from prep.services.making import make
from prep.services.plan.snapshot import load
from prep.services.stock import bottle_import, changes
from prep.services.stock.labels import label_of
from prep.store import queries
from tests.days import act
from tests.services.conftest import DAY

pytestmark = pytest.mark.usefixtures("inventory")
ACT = act("Ada", DAY)


def test_it_is_put_on_no_shelf(tmp_path: Path) -> None:
    with pytest.raises(Refused, match="explosive"):
        changes.receive(None, changes.Receipt("tollens", "100 mL", location="PREP"), ACT)
    file = tmp_path / "store.csv"
    file.write_text("item,amount,location\ntollens,100 mL,PREP\n")
    done = bottle_import.import_stock(None, bottle_import.StockFile(file), False, ACT)
    assert done.job is None
    assert "explosive" in done.wrong[0].says


def test_it_is_made_only_on_the_day_of_a_showing_that_asks_for_it() -> None:
    asked = make.MakeRequest("tollens", "40 mL", location="PREP")
    with pytest.raises(Refused, match=r"explosive or unstable.*no showing of 2027-01-11 asks for it"):
        make.log(None, asked, ACT)
    with session.reading(None) as connection:
        snapshot = load(connection, DAY)
    shown = Booking("B9", DAY, "P3", "L1", "A. Example", "silver-mirror", 1)
    other = replace(shown, code="B8", demo="", item="nacl-0.1", portion=10_000_000)
    for bookings, named, made in (
        ((shown,), None, True),
        ((replace(shown, on=DAY + timedelta(days=1)),), None, False),
        ((other,), None, False),
        ((other,), "b8", True),
    ):
        standing = replace(snapshot, bookings=bookings)
        if made:
            make.refuse_kept(standing, "tollens", DAY, named)
        else:
            with pytest.raises(Refused, match="explosive"):
                make.refuse_kept(standing, "tollens", DAY, named)
    with pytest.raises(Refused, match="B9 is on 2027-01-12"):
        make.refuse_kept(
            replace(snapshot, bookings=(replace(shown, on=DAY + timedelta(days=1)),)), "tollens", DAY, "B9"
        )
    with pytest.raises(PrepError, match="no booking"):
        make.refuse_kept(snapshot, "nacl-0.1", DAY, "B999")


def test_once_its_period_is_over_it_is_destroyed_at_once() -> None:
    with session.reading(None) as connection:
        snapshot = load(connection, DAY)
    held = Bottle("T1", "tollens", 40_000_000, DAY, "PREP", received=DAY)
    horizon = Horizon(DAY, DAY + timedelta(days=7))
    for today, bookings, stops in (
        (DAY, (Booking("B9", DAY, "P3", "L1", "A. Example", "silver-mirror", 1),), False),
        (DAY, (), True),
        (DAY + timedelta(days=1), (), True),
    ):
        standing = replace(snapshot, today=today, bottles=(*snapshot.bottles, held), bookings=bookings)
        plan = make_plan(standing, horizon, Policy())
        found = [one for one in plan.findings if one.about == "T1"]
        assert bool(found) is stops, (today, bookings)
        for one in found:
            assert (one.severity, one.code) == (Severity.STOP, "destroy-at-once")
            assert "at once" in one.cure
            assert "--use-by" not in one.cure


def test_its_label_says_so() -> None:
    with session.reading(None) as connection:
        catalogue: Catalogue = queries.catalogue(connection)
    label = label_of("tollens", catalogue)
    assert any("EXPLOSIVE" in note and "destroy at once" in note for note in label.notes)
    assert "unstable" not in label.keeping
