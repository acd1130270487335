"""What a demonstration is to show, computed from what it sets out: end points reached, solids dissolved, gas, heat.

Each figure is worked out from the catalogue's own strengths and formulas. What the data on file do not reach is
listed by `python -m tests.test_catalogue_recomputed`.
"""

from decimal import Decimal
from itertools import pairwise
from math import log10

import pytest

from prep.chemistry import quantities
from prep.chemistry.formula.formulas import molar_mass
from prep.chemistry.model import Strength, StrengthKind
from prep.chemistry.strength.solutes import about_substance
from prep.chemistry.strength.strengths import convert as strength_conversion
from tests.catalogue_contents import moles, on_file, strengths, taken


def mmol(demo: str, item: str) -> float:
    """Millimoles of an item's solute that one showing takes, spare and dead volume left out."""
    base = sum(need.per_showing for need in on_file().demos[demo].needs if need.item == item)
    assert base, f"{demo} does not take {item}"
    found = on_file().item(item)
    if found.substance:
        assert found.substance.formula
        grams = Decimal(base) / 10**6
        if found.substance.density_g_ml and found.substance.measure.value == "volume":
            grams = grams * found.substance.density_g_ml * (found.substance.assay_pct or 100) / 100
        return float(grams / molar_mass(found.substance.formula) * 1000)
    assert found.solution
    assert found.solution.strength
    strength = found.solution.strength
    litres = Decimal(base) / 10**9
    if strength.kind is StrengthKind.MOL_PER_L:
        return float(litres * strength.value * 1000)
    assert strength.kind is StrengthKind.PCT_W_V
    formula = next(s.formula for s in on_file().substances.values() if s.solute == found.solution.solute)
    return float(litres * strength.value * 10 / molar_mass(formula) * 1000)


# demo, burette, flask, units of the burette's per unit of the flask's (R. Chang, Chemistry, 10th ed., chapter 4:
# acid-base and redox titrations, from memory), how many portions of the flask are titrated
TITRATIONS = [
    ("strong-acid-titration", "hcl-0.1", "naoh-0.1", 1),
    ("iron-by-permanganate", "kmno4-0.02", "feso4-0.1", 0.2),
    ("standardising", "hcl-0.1", "sodium-carbonate", 0.8),  # two protons each, four of the ten portions taken
    ("ph-curves", "hcl-0.1", "ammonia-0.1", 1),
    ("ph-curves", "ethanoic-0.1", "naoh-0.1", 1),
    ("hard-water", "edta-0.01", "cacl2-0.1", 1),
    ("vinegar-titration", "naoh-0.1", "hcl-0.1", 1),
]


@pytest.mark.parametrize(("demo", "burette", "flask", "ratio"), TITRATIONS)
def test_the_burette_reaches_the_end_point(demo: str, burette: str, flask: str, ratio: float) -> None:
    wanted, there = mmol(demo, flask) * ratio, mmol(demo, burette)
    assert wanted * 0.98 <= there <= wanted * 2.2, f"{there:.2f} mmol for {wanted:.2f}"


# demo, both partners, moles of the second that one of the first takes: the second is there in full, or a little less
WHOLE = [
    ("iron-sulfur", "iron-filings", "sulfur", 1.0),
    ("thermite", "iron-iii-oxide", "aluminium-powder", 2.0),
    ("copper-sulfate-crystals", "h2so4-1", "copper-oxide", 1.0),
    ("displacement-heat", "cuso4-0.5", "zinc-powder", 1.0),
    ("heat-of-neutralisation", "hcl-2", "naoh-2", 1.0),
    ("aspirin-made", "salicylic-acid", "ethanoic-anhydride", 1.0),
    ("salt-making", "hcl-1", "naoh-1", 1.0),
    ("silver-tree", "agno3-0.1", "copper-turnings", 0.5),
    ("zinc-iodine", "iodine", "zinc-powder", 1.0),
    ("nylon", "decanedioyl-dichloride", "hexane-1-6-diamine", 1.0),
    ("marble-rate", "hcl-2", "calcium-carbonate", 0.5),
    ("magnesium-rate", "magnesium-ribbon", "hcl-0.5", 2 / 3),  # a third of the ribbon goes into each flask
    ("metals-acid", "magnesium-ribbon", "hcl-1", 2.0),
    ("copper-oxide-reduced", "copper-oxide", "carbon", 0.5),
    ("chromate-equilibrium", "chromate-0.1", "h2so4-0.5", 0.5),
    ("chromate-equilibrium", "h2so4-0.5", "naoh-0.5", 1.0),
    ("cooling-mixture", "sodium-hydrogencarbonate", "citric-1", 1 / 3),
    ("peroxodisulfate-clock", "thiosulfate-0.01", "potassium-peroxodisulfate-0.04", 0.5),
    ("peroxodisulfate-clock", "potassium-peroxodisulfate-0.04", "ki-0.5", 2.0),
    ("vitamin-c", "ascorbic-0.1pct", "iodine-0.005", 1.0),
    ("iodine-propanone", "iodine-0.02", "propanone-1", 1.0),
    ("copper-complexes", "cuso4-0.5", "ammonia-2", 4.0),
    ("halogen-displacement", "iodine-0.005", "ki-0.1", 2.0),
    ("sulfate-carbonate-tests", "sodium-carbonate-0.1", "hcl-1", 2.0),
    ("thiosulfate-rate", "thiosulfate-0.2", "hcl-2", 1.0),
]


@pytest.mark.parametrize(("demo", "one", "other", "ratio"), WHOLE)
def test_the_partner_suffices(demo: str, one: str, other: str, ratio: float) -> None:
    assert mmol(demo, other) >= mmol(demo, one) * ratio * 0.95


def test_lead_iodide_dissolves_when_it_is_hot() -> None:
    """PbI2: 0.41 g in 100 mL at 100 degC, 0.07 g at 20 degC (from memory: CRC Handbook, aqueous solubility)."""
    made = min(mmol("golden-rain", "lead-nitrate-0.1"), mmol("golden-rain", "ki-0.1") / 2) * 461.0 / 1000
    water = sum(n.per_showing for n in on_file().demos["golden-rain"].needs) / 10**8  # hundreds of mL
    assert made <= 0.3 * water  # at 80 degC
    assert made >= 2.5 * 0.07 * water  # and most of it comes out again


