"""The printed steps are the method: everything on file is in them, in an order that can be carried out."""

import re
from collections.abc import Iterator
from functools import cache

import pytest

from prep.chemistry.model import Form, InstrumentKind, Measure, Origin, Solution, StepKind
from prep.chemistry.preparation.instructions import MakeSheets
from prep.chemistry.preparation.method import method_of
from prep.chemistry.preparation.routes import Route, RouteKind
from prep.chemistry.preparation.steps import DrawnItem, WriteUp, to_tick
from prep.chemistry.preparation.vessels import Bench, VesselWork
from prep.resources import seed_data
from prep.services.catalogue.seed import read_catalogue

CATALOGUE = read_catalogue(seed_data())
BENCH = Bench(CATALOGUE, CATALOGUE.instruments)
SHEETS = MakeSheets(BENCH)
ML = 1_000_000
ORIGINS = {
    RouteKind.DISSOLVE: Origin.SOLID,
    RouteKind.CONCENTRATE: Origin.CONCENTRATE,
    RouteKind.DILUTE: Origin.STOCK,
}
CODES = sorted(CATALOGUE.solutions)


@cache
def makes(code: str) -> tuple[tuple[Route, VesselWork, WriteUp], ...]:
    """A solution by each of its routes in a small, a middling and its largest volume."""
    out = []
    solution, sizes = CATALOGUE.solutions[code], [s for s in BENCH.sizes(code) if s >= 50 * ML]
    for route in BENCH.routes(code):
        options = [part.options[0] for part in route.parts]
        for size in sorted({sizes[0], sizes[len(sizes) // 2], sizes[-1]}):
            drawn = [
                DrawnItem(o.item, BENCH.measured(o.item, o.needed(size), solution, size).taken, "bottle K6G7")
                for o in options
                if o.item != "water"
            ]
            work = BENCH.work(solution, route, options, size)
            out.append((route, work, SHEETS.write_up(solution, route, options, size, drawn)))
    return tuple(out)


def sheets(code: str) -> Iterator[tuple[Route, VesselWork, WriteUp, str]]:
    for route, work, sheet in makes(code):
        yield route, work, sheet, " ".join(to_tick(sheet.steps))


def dilutes_first(work: VesselWork) -> bool:
    return any(portion.found is not None and portion.found.dilutions for portion in work.portions)


@pytest.mark.parametrize("code", CODES)
def test_all_of_the_method_on_file_is_in_the_steps(code: str) -> None:
    solution: Solution = CATALOGUE.solutions[code]
    for route, work, _, said in sheets(code):
        own = [s for s in solution.method_steps if not s.origins or ORIGINS.get(route.kind) in s.origins]
        for step in own:
            if step.kind is StepKind.NO_FLASK or (step.kind is StepKind.WATER and not step.text):
                continue
            if dilutes_first(work) and step.kind in (StepKind.WATER, StepKind.BOIL):
                continue
            if step.kind is StepKind.ADD and step.item not in {p.written for p in work.portions}:
                continue
            if step.text.startswith("into the vessel") or step.text == "add it" or step.text == "a beaker":
                continue
            if step.kind is StepKind.WATER and f" {step.text}" not in said:
                assert work.free < (step.share or 0) or work.amount < 200 * ML, (code, step, said)
                continue
            assert step.text in said, (step, said)


@pytest.mark.parametrize("code", CODES)
def test_what_was_warm_is_cold_before_the_mark(code: str) -> None:
    """ISO 1042: the mark holds at 20 degC."""
    for _, work, _, said in sheets(code):
        warm = False
        for step in method_of(work, CATALOGUE.substances):
            if step.kind is StepKind.COOL:
                warm = False
            elif step.kind in (StepKind.HEAT, StepKind.BOIL, StepKind.WATER, StepKind.DISSOLVE):
                warm |= step.kind is StepKind.BOIL or (step.temperature_c or 0) > 30
            elif step.kind is StepKind.MARK and not step.stays_in_beaker:
                assert not warm, said


@pytest.mark.parametrize("code", CODES)
def test_who_goes_into_the_fume_cupboard_comes_out_after_what_fumes(code: str) -> None:
    for _, work, _, said in sheets(code):
        steps = method_of(work, CATALOGUE.substances)
        kinds = [s.kind for s in steps]
        assert kinds.count(StepKind.FUME_FROM) == kinds.count(StepKind.FUME_TO) <= 1, said
        fuming = [
            n
            for n, s in enumerate(steps)
            if s.kind is StepKind.ADD
            and (known := CATALOGUE.substances.get(s.item)) is not None
            and any(x.kind is StepKind.FUME_FROM for x in known.method_steps)
        ]
        for n in fuming:
            assert kinds.index(StepKind.FUME_FROM) < n < kinds.index(StepKind.FUME_TO), said


@pytest.mark.parametrize("code", CODES)
def test_instruments_are_taken_by_sense(code: str) -> None:
    solution = CATALOGUE.solutions[code]
    by_code = {i.code: i for i in CATALOGUE.instruments}
    for _, work, sheet, said in sheets(code):
        if solution.no_flask:
            assert work.vessel.kind is not InstrumentKind.FLASK, said
            assert "volumetric flask" not in sheet.vessel
        elif work.vessel.kind is InstrumentKind.FLASK:
            cylinder = min(
                (
                    i.tolerance * 300
                    for i in CATALOGUE.instruments
                    if i.kind is InstrumentKind.CYLINDER and i.capacity * 4 >= work.amount / ML * 4 > i.capacity
                ),
                default=None,
            )
            assert cylinder is None or cylinder > solution.tolerance_pct * work.amount / ML, "a cylinder would do"
        for portion in work.portions:
            if portion.found is None:
                continue
            reading = portion.found.reading
            assert reading.fillings <= 2, said
            substance = CATALOGUE.substances.get(portion.item)
            stock = CATALOGUE.solutions.get(portion.item)
            kind = reading.instrument.kind
            if substance is not None and substance.form is Form.AQUEOUS:
                assert kind in (InstrumentKind.CYLINDER, InstrumentKind.DROPPER), said
                assert reading.fillings == 1, said
                assert not portion.found.dilutions, said
            if stock is not None and stock.no_flask:
                assert kind in (InstrumentKind.CYLINDER, InstrumentKind.DROPPER), said
            if stock is not None and stock.solute in ("sodium-hydroxide", "potassium-hydroxide", "ammonia"):
                assert kind is not InstrumentKind.BURETTE, said
        for step in sheet.steps:
            if not step.instrument or step.kind is not StepKind.ADD or "drop" in step.text:
                continue
            shown = re.search(r"(?:Weigh|[Mm]easure) ([0-9.]+) (?:g|mL) with", step.text)
            if shown:
                instrument = by_code[step.instrument]
                step_of = instrument.resolution
                assert int(float(shown[1]) * 10**6 + 0.5) % int(step_of * 10**6) == 0, step.text


@pytest.mark.parametrize("code", CODES)
def test_no_step_contradicts_another(code: str) -> None:
    for _, _work, _, said in sheets(code):
        acid = re.search(r"(acid|Acid), [0-9.]+ %[^;]*; ([^.]*)", said)
        if acid and any(s.startswith("Put about") for s in re.split(r"(?<=\.) ", said)):
            assert "to the water" in acid[2] or "into the water" in acid[2] or "water" in acid[2], said
        if "boiled and cooled" in said:
            assert "distilled water" not in said, said
        if "without raising froth" in said:
            assert "mix well" not in said, said


def test_the_method_is_kept_whatever_it_is_made_from() -> None:
    for code, word in (("naoh-0.1", "boiled and cooled water"), ("thiosulfate-0.2", "boiled and cooled water")):
        for _, _, _, said in sheets(code):
            assert word in said
    for _, _, _, said in sheets("agno3-0.02"):
        assert "Distilled water only" in said


def test_what_is_no_primary_standard_is_about_so_much_until_it_is_found() -> None:
    """Hydroxides, permanganate, thiosulfate, thiocyanate: British Pharmacopoeia, Appendix I B; ASTM E200."""
    for code in ("naoh-1", "naoh-0.1", "koh-1", "kmno4-0.02", "thiosulfate-0.2", "thiosulfate-0.1", "kscn-0.1"):
        for _, _, sheet, said in sheets(code):
            assert sheet.uncertainty_pct is None
            assert "It is about" in said
            assert "find it against" in said
    solution = CATALOGUE.solutions["naoh-0.1"]
    route = next(r for r in BENCH.routes("naoh-0.1") if r.source == "naoh-1")
    options = [part.options[0] for part in route.parts]
    from decimal import Decimal

    found = [DrawnItem("naoh-1", 100 * ML, "bottle K6G7", Decimal("0.2"))]
    sheet = SHEETS.write_up(solution, route, options, 1000 * ML, found)
    assert sheet.uncertainty_pct is not None
    assert sheet.uncertainty_pct <= 1


def test_a_primary_standard_is_dried_first_at_its_temperature() -> None:
    for code, said_of in (("buffer-4", "at 120 °C for 2 hours"), ("kio3-0.02", "at 110 °C for 2 hours")):
        for route, _, _, said in sheets(code):
            assert (said_of in said) == (route.kind is RouteKind.DISSOLVE), said
    assert all("°C" not in said for _, _, _, said in sheets("buffer-9.2") if "Dry" in said)  # borax: no oven


def test_a_figure_set_off_the_one_wanted_moves_what_is_stated() -> None:
    route = next(r for r in BENCH.routes("h2so4-2") if r.kind is RouteKind.CONCENTRATE)
    solution = CATALOGUE.solutions["h2so4-2"]
    options = [part.options[0] for part in route.parts]
    work = BENCH.work(solution, route, options, 500 * ML)
    found = work.portions[0].found
    assert found is not None
    sheet = SHEETS.write_up(solution, route, options, 500 * ML, [DrawnItem("sulfuric-acid", found.taken, "K6G7")])
    assert sheet.strength is not None
    assert solution.strength is not None
    expected = float(solution.strength.value) * found.taken / float(options[0].per_nl * 500 * ML)
    assert float(sheet.strength.value) == pytest.approx(expected, rel=1e-3)
    assert sheet.strength != solution.strength


def test_what_stands_is_made_days_before() -> None:
    days = {code: s.stand_days for code, s in CATALOGUE.solutions.items() if s.stand_days}
    assert days == {"limewater": 1, "alginate-2": 1, "kmno4-0.1": 2, "kmno4-0.02": 2}
    for code in days:
        assert CATALOGUE.solutions[code].shelf_life_days > days[code]


def test_every_half_width_of_an_assay_is_on_file_with_its_source() -> None:
    widths = set()
    for one in CATALOGUE.substances.values():
        if one.assay_pct is not None and one.form is not Form.GAS:
            assert one.assay_half_width_pct is not None, one.code
            assert one.sources["assay half-width"], one.code
            widths.add(one.assay_half_width_pct)
        if one.unfit or one.found_against or one.dry_c is not None:
            assert one.sources["standard"], one.code
    assert len(widths) > 8
    assert str(CATALOGUE.substances["sodium-hydroxide"].assay_half_width_pct) == "2"
    assert str(CATALOGUE.substances["potassium-hydrogen-phthalate"].assay_half_width_pct) == "0.05"


def test_iron_iii_chloride_has_its_acid_in_the_take_list() -> None:
    """United States Pharmacopeia 35, Colorimetric Solutions: the salt into dilute hydrochloric acid."""
    order = [line.item for line in CATALOGUE.solutions["fecl3-0.1"].recipe]
    assert order == ["hcl-2", "iron-iii-chloride-6-water"]


def test_no_word_of_the_method_is_in_two_places() -> None:
    for code, solution in CATALOGUE.solutions.items():
        assert not (solution.method and solution.method_steps), code
        named = {s.item for s in solution.method_steps if s.kind is StepKind.ADD}
        assert not [line.item for line in solution.recipe if line.note and line.item in named], code
        missing = {line.item for line in solution.recipe} - named - {"water"}
        assert not solution.recipe or not solution.method_steps or not missing or not named, (code, missing)


def test_a_mass_is_never_asked_for_in_millilitres() -> None:
    for code in CODES:
        for _, work, _, _ in sheets(code):
            for portion in work.portions:
                if portion.found is not None and BENCH.measure_of(portion.item) is Measure.MASS:
                    assert portion.found.reading.instrument.kind is InstrumentKind.BALANCE


def test_what_is_dried_for_hours_is_dried_before_anything_else_is_begun() -> None:
    for code in CODES:
        for _, _, sheet, _ in sheets(code):
            kinds = [step.kind for step in sheet.steps]
            dried = [at for at, kind in enumerate(kinds) if kind is StepKind.DRY]
            assert dried == list(range(len(dried))), (code, kinds)
    carbonate = CATALOGUE.solutions["sodium-carbonate-0.1"]  # its water is warm, its salt an hour at 270 degC
    assert any(sheet.steps[0].kind is StepKind.DRY for _, _, sheet, _ in sheets(carbonate.code))


@pytest.mark.parametrize("code", ["iodine-0.005", "iodine-0.01", "iodine-0.02"])
def test_iodine_never_goes_into_water_without_iodide(code: str) -> None:
    """Seidell and Linke, Solubilities, 4th ed. (from memory): 0.29 g of iodine to a litre of water at 20 degC."""
    for route in BENCH.making.routes(code):
        wider = BENCH.making.with_solids(route, CODES)
        items = {option.item for part in wider.parts for option in part.options}
        assert "iodine" not in items or "potassium-iodide" in items, (code, route.kind)


def test_a_stock_gives_way_to_its_solid_only_where_nothing_goes_in_before_it() -> None:
    for code in CODES:
        for route in BENCH.making.routes(code):
            wider = BENCH.making.with_solids(route, CODES)
            for part, more in zip(route.parts, wider.parts, strict=True):
                stock = CATALOGUE.solutions.get(part.options[0].item)
                if len(more.options) > len(part.options) and stock is not None and stock.recipe:
                    assert CATALOGUE.substances[stock.recipe[0].item].solute == stock.solute, (code, stock.code)


def test_of_two_hydrates_the_one_is_weighed_that_the_stocks_are_made_of() -> None:
    for code in ("cuso4-0.1", "znso4-0.1", "cacl2-0.1", "thiosulfate-0.01"):
        solution = CATALOGUE.solutions[code]
        stock = solution.made_from[0]
        by_solid = next(route for route in BENCH.routes(code) if route.kind is RouteKind.DISSOLVE)
        assert by_solid.source == CATALOGUE.solutions[stock].made_from[0]


def test_what_goes_in_beside_the_solute_is_neither_dried_nor_measured_like_a_standard() -> None:
    for _, _, _, said in sheets("thiosulfate-0.1"):
        assert "Dry the" not in said  # 0.1 g of carbonate, which keeps the solution from souring
    for _, work, sheet, _ in sheets("feas-0.1"):
        acid = next(step for step in sheet.steps if step.kind is StepKind.ADD and step.item == "h2so4-1")
        assert "cylinder" in acid.instrument, work.amount


def test_a_standard_is_dried_by_way_of_an_intermediate_too() -> None:
    solution = CATALOGUE.solutions["sodium-carbonate-0.05"]
    route = next(one for one in BENCH.routes(solution.code) if one.kind is RouteKind.DISSOLVE)
    options = [part.options[0] for part in route.parts]
    sheet = SHEETS.write_up(solution, route, options, 50 * ML, [DrawnItem(options[0].item, 2_663_000, "bottle K6G7")])
    said = " ".join(to_tick(sheet.steps))
    assert "intermediate" in said
    assert said.startswith("Dry the sodium carbonate")


def test_no_dropping_pipette_takes_what_burns_the_skin() -> None:
    droppers = {one.code for one in CATALOGUE.instruments if one.kind is InstrumentKind.DROPPER}
    for code in CODES:
        for _, _, sheet, said in sheets(code):
            for step in sheet.steps:
                taken = CATALOGUE.substances.get(step.item)
                if taken is not None and "Skin Corr." in taken.classification:
                    assert step.instrument not in droppers, said


def test_acid_is_added_last_where_it_may_not_have_water_added_to_it() -> None:
    for code in CODES:
        for _, _, _, said in sheets(code):
            if "never water to the acid" in said:
                rest = said.split("never water to the acid")[1]
                assert "mL measuring cylinder: distilled water" not in rest, said


def test_what_is_too_thick_to_pour_is_made_in_its_beaker_with_all_its_water_measured() -> None:
    """Common practice, no source: nobody rinses a gel through a cylinder or trusts a beaker's marks."""
    for code, into in (("alginate-2", " into a beaker"), ("yeast-10", " into a large beaker")):
        for _, work, sheet, said in sheets(code):
            assert sheet.vessel == "beaker", work.amount
            assert "Measure " in said.split(into)[0]
            assert "rinse the beaker" not in said


@pytest.mark.parametrize("code", CODES)
def test_what_is_mixed_in_a_beaker_is_poured_over_before_the_mark(code: str) -> None:
    """Common practice, no source: a beaker is rinsed into the vessel, so that all of it gets there."""
    for _, work, sheet, said in sheets(code):
        method = method_of(work, CATALOGUE.substances)
        marks = [place for place, step in enumerate(method) if step.kind is StepKind.MARK]
        if not marks or not work.to_the_mark or work.vessel.kind is InstrumentKind.BEAKER:
            continue
        mixed = [step for step in method[: marks[0]] if step.in_beaker]
        if mixed and not method[marks[0]].stays_in_beaker and "beaker" not in sheet.vessel:
            assert "rinse the beaker into it twice" in said, (mixed, said)


def test_what_is_dissolved_gets_water_enough_to_stay_dissolved_when_cold() -> None:
    """56 g of potassium chloride do not go into 100 mL: 34.03 g in 100 g of water, as its entry cites."""
    seen = set()
    for code, solution in CATALOGUE.solutions.items():
        for route in BENCH.routes(code)[:1]:
            size = next((s for s in BENCH.sizes(code) if s >= solution.usual_nl), BENCH.sizes(code)[-1])
            options = [part.options[0] for part in route.parts]
            steps = SHEETS.write_up(solution, route, options, size, []).steps
            found = re.search(r"Dissolve it in about ([0-9.]+) (m?L)", " ".join(step.text for step in steps))
            for option in options if found else ():
                solid = CATALOGUE.substances.get(option.item)
                if found is None or solid is None or not solid.solubility_g_per_100g:
                    continue
                water = float(found[1]) * (1 if found[2] == "mL" else 1000)
                grams = float(option.per_nl) * size / 1e6
                assert grams * 100 <= water * float(solid.solubility_g_per_100g), code
                seen.add(code)
    assert {"nacl-5", "kcl-3", "borax-4", "cuso4-1"} <= seen


def test_a_suspension_or_a_gel_is_not_asked_for_its_strength() -> None:
    """It is weighed into water that is measured: no beaker's line says how much there is."""
    for code in ("yeast-10", "nutrient-agar", "alginate-2"):
        solution, route = CATALOGUE.solutions[code], BENCH.routes(code)[0]
        for size in BENCH.sizes(code):
            if size >= 25_000_000:
                steps = SHEETS.write_up(solution, route, [p.options[0] for p in route.parts], size, []).steps
                assert "have its strength found" not in " ".join(step.text for step in steps), (code, size)


def test_a_strength_that_is_only_about_is_not_stated_to_four_figures() -> None:
    """2.8 mL of ammonia, read to a twentieth, give about 1 mol/L and not 1.004."""
    solution = CATALOGUE.solutions["ammonia-1"]
    route = next(r for r in BENCH.routes("ammonia-1") if r.kind is RouteKind.CONCENTRATE)
    option = next(o for part in route.parts for o in part.options if o.item.startswith("ammonia"))
    stated = SHEETS.write_up(solution, route, [option], 50 * ML, []).strength
    assert stated is not None
    assert len(stated.value.normalize().as_tuple().digits) <= 3
