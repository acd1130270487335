"""A booking that was moved or cancelled and an order that was cancelled are jobs, and are undone as such."""

from datetime import date

import pytest

from prep.errors import Refused
from prep.services.bookings import bookings
from prep.services.bookings.requests import BookingChange
from prep.services.inventory import backup
from prep.services.stock import changes, listing, orders
from tests.days import act
from tests.services.conftest import DAY


def newest() -> int:
    return listing.history(None, None, 1)[0].job


@pytest.mark.usefixtures("inventory")
def test_a_moved_booking_is_put_back_and_a_cancelled_one_stands_again() -> None:
    was = bookings.list_bookings(None, bookings.BookingFilter(everything=True))
    bookings.change(None, "B1", BookingChange(date(2027, 1, 20), "5"), act("Ben", DAY))
    moved = newest()
    bookings.cancel(None, "B1", act("Ben", DAY))
    cancelled = listing.history(None, None, 1)[0]
    assert (cancelled.kind, cancelled.by, cancelled.bottle, cancelled.reason) == ("cancel", "Ben", "", "B1: cancelled")
    changes.undo(None, cancelled.job, act("Ada", DAY))
    (found,) = bookings.list_bookings(None)
    assert (found.on, found.period) == (date(2027, 1, 20), "5")
    changes.undo(None, moved, act("Ada", DAY))
    assert bookings.list_bookings(None, bookings.BookingFilter(everything=True)) == was
    assert backup.check(None) == []


@pytest.mark.usefixtures("inventory")
def test_a_booking_moved_twice_names_the_later_job() -> None:
    bookings.change(None, "B1", BookingChange(date(2027, 1, 20)), act("Ada", DAY))
    first = newest()
    bookings.change(None, "B1", BookingChange(date(2027, 1, 21)), act("Ada", DAY))
    with pytest.raises(Refused, match=f"by job {newest()}"):
        changes.undo(None, first, act("Ada", DAY))


@pytest.mark.usefixtures("inventory")
def test_a_cancelled_order_is_open_again() -> None:
    orders.cancel(None, "O1", act("Ada", DAY))
    assert orders.list_orders(None, False) == []
    changes.undo(None, newest(), act("Ada", DAY))
    assert [order.code for order in orders.list_orders(None, False)] == ["O1"]
