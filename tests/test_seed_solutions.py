"""Solutions, recipes, demonstrations and instruments: readable, sourced, consistent, and each can be made."""

import csv
import re
from decimal import Decimal
from functools import cache
from pathlib import Path

import pytest

from prep.chemistry.acid_base.equilibrium import ph_of
from prep.chemistry.acid_base.species import component
from prep.chemistry.formula.formulas import molar_mass
from prep.chemistry.model import InstrumentKind, Measure, SmallBatch, StrengthKind
from prep.chemistry.preparation.route_finding import Making
from prep.chemistry.preparation.routes import RouteKind
from prep.chemistry.quantities import BASE_PER_UNIT
from prep.planning.engine.low_level_code import planning_order
from prep.resources import seed_data
from prep.services.catalogue.method_steps import METHOD_COLUMNS
from prep.services.catalogue.on_file import OnFile
from prep.services.catalogue.seed import (
    DEMO_COLUMNS,
    INSTRUMENT_COLUMNS,
    LEFTOVER_COLUMNS,
    NEED_COLUMNS,
    RECIPE_COLUMNS,
    SOLUTION_COLUMNS,
    read_catalogue,
)

Row = dict[str, str]
COLUMNS = {
    "solutions.csv": SOLUTION_COLUMNS,
    "recipes.csv": RECIPE_COLUMNS,
    "demos.csv": DEMO_COLUMNS,
    "needs.csv": NEED_COLUMNS,
    "leftovers.csv": LEFTOVER_COLUMNS,
    "instruments.csv": INSTRUMENT_COLUMNS,
    "methods.csv": METHOD_COLUMNS,
    "droppers.csv": "code name drops_per_ml spread_pct source".split(),
}


