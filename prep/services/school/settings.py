"""The school's own settings of planning: what makes, waste and holding cost, working days and their minutes."""

from collections.abc import Mapping
from dataclasses import field
from datetime import date
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import TYPE_CHECKING, Any

from prep.books import JobKind
from prep.dates import WEEKDAYS
from prep.errors import PrepError
from prep.planning.model import Calendar, Policy
from prep.records import record
from prep.services.files.ical import zone_named
from prep.services.input.act import Act
from prep.services.input.checks import naming, within
from prep.services.inventory import session
from prep.services.school.calendar import weekdays_of
from prep.wording import AtTerminal, Flag

if TYPE_CHECKING:
    from sqlalchemy import Connection

_OPTIONS = {
    "cost_per_make": Flag("--make"),
    "cost_per_litre_wasted": Flag("--wasted"),
    "cost_per_litre_day_held": Flag("--held"),
    "cost_per_litre_costly_wasted": Flag("--wasted-costly"),
    "cost_per_litre_hazard_wasted": Flag("--wasted-hazard"),
    "cost_per_dilution": Flag("--dilution"),
}
COSTS = tuple(_OPTIONS)
_LARGEST = Decimal(1_000_000)
_MOST_AHEAD = 60
_MOST_MARGIN = 20


@record(frozen=True, slots=True)
class Settings:
    """The policy; the calendar: working weekdays, closed days, minutes of making; the time zone, if it is known."""

    policy: Policy
    calendar: Calendar
    time_zone: str = ""


def policy_of(settings: Mapping[str, Any]) -> Policy:
    """Make the policy that an inventory's settings describe. Raises PrepError for a cost that is none."""
    costs: dict[str, Any] = {key: None if settings.get(key) is None else _cost(key, settings[key]) for key in COSTS}
    ahead = settings.get("make_ahead_days", 0)
    if not isinstance(ahead, int) or isinstance(ahead, bool) or not 0 <= ahead <= _MOST_AHEAD:
        raise PrepError(f"make_ahead_days is a whole number from 0 to {_MOST_AHEAD}.")
    margin = settings.get("order_margin_days", Policy().order_margin_days)
    if not isinstance(margin, int) or isinstance(margin, bool) or not 0 <= margin <= _MOST_MARGIN:
        raise PrepError(f"order_margin_days is a whole number of working days from 0 to {_MOST_MARGIN}.")
    return Policy(make_ahead_days=ahead, order_margin_days=margin, **costs)


def read(db: Path | None) -> Settings:
    """Read the settings of planning as they stand."""
    with session.reading(db) as connection:
        return _read(connection)


@record(frozen=True, slots=True)
class PlanSettings:
    """What is to be set of planning, as typed; None leaves it as it is.

    `defaults` clears the costs, so it goes with none. `minutes_on` gives single days minutes of their own; None there
    gives them the usual ones again.
    """

    costs: Mapping[str, str | None] = field(default_factory=dict)
    minutes_per_day: int | None = None
    make_ahead_days: int | None = None
    defaults: bool = False
    weekdays: str | None = None
    minutes_on: Mapping[date, int | None] = field(default_factory=dict)
    time_zone: str | None = None
    order_margin_days: int | None = None

    def __bool__(self) -> bool:
        return self.defaults or bool(self.minutes_on) or any(one is not None for one in self._typed())

    def _typed(self) -> tuple[object, ...]:
        days = (self.minutes_per_day, self.make_ahead_days, self.order_margin_days, self.weekdays)
        return (*self.costs.values(), *days, self.time_zone)


