"""Reads the files of seed_data/ (or a school's own, of the same columns) into the plain data of the core."""

import tomllib
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

from prep.chemistry import quantities
from prep.chemistry.model import (
    Form,
    Ingredient,
    Instrument,
    InstrumentKind,
    Measure,
    Solution,
    StrengthKind,
    Substance,
)
from prep.errors import PrepError
from prep.planning.levels import planning_order
from prep.planning.model import Booking, Bottle, Calendar, Demo, Leftover, Need, OpenOrder, StockRule
from prep.services.tablefile import Row, iso_date, number, positive, read_rows, whole

SUBSTANCE_COLUMNS = (
    "code name other_names cas formula solute form assay_pct density_g_ml solubility_g_per_100g solubility_c "
    "classification supplemental flash_point_c storage_group disposal peroxide_class source assay_source "
    "density_source solubility_source hazard_source"
).split()
SOLUTION_COLUMNS = (
    "code name purpose solute strength strength_of shelf_life_days made_fresh keeping tolerance_pct made_from "
    "make_up_with recipe_makes minutes method source shelf_source"
).split()
RECIPE_COLUMNS = "solution item amount note source".split()
DEMO_COLUMNS = "code name about spare_pct caution source".split()
NEED_COLUMNS = "demo item per_showing vessel dead_volume fresh until note source".split()
LEFTOVER_COLUMNS = "demo what stream note source".split()
INSTRUMENT_COLUMNS = "code name kind grade capacity tolerance resolution count source".split()
DROPPER_COLUMNS = "code name drops_per_ml spread_pct source".split()
RULE_COLUMNS = "item minimum packs lead_days source".split()
LOCATION_COLUMNS = "code name walk_order note".split()
BOTTLE_COLUMNS = "code item amount use_by location status received opened lot strength note".split()
ORDER_COLUMNS = "code item pack packs placed due".split()
BOOKING_COLUMNS = "code date period room teacher demo showings".split()

KEEPING = ("amber", "plastic", "glass", "cold", "dark", "vented", "full")
PURPOSES = ("stock", "working", "indicator", "reagent", "buffer")
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
STATUSES = ("in service", "quarantine", "discarded")
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
DROPS_PER_ML = Decimal(20)
"""A common dropper; common practice, no source. Used where a need in drops names no other."""


@dataclass(frozen=True, slots=True)
class Catalogue:
    """What can be held, made and shown, and what measures it."""

    substances: Mapping[str, Substance]
    solutions: Mapping[str, Solution]
    demos: Mapping[str, Demo]
    instruments: tuple[Instrument, ...]
    rules: Mapping[str, StockRule]
    calendar: Calendar

    def measure(self, item: str) -> Measure | None:
        """How an item is counted; None if it is not in the catalogue."""
        if item in self.substances:
            return self.substances[item].measure
        return Measure.VOLUME if item in self.solutions else None


@dataclass(frozen=True, slots=True)
class Location:
    """A place where bottles stand, and its place in the walk round the room."""

    code: str
    name: str
    walk_order: int = 0
    note: str = ""


@dataclass(frozen=True, slots=True)
class ShelfBottle:
    """A bottle as a school's list has it: the plan's facts and what only the label says."""

    bottle: Bottle
    opened: date | None = None
    lot: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class School:
    """One school's own facts: settings, places, bottles, orders, bookings, closed days."""

    name: str
    today: date | None
    start: date | None
    end: date | None
    calendar: Calendar
    locations: tuple[Location, ...]
    bottles: tuple[ShelfBottle, ...]
    orders: tuple[OpenOrder, ...]
    bookings: tuple[Booking, ...]
    settings: Mapping[str, Any] = field(default_factory=dict)


