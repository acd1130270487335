"""A reagent as one bottle has it: strengths of real bottles, held against published ones."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from prep.chemistry import quantities
from prep.chemistry.model import Form, Substance
from prep.chemistry.strength.bottled import FoundRatio, as_found, over_nominal
from prep.errors import PrepError

NITRIC = Substance(
    "nitric-acid",
    "Nitric acid, 68 %",
    "HNO3",
    "nitric-acid",
    Form.AQUEOUS,
    (),
    "7697-37-2",
    Decimal(68),
    Decimal("1.4048"),
)
PEROXIDE = Substance(
    "hydrogen-peroxide",
    "Hydrogen peroxide, 30 %",
    "H2O2",
    "hydrogen-peroxide",
    Form.AQUEOUS,
    (),
    "",
    Decimal(30),
    Decimal("1.11"),
)
SALT = Substance("sodium-chloride", "Sodium chloride", "NaCl", "sodium-chloride", Form.SOLID, assay_pct=Decimal(99))


def test_nitric_acid_of_70_per_cent_is_nearly_16_molar() -> None:
    # Harris, Quantitative Chemical Analysis, inside back cover: nitric acid 70.4 % w/w, 1.41 g/mL, 15.8 mol/L
    bottle = as_found(NITRIC, quantities.strength("70.4 % w/w"))
    assert bottle.assay_pct == Decimal("70.4")
    assert float(bottle.density_g_ml or 0) == pytest.approx(1.41, abs=0.01)
    found = over_nominal(NITRIC, quantities.strength("70.4 % w/w"))
    ratio, serves = found.ratio, found.serves
    moles = 10 * 68 * 1.4048 / 63.012  # of what is on file
    assert float(ratio) * moles == pytest.approx(15.8, abs=0.1)
    assert serves


def test_twenty_volume_peroxide_is_six_per_cent() -> None:
    # British Pharmacopoeia, Hydrogen Peroxide Solution (6 per cent): about 20 times its volume of oxygen
    bottle = as_found(PEROXIDE, quantities.strength("20 vol"))
    assert 5 <= float(bottle.assay_pct or 0) * float(bottle.density_g_ml or 0) <= 7
    # Easton, Mitchell and Wynne-Jones, Trans. Faraday Soc. 48 (1952) 796: 1.020 g/mL near 6 % at 20 degC
    assert float(bottle.density_g_ml or 0) == pytest.approx(1.020, abs=0.004)
    found = over_nominal(PEROXIDE, quantities.strength("20 vol"))
    ratio, serves = found.ratio, found.serves
    assert 0.17 < ratio < 0.19
    assert not serves  # nobody pours it where 30 % is asked for


def test_a_solid_by_its_assay() -> None:
    assert over_nominal(SALT, quantities.strength("49.5 % w/w")) == FoundRatio(Fraction(1, 2), serves=False)


@pytest.mark.parametrize(
    ("substance", "text", "says"),
    [
        (SALT, "1 mol/L", "is weighed"),
        (PEROXIDE, "4000 vol", "more than|beyond|above"),
        (NITRIC, "saturated", "a figure"),
    ],
)
def test_what_no_bottle_can_be(substance: Substance, text: str, says: str) -> None:
    with pytest.raises(PrepError, match=says):
        as_found(substance, quantities.strength(text))


@given(st.decimals(1, 79, places=1))
def test_the_strength_on_file_is_one_and_more_is_more(pct: Decimal) -> None:
    ratio = over_nominal(NITRIC, quantities.strength(f"{pct} % w/w")).ratio
    assert over_nominal(NITRIC, quantities.strength("68 % w/w")).ratio == 1
    assert (ratio > 1) == (pct > 68)
