"""What substances and solutions are called without what follows in their names."""

from dataclasses import replace
from decimal import Decimal

import pytest

from prep.chemistry.model import Form, Solution, Strength, StrengthKind, Substance, head_of

ACID = Substance("acid", "Hydrochloric acid, 36 %", "HCl", "hydrochloric-acid", Form.AQUEOUS)
PEROXIDE = Solution("h2o2", "Hydrogen peroxide, 20 volume", "h2o2", Strength(Decimal(20), StrengthKind.VOLUMES), 180)


@pytest.mark.parametrize(
    ("name", "head"),
    [
        ("Hydrochloric acid, 36 %", "Hydrochloric acid"),
        ("Hydrochloric acid,36 %", "Hydrochloric acid"),
        ("Buffer, pH 7.0, phosphate", "Buffer"),
        ("2,4-Dinitrophenylhydrazine, wetted", "2,4-Dinitrophenylhydrazine"),
        ("Hexane-1,6-diamine", "Hexane-1,6-diamine"),  # locants: IUPAC Recommendations 2013, P-16.2 (from memory)
        ("Urea", "Urea"),
    ],
)
def test_the_head_of_a_name_ends_at_a_comma_that_is_none_between_locants(name: str, head: str) -> None:
    assert head_of(name) == head


@pytest.mark.parametrize(
    ("name", "bare"),
    [
        ("Hydrochloric acid, 36 %", "Hydrochloric acid"),
        ("Ethanol, 96 % v/v", "Ethanol"),
        ("Sodium hypochlorite solution, 12 % available chlorine", "Sodium hypochlorite solution"),
        ("Light petroleum, 40 to 60 degC", "Light petroleum, 40 to 60 degC"),
        ("Sodium carbonate, anhydrous", "Sodium carbonate, anhydrous"),
    ],
)
def test_a_substance_without_the_per_cent_of_its_bottle_keeps_its_grade(name: str, bare: str) -> None:
    assert replace(ACID, name=name).bare_name == bare


def test_a_solution_without_its_strength_keeps_the_rest_of_its_name() -> None:
    assert PEROXIDE.bare_name == "Hydrogen peroxide"
    acidified = replace(PEROXIDE, name="Iron(III) nitrate, acidified, 20 vol")
    assert acidified.bare_name == "Iron(III) nitrate, acidified"
    assert replace(PEROXIDE, name="20 vol").bare_name == "20 vol"
    assert replace(PEROXIDE, strength=None).bare_name == "Hydrogen peroxide, 20 volume"
