"""What the plan may know: what is on file, less what must not be used or shown.

It comes from an inventory, or straight from a school's files; a test keeps the two equal.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from prep.books import BottleStatus
from prep.chemistry.catalogue import Catalogue
from prep.chemistry.preparation.after_opening import NONE, good_until
from prep.errors import PrepError
from prep.planning.model import Booking, Bottle, Snapshot
from prep.planning.workdays import by_number
from prep.records import record
from prep.resources import seed_data
from prep.safety.peroxides import DatedBottle
from prep.services.safety import peroxides

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from prep.services.catalogue.on_file import OnFile
    from prep.services.school.folder import School


def load(connection: "Connection", today: date, supposed: Sequence[Booking] = ()) -> Snapshot:
    """Read the inventory's snapshot, as the plan may use it.

    Peroxide formers serve only while no test is due, and bookings that break a rule of the school are left
    out; `Snapshot.noticed` says so. `supposed` bookings are not on file.
    """
    from prep.store import bottles
    from prep.store.queries import load_snapshot
    from prep.store.school.bookings import age_groups, school_rules

    snapshot = load_snapshot(connection, today)
    snapshot = replace(snapshot, bottles=counted(snapshot.bottles, snapshot.days_open))
    if supposed:
        snapshot = replace(snapshot, bookings=(*snapshot.bookings, *supposed))
    dates = bottles.dated(connection, only_peroxides=True)
    if known := school_rules(connection):
        from prep.services.safety.governed_bookings import governed

        snapshot = governed(snapshot, known, [one.name for one in age_groups(connection)])
    return peroxides.guarded(snapshot, dates)


def of_school(catalogue: "OnFile", school: "School", today: date) -> Snapshot:
    """Make the snapshot that `prep init --from` the school's folder and then `load` would give."""
    held = sorted(
        (one for one in school.bottles if one.bottle.status != BottleStatus.DISCARDED), key=lambda one: one.bottle.code
    )
    snapshot = Snapshot(
        today=today,
        catalogue=Catalogue(dict(sorted(catalogue.substances.items())), dict(sorted(catalogue.solutions.items()))),
        demos=dict(sorted(catalogue.demos.items())),
        bookings=tuple(sorted(school.bookings, key=lambda one: (one.on, by_number(one.code)))),
        bottles=counted(one.bottle for one in held),
        orders=tuple(sorted((one.open for one in school.orders), key=lambda one: (one.due, by_number(one.code)))),
        rules=dict(sorted(catalogue.rules.items())),
        instruments=tuple(one for one in catalogue.instruments if one.count),
        calendar=school.calendar,
    )
    if school.rules:
        from prep.services.safety.governed_bookings import governed

        snapshot = governed(snapshot, school.rules, [one.name for one in school.groups])
    formers = [
        (one, catalogue.substances[one.bottle.item])
        for one in held
        if one.bottle.amount > 0 and one.bottle.item in catalogue.substances
    ]
    dates = [
        DatedBottle(
            bottle=one.bottle.code,
            name=substance.name,
            use_by=one.bottle.use_by,
            received=one.bottle.received,
            opened=one.opened,
            peroxide_class=substance.peroxide_class,
            tested=None,
        )
        for one, substance in formers
        if substance.peroxide_class
    ]
    return peroxides.guarded(snapshot, dates)


def counted(bottles: Iterable[Bottle], own: Mapping[str, int] = NONE) -> tuple[Bottle, ...]:
    """Set the day to which each bottle is good, its opening counted; `own` are the school's days by item."""
    return tuple(
        bottle
        if (last := good_until(bottle.item, bottle.use_by, bottle.opened, own)) == bottle.use_by
        else replace(bottle, use_by=last)
        for bottle in bottles
    )


@record(frozen=True, slots=True)
class Sample:
    """The invented school, on its fixed dates."""

    snapshot: Snapshot
    start: date
    end: date


def sample() -> Sample:
    """Read the invented school of seed_data/school straight from its files: nothing is written anywhere."""
    from prep.services.catalogue.seed import read_catalogue
    from prep.services.school.folder import read_school

    catalogue = read_catalogue(seed_data())
    school = read_school(seed_data() / "school", catalogue)
    if not (school.today and school.start and school.end):
        raise PrepError("settings.toml of the sample school must give today, from and to.")
    return Sample(of_school(catalogue, school, school.today), school.start, school.end)
