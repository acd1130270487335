"""Bookings: the list, one, booking, changing, cancelling, setting out, what was used."""

from datetime import date
from typing import Annotated

from fastapi import Query
from pydantic import BaseModel, Field

from prep.dates import read_day
from prep.reports.bookings.answers import answer_document, booking_document, shown_document
from prep.reports.bookings.lists import listed_document
from prep.services.bookings import answers, bookings, usage
from prep.services.bookings.requests import BookingChange, BookingRequest
from prep.services.people.roles import Right
from prep.web.api.documents import PROBLEMS, Code, DayText, Document, Short, Text, tells_job
from prep.web.bookings import own_booking, standing
from prep.web.page_request import At
from prep.web.rights import needs, router

routes = router()
Showings = Annotated[int, Field(ge=1, le=1000)]


class NewBooking(BaseModel):
    """A showing. `teacher` is heeded from a technician; anybody else books under their own name.

    `closed` books it although the room is closed then, `again` although the same is booked already.
    """

    demo: Text
    on: date
    period: Text = ""
    room: Text = ""
    showings: Showings = 1
    group: Text = ""
    teacher: Text = ""
    note: Text = ""
    closed: bool = False
    again: bool = False


class ChangedBooking(BaseModel):
    """What is to be otherwise; what is left out stays."""

    to: date | None = None
    period: Text | None = None
    room: Text | None = None
    group: Text | None = None
    note: Text | None = None
    showings: Showings | None = None
    closed: bool = False


class SetOut(BaseModel):
    """Where it stands."""

    place: Text = ""


class UsedRequest(BaseModel):
    """What was really used, as ITEM=AMOUNT, and what went back to its bottle; else as planned."""

    used: Annotated[list[Text], Field(max_length=60)] = []
    back: Annotated[list[Text], Field(max_length=60)] = []


@routes.get("/api/bookings", responses=PROBLEMS)
@needs(Right.SEE_DEMOS)
def booking_list(
    here: At, first: DayText = "", last: DayText = "", teacher: Short = "", all: Annotated[bool, Query()] = False
) -> list[Document]:
    """List bookings in date order, as `prep book list --no-states --json`."""
    days = [read_day(text, name, here.today) if text else None for text, name in ((first, "first"), (last, "last"))]
    which = bookings.BookingFilter(days[0], days[1], teacher, everything=all)
    return [listed_document(one, states=False) for one in answers.unasked(bookings.list_bookings(here.db, which))]


@routes.get("/api/bookings/{code}", responses=PROBLEMS)
@needs(Right.SEE_DEMOS)
def booking(here: At, code: Code) -> Document:
    """Show one booking and how far it is, as `prep book show CODE --json`."""
    (found,) = standing(here, [bookings.booking(here.db, code)])
    return answer_document(found)


@routes.post("/api/bookings", responses=PROBLEMS)
@needs(Right.BOOK)
@tells_job
def book(here: At, new: NewBooking) -> Document:
    """Book a showing, as `prep book add --json`."""
    teacher = new.teacher if here.may(Right.WORK) else here.by
    said = (new.demo, new.on, new.showings, new.period, new.room, teacher, new.group, new.note)
    asked = BookingRequest(*said, even_closed=new.closed, again=new.again)
    return answer_document(bookings.add_all(here.db, [asked], here.act())[0])


@routes.post("/api/bookings/{code}/change", responses=PROBLEMS)
@needs(Right.BOOK)
@tells_job
def change(here: At, code: Code, new: ChangedBooking) -> Document:
    """Change a booking, as `prep book move CODE --json`."""
    said = (new.to, new.period, new.room, None, new.group, new.note, new.showings)
    asked = BookingChange(*said, even_closed=new.closed)
    return answer_document(bookings.change(here.db, own_booking(here, code).code, asked, here.act()))


@routes.post("/api/bookings/{code}/cancel", responses=PROBLEMS)
@needs(Right.BOOK)
@tells_job
def cancel(here: At, code: Code) -> Document:
    """Cancel a booking, as `prep book cancel CODE --json`."""
    return booking_document(bookings.cancel(here.db, own_booking(here, code).code, here.act()))


@routes.post("/api/bookings/{code}/set-out", responses=PROBLEMS)
@needs(Right.WORK)
@tells_job
def set_out(here: At, code: Code, where: SetOut) -> Document:
    """Record that a booking is set out and stands ready, as `prep book set-out CODE --json`."""
    return answer_document(bookings.set_out(here.db, code, where.place, here.act()))


@routes.post("/api/bookings/{code}/done", responses=PROBLEMS)
@needs(Right.BOOK)
@tells_job
def done(here: At, code: Code, what: UsedRequest) -> Document:
    """Record that a booking was shown and what it used, as `prep book done CODE --json`."""
    return shown_document(usage.done(here.db, own_booking(here, code).code, what.used, what.back, here.act()))
