"""The shelves: what is there, what comes, what goes, what moves, and undoing a job."""

import secrets
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from prep.chemistry import naming, quantities
from prep.chemistry.model import Measure
from prep.errors import PrepError, Refused
from prep.planning.collector import collector_paused
from prep.services import session
from prep.services.days import Done
from prep.services.door import MOST_JOBS, printable, within
from prep.services.items import in_inventory

if TYPE_CHECKING:
    from sqlalchemy import Connection

ALPHABETS = ("BCDFGHJKMNPQRTVWXYZ", "2346789")
"""A bottle's code is letter, digit, letter, digit: no vowels, nothing that a wet label turns into something else
(0 and O, 1 and I and L, 5 and S), and nothing that a spreadsheet takes for a number."""
CODE_LENGTH = 4


@dataclass(slots=True, unsafe_hash=True)
class Held:
    """One bottle as the books have it. Nobody changes one; frozen, thousands take longer to make."""

    code: str
    item: str
    name: str
    measure: Measure
    balance: int
    status: str
    location: str
    use_by: date | None
    received: date | None
    opened: date | None
    lot: str
    strength: str | None
    made_by: str
    note: str
    strength_uncertainty_pct: str | None = None

    @property
    def shown(self) -> str:
        """What is in it, as text."""
        return quantities.show(self.balance, self.measure)


@dataclass(frozen=True, slots=True)
class Moved:
    """One line of history. `amount` is 0 for a job that moved no amount (a change of place)."""

    job: int
    kind: str
    on: date
    at: str
    by: str
    bottle: str
    item: str
    measure: Measure
    amount: int
    reason: str
    reverses: int | None


def list_stock(
    db: Path | None, item: str | None, location: str | None, everything: bool, use_by: date | None
) -> list[Held]:
    """Bottles by item and date; empty and discarded ones only with `everything`. Raises PrepError."""
    with session.reading(db) as connection:
        code = in_inventory(connection, item, here=True).code if item else None
        held = _held(connection)
        place = None if location is None else _place(connection, location)
    return [
        h
        for h in held
        if (code is None or h.item == code)
        and (place is None or h.location == place)
        and (everything or (h.balance > 0 and h.status != "discarded"))
        and (use_by is None or (h.use_by is not None and h.use_by <= use_by))
    ]


def show(db: Path | None, bottle: str) -> tuple[Held, list[Moved]]:
    """A bottle and its history, newest first. Raises PrepError."""
    with session.reading(db) as connection:
        held = _bottle(connection, bottle)
        return held, _history(connection, held.code, 1000)


def history(db: Path | None, bottle: str | None, limit: int) -> list[Moved]:
    """The newest lines of the ledger, of one bottle or of all. Raises PrepError."""
    within(limit, 1, 100_000, "--last")
    with session.reading(db) as connection:
        code = _bottle(connection, bottle).code if bottle else None
        return _history(connection, code, limit)


def receive(
    db: Path | None,
    item: str,
    amount: str,
    count: int,
    location: str | None,
    use_by: date | None,
    lot: str,
    note: str,
    by: str,
    day: Done,
) -> list[Held]:
    """Put new bottles of one item on the books; returns them with their codes. Raises PrepError."""
    within(count, 1, 500, "--bottles")
    with session.writing(db) as connection:
        found = in_inventory(connection, item, here=True)
        base = found.amount(amount)
        place = _place(connection, location)
        from prep.store import ledger

        job = ledger.begin(connection, "receive", by, day.on, note)
        codes = []
        for _ in range(count):
            code = new_code(connection)
            row = bottle_row(code, found.code, found.measure, place, day.on, use_by, lot, note=note)
            ledger.fill(connection, job, row, base, "received")
            codes.append(code)
        return [_bottle(connection, code) for code in codes]


