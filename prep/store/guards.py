"""Triggers that keep the ledger append-only. A migration that rebuilds a guarded table calls `create` again."""

from sqlalchemy import Connection, text

APPEND_ONLY = ("job", "movement", "change", "batch", "usage", "tally")


def create(connection: Connection) -> None:
    """Create every guard that is missing, on SQLite or PostgreSQL."""
    for statement in statements(connection.dialect.name):
        connection.execute(text(statement))


def names() -> list[str]:
    """The guards that must be there."""
    return [f"guard_{table}_{verb}" for table in APPEND_ONLY for verb in ("update", "delete")]


def statements(dialect: str) -> list[str]:
    """The SQL of the guards."""
    if dialect == "postgresql":
        out = [
            "CREATE OR REPLACE FUNCTION guard_append_only() RETURNS trigger AS $$ BEGIN "
            "RAISE EXCEPTION 'the ledger is append-only'; END $$ LANGUAGE plpgsql"
        ]
        for table in APPEND_ONLY:
            for verb in ("update", "delete"):
                name = f"guard_{table}_{verb}"
                out.append(f"DROP TRIGGER IF EXISTS {name} ON {table}")
                out.append(
                    f"CREATE TRIGGER {name} BEFORE {verb.upper()} ON {table} "
                    "FOR EACH ROW EXECUTE FUNCTION guard_append_only()"
                )
        return out
    return [
        f"CREATE TRIGGER IF NOT EXISTS guard_{table}_{verb} BEFORE {verb.upper()} ON {table} "
        "BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END"
        for table in APPEND_ONLY
        for verb in ("update", "delete")
    ]
