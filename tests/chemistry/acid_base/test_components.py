"""Components as typed: names, strengths of every kind, and pairs."""

from decimal import Decimal

import pytest

from prep.chemistry.acid_base.components import held, pair, read, read_all
from prep.chemistry.model import Form, Substance
from prep.errors import PrepError

ACID = Substance(
    "acid-36",
    "Hydrochloric acid, 36 %",
    "HCl",
    "acid",
    Form.AQUEOUS,
    assay_pct=Decimal(36),
    density_g_ml=Decimal("1.18"),
)
LIME = Substance(
    "lime",
    "Calcium hydroxide",
    "Ca(OH)2",
    "lime",
    Form.SOLID,
    solubility_g_per_100g=Decimal("0.173"),
    solubility_c=Decimal(20),
)


@pytest.mark.parametrize(
    ("text", "formula", "mol", "per_litre"),
    [
        ("acetic acid 0.1 mol/L", "CH3COOH", 0.1, True),
        ("7647-01-0 3.65 g/L", "HCl", 0.1001, True),
        ("KH2PO4 0.025 mol/kg", "KH2PO4", 0.025, False),
        ("CH3COONa.3H2O 13.608 g/L", "CH3COONa", 0.1, True),
        ("HCl 9.99 % w/w", "HCl", 2.870, True),
        ("sodium hydroxide 50 mmol/L", "NaOH", 0.05, True),
        ("water", "H2O", 0.0, False),
    ],
)
def test_a_component_is_read_with_its_strength(text: str, formula: str, mol: float, per_litre: bool) -> None:
    found = read(text).component
    assert found.species.formula == formula
    assert found.mol_per_kg == pytest.approx(mol, rel=1e-3)
    assert found.per_litre is per_litre


def test_the_density_used_is_in_the_working() -> None:
    typed = read_all(["HCl 9.99 % w/w", "NaCl 0.1 mol/kg"])
    parts, working = typed.components, typed.working
    assert "density" in working[0].text
    assert working[0].source
    assert len(parts) == 2


def test_a_lookup_supplies_names_and_solubility() -> None:
    shelf = {"lime": LIME, "acid-36": ACID}
    limewater = read("lime saturated", shelf)
    assert limewater.component.mol_per_kg == pytest.approx(0.0233, rel=0.02)
    with pytest.raises(PrepError, match=r"0\.173"):
        read("lime 1 mol/L", shelf)


@pytest.mark.parametrize(
    "text", ["acetic acid", "0.1 mol/L", "unobtainium 0.1 mol/L", "CuSO4 0.1 mol/L", "HCl 110 % w/w", "HCl 2 N", ""]
)
def test_what_is_no_component_is_refused(text: str) -> None:
    with pytest.raises(PrepError):
        read(text)


def test_a_buffer_pair_is_read_by_its_two_names() -> None:
    one, other = pair("acetic acid/sodium acetate")
    assert (one.formula, other.formula) == ("CH3COOH", "CH3COONa")
    one, other = pair("acetic acid 2 mol/L / CH3COONa.3H2O")
    assert one.mol_per_l == Decimal("2.0")
    assert other.formula == "CH3COONa.3H2O"
    _, strong = pair("Na2HPO4/acid-36", {"acid-36": ACID})
    assert (strong.assay_pct, strong.density_g_ml) == (Decimal(36), Decimal("1.18"))
    assert held("lime", {"lime": LIME}).density_g_ml is None
    for text in ("acetic acid", "a/b/c", "/", "acetic acid/unobtainium"):
        with pytest.raises(PrepError):
            pair(text)


def test_aspirin_with_two_of_alkali_is_a_solution() -> None:
    """Acetylsalicylic acid is neutralised by one of the two; its salt dissolves well."""
    from prep.chemistry.acid_base.equilibrium import ph_of
    from prep.services.calc.named_substance import substance_named

    inside = read_all(["aspirin 0.1 mol/L", "NaOH 0.2 mol/L"], substance_named).components
    assert ph_of(inside).ph == pytest.approx(12.9, abs=0.15)
    alone = ph_of(read_all(["aspirin 0.1 mol/L"], substance_named).components)
    assert not alone.valid
    assert "falls out" in alone.note
