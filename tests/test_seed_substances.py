"""The substances table and the reorder rules: every row readable, sourced, and consistent with the others."""

import csv
import re
from decimal import Decimal, localcontext

import pytest

from prep.resources import seed_data

Row = dict[str, str]

COLUMNS = (
    "code,name,other_names,cas,formula,solute,form,assay_pct,density_g_ml,solubility_g_per_100g,solubility_c,"
    "classification,supplemental,flash_point_c,storage_group,disposal,peroxide_class,source,assay_source,"
    "density_source,solubility_source,hazard_basis,hazard_source,assay_half_width_pct,half_width_source,dry_c,dry_minutes,"
    "unfit,found_against,standard_source"
)

STREAMS = {
    "drain",
    "neutralise",
    "heavy metals",
    "halogenated",
    "oxidising",
    "silver",
    "flammable",
    "solid",
    "specialist",
}

GROUPS = {
    "acid_inorganic_nonoxidising",
    "acid_inorganic_oxidising",
    "acid_organic",
    "base_caustic",
    "amine",
    "oxidiser",
    "hypochlorite",
    "organic_peroxide",
    "flammable_liquid",
    "aldehyde",
    "alkene",
    "flammable_solid_combustible",
    "alkali_metal",
    "water_reactive_other",
    "metal_powder",
    "metal_solid",
    "reducing_agent_strong",
    "cyanide",
    "sulfide",
    "sulfite_thiosulfate",
    "fluoride_inorganic",
    "toxic_metal_salt",
    "halogenated_solvent",
    "phenol",
    "nitro_explosive",
    "water_aqueous",
    "gas_flammable",
    "gas_oxidising",
    "gas_inert",
    "low_hazard",
}

# Mixtures and polymers: no single formula, so no molar mass.
NO_FORMULA = {
    "soluble-starch",
    "polyvinyl-alcohol",
    "sodium-alginate",
    "sodium-silicate-solution",
    "washing-up-liquid",
    "ethanol-denatured",
    "litmus",
    "agar",
    "albumen",
    "amylase",
    "casein",
    "cornflour",
    "expanded-polystyrene",
    "gelatin",
    "lactase",
    "light-petroleum-40",
    "light-petroleum-60",
    "lipase",
    "liquid-paraffin",
    "maize-oil",
    "milk-powder",
    "nutrient-agar-powder",
    "olive-oil",
    "paraffin-wax",
    "pectinase",
    "pepsin",
    "red-cabbage",
    "soda-lime",
    "sodium-polyacrylate",
    "trypsin",
    "yeast",
}
# Household and mixed products without a number.
NO_CAS = {"ethanol-denatured", "washing-up-liquid", "nutrient-agar-powder", "milk-powder", "red-cabbage"}

# g/mol; from memory: CRC Handbook of Chemistry and Physics, 97th ed., physical constants, except where a
# source is named beside.
PUBLISHED_MASSES = {
    "hydrochloric-acid": 36.461,
    "sodium-hydroxide": 39.997,
    "acetic-acid": 60.052,
    "copper-sulfate": 159.61,
    "copper-sulfate-5-water": 249.69,
    "citric-acid-1-water": 210.14,
    "trisodium-citrate-2-water": 294.10,
    "potassium-hydrogen-phthalate": 204.2212,  # EURACHEM/CITAC CG4 (2012), example A2
    "disodium-hydrogen-phosphate-12-water": 358.14,
    "sodium-dihydrogen-phosphate-2-water": 156.01,
    "disodium-edta-2-water": 372.24,
    "ammonium-iron-ii-sulfate-6-water": 392.14,
}


