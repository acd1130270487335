"""The count on each kind of database: noise stays, a loss shows, and the next term starts from what was found."""

import random
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

import pytest

from prep.errors import PrepError, Refused
from prep.services import carrying, counting, countreport, counttext, keeping, shelves, stock
from prep.services.countdesk import How
from tests.days import done_on
from tests.services.conftest import DAY

END = date(2027, 7, 1)


def balance(code: str) -> int:
    return shelves.show(None, code)[0].balance


@pytest.mark.usefixtures("inventory")
def test_noise_is_not_flagged_and_a_loss_is() -> None:
    """Twelve takings, each off by up to 5 %: the books are wrong by what measuring explains. 200 g gone are not."""
    draw = random.Random(4)
    true, lost = {}, []
    codes = [
        h.code for h in stock.receive(None, "sodium-chloride", "1 kg", 6, "PREP", None, "", "", "Ada", done_on(DAY))
    ]
    for code in codes:
        really = Decimal(1000)
        for day in range(12):
            stock.use(None, code, "20 g", "", "Ada", done_on(DAY + timedelta(days=day)))
            really -= Decimal(20) * (1 + Decimal(draw.uniform(-0.05, 0.05)))
        true[code] = really
    lost = codes[:2]
    counting.open_count(None, "PREP", False, "Ada", done_on(END))
    for code in codes:
        there = true[code] - (200 if code in lost else 0)
        gross = (there + 310).quantize(Decimal("0.1"))
        counting.enter(None, None, code, How(gross=f"{gross} g", tare="310 g", balance="balance-0.1"), "Ada")
    state = counting.progress(None, None)
    assert set(state.recount) == set(lost)
    with pytest.raises(Refused, match="counted once"):
        counting.close(None, None, True, False, "Ada", done_on(END))
    closed = counting.close(None, None, True, True, "Bo", done_on(END))
    assert set(lost) <= {v.bottle for v in closed.adjusted}
    for code in codes:
        there = true[code] - (200 if code in lost else 0)
        assert abs(balance(code) - there * 10**6) < 25 * 10**6
    assert keeping.check(None) == []
    _, report, school = countreport.of_count(None, "C1", None, END)
    assert school == "Invented School"
    assert [v.bottle for v in report.differences[:2]] != []
    assert {v.bottle for v in report.differences if v.flagged} == set(lost)
    salt = next(t for t in report.turnover if t.item == "sodium-chloride")
    assert (salt.came_in, salt.used) == (6 * 10**9, 6 * 240 * 10**6)
    assert salt.opening + salt.came_in - salt.used + salt.corrected == salt.closing


@pytest.mark.usefixtures("inventory")
def test_two_people_count_two_places_at_once() -> None:
    counting.open_count(None, "ACID", False, "Ada", done_on(END))
    counting.open_count(None, "PREP", True, "Bo", done_on(END))
    with pytest.raises(PrepError, match="Several counts are open"):
        counting.enter(None, None, "AC1", How(amount="2 L"), "Ada")
    with pytest.raises(PrepError, match="is at ACID on the books"):
        counting.enter(None, "C2", "AC1", How(amount="2 L"), "Bo")
    counting.enter(None, "C2", "AC1", How(amount="2.5 L", place="PREP"), "Bo")  # it stood there
    shown = counting.enter(None, "C2", "HC1", How(amount="500 mL"), "Bo")
    assert shown.verdict is None  # a blind count says nothing
    counting.close(None, "C2", True, True, "Bo", done_on(END))
    assert shelves.show(None, "AC1")[0].location == "PREP"
    assert balance("HC1") == 500 * 10**6
    counting.drop(None, "C1")
    assert [c.status for c in counting.counts(None)] == ["dropped", "closed"]
    with pytest.raises(Refused, match="signed off by count C2"):
        stock.use(None, "HC1", "1 mL", "", "Ada", done_on(DAY))
    stock.use(None, "HC1", "1 mL", "", "Ada", done_on(END))


