"""Any strength that a teacher asks for: made from what is held, on an entry of its own."""

import pytest

from prep.chemistry.model import StrengthKind
from prep.errors import PrepError
from prep.services.catalogue.names import find_item
from prep.services.inventory import session
from prep.services.making import make
from prep.services.making.any_strength import solution_named
from prep.services.stock import labels
from prep.store import queries
from tests.days import act
from tests.services.conftest import DAY

pytestmark = pytest.mark.usefixtures("inventory")


def test_it_is_logged_and_labelled_on_an_entry_of_its_own() -> None:
    logged = make.log(None, make.MakeRequest("hydrochloric acid 3 mol/L", "500 mL", location="ACID"), act("Ada", DAY))
    (bottle,) = logged.bottles
    (take,) = logged.instructions.batch.takes
    # CRC Handbook: 36 % hydrochloric acid is 11.64 mol/L
    assert take.amount / 1e6 == pytest.approx(500 * 3 / 11.64, rel=0.01)
    with session.reading(None) as connection:
        catalogue = queries.catalogue(connection)
    card = catalogue.solutions[bottle.item]
    assert card.strength is not None
    assert (card.strength.kind, card.strength.value) == (StrengthKind.MOL_PER_L, 3)
    assert find_item("HCl 3 M", catalogue).code == card.code
    (label,) = labels.labels(None, [bottle.code])
    assert "Hydrochloric acid" in label.name
    assert label.made_on == DAY
    again = make.log(None, make.MakeRequest("HCl 3 M", "500 mL", location="ACID"), act("Ada", DAY))
    assert again.bottles[0].item == card.code


@pytest.mark.parametrize("name", ["sodium chloride 9 mol/L", "unheard-of 1 mol/L", "hydrochloric acid", "HCl 0 mol/L"])
def test_what_is_no_strength_of_anything(name: str) -> None:
    with session.reading(None) as connection:
        catalogue = queries.catalogue(connection)
    with pytest.raises(PrepError) as problem:
        solution_named(name, catalogue)
    assert str(problem.value).count("dissolves") <= 1


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("hydrochloric acid 13 mol/L", "nothing on file that holds its solute is strong enough"),
        ("HCl 0 M", "0 M is no strength to make"),
    ],
)
def test_a_strength_that_cannot_be_made_says_why(name: str, told: str) -> None:
    with pytest.raises(PrepError, match=told):
        make.instructions(None, name, "100 mL", None, DAY)
