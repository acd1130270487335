"""What a prepared solution's label says is in it: the counted formula, else those of what it is made from."""

import pytest

from prep.resources import seed_data
from prep.services.catalogue.on_file import OnFile
from prep.services.catalogue.seed import read_catalogue
from prep.services.stock.labels import _capacity_ml, _formulas, label_of


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


@pytest.mark.parametrize(("base", "ml"), [(500_000_000, 500.0), (250_000_000, 250.0), (0, None)])
def test_a_solids_bottle_has_a_size_too(base: int, ml: float | None) -> None:
    # Regulation (EC) No 1272/2008, Annex I, Table 1.3, is by what a package can hold; a gram for a mL: common practice
    assert _capacity_ml(base) == ml


@pytest.mark.parametrize(
    "code", ["ammonia-880", "hydrogen-peroxide", "sodium-hydroxide", "tin-ii-chloride-2-water", "limewater", "sodium"]
)
def test_what_goes_off_once_opened_has_a_line_for_that_day(catalogue: OnFile, code: str) -> None:
    assert any("Opened:" in note for note in label_of(code, catalogue).notes)


def test_a_schools_own_days_after_opening_count_too(catalogue: OnFile) -> None:
    assert not label_of("sodium-chloride", catalogue).notes
    assert label_of("sodium-chloride", catalogue, own_days={"sodium-chloride": 30}).notes == ("Opened: ........",)
