"""Triggers that keep the ledger append-only. A migration that rebuilds a guarded table calls `create` again."""

from collections.abc import Container

from sqlalchemy import Connection, inspect, text

APPEND_ONLY = ("job", "movement", "change", "batch", "usage", "tally", "access_log")


def create(connection: Connection) -> None:
    """Create every guard that is missing, on SQLite or PostgreSQL, of the tables that there are by now."""
    for statement in statements(connection.dialect.name, inspect(connection).get_table_names()):
        connection.execute(text(statement))


def missing(connection: Connection) -> list[str]:
    """The guards that are not there, or are switched off."""
    postgresql = connection.dialect.name == "postgresql"
    query = (
        "SELECT tgname FROM pg_trigger JOIN pg_class ON pg_class.oid = tgrelid "
        "WHERE tgenabled IN ('O', 'A') AND pg_table_is_visible(pg_class.oid)"
        if postgresql
        else "SELECT name FROM sqlite_master WHERE type = 'trigger'"
    )
    there = set(connection.execute(text(query)).scalars())
    return [name for name in names(connection.dialect.name) if name not in there]


def names(dialect: str) -> list[str]:
    """The guards that must be there."""
    return [f"guard_{table}_{verb}" for table in APPEND_ONLY for verb in _verbs(dialect)]


def _verbs(dialect: str) -> tuple[str, ...]:
    return ("update", "delete", "truncate") if dialect == "postgresql" else ("update", "delete")


def statements(dialect: str, tables: Container[str] = APPEND_ONLY) -> list[str]:
    """The SQL of the guards of those `tables` that are append-only."""
    guarded = [table for table in APPEND_ONLY if table in tables]
    if dialect == "postgresql":
        out = [
            "CREATE OR REPLACE FUNCTION guard_append_only() RETURNS trigger AS $$ BEGIN "
            "RAISE EXCEPTION 'the ledger is append-only'; END $$ LANGUAGE plpgsql"
        ]
        for table in guarded:
            for verb in _verbs(dialect):
                name = f"guard_{table}_{verb}"
                each = "STATEMENT" if verb == "truncate" else "ROW"
                out.append(f"DROP TRIGGER IF EXISTS {name} ON {table}")
                out.append(
                    f"CREATE TRIGGER {name} BEFORE {verb.upper()} ON {table} "
                    f"FOR EACH {each} EXECUTE FUNCTION guard_append_only()"
                )
        return out
    return [
        f"CREATE TRIGGER IF NOT EXISTS guard_{table}_{verb} BEFORE {verb.upper()} ON {table} "
        "BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END"
        for table in guarded
        for verb in _verbs(dialect)
    ]
