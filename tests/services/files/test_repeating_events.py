"""Calendar events that repeat, against the examples of RFC 5545, section 3.8.5.3."""

from datetime import date

import pytest

from prep.errors import PrepError
from prep.services.files.ical import Expansion, read_events

YEAR = Expansion(date(1997, 1, 1), date(1998, 12, 31))


def calendar(*lines: str) -> bytes:
    inside = "".join(f"BEGIN:VEVENT\nUID:{n}\nSUMMARY:Rates\n{one}\nEND:VEVENT\n" for n, one in enumerate(lines))
    return f"BEGIN:VCALENDAR\nVERSION:2.0\nPRODID:-//t//t//EN\n{inside}END:VCALENDAR\n".replace("\n", "\r\n").encode()


def days(rule: str, span: Expansion = YEAR) -> list[date]:
    return [one.on for one in read_events(calendar(f"DTSTART:19970902T090000\n{rule}"), "t.ics", None, span)]


@pytest.mark.parametrize(
    ("rule", "expected"),
    [
        ("RRULE:FREQ=DAILY;COUNT=3", [(9, 2), (9, 3), (9, 4)]),
        ("RRULE:FREQ=WEEKLY;COUNT=4", [(9, 2), (9, 9), (9, 16), (9, 23)]),
        (
            "RRULE:FREQ=WEEKLY;INTERVAL=2;UNTIL=19971007T000000Z;WKST=SU",
            [(9, 2), (9, 16), (9, 30)],
        ),
        ("RRULE:FREQ=WEEKLY;COUNT=4;WKST=SU;BYDAY=TU,TH", [(9, 2), (9, 4), (9, 9), (9, 11)]),
        ("RRULE:FREQ=WEEKLY;COUNT=3\nEXDATE:19970909T090000", [(9, 2), (9, 16)]),
        ("RDATE:19970905T090000", [(9, 2), (9, 5)]),
    ],
)
def test_each_recurrence_rule_gives_its_days(rule: str, expected: list[tuple[int, int]]) -> None:
    assert [(day.month, day.day) for day in days(rule)] == expected


def test_for_ever_ends_with_the_span() -> None:
    found = days("RRULE:FREQ=DAILY", Expansion(date(1997, 9, 10), date(1997, 9, 12)))
    assert [day.day for day in found] == [10, 11, 12]


@pytest.mark.parametrize("often", ["SECONDLY", "MINUTELY", "HOURLY", "DAILY;BYSECOND=1,2,3"])
def test_what_repeats_within_a_day_is_one_sentence(often: str) -> None:
    with pytest.raises(PrepError, match="repeats within a day"):
        days(f"RRULE:FREQ={often}")


def test_a_rule_that_no_day_fits_ends() -> None:
    assert len(days("RRULE:FREQ=DAILY;BYMONTH=2;BYMONTHDAY=30")) <= 1


def test_organiser_and_categories_are_read() -> None:
    content = calendar(
        "DTSTART:19970902T090000\nORGANIZER;CN=A. Hollis:mailto:a@example.org\nCATEGORIES:Science,Year 8"
    )
    (event,) = read_events(content, "t.ics")
    assert (event.organiser, event.categories) == ("A. Hollis", ("Science", "Year 8"))
