"""A page left open over a change: the second is told how things stand, keeps what was typed, and may go on."""

import html
import re
import threading
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from fastapi import Request
from fastapi.routing import APIRoute
from sqlalchemy import Connection

from prep.services.bookings import bookings
from prep.services.bookings.requests import BookingChange
from prep.services.inventory import session
from prep.services.people import people
from prep.services.people.roles import Role
from prep.services.school import page as school_page
from prep.services.school import settings, usual
from prep.services.stock import changes, listing, orders
from prep.services.stocktake import stocktake
from prep.services.stocktake.entry import TypedCount
from prep.web import app as web
from prep.web import bookings as booking_pages
from prep.web.page_request import _back
from tests.days import act as act_of
from tests.web.conftest import DAY, NAMES, As, Person, hidden

BEN = act_of("Ben", DAY)


def _number(role: Role) -> int:
    return next(one.id for one in people.everybody(None) if one.name == NAMES[role])


def _roles_changed() -> None:
    people.set_roles(None, _number(Role.TEACHER), ["teacher", "auditor"], "Ben", "")


def _count() -> None:
    stocktake.open_count(None, "DIL", False, BEN)


def _counted() -> None:
    stocktake.enter(None, "C1", stocktake.sheet(None, "C1").lines[0].code, TypedCount(not_found=True), BEN)


def _first_counted() -> str:
    return f"/counts/C1/bottles/{stocktake.sheet(None, 'C1').lines[0].code}"


def _moved() -> None:
    bookings.change(None, "B1", BookingChange(room="S9", note="two trolleys"), BEN)


def _set_out() -> None:
    bookings.set_out(None, "B1", "S3", BEN)


def _more_packs() -> None:
    orders.arrived(None, "P4", orders.Delivery("PREP", packs=1), BEN)


def _noted() -> None:
    changes.correct(None, "G7P4", changes.Correction("2027-07-06", "none", "L 9", None, "cloudy"), "seen", BEN)


def _nothing() -> None:
    """There is nothing to prepare."""


OFFICE, TECHNICIAN, TEACHER, AUDITOR = Role.OFFICE, Role.TECHNICIAN, Role.TEACHER, Role.AUDITOR
CASES: dict[str, tuple[Role, Callable[[], None], str, Any, dict[str, str], Callable[[], None], str]] = {
    "a bottle's label": (TECHNICIAN, _nothing, "/bottles/G7P4", "/bottles/G7P4/correct",
                         {"note": "clear", "use_by": "2027-07-06"}, _noted, "lot L 9, cloudy"),
    "a booking's room": (TEACHER, _nothing, "/bookings/B1", "/bookings/B1/change", {"period": "P4"}, _moved,
                         "note: two trolleys"),
    "cancelling": (TEACHER, _nothing, "/bookings/B1", "/bookings/B1/cancel", {}, _set_out, "set out at S3"),
    "setting out": (TECHNICIAN, _nothing, "/bookings/B1", "/bookings/B1/set-out", {"place": "S3"}, _moved, "S9"),
    "a person's roles": (OFFICE, _nothing, "/people/{teacher}", "/people/{teacher}/roles", {"roles": "office"},
                         _roles_changed, "is auditor, teacher now"),
    "a person who leaves": (OFFICE, _nothing, "/people/{teacher}", "/people/{teacher}/status", {}, _roles_changed,
                            "is auditor, teacher now"),
    "the school's page": (OFFICE, _nothing, "/settings", "/settings/page", {"school": "Ours", "address": ""},
                          lambda: school_page.set_page(None, "Other", "", BEN), "it is Other"),
    "working days": (OFFICE, _nothing, "/settings", "/settings/days",
                     {"weekdays": "mon", "minutes": "100", "ahead": "1", "zone": ""},
                     lambda: settings.change(None, settings.PlanSettings(minutes_per_day=99), BEN), "99 minutes a day"),
    "what is usual": (OFFICE, _nothing, "/settings", "/settings/usual", {"made": "PREP", "deliveries": "09:30"},
                      lambda: usual.change(None, usual.SchoolUsual(arrived_at="DIL"), BEN) and None, "comes to DIL"),
    "an order": (TECHNICIAN, _nothing, "/orders/new?item=urea", "/orders",
                 {"item": "urea", "packs": "3", "pack": "250 g"},
                 lambda: orders.placed(None, orders.OrderRequest("urea", 2, "250 g"), BEN) and None, "2 x 250 g"),
    "what came": (TECHNICIAN, lambda: orders.placed(None, orders.OrderRequest("urea", 3, "250 g"), BEN) and None,
                  "/orders/P4/arrived", "/orders/P4/arrived", {"location": "PREP", "packs": "2"}, _more_packs,
                  "2 x 250 g"),
    "a count's close": (AUDITOR, _count, "/counts/C1", "/counts/C1/close", {"partial": "1", "as_counted": "1"},
                        _counted, "8 are not counted now"),
    "a bottle counted": (AUDITOR, _count, "/counts/C1/at/DIL", _first_counted, {"how": "not there"}, _counted,
                         "a second count"),
}  # fmt: skip


@pytest.mark.on_file
@pytest.mark.parametrize("case", CASES)
def test_the_second_is_told_and_may_go_on(case: str, signed_in: As) -> None:
    role, before, page, to, typed, meanwhile, says = CASES[case]
    before()
    number = {"teacher": str(_number(TEACHER))}
    page, action = page.format(**number), (to if isinstance(to, str) else to()).format(**number)
    me = signed_in(role)
    said = hidden(me.get(page).text, action) | typed
    assert said["seen"], "the form does not say what it was drawn from"
    meanwhile()
    told = _post(me, action, said)
    text = html.unescape(told.text)
    assert told.status_code == 409, text
    assert says in text, re.findall(r"(?s)class=.(?:error|wrong).*?</", text)
    for name, value in typed.items():
        kept = re.search(rf'name="{name}"[^>]*value="{value}"|option value="{value}" selected', text)
        assert kept or name == "how", (name, value)
    assert _post(me, action, hidden(text, action) | typed).status_code == 303