def read_catalogue(folder: Path) -> Catalogue:
    """Every catalogue file of a folder. Raises PrepError naming file, row and column of what is wrong."""
    substances: dict[str, Substance] = {}
    for row in read_rows(folder / "substances.csv", SUBSTANCE_COLUMNS, ("code", "name", "form")):
        substance = read_substance(row)
        if substance.code in substances:
            raise row.wrong("code", f'"{substance.code}" stands twice.')
        substances[substance.code] = substance
    recipes = _recipes(folder / "recipes.csv")
    solutions: dict[str, Solution] = {}
    for row in read_rows(folder / "solutions.csv", SOLUTION_COLUMNS, ("code", "name", "shelf_life_days")):
        solution = read_solution(row, recipes, substances)
        if solution.code in solutions or solution.code in substances:
            raise row.wrong("code", f'"{solution.code}" is already taken.')
        solutions[solution.code] = solution
    _check_recipes(recipes, substances, solutions, folder)
    demos = _demos(folder, substances, solutions)
    instruments = tuple(
        read_instrument(row)
        for row in read_rows(folder / "instruments.csv", INSTRUMENT_COLUMNS, ("code", "kind", "capacity"))
    )
    rules = {}
    for row in read_rows(folder / "rules.csv", RULE_COLUMNS, ("item", "lead_days")):
        rule = read_rule(row, substances)
        rules[rule.item] = rule
    return Catalogue(substances, solutions, demos, instruments, rules, read_calendar(folder / "calendar.toml"))


def read_substance(row: Row) -> Substance:
    """One row of substances.csv. Raises PrepError."""
    formula = row.text("formula")
    if formula:
        row.read("formula", _readable_formula)
    sources = {
        name: row.text(column)
        for name, column in (
            ("identity", "source"),
            ("assay", "assay_source"),
            ("density", "density_source"),
            ("solubility", "solubility_source"),
            ("hazard", "hazard_source"),
        )
        if row.text(column)
    }
    code = row.code("code")
    return Substance(
        code=code,
        name=row.text("name", required=True),
        formula=formula,
        solute=row.text("solute") or code,
        form=Form(row.one_of("form", [form.value for form in Form])),
        other_names=row.list("other_names"),
        cas=row.text("cas"),
        assay_pct=row.read("assay_pct", _percent),
        density_g_ml=row.read("density_g_ml", positive),
        solubility_g_per_100g=row.read("solubility_g_per_100g", positive),
        solubility_c=row.read("solubility_c", number),
        classification=row.text("classification"),
        supplemental=row.text("supplemental"),
        flash_point_c=row.read("flash_point_c", number),
        storage_group=row.text("storage_group"),
        disposal=row.text("disposal"),
        peroxide_class=row.text("peroxide_class"),
        sources=sources,
    )


def _readable_formula(text: str) -> str:
    # The grammar is checked by the formulas module's own parser only when a mass is wanted: reading all of
    # them here would import the table of elements at every start.
    if len(text) > 100 or not text.isprintable():
        raise PrepError(f'"{text[:40]}" is no formula.')
    return text


def _percent(text: str) -> Decimal:
    if (value := positive(text)) > 100:
        raise PrepError(f'"{text}" is above 100 %.')
    return value


def read_solution(
    row: Row,
    recipes: Mapping[str, list[tuple[Row, str, quantities.Amount, str]]],
    substances: Mapping[str, Substance],
) -> Solution:
    """One row of solutions.csv with its recipe's rows. Raises PrepError."""
    code = row.code("code")
    strength = row.read("strength", quantities.strength)
    keeping = row.list("keeping")
    for word in keeping:
        if word not in KEEPING:
            raise row.wrong("keeping", f'"{word[:40]}" is not one of: {", ".join(KEEPING)}.')
    lines = recipes.get(code, [])
    makes = row.read("recipe_makes", quantities.amount)
    if lines and makes is None:
        raise row.wrong("recipe_makes", "a solution with a recipe needs the volume it makes.")
    if makes and makes.measure is not Measure.VOLUME:
        raise row.wrong("recipe_makes", "this must be a volume, such as 1 L.")
    solute = row.text("solute")
    if not lines and strength is None:
        raise row.wrong("strength", "a solution needs a strength, or rows in recipes.csv.")
    if not lines and solute not in {s.solute for s in substances.values()}:
        raise row.wrong("solute", f'no substance has the solute "{solute[:40]}".')
    return Solution(
        code=code,
        name=row.text("name", required=True),
        solute=solute,
        strength=strength,
        shelf_life_days=row.need("shelf_life_days", whole),
        strength_of=row.text("strength_of"),
        made_fresh=row.yes("made_fresh"),
        keeping=keeping,
        tolerance_pct=row.read("tolerance_pct", positive) or Decimal(5),
        made_from=row.list("made_from"),
        make_up_with=row.text("make_up_with") or "water",
        recipe=tuple(Ingredient(item, amount.base_with(DROPS_PER_ML), note) for _, item, amount, note in lines),
        recipe_nl=makes.base if makes else 0,
        minutes=row.read("minutes", whole) or 15,
        method=row.text("method"),
        purpose=row.one_of("purpose", PURPOSES, "working"),
        sources={
            name: row.text(column)
            for name, column in (("recipe", "source"), ("shelf", "shelf_source"))
            if row.text(column)
        },
    )


