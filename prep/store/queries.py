"""Reads the tables back into the plain data of the core. Column rows, no objects: a plan reads everything."""

import json
from collections import defaultdict
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from sqlalchemy import Connection, select

from prep.books import BookingStatus, BottleStatus, OrderStatus
from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import (
    UNSTABLE,
    Form,
    Instrument,
    InstrumentKind,
    MethodStep,
    Origin,
    RecipeLine,
    SmallBatch,
    Solution,
    StepKind,
    StepPlace,
    Strength,
    StrengthKind,
    Substance,
    degrees_said,
    place_said,
)
from prep.dates import Deliveries
from prep.planning.model import (
    Booking,
    Bottle,
    Calendar,
    Demo,
    DemoKind,
    Leftover,
    Need,
    OpenOrder,
    Snapshot,
    StockRule,
)
from prep.safety.model import SheetCheck
from prep.store import tables as t
from prep.store.audit import sheet_checks
from prep.store.jobs import prepared_statements
from prep.store.table_rows import all_rows, by_number, settings, table


def _decimal(text: str | None) -> Decimal | None:
    return None if text is None else Decimal(text)


def _list(text: str) -> tuple[str, ...]:
    return tuple(text.split(";")) if text else ()


def strength_of(text: str | None) -> Strength | None:
    """Read a stored strength, its number and its kind: `0.1 mol/L`."""
    if text is None:
        return None
    value, _, kind = text.partition(" ")
    return Strength(Decimal(value), StrengthKind(kind))


def strength_text(strength: Strength | None) -> str | None:
    """Write a strength as it is stored; exact."""
    return None if strength is None else f"{strength.value} {strength.kind.value}"


Methods = Mapping[str, tuple[MethodStep, ...]]


def substances(connection: Connection, methods: Methods | None = None) -> dict[str, Substance]:
    """Read every substance by code, with how it is handled; a data sheet that was read is the source of its hazards."""
    steps = _method_steps(connection) if methods is None else methods
    checks = sheet_checks.latest(connection)
    return {
        row.code: Substance(
            code=row.code,
            name=row.name,
            formula=row.formula,
            solute=row.solute,
            form=Form(row.form),
            other_names=_list(row.other_names),
            cas=row.cas,
            assay_pct=_decimal(row.assay_pct),
            density_g_ml=_decimal(row.density_g_ml),
            solubility_g_per_100g=_decimal(row.solubility_g_per_100g),
            solubility_c=_decimal(row.solubility_c),
            classification=row.classification,
            supplemental=row.supplemental,
            flash_point_c=_decimal(row.flash_point_c),
            storage_group=row.storage_group,
            disposal=row.disposal,
            peroxide_class=row.peroxide_class,
            assay_half_width_pct=_decimal(row.assay_half_width_pct),
            dry_c=_decimal(row.dry_c),
            dry_minutes=row.dry_minutes,
            unfit=row.unfit,
            found_against=row.found_against,
            method_steps=steps.get(row.code, ()),
            sources=_read_on(checks.get(row.code), row.classification, json.loads(row.sources)),
        )
        for row in all_rows(connection, t.SubstanceRow, "code")
    }


def _method_steps(connection: Connection) -> dict[str, tuple[MethodStep, ...]]:
    """Read the steps of each solution and substance that has any, in order."""
    steps: dict[str, list[MethodStep]] = defaultdict(list)
    for row in all_rows(connection, t.MethodStepRow, "code", "position"):
        steps[row.code].append(_method_step(row._mapping))
    return {code: tuple(found) for code, found in steps.items()}


def _method_step(row: Mapping[Any, Any]) -> MethodStep:
    kind, place = StepKind(row["kind"]), row.get("goes_into")
    if place is None:  # an undone job gave back what was recorded before this was asked
        place = place_said(kind, row["text"])
    text, coolest, warmest = row["text"], row["temperature_c"], row.get("up_to_c")
    if warmest is None and (said := degrees_said(kind, text)):  # likewise
        text, coolest, warmest = "", str(said.low), str(said.high)
    return MethodStep(
        kind=kind,
        text=text,
        item=row["item"],
        origins=tuple(Origin(word) for word in _list(row["origins"])),
        share=_decimal(row["share"]),
        temperature_c=_decimal(coolest),
        minutes=row["minutes"],
        source=row["source"],
        goes_into=StepPlace(place) if place else None,
        up_to_c=_decimal(warmest or None),
    )