def use(db: Path | None, bottle: str, amount: str, reason: str, by: str, day: Done) -> Held:
    """Take an amount from a bottle. Raises PrepError; Refused if it holds less or is not in service."""
    printable(reason, label="--reason")
    with session.writing(db) as connection:
        held = _bottle(connection, bottle)
        since_it_came(held, day)
        base = _amount(held, amount)
        _in_service(held)
        from prep.store import ledger

        job = ledger.begin(connection, "use", by, day.on, reason)
        ledger.post(connection, job, [ledger.Line(held.code, -base, reason or "used")])
        if held.opened is None:
            _change(connection, job, held.code, opened=day.on)
        return _bottle(connection, held.code)


def discard(db: Path | None, bottles: Sequence[str], reason: str, by: str, day: Done) -> list[Held]:
    """Write off what is left in bottles and close them, as one job. Raises PrepError."""
    printable(reason, label="--reason")
    with session.writing(db) as connection:
        from prep.store import ledger

        codes = [_bottle(connection, b) for b in dict.fromkeys(bottles)]
        note = f"{', '.join(h.code for h in codes)}: {reason or 'discarded'}"
        job = ledger.begin(connection, "discard", by, day.on, note)
        for held in codes:
            since_it_came(held, day)
            if held.status == "discarded":
                raise PrepError(f"Bottle {held.code} is discarded already.")
            if held.balance:
                ledger.post(connection, job, [ledger.Line(held.code, -held.balance, reason or "discarded")])
            _change(connection, job, held.code, status="discarded")
        return [_bottle(connection, h.code) for h in codes]


def move(db: Path | None, bottle: str, location: str, by: str, day: Done) -> Held:
    """Put a bottle somewhere else. Raises PrepError."""
    with session.writing(db) as connection:
        held = _bottle(connection, bottle)
        since_it_came(held, day)
        place = _place(connection, location)
        from prep.store import ledger

        if place == held.location:
            raise PrepError(f"Bottle {held.code} is at {place} already.")
        job = ledger.begin(connection, "move", by, day.on, f"{held.code}: {held.location} -> {place}")
        _change(connection, job, held.code, location=place)
        return _bottle(connection, held.code)


def set_status(db: Path | None, bottle: str, status: str, reason: str, by: str, day: Done) -> Held:
    """Quarantine a bottle or put it back in service. Raises PrepError."""
    printable(reason, label="--reason")
    with session.writing(db) as connection:
        held = _bottle(connection, bottle)
        since_it_came(held, day)
        if held.status == "discarded":
            raise PrepError(f"Bottle {held.code} is discarded; it does not come back (undo the job instead).")
        from prep.store import ledger

        if status == held.status:
            raise PrepError(f"Bottle {held.code} is {status} already.")
        note = f"{held.code}: {held.status} -> {status} {reason}".strip()
        job = ledger.begin(connection, "status", by, day.on, note)
        _change(connection, job, held.code, status=status)
        return _bottle(connection, held.code)


def undo(db: Path | None, job: int, by: str, day: Done) -> int:
    """Reverse a job as a whole; returns the number of the job that does it. Raises PrepError, Refused."""
    within(job, 1, MOST_JOBS, "JOB")
    with session.writing(db) as connection:
        from sqlalchemy import select

        from prep.store import ledger
        from prep.store.queries import table
        from prep.store.tables import JobRow

        jobs = table(JobRow)
        done = connection.execute(select(jobs.c.on).where(jobs.c.id == job)).scalar()
        day.since(done, f"job {job} was done")
        return ledger.reverse(connection, job, by, day.on)


def places(db: Path | None) -> list[tuple[str, str]]:
    """Locations in walking order: (code, name)."""
    with session.reading(db) as connection:
        return _places(connection)


def add_place(db: Path | None, code: str, name: str, order: int) -> None:
    """Add a location. Raises PrepError if the code is taken."""
    if not code or " " in code:
        raise PrepError("A location's code is short and without blanks, such as ACID.")
    printable(code, 24, "A location's code")
    printable(name, 80, "A location's name")
    within(order, 0, 10_000, "--order")
    with session.writing(db) as connection:
        if code in dict(_places(connection)):
            raise PrepError(f"The location {code} is there already.")
        from prep.store import seeding

        seeding.put_locations(connection, [(code, name or code, order, "")])


