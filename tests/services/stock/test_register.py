"""The lists for a regulator: by what bottles are, totals per class against limits, every gram of what is controlled."""

from datetime import date
from decimal import Decimal

import pypdfium2
import pytest

from prep.errors import PrepError, Refused
from prep.reports import register_lists as shown
from prep.services.stock import changes, listing, register
from prep.services.stock.register import RegisterQuery
from tests.databases import sql
from tests.days import act
from tests.services.conftest import DAY

pytestmark = pytest.mark.usefixtures("inventory")
ACT = act("Ada", DAY)


def codes(wanted: RegisterQuery) -> set[str]:
    return {one.held.code for one in register.bottles(None, wanted)}


def test_by_number_class_place_supplier_and_date() -> None:
    receipt = changes.Receipt("ethanol-absolute", "2.5 L", 1, "PREP", supplier="Example Chemicals")
    spirit = changes.receive(None, receipt, ACT)[0].code
    assert codes(RegisterQuery(cas="7647-01-0")) == {"AC1", "HC1"}  # the acid, and what is made of it
    assert codes(RegisterQuery(hazard="flam. liq.")) == {spirit}
    assert codes(RegisterQuery(hazard="H314", location="ACID")) == {"AC1"}
    assert codes(RegisterQuery(supplier="example")) == {spirit}
    assert codes(RegisterQuery(since=DAY)) == {spirit}
    assert "AC1" in codes(RegisterQuery(since=date(2026, 9, 1), until=date(2026, 9, 1)))
    for typo in (RegisterQuery(hazard="Nonsense"), RegisterQuery(cas="7647-01-1"), RegisterQuery(cas="64-02-8")):
        with pytest.raises(PrepError, match=r"is no hazard class|last figure checks|of no substance on file"):
            codes(typo)
    table = shown.bottles(register.bottles(None, RegisterQuery(item="ethanol-absolute")))
    row = dict(zip(table.header, table.rows[0], strict=True))
    assert (row["Amount"], row["Unit"], row["CAS"]) == ("2500", "mL", "64-17-5")
    assert table.csv().startswith(b"\xef\xbb\xbfCode,")
    assert table.pdf().startswith(b"%PDF")


def test_a_class_over_the_schools_own_limit() -> None:
    changes.receive(None, changes.Receipt("ethanol-absolute", "2.5 L", 2, "PREP"), ACT)
    register.set_limit(None, "Flam. Liq. 2", "4 L", ACT)
    total = next(one for one in register.totals(None, RegisterQuery()) if one.hazard == "Flam. Liq. 2")
    assert (total.bottles, total.millilitres, total.over) == (2, Decimal(5000), True)
    # CRC Handbook: ethanol is 0.789 g/mL at 20 degC
    assert float(total.grams) == pytest.approx(5000 * 0.789, rel=0.005)
    register.set_limit(None, "Flam. Liq. 2", "6 L", ACT)
    assert not next(one for one in register.totals(None, RegisterQuery()) if one.hazard == "Flam. Liq. 2").over
    register.set_limit(None, "Flam. Liq. 2", None, ACT)
    assert next(one for one in register.totals(None, RegisterQuery()) if one.hazard == "Flam. Liq. 2").limit == ""


def test_totals_of_one_class_are_of_it_alone() -> None:
    """What flammables hold of other classes is no total of those, and a limit of those is not judged by it."""
    changes.receive(None, changes.Receipt("ethanol-absolute", "2.5 L", 2, "PREP"), ACT)
    register.set_limit(None, "Skin Corr. 1A", "1 L", ACT)
    found = register.totals(None, RegisterQuery(hazard="Flam. Liq."))
    assert [(one.hazard, one.bottles) for one in found] == [("Flam. Liq. 2", 2)]


def test_a_paper_says_whose_it_is_of_which_day_and_of_what() -> None:
    wanted = RegisterQuery(hazard="Flam. Liq.", location="ACID")
    heading = register.heading(None, wanted, date(2027, 1, 12))
    assert heading[-2:] == ("Drawn up on 2027-01-12.", "Of these: hazard class Flam. Liq.; at ACID.")
    page = pypdfium2.PdfDocument(shown.bottles(register.bottles(None, wanted)).pdf(heading))[0]
    text = page.get_textpage().get_text_range()
    printed = [line.replace("2027-01-12", "Tue 12 Jan 2027") for line in heading]  # a reader's day, not a file's
    assert all(line in text for line in printed), (text, printed)


def test_a_limit_names_a_class_of_the_act() -> None:
    assert register.set_limit(None, "flam. liq. 2", "4 L", ACT) == {"Flam. Liq. 2": "4 L"}
    with pytest.raises(PrepError, match=r"such as: Flam\. Liq\. 1, Flam\. Liq\. 2, Flam\. Liq\. 3"):
        register.set_limit(None, "Flam. Liq.", "4 L", ACT)


