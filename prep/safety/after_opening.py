"""How long a bottle is good for once it has been opened."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import date, timedelta

from prep.planning.model import Bottle
from prep.safety.hazard_tables import keyed


def days_open(item: str) -> int | None:
    """The days that a substance or a solution keeps after opening; None where opening changes nothing.

    Source: seed_data/tables/after_opening.csv, row by row.
    """
    row = keyed("after_opening", "item").get(item)
    return int(row["days"]) if row else None


def good_until(item: str, use_by: date | None, opened: date | None) -> date | None:
    """The last good day: the label's, or what is left to it since it was opened, whichever is sooner."""
    days = days_open(item) if opened is not None else None
    if days is None or opened is None:
        return use_by
    since_opened = opened + timedelta(days=days)
    return since_opened if use_by is None else min(use_by, since_opened)


def counted(bottles: Iterable[Bottle]) -> tuple[Bottle, ...]:
    """The bottles with the day to which each is good, its opening counted."""
    return tuple(
        bottle
        if (last := good_until(bottle.item, bottle.use_by, bottle.opened)) == bottle.use_by
        else replace(bottle, use_by=last)
        for bottle in bottles
    )


def said(bottle: Bottle) -> str:
    """`, opened on 2027-01-04, keeps for 90 days after opening: it` where that sets its day; else empty."""
    days = days_open(bottle.item)
    if days is None or bottle.opened is None or bottle.use_by != bottle.opened + timedelta(days=days):
        return ""
    return f", opened on {bottle.opened}, keeps for {days} days after opening: it"
