"""Writes the catalogue and a school's own facts: what is on file of items, demos, instruments, days and places."""

import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict
from datetime import date
from decimal import Decimal
from typing import Any

from sqlalchemy import Connection, delete, insert, select, update

from prep.chemistry.model import SET_BY_SCHOOL, Instrument, MethodStep, Solution, Substance
from prep.planning.model import Booking, Calendar, Demo, StockRule
from prep.store import tables as t
from prep.store.queries import strength_text
from prep.store.table_rows import in_parts, table


def _text(value: Decimal | None) -> str | None:
    return None if value is None else str(value)


def _put(connection: Connection, model: Any, rows: list[dict[str, Any]]) -> None:
    if rows:
        connection.execute(insert(table(model)), rows)


def put_substances(connection: Connection, items: Iterable[Substance]) -> None:
    """Write substances."""
    items = list(items)
    _put(
        connection,
        t.SubstanceRow,
        [
            {
                "code": s.code,
                "name": s.name,
                "formula": s.formula,
                "solute": s.solute,
                "form": s.form.value,
                "other_names": ";".join(s.other_names),
                "cas": s.cas,
                "assay_pct": _text(s.assay_pct),
                "density_g_ml": _text(s.density_g_ml),
                "solubility_g_per_100g": _text(s.solubility_g_per_100g),
                "solubility_c": _text(s.solubility_c),
                "classification": s.classification,
                "supplemental": s.supplemental,
                "flash_point_c": _text(s.flash_point_c),
                "storage_group": s.storage_group,
                "disposal": s.disposal,
                "peroxide_class": s.peroxide_class,
                "assay_half_width_pct": _text(s.assay_half_width_pct),
                "dry_c": _text(s.dry_c),
                "dry_minutes": s.dry_minutes,
                "unfit": s.unfit,
                "found_against": s.found_against,
                "sources": json.dumps(s.sources, ensure_ascii=False),
            }
            for s in items
        ],
    )
    _put_method_steps(connection, items)


def set_hazards(connection: Connection, items: Iterable[Substance]) -> None:
    """Write classes, supplemental statements and sources of substances over what they were."""
    rows = table(t.SubstanceRow)
    for one in items:
        values = {
            "classification": one.classification,
            "supplemental": one.supplemental,
            "sources": json.dumps(one.sources, ensure_ascii=False),
        }
        connection.execute(update(rows).where(rows.c.code == one.code).values(values))


def _put_method_steps(connection: Connection, items: Iterable[Substance | Solution]) -> None:
    _put(
        connection,
        t.MethodStepRow,
        [
            {"code": one.code, "position": n, **_step_values(step)}
            for one in items
            for n, step in enumerate(one.method_steps)
        ],
    )


def _step_values(step: MethodStep) -> dict[str, Any]:
    return {
        "kind": step.kind.value,
        "text": step.text,
        "item": step.item,
        "origins": ";".join(origin.value for origin in step.origins),
        "share": _text(step.share),
        "temperature_c": _text(step.temperature_c),
        "minutes": step.minutes,
        "source": step.source,
        "goes_into": step.goes_into or "",
        "up_to_c": _text(step.up_to_c) or "",
    }


def set_method(connection: Connection, code: str, steps: Iterable[MethodStep]) -> None:
    """Set a school's own method of a solution, in place of its words and of the catalogue's steps."""
    rows = table(t.SolutionRow)
    own = json.dumps([_step_values(step) for step in steps], ensure_ascii=False)
    connection.execute(update(rows).where(rows.c.code == code).values(own_steps=own, method=""))


def set_usual(connection: Connection, code: str, usual_nl: int) -> None:
    """Set a school's own usual batch of a solution."""
    rows = table(t.SolutionRow)
    (sources,) = connection.execute(select(rows.c.sources).where(rows.c.code == code)).one()
    own = json.dumps(json.loads(sources) | {"usual": SET_BY_SCHOOL}, ensure_ascii=False)
    connection.execute(update(rows).where(rows.c.code == code).values(usual_nl=usual_nl, sources=own))


def set_other_names(connection: Connection, code: str, names: Iterable[str]) -> None:
    """Change the other names of a substance."""
    table = t.SubstanceRow.__table__  # type: ignore[attr-defined]
    connection.execute(table.update().where(table.c.code == code).values(other_names=";".join(names)))


def put_solutions(connection: Connection, items: Iterable[Solution]) -> None:
    """Write solutions with their recipes."""
    items = list(items)
    _put(
        connection,
        t.SolutionRow,
        [
            {
                "code": s.code,
                "name": s.name,
                "purpose": s.purpose,
                "solute": s.solute,
                "strength": strength_text(s.strength),
                "strength_of": s.strength_of,
                "shelf_life_days": s.shelf_life_days,
                "made_fresh": int(s.made_fresh),
                "keeping": ";".join(s.keeping),
                "tolerance_pct": str(s.tolerance_pct),
                "made_from": ";".join(s.made_from),
                "make_up_with": s.make_up_with,
                "recipe_nl": s.recipe_nl,
                "minutes": s.minutes,
                "method": s.method,
                "usual_nl": s.usual_nl,
                "small_batch": s.small_batch.value,
                "sources": json.dumps(s.sources, ensure_ascii=False),
            }
            for s in items
        ],
    )
    _put(
        connection,
        t.IngredientRow,
        [
            {"solution": s.code, "position": n, "item": line.item, "amount": line.amount, "note": line.note}
            for s in items
            for n, line in enumerate(s.recipe)
        ],
    )
    _put_method_steps(connection, items)


