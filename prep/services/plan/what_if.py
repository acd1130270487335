"""`prep plan --what-if`: the changes as a person writes them, and the present plan against the one with them."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from prep.dates import read_day
from prep.errors import PrepError
from prep.planning import what_if
from prep.planning.model import Horizon, Plan, Policy, Snapshot
from prep.planning.plan import make_plan
from prep.wording import Flag

_ACCEPTED = (
    '"bottle CODE gone", "booking DEMO on DATE" (and "x 2"), "booking CODE on DATE" (moved), "booking CODE gone" or '
    '"order CODE 5 days late"'
)
_BOTTLE = re.compile(r"bottle (\S+) (?:is )?(?:gone|empty|broken)")
_GONE = re.compile(r"booking (\S+) (?:is )?(?:gone|cancelled)")
_ON = re.compile(r"booking (\S+) (?:moved )?(?:on|to) (.+?)(?: x ?(\d{1,4}))?")
_LATE = re.compile(r"order (\S+) (?:is )?(\d{1,3})(?: days?)? late")


@dataclass(frozen=True, slots=True)
class SupposedPlan:
    """What was supposed, the plan and snapshot with it, and what differs from the present plan."""

    changes: tuple[str, ...]
    difference: what_if.Difference
    plan: Plan
    snapshot: Snapshot


def suppose(
    snapshot: Snapshot, present: Plan, horizon: Horizon, changes: Sequence[str], policy: Policy | None = None
) -> SupposedPlan:
    """Compare the plan with the changes, all together, to the present one. Raises PrepError for what is no change."""
    changed = snapshot
    for text in changes:
        changed = changed_by(changed, text)
    after = make_plan(changed, horizon, policy)
    return SupposedPlan(tuple(changes), what_if.compare(present, after), after, changed)


def changed_by(snapshot: Snapshot, text: str) -> Snapshot:
    """Make one change to a snapshot, as a person writes it. Raises PrepError."""
    said = " ".join(text.split())
    if found := _BOTTLE.fullmatch(said):
        return what_if.without_bottle(snapshot, found[1])
    if found := _GONE.fullmatch(said):
        return what_if.without_booking(snapshot, found[1])
    if found := _LATE.fullmatch(said):
        return what_if.late_order(snapshot, found[1], int(found[2]))
    if found := _ON.fullmatch(said):
        on = _day(found[2], snapshot.today)
        if any(b.code == found[1] for b in snapshot.bookings):
            return what_if.moved_booking(snapshot, found[1], on)
        showings = int(found[3] or 1)
        if not 1 <= showings <= 1000:
            raise PrepError(Flag("--what-if"), ": showings are a number from 1 to 1000.")
        return what_if.with_booking(snapshot, found[1], on, showings)
    raise PrepError(Flag("--what-if"), f' "{said[:60]}" is not understood; write such as {_ACCEPTED}.')


def _day(text: str, today: date) -> date:
    on = read_day(text, Flag("--what-if"), today)
    if on < today:
        raise PrepError(Flag("--what-if"), f": {on} is past; suppose a booking for today or later.")
    return on
