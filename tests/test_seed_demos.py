"""What the demonstrations and recipes ask for, by the chemistry: freshness, volumes, strengths, equivalence."""

import csv
import re
from collections import defaultdict
from decimal import Decimal

import pytest

from prep.chemistry import quantities
from prep.chemistry.formula.formulas import molar_mass
from prep.chemistry.model import Measure
from prep.resources import seed_data

Row = dict[str, str]


def _read(name: str) -> list[Row]:
    with (seed_data() / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def _grouped(name: str, column: str) -> dict[str, list[Row]]:
    out: dict[str, list[Row]] = defaultdict(list)
    for row in _read(name):
        out[row[column]].append(row)
    return out


SUBSTANCES = {row["code"]: row for row in _read("substances.csv")}
SOLUTIONS = {row["code"]: row for row in _read("solutions.csv")}
RECIPES = _grouped("recipes.csv", "solution")
NEEDS = _grouped("needs.csv", "demo")


def _made_fresh(item: str) -> bool:
    return item in SOLUTIONS and SOLUTIONS[item]["made_fresh"] == "yes"


def test_a_recipe_with_a_made_fresh_part_is_itself_made_fresh() -> None:
    for code, lines in RECIPES.items():
        assert _made_fresh(code) or not [line["item"] for line in lines if _made_fresh(line["item"])], code


def test_what_must_be_fresh_is_asked_for_fresh_and_is_a_solution() -> None:
    for code, needs in NEEDS.items():
        for need in needs:
            if _made_fresh(need["item"]):
                assert need["fresh"] == "yes", f"{code}: {need['item']}"
            if need["fresh"] == "yes":
                assert need["item"] in SOLUTIONS, f"{code}: {need['item']}"


def test_every_amount_is_of_the_measure_that_its_item_is_counted_in() -> None:
    def measure(item: str) -> Measure:
        solid = item in SUBSTANCES and SUBSTANCES[item]["form"] not in ("liquid", "aqueous")
        return Measure.MASS if solid else Measure.VOLUME

    for line in (line for lines in RECIPES.values() for line in lines):
        assert quantities.amount(line["amount"]).measure is measure(line["item"]), line
    for need in (need for needs in NEEDS.values() for need in needs):
        assert quantities.amount(need["per_showing"]).measure is measure(need["item"]), need


def _mol(line: Row, solute: str) -> Decimal:
    """Moles of `solute` in a recipe's line."""
    item, amount = line["item"], quantities.amount(line["amount"])
    if item in SOLUTIONS:
        if SOLUTIONS[item]["solute"] != solute:
            return Decimal(0)
        return Decimal(amount.base) / 10**9 * quantities.strength(SOLUTIONS[item]["strength"]).value
    if SUBSTANCES[item]["solute"] != solute or amount.measure is not Measure.MASS:
        return Decimal(0)
    return Decimal(amount.base) / 10**6 / molar_mass(SUBSTANCES[item]["formula"])


def _mol_per_l(code: str, solute: str) -> Decimal:
    litres = Decimal(quantities.amount(SOLUTIONS[code]["recipe_makes"]).base) / 10**9
    return sum((_mol(line, solute) for line in RECIPES[code]), Decimal(0)) / litres


@pytest.mark.parametrize("code", [c for c in RECIPES if SOLUTIONS[c]["strength"].endswith("mol/L")])
def test_a_recipe_gives_the_strength_on_its_card(code: str) -> None:
    row = SOLUTIONS[code]
    assert float(_mol_per_l(code, row["solute"])) == pytest.approx(
        float(quantities.strength(row["strength"]).value),
        rel=0.02,  # what is weighed by its assay is more than the pure
    )


@pytest.mark.parametrize(
    ("code", "solute", "mol_per_l"),
    [
        # What the name says and no column does.
        ("dichromate-acid", "potassium-dichromate", 0.02),
        ("dichromate-acid", "sulfuric-acid", 1.0),
        ("kmno4-acid", "potassium-permanganate", 0.002),
        ("iodine-starch-test", "iodine", 0.002),
        # from memory: CRC Handbook, Bates & Bower buffers, 50 mL of 0.1 mol/L phosphate made to 100 mL
        ("buffer-7", "potassium-dihydrogen-phosphate", 0.05),
        # from memory: B. Z. Shakhashiri, Chemical Demonstrations, vol. 2, the oscillating iodine clock
        ("oscillator-a", "potassium-iodate", 0.20),
        ("oscillator-b", "malonic-acid", 0.15),
        ("oscillator-b", "manganese-sulfate", 0.020),
    ],
)
def test_a_recipe_gives_the_strength_that_its_name_or_source_says(code: str, solute: str, mol_per_l: float) -> None:
    assert float(_mol_per_l(code, solute)) == pytest.approx(mol_per_l, rel=0.01)


PROTONS = {
    "acetic-acid": 1,
    "hydrochloric-acid": 1,
    "sulfuric-acid": 2,
    "ammonia": 1,
    "sodium-hydroxide": 1,
}
"""Protons that one molecule gives or takes on the way to a neutral or slightly sour salt."""


def _proton_mol(need: Row) -> float:
    row = SOLUTIONS[need["item"]]
    strength = quantities.strength(row["strength"])
    mol_per_l = strength.value
    if strength.kind.value == "% w/v":
        formula = next(s["formula"] for s in SUBSTANCES.values() if s["solute"] == row["solute"])
        mol_per_l = strength.value * 10 / molar_mass(formula)
    return float(quantities.volume_ml(need["per_showing"]) / 1000 * mol_per_l * PROTONS[row["solute"]])


def test_the_fallback_volume_of_until_is_near_equivalence() -> None:
    checked = 0
    for needs in NEEDS.values():
        for need in needs:
            if need["until"]:
                (dish,) = (n for n in needs if n["vessel"] == need["vessel"] and n is not need)
                assert _proton_mol(need) == pytest.approx(_proton_mol(dish), rel=0.1)
                checked += 1
    assert checked >= 2


def test_who_must_allow_it_stands_in_its_own_column() -> None:
    """A caution asks nobody: what must be allowed first is what a booking and the plan hold back."""
    for demo in _read("demos.csv"):
        assert not re.search(r"\b(adviser|employer)\b", demo["caution"]), demo["code"]
    assert sum(bool(demo["ask_first"]) for demo in _read("demos.csv")) >= 16


def test_only_what_does_not_keep_is_asked_for_on_the_day_itself() -> None:
    """What keeps for weeks is made ahead: on the day of a first period there is no time for it."""
    keeps = {row["code"]: int(row["shelf_life_days"]) for row in _read("solutions.csv")}
    fresh = {row["item"] for row in _read("needs.csv") if row["fresh"] == "yes"}
    assert fresh
    assert {item for item in fresh if keeps.get(item, 0) > 7} == set()


RESTRICTED = (
    "thermite whoosh-bottle foam-column hydrogen-pop methane-bubbles dust-explosion sugar-sulfuric ammonia-fountain "
    "alkali-metals permanganate-glycerol chlorate-sweet copper-oxide-reduced chlorine-bleaching halides-sulfuric "
    "zinc-iodine molten-electrolysis silver-mirror cracking"
).split()
"""What practice shows only after a trial, with a limit or a screen: common practice, no source."""


@pytest.mark.parametrize("code", RESTRICTED)
def test_what_practice_restricts_is_tried_first_and_kept_small_or_apart(code: str) -> None:
    (demo,) = (demo for demo in _read("demos.csv") if demo["code"] == code)
    said = f"{demo['caution']} {demo['ask_first']}".casefold()
    assert re.search(r"\btrial\b|tries it first", said)
    assert re.search(r"screen|\d m\b|at most|no more than|only on|fume cupboard", said)


def test_no_advice_pours_water_on_strong_sulfuric_acid() -> None:
    # from memory: National Research Council, Prudent Practices in the Laboratory (2011): acid goes into the water
    said = [row["caution"] for row in _read("demos.csv")] + [row["note"] for row in _read("leftovers.csv")]
    assert not [text for text in said if "much water" in text and "acid" in text and "no acid" not in text]


def test_what_holds_metals_that_harm_water_goes_to_no_drain() -> None:
    # Regulation (EC) No 1272/2008, Annex VI, Table 3: zinc, copper, nickel, cobalt and manganese(II) sulfate, H400-H411
    metals = ("zinc", "copper", "nickel", "cobalt", "manganese", "chromium", "vanadium", "barium", "lead ", "silver")
    down = [r["what"] for r in _read("leftovers.csv") if r["stream"] in ("drain", "neutralise")]
    assert not [what for what in down if any(metal in what for metal in metals)]
