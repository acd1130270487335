"""Out of date, to be tested, peroxide formers."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from prep.safety.peroxides import DatedBottle, add_months, due, peroxide_dates

TODAY = date(2026, 9, 15)


# Cornell EHS Appendix J: opened class A 3 months, B, C and D 12 months; unopened 18 months. Test intervals of
# six months: Iowa State University EHS.
@pytest.mark.parametrize(
    ("peroxide_class", "test_by", "discard_by"),
    [
        ("A", date(2026, 4, 10), date(2026, 4, 10)),
        ("B", date(2026, 7, 9), date(2027, 1, 10)),
        ("C", date(2026, 7, 9), date(2027, 1, 10)),
        ("D", date(2026, 7, 9), date(2027, 1, 10)),
    ],
)
def test_opened_peroxide_formers(peroxide_class: str, test_by: date, discard_by: date) -> None:
    found = peroxide_dates(peroxide_class, date(2025, 12, 1), date(2026, 1, 10), None)
    assert found is not None
    assert (found.test_by, found.discard_by) == (test_by, discard_by)
    assert found.source


def test_unopened_ones_keep_eighteen_months() -> None:
    found = peroxide_dates("B", date(2025, 8, 31), None, None)
    assert found is not None
    assert (found.test_by, found.discard_by) == (None, date(2027, 2, 28))


def test_a_passed_test_counts_from_its_day_but_never_past_the_end() -> None:
    found = peroxide_dates("B", None, date(2026, 1, 10), date(2026, 7, 1))
    assert found is not None
    assert found.test_by == date(2026, 12, 28)
    late = peroxide_dates("B", None, date(2026, 1, 10), date(2026, 12, 1))
    assert late is not None
    assert late.test_by == late.discard_by
    assert peroxide_dates("B", None, None, None) is None


def codes(*bottles: DatedBottle, within: int = 30) -> list[tuple[str, str]]:
    return [(f.severity, f.code) for f in due(bottles, TODAY, within)]


def test_the_date_itself_is_still_good() -> None:
    assert codes(DatedBottle("B1", "x", use_by=TODAY)) == [("note", "goes-off")]
    assert codes(DatedBottle("B1", "x", use_by=date(2026, 9, 14))) == [("act", "out-of-date")]
    assert codes(DatedBottle("B1", "x", use_by=date(2026, 10, 15))) == [("note", "goes-off")]
    assert codes(DatedBottle("B1", "x", use_by=date(2026, 10, 16))) == []


def test_what_becomes_explosive_when_kept_is_destroyed_at_once() -> None:
    assert codes(DatedBottle("B1", "x", use_by=date(2026, 9, 14), unstable=True)) == [("stop", "destroy-at-once")]
    assert codes(DatedBottle("B1", "x", use_by=TODAY, unstable=True)) == []
    assert codes(DatedBottle("B1", "x")) == []


def test_tests_due_and_overdue() -> None:
    assert codes(DatedBottle("B1", "ether", opened=date(2026, 3, 1), peroxide_class="B")) == [("stop", "peroxide-test")]
    assert codes(DatedBottle("B1", "ether", opened=date(2025, 8, 1), peroxide_class="B")) == [
        ("stop", "peroxide-discard")
    ]
    assert codes(DatedBottle("B1", "ether", peroxide_class="B")) == [("stop", "peroxide-undated")]
    assert codes(DatedBottle("B1", "ether", opened=date(2026, 9, 1), peroxide_class="B")) == []
    assert codes(DatedBottle("B1", "ether", opened=date(2026, 3, 25), peroxide_class="B")) == [("act", "peroxide-test")]
    soon = DatedBottle("B1", "ether", opened=date(2025, 10, 1), tested=date(2026, 9, 1), peroxide_class="B")
    assert codes(soon) == [("act", "peroxide-discard"), ("act", "peroxide-test")]


def test_a_class_that_is_none_is_a_finding_and_not_an_error() -> None:
    odd = DatedBottle("B1", "ether", opened=date(2026, 9, 1), peroxide_class="Z")
    (found,) = due([odd, DatedBottle("B2", "acid")], TODAY)
    assert (found.severity, found.code, found.about) == ("stop", "peroxide-class", "B1")
    assert "'Z', which is none of A, B, C, D" in found.message
    assert peroxide_dates("Z", None, date(2026, 9, 1), None) is None


def test_what_is_due_says_when_it_was_opened_and_what_to_do_with_it() -> None:
    (soon,) = due([DatedBottle("B1", "bleach", use_by=TODAY, opened=date(2026, 6, 1))], TODAY)
    assert "(bleach, opened 2026-06-01)" in soon.message
    assert soon.cure == "Use it first."
    (aside,) = due([DatedBottle("B1", "bleach", use_by=TODAY, quarantined=True)], TODAY)
    assert "quarantine" in aside.cure


def test_what_is_worst_of_the_dates_comes_first() -> None:
    found = codes(DatedBottle("A", "x", use_by=TODAY), DatedBottle("B", "ether", peroxide_class="B"))
    assert [severity for severity, _ in found] == ["stop", "note"]


@given(st.dates(date(2000, 1, 1), date(2100, 1, 1)), st.integers(0, 60))
def test_months_on_keep_the_day_or_end_the_month(day: date, months: int) -> None:
    later = add_months(day, months)
    assert (later.year * 12 + later.month) - (day.year * 12 + day.month) == months
    assert later.day == day.day or (later.day < day.day and add_months(later, 1).month != later.month)
