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
        ("aluminium chloride 0.1 M", "reacts dangerously with water .EUH014.; take Aluminium chloride hexahydrate"),
        ("calcium sulfate 0.01 % w/v", "may be calcium-sulfate-2-water, plaster-of-paris; give one of these codes"),
        ("hexane 1 % v/v", "it does not mix with water"),
        # 0.1 mol/L is 22.9 g/L; 12.7 g/L dissolve: from memory: CRC Handbook of Chemistry and Physics
        ("picric acid 0.1 M", "the limit is 1.27 g"),
    ],
)
def test_a_strength_that_cannot_be_made_says_why(name: str, told: str) -> None:
    with pytest.raises(PrepError, match=told):
        make.instructions(None, name, "100 mL", None, DAY)


@pytest.mark.parametrize(
    ("name", "how"),
    [
        ("cornflour 1 % w/v", "stir it to a cream with a little cold water, pour that into boiling water"),
        ("soap flakes 0.5 % w/v", "stir it into water of about 70 degC"),
        ("phenanthroline 0.01 M", "dissolve it in a little ethanol"),
    ],
)
def test_what_is_not_stirred_into_cold_water_goes_in_by_its_own_way(name: str, how: str) -> None:
    said = " ".join(step.text for step in make.instructions(None, name, "500 mL", None, DAY).batch.steps)
    assert how in said
    assert "Dissolve it in about" not in said
