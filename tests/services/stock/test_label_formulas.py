"""What a prepared solution's label says is in it: the counted formula, else those of what it is made from."""

import pytest

from prep.resources import seed_data
from prep.services.catalogue.on_file import OnFile
from prep.services.catalogue.seed import read_catalogue
from prep.services.stock.labels import _formulas


@pytest.fixture(scope="module")
def catalogue() -> OnFile:
    return read_catalogue(seed_data())


@pytest.mark.parametrize(
    ("code", "said"),
    [
        ("cuso4-0.5", "CuSO4"),
        ("dichromate-acid", "K2Cr2O7, H2SO4"),
        ("buffer-4.6", "CH3COOH, CH3COONa"),
        ("tollens", "AgNO3, NaOH, NH3"),
        ("universal", ""),  # more than four dyes
    ],
)
def test_a_prepared_solution_has_its_formulas(catalogue: OnFile, code: str, said: str) -> None:
    assert _formulas(catalogue.solutions[code], catalogue) == said