def change(db: Path | None, wanted: PlanSettings, act: Act) -> Settings:
    """Set what is given and leave the rest; who changed what stands in the history. Raises PrepError."""
    minutes_per_day, make_ahead_days, minutes_on = wanted.minutes_per_day, wanted.make_ahead_days, wanted.minutes_on
    if minutes_per_day is not None:
        within(minutes_per_day, 1, 1440, Flag("--minutes-per-day"))
    if make_ahead_days is not None:
        within(make_ahead_days, 0, _MOST_AHEAD, Flag("--make-ahead"))
    if wanted.order_margin_days is not None:
        within(wanted.order_margin_days, 0, _MOST_MARGIN, Flag("--order-margin"))
    if wrong := [minutes for minutes in minutes_on.values() if minutes is not None and not 0 <= minutes <= 1440]:
        raise PrepError(Flag("--minutes"), f" gives a day from 0 to 1440 minutes, not {wrong[0]}.")
    if past := [day for day, minutes in minutes_on.items() if minutes is not None and day < act.on]:
        raise PrepError(Flag("--minutes"), f" {past[0]} is past; nothing is made there any more.")
    if wanted.defaults and (given := [key for key, text in wanted.costs.items() if text is not None]):
        raise PrepError(
            Flag("--defaults"), " takes every cost back to the usual one; give it, or ", _OPTIONS[given[0]], "."
        )
    values: dict[str, Any] = dict.fromkeys(COSTS) if wanted.defaults else {}
    values |= {key: str(_cost(_OPTIONS[key], text)) for key, text in wanted.costs.items() if text is not None}
    if minutes_per_day is not None:
        values["minutes_per_day"] = minutes_per_day
    if make_ahead_days is not None:
        values["make_ahead_days"] = make_ahead_days
    if wanted.order_margin_days is not None:
        values["order_margin_days"] = wanted.order_margin_days
    if wanted.weekdays is not None:
        values["weekdays"] = sorted(weekdays_of(wanted.weekdays.replace(",", " ").split(), Flag("--weekdays")))
        if not values["weekdays"]:
            raise PrepError(Flag("--weekdays"), " names at least one day, such as: mon tue wed thu fri.")
    if wanted.time_zone is not None:
        with naming(Flag("--time-zone")):
            values["time_zone"] = zone_named(wanted.time_zone).key
    from prep.store import ledger, queries, seeding, table_rows

    with session.writing(db) as connection:
        before = table_rows.settings(connection)
        if minutes_on:
            own = before.get("minutes_on", {}) | {day.isoformat(): minutes for day, minutes in minutes_on.items()}
            values["minutes_on"] = {day: minutes for day, minutes in sorted(own.items()) if minutes is not None}
            _on_working_days(queries.calendar(connection, before | values), minutes_on)
        changed = {key: value for key, value in values.items() if before.get(key) != value}
        seeding.set_settings(connection, changed)
        if changed:
            said = "; ".join(_said(key, before.get(key), value) for key, value in changed.items())
            ledger.begin(connection, JobKind.SETTINGS, act.by, act.on, f"plan settings: {said}")
        return _read(connection)


def _on_working_days(calendar: Calendar, minutes_on: Mapping[date, int | None]) -> None:
    """Refuse minutes of making on a day on which nobody works: they would count for nothing."""
    for day, minutes in minutes_on.items():
        if minutes and not calendar.works(day):
            why = calendar.closed.get(day, f"{WEEKDAYS[day.weekday()]} is no working day")
            said = f" {day} is closed ({why}), so nothing is made; open it first"
            how = AtTerminal(": prep plan closed or --weekdays.", ".")
            raise PrepError(Flag("--minutes"), said, how)


def _said(key: str, before: Any, after: Any) -> str:
    """Describe a change of a setting in words, for the history."""
    if key == "minutes_on":
        days = {day for day in {**(before or {}), **after} if (before or {}).get(day) != after.get(day)}
        return "; ".join(f"minutes on {day} {after.get(day, 'as usual')}" for day in sorted(days))
    if key == "weekdays":
        return f"working days {' '.join(WEEKDAYS[number] for number in after)}"
    was, now = ("not set" if value is None else value for value in (before, after))
    return f"{key.replace('_', ' ')} {was} -> {now}"


def _read(connection: "Connection") -> Settings:
    from prep.store import queries, table_rows

    settings = table_rows.settings(connection)
    return Settings(policy_of(settings), queries.calendar(connection, settings), settings.get("time_zone", ""))


def _cost(key: str | Flag, value: Any) -> Decimal:
    try:
        cost = Decimal(str(value))
    except InvalidOperation:
        cost = Decimal(-1)
    if isinstance(value, bool) or not cost.is_finite() or not 0 <= cost <= _LARGEST:
        raise PrepError(key, f' "{str(value)[:20]}" is no cost; write minutes of work, a number from 0 to {_LARGEST}.')
    return cost
