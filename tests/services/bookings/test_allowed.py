"""A demonstration that somebody must allow first: nothing is set out until that is on the books."""

from datetime import date
from pathlib import Path

import pytest

from prep.errors import PrepError, Refused
from prep.planning.booking_answer import BookingState
from prep.reports.bookings.answers import answer_document, headline, short_state
from prep.reports.demo.sheets import leave_lines
from prep.reports.formatting import day
from prep.services.bookings import bookings
from prep.services.bookings.requests import BookingRequest
from prep.services.demos.sheets import sheets
from prep.services.inventory import init, session
from tests.days import act

DAY = date(2027, 1, 4)
ACT = act("Ada", DAY)
LATER = date(2027, 1, 27)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A room with empty cupboards."""
    where = tmp_path / "inventory.db"
    init.init(where, "Ada", DAY, None, "")
    return where


@pytest.mark.on_file
def test_it_is_not_set_out_before_it_is_allowed(path: Path) -> None:
    asked = bookings.add(path, BookingRequest("thermite", LATER, room="Yard"), ACT)
    code = asked.booking.code
    assert (asked.can_be_shown, asked.must_be_allowed, asked.state) == (True, True, BookingState.ASKED)
    assert (headline(asked), short_state(asked)) == (
        "It can be served, and must be allowed first.",
        "asked: to be allowed first",
    )
    assert "____" in leave_lines(sheets(path, code))[1]
    with pytest.raises(Refused, match=f"prep book allow {code}"):
        bookings.set_out(path, code, "", ACT)
    allowed = bookings.allow(path, code, "  the employer's  adviser ", ACT)
    assert (allowed.must_be_allowed, allowed.state) == (False, BookingState.WAITS)
    document = answer_document(allowed)
    assert (document["allowed_by"], document["allowed_on"]) == ("the employer's adviser", DAY.isoformat())
    assert leave_lines(sheets(path, code))[1] == f"Allowed by the employer's adviser on {day(DAY)}"
    assert bookings.set_out(path, code, "", ACT).state is BookingState.SET_OUT
    with session.reading(path) as connection:
        from sqlalchemy import text

        note = connection.execute(text("SELECT note FROM job WHERE kind = 'allow'")).scalar_one()
    assert note == f"{code}: thermite on {LATER} allowed by the employer's adviser"


@pytest.mark.on_file
def test_what_asks_nobody_is_allowed_by_nobody(path: Path) -> None:
    code = bookings.add(path, BookingRequest("blue-bottle", LATER), ACT).booking.code
    with pytest.raises(Refused, match="nobody's leave"):
        bookings.allow(path, code, "the head", ACT)
    with pytest.raises(PrepError, match="--who"):
        bookings.allow(path, bookings.add(path, BookingRequest("thermite", LATER), ACT).booking.code, " ", ACT)
