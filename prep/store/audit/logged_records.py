"""The records that jobs change, as documents: what the log says of each, and what stands in its table.

A record is a row of a table that is no line of a job, with the rows that belong to it (a solution and its recipe).
Each is logged as a whole when it is new, changed or gone, so that the log's last word is what must stand there.
"""

import json
from collections.abc import Iterable, Mapping
from datetime import date
from functools import cache
from hashlib import sha256
from typing import Any

from sqlalchemy import (
    Boolean,
    Column,
    Connection,
    Date,
    Integer,
    Table,
    Text,
    cast,
    delete,
    func,
    insert,
    select,
    update,
)

from prep.records import record
from prep.store import table_rows
from prep.store import tables as t

WHOLE = "*"
"""The field of a line that holds a record as a whole."""
STEPWISE = frozenset({"bottle", "purchase", "booking", "stocktake"})
"""Kinds whose fields are changed one by one, each with a line of its own."""
PEOPLE = frozenset({"person", "invitation", "token"})
"""Who may come in, and what each may do: on a server their tables are read by their owner alone."""
PASSING = frozenset({"session", "submission"})
"""What each visit writes and what ends by itself: sessions, and the marks of forms that were sent."""
ACCESS = frozenset({"access_log", "access_head"})
"""Who came in and who was refused: no job logs it, as the log has a chain of its own."""
SHEETS = frozenset({"day_line", "day_seal"})
"""Lines as they were printed, kept for their numbers: no job logs them, as each day's have a digest of their own."""
_HIDDEN = {"person": ("pass_phrase", "pin", "feed", "subject"), "invitation": ("key",), "token": ("key",)}
"""Columns that stand in a document, and in its code, as the digest of what is kept (SHA-256)."""
_COUNTED = {"bottle": ("balance",)}  # left out of the documents: the movements add up to it
_NEW_COLUMN = (None, "", "0")
"""What a column that came after a record was logged may hold."""
Document = dict[str, Any]


@record(frozen=True, slots=True)
class RecordKind:
    """A kind of record: its table, and the tables of the rows that belong to it."""

    name: str
    table: Table
    parts: tuple[Table, ...]

    @property
    def key(self) -> Column[Any]:
        """The column that names a record."""
        return next(iter(self.table.primary_key.columns))

    @property
    def listed(self) -> bool:
        """Whether a record is all the rows of one code, in their order, as the steps of a method are."""
        return len(self.table.primary_key.columns) > 1


def is_line(table: Table) -> bool:
    """Tell whether a table holds lines that belong to a job."""
    return "job" in table.columns and table.name != "stocktake"


@cache
def kinds() -> dict[str, RecordKind]:
    """List every kind of record by its table's name, those that others refer to first."""
    known: dict[str, RecordKind] = {}
    parts: dict[str, list[Table]] = {}
    for table in t.metadata.sorted_tables:
        if is_line(table) or table.name == "job" or table.name in PASSING | ACCESS | SHEETS:
            continue
        first = next(iter(table.primary_key.columns))
        owner = next((key.column.table.name for key in first.foreign_keys), None)
        if owner is None:
            known[table.name] = RecordKind(table.name, table, ())
        else:
            parts.setdefault(owner, []).append(table)
    return {name: RecordKind(name, kind.table, tuple(parts.get(name, ()))) for name, kind in known.items()}


def plain(value: Any) -> str | None:
    """Turn a value into the text that stands for it in a document."""
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, bool):
        return str(int(value))
    return None if value is None else str(value)


def written(document: Mapping[str, Any] | None) -> str | None:
    """Write a document as the JSON text that the log holds."""
    if document is None:
        return None
    return json.dumps(document, ensure_ascii=False, separators=(",", ":"), sort_keys=True)


def of_row(kind: str, row: Mapping[str, Any]) -> Document:
    """Build the document of a record without parts from its row; what the row leaves out is empty."""
    skipped = _COUNTED.get(kind, ())
    return {c.name: plain(row.get(c.name)) for c in kinds()[kind].table.columns if c.name not in skipped}


