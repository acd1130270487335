"""`prep plan` beside the plan itself: why, what if, sheets, calendar, settings; and bookings from a calendar."""

from datetime import date, timedelta
from pathlib import Path

import pypdfium2
import pytest

from tests.cli.conftest import Run

SOON = date.today() + timedelta(days=14)
SOON += timedelta(days=(7 - SOON.weekday()) % 7)  # a Monday


@pytest.mark.on_file
def test_why_of_a_booking(prep: Run) -> None:
    said = prep("plan", "why", "B1", "--sample")
    assert said.code == 0
    assert "m = C M = 0.5 mol/L" in said.out
    assert "bottle" in said.out
    assert "C1 V1 = C2 V2" in prep("plan", "why", "B7", "--sample").out
    found = prep("plan", "why", "B1", "--sample", "--json").json
    assert found["kind"] == "booking"
    assert all(below["kind"] == "requirement" for below in found["from"])


@pytest.mark.on_file
def test_why_of_nothing_is_one_sentence(prep: Run) -> None:
    said = prep("plan", "why", "NONE", "--sample")
    assert (said.code, said.err.count("\n")) == (2, 1)


@pytest.mark.on_file
def test_what_if_shows_what_a_change_does_to_the_plan(prep: Run) -> None:
    said = prep("plan", "--sample", "--what-if", "order P1 30 days late")
    assert said.code == 0
    assert "If order P1 30 days late:" in said.out
    found = prep("plan", "--sample", "--what-if", "booking B1 gone", "--json").json
    assert found["what_if"] == ["booking B1 gone"]
    assert found["makes"]
    assert prep("plan", "--sample", "--what-if", "rain").code == 2


@pytest.mark.on_file
def test_sheets_and_calendar(prep: Run, tmp_path: Path) -> None:
    done = prep("plan", "--sample", "--pdf", "day", "day.pdf", "--day", "2027-01-12", "--ics", "tasks.ics")
    assert done.code == 0
    assert "day.pdf" in done.out
    assert len(pypdfium2.PdfDocument(tmp_path / "day.pdf")) == 1  # its fullest day: ten makes and four bookings
    assert (tmp_path / "tasks.ics").read_bytes().startswith(b"BEGIN:VCALENDAR")
    assert prep("plan", "--sample", "--pdf", "week", "week.pdf").code == 0
    assert prep("plan", "--sample", "--pdf", "month", "month.pdf").code == 2
    assert not (tmp_path / "month.pdf").exists()


def test_the_costs_are_settings(inventory: Run) -> None:
    assert "a litre thrown away costs 10 min; 100 of what is costly" in inventory("plan", "settings").out
    found = inventory("plan", "settings", "--wasted", "5", "--held", "0.1", "--minutes-per-day", "90", "--json").json
    assert found["cost_per_litre_wasted"] == 5.0
    assert found["minutes_per_day"] == 90
    assert found.pop("job") > 0
    assert inventory("plan", "settings", "--json").json == found
    assert inventory("plan", "--json").code == 0
    assert inventory("plan", "settings", "--wasted-costly", "200", "--dilution", "5").code == 0
    said = " ".join(inventory("plan", "settings").out.split())  # a sentence may be wrapped
    assert "an intermediate dilution 5 min" in said
    assert "a litre thrown away costs 5 min; 200 of what is costly, 5 of what is of high hazard" in said
    assert inventory("plan", "settings", "--defaults", "--json").json["cost_per_litre_wasted"] is None
    assert "orders are there: 1 working day before the first day of need" in said
    assert inventory("plan", "settings", "--order-margin", "3", "--json").json["order_margin_days"] == 3
    assert "orders are there: 3 working days before the first day of need" in inventory("plan", "settings").out
    assert inventory("plan", "settings", "--order-margin=21").code == 2
    for wrong in ("-1", "nan", "much", "1e99"):
        assert inventory("plan", "settings", f"--held={wrong}").code == 2


def _calendar(*events: str) -> str:
    body = "".join(f"BEGIN:VEVENT\r\nUID:{n}@x\r\n{event}\r\nEND:VEVENT\r\n" for n, event in enumerate(events))
    return f"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//x//y//EN\r\n{body}END:VCALENDAR\r\n"


