"""Puts a copy in the place of an inventory's file, which others may have open: it is never deleted."""

import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

from prep.errors import PrepError
from prep.store.migrate import back_up


def copied(copy: Path, whole: Path) -> None:
    """Write a whole copy of a copy. Raises PrepError where it cannot be read from end to end."""
    try:
        with closing(sqlite3.connect(copy)) as source, closing(sqlite3.connect(whole)) as target:
            source.backup(target)
    except sqlite3.Error as error:
        raise PrepError(f"{copy}: this is no whole inventory of prep ({error}); nothing was replaced.") from None


def put_in_place(path: Path, whole: Path) -> Path | None:
    """Put a copy where an inventory is, or was to be; returns where what was there is kept. Raises PrepError."""
    try:
        return _replace(path, whole) if _is_whole(path) else _fill(path, whole)
    except sqlite3.Error as error:
        raise PrepError(f"{path}: the copy could not be put back ({error}); nothing was replaced.") from None


def _is_whole(path: Path) -> bool:
    """Tell whether a file is an inventory that can be read to its end. Raises PrepError where another is writing."""
    if not path.exists() or not path.stat().st_size:
        return False
    try:
        with closing(sqlite3.connect(path)) as present:
            return bool(present.execute("PRAGMA quick_check").fetchone() == ("ok",))
    except sqlite3.DatabaseError as error:
        if "locked" in str(error):
            raise PrepError(f"{path}: another process is writing and did not finish; try again in a moment.") from None
        return False


def _replace(path: Path, whole: Path) -> Path:
    """Keep what is there and put the copy in its place, under one lock, so that no job is lost; gives the kept one."""
    with closing(sqlite3.connect(path, timeout=15, isolation_level=None)) as target:
        target.execute("PRAGMA foreign_keys = OFF")
        target.execute("ATTACH DATABASE ? AS copy", (str(whole),))
        try:
            target.execute("BEGIN IMMEDIATE")
        except sqlite3.OperationalError:
            raise PrepError(f"{path}: another process is writing and did not finish; try again in a moment.") from None
        kept = back_up(path)
        try:
            _copy_over(target)
            target.execute("COMMIT")
        except BaseException:
            target.execute("ROLLBACK")
            raise
    return kept


def _copy_over(target: sqlite3.Connection) -> None:
    """Make `main` what `copy` is: triggers go first and come last."""
    order = {"trigger": 0, "view": 1, "index": 2, "table": 3}
    query = (
        "SELECT type, name, sql FROM {}.sqlite_master WHERE sql IS NOT NULL AND name NOT LIKE 'sqlite!_%' ESCAPE '!'"
    )
    for kind, name, _ in sorted(target.execute(query.format("main")).fetchall(), key=lambda row: order[row[0]]):
        target.execute(f'DROP {kind.upper()} main."{name}"')
    for kind, name, sql in sorted(target.execute(query.format("copy")).fetchall(), key=lambda row: -order[row[0]]):
        target.execute(sql)
        if kind == "table":
            target.execute(f'INSERT INTO main."{name}" SELECT * FROM copy."{name}"')


def _fill(path: Path, whole: Path) -> Path | None:
    """Write the copy to where no inventory is; returns the path of a damaged one that was moved aside, if any."""
    aside = None
    if path.exists() and path.stat().st_size:
        stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%S%f")
        aside = path.with_name(f"{path.stem}.{stamp}.damaged{path.suffix}")
        for end in ("", "-wal", "-shm"):
            part = path.with_name(path.name + end)
            if part.exists():
                part.rename(aside.with_name(aside.name + end))
    with closing(sqlite3.connect(whole)) as source, closing(sqlite3.connect(path, timeout=15)) as target:
        source.backup(target)
        target.execute("PRAGMA journal_mode = WAL")
    return aside
