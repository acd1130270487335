"""What the person's own room holds, as a calculation takes it: read without the machinery of the books."""

import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest

from prep.errors import SeveralFit
from prep.services.calc import own_room
from prep.services.calc.arithmetic import Dilution, convert, dilute
from prep.services.calc.equilibrium import ph
from prep.services.calc.named_substance import shipped
from prep.services.calc.series import Standards, serial, standards
from prep.services.calc.weighing import molar_mass_of
from prep.services.catalogue.own_names import add_name
from prep.services.inventory import session
from prep.services.inventory.init import init
from prep.services.stock.changes import Receipt, receive
from prep.store import queries
from prep.store.day import known_words, room_reader
from tests.databases import made_once
from tests.days import act

TODAY = date(2027, 1, 11)
BLEACH = (
    '"bleach" is taken as Sodium hypochlorite solution, 12 % available chlorine (12.6 % w/w), as it is usually sold'
)


@pytest.fixture
def room(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A room of the person's own, with nothing in it."""
    path = tmp_path / "own.db"
    monkeypatch.setenv("PREP_DATABASE_URL", f"sqlite:///{path}")

    def fill() -> None:
        init(path, "T. Ward", TODAY, None, "")

    made_once(f"sqlite:///{path}", "own room", fill)
    return path


@pytest.mark.on_file
def test_what_is_read_is_what_the_books_say(room: Path) -> None:
    receive(room, Receipt("bleach", "1 L", strength="5 % w/w", location="PREP"), act("T. Ward", TODAY))
    read = room_reader.read(room)
    assert read is not None
    with session.reading(room) as connection:
        assert read.items == queries.items_held(connection) == {"sodium-hypochlorite"}
        assert read.instruments == queries.instruments(connection)
    assert not own_room.substances(shipped()).substances  # all are shipped
    add_name(room, "bicarb", "volcano powder", act("T. Ward", TODAY))
    assert "volcano powder" in own_room.substances(shipped()).substances["sodium-hydrogencarbonate"].other_names


@pytest.mark.on_file
def test_a_file_of_any_name_is_read(room: Path) -> None:
    odd = room.with_name("room 10%41 #1.db")
    odd.write_bytes(room.read_bytes())
    there = room_reader.read(odd)
    assert there is not None
    assert there == room_reader.read(room)
    assert "urea" in known_words.words(odd, ["substance"])


@pytest.mark.on_file
def test_bleach_is_as_the_bottle_here_is_marked_else_as_sold(room: Path) -> None:
    made = dilute(Dilution("bleach", "1 % w/w", "1 L"))
    assert made.says[0].startswith(BLEACH)
    receive(room, Receipt("bleach", "1 L", strength="5 % w/w", location="PREP"), act("T. Ward", TODAY))
    marked = dilute(Dilution("bleach", "1 % w/w", "1 L"))
    assert marked.says[0].startswith('"bleach" is taken as 5 % w/w, as the bottle of it here is marked')
    assert marked.document["from"]["value"] == 5
    assert ph(["10 mL of bleach", "90 mL of NaOH 0.1 M"], "25", False).says[0] == marked.says[0]
    receive(room, Receipt("bleach", "1 L", strength="10 % w/w", location="PREP"), act("T. Ward", TODAY))
    assert dilute(Dilution("bleach", "1 % w/w", "1 L")).says[0].startswith(BLEACH)  # the two do not agree


@pytest.mark.on_file
def test_a_file_that_is_no_inventory_is_no_room(room: Path) -> None:
    room.write_bytes(b"no database" * 1000)
    assert room_reader.read(room) is None


@pytest.mark.on_file
@pytest.mark.usefixtures("room")
def test_no_calculation_opens_the_books() -> None:
    """Of an inventory that has all names and instruments as shipped; in a fresh process."""
    code = (
        "import sys; from prep.services.calc.series import Standards, standards; "
        "from prep.services.calc.named_substance import choose_form; "
        "standards(Standards('1 g/L', ['0.1 g/L'], '100 mL')); choose_form('copper sulphate'); "
        "assert 'sqlalchemy' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


@pytest.mark.on_file
def test_the_hydrate_that_the_room_holds_is_what_every_calculation_counts(room: Path) -> None:
    receive(room, Receipt("copper-sulfate", "250 g", location="PREP"), act("T. Ward", TODAY))
    asked = convert("1 mol/L copper sulfate", None, "g/L", None, None)
    assert asked.says[:2] == (
        '"copper sulfate" is taken as Copper(II) sulfate, anhydrous (CuSO4), the form that the room holds.',
        "1 mol/L = 159.61 g/L",  # 63.55 + 32.06 + 4 x 16.00 g/mol: standard atomic weights
    )
    assert dilute(Dilution("15.961 g/L copper sulfate", "0.01 mol/L", "1 L")).document["take"][
        "value"
    ] == pytest.approx(100, rel=1e-3)


@pytest.mark.on_file
def test_where_both_hydrates_are_held_the_question_comes_back_with_both_masses(room: Path) -> None:
    """CuSO4 159.61 and CuSO4.5H2O 249.68 g/mol: IUPAC standard atomic weights."""
    for item in ("copper-sulfate", "copper-sulfate-5-water"):
        receive(room, Receipt(item, "250 g", location="PREP"), act("T. Ward", TODAY))
    asked = (
        lambda: molar_mass_of("copper sulphate"),
        lambda: convert("1 mol/L copper sulphate", None, "g/L", None, None),
        lambda: dilute(Dilution("0.1 M copper sulphate", "1 g/L", "1 L")),
        lambda: standards(Standards("0.1 M copper sulphate", ("1 g/L",), "100 mL")),
    )
    for question in asked:
        with pytest.raises(
            SeveralFit, match=r"held in 2 forms: 249\.68 g/mol as CuSO4\.5H2O .* or 159\.61 g/mol as CuSO4 "
        ):
            question()
    assert dilute(Dilution("1 M copper sulphate", "0.1 M", "1 L")).document["take"]["value"] == 100  # alike of both
    assert serial("1 M copper sulphate", "10", 1, "10 mL").document["steps"][0]["strength"]["value"] == 0.1
    assert molar_mass_of("copper sulphate pentahydrate").document["molar_mass"]["value"] == pytest.approx(
        249.68, abs=0.01
    )
