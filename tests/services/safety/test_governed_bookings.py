"""What a rule of the school may be about in an item: never less than what is found in it."""

from datetime import date
from decimal import Decimal

import pytest

from prep.chemistry.model import Strength, StrengthKind
from prep.planning.model import Booking, Calendar, Snapshot
from prep.resources import seed_data
from prep.safety.school_rules import SchoolRule
from prep.services.catalogue.seed import read_catalogue
from prep.services.safety.governed_bookings import governed, held_in, uses_of_item

CATALOGUE = read_catalogue(seed_data())


@pytest.mark.parametrize("item", sorted(CATALOGUE.solutions))
def test_all_that_is_found_in_a_solution_is_looked_for(item: str) -> None:
    named = {one for use in uses_of_item("It", item, CATALOGUE) for one in (use.item, *use.solutes)}
    assert len(named) > 1
    assert named <= held_in(item, CATALOGUE, {})


def test_a_rule_about_what_is_in_a_recipe_of_a_recipe_bars_the_booking() -> None:
    """Fehling's solution is of two stocks, one of which is of sodium hydroxide."""
    barred = SchoolRule("sodium-hydroxide", Strength(Decimal("0.001"), StrengthKind.PCT_W_W))
    other = SchoolRule("potassium-chlorate", None)
    booking = Booking("B1", date(2027, 1, 13), "P1", "S1", "", "", 1, item="fehling")
    snapshot = Snapshot(
        date(2027, 1, 11), CATALOGUE, {}, (booking,), (), (), {}, CATALOGUE.instruments, Calendar(minutes_per_day=240)
    )
    left = governed(snapshot, [barred], ())
    assert not left.bookings
    assert [one.code for one in left.noticed] == ["too-strong"]
    assert governed(snapshot, [other], ()).bookings == (booking,)
