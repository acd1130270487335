"""Triggers that keep the books from being rewritten, and the comparison of what stands in a database with them.

Lines are append-only, also against INSERT OR REPLACE, which deletes without a word; a sealed job takes no more
lines; a bottle or a count is never taken away. A migration that rebuilds a guarded table calls `create` again.
"""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from sqlalchemy import Connection, inspect, text
from sqlalchemy.schema import CreateIndex

from prep.books import JobKind
from prep.store import tables as t
from prep.store.audit import logged_records

STAYING = ("bottle", "stocktake", "waste")
"""Records that are never taken away."""
ALONE = "access_log"
"""Lines that belong to no job."""
_APPEND_ONLY = "the ledger is append-only"
_SEALED = "the job is sealed"


@dataclass(frozen=True, slots=True)
class Guard:
    """A trigger: its name, its table, and its SQL."""

    name: str
    table: str
    sql: str


LOGIN = Guard(
    "login_job_insert",
    "job",
    "CREATE TRIGGER login_job_insert BEFORE INSERT ON job FOR EACH ROW EXECUTE FUNCTION login_by()",
)
"""On a server with roles, the person on a job is the login: a trigger of the script of rights, not of every school."""
_KINDS = {
    "audit": (JobKind.COUNT, JobKind.COUNT_OPEN, JobKind.COUNT_DROP, JobKind.TALLY),
    "teach": (JobKind.BOOK, JobKind.REBOOK, JobKind.CANCEL, JobKind.ALLOW),
}
"""The kinds of job that each role may write: those who count and those who book. Closing a count moves amounts."""


def _may(role: str, kinds: Iterable[str] = ()) -> str:
    listed = ", ".join(f"'{kind}'" for kind in kinds)
    return f"pg_has_role(session_user, TG_TABLE_SCHEMA || '_{role}', 'member')" + (
        f" AND NEW.kind IN ({listed})" if listed else ""
    )


LOGIN_FUNCTION = (
    "CREATE OR REPLACE FUNCTION login_by() RETURNS trigger AS $$ BEGIN IF NOT pg_has_role(session_user, "
    "(SELECT nspowner FROM pg_namespace WHERE nspname = TG_TABLE_SCHEMA), 'member') THEN NEW.by := session_user; "
    f"IF NOT ({_may('technician')}) AND "
    f"{' AND '.join(f'NOT ({_may(role, kinds)})' for role, kinds in _KINDS.items())} "
    "THEN RAISE EXCEPTION 'no job of this role' USING ERRCODE = '42501'; END IF; "
    "END IF; RETURN NEW; END $$ LANGUAGE plpgsql"
)


def lines() -> list[str]:
    """List the tables whose rows nobody may change or delete, by name."""
    known = t.metadata.tables.values()
    return sorted(one.name for one in known if one.name in ("job", ALONE) or logged_records.is_line(one))


def guards(dialect: str) -> list[Guard]:
    """List every guard that must be there."""
    return list(_postgresql() if dialect == "postgresql" else _sqlite())


def names(dialect: str) -> list[str]:
    """Name the guards that must be there."""
    return [one.name for one in guards(dialect)]


def create(connection: Connection) -> None:
    """Make every guard of the tables there are what it must be, on SQLite or PostgreSQL."""
    there = set(inspect(connection).get_table_names())
    if connection.dialect.name == "postgresql":
        for statement in _functions():
            connection.execute(text(statement))
    drop(connection)
    for guard in guards(connection.dialect.name):
        if guard.table in there and (guard.table == "seal" or "seal" in there):
            connection.execute(text(guard.sql))


def drop(connection: Connection) -> None:
    """Take every guard away, for a migration that rebuilds what they guard."""
    for name, table in _standing(connection):
        where = f" ON {table}" if connection.dialect.name == "postgresql" else ""
        connection.execute(text(f"DROP TRIGGER {name}{where}"))


def _standing(connection: Connection) -> list[tuple[str, str]]:
    query = (
        "SELECT tgname, relname FROM pg_trigger JOIN pg_class ON pg_class.oid = tgrelid "
        "WHERE NOT tgisinternal AND pg_table_is_visible(pg_class.oid) AND tgname LIKE 'guard%'"
        if connection.dialect.name == "postgresql"
        else "SELECT name, tbl_name FROM sqlite_master WHERE type = 'trigger' AND name LIKE 'guard%'"
    )
    return [(name, table) for name, table in connection.execute(text(query))]


def missing(connection: Connection) -> list[str]:
    """Find the guards that are not there, or are switched off."""
    there = _triggers(connection)
    return [name for name in names(connection.dialect.name) if name not in there]


def altered(connection: Connection) -> list[str]:
    """Find the triggers and indexes that are not what this program made, or that it did not make."""
    wanted = {one.name: _bare(one.sql) for one in guards(connection.dialect.name)}
    if connection.dialect.name == "postgresql":
        wanted[LOGIN.name] = _bare(LOGIN.sql)
    found = _triggers(connection)
    out = [f"trigger {name}" for name, sql in found.items() if wanted.get(name) != sql]
    if connection.dialect.name == "postgresql" and _bodies(connection) != {n: _bare(b) for n, b in _BODIES.items()}:
        out.append("function of the guards")
    return sorted(out + _indexes(connection))


def _triggers(connection: Connection) -> dict[str, str]:
    """Read every trigger that is switched on, and its SQL without blanks and quotes."""
    if connection.dialect.name == "postgresql":
        query = (
            "SELECT tgname, pg_get_triggerdef(pg_trigger.oid) FROM pg_trigger JOIN pg_class ON pg_class.oid = tgrelid "
            "WHERE NOT tgisinternal AND tgenabled IN ('O', 'A') AND pg_table_is_visible(pg_class.oid)"
        )
        schema = str(connection.execute(text("SELECT current_schema()")).scalar())
        return {name: _bare(sql.replace(f"{schema}.", "")) for name, sql in connection.execute(text(query))}
    query = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
    return {name: _bare(sql) for name, sql in connection.execute(text(query))}