def put_demos(connection: Connection, items: Iterable[Demo]) -> None:
    """Write demos with their needs and leftovers."""
    items = list(items)
    _put(
        connection,
        t.DemoRow,
        [
            {
                "code": d.code,
                "name": d.name,
                "spare": str(d.spare),
                "about": d.about,
                "caution": d.caution,
                "source": d.source,
                "other_names": ";".join(d.other_names),
                "principle": d.principle,
                "trials": d.trials,
                "kind": d.kind.value,
                "ask_first": d.ask_first,
            }
            for d in items
        ],
    )
    _put(
        connection,
        t.NeedRow,
        [
            {
                "demo": d.code,
                "position": n,
                "item": need.item,
                "per_showing": need.per_showing,
                "vessel": need.vessel,
                "dead": need.dead,
                "fresh": int(need.fresh),
                "drops": need.drops,
                "until": need.until,
                "note": need.note,
                "dropper": need.dropper,
                "shared": int(need.shared),
                "portions": need.portions,
            }
            for d in items
            for n, need in enumerate(d.needs)
        ],
    )
    _put(
        connection,
        t.LeftoverRow,
        [
            {"demo": d.code, "position": n, "what": left.what, "stream": left.stream, "note": left.note}
            for d in items
            for n, left in enumerate(d.leftovers)
        ],
    )


def put_instruments(connection: Connection, items: Iterable[Instrument], after: int = 0) -> None:
    """Write instruments in their order, after those that stand before."""
    _put(
        connection,
        t.InstrumentRow,
        [
            {
                "code": i.code,
                "position": n,
                "name": i.name,
                "kind": i.kind.value,
                "grade": i.grade,
                "capacity": str(i.capacity),
                "tolerance": str(i.tolerance),
                "resolution": str(i.resolution),
                "count": i.count,
                "source": i.source,
            }
            for n, i in enumerate(items, after)
        ],
    )


def set_counts(connection: Connection, counts: Mapping[str, int]) -> None:
    """Set how many there are of instruments."""
    rows = table(t.InstrumentRow)
    for code, count in counts.items():
        connection.execute(update(rows).where(rows.c.code == code).values({"count": count}))


def put_rules(connection: Connection, items: Iterable[StockRule]) -> None:
    """Write minimum stocks and packs, over what was said of the same items before."""
    items, rows = list(items), table(t.RuleRow)
    for codes in in_parts(r.item for r in items):
        connection.execute(delete(rows).where(rows.c.item.in_(codes)))
    _put(
        connection,
        t.RuleRow,
        [
            {
                "item": r.item,
                "minimum": r.minimum,
                "packs": ";".join(map(str, r.packs)),
                "lead_days": r.lead_days,
                "own": r.own,
            }
            for r in items
        ],
    )


def put_calendar(connection: Connection, calendar: Calendar) -> None:
    """Write working weekdays, minutes a day and closed days."""
    put_settings(
        connection,
        {
            "weekdays": sorted(calendar.weekdays),
            "minutes_per_day": calendar.minutes_per_day,
            "minutes_on": {on.isoformat(): minutes for on, minutes in sorted(calendar.minutes_on.items())},
        },
    )
    put_closed(connection, calendar.closed)


def put_closed(connection: Connection, closed: Mapping[date, str]) -> None:
    """Write closed days, over what was said of the same days before."""
    drop_closed(connection, closed)
    _put(connection, t.ClosedRow, [{"on": on, "why": why} for on, why in sorted(closed.items())])


def drop_closed(connection: Connection, days: Iterable[date]) -> None:
    """Take closed days off the calendar."""
    rows = table(t.ClosedRow)
    connection.execute(delete(rows).where(rows.c.on.in_(list(days))))


def set_settings(connection: Connection, settings: Mapping[str, Any]) -> None:
    """Write settings over what they were; those that are None are taken away."""
    rows = table(t.SettingRow)
    connection.execute(delete(rows).where(rows.c.key.in_(sorted(settings))))
    put_settings(connection, {key: value for key, value in settings.items() if value is not None})


def put_settings(connection: Connection, settings: Mapping[str, Any]) -> None:
    """Write settings as JSON; dates as ISO text."""
    _put(
        connection,
        t.SettingRow,
        [{"key": key, "value": json.dumps(value, ensure_ascii=False, default=_iso)} for key, value in settings.items()],
    )


def put_locations(connection: Connection, rows: Iterable[tuple[str, str, int, str]]) -> None:
    """Write locations as (code, name, walk order, note)."""
    _put(
        connection,
        t.LocationRow,
        [{"code": c, "name": n, "walk_order": order, "note": note} for c, n, order, note in rows],
    )


def put_bookings(connection: Connection, items: Iterable[Booking]) -> None:
    """Write bookings."""
    _put(connection, t.BookingRow, [asdict(b) for b in items])


def _iso(value: object) -> str:
    if isinstance(value, date):
        return value.isoformat()
    raise TypeError(type(value).__name__)


def put_orders(connection: Connection, rows: list[dict[str, Any]]) -> None:
    """Write orders, each a row of its table."""
    _put(connection, t.OrderRow, rows)
