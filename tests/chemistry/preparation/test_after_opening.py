"""What an opened bottle is good for, and which bottle is taken first."""

from dataclasses import replace
from datetime import date, timedelta

from prep.books import BottleStatus
from prep.chemistry.preparation.after_opening import days_open, good_until, kept_open, rows
from prep.planning.model import Bottle, Horizon, Snapshot
from prep.planning.pegging import why
from prep.planning.plan import make_plan
from prep.services.catalogue.on_file import OnFile
from prep.services.plan.snapshot import counted
from tests.planning.test_plan import bottle, plan, school

OPENED = date(2026, 12, 1)


def test_every_row_is_of_something_on_file_and_names_its_source(catalogue: OnFile) -> None:
    for row in rows().values():
        assert row["item"] in catalogue, row
        assert int(row["days"]) > 0
        assert row["source"]


def test_the_sooner_of_label_and_opening_counts() -> None:
    days = days_open("sodium-hypochlorite")
    assert days == 90
    last = OPENED + timedelta(days=90)
    assert good_until("sodium-hypochlorite", None, OPENED) == last
    assert good_until("sodium-hypochlorite", last + timedelta(days=9), OPENED) == last
    assert good_until("sodium-hypochlorite", last - timedelta(days=9), OPENED) == last - timedelta(days=9)
    assert good_until("sodium-hypochlorite", None, None) is None
    assert good_until("sodium-chloride", None, OPENED) is None


def test_what_is_said_of_it() -> None:
    (one,) = counted([Bottle("K1", "sodium-hypochlorite", 1, opened=OPENED)])
    assert kept_open(one.item, one.use_by, one.opened) == ", opened on 2026-12-01, keeps for 90 days after opening: it"
    assert kept_open(one.item, OPENED, one.opened) == ""


def _held(catalogue: OnFile, *bottles: Bottle) -> Snapshot:
    return replace(school(catalogue, item="hcl-1", per=50), bottles=counted(bottles))


def test_why_a_bottle_is_not_used_is_said(catalogue: OnFile) -> None:
    today = school(catalogue, item="hcl-1", per=50).today
    good = bottle("hcl-1", 500, use_by=90)
    others = {
        "K2": replace(good, code="K2", use_by=today - timedelta(days=1)),
        "K3": replace(good, code="K3", status=BottleStatus.QUARANTINE),
        "K4": replace(good, code="K4", use_by=today + timedelta(days=300)),
        "K5": replace(good, code="K5", item="cuso4-0.5"),
    }
    stock = _held(catalogue, good, *others.values())
    drawn = make_plan(stock, Horizon(today, today + timedelta(days=30)))
    told = {code: " ".join(why(drawn, stock, code).says) for code in ("K1", *others)}
    assert "not used" not in told["K1"]
    assert "not used: it went out of date" in told["K2"]
    assert "quarantine" in told["K3"]
    assert "other bottles go out of date first" in told["K4"]
    assert "nothing booked" in told["K5"]


def test_with_equal_days_an_opened_bottle_comes_first(catalogue: OnFile) -> None:
    full, opened = bottle("hcl-1", 500, code="K1"), replace(bottle("hcl-1", 500, code="K2"), opened=OPENED)
    found = plan(_held(catalogue, full, opened))
    assert {share.ref for need in found.requirements for share in need.served} == {"K2"}


def test_a_school_sets_its_own_days_for_any_item() -> None:
    own = {"sodium-hypochlorite": 30, "hcl-1": 60, "ammonia": 0}
    assert [days_open(item, own) for item in ("sodium-hypochlorite", "hcl-1", "ammonia")] == [30, 60, None]
    (one,) = counted([Bottle("K1", "hcl-1", 1, opened=OPENED)], own)
    assert one.use_by == OPENED + timedelta(days=60)
    assert "keeps for 60 days after opening" in kept_open(one.item, one.use_by, one.opened, own)
