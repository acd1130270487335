"""Reads the files of seed_data/ (or a school's own, of the same columns) into the plain data of the core."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

from prep.chemistry import quantities
from prep.chemistry.acid_base.until import AddedUntil, until_of
from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import (
    UNSTABLE,
    Instrument,
    InstrumentKind,
    Measure,
    RecipeLine,
    SmallBatch,
    Solution,
    Substance,
)
from prep.errors import PrepError
from prep.planning.engine.low_level_code import planning_order
from prep.planning.model import Demo, DemoKind, Leftover, Need, StockRule
from prep.planning.set_out import MOST_PORTIONS, as_portions, uneven
from prep.records import record
from prep.services.catalogue.method_steps import read_methods
from prep.services.catalogue.names import find_item
from prep.services.catalogue.on_file import OnFile
from prep.services.catalogue.substances import SUBSTANCE_COLUMNS, read_substance
from prep.services.files.csv_file import Row, days, number, positive, read_rows, whole
from prep.services.school.calendar import read_calendar
from prep.wording import Flag

SOLUTION_COLUMNS = (
    "code name purpose solute strength strength_of shelf_life_days made_fresh keeping tolerance_pct made_from "
    "make_up_with recipe_makes minutes method source shelf_source usual small_batch usual_source"
).split()
RECIPE_COLUMNS = "solution item amount note source".split()
DEMO_COLUMNS = "code name other_names kind about principle spare_pct trials caution ask_first source".split()
NEED_COLUMNS = "demo item per_showing portions vessel dead_volume shared fresh from until note source".split()
LEFTOVER_COLUMNS = "demo what stream note source".split()
INSTRUMENT_COLUMNS = "code name kind grade capacity tolerance resolution count source".split()
RULE_COLUMNS = "item minimum packs lead_days source".split()

KEEPING = ("amber", "plastic", "glass", "cold", "dark", "vented", "full", UNSTABLE)
PURPOSES = ("stock", "working", "indicator", "reagent", "buffer")
SMALL_BATCHES = tuple(why.value for why in SmallBatch)
STREAMS = (
    "drain",
    "neutralise",
    "heavy metals",
    "halogenated",
    "oxidising",
    "silver",
    "flammable",
    "solid",
    "specialist",
)
MINUTES = 15
"""What making a solution takes where its entry says nothing; common practice, no source."""
DROPS_PER_ML = Decimal(20)
"""A common dropper; common practice, no source. Used where a need in drops names no other."""


def read_catalogue(folder: Path) -> OnFile:
    """Read every catalogue file of a folder. Raises PrepError naming file, row and column of what is wrong."""
    substances: dict[str, Substance] = {}
    for row in read_rows(folder / "substances.csv", SUBSTANCE_COLUMNS, ("code", "name", "form")):
        substance = read_substance(row)
        if substance.code in substances:
            raise row.wrong("code", f'"{substance.code}" stands twice.')
        substances[substance.code] = substance
    methods = read_methods(folder / "methods.csv")
    substances = {c: replace(s, method_steps=methods.pop(c, ())) for c, s in substances.items()}
    recipes = _recipes(folder / "recipes.csv")
    solutions: dict[str, Solution] = {}
    rows: dict[str, Row] = {}
    for row in read_rows(folder / "solutions.csv", SOLUTION_COLUMNS, ("code", "name", "shelf_life_days")):
        solution = read_solution(row, recipes, substances)
        if solution.code in solutions or solution.code in substances:
            raise row.wrong("code", f'"{solution.code}" is already taken.')
        solutions[solution.code] = replace(solution, method_steps=methods.pop(solution.code, ()))
        rows[solution.code] = row
    _check_recipes(recipes, Catalogue(substances, solutions), rows)
    for code in methods:
        raise PrepError(f'methods.csv: "{code}" is neither a substance nor a solution.')
    demos = _demos(folder, Catalogue(substances, solutions))
    instruments: dict[str, Instrument] = {}
    for row in read_rows(folder / "instruments.csv", INSTRUMENT_COLUMNS, ("code", "kind", "capacity")):
        instrument = read_instrument(row)
        if instrument.code in instruments:
            raise row.wrong("code", f'"{instrument.code}" stands twice.')
        instruments[instrument.code] = instrument
    rules: dict[str, StockRule] = {}
    for row in read_rows(folder / "rules.csv", RULE_COLUMNS, ("item", "lead_days")):
        rule = read_rule(row, substances)
        if rule.item in rules:
            raise row.wrong("item", f'"{rule.item}" stands twice.')
        rules[rule.item] = rule
    calendar = read_calendar(folder / "calendar.toml")
    return OnFile(substances, solutions, demos, rules, tuple(instruments.values()), calendar)


@record(frozen=True, slots=True)
class RecipeRow:
    """One row of recipes.csv, read: an ingredient, how much of it, and what is said of it."""

    row: Row
    item: str
    amount: quantities.Amount
    note: str


def read_solution(
    row: Row,
    recipes: Mapping[str, list[RecipeRow]],
    substances: Mapping[str, Substance],
) -> Solution:
    """Read one row of solutions.csv with its recipe's rows. Raises PrepError."""
    code = row.code("code")
    strength = row.read("strength", quantities.strength)
    keeping = row.list("keeping")
    for word in keeping:
        if word not in KEEPING:
            raise row.wrong("keeping", f'"{word[:40]}" is not one of: {", ".join(KEEPING)}.')
    lines = recipes.get(code, [])
    makes = row.read("recipe_makes", stock_amount)
    if lines and makes is None:
        raise row.wrong("recipe_makes", "a solution with a recipe needs the volume it makes.")
    if makes and makes.measure is not Measure.VOLUME:
        raise row.wrong("recipe_makes", "this must be a volume, such as 1 L.")
    usual = row.read("usual", stock_amount)
    if usual and usual.measure is not Measure.VOLUME:
        raise row.wrong("usual", "this must be a volume, such as 500 mL.")
    solute = row.text("solute")
    minutes = row.read("minutes", whole)
    if not lines and strength is None:
        raise row.wrong(
            "strength", "a solution needs a strength, or rows that say what is in it (", Flag("--recipes"), ")."
        )
    if not lines and solute not in {s.solute for s in substances.values()}:
        raise row.wrong("solute", f'no substance has the solute "{solute[:40]}".')
    return Solution(
        code=code,
        name=row.text("name", required=True),
        solute=solute,
        strength=strength,
        shelf_life_days=row.need("shelf_life_days", days),
        strength_of=row.text("strength_of"),
        made_fresh=row.yes("made_fresh"),
        keeping=keeping,
        tolerance_pct=row.read("tolerance_pct", positive) or Decimal(5),
        made_from=row.list("made_from"),
        make_up_with=row.text("make_up_with") or "water",
        recipe=tuple(RecipeLine(one.item, one.amount.base_with(DROPS_PER_ML), one.note) for one in lines),
        recipe_nl=makes.base if makes else 0,
        minutes=MINUTES if minutes is None else minutes,
        method=row.text("method"),
        purpose=row.one_of("purpose", PURPOSES, "working"),
        usual_nl=usual.base if usual else 0,
        small_batch=SmallBatch(row.one_of("small_batch", SMALL_BATCHES, SmallBatch.NO.value)),
        sources={
            name: row.text(column)
            for name, column in (("recipe", "source"), ("shelf", "shelf_source"), ("usual", "usual_source"))
            if row.text(column)
        },
    )


