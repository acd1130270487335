"""Brings a database to this program's revision: a new one from nothing, an older one step by step.

Alembic is imported only when a database is new or behind. Before an upgrade the file is copied beside itself
by SQLite's own backup, which is whole even while others write.
"""

import os
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import Connection, Engine, inspect, text

from prep.errors import NoInventory, PrepError
from prep.resources import migrations
from prep.store import files
from prep.store.audit import seals
from prep.store.database import name_of, path_of, reading, sentences
from prep.wording import Flag

HEAD = "0022"
"""The newest revision in migrations/versions (a test keeps them equal)."""


def revision(connection: Connection) -> str | None:
    """Read the database's revision; None for an empty one. Raises PrepError for a file of something else."""
    if connection.dialect.name == "sqlite":
        names = {row[0] for row in connection.execute(text("SELECT name FROM sqlite_master WHERE type = 'table'"))}
    else:
        names = set(inspect(connection).get_table_names())
    if "alembic_version" not in names and not names:
        return None
    if not {"alembic_version", "bottle", "movement"} <= names:
        where = name_of(connection.engine)
        sqlite = connection.dialect.name == "sqlite"
        another = ("another file with ", Flag("--db")) if sqlite else ("a database of its own to prep",)
        raise PrepError(f"{where}: this database belongs to another program; give ", *another, ".")
    found = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
    return str(found) if found else None


def make(connection: Connection) -> None:
    """Make the tables in an empty database, in the caller's transaction. Raises PrepError if it is not empty."""
    if revision(connection) is not None:
        raise PrepError(f"{name_of(connection.engine)}: there is an inventory already; nothing was changed.")
    if connection.dialect.name == "postgresql":
        encoding = connection.execute(text("SHOW server_encoding")).scalar()
        if encoding != "UTF8":
            raise PrepError(f"{name_of(connection.engine)}: its encoding is {encoding}; prep needs one with UTF8.")
    _run(connection)


def bring_up(engine: Engine) -> Path | None:
    """Make an older database current; returns the backup's path if one was made.

    Raises PrepError: no database yet, a foreign file, a database from a newer version.
    """
    path = path_of(engine)
    if path is not None and not path.exists():
        raise NoInventory(f"{path}: there is no inventory yet")
    with sentences(engine), engine.connect() as connection, connection.begin():
        found = revision(connection)
    if found == HEAD:
        return None
    if found is None:
        if _is_closed(engine):
            raise PrepError(f"{name_of(engine)}: this account may not read it.")
        raise NoInventory(f"{name_of(engine)}: there is no inventory in it yet")
    if not _is_older(found):
        raise PrepError(
            f"{name_of(engine)}: made by a newer version of prep (revision {found}, this one knows {HEAD}); "
            "install the newer version."
        )
    backup = back_up(path) if path is not None else None
    _upgrade(engine)
    return backup


def back_up(path: Path, to: Path | None = None) -> Path:
    """Copy a SQLite file by its own backup, to `to` or beside it with the time in its name."""
    stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%S%f")
    target = to or path.with_name(f"{path.stem}.{stamp}.backup{path.suffix}")
    if target.exists():
        raise PrepError(f"{target}: is there already; give another name.")
    part = target.with_name(f".{target.name}.{stamp}.part")
    try:
        os.close(os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
        try:
            with closing(_source(path)) as source, closing(sqlite3.connect(part)) as copy:
                source.backup(copy)
                copy.execute("PRAGMA journal_mode = DELETE")
            part.chmod(files.mode_of_copy(path))
            part.rename(target)
        finally:
            part.unlink(missing_ok=True)
    except (sqlite3.Error, OSError) as error:
        why = getattr(error, "strerror", None) or error
        raise PrepError(f"{target}: the backup could not be written ({why}).") from None
    return target


def _is_closed(engine: Engine) -> bool:
    """Tell whether an account has no right to the schema that it names: its tables are then not seen at all."""
    if engine.dialect.name != "postgresql":
        return False
    with reading(engine) as connection:
        path = str(connection.execute(text("SHOW search_path")).scalar_one())
        asked = {"schema": path.partition(",")[0].strip().strip('"')}
        query = "SELECT NOT has_schema_privilege(oid, 'USAGE') FROM pg_namespace WHERE nspname = :schema"
        return bool(connection.execute(text(query), asked).scalar())


def _source(path: Path) -> sqlite3.Connection:
    """Open what is copied; where it may only be read, nothing is written beside it."""
    return sqlite3.connect(path) if files.is_writable(path) else files.open_to_read(path, timeout=60)


def _is_older(found: str) -> bool:
    """Tell whether a revision is one of this program's own, by the numbered files; they are read, not imported."""
    return any(file.name.startswith(f"{found}_") for file in (migrations() / "versions").glob("[0-9]*.py"))


def _upgrade(engine: Engine) -> None:
    sqlite = engine.dialect.name == "sqlite"
    with sentences(engine), engine.connect().execution_options(write=True) as connection:
        if sqlite:
            # SQLite rebuilds a table by dropping it; with keys enforced its children would go too. Checked after.
            connection.connection.driver_connection.execute("PRAGMA foreign_keys = OFF")  # type: ignore[union-attr]
        try:
            with connection.begin():
                _run(connection)
                seals.baseline(connection, f"upgrade to revision {HEAD}")
                if sqlite and (bad := connection.exec_driver_sql("PRAGMA foreign_key_check").first()):
                    raise PrepError(f"The upgrade was undone: table {bad[0]} has a row without its parent.")
        finally:
            if sqlite:
                connection.connection.driver_connection.execute("PRAGMA foreign_keys = ON")  # type: ignore[union-attr]


def _run(connection: Connection) -> None:
    """Run the migrations that the database has not seen, in its own transaction."""
    from alembic import command
    from alembic.config import Config
    from alembic.util import CommandError

    config = Config()
    config.set_main_option("script_location", str(migrations()).replace("%", "%%"))
    config.attributes["connection"] = connection
    try:
        command.upgrade(config, "head")
    except CommandError as error:
        raise PrepError(f"{name_of(connection.engine)}: the upgrade cannot be made ({error}).") from error
