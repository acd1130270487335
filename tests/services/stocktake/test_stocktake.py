"""The count on each kind of database: noise stays, a loss shows, and the next term starts from what was found."""

import random
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

import pytest

from prep.errors import PrepError, Refused
from prep.services.inventory import backup, export
from prep.services.stock import changes, listing
from prep.services.stocktake import adjustments, notation, stocktake
from prep.services.stocktake import report as stocktake_report
from prep.services.stocktake.entry import TypedCount, TypedFind
from tests.days import act
from tests.services.conftest import DAY

END = date(2027, 7, 1)


def balance(code: str) -> int:
    return listing.show(None, code).bottle.balance


@pytest.mark.usefixtures("inventory")
def test_noise_is_not_flagged_and_a_loss_is() -> None:
    """Twelve takings, each off by up to 5 %: the books are wrong by what measuring explains. 200 g gone are not."""
    draw = random.Random(4)
    true, lost = {}, []
    codes = [
        h.code
        for h in changes.receive(
            None, changes.Receipt("sodium-chloride", "1 kg", 6, "PREP", None, "", ""), act("Ada", DAY)
        )
    ]
    for code in codes:
        really = Decimal(1000)
        for day in range(12):
            changes.use(None, code, "20 g", "", act("Ada", DAY + timedelta(days=day)))
            really -= Decimal(20) * (1 + Decimal(draw.uniform(-0.05, 0.05)))
        true[code] = really
    lost = codes[:2]
    stocktake.open_count(None, "PREP", False, act("Ada", END))
    for code in codes:
        there = true[code] - (200 if code in lost else 0)
        gross = (there + 310).quantize(Decimal("0.1"))
        stocktake.enter(
            None, None, code, TypedCount(gross=f"{gross} g", tare="310 g", balance="balance-0.1"), act("Ada", END)
        )
    state = stocktake.progress(None, None)
    assert set(state.recount) == set(lost)
    with pytest.raises(Refused, match="Counted once"):
        adjustments.close(None, None, adjustments.LeftOpen(True, False), act("Ada", END))
    closed = adjustments.close(None, None, adjustments.LeftOpen(True, True), act("Bo", END))
    assert set(lost) <= {v.bottle for v in closed.adjusted}
    for code in codes:
        there = true[code] - (200 if code in lost else 0)
        assert abs(balance(code) - there * 10**6) < 25 * 10**6
    assert backup.check(None) == []
    made = stocktake_report.of_count(None, "C1", None, END)
    report, school = made.says, made.signed.school
    assert school == "Invented School"
    assert [v.bottle for v in report.differences[:2]] != []
    assert {v.bottle for v in report.differences if v.flagged} == set(lost)
    salt = next(t for t in report.turnover if t.item == "sodium-chloride")
    assert (salt.came_in, salt.used) == (6 * 10**9, 6 * 240 * 10**6)
    assert salt.opening + salt.came_in - salt.used + salt.corrected == salt.closing


@pytest.mark.usefixtures("inventory")
def test_two_people_count_two_places_at_once() -> None:
    stocktake.open_count(None, "ACID", False, act("Ada", END))
    stocktake.open_count(None, "PREP", True, act("Bo", END))
    with pytest.raises(PrepError, match="Several counts are open"):
        stocktake.enter(None, None, "AC1", TypedCount(amount="2 L"), act("Ada", END))
    with pytest.raises(PrepError, match="is at ACID on the books"):
        stocktake.enter(None, "C2", "AC1", TypedCount(amount="2 L"), act("Bo", END))
    stocktake.enter(None, "C2", "AC1", TypedCount(amount="2.5 L", place="PREP"), act("Bo", END))  # it stood there
    shown = stocktake.enter(None, "C2", "HC1", TypedCount(amount="500 mL"), act("Bo", END))
    assert shown.verdict is None  # a blind count says nothing
    adjustments.close(None, "C2", adjustments.LeftOpen(True, True), act("Bo", END))
    assert listing.show(None, "AC1").bottle.location == "PREP"
    assert balance("HC1") == 500 * 10**6
    stocktake.drop(None, "C1", act("Bo", END))
    assert [c.status for c in stocktake.counts(None)] == ["dropped", "closed"]
    with pytest.raises(Refused, match="signed off by count C2"):
        changes.use(None, "HC1", "1 mL", "", act("Ada", DAY))
    changes.use(None, "HC1", "1 mL", "", act("Ada", END))