def standing(connection: Connection, kind: str, code: str | None = None) -> dict[str, Document]:
    """Read the documents of a kind from its tables as they stand now, by code; or the one of a code.

    What is hidden stands as its digest; a hidden code is not looked for.
    """
    about = kinds()[kind]
    skipped, hidden = _COUNTED.get(kind, ()), _HIDDEN.get(kind, ())
    names = [c.name for c in about.table.columns if c.name not in skipped]
    out: dict[str, Document] = {}
    for key, *values in connection.execute(_texts(about.table, about.key, names, code)):
        row = dict(zip(names, values, strict=True))
        for name in hidden:
            row[name] = digest(row[name])
        if about.key.name in hidden:
            key = row[about.key.name]
        if about.listed:
            out.setdefault(key, {kind: []})[kind].append(row)
        else:
            out[key] = row
    for part in about.parts:
        owner = next(iter(part.primary_key.columns))
        columns = [c.name for c in part.columns if c is not owner]
        for document in out.values():
            document[part.name] = []
        for key, *values in connection.execute(_texts(part, owner, columns, code)):
            if key in out:
                out[key][part.name].append(dict(zip(columns, values, strict=True)))
            else:
                out[key] = {part.name: [dict(zip(columns, values, strict=True))]}
    return out


def digest(value: str | None) -> str | None:
    """Compute what stands for a hidden value in a document (SHA-256); None where there is none."""
    return None if value is None else sha256(str(value).encode("utf-8", "surrogatepass")).hexdigest()


def readable(connection: Connection) -> list[str]:
    """List the kinds that whoever is connected may read: on a server, people are read by their owner alone."""
    if connection.dialect.name != "postgresql":
        return list(kinds())
    may = select(func.has_table_privilege("person", "SELECT"))
    return [name for name in kinds() if name not in PEOPLE or connection.execute(may).scalar_one()]


def _as_text(column: Column[Any]) -> Any:
    """Convert a column to text, the same in every database: yes and no are 1 and 0."""
    if isinstance(column.type, Text):
        return column
    return cast(cast(column, Integer) if isinstance(column.type, Boolean) else column, Text)


def _texts(table: Table, key: Column[Any], names: Iterable[str], code: str | None) -> Any:
    shown = [_as_text(table.c[n]) for n in names]
    first = key if isinstance(key.type, Text) else cast(key, Text)
    query = select(first, *shown).order_by(*table.primary_key.columns)
    return query if code is None else query.where(first == code)


def logged(connection: Connection, kind: str) -> dict[str, Document]:
    """Replay the log to what it says of every record of a kind, by code."""
    out: dict[str, Document] = {}
    c = table_rows.table(t.ChangeRow).c
    query = select(c.code, c.field, c.after).where(c.kind == kind).order_by(c.id)
    for code, field, after in connection.execute(query):
        if field == WHOLE:
            if after is None:
                out.pop(code, None)
            else:
                out[code] = json.loads(after)
        elif code in out and field not in _COUNTED.get(kind, ()):
            out[code][field] = after
    return out


def same(said: Document | None, found: Document | None) -> bool:
    """Tell whether a record in the tables agrees with what the log says of it."""
    if said is None or found is None:
        return said is found
    if said == found:
        return True
    for name in said.keys() | found.keys():
        if name not in found:
            return False
        if name in said:
            if not _alike(said[name], found[name]):
                return False
        elif found[name] not in _NEW_COLUMN and found[name] != []:
            return False
    return True


def _alike(said: Any, found: Any) -> bool:
    if isinstance(said, list) and isinstance(found, list):
        return len(said) == len(found) and all(map(same, said, found))
    return bool(said == found)


@record(frozen=True, slots=True)
class DifferingRecord:
    """A record of which the log says one thing and its table holds another; None where it is not there."""

    code: str
    said: Document | None
    found: Document | None


