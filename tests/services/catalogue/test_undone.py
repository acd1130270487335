"""What a job did to the catalogue is undone as a whole: every record is again what it was, and the books are clean."""

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from prep.errors import Refused
from prep.services.bookings import bookings
from prep.services.bookings.requests import BookingRequest
from prep.services.catalogue import own_names, own_solutions, table_import, usual_batch
from prep.services.catalogue.own_solutions import NewSolution
from prep.services.catalogue.table_import import ImportFile
from prep.services.demos import demos
from prep.services.inventory import backup, session
from prep.services.safety import school_rules
from prep.services.stock import changes, places
from prep.services.stock.changes import Receipt
from prep.store.audit import logged_records, seals
from tests.databases import sql
from tests.days import act
from tests.services.conftest import DAY

pytestmark = [pytest.mark.on_file, pytest.mark.usefixtures("inventory")]
ACT = act("Ada", DAY)
DEMO = """name = "Salt beside salt"

[[vessel]]
name = "dish"

[[vessel.contains]]
item = "nacl-0.1"
amount = "10 mL"
"""


def _substance(folder: Path) -> None:
    sheet = folder / "substances.csv"
    sheet.write_text("code,name,form,formula\nexample-salt,Example salt,solid,NaCl\n", encoding="utf-8")
    table_import.import_substances(None, ImportFile(sheet), ACT)


def _method_in_a_sentence(folder: Path) -> None:
    """Takes the steps of a method away, all of which come back."""
    sheet = folder / "solutions.csv"
    sheet.write_text("code,name,shelf_life_days,method\nlimewater,Limewater,30,as we do it\n", encoding="utf-8")
    table_import.import_solutions(None, ImportFile(sheet, replace=True), None, ACT)


WRITES: dict[str, Callable[[Path], object]] = {
    "a solution": lambda _: own_solutions.add(None, NewSolution(of="sodium chloride", strength="0.33 M"), ACT),
    "a name": lambda _: own_names.add_name(None, "sodium chloride", "table salt of ours", ACT),
    "a usual batch": lambda _: usual_batch.set_usual(None, "nacl-0.1", "2 L", "Ada", DAY),
    "a substance": _substance,
    "a method": _method_in_a_sentence,
    "a place's name": lambda _: places.rename_place(None, "PREP", "The prep room", None, ACT),
    "a place": lambda _: places.add_place(None, "X9", "Far shelf", 9, ACT),
    "a rule": lambda _: school_rules.add(None, school_rules.RuleRequest("sodium chloride", at_most="1 mol/L"), ACT),
}


def _catalogue() -> dict[str, dict[str, logged_records.Document]]:
    with session.reading(None) as connection:
        return {kind: logged_records.standing(connection, kind) for kind in logged_records.kinds() if kind != "bottle"}


def _newest() -> int:
    with session.reading(None) as connection:
        return seals.newest_job(connection)


@pytest.mark.parametrize("what", WRITES)
def test_what_was_written_is_undone(what: str, tmp_path: Path) -> None:
    before = _catalogue()
    WRITES[what](tmp_path)
    assert _catalogue() != before
    changes.undo(None, _newest(), ACT)
    assert _catalogue() == before
    assert backup.check(None) == []


def test_a_demonstration_changed_is_what_it_was(tmp_path: Path) -> None:
    file = tmp_path / "demo.toml"
    file.write_text(DEMO, encoding="utf-8")
    assert demos.add_file(None, file, demos.AddOptions(), ACT).mistakes == ()
    first = _catalogue()
    file.write_text(DEMO.replace("10 mL", "20 mL"), encoding="utf-8")
    demos.add_file(None, file, demos.AddOptions(replace=True), ACT)
    assert _catalogue() != first
    changes.undo(None, _newest(), ACT)
    assert _catalogue() == first
    changes.undo(None, next(job for job in range(_newest(), 0, -1) if _made_a_demo(job)), ACT)
    assert "salt-beside-salt" not in _catalogue()["demo"]
    assert backup.check(None) == []


def _made_a_demo(job: int) -> bool:
    from prep.store import change_log

    with session.reading(None) as connection:
        return any(line["kind"] == "demo" and line["before"] is None for line in change_log.of(connection, job))


def test_what_something_rests_on_is_not_undone() -> None:
    own_solutions.add(None, NewSolution(of="sodium chloride", strength="0.33 M"), ACT)
    job = _newest()
    changes.receive(None, Receipt("sodium chloride, 0.33 mol/L", "500 mL", location="PREP"), ACT)
    with pytest.raises(Refused, match="is in use"):
        changes.undo(None, job, ACT)
    assert backup.check(None) == []


BENT = {
    "UPDATE substance SET cas = '7-7-7' WHERE code = 'urea'": "The substance urea is not what the last job left (cas).",
    "UPDATE booking SET room = 'Lab9' WHERE code = 'B1'": "The booking B1 is not what the last job left (room).",
}


@pytest.mark.usefixtures("inventory")
@pytest.mark.parametrize("statement", BENT)
def test_a_later_job_does_not_answer_for_a_record_that_was_bent(url: str, tmp_path: Path, statement: str) -> None:
    """Changed past the books, and then changed by a job, or beside others that are: the check names it still."""

    def lesson(day: int) -> None:
        demo = bookings.demos(None)[0].code
        asked = BookingRequest(demo, date(2027, 1, day), 1, "2", "L1", "A. Example", even_closed=True)
        bookings.add(None, asked, act("Ada", DAY))

    lesson(20)
    sql(url, statement)
    lesson(21)
    sheet = tmp_path / "substances.csv"
    sheet.write_text("code,name,form,formula\nurea,Urea of ours,solid,CH4N2O\n", encoding="utf-8")
    table_import.import_substances(None, ImportFile(sheet, replace=True), ACT)
    assert [finding.message for finding in backup.check(None)] == [BENT[statement]]