def _own_steps(stored: str) -> tuple[MethodStep, ...]:
    """Read a school's own method of a solution; none where it uses the catalogue's."""
    return tuple(map(_method_step, json.loads(stored))) if stored else ()


def _read_on(check: SheetCheck | None, classification: str, sources: dict[str, str]) -> dict[str, str]:
    """Name a data sheet as the source of the hazards, where it says what is on file."""
    if check is None or check.classification != classification:
        return sources
    return sources | {"hazard": check.source}


def substance_words(connection: Connection) -> dict[str, str]:
    """Read the words that each substance is known by, in one line: names, CAS number, formula, code."""
    rows = table(t.SubstanceRow).c
    query = select(rows.code, rows.name, rows.other_names, rows.cas, rows.formula)
    return {code: " ".join((*(one or "" for one in words), code)) for code, *words in connection.execute(query)}


def has_solution(connection: Connection, code: str) -> bool:
    """Tell whether a solution has this code."""
    return prepared_statements.run(connection, "SELECT 1 FROM solution WHERE code = ?", code).first() is not None


def solutions(connection: Connection, methods: Methods | None = None) -> dict[str, Solution]:
    """Read every solution by code, with its recipe and its method."""
    steps = _method_steps(connection) if methods is None else methods
    lines: dict[str, list[RecipeLine]] = defaultdict(list)
    for row in all_rows(connection, t.IngredientRow, "solution", "position"):
        lines[row.solution].append(RecipeLine(row.item, row.amount, row.note))
    return {
        row.code: Solution(
            code=row.code,
            name=row.name,
            solute=row.solute,
            strength=strength_of(row.strength),
            shelf_life_days=row.shelf_life_days,
            strength_of=row.strength_of,
            made_fresh=bool(row.made_fresh),
            keeping=_list(row.keeping),
            tolerance_pct=Decimal(row.tolerance_pct),
            made_from=_list(row.made_from),
            make_up_with=row.make_up_with,
            recipe=tuple(lines.get(row.code, ())),
            recipe_nl=row.recipe_nl,
            minutes=row.minutes,
            method=row.method,
            purpose=row.purpose,
            usual_nl=row.usual_nl,
            small_batch=SmallBatch(row.small_batch),
            method_steps=_own_steps(row.own_steps) or steps.get(row.code, ()),
            sources=json.loads(row.sources),
        )
        for row in all_rows(connection, t.SolutionRow, "code")
    }


def demos(connection: Connection) -> dict[str, Demo]:
    """Read every demo by code, with its needs and leftovers."""
    needs: dict[str, list[Need]] = defaultdict(list)
    for row in all_rows(connection, t.NeedRow, "demo", "position"):
        needs[row.demo].append(
            Need(
                row.item,
                row.per_showing,
                row.vessel,
                row.dead,
                bool(row.fresh),
                row.drops,
                row.until,
                row.note,
                row.dropper,
                bool(row.shared),
                row.portions,
            )
        )
    left: dict[str, list[Leftover]] = defaultdict(list)
    for row in all_rows(connection, t.LeftoverRow, "demo", "position"):
        left[row.demo].append(Leftover(row.what, row.stream, row.note))
    return {
        row.code: Demo(
            code=row.code,
            name=row.name,
            needs=tuple(needs[row.code]),
            spare=Decimal(row.spare),
            leftovers=tuple(left.get(row.code, ())),
            about=row.about,
            caution=row.caution,
            source=row.source,
            other_names=_list(row.other_names),
            principle=row.principle,
            trials=row.trials,
            kind=DemoKind(row.kind),
            ask_first=row.ask_first,
        )
        for row in all_rows(connection, t.DemoRow, "code")
    }


def instruments(connection: Connection) -> tuple[Instrument, ...]:
    """List the instruments that the room owns, in the order of its list."""
    return tuple(one for one in all_instruments(connection) if one.count)


def all_instruments(connection: Connection) -> tuple[Instrument, ...]:
    """List every instrument on file, also those of which the room has none."""
    return tuple(
        Instrument(
            row.code,
            row.name,
            InstrumentKind(row.kind),
            Decimal(row.capacity),
            Decimal(row.tolerance),
            Decimal(row.resolution),
            row.grade,
            row._mapping["count"],
            row.source,
        )
        for row in all_rows(connection, t.InstrumentRow, "position")
    )