def test_a_foam_cup_warms_as_the_heat_of_neutralisation_says() -> None:
    """57 kJ/mol (from memory: Atkins, Physical Chemistry, 9th ed.): two molar, equal volumes, 13 to 14 K."""
    volume = sum(n.per_showing for n in on_file().demos["heat-of-neutralisation"].needs) / 10**6
    rise = 57_000 * mmol("heat-of-neutralisation", "hcl-2") / 1000 / (volume * 4.18)
    assert 12.5 <= rise <= 14.5


def test_hydrogen_is_made_in_litres_and_by_acid_in_short_supply() -> None:
    """24 L/mol at room conditions: enough for bubbles, tubes and a small balloon, and it stops by itself."""
    zinc, acid = mmol("hydrogen-pop", "zinc-granules"), mmol("hydrogen-pop", "h2so4-2")
    assert acid < zinc
    assert 1.5 <= acid / 1000 * 24 <= 4


def test_chlorine_made_is_taken_up_by_what_stands_ready() -> None:
    """2 KMnO4 + 16 HCl give 5 Cl2; thiosulfate takes 4 Cl2 and gives 10 H+, which the carbonate takes."""
    chlorine = min(mmol("chlorine-bleaching", "potassium-permanganate") * 2.5, 1e9)
    assert mmol("chlorine-bleaching", "hydrochloric-acid") >= mmol("chlorine-bleaching", "potassium-permanganate") * 8
    assert mmol("chlorine-bleaching", "thiosulfate-0.2") * 4 >= chlorine
    assert mmol("chlorine-bleaching", "sodium-carbonate") * 2 >= chlorine / 4 * 10


def test_the_two_salts_of_the_hydration_cycle_are_equal_moles() -> None:
    """-66.5 and +11.7 kJ/mol (from memory: CRC Handbook, enthalpy of solution): 8 K up, more than 1 K down in 50 g."""
    dry, wet = mmol("hess-copper", "copper-sulfate"), mmol("hess-copper", "copper-sulfate-5-water")
    assert dry == pytest.approx(wet, rel=0.02)
    assert 66.5 * dry / (50 * 4.18) == pytest.approx(8, abs=0.5)
    assert 11.7 * wet / (50 * 4.18) > 1


def test_hydroxides_take_the_alkali_that_is_set_out() -> None:
    ions = {"cuso4-0.1": 2, "fecl3-0.1": 3, "feso4-0.1": 2, "znso4-0.1": 2, "nickel-sulfate-0.1": 2}
    assert mmol("hydroxides", "naoh-0.4") >= sum(mmol("hydroxides", item) * each for item, each in ions.items())


def test_gas_is_made_in_what_it_is_collected_in() -> None:
    """24 L/mol at room conditions; a volume of peroxide is that of the oxygen it gives."""
    litres = {
        "marble-rate": mmol("marble-rate", "hcl-2") / 2 / 1000 * 24,
        "calcium-water": mmol("calcium-water", "calcium") / 1000 * 24,
        "magnesium-rate": mmol("magnesium-rate", "magnesium-ribbon") / 3 / 1000 * 24,
        "cooling-mixture": mmol("cooling-mixture", "sodium-hydrogencarbonate") / 1000 * 24,
    }
    assert 1 < litres["marble-rate"] < 3
    assert 0.2 < litres["calcium-water"] < 0.5
    assert litres["magnesium-rate"] < 0.1  # a syringe of 100 mL
    assert 1 < litres["cooling-mixture"] < 4


def test_hot_ice_dissolves_hot_and_is_far_over_saturation_when_cold() -> None:
    """Sodium ethanoate: 46 g in 100 g of water at 20 degC, 139 g at 60 degC (from memory: CRC Handbook)."""
    salt = mmol("hot-ice", "sodium-acetate-3-water")
    added = sum(need.per_showing for need in on_file().demos["hot-ice"].needs if need.item == "water") / 10**6
    in_100 = salt * 82.03 / 1000 / (salt * 3 * 18.015 / 1000 + added) * 100
    assert 46 * 1.5 < in_100 < 139


@pytest.mark.parametrize(
    ("demo", "what", "ph"),
    [
        # from memory: D. C. Harris, Quantitative Chemical Analysis, acids, bases and salts of weak ones
        ("salts-ph", "sodium acetate 0.1 mol/L", 8.9),
        ("salts-ph", "ammonium chloride 0.1 mol/L", 5.1),
        ("salts-ph", "sodium carbonate 0.1 mol/L", 11.4),
        ("tenfold-series", "HCl 0.1 mol/L", 1.1),
        ("tenfold-series", "HCl 0.01 mol/L", 2.0),
        ("tenfold-series", "HCl 0.001 mol/L", 3.0),
    ],
)
def test_the_colour_is_that_of_its_ph(demo: str, what: str, ph: float) -> None:
    from prep.services.calc.equilibrium import ph as computed

    assert demo in on_file().demos
    assert computed([what], "25 degC", False).document["ph"] == pytest.approx(ph, abs=0.15)


def test_a_spill_of_vinegar_is_made_safe() -> None:
    assert mmol("vinegar-spill", "sodium-hydrogencarbonate") >= mmol("vinegar-spill", "vinegar")


# McIlvaine's table (from memory: J. Biol. Chem. 49 (1921) 183-186): mL of 0.2 mol/L phosphate in 20 mL
MCILVAINE = {3: "4.11", 4: "7.71", 5: "10.30", 6: "12.63", 7: "16.47", 8: "19.45"}


@pytest.mark.parametrize("ph", MCILVAINE)
def test_the_citrate_phosphate_series_is_mixed_as_published(ph: int) -> None:
    made = on_file().solutions[f"mcilvaine-{ph}"]
    parts = {line.item: line.amount for line in made.recipe}
    assert sum(parts.values()) == made.recipe_nl
    assert parts["phosphate-0.2"] == quantities.amount(f"{Decimal(MCILVAINE[ph]) * 10} mL").base
    assert parts["citric-0.1"] == quantities.amount(f"{(20 - Decimal(MCILVAINE[ph])) * 10} mL").base