def _recipes(path: Path) -> dict[str, list[tuple[Row, str, quantities.Amount, str]]]:
    out: dict[str, list[tuple[Row, str, quantities.Amount, str]]] = defaultdict(list)
    for row in read_rows(path, RECIPE_COLUMNS, ("solution", "item", "amount")):
        amount = row.need("amount", quantities.amount)
        out[row.code("solution")].append((row, row.code("item"), amount, row.text("note")))
    return out


def _check_recipes(
    recipes: Mapping[str, list[tuple[Row, str, quantities.Amount, str]]],
    substances: Mapping[str, Substance],
    solutions: Mapping[str, Solution],
    folder: Path,
) -> None:
    for code, lines in recipes.items():
        for row, item, amount, _ in lines:
            if code not in solutions:
                raise row.wrong("solution", f'"{code}" is not in solutions.csv.')
            if item == "water":
                continue
            if item not in substances and item not in solutions:
                raise row.wrong("item", f'"{item}" is neither a substance nor a solution.')
            wanted = substances[item].measure if item in substances else Measure.VOLUME
            if amount.measure is not wanted:
                raise row.wrong("amount", f"{item} is counted by {wanted.value}; write its amount so.")
    for solution in solutions.values():
        for item in (*solution.made_from, solution.make_up_with):
            if item != "water" and item not in substances and item not in solutions:
                raise PrepError(
                    f'{folder / "solutions.csv"}: {solution.code} is made from "{item}", which is neither a '
                    "substance nor a solution."
                )
    planning_order(
        solutions,
        {
            s.code: [i.item for i in s.recipe if i.item in solutions] + [m for m in s.made_from if m in solutions]
            for s in solutions.values()
        },
    )


def _demos(
    folder: Path, substances: Mapping[str, Substance], solutions: Mapping[str, Solution]
) -> dict[str, Demo]:
    needs: dict[str, list[Need]] = defaultdict(list)
    where: dict[str, Row] = {}
    for row in read_rows(folder / "needs.csv", NEED_COLUMNS, ("demo", "item", "per_showing")):
        demo = row.code("demo")
        where[demo] = row
        needs[demo].append(read_need(row, substances, solutions))
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
        spare = row.read("spare_pct", number)
        if spare is not None and not 0 <= spare <= 1000:
            raise row.wrong("spare_pct", "spare is a percentage from 0 to 1000.")
        if code not in needs:
            raise row.wrong("code", "this demo has no rows in needs.csv.")
        demos[code] = Demo(
            code=code,
            name=row.text("name", required=True),
            needs=tuple(needs[code]),
            spare=Decimal(10) / 100 if spare is None else spare / 100,
            leftovers=tuple(left.get(code, ())),
            about=row.text("about"),
            caution=row.text("caution"),
            source=row.text("source"),
        )
    for demo, row in where.items():
        if demo not in demos:
            raise row.wrong("demo", f'"{demo}" is not in demos.csv.')
    return demos


