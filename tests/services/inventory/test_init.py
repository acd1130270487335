"""A new inventory: whole or not there, one of several at once, and all that a school's own lists say."""

from datetime import date
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import pytest

from prep.errors import PrepError, Refused
from prep.services.bookings import bookings
from prep.services.bookings.requests import BookingChange
from prep.services.inventory import backup, init
from prep.services.safety import school_rules
from prep.services.stock import orders
from tests.databases import snapshot_of
from tests.days import act
from tests.services.conftest import DAY


def begin(path: Path, said: Any) -> None:
    """Make an inventory, in a process of its own; say how it ended."""
    try:
        init.init(path, "Ada", DAY, None, "")
        said.put("made")
    except PrepError as problem:
        said.put(str(problem))


def test_of_several_at_once_one_makes_it_and_the_others_say_so(tmp_path: Path) -> None:
    path = tmp_path / "inventory.db"
    context = get_context("fork")
    said = context.Queue()
    children = [context.Process(target=begin, args=(path, said)) for _ in range(4)]
    for child in children:
        child.start()
    answers = [said.get(timeout=120) for _ in children]
    for child in children:
        child.join()
    assert answers.count("made") == 1
    assert all("there is an inventory already" in one for one in answers if one != "made")
    assert backup.check(path) == []
    assert [one.name for one in tmp_path.iterdir()] == ["inventory.db"]


def test_an_empty_file_in_its_place_is_no_inventory(tmp_path: Path) -> None:
    path = tmp_path / "inventory.db"
    path.touch()
    init.init(path, "Ada", DAY, None, "")
    assert backup.check(path) == []


# A school's own lists ------------------------------------------------------------------------------------


def test_an_order_keeps_its_packs_and_the_day_it_was_placed(school: Path, tmp_path: Path) -> None:
    (school / "orders.csv").write_text(
        "code,item,pack,packs,placed,due\nO1,sodium-hydroxide,100 g,3,2027-01-05,2027-01-18\n"
        "O2,sodium-chloride,500 g,1,,2027-01-19\n"
    )
    path = tmp_path / "inventory.db"
    init.init(path, "Ada", DAY, school, "")
    first, second = orders.list_orders(path, False)
    assert (first.pack, first.packs, first.placed) == (100_000_000, 3, date(2027, 1, 5))
    assert second.placed == DAY
    assert [order.amount for order in snapshot_of(path, DAY).orders] == [300_000_000, 500_000_000]


def test_bookings_without_a_code_get_one_each(school: Path, tmp_path: Path) -> None:
    rows = ["", "B3", "", "lesson-1"]
    (school / "bookings.csv").write_text(
        "code,date,demo\n" + "".join(f"{code},2027-01-14,blue-bottle\n" for code in rows)
    )
    path = tmp_path / "inventory.db"
    init.init(path, "Ada", DAY, school, "")
    assert {b.code for b in bookings.list_bookings(path, bookings.BookingFilter(everything=True))} == {
        "B3",
        "B4",
        "B5",
        "lesson-1",
    }


def test_the_age_group_of_a_booking_is_kept_for_the_schools_rules(school: Path, tmp_path: Path) -> None:
    (school / "bookings.csv").write_text(
        "code,date,demo,group\nB1,2027-01-14,blue-bottle,year 7\nB2,2027-01-14,blue-bottle,\n"
    )
    path = tmp_path / "inventory.db"
    init.init(path, "Ada", DAY, school, "")
    school_rules.add(path, school_rules.RuleRequest("sodium-hydroxide", group="year 7"), act("Ada", DAY))
    assert {b.code for b in snapshot_of(path, DAY).bookings} == {"B2"}
    with pytest.raises(Refused, match="Booking B1"):
        bookings.change(path, "B1", BookingChange(date(2027, 1, 15)), act("Ada", DAY))


@pytest.mark.parametrize(
    ("file", "text", "says"),
    [
        (
            "orders.csv",
            "O1,sodium-hydroxide,100 g,3,2027-01-12,2027-01-18",
            'row 2, column "placed": 2027-01-12',
        ),
        (
            "orders.csv",
            "O1,sodium-hydroxide,100 g,3,2027-01-08,2027-01-07",
            'row 2, column "due": 2027-01-07',
        ),
        ("bottles.csv", "X1,urea,1 g,,PREP,,2027-01-12,,,,", 'row 2, column "received": 2027-01-12 is still to come'),
        ("bottles.csv", "X1,urea,1 g,,PREP,,2026-01-12,2026-01-11,,,", 'row 2, column "opened": 2026-01-11 is before'),
        ("bottles.csv", "X1,urea,1 g,2020-01-01,PREP,,2026-01-12,,,,", 'row 2, column "use_by": 2020-01-01 is before'),
        ("bottles.csv", f"X1,urea,1 g,,PREP,,,,{'x' * 201},,", 'row 2, column "lot": this is at most 200'),
        ("locations.csv", f"PREP,{'x' * 81},1,", 'row 2, column "name": this is at most 80'),
        ("bookings.csv", f"B1,2027-01-14,2,{'x' * 81},A,blue-bottle,2", 'row 2, column "room": this is at most 80'),
    ],
)
def test_what_a_list_cannot_mean_names_its_cell(school: Path, tmp_path: Path, file: str, text: str, says: str) -> None:
    header = (school / file).read_text(encoding="utf-8").splitlines()[0]
    (school / file).write_text(f"{header}\n{text}\n", encoding="utf-8")
    with pytest.raises(PrepError, match=f"{file}, {says}".replace("(", r"\(")):
        init.init(tmp_path / "inventory.db", "Ada", DAY, school, "")
    assert not (tmp_path / "inventory.db").exists()


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("colour = 1", '"colour" is no setting; there are school, today'),
        ("at = 07:30:00", '"at" is no setting'),
        ("make_ahead_days = -3", "make_ahead_days is a whole number from 0"),
        ("order_margin_days = 1.5", "order_margin_days is a whole number of working days from 0 to 20."),
        ('cost_per_make = "dear"', "is no cost"),
        ('time_zone = "Europe/Atlantis"', '"Europe/Atlantis" is no time zone'),
        ('school = "a\\nb"', "school is at most 80 printable characters"),
        ("today = 9999-12-31", "today 9999-12-31 is far away"),
    ],
)
def test_a_setting_that_would_break_a_later_command_is_refused(
    school: Path, tmp_path: Path, line: str, says: str
) -> None:
    (school / "settings.toml").write_text(f"{line}\n", encoding="utf-8")
    with pytest.raises(PrepError, match=rf"settings\.toml: .*{says}"):
        init.init(tmp_path / "inventory.db", "Ada", DAY, school, "")
    assert not (tmp_path / "inventory.db").exists()