def _indexes(connection: Connection) -> list[str]:
    """Find the indexes that are missing, changed or not ours."""
    wanted = {
        str(index.name): _bare(str(CreateIndex(index).compile(dialect=connection.dialect)))
        for table in t.metadata.tables.values()
        for index in table.indexes
    }
    if connection.dialect.name == "postgresql":
        query = (
            "SELECT indexname, indexdef FROM pg_indexes WHERE schemaname = current_schema() "
            "AND indexname NOT LIKE 'pk!_%' ESCAPE '!' AND indexname NOT LIKE 'uq!_%' ESCAPE '!'"
        )
        schema = str(connection.execute(text("SELECT current_schema()")).scalar())
        found = {
            name: _bare(sql.replace(f"{schema}.", "").replace(" USING btree", ""))
            for name, sql in connection.execute(text(query))
            if name != "alembic_version_pkc"
        }
    else:
        query = "SELECT name, sql FROM sqlite_master WHERE type = 'index' AND sql IS NOT NULL"
        found = {name: _bare(sql) for name, sql in connection.execute(text(query))}
    return [f"index {name}" for name in wanted.keys() | found.keys() if wanted.get(name) != found.get(name)]


def _bare(sql: str | None) -> str:
    return re.sub(r'[\s"`\[\]()]|IF NOT EXISTS', "", sql or "").casefold()


def _keys(table: str) -> list[str]:
    """Write the conditions under which a new row of a table would replace another."""
    rows = t.metadata.tables[table]
    keys = [[c.name for c in rows.primary_key.columns]]
    keys += [[c.name] for c in rows.columns if c.unique]
    return [" AND ".join(f'"{c}" = NEW."{c}"' for c in key) for key in keys]


def _sqlite() -> Iterator[Guard]:
    for table in lines():
        for verb in ("update", "delete"):
            yield _refusing(f"guard_{table}_{verb}", f"BEFORE {verb.upper()}", table, _APPEND_ONLY)
        there = " OR ".join(f'EXISTS (SELECT 1 FROM "{table}" WHERE {key})' for key in _keys(table))
        yield _refusing(f"guard_{table}_replace", "BEFORE INSERT", table, _APPEND_ONLY, there)
        if table == "job":
            old = 'NEW."id" > 0 AND NEW."id" <= (SELECT max(job) FROM seal)'
            yield _refusing("guard_job_sealed", "BEFORE INSERT", table, _SEALED, old)
        elif table not in ("seal", ALONE):
            sealed = 'EXISTS (SELECT 1 FROM seal WHERE job = NEW."job")'
            yield _refusing(f"guard_{table}_sealed", "BEFORE INSERT", table, _SEALED, sealed)
    for table in STAYING:
        there = " OR ".join(f'EXISTS (SELECT 1 FROM "{table}" WHERE {key})' for key in _keys(table))
        yield _refusing(f"guard_{table}_delete", "BEFORE DELETE", table, _APPEND_ONLY)
        yield _refusing(f"guard_{table}_replace", "BEFORE INSERT", table, _APPEND_ONLY, there)


def _refusing(name: str, when: str, table: str, why: str, condition: str = "") -> Guard:
    only = f" WHEN {condition}" if condition else ""
    return Guard(name, table, f"CREATE TRIGGER {name} {when} ON {table}{only} BEGIN SELECT RAISE(ABORT, '{why}'); END")


_BODIES = {
    "guard_append_only": f"BEGIN RAISE EXCEPTION '{_APPEND_ONLY}'; END",
    "guard_sealed": "BEGIN IF EXISTS (SELECT 1 FROM seal WHERE job = NEW.job) "
    f"THEN RAISE EXCEPTION '{_SEALED}'; END IF; RETURN NEW; END",
    "guard_sealed_job": f"BEGIN IF NEW.id <= (SELECT max(job) FROM seal) THEN RAISE EXCEPTION '{_SEALED}'; "
    "END IF; RETURN NEW; END",
}
"""What the guards of PostgreSQL do. There nothing is replaced without an UPDATE, which the first refuses."""


def _functions() -> list[str]:
    return [
        f"CREATE OR REPLACE FUNCTION {name}() RETURNS trigger AS $$ {body} $$ LANGUAGE plpgsql"
        for name, body in _BODIES.items()
    ]


def _bodies(connection: Connection) -> dict[str, str]:
    query = "SELECT proname, prosrc FROM pg_proc WHERE proname LIKE 'guard%' AND pg_function_is_visible(oid)"
    return {name: _bare(body) for name, body in connection.execute(text(query))}


def _postgresql() -> Iterator[Guard]:
    for table in lines():
        for verb in ("update", "delete", "truncate"):
            yield _calling(table, verb, "ROW" if verb != "truncate" else "STATEMENT", "append_only")
        if table == "job":
            yield _calling(table, "insert", "ROW", "sealed_job")
        elif table not in ("seal", ALONE):
            yield _calling(table, "insert", "ROW", "sealed")
    for table in STAYING:
        yield _calling(table, "delete", "ROW", "append_only")
        yield _calling(table, "truncate", "STATEMENT", "append_only")


def _calling(table: str, verb: str, each: str, function: str) -> Guard:
    name = f"guard_{table}_{verb}"
    sql = f"CREATE TRIGGER {name} BEFORE {verb.upper()} ON {table} FOR EACH {each} EXECUTE FUNCTION guard_{function}()"
    return Guard(name, table, sql)
