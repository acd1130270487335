"""Random schools: real substances and solutions, and everything else drawn by hypothesis."""

from datetime import date, timedelta
from decimal import Decimal

from hypothesis import strategies as st

from prep.chemistry.model import Strength, StrengthKind
from prep.planning.model import (
    Booking,
    Bottle,
    Calendar,
    Demo,
    Horizon,
    Need,
    OpenOrder,
    Snapshot,
    StockRule,
)
from prep.services.catalogue.on_file import OnFile

TODAY = date(2027, 1, 11)
SPAN = 40
END = TODAY + timedelta(days=SPAN)

SOLUTIONS = [
    "hcl-2",
    "hcl-1",
    "hcl-0.1",
    "hcl-0.01",
    "naoh-2",
    "naoh-0.4",
    "cuso4-1",
    "cuso4-0.1",
    "sodium-carbonate-0.1",
    "h2o2-10vol",
    "kmno4-0.002",
    "iodine-starch-test",
    "benedict",
    "limewater",
    "starch-1",
    "tollens",
    "phenolphthalein-1",
    "buffer-4.6",
    "silver-glucose",
]


@st.composite
def schools(draw: st.DrawFn, catalogue: OnFile) -> tuple[Snapshot, Horizon]:
    """A snapshot and a horizon: shortages, dates and levels as they fall."""
    days = st.integers(0, SPAN)
    solutions = [code for code in SOLUTIONS if code in catalogue.solutions]
    solids = ["magnesium-ribbon", "sodium-chloride", "sodium-hydroxide", "copper-sulfate-5-water"]
    demos = {}
    for number in range(draw(st.integers(1, 5))):
        needs = tuple(
            Need(
                draw(st.sampled_from(solutions + solids)),
                draw(st.integers(1, 400)) * 1_000_000,
                dead=draw(st.integers(0, 20)) * 1_000_000,
                fresh=draw(st.integers(0, 9)) == 0,
            )
            for _ in range(draw(st.integers(1, 4)))
        )
        demos[f"d{number}"] = Demo(f"d{number}", f"Demo {number}", needs, Decimal(draw(st.integers(0, 30))) / 100)
    bookings = tuple(
        Booking(
            f"B{n}",
            TODAY + timedelta(days=draw(days)),
            draw(st.sampled_from(["P1", "P2", "period 3", ""])),
            "Lab",
            "A. Teacher",
            draw(st.sampled_from(sorted(demos))),
            draw(st.integers(1, 4)),
        )
        for n in range(draw(st.integers(1, 12)))
    )
    used = {"water"}
    todo = [need.item for demo in demos.values() for need in demo.needs]
    while todo:  # every reagent that could be drawn on, so that bottles are where they matter
        item = todo.pop()
        if item in used:
            continue
        used.add(item)
        solution = catalogue.solutions.get(item)
        if solution:
            todo += [line.item for line in solution.recipe] + list(solution.made_from)
            todo += [s.code for s in catalogue.substances.values() if s.solute and s.solute == solution.solute]
    items = sorted(used - {"water"})
    bottles = []
    for number in range(draw(st.integers(0, 40))):
        item = draw(st.sampled_from(items))
        held = catalogue.solutions.get(item)
        strength = None
        if held and held.strength and held.strength.kind is StrengthKind.MOL_PER_L and draw(st.booleans()):
            factor = Decimal(draw(st.integers(80, 120))) / 100
            strength = Strength(held.strength.value * factor, held.strength.kind)
        bottles.append(
            Bottle(
                f"K{number}",
                item,
                draw(st.integers(0, 3000)) * 1_000_000,
                draw(st.none() | days.map(lambda d: TODAY + timedelta(days=d - 5))),
                "PREP",
                draw(st.sampled_from(["in service"] * 6 + ["quarantine"])),
                strength,
            )
        )
    orders = tuple(
        OpenOrder(
            f"P{n}",
            draw(st.sampled_from(items)),
            draw(st.integers(1, 1000)) * 1_000_000,
            TODAY + timedelta(days=draw(days)),
        )
        for n in range(draw(st.integers(0, 3)))
        if items
    )
    orders = tuple(o for o in orders if o.item in catalogue.substances)
    rules = {
        item: StockRule(
            item,
            draw(st.integers(0, 200)) * 1_000_000,
            tuple(p * 1_000_000 for p in draw(st.lists(st.sampled_from([100, 250, 500, 1000, 2500]), max_size=2))),
            draw(st.integers(0, 30)),
        )
        for item in items
        if item in catalogue.substances and draw(st.integers(0, 3))
    }
    closed = {TODAY + timedelta(days=draw(days)): "closed" for _ in range(draw(st.integers(0, 6)))}
    return (
        Snapshot(
            today=TODAY,
            catalogue=catalogue,
            demos=demos,
            bookings=bookings,
            bottles=tuple(bottles),
            orders=orders,
            rules=rules,
            instruments=catalogue.instruments,
            calendar=Calendar(closed=closed, minutes_per_day=draw(st.sampled_from([15, 45, 240]))),
        ),
        Horizon(TODAY, END),
    )
