"""Putting damaged books right under a name: balances by their movements, and what is sound of a damaged copy."""

from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from prep.books import JobKind
from prep.errors import PrepError, Refused
from prep.plurals import plural
from prep.resources import copied_from
from prep.services.input.act import Act
from prep.services.inventory import session
from prep.store import guards, ledger
from prep.store.audit import seals
from prep.store.copies import salvaging
from prep.store.database import path_of
from prep.store.day import lines as day_lines
from prep.store.people import access_chain

if TYPE_CHECKING:
    from sqlalchemy import Connection


@dataclass(frozen=True, slots=True)
class Mended:
    """A bottle whose balance was put right, in its own unit."""

    bottle: str
    before: int
    after: int


@dataclass(frozen=True, slots=True)
class Salvaged:
    """What was sound of a damaged copy: rows by table, and what had to be left out or put right."""

    where: Path
    rows: dict[str, int]
    left_out: int = 0
    mended: tuple[Mended, ...] = field(default=())


@dataclass(frozen=True, slots=True)
class Repaired:
    """The job that put balances right, and the bottles that it did so for."""

    job: int
    mended: tuple[Mended, ...]


def repair(db: Path | None, act: Act) -> Repaired:
    """Make every balance what its movements add up to, as one job. Raises Refused where every one is."""
    with session.writing(db) as connection:
        if not ledger.differences(connection):
            raise Refused("Every balance is what its movements add up to; nothing was changed.")
        job = ledger.begin(connection, JobKind.REPAIR, act.by, act.on, "balances put right by their movements")
        return Repaired(job, _mend(connection, job))


def _mend(connection: "Connection", job: int) -> tuple[Mended, ...]:
    return tuple(
        Mended(one.bottle, one.balance, ledger.put_right(connection, job, one.bottle, one.summed))
        for one in ledger.differences(connection)
    )


def salvage(copy: Path, db: Path | None, act: Act) -> Salvaged:
    """Make a new inventory of what can be read of a damaged copy, as one job that says so. Raises PrepError.

    Rows that cannot be read, or whose parents are lost, are left out. The seals and the log of access
    begin anew: the chains of the copy prove nothing any more.
    """
    copied_from(copy)
    with session.new_inventory(db) as connection:
        rows = salvaging.copy_sound_rows(copy, connection)
        left_out = salvaging.drop_orphans(connection)
        if not rows["bottle"]:
            raise PrepError(f"{copy}: nothing sound was found in it; nothing was made.")
        note = f"what was sound of {copy.name}: {plural(sum(rows.values()), 'row')}, {left_out} left out"
        job = ledger.begin(connection, JobKind.REPAIR, act.by, act.on, note[:200])
        mended = _mend(connection, job)
        access_chain.renew(connection)
        day_lines.seal_anew(connection)
        seals.baseline(connection, "what stood in a damaged copy")
        guards.create(connection)
        where = path_of(connection.engine)
        assert where is not None
        return Salvaged(where, rows, left_out, mended)
