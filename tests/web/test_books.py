"""The books on the page: what came at once, the history as asked, orders of what is controlled, the sample's plan."""

import html
import re

import pytest

from prep.chemistry import quantities
from prep.services.people.roles import Role
from prep.services.plan import plan as plans
from prep.services.plan.plan import sample_plan
from prep.services.plan.plan_cache import PlanCache
from prep.services.stock import changes, listing
from prep.services.stock.changes import Receipt
from prep.web import links
from tests.days import act
from tests.web.conftest import DAY, As, hidden

pytestmark = pytest.mark.on_file


def test_what_came_at_once_is_one_job_or_nothing(signed_in: As) -> None:
    me = signed_in(Role.TECHNICIAN)
    said = hidden(me.get("/receive?things=3").text, "/receive") | {"supplier": "Example Supplies"}
    said |= {"item": "urea", "amount": "250 g", "bottles": "2", "location": "PREP"}
    before = len(listing.list_stock(None, None, None, True, None))
    wrong = me.client.post("/receive", data=said | {"item-3": "unobtainium", "amount-3": "1 g"}, headers=me.headers)
    assert wrong.status_code == 422
    assert "Thing 2" in wrong.text
    assert "unobtainium" in wrong.text
    assert len(listing.list_stock(None, None, None, True, None)) == before
    done = me.client.post(
        "/receive",
        data=said | {"item-3": "sodium chloride", "amount-3": "500 g", "location-3": "PREP"},
        headers=me.headers,
    )
    assert done.status_code == 303
    lines = listing.history(None, None, 3)
    assert {m.kind for m in lines} == {"receive"}
    assert len({m.job for m in lines}) == 1
    assert len(listing.list_stock(None, None, None, True, None)) == before + 3


def test_the_history_is_asked_for_a_kind_a_bottle_a_person(signed_in: As) -> None:
    me = signed_in(Role.TECHNICIAN)
    me.send("/bottles/G7P4/use", {"amount": "1 mL", "reason": "rinsing"}, "/me")
    for asked, there in (
        ("kind=use", True),
        ("kind=use&bottle=g7p4", True),
        ("by=vane", True),
        ("kind=discard", False),
        ("by=nobody", False),
        ("kind=use&until=2026-12-31", False),
        ("item=urea", False),
    ):
        page = me.get(f"/history?{asked}")
        assert page.status_code == 200, asked
        assert ("rinsing" in page.text) is there, asked
    wrong = me.get("/history?item=unobtainium")
    assert wrong.status_code == 422
    assert 'value="unobtainium"' in wrong.text
    assert "rinsing" in me.get("/history.csv?kind=use").text
    assert me.get("/history.pdf?kind=use").content.startswith(b"%PDF")


def test_the_sample_of_the_page_plans_as_that_of_the_command() -> None:
    with links.sample() as (path, today, last):
        page = PlanCache(path, last).of(today).plan
    command = sample_plan(None, None, None).plan
    assert page.horizon == command.horizon
    assert [(b.solution, b.make_on, b.amount) for b in page.batches] == [
        (b.solution, b.make_on, b.amount) for b in command.batches
    ]


def test_a_bottle_says_what_is_booked_of_it(signed_in: As) -> None:
    me = signed_in(Role.TECHNICIAN)
    drawn = plans.plan(None, None, None, None, DAY)
    line = next(one for one in drawn.plan.bottles if len(one.takes) > 1)
    page = html.unescape(me.get(f"/bottles/{line.code}").text)
    for take in line.takes:
        assert f'href="/why/{take.user.ref}"' in page
        assert quantities.show(take.amount, drawn.snapshot.catalogue.item(line.item).measure) in page
    for link in re.findall(r'href="(/makes/[^"]*)"', html.unescape(me.get("/today").text)):
        assert me.get(link).status_code == 200, link


def test_labels_are_as_large_as_the_bottles_ask_for(signed_in: As) -> None:
    """Annex I, 1.2.1.4 of Regulation (EC) No 1272/2008: from 0.5 to 3 L at least 52 x 74 mm; as the command does."""
    from prep.reports.labels.sheet_sizes import USUAL

    me = signed_in(Role.TECHNICIAN)
    receipt = Receipt("conc HCl", "1 L", 1, "PREP")
    (litre,) = (held.code for held in changes.receive(None, receipt, act("R. Vane", DAY)))
    large, usual = me.get(f"/labels.pdf?codes={litre}"), me.get(f"/labels.pdf?codes={litre}&sheet={USUAL}")
    assert large.content[:5] == usual.content[:5] == b"%PDF-"
    assert large.content != usual.content
    assert me.get(f"/labels.pdf?codes={litre}&sheet={USUAL}&start=3").content != usual.content
    assert me.get(f"/labels.pdf?codes={litre}&sheet=none such").status_code == 422
