"""What may be booked: one rule for a booking that is typed, moved, or read from a list."""

from datetime import date, timedelta
from pathlib import Path

import icalendar
import pypdfium2
import pytest

from prep.dates import day
from prep.services.bookings.booking_import import ImportOptions, import_bookings
from prep.services.safety import school_rules
from tests.cli.conftest import Run
from tests.days import act

MONDAY = date.today() + timedelta(days=35 - date.today().weekday())
SATURDAY = MONDAY + timedelta(days=5)
PAST = date(2020, 1, 6)
LONG = "x" * 3000


@pytest.fixture
def booked(inventory: Run) -> Run:
    """The inventory with one booking, and a closed Wednesday."""
    wednesday = (MONDAY + timedelta(days=2)).isoformat()
    assert inventory("plan", "closed", "add", wednesday, wednesday, "a training day").code == 0
    assert inventory("book", "add", "blue-bottle", "--on", MONDAY).code == 0
    return inventory


def test_the_list_says_how_far_each_is_at_a_usual_terminal(prep: Run) -> None:
    """Each day once, across; a booking takes three lines of 80 columns at most, and its age group is in it."""
    lines = prep("book", "list", "--sample").out.splitlines()
    assert max(map(len, lines)) <= 80
    assert " Tue 12 Jan 2027" in lines
    starts = [at for at, line in enumerate(lines) if line[:2] == " B"]
    assert len(starts) == 110
    ends = [at for at, line in enumerate(lines) if line[:2] == " B" or line[1:2] in "MTWFS" or "bookings." in line]
    assert max(min(end for end in ends if end > start) - start for start in starts) <= 3
    assert "Year 12" in next(
        line for at in starts for line in lines[at : at + 3] if lines[at].startswith(" B89 ") and "Year" in line
    )


def sheet(folder: Path, *rows: str) -> Path:
    file = folder / "term.csv"
    file.write_text("code,date,demo,period,room,teacher,group\n" + "".join(f"{row}\n" for row in rows))
    return file


@pytest.mark.parametrize(
    ("on", "room", "says"),
    [
        (PAST, "L1", f"{PAST} is past"),
        (SATURDAY, "L1", f"{SATURDAY} is closed: not a working day"),
        (MONDAY + timedelta(days=2), "L1", "is closed: a training day"),
        (MONDAY, LONG, "at most 80 printable characters"),
    ],
    ids=["past", "saturday", "closed", "long"],
)
def test_the_same_is_refused_whoever_asks(booked: Run, tmp_path: Path, on: date, room: str, says: str) -> None:
    before = booked("book", "list", "--all", "--json").out
    file = sheet(tmp_path, f",{MONDAY},blue-bottle,1,L1,A,", f',{on},blue-bottle,2,"{room}",A,')
    ways = [
        ("book", "add", "blue-bottle", "--on", on, "--room", room),
        ("book", "move", "B1", "--to", on, "--room", room),
        ("book", "import", file),
        ("book", "import", file, "--dry-run"),
    ]
    for way in ways:
        done = booked(*way)
        assert (done.code, done.err.count("\n")) == (2, 1), way
        looked = [f"term.csv, row 2: blue-bottle on {MONDAY}: would be added", "term.csv, row 3"]
        said = [line if n != 1 else line[:15] for n, line in enumerate(done.out.splitlines())]
        assert said == (looked if "--dry-run" in way else [])
        assert any(one in done.err for one in says.split("|")), done.err
        if "import" in way:
            assert "term.csv, row 3" in done.err
    assert booked("book", "list", "--all", "--json").out == before


def test_a_closed_day_may_be_booked_on_purpose(booked: Run, tmp_path: Path) -> None:
    assert booked("book", "add", "blue-bottle", "--on", SATURDAY, "--closed").code == 0
    assert booked("book", "move", "B1", "--to", SATURDAY, "--closed").code == 0
    assert booked("book", "move", "B1", "--room", "L2").code == 0  # it stays on its day
    assert booked("book", "import", sheet(tmp_path, f",{SATURDAY},blue-bottle,,,,"), "--closed").code == 0
    assert {b["date"] for b in booked("book", "list", "--json").json} == {SATURDAY.isoformat()}


def test_an_empty_code_gets_one_that_the_file_does_not_use(booked: Run, tmp_path: Path) -> None:
    file = sheet(
        tmp_path, *(f"{code},{MONDAY},blue-bottle,P{at},,," for at, code in enumerate(("", "B3", "", "B7", "")))
    )
    dry = booked("book", "import", file, "--dry-run", "--json").json
    assert [b["code"] for b in dry] == ["B8", "B3", "B9", "B7", "B10"]
    assert [b["code"] for b in booked("book", "import", file, "--json").json] == [b["code"] for b in dry]
    again = booked("book", "import", file)  # what is booked already is passed over
    assert (again.code, again.out.count("booked already"), "0 bookings added" in again.out) == (0, 5, True)
    taken = booked("book", "import", sheet(tmp_path, f"B3,{MONDAY},blue-bottle,P9,,,"))
    assert (taken.code, '"B3" is taken already' in taken.err) == (2, True)


