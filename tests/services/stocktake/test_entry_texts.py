"""What a person writes down at a count: how exact a figure is, a bare amount, a misspelt place."""

from decimal import Decimal

import pytest

from prep.errors import PrepError
from prep.services.stock.places import place_named
from prep.services.stocktake.entry import is_amount
from prep.services.stocktake.notation import written_within_pct

PLACES = {"PREP": "Prep room", "ACID": "Acid cupboard", "SALTA": "Salts left", "SALTB": "Salts right"}


@pytest.mark.parametrize(
    ("written", "pct"),
    [
        ("940.1 g", "1"),  # weighed: its last figure is a tenth of a gram
        ("940 g", "1.1"),
        ("480 g", "2.1"),
        ("500 g", "5"),  # a round figure is as good as a guess
        ("500.0 g", "1"),
        ("0.94 kg", "1.1"),
        ("1.5 kg", "5"),
        ("337 g", "1"),
    ],
)
def test_a_mass_is_as_exact_as_the_last_figure_written_of_it(written: str, pct: str) -> None:
    assert written_within_pct(written) == Decimal(pct)


def test_an_amount_alone_is_no_item() -> None:
    assert is_amount("30 g")
    assert is_amount("about 250 mL") is False
    assert is_amount("sodium chloride") is False


def test_a_place_with_a_slip_is_asked_for() -> None:
    assert place_named(PLACES, "acid cupboard") == "ACID"
    with pytest.raises(PrepError, match=r"is it ACID \(Acid cupboard\)\?"):
        place_named(PLACES, "Acid cuboard")
    with pytest.raises(PrepError, match="is no location; there are PREP, ACID, SALTA, SALTB"):
        place_named(PLACES, "SALTC")
    with pytest.raises(PrepError, match="is no location; there are S3"):
        place_named({"S3": "Shelf 3"}, "Shelf 4")
