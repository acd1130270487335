"""When a period is, as the school set it, and in the calendar that a teacher subscribes to."""

from datetime import UTC, date, datetime, time
from pathlib import Path

import icalendar
import pytest

from prep.errors import PrepError
from prep.planning.booking_answer import BookingAnswer, BookingState
from prep.planning.model import Booking
from prep.reports.bookings.lists import ListHead, content
from prep.services.inventory import init, session
from prep.services.school import periods, usual
from prep.services.school.periods import LessonTimes, read_periods, text_of, times_of
from prep.store import queries
from tests.days import act

ON = date(2027, 1, 13)
SCHOOL = read_periods(["P1=9:00-10:00", "P2 = 10:05 - 11:05"])


def _event(period: str, zone: str = "") -> icalendar.cal.Component:
    booked = BookingAnswer(Booking("B1", ON, period, "S1", "", "blue-bottle", 1), True, BookingState.MADE)
    (event,) = icalendar.Calendar.from_ical(content("ics", [booked], ListHead("", SCHOOL, zone))).walk("VEVENT")
    return event


def test_an_event_is_titled_by_the_name_of_what_is_shown() -> None:
    booked = BookingAnswer(Booking("B1", ON, "P2", "S1", "", "blue-bottle", 2), True, BookingState.MADE)
    head = ListHead("", SCHOOL, "", {"blue-bottle": "Blue bottle"})
    (event,) = icalendar.Calendar.from_ical(content("ics", [booked], head)).walk("VEVENT")
    assert event["SUMMARY"] == "Blue bottle x2, P2, S1"
    assert b"Blue bottle" in content("csv", [booked], head)


def test_periods_go_there_and_back() -> None:
    assert read_periods(text_of(SCHOOL).split(";")) == SCHOOL
    for said in ("P2", "p2", "Period 2", "2nd"):
        assert times_of(said, SCHOOL) == LessonTimes(time(10, 5), time(11, 5))
    assert times_of("11:15-12:00", {}) == LessonTimes(time(11, 15), time(12))
    assert times_of("11:15", {}) == LessonTimes(time(11, 15))
    assert times_of("P7", SCHOOL) is times_of("lunch", SCHOOL) is times_of("", SCHOOL) is None


@pytest.mark.parametrize("said", ["P1", "=9:00-10:00", "P1=9:00", "P1=10:00-9:00", "P1=25:00-26:00", "a;b=9:00-10:00"])
def test_what_is_no_period_is_refused(said: str) -> None:
    with pytest.raises(PrepError, match="P1=09:00-10:00"):
        read_periods([said])


def test_an_event_has_the_time_of_its_period() -> None:
    """Floating where no zone is set (RFC 5545, 3.3.5, form 1), else in UTC (form 2); a whole day without a period."""
    event = _event("P2")
    begins, ends = datetime(2027, 1, 13, 10, 5), datetime(2027, 1, 13, 11, 5)
    assert (event.decoded("dtstart"), event.decoded("dtend")) == (begins, ends)
    assert _event("P2", "Europe/Paris").decoded("dtstart") == datetime(2027, 1, 13, 9, 5, tzinfo=UTC)
    assert _event("lunch").decoded("dtstart") == ON
    assert "transp" in _event("lunch")
    assert "transp" not in event


@pytest.mark.on_file
def test_the_school_sets_them_one_by_one(tmp_path: Path) -> None:
    where = tmp_path / "inventory.db"
    init.init(where, "Ada", ON, None, "")
    assert periods.of_school(where) == periods.SchoolPeriods({}, "")
    usual.change(where, usual.SchoolUsual(periods=("P1=9:00-10:00",)), act("Ada", ON))
    found = usual.change(where, usual.SchoolUsual(periods=("P2=10:05-11:05",)), act("Ada", ON))
    assert found.periods == ("P1=09:00-10:00", "P2=10:05-11:05")
    assert periods.of_school(where).times == SCHOOL


@pytest.mark.on_file
def test_the_school_says_by_when_its_deliveries_have_come(tmp_path: Path) -> None:
    where = tmp_path / "inventory.db"
    init.init(where, "Ada", ON, None, "")
    found = usual.change(where, usual.SchoolUsual(periods=("P1=9:00-10:00",), deliveries="10.30"), act("Ada", ON))
    assert found.deliveries == "10:30"
    with session.reading(where) as connection:
        times = queries.load_snapshot(connection, ON).deliveries
    assert [times.too_late_for(period) for period in ("P1", "p 1", "10:30", "10:35", "P2", "")] == [
        True, True, True, False, False, False
    ]  # fmt: skip
    with pytest.raises(PrepError, match="no time"):
        usual.change(where, usual.SchoolUsual(deliveries="noon"), act("Ada", ON))


@pytest.mark.on_file
def test_the_school_says_how_long_an_opened_bottle_keeps(tmp_path: Path) -> None:
    where = tmp_path / "inventory.db"
    init.init(where, "Ada", ON, None, "")
    given = usual.SchoolUsual(days_open=usual.read_days_open(["hydrogen peroxide=90", "hcl-1=60"]))
    assert usual.change(where, given, act("Ada", ON)).days_open == {"hydrogen-peroxide": 90, "hcl-1": 60}
    again = usual.SchoolUsual(days_open={"hcl-1": 0})
    assert usual.change(where, again, act("Ada", ON)).days_open == {"hydrogen-peroxide": 90, "hcl-1": 0}
    with session.reading(where) as connection:
        assert queries.load_snapshot(connection, ON).days_open == {"hydrogen-peroxide": 90, "hcl-1": 0}
    for wrong in ("hcl-1", "=9", "hcl-1=-3", "hcl-1=4000", "hcl-1=soon"):
        with pytest.raises(PrepError, match="--opened"):
            usual.read_days_open([wrong])
    with pytest.raises(PrepError, match="phlogiston"):
        usual.change(where, usual.SchoolUsual(days_open={"phlogiston": 3}), act("Ada", ON))