def _post(me: Person, to: str, said: dict[str, Any]) -> Any:
    return me.client.post(to, data=said, headers=me.headers)


PARTS = {"code": "G7P4", "bottle": "G7P4", "number": "1", "job": "1", "ref": "x", "key": "x", "secret": "x"}
PARTS |= {"first": "2027-03-01", "last": "2027-03-01"}
NEW = {
    "/book", "/counts", "/counts/{code}/sheet", "/counts/{code}/found", "/settings/rules", "/settings/closed",
    "/settings/closed/{first}/{last}/open", "/settings/kept", "/settings/places", "/settings/check",
    "/settings/backup", "/jobs/{job}/undo", "/receive", "/demos/new", "/sign-in", "/sign-out", "/invited/{secret}",
    "/me/phrase", "/me/pin", "/me/sessions/{key}/end", "/me/feed", "/me/keys", "/me/keys/{key}/end", "/people",
    "/people/{number}/link", "/people/{number}/unlink", "/me/school", "/me/school/end",
}  # fmt: skip
"""What puts something new on the books, or says itself what it is of: no page can be too old for it."""
TRIED = {
    "/bookings/{code}/change", "/bookings/{code}/cancel", "/bookings/{code}/set-out", "/bookings/{code}/done",
    "/counts/{code}/bottles/{bottle}", "/counts/{code}/close", "/makes/{ref:path}", "/settings/rules/{number}/remove",
    "/settings/page", "/settings/days", "/settings/usual",
    "/bookings/{code}/allow", "/orders", "/orders/{code}/arrived", "/orders/{code}/cancel",
    "/people/{number}/roles", "/people/{number}/status",
    *(f"/bottles/{{code}}/{act}" for act in "use move decant split top-up discard status correct".split()),
}  # fmt: skip


@pytest.mark.on_file
def test_every_form_is_of_one_kind_or_the_other() -> None:
    """A new form that changes something must say what it was drawn from."""
    routes = [route for module in web._subjects() for route in module.routes.routes if isinstance(route, APIRoute)]
    forms = {route.path for route in routes if "POST" in route.methods and not route.path.startswith("/api/")}
    assert forms == NEW | TRIED


@pytest.mark.on_file
def test_from_every_form_a_page_leads_back(signed_in: As) -> None:
    """What was refused, or sent twice, leads to the page on which the form stood, and that page is there."""
    own = {"/counts/{code}/bottles/{bottle}", "/invited/{secret}", "/sign-out"}  # they say themselves where to
    forms = {path: "B1" if path.startswith("/bookings") else "C1" for path in (NEW | TRIED) - own}
    forms |= {path: "G7P4" for path in forms if path.startswith("/bottles")}
    found = {re.sub(r"\{(\w+)(?::\w+)?\}", r"{\1}", p).format(**PARTS | {"code": c}) for p, c in forms.items()}
    back = {_back(Request({"type": "http", "path": path, "headers": []})) for path in found}
    _count()
    me = {role: signed_in(role) for role in Role}
    missing = [path for path in back if all(one.get(path).status_code not in (200, 303) for one in me.values())]
    assert sorted(missing) == []


def test_a_make_whose_plan_was_changed_is_told(signed_in: As) -> None:
    me = signed_in(Role.TECHNICIAN)
    make = "/makes/cuso4-0.5@2027-01-11"
    said = hidden(me.get(make).text, make) | {"location": "PREP", "came": "1990 mL"}
    bookings.change(None, "B1", BookingChange(showings=6), BEN)
    told = _post(me, make, said)
    assert told.status_code == 409
    assert "The plan was changed while this page was open" in told.text
    assert 'value="1990 mL"' in told.text
    assert _post(me, make, hidden(told.text, make) | {"location": "PREP"}).status_code == 303


def test_a_make_logged_by_two_at_once_is_on_the_books_once(signed_in: As) -> None:
    make = "/makes/cuso4-0.5@2027-01-11"
    two = [signed_in(Role.TECHNICIAN), signed_in(Role.TECHNICIAN)]
    sent = [hidden(me.get(make).text, make) | {"location": "PREP"} for me in two]
    codes: list[int] = []
    begin = threading.Barrier(2)

    def send(me: Person, said: dict[str, str]) -> None:
        begin.wait()
        codes.append(_post(me, make, said).status_code)

    threads = [threading.Thread(target=send, args=pair) for pair in zip(two, sent, strict=True)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len([code for code in codes if code == 303]) == 1
    assert len([code for code in codes if code in (404, 409, 422)]) == 1
    made = [one for one in listing.history(None, None, 20) if one.kind == "make"]
    assert len({one.job for one in made}) == 1


def test_a_change_at_the_end_of_a_long_text_is_noticed(school: str) -> None:
    assert school
    was = bookings.booking(None, "B1")
    long, other = (replace(was, note="two trolleys " * 40 + end) for end in ("S1", "S2"))
    assert booking_pages.state_of(long) != booking_pages.state_of(other)
    assert len(booking_pages.state_of(long)) <= 400  # the longest that a form sends back


def test_what_a_page_was_drawn_from_is_read_within_the_job(school: str) -> None:
    """On the job's own connection: those who wait for its lock may hold every other that there is."""
    assert school
    same: list[bool] = []

    def still(connection: Connection) -> None:
        with session.reading(None) as looked:
            same.append(looked is connection)

    with session.sent_once(session.SentForm("1:x", still)), session.writing(None):
        pass
    assert same == [True]