@pytest.mark.usefixtures("inventory")
def test_what_is_discarded_or_used_up_since_is_not_counted_below_nothing() -> None:
    stocktake.open_count(None, "PREP", False, act("Ada", END))
    stocktake.enter(None, None, "HC1", TypedCount(amount="100 mL"), act("Ada", END))
    changes.use(None, "HC1", "900 mL", "", act("Bo", END))
    with pytest.raises(Refused, match="used since it was counted"):
        adjustments.close(None, None, adjustments.LeftOpen(True, True), act("Ada", END))
    assert balance("HC1") == 50 * 10**6
    stocktake.enter(None, None, "HC1", TypedCount(amount="0"), act("Ada", END))
    with pytest.raises(Refused, match="Have a third entry made"):
        adjustments.close(None, None, adjustments.LeftOpen(True, True), act("Ada", END))
    stocktake.enter(None, None, "HC1", TypedCount(amount="0"), act("Bo", END))
    adjustments.close(None, None, adjustments.LeftOpen(True, True), act("Ada", END))
    assert balance("HC1") == 0


@pytest.mark.usefixtures("inventory")
def test_an_undone_count_is_open_again_and_posts_once() -> None:
    stocktake.open_count(None, "PREP", False, act("Ada", END))
    stocktake.found(None, None, TypedFind("sodium chloride", "250 g", "PREP", ""), act("Ada", END))
    stocktake.enter(None, None, "HC1", TypedCount(amount="500 mL"), act("Ada", END))
    first = adjustments.close(None, None, adjustments.LeftOpen(True, True), act("Ada", END))
    new = first.new_bottles[0].code
    changes.undo(None, first.job, act("Ada", END))
    assert (balance("HC1"), balance(new)) == (950 * 10**6, 0)
    assert stocktake.counts(None)[0].status == "open"
    second = adjustments.close(None, None, adjustments.LeftOpen(True, True), act("Ada", END))
    assert (balance("HC1"), balance(second.new_bottles[0].code)) == (500 * 10**6, 250 * 10**6)
    changes.use(None, second.new_bottles[0].code, "10 g", "", act("Bo", END))
    with pytest.raises(Refused, match=r"Job \d+ cannot be undone"):
        changes.undo(None, second.job, act("Ada", END))
    assert backup.check(None) == []


@pytest.mark.usefixtures("inventory")
def test_the_whole_inventory_out_and_in_again(tmp_path: Path) -> None:
    stocktake.open_count(None, "PREP", False, act("Ada", END))
    stocktake.enter(None, None, "HC1", TypedCount(amount="500 mL"), act("Ada", END))
    adjustments.close(None, None, adjustments.LeftOpen(True, True), act("Ada", END))
    done = export.export(None, tmp_path / "out")
    assert done.rows["signoff"] == 1
    back = tmp_path / "back.db"
    assert export.import_(back, tmp_path / "out").rows == done.rows
    export.export(back, tmp_path / "again")
    for part in (tmp_path / "out").iterdir():
        assert part.read_bytes() == (tmp_path / "again" / part.name).read_bytes()
    assert changes.receive(back, changes.Receipt("urea", "5 g", 1, "PREP", None, "", ""), act("Ada", END))


def test_an_import_into_a_server_goes_on_with_its_own_numbers(
    url: str, tmp_path: Path, school: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from prep.services.inventory import init

    old = tmp_path / "old.db"
    init.init(old, "Ada", DAY, school, "")
    changes.use(old, "HC1", "1 mL", "", act("Ada", DAY))
    export.export(old, tmp_path / "out")
    monkeypatch.setenv("PREP_DATABASE_URL", url)
    export.import_(None, tmp_path / "out")
    changes.use(None, "HC1", "2 mL", "", act("Ada", DAY))
    assert balance("HC1") == 947 * 10**6
    assert backup.check(None) == []
    with pytest.raises(PrepError, match="already"):
        export.import_(None, tmp_path / "out")


@pytest.mark.parametrize(
    ("cell", "kind", "text"),
    [
        ("250 mL", "amount", "250 mL"),
        ("12,5 g", "amount", "12.5 g"),
        ("0", "amount", "0"),
        ("0,0", "amount", "0"),
        ("G 345.6 g", "gross", "345.6 g"),
        ("G345,6", "gross", "345.6 g"),
        ("345.6 g G", "gross", "345.6 g"),
        ("nf", "not found", ""),
        ("?", "unreadable", ""),
        ("FULL", "full", ""),
        ("  ", "empty", ""),
    ],
)
def test_a_cell_of_the_sheet(cell: str, kind: str, text: str) -> None:
    written = notation.read(cell)
    assert (written.kind, written.text) == (kind, text)


@pytest.mark.parametrize("cell", ["L7", "l 7", "7/10", "7 / 10"])
def test_a_level_in_tenths_is_read_from_a_cell(cell: str) -> None:
    assert notation.read(cell) == notation.CountCell(notation.CellKind.LEVEL, tenths=7)


@pytest.mark.parametrize("cell", ["1,500 mL", "345.6 G", "G 1,234 g"])
def test_a_cell_that_may_be_two_things_is_refused(cell: str) -> None:
    with pytest.raises(PrepError):
        notation.read(cell)
