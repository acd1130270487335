"""Opens an inventory, for one job or one question."""

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING

from prep.errors import PrepError
from prep.resources import url_of

if TYPE_CHECKING:
    from sqlalchemy import Connection, Engine


def inventory(db: Path | None) -> "Engine":
    """The inventory's engine, brought up to date if it is older. Raises PrepError if there is none."""
    from prep.store.engine import open_engine
    from prep.store.migrate import bring_up

    engine = open_engine(url_of(db))
    try:
        bring_up(engine)
    except BaseException:
        engine.dispose()
        raise
    return engine


@contextmanager
def new_inventory(db: Path | None) -> "Iterator[Connection]":
    """A new inventory with its tables, to be filled: all of it or, if anything is raised, nothing.

    Raises PrepError if something is there already.
    """
    from prep.store import engine as store
    from prep.store import migrate

    engine = store.open_engine(url_of(db))
    path = store.path_of(engine)
    new = path is not None and not path.exists()
    try:
        if path is not None:
            try:
                path.parent.mkdir(parents=True, exist_ok=True)
            except OSError as error:
                raise PrepError(f"{path.parent}: the folder cannot be made ({error.strerror}).") from None
        with store.writing(engine) as connection:
            if path is not None and not path.exists():  # whoever was before us failed just now, and took it away
                raise PrepError(f"{path}: {store.BUSY}")
            migrate.make(connection)
            try:
                yield connection
            except BaseException:
                if path is not None and new:  # while it is locked, so that it is nobody else's that goes
                    _remove(path)
                raise
    finally:
        engine.dispose()


def _remove(path: Path) -> None:
    for name in (path.name, f"{path.name}-wal", f"{path.name}-shm"):
        with suppress(OSError):  # some systems keep what is open: then it stays, and is empty
            path.with_name(name).unlink()


UNREADABLE = (ValueError, KeyError, TypeError, AttributeError, ArithmeticError, AssertionError)
"""What reading a damaged row ends in, where SQLite itself saw nothing wrong."""


@contextmanager
def reading(db: Path | None) -> "Iterator[Connection]":
    """One consistent view of the inventory."""
    from prep.store import engine as store

    engine = inventory(db)
    try:
        with store.reading(engine) as connection:
            yield connection
    except UNREADABLE as error:
        _autopsy(engine, error)
        raise
    finally:
        engine.dispose()


@contextmanager
def writing(db: Path | None) -> "Iterator[Connection]":
    """One job: all of it or, if anything is raised, nothing."""
    from prep.store import engine as store

    engine = inventory(db)
    try:
        with store.writing(engine) as connection:
            yield connection
    except UNREADABLE as error:
        _autopsy(engine, error)
        raise
    finally:
        engine.dispose()


def _autopsy(engine: "Engine", error: Exception) -> None:
    """Raises PrepError if what went wrong is that the file is damaged, and not this program."""
    from prep.store import check
    from prep.store import engine as store

    with store.reading(engine) as connection:
        found = check.check(connection)
    if found:
        cure = "prep db restore FILE" if store.path_of(engine) else "your database server's own backup"
        raise PrepError(
            f"{store.name_of(engine)}: the database is damaged ({found[0].message}) Restore a backup with: {cure}"
        ) from error
