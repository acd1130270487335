"""The whole inventory out as plain files, one of JSON lines or one CSV a table, and in again, equal."""

import json
import os
import shutil
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from prep.errors import PrepError
from prep.resources import refuse_no_file
from prep.services.files import table_dump
from prep.services.input.progress import Watcher, each, nobody, steps
from prep.services.inventory import session
from prep.store import files
from prep.store.audit import seals
from prep.store.copies import dump
from prep.store.database import path_of
from prep.store.migrate import HEAD

if TYPE_CHECKING:
    from sqlalchemy import Engine

MANIFEST = "prep.json"
FORMATS = {"jsonl": "prep inventory, JSON lines", "csv": "prep inventory, CSV"}


@dataclass(frozen=True, slots=True)
class CarriedRows:
    """What was written or read: rows by table."""

    where: Path
    rows: dict[str, int]


class Privacy:
    """The file rights of an inventory, given to what is exported: the same people may read it, and nobody else."""

    def __init__(self, engine: "Engine") -> None:
        path = path_of(engine)
        self._mode = files.mode_of_copy(path) if path is not None else 0o600

    def give(self, path: Path) -> None:
        """Make a file or a folder as private as the inventory."""
        enter = (self._mode & 0o444) >> 2 if path.is_dir() else 0
        path.chmod(self._mode | enter)


def export(db: Path | None, folder: Path, kind: str = "jsonl", watcher: Watcher = nobody) -> CarriedRows:
    """Write every table to `folder`, which is made; whole or not at all. `kind` is of FORMATS. Raises PrepError."""
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise PrepError(f"{folder}: is there already and not empty; name a new folder.")
    beside = folder.with_name(f".{folder.name}.{os.getpid()}.part")
    try:
        beside.mkdir(parents=True)
        try:
            written: dict[str, int] = {}
            with session.reading(db) as connection:
                private = Privacy(connection.engine)
                private.give(beside)
                more = steps(watcher, dump.count(connection))
                for table in dump.tables():
                    rows = each(dump.rows(connection, table), more)
                    path = beside / f"{table.name}.{kind}"
                    written[table.name] = table_dump.write(path, dump.fields(table), rows)
                    private.give(path)
            about = {"format": FORMATS[kind], "revision": HEAD, "rows": written}
            (beside / MANIFEST).write_text(json.dumps(about, indent=2) + "\n", encoding="utf-8")
            if folder.exists():
                folder.rmdir()
            beside.rename(folder)
        finally:
            shutil.rmtree(beside, ignore_errors=True)
    except (OSError, ValueError) as problem:
        why = getattr(problem, "strerror", None) or "that is no name for a folder"
        raise PrepError(f"{folder}: cannot be written ({why}).") from None
    return CarriedRows(folder, written)


def import_(db: Path | None, folder: Path, watcher: Watcher = nobody) -> CarriedRows:
    """Make a new inventory of an exported folder, checked before it stands. Raises PrepError.

    There must be no inventory yet where it goes: nothing is written over.
    """
    from prep.store import check

    kind, wanted = _manifest(folder)
    with session.new_inventory(db) as connection:
        more = steps(watcher, sum(wanted.values()))
        got = {}
        for table in dump.tables():
            lines = table_dump.read(folder / f"{table.name}.{kind}", dump.fields(table))
            got[table.name] = dump.put(connection, table, lines, more)
        if got != wanted:
            short = next(name for name in got if got[name] != wanted[name])
            raise PrepError(f"{folder}: {short}.{kind} holds {got[short]} rows, but {MANIFEST} says {wanted[short]}.")
        seals.end_keys(connection)
        if found := check.check(connection):
            raise PrepError(f"{folder}: its books are not clean: {found[0].message} Nothing was imported.")
    return CarriedRows(folder, got)


def _manifest(folder: Path) -> tuple[str, dict[str, int]]:
    """Read the kind of the exported files, and how many rows each table has. Raises PrepError."""
    where = folder / MANIFEST
    refuse_no_file(where)
    try:
        about = json.loads(where.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        raise PrepError(f"{folder}: this is no exported inventory; there is no readable {MANIFEST} in it.") from None
    kinds = [k for k, said in FORMATS.items() if isinstance(about, dict) and about.get("format") == said]
    if not kinds:
        raise PrepError(f"{where}: this is no exported inventory of prep.")
    if about.get("revision") != HEAD:
        raise PrepError(
            f"{where}: exported at revision {str(about.get('revision'))[:20]}, and this version of prep knows {HEAD}; "
            "export it again with the same version."
        )
    rows = about.get("rows")
    names = {table.name for table in dump.tables()}
    if not isinstance(rows, dict) or rows.keys() != names or not all(type(n) is int for n in rows.values()):
        raise PrepError(f"{where}: it does not list this version's tables.")
    return kinds[0], {name: int(rows[name]) for name in rows}
