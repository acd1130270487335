"""The invented school: its rows agree with each other, and each situation that its README promises is in them."""

import csv
import re
from collections import Counter, defaultdict
from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path

import pytest

from prep.chemistry.quantities import amount
from prep.planning.engine.requirements import NeededItem, needs_of
from prep.planning.model import Batch, Horizon, Plan, Requirement
from prep.planning.plan import make_plan
from prep.resources import seed_data
from prep.services.catalogue.on_file import OnFile
from prep.services.catalogue.seed import read_catalogue
from prep.services.plan.snapshot import sample
from prep.services.school.folder import School, ShelfBottle, read_school

FOLDER = seed_data() / "school"
PERMANGANATE = ("kmno4-acid", "kmno4-0.02")


def _read(name: str) -> list[dict[str, str]]:
    with (FOLDER / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@cache
def _catalogue() -> OnFile:
    return read_catalogue(seed_data())


@cache
def _school() -> School:
    return read_school(FOLDER, _catalogue())


@cache
def _plan() -> Plan:
    found = sample()
    return make_plan(found.snapshot, Horizon(found.start, found.end))


@cache
def _today() -> date:
    today = _school().today
    assert today
    return today


def _bottles(item: str) -> list[ShelfBottle]:
    return [held for held in _school().bottles if held.bottle.item == item]


def _bookings_of(demo: str) -> list[date]:
    return sorted(booking.on for booking in _school().bookings if booking.demo == demo)


def _batches(solution: str) -> list[Batch]:
    return [batch for batch in _plan().batches if batch.solution == solution]


# The rows among themselves -----------------------------------------------------------------------------


def test_there_is_enough_of_everything() -> None:
    school = _school()
    assert len(school.bottles) >= 140
    assert len(school.locations) >= 4
    assert {held.bottle.location for held in school.bottles} == {place.code for place in school.locations}
    assert len(school.bookings) >= 80
    assert len({booking.teacher for booking in school.bookings}) >= 5
    assert len({booking.room for booking in school.bookings}) >= 4
    shown = {booking.demo for booking in school.bookings if booking.demo}
    assert shown <= set(_catalogue().demos)
    assert len(shown) >= 60


def test_the_folder_says_that_it_is_invented() -> None:
    assert "invented" in _school().name
    assert "made up" in (FOLDER / "README.md").read_text(encoding="utf-8")


def test_bottle_codes_are_hard_to_misread() -> None:
    codes = [row["code"] for row in _read("bottles.csv")]
    assert len(set(codes)) == len(codes)
    assert [code for code in codes if not re.fullmatch(r"(?:[B-DF-HJKMNP-RTV-Z][2346-9]){2}", code)] == []


def test_bookings_are_on_working_days_inside_the_half_term() -> None:
    school = _school()
    assert school.start
    assert school.end
    for booking in school.bookings:
        assert school.start < booking.on <= school.end, booking.code
        assert booking.on.weekday() in school.calendar.weekdays, booking.code
        assert booking.on not in school.calendar.closed, booking.code


def test_no_room_and_no_teacher_is_in_two_places_at_once() -> None:
    rooms = Counter((b.on, b.period, b.room) for b in _school().bookings)
    teachers = Counter((b.on, b.period, b.teacher) for b in _school().bookings)
    assert max(rooms.values()) == max(teachers.values()) == 1


def test_a_bottle_is_received_before_it_is_opened_and_neither_is_yet_to_come() -> None:
    for held in _school().bottles:
        bottle = held.bottle
        assert bottle.received, bottle.code
        assert bottle.received <= (held.opened or bottle.received) <= _today(), bottle.code
        assert bottle.use_by is None or bottle.use_by > bottle.received, bottle.code
        assert bottle.amount > 0 or bottle.status == "discarded", bottle.code


def test_no_bottle_holds_more_than_it_was_bought_with() -> None:
    for held in _school().bottles:
        rule = _catalogue().rules.get(held.bottle.item)
        if rule and rule.packs:
            assert held.bottle.amount <= max(rule.packs), held.bottle.code


def test_what_was_made_here_is_dated_by_its_shelf_life() -> None:
    for held in _school().bottles:
        solution = _catalogue().solutions.get(held.bottle.item)
        if solution and held.bottle.received and held.bottle.use_by:
            assert (held.bottle.use_by - held.bottle.received).days <= solution.shelf_life_days, held.bottle.code
            assert held.lot == "", held.bottle.code


def test_orders_were_placed_and_are_still_to_come() -> None:
    for row in _read("orders.csv"):
        assert date.fromisoformat(row["placed"]) <= _today() < date.fromisoformat(row["due"])
        assert amount(row["pack"]).base > 0


def test_the_readme_names_rows_that_are_there() -> None:
    text = (FOLDER / "README.md").read_text(encoding="utf-8")
    bottles = {held.bottle.code for held in _school().bottles}
    bookings = {booking.code for booking in _school().bookings}
    named = set(re.findall(r"\b(?:[B-DF-HJKMNP-RTV-Z][2346-9]){2}\b", text))
    assert len(named) >= 15
    assert named <= bottles
    assert set(re.findall(r"\bB\d{1,3}\b", text)) <= bookings
    counts = dict(re.findall(r"^\| (\w+\.csv) \| (\d+) ", text, re.MULTILINE))
    assert counts == {name: str(len(_read(name))) for name in counts}
    assert set(counts) == {"locations.csv", "bottles.csv", "orders.csv", "bookings.csv"}


def test_names_that_a_careless_printer_would_spoil_are_there() -> None:
    assert any("NaOH [aq]" in held.note for held in _school().bottles)
    assert any(not booking.teacher.isascii() for booking in _school().bookings)


# What the README promises ------------------------------------------------------------------------------


def test_a_stock_goes_off_before_its_last_use() -> None:
    (stock,) = _bottles("thiosulfate-0.2")
    uses = _bookings_of("thiosulfate-rate")
    assert stock.bottle.use_by
    assert min(uses) <= stock.bottle.use_by < max(uses)
    drawn = [take.on for line in _plan().bottles if line.code == stock.bottle.code for take in line.takes]
    assert drawn
    assert max(drawn) <= stock.bottle.use_by
    assert _batches("thiosulfate-0.2")


def test_two_bookings_compete_for_one_bottle() -> None:
    (stock,) = _bottles("agno3-0.1")
    wants: list[Requirement] = [r for r in _plan().requirements if r.item == "agno3-0.1"]
    assert all(r.amount <= stock.bottle.amount for r in wants)
    assert sum(r.amount for r in wants) > stock.bottle.amount
    from_it = [r for r in wants if any(share.ref == stock.bottle.code for share in r.served)]
    assert len(from_it) >= 1
    assert any(share.kind == "batch" for r in wants for share in r.served)


def test_what_is_out_of_date_is_there_and_is_not_used() -> None:
    late = {held.bottle.code for held in _school().bottles if (held.bottle.use_by or date.max) < _today()}
    assert len(late) >= 3
    assert [line.code for line in _plan().bottles if line.code in late and line.takes] == []
    assert {finding.about for finding in _plan().findings} >= {
        held.bottle.code for held in _school().bottles if held.bottle.code in late and held.bottle.amount
    } - {held.bottle.code for held in _school().bottles if held.bottle.status != "in service"}


def test_a_concentrated_reagent_runs_out() -> None:
    held = sum(b.bottle.amount for b in _bottles("hydrochloric-acid"))
    taken = sum(take.amount for batch in _plan().batches for take in batch.takes if take.item == "hydrochloric-acid")
    assert taken > held
    assert [line for line in _plan().orders if line.item == "hydrochloric-acid"]


def test_one_order_comes_too_late_and_in_time_for_another_booking() -> None:
    (order,) = (o for o in _school().orders if o.item == "strontium-chloride-6-water")
    (solid,) = _bottles("strontium-chloride-6-water")
    uses = _bookings_of("flame-colours")
    assert min(uses) < order.due < max(uses)
    first = next(b for b in _school().bookings if b.demo == "flame-colours" and b.on == min(uses))
    wanted_nl = needs_of(_catalogue().demos["flame-colours"], first.showings)[NeededItem("srcl2-0.5", False)]
    # 0.5 mol/L of SrCl2.6H2O, 266.6 g/mol (from memory: CRC Handbook): 133 mg in each mL
    assert solid.bottle.amount < wanted_nl * 133 / 1000
    assert next(r.short for r in _plan().requirements if r.booking == first.code and r.item == "srcl2-0.5") > 0


def test_another_order_comes_in_time_and_is_used() -> None:
    (order,) = (o for o in _school().orders if o.item == "polyvinyl-alcohol")
    takes = [take for batch in _batches("pva-4") for take in batch.takes]
    assert order.code in {take.ref for take in takes}
    assert all(batch.make_on >= order.due for batch in _batches("pva-4"))
    assert not [r for r in _plan().requirements if r.item == "pva-4" and r.short]


def test_nothing_is_made_in_the_closure_week_or_on_the_closed_day() -> None:
    closed = set(_school().calendar.closed)
    weeks: dict[tuple[int, int], int] = defaultdict(int)
    for day in closed:
        weeks[day.isocalendar()[:2]] += 1
    assert sorted(weeks.values()) == [1, 5]
    assert not [batch.id for batch in _plan().batches if batch.make_on in closed]
    monday = date(2027, 2, 22)
    assert [r for r in _plan().requirements if r.needed_on == monday and r.ready_by == date(2027, 2, 12)]


def test_a_solution_is_made_from_a_stock_that_must_itself_be_made() -> None:
    refs = {
        (batch.solution, take.ref.partition("@")[0])
        for batch in _plan().batches
        for take in batch.takes
        if take.kind == "batch"
    }
    assert PERMANGANATE in refs
    assert ("iodine-starch-test", "iodine-0.005") in refs


@pytest.mark.parametrize(
    ("solution", "held", "named"),
    [
        ("mgso4-0.5", "magnesium-sulfate", "magnesium-sulfate-7-water"),
        ("sodium-carbonate-0.1", "sodium-carbonate-10-water", "sodium-carbonate"),
    ],
)
def test_a_solid_is_held_only_as_another_hydrate(solution: str, held: str, named: str) -> None:
    assert _bottles(held)
    assert not _bottles(named)
    assert _catalogue().substances[named].solute == _catalogue().solutions[solution].solute
    batches = _batches(solution)
    assert batches
    assert {take.item for batch in batches for take in batch.takes} == {held}


@pytest.mark.parametrize(
    ("location", "stranger", "neighbour"),
    [
        ("FLAM", "oxidiser", "flammable_liquid"),
        ("ACID", "hypochlorite", "acid_inorganic_nonoxidising"),
        ("ACID", "base_caustic", "acid_inorganic_oxidising"),
        ("ACID", "acid_organic", "acid_inorganic_oxidising"),
    ],
)
def test_storage_conflicts_stand_where_the_readme_says(location: str, stranger: str, neighbour: str) -> None:
    groups = {
        _catalogue().substances[held.bottle.item].storage_group
        for held in _school().bottles
        if held.bottle.location == location and held.bottle.item in _catalogue().substances
    }
    assert {stranger, neighbour} <= groups


def test_a_metal_that_fears_water_stands_among_watery_solutions() -> None:
    cold = [held.bottle.item for held in _school().bottles if held.bottle.location == "COLD"]
    assert any(_catalogue().substances[i].storage_group == "alkali_metal" for i in cold if i in _catalogue().substances)
    assert any(item in _catalogue().solutions for item in cold)


def test_one_booking_waits_to_be_allowed() -> None:
    """The employer is asked before vapour is burnt in a bottle; everything it takes is there."""
    (waits,) = [found for found in _plan().findings if found.code == "ask-first"]
    assert waits.about == "B103"
    assert "prep book allow B103" in waits.cure
    assert not [need for need in _plan().requirements if need.booking == "B103" and need.short]
    allowed = {found.about for found in _plan().findings if found.code == "allowed"}
    asked = {b.code for b in _school().bookings if b.demo and _catalogue().demos[b.demo].ask_first}
    assert len(asked) == 22
    assert allowed == asked - {"B103"}


def test_an_age_group_is_barred() -> None:
    (barred,) = [found for found in _plan().findings if found.code == "barred"]
    assert (barred.about, barred.severity) == ("B110", "stop")
    assert "before Year 10" in barred.message
    assert not [need for need in _plan().requirements if need.booking == "B110"]


def test_a_day_has_too_few_minutes_and_one_has_none() -> None:
    (full,) = [found for found in _plan().findings if found.code == "day-too-full"]
    assert full.about == "2027-01-20"
    assert not [batch for batch in _plan().batches if batch.make_on == date(2027, 2, 23)]
    without = replace(sample().snapshot, calendar=replace(_school().calendar, minutes_on={}))
    usual = make_plan(without, Horizon(_today(), date(2027, 2, 26)))
    moved = {batch.solution for batch in usual.batches if batch.make_on == date(2027, 2, 23)}
    assert moved
    assert moved <= {batch.solution for batch in _plan().batches if batch.make_on == date(2027, 2, 22)}


def test_a_trial_run_takes_as_much_as_a_showing() -> None:
    (tried,) = [booking for booking in _school().bookings if booking.trials]
    assert (tried.showings, tried.trials) == (1, 1)
    wanted = needs_of(_catalogue().demos[tried.demo], 2)
    assert {(r.item, r.amount) for r in _plan().requirements if r.booking == tried.code} == {
        (needed.item, amount) for needed, amount in wanted.items()
    }


def test_a_booking_comes_again_and_a_plain_solution_is_a_class_set() -> None:
    weekly = [b for b in _school().bookings if b.demo == "breath-tests"]
    assert [(b.on - weekly[0].on).days for b in weekly] == [0, 7, 14]
    assert len({(b.period, b.room, b.teacher, b.group, b.showings) for b in weekly}) == 1
    (plain,) = [b for b in _school().bookings if b.item]
    assert (plain.item, plain.portion, plain.showings) == ("hcl-1", 50_000_000, 15)
    assert [r.amount for r in _plan().requirements if r.booking == plain.code] == [825_000_000]


def test_a_strength_is_still_to_be_found() -> None:
    (batch,) = [b for b in _plan().batches if b.solution == "naoh-0.1" and b.make_on == date(2027, 2, 1)]
    assert any("find it against" in step.text for step in batch.steps)


def test_each_department_has_bookings() -> None:
    rooms = Counter(booking.room.split()[0] for booking in _school().bookings)
    assert {"Biology", "Physics", "Lecture", "S1", "Annexe"} <= set(rooms)


def test_every_data_set_stands_in_the_page_on_sources() -> None:
    page = (seed_data() / "README.md").read_text(encoding="utf-8")
    files = [path.name for path in seed_data().rglob("*") if path.suffix in (".csv", ".toml")]
    ours = [name for name in files if not (FOLDER / name).exists()]
    assert [name for name in ours if f"{name}`" not in page] == []
    assert len(ours) > 40


# Made up, every one; whoever adds a person, a room, a school or a firm makes it up too, and adds it here.
INVENTED = {
    "teacher": {
        "T. Okonjo", "R. Dunmore", "M. Quill", "I. Varga", "S. Brandt", "A. Hollis", "J. Mäkelä", "E. Vantongeren",
        "L. Abernethy",
    },
    "by": {"R. Vane", "K. Ode", "Ada"},
    "supplier": {"Example Chemicals"},
    "school": {"Wendlemoor School"},
    "who": {"the head", "the employer's adviser"},
    "first": {"R. Vane"},
}  # fmt: skip
ROOMS = {"S1", "S2", "S3", "S4", "Lecture", "Biology 1", "Biology 2", "Physics 1", "Annexe hall"}


def test_no_real_name_stands_in_the_sample_or_the_examples() -> None:
    """People, rooms and firms are those of the list above, wherever the sample, the README or a help names one."""
    bookings = _read("bookings.csv")
    assert {row["teacher"] for row in bookings} == INVENTED["teacher"]
    assert {row["room"] for row in bookings} == ROOMS
    assert _school().name == "Wendlemoor School (invented)"
    people = {name for names in INVENTED.values() for name in names}
    initialled = re.compile(r"\b[A-Z]\. [A-Z]\w+")
    for path in sorted(FOLDER.iterdir()):
        assert set(initialled.findall(path.read_text(encoding="utf-8"))) <= people, path.name
    root = Path(__file__).parents[1]
    for path in (root / "README.md", *sorted((root / "prep" / "cli").rglob("*.py"))):
        for option, name in re.findall(r'--(teacher|by|supplier|school|who|first) "([^"]+)"', path.read_text("utf-8")):
            assert name in people | {"NAME"}, (path.name, option, name)
