"""The report of a count is what was signed: later jobs change nothing of it, and earlier ones are refused."""

import re
from datetime import date, timedelta
from pathlib import Path

import pytest

from prep.errors import PrepError, Refused
from prep.reports.stocktake import signed_report
from prep.reports.stocktake.count_tables import document, report_pdf
from prep.services.inventory import backup, init
from prep.services.people import people
from prep.services.safety import controlled_register
from prep.services.safety.controlled_register import ControlledRequest
from prep.services.stock import changes, found, listing, places, register, waste_bottles
from prep.services.stocktake import adjustments, report, signed_document, stocktake
from prep.services.stocktake.entry import TypedCount, TypedFind
from tests.days import act

DAY, END = date(2027, 1, 11), date(2027, 7, 1)
AS_COUNTED = adjustments.LeftOpen(False, True)


@pytest.fixture
def bottles(monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    """Two bottles of salt, two of urea and two of zinc; the second of salt is discarded in the term."""
    path = tmp_path_factory.mktemp("count") / "a.db"
    monkeypatch.setenv("PREP_DATABASE_URL", f"sqlite:///{path}")
    init.init(None, "Ada", DAY, None, "Wendlemoor School")
    codes = [
        held.code
        for item in ("sodium-chloride", "urea", "zinc-granules")
        for held in changes.receive(None, changes.Receipt(item, "500 g", 2, lot="L7"), act("Ada", DAY))
    ]
    changes.discard(None, [codes[1]], "old", act("Ada", DAY + timedelta(days=50)))
    stocktake.open_count(None, None, True, act("Ros", END))
    for code, how in zip(
        [codes[0], *codes[2:]],
        (
            TypedCount(amount="500 g"),
            TypedCount(amount="50 g"),
            TypedCount(unreadable=True),
            TypedCount(unopened=True),
            TypedCount(amount="500 g"),
        ),
        strict=True,
    ):
        stocktake.enter(None, None, code, how, act("Ros", END))
    return codes


def test_later_jobs_change_nothing_and_earlier_ones_are_refused(bottles: list[str]) -> None:
    closed = adjustments.close(None, None, AS_COUNTED, act("Ros", END))
    before = report.of_count(None, "C1", None, END)
    assert before.signed.seal == backup.sealed(None).head
    changes.use(None, bottles[0], "440 g", "", act("Ada", END))
    changes.correct(None, bottles[0], changes.Correction(lot="L8"), "", act("Ada", END))
    changes.discard(None, [bottles[5]], "", act("Ada", END + timedelta(days=2)))
    after = report.of_count(None, "C1", None, END + timedelta(days=9))
    assert (after.says, after.signed) == (before.says, before.signed)
    for late in (
        lambda: changes.set_status(None, bottles[0], "quarantine", "", act("Ada", END - timedelta(days=1))),
        lambda: changes.correct(None, bottles[0], changes.Correction(note="x"), "", act("Ada", DAY)),
    ):
        with pytest.raises(Refused, match="was signed off by count C1"):
            late()
    late_arrival = changes.Receipt("urea", "500 g", 1, lot="L9")
    with pytest.raises(Refused, match=f"C1 signed off the whole store on {END}: what is dated {DAY} is fixed"):
        changes.receive(None, late_arrival, act("Ada", DAY))
    changes.receive(None, late_arrival, act("Ada", END))
    with pytest.raises(Refused, match="is taken back by: Ros"):
        changes.undo(None, closed.job, act("Ada", END))


def test_a_sign_off_that_was_taken_back_is_printed_as_it_was(bottles: list[str]) -> None:
    closed = adjustments.close(None, None, AS_COUNTED, act("Ros", END))
    before = report.of_count(None, "C1", None, END)
    back = changes.undo(None, closed.job, act("Ros", END + timedelta(days=1)))
    changes.use(None, bottles[0], "100 g", "", act("Ada", END + timedelta(days=1)))
    with pytest.raises(Refused, match=f"prep count report --signed {closed.job}"):
        report.of_count(None, "C1", None, END + timedelta(days=2))
    again = report.of_count(None, "C1", None, END + timedelta(days=2), closed.job)
    assert (again.says, again.count, again.signed.seal) == (before.says, before.count, before.signed.seal)
    assert again.signed.stood == before.signed.stood
    assert [f"(job {back})" in line for line in again.signed.signed_before] == [True]
    with pytest.raises(PrepError, match=f"Job {back} signed off no count C1; there are: {closed.job}"):
        report.of_count(None, "C1", None, END, back)


def test_what_a_partial_count_left_out_may_still_be_put_on_the_books(bottles: list[str]) -> None:
    changes.receive(None, changes.Receipt("urea", "500 g", 1, lot="L9"), act("Ada", DAY))
    adjustments.close(None, None, adjustments.LeftOpen(True, True), act("Ros", END))
    late = changes.receive(None, changes.Receipt("urea", "250 g", 1, lot="L9"), act("Ada", DAY))
    assert late[0].balance == 250_000_000
    with pytest.raises(Refused, match="was signed off by count C1"):
        changes.use(None, bottles[0], "1 g", "", act("Ada", DAY))


def test_an_empty_bottle_that_no_sheet_lists_leaves_nothing_open(bottles: list[str]) -> None:
    """The sheet lists what holds something; a bottle used up stands on no list, and the count is whole all the same."""
    used_up = changes.receive(None, changes.Receipt("urea", "5 g", 1, lot="L9"), act("Ada", DAY))[0].code
    changes.use(None, used_up, "5 g", "", act("Ada", DAY))
    adjustments.close(None, None, AS_COUNTED, act("Ros", END))
    with pytest.raises(Refused, match="C1 signed off the whole store"):
        changes.receive(None, changes.Receipt("urea", "500 g", 1, lot="L9"), act("Ada", DAY))
    assert bottles


def test_what_was_discarded_in_the_term_is_in_the_turnover(bottles: list[str]) -> None:
    adjustments.close(None, None, AS_COUNTED, act("Ros", END))
    made = report.of_count(None, "C1", None, END).says
    for turn in made.turnover:
        total = turn.opening + turn.came_in + turn.made - turn.used - turn.discarded + turn.corrected
        assert total == turn.closing
    salt = next(turn for turn in made.turnover if turn.item == "sodium-chloride")
    assert (salt.came_in, salt.discarded, salt.closing) == (10**9, 500_000_000, 500_000_000)
    assert [line.bottle for stream in made.discarded for line in stream.lines] == [bottles[1]]
    job = next(line.job for line in listing.history(None, bottles[1], 5) if line.kind == "discard")
    with pytest.raises(Refused, match="which fixed it"):
        changes.undo(None, job, act("Ada", END))


def test_entries_that_differ_need_a_third(bottles: list[str]) -> None:
    stocktake.enter(None, None, bottles[4], TypedCount(level=5), act("Bo", END))
    with pytest.raises(Refused, match="Have a third entry made"):
        adjustments.close(None, None, AS_COUNTED, act("Ros", END))
    stocktake.enter(None, None, bottles[4], TypedCount(level=5), act("Ros", END))
    adjustments.close(None, None, AS_COUNTED, act("Ros", END))
    made = report.of_count(None, "C1", None, END)
    zinc = next(b for b in made.says.counted if b.books.bottle == bottles[4])
    assert (zinc.times, zinc.amount) == (3, 250_000_000)
    assert made.signed.causes is not None
    assert "10 times" in made.signed.causes[bottles[2]]


def test_a_bottle_that_was_only_seen_keeps_its_books(bottles: list[str]) -> None:
    adjustments.close(None, None, AS_COUNTED, act("Ros", END))
    held = next(h for h in listing.list_stock(None, None, None, True, None) if h.code == bottles[3])
    assert (held.balance, held.status) == (500_000_000, "quarantine")


def test_a_bottle_found_again_comes_back_as_it_was(bottles: list[str]) -> None:
    stocktake.enter(None, None, bottles[1], TypedCount(amount="490 g"), act("Ros", END))
    adjustments.close(None, None, AS_COUNTED, act("Ros", END))
    held = next(h for h in listing.list_stock(None, None, None, True, None) if h.code == bottles[1])
    assert (held.balance, held.status, held.lot) == (490_000_000, "in service", "L7")
    assert backup.check(None) == []


def test_a_sheet_that_comes_in_twice_is_no_recount(bottles: list[str], tmp_path: Path) -> None:
    sheet = tmp_path / "sheet.csv"
    sheet.write_text(
        f"Code,Count,Counter,Weather\n{bottles[2]},50 g,Ros,dull\n{bottles[4]},L5,Bo,dull\n", encoding="utf-8"
    )
    first = stocktake.import_sheet(None, None, stocktake.SheetFile(sheet), act("Ros", END))
    assert ([one.bottle for one in first.entries], first.repeated) == ([bottles[4]], 1)
    assert first.not_read == ("Weather",)
    again = stocktake.import_sheet(None, None, stocktake.SheetFile(sheet), act("Ros", END))
    assert (again.entries, again.refused, again.repeated) == ((), (), 2)


@pytest.mark.usefixtures("bottles")
def test_a_sheet_that_comes_in_twice_finds_nothing_twice(tmp_path: Path) -> None:
    """Two finds that are alike are two bottles; the same sheet again brings none."""
    sheet = tmp_path / "sheet.csv"
    two = ",urea,30 g,PREP,\n" * 2
    sheet.write_text(f"code,name,count,location,counter\n{two},? grey crystals,5 g,PREP,Bo\n", encoding="utf-8")
    first = stocktake.import_sheet(None, None, stocktake.SheetFile(sheet), act("Ros", END))
    assert [one.amount for one in first.entries] == [30_000_000, 30_000_000, 5_000_000]
    again = stocktake.import_sheet(None, None, stocktake.SheetFile(sheet), act("Ros", END))
    assert (again.entries, again.repeated) == ((), 3)
    sheet.write_text(f"code,name,count,location,counter\n{two},urea,30 g,PREP,\n", encoding="utf-8")
    third = stocktake.import_sheet(None, None, stocktake.SheetFile(sheet), act("Ros", END))
    assert (len(third.entries), third.repeated) == (1, 2)
    adjustments.close(None, None, AS_COUNTED, act("Ros", END))
    idle = {row[0]: str(row[2]) for row in shown("C1")["never-used"]}
    assert len(idle["Urea"].split()) == 5  # two of the term and three finds, each by its code
    assert "found" not in " ".join(idle.values())


def test_entries_that_name_different_places_need_a_third_and_move_the_bottle(bottles: list[str]) -> None:
    places.add_place(None, "ACID", "Acid cupboard", 2, act("Ada", DAY))
    code = bottles[5]
    stocktake.enter(None, None, code, TypedCount(amount="500 g", place="ACID"), act("Bo", END))
    with pytest.raises(Refused, match=r"Have a third entry made(.|\n)*at ACID|at ACID(.|\n)*third entry"):
        adjustments.close(None, None, AS_COUNTED, act("Ros", END))
    stocktake.enter(None, None, code, TypedCount(amount="500 g", place="ACID"), act("Ros", END))
    adjustments.close(None, None, AS_COUNTED, act("Ros", END))
    assert listing.show(None, code).bottle.location == "ACID"
    made = report.of_count(None, "C1", None, END).says
    assert next(b for b in made.counted if b.books.bottle == code).stands == "Acid cupboard"


def test_a_sheet_with_headings_of_its_own_and_a_level_that_needs_a_full(bottles: list[str], tmp_path: Path) -> None:
    sheet = tmp_path / "sheet.csv"
    sheet.write_text(f"Label,Counted (g),Counter\n{bottles[4]},480,Bo\n", encoding="utf-8")
    file = stocktake.SheetFile(sheet, {"code": "Label", "count": "Counted (g)"})
    taken = stocktake.import_sheet(None, None, file, act("Ros", END))
    assert [(one.bottle, one.amount) for one in taken.entries] == [(bottles[4], 480_000_000)]
    turned_up = found.found(None, found.FoundBottle("urea", "100 g", "PREP"), act("Ros", END)).code
    with pytest.raises(PrepError, match="is not on file; give it with --full"):
        stocktake.enter(None, None, turned_up, TypedCount(level=5), act("Ros", END))
    entry = stocktake.enter(None, None, turned_up, TypedCount(level=5, full="500 g"), act("Ros", END))
    assert (entry.amount, entry.verdict) == (250_000_000, None)  # blind: nothing is said of the books


def shown(code: str) -> dict[str, tuple[tuple[object, ...], ...]]:
    """The rows of every part of a count's report."""
    return {one.slug: one.rows for one in signed_report.shown(report.of_count(None, code, None, END))}


def test_waste_bottles_and_the_schools_own_list_are_in_the_report(bottles: list[str]) -> None:
    waste_bottles.new(None, "heavy metals", "2.5 L", "PREP", act("Ada", DAY))
    waste_bottles.put(None, "W1", waste_bottles.WastePortion("150 mL", "zinc residues"), act("Ada", DAY))
    register.control(None, "7440-66-6", act("Ada", DAY))
    adjustments.close(None, None, AS_COUNTED, act("Ros", END))
    first = shown("C1")
    assert [row[:3] for row in first["residues"]] == [("heavy metals", "W1", "zinc residues")]
    assert [(row[0], row[-1]) for row in first["controlled"]] == [
        (code, "the school's own list") for code in sorted(bottles[4:])
    ]
    late = waste_bottles.WastePortion("5 mL", "zinc residues")
    with pytest.raises(Refused, match=f"C1 signed off the whole store on {END}: what is dated {DAY} is fixed"):
        waste_bottles.put(None, "W1", late, act("Ada", DAY))
    with pytest.raises(Refused, match=f"what is dated {DAY} is fixed"):
        waste_bottles.empty(None, "W1", "", act("Ada", DAY))
    waste_bottles.empty(None, "W1", "", act("Ada", END + timedelta(days=2)))
    changes.discard(None, bottles[4:], "old", act("Ada", END + timedelta(days=3)))
    for days in (9, 19):
        stocktake.open_count(None, None, True, act("Ros", END + timedelta(days=days)))
        stocktake.enter(None, None, bottles[0], TypedCount(amount="500 g"), act("Ros", END + timedelta(days=days)))
        adjustments.close(None, None, adjustments.LeftOpen(True, True), act("Ros", END + timedelta(days=days)))
    assert [row[2] for row in shown("C2")["residues"]] == ["collected"]
    assert shown("C3")["residues"] == ()
    gone = next(row for row in shown("C2")["before"] if row[0] == "Zinc granules")
    assert [str(cell) for cell in gone[1:4]] == ["1 kg", "0 g", "-1 kg"]


def test_lists_of_later_days_change_nothing_that_was_signed(bottles: list[str]) -> None:
    """What is put on a list of controlled substances, or off it, after the closing is of the next term."""
    register.control(None, "7440-66-6", act("Ada", DAY))
    adjustments.close(None, None, AS_COUNTED, act("Ros", END))
    made = report.of_count(None, "C1", None, END)
    before = report_pdf(made.says, signed_report.paper(made))
    register.control(None, "57-13-6", act("Ada", END))
    register.control(None, "7440-66-6", act("Ada", END), no_longer=True)
    controlled_register.add(None, ControlledRequest("sodium chloride", "county policy 7"), act("Ada", END))
    made = report.of_count(None, "C1", None, END + timedelta(days=30))
    assert [row[0] for row in shown("C1")["controlled"]] == sorted(bottles[4:])
    assert report_pdf(made.says, signed_report.paper(made)) == before


@pytest.mark.usefixtures("bottles")
def test_the_paper_names_the_head_of_who_came_in_and_later_lines_change_nothing_of_it() -> None:
    """An auditor who has the paper can tell whether lines were taken out of the log of access."""
    people.invite(None, "Ada", ["office"], "root")
    adjustments.close(None, None, AS_COUNTED, act("Ros", END))
    printed = backup.sealed(None).access
    people.invite(None, "Ben", ["teacher"], "root")
    made = report.of_count(None, "C1", None, END)
    assert printed
    assert f"Seal of who came in: {printed} (as above)." in signed_report.heading(made)
    about = backup.sealed(None, printed)
    assert (about.proved, about.line) == (None, 1)
    assert backup.sealed(None, "0123-4567-89ab-cdef").line is None


def test_what_was_only_seen_is_not_said_to_be_as_the_books(bottles: list[str]) -> None:
    adjustments.close(None, None, AS_COUNTED, act("Ros", END))
    says = {one["bottle"]: one["says"] for one in document(report.of_count(None, "C1", None, END).says)["counted"]}
    assert says[bottles[2]] != "seen, not measured" == says[bottles[3]]


@pytest.mark.usefixtures("bottles")
def test_what_nobody_can_name_is_counted_as_it_was_typed_and_put_on_the_books() -> None:
    with pytest.raises(PrepError, match="What is not on file is written down without a name"):
        stocktake.found(None, None, TypedFind("Vexol cleaner", "50 mL", "PREP"), act("Ros", END))
    stocktake.found(None, None, TypedFind(None, "35 g", "PREP", "green crystals"), act("Ros", END))
    stocktake.found(None, None, TypedFind(None, "50 mL", "PREP", "Vexol cleaner"), act("Ros", END))
    stocktake.found(None, None, TypedFind(None, None, "PREP", "stuck shut"), act("Ros", END))
    done = adjustments.close(None, None, AS_COUNTED, act("Ros", END))
    assert [(b.shown, b.status) for b in done.new_bottles] == [("35 g", "quarantine"), ("50 mL", "quarantine")]
    made = report.of_count(None, "C1", None, END)
    turned = {t.name: (t.closing, t.measure.value) for t in made.says.turnover}
    assert turned["Not identified 1: green crystals"] == (35_000_000, "mass")
    assert turned["Not identified 2: Vexol cleaner"] == (50_000_000, "volume")
    found_rows = next(part for part in signed_report.shown(made) if part.slug == "found").text
    codes = [b.code for b in done.new_bottles]
    assert [(row[0], row[2]) for row in found_rows] == [(codes[0], "35 g"), (codes[1], "50 mL"), ("(found 3)", "")]
    assert backup.check(None) == []
    changes.undo(None, done.job, act("Ros", END))
    assert backup.check(None) == []
    again = adjustments.close(None, None, AS_COUNTED, act("Ros", END))
    assert [b.shown for b in again.new_bottles] == ["35 g", "50 mL"]
    # the codes may be on the labels already: the same finds keep them, and are the same things
    assert [(b.code, b.name) for b in again.new_bottles] == [(b.code, b.name) for b in done.new_bottles]
    assert [b.status for b in again.new_bottles] == ["quarantine", "quarantine"]
    assert backup.check(None) == []


@pytest.mark.usefixtures("bottles")
def test_a_find_keeps_its_code_when_another_is_found_before_the_count_is_closed_again() -> None:
    stocktake.found(None, None, TypedFind("urea", "250 g", "PREP", ""), act("Ros", END))
    stocktake.found(None, None, TypedFind("urea", "100 g", "PREP", ""), act("Ros", END))
    done = adjustments.close(None, None, AS_COUNTED, act("Ros", END))
    changes.undo(None, done.job, act("Ros", END))
    stocktake.found(None, None, TypedFind("urea", "70 g", "PREP", ""), act("Ros", END))
    again = adjustments.close(None, None, AS_COUNTED, act("Ros", END))
    by_amount = {b.shown: b.code for b in again.new_bottles}
    assert {b.shown: b.code for b in done.new_bottles}.items() <= by_amount.items()
    assert len(set(by_amount.values())) == 3
    assert report.of_count(None, "C1", None, END).signed.new_codes is not None
    assert backup.check(None) == []


@pytest.mark.usefixtures("bottles")
def test_a_row_of_what_is_not_on_file_has_a_question_mark(tmp_path: Path) -> None:
    sheet = tmp_path / "sheet.csv"
    sheet.write_text("code,name,count,location\n,? Vexol cleaner,50 mL,PREP\n,Vexol cleaner,50 mL,PREP\n")
    taken = stocktake.import_sheet(None, None, stocktake.SheetFile(sheet), act("Ros", END))
    assert [one.amount for one in taken.entries] == [50_000_000]
    assert "a row of a sheet has ? before the name" in taken.refused[0]


def test_two_entries_that_are_not_alike_are_to_be_looked_at_again(bottles: list[str]) -> None:
    assert bottles[4] not in stocktake.progress(None, None).recount
    places.add_place(None, "COLD", "Cold store", 2, act("Ada", DAY))
    stocktake.enter(None, None, bottles[4], TypedCount(unopened=True, place="COLD"), act("Bo", END))
    state = stocktake.progress(None, None)
    assert bottles[4] in state.recount
    assert "at COLD by Bo" in state.disagreeing[bottles[4]]


@pytest.mark.usefixtures("bottles")
def test_the_parts_of_a_stored_document_are_called_the_same_in_every_version() -> None:
    """By the words of the first version: what was signed is never written anew."""
    adjustments.close(None, None, AS_COUNTED, act("Ros", END))
    text = signed_document.written(report.of_count(None, "C1", None, END).signed)
    called = set(re.findall(r'"is":"(\w+)"', text)) - {"dict", "date", "Decimal", "Measure", "InstrumentKind"}
    first = {
        "Books",
        "CountLine",
        "Flow",
        "Instrument",
        "Judged",
        "SignedCount",
        "Stood",
        "Units",
        "Verdict",
        "Weighed",
    }
    assert {"SignedCount", "Stood", "CountLine", "Verdict", "Books", "Units"} <= called <= first
