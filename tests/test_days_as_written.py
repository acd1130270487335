"""Days as people write them: what each word means, and what stays ambiguous is refused."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from prep.dates import MONTHS, DayOrder, read_day, read_done, read_use_by, use_by_of_cell
from prep.errors import PrepError

TODAY = date(2026, 11, 25)  # a Wednesday


@pytest.mark.parametrize(
    ("text", "ahead", "done"),
    [
        ("today", (2026, 11, 25), (2026, 11, 25)),
        ("Tomorrow", (2026, 11, 26), (2026, 11, 26)),
        ("yesterday", (2026, 11, 24), (2026, 11, 24)),
        ("monday", (2026, 11, 30), (2026, 11, 23)),
        ("wed", (2026, 12, 2), (2026, 11, 25)),
        ("thurs", (2026, 11, 26), (2026, 11, 19)),
        ("next monday", (2026, 11, 30), (2026, 11, 30)),
        ("next friday", (2026, 12, 4), (2026, 12, 4)),
        ("this friday", (2026, 11, 27), (2026, 11, 27)),
        ("last friday", (2026, 11, 20), (2026, 11, 20)),
        ("in 3 days", (2026, 11, 28), (2026, 11, 28)),
        ("2 weeks ago", (2026, 11, 11), (2026, 11, 11)),
        ("8 dec", (2026, 12, 8), (2025, 12, 8)),
        ("8th December", (2026, 12, 8), (2025, 12, 8)),
        ("Tue, 8 Dec 2026", (2026, 12, 8), (2026, 12, 8)),
        ("dec 8", (2026, 12, 8), (2025, 12, 8)),
        ("Dec 8, 2027", (2027, 12, 8), (2027, 12, 8)),
        ("1 may", (2027, 5, 1), (2026, 5, 1)),
        ("8.12.", (2026, 12, 8), (2025, 12, 8)),
        ("8.12.26", (2026, 12, 8), (2026, 12, 8)),
        ("25/12", (2026, 12, 25), (2025, 12, 25)),
        ("12/25/2026", (2026, 12, 25), (2026, 12, 25)),
        ("2026-12-08", (2026, 12, 8), (2026, 12, 8)),
        ("2026-12-8", (2026, 12, 8), (2026, 12, 8)),
        ("2026/12/8", (2026, 12, 8), (2026, 12, 8)),
        ("2027-3-9", (2027, 3, 9), (2027, 3, 9)),
        ("2026.12.08", (2026, 12, 8), (2026, 12, 8)),
    ],
)
def test_a_day_as_written(text: str, ahead: tuple[int, int, int], done: tuple[int, int, int]) -> None:
    assert read_day(text, "--on", TODAY) == date(*ahead)
    later = date(2028, 1, 1)
    if date(*done) <= TODAY:
        assert read_done(text, "--on", TODAY).on == date(*done)
    else:
        with pytest.raises(PrepError, match="still to come"):
            read_done(text, "--on", TODAY)
        assert date(*done) < later


@pytest.mark.parametrize("text", ["8/12", "8/12/2026", "8-12-26"])
def test_figures_that_read_both_ways_wait_for_the_schools_order(text: str) -> None:
    with pytest.raises(PrepError, match=r"8 december or 12 august.*prep usual --dates"):
        read_day(text, "--on", TODAY)
    assert read_day(text, "--on", TODAY, lambda: DayOrder.DAY_FIRST) == date(2026, 12, 8)
    assert read_day(text, "--on", TODAY, lambda: DayOrder.MONTH_FIRST).month == 8


@pytest.mark.parametrize(
    "text",
    ["someday", "31 feb", "30.2.", "8 foo", "mo", "the 8th", "13/13/2026", "in 3 days ago", "3 days", "29 feb", ""],
)
def test_what_is_no_day_is_refused(text: str) -> None:
    with pytest.raises(PrepError, match="--on"):
        read_day(text, "--on", TODAY)


def test_a_use_by_may_be_a_month() -> None:
    said = {
        "12/2030": date(2030, 12, 31),
        "2/2028": date(2028, 2, 29),
        "2030-06": date(2030, 6, 30),
        "jun 2030": date(2030, 6, 30),
        "2030-06-15": date(2030, 6, 15),
        "15 jun 2030": date(2030, 6, 15),
    }
    assert {text: read_use_by(text, "--use-by", TODAY) for text in said} == said
    with pytest.raises(PrepError, match="--use-by"):
        read_use_by("13/2030", "--use-by", TODAY)


@given(st.dates(date(1950, 1, 1), date(2200, 12, 31)))
def test_every_day_reads_back_however_it_is_written(on: date) -> None:
    month = MONTHS[on.month - 1]
    written = [f"{on.day} {month} {on.year}", f"{month[:3]} {on.day} {on.year}", f"{on.day}.{on.month}.{on.year}"]
    for text in [*written, on.isoformat(), f"{on:%A} {on.day} {month} {on.year}"]:
        assert read_day(text, "--on", TODAY) == on
    assert read_day(f"{on.day} {month}", "--on", on) == on if (on.day, on.month) != (29, 2) else True
    assert read_day("in 1 day", "--on", TODAY) == TODAY + timedelta(days=1)


def test_a_use_by_in_a_list_is_a_day_or_the_last_of_a_month() -> None:
    for text in ("12/2030", "12.2030", "2030-12", "Dec 2030"):
        assert use_by_of_cell(text) == date(2030, 12, 31)
    assert use_by_of_cell("2030-12-05") == use_by_of_cell("5/12/2030", DayOrder.DAY_FIRST) == date(2030, 12, 5)
    assert use_by_of_cell("31/12/2030") == use_by_of_cell("12/31/2030") == date(2030, 12, 31)
    for text in ("13/2030", "5/12/2030", "13/13/2030", "2030"):
        with pytest.raises(PrepError, match="no date"):
            use_by_of_cell(text)


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("tommorow", "tomorrow"),
        ("mondya", "monday"),
        ("next firday", "next friday"),
        ("8 decmber", "8 december"),
        ("in 3 dyas", "in 3 days"),
    ],
)
def test_a_slip_in_a_day_gets_a_hint(text: str, meant: str) -> None:
    with pytest.raises(PrepError, match=rf"is no date; .* Near: {meant}\.$"):
        read_day(text, "--on", TODAY)


@pytest.mark.parametrize("text", ["soon", "monkey business", "2027-13-09", "32 dec", "31 november"])
def test_what_is_near_no_day_gets_none(text: str) -> None:
    with pytest.raises(PrepError, match="is no date") as refused:
        read_day(text, "--on", TODAY)
    assert "Near" not in str(refused.value)


@pytest.mark.parametrize("text", ["2027-3-9", "2027/03/09", "2027.3.9"])
def test_a_cell_with_the_year_first_can_be_read_in_one_way_only(text: str) -> None:
    assert use_by_of_cell(text) == use_by_of_cell(text, DayOrder.MONTH_FIRST) == date(2027, 3, 9)


@pytest.mark.parametrize("text", ["2027-13-9", "2027-2-30", "2027-3/9", "2027-3-9-1"])
def test_a_year_first_that_is_no_day_is_refused(text: str) -> None:
    with pytest.raises(PrepError, match="is no date"):
        read_day(text, "--on", TODAY)
    with pytest.raises(PrepError, match="is no date"):
        use_by_of_cell(text)


def test_what_a_label_may_say_is_named_where_a_use_by_is_refused() -> None:
    with pytest.raises(PrepError, match="such as 2027-01-11, or 12/2030, 11 jan"):
        read_use_by("soon", "--use-by", TODAY)
    with pytest.raises(PrepError, match="such as 2027-01-11, or 11 jan"):
        read_day("soon", "--on", TODAY)
