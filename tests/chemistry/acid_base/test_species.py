"""What substances give in water: names, formulas, hydrates, and the tables' own consistency."""

import re
from collections import Counter
from math import log10

import pytest

from prep.chemistry.acid_base.activity import pkas
from prep.chemistry.acid_base.species import _written, of_formula, resolve, system, systems
from prep.chemistry.formula.formulas import composition
from prep.chemistry.model import Form, Substance
from prep.errors import PrepError
from prep.services.catalogue.on_file import OnFile

EVERY = tuple(dict.fromkeys(_written().values()))


@pytest.mark.parametrize(
    ("typed", "formula"),
    [
        ("acetic acid", "CH3COOH"),
        ("Ethanoic Acid", "CH3COOH"),
        ("64-19-7", "CH3COOH"),
        ("C2H4O2", "CH3COOH"),
        ("H2KPO4", "KH2PO4"),
        ("borax", "Na2B4O7"),
        ("Na2B4O7.10H2O", "Na2B4O7"),
        ("Ba(OH)2·8H2O", "Ba(OH)2"),
        ("CH3COONa.3H2O", "CH3COONa"),
        ("C6H8O7.H2O", "C6H8O7"),
        ("NH4OH", "NH3"),
        ("KHP", "KHC8H4O4"),
        ("TRIS", "C4H11NO3"),
        ("EDTA", "C10H14N2Na2O8"),
    ],
)
def test_names_numbers_formulas_and_hydrates(typed: str, formula: str) -> None:
    assert resolve(typed).formula == formula


def test_what_a_lookup_knows() -> None:
    bottle = Substance("vinegar-acid", "Cleaning acid", "CH3COOH", "acetic-acid", Form.LIQUID)
    assert resolve("cleaning acid", {"cleaning acid": bottle}).formula == "CH3COOH"
    assert resolve("lab name", {"lab name": "KH2PO4"}.get).formula == "KH2PO4"
    with pytest.raises(PrepError, match="cleaning acid"):
        resolve("cleaning acid", {})


@pytest.mark.parametrize("typed", ["CuSO4", "FeCl3", "ethyl acetate", "CH3COOC2H5", "rubbish", "", "2KCl", "hcl2"])
def test_unknown_species_are_refused(typed: str) -> None:
    with pytest.raises(PrepError, match="accepted is a name"):
        resolve(typed)


def test_a_formula_gives_its_charge_and_what_systems_it_brings() -> None:
    borax = of_formula("Na2B4O7")
    assert (borax.charge, borax.count_of("borate")) == (2, 4)
    alum = of_formula("(NH4)2SO4")
    assert {one.key: one.count for one in alum.systems} == {"ammonia": 2, "sulfate": 1}
    assert of_formula("H2SO4").ions == ()
    with pytest.raises(PrepError, match="no acid-base system on file"):
        system("unobtainium")


def test_every_species_adds_up() -> None:
    """Metal and halogen atoms match the formula, and some degree of protonation makes each neutral."""
    for species in EVERY:
        atoms = composition(species.formula)
        ions = Counter({re.match(r"[A-Z][a-z]?", one.ion)[0]: one.count for one in species.ions})  # type: ignore[index]
        ions["Ca"] += species.count_of("calcium")
        for metal in ("Na", "K", "Li", "Ca", "Mg", "Ba", "Sr", "Br", "I"):
            assert atoms.get(metal, 0) == ions.get(metal, 0), species.formula
        if species.formula == "Ca(OH)2":  # its hydroxide is in the charge balance
            continue
        if not species.systems:  # a neutral salt, a strong acid, a strong base
            acid, base = species.formula.startswith("H") and species.formula != "H2O", "OH" in species.formula
            assert (species.charge < 0, species.charge > 0) == (acid, base and bool(species.ions)), species.formula
            continue
        # The first H+ of sulfuric acid is always off and the last of hydrogen sulfide always on in water, so
        # their systems begin at HSO4- and end at HS-.
        highest = species.charge + sum(
            one.count * (system(one.key).top_charge + (one.key == "sulfate")) for one in species.systems
        )
        lowest = highest - sum(
            one.count * (len(system(one.key).steps) + (one.key in ("sulfate", "sulfide"))) for one in species.systems
        )
        assert lowest <= 0 <= highest, species.formula


def test_hydrogen_counts_match_the_charge() -> None:
    """The protons that electroneutrality supplies are those of the formula: salts differ by H for each metal."""
    for acid, salt, metals in (("H3PO4", "Na2HPO4", 2), ("C6H8O7", "Na3C6H5O7", 3), ("H2C2O4", "KHC2O4", 1)):
        assert composition(acid)["H"] - composition(salt)["H"] == metals == of_formula(salt).charge


def test_tables_name_their_sources() -> None:
    for found in systems().values():
        assert all(step.source for step in found.steps)
        assert [s.pka for s in found.steps] == sorted(s.pka for s in found.steps)
    assert all(species.source for species in EVERY)
    assert len({s.formula for s in EVERY}) == len(EVERY)


def test_the_catalogue_s_acids_and_bases_are_known(catalogue: OnFile) -> None:
    codes = (
        "hydrochloric-acid sulfuric-acid acetic-acid sodium-hydroxide ammonia sodium-carbonate-10-water "
        "borax citric-acid-1-water trisodium-citrate-2-water potassium-hydrogen-phthalate disodium-edta-2-water "
        "disodium-hydrogen-phosphate-12-water sodium-acetate-3-water potassium-sodium-tartrate-4-water glycine"
    ).split()
    for code in codes:
        of_formula(catalogue.substances[code].formula)


@pytest.mark.parametrize(
    ("key", "published"),
    [
        # CRC Handbook (from memory); NIST Standard Reference Database 46 (from memory); OpenStax, Chemistry 2e, App. H
        ("nitrite", (3.25, 3.15, -log10(4.6e-4))),
        # CRC Handbook (from memory); NIST database 46 as printed in the PHREEQC database minteq.v4.dat
        ("salicylate", (2.98, 2.97, 3.1)),
        # J. C. Morris, J. Phys. Chem. 70 (1966) 3798, from memory; OpenStax, Chemistry 2e, Appendix H
        ("hypochlorite", (3000 / 298.15 - 10.0686 + 0.0253 * 298.15, -log10(2.9e-8))),
    ],
)
def test_doubtful_constants_are_within_what_is_published(key: str, published: tuple[float, ...]) -> None:
    first = system(key).steps[0]
    for one in published:
        assert first.pka == pytest.approx(one, abs=first.within + 0.005)


def test_hypochlorous_acid_follows_its_temperature() -> None:
    """J. C. Morris, J. Phys. Chem. 70 (1966) 3798, from memory: pKa = 3000/T - 10.0686 + 0.0253 T."""
    for degrees in (5.0, 35.0):
        t = degrees + 273.15
        assert pkas("hypochlorite", degrees)[0] == pytest.approx(3000 / t - 10.0686 + 0.0253 * t, abs=0.02)