# Shared with the other services that fill or empty bottles ------------------------------------------


def new_code(connection: "Connection") -> str:
    """A bottle code that no bottle has, drawn inside the caller's transaction."""
    from sqlalchemy import select

    from prep.store.queries import table
    from prep.store.tables import BottleRow

    bottles = table(BottleRow)
    length = CODE_LENGTH
    for attempt in range(1000):
        code = "".join(secrets.choice(ALPHABETS[place % 2]) for place in range(length + attempt // 25))
        if connection.execute(select(bottles.c.code).where(bottles.c.code == code)).first() is None:
            return code
    raise PrepError("No free bottle code was found.")


def new_codes(count: int, taken: set[str]) -> list[str]:
    """So many codes that are not in `taken` (every bottle's on the books); they are put there."""
    out: list[str] = []
    length = CODE_LENGTH
    while len(out) < count:
        while len(taken) > (len(ALPHABETS[0]) * len(ALPHABETS[1])) ** (length // 2) // 4:
            length += 1  # so that few draws miss
        code = "".join(secrets.choice(ALPHABETS[place % 2]) for place in range(length))
        if code not in taken:
            out.append(code)
            taken.add(code)
    return out


def bottle_row(
    code: str,
    item: str,
    measure: Measure,
    location: str,
    on: date,
    use_by: date | None,
    lot: str = "",
    made_by: str = "",
    note: str = "",
    strength: str | None = None,
) -> dict[str, object]:
    """A new bottle's row, in service, for `ledger.fill`. Raises PrepError."""
    printable(lot, label="--lot")
    printable(note, label="--note")
    if use_by is not None and use_by < on:
        raise PrepError(f"--use-by {use_by} is before the day it came, {on}.")
    return {
        "code": code,
        "item": item,
        "measure": measure.value,
        "status": "in service",
        "location": location,
        "received": on,
        "opened": None,
        "use_by": use_by,
        "lot": lot,
        "strength": strength,
        "made_by": made_by,
        "note": note,
    }


def since_it_came(held: Held, day: Done) -> None:
    """Raises PrepError for what is said to have been done with a bottle before it came."""
    day.since(held.received, f"bottle {held.code} came")


def place_or_first(connection: "Connection", location: str | None) -> str:
    """The location of that code or name, or the first in walking order. Raises PrepError."""
    return _place(connection, location)


def place_named(places: Mapping[str, str], said: str) -> str:
    """The code of the place of that code or name, of `places` by code. Raises PrepError."""
    if said in places:
        return said
    found = [code for code, name in places.items() if naming.key(said) in (naming.key(code), naming.key(name))]
    if len(found) == 1:
        return found[0]
    which = ", ".join(found or places)
    raise PrepError(
        f'"{said[:40]}" may be {which}; give one of these codes.'
        if found
        else f'"{said[:40]}" is no location; there are {which} (prep stock place CODE NAME adds one).'
    )


def one(connection: "Connection", code: str) -> Held:
    """One bottle of an open inventory. Raises PrepError."""
    return _bottle(connection, code)


def all_held(connection: "Connection") -> list[Held]:
    """Every bottle of an open inventory, discarded ones too."""
    return _held(connection)


def held_of(connection: "Connection", item: str) -> list[Held]:
    """Every bottle of one item of an open inventory, first expired first."""
    return _held(connection, item=item)


def all_places(connection: "Connection") -> list[tuple[str, str]]:
    """Every location of an open inventory, in walking order: (code, name)."""
    return _places(connection)


def _places(connection: "Connection") -> list[tuple[str, str]]:
    from sqlalchemy import select

    from prep.store.queries import table
    from prep.store.tables import LocationRow

    rows = table(LocationRow)
    query = select(rows.c.code, rows.c.name).order_by(rows.c.walk_order, rows.c.code)
    return [(code, name) for code, name in connection.execute(query)]


def _place(connection: "Connection", location: str | None) -> str:
    known = _places(connection)
    if location is None:
        if not known:
            raise PrepError("There is no location yet; add one with: prep stock place CODE NAME")
        return known[0][0]
    return place_named(dict(known), location)


def _held(connection: "Connection", code: str | None = None, item: str | None = None) -> list[Held]:
    from sqlalchemy import func, select

    from prep.store.queries import table
    from prep.store.tables import BottleRow, SolutionRow, SubstanceRow

    b, s, m = table(BottleRow), table(SubstanceRow), table(SolutionRow)
    c = b.c
    query = (
        select(c.code, c.item, func.coalesce(s.c.name, m.c.name, c.item), c.measure, c.balance, c.status, c.location)
        .add_columns(c.use_by, c.received, c.opened, c.lot, c.strength, c.made_by, c.note, c.strength_uncertainty_pct)
        .select_from(b.outerjoin(s, s.c.code == c.item).outerjoin(m, m.c.code == c.item))
        .order_by(c.item, c.use_by.is_(None), c.use_by, c.code)
    )
    if code is not None:
        query = query.where(c.code == code)
    if item is not None:
        query = query.where(c.item == item)
    measures = {measure.value: measure for measure in Measure}
    with collector_paused():  # thousands of new rows, none of them rubbish
        return [
            Held(code, item, name, measures[measure], *rest)
            for code, item, name, measure, *rest in connection.execute(query).all()
        ]


def _bottle(connection: "Connection", code: str) -> Held:
    wanted = code.strip()
    for spelling in (wanted, wanted.upper()):
        if found := _held(connection, spelling):
            return found[0]
    raise PrepError(f'There is no bottle "{wanted[:40]}"; see: prep stock list')


def _history(connection: "Connection", bottle: str | None, limit: int) -> list[Moved]:
    from sqlalchemy import select

    from prep.store.queries import table
    from prep.store.tables import BottleRow, ChangeRow, JobRow, MovementRow

    j, m, b, c = table(JobRow), table(MovementRow), table(BottleRow), table(ChangeRow)
    query = (
        select(j.c.id, j.c.kind, j.c.on, j.c.at, j.c.by, j.c.note, j.c.reverses, m.c.bottle, b.c.item)
        .add_columns(b.c.measure, m.c.amount, m.c.reason, m.c.id.label("line"))
        .select_from(j.outerjoin(m, m.c.job == j.c.id).outerjoin(b, b.c.code == m.c.bottle))
        .order_by(j.c.id.desc(), m.c.id.desc())
        .limit(limit)
    )
    if bottle is None:
        found = list(connection.execute(query))
    else:  # two questions, each by its own index: asked as one, they would read the whole ledger
        changed = select(c.c.job).where(c.c.kind == "bottle", c.c.code == bottle)
        found = [
            *connection.execute(query.where(m.c.bottle == bottle)),
            *connection.execute(query.where(j.c.id.in_(changed), m.c.id.is_(None))),
        ]
        found = sorted(found, key=lambda row: (row.id, row.line or 0), reverse=True)[:limit]
    return [
        Moved(
            row.id,
            row.kind,
            row.on,
            row.at,
            row.by,
            row.bottle or row.note.partition(":")[0],
            row.item or "",
            Measure(row.measure or "mass"),
            row.amount or 0,
            row.reason or row.note,
            row.reverses,
        )
        for row in found
    ]


def _amount(held: Held, text: str) -> int:
    typed = quantities.amount(text)
    if typed.measure is not held.measure or typed.drops:
        unit = "a volume such as 250 mL" if held.measure is Measure.VOLUME else "a mass such as 25 g"
        raise PrepError(f'"{text[:40]}": bottle {held.code} is counted by {held.measure.value}; write {unit}.')
    return typed.base


def _in_service(held: Held) -> None:
    if held.status != "in service":
        raise Refused(f"Bottle {held.code} is {held.status}; nothing was taken.")


def _change(connection: "Connection", job: int, code: str, **values: Any) -> None:
    from prep.store import changes

    changes.change(connection, job, "bottle", code, **values)
