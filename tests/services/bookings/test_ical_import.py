"""Bookings from a calendar (RFC 5545): in the school's own time; what cannot be taken names its event."""

import contextlib
from datetime import date
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from prep.errors import PrepError, Refused
from prep.services.bookings import bookings, groups, ical_import
from prep.services.bookings.booking_import import ImportedBookings, ImportOptions
from prep.services.files.ical import Event, read_events
from prep.services.inventory import init
from prep.services.safety import school_rules
from prep.services.school import settings as school_settings
from tests.days import act
from tests.services.conftest import DAY

LONDON = ZoneInfo("Europe/London")


def calendar(*events: str, head: str = "") -> bytes:
    inside = "".join(f"BEGIN:VEVENT\n{event}\nEND:VEVENT\n" for event in events)
    text = f"BEGIN:VCALENDAR\nVERSION:2.0\nPRODID:-//t//t//EN\n{head}{inside}END:VCALENDAR\n"
    return text.replace("\n", "\r\n").encode()


def test_bookings_are_read_in_the_schools_time() -> None:
    content = calendar(
        "UID:1\nDTSTART;TZID=Europe/Paris:20270621T141500\nSUMMARY:Blue bottle\\, 3 showings\nLOCATION:Lab 3",
        "UID:2\nDTSTART:20270621T071500Z\nSUMMARY:Silver mirror\nSTATUS:CANCELLED",
        "UID:3\nDTSTART;VALUE=DATE:20270620\nDTEND;VALUE=DATE:20270621\nSUMMARY:Elephant's too\n thpaste",
        "UID:4\nDTSTART:20270622T090000\nSUMMARY:Floating",
    )
    assert read_events(content, "term.ics", LONDON) == (
        Event(date(2027, 6, 20), "", "Elephant's toothpaste", number=3),
        Event(date(2027, 6, 21), "08:15", "Silver mirror", cancelled=True, number=2),
        Event(date(2027, 6, 21), "13:15", "Blue bottle, 3 showings", "Lab 3", number=1),
        Event(date(2027, 6, 22), "09:00", "Floating", number=4),
    )


@pytest.mark.parametrize(
    ("start", "on", "at"),
    [
        ("DTSTART;TZID=America/New_York:20270114T230000", date(2027, 1, 15), "04:00"),
        ("DTSTART;TZID=Australia/Sydney:20270115T080000", date(2027, 1, 14), "21:00"),
        ("DTSTART;TZID=Europe/London:20270621T091500", date(2027, 6, 21), "09:15"),
        ("DTSTART;TZID=Eastern Standard Time:20270114T230000", date(2027, 1, 15), "04:00"),
        ("DTSTART:20270621T231500Z", date(2027, 6, 22), "00:15"),
    ],
)
def test_every_zoned_time_is_turned(start: str, on: date, at: str) -> None:
    own = calendar(f"UID:1\n{start}\nSUMMARY:x", head="X-WR-TIMEZONE:Europe/London\n")
    other = calendar(f"UID:1\n{start}\nSUMMARY:x", head="X-WR-TIMEZONE:Asia/Tokyo\n")
    for content, zone in ((own, None), (other, LONDON)):  # the school's goes before the file's own
        (event,) = read_events(content, "t.ics", zone)
        assert (event.on, event.at) == (on, at)


def test_a_zone_that_the_file_describes_itself_is_turned() -> None:
    described = (
        "BEGIN:VTIMEZONE\nTZID:Here\nBEGIN:STANDARD\nDTSTART:19700101T000000\nTZOFFSETFROM:-0300\nTZOFFSETTO:-0300\n"
        "END:STANDARD\nEND:VTIMEZONE\n"
    )
    content = calendar("UID:1\nDTSTART;TZID=Here:20270114T230000\nSUMMARY:x", head=described)
    (event,) = read_events(content, "t.ics", LONDON)
    assert (event.on, event.at) == (date(2027, 1, 15), "02:00")


