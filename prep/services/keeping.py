"""Keeping the inventory file: check and copy."""

from pathlib import Path

from prep.errors import PrepError
from prep.planning.model import Finding
from prep.services import session


def check(db: Path | None) -> list[Finding]:
    """Everything that is wrong with the books; empty when they are clean."""
    from prep.store import check as checking

    with session.reading(db) as connection:
        return checking.check(connection)


def backup(db: Path | None, to: Path | None) -> Path:
    """Copy the inventory by SQLite's own backup; returns where to. Raises PrepError."""
    from prep.store.engine import file_of, url_of
    from prep.store.migrate import back_up

    path = file_of(url_of(db))
    if path is None:
        raise PrepError("Only an inventory in a file is copied so; use your database server's own backup.")
    session.inventory(db).dispose()
    return back_up(path, to)
