"""The seals of jobs: a chain in which each holds the digest of its job's lines and of the seal before (SHA-256).

A job is sealed at the end of its transaction and takes no more lines. Who changes a line, a job or a seal
afterwards breaks the chain at that place; the head of the chain, printed on a signed paper, proves all before it.
"""

import re
from collections.abc import Iterable, Iterator
from datetime import UTC, datetime
from functools import cache
from hashlib import sha256
from typing import Any

from sqlalchemy import BigInteger, Column, Connection, Integer, Table, Text, event, select, text
from sqlalchemy.engine import Engine

from prep.books import JobKind
from prep.records import record
from prep.store import table_rows
from prep.store import tables as t
from prep.store.audit import logged_records
from prep.store.jobs import prepared_statements

_WRITES = re.compile(r'\s*(INSERT|UPDATE|DELETE)\s+(?:INTO\s+|FROM\s+)?"?(\w+)', re.IGNORECASE)
_TOUCHED, _BEFORE, _BENT = "prep_touched", "prep_job_before", "prep_bent"


def watch(engine: Engine) -> None:
    """Let an engine remember which tables a transaction writes to, and the newest job before its first.

    Of a kind of records it remembers which were bent before the first change: a job answers for what it did alone.
    """

    @event.listens_for(engine, "before_cursor_execute")
    def _note(connection: Connection, _cursor: Any, statement: str, *_: Any) -> None:
        if found := _WRITES.match(statement):
            if found[2] == "job" and _BEFORE not in connection.info:
                connection.info[_BEFORE] = connection.exec_driver_sql("SELECT max(id) FROM job").scalar() or 0
            bent, kind = connection.info.get(_BENT), _kind_of(found[1], found[2])
            if bent is not None and kind is not None and kind not in bent:
                bent[kind] = logged_records.bent(connection, kind)
            connection.info.setdefault(_TOUCHED, set()).add((found[1].upper(), found[2]))


def _kind_of(verb: str, table: str) -> str | None:
    """Find the kind of records that a statement may change unseen; None where each change has a line of its own."""
    known = logged_records.kinds()
    kind = table if table in known else _owners().get(table, table)
    unseen = kind in known and kind != "bottle" and not (verb.upper() == "UPDATE" and kind in logged_records.STEPWISE)
    return kind if unseen else None


@cache
def _owners() -> dict[str, str]:
    return {part.name: kind.name for kind in logged_records.kinds().values() for part in kind.parts}


def prepare() -> None:
    """Load every table and sort them, before a transaction begins: others would wait while it is done."""
    logged_records.kinds()
    line_tables()


def start(connection: Connection) -> None:
    """Forget what an earlier transaction wrote."""
    connection.info.pop(_TOUCHED, None)
    connection.info.pop(_BEFORE, None)
    connection.info[_BENT] = {}


def answer_for(connection: Connection, kind: str, code: str, field: str) -> bool:
    """Let this transaction's job log a field as it stands, although it was bent before; tell whether it was.

    It is for a job that is asked for just what somebody put there past the books: from then on it stands by that job.
    """
    for one in logged_records.differing(connection, kind):
        if one.code == code and one.said and one.found and one.said.get(field) != one.found.get(field):
            bent = connection.info[_BENT].setdefault(kind, logged_records.bent(connection, kind))
            bent[code] = {name: value for name, value in one.found.items() if name != field}
            connection.info.setdefault(_TOUCHED, set()).add(("UPDATE", kind))
            return True
    return False


def finish(connection: Connection) -> list[int]:
    """Log every record that this transaction made, changed or took away, and seal its jobs; returns their numbers."""
    touched = connection.info.pop(_TOUCHED, set())
    bent: logged_records.Bent = connection.info.pop(_BENT, {})
    changed = {kind for verb, table in touched if (kind := _kind_of(verb, table)) is not None}
    if ("INSERT", "seal") in touched or not (changed or ("INSERT", "job") in touched):
        return []  # an import brought its own seals, or nothing was written
    if changed:
        if _BEFORE in connection.info:
            job = connection.execute(text("SELECT max(id) FROM job")).scalar_one()
            logged_records.log(connection, job, changed, before=bent)
        elif any(logged_records.changed(connection, kind, bent) for kind in changed):
            job = _unnamed(connection, JobKind.CATALOGUE, ", ".join(sorted(changed)))
            logged_records.log(connection, job, changed, before=bent)
    if (before := connection.info.pop(_BEFORE, None)) is not None:
        written = {table for _, table in touched} | {"job", "change"}
        return _seal(connection, before, _last(connection), [one for one in line_tables() if one.name in written])
    return []


def baseline(connection: Connection, note: str) -> None:
    """Log what stands in every record where the log does not say so, as one job, and seal all that has no seal."""
    last = _last(connection)
    after = last[0] if last else 0
    waiting = connection.execute(text("SELECT 1 FROM job WHERE id > :after"), {"after": after}).first() is not None
    wanted = [kind for kind in logged_records.kinds() if logged_records.differing(connection, kind)]
    if wanted:
        logged_records.log(connection, _unnamed(connection, JobKind.UPGRADE, note), wanted, as_found=True)
    if wanted or waiting:
        _seal(connection, after, last, line_tables())