def read_need(row: Row, substances: Mapping[str, Substance], solutions: Mapping[str, Solution]) -> Need:
    """One row of needs.csv. Raises PrepError."""
    item = row.code("item")
    amount = row.need("per_showing", quantities.amount)
    dead = row.read("dead_volume", lambda text: quantities.amount(text, zero=True))
    if item == "water":
        measure = Measure.VOLUME
    elif item in substances:
        measure = substances[item].measure
    elif item in solutions:
        measure = Measure.VOLUME
    else:
        raise row.wrong("item", f'"{item}" is neither a substance nor a solution.')
    for column, given in (("per_showing", amount), ("dead_volume", dead)):
        if given is not None and given.measure is not measure and (given.base or given.drops):
            raise row.wrong(column, f"{item} is counted by {measure.value}; write its amount so.")
    return Need(
        item=item,
        per_showing=amount.base_with(DROPS_PER_ML),
        vessel=row.text("vessel"),
        dead=dead.base_with(DROPS_PER_ML) if dead else 0,
        fresh=row.yes("fresh"),
        drops=amount.drops,
        until=row.text("until"),
        note=row.text("note"),
    )


def read_instrument(row: Row) -> Instrument:
    """One row of instruments.csv. Raises PrepError."""
    return Instrument(
        code=row.code("code"),
        name=row.text("name") or row.code("code"),
        kind=InstrumentKind(row.one_of("kind", [kind.value for kind in InstrumentKind])),
        capacity=row.need("capacity", positive),
        tolerance=row.need("tolerance", number),
        resolution=row.need("resolution", positive),
        grade=row.text("grade"),
        count=row.read("count", whole) or 1,
        source=row.text("source"),
    )


def read_rule(row: Row, substances: Mapping[str, Substance]) -> StockRule:
    """One row of rules.csv. Raises PrepError."""
    item = row.code("item")
    if item not in substances:
        raise row.wrong("item", f'"{item}" is not a substance; only substances are ordered.')
    measure = substances[item].measure

    def base(column: str, text: str) -> int:
        try:
            amount = quantities.amount(text, zero=True)
        except PrepError as problem:
            raise row.wrong(column, str(problem)) from None
        if amount.base and amount.measure is not measure:
            raise row.wrong(column, f"{item} is counted by {measure.value}; write its amount so.")
        return amount.base

    minimum = row.text("minimum")
    return StockRule(
        item,
        base("minimum", minimum) if minimum else 0,
        tuple(base("packs", pack) for pack in row.list("packs")),
        row.need("lead_days", whole),
    )


