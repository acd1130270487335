"""How long a bottle is good for once it has been opened."""

import csv
from collections.abc import Mapping
from datetime import date, timedelta
from functools import cache
from types import MappingProxyType

from prep.resources import seed_data

NONE: Mapping[str, int] = MappingProxyType({})


@cache
def rows() -> dict[str, dict[str, str]]:
    """Read the table of days after opening by item, with their source."""
    with (seed_data() / "tables" / "after_opening.csv").open(encoding="utf-8", newline="") as file:
        return {row["item"]: row for row in csv.DictReader(file)}


def days_open(item: str, own: Mapping[str, int] = NONE) -> int | None:
    """Find how many days a substance or a solution keeps once opened; None where opening changes nothing.

    `own` are the school's days by item, 0 where its label alone counts.
    Source: seed_data/tables/after_opening.csv, row by row.
    """
    if item in own:
        return own[item] or None
    row = rows().get(item)
    return int(row["days"]) if row else None


def good_until(item: str, use_by: date | None, opened: date | None, own: Mapping[str, int] = NONE) -> date | None:
    """Find the last good day: the label's, or so many days after opening, whichever is sooner."""
    days = days_open(item, own) if opened is not None else None
    if days is None or opened is None:
        return use_by
    since_opened = opened + timedelta(days=days)
    return since_opened if use_by is None else min(use_by, since_opened)


def kept_open(item: str, use_by: date | None, opened: date | None, own: Mapping[str, int] = NONE) -> str:
    """Say that an item's days after opening set its last day; empty where they do not.

    In the words `, opened on 2027-01-04, keeps for 90 days after opening: it`.
    """
    days = days_open(item, own)
    if days is None or opened is None or use_by != opened + timedelta(days=days):
        return ""
    return f", opened on {opened}, keeps for {days} days after opening: it"
