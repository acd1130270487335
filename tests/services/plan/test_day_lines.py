"""A line of the day is logged by the job that does it, once, and by no other."""

import pytest
from sqlalchemy import text

from prep.chemistry.quantities import BASE_PER_UNIT
from prep.services.inventory import backup, session
from prep.services.plan import day_lines
from prep.services.stock import orders
from prep.store.day import lines
from prep.store.day.lines import StoredLine
from tests.days import act
from tests.services.conftest import DAY

pytestmark = pytest.mark.usefixtures("inventory")
ACT = act("Ada", DAY)


def placed(packs: int = 1, pack: str = "500 g") -> int:
    with day_lines.logging_order(DAY) as marked:
        orders.placed(None, orders.OrderRequest("sodium-hydroxide", packs, pack), ACT)
    assert marked.job is not None
    return marked.job


def test_the_newest_of_many_orders_logs_its_line_and_the_next_leaves_it() -> None:
    """The order after the ninth has two figures in its code, and is later than those of one."""
    for _ in range(10):
        placed(pack="1 kg")
    key = f"order sodium-hydroxide {500 * BASE_PER_UNIT}"
    with session.writing(None) as connection:
        lines.put(connection, DAY, [StoredLine(key, "order", "order 1 x 500 g of sodium hydroxide")])
    first = placed()
    assert [line.job for line in day_lines.listed(None, DAY)] == [first]
    placed()
    assert [line.job for line in day_lines.listed(None, DAY)] == [first]


BENDS = (
    "UPDATE day_line SET logged = NULL WHERE number = 1",
    "UPDATE day_line SET says = 'make 2 L' WHERE number = 2",
    "DELETE FROM day_line WHERE number = 2",
    "DELETE FROM day_line",
    "DELETE FROM day_seal",
    "UPDATE day_seal SET digest = 'x'",
    "UPDATE day_seal SET day = '2027-01-12'",
)


@pytest.mark.parametrize("statement", BENDS)
def test_who_bends_the_lines_of_a_day_is_named(statement: str) -> None:
    """Two lines, one of them logged: no job logs what is printed, so the day has a digest of its own."""
    key = f"order sodium-hydroxide {500 * BASE_PER_UNIT}"
    with session.writing(None) as connection:
        lines.put(connection, DAY, [StoredLine(key, "order", "order 1 x 500 g"), StoredLine("make b", "make", "1 L")])
    placed()
    assert backup.check(None) == []
    with session.writing(None) as connection:
        connection.execute(text(statement))
    assert {found.code for found in backup.check(None)} == {"day-line"}


def test_a_day_that_is_numbered_anew_ahead_of_it_is_sealed_anew() -> None:
    with session.writing(None) as connection:
        lines.put(connection, DAY, [StoredLine("make a", "make", "1 L"), StoredLine("make b", "make", "2 L")])
        lines.put(connection, DAY, [StoredLine("make b", "make", "2 L")], ahead=True)
    assert backup.check(None) == []
    with session.writing(None) as connection:
        lines.put(connection, DAY, [], ahead=True)
    assert backup.check(None) == []
