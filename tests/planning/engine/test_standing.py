"""What stands before it is used is made that many days ahead, or a finding says that it cannot be."""

from dataclasses import replace
from datetime import date, timedelta

from prep.planning.model import Bottle, Horizon, Plan
from prep.planning.plan import make_plan
from prep.services.catalogue.on_file import OnFile
from tests.planning.test_plan import school

TODAY = date(2027, 1, 11)
LIME = Bottle("K1", "calcium-hydroxide", 100_000_000)


def _plan(catalogue: OnFile, on: date) -> Plan:
    stock = school(catalogue, LIME, item="limewater", per=100, on=((on - TODAY).days,))
    return make_plan(stock, Horizon(TODAY, TODAY + timedelta(days=30)))


def test_limewater_is_made_the_day_before_and_more(catalogue: OnFile) -> None:
    # Settles overnight: for the Thursday, ready on the Wednesday anyway; for the Monday, made on the Friday.
    for on, made in ((date(2027, 1, 14), date(2027, 1, 13)), (date(2027, 1, 18), date(2027, 1, 15))):
        plan = _plan(catalogue, on)
        (batch,) = plan.batches
        assert batch.make_on <= made
        assert batch.first_use >= batch.make_on + timedelta(days=1)
        assert not [f for f in plan.findings if f.code == "stands-too-short"]


def test_what_is_wanted_today_has_not_stood(catalogue: OnFile) -> None:
    plan = _plan(catalogue, TODAY)
    assert plan.requirements[0].short == 0
    (found,) = [f for f in plan.findings if f.code == "stands-too-short"]
    assert found.severity == "act"
    assert "stand for 1 day" in found.message


def test_permanganate_stands_for_two_days(catalogue: OnFile) -> None:
    stock = school(catalogue, Bottle("K1", "potassium-permanganate", 100_000_000), item="kmno4-0.1", per=100, on=(7,))
    plan = make_plan(stock, Horizon(TODAY, TODAY + timedelta(days=30)))
    (batch,) = plan.batches
    assert batch.make_on <= TODAY + timedelta(days=5)
    stock = school(catalogue, Bottle("K1", "potassium-permanganate", 100_000_000), item="kmno4-0.1", per=100, on=(3,))
    (batch,) = make_plan(stock, Horizon(TODAY, TODAY + timedelta(days=30))).batches
    assert batch.make_on <= TODAY + timedelta(days=1)  # a Thursday's need: made on the Tuesday, not the Wednesday


def test_what_has_stood_is_filtered_before_it_is_used(catalogue: OnFile) -> None:
    """Permanganate is filtered after two days (European Pharmacopoeia, 4.2.2, from memory): said on that day alone."""
    stock = school(catalogue, item="kmno4-0.02", per=100, on=(4,))
    for days, said in ((0, 0), (1, 0), (2, 1), (3, 1), (4, 1), (5, 0)):  # on the Monday of the Thursday too
        made = Bottle("K2", "kmno4-0.02", 500_000_000, received=TODAY - timedelta(days=days))
        plan = make_plan(replace(stock, bottles=(made,)), Horizon(TODAY, TODAY + timedelta(days=30)))
        found = [one for one in plan.findings if one.code == "has-stood"]
        assert len(found) == said, days
        assert all("filter it through sintered glass" in one.cure for one in found)
        assert all("unless it was diluted from a stock that had been" in one.cure for one in found)