@pytest.mark.parametrize(
    ("event", "why"),
    [
        ("UID:1\nDTSTART:20270621T071500Z\nSUMMARY:Odd", r"set it first \(prep plan settings --time-zone"),
        ("UID:1\nDTSTART;TZID=Nowhere/Odd:20270621T071500\nSUMMARY:Odd", 'zone "Nowhere/Odd" is not known'),
        ("UID:1\nSUMMARY:Odd", "no start"),
        ("UID:1\nDTSTART:20270621T071500\nLOCATION:Odd", "no title"),
        ("UID:1\nDTSTART:20270621T071500\nSUMMARY:Odd\nRRULE:FREQ=WEEKLY;COUNT=3", "repeats"),
        ("UID:1\nDTSTART:2027-06-21 at nine\nSUMMARY:Odd", "cannot be read"),
        ("UID:1\nDTSTART;VALUE=DATE:20270621\nDTEND;VALUE=DATE:20270624\nSUMMARY:Odd", "more than a day"),
        ("UID:1\nDTSTART:20270621T071500\nDTSTART:20270622T071500\nSUMMARY:Odd", "twice|cannot be read"),
        ("UID:1\nDTSTART:99991231T235900Z\nSUMMARY:Odd", "far away"),
    ],
)
def test_an_event_that_cannot_be_taken_is_named(event: str, why: str) -> None:
    with pytest.raises(PrepError, match=why) as problem:
        read_events(calendar("UID:0\nDTSTART:20270621T101500\nSUMMARY:Good", event), "term.ics")
    assert str(problem.value).startswith("term.ics, event 2")
    assert "Odd" in str(problem.value) or "no title" in str(problem.value)


def test_the_other_events_that_cannot_be_taken_are_named_by_their_whole_titles() -> None:
    bad = [f"UID:{n}\nSUMMARY:Year 9: Odd {n}" for n in (1, 2, 3)]
    with pytest.raises(PrepError) as problem:
        read_events(calendar(*bad), "term.ics")
    assert str(problem.value).endswith(
        '2 more events cannot be taken: event 2 "Year 9: Odd 2"; event 3 "Year 9: Odd 3".'
    )


def test_events_are_counted_as_they_stand_in_the_file(path: Path) -> None:
    """Whether it is read, passed over or wrong, and whatever day it is on. All days of a series are one."""
    events = (
        "UID:1\nDTSTART:20270122T090000\nSUMMARY:Blue bottle",
        "UID:2\nSUMMARY:Silver mirror",
        "UID:3\nDTSTART:20270114T090000\nSUMMARY:Blue bottle x 5000",
        "UID:4\nDTSTART:20270113T090000\nSUMMARY:Staff meeting",
        "UID:5\nDTSTART:20270115T090000\nSUMMARY:Blue bottle\nRRULE:FREQ=DAILY;COUNT=2\nX-PREP-COUNT:odd",
    )
    found = take(path, *events, dry_run=True, refused=False)
    assert [fate.row for fate in found.wrong] == [2, 3, 5]
    assert ["2027-01-16 is closed" in fate.says for fate in found.wrong] == [False, False, True]
    assert all(f"event {fate.row} " in fate.says for fate in found.wrong)
    assert [fate.row for fate in found.passed_over] == [4]
    assert sorted(fate.row for fate in found.held_back) == [1, 5]


@pytest.mark.parametrize(
    "content", [b"", b"hello", b"\xff\xfe\x00", b"BEGIN:VCALENDAR\r\nBEGIN:VEVENT\r\n", b"a,b\r\n1,2\r\n"]
)
def test_a_file_that_is_no_calendar_is_a_sentence(content: bytes) -> None:
    with pytest.raises(PrepError, match=r"^term\.ics: "):
        read_events(content, "term.ics")


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=60), st.integers(0, 160))
def test_a_damaged_file_never_breaks_the_reader(noise: bytes, at: int) -> None:
    whole = calendar("UID:0\nDTSTART:20270621T101500\nSUMMARY:Good")
    with contextlib.suppress(PrepError):
        read_events(whole[:at] + noise + whole[at:], "term.ics")


# Bookings of it ------------------------------------------------------------------------------------------


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """An empty inventory."""
    where = tmp_path / "inventory.db"
    init.init(where, "Ada", DAY, None, "")
    return where


def take(path: Path, *events: str, **options: bool) -> ImportedBookings:
    file = path.with_name("term.ics")
    file.write_bytes(calendar(*events))
    how = ImportOptions(dry_run=options.get("dry_run", False), even_closed=options.get("closed", False))
    found = ical_import.import_calendar(path, file, how, act("Ada", DAY))
    if found.wrong and options.get("refused", True):
        raise PrepError(found.wrong[0].says)
    return found


def zone(path: Path, name: str) -> school_settings.Settings:
    return school_settings.change(path, school_settings.PlanSettings(time_zone=name), act("Ada", DAY))


