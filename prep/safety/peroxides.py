"""When a bottle goes out of date or, as a peroxide former, is to be tested or thrown away.

Pure functions of the dates passed in.
"""

from calendar import monthrange
from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from prep.findings import Finding, Severity, worst_first
from prep.records import record
from prep.safety.hazard_tables import Row, keyed
from prep.wording import AtTerminal, Sentence


@record(frozen=True, slots=True)
class DatedBottle:
    """A bottle's dates; `tested` is that of its last peroxide test, `unstable` what becomes explosive when kept."""

    bottle: str
    name: str
    use_by: date | None = None
    received: date | None = None
    opened: date | None = None
    peroxide_class: str = ""
    tested: date | None = None
    quarantined: bool = False
    unstable: bool = False

    @property
    def since(self) -> str:
        """`, opened 2026-10-03`, for a sentence; of a peroxide former not opened, when it was received."""
        if self.opened:
            return f", opened {self.opened}"
        return f", unopened, received {self.received}" if self.peroxide_class and self.received else ""


@record(frozen=True, slots=True)
class PeroxideDates:
    """When to test next (None while unopened) and by when to have discarded it; the rule's source."""

    test_by: date | None
    discard_by: date
    action: str
    source: str


def add_months(day: date, months: int) -> date:
    """Find the same day so many months on; the last of the month where that month is shorter."""
    year, month = divmod(day.month - 1 + months, 12)
    year, month = day.year + year, month + 1
    return date(year, month, min(day.day, monthrange(year, month)[1]))


def peroxide_dates(
    peroxide_class: str, received: date | None, opened: date | None, tested: date | None
) -> PeroxideDates | None:
    """Find the test and discard dates of a peroxide former.

    None if no date to count from is recorded, or for no known class. Opened: test every so many days since opening
    or the last test, discard so many months after opening. Unopened: discard so many months after receipt.
    """
    row = _classes().get(peroxide_class)
    if row is None:
        return None
    if opened is not None:
        discard = add_months(opened, int(row["opened_months"]))
        last = tested if tested and tested > opened else opened
        test = min(last + timedelta(days=int(row["test_every_days"])), discard)
        return PeroxideDates(test, discard, row["action"], row["source"])
    if received is not None:
        return PeroxideDates(None, add_months(received, int(row["unopened_months"])), row["action"], row["source"])
    return None


def _classes() -> dict[str, Row]:
    return keyed("peroxide_classes", "peroxide_class")


def due(bottles: Sequence[DatedBottle], today: date, within_days: int = 30) -> tuple[Finding, ...]:
    """List what is out of date, goes out of date within so many days, or is to be tested, worst first.

    The date itself is still good. A peroxide former without a date is to be dealt with today.
    """
    horizon = today + timedelta(days=within_days)
    return worst_first([finding for one in bottles for finding in _of_bottle(one, today, horizon)])


def _of_bottle(one: DatedBottle, today: date, horizon: date) -> Iterable[Finding]:
    what = f"Bottle {one.bottle} ({one.name}{one.since})"
    if one.use_by:
        if one.unstable:
            if one.use_by < today:
                yield Finding(
                    Severity.STOP,
                    "destroy-at-once",
                    one.bottle,
                    f"{what} becomes explosive or unstable when kept, and its period is over.",
                    Sentence(
                        "Destroy it at once, as its sheet says", AtTerminal(f", then: prep stock discard {one.bottle}")
                    ),
                )
        elif one.use_by < today:
            yield Finding(
                Severity.ACT, "out-of-date", one.bottle, f"{what} went out of date on {one.use_by}.", "Discard it."
            )
        elif one.use_by <= horizon:
            cure = "It is in quarantine: release or discard it." if one.quarantined else "Use it first."
            yield Finding(Severity.NOTE, "goes-off", one.bottle, f"{what} goes out of date after {one.use_by}.", cure)
    if one.peroxide_class:
        yield from _peroxides(one, what, today, horizon)


def _peroxides(one: DatedBottle, what: str, today: date, horizon: date) -> Iterable[Finding]:
    if one.peroxide_class not in _classes():
        yield Finding(
            Severity.STOP,
            "peroxide-class",
            one.bottle,
            f"{what} has the peroxide class '{one.peroxide_class}', which is none of {', '.join(_classes())}: "
            "how long it may be kept is not known.",
            Sentence("Record its class", AtTerminal(" with: prep substance import --replace")),
        )
        return
    dates = peroxide_dates(one.peroxide_class, one.received, one.opened, one.tested)
    if dates is None:
        yield Finding(
            Severity.STOP,
            "peroxide-undated",
            one.bottle,
            f"{what} can form explosive peroxides and has no date of receipt or opening.",
            "Do not open it; if there are crystals do not touch it. Ask whoever disposes of chemicals.",
        )
        return
    if dates.discard_by < today:
        yield Finding(
            Severity.STOP,
            "peroxide-discard",
            one.bottle,
            f"{what}, peroxide former of class {one.peroxide_class}, was to be discarded by {dates.discard_by}.",
            "Do not open or move it if there are crystals; have it disposed of.",
            dates.source,
        )
    elif dates.discard_by <= horizon:
        yield Finding(
            Severity.ACT,
            "peroxide-discard",
            one.bottle,
            f"{what}, peroxide former of class {one.peroxide_class}, is to be discarded by {dates.discard_by}.",
            "Plan its disposal.",
            dates.source,
        )
    if dates.test_by and dates.discard_by >= today and dates.test_by <= horizon:
        late = dates.test_by < today
        yield Finding(
            Severity.STOP if late else Severity.ACT,
            "peroxide-test",
            one.bottle,
            f"{what} {'was' if late else 'is'} to be tested for peroxides by {dates.test_by}.",
            dates.action[0].upper() + dates.action[1:] + ".",
            dates.source,
        )
