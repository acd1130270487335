"""The heat of dissolving against published enthalpies, and what the steps say of it."""

import pytest

from prep.chemistry.heat_of_solution import kj_per_mol, rise
from prep.chemistry.preparation.instructions import MakeSheets
from prep.chemistry.preparation.vessels import Bench
from prep.resources import seed_data
from prep.services.catalogue.seed import read_catalogue

CATALOGUE = read_catalogue(seed_data())
ML = 1_000_000


@pytest.mark.parametrize(
    ("code", "of_salt", "of_ions"),
    [
        ("magnesium-sulfate", -1284.9, -466.85 - 909.27),
        ("sodium-hydroxide", -425.61, -240.12 - 229.99),
    ],
)
def test_it_is_what_the_enthalpies_of_formation_give(code: str, of_salt: float, of_ions: float) -> None:
    """From memory: The NBS Tables of Chemical Thermodynamic Properties (1982), standard enthalpies [kJ/mol]."""
    found = kj_per_mol(CATALOGUE.substances[code])
    assert found is not None
    assert float(found) == pytest.approx(of_ions - of_salt, abs=0.3)


def test_an_anhydrous_salt_that_grows_hot_says_so_and_cools_before_the_mark() -> None:
    bench, solution = Bench(CATALOGUE, CATALOGUE.instruments), CATALOGUE.solutions["mgso4-0.5"]
    anhydrous = CATALOGUE.substances["magnesium-sulfate"]
    degrees = rise(anhydrous, 60_184_000, 1000 * ML)  # half a mole in a litre
    assert degrees is not None
    assert float(degrees) == pytest.approx(10.8, abs=0.2)  # 0.5 x 91.2 kJ / 4.18 kJ/K
    route, option = next(
        (route, option)
        for route in bench.routes(solution.code)
        for option in route.parts[0].options
        if option.item == anhydrous.code
    )
    sheet = MakeSheets(bench).write_up(solution, route, [option], 500 * ML, [])
    said = " ".join(step.text for step in sheet.steps)
    assert "it grows hot" in said
    assert said.index("cool to room temperature") < said.index("Make it up to 500 mL")
