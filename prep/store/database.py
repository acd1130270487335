"""Opening a database: the pragmas, the transactions, and the sentences for what can go wrong.

One writer at a time, so that what is read inside a write is what is written on, and jobs are numbered in the order
in which they were done: on SQLite every write begins IMMEDIATE (the default begin lost updates in a trial with eight
writers, tests/store/test_processes.py), on PostgreSQL it takes one lock first. A second writer waits, then is told.
"""

import logging
import random
import sqlite3
import time
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, SQLAlchemyError
from sqlalchemy.pool import StaticPool

from prep.errors import NotWritable, PrepError
from prep.garbage_collection import collector_paused
from prep.resources import file_of, refuse_no_file
from prep.store import files
from prep.store.audit import seals
from prep.wording import AtTerminal, Flag, Sentence

BUSY_MS = 60_000  # eight programs that write without a pause on a loaded machine all come to their turn within it
IDLE_MS = 60_000  # a writer that is silent for so long loses its lock, so that others can write
KEPT, MOST = 2, 20  # connections to a server that one program keeps between jobs, and has at once
_FULL = ("too many clients", "connection slots", "too many connections")
FULL_S = 0.05  # how long a program waits before it asks a server again that takes no more connections
WRITERS = int.from_bytes(b"prep", "big")  # the number of the writers' lock
BUSY = "another process is writing and did not finish; try again in a moment."
DAMAGED = Sentence(
    "the database is damaged; restore a backup",
    AtTerminal(" with: prep db restore FILE, or save what is sound of it: prep db salvage FILE", "."),
)
FULL = "the server takes no more connections; try again in a moment."
LOST = Sentence(
    "the connection was lost; see what was still done", AtTerminal(", with: prep stock history", ", in the history.")
)
_NOT_WRITABLE = frozenset({"25006", "42501"})
_READ_ONLY = "the file is read-only; nothing was changed."
SQLSTATES = {
    "55P03": BUSY,
    "40001": BUSY,
    "40P01": BUSY,
    "25006": "the database is read-only; nothing was changed.",
    "42501": "this account may not do that on the server; nothing was changed.",
    "53100": "the disk is full; nothing was changed.",
}
"""What PostgreSQL refuses, by its code: its words are in the server's own language."""


def path_of(engine: Engine) -> Path | None:
    """Find the file that an engine opens; None for other databases and for memory.

    The URL's own text is not used: it quotes blanks and colons, and takes `?` for the end of the name.
    """
    database = engine.url.database
    return Path(database) if engine.dialect.name == "sqlite" and database and database != ":memory:" else None


def name_of(engine: Engine) -> str:
    """Name the database for a person: the file, or the URL without its password."""
    url = engine.url.set(drivername=engine.dialect.name).difference_update_query(["password"])
    return str(path_of(engine) or url.render_as_string(hide_password=True))


def open_engine(url: str) -> Engine:
    """Make an engine whose transactions begin as this program needs them. Nothing is opened yet.

    Raises PrepError for a URL that is none, or of a database this program does not speak to.
    """
    if not url.startswith("sqlite:"):
        return _other_engine(url)
    path = file_of(url)
    if path is not None:
        refuse_no_file(path)
    memory = path is None
    shared = path is not None and not files.is_writable(path)
    made: dict[str, Any] = {"poolclass": StaticPool} if memory else {}
    if path is not None and shared:
        made["creator"] = partial(files.open_to_read, path, BUSY_MS / 1000)
    engine = create_engine(
        URL.create("sqlite", database=None if path is None else str(path)),
        connect_args={"timeout": BUSY_MS / 1000, "check_same_thread": False},
        **made,
    )

    @event.listens_for(engine, "connect")
    def _connect(connection: Any, _: Any) -> None:
        connection.isolation_level = None  # else the driver begins by itself, too late and without IMMEDIATE
        cursor = connection.cursor()
        if path is not None and not shared:
            wanted = "delete" if files.is_on_network(path) else "wal"
            if cursor.execute("PRAGMA journal_mode").fetchone()[0] != wanted and not files.is_foreign(cursor):
                cursor.execute(f"PRAGMA journal_mode = {wanted}")
            cursor.execute("PRAGMA synchronous = FULL")
        cursor.execute("PRAGMA foreign_keys = ON")
        cursor.execute(f"PRAGMA busy_timeout = {BUSY_MS}")
        cursor.close()

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        write = connection.get_execution_options().get("write", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if write else "BEGIN")

    seals.watch(engine)
    return engine


