"""Keeping the inventory file: check it, copy it, put a copy back, bring it up to date."""

import tempfile
from dataclasses import dataclass
from pathlib import Path

from prep.errors import NoInventory, PrepError
from prep.findings import Finding
from prep.resources import copied_from, file_of, url_of
from prep.services.inventory import session
from prep.store import files
from prep.wording import AtTerminal


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
    """Check the books for everything that is wrong with them; empty when they are clean."""
    from prep.store import check as checking

    with session.reading(db) as connection:
        return checking.check(connection)


@dataclass(frozen=True, slots=True)
class SealState:
    """The newest seal, of how many jobs, the job whose seal was asked for, and what to mind of where the file lies.

    `access` is the newest seal of who came in, empty where there is none; `line` the line of it that was asked for.
    """

    head: str
    jobs: int
    proved: int | None
    told: str
    access: str = ""
    line: int | None = None


def sealed(db: Path | None, asked: str | None = None) -> SealState:
    """Read what proves the books: to be compared with a signed paper. Raises PrepError."""
    from prep.store.audit import seals
    from prep.store.database import path_of
    from prep.store.people import access_chain

    with session.reading(db) as connection:
        path = path_of(connection.engine)
        head, jobs = seals.head(connection), seals.count(connection)
        proved = seals.job_of(connection, asked) if asked else None
        wanted = seals.typed(asked) if asked and proved is None else None
        access = seals.short(access_chain.head(connection))
        line = access_chain.line_of(connection, wanted) if wanted else None
    told = files.TOLD if path is not None and files.is_on_network(path) else ""
    return SealState(seals.short(head), jobs, proved, told, access, line)


def backup(db: Path | None, to: Path | None) -> Path:
    """Copy the inventory by SQLite's own backup; returns where to. Raises PrepError."""
    from prep.store.migrate import back_up

    path = _file(
        db,
        "copy it with the server's own backup (pg_dump), or carry it out",
        AtTerminal(" with: prep db export FOLDER", "."),
    )
    session.inventory(db).dispose()
    return back_up(path, to)


def restore(db: Path | None, copy: Path) -> Restored:
    """Put a copy in place of the inventory, which is kept beside it. Raises PrepError.

    The copy is checked first, on a copy of its own: the file, its books, its guards; an older revision is
    brought up to date there. Nothing is replaced unless it is clean.
    """
    path = _file(
        db,
        "put back the server's own backup (pg_restore), or read an export",
        AtTerminal(" with: prep db import FOLDER", "."),
    )
    copied_from(copy)
    if path.exists() and copy.resolve() == path.resolve():
        raise PrepError(f"{copy}: this is the inventory itself; give a copy of it.")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise PrepError(f"{path.parent}: the folder cannot be made ({error.strerror}).") from None
    from prep.store.copies import replacing

    with tempfile.TemporaryDirectory(prefix="prep-restore-") as folder:
        whole = Path(folder) / copy.name
        bottles, jobs = _checked(copy, whole)
        kept = replacing.put_in_place(path, whole)
    return Restored(path, bottles, jobs, kept)


def upgrade(db: Path | None) -> Upgraded:
    """Bring the inventory up to date, after a backup, and put missing guards back. Raises PrepError."""
    from prep.store import database as store
    from prep.store import guards, migrate

    engine = store.open_engine(url_of(db))
    try:
        path = store.path_of(engine)
        if path is not None and not path.exists():
            raise NoInventory(f"{path}: there is no inventory yet")
        with store.reading(engine) as connection:
            before = migrate.revision(connection)
        made = migrate.bring_up(engine)
        with store.writing(engine) as connection:
            guards.create(connection)
    finally:
        engine.dispose()
    return Upgraded(before or "", migrate.HEAD, made)


def _file(db: Path | None, *instead: str) -> Path:

    path = file_of(url_of(db))
    if path is None:
        raise PrepError("The inventory is no file but a server's database; ", *instead)
    return path


def _checked(copy: Path, whole: Path) -> tuple[int, int]:
    """Make `whole` of a copy, current and clean; returns how many bottles and jobs it holds."""
    from prep.store import bottles
    from prep.store import check as checking
    from prep.store import database as store
    from prep.store.copies import replacing
    from prep.store.jobs import history
    from prep.store.migrate import bring_up

    replacing.copied(copy, whole)
    engine = store.open_engine(url_of(whole))
    try:
        bring_up(engine)
        with store.reading(engine) as connection:
            found = checking.check(connection)
            counts = bottles.how_many(connection), history.how_many(connection)
    except PrepError as problem:
        raise PrepError(problem.sentence.reworded(lambda text: text.replace(str(whole), str(copy)))) from None
    finally:
        engine.dispose()
    if found:
        raise PrepError(f"{copy}: this copy is not clean: {found[0].message} Nothing was replaced.")
    return counts
