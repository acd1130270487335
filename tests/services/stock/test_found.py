"""A bottle that turns up on any day: known, not on file, or without a label."""

import pytest

from prep.errors import PrepError
from prep.services.inventory import session
from prep.services.stock import listing
from prep.services.stock.found import FoundBottle, found
from prep.store.check import check
from tests.days import act
from tests.services.conftest import DAY

pytestmark = pytest.mark.usefixtures("inventory")
ACT = act("Ada", DAY)


def test_what_is_on_file_is_in_service_at_its_own_strength() -> None:
    held = found(None, FoundBottle("nitric acid", "200 mL", "ACID", "behind the sink", "70 % w/w"), ACT)
    assert (held.item, held.status, held.strength) == ("nitric-acid", "in service", "70 % w/w")


def test_what_nobody_can_name_is_on_the_books_and_not_used() -> None:
    one = found(None, FoundBottle(None, "250 g", "PREP", "white powder, label gone"), ACT)
    other = found(None, FoundBottle("Zapf's reagent", "100 mL", "PREP"), ACT)
    assert {one.status, other.status} == {"quarantine"}
    assert one.item != other.item
    assert "white powder" in one.name
    assert "Zapf's reagent" in other.name
    assert listing.list_stock(None, other.item, None, False, None)[0].code == other.code
    with session.reading(None) as connection:
        assert check(connection) == []
    with pytest.raises(PrepError, match="Say what"):
        found(None, FoundBottle(None, "250 g", "PREP"), ACT)
