"""A group of schools: on one server a schema each, or a file each; what is done in all, and transfers between two."""

import os
import threading
from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import make_url, text

from prep.errors import PrepError, Refused
from prep.resources import url_of
from prep.services.inventory import backup, init, session
from prep.services.schools import every_school, group_report, school_list, transfer
from prep.services.schools.school_list import GroupSchool
from prep.services.schools.transfer import Offer
from prep.services.stock import changes, listing, orders, places
from prep.services.stocktake import adjustments, report, stocktake
from prep.services.stocktake.entry import TypedCount, TypedFind
from prep.store import database as store
from prep.store.database import open_engine, reading, writing
from prep.store.school import schemas
from tests.databases import emptied, made_once, postgres, postgres_bin
from tests.days import act

__all__ = ["postgres"]

DAY = date(2027, 1, 11)
ACT = act("Ada", DAY)


@pytest.fixture
def listed(tmp_path: Path) -> Path:
    """A list of two schools, each with a file of its own."""
    first = f"sqlite:///{tmp_path / 'north.db'}"
    made_once(first, "a_school", lambda: init.init(tmp_path / "north.db", "Ada", DAY, None, "North School"))
    (tmp_path / "south.db").write_bytes((tmp_path / "north.db").read_bytes())
    path = tmp_path / "schools.json"
    for code in ("north", "south"):
        school = GroupSchool(code, f"{code.title()} School", f"sqlite:///{tmp_path / code}.db")
        assert not school_list.add(path, school, "Ada", DAY)
    return path


def receive(school: GroupSchool, amount: str = "500 g", item: str = "sodium-chloride") -> str:
    return changes.receive(school.db, changes.Receipt(item, amount, 1, "PREP", date(2030, 6, 1), "L7"), ACT)[0].code


def test_the_list_is_private_and_says_what_is_wrong(listed: Path) -> None:
    assert [one.code for one in school_list.read(listed)] == ["north", "south"]
    if os.name == "posix":
        assert listed.stat().st_mode & 0o077 == 0
    with pytest.raises(PrepError, match="already"):
        school_list.add(listed, GroupSchool("north", "N", "sqlite:///other.db"), "Ada", DAY)
    with pytest.raises(PrepError, match="another school"):
        school_list.add(listed, GroupSchool("east", "E", school_list.one(listed, "north").url), "Ada", DAY)
    with pytest.raises(PrepError, match="no code"):
        school_list.add(listed, GroupSchool("East End", "E", "sqlite:///other.db"), "Ada", DAY)
    with pytest.raises(PrepError, match="north, south"):
        school_list.one(listed, "west")
    for url in ("", "mysql://x/y", "a\0b", "ftp://x"):
        with pytest.raises(PrepError, match="accepted is postgresql"):
            school_list.add(listed, GroupSchool("east", "E", url), "Ada", DAY)
    for path in (Path(os.devnull), listed.parent, Path("a\0b")):  # neither a device nor a folder becomes the list
        with pytest.raises(PrepError):
            school_list._write(path, [])
    listed.write_text("nonsense")
    with pytest.raises(PrepError, match="no list of schools"):
        school_list.read(listed)


def test_one_thing_in_all_of_them(listed: Path) -> None:
    schools = school_list.read(listed)
    told: list[tuple[int, int]] = []
    found = every_school.in_each(schools, every_school.checked, lambda done, of: told.append((done, of)))
    assert [(one.school.code, one.ok) for one in found] == [("north", True), ("south", True)]
    assert told == [(1, 2), (2, 2)]
    Path(schools[0].url.removeprefix("sqlite:///")).write_bytes(b"no database at all" * 100)
    north, south = every_school.in_each(schools, every_school.planned(DAY, 2))
    assert (north.ok, south.ok) == (False, True)
    assert "\n" not in north.says


def test_a_transfer_is_a_job_in_each(listed: Path) -> None:
    north, south = school_list.read(listed)
    code = receive(north)
    given = transfer.give(north, south, Offer(code, "200 g"), ACT)
    assert [one.name for one in transfer.open_ones([north, south]).hand_overs] == [given.name]
    done = transfer.take(north, south, given, "PREP", ACT)
    assert transfer.take(north, south, given, "PREP", ACT).bottle == done.bottle  # asked again, it comes once
    assert transfer.open_ones([north, south]).hand_overs == ()
    there = listing.show(south.db, done.bottle).bottle
    assert (there.balance, there.lot, there.use_by) == (200_000_000, "L7", date(2030, 6, 1))
    assert listing.show(north.db, code).bottle.balance == 300_000_000
    second = transfer.hand_over(north, south, Offer(code, "50 g"), "PREP", ACT)
    assert listing.show(south.db, second.bottle).bottle.balance == 50_000_000  # not taken for the one before
    assert all(one.ok for one in every_school.in_each([north, south], every_school.checked))


