"""A school's schema on a server that a group shares, and the script of rights of its database roles."""

import re
from urllib.parse import quote

from sqlalchemy import Connection, text

from prep.errors import PrepError
from prep.store import guards
from prep.store.audit import logged_records
from prep.store.database import open_engine, sentences

NAMED = re.compile(r"[a-z][a-z0-9_]{0,30}")
_OWNERS_ALONE = sorted(logged_records.PEOPLE | logged_records.PASSING | logged_records.ACCESS)
"""Keys and pass phrases: nobody reads them but who owns the schema."""
_SIGNING = ("job", "change", "seal")
_TEACH = ("booking", "day_line", "day_seal")
_COUNT = ("tally", "stocktake", "signoff", "count_report", "movement")


def in_schema(url: str, schema: str) -> str:
    """Write the URL of a server's database with the tables of one schema. Raises PrepError for no such name."""
    if not NAMED.fullmatch(schema) or schema.startswith("pg_") or schema == "public":
        raise PrepError(f'"{schema[:40]}" is no code of a school: small letters, figures and _, such as north.')
    return f"{url}{'&' if '?' in url else '?'}options={quote(f'-csearch_path={schema}', safe='=')}"


def make(url: str, schema: str) -> None:
    """Make a school's schema where there is none. Raises PrepError."""
    in_schema(url, schema)
    engine = open_engine(url)
    try:
        with sentences(engine), engine.connect().execution_options(write=True) as connection, connection.begin():
            connection.execute(text(f"CREATE SCHEMA IF NOT EXISTS {schema}"))
    finally:
        engine.dispose()


def login_of(connection: Connection) -> str | None:
    """Find whose login does a job on a server with roles, whatever the program says; None where the program says it."""
    if connection.dialect.name != "postgresql":
        return None
    found = connection.execute(
        text(
            "SELECT session_user FROM pg_trigger JOIN pg_class ON pg_class.oid = tgrelid "
            "JOIN pg_namespace ON pg_namespace.oid = relnamespace WHERE tgname = :name "
            "AND pg_table_is_visible(pg_class.oid) AND NOT pg_has_role(session_user, nspowner, 'member')"
        ),
        {"name": guards.LOGIN.name},
    ).scalar()
    return None if found is None else str(found)


def is_server(url: str) -> bool:
    """Tell whether a URL is that of a server, whose database schools share by schema."""
    return url.startswith(("postgresql:", "postgresql+"))


def rights(schema: str) -> str:
    """Write the script that makes a school's roles and what each may do; run it as the owner of the schema.

    Four roles: read, audit (reads, counts and signs), teach (reads and books), technician (all of the day). The person
    on a job is then the login, whatever the program says.
    """
    role = {one: f"{schema}_{one}" for one in ("read", "audit", "teach", "technician")}
    everybody = ", ".join(role.values())
    made = [
        f"-- Rights of the school {schema}. Run it as the owner of the schema, again after each upgrade.",
        f"-- A person: CREATE ROLE vane LOGIN PASSWORD '...'; GRANT {role['technician']} TO vane;",
        f"SET search_path = {schema};",
    ]
    for name in role.values():
        made.append(
            f"DO $$ BEGIN IF NOT EXISTS (SELECT 1 FROM pg_roles WHERE rolname = '{name}') "
            f"THEN CREATE ROLE {name} NOLOGIN; END IF; END $$;"
        )
    made += [
        f"GRANT USAGE ON SCHEMA {schema} TO {everybody};",
        f"GRANT SELECT ON ALL TABLES IN SCHEMA {schema} TO {everybody};",
        *(f"REVOKE ALL ON {table} FROM {everybody};" for table in _OWNERS_ALONE),
        f"GRANT USAGE ON ALL SEQUENCES IN SCHEMA {schema} TO {role['audit']}, {role['teach']}, {role['technician']};",
        f"GRANT INSERT ON {', '.join(_SIGNING)} TO {role['audit']}, {role['teach']};",
        f"GRANT INSERT, UPDATE ON {', '.join(_TEACH)} TO {role['teach']};",
        f"GRANT INSERT ON {', '.join(_COUNT)} TO {role['audit']};",
        f"GRANT INSERT, UPDATE ON bottle, stocktake TO {role['audit']};",
        f"GRANT INSERT, UPDATE, DELETE ON ALL TABLES IN SCHEMA {schema} TO {role['technician']};",
        f"REVOKE ALL ON {', '.join(_OWNERS_ALONE)} FROM {role['technician']};",
        f"REVOKE INSERT, UPDATE, DELETE ON alembic_version FROM {role['technician']};",
        "-- The person on a job is the login of whoever is none of the schema's owners.",
        guards.LOGIN_FUNCTION + ";",
        f"DROP TRIGGER IF EXISTS {guards.LOGIN.name} ON job;",
        guards.LOGIN.sql + ";",
    ]
    return "\n".join(made) + "\n"
