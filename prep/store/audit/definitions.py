"""The tables as they stand in a database, compared with what this program makes: columns, keys, checks.

A check that was taken out of a table, or a key, lets in what the program refuses, and no row says so.
"""

import re

from sqlalchemy import Connection, Table, text
from sqlalchemy.schema import CreateTable

from prep.store import tables as t

REVISION = "alembic_version"
"""The table of the migrations, which is none of ours."""
_FOREIGN = ("sqlite_",)
"""What SQLite makes itself, such as the figures of ANALYZE."""


def altered(connection: Connection) -> list[str]:
    """Find the tables that are not what this program makes, and, in a file, tables and views that it did not make."""
    wanted = {name: clauses(_made(connection, table)) for name, table in t.metadata.tables.items()}
    wanted[REVISION] = clauses("(version_num VARCHAR(32) NOT NULL)")
    if connection.dialect.name == "postgresql":
        return _on_a_server(connection)
    query = "SELECT type, name, sql FROM sqlite_master WHERE type IN ('table', 'view') ORDER BY name"
    out = []
    for kind, name, sql in connection.execute(text(query)):
        if name.startswith(_FOREIGN):
            continue
        found = [clause for clause in clauses(sql) if name != REVISION or not clause.startswith("constraintalembic")]
        if kind == "view" or found != wanted.get(name):
            out.append(f"{kind} {name}")
    return out


def _made(connection: Connection, table: Table) -> str:
    return str(CreateTable(table).compile(dialect=connection.dialect))


def clauses(sql: str | None) -> list[str]:
    """Cut a CREATE TABLE into its columns and rules, in one spelling and order: a migration appends what is new."""
    body = (sql or "")[(sql or "").find("(") + 1 : (sql or "").rfind(")")]
    parts, depth, quoted, start = [], 0, False, 0
    for at, letter in enumerate(body):
        if letter == "'":
            quoted = not quoted
        elif not quoted:
            depth += (letter == "(") - (letter == ")")
            if letter == "," and not depth:
                parts.append(body[start:at])
                start = at + 1
    return sorted(_bare(part) for part in (*parts, body[start:]))


def _bare(clause: str) -> str:
    """Write a clause without blanks and quotes of names; what stands in quotes of texts keeps its blanks."""
    pieces = re.split(r"('[^']*')", clause)
    return "".join(p if p.startswith("'") else re.sub(r'[\s"`\[\]]', "", p).casefold() for p in pieces)


def _on_a_server(connection: Connection) -> list[str]:
    """Find the tables that lack a rule, a key or a column that must not be empty, or have one that is not ours."""
    rules = (
        "SELECT relname, conname FROM pg_constraint JOIN pg_class ON pg_class.oid = conrelid "
        "WHERE contype IN ('c', 'f', 'p', 'u') AND convalidated AND pg_table_is_visible(pg_class.oid)"
    )
    filled = (
        "SELECT relname, attname FROM pg_attribute JOIN pg_class ON pg_class.oid = attrelid "
        "WHERE attnum > 0 AND attnotnull AND NOT attisdropped AND relkind = 'r' AND pg_table_is_visible(pg_class.oid)"
    )
    found = {(table, f"rule {name}") for table, name in connection.execute(text(rules))}
    found |= {(table, f"column {name}") for table, name in connection.execute(text(filled))}
    wanted = set()
    for name, table in t.metadata.tables.items():
        wanted |= {(name, f"rule {rule.name}") for rule in table.constraints if rule.name}
        wanted |= {(name, f"column {column.name}") for column in table.columns if not column.nullable}
    ours = {pair for pair in found if pair[0] in t.metadata.tables}
    return sorted({f"table {table}" for table, _ in wanted ^ ours})
