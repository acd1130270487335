"""Booking on the page: what is answered before the button is what the button does."""

import html
import re
from datetime import date, timedelta

import pytest

from prep.services.bookings import bookings
from prep.services.people.roles import Role
from prep.services.stock import listing
from prep.web.app import ServedInventory, create_app
from tests.web.conftest import DAY, As, at_browser, hidden

pytestmark = pytest.mark.on_file
SATURDAY = date(2027, 1, 16)


def _said(page: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).split())


def _fields(page: str, name: str) -> list[str]:
    return re.findall(rf'<input[^>]*name="{name}"[^>]*>', page)


def test_a_closed_day_is_said_before_the_button_and_booked_on_purpose(signed_in: As) -> None:
    me, before = signed_in(Role.TEACHER), len(bookings.list_bookings(None))
    asked = {"demo": "Blue bottle", "on": str(SATURDAY), "periods": "P2"}
    refused = me.send("/book", asked)
    assert refused.status_code == 422
    assert "or tick “Book it although the room is closed” to book it all the same" in _said(refused.text)
    assert _fields(refused.text, "closed")
    assert "It can be shown" not in refused.text
    answer = me.send("/book", asked | {"closed": "1"})
    assert "It falls on Sat 16 Jan 2027: not a working day." in _said(answer.text)
    assert me.send("/book", asked | {"closed": "1", "book": "1"}).status_code == 303
    assert len(bookings.list_bookings(None)) == before + 1


def test_the_same_twice_is_said_before_the_button(signed_in: As) -> None:
    me = signed_in(Role.TEACHER)
    asked = {"demo": "Blue bottle", "on": "2027-01-21", "periods": "P2"}
    assert not _fields(me.get("/book").text, "again")
    assert me.send("/book", asked | {"book": "1"}).status_code == 303
    refused = me.send("/book", asked)
    assert refused.status_code == 409
    assert "To book it twice, tick “Book it a second time”." in _said(refused.text)
    assert "It can be shown" in me.send("/book", asked | {"again": "1"}).text
    assert me.send("/book", asked | {"again": "1", "book": "1"}).status_code == 303


def test_every_period_that_is_named_is_booked(signed_in: As) -> None:
    me, before = signed_in(Role.TEACHER), len(bookings.list_bookings(None))
    named = [f"P{n}" for n in range(1, 16)]
    asked = {"demo": "Blue bottle", "on": "2027-01-21", "period": ", ".join(named), "book": "1"}
    assert me.send("/book", asked).status_code == 303
    assert len(bookings.list_bookings(None)) == before + len(named)
    many = me.send("/book", asked | {"on": "2027-01-22", "period": ", ".join(f"Q{n}" for n in range(99))})
    assert many.status_code == 422
    assert "more than 60 bookings at once" in _said(many.text)


def test_what_the_school_bars_is_said_before_the_button(signed_in: As) -> None:
    asked = {"demo": "sugar-sulfuric", "on": "2027-01-21", "periods": "P2", "group": "Year 7"}
    refused = signed_in(Role.TEACHER).send("/book", asked)
    assert refused.status_code == 409
    assert "the school bars" in _said(refused.text)
    assert "Book it all the same" not in refused.text


def test_a_clash_is_said_before_the_button(signed_in: As) -> None:
    there = next(b for b in bookings.list_bookings(None) if b.room and b.period and b.on > DAY + timedelta(days=14))
    asked = {"demo": "Blue bottle", "on": str(there.on), "periods": there.period, "room": there.room}
    said = _said(signed_in(Role.TEACHER).send("/book", asked).text)
    assert f"Room {there.room} has" in said
    assert f"({there.code}) for {there.teacher} in the same period." in said


def test_a_showing_moves_to_a_closed_day_on_purpose(signed_in: As) -> None:
    me = signed_in(Role.TECHNICIAN)
    there = next(b for b in bookings.list_bookings(None) if b.on > DAY)
    path = f"/bookings/{there.code}/change"
    asked = {"to": str(SATURDAY), "period": there.period, "room": there.room, "showings": str(there.showings)}
    refused = me.send(path, asked)
    assert refused.status_code == 422
    assert _fields(refused.text, "closed")
    assert me.send(path, asked | {"closed": "1"}).status_code == 303
    assert bookings.booking(None, there.code).on == SATURDAY


@pytest.mark.usefixtures("school")
def test_what_a_showing_of_an_earlier_day_used_is_asked_as_on_its_day() -> None:
    """By the fields of its day: what was set out of each thing, what was used, and what went back."""
    on = create_app(ServedInventory(None, lambda: date(2027, 1, 13), frozenset({"testserver"})))
    before = at_browser(on, Role.TECHNICIAN).get("/bookings/B6").text
    later = create_app(ServedInventory(None, lambda: date(2027, 1, 14), frozenset({"testserver"})))
    me = at_browser(later, Role.TECHNICIAN)
    page = me.get("/bookings/B6").text
    assert 'name="used-agno3-0.1"' in page
    asked = [re.findall(r'class="hint"[^>]*>([^<]*was set out[^<]*)<', one) for one in (before, page)]
    assert asked[0] == asked[1] != []
    assert re.search(r'name="on"[^>]*value="2027-01-13"', page)
    said = hidden(page, "/bookings/B6/done") | {"used-agno3-0.1": "5,5", "back": "agno3-0.1", "on": "2027-01-13"}
    assert me.client.post("/bookings/B6/done", data=said, headers=me.headers).status_code == 303
    moves = [m for m in listing.history(None, None, 10) if m.kind == "done"]
    assert bookings.booking(None, "B6").status == "done"
    assert {m.on for m in moves} == {date(2027, 1, 13)}
    assert sum(m.amount for m in moves if m.item == "agno3-0.1" and m.reason == "shown: B6") == -5_500_000


def test_how_many_of_several_cannot_be_served_is_said(signed_in: As) -> None:
    me = signed_in(Role.TEACHER)
    asked = {"demo": "Flame colours", "on": str(DAY), "periods": ["P1", "P2"], "showings": "30", "book": "1"}
    assert me.send("/book", asked).status_code == 303
    assert "2 showings booked. 2 of them cannot be served yet." in _said(me.get("/showings").text)