def test_the_age_groups_of_a_list_are_kept_and_asked(booked: Run, tmp_path: Path) -> None:
    assert booked("safety", "rule", "add", "sodium-hydroxide", "--group", "year 7").code == 0
    refused = booked("book", "import", sheet(tmp_path, f",{MONDAY},blue-bottle,,,,year 7"))
    assert (refused.code, "year 7" in refused.err) == (1, True)
    unknown = booked("book", "import", sheet(tmp_path, f",{MONDAY},blue-bottle,,,,year 9"))
    assert (unknown.code, "there are year 7" in unknown.err) == (2, True)
    assert booked("book", "group", "add", "Year 9", "--also", "Y9").code == 0
    assert booked("book", "import", sheet(tmp_path, f",{MONDAY},blue-bottle,,,,y9")).code == 0
    assert booked("book", "list", "--group", "year 9", "--json").json[0]["group"] == "Year 9"
    assert booked("safety", "rule", "add", "glucose", "--group", "year 9").code == 0
    moved = booked("book", "move", "B2", "--room", "L2")
    assert (moved.code, "Booking B2" in moved.err) == (1, True)


@pytest.mark.usefixtures("booked")
def test_the_rules_are_asked_once_for_a_whole_list(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[int] = []
    monkeypatch.setattr(school_rules, "refuse_bookings", lambda _, bookings: asked.append(len(bookings)))
    file = sheet(tmp_path, *(f",{MONDAY},blue-bottle,{number},,," for number in range(200)))
    done = import_bookings(None, file, ImportOptions(dry_run=True), act("Ada", date.today()))
    assert len(done.added) == 200
    assert asked == [200]


def test_a_dry_run_names_every_row_that_cannot_be_booked(prep: Run, tmp_path: Path) -> None:
    prep("init", "--school", "Invented School")
    file = tmp_path / "rows.csv"
    file.write_text("date,demo\n2027-01-99,blue-bottle\n2027-01-14,blue-bottle\n2027-01-15,nonsense\n", "utf-8")
    looked = prep("book", "import", file, "--dry-run")
    assert looked.code == 2
    assert [line.split(",")[1].strip() for line in looked.out.splitlines()] == [
        "row 2",
        "row 3: blue-bottle on 2027-01-14: would be added",
        "row 4",
    ]
    assert "nothing was written" in looked.err
    said = prep("book", "import", file, "--dry-run", "--json")
    assert [(row["row"], row["wrong"]) for row in said.json["rows"]] == [(2, True), (3, False), (4, True)]
    done = prep("book", "import", file)
    assert "row 2" in done.err
    assert "and 1 more" in done.err
    assert prep("book", "list", "--json").json == []


@pytest.mark.on_file
def test_of_several_at_once_each_says_its_period(inventory: Run) -> None:
    """Two classes on a day are told apart."""
    said = inventory("book", "add", "blue-bottle", "--on", MONDAY, "--period", "P2", "--period", "P3").out
    assert f"B1  {day(MONDAY)} P2  blue-bottle x1" in said
    assert f"B2  {day(MONDAY)} P3  blue-bottle x1" in said


def test_what_is_wholly_short_is_said_without_a_second_figure(inventory: Run) -> None:
    """Else "7 mL; short of 6.4 mL", the one rounded to be measured and the other not, reads as if some were there."""
    lesson = next(day for n in range(1, 8) if (day := date.today() + timedelta(days=n)).weekday() < 5)
    said = inventory("book", "add", "blue-bottle", "--on", lesson, "--showings", 2)
    assert said.code == 0, said.err
    assert "7 mL of Methylene blue, 0.1 %; short of all of it" in said.out
    listed = inventory("plan", "--brief")
    assert "7 mL  Methylene blue, 0.1 %: SHORT of all of it" in listed.out
    assert "SHORT of all of it" in inventory("plan", "--day", lesson).out


def test_a_list_goes_out_as_a_calendar_and_what_is_passed_over_is_an_event_of_its_file(
    booked: Run, tmp_path: Path
) -> None:
    """Read back by the icalendar library: what, where (RFC 5545, 3.8.1.7) and of whom the calendar is."""
    booked("book", "edit", "B1", "--room", "Lab 2")
    out = tmp_path / "out.ics"
    assert booked("book", "list", "--ics", out).code == 0
    made = icalendar.Calendar.from_ical(out.read_bytes())
    (event,) = made.walk("VEVENT")
    assert (event["SUMMARY"].split(" x1")[0], event["LOCATION"], event["DTSTART"].dt) == (
        "Blue bottle",
        "Lab 2",
        MONDAY,
    )
    assert "X-WR-CALNAME" not in made  # RFC 7986, 5.1: NAME is the standard's
    feed = tmp_path / "feed.ics"
    body = f"UID:1\r\nSUMMARY:Staff meeting\r\nDTSTART;VALUE=DATE:{MONDAY:%Y%m%d}"
    feed.write_text(f"BEGIN:VCALENDAR\r\nBEGIN:VEVENT\r\n{body}\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n")
    said = booked("book", "import", feed).out
    assert said.startswith('Passed over: feed.ics, event 1: "Staff meeting"')


def test_a_list_on_paper_has_each_day_and_heading_on_a_line(prep: Run, tmp_path: Path) -> None:
    out = tmp_path / "week.pdf"
    assert prep("book", "list", "--sample", "--week", "2027-01-11", "--pdf", out).code == 0
    text = pypdfium2.PdfDocument(out)[0].get_textpage().get_text_range()
    assert [said for said in ("Group Demo Shown How far", "Tue 12 Jan 2027 P2 S3") if said not in text] == []