def test_what_one_school_alone_has_undone_is_named(listed: Path) -> None:
    north, south = school_list.read(listed)
    code = receive(north)
    done = transfer.hand_over(north, south, Offer(code, "200 g"), "PREP", ACT)
    changes.undo(north.db, done.hand_over.job, ACT)
    (lone,) = transfer.open_ones([north, south]).hand_overs
    assert (lone.name, lone.taken_by, lone.amount) == (done.hand_over.name, done.job, 200_000_000)
    changes.undo(south.db, done.job, ACT)
    assert transfer.open_ones([north, south]).hand_overs == ()


def test_a_school_that_is_not_reached_keeps_no_other_from_being_asked(listed: Path) -> None:
    north, south = school_list.read(listed)
    given = transfer.give(north, south, Offer(receive(north), "200 g"), ACT)
    away = GroupSchool("west", "West School", f"sqlite:///{listed.with_name('none.db')}")
    found = transfer.open_ones([away, north, south])
    assert ([one.name for one in found.hand_overs], list(found.unreached)) == ([given.name], ["west"])


def test_nothing_is_given_to_a_place_that_there_is_not(listed: Path) -> None:
    north, south = school_list.read(listed)
    with pytest.raises(PrepError, match="no location"):
        transfer.hand_over(north, south, Offer(receive(north)), "NOWHERE", ACT)
    assert transfer.open_ones([north, south]).hand_overs == ()


def test_what_was_undone_does_not_come(listed: Path) -> None:
    north, south = school_list.read(listed)
    code = receive(north)
    given = transfer.give(north, south, Offer(code), ACT)
    changes.undo(north.db, given.job, ACT)
    assert transfer.open_ones([north, south]).hand_overs == ()
    with pytest.raises(Refused, match="undone"):
        transfer.take(north, south, given, "PREP", ACT)
    assert listing.show(north.db, code).bottle.balance == 500_000_000
    with pytest.raises(PrepError, match="itself"):
        transfer.give(north, north, Offer(code), ACT)


def test_the_report_names_what_another_has(listed: Path) -> None:
    north, south = school_list.read(listed)
    receive(north, "2.5 L", "ethanol-absolute")
    placed = orders.placed(south.db, orders.OrderRequest("ethanol-absolute", 1, "2.5 L"), ACT)
    found = group_report.report([north, south], DAY)
    (could,) = found.could_give
    assert (could.taker, could.order, could.giver) == ("south", placed.code, "north")
    held = next(one for one in found.classes if one.hazard == "Flam. Liq. 2")
    assert list(held.by_school) == ["north"]
    assert group_report.report([north], date(2031, 1, 1)).out_of_date[0].school == "north"


# On one server ------------------------------------------------------------------------------------------

on_server = pytest.mark.skipif(postgres_bin() is None, reason="PostgreSQL's programs are not installed")


@pytest.fixture
def group(request: pytest.FixtureRequest, tmp_path: Path) -> list[GroupSchool]:
    """Two schools on one server."""
    url = emptied(request.getfixturevalue("postgres"))
    path = tmp_path / "schools.json"
    schools = [GroupSchool(code, f"{code.title()} School", url) for code in ("north", "south")]

    def fill() -> None:
        for school in schools:
            assert school_list.add(path, school, "Ada", DAY)

    made_once(url, "group_of_schools", fill)
    return schools


@on_server
def test_each_school_has_its_own_schema_and_never_waits(group: list[GroupSchool]) -> None:
    north, south = group
    places.add_place(north.db, "ACID", "Acid cupboard", 2, act("Ada", DAY))
    assert "ACID" not in places.list_places(south.db)
    engine = open_engine(url_of(north.db))
    with writing(engine) as connection:
        connection.execute(text("SELECT 1"))
        assert receive(south)  # the north is writing all the while
    engine.dispose()
    found = every_school.in_each(group, every_school.checked)
    assert [one.says for one in found if not one.ok] == []


