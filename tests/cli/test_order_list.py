"""`prep order list` names what is overdue, and what comes on the day of use, with the bookings that wait for it."""

from datetime import date
from pathlib import Path

import pytest

from prep.cli import common
from tests.cli.conftest import Run
from tests.databases import made_once

SCHOOL = {
    "settings.toml": 'school = "Invented School"\n',
    "locations.csv": "code,name,walk_order\nPREP,Prep room,1\n",
    "bottles.csv": "code,item,amount,use_by,location,received\n",
    "orders.csv": "code,item,pack,packs,placed,due\n"
    "P1,hydrochloric-acid,2.5 L,1,2026-12-20,2027-01-08\n"
    "P2,yeast,500 g,1,2026-12-20,2027-01-12\n"
    "P3,sodium-chloride,250 g,2,2026-12-20,2027-01-10\n",
    "bookings.csv": "code,date,period,room,demo,showings\nB2,2027-01-12,P2,Lab1,magnesium-rate,2\n"
    "B3,2027-01-12,P4,Lab2,yeast-respiration,1\n",
}


@pytest.fixture
def waiting(prep: Run, url: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """A Monday with nothing on the shelf: acid overdue, yeast due on the day of the booking itself."""
    monkeypatch.setattr(common, "today", lambda: date(2027, 1, 11))
    folder = tmp_path / "school"
    folder.mkdir()
    for name, text in SCHOOL.items():
        (folder / name).write_text(text, encoding="utf-8")

    def fill() -> None:
        done = prep("init", "--from", folder)
        assert done.code == 0, done.err

    made_once(url, "orders_on_their_way", fill)
    return prep


def test_each_order_has_its_days_and_its_bookings(waiting: Run) -> None:
    placed = waiting("order", "list", "--json").json["placed"]
    assert {o["code"]: (o["days_late"], o["waiting"], o["on_the_day"]) for o in placed} == {
        "P1": (3, ["B2"], []),
        "P2": (0, ["B3"], ["B3"]),
        "P3": (1, [], []),
    }
    shown = " ".join(waiting("order", "list").out.split())
    assert shown.count("OVERDUE") == 2
    assert "by 3 d" in shown
    assert "day of B3" in shown
    plan = " ".join(waiting("plan").out.split())
    assert "3 days ago; B2 waits for it" in plan
    assert "the day of use itself; B3 (P4) rests on it" in plan


def test_a_list_of_no_order_says_so(waiting: Run) -> None:
    for code in ("P1", "P2", "P3"):
        assert waiting("order", "cancel", code, "--by", "Ada").code == 0
    shown = waiting("order", "list").out
    assert "ON ITS WAY\n  Nothing." in shown
    assert "Packs" not in shown.partition("ON ITS WAY")[2]


def test_codes_stand_in_the_order_in_which_people_count(waiting: Run) -> None:
    """P2 before P10, on the list of orders as in what a booking and an order name."""
    for _ in range(8):
        done = waiting("order", "placed", "sodium-chloride", "--pack", "250 g", "--due", "2027-01-20")
        assert done.code == 0, done.err
    placed = [one["code"] for one in waiting("order", "list", "--json").json["placed"]]
    assert placed[-8:] == [f"P{n}" for n in range(4, 12)]
    for n in range(8):
        assert waiting("book", "add", "yeast-respiration", "--on", "2027-01-13", "--room", f"Lab{n}").code == 0
    told = waiting("plan", "--day", "2027-01-12").out
    assert "B3, B4, B5, B6, B7, B8, B9, B10, B11 wait for it" in " ".join(told.split())