def test_a_shown_flame_is_warned_of_wherever_a_vapour_burns() -> None:
    for demo in on_file().demos.values():
        burns = [
            need.item
            for need in demo.needs
            if (s := on_file().substances.get(need.item)) and s.flash_point_c is not None and s.flash_point_c < 40
        ]
        if burns:
            assert any(word in demo.caution.lower() for word in ("flame", "lit", "flammable", "screen")), demo.code


def test_goggles_wherever_something_is_poured() -> None:
    for demo in on_file().demos.values():
        assert any(word in demo.caution.lower() for word in ("goggles", "face shield")), demo.code


# demo, the solute that is used up, the one that is left over, moles of the second to one of the first; from memory:
# R. Chang, Chemistry, 10th ed., stoichiometry and redox equations
LEFT_OVER = [
    ("agar-diffusion", "sodium-hydroxide", "hydrochloric-acid", 1.0),  # the pink goes to the middle
    ("alcohols-oxidised", "potassium-dichromate", "propan-1-ol", 3.0),  # orange goes wholly to green
    ("alcohols-oxidised", "potassium-dichromate", "propan-2-ol", 3.0),
    ("ammonium-nitrate-tests", "ammonium-chloride", "sodium-hydroxide", 1.0),
    ("ammonium-nitrate-tests", "sodium-nitrate", "aluminium-foil", 8 / 3),
    ("autocatalysis", "potassium-permanganate", "oxalic-acid", 2.5),  # the purple goes
    ("autocatalysis", "potassium-permanganate", "sulfuric-acid", 1.5),
    ("bleach-iodide", "sodium-hypochlorite", "potassium-iodide", 2.0),  # or chlorine comes off
    ("bleach-iodide", "sodium-hypochlorite", "acetic-acid", 2.0),
    ("blue-bottle", "methylene-blue", "glucose", 1000.0),  # it can be shaken again and again
    ("bromine-alkenes", "bromine", "cyclohexene", 1.0),
    ("bromine-alkenes", "bromine", "sodium-thiosulfate", 0.5),  # a spill
    ("carbonyl-test", "dinitrophenylhydrazine", "propanal", 1.0),
    ("carbonyl-test", "dinitrophenylhydrazine", "acetone", 1.0),
    ("clock-iodate", "sodium-metabisulfite", "potassium-iodate", 2 / 3),  # iodate is over, and turns blue
    ("clock-peroxide", "sodium-thiosulfate", "hydrogen-peroxide", 0.5),  # the thiosulfate goes first
    ("clock-peroxide", "sodium-thiosulfate", "potassium-iodide", 1.0),
    ("cobalt-equilibrium-demo", "cobalt-chloride", "hydrochloric-acid", 4.0),
    ("cobalt-tartrate", "hydrogen-peroxide", "potassium-sodium-tartrate", 1 / 3),  # the pink returns
    ("crystal-violet-rate", "crystal-violet", "sodium-hydroxide", 100.0),  # so that it is of first order
    ("displacement", "copper-sulfate", "zinc-powder", 0.5),  # half of the solution
    ("displacement", "copper-sulfate", "iron-filings", 0.5),
    ("esters", "sulfuric-acid", "sodium-hydrogencarbonate", 2.0),
    ("food-tests", "copper-sulfate", "glucose", 0.5),
    ("frozen-board", "barium-hydroxide", "ammonium-thiocyanate", 2.0),
    ("halides-sulfuric", "sodium-chloride", "sulfuric-acid", 1.0),
    ("ions-with-alkali", "copper-sulfate", "sodium-hydroxide", 2.0),
    ("luminol", "luminol", "hydrogen-peroxide", 1.0),
    ("luminol", "luminol", "sodium-hydroxide", 2.0),
    ("permanganate-glycerol", "potassium-permanganate", "glycerol", 4 / 14),
    ("reducing-sugar", "copper-sulfate", "glucose", 0.5),
    ("silver-gold-coin", "zinc-powder", "sodium-hydroxide", 2.0),
    ("silver-mirror", "silver-nitrate", "glucose", 0.5),
    ("silver-mirror", "ammonia", "nitric-acid", 1.0),  # it is destroyed at once
    ("silver-mirror", "silver-nitrate", "ammonia", 2.0),
    ("soap-hardness", "calcium-sulfate", "sodium-stearate", 2.0),
    ("traffic-light", "indigo-carmine", "glucose", 100.0),
    ("vanadium-colours", "ammonium-metavanadate", "zinc-powder", 1.5),
    ("vanadium-colours", "ammonium-metavanadate", "sulfuric-acid", 4.0),
    ("water-purified", "silver-nitrate", "sodium-chloride", 1.0),
    ("yeast-respiration", "methylene-blue", "glucose", 1.0),
]


@pytest.mark.parametrize(("demo", "first", "other", "ratio"), LEFT_OVER)
def test_what_is_to_vanish_is_used_up(demo: str, first: str, other: str, ratio: float) -> None:
    there = taken(demo)
    assert there.get(first), f"{demo} holds no {first} that can be reckoned: {there}"
    assert there.get(other, 0) >= there[first] * ratio * 0.98, f"{there.get(other, 0):.3g} for {there[first]:.3g} mmol"


GAS_L = 24.0  # L/mol at room conditions


def test_a_fountain_has_more_ammonia_than_its_flask_holds() -> None:
    assert taken("ammonia-fountain")["ammonia"] / 1000 * GAS_L > 3  # a flask of a litre, three times filled


def test_foam_comes_out_of_its_cylinder() -> None:
    oxygen = taken("foam-column")["hydrogen-peroxide"] / 2 / 1000 * GAS_L
    assert oxygen > 3 * 0.5  # L, a cylinder of 500 mL


def test_the_best_catalyst_froths_but_stays_in_its_quarter() -> None:
    """A quarter of the peroxide in each of four cylinders gives ten times its volume of oxygen, in a minute or more."""
    each = taken("peroxide-catalysts")["hydrogen-peroxide"] / 4
    assert 0.2 < each / 2 / 1000 * GAS_L < 0.3


