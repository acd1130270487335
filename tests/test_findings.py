"""Findings in the order in which somebody acts on them."""

from prep.findings import Finding, Severity, worst_first


def test_of_one_kind_the_first_day_comes_first_and_stops_come_before_all() -> None:
    """By the bookings' codes alone, B13 in a week came before B8 tomorrow."""
    ask = [
        Finding(Severity.ACT, "ask", "B13", "Chromate on 2027-05-11: ask first."),
        Finding(Severity.ACT, "ask", "B8", "Metal ions on 2027-05-07: ask first."),
        Finding(Severity.ACT, "ask", "none", "Ask first."),
    ]
    stop = Finding(Severity.STOP, "short", "B30", "Booking B30 on 2027-05-19 is short.")
    assert [one.about for one in worst_first((*ask, stop))] == ["B30", "B8", "B13", "none"]
