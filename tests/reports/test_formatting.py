"""Days in sentences are written one way, but not those that are to be typed; figures without an exponent."""

import pytest

from prep.reports import terminal
from prep.reports.formatting import in_days, three_figures


def test_days_in_a_sentence_are_written_as_everywhere_else() -> None:
    assert in_days("Booking B12 on 2027-01-14 is short by 2027-01-13.") == (
        "Booking B12 on Thu 14 Jan 2027 is short by Wed 13 Jan 2027."
    )


def test_what_is_typed_or_names_a_make_stays() -> None:
    for said in ("prep book move B1 --on 2027-01-14", "batch hcl-2@2027-01-18", "2027-13-40", "x-2027-01-01"):
        assert in_days(said) == said


@pytest.mark.parametrize(("value", "written"), [(24.94, "24.9"), (999.4, "999"), (999.7, "1000"), (1668.2, "1668")])
def test_three_figures_never_become_an_exponent(value: float, written: str) -> None:
    assert three_figures(value) == written


def test_what_was_typed_or_is_to_be_typed_keeps_its_day() -> None:
    assert in_days('"2027-01-14" is past; see: prep plan --day 2027-01-15') == (
        '"2027-01-14" is past; see: prep plan --day 2027-01-15'
    )


def test_a_table_and_a_sentence_on_a_terminal_say_days_in_words(capsys: pytest.CaptureFixture[str]) -> None:
    terminal.table(("Order", "Due"), [("P1", "2027-01-15, OVERDUE by 3 d"), ("hcl-1@2027-01-15", "2027-01-16")])
    terminal.say("Ready by 2027-01-14.")
    terminal.say("prep book move B1 --to 2027-01-14 # 2027-01-15", whole=True)
    said = capsys.readouterr().out
    assert "15 Jan 2027, OVERDUE by 3 d" in said
    assert "hcl-1@2027-01-15  16 Jan 2027" in said
    assert "Ready by Thu 14 Jan 2027." in said
    assert "# 2027-01-15" in said