def test_a_fermenting_flask_clouds_the_limewater() -> None:
    """Two of CO2 to a glucose; limewater 0.0225 mol/L (from memory: CRC Handbook, 0.166 g in 100 mL at 20 degC)."""
    limewater = 10 / 1000 * 0.0225 * 1000
    assert taken("fermentation")["glucose"] * 2 > 20 * limewater
    assert 2 * limewater < 500 * 0.04 / GAS_L  # a breath of half a litre, 4 % of it


def test_metals_in_a_trough_turn_the_indicator_pink_and_give_little_gas() -> None:
    alkali = sum(taken("alkali-metals").get(metal, 0) for metal in ("lithium", "sodium", "potassium"))
    assert 14 + log10(alkali / 1000 / 3) > 10  # three litres; phenolphthalein is wholly pink at 10
    assert alkali / 2 / 1000 * GAS_L < 0.5


def test_the_ring_forms_nearer_the_acid() -> None:
    """Graham's law: paths as the roots of the molar masses, the other way round."""
    way = float(molar_mass("HCl") / molar_mass("NH3")) ** 0.5
    assert 0.58 < way / (1 + way) < 0.61  # of a tube of 1 m, from the ammonia's end
    drops = taken("ammonia-diffusion")
    assert min(drops["ammonia"], drops["hydrochloric-acid"]) / 1000 * GAS_L > 0.1  # more than the tube takes up


def test_benzoic_acid_dissolves_hot_and_comes_out_cold() -> None:
    """0.34 g in 100 g of water at 25 degC, 6.8 g at 95 degC (from memory: CRC Handbook, aqueous solubility)."""
    grams = taken("benzoic-recrystallised")["benzoic-acid"] * float(molar_mass("C7H6O2")) / 1000
    assert 3 * 0.34 < grams < 6.8 * 0.5


def test_each_fuel_has_more_heat_than_its_can_of_water_takes() -> None:
    """Heats of combustion, kJ/mol (from memory: Atkins, Physical Chemistry, 9th ed.), a tenth of which is caught."""
    heats = {"methanol": 726, "ethanol": 1367, "propan-1-ol": 2021, "butan-1-ol": 2676}
    fuel = taken("burning-alcohols")
    for name, heat in heats.items():
        assert 0.1 * fuel[name] / 1000 * heat > 100 * 4.18 * 20 / 1000 * 0.9, name  # 100 g of water, 20 K


def test_chlorate_has_the_oxygen_that_a_sweet_burns() -> None:
    """2 KClO3 give 3 O2; a sweet of 3 g of sugar takes 12 O2 to a mole."""
    oxygen = taken("chlorate-sweet")["potassium-chlorate"] * 1.5
    assert oxygen >= 3 / float(molar_mass("C12H22O11")) * 1000 * 12


def test_dilute_acids_conduct_by_their_ions() -> None:
    """Ethanoic acid is a hundredth ionised, hydrochloric wholly: the lamp is dim, and bright."""
    from prep.services.calc.equilibrium import ph as computed

    weak, strong = (computed([f"{a} 0.1 mol/L"], "25 degC", False).document["ph"] for a in ("acetic acid", "HCl"))
    assert {"ethanoic-0.1", "hcl-0.1"} <= {need.item for need in on_file().demos["conductivity"].needs}
    assert 40 < 10 ** (weak - strong) < 100


@pytest.mark.parametrize(
    ("demo", "stock", "parts"),
    [("copper-colorimeter", "cuso4-0.5", (2, 4, 6, 8, 10)), ("potato-osmosis", "sucrose-1", (0, 5, 10, 15, 20, 25))],
)
def test_a_series_is_mixed_from_what_stands_there(demo: str, stock: str, parts: tuple[int, ...]) -> None:
    """Each step is made up to the largest with water."""
    needs = {need.item: need.per_showing / 10**6 for need in on_file().demos[demo].needs}
    assert needs[stock] >= sum(parts)
    assert needs["water"] >= sum(max(parts) - part for part in parts)


def test_the_bath_stays_blue() -> None:
    """0.5 A for twenty minutes moves 3.1 mmol of copper (Faraday: 96485 C/mol, two electrons)."""
    moved = 0.5 * 20 * 60 / (2 * 96485) * 1000
    for demo, bath in (("copper-electrolysis", "cuso4-0.5"), ("electroplating", "plating-copper")):
        assert taken(demo, bath)["copper-sulfate"] > 10 * moved
    assert taken("electroplating")["copper-turnings"] > 10 * moved  # the other electrode pays for it


def test_crystal_violet_fades_five_times_as_fast() -> None:
    strong, weak = (taken("crystal-violet-rate", item)["sodium-hydroxide"] for item in ("naoh-0.1", "naoh-0.02"))
    assert strong / weak == pytest.approx(5)
    assert "five times" in on_file().demos["crystal-violet-rate"].about


def test_a_daniell_cell_gives_more_than_a_volt() -> None:
    """Standard potentials +0.34 and -0.76 V (from memory: CRC Handbook); both ions alike, so no more is to be added."""
    needs = {need.item: need.per_showing for need in on_file().demos["daniell-cell"].needs}
    assert strengths("cuso4-1")["copper-sulfate"][0] == strengths("znso4-1")["zinc-sulfate"][0]
    assert needs["cuso4-1"] == needs["znso4-1"]
    assert 0.34 + 0.76 > 1.0


def test_dry_ice_uses_up_the_alkali_and_more() -> None:
    """A gram is 23 mmol; water under it comes to pH 3.9 (pKa 6.35, 0.033 mol/L; from memory: CRC Handbook)."""
    alkali = taken("dry-ice-indicators")["sodium-hydroxide"]
    assert 2 * alkali < 1000 / 44
    assert 3.5 < (6.35 - log10(0.033)) / 2 < 4.2  # bromothymol blue is yellow below 6.0


