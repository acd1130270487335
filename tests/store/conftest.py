"""An inventory with one place, one substance and a few bottles, on each kind of database."""

from collections.abc import Iterator
from datetime import date

import pytest
from sqlalchemy import Engine

from prep.chemistry.model import Form, Substance
from prep.store import database as store
from prep.store import ledger, seeding
from tests.databases import create_tables, postgres, url

__all__ = ["postgres", "url"]

DAY = date(2027, 1, 4)


def row(code: str, balance: int = 0, **more: object) -> dict[str, object]:
    """A bottle's row."""
    fixed = {"item": "acid", "measure": "volume", "status": "in service", "location": "A", "lot": ""}
    return {"code": code, "balance": balance, **fixed, "made_by": "", "note": "", **more}


def fill_up(engine: Engine) -> None:
    """Places A and B; bottle V holds 1000 nL, W 500 nL; job 1."""
    with store.writing(engine) as connection:
        seeding.put_locations(connection, [("A", "Shelf A", 1, ""), ("B", "Shelf B", 2, "")])
        seeding.put_substances(connection, [Substance("acid", "Acid", "HCl", "acid", Form.AQUEOUS)])
        job = ledger.begin(connection, "opening", "Ada", DAY)
        ledger.load(connection, job, [row("V", 1000), row("W", 500)], "opening balance")


@pytest.fixture
def engine(url: str) -> Iterator[Engine]:
    """The small inventory."""
    opened = store.open_engine(url)
    create_tables(opened)
    fill_up(opened)
    yield opened
    opened.dispose()