def _toml(path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise PrepError(f"{path}: there is no such file.") from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as problem:
        raise PrepError(f"{path.name}: not readable as TOML ({problem}).") from None


def read_calendar(path: Path) -> Calendar:
    """weekdays, minutes_per_day and [[closed]] spans of a TOML file. Raises PrepError."""
    return calendar_of(_toml(path), path.name)


def calendar_of(settings: Mapping[str, Any], file: str, base: Calendar | None = None) -> Calendar:
    """The calendar that a settings table describes, on top of `base`. Raises PrepError."""
    base = base or Calendar()
    weekdays = base.weekdays
    if "weekdays" in settings:
        names = [str(name).lower()[:3] for name in settings["weekdays"]]
        if unknown := [name for name in names if name not in WEEKDAYS]:
            raise PrepError(f'{file}: "{unknown[0]}" is no weekday; write mon to sun.')
        weekdays = frozenset(WEEKDAYS.index(name) for name in names)
    closed = dict(base.closed)
    for span in settings.get("closed", ()):
        try:
            first, last = span["from"], span.get("to", span["from"])
        except (KeyError, TypeError, AttributeError):
            raise PrepError(f'{file}: each [[closed]] needs "from" and may have "to" and "why".') from None
        if not isinstance(first, date) or not isinstance(last, date) or last < first or (last - first).days > 400:
            raise PrepError(f"{file}: a closed span must run from one date to a later one, written 2027-02-15.")
        for offset in range((last - first).days + 1):
            closed[first + timedelta(days=offset)] = str(span.get("why", "closed"))
    minutes = settings.get("minutes_per_day", base.minutes_per_day)
    if not isinstance(minutes, int) or not 0 < minutes <= 1440:
        raise PrepError(f"{file}: minutes_per_day must be from 1 to 1440.")
    return Calendar(weekdays, closed, minutes)


def read_school(folder: Path, catalogue: Catalogue) -> School:
    """A school's folder. Raises PrepError naming file, row and column of what is wrong."""
    settings = _toml(folder / "settings.toml")
    locations = tuple(
        Location(row.code("code"), row.text("name"), row.read("walk_order", whole) or 0, row.text("note"))
        for row in read_rows(folder / "locations.csv", LOCATION_COLUMNS, ("code", "name"))
    )
    places = {location.code for location in locations}
    bottles: dict[str, ShelfBottle] = {}
    for row in read_rows(folder / "bottles.csv", BOTTLE_COLUMNS, ("code", "item", "amount")):
        held = read_bottle(row, catalogue)
        if held.bottle.location not in places:
            raise row.wrong("location", f'"{held.bottle.location}" is not in locations.csv.')
        if held.bottle.code in bottles:
            raise row.wrong("code", f'"{held.bottle.code}" stands twice.')
        bottles[held.bottle.code] = held
    orders = []
    for row in read_rows(folder / "orders.csv", ORDER_COLUMNS, ("code", "item", "pack", "packs", "due")):
        item = row.code("item")
        pack = row.need("pack", quantities.amount)
        if catalogue.measure(item) is not pack.measure:
            raise row.wrong("pack", f'"{item}" is not a substance counted so.')
        count = row.need("packs", whole)
        orders.append(OpenOrder(row.code("code"), item, pack.base * count, row.need("due", iso_date)))
    return School(
        name=str(settings.get("school", "")),
        today=settings.get("today"),
        start=settings.get("from"),
        end=settings.get("to"),
        calendar=calendar_of(settings, "settings.toml", catalogue.calendar),
        locations=locations,
        bottles=tuple(bottles.values()),
        orders=tuple(orders),
        bookings=read_bookings(folder / "bookings.csv", catalogue),
        settings=settings,
    )


def read_bottle(row: Row, catalogue: Catalogue) -> ShelfBottle:
    """One row of bottles.csv. Raises PrepError."""
    item = row.code("item")
    measure = catalogue.measure(item)
    if measure is None:
        raise row.wrong("item", f'"{item}" is neither a substance nor a solution.')
    amount = row.need("amount", lambda text: quantities.amount(text, zero=True))
    if amount.measure is not measure:
        raise row.wrong("amount", f"{item} is counted by {measure.value}; write its amount so.")
    strength = row.read("strength", quantities.strength)
    if strength and (strength.kind is StrengthKind.SATURATED or item not in catalogue.solutions):
        raise row.wrong("strength", "a found strength belongs to a made solution, as a figure.")
    return ShelfBottle(
        Bottle(
            code=row.code("code"),
            item=item,
            amount=amount.base,
            use_by=row.read("use_by", iso_date),
            location=row.text("location"),
            status=row.one_of("status", STATUSES, "in service"),
            strength=strength,
            received=row.read("received", iso_date),
        ),
        opened=row.read("opened", iso_date),
        lot=row.text("lot"),
        note=row.text("note"),
    )


def read_bookings(path: Path, catalogue: Catalogue) -> tuple[Booking, ...]:
    """Rows of a bookings file; codes may be left empty and are then given by the row. Raises PrepError."""
    out: dict[str, Booking] = {}
    for row in read_rows(path, BOOKING_COLUMNS, ("date", "demo")):
        code = row.code("code") if row.text("code") else ""
        demo = row.code("demo")
        if demo not in catalogue.demos:
            raise row.wrong("demo", f'"{demo}" is not a demo on file.')
        if code and code in out:
            raise row.wrong("code", f'"{code}" stands twice.')
        booking = Booking(
            code=code,
            on=row.need("date", iso_date),
            period=row.text("period"),
            room=row.text("room"),
            teacher=row.text("teacher"),
            demo=demo,
            showings=row.read("showings", lambda text: whole(text, 1, 1000)) or 1,
        )
        out[code or f"row {row.number}"] = booking
    return tuple(out.values())
