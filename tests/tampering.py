"""Copies of an inventory that somebody bent: one cell, row, trigger, index or page, by a drawing of lots."""

import random
import sqlite3
import tempfile
from collections.abc import Callable
from contextlib import closing
from datetime import date
from pathlib import Path

from prep.errors import PrepError
from prep.services.inventory import backup, session
from prep.services.people import people, sign_in
from prep.services.people.sign_in import Device
from prep.store.audit.logged_records import PASSING
from prep.store.day import lines
from prep.store.day.lines import StoredLine

MEND = "UPDATE bottle SET balance = (SELECT coalesce(sum(amount), 0) FROM movement WHERE bottle = code)"
Bend = Callable[[sqlite3.Connection, random.Random], str]


def books(path: Path) -> Path:
    """Build an inventory that was worked with, and that people came in to, as one file."""
    from tests.store.test_stored import STORED, build

    build(STORED[-1], path)
    backup.upgrade(path)
    first = people.invite(path, "Ada", ["office", "technician"], "root")
    sign_in.accept(path, first.secret, "four words that do not rhyme", Device("tablet", "10.0.0.7"))
    people.invite(path, "Ben", ["teacher"], "Ada", "10.0.0.7")
    people.set_pin(path, first.person, "4826")
    for name in ("till", "gate"):
        people.new_token(path, first.person, name, ["read"], "Ada", "10.0.0.7")
    printed = [StoredLine(f"make {name}", "make", f"1 L of {name}") for name in ("saline", "brine")]
    with session.writing(path) as connection:
        lines.put(connection, date(2027, 1, 11), printed)
        lines.put(connection, date(2027, 1, 12), printed[:1])
    with closing(sqlite3.connect(path)) as raw:
        raw.execute("PRAGMA journal_mode = DELETE")
        raw.execute("VACUUM")
    return path


def tampered(source: Path, to: Path, seed: int) -> str:
    """Copy an inventory and bend it, its balances mended by half of the seeds; returns what was done."""
    to.write_bytes(source.read_bytes())
    draw = random.Random(seed)
    if seed % 10 == 9:
        return _page(to, draw)
    with closing(sqlite3.connect(to, isolation_level=None)) as raw:
        raw.execute("PRAGMA foreign_keys = OFF")
        triggers = _without_triggers(raw)
        bend = draw.choice([_cell, _cell, _cell, _row, _row, _copied, _trigger, _index])
        if bend is _trigger:
            _back(raw, triggers)
            return _trigger(raw, draw)
        did = bend(raw, draw)
        if seed % 2:
            try:
                raw.execute(MEND)
                did += ", balances mended"
            except sqlite3.Error:
                pass
        _back(raw, triggers)
        return did


def said(path: Path) -> list[str]:
    """What the check names; the sentence, where the file cannot be read at all."""
    try:
        return [finding.message for finding in backup.check(path)]
    except PrepError as problem:
        return [str(problem)]


def _without_triggers(raw: sqlite3.Connection) -> list[str]:
    found = raw.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
    for name, _ in found:
        raw.execute(f"DROP TRIGGER {name}")
    return [sql for _, sql in found]


def _back(raw: sqlite3.Connection, triggers: list[str]) -> None:
    for sql in triggers:
        raw.execute(sql)


def _table(raw: sqlite3.Connection, draw: random.Random) -> str:
    names = [
        name
        for (name,) in raw.execute("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name").fetchall()
        if name not in PASSING and raw.execute(f'SELECT 1 FROM "{name}" LIMIT 1').fetchone()
    ]
    return draw.choice(names)


def _some_row(raw: sqlite3.Connection, table: str, draw: random.Random) -> int:
    numbers = [number for (number,) in raw.execute(f'SELECT rowid FROM "{table}"')]
    return draw.choice(numbers)


def _cell(raw: sqlite3.Connection, draw: random.Random) -> str:
    while True:
        table = _table(raw, draw)
        number = _some_row(raw, table, draw)
        columns = [row[1] for row in raw.execute(f'PRAGMA table_info("{table}")')]
        column = draw.choice(columns)
        (old,) = raw.execute(f'SELECT "{column}" FROM "{table}" WHERE rowid = ?', (number,)).fetchone()
        if isinstance(old, int):
            new: object = draw.choice([old + 1, old - 1, old * 10, None, 0, f"{old}x"])
        else:
            new = draw.choice(["", None, "x", f"{old}1", (old or "ab")[:-1]])
        if new == old:
            continue
        try:
            raw.execute(f'UPDATE OR ABORT "{table}" SET "{column}" = ? WHERE rowid = ?', (new, number))
        except sqlite3.Error:
            continue
        return f"{table}.{column} of row {number}: {old!r} -> {new!r}"


