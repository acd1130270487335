"""Opening an inventory, for one job or one question; and the throw-away one of the sample school."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from prep.errors import PrepError

if TYPE_CHECKING:
    from sqlalchemy import Connection, Engine

    from prep.planning.model import Snapshot


def inventory(db: Path | None) -> "Engine":
    """The inventory's engine, brought up to date if it is older. Raises PrepError if there is none."""
    from prep.store.engine import open_engine, url_of
    from prep.store.migrate import bring_up

    engine = open_engine(url_of(db))
    try:
        bring_up(engine)
    except BaseException:
        engine.dispose()
        raise
    return engine


@contextmanager
def reading(db: Path | None) -> "Iterator[Connection]":
    """One consistent view of the inventory."""
    from prep.store import engine as store

    engine = inventory(db)
    try:
        with store.reading(engine) as connection:
            yield connection
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
    finally:
        engine.dispose()


def snapshot(db: Path | None, today: date) -> "Snapshot":
    """All that the plan may know of the inventory."""
    from prep.services.loading import load

    with reading(db) as connection:
        return load(connection, today)


@dataclass(frozen=True, slots=True)
class Sample:
    """The invented school, on its fixed dates."""

    snapshot: "Snapshot"
    start: date
    end: date


def sample() -> Sample:
    """The invented school of seed_data/school in a throw-away database."""
    from prep.resources import seed_data
    from prep.services import setting_up
    from prep.services.catalogue import read_catalogue
    from prep.services.loading import load
    from prep.services.school import read_school
    from prep.store import engine as store
    from prep.store.migrate import create_throw_away

    catalogue = read_catalogue(seed_data())
    school = read_school(seed_data() / "school", catalogue)
    if not (school.today and school.start and school.end):
        raise PrepError("settings.toml of the sample school must give today, from and to.")
    engine = store.open_engine(store.MEMORY)
    try:
        create_throw_away(engine)
        with store.writing(engine) as connection:
            setting_up.put_catalogue(connection, catalogue, school.calendar)
            setting_up.put_school(connection, school, catalogue, by="sample", on=school.today)
        with store.reading(engine) as connection:
            return Sample(load(connection, school.today), school.start, school.end)
    finally:
        engine.dispose()