def _recipes(path: Path) -> dict[str, list[RecipeRow]]:
    out: dict[str, list[RecipeRow]] = defaultdict(list)
    for row in read_rows(path, RECIPE_COLUMNS, ("solution", "item", "amount")):
        amount = row.need("amount", quantities.amount)
        out[row.code("solution")].append(RecipeRow(row, row.code("item"), amount, row.text("note")))
    return out


def _check_recipes(
    recipes: Mapping[str, list[RecipeRow]],
    catalogue: Catalogue,
    rows: Mapping[str, Row],
) -> None:
    for code, lines in recipes.items():
        for line in lines:
            row, item, amount = line.row, line.item, line.amount
            if code not in catalogue.solutions:
                raise row.wrong("solution", f'"{code}" is not in solutions.csv.')
            if item == "water":
                continue
            if item not in catalogue.substances and item not in catalogue.solutions:
                raise row.wrong("item", f'"{item}" is neither a substance nor a solution.')
            wanted = catalogue.substances[item].measure if item in catalogue.substances else Measure.VOLUME
            if amount.measure is not wanted:
                raise row.wrong("amount", f"{item} is counted by {wanted.value}; write its amount so.")
    for solution in catalogue.solutions.values():
        row = rows[solution.code]
        named = [("made_from", item) for item in solution.made_from]
        for column, item in (*named, ("make_up_with", solution.make_up_with)):
            if item != "water" and item not in catalogue.substances and item not in catalogue.solutions:
                raise row.wrong(column, f'"{item[:40]}" is neither a substance nor a solution.')
    uses = {
        s.code: [
            item
            for item in (*(line.item for line in s.recipe), *s.made_from, s.make_up_with)
            if item in catalogue.solutions
        ]
        for s in catalogue.solutions.values()
    }
    planning_order(catalogue.solutions, uses)


