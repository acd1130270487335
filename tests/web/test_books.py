"""The books on the page: what came at once, the history as asked, orders of what is controlled, the sample's plan."""

import html
import re

import pypdfium2
import pytest

from prep.chemistry import quantities
from prep.services.inventory.init import sample_inventory
from prep.services.people import people
from prep.services.people.roles import Role
from prep.services.plan import plan as plans
from prep.services.plan.plan import sample_plan
from prep.services.plan.plan_cache import PlanCache
from prep.services.stock import changes, listing
from prep.services.stock.changes import Receipt
from prep.web.access.signing_in import device_name
from tests.days import act
from tests.web.conftest import DAY, NAMES, As, hidden

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


def test_a_wrong_day_of_the_history_is_said_by_its_label(signed_in: As) -> None:
    answer = signed_in(Role.TECHNICIAN).get("/history?since=soon")
    assert answer.status_code == 422
    assert "“From” &#34;soon&#34; is no date" in answer.text


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
    with sample_inventory() as made:
        path, today, last = made.path, made.today, made.last
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


def test_the_interface_and_the_pages_draw_bookings_from_one_plan(
    signed_in: As, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each state of the books is planned for its bookings once, however many are asked for."""
    from prep.planning import plan as planning

    drawn: list[object] = []
    make_plan = planning.make_plan
    monkeypatch.setattr(planning, "make_plan", lambda *given: drawn.append(given) or make_plan(*given))
    me = signed_in(Role.TECHNICIAN)
    number = next(one.id for one in people.everybody(None) if one.name == NAMES[Role.TECHNICIAN])
    key = {"Authorization": f"Bearer {people.new_token(None, number, 'till', ['read'], 'sample', '')}"}
    for code in ("B1", "B2", "B5"):
        assert me.client.get(f"/api/bookings/{code}", headers=key).json()["can_be_served"] is True
        assert me.get(f"/bookings/{code}").status_code == 200
    assert me.get("/bookings").status_code == 200
    assert len(drawn) == 1


def test_a_backup_that_is_made_is_checked(signed_in: As) -> None:
    me = signed_in(Role.OFFICE)
    assert me.send("/settings/backup", {}, "/settings").status_code == 303
    assert "The copy was checked: its books are sound." in me.get("/settings").text


@pytest.mark.parametrize(
    ("role", "path", "says"),
    [
        (Role.OFFICE, "/counts", "give somebody that role"),
        (Role.TECHNICIAN, "/shelves?q=zzz", "Try a shorter part of the name"),
        (Role.OFFICE, "/people", "4 people may come in"),
    ],
)
def test_where_there_is_nothing_a_page_says_what_to_do_next(role: Role, path: str, says: str, signed_in: As) -> None:
    assert says in signed_in(role).get(path).text


def test_a_device_is_named_in_a_few_words() -> None:
    agent = (
        "Mozilla/5.0 (Windows NT 10.0; Win64; x64) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/130.0 Safari/537.36"
    )
    assert device_name(agent) == "Chrome on Windows"
    assert device_name(f"{agent} Edg/130.0") == "Edge on Windows"
    assert device_name("a till of our own") == "a till of our own"
    assert device_name("") == "a device"


def test_a_bottle_shows_and_prints_the_statements_of_its_label(signed_in: As) -> None:
    me = signed_in(Role.TECHNICIAN)
    # Sodium hydroxide, 1 mol/L: H314 from 2 % w/w up (Regulation (EC) No 1272/2008, Annex VI, 011-002-00-6)
    said = "H314 Causes severe skin burns and eye damage."
    bottle = next(one.code for one in listing.list_stock(None, None, None, False, None) if one.item == "naoh-1")
    assert said in me.get(f"/bottles/{bottle}").text
    printed = pypdfium2.PdfDocument(me.get(f"/labels.pdf?codes={bottle}").content)
    assert said in " ".join(printed[0].get_textpage().get_text_range().split())
