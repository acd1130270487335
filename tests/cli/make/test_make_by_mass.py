"""`prep make --mass`: by mass alone, on the real books."""

import pytest

from tests.cli.conftest import Run

# 5 g of salt in 100 g: by the definition of % w/w; 99.5 % assay as on file.
WEIGHED = 25 / 0.995


def test_a_make_by_mass_weighs_as_the_calculation_does(inventory: Run) -> None:
    assert inventory("stock", "receive", "sodium chloride", "1 kg", "--at", "PREP").code == 0
    found = inventory("make", "sodium chloride 5 % w/w", "--mass", "500 g", "--json").json
    asked = inventory("calc", "dissolve", "--of", "sodium chloride", "--to", "5 % w/w", "--mass", "500 g", "--json")
    assert found["weigh"]["amount"]["value"] == pytest.approx(WEIGHED, rel=1e-6)
    assert found["weigh"]["amount"]["value"] == pytest.approx(asked.json["mass"]["value"])
    assert found["water"]["value"] == pytest.approx(500 - WEIGHED, rel=1e-6)
    made = inventory("make", "sodium chloride 5 % w/w", "--mass", "500 g", "--log", "--at", "PREP", "--json").json
    held = inventory("stock", "show", made["bottles"][0], "--json").json
    # CRC Handbook of Chemistry and Physics, 102nd ed., concentrative properties: 5 % w/w NaCl is 1.0340 g/mL.
    assert held["amount"]["value"] == pytest.approx(500 / 1.0340, rel=1e-3)


@pytest.mark.parametrize(
    ("arguments", "why"),
    [
        (("hcl-1",), "either --volume, or --mass"),
        (("hcl-1", "--mass", "200 g", "--volume", "1 L"), "either --volume, or --mass"),
        (("limewater", "--mass", "200 g"), "more than dissolves"),
        (("benedict", "--mass", "200 g"), "by its recipe"),
        (("hcl-1", "--mass", "200 g", "--at", "PREP"), "go with --log"),
        (("hcl-1", "--mass", "much"), "accepted is a mass"),
    ],
)
def test_what_is_not_made_by_mass_says_why(inventory: Run, arguments: tuple[str, ...], why: str) -> None:
    said = inventory("make", *arguments)
    assert said.code == 2
    assert why in said.err


def test_a_bottle_of_its_own_strength_is_weighed_by_that(inventory: Run) -> None:
    """Mass of solute is kept: 500 g at 5 % w/w takes 25 g of HCl, which are in 100 g of 25 % acid."""
    assert inventory("stock", "receive", "hydrochloric acid", "1 L", "--strength", "25 % w/w", "--at", "PREP").code == 0
    made = inventory("make", "hydrochloric acid 5 % w/w", "--mass", "500 g", "--json").json
    assert made["weigh"]["amount"]["value"] == pytest.approx(100)
    said = inventory("make", "hydrochloric acid 5 % w/w", "--mass", "500 g").out
    assert "36 %" not in said


def test_of_two_strengths_the_bottle_that_is_strong_enough_serves(inventory: Run) -> None:
    for strength in ("10 % w/w", "36 % w/w"):
        got = inventory("stock", "receive", "hydrochloric acid", "1 L", "--strength", strength, "--at", "PREP")
        assert got.code == 0
    made = inventory("make", "hydrochloric acid 12 % w/w", "--mass", "100 g", "--json").json
    assert made["weigh"]["amount"]["value"] == pytest.approx(100 * 12 / 36)
    assert not made["missing"]