def test_bookings_from_a_calendar(inventory: Run, tmp_path: Path) -> None:
    demo = inventory("demo", "list", "--json").json[0]["code"]
    on = f"{SOON:%Y%m%d}"
    file = tmp_path / "term.ics"
    file.write_text(
        _calendar(
            f"SUMMARY:{demo} x 2\r\nDTSTART:{on}T091500\r\nLOCATION:S3\r\nDESCRIPTION:Teacher: A. Hollis",
            f"SUMMARY:{demo}\r\nDTSTART;VALUE=DATE:{on}\r\nSTATUS:CANCELLED",
        )
    )
    assert len(inventory("book", "import", file, "--dry-run", "--json").json) == 1
    (added,) = inventory("book", "import", file, "--json").json
    assert (added["demo"], added["showings"], added["period"], added["room"]) == (demo, 2, "09:15", "S3")
    assert added["teacher"] == "A. Hollis"
    again = inventory("book", "import", file)
    assert "booked already" in again.out
    assert len(inventory("book", "list", "--json").json) == 1


@pytest.mark.parametrize(
    "event",
    [
        "SUMMARY:no such demo x 2\r\nDTSTART;VALUE=DATE:{on}",
        "SUMMARY:{demo} x 0\r\nDTSTART;VALUE=DATE:{on}",
        "SUMMARY:{demo}",
        "SUMMARY:{demo}\r\nDTSTART;VALUE=DATE:{on}\r\nRRULE:FREQ=SECONDLY",
    ],
)
def test_a_wrong_event_adds_nothing(inventory: Run, tmp_path: Path, event: str) -> None:
    demo = inventory("demo", "list", "--json").json[0]["code"]
    good = f"SUMMARY:{demo}\r\nDTSTART;VALUE=DATE:{SOON:%Y%m%d}"
    file = tmp_path / "term.ics"
    file.write_text(_calendar(good, event.format(demo=demo, on=f"{SOON:%Y%m%d}")))
    said = inventory("book", "import", file)
    assert (said.code, said.err.count("\n")) == (2, 1)
    assert inventory("book", "list", "--json").json == []


def test_days_are_read_as_everywhere(inventory: Run) -> None:
    monday = date.today() + timedelta(days=7 - date.today().weekday())
    plain = inventory("plan", "--from", monday, "--to", monday + timedelta(days=4), "--json").json
    assert inventory("plan", "--from", "Monday", "--to", f"{monday + timedelta(days=4):%Y%m%d}", "--json").json == plain
    code = inventory("book", "add", "silver-mirror", "--on", "monday", "--closed", "--json").json["code"]
    friday = (monday + timedelta(days=4)).isoformat()
    for day in ("friday", friday):
        moved = inventory("plan", "--from", "today", "--what-if", f"booking {code} on {day}")
        assert moved.code == 0, moved.err
    for wrong in ("someday", "2027-13-01", "9999-12-31"):
        refused = inventory("plan", "--from", wrong)
        assert (refused.code, refused.out, refused.err.count("\n")) == (2, "", 1)


def test_nothing_is_written_where_one_of_the_files_cannot_be(prep: Run, tmp_path: Path) -> None:
    def plan(*files: object) -> int:
        return prep("plan", "--sample", "--csv", "tables", *files).code

    (tmp_path / "old.ics").write_text("old")
    assert plan("--pdf", "month", "sheet.pdf") == 2
    assert plan("--pdf", "day", "none/sheet.pdf", "--ics", "old.ics") == 2
    assert plan("--ics", "old.ics", "--pdf", "week", "week.pdf", "--day", "2027-02-15") == 2
    assert plan("--ics", "none/tasks.ics") == 2
    assert not [p for p in tmp_path.rglob("*") if p.is_file() and p.name != "old.ics"]
    assert (tmp_path / "old.ics").read_text() == "old"


def test_a_booking_that_a_rule_bars_is_a_no_under_strict(inventory: Run) -> None:
    assert inventory("book", "group", "add", "Form 2").code == 0
    assert inventory("book", "add", "silver-mirror", "--on", SOON, "--group", "form 2").code == 0
    inventory("safety", "rule", "add", "silver-nitrate", "--why", "too dear")
    said = inventory("plan", "--json", "--strict")
    (barred,) = [w for w in said.json["warnings"] if w["severity"] == "stop"]
    assert barred["about"] == "B1"
    assert said.json["requirements"] == []
    assert (said.code, "left out" in said.err) == (1, True)
    assert inventory("plan").code == 0