def test_the_schools_zone_is_a_setting(path: Path) -> None:
    late = "UID:1\nDTSTART;TZID=America/New_York:20270114T230000\nSUMMARY:Blue bottle"
    with pytest.raises(PrepError, match="--time-zone"):
        take(path, late, "UID:2\nDTSTART;TZID=Europe/Paris:20270115T090000\nSUMMARY:Golden rain")
    assert zone(path, "Europe/London").time_zone == "Europe/London"
    (added,) = take(path, late).added
    assert (added.on, added.period) == (date(2027, 1, 15), "04:00")
    for wrong in ("", "London", "Europe/Atlantis", "../../etc/passwd", "x" * 5000, "\0"):
        with pytest.raises(PrepError, match="is no time zone"):
            zone(path, wrong)
    assert school_settings.read(path).time_zone == "Europe/London"


def test_the_one_zone_that_all_events_name_is_the_schools_own(path: Path) -> None:
    """A timetable names its zone at each event: nothing is to be set first. Two zones, and none is to be guessed."""
    lesson = "UID:1\nDTSTART;TZID=Europe/London:20270621T091500\nSUMMARY:Blue bottle"
    series = f"{lesson}\nRRULE:FREQ=WEEKLY;COUNT=2".replace("UID:1", "UID:2").replace("0621T09", "0111T10")
    in_utc = "UID:3\nDTSTART:20270622T071500Z\nSUMMARY:Blue bottle"
    added = take(path, lesson, series, in_utc, dry_run=True).added
    assert [(one.on.isoformat(), one.period) for one in added] == [
        ("2027-01-11", "10:15"),
        ("2027-01-18", "10:15"),
        ("2027-06-21", "09:15"),
        ("2027-06-22", "08:15"),
    ]


def test_every_event_that_cannot_be_taken_is_told_with_its_reason(path: Path) -> None:
    """Not the first alone: whoever mends a calendar wants them all at once, and what the others come to."""
    file = path.with_name("term.ics")
    events = (
        "UID:1\nDTSTART:20270114T090000\nSUMMARY:Blue bottle",
        "UID:2\nDTSTART:soon\nSUMMARY:Golden rain",
        "UID:3\nDTSTART:20270115T090000\nSUMMARY:Slime\nRRULE:FREQ=SECONDLY",
        "UID:4\nDTSTART:20270118T090000\nSUMMARY:Silver mirror x 5000",
        "UID:5\nDTSTART:20270116T090000\nSUMMARY:Blue bottle",
        "UID:6\nDTSTART;VALUE=DATE:20270118\nSUMMARY:Staff meeting",
    )
    file.write_bytes(calendar(*events))
    found = ical_import.import_calendar(path, file, ImportOptions({}, dry_run=True), act("Ada", DAY))
    told = " ".join(str(fate.says) for fate in found.wrong)
    for name, why in (
        ("Golden rain", "DTSTART cannot be read"),
        ("Slime", "repeats within a day"),
        ("Silver mirror", "is no number of showings"),
        ("Blue bottle", "2027-01-16 is closed"),
    ):
        assert name in told
        assert why in told
    assert len(found.wrong) == 4
    others = [fate for fate in found.report.fates if not fate.wrong]
    assert ["Staff meeting" in str(fate.says) for fate in others].count(True) == 1
    assert ["would be added" in str(fate.says) for fate in others].count(True) == 1


OTHERS = {
    "a time in a zone": "DTSTART:20270115T091500Z",
    "several days": "DTSTART;VALUE=DATE:20270215\nDTEND;VALUE=DATE:20270220",
    "a zone that is none": "DTSTART;TZID=Nowhere/Odd:20270621T071500",
    "within a day": "DTSTART:20270115T090000\nRRULE:FREQ=HOURLY;COUNT=3",
    "a series in a zone": "DTSTART:20270115T091500Z\nRRULE:FREQ=WEEKLY;COUNT=3",
    "no start": "LOCATION:Hall",
}


@pytest.mark.parametrize("what", OTHERS)
def test_what_is_the_matter_with_somebody_elses_event_keeps_no_booking_out(path: Path, what: str) -> None:
    """A zoned time without the school's zone refuses the demonstration that has it, not the staff meeting."""
    good = "UID:1\nDTSTART:20270114T090000\nSUMMARY:Blue bottle"
    found = take(path, good, f"UID:2\nSUMMARY:Staff meeting\n{OTHERS[what]}", dry_run=True)
    assert [one.on for one in found.added] == [date(2027, 1, 14)]
    assert ["no demonstration on file" in one.says for one in found.passed_over] == [True]
    with pytest.raises(PrepError, match="Silver mirror"):
        take(path, good, f"UID:2\nSUMMARY:Silver mirror\n{OTHERS[what]}", dry_run=True)