def differing(connection: Connection, kind: str) -> list[DifferingRecord]:
    """Find the records of a kind that differ from the log."""
    said, found = logged(connection, kind), standing(connection, kind)
    codes = sorted(said.keys() | found.keys(), key=str)
    return [DifferingRecord(c, said.get(c), found.get(c)) for c in codes if not same(said.get(c), found.get(c))]


Bent = Mapping[str, Mapping[str, Document | None]]
"""Records that differed from the log before a job began, by kind and code: as they stood, None where one was gone."""


def bent(connection: Connection, kind: str) -> dict[str, Document | None]:
    """Read, before a job changes records of a kind, those that differ from the log already."""
    return {one.code: one.found for one in differing(connection, kind)}


def changed(connection: Connection, kind: str, before: Bent) -> list[DifferingRecord]:
    """Find the records of a kind that differ from the log by this job's doing; `found` is what it is to be logged as.

    Of a record that somebody bent before, only the fields that the job changed are its doing: who gave themselves a
    role and then sets a PIN has a job for the PIN. One that no job ever put there stays unlogged.
    """
    was, out = before.get(kind, {}), []
    for one in differing(connection, kind):
        bent_to = was.get(one.code)
        if one.code not in was:
            out.append(one)
        elif bent_to is None or one.found is None:  # the job made it, or took it away
            out += [one] * (bent_to != one.found)
        elif one.said is not None:
            own = {name: value for name, value in one.found.items() if bent_to.get(name) != value}
            if not same(one.said, meant := one.said | own):
                out.append(DifferingRecord(one.code, one.said, meant))
    return out


def log(
    connection: Connection, job: int, wanted: Iterable[str], *, before: Bent | None = None, as_found: bool = False
) -> int:
    """Log under a job every record of the kinds that is not as the log says; returns how many.

    `before` are those that were bent when the job began, which is not theirs to answer for; `as_found` says that the
    job made none of them: they stood there before.
    """
    rows = [
        {
            "job": job,
            "kind": kind,
            "code": one.code,
            "field": WHOLE,
            "before": written(one.found if as_found else one.said),
            "after": written(one.found),
        }
        for kind in sorted(wanted)
        for one in changed(connection, kind, before or {})
    ]
    if rows:
        connection.execute(insert(table_rows.table(t.ChangeRow)), rows)
    return len(rows)


def put(connection: Connection, kind: str, code: str, document: Document | None) -> None:
    """Make a record what a document says, with its parts; None takes it away."""
    about = kinds()[kind]
    for part in about.parts:
        owner = next(iter(part.primary_key.columns))
        connection.execute(delete(part).where(owner == code))
    if document is None or about.listed:
        connection.execute(delete(about.table).where(about.key == value(about.key, code)))
        for line in (document or {}).get(kind, ()):
            row = {n: value(about.table.c[n], v) for n, v in line.items() if n in about.table.c}
            connection.execute(insert(about.table).values(_filled(about.table, row)))
        return
    own = {n: value(about.table.c[n], v) for n, v in document.items() if n in about.table.c}
    done = connection.execute(update(about.table).where(about.key == value(about.key, code)).values(own))
    if not done.rowcount:
        connection.execute(insert(about.table).values(_filled(about.table, own)))
    for part in about.parts:
        owner = next(iter(part.primary_key.columns))
        for line in document.get(part.name, ()):
            row = {n: value(part.c[n], v) for n, v in line.items() if n in part.c}
            connection.execute(insert(part).values(_filled(part, row | {owner.name: code})))


def _filled(table: Table, row: Document) -> Document:
    """Fill the columns of a row that must not be empty and that are newer than its document."""
    zero = {c.name: 0 if isinstance(c.type, Integer) else "" for c in table.columns if not c.nullable}
    empty = {name: False if isinstance(table.c[name].type, Boolean) else none for name, none in zero.items()}
    return empty | row


def value(column: Column[Any], text: str | None) -> Any:
    """Convert a logged text to the value that its column holds."""
    if text is None:
        return None
    if isinstance(column.type, Date):
        return date.fromisoformat(text)
    if isinstance(column.type, Boolean):
        return text == "1"
    return int(text) if isinstance(column.type, Integer) else text