def _demos(folder: Path, catalogue: Catalogue) -> dict[str, Demo]:
    needs: dict[str, list[Need]] = defaultdict(list)
    where: dict[str, Row] = {}
    for row in read_rows(folder / "needs.csv", NEED_COLUMNS, ("demo", "item", "per_showing")):
        demo = row.code("demo")
        where[demo] = row
        needs[demo].append(read_need(row, catalogue))
    left: dict[str, list[Leftover]] = defaultdict(list)
    for row in read_rows(folder / "leftovers.csv", LEFTOVER_COLUMNS, ("demo", "what", "stream")):
        left[row.code("demo")].append(
            Leftover(row.text("what", required=True), row.one_of("stream", STREAMS), row.text("note"))
        )
    demos: dict[str, Demo] = {}
    for row in read_rows(folder / "demos.csv", DEMO_COLUMNS, ("code", "name")):
        code = row.code("code")
        if code in demos:
            raise row.wrong("code", f'"{code}" stands twice.')
        if code not in needs:
            raise row.wrong("code", "this demo has no rows in needs.csv.")
        demos[code] = read_demo(row, needs[code], left.get(code, ()))
    for demo, row in where.items():
        if demo not in demos:
            raise row.wrong("demo", f'"{demo}" is not in demos.csv.')
    return demos


def read_demo(row: Row, needs: Sequence[Need], leftovers: Sequence[Leftover]) -> Demo:
    """Read one row of demos.csv, with its rows of the other two files. Raises PrepError."""
    spare = row.read("spare_pct", number)
    if spare is not None and not 0 <= spare <= 1000:
        raise row.wrong("spare_pct", "spare is a percentage from 0 to 1000.")
    if why := uneven(needs):
        raise row.wrong("code", why)
    return Demo(
        code=row.code("code"),
        name=row.text("name", required=True),
        needs=tuple(needs),
        spare=Decimal(10) / 100 if spare is None else spare / 100,
        leftovers=tuple(leftovers),
        about=row.text("about"),
        caution=row.text("caution"),
        source=row.text("source"),
        other_names=row.list("other_names"),
        principle=row.text("principle"),
        trials=row.read("trials", lambda text: whole(text, 0, 100)) or 0,
        kind=DemoKind(row.one_of("kind", tuple(DemoKind), DemoKind.DEMONSTRATION)),
        ask_first=row.text("ask_first"),
    )


