"""Lots as a person makes and sets them out: no need from two batches where one does."""

from datetime import date, timedelta

from prep.chemistry.catalogue import Catalogue
from prep.planning.engine.lots import Lots, lots
from prep.planning.engine.requirements import Demand, DemandPart
from prep.planning.model import Calendar
from prep.planning.workdays import Workdays

ML = 1_000_000
TODAY = date(2027, 1, 11)
DAYS = Workdays(Calendar(), TODAY - timedelta(days=30), TODAY + timedelta(days=120))


def made(catalogue: Catalogue, *wanted: tuple[str, int, int]) -> Lots:
    """The lots of iron(II) sulfate, which keeps for a fortnight, for (id, mL, days from today)."""
    solution = catalogue.solutions["feso4-0.1"]
    parts = []
    for ref, amount, after in wanted:
        on = TODAY + timedelta(days=after)
        ready = DAYS.last_before(on)
        assert ready is not None
        parts.append(DemandPart(Demand(ref, solution.code, on, ready, amount * ML), amount * ML))
    sizes = tuple(size * ML for size in (50, 120, 500))
    return lots(parts, solution, sizes, DAYS, TODAY, {})


def served(found: Lots) -> list[list[tuple[str, int]]]:
    return [[(part.demand.id, part.amount // ML) for part in lot.serves] for lot in found.made]


def test_a_need_is_served_whole_by_a_batch_that_has_the_room(catalogue: Catalogue) -> None:
    """Not 4 mL of 27 out of what the batch before leaves over; common practice, no source."""
    found = made(catalogue, ("B1", 116, 4), ("B2", 27, 15), ("B3", 470, 24))
    assert served(found) == [[("B1", 116)], [("B2", 27), ("B3", 470)]]
    assert [lot.amount // ML for lot in found.made] == [120, 500]


def test_a_need_is_shared_where_no_batch_has_the_room(catalogue: Catalogue) -> None:
    found = made(catalogue, ("B1", 400, 8), ("B2", 300, 14), ("B3", 300, 15))
    assert served(found) == [[("B1", 400), ("B2", 100)], [("B2", 200), ("B3", 300)]]


def test_of_equal_days_the_smaller_number_comes_first(catalogue: Catalogue) -> None:
    """As codes are counted elsewhere: B2 before B10."""
    found = made(catalogue, ("B10", 400, 8), ("B2", 400, 8))
    assert next(ref for lot in served(found) for ref, _ in lot) == "B2"