def end_keys(connection: Connection) -> None:
    """Log, as one job, that a copy holds no invitation and no key of a program: neither is ever carried out."""
    wanted = [kind for kind in ("invitation", "token") if logged_records.differing(connection, kind)]
    if wanted:
        last = _last(connection)
        after = last[0] if last else 0
        unsealed = newest_job(connection) > after
        logged_records.log(
            connection, _unnamed(connection, JobKind.PEOPLE, "invitations and keys are not carried out"), wanted
        )
        if not unsealed:  # else the job that nobody sealed would be
            _seal(connection, after, last, line_tables())


def _unnamed(connection: Connection, kind: JobKind, note: str) -> int:
    """Write a job in the name of the computer's user, for changes that came without a job; its number."""
    import getpass

    try:
        by = getpass.getuser()
    except (OSError, KeyError):
        by = "unknown"
    now = datetime.now(UTC)
    row = {"kind": kind.value, "by": by, "at": now.isoformat(timespec="seconds"), "on": now.date(), "note": note[:200]}
    return prepared_statements.insert_numbered(connection, table_rows.table(t.JobRow), row)


def newest_job(connection: Connection) -> int:
    """Find the number of the newest job; 0 where there is none."""
    return int(prepared_statements.run(connection, "SELECT coalesce(max(id), 0) FROM job").scalar_one())


def next_job(connection: Connection, before: int) -> int | None:
    """Find the number of the first job after another; None where there is none."""
    found = prepared_statements.run(connection, "SELECT min(id) FROM job WHERE id > ?", before).scalar_one()
    return None if found is None else int(found)


def head(connection: Connection) -> str:
    """Read the digest of the newest seal; empty where nothing is sealed yet."""
    last = _last(connection)
    return last[1] if last else ""


def of(connection: Connection, job: int) -> str:
    """Read the seal of a job; empty where it has none."""
    seals = table_rows.table(t.SealRow).c
    return str(connection.execute(select(seals.digest).where(seals.job == job)).scalar() or "")


def count(connection: Connection) -> int:
    """Count the sealed jobs."""
    return int(connection.execute(text("SELECT count(*) FROM seal")).scalar_one())


def job_of(connection: Connection, printed: str) -> int | None:
    """Find the job whose seal begins with what is printed on a paper; None where none does or too little is given."""
    if (wanted := typed(printed)) is None:
        return None
    seals = table_rows.table(t.SealRow).c
    found = connection.execute(select(seals.job).where(seals.digest.startswith(wanted))).scalar()
    return None if found is None else int(found)


def typed(printed: str) -> str | None:
    """Read the beginning of a digest as it is printed; None where it is none, or too little of one."""
    wanted = printed.replace("-", "").strip().lower()
    return wanted if re.fullmatch(r"[0-9a-f]{16,64}", wanted) else None


def short(digest: str) -> str:
    """Format a digest as it is printed: its first sixteen figures, in fours; nothing where there is none."""
    return "-".join(digest[n : n + 4] for n in range(0, min(len(digest), 16), 4))


def _last(connection: Connection) -> tuple[int, str] | None:
    row = prepared_statements.run(connection, "SELECT job, digest FROM seal ORDER BY job DESC LIMIT 1").first()
    return (int(row[0]), str(row[1])) if row else None


def _seal(connection: Connection, after: int, last: tuple[int, str] | None, tables: Iterable[Table]) -> list[int]:
    before = last[1] if last else ""
    rows: list[dict[str, Any]] = []
    for job, lines in _lines(connection, after, tables):
        before = digest(before, lines)
        rows.append({"job": job, "digest": before})
    if rows:
        prepared_statements.insert(connection, table_rows.table(t.SealRow), rows)
    return [row["job"] for row in rows]


def digest(before: str, lines: Iterable[str]) -> str:
    """Compute the digest of a job's lines and of the seal before it (SHA-256)."""
    made = sha256(before.encode())
    for line in lines:
        made.update(line.encode("utf-8", "surrogatepass"))
    return made.hexdigest()


@record(frozen=True, slots=True)
class BrokenSeal:
    """A job whose seal does not hold, and what is wrong with it."""

    job: int
    why: str


def broken(connection: Connection) -> list[BrokenSeal]:
    """Find every job that has no seal or not the right one, oldest first."""
    seals = table_rows.table(t.SealRow).c
    sealed = {int(job): str(found) for job, found in connection.execute(select(seals.job, seals.digest))}
    out, before = [], ""
    for job, lines in _lines(connection, 0, line_tables()):
        found = sealed.pop(job, None)
        if found is None:
            out.append(BrokenSeal(job, "has no seal"))
            continue
        if digest(before, lines) != found:
            out.append(BrokenSeal(job, "is not what was sealed, or the seal before it is not"))
        before = found
    gone = [BrokenSeal(job, "is gone, and its seal is left") for job in sealed]
    return sorted([*out, *gone], key=lambda one: one.job)


