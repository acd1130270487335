"""A strength or a name as written is the same to every command: each phrase with what it is, worked out by hand."""

import re

import pytest

from prep.chemistry.model import head_of
from prep.chemistry.naming import read_name
from prep.errors import PrepError
from prep.resources import seed_data, seed_table
from prep.services.calc import own_room
from prep.services.calc.arithmetic import Dilution, convert, dilute
from prep.services.calc.equilibrium import EndpointQuestion, endpoint, ph
from prep.services.calc.mixed_portions import Blend, blend
from prep.services.calc.named_substance import (
    choose_form,
    find_substance,
    shipped,
    solution_strength,
    substance_named,
)
from prep.services.calc.weighing import Weighing, dissolve, molar_mass_of
from prep.services.catalogue.names import candidates, find_item
from prep.services.catalogue.seed import read_catalogue

ON_FILE = read_catalogue(seed_data())
G_MOL = 39.997  # of sodium hydroxide: IUPAC standard atomic weights

AS_WRITTEN = [
    *(
        (one, 0.1)
        for one in ("0.1M", ".1 M", "0.10 mol/L", "0.1 mol/l", "0.1 mol dm-3", "0.1 mol dm^-3", "0.1 mol/dm3")
    ),
    *((one, 0.1) for one in ("0.1 mol L-1", "0.1 mol·L⁻¹", "0.1 mol dm⁻³", "100 mM", "100mmol/l", "100 mmol dm-3")),
    *((one, 0.1) for one in ("M/10", "N/10", "0.1 N", "0.1 eq/L", "100 meq/L", "0.1 molar", "0.1 normal", "1e-1 M")),
    *((one, 0.1) for one in ("0.1 moles per litre", "0.1 mol per dm3", "100 umol/mL", "100 millimolar", "100 mol/m3")),
    *((one, 4 / G_MOL) for one in ("4 g/L", "4 g/dm3", "4 g dm-3", "4 g per litre", "4 mg/mL", "4000 mg/L", "4 kg/m3")),
    *((one, 4 / G_MOL) for one in ("400 mg/dL", "0.4 g/100 mL", "0.4 g per 100 mL", "0.4 g/100 cm3", "0.4 % w/v")),
    *((one, 4 / G_MOL) for one in ("0.4% m/v", "0.4 % (w/v)", "4000 ppm", "4000 ppm w/v")),
    *((one, 0.1) for one in ("decimolar", "deci-molar", "tenth molar", "one tenth molar", "decinormal", "deci normal")),
    *((one, 0.5) for one in ("half molar", "half-molar", "semi-normal", "half normal", "a half molar")),
    *((one, 1) for one in ("molar", "one molar", "one normal")),
    ("two molar", 2),
    ("fiftieth molar", 0.02),
    ("5 per cent w/v", 50 / G_MOL),
    # 10 % w/w is 1.1089 g/mL: CRC Handbook of Chemistry and Physics, 102nd ed.
    ("10 % w/w", 110.89 / G_MOL),
    ("10% m/m", 110.89 / G_MOL),
]


@pytest.mark.parametrize(("said", "mol_per_l"), AS_WRITTEN)
def test_a_strength_is_the_same_to_every_command(said: str, mol_per_l: float) -> None:
    close = pytest.approx(mol_per_l, rel=5e-3)
    assert convert(said, "NaOH", "mol/L", None, 1).document["strength"]["value"] == close
    taken = dilute(Dilution(said, "1 mmol/L", "1 L", of="NaOH")).document["take"]["value"]
    assert 1 / taken == close
    weighed = dissolve(Weighing(target=said, volume="1 L", of="sodium hydroxide", assay="100")).document["mass"]
    assert weighed["value"] / G_MOL == close
    half = blend(Blend((f"100 mL of {said}", "100 mL of water"), of="NaOH")).document["strength"]
    made = convert(f"{half['value']} {half['unit']}", "NaOH", "mol/L", None, 1).document["strength"]["value"]
    assert 2 * made == pytest.approx(mol_per_l, rel=2e-2)  # 10 % contracts
    for typed in (f"NaOH {said}", f"{said} NaOH"):
        assert 10 ** (ph([typed], "25", True).document["ph"] - 13.997) == close
    asked = EndpointQuestion(dish="10 mL", of=[f"{said} NaOH"], add=["HCl 1 mol/L"], target="7", ideal=True)
    assert endpoint(asked).document["volume"]["value"] / 10 == close


SAID = (
    "copper sulfate pentahydrate;copper(II) sulphate 5-hydrate;CuSO4.5H2O;7758-99-8;copper sulphate;caustic soda;"
    "bicarb;bleach;IMS;conc HCl;glacial acetic;.880 ammonia;100 vol peroxide;sodum chloride;table salt;washing soda;"
    "meths;potassium permanganate;Condy's crystals;zinc, granulated;hydrochloric acid conc;sulphuric acid;"
    "nickel sulphate;marble chips;magnesium ribbon;iron filings;Mohr's salt;Epsom salts;plaster of Paris;vitamin C;"
    "KHP;hypo;aspirin;ethanoic acid;propanone;oxalic acid;iron(III) chloride;cobalt chloride;Rochelle salt;potash alum"
)


