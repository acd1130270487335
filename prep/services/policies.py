"""The school's own settings of planning: what makes, waste and holding cost, minutes a day."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import TYPE_CHECKING, Any

from prep.errors import PrepError
from prep.planning.model import Policy
from prep.services import session

if TYPE_CHECKING:
    from sqlalchemy import Connection

COSTS = ("cost_per_make", "cost_per_litre_wasted", "cost_per_litre_day_held")
_LARGEST = Decimal(1_000_000)
_MOST_AHEAD = 60


@dataclass(frozen=True, slots=True)
class Settings:
    """The policy, and the minutes of making that a day has."""

    policy: Policy
    minutes_per_day: int


def policy_of(settings: Mapping[str, Any]) -> Policy:
    """The policy that an inventory's settings describe. Raises PrepError for a cost that is none."""
    make, wasted, held = (None if settings.get(key) is None else _cost(key, settings[key]) for key in COSTS)
    ahead = settings.get("make_ahead_days", 0)
    if not isinstance(ahead, int) or isinstance(ahead, bool) or not 0 <= ahead <= _MOST_AHEAD:
        raise PrepError(f"make_ahead_days is a whole number from 0 to {_MOST_AHEAD}.")
    return Policy(make_ahead_days=ahead, cost_per_make=make, cost_per_litre_wasted=wasted, cost_per_litre_day_held=held)


def read(db: Path | None) -> Settings:
    """The settings of planning as they stand."""
    with session.reading(db) as connection:
        return _read(connection)


def change(
    db: Path | None,
    costs: Mapping[str, str | None],
    minutes_per_day: int | None,
    make_ahead_days: int | None,
    defaults: bool,
) -> Settings:
    """Set what is given and leave the rest; `defaults` clears the costs first. Raises PrepError."""
    if minutes_per_day is not None and not 1 <= minutes_per_day <= 1440:
        raise PrepError("--minutes-per-day is a number from 1 to 1440.")
    if make_ahead_days is not None and not 0 <= make_ahead_days <= _MOST_AHEAD:
        raise PrepError(f"--make-ahead is a number of days from 0 to {_MOST_AHEAD}.")
    given = {key: _cost(key, text) for key, text in costs.items() if text is not None}
    with session.writing(db) as connection:
        from sqlalchemy import delete

        from prep.store import seeding
        from prep.store.queries import table
        from prep.store.tables import SettingRow

        rows = table(SettingRow)
        values: dict[str, Any] = {key: str(cost) for key, cost in given.items()}
        if minutes_per_day is not None:
            values["minutes_per_day"] = minutes_per_day
        if make_ahead_days is not None:
            values["make_ahead_days"] = make_ahead_days
        gone = {*values, *(COSTS if defaults else ())}
        connection.execute(delete(rows).where(rows.c.key.in_(sorted(gone))))
        if values:
            seeding.put_settings(connection, values)
        return _read(connection)


def _read(connection: "Connection") -> Settings:
    from prep.store import queries

    settings = queries.settings(connection)
    return Settings(policy_of(settings), queries.calendar(connection, settings).minutes_per_day)


def _cost(key: str, value: Any) -> Decimal:
    try:
        cost = Decimal(str(value))
    except InvalidOperation:
        cost = Decimal(-1)
    if isinstance(value, bool) or not cost.is_finite() or not 0 <= cost <= _LARGEST:
        raise PrepError(f'{key} "{str(value)[:20]}" is no cost; write minutes of work, a number from 0 to {_LARGEST}.')
    return cost
