"""The whole inventory out as plain files, one of JSON lines a table, and in again, equal."""

import json
import os
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from prep.errors import PrepError
from prep.services import session

MANIFEST = "prep.json"
FORMAT = "prep inventory, JSON lines"
_CHUNK = 1_000_000  # bytes read at once, about
Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class Carried:
    """What was written or read: rows by table."""

    where: Path
    rows: dict[str, int]


def export(db: Path | None, folder: Path, progress: Progress = lambda _, __: None) -> Carried:
    """Write every table to `folder`, which is made; whole or not at all. Raises PrepError."""
    from prep.store import carrying
    from prep.store.migrate import HEAD

    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise PrepError(f"{folder}: is there already and not empty; name a new folder.")
    beside = folder.with_name(f".{folder.name}.{os.getpid()}.part")
    try:
        beside.mkdir(parents=True)
        try:
            written: dict[str, int] = {}
            with session.reading(db) as connection:
                total, done = carrying.count(connection), 0
                for table in carrying.tables():
                    with (beside / f"{table.name}.jsonl").open("w", encoding="utf-8", newline="\n") as file:
                        number = 0
                        for number, row in enumerate(carrying.rows(connection, table), 1):  # noqa: B007
                            file.write(json.dumps(row, ensure_ascii=False) + "\n")
                        written[table.name] = number
                    done += number
                    progress(done, total)
            about = {"format": FORMAT, "revision": HEAD, "rows": written}
            (beside / MANIFEST).write_text(json.dumps(about, indent=2) + "\n", encoding="utf-8")
            if folder.exists():
                folder.rmdir()
            beside.rename(folder)
        finally:
            shutil.rmtree(beside, ignore_errors=True)
    except (OSError, ValueError) as problem:
        why = getattr(problem, "strerror", None) or "that is no name for a folder"
        raise PrepError(f"{folder}: cannot be written ({why}).") from None
    return Carried(folder, written)


def import_(db: Path | None, folder: Path, progress: Progress = lambda _, __: None) -> Carried:
    """Make a new inventory of an exported folder, checked before it stands. Raises PrepError.

    There must be no inventory yet where it goes: nothing is written over.
    """
    from prep.store import carrying, check

    wanted = _manifest(folder)
    with session.new_inventory(db) as connection:
        done = 0
        total = sum(wanted.values())

        def told(more: int) -> None:
            nonlocal done
            done += more
            progress(done, total)

        got = {
            table.name: carrying.put(connection, table, _lines(folder, table.name), told) for table in carrying.tables()
        }
        if got != wanted:
            short = next(name for name in got if got[name] != wanted[name])
            raise PrepError(f"{folder}: {short}.jsonl holds {got[short]} rows, but {MANIFEST} says {wanted[short]}.")
        if found := check.check(connection):
            raise PrepError(f"{folder}: its books are not clean: {found[0].message} Nothing was imported.")
    return Carried(folder, got)


def _manifest(folder: Path) -> dict[str, int]:
    from prep.store import carrying
    from prep.store.migrate import HEAD

    where = folder / MANIFEST
    try:
        about = json.loads(where.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        raise PrepError(f"{folder}: this is no exported inventory; there is no readable {MANIFEST} in it.") from None
    if not isinstance(about, dict) or about.get("format") != FORMAT:
        raise PrepError(f"{where}: this is no exported inventory of prep.")
    if about.get("revision") != HEAD:
        raise PrepError(
            f"{where}: exported at revision {str(about.get('revision'))[:20]}, and this version of prep knows {HEAD}; "
            "export it again with the same version."
        )
    rows = about.get("rows")
    names = {table.name for table in carrying.tables()}
    if not isinstance(rows, dict) or rows.keys() != names or not all(type(n) is int for n in rows.values()):
        raise PrepError(f"{where}: it does not list this version's tables.")
    return {name: int(rows[name]) for name in rows}


def _lines(folder: Path, name: str) -> Iterator[dict[str, Any]]:
    path = folder / f"{name}.jsonl"
    try:
        with path.open(encoding="utf-8", newline="\n") as file:
            first = 1
            while lines := file.readlines(_CHUNK):
                yield from _rows(path.name, first, lines)
                first += len(lines)
    except UnicodeDecodeError:
        raise PrepError(f"{path.name}: not UTF-8 text.") from None
    except OSError as problem:
        raise PrepError(f"{path}: {problem.strerror or 'cannot be read'}.") from None


def _rows(name: str, first: int, lines: list[str]) -> list[dict[str, Any]]:
    """The rows of some lines, parsed together; one by one only to name the line that is none."""
    try:
        rows = json.loads(f"[{','.join(lines)}]")
        if len(rows) == len(lines) and all(type(row) is dict for row in rows):
            return list(rows)
    except (ValueError, RecursionError):
        pass
    rows = []
    for number, line in enumerate(lines, first):
        try:
            row = json.loads(line)
        except (ValueError, RecursionError):
            raise PrepError(f"{name}, row {number}: this is no line of JSON.") from None
        if type(row) is not dict:
            raise PrepError(f"{name}, row {number}: this is no row of a table.")
        rows.append(row)
    return rows