def rules(connection: Connection) -> dict[str, StockRule]:
    """Read minimum stocks and packs by item."""
    return {
        row.item: StockRule(
            row.item, row.minimum, tuple(int(pack) for pack in _list(row.packs)), row.lead_days, row.own
        )
        for row in all_rows(connection, t.RuleRow, "item")
    }


def closed(connection: Connection) -> dict[date, str]:
    """Read the closed days, and why each is closed."""
    return {row.on: row.why for row in all_rows(connection, t.ClosedRow, "on")}


def calendar(connection: Connection, known: Mapping[str, Any]) -> Calendar:
    """Read the working weekdays, the closed days, and the minutes of a day."""
    base = Calendar()
    return Calendar(
        frozenset(known["weekdays"]) if "weekdays" in known else base.weekdays,
        closed(connection),
        known.get("minutes_per_day", base.minutes_per_day),
        {date.fromisoformat(on): minutes for on, minutes in sorted(known.get("minutes_on", {}).items())},
    )


def bottles(connection: Connection) -> tuple[Bottle, ...]:
    """Read every bottle that is not discarded, by code."""
    source, make = table(t.BottleRow), table(t.BatchRow)
    rows = connection.execute(
        select(
            source.c.code,
            source.c.item,
            source.c.balance,
            source.c.use_by,
            source.c.location,
            source.c.status,
            source.c.strength,
            source.c.received,
            source.c.strength_uncertainty_pct,
            source.c.opened,
            make.c.uncertainty_pct,
        )
        .select_from(source.outerjoin(make, make.c.bottle == source.c.code))
        .where(source.c.status != BottleStatus.DISCARDED)
        .order_by(source.c.code)
    )
    return tuple(
        Bottle(*row[:6], strength_of(row.strength), row.received, _decimal(pct), row.opened, _decimal(made_pct))
        for row in rows
        for pct, made_pct in [(row.strength_uncertainty_pct, row.uncertainty_pct)]
    )


def never_kept(connection: Connection, code: str) -> str | None:
    """Name a solution that becomes explosive or unstable when kept; None where the code is of anything else."""
    rows = table(t.SolutionRow).c
    found = connection.execute(select(rows.name, rows.keeping).where(rows.code == code)).first()
    return str(found.name) if found is not None and UNSTABLE in found.keeping.split(";") else None


def items_held(connection: Connection) -> set[str]:
    """Find the items of which a bottle that is not discarded holds something."""
    rows = table(t.BottleRow).c
    query = select(rows.item).where(rows.status != BottleStatus.DISCARDED, rows.balance > 0).distinct()
    return set(connection.execute(query).scalars())


def bookings(connection: Connection) -> tuple[Booking, ...]:
    """Read every booking that is not cancelled, by date and code."""
    source = table(t.BookingRow)
    query = select(source).where(source.c.status != BookingStatus.CANCELLED)
    rows = connection.execute(query.order_by(source.c.on, *by_number(source.c.code)))
    return tuple(Booking(*row) for row in rows)


def open_orders(connection: Connection) -> tuple[OpenOrder, ...]:
    """Read the orders that are placed and have not yet arrived."""
    source = table(t.OrderRow)
    query = select(source).where(source.c.status == OrderStatus.PLACED)
    rows = connection.execute(query.order_by(source.c.due, *by_number(source.c.code)))
    return tuple(OpenOrder(row.code, row.item, row.pack * row.packs, row.due) for row in rows)


def catalogue(connection: Connection) -> Catalogue:
    """Read the substances and solutions that can be held and made."""
    methods = _method_steps(connection)
    return Catalogue(substances(connection, methods), solutions(connection, methods))


def load_snapshot(connection: Connection, today: date) -> Snapshot:
    """Read all that the plan may know, in one consistent view."""
    known = settings(connection)
    return Snapshot(
        today=today,
        catalogue=catalogue(connection),
        demos=demos(connection),
        bookings=bookings(connection),
        bottles=bottles(connection),
        orders=open_orders(connection),
        rules=rules(connection),
        instruments=instruments(connection),
        calendar=calendar(connection, known),
        deliveries=Deliveries.read(known.get("deliveries_come", ""), known.get("period_times", "")),
        days_open=known.get("days_open", {}),
    )
