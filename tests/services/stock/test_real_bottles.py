"""A bottle's own strength, from its label to everything that is computed with it."""

from decimal import Decimal
from pathlib import Path

import pytest

from prep.chemistry.model import StrengthKind
from prep.errors import PrepError
from prep.services.inventory import session
from prep.services.making import buffer, make
from prep.services.stock import bottle_import, changes, labels, listing
from prep.store import queries
from tests.days import act
from tests.services.conftest import DAY

pytestmark = pytest.mark.usefixtures("inventory")


def receive(item: str, amount: str, strength: str | None) -> str:
    receipt = changes.Receipt(
        item, amount, location="ACID", strength=strength, supplier="Example Chemicals", cost="24.50"
    )
    return changes.receive(None, receipt, act("Ada", DAY))[0].code


def test_what_is_made_takes_by_the_bottles_own_strength() -> None:
    weak = receive("nitric acid", "1 L", "34 % w/w")
    made = make.instructions(None, "nitric acid 2 mol/L", "1 L", weak, DAY)
    (take,) = [t for t in made.batch.takes if t.ref == weak]
    # CRC Handbook, Concentrative properties of aqueous solutions: 34 % nitric acid is 6.53 mol/L
    assert take.amount / 1e6 == pytest.approx(1000 * 2 / 6.53, rel=0.01)
    assert any(f"bottle {weak} (34 % w/w)" in step.text for step in made.batch.steps)
    assert any(weak in line.text and "34 % w/w" in line.text for line in made.batch.working)


def test_the_label_says_the_bottles_strength_and_its_hazards() -> None:
    strong, weak = receive("hydrogen-peroxide", "500 mL", None), receive("hydrogen-peroxide", "500 mL", "10 vol")
    one, other = labels.labels(None, [strong, weak])
    assert other.strength == "10 vol"
    assert other.name == "Hydrogen peroxide solution"
    assert one.signal == "Danger"
    assert any({"H302", "H318"} & {*said.codes} for said in one.h_statements)
    assert other.signal != "Danger"  # 3 % w/w: below 5 % (CLP Annex VI, index 008-003-00-9)


def test_what_is_bought_ready_made_was_received() -> None:
    bought = changes.receive(None, changes.Receipt("hcl-1", "1 L", location="ACID"), act("Ada", DAY))[0]
    (label,) = labels.labels(None, [bought.code])
    assert (label.made_on, label.received_on) == (None, DAY)


def test_a_buffer_takes_by_the_bottles_own_strength() -> None:
    wanted = buffer.BufferRequest("acetic acid/sodium acetate", "4.7", "0.1 mol/L", "1 L")
    changes.receive(None, changes.Receipt("sodium-acetate", "500 g", location="PREP"), act("Ada", DAY))
    whole = receive("acetic-acid", "1 L", None)
    first = next(t for t in buffer.instructions(None, wanted, DAY).takes if t.item == "acetic-acid")
    changes.discard(None, [whole], "", act("Ada", DAY))
    receive("acetic-acid", "1 L", "50 % w/w")
    second = next(t for t in buffer.instructions(None, wanted, DAY).takes if t.item == "acetic-acid")
    # CRC Handbook: 99.7 % is 1.049 g/mL on file, 50 % is 1.0562 g/mL
    assert second.amount / first.amount == pytest.approx(99.7 * 1.049 / (50 * 1.0562), rel=0.02)


def test_a_spreadsheet_gives_strength_supplier_and_cost(tmp_path: Path) -> None:
    file = tmp_path / "store.csv"
    file.write_text(
        "item,amount,location,strength,supplier,cost\nnitric-acid,1 L,ACID,70 % w/w,Example Chemicals,31.20\n"
    )
    done = bottle_import.import_stock(None, bottle_import.StockFile(file), False, act("Ada", DAY))
    held = listing.show(None, done.fates[0].code).bottle
    assert (held.strength, held.supplier, held.cost) == ("70 % w/w", "Example Chemicals", "31.20")
    file.write_text("item,amount,location,strength\nnitric-acid,1 L,ACID,saturated\n")
    refused = bottle_import.import_stock(None, bottle_import.StockFile(file), False, act("Ada", DAY))
    assert refused.job is None
    assert "row 2" in refused.wrong[0].says


def test_a_label_is_corrected() -> None:
    code = receive("nitric acid", "1 L", None)
    held = changes.correct(None, code, changes.Correction(strength="70 % w/w", cost="30"), "", act("Ada", DAY))
    assert (held.strength, held.cost) == ("70 % w/w", "30")
    with session.reading(None) as connection:
        bottle = next(b for b in queries.bottles(connection) if b.code == code)
    assert bottle.strength is not None
    assert (bottle.strength.kind, bottle.strength.value) == (StrengthKind.PCT_W_W, Decimal(70))


@pytest.mark.parametrize("strength", ["170 % w/w", "0.1 % w/w", "70 km", "20 vol", "0 % w/w"])
def test_a_strength_that_it_cannot_have(strength: str) -> None:
    before = len(listing.list_stock(None, None, None, True, None))
    with pytest.raises(PrepError) as problem:
        receive("nitric acid", "1 L", strength)
    assert "\n" not in str(problem.value)
    assert len(listing.list_stock(None, None, None, True, None)) == before


def test_a_price_is_a_number() -> None:
    with pytest.raises(PrepError, match="--cost"):
        changes.receive(None, changes.Receipt("nitric acid", "1 L", location="ACID", cost="a lot"), act("Ada", DAY))
