"""Make-ahead days: how long before its booking a solution is to stand ready."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import timedelta

from prep.planning.requirements import Demand
from prep.planning.workdays import Workdays


def made_ahead(demands: Iterable[Demand], days: Workdays, ahead: int) -> list[Demand]:
    """The demands, ready by the last working day that is at least `ahead` days before they are needed.

    What is made on the day itself stays there.
    """
    out = []
    for demand in demands:
        if ahead > 0 and demand.ready_by < demand.needed_on:
            ready = days.last_to(demand.needed_on - timedelta(days=ahead))
            if ready is not None and ready < demand.ready_by:
                demand = replace(demand, ready_by=ready)
        out.append(demand)
    return out