@pytest.mark.parametrize("said", SAID.split(";"))
def test_a_name_is_the_same_to_the_calculator_and_to_the_shelves(said: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(own_room, "items_held", frozenset)
    shelved = find_item(said, ON_FILE, only="substance")
    assert choose_form(said).substance.code == shelved.code


def _names() -> list[str]:
    found = set()
    for one in shipped().substances.values():
        head = head_of(one.name)
        bare = head.rpartition(" ")[0] if head.endswith("hydrate") else head
        found |= {one.code, one.name, *one.other_names, one.cas, one.formula, one.formula.partition(".")[0], head, bare}
    return sorted(found - {""})


def test_every_name_on_file_is_one_thing_to_calculator_and_shelves(monkeypatch: pytest.MonkeyPatch) -> None:
    """Both find the same, or both ask; but to the calculator a metal is one in whatever pieces it is kept."""
    monkeypatch.setattr(own_room, "items_held", frozenset)
    differ, asked = [], 0
    for said in _names():
        try:
            shelved = find_item(said, shipped(), only="substance", held=()).code
        except PrepError as problem:
            shelved, asked = str(problem), asked + 1
        try:
            counted = choose_form(said).substance.code
        except PrepError as problem:
            counted = str(problem)
        forms = {read_name(one.name).without_form.words for one in candidates(said, shipped())}
        if shelved != counted and len(forms) != 1:
            differ.append((said, shelved, counted))
    assert not differ
    assert asked > 10


def test_every_name_that_the_ph_reads_is_on_the_shelves_too(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is weighed and what is in the solution go by the same names: `disodium phosphate`, `trometamol`."""
    monkeypatch.setattr(own_room, "items_held", frozenset)
    lost, read = [], 0
    for row in seed_table("species"):
        kept = {s.code for s in shipped().named if s.formula.partition(".")[0] == row["formula"] or s.cas == row["cas"]}
        for name in (row["name"], *filter(None, row["other_names"].split(";"))) if kept else ():
            found = substance_named(name)
            said = found.code if found else solution_strength(name)
            read += 1
            if (not said and "water" not in name) or (found and found.code not in kept):
                lost.append(name)
    assert not lost
    assert read > 150


@pytest.mark.parametrize("said", ["disodium phosphate", "dibasic sodium phosphate", "sodium phosphate, monobasic"])
def test_a_trade_name_of_a_salt_says_which_hydrate_it_is_taken_for(said: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(own_room, "items_held", frozenset)
    assert choose_form(said).says.endswith("the form usually sold.")


@pytest.mark.parametrize(
    "name", ["nitrous acid", "nitric(III) acid", "sulphurous acid", "carbonic acid", "propenoic acid"]
)
def test_an_acid_is_not_read_as_the_one_whose_name_is_near(name: str) -> None:
    """Nitrous acid is HNO2 and no nitric acid, propenoic (acrylic) acid has a double bond: IUPAC, Red Book 2005, table
    IR-8.1; Blue Book 2013, P-65.
    """
    with pytest.raises(PrepError, match="is no substance on file"):
        find_substance(name)


def test_an_acid_that_no_bottle_holds_has_its_own_molar_mass_and_ph() -> None:
    assert molar_mass_of("nitrous acid").document["formula"] == "HNO2"
    assert molar_mass_of("carbonic acid").document["formula"] == "H2CO3"
    # pKa1 6.35: sqrt(10^-6.35 x 1.35e-5) is pH 5.61, less the share that is gone: 5.65
    assert ph(["carbonic acid 0.0000135 M"], "25", False).document["ph"] == pytest.approx(5.65, abs=0.02)


def test_the_ph_of_what_falls_out_or_is_no_solution_has_no_band() -> None:
    for texts in (["benzoic acid 0.1 M"], ["acetic acid 17 M"]):
        found = ph(texts, "25", False)
        assert found.document["valid"] is False
        assert found.document["uncertainty"] is None
        assert "no band" in found.says[0]
        assert not any("+-" in one for one in (*found.says, *(line.text for line in found.working)))
    strong = ph(["NaCl 1 M", "HCl 0.01 M"], "25", False).document
    assert strong["uncertainty"]["value"] > 0.3  # wide for its ionic strength, with the reason said
    assert ph(["benzoic acid 0.01 M"], "25", False).document["uncertainty"]["value"] < 0.1


def test_a_ph_that_the_air_alone_would_move_says_so() -> None:
    """Water in equilibrium with the carbon dioxide of the air is about pH 5.6: Stumm and Morgan, Aquatic Chemistry."""
    for texts in (["water"], ["NaCl 0.1 M"], ["glucose 0.1 M"], ["HCl 1e-8 M"]):
        note = ph(texts, "25", False).says[-1]
        assert "hardly buffered" in note
        assert re.search(r"pH 5\.[67]", note)
    for texts in (["acetic acid 0.1 M"], ["NaHCO3 0.1 M"], ["0.05 M KH2PO4", "0.05 M Na2HPO4"], ["HCl 0.1 M"]):
        assert not any("hardly buffered" in one for one in ph(texts, "25", False).says)
