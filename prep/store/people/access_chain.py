"""The chain of the log of access: each line holds the digest of itself and of the line before (SHA-256).

The head is kept beside the log, so that lines cut off its end are missed; the next line rests on the head.
"""

from dataclasses import dataclass
from hashlib import sha256
from typing import Any

from sqlalchemy import Connection, Table, delete, func, insert, select, update

from prep.store.audit import logged_records
from prep.store.people import tables as t

_LOG: Table = t.AccessRow.__table__  # type: ignore[attr-defined]
_HEAD: Table = t.AccessHeadRow.__table__  # type: ignore[attr-defined]
_FIELDS = ("id", "at", "by", "kind", "about", "address")


def digest(before: str, *fields: Any) -> str:
    """Compute the digest of a line, from its number to its address, and of the line before."""
    made = sha256(before.encode("utf-8", "surrogatepass"))
    for field in map(str, fields):
        made.update(f"{len(field)}:{field};".encode("utf-8", "surrogatepass"))
    return made.hexdigest()


def add(connection: Connection, at: str, by: str, kind: str, about: str, address: str) -> None:
    """Write a line at the end of the log, in a transaction that may write."""
    number = int(connection.execute(select(func.coalesce(func.max(_LOG.c.id), 0))).scalar_one()) + 1
    before = connection.execute(select(_HEAD.c.digest).order_by(_HEAD.c.line.desc()).limit(1)).scalar() or ""
    fields = (number, at, by, kind, about, address)
    made = digest(before, *fields)
    connection.execute(insert(_LOG).values(dict(zip(_FIELDS, fields, strict=True)) | {"digest": made}))
    _end(connection, number, made)


def _end(connection: Connection, number: int, made: str) -> None:
    connection.execute(delete(_HEAD))
    connection.execute(insert(_HEAD).values(line=number, digest=made))


def renew(connection: Connection) -> None:
    """Begin the chain anew over the lines that are there, where the guards are off: what it proved is lost."""
    number, before = 0, ""
    for row in connection.execute(select(_LOG).order_by(_LOG.c.id)).all():
        number, before = row.id, digest(before, *(getattr(row, name) for name in _FIELDS))
        connection.execute(update(_LOG).where(_LOG.c.id == number).values(digest=before))
    if number:
        _end(connection, number, before)


def is_readable(connection: Connection) -> bool:
    """Tell whether whoever is connected may read the log: on a server its owner alone."""
    return set(logged_records.readable(connection)) >= logged_records.PEOPLE


def head(connection: Connection) -> str:
    """Read the digest of the newest line; empty where there is none, or where whoever is connected may not read it."""
    if not is_readable(connection):
        return ""
    return str(connection.execute(select(_HEAD.c.digest).order_by(_HEAD.c.line.desc()).limit(1)).scalar() or "")


def line_of(connection: Connection, beginning: str) -> int | None:
    """Find the line whose digest begins so; None where none does, or where whoever is connected may not read it."""
    if not is_readable(connection):
        return None
    query = select(_LOG.c.id).where(_LOG.c.digest.startswith(beginning, autoescape=True)).order_by(_LOG.c.id).limit(1)
    found = connection.execute(query).scalar()
    return None if found is None else int(found)


@dataclass(frozen=True, slots=True)
class BrokenLine:
    """A place at which the chain of the log of access does not hold: the number of the line, and what is wrong."""

    line: int
    why: str


def broken(connection: Connection) -> list[BrokenLine]:
    """Find where the log of access is not what was written, oldest first."""
    out, number, before = [], 0, ""
    for row in connection.execute(select(_LOG).order_by(_LOG.c.id)):
        if digest(before, *(getattr(row, name) for name in _FIELDS)) != row.digest:
            out.append(BrokenLine(row.id, "is not what was written, or the one before it is not"))
        number, before = row.id, row.digest
    heads = [tuple(row) for row in connection.execute(select(_HEAD.c.line, _HEAD.c.digest))]
    if heads != ([(number, before)] if number else []):
        out.append(BrokenLine(number, "is not the one that was written last"))
    return out