def test_silver_halides_form_and_part_in_ammonia() -> None:
    """Ksp 1.8e-10, 5.4e-13, 8.5e-17; Ag(NH3)2+ 1.1e7 (from memory: Harris, Quantitative Chemical Analysis, appendices).

    A tube holds 5 mL of halide and a third of the silver; each ammonia goes to two of the tubes at most.
    """
    needs = {need.item: need.per_showing / 10**6 for need in on_file().demos["halide-tests"].needs}
    silver = taken("halide-tests", "agno3-0.02")["silver-nitrate"] / 3
    halides = {"nacl-0.1": 0.5, "kbr-0.5": 2.5, "ki-0.1": 0.5}
    products = {"nacl-0.1": 1.8e-10, "kbr-0.5": 5.4e-13, "ki-0.1": 8.5e-17}

    def dissolved(halide: str, item: str, ammonia_ml: float) -> float:
        volume = 5 + needs["agno3-0.02"] / 3 + ammonia_ml
        ammonia = strengths_of_ammonia(item) * ammonia_ml / volume
        left = halides[halide] / volume
        return products[halide] * 1.1e7 * ammonia**2 / left * volume  # mmol

    for halide, there in halides.items():
        volume = 5 + needs["agno3-0.02"] / 3
        assert silver / volume * (there - silver) / volume > 1000 * products[halide]  # it is seen
    assert dissolved("nacl-0.1", "ammonia-2", needs["ammonia-2"] / 3) > silver
    assert dissolved("kbr-0.5", "ammonia-2", needs["ammonia-2"] / 3) < silver / 2
    assert dissolved("kbr-0.5", "ammonia-880", needs["ammonia-880"] / 2) > silver
    assert dissolved("ki-0.1", "ammonia-880", needs["ammonia-880"] / 2) < silver / 100


def strengths_of_ammonia(item: str) -> float:
    """mol/L of ammonia, made or as bought."""
    if item in on_file().solutions:
        return strengths(item)["ammonia"][0]
    substance = on_file().substances[item]
    return 1000 * moles(substance, 10**6)


@pytest.mark.parametrize(
    ("demo", "order"),
    [
        ("indicator-colours", ["HCl 0.1 mol/L", "HCl 0.01 mol/L", "NaOH 0.01 mol/L", "NaOH 0.1 mol/L"]),
        ("rainbow-tube", ["HCl 0.1 mol/L", "sodium carbonate 0.1 mol/L"]),
        (
            "red-cabbage",
            ["HCl 0.1 mol/L", "acetic acid 0.83 mol/L", "sodium hydrogencarbonate 0.1 mol/L", "NaOH 0.1 mol/L"],
        ),
    ],
)
def test_each_liquid_has_a_colour_of_its_own(demo: str, order: list[str]) -> None:
    """By a pH of its own, at least 0.5 apart, from below 2 to above 11."""
    from prep.services.calc.equilibrium import ph as computed

    found = [computed([what], "25 degC", False).document["ph"] for what in order]
    assert all(after - before > 0.5 for before, after in pairwise(found))
    assert found[0] < 2
    assert found[-1] > 11
    assert demo in on_file().demos


def test_soap_has_more_alkali_than_its_oil_takes() -> None:
    """A saponification value of 192 mg of KOH to a gram (from memory: Codex Stan 210, maize oil 187 to 195)."""
    oil = next(need for need in on_file().demos["soap-making"].needs if need.item == "maize-oil")
    grams = oil.per_showing / 10**6 * float(on_file().substances["maize-oil"].density_g_ml or 0.92)
    assert taken("soap-making")["sodium-hydroxide"] > grams * 192 / float(molar_mass("KOH"))


def test_thiocyanate_is_red_and_both_ways_open() -> None:
    """K = 140 (from memory: Skoog, Fundamentals of Analytical Chemistry), 4700 L/(mol cm): seen, and far from spent."""
    there = taken("thiocyanate-equilibrium", "feno3-0.002")["iron-iii-nitrate"] / 100
    other = taken("thiocyanate-equilibrium", "kscn-0.002")["potassium-thiocyanate"] / 100
    total = there + other + 1 / 140
    red = (total - (total**2 - 4 * there * other) ** 0.5) / 2
    assert 0.2 < red * 4700 < 2
    assert red < 0.5 * there


def test_the_bottle_is_filled_between_its_limits() -> None:
    """2.0 and 12.7 % (from memory: NFPA 325, propan-2-ol), 4.4 kPa at 20 degC (CRC Handbook): it burns, not bursts."""
    vapour = 4.4 / 101.3
    assert 0.02 < vapour < 0.127
    assert taken("whoosh-bottle")["propan-2-ol"] / 1000 * GAS_L > 20 * vapour  # a bottle of 20 L is saturated


def test_sugar_is_turned_to_much_carbon_and_its_acid_can_be_made_safe() -> None:
    there = taken("sugar-sulfuric")
    assert there["sucrose"] * 12 * 12.011 / 1000 > 15  # g of carbon: a column
    assert there["sulfuric-acid"] * 2 > there["sucrose"]
    assert there["sodium-hydrogencarbonate"] > there["sulfuric-acid"]  # half of it runs out at most


def test_magnesium_in_steam_has_water_over() -> None:
    water = next(need for need in on_file().demos["magnesium-burning"].needs if need.item == "water")
    assert water.per_showing / 10**6 / 18.015 * 1000 > 2 * taken("magnesium-burning")["magnesium-ribbon"]


def test_cracked_oil_takes_the_colour_of_both_tests() -> None:
    """One double bond to a broken chain of C20H42, 282.6 g/mol, density 0.86: much more than bromine and manganate."""
    oil = next(need for need in on_file().demos["cracking"].needs if need.item == "liquid-paraffin")
    bonds = oil.per_showing / 10**6 * 0.86 / 282.6 * 1000
    there = taken("cracking")
    assert 0.2 * bonds > there["bromine"] + 1.5 * there["potassium-permanganate"]


def test_fertiliser_comes_out_slightly_sour() -> None:
    """The plan computes the acid up to pH 5: half as many moles as the ammonia."""
    from prep.services.catalogue.lookup import reckoned

    found = reckoned(on_file().demos["fertiliser"], on_file())
    demo, untils = found.demo, found.untils
    acid = next(need for need in demo.needs if need.item == "h2so4-1").per_showing / 10**6
    assert untils
    assert acid == pytest.approx(taken("fertiliser")["ammonia"] / 2, rel=0.05)


def test_alginate_sets_through() -> None:
    """One charge to 198 g of alginate, NaC6H7O6; half a calcium ion to each."""
    alginate = next(need for need in on_file().demos["alginate-worms"].needs if need.item == "alginate-2")
    grams = alginate.per_showing / 10**6 * strengths("alginate-2")["sodium-alginate"][1] / 100
    assert taken("alginate-worms")["calcium-chloride"] * 2 > grams / 198 * 1000