def test_every_gram_of_what_is_controlled() -> None:
    register.control(None, "1310-73-2", ACT)
    new = changes.receive(None, changes.Receipt("sodium-hydroxide", "500 g", 1, "PREP"), ACT)[0].code
    changes.use(None, new, "12.5 g", "soap", ACT)
    item, *solutions = register.controlled(None, None, None)
    assert item.item == "sodium-hydroxide"
    assert all(one.item.startswith("naoh") for one in solutions)
    assert sum(move.amount for move in item.moves) == sum(bottle.balance for bottle in item.bottles)
    assert shown.controlled([item]).rows[-1][5:9] == ("", "12.5", "g", "Ada")
    lefts = [Decimal(row[-1]) for row in shown.controlled([item]).rows]
    assert lefts[-1] * 10**6 == sum(bottle.balance for bottle in item.bottles) == item.after
    today = register.controlled(None, DAY, DAY)[0].moves
    assert [move.amount for move in today if move.bottle == new] == [500_000_000, -12_500_000]
    assert register.controlled(None, DAY, date(2027, 1, 10))[0].moves == ()
    since = register.controlled(None, date(2030, 1, 1), None)[0]
    assert (since.moves, since.before) == ((), item.after)
    with pytest.raises(Refused, match="already"):
        register.control(None, "1310-73-2", ACT)
    with pytest.raises(PrepError, match="no substance"):
        register.control(None, "1-2-3", ACT)
    assert register.control(None, "1310-73-2", ACT, no_longer=True) == []


def test_a_controlled_salt_is_followed_as_its_hydrate_and_dissolved() -> None:
    """An act that names a salt means its hydrates; what is dissolved has the number of the anhydrous salt."""
    register.control(None, "7758-98-7", ACT)
    blue = changes.receive(None, changes.Receipt("copper-sulfate-5-water", "500 g", 1, "PREP"), ACT)[0].code
    made = changes.receive(None, changes.Receipt("cuso4-0.5", "500 mL", 1, "PREP"), ACT)[0].code
    found = register.controlled(None, None, None)
    assert {bottle.code for one in found for bottle in one.bottles} >= {blue, made}
    assert all(one.cas == "7758-98-7" for one in found)
    assert made in codes(RegisterQuery(cas="7758-99-8"))
    assert made in codes(RegisterQuery(cas="7758-98-7"))
    assert blue not in codes(RegisterQuery(cas="7758-98-7"))
    (row,) = register.bottles(None, RegisterQuery(item="cuso4-0.5"))
    assert row.cas == "7758-98-7"


def test_what_counts_no_solute_is_not_taken_for_another_that_counts_none(url: str) -> None:
    sql(url, "UPDATE substance SET solute = '' WHERE code = 'ethanol-absolute'")
    spirit, drops = (
        changes.receive(None, changes.Receipt(item, "100 mL", 1, "PREP"), ACT)[0].code
        for item in ("ethanol-absolute", "methyl-orange-0.1")
    )
    found = codes(RegisterQuery(cas="64-17-5"))
    assert spirit in found
    assert drops not in found


def test_movements_by_kind_and_day() -> None:
    new = changes.receive(None, changes.Receipt("sodium-hydroxide", "500 g", 1, "PREP"), ACT)[0].code
    changes.use(None, new, "1 g", "", ACT)
    found = register.history(None, RegisterQuery(cas="1310-73-2", kinds=("use",)))
    assert [(one.bottle, one.amount) for one in found] == [(new, -1_000_000)]
    assert register.history(None, RegisterQuery(item="sodium-hydroxide", until=date(2027, 1, 1), kinds=("use",))) == []
    with pytest.raises(PrepError, match="no kind of job"):
        register.history(None, RegisterQuery(kinds=("borrow",)))


def test_paper_gives_no_more_figures_than_a_measurement_and_csv_gives_all() -> None:
    """Five figures are more than a cylinder, a pipette or a 0.01 g balance gives; common practice, no source."""
    new = changes.receive(None, changes.Receipt("ethanol-absolute", "308.087291 mL", 1, "PREP"), ACT)[0].code
    changes.use(None, new, "12.345678 mL", "", ACT)
    bottles = shown.bottles(register.bottles(None, RegisterQuery(item="ethanol-absolute")))
    assert bottles.on_paper is not None
    assert [row[3] for row in bottles.on_paper.rows if row[0] == new] == ["295.74 mL"]
    assert "295.741613" in bottles.csv().decode()
    moved = shown.moves([one for one in listing.history(None, new, 5) if one.amount])
    assert moved.on_paper is not None
    assert sorted(row[5] for row in moved.on_paper.rows) == ["-12.346", "308.09"]
    assert "-12.345678" in moved.csv().decode()
