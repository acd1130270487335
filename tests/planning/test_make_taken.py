"""A make as it was done, from just what was taken: whatever a plan says can be logged as it says, in its order."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from prep.chemistry.model import Strength, StrengthKind
from prep.errors import PrepError
from prep.planning.make_taken import TakenAmount, make_taken
from prep.planning.model import Batch, Bottle, Horizon, Plan, Snapshot
from prep.planning.plan import make_plan
from prep.services.catalogue.on_file import OnFile
from tests.planning.engine.test_shared_dilutions import _stock as intermediate
from tests.planning.schools import END, TODAY, schools
from tests.planning.test_plan import school, shipped

ML = 1_000_000


def takings(batch: Batch) -> list[TakenAmount]:
    """What the plan's command for the batch says."""
    return [
        TakenAmount(
            take.item,
            take.amount,
            take.ref if take.kind == "bottle" else "",
            made_on(take.ref) if take.kind == "batch" else None,
        )
        for take in batch.takes
    ]


def made_on(batch: str) -> date:
    return date.fromisoformat(batch.partition("@")[2].partition("/")[0])


def carried_out(stock: Snapshot, plan: Plan) -> Iterator[tuple[Batch, Batch, Snapshot]]:
    """Each batch of the plan, the make that its takings are, and the stock after it; the demos take their share."""
    bottles = {bottle.code: bottle for bottle in stock.bottles}

    def take(code: str, amount: int) -> None:
        bottles[code] = replace(bottles[code], amount=bottles[code].amount - amount)
        assert bottles[code].amount >= 0

    arriving = [(max(o.due, stock.today), o.code, o.item, o.amount) for o in stock.orders]
    arriving += [(line.arrives, line.id, line.item, line.amount) for line in plan.orders]
    days = {on for on, *_ in arriving} | {b.make_on for b in plan.batches} | {n.needed_on for n in plan.requirements}
    for day in sorted(days):
        for on, code, item, amount in arriving:
            if on == day:
                bottles[code] = Bottle(code, item, amount, received=day)
        for batch in plan.batches:
            if batch.make_on != day:
                continue
            now = replace(stock, today=day, bottles=tuple(bottles.values()), orders=())
            done = make_taken(now, batch.solution, batch.amount, takings(batch))
            for drawn in done.takes:
                take(drawn.ref, drawn.amount)
            bottles[batch.id] = Bottle(batch.id, batch.solution, batch.amount, batch.use_by, received=day)
            left = tuple(o for o in stock.orders if max(o.due, stock.today) > day)
            yield batch, done, replace(now, bottles=tuple(bottles.values()), orders=left)
        for need in plan.requirements:
            if need.needed_on == day:
                for share in need.served:
                    if share.kind == "bottle":
                        take(share.ref, share.amount)


def by_item(batch: Batch) -> dict[str, tuple[int, int]]:
    """What leaves the bottles and what reaches the product, by item."""
    out: dict[str, tuple[int, int]] = {}
    for take in batch.takes:
        amount, used = out.get(take.item, (0, 0))
        out[take.item] = (amount + take.amount, used + take.used)
    return out


@given(st.data())
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_every_plan_can_be_carried_out_as_it_says(data: st.DataObject) -> None:
    stock, horizon = data.draw(schools(shipped()))
    plan = make_plan(stock, horizon)
    for batch, done, _ in carried_out(stock, plan):
        assert (done.solution, done.amount, done.use_by) == (batch.solution, batch.amount, batch.use_by)
        assert {i: a for i, (a, _) in by_item(done).items()} == {i: a for i, (a, _) in by_item(batch).items()}


def _bottle(code: str, item: str, amount: float) -> Bottle:
    return Bottle(code, item, round(amount * ML))


def _stocks(catalogue: OnFile) -> dict[str, Snapshot]:
    """Plans that draw on more than one source, on an intermediate in common, on another pair."""
    return {
        "two hydrates": school(
            catalogue,
            _bottle("K1", "sodium-carbonate", 20),
            _bottle("K2", "sodium-carbonate-10-water", 60),
            item="sodium-carbonate-1",
            per=250,
        ),
        "a stronger and a weaker one": school(
            catalogue, _bottle("K1", "hcl-2", 100), _bottle("K2", "hcl-0.5", 400), item="hcl-1", per=250
        ),
        "another pair for a buffer": school(
            catalogue, _bottle("K1", "sodium-acetate", 100), _bottle("K2", "hcl-1", 500), item="buffer-4.6", per=200
        ),
        "an intermediate in common": intermediate(catalogue, ("0.0002", 50, 7), ("0.0002", 50, 7), ("0.0002", 50, 7)),
    }