@on_server
def test_who_comes_to_a_full_server_waits_for_a_connection(
    group: list[GroupSchool], monkeypatch: pytest.MonkeyPatch
) -> None:
    engine = open_engine(group[0].url)
    with engine.connect().execution_options(write=True, isolation_level="AUTOCOMMIT") as connection:
        connection.exec_driver_sql("DROP ROLE IF EXISTS few")
        connection.exec_driver_sql("CREATE ROLE few LOGIN CONNECTION LIMIT 2")
    engine.dispose()
    few, done = make_url(group[0].url).set(username="few").render_as_string(), list[int]()

    def ask() -> None:
        engine = open_engine(few)
        with reading(engine) as connection:
            done.append(connection.execute(text("SELECT 1 FROM pg_sleep(0.05)")).scalar_one())
        engine.dispose()

    threads = [threading.Thread(target=ask) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert done == [1] * 8
    monkeypatch.setattr(store, "BUSY_MS", 100)
    first, second, third = (open_engine(few) for _ in range(3))
    with reading(first), reading(second), pytest.raises(PrepError, match="takes no more connections"), reading(third):
        pass
    first.dispose()
    second.dispose()


@on_server
def test_the_person_on_a_job_is_the_login(group: list[GroupSchool]) -> None:
    north, _ = group
    engine = open_engine(group[0].url)
    with engine.connect().execution_options(write=True, isolation_level="AUTOCOMMIT") as connection:
        connection.exec_driver_sql(schemas.rights("north"))
        for person, role in (("vane", "technician"), ("ode", "read")):
            connection.exec_driver_sql(f"DROP ROLE IF EXISTS {person}")
            connection.exec_driver_sql(f"CREATE ROLE {person} LOGIN")
            connection.exec_driver_sql(f"GRANT north_{role} TO {person}")
    engine.dispose()
    vane, ode = (
        GroupSchool("north", "North", make_url(north.url).set(username=name).render_as_string())
        for name in ("vane", "ode")
    )
    code = receive(vane)
    with session.reading(north.db) as connection:
        by = connection.execute(text("SELECT by FROM job ORDER BY id DESC LIMIT 1")).scalar()
    assert by == "vane"  # though the program said Ada
    assert listing.show(ode.db, code).bottle.balance == 500_000_000
    with pytest.raises(PrepError, match="may not"):
        changes.use(ode.db, code, "1 g", "", ACT)
    assert every_school.checked(north).ok
    assert every_school.checked(ode).ok  # of what this login may read, which people are no part of


@on_server
def test_who_counts_by_a_login_counts_and_nothing_else(group: list[GroupSchool]) -> None:
    """A whole count, from opening it to the report, is the login's; no amount is moved but by closing it."""
    north, _ = group
    code = receive(north)
    engine = open_engine(north.url)
    with engine.connect().execution_options(write=True, isolation_level="AUTOCOMMIT") as connection:
        connection.exec_driver_sql(schemas.rights("north"))
        connection.exec_driver_sql("DROP ROLE IF EXISTS brandt")
        connection.exec_driver_sql("CREATE ROLE brandt LOGIN")
        connection.exec_driver_sql("GRANT north_audit TO brandt")
    engine.dispose()
    brandt = GroupSchool("north", "North", make_url(north.url).set(username="brandt").render_as_string())
    with pytest.raises(PrepError, match="may not"):
        changes.use(brandt.db, code, "1 g", "", ACT)
    stocktake.open_count(brandt.db, None, True, ACT)
    stocktake.enter(brandt.db, None, code, TypedCount("480 g"), ACT)
    stocktake.found(brandt.db, None, TypedFind("urea", "50 g"), ACT)
    closed = adjustments.close(brandt.db, None, adjustments.LeftOpen(True, True), ACT).count
    assert (closed.opened_by, closed.closed_by) == ("brandt", "brandt")
    made = report.of_count(brandt.db, closed.code, None, DAY)
    assert {one.counted_by for one in made.says.counted} == {"brandt"}
    assert backup.check(north.db) == []
    elsewhere = GroupSchool("south", "South", brandt.url)
    with pytest.raises(PrepError, match="this account may not read it"):  # not: make an inventory there
        listing.list_stock(elsewhere.db, None, None, False, None)
