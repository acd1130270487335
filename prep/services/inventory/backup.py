"""Keeping the inventory file: check it, copy it, put a copy back, bring it up to date."""

import sqlite3
import tempfile
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from prep.errors import PrepError
from prep.findings import Finding
from prep.resources import file_of, url_of
from prep.services.inventory import session


@dataclass(frozen=True, slots=True)
class Restored:
    """What a copy put back held, and where what it replaced was kept."""

    path: Path
    bottles: int
    jobs: int
    kept: Path | None


@dataclass(frozen=True, slots=True)
class Upgraded:
    """The revision before and after, and the backup made first, if anything was to do."""

    before: str
    after: str
    backup: Path | None


def check(db: Path | None) -> list[Finding]:
    """Everything that is wrong with the books; empty when they are clean."""
    from prep.store import check as checking

    with session.reading(db) as connection:
        return checking.check(connection)


@dataclass(frozen=True, slots=True)
class Sealed:
    """The newest seal, of how many jobs, the job whose seal was asked for, and what to mind of where the file lies."""

    head: str
    jobs: int
    proved: int | None
    told: str


def sealed(db: Path | None, asked: str | None = None) -> Sealed:
    """What proves the books: to be compared with a signed paper. Raises PrepError."""
    from prep.store import files
    from prep.store.audit import seals
    from prep.store.engine import path_of

    with session.reading(db) as connection:
        path = path_of(connection.engine)
        head, jobs = seals.head(connection), seals.count(connection)
        proved = seals.job_of(connection, asked) if asked else None
    return Sealed(seals.short(head), jobs, proved, files.TOLD if path is not None and files.is_on_network(path) else "")


def backup(db: Path | None, to: Path | None) -> Path:
    """Copy the inventory by SQLite's own backup; returns where to. Raises PrepError."""
    from prep.store.migrate import back_up

    path = _file(db, "copy it with the server's own backup (pg_dump), or carry it out with: prep db export FOLDER")
    session.inventory(db).dispose()
    return back_up(path, to)


def restore(db: Path | None, copy: Path) -> Restored:
    """Put a copy in place of the inventory, which is kept beside it. Raises PrepError.

    The copy is checked first, on a copy of its own: the file, its books, its guards; an older revision is
    brought up to date there. Nothing is replaced unless it is clean.
    """
    path = _file(db, "put back the server's own backup (pg_restore), or read an export with: prep db import FOLDER")
    if not copy.is_file():
        raise PrepError(f"{copy}: there is no such file.")
    if path.exists() and copy.resolve() == path.resolve():
        raise PrepError(f"{copy}: this is the inventory itself; give a copy of it.")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise PrepError(f"{path.parent}: the folder cannot be made ({error.strerror}).") from None
    with tempfile.TemporaryDirectory(prefix="prep-restore-") as folder:
        whole = Path(folder) / copy.name
        bottles, jobs = _checked(copy, whole)
        try:
            kept = _replace(path, whole) if _is_whole(path) else _fill(path, whole)
        except sqlite3.Error as error:
            raise PrepError(f"{path}: the copy could not be put back ({error}); nothing was replaced.") from None
    return Restored(path, bottles, jobs, kept)


def upgrade(db: Path | None) -> Upgraded:
    """Bring the inventory up to date, after a backup, and put missing guards back. Raises PrepError."""
    from prep.store import engine as store
    from prep.store import guards, migrate

    engine = store.open_engine(url_of(db))
    try:
        path = store.path_of(engine)
        if path is not None and not path.exists():
            raise PrepError(f"{path}: there is no inventory yet; make one with: prep init")
        with store.reading(engine) as connection:
            before = migrate.revision(connection)
        made = migrate.bring_up(engine)
        with store.writing(engine) as connection:
            guards.create(connection)
    finally:
        engine.dispose()
    return Upgraded(before or "", migrate.HEAD, made)


def _file(db: Path | None, instead: str) -> Path:

    path = file_of(url_of(db))
    if path is None:
        raise PrepError(f"The inventory is no file but a server's database; {instead}")
    return path


def _checked(copy: Path, whole: Path) -> tuple[int, int]:
    """Make `whole` of a copy, current and clean; returns how many bottles and jobs it holds."""
    from sqlalchemy import func, select

    from prep.store import check as checking
    from prep.store import engine as store
    from prep.store.migrate import bring_up
    from prep.store.queries import table
    from prep.store.tables import BottleRow, JobRow

    try:
        with closing(sqlite3.connect(copy)) as source, closing(sqlite3.connect(whole)) as target:
            source.backup(target)
    except sqlite3.Error as error:
        raise PrepError(f"{copy}: this is no whole inventory of prep ({error}); nothing was replaced.") from None
    engine = store.open_engine(url_of(whole))
    try:
        bring_up(engine)
        with store.reading(engine) as connection:
            found = checking.check(connection)
            bottles, jobs = (
                int(connection.execute(select(func.count()).select_from(table(one))).scalar_one())
                for one in (BottleRow, JobRow)
            )
    except PrepError as problem:
        raise PrepError(str(problem).replace(str(whole), str(copy))) from None
    finally:
        engine.dispose()
    if found:
        raise PrepError(f"{copy}: this copy is not clean: {found[0].message} Nothing was replaced.")
    return bottles, jobs


def _is_whole(path: Path) -> bool:
    """Is there an inventory that can be read from end to end? Raises PrepError where another is writing."""
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
    """Keep what is there and put the copy in its place, under one lock: no job is in neither. Returns the kept one."""
    from prep.store.migrate import back_up

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
    """Put the copy where nothing is, or where what is there is too damaged and is moved aside; returns that."""
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
