"""The pH that the rule of extreme pH goes by: computed where it can be, not known where not, and what follows."""

from dataclasses import replace
from decimal import Decimal

import pytest

from prep.chemistry.catalogue import Catalogue
from prep.chemistry.formula.formulas import molar_mass
from prep.chemistry.model import Solution, Substance
from prep.safety.clp.classify import classify
from prep.safety.clp.composition import component_of
from prep.safety.clp.ph import acidity
from prep.safety.model import Classification, MixtureComponent
from prep.safety.solution_hazards import hazards_of

Substances = dict[str, Substance]
Solutions = dict[str, Solution]


def at(substance: Substance, mol_per_kg: str) -> MixtureComponent:
    """So many moles of a substance's formula in 1 kg of water."""
    mass_g = Decimal(mol_per_kg) * molar_mass(substance.formula)
    return component_of(substance, 100 * mass_g / (1000 + mass_g))


def ph_reasons(found: Classification) -> list[str]:
    return [one.text for one in found.reasoning if one.rule == "S-ph"]


def own(name: str, formula: str, mol_per_kg: str, classification: str, group: str = "") -> MixtureComponent:
    mass_g = Decimal(mol_per_kg) * molar_mass(formula)
    pct = 100 * mass_g / (1000 + mass_g)
    return MixtureComponent(name, pct, classification=classification, group=group, formula=formula)


@pytest.mark.parametrize(
    ("code", "mol_per_kg", "ph"),
    [
        ("hydrochloric-acid", "0.1", "1.094"),  # from memory: Bates, Determination of pH
        ("borax", "0.01", "9.18"),  # Lange's Handbook, 15th ed., Table 8.15
        ("sodium-hydroxide", "0.01", "11.95"),  # PHREEQC, phreeqc.dat
        ("ammonia", "1", "11.62"),  # PHREEQC, phreeqc.dat
        ("citric-acid", "0.1", "2.08"),  # PHREEQC, minteq.v4.dat
    ],
)
def test_ph_from_per_cent_by_mass(substances: Substances, code: str, mol_per_kg: str, ph: str) -> None:
    found = acidity([at(substances[code], mol_per_kg)])
    assert found.ph == pytest.approx(Decimal(ph), abs=Decimal("0.02"))
    assert f"{mol_per_kg} mol/kg of {substances[code].formula}" in found.how
    assert found.source


def test_where_it_cannot_be_computed_it_is_not_known(substances: Substances) -> None:
    for inside, why in (
        ([at(substances["copper-sulfate-5-water"], "0.1")], "Copper(II) sulfate pentahydrate is none of the acids"),
        ([component_of(substances["sodium-hypochlorite"], Decimal(1))], "is none of the acids"),
        ([component_of(substances["ethanol-96"], Decimal(60))], "not mostly water"),
    ):
        found = acidity(inside)
        assert found.ph is None
        assert why in found.how


def test_every_shipped_solution_that_is_corrosive_by_its_ph_alone(substances: Substances, solutions: Solutions) -> None:
    by_ph = {
        code
        for code, solution in solutions.items()
        if any(
            "Skin Corr. 1 H314" in text for text in ph_reasons(hazards_of(solution, Catalogue(substances, solutions)))
        )
    }
    assert by_ph == set()  # oxalic acid at pH 1.53: damages the eyes, does not burn skin


@pytest.mark.parametrize(
    ("code", "wanted", "why"),
    [
        ("hcl-0.1", "not classified", "specific limits"),
        ("h2so4-0.05", "not classified", "specific limits"),
        ("naoh-0.1", "not classified", "specific limits"),
        ("ammonia-2", "Skin Irrit. 2 H315; Eye Dam. 1 H318", "generic limits"),
        ("sodium-carbonate-1", "not classified", "undiluted it is Eye Irrit. 2"),
        ("citric-1", "Eye Irrit. 2 H319", "undiluted it is Eye Irrit. 2"),
    ],
)
def test_limits_and_what_the_row_says_come_before_the_ph(
    substances: Substances, solutions: Solutions, code: str, wanted: str, why: str
) -> None:
    found = hazards_of(solutions[code], Catalogue(substances, solutions))
    assert found.in_words == wanted
    computed, aside = ph_reasons(found)
    assert "computed" in computed
    assert "set aside" in aside
    assert why in aside
    assert any("protect the eyes" in note for note in found.notes)


@pytest.mark.parametrize("code", ["oxalic-0.05", "limewater", "nahso4-0.1"])
def test_what_damages_eyes_undiluted_keeps_the_ph_rule_for_the_eyes(
    substances: Substances, solutions: Solutions, code: str
) -> None:
    """Regulation (EC) No 1272/2008, Annex I, 3.3.3.1.2: pH of 2 or less, or 11.5 or more, damages eyes."""
    found = hazards_of(solutions[code], Catalogue(substances, solutions))
    assert found.in_words == "Eye Dam. 1 H318"
    assert any(reason.rule == "E-ph" for reason in found.reasoning)


def test_a_ph_that_is_not_extreme_is_told_and_changes_nothing(substances: Substances, solutions: Solutions) -> None:
    found = hazards_of(solutions["buffer-4.6"], Catalogue(substances, solutions))
    assert found.in_words == "not classified"
    (said,) = ph_reasons(found)
    assert said.startswith("pH 4.65 computed")
    assert not ph_reasons(hazards_of(solutions["nacl-0.1"], Catalogue(substances, solutions)))


def test_an_acid_of_which_nothing_is_known_says_so(substances: Substances) -> None:
    odd = replace(own("x", "H2C2O4", "0.05", "Acute Tox. 4 H302", "acid_organic"), formula="C9H9Cl")
    found = classify([odd])
    assert found.in_words == "not classified"
    assert found.check_before_relying
    assert ph_reasons(found)[0].startswith("pH not known: x is none of the acids")
    assert any("pH not known" in note for note in found.notes)
    measured = classify([odd], ph=Decimal("1.5"))
    assert measured.in_words == "Skin Corr. 1 H314"
    assert not any("not known" in text for text in ph_reasons(measured))
    # What has limits of its own needs no pH.
    limited = replace(at(substances["oxalic-acid"], "0.05"), formula="C9H9Cl", cas="7647-01-0")
    assert not ph_reasons(classify([limited]))


def test_the_alkali_found_in_a_salt_counts_whatever_its_storage_group() -> None:
    phosphate = own("trisodium phosphate", "Na3PO4", "0.1", "Acute Tox. 4 H302")
    assert classify([phosphate]).in_words == "Skin Corr. 1 H314"
    irritant = replace(phosphate, classification="Skin Irrit. 2 H315; Eye Irrit. 2 H319")
    assert classify([irritant]).in_words == "not classified"
    assert classify([replace(phosphate, classification="not classified")]).in_words == "not classified"


def test_a_trace_beside_an_acid_with_limits_does_not_make_it_corrosive(substances: Substances) -> None:
    acid, trace = at(substances["hydrochloric-acid"], "0.1"), at(substances["aspirin"], "0.001")
    assert classify([acid, trace]).in_words == "not classified"
    enough = own("x", "H2C2O4", "0.05", "Acute Tox. 4 H302", "acid_organic")
    assert classify([acid, enough]).in_words == "Skin Corr. 1 H314"
    # Two that are weak enough alone, and not together.
    weak = [own(name, "H2C2O4", "0.008", "Acute Tox. 4 H302", "acid_organic") for name in ("one", "other")]
    assert all(acidity([one]).ph > 2 for one in weak)
    assert acidity(weak).ph <= 2
    assert classify(weak).in_words == "Skin Corr. 1 H314"
