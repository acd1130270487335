"""A booking's answer is the plan's: yes only where all of it can be there, the room has the minutes, and none loses."""

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from prep.errors import PrepError, Refused
from prep.planning.booking_answer import BookingState, first_day
from prep.reports.bookings.answers import answer_lines
from prep.services.bookings import answers, bookings, groups, usage
from prep.services.bookings.requests import BookingChange, BookingRequest, Repeat, every_weeks
from prep.services.inventory import init
from prep.services.school import settings
from prep.services.stock import changes
from tests.days import act

DAY = date(2027, 1, 4)
ACT = act("Ada", DAY)
SOON, SHOWN, LATER = date(2027, 1, 7), date(2027, 1, 20), date(2027, 1, 27)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A room with empty cupboards."""
    where = tmp_path / "inventory.db"
    init.init(where, "Ada", DAY, None, "")
    return where


@pytest.mark.on_file
def test_an_empty_cupboard_says_what_to_order_and_from_when(path: Path) -> None:
    no = bookings.add(path, BookingRequest("blue-bottle", SOON), ACT)
    assert (no.can_be_shown, no.state) == (False, BookingState.ASKED)
    assert no.against
    assert no.first_day is not None
    assert no.first_day > SOON
    (moved,) = answers.of(path, (), DAY, [replace(no.booking, code="X", on=no.first_day)])
    assert moved.can_be_shown  # the day that was named does
    yes = bookings.change(path, no.booking.code, BookingChange(to=LATER), ACT)
    assert (yes.can_be_shown, yes.state) == (True, BookingState.WAITS)
    assert yes.orders
    assert yes.minutes > 0
    assert yes.ready_by is not None
    assert yes.ready_by < LATER


@pytest.mark.on_file
def test_the_same_is_booked_twice_only_on_purpose(path: Path) -> None:
    asked = BookingRequest("blue-bottle", LATER, period="P1")
    bookings.add(path, asked, ACT)
    with pytest.raises(Refused, match="--again"):
        bookings.add(path, asked, ACT)
    bookings.add(path, replace(asked, again=True), ACT)
    assert len(bookings.list_bookings(path)) == 2


@pytest.mark.on_file
def test_what_would_not_be_booked_is_said_where_it_is_only_asked(path: Path) -> None:
    sunday = date(2027, 1, 24)
    asked = BookingRequest("blue-bottle", LATER, period="P1")
    bookings.add(path, asked, ACT)
    for wrong, said in (
        (asked, "--again"),
        (replace(asked, on=sunday), "--closed"),
        (replace(asked, on=date(2027, 1, 3)), "past"),
    ):
        with pytest.raises(PrepError, match=said):
            bookings.ask(path, [wrong], DAY)
    assert bookings.ask(path, [replace(asked, again=True)], DAY)
    assert bookings.ask(path, [replace(asked, on=sunday, even_closed=True)], DAY)
    assert len(bookings.list_bookings(path)) == 1


@pytest.mark.on_file
def test_a_room_or_a_teacher_in_two_places_is_said(path: Path) -> None:
    """One room, two teachers; one teacher, two rooms; but several demonstrations in one lesson are one lesson."""
    first = BookingRequest("blue-bottle", LATER, period="P1", room="S2", teacher="A. Hollis")
    code = bookings.add(path, first, ACT).booking.code
    asked = replace(first, demo="traffic-light")
    said = {
        (replace(asked, teacher="M. Quill"), f"Room S2 has Blue bottle ({code}) for A. Hollis in the same period."),
        (replace(asked, room="S3"), f"A. Hollis has Blue bottle ({code}) in S2 in the same period."),
        (asked, ""),
        (replace(asked, room="S3", teacher="M. Quill"), ""),
        (replace(asked, period="P2", teacher="M. Quill"), ""),
        (replace(asked, on=LATER + timedelta(days=1), teacher="M. Quill"), ""),
    }
    for one, expected in said:
        (answer,) = bookings.ask(path, [one], DAY)
        assert [f.message for f in answer.mind if f.code == "clash"] == ([expected] if expected else [])


@pytest.mark.on_file
def test_groups_are_the_schools_own(path: Path) -> None:
    groups.add(path, "Year 7", ["Y7", "7"], ACT)
    with pytest.raises(PrepError, match="written for another"):
        groups.add(path, "Seven", ["y7"], ACT)
    for said in ("Year 7", "y7", " 7 ", "year  7"):
        (one,) = bookings.ask(path, [BookingRequest("blue-bottle", LATER, group=said)], DAY)
        assert one.booking.group == "Year 7"
    with pytest.raises(PrepError, match="there are Year 7"):
        bookings.add(path, BookingRequest("blue-bottle", LATER, group="Year 70"), ACT)
    assert bookings.list_bookings(path) == []


@pytest.mark.on_file
def test_a_class_set_of_a_plain_solution(path: Path) -> None:
    asked = BookingRequest("", LATER, showings=15, item="hcl-1", portion="50 mL")
    found = bookings.add(path, asked, ACT)
    (take,) = found.takes
    assert (take.item, take.amount) == ("hcl-1", 15 * 50 * 1_000_000 * 11 // 10)
    for wrong in (replace(asked, portion=""), replace(asked, demo="blue-bottle"), replace(asked, portion="5 g")):
        with pytest.raises(PrepError):
            bookings.add(path, wrong, ACT)


@pytest.mark.on_file
def test_it_is_done_on_its_day_or_after(path: Path) -> None:
    code = bookings.add(path, BookingRequest("blue-bottle", SOON), ACT).booking.code
    with pytest.raises(PrepError, match=f"booked for {SOON}"):
        usage.done(path, code, [], [], act("Ada", DAY))
    assert usage.done(path, code, [], [], act("Ada", SOON)).booking.status == "done"


@pytest.mark.on_file
def test_weeks_leave_out_what_is_closed(path: Path) -> None:
    calendar = bookings.calendar(path)
    shut = LATER + timedelta(weeks=1)
    calendar = replace(calendar, closed={shut: "half term"})
    asked = bookings.repeated(BookingRequest("blue-bottle", LATER), Repeat(weeks=3), calendar)
    assert [one.on for one in asked.bookings] == [LATER, LATER + timedelta(weeks=2)]
    assert asked.closed == [shut]


def test_a_lesson_every_other_week_up_to_a_day() -> None:
    first = date(2027, 1, 11)
    assert Repeat(2, until=date(2027, 3, 1)).days(first) == [first + timedelta(weeks=n) for n in (0, 2, 4, 6)]
    assert Repeat(2, until=date(2027, 3, 8)).days(first)[-1] == date(2027, 3, 8)
    assert Repeat(2, weeks=5).days(first) == [first + timedelta(weeks=n) for n in (0, 2, 4)]
    assert Repeat(weeks=3).days(first) == [first + timedelta(weeks=n) for n in (0, 1, 2)]
    assert [every_weeks(said) for said in ("2 weeks", "Fortnight", "week", "3 week")] == [2, 2, 1, 3]


@pytest.mark.parametrize(
    ("how", "why"),
    [
        (Repeat(2), "how long"),
        (Repeat(weeks=2, until=date(2027, 2, 1)), "one of the two"),
        (Repeat(until=date(2027, 1, 4)), "before the first day"),
        (Repeat(until=date(2099, 1, 1)), "at most 60 weeks"),
        (Repeat(weeks=0), "--weeks"),
    ],
)
def test_a_repeat_that_says_too_little_or_too_much(how: Repeat, why: str) -> None:
    with pytest.raises(PrepError, match=why):
        how.days(date(2027, 1, 11))


@pytest.mark.parametrize("said", ["2 days", "0 weeks", "99 weeks", "often", "-2 weeks"])
def test_how_often_is_a_number_of_weeks(said: str) -> None:
    with pytest.raises(PrepError, match="number of weeks"):
        every_weeks(said)


@pytest.mark.parametrize(("from_", "serves"), [(5, 7), (None, 0), (9, 3), (0, 9)])
def test_the_first_day_is_the_first(from_: int | None, serves: int) -> None:
    days = tuple(DAY + timedelta(days=n) for n in range(10))
    start = None if from_ is None else days[from_]
    assert first_day(days, start, lambda day: day >= days[serves]) == days[serves]


def test_no_day_is_none() -> None:
    assert first_day((DAY,), None, lambda _: False) is None
    assert first_day((), None, lambda _: True) is None


@pytest.mark.on_file
def test_minutes_that_others_were_promised_are_named(path: Path) -> None:
    """Nothing is made for it, but setting it out leaves no time for what is made fresh that day."""
    for item, amount in (("soluble-starch", "100 g"), ("glycerol", "500 mL"), ("potassium-permanganate", "500 g")):
        changes.receive(path, changes.Receipt(item, amount, location="PREP"), ACT)
    settings.change(path, settings.PlanSettings(minutes_on={SHOWN: 40}), ACT)
    first = bookings.add(path, BookingRequest("", SHOWN, item="starch-1", portion="50 mL"), ACT)
    assert first.can_be_shown
    second = bookings.add(path, BookingRequest("permanganate-glycerol", SHOWN, showings=3), ACT)
    (why,) = second.against
    assert why.code == "takes-from-others"
    assert f"The room has not the minutes for it on {SHOWN}: it would take from {first.booking.code} " in why.message
    assert second.first_day == SHOWN + timedelta(days=1)


@pytest.mark.on_file
def test_the_verdict_is_the_same_however_it_is_asked_for(path: Path) -> None:
    """Who was promised first keeps the promise: what booking says, the list says, and the other's answer names it."""
    for item, amount in (("soluble-starch", "100 g"), ("glycerol", "500 mL"), ("potassium-permanganate", "500 g")):
        changes.receive(path, changes.Receipt(item, amount, location="PREP"), ACT)
    settings.change(path, settings.PlanSettings(minutes_on={SHOWN: 40}), ACT)
    first = bookings.add(path, BookingRequest("", SHOWN, item="starch-1", portion="50 mL"), ACT)
    bookings.add(path, BookingRequest("cooling-mixture", SHOWN + timedelta(days=7)), ACT)
    asked = bookings.ask(path, [BookingRequest("permanganate-glycerol", SHOWN, showings=3)], DAY)[0]
    second = bookings.add(path, BookingRequest("permanganate-glycerol", SHOWN, showings=3), ACT)
    listed = {one.booking.code: one for one in answers.standing(path, bookings.list_bookings(path), DAY)}
    again = answers.StandingAnswers(path, DAY).of(bookings.list_bookings(path))
    edited = bookings.change(path, second.booking.code, BookingChange(note="bring matches"), ACT)
    for one in (asked, listed[second.booking.code], again[1], answers.shown(path, second.booking.code, DAY), edited):
        assert (one.can_be_shown, one.state, one.booking.on) == (False, BookingState.ASKED, SHOWN)
        assert [f.message for f in one.against] == [f.message for f in second.against]
    assert answer_lines(edited) == answer_lines(second)
    others = (listed[first.booking.code], again[0], answers.shown(path, first.booking.code, DAY))
    for one in others:
        assert one.booking.code == first.booking.code
        assert one.can_be_shown is False
        assert one.against[0].message == (
            f"What it was promised is taken by {second.booking.code} (permanganate-glycerol on {SHOWN}), booked later."
        )
    moved = bookings.change(path, second.booking.code, BookingChange(to=SHOWN + timedelta(days=1)), ACT)
    assert moved.can_be_shown
    assert answers.shown(path, first.booking.code, DAY).can_be_shown