def _row(raw: sqlite3.Connection, draw: random.Random) -> str:
    table = _table(raw, draw)
    number = _some_row(raw, table, draw)
    raw.execute(f'DELETE FROM "{table}" WHERE rowid = ?', (number,))
    return f"{table}: row {number} deleted"


def _copied(raw: sqlite3.Connection, draw: random.Random) -> str:
    """A row once more, under another key."""
    while True:
        table = _table(raw, draw)
        info = raw.execute(f'PRAGMA table_info("{table}")').fetchall()
        key = next((row[1] for row in info if row[5] == 1), None)
        if key is None:
            continue
        columns = [row[1] for row in info]
        number = _some_row(raw, table, draw)
        shown = ", ".join("?" if column == key else f'"{column}"' for column in columns)
        (old,) = raw.execute(f'SELECT "{key}" FROM "{table}" WHERE rowid = ?', (number,)).fetchone()
        new = draw.randrange(10_000, 20_000) if isinstance(old, int) else f"{old}2"
        names = ", ".join(f'"{column}"' for column in columns)
        try:
            raw.execute(f'INSERT INTO "{table}" ({names}) SELECT {shown} FROM "{table}" WHERE rowid = ?', (new, number))
        except sqlite3.Error:
            continue
        return f"{table}: row {number} copied as {new!r}"


def _trigger(raw: sqlite3.Connection, draw: random.Random) -> str:
    found = raw.execute("SELECT name, sql, tbl_name FROM sqlite_master WHERE type = 'trigger' ORDER BY name").fetchall()
    name, sql, table = draw.choice(found)
    way = draw.randrange(3)
    if way < 2:
        raw.execute(f"DROP TRIGGER {name}")
    if way == 1:
        raw.execute(f"{sql[: sql.index('BEGIN')]}BEGIN SELECT 1; END")
    if way == 2:
        raw.execute(f"CREATE TRIGGER quiet_{draw.randrange(99)} AFTER INSERT ON {table} BEGIN SELECT 1; END")
    return f"trigger {name}: {('dropped', 'emptied', 'another beside it')[way]}"


def _index(raw: sqlite3.Connection, draw: random.Random) -> str:
    found = raw.execute(
        "SELECT name, tbl_name FROM sqlite_master WHERE type = 'index' AND sql IS NOT NULL ORDER BY name"
    ).fetchall()
    name, table = draw.choice(found)
    raw.execute(f"DROP INDEX {name}")
    if draw.randrange(2):
        column = draw.choice([row[1] for row in raw.execute(f'PRAGMA table_info("{table}")')])
        raw.execute(f'CREATE INDEX {name} ON "{table}" ("{column}" DESC)')
        return f"index {name}: of another column"
    return f"index {name}: dropped"


def _page(path: Path, draw: random.Random) -> str:
    """A page overwritten as a whole, its bytes those of another page, nothing, or noise."""
    size = 4096
    content = bytearray(path.read_bytes())
    page = draw.randrange(len(content) // size)
    way = draw.randrange(3)
    other = draw.randrange(len(content) // size)
    new = (bytes(size), draw.randbytes(size), bytes(content[other * size : (other + 1) * size]))[way]
    if new == bytes(content[page * size : (page + 1) * size]):
        new = bytes(size)
    content[page * size : (page + 1) * size] = new
    path.write_bytes(content)
    return f"page {page}: {('empty', 'noise', f'that of page {other}')[way]}"


def bench(copies: int) -> bool:
    """Bend so many copies of a stored inventory; returns whether the check named every one."""
    with tempfile.TemporaryDirectory() as folder:
        whole = books(Path(folder) / "books.db")
        missed = 0
        for seed in range(copies):
            path = Path(folder) / f"{seed}.db"
            did = tampered(whole, path, seed)
            if not said(path):
                missed += 1
                print(f"missed: {did}")
            for end in ("", "-wal", "-shm"):
                path.with_name(path.name + end).unlink(missing_ok=True)
    print(f"{copies} bent copies, {missed} missed")
    return missed == 0
