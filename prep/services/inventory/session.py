"""Opens an inventory, for one job or one question."""

import base64
import secrets
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from contextvars import ContextVar
from dataclasses import dataclass, replace
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from prep.errors import PrepError, Refused
from prep.resources import url_of
from prep.services.input import jobs_done
from prep.services.input.act import Act
from prep.wording import AtTerminal

if TYPE_CHECKING:
    from sqlalchemy import Connection, Engine


Decided = TypeVar("Decided")
Posted = TypeVar("Posted")
_OPEN: "dict[str, Engine]" = {}
"""Engines that stay open between jobs, by their URL: those of a server, and of a job that is worked out first."""


@contextmanager
def held_open(db: Path | None) -> Iterator[None]:
    """Keep the inventory's engine open between jobs: statements are then put together once. Raises PrepError."""
    url = url_of(db)
    if url in _OPEN:
        yield
        return
    engine = inventory(db)
    _OPEN[url] = engine
    try:
        yield
    finally:
        if _OPEN.get(url) is engine:
            del _OPEN[url]
        engine.dispose()


def _done(engine: "Engine") -> None:
    if engine not in _OPEN.values():
        engine.dispose()


@dataclass
class SentForm:
    """A form as it was sent: its mark is written with the first job that it does, so that it is done once.

    `still` is asked within that job and raises Refused where what the form was filled in for has changed since.
    `seed` is of 32 bytes that nobody guesses, the same whenever this form is sent; empty where it makes no secret.
    """

    mark: str
    still: "Callable[[Connection], None]" = lambda _: None
    seed: bytes = b""
    done: bool = False


class SentBefore(Refused):
    """The same form was sent, and done, before."""


_SENT: "ContextVar[SentForm | None]" = ContextVar("sent", default=None)


@contextmanager
def sent_once(sent: SentForm) -> Iterator[None]:
    """Let what is written inside be one form's: once, and only while `still` holds. Raises SentBefore."""
    token = _SENT.set(sent)
    try:
        yield
    finally:
        _SENT.reset(token)


def draw_secret(size: int) -> str:
    """Draw the secret of a link or a key, of so many bytes (32 at most).

    It is kept nowhere and shown in one answer: drawn from the form's seed, a second press can show it again.
    """
    sent = _SENT.get()
    drawn = sent.seed[:size] if sent and sent.seed else secrets.token_bytes(size)
    return base64.urlsafe_b64encode(drawn).rstrip(b"=").decode()


_LOOKING: "ContextVar[Connection | None]" = ContextVar("looking", default=None)
"""The job within which `still` reads: on its connection, as those that wait for the lock may hold every other."""


def _mark(connection: "Connection") -> None:
    sent = _SENT.get()
    if sent is None or sent.done:
        return
    from prep.store.ledger import now
    from prep.store.people import accounts

    if accounts.sent(connection, sent.mark):
        raise SentBefore("This was sent before; it is done once.")
    looking = _LOOKING.set(connection)
    try:
        sent.still(connection)
    finally:
        _LOOKING.reset(looking)
    accounts.mark_sent(connection, sent.mark, now())
    sent.done = True


@dataclass
class MarkedJob:
    """What is written down with the next job, in the same transaction: `mark` is told its number.

    `still` is asked before it and raises Refused where it must not be done any more.
    """

    mark: "Callable[[Connection, int], None]"
    still: "Callable[[Connection], None]" = lambda _: None
    job: int | None = None


_MARKED: "ContextVar[MarkedJob | None]" = ContextVar("marked", default=None)


@contextmanager
def marking(marked: MarkedJob) -> Iterator[MarkedJob]:
    """Write a mark with the first job that is done inside: both happen or, if anything is raised, neither."""
    token = _MARKED.set(marked)
    try:
        yield marked
    finally:
        _MARKED.reset(token)


@contextmanager
def _marked(connection: "Connection") -> Iterator[None]:
    marked = _MARKED.get()
    if marked is None or marked.job is not None:
        yield
        return
    from prep.store.audit import seals

    before = seals.newest_job(connection)
    marked.still(connection)
    yield
    if (job := seals.next_job(connection, before)) is not None:
        marked.mark(connection, job)
        marked.job = job


