"""What is usual, set once: who works at this computer, where new bottles are put, how the school writes a day."""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from prep.books import JobKind
from prep.dates import DayOrder
from prep.errors import PrepError
from prep.resources import default_path
from prep.services.catalogue.names import find_item
from prep.services.input.act import Act
from prep.services.input.checks import printable
from prep.services.inventory import session
from prep.services.school.periods import PERIODS, read_periods, read_span, text_of
from prep.services.stock.places import place_in
from prep.store import ledger, queries, seeding, table_rows
from prep.wording import Flag

if TYPE_CHECKING:
    from sqlalchemy import Connection

MADE, ARRIVED = "usual_place_made", "usual_place_arrived"
"""The settings that name the place of what is made, and of what came."""
DAY_ORDER = "day_order"
DELIVERIES, DAYS_OPEN = "deliveries_come", "days_open"
"""The setting that says by when a day's deliveries have come, such as `10:30`."""


@dataclass(frozen=True, slots=True)
class SchoolUsual:
    """Who works here; where what is made, and what comes, is put; which comes first in 8/12; when deliveries come.

    Empty: not set. `days_open` are the days that an opened bottle keeps, by item; 0 as long as its label says.
    """

    name: str = ""
    made_at: str = ""
    arrived_at: str = ""
    dates: str = ""
    periods: tuple[str, ...] = ()
    deliveries: str = ""
    days_open: Mapping[str, int] = field(default_factory=dict)


def me() -> str:
    """Read who works at this computer, as set; empty where nobody said."""
    try:
        found = json.loads(_own_file().read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return ""
    return str(found.get("name", "")) if isinstance(found, dict) else ""


def read(db: Path | None) -> SchoolUsual:
    """Read what is usual here, as set. Raises PrepError where there is no inventory."""
    with session.reading(db) as connection:
        settings = table_rows.settings(connection)
    return SchoolUsual(
        me(),
        settings.get(MADE, ""),
        settings.get(ARRIVED, ""),
        settings.get(DAY_ORDER, ""),
        _periods(settings),
        settings.get(DELIVERIES, ""),
        settings.get(DAYS_OPEN, {}),
    )


def change(db: Path | None, given: SchoolUsual, act: Act) -> SchoolUsual:
    """Set what is given and leave the rest, the school's part as a job. Raises PrepError."""
    name = printable(given.name.strip(), 80, Flag("--name"))
    if given.dates and given.dates not in set(DayOrder):
        raise PrepError(Flag("--dates"), f' "{given.dates[:20]}" is no order; write day-first or month-first.')
    periods = read_periods(given.periods)
    comes = read_span(given.deliveries)
    if given.deliveries and comes is None:
        raise PrepError(Flag("--deliveries"), f' "{given.deliveries[:20]}" is no time; write such as 10:30.')
    if given.made_at or given.arrived_at or given.dates or periods or comes or given.days_open:

        def work(connection: "Connection") -> dict[str, Any]:
            values: dict[str, Any] = {}
            for key, place in ((MADE, given.made_at), (ARRIVED, given.arrived_at)):
                if place:
                    values[key] = place_in(connection, place)
            if given.dates:
                values[DAY_ORDER] = given.dates
            if comes:
                values[DELIVERIES] = f"{comes.begins:%H:%M}"
            before = table_rows.settings(connection)
            if given.days_open:
                known = queries.catalogue(connection)
                values[DAYS_OPEN] = {
                    **before.get(DAYS_OPEN, {}),
                    **{find_item(item, known).code: days for item, days in given.days_open.items()},
                }
            if periods:
                values[PERIODS] = text_of({**read_periods(_periods(before)), **periods})
            return {key: value for key, value in values.items() if before.get(key) != value}

        def post(connection: "Connection", changed: dict[str, Any]) -> None:
            if changed:
                seeding.set_settings(connection, changed)
                said = "; ".join(f"{key.replace('_', ' ')} {_written(value)}" for key, value in changed.items())
                ledger.begin(connection, JobKind.SETTINGS, act.by, act.on, f"what is usual: {said}")

        session.worked_out(db, work, post)
    if name:
        file = _own_file()
        try:
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_text(json.dumps({"name": name}, ensure_ascii=False), encoding="utf-8")
        except OSError as error:
            raise PrepError(f"{file}: it cannot be written ({error.strerror}).") from None
    return read(db)


def _written(value: object) -> str:
    return ", ".join(f"{item} {days}" for item, days in value.items()) if isinstance(value, dict) else str(value)


def read_days_open(texts: Iterable[str]) -> dict[str, int]:
    """Read `hydrogen peroxide=90`, the days that an opened bottle of it keeps. Raises PrepError for what is none."""
    out = {}
    for text in texts:
        item, _, days = text.rpartition("=")
        if not item.strip() or not days.strip().isdecimal() or int(days) > 3660:
            raise PrepError(
                Flag("--opened"), f' "{text[:40]}": write an item and its days, 0 to 3660, such as "ammonia=180".'
            )
        out[item.strip()] = int(days)
    return out


def day_order(db: Path | None) -> DayOrder | None:
    """Read which comes first in 8/12, day or month, as set. Raises PrepError where there is no inventory."""
    order = read(db).dates
    return DayOrder(order) if order in set(DayOrder) else None


def _periods(settings: Mapping[str, Any]) -> tuple[str, ...]:
    return tuple(one for one in str(settings.get(PERIODS, "")).split(";") if one)


def _own_file() -> Path:
    """Name the file beside one's own inventory, in the data folder."""
    return default_path().with_name("usual.json")