def read_need(row: Row, catalogue: Catalogue) -> Need:
    """Read one row of needs.csv; its item by code or any name. Raises PrepError."""
    item = row.text("item", required=True)
    if item not in catalogue and item != "water":
        try:
            item = find_item(item, catalogue).code
        except PrepError as problem:
            raise row.wrong("item", problem.sentence) from None
    times, amount = row.need("per_showing", _in_portions)
    given = row.read("portions", lambda text: whole(text, 1, MOST_PORTIONS)) or times
    if times not in (1, given):
        raise row.wrong("portions", f"per_showing says {times} portions.")
    dead = row.read("dead_volume", lambda text: quantities.amount(text, zero=True))
    if item == "water":
        measure = Measure.VOLUME
    elif item in catalogue.substances:
        measure = catalogue.substances[item].measure
    elif item in catalogue.solutions:
        measure = Measure.VOLUME
    else:
        raise row.wrong("item", f'"{item}" is neither a substance nor a solution.')
    for column, read in (("per_showing", amount), ("dead_volume", dead)):
        if read is not None and read.measure is not measure and (read.base or read.drops):
            raise row.wrong(column, f"{item} is counted by {measure.value}; write its amount so.")
    end = row.read("until", until_of) or AddedUntil()
    base, tip = times * amount.base_with(DROPS_PER_ML), ""
    drops = end.drops
    if drops or row.text("from"):
        from prep.chemistry.acid_base import droppers  # imported here, as few rows need it and it is slow

        named = row.read("from", droppers.dropper)
        tip = named.code if named else ""
        if drops:
            rate = (named or droppers.common()).dropper.drops_per_ml
            drops *= given
            base = round(drops / rate * quantities.BASE_PER_UNIT)
    return Need(
        item=item,
        per_showing=base,
        vessel=row.text("vessel"),
        dead=dead.base_with(DROPS_PER_ML) if dead else 0,
        shared=row.yes("shared"),
        fresh=row.yes("fresh"),
        drops=drops or times * amount.drops,
        until=end.said,
        note=row.text("note"),
        dropper=tip,
        portions=given,
    )


def _in_portions(text: str) -> tuple[int, quantities.Amount]:
    said = as_portions(text)
    if not 1 <= said.count <= MOST_PORTIONS:
        raise PrepError(f'"{text[:40]}": there are 1 to {MOST_PORTIONS} portions.')
    return said.count, quantities.amount(said.each)


def stock_amount(text: str, *, zero: bool = False) -> quantities.Amount:
    """Read an amount of stock as `quantities.amount`, but drops are none. Raises PrepError."""
    amount = quantities.amount(text, zero=zero)
    if amount.drops:
        raise PrepError(f'"{text[:40]}": drops are no amount of stock; write a volume or a mass.')
    return amount


def read_instrument(row: Row) -> Instrument:
    """Read one row of instruments.csv; without a count there is one. Raises PrepError."""
    count = row.read("count", whole)
    return Instrument(
        code=row.code("code"),
        name=row.text("name") or row.code("code"),
        kind=InstrumentKind(row.one_of("kind", [kind.value for kind in InstrumentKind])),
        capacity=row.need("capacity", positive),
        tolerance=row.need("tolerance", number),
        resolution=row.need("resolution", positive),
        grade=row.text("grade"),
        count=1 if count is None else count,
        source=row.text("source"),
    )


def instrument_cells(one: Instrument) -> dict[str, str]:
    """Write an instrument as a row of instruments.csv."""
    return {
        "code": one.code,
        "name": one.name,
        "kind": one.kind.value,
        "grade": one.grade,
        "capacity": str(one.capacity),
        "tolerance": str(one.tolerance),
        "resolution": str(one.resolution),
        "count": str(one.count),
        "source": one.source,
    }


def read_rule(row: Row, substances: Mapping[str, Substance]) -> StockRule:
    """Read one row of rules.csv. Raises PrepError."""
    item = row.code("item")
    if item not in substances:
        raise row.wrong("item", f'"{item}" is not a substance; only substances are ordered.')
    measure = substances[item].measure

    def base(column: str, text: str, *, zero: bool = False) -> int:
        try:
            amount = stock_amount(text, zero=zero)
        except PrepError as problem:
            raise row.wrong(column, problem.sentence) from None
        if amount.base and amount.measure is not measure:
            raise row.wrong(column, f"{item} is counted by {measure.value}; write its amount so.")
        return amount.base

    minimum = row.text("minimum")
    return StockRule(
        item,
        base("minimum", minimum, zero=True) if minimum else 0,
        tuple(base("packs", pack) for pack in row.list("packs")),
        row.need("lead_days", days),
    )