def _other_engine(url: str) -> Engine:
    accepted = "accepted is sqlite:///FILE or postgresql://USER@HOST/DATABASE"
    try:
        parsed = make_url(url)
    except (ArgumentError, ValueError):
        raise PrepError(f"PREP_DATABASE_URL is no database's URL; {accepted}.") from None
    if parsed.get_backend_name() != "postgresql":
        kind = parsed.get_backend_name()
        raise PrepError(f'The URL names a "{kind}" database; {accepted}.')
    if parsed.drivername == "postgresql":  # psycopg 3, whichever driver this SQLAlchemy prefers
        parsed = parsed.set(drivername="postgresql+psycopg")
    try:
        engine = create_engine(parsed, pool_size=KEPT, max_overflow=MOST - KEPT, pool_timeout=BUSY_MS / 1000)
    except (ModuleNotFoundError, SQLAlchemyError):
        raise PrepError(
            "PostgreSQL needs its driver; in the folder that prep was installed from: pip install '.[postgresql]'"
        ) from None

    @event.listens_for(engine, "do_connect")
    def _wait(dialect: Any, _: Any, words: Any, named: Any) -> Any:
        """Ask a server again that takes no more connections: each is held for one job, and jobs are short."""
        end = time.monotonic() + BUSY_MS / 1000
        while True:
            try:
                return dialect.connect(*words, **named)
            except dialect.loaded_dbapi.OperationalError as problem:
                if not any(sign in str(problem) for sign in _FULL) or time.monotonic() > end:
                    raise
                time.sleep(FULL_S * (1 + random.random()))

    logging.getLogger("psycopg").addHandler(logging.NullHandler())  # else its warnings go to standard error as well

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        write = connection.get_execution_options().get("write", False)
        # A reader sees one moment. A writer must see what the one before it did while it waited for the lock.
        level = "READ COMMITTED" if write else "REPEATABLE READ"
        connection.exec_driver_sql(f"SET TRANSACTION ISOLATION LEVEL {level}")
        connection.exec_driver_sql(f"SET LOCAL lock_timeout = {BUSY_MS}")
        if write:
            connection.exec_driver_sql(f"SET LOCAL idle_in_transaction_session_timeout = {IDLE_MS}")
            # One lock a school: the schools of a group, each in its schema, never wait for one another.
            connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({WRITERS}, hashtext(current_schema()))")

    seals.watch(engine)
    return engine


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """Open a transaction that sees one moment of the books and writes nothing."""
    with sentences(engine), engine.connect() as connection, connection.begin():
        yield connection


@contextmanager
def writing(engine: Engine, jobs: list[int] | None = None) -> Iterator[Connection]:
    """Open the transaction of one job: all of it is written or, where anything is raised, none of it.

    The numbers of the jobs that it did are added to `jobs`.
    """
    seals.prepare()
    with (
        sentences(engine),
        collector_paused(),  # else others wait for the lock while the garbage collector runs
        engine.connect().execution_options(write=True) as connection,
        connection.begin(),
    ):
        seals.start(connection)
        yield connection
        done = seals.finish(connection)
    if jobs is not None:
        jobs += done


@contextmanager
def sentences(engine: Engine) -> Iterator[None]:
    """Turn what the database says into one sentence that names the file."""
    where = name_of(engine)
    try:
        yield
    except DBAPIError as error:
        if error.connection_invalidated:
            raise PrepError(f"{where}: ", LOST) from error
        raise _problem(error.orig, where) from error
    except UnicodeDecodeError as error:  # the driver's message quotes a damaged file, and may be no text
        raise PrepError(_sentence(sqlite3.DatabaseError("malformed"), where)) from error
    except SQLAlchemyError as error:
        raise PrepError(f"{where}: the database cannot be used ({type(error).__name__}).") from error
    except sqlite3.Error as error:
        raise _problem(error, where) from error


def _problem(error: BaseException | None, where: str) -> PrepError:
    """Make the error of what the database says; that nothing may be written has a class of its own."""
    said = str(error).lower()
    barred = getattr(error, "sqlstate", None) in _NOT_WRITABLE or "readonly" in said or "read-only" in said
    return (NotWritable if barred else PrepError)(_sentence(error, where))


def _sentence(error: BaseException | None, where: str) -> str:
    if sentence := SQLSTATES.get(getattr(error, "sqlstate", None) or ""):
        return Sentence(f"{where}: ", sentence)
    said = str(error)
    low = said.lower()
    for sign, sentence in (
        (
            "file is not a database",
            Sentence("this file is no inventory of prep; give another with ", Flag("--db"), "."),
        ),
        ("malformed", DAMAGED),
        ("disk image", DAMAGED),
        *((sign, FULL) for sign in _FULL),
        ("locked", BUSY),
        ("readonly", _READ_ONLY),
        ("read-only", _READ_ONLY),
        ("disk is full", "the disk is full; nothing was changed."),
        ("no space left", "the disk is full; nothing was changed."),
        ("unable to open", "the file cannot be opened; check the folder and your rights."),
        ("disk i/o", "the disk cannot be read or written; nothing was changed."),
        ("balance_not_below_zero", "a bottle cannot hold less than nothing; nothing was changed."),
        ("append-only", Sentence("the ledger is append-only", AtTerminal("; use: prep stock undo", "."))),
        ("sealed", "a job that is done takes no more lines; record it anew."),
        ("no such table", Sentence("this file is no inventory of prep", AtTerminal("; make one with: prep init", "."))),
    ):
        if sign in low:
            return Sentence(f"{where}: ", sentence)
    return f"{where}: the database refused ({said.splitlines()[0][:200] if said else type(error).__name__})."