# The lines of jobs as text -------------------------------------------------------------------------


@cache
def line_tables() -> tuple[Table, ...]:
    """List the tables that a seal covers: the job itself, then the tables of lines by name. The order never changes."""
    lines = [table for table in t.metadata.tables.values() if logged_records.is_line(table) and table.name != "seal"]
    return (table_rows.table(t.JobRow), *sorted(lines, key=lambda table: table.name))


def _lines(connection: Connection, after: int, tables: Iterable[Table]) -> Iterator[tuple[int, list[str]]]:
    """Read every job after one, in order, with its lines as text: (job, lines)."""
    jobs, *others = (iter(_grouped(connection, table, after)) for table in tables)
    waiting = [(source, front) for source in others if (front := next(source, None)) is not None]
    for job, line in jobs:
        found = [line]
        if any(front[0] <= job for _, front in waiting):
            left = []
            for source, front in waiting:
                while front is not None and front[0] <= job:
                    if front[0] == job:
                        found.append(front[1])
                    front = next(source, None)
                if front is not None:
                    left.append((source, front))
            waiting = left
        yield job, found


def _grouped(connection: Connection, table: Table, after: int) -> Any:
    """Read a table's lines, joined to one text a job, for the jobs after one that have any: (job, text)."""
    query = _grouping(table, connection.dialect.name == "postgresql").format(after=int(after))
    return connection.exec_driver_sql(query, execution_options={"yield_per": 2000})


@cache
def _grouping(table: Table, postgresql: bool) -> str:
    """Write the query of `_grouped`, with `{after}` where the number of the job before stands."""
    key = "id" if table is table_rows.table(t.JobRow) else "job"
    line = _line(table, postgresql)
    order = ", ".join(
        f'"{c.name}" COLLATE "C"' if postgresql and isinstance(c.type, Text) else f'"{c.name}"'
        for c in table.primary_key.columns
    )
    if table is table_rows.table(t.JobRow):
        return f'SELECT "id", {line} FROM "job" WHERE "id" > {{after}} ORDER BY "id"'
    if postgresql:
        query = f'SELECT "{key}", string_agg({line}, \'\' ORDER BY {order}) FROM "{table.name}"'
        return f'{query} WHERE "{key}" > {{after}} GROUP BY "{key}" ORDER BY "{key}"'
    if _is_row_number(table):  # the index of the jobs gives its lines by their keys: nothing is left to sort
        query = f'SELECT "{key}", group_concat({line}, \'\') FROM "{table.name}" WHERE "{key}" > {{after}}'
        return f'{query} GROUP BY "{key}" ORDER BY "{key}"'
    # A job writes its lines in one go, so ordering by their keys keeps them together.
    inner = f'SELECT "{key}", {line} AS line FROM "{table.name}" WHERE "{key}" > {{after}} ORDER BY "{key}", {order}'
    return f'SELECT "{key}", group_concat(line, \'\') FROM ({inner}) GROUP BY "{key}" ORDER BY "{key}"'


def _line(table: Table, postgresql: bool) -> str:
    """Write a row as one text: the table's name, then each column."""
    joined = " || ".join([f"'{table.name}:'", *(_field(column, postgresql) for column in table.columns)])
    if postgresql:
        return joined
    # SQLite joins a row at once in half the time by printf, which ends a text at its first NUL: such rows go the
    # slow way, else what was written behind one would be under no seal.
    form, values = f"{table.name}:", []
    for column in table.columns:
        name = f'"{column.name}"'
        if column.nullable:
            form += "%s"
            values.append(_field(column, postgresql))
        elif isinstance(column.type, Text):
            form += f"{column.name}=%s:%s;"
            values += [f"length({name})", name]
        else:
            form += f"{column.name}=%s;"
            values.append(name)
    texts = " || ".join(f"coalesce(\"{c.name}\", '')" for c in table.columns if not _is_number(c))
    quick = f"printf('{form}', {', '.join(values)})"
    return f"CASE WHEN instr({texts}, char(0)) THEN {joined} ELSE {quick} END" if texts else quick


def _is_number(column: Column[Any]) -> bool:
    return isinstance(column.type, Integer | BigInteger)


def _is_row_number(table: Table) -> bool:
    """Tell whether a table's key is SQLite's own number of the row, and its jobs have an index."""
    keys = list(table.primary_key.columns)
    indexed = any([c.name for c in index.columns] == ["job"] for index in table.indexes)
    return indexed and len(keys) == 1 and isinstance(keys[0].type, Integer)


def _field(column: Column[Any], postgresql: bool) -> str:
    """Write a column as text: its name and value, nothing where it is empty, so that a new column changes no digest."""
    name = f'"{column.name}"'
    if _is_number(column):
        shown = name
    elif isinstance(column.type, Text):
        shown = f"length({name}) || ':' || {name}"
    else:
        shown = f"CAST({name} AS text)" if postgresql else name
    said = f"'{column.name}=' || {shown} || ';'"
    return f"coalesce({said}, '')" if column.nullable else said