CHARGE = 1.0 * 5 * 60 / 96485 * 1000
"""mmol of electrons that an ampere moves in five minutes (Faraday: 96485 C/mol)."""


def test_brine_gives_little_chlorine_and_turns_pink() -> None:
    """0.5 ppm for a short time (from memory: Commission Directive 2006/15/EC), in a room of 150 m3."""
    assert 0.01 * taken("brine-electrolysis")["sodium-chloride"] > CHARGE
    chlorine_ml = CHARGE / 2 * GAS_L
    assert chlorine_ml / 150 < 0.5  # mL in 1 m3 are ppm
    assert 14 + log10(CHARGE / 100) > 10  # the half of the cell, 100 mL; phenolphthalein


def test_water_parts_into_acid_and_alkali_that_the_indicator_shows() -> None:
    """A half has 150 mL; sulfate takes most of the acid, pKa 1.99 (from memory: CRC Handbook)."""
    half = 150.0
    sulfate = taken("water-electrolysis")["sodium-sulfate"] / 2 / half
    acid = CHARGE / half
    assert -log10(acid * 10**-1.99 / sulfate) < 6.0  # bromothymol blue is yellow
    assert 14 + log10(CHARGE / half) > 7.6  # and blue
    assert 20 < CHARGE / 2 * GAS_L < 50  # mL of hydrogen, within a voltameter's arm of 50; half as much oxygen


def test_a_melt_gives_zinc_to_see_and_lasts() -> None:
    """2 A for ten minutes; ZnCl2 melts at 290 degC (from memory: CRC Handbook), below a burner's red heat."""
    moved = 4 * CHARGE / 2
    assert moved * 65.4 / 1000 > 0.3  # g
    assert moved < 0.1 * taken("molten-electrolysis")["zinc-chloride"]


def test_coloured_ions_creep_a_centimetre_or_two() -> None:
    """Mobilities at 25 degC 61.3 and 53.6 S cm2/mol over F (from memory: CRC Handbook): 20 V over 5 cm, 15 min."""
    for conductivity in (61.3, 53.6):
        way = conductivity / 96485 * 20 / 5 * 15 * 60
        assert 1.5 < way < 3  # cm, of a slide of 7.6
    assert {"potassium-permanganate", "cuso4-0.5"} <= {need.item for need in on_file().demos["moving-ions"].needs}


def test_what_comes_over_first_burns_and_the_wine_does_not() -> None:
    """Vapour over ethanol in water at 101.3 kPa (from memory: Perry's Chemical Engineers' Handbook); 57.1 % v/v, proof
    spirit, is what lights gunpowder; heptane boils at 98 degC, liquid paraffin far above 250.
    """
    needs = {need.item: need.per_showing / 10**6 for need in on_file().demos["distillation"].needs}
    ethanol = moles(on_file().substances["ethanol-96"], needs["ethanol-96"] * 10**6) * 1000
    share = ethanol / (ethanol + needs["water"] / 18.015 * 1000)
    vapour = {0.0190: 0.1700, 0.0721: 0.3891, 0.0966: 0.4375}
    (low, y0), (high, y1) = next(pair for pair in pairwise(vapour.items()) if pair[0][0] <= share <= pair[1][0])
    over = y0 + (y1 - y0) * (share - low) / (high - low)
    by_mass = 100 * over * 46.07 / (over * 46.07 + (1 - over) * 18.015)
    about = about_substance(on_file().substances["ethanol-96"])
    by_volume = strength_conversion(Strength(Decimal(repr(by_mass)), StrengthKind.PCT_W_W), StrengthKind.PCT_V_V, about)
    assert by_volume.strength.value > 57.1
    assert 100 * needs["ethanol-96"] * 0.96 / (needs["ethanol-96"] + needs["water"]) < 25


def test_a_tenth_of_the_flour_fills_the_tin_above_its_limit() -> None:
    """60 g/m3 (from memory: R. K. Eckhoff, Dust Explosions in the Process Industries, maize starch); a tin of 5 L."""
    flour = next(need for need in on_file().demos["dust-explosion"].needs if need.item == "cornflour")
    assert flour.per_showing / 10**6 / 10 / 0.005 > 60


def test_a_thousandth_of_a_halogenoalkane_clouds_the_silver() -> None:
    """Ksp 1.8e-10, 5.4e-13, 8.5e-17 (from memory: Harris, Quantitative Chemical Analysis): a third of it a tube."""
    there = taken("halogenoalkanes")
    volume = 3.5  # mL: 1 of silver, 2 of alcohol, drops
    silver = there["silver-nitrate"] / 3 / volume
    for halide, product in (("chlorobutane", 1.8e-10), ("bromobutane", 5.4e-13), ("iodobutane", 8.5e-17)):
        freed = there[halide] * 0.001 / volume
        assert silver * freed > 1000 * product
        assert there[halide] > there["silver-nitrate"] / 3


# mol/L in the mixed beaker: from memory: T. S. Briggs and W. C. Rauscher, J. Chem. Educ. 50 (1973) 496
OSCILLATING = {
    "potassium-iodate": 0.067, "hydrogen-peroxide": 1.2, "malonic-acid": 0.050, "manganese-sulfate": 0.0067,
    "sulfuric-acid": 0.053 / 2,
}  # fmt: skip


@pytest.mark.parametrize("solute", OSCILLATING)
def test_it_oscillates_at_the_strengths_that_were_published(solute: str) -> None:
    volume = sum(need.per_showing for need in on_file().demos["oscillator"].needs) / 10**6
    found = next(mmol for key, mmol in taken("oscillator").items() if key.startswith(solute))
    assert found / volume == pytest.approx(OSCILLATING[solute], rel=0.05)


def test_permanganate_is_seen_three_times_thinned_and_not_five_times() -> None:
    """2400 L/(mol cm) at 525 nm (from memory: Skoog, Fundamentals of Analytical Chemistry); a tube of 1.5 cm.

    An eye sees an absorbance of some 0.02 beside water: common practice, no source.
    """
    stock = strengths("kmno4-0.02")["potassium-permanganate"][0]
    seen = [stock / 10**times * 2400 * 1.5 for times in range(6)]
    assert seen[3] > 0.02 > seen[5]
    assert 10 + 5 * 90 <= 10 + 500  # five flasks of 100 mL from 10 mL each