def inventory(db: Path | None) -> "Engine":
    """Open the inventory's engine, brought up to date if it is older. Raises PrepError if there is none."""
    from prep.store.database import open_engine
    from prep.store.migrate import bring_up

    if kept := _OPEN.get(url_of(db)):
        return kept
    engine = open_engine(url_of(db))
    try:
        bring_up(engine)
    except BaseException:
        engine.dispose()
        raise
    return engine


_TO_MAKE = ("alembic.command", "alembic.config", "prep.store.guards", "sqlalchemy.dialects.postgresql")
"""What makes the tables: imported before the lock is held."""


@contextmanager
def new_inventory(db: Path | None) -> "Iterator[Connection]":
    """Make a new inventory with its tables, to be filled: all of it or, if anything is raised, nothing.

    Raises PrepError if something is there already.
    """
    from prep.store import database as store
    from prep.store import migrate

    for module in _TO_MAKE:
        import_module(module)
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
            if path is not None and not path.exists():  # another process made it, failed, and removed it
                raise PrepError(f"{path}: {store.BUSY}")
            migrate.make(connection)
            try:
                yield connection
            except BaseException:
                if path is not None and new:  # removed under the lock, so that nobody else's file is
                    _remove(path)
                raise
    finally:
        engine.dispose()


def _remove(path: Path) -> None:
    for name in (path.name, f"{path.name}-wal", f"{path.name}-shm"):
        with suppress(OSError):  # Windows keeps an open file: it then stays, empty
            path.with_name(name).unlink()


UNREADABLE = (ValueError, KeyError, TypeError, AttributeError, ArithmeticError, AssertionError)
"""What reading a damaged row ends in, where SQLite itself saw nothing wrong."""


@contextmanager
def reading(db: Path | None) -> "Iterator[Connection]":
    """Open one consistent view of the inventory."""
    if (within := _LOOKING.get()) is not None:
        yield within
        return
    from prep.store import database as store

    engine = inventory(db)
    try:
        with store.reading(engine) as connection:
            yield connection
    except UNREADABLE as error:
        _autopsy(engine, error)
        raise
    finally:
        _done(engine)


@contextmanager
def writing(db: Path | None, *uses: str) -> "Iterator[Connection]":
    """Open one job on the inventory: all of it is written or, if anything is raised, nothing.

    `uses` are modules that the job needs and no start-up loads: they are imported before the lock is held.
    """
    from prep.store import database as store
    from prep.store.school import schemas  # noqa: F401  imported before the lock is held

    for module in uses:
        import_module(module)
    engine, jobs = inventory(db), list[int]()
    try:
        with store.writing(engine, jobs) as connection:
            _mark(connection)
            with _marked(connection):
                yield connection
        jobs_done.note(jobs)
    except UNREADABLE as error:
        _autopsy(engine, error)
        raise
    finally:
        _done(engine)


def signed(connection: "Connection", act: Act) -> Act:
    """Put on an act who does it as the books have it: on a server with roles the login, whatever the program says."""
    from prep.store.school.schemas import login_of

    login = login_of(connection)
    return act if login is None else replace(act, by=login)


def worked_out(
    db: Path | None,
    work: "Callable[[Connection], Decided]",
    post: "Callable[[Connection, Decided], Posted]",
    *uses: str,
) -> "Posted":
    """Work out a slow job in a reading, and post it under the lock.

    Where somebody wrote in between, it is worked out again under the lock, on what is there then.
    """
    from prep.store.audit import seals

    with held_open(db):
        with reading(db) as connection:
            before, decided = seals.newest_job(connection), work(connection)
        with writing(db, *uses) as connection:
            if seals.newest_job(connection) != before:
                decided = work(connection)
            return post(connection, decided)


def _autopsy(engine: "Engine", error: Exception) -> None:
    """Check whether an error came from a damaged file, and not from this program. Raises PrepError if so."""
    from prep.store import check
    from prep.store import database as store

    with store.reading(engine) as connection:
        found = check.check(connection)
    if found:
        cure = AtTerminal("prep db restore FILE") if store.path_of(engine) else "your database server's own backup"
        raise PrepError(
            f"{store.name_of(engine)}: the database is damaged ({found[0].message}) Restore a backup",
            AtTerminal(f" with: {cure}", "."),
        ) from error