@pytest.mark.parametrize(
    "case", ["two hydrates", "a stronger and a weaker one", "another pair for a buffer", "an intermediate in common"]
)
def test_it_is_the_make_that_the_plan_has_and_is_not_asked_for_again(catalogue: OnFile, case: str) -> None:
    stock = _stocks(catalogue)[case]
    plan = make_plan(stock, Horizon(TODAY, END))
    assert plan.batches
    after = stock
    for batch, done, now in carried_out(stock, plan):
        after = now
        assert done.uncertainty_pct == batch.uncertainty_pct
        assert done.steps == ()
        for item, (amount, used) in by_item(batch).items():
            assert by_item(done)[item] == (amount, pytest.approx(used, rel=0.01))
    again = make_plan(after, Horizon(TODAY, END))
    assert again.batches == ()
    assert not any(need.short for need in again.requirements)


def _dilution(catalogue: OnFile, **changed: object) -> Snapshot:
    stock = school(catalogue, _bottle("K1", "hcl-2", 500), _bottle("K2", "naoh-2", 500), item="hcl-1", per=250)
    bottles = (replace(stock.bottles[0], **changed), *stock.bottles[1:])  # type: ignore[arg-type]
    return replace(stock, bottles=bottles)


def test_what_was_taken_is_posted_within_what_the_solution_may_be_off(catalogue: OnFile) -> None:
    done = make_taken(_dilution(catalogue), "hcl-1", 250 * ML, [TakenAmount("hcl-2", 127 * ML, "K1")])
    assert [(t.ref, t.amount) for t in done.takes] == [("K1", 127 * ML)]


def test_a_found_strength_counts(catalogue: OnFile) -> None:
    weak = _dilution(catalogue, strength=Strength(Decimal("1.8"), StrengthKind.MOL_PER_L))
    less = make_taken(weak, "hcl-1", 250 * ML, [TakenAmount("hcl-2", 125 * ML, "K1")])
    assert less.strength == Strength(Decimal("0.9"), StrengthKind.MOL_PER_L)
    exact = [TakenAmount("hcl-2", 138_890_000, "K1")]
    assert make_taken(weak, "hcl-1", 250 * ML, exact).takes[0].amount == 138_890_000


@pytest.mark.parametrize(
    ("changed", "taken", "volume", "why"),
    [
        ({}, TakenAmount("hcl-2", 13 * ML, "K1"), 250, r"is 10.4 % of what goes into 250 mL"),
        ({}, TakenAmount("hcl-2", 600 * ML, "K1"), 250, "missing 100 mL"),
        ({}, TakenAmount("hcl-2", 600 * ML), 250, "missing 100 mL"),
        ({}, TakenAmount("naoh-2", 125 * ML, "K2"), 250, "is not made from Sodium hydroxide, 2 mol/L alone"),
        ({}, TakenAmount("hcl-2", 125 * ML, "K1"), 251, r"the nearest is 250 mL or \d+ mL\."),
        ({"status": "quarantine"}, TakenAmount("hcl-2", 125 * ML, "K1"), 250, "not in service"),
        ({"use_by": TODAY - timedelta(days=1)}, TakenAmount("hcl-2", 125 * ML, "K1"), 250, "out of date"),
    ],
)
def test_what_cannot_have_been_taken_is_said(
    catalogue: OnFile, changed: dict[str, object], taken: TakenAmount, volume: int, why: str
) -> None:
    with pytest.raises(PrepError, match=why):
        make_taken(_dilution(catalogue, **changed), "hcl-1", volume * ML, [taken])


def test_what_was_made_on_the_day_named_is_taken_first_then_the_latest(catalogue: OnFile) -> None:
    days = [TODAY - timedelta(days=n) for n in (3, 2, 1)]
    held = tuple(replace(_bottle(f"K{n}", "hcl-2", 50), received=day) for n, day in enumerate(days))
    stock = replace(_dilution(catalogue), bottles=held)
    done = make_taken(stock, "hcl-1", 250 * ML, [TakenAmount("hcl-2", 125 * ML, since=days[1])])
    assert [(t.ref, t.amount) for t in done.takes] == [("K1", 50 * ML), ("K2", 50 * ML), ("K0", 25 * ML)]