def test_borate_joins_the_chains_at_every_tenth_to_fiftieth_link() -> None:
    """E. Z. Casassa and others, J. Chem. Educ. 63 (1986) 57 (from memory): one part of borax 4 % to five or ten."""
    units = 100 * strengths("pva-4")["polyvinyl-alcohol"][1] / 100 / 44.05 * 1000
    borate = 2 * taken("slime")["borax"]  # of four borons two are ions
    assert 10 < units / borate < 50


def test_five_strengths_of_alcohol_are_mixed_from_what_stands_there() -> None:
    """20 mL each of 0, 20, 40, 60 and 80 % v/v."""
    needs = {need.item: need.per_showing / 10**6 for need in on_file().demos["beetroot-membranes"].needs}
    alcohol = [20 * pct / 96 for pct in (0, 20, 40, 60, 80)]
    assert needs["ethanol-96"] >= sum(alcohol)
    assert needs["water"] >= sum(20 - one for one in alcohol)


def test_salt_and_ice_come_to_the_lowest_point() -> None:
    """23.3 % of salt, at -21.1 degC (from memory: CRC Handbook, eutectics): so much that all the ice can be brine."""
    needs = on_file().demos["salt-ice"].needs
    salt = next(need.per_showing for need in needs if need.item == "sodium-chloride")
    ice = next(need.per_showing for need in needs if need.note == "frozen and crushed")
    assert 23.3 < 100 * salt / (salt + ice) < 30


SEEN = 0.02
"""The absorbance that an eye sees beside water, or on white paper: common practice, no source."""


def per_showing(demo: str, item: str) -> float:
    """mL or g of an item that one showing takes."""
    return sum(need.per_showing for need in on_file().demos[demo].needs if need.item == item) / 10**6


def test_the_oxygen_in_a_dish_is_enough_to_rust_pink_and_blue() -> None:
    """8.3 mg of oxygen in a litre at 25 degC, phenolphthalein from 8.2 (from memory: CRC Handbook); Prussian blue 1e4
    L/(mol cm) (from memory: M. B. Robin, Inorg. Chem. 1 (1962) 337); a dish of 9 cm.
    """
    volume = per_showing("rusting", "ferroxyl") / 1000
    oxygen = 8.3e-3 / 32 * volume  # mol; O2 + 2 H2O + 4 e give 4 OH-
    assert 14 + log10(4 * oxygen / volume) > 8.2 + 1
    iron = 2 * oxygen
    assert taken("rusting")["potassium-hexacyanoferrate-iii"] / 1000 > 2 * iron
    assert iron / volume * 1e4 * (volume * 1000 / 63.6) > 10 * SEEN


def test_water_goes_into_each_stalk_of_the_garden() -> None:
    """A skin grows while the salt's own solution is stronger than the water glass: sodium silicate of 8.9 % Na2O (from
    memory: Ullmann's Encyclopedia of Industrial Chemistry, soluble silicates), thinned; undiluted, copper would not.
    """
    glass, water = (per_showing("chemical-garden", item) for item in ("sodium-silicate-solution", "water"))
    density = float(on_file().substances["sodium-silicate-solution"].density_g_ml or 0)
    sodium = 2 * 1000 * density * 0.089 / 61.98
    for salt, hydrate in (
        ("copper-sulfate-5-water", 5),
        ("cobalt-chloride-6-water", 6),
        ("manganese-sulfate-1-water", 1),
    ):
        substance = on_file().substances[salt]
        dissolved = float(substance.solubility_g_per_100g or 0) / float(molar_mass(substance.formula))
        ions = (3 if "chloride" in salt else 2) * dissolved / (100 + dissolved * hydrate * 18.015) * 1000
        assert ions > 2 * sodium * glass / (glass + water)  # as if every sodium had an ion beside it
        assert salt != "copper-sulfate-5-water" or ions < sodium


def test_a_spot_of_glycine_turns_purple() -> None:
    """Two of ninhydrin to one purple, 22000 L/(mol cm) at 570 nm (from memory: S. Moore and W. H. Stein, J. Biol. Chem.
    176 (1948) 367); a spot of 5 uL, half a square centimetre, one drop of reagent of 0.05 mL.
    """
    spot = taken("amino-acid-spots")["glycine"] / per_showing("amino-acid-spots", "water") * 0.005  # mmol
    purple = min(spot, strengths("ninhydrin-0.2")["ninhydrin"][0] * 0.05 / 2)
    assert 22_000 * purple / 0.5 > 10 * SEEN  # mmol over cm2 is mol/L times cm


def test_starch_is_gone_within_the_lesson() -> None:
    """A unit frees 1 mg of maltose in three minutes, a milligram of powder has one at least; the blue goes when a third
    is cut up: common practice, no source.
    """
    starch = per_showing("starch-digestion", "starch-1") * strengths("starch-1")["soluble-starch"][1] * 10  # mg
    units = per_showing("starch-digestion", "amylase-1") * strengths("amylase-1")["amylase"][1] * 10
    assert 2 < starch / 3 / (units / 3) < 20  # minutes


FLAMES = {"licl-1": 670.8, "nacl-5": 589.0, "kcl-1": 766.5, "cacl2-1": 622.0, "srcl2-0.5": 605.0, "cucl2-0.5": 510.0}
"""nm, the strongest line or band that is seen (from memory: CRC Handbook, line spectra; A. G. Gaydon, Flames)."""


def test_each_salt_has_a_flame_of_its_own() -> None:
    """A wire's loop takes 5 uL; a microgram of the metal colours a flame: common practice, no source."""
    needs = {need.item for need in on_file().demos["flame-colours"].needs}
    assert set(FLAMES) == needs - {"hcl-5"}
    lines = sorted(FLAMES.values())
    assert all(after - before >= 10 for before, after in pairwise(lines))
    assert 400 < lines[0] < lines[-1] < 780  # what an eye sees
    metals = {"licl-1": 6.94, "nacl-5": 22.99, "kcl-1": 39.10, "cacl2-1": 40.08, "srcl2-0.5": 87.62, "cucl2-0.5": 63.55}
    for item, mass in metals.items():
        (mol_per_l, _), *_ = strengths(item).values()
        assert mol_per_l * 5e-6 * mass * 1e6 > 10