@pytest.mark.on_file
def test_what_is_moved_last_takes_whichever_code_it_has(path: Path) -> None:
    for item, amount in (("soluble-starch", "100 g"), ("glycerol", "500 mL"), ("potassium-permanganate", "500 g")):
        changes.receive(path, changes.Receipt(item, amount, location="PREP"), ACT)
    settings.change(path, settings.PlanSettings(minutes_on={SHOWN: 40}), ACT)
    other = BookingRequest("permanganate-glycerol", SHOWN + timedelta(days=1), showings=3)
    early = bookings.add(path, other, ACT).booking.code
    late = bookings.add(path, BookingRequest("", SHOWN, item="starch-1", portion="50 mL"), ACT).booking.code
    said = bookings.change(path, early, BookingChange(to=SHOWN), ACT)
    assert [f.code for f in said.against] == ["takes-from-others"]
    found = {one.booking.code: one for one in answers.standing(path, bookings.list_bookings(path), DAY)}
    assert [f.message for f in found[early].against] == [f.message for f in said.against]
    assert found[late].against[0].code == "taken-by-later"


@pytest.mark.on_file
def test_a_booking_that_no_day_has_minutes_for_keeps_none_from_later_ones(path: Path) -> None:
    """One make for all of a month is planned on the first one's day; the later ones can be made for afterwards."""
    changes.receive(path, changes.Receipt("sodium-hydroxide", "500 g", location="PREP"), ACT)
    settings.change(path, settings.PlanSettings(minutes_on={DAY: 0}), ACT)
    asked = BookingRequest("", DAY, item="naoh-1", portion="50 mL")
    first = bookings.add(path, asked, ACT)
    assert (first.can_be_shown, [f.code for f in first.against]) == (False, ["day-too-full"])
    later = bookings.add_all(path, [replace(asked, on=day) for day in (SHOWN, LATER)], ACT)
    assert [one.can_be_shown for one in later] == [True, True]
    assert all(DAY < make.on < one.booking.on for one in later for make in one.makes)
    listed = answers.standing(path, bookings.list_bookings(path), DAY)
    assert [one.can_be_shown for one in listed] == [False, True, True]
    assert [answer_lines(one) for one in listed[1:]] == [answer_lines(one) for one in later]