def _read(name: str) -> list[Row]:
    with (seed_data() / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


ROWS = _read("substances.csv")
BY_CODE = {row["code"]: row for row in ROWS}
CODES = [row["code"] for row in ROWS]


def _fault_in_cas(cas: str) -> str:
    """Why a CAS Registry Number cannot be right: its last digit is the weighted sum of the others, mod 10."""
    if not re.fullmatch(r"[1-9][0-9]{1,6}-[0-9]{2}-[0-9]", cas):
        return "not of the form 1234567-12-1"
    digits = [int(c) for c in cas if c.isdigit()]
    expected = sum(place * digit for place, digit in enumerate(reversed(digits[:-1]), start=1)) % 10
    return "" if expected == digits[-1] else f"check digit should be {expected}"


def test_the_table_has_its_columns_and_enough_rows() -> None:
    with (seed_data() / "substances.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    assert ",".join(rows[0]) == COLUMNS
    assert {len(row) for row in rows} == {len(rows[0])}
    assert len(ROWS) >= 125
    assert all(value == value.strip() for row in ROWS for value in row.values())


def test_codes_are_unique_slugs() -> None:
    assert len(set(CODES)) == len(CODES)
    assert [code for code in CODES if not re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", code)] == []


def test_no_two_substances_answer_to_one_name() -> None:
    owner: dict[str, str] = {}
    for row in ROWS:
        for name in {row["name"].lower(), *filter(None, row["other_names"].lower().split(";"))}:
            assert owner.setdefault(name, row["code"]) == row["code"], name


@pytest.mark.parametrize("cas", ["7647-01-1", "7758-99-9", "64-17-50", "0064-17-5", "ethanol"])
def test_a_wrong_cas_number_is_noticed(cas: str) -> None:
    assert _fault_in_cas(cas)


def test_cas_numbers_have_the_right_check_digit() -> None:
    faults = {row["code"]: _fault_in_cas(row["cas"]) for row in ROWS if row["cas"]}
    assert {code: fault for code, fault in faults.items() if fault} == {}
    assert {row["code"] for row in ROWS if not row["cas"]} == NO_CAS


def test_one_cas_number_stands_for_one_formula() -> None:
    """An anhydrous salt and its hydrates have numbers of their own; grades of one substance share one."""
    formula_of: dict[str, str] = {}
    for row in ROWS:
        if row["cas"]:
            assert formula_of.setdefault(row["cas"], row["formula"]) == row["formula"], row["code"]
    cas_of: dict[str, set[str]] = {}
    for row in ROWS:
        cas_of.setdefault(row["solute"] + " " + row["formula"], set()).add(row["cas"])
    assert [key for key, numbers in cas_of.items() if len(numbers) > 1] == []


@pytest.mark.parametrize(
    ("facts", "source"),
    [
        (("name", "cas", "formula", "storage_group", "disposal"), "source"),
        (("assay_pct",), "assay_source"),
        (("density_g_ml",), "density_source"),
        (("solubility_g_per_100g", "solubility_c"), "solubility_source"),
        (("classification", "supplemental", "flash_point_c", "peroxide_class"), "hazard_source"),
    ],
)
def test_every_fact_has_its_source(facts: tuple[str, ...], source: str) -> None:
    assert [row["code"] for row in ROWS if any(row[f] for f in facts) != bool(row[source])] == []


def test_numbers_are_in_range() -> None:
    for row in ROWS:
        for column, low, high in (
            ("assay_pct", 10, 100),
            ("density_g_ml", "0.6", "3.2"),
            ("solubility_g_per_100g", "0.001", 500),
            ("solubility_c", 10, 26),
            ("flash_point_c", -60, 120),
        ):
            if row[column]:
                assert Decimal(low) <= Decimal(row[column]) <= Decimal(high), (row["code"], column)
        assert bool(row["solubility_g_per_100g"]) == bool(row["solubility_c"]), row["code"]


def test_forms_are_known_and_what_is_measured_by_volume_has_a_density() -> None:
    from prep.chemistry.model import Form

    for row in ROWS:
        if Form(row["form"]) in (Form.LIQUID, Form.AQUEOUS):
            assert row["density_g_ml"], row["code"]
        if Form(row["form"]) is Form.AQUEOUS:
            assert row["assay_pct"], row["code"]
            assert row["formula"], row["code"]


def test_groups_streams_and_peroxide_classes_are_known() -> None:
    for row in ROWS:
        assert row["storage_group"] in GROUPS, row["code"]
        assert row["disposal"] in STREAMS, row["code"]
        assert row["peroxide_class"] in {"", "A", "B", "C", "K"}, row["code"]


def test_classifications_can_be_read() -> None:
    one = re.compile(r"[A-Z][A-Za-z. -]+ ?[0-9]?(?:\.[1-6])?[A-D]? H[2-4][0-9]{2}[iFDfd]{0,2}")
    for row in ROWS:
        if row["classification"] not in {"", "not classified"}:
            for part in row["classification"].split("; "):
                assert one.fullmatch(part), (row["code"], part)
        for part in filter(None, row["supplemental"].split("; ")):
            assert re.fullmatch(r"EUH[0-9]{3}", part), (row["code"], part)


def test_every_formula_can_be_weighed() -> None:
    from prep.chemistry.formula.formulas import molar_mass

    assert {row["code"] for row in ROWS if not row["formula"]} == NO_FORMULA
    for row in ROWS:
        if row["formula"]:
            assert 1 < molar_mass(row["formula"]) < 1300, row["code"]


@pytest.mark.parametrize("code", PUBLISHED_MASSES)
def test_formulas_weigh_what_handbooks_print(code: str) -> None:
    from prep.chemistry.formula.formulas import molar_mass

    assert float(molar_mass(BY_CODE[code]["formula"])) == pytest.approx(PUBLISHED_MASSES[code], rel=1e-4)


def test_rows_of_one_solute_are_one_substance_but_for_its_water() -> None:
    from prep.chemistry.formula.formulas import anhydrous

    dry: dict[str, str] = {}
    for row in ROWS:
        assert row["solute"], row["code"]
        if row["formula"]:
            assert dry.setdefault(row["solute"], anhydrous(row["formula"])) == anhydrous(row["formula"]), row
    solutes = {row["solute"] for row in ROWS}
    hydrated = {"copper-sulfate", "sodium-carbonate", "magnesium-sulfate", "disodium-hydrogen-phosphate"}
    assert hydrated <= solutes


def test_the_name_of_a_hydrate_counts_its_water() -> None:
    from prep.chemistry.formula.formulas import split_hydrate

    words = {
        1: "monohydrate",
        2: "dihydrate",
        3: "trihydrate",
        4: "tetrahydrate",
        5: "pentahydrate",
        6: "hexahydrate",
        7: "heptahydrate",
        8: "octahydrate",
        9: "nonahydrate",
        10: "decahydrate",
        12: "dodecahydrate",
        18: "octadecahydrate",
    }
    for row in ROWS:
        waters = int(split_hydrate(row["formula"]).waters) if row["formula"] else 0
        if waters:
            assert row["name"].endswith(words[waters]), row["code"]
            assert row["code"].endswith(f"-{waters}-water") or row["code"] == "borax"
        else:
            assert "hydrate" not in row["name"], row["code"]
            assert not row["code"].endswith("-water"), row["code"]


def test_hydrates_saturate_water_as_their_anhydrous_salt_does() -> None:
    """x g of hydrate in 100 g of water brings its own water: x f / (100 + x (1 - f)) is the same for all."""
    from prep.chemistry.formula.formulas import anhydrous, molar_mass

    met = 0
    for row in ROWS:
        salt = next((r for r in ROWS if r["solute"] == row["solute"] and "." not in r["formula"]), row)
        if row is salt or not (row["solubility_g_per_100g"] and salt["solubility_g_per_100g"]):
            continue
        if row["solubility_c"] != salt["solubility_c"]:
            continue
        with localcontext(prec=28):
            share = molar_mass(anhydrous(row["formula"])) / molar_mass(row["formula"])
            hydrate = Decimal(row["solubility_g_per_100g"])
            found = 100 * hydrate * share / (100 + hydrate * (1 - share))
        assert float(found) == pytest.approx(float(salt["solubility_g_per_100g"]), rel=0.01), row["code"]
        met += 1
    assert met >= 15


@pytest.mark.parametrize(
    ("code", "mol_per_l", "tolerance"),
    [
        ("hydrochloric-acid", 11.642, 0.0006),  # CRC Handbook 102nd ed., Concentrative Properties, 36 %
        ("hydrochloric-acid-32", 10.175, 0.0006),  # same table, 32 %
        ("sulfuric-acid", 18.346, 0.0006),  # same table, 98 %
        ("ammonia", 14.764, 0.0006),  # same table, 28 %
        ("ammonia-880", 18, 0.01),  # British Pharmacopoeia, Appendix I A, Ammonia: 18 M
        ("nitric-acid", 15.16, 0.001),  # Perry's Chemical Engineers' Handbook, 6th ed., 68 %
        ("phosphoric-acid", 14.65, 0.001),  # Perry's Chemical Engineers' Handbook, 85 %
        ("acetic-acid", 17.4, 0.005),  # OpenStax Chemistry 2e, Appendix F
        ("hydrogen-peroxide", 9.79, 0.001),  # from memory: 30 % w/w, 1.11 g/mL
    ],
)
def test_concentrates_have_their_published_strength(code: str, mol_per_l: float, tolerance: float) -> None:
    from prep.chemistry.formula.formulas import molar_mass

    row = BY_CODE[code]
    found = 10 * Decimal(row["density_g_ml"]) * Decimal(row["assay_pct"]) / molar_mass(row["formula"])
    assert float(found) == pytest.approx(mol_per_l, rel=tolerance)


def test_ethanol_96_holds_the_mass_of_the_alcohol_tables() -> None:
    """OIML R 22 (1975): 96 % vol is 807.42 kg/m3, pure ethanol 789.24 kg/m3, both at 20 C."""
    row = BY_CODE["ethanol-96"]
    assert float(row["assay_pct"]) == pytest.approx(96 * 789.24 / 807.42, abs=0.01)
    assert float(row["density_g_ml"]) == pytest.approx(0.80742, abs=0.0001)


def test_reorder_rules_name_substances_and_amounts() -> None:
    from prep.chemistry.model import Form, Measure
    from prep.chemistry.quantities import amount

    rules = _read("rules.csv")
    assert list(rules[0]) == ["item", "minimum", "packs", "lead_days", "source"]
    assert len({rule["item"] for rule in rules}) == len(rules) >= 60
    for rule in rules:
        by_volume = Form(BY_CODE[rule["item"]]["form"]) in (Form.LIQUID, Form.AQUEOUS)
        for text in (rule["minimum"], *rule["packs"].split(";")):
            assert amount(text).measure is (Measure.VOLUME if by_volume else Measure.MASS), rule
        smallest = min(amount(text).base for text in rule["packs"].split(";"))
        assert amount(rule["minimum"]).base < smallest, f"{rule['item']}: the one pack a school has is its minimum"
        assert 1 <= int(rule["lead_days"]) <= 60
        assert rule["source"]