def test_the_spots_stand_above_the_solvent() -> None:
    """A beaker of 250 mL is 7.0 cm wide (ISO 3819), a boiling tube 2.5; spots are 2 cm up, paper takes 1.3 mL in
    100 cm2: common practice, no source.
    """
    for item in ("nacl-1pct", "propan-2-ol"):
        there = per_showing("ink-chromatography", item)
        assert 0.3 < there / 38.5 < 1.5
        assert there > 5 * 1.3
    assert 0.5 < per_showing("leaf-starch-pigments", "leaf-solvent") / 4.9 < 1.5


def test_a_gram_of_leaf_gives_spots_that_are_seen() -> None:
    """1.5 mg of chlorophyll to a gram of leaf, 82 L/(g cm) (from memory: H. K. Lichtenthaler, Methods Enzymol. 148
    (1987) 350): ten touches of 2 uL, a tenth of a square centimetre.
    """
    spot = 1.5 / per_showing("leaf-starch-pigments", "acetone") * 0.02  # mg
    assert 82 * spot / 0.1 > 10 * SEEN  # mg over cm2 is g/L times cm


def test_a_handful_of_foam_burns_at_its_skin_and_below_two_metres() -> None:
    """9.5 volumes of air to one of gas, 2200 K (from memory: Atkins, Physical Chemistry, 9th ed.); a handful is 0.3 L,
    the flame 15 cm wide: common practice, no source. Undiluted, it burns only where it meets the air.
    """
    hot = 0.3 * (1 + 9.5) * 2200 / 293  # L
    assert 0.5 < hot / 1000 / (3.1416 * 0.075**2) < 2.0  # m
    assert "a clear 2 m above" in on_file().demos["methane-bubbles"].caution


def test_what_kills_bacteria_creeps_a_ring_into_the_agar() -> None:
    """5e-10 m2/s in agar (from memory: Crank, The Mathematics of Diffusion, examples), a day; a dish of 9 cm."""
    assert 2.5 < per_showing("antiseptics-agar", "nutrient-agar") / 63.6 * 10 < 5  # mm deep
    assert 3 < (4 * 5e-10 * 86_400) ** 0.5 * 1000 < 45  # mm, seen, and not the whole dish


# demo, millimoles of iodine atoms (or electrons) that are left at most, as the equations say
TO_CLEAR = {
    "clock-iodate": lambda there: there["potassium-iodate"],
    "clock-peroxide": lambda there: there["potassium-iodide"],
    "oscillator": lambda there: there["potassium-iodate"],
    "bleach-iodide": lambda there: there["potassium-iodide"],
    "peroxodisulfate-clock": lambda there: 2 * there["potassium-peroxodisulfate"],
    "zinc-iodine": lambda there: 2 * there["iodine"],
    "brine-electrolysis": lambda _: CHARGE / 4,  # 4 Cl2 to a thiosulfate
}


@pytest.mark.parametrize("demo", TO_CLEAR)
def test_what_the_waste_asks_for_stands_there(demo: str) -> None:
    """I2 + 2 S2O3(2-) give 2 I- + S4O6(2-)."""
    thiosulfate = taken(demo, "sodium-thiosulfate-5-water")["sodium-thiosulfate"]
    assert thiosulfate >= TO_CLEAR[demo](taken(demo))


def test_the_stop_bath_takes_all_of_the_acid() -> None:
    acid = mmol("thiosulfate-rate", "hcl-2")
    assert mmol("thiosulfate-rate", "sodium-hydrogencarbonate") > acid
    assert (
        taken("halogen-displacement", "thiosulfate-0.2")["sodium-thiosulfate"]
        > 2 * taken("halogen-displacement")["bromine"]
    )


COMPUTED = {demo for demo, *_ in (*TITRATIONS, *WHOLE, *LEFT_OVER)} | {
    "golden-rain", "heat-of-neutralisation", "hydrogen-pop", "chlorine-bleaching", "vinegar-spill", "catalase",
    "hess-copper", "hydroxides", "calcium-water", "hot-ice", "salts-ph", "tenfold-series", "ammonia-fountain",
    "foam-column", "peroxide-catalysts", "fermentation", "breath-tests", "alkali-metals", "ammonia-diffusion",
    "benzoic-recrystallised", "burning-alcohols", "chlorate-sweet", "conductivity", "copper-colorimeter",
    "potato-osmosis", "copper-electrolysis", "electroplating", "daniell-cell", "dry-ice-indicators", "halide-tests",
    "indicator-colours", "rainbow-tube", "red-cabbage", "soap-making", "thiocyanate-equilibrium", "whoosh-bottle",
    "sugar-sulfuric", "magnesium-burning", "cracking", "fertiliser", "alginate-worms", "brine-electrolysis",
    "water-electrolysis", "molten-electrolysis", "moving-ions", "distillation", "dust-explosion", "halogenoalkanes",
    "oscillator", "particles-dilution", "slime", "beetroot-membranes", "salt-ice", "amino-acid-spots",
    "antiseptics-agar", "chemical-garden", "flame-colours", "ink-chromatography", "leaf-starch-pigments",
    "methane-bubbles", "rusting", "starch-digestion",
}  # fmt: skip

NOT_COMPUTED: dict[str, str] = {}
"""Every other demonstration, and why nothing of it is computed."""


def test_each_is_computed_or_has_its_reason() -> None:
    assert set(on_file().demos) == COMPUTED | set(NOT_COMPUTED)
    assert not COMPUTED & set(NOT_COMPUTED)


def report() -> str:
    """What was recomputed and what could not be, with why."""
    rest = [f"  {demo}: {why}" for demo, why in sorted(NOT_COMPUTED.items())]
    head = f"recomputed: {len(COMPUTED)} of {len(on_file().demos)}"
    return "\n".join([head, *(f"  {demo}" for demo in sorted(COMPUTED)), "not recomputed:", *rest])


def test_the_report_names_every_entry() -> None:
    lines = report().splitlines()
    assert len(lines) == len(on_file().demos) + 2


if __name__ == "__main__":
    print(report())