def _read(name: str) -> list[Row]:
    with (seed_data() / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@cache
def _catalogue() -> OnFile:
    return read_catalogue(seed_data())


@cache
def _making() -> Making:
    return Making(_catalogue())


CODES = [row["code"] for row in _read("solutions.csv")]


@pytest.mark.parametrize("name", COLUMNS)
def test_each_file_has_its_columns_and_a_source_for_every_row(name: str) -> None:
    with (seed_data() / name).open(encoding="utf-8", newline="") as file:
        header = next(csv.reader(file))
    assert header == [column for column in COLUMNS[name] if column in header]  # what no row of ours says is left out
    rows = _read(name)
    assert all(value is not None and value == value.strip() for row in rows for value in row.values())
    assert [row for row in rows if not row["source"]] == []


@pytest.mark.parametrize("file", sorted(seed_data().rglob("*.csv")), ids=lambda file: file.stem)
def test_sources_are_publications_and_not_how_a_fact_was_found(file: Path) -> None:
    """A published work, `common practice, no source` or `from memory:`; no page of the web, no place on a machine."""
    found = re.compile(
        r"https?:|www\.|/work|/tmp|github|read_file|stored|quoted|posted|second-hand|seen on|explains it|forum|"
        r"homework|web ?(page|site)|university page|own judgement|read in the (?!agency)",
        re.IGNORECASE,
    )
    with file.open(encoding="utf-8", newline="") as lines:
        for row in csv.DictReader(lines):
            for column, value in row.items():
                if "source" in column:
                    assert not found.search(value), (column, value)


@pytest.mark.parametrize("file", sorted((seed_data() / "tables").glob("*.csv")), ids=lambda file: file.stem)
def test_every_row_of_a_table_is_whole_and_no_cell_has_blanks_around_it(file: Path) -> None:
    with file.open(encoding="utf-8", newline="") as lines:
        header, *rows = (row for row in csv.reader(lines) if row)
    for row in rows:
        assert len(row) == len(header), row
        assert row == [cell.strip() for cell in row]


def test_there_is_enough_of_everything() -> None:
    catalogue = _catalogue()
    assert len(catalogue.solutions) >= 65
    assert len(catalogue.demos) >= 28
    assert len(catalogue.instruments) >= 30
    assert {solution.purpose for solution in catalogue.solutions.values()} == {
        "stock",
        "working",
        "indicator",
        "reagent",
        "buffer",
    }


def test_every_solution_says_how_long_it_keeps_and_who_says_so() -> None:
    for row in _read("solutions.csv"):
        assert row["shelf_source"], row["code"]
        # What is only dissolved or diluted needs no method of its own: the bench's steps say it.
        steps = _catalogue().solutions[row["code"]].method_steps
        assert steps or row["method"] or not row["recipe_makes"], row["code"]
        assert Decimal(row["tolerance_pct"]) > 0, row["code"]
        assert int(row["minutes"]) > 0, row["code"]
        assert row["made_fresh"] in ("yes", "no"), row["code"]
        if row["made_fresh"] == "yes":
            assert int(row["shelf_life_days"]) <= 1, row["code"]
        else:
            assert int(row["shelf_life_days"]) >= 1, row["code"]


def test_codes_are_unique_slugs() -> None:
    for code in [*CODES, *_catalogue().demos, *(i.code for i in _catalogue().instruments)]:
        assert re.fullmatch(r"[a-z0-9][a-z0-9.-]*", code), code
    assert len(set(CODES)) == len(CODES)
    instruments = [i.code for i in _catalogue().instruments]
    assert len(set(instruments)) == len(instruments)


@pytest.mark.parametrize("code", CODES)
def test_every_solution_has_a_route_and_no_problem(code: str) -> None:
    routes = _making().routes(code)
    assert routes
    assert _making().problems[code] == []
    for route in routes:
        for part in route.parts:
            assert all(option.per_nl > 0 for option in part.options)


@pytest.mark.parametrize("code", CODES)
def test_what_the_card_prefers_is_a_way_to_make_it(code: str) -> None:
    solution = _catalogue().solutions[code]
    takes = {o.item for route in _making().routes(code) for part in route.parts for o in part.options}
    assert set(solution.made_from) <= takes


@pytest.mark.parametrize("code", CODES)
def test_what_is_mixed_fits_in_what_it_makes(code: str) -> None:
    for route in _making().routes(code):
        liquid = sum(
            part.options[0].per_nl
            for part in route.parts
            if _catalogue().measure(part.options[0].item) is Measure.VOLUME
        )
        assert liquid <= 1


def _is_one_solute_in_water(code: str) -> bool:
    solution = _catalogue().solutions[code]
    return solution.make_up_with == "water" and len({i.item for i in solution.recipe} - {"water"}) == 1


def test_one_solute_in_water_has_no_recipe_unless_the_order_of_work_matters() -> None:
    # Starch has to be boiled; an iodine reagent is a stock thinned, and iodine alone does not dissolve.
    single = {code for code in CODES if _is_one_solute_in_water(code)}
    assert single == {
        "starch-1",
        "iodine-0.005",
        "iodine-0.01",
        "iodine-0.02",
        "iodine-starch-test",
        "detergent-water",
        "hard-water-temporary",
        "hydrogencarbonate-indicator",
        "red-cabbage-extract",
    }


def _level(code: str, seen: tuple[str, ...] = ()) -> int:
    """How many makes deep a solution is when its first preference is followed each time."""
    assert code not in seen, f"a loop at {code}"
    solution = _catalogue().solutions[code]
    below = [i.item for i in solution.recipe] or list(solution.made_from[:1])
    stocks = [item for item in below if item in _catalogue().solutions]
    return 1 + max((_level(item, (*seen, code)) for item in stocks), default=0)


def test_chains_of_stocks_have_no_loop_and_one_is_three_deep() -> None:
    levels = {code: _level(code) for code in CODES}
    assert sum(level >= 2 for level in levels.values()) >= 3
    assert levels["kmno4-0.002"] == 3  # from the 0.02 mol/L, which is from the 0.1 mol/L stock
    assert levels["methyl-red-0.05"] >= 3
    solutions = _catalogue().solutions
    order = planning_order(
        solutions,
        {
            s.code: [i for i in (*(x.item for x in s.recipe), *s.made_from) if i in solutions]
            for s in solutions.values()
        },
    )
    assert sorted(order) == sorted(solutions)


def test_recipes_that_state_a_strength_weigh_what_gives_it() -> None:
    checked = 0
    for solution in _catalogue().solutions.values():
        if not solution.recipe or solution.strength is None:
            continue
        weighed = [
            i
            for i in solution.recipe
            if i.item in _catalogue().substances and _catalogue().substances[i.item].solute == solution.solute
        ]
        if len(weighed) != 1 or _catalogue().measure(weighed[0].item) is not Measure.MASS:
            continue
        per_litre = Decimal(weighed[0].amount) * 1000 / solution.recipe_nl
        substance = _catalogue().substances[weighed[0].item]
        formula, per_litre = substance.formula, per_litre * (substance.assay_pct or 100) / 100
        if solution.strength.kind is StrengthKind.MOL_PER_L:
            found = per_litre / molar_mass(formula)
        elif solution.strength.kind is StrengthKind.PCT_W_V:
            found = per_litre / 10
        else:
            continue
        assert abs(found / solution.strength.value - 1) < Decimal("0.021"), solution.code
        checked += 1
    assert checked >= 6


def test_a_recipe_that_is_a_dilution_gives_its_strength() -> None:
    solutions = _catalogue().solutions
    thin, stock = solutions["iodine-0.005"], solutions["iodine-0.05"]
    assert thin.strength
    assert stock.strength
    assert thin.recipe[0].item == stock.code
    assert thin.recipe[0].amount * stock.strength.value / thin.recipe_nl == thin.strength.value


def test_peroxide_is_thinned_from_the_concentrate_through_a_stock() -> None:
    route = _making().routes("h2o2-10vol")[0]
    assert route.kind is RouteKind.DILUTE
    assert route.source == "h2o2-20vol"
    assert float(route.parts[0].options[0].per_nl) == pytest.approx(0.5, rel=1e-9)
    assert _making().routes("h2o2-20vol")[0].source == "hydrogen-peroxide"


# g in 1 L; from memory: R. G. Bates, Determination of pH: Theory and Practice, 2nd ed., NBS standard buffers
@pytest.mark.parametrize(
    ("code", "item", "grams"),
    [
        ("buffer-6.86", "potassium-dihydrogen-phosphate", Decimal("3.388")),
        ("buffer-6.86", "disodium-hydrogen-phosphate", Decimal("3.533")),
        ("buffer-10", "sodium-hydrogencarbonate", Decimal("2.092")),
        ("buffer-10", "sodium-carbonate", Decimal("2.640")),
    ],
)
def test_standard_buffers_are_weighed_as_published(code: str, item: str, grams: Decimal) -> None:
    solution = _catalogue().solutions[code]
    assert solution.recipe_nl == 1000 * BASE_PER_UNIT
    assert [i.amount for i in solution.recipe if i.item == item] == [int(grams * BASE_PER_UNIT)]


def test_demos_need_volumes_drops_and_masses_some_fresh_and_some_until_a_ph() -> None:
    needs = _read("needs.csv")
    assert sum("drops" in row["per_showing"] for row in needs) >= 3
    assert sum(row["per_showing"].endswith(" g") for row in needs) >= 3
    assert sum(row["fresh"] == "yes" for row in needs) >= 3
    until = [row["until"] for row in needs if row["until"]]
    assert 2 <= len(until) <= 5
    assert all(re.fullmatch(r"pH \d+(\.\d+)?", text) for text in until)


def test_what_is_added_until_a_ph_shares_its_vessel_with_something_else() -> None:
    for demo in _catalogue().demos.values():
        for need in demo.needs:
            if need.until:
                assert need.per_showing > 0
                assert [o for o in demo.needs if o.vessel == need.vessel and o.item != need.item]


def test_every_demo_leaves_something_and_says_where_it_goes() -> None:
    for demo in _catalogue().demos.values():
        assert demo.leftovers, demo.code
        assert demo.caution, demo.code
        assert demo.about, demo.code


def test_the_room_can_measure_from_a_millilitre_to_two_litres() -> None:
    by_kind: dict[InstrumentKind, list[Decimal]] = {}
    for instrument in _catalogue().instruments:
        by_kind.setdefault(instrument.kind, []).append(instrument.capacity)
        if instrument.kind in (InstrumentKind.FLASK, InstrumentKind.PIPETTE):
            assert instrument.resolution == instrument.capacity, instrument.code
        assert 0 < instrument.tolerance < instrument.capacity / 5, instrument.code
    assert min(by_kind[InstrumentKind.FLASK]) <= 100
    assert max(by_kind[InstrumentKind.FLASK]) >= 2000
    assert max(by_kind[InstrumentKind.BEAKER]) >= 5000
    assert min(by_kind[InstrumentKind.GRADUATED_PIPETTE]) <= 1
    assert max(by_kind[InstrumentKind.BALANCE]) >= 2000


def test_class_b_flasks_have_their_published_tolerances() -> None:
    # from memory: ISO 1042:1998, Table 1, class B [mL]
    published = {50: "0.12", 100: "0.2", 200: "0.3", 250: "0.3", 500: "0.5", 1000: "0.8", 2000: "1.2"}
    found = {
        int(i.capacity): i.tolerance
        for i in _catalogue().instruments
        if i.kind is InstrumentKind.FLASK and i.grade == "B"
    }
    assert found == {capacity: Decimal(text) for capacity, text in published.items()}


def test_drops_have_a_size_and_a_spread() -> None:
    for row in _read("droppers.csv"):
        assert 10 <= int(row["drops_per_ml"]) <= 100
        assert 0 < int(row["spread_pct"]) <= 50


def test_the_week_is_monday_to_friday() -> None:
    calendar = _catalogue().calendar
    assert calendar.weekdays == {0, 1, 2, 3, 4}
    assert calendar.minutes_per_day == 240


def test_words_of_a_recipe_hold_for_any_volume_made() -> None:
    words = [*((r["code"], r["method"]) for r in _read("solutions.csv"))]
    words += [(r["solution"], r["note"]) for r in _read("recipes.csv")]
    words += [(r["code"], r["text"]) for r in _read("methods.csv")]
    assert [pair for pair in words if re.search(r"\d ?(?:mL|L|mg|g|kg)\b", pair[1])] == []


@pytest.mark.parametrize(
    ("solution", "first", "then"),
    [
        ("phenolphthalein-0.1", "ethanol-96", "phenolphthalein"),
        ("universal", "ethanol-96", "thymol-blue"),
        ("methyl-red-0.05", "naoh-0.1", "methyl-red"),
        ("bromothymol-blue-0.05", "naoh-0.1", "bromothymol-blue"),
        ("buffer-10-ammonia", "ammonia", "ammonium-chloride"),
        ("luminol-a", "naoh-1", "luminol"),
        ("tollens", "naoh-2", "ammonia-2"),
        ("sncl2-0.1", "hcl-5", "tin-ii-chloride-2-water"),
        ("iodine-0.05", "potassium-iodide", "iodine"),
        ("molybdate", "ammonium-molybdate-4-water", "hno3-2"),
        ("benedict", "trisodium-citrate-2-water", "copper-sulfate-5-water"),
        ("washing-foam", "h2o2-20vol", "washing-up-liquid"),
    ],
)
def test_what_must_go_in_first_comes_first(solution: str, first: str, then: str) -> None:
    order = [ingredient.item for ingredient in _catalogue().solutions[solution].recipe]
    assert order.index(first) < order.index(then)


# What a school's doubtful entries come to, by hand.
def test_doubtful_entries_are_what_their_names_say() -> None:
    catalogue = _catalogue()
    recipes = {code: {line.item: line.amount for line in s.recipe} for code, s in catalogue.solutions.items()}
    # 300 mL of 96 % v/v made up to 500 mL: 57.6 % v/v
    cobalt = catalogue.solutions["cobalt-equilibrium"]
    assert recipes["cobalt-equilibrium"]["ethanol-96"] / cobalt.recipe_nl * 96 == pytest.approx(57.6)
    # Buck et al., Pure Appl. Chem. 74 (2002) 2169, from memory: 0.1 mol/kg acid and 0.1 mol/kg acetate, pH 4.65
    ethanoate = catalogue.solutions["buffer-4.6"]
    assert recipes["buffer-4.6"] == {
        "ethanoic-1": ethanoate.recipe_nl // 10,
        "sodium-ethanoate-1": ethanoate.recipe_nl // 10,
    }
    made = ph_of([component("acetic acid", 0.1), component("sodium acetate", 0.1)])
    assert made.ph == pytest.approx(4.65, abs=0.02)
    # By assay: 0.1 mol/L x 0.5 L x 225.63 g/mol / 0.98, and 0.2 g in 100 mL / 0.98 (IUPAC atomic weights 2021)
    tin, ninhydrin = catalogue.solutions["sncl2-0.1"], catalogue.solutions["ninhydrin-0.2"]
    assert recipes["sncl2-0.1"]["tin-ii-chloride-2-water"] / 1e6 == pytest.approx(
        0.1 * tin.recipe_nl / 1e9 * 225.63 / 0.98, rel=2e-3
    )
    assert recipes["ninhydrin-0.2"]["ninhydrin"] / 1e6 == pytest.approx(
        0.2 * ninhydrin.recipe_nl / 1e8 / 0.98, rel=2e-3
    )
    # CRC Handbook, 102nd ed., Concentrative Properties of Aqueous Solutions, 20 C: 98 % 1.0538, 100 % 1.0477 g/mL
    acetic = catalogue.substances["acetic-acid"]
    assert float(acetic.density_g_ml or 0) == pytest.approx(1.0538 + (1.0477 - 1.0538) * (99.7 - 98) / 2, abs=5e-4)


def test_what_is_weak_and_measured_from_a_burette_says_when_it_is_fit_for_volumetric_use() -> None:
    """British Pharmacopoeia, appendix on volumetric solutions: those below 0.1 M are freshly prepared.

    For volumetric use: what is exact, or stands in a burette, is made fresh or says how far it goes.
    """
    rows = {row["code"]: row for row in _read("solutions.csv")}
    burettes = {need["item"] for need in _read("needs.csv") if "burette" in need["vessel"]}
    asked = []
    for code, row in rows.items():
        value, _, unit = row["strength"].partition(" ")
        if unit != "mol/L" or float(value) >= 0.1 or not (code in burettes or float(row["tolerance_pct"]) <= 1):
            continue
        asked.append(code)
        assert row["made_fresh"] == "yes" or "volumetric use" in row["shelf_source"], code
    assert {"edta-0.01", "oxalic-0.05", "sodium-carbonate-0.05", "kmno4-0.02"} <= set(asked)


def test_what_is_made_of_what_may_cause_cancer_or_harm_the_unborn_is_made_in_small_batches() -> None:
    """The caution printed above its weighing says to keep the amount small (EU CLP category 1); its batch does."""
    catalogue, making = _catalogue(), _making()
    judged = 0
    for code, solution in catalogue.solutions.items():
        if solution.purpose in ("indicator", "buffer"):  # a gram in half a litre, or less
            continue
        held = {option.item for route in making.routes(code) for part in route.parts for option in part.options}
        grave = [
            item
            for item in held & set(catalogue.substances)
            if any(kind in catalogue.substances[item].classification for kind in ("Carc. 1", "Muta. 1", "Repr. 1"))
        ]
        if grave:
            judged += 1
            assert solution.small_batch is SmallBatch.HAZARD, (code, grave)
    assert judged > 7


def test_the_least_that_is_kept_of_a_reagent_does_for_one_showing_of_each_demonstration() -> None:
    """Or a booking of the day before would find too little, with a delivery a week away."""
    catalogue = _catalogue()
    for demo in catalogue.demos.values():
        for need in demo.needs:
            rule = catalogue.rules.get(need.item)
            if rule is not None and need.item in catalogue.substances and rule.minimum:
                least = need.per_showing * (1 + demo.spare)
                assert rule.minimum >= least, (demo.code, need.item, rule.minimum, least)