def test_an_event_keeps_to_the_rules_of_a_booking(path: Path) -> None:
    saturday = "UID:1\nDTSTART;VALUE=DATE:20270116\nSUMMARY:Blue bottle"
    with pytest.raises(PrepError, match=r'event 1 "Blue bottle" on 2027-01-16: 2027-01-16 is closed'):
        take(path, saturday)
    with pytest.raises(PrepError, match="the room is at most 80 printable characters"):
        take(path, f"UID:1\nDTSTART;VALUE=DATE:20270115\nSUMMARY:Blue bottle\nLOCATION:{'x' * 81}")
    assert bookings.list_bookings(path, bookings.BookingFilter(everything=True)) == []
    assert len(take(path, saturday, closed=True).added) == 1
    assert take(path, saturday, dry_run=True).passed_over[0].says.endswith("booked already")
    school_rules.add(path, school_rules.RuleRequest("sodium-hydroxide", group="year 7"), act("Ada", DAY))
    young = "UID:1\nDTSTART;VALUE=DATE:20270115\nSUMMARY:Blue bottle\nDESCRIPTION:Group: year 7"
    with pytest.raises(Refused, match="year 7"):
        take(path, young)
    assert [b.code for b in bookings.list_bookings(path, bookings.BookingFilter(everything=True))] == ["B1"]
    with pytest.raises(PrepError, match="there are year 7"):
        take(path, young.replace("year 7", "year 9"))
    groups.add(path, "Year 9", ["Y9"], act("Ada", DAY))
    (added,) = take(path, young.replace("year 7", "y9")).added
    assert (added.code, added.group) == ("B2", "Year 9")


def test_what_is_no_demonstration_is_passed_over_and_a_slip_of_the_pen_is_not(path: Path) -> None:
    """A teacher's calendar holds other things; one that is nearly a demo, or says how often, is asked about."""
    wanted = path.parent / "mine.ics"

    def read(*titles: str) -> ImportedBookings:
        events = (f"UID:{n}\nDTSTART;VALUE=DATE:2027022{n}\nSUMMARY:{title}" for n, title in enumerate(titles, 2))
        wanted.write_bytes(calendar(*events))
        return ical_import.import_calendar(path, wanted, ImportOptions(dry_run=True), act("Ada", DAY))

    found = read("Staff meeting", "Blue bottle")
    assert [one.booking.demo for one in found.answers] == ["blue-bottle"]
    assert '"Staff meeting" on 2027-02-22: no demonstration on file' in found.passed_over[0].says
    others = ("Staff briefing", "Department meeting", "Moderation", "Salt delivery", "Staff training")
    assert len(read(*others).passed_over) == len(others)
    for slip in ("Blue botle", "Goldn rain", "Staff meeting x 2"):
        assert "no demo on file" in read(slip).wrong[0].says
    groups.add(path, "Year 9", ["Y9"], act("Ada", DAY))
    found = read("Year 9: Blue bottle", "Blue bottle (y9) x 2", "Y9 Blue bottle")
    assert [(one.booking.demo, one.booking.group, one.booking.showings) for one in found.answers] == [
        ("blue-bottle", "Year 9", 1),
        ("blue-bottle", "Year 9", 2),
        ("blue-bottle", "Year 9", 1),
    ]


# RFC 5545, 3.8.1.11: an event of STATUS CANCELLED does not take place, whatever else is the matter with it.
@pytest.mark.parametrize(
    "start", ["DTSTART;TZID=Pacific/Chatham:20270122T003000", "DTSTART:20270122T130000Z\nRRULE:FREQ=SECONDLY"]
)
def test_what_was_cancelled_keeps_no_booking_out(path: Path, start: str) -> None:
    found = take(
        path,
        f"UID:1\n{start}\nSUMMARY:blue bottle\nSTATUS:CANCELLED",
        "UID:2\nDTSTART;VALUE=DATE:20270125\nSUMMARY:blue bottle",
    )
    assert [one.on for one in found.added] == [date(2027, 1, 25)]


@pytest.mark.parametrize(
    ("title", "showings", "group"),
    [
        ("blue bottle x2 (Year 8)", 2, "Year 8"),
        ("Blue bottle x 3, Y8", 3, "Year 8"),
        ("Year 8: blue bottle x2", 2, "Year 8"),
        ("blue bottle x12", 12, ""),
    ],
)
def test_a_title_says_how_often_and_for_whom_in_any_order(path: Path, title: str, showings: int, group: str) -> None:
    groups.add(path, "Year 8", ["Y8"], act("Ada", DAY))
    (one,) = take(path, f"UID:1\nDTSTART;VALUE=DATE:20270125\nSUMMARY:{title}").added
    assert (one.demo, one.showings, one.group) == ("blue-bottle", showings, group)