@pytest.mark.usefixtures("inventory")
def test_what_is_discarded_or_used_up_since_is_not_counted_below_nothing() -> None:
    counting.open_count(None, "PREP", False, "Ada", done_on(END))
    counting.enter(None, None, "HC1", How(amount="100 mL"), "Ada")
    stock.use(None, "HC1", "900 mL", "", "Bo", done_on(END))
    with pytest.raises(Refused, match="used since it was counted"):
        counting.close(None, None, True, True, "Ada", done_on(END))
    assert balance("HC1") == 50 * 10**6
    counting.enter(None, None, "HC1", How(amount="0"), "Ada")
    counting.close(None, None, True, True, "Ada", done_on(END))
    assert balance("HC1") == 0


@pytest.mark.usefixtures("inventory")
def test_an_undone_count_is_open_again_and_posts_once() -> None:
    counting.open_count(None, "PREP", False, "Ada", done_on(END))
    counting.found(None, None, "sodium chloride", "250 g", "PREP", "", "Ada")
    counting.enter(None, None, "HC1", How(amount="500 mL"), "Ada")
    first = counting.close(None, None, True, True, "Ada", done_on(END))
    new = first.new_bottles[0].code
    stock.undo(None, first.job, "Ada", done_on(END))
    assert (balance("HC1"), balance(new)) == (950 * 10**6, 0)
    assert counting.counts(None)[0].status == "open"
    second = counting.close(None, None, True, True, "Ada", done_on(END))
    assert (balance("HC1"), balance(second.new_bottles[0].code)) == (500 * 10**6, 250 * 10**6)
    stock.use(None, second.new_bottles[0].code, "10 g", "", "Bo", done_on(END))
    with pytest.raises(Refused, match=r"Job \d+ cannot be undone"):
        stock.undo(None, second.job, "Ada", done_on(END))
    assert keeping.check(None) == []


@pytest.mark.usefixtures("inventory")
def test_the_whole_inventory_out_and_in_again(tmp_path: Path) -> None:
    counting.open_count(None, "PREP", False, "Ada", done_on(END))
    counting.enter(None, None, "HC1", How(amount="500 mL"), "Ada")
    counting.close(None, None, True, True, "Ada", done_on(END))
    done = carrying.export(None, tmp_path / "out")
    assert done.rows["signoff"] == 1
    back = tmp_path / "back.db"
    assert carrying.import_(back, tmp_path / "out").rows == done.rows
    carrying.export(back, tmp_path / "again")
    for part in (tmp_path / "out").iterdir():
        assert part.read_bytes() == (tmp_path / "again" / part.name).read_bytes()
    assert stock.receive(back, "urea", "5 g", 1, "PREP", None, "", "", "Ada", done_on(END))


def test_an_import_into_a_server_goes_on_with_its_own_numbers(
    url: str, tmp_path: Path, school: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from prep.services import setting_up

    old = tmp_path / "old.db"
    setting_up.init(old, "Ada", DAY, school, "")
    stock.use(old, "HC1", "1 mL", "", "Ada", done_on(DAY))
    carrying.export(old, tmp_path / "out")
    monkeypatch.setenv("PREP_DATABASE_URL", url)
    carrying.import_(None, tmp_path / "out")
    stock.use(None, "HC1", "2 mL", "", "Ada", done_on(DAY))
    assert balance("HC1") == 947 * 10**6
    assert keeping.check(None) == []
    with pytest.raises(PrepError, match="already"):
        carrying.import_(None, tmp_path / "out")


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
    written = counttext.read(cell)
    assert (written.kind, written.text) == (kind, text)


@pytest.mark.parametrize("cell", ["L7", "l 7", "7/10", "7 / 10"])
def test_a_level(cell: str) -> None:
    assert counttext.read(cell) == counttext.Written("level", tenths=7)


@pytest.mark.parametrize("cell", ["1,500 mL", "345.6 G", "G 1,234 g"])
def test_a_cell_that_may_be_two_things_is_refused(cell: str) -> None:
    with pytest.raises(PrepError):
        counttext.read(cell)
