"""The term-end report: what was counted, lost, found, out of date, and how much of what stands where."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from prep.chemistry.model import Instrument, InstrumentKind, Measure
from prep.stocktake.methods import WeighedCount
from prep.stocktake.report import CountReport, StandingBottle, report, with_last_used
from prep.stocktake.turnover import MovementFlow, PostedMovement, add_up
from prep.stocktake.verdict import BookBalance, judge

G = ML = 1_000_000
END = date(2031, 7, 18)
SCALE = Instrument("b", "bench balance", InstrumentKind.BALANCE, Decimal(5000), Decimal("0.02"), Decimal("0.01"))


def stood(
    code: str,
    item: str,
    opening: int,
    *flows: MovementFlow,
    counted_g: str | None = None,
    lost: bool = False,
    measure: Measure = Measure.MASS,
    location: str = "A",
    walk_order: int = 1,
    **more: object,
) -> StandingBottle:
    books = BookBalance(code, item, measure, opening, 0.0, flows)
    verdict = None
    if lost:
        verdict = judge(books, None)
    elif counted_g is not None:
        density = more.get("density_g_ml")
        assert density is None or isinstance(density, Decimal)
        verdict = judge(books, WeighedCount(Decimal(counted_g) + 200, Decimal(200), SCALE, density))
    bottle = StandingBottle(books, item.replace("-", " "), location, walk_order, verdict)
    return replace(bottle, **more)  # type: ignore[arg-type]


def moved(kind: str, amount: int, u: float = 0.0) -> MovementFlow:
    return MovementFlow(kind, amount, u)


@pytest.fixture
def term() -> CountReport:
    """A small store at the end of a term."""
    return report(
        [
            stood(
                "N1",
                "sodium-chloride",
                500 * G,
                moved("make", -100 * G, G),
                moved("use", -50 * G, G),
                counted_g="349.5",
                hazards=(),
            ),
            stood(
                "N2",
                "sodium-chloride",
                0,
                moved("arrive", 500 * G, 15 * G),
                hazards=(),
                walk_order=2,
                location="B",
            ),
            stood(
                "E1",
                "ethanol-96",
                1000 * ML,
                moved("use", -200 * ML, ML),
                counted_g="540",
                measure=Measure.VOLUME,
                density_g_ml=Decimal("0.8"),
                location="B",
                walk_order=2,
                hazards=("Flam. Liq. 2", "Eye Irrit. 2"),
                use_by=date(2031, 7, 1),
                stream="flammable",
            ),
            stood(
                "P1",
                "propanone",
                400 * ML,
                measure=Measure.VOLUME,
                hazards=("Flam. Liq. 2", "Eye Irrit. 2"),
                location="B",
                walk_order=2,
                stream="flammable",
                label_readable=False,
            ),
            stood("L1", "lead-nitrate", 40 * G, lost=True, hazards=("Repr. 1A",), stream="heavy metals"),
            stood(
                "S1",
                "silver-nitrate-0.1",
                0,
                moved("make", 250 * ML, ML),
                moved("discard", -250 * ML),
                measure=Measure.VOLUME,
                status="discarded",
                use_by=date(2031, 6, 1),
                hazards=("Skin Irrit. 2",),
            ),
            stood("U1", "old-jar", 25 * G, use_by=date(2031, 1, 1), test_due=END, location="C", walk_order=3),
            stood("X1", "zinc", 0, on_books=False, found_amount=30 * G, hazards=(), location="C", walk_order=3),
        ],
        END,
    )


def codes(bottles: tuple[StandingBottle, ...]) -> list[str]:
    return [b.books.bottle for b in bottles]


def test_who_was_seen_and_who_was_not(term: CountReport) -> None:
    assert codes(term.counted) == ["N1", "E1"]
    assert codes(term.not_found) == ["L1"]
    assert codes(term.found) == ["X1"]
    assert codes(term.not_counted) == ["N2", "P1", "U1"]  # in walking order, without what was discarded
    assert codes(term.unreadable) == ["P1"]


def test_differences_come_flagged_first_and_largest_first(term: CountReport) -> None:
    assert [(v.bottle, v.flagged) for v in term.differences] == [("L1", True), ("E1", True), ("N1", False)]


def test_out_of_date_tests_and_gaps(term: CountReport) -> None:
    assert codes(term.expired) == ["U1", "E1"]  # longest first; a discarded bottle is not there any more
    assert codes(term.tests_due) == ["U1"]
    assert codes(term.no_hazard_data) == ["U1"]


def test_hazard_classes_by_location(term: CountReport) -> None:
    held = {(h.hazard, h.location): h.totals for h in term.hazards}
    assert list(held) == [("Eye Irrit. 2", "B"), ("Flam. Liq. 2", "B"), ("not known", "C")]
    flammable = held["Flam. Liq. 2", "B"]
    assert flammable.bottles == ("E1", "P1")
    assert flammable.mass_ug == 540 * G  # of the one whose density is known
    assert flammable.volume_nl == 1075 * ML  # 675 counted, 400 on the books
    assert flammable.unweighed_nl == 400 * ML
    assert held["not known", "C"].mass_ug == 25 * G


def test_disposal_by_stream_with_the_reason(term: CountReport) -> None:
    streams = {s.stream: [(line.bottle, line.why) for line in s.lines] for s in term.disposal}
    assert streams == {
        "flammable": [("E1", "out of date since 2031-07-01"), ("P1", "label unreadable")],
        "not known": [("U1", "out of date since 2031-01-01")],
    }
    assert list(streams) == ["flammable", "not known"]
    assert term.disposal[0].totals.volume_nl == 1075 * ML


def test_turnover_adds_up(term: CountReport) -> None:
    salt = next(t for t in term.turnover if t.item == "sodium-chloride")
    assert (salt.opening, salt.came_in, salt.made, salt.used, salt.discarded) == (500 * G, 500 * G, 0, 150 * G, 0)
    assert (salt.corrected, salt.closing) == (-500_000, 849_500_000)
    assert salt.turns == pytest.approx(150 / ((500 + 849.5) / 2))
    silver = next(t for t in term.turnover if t.item == "silver-nitrate-0.1")
    assert (silver.made, silver.discarded, silver.closing, silver.turns) == (250 * ML, 250 * ML, 0, None)
    zinc = next(t for t in term.turnover if t.item == "zinc")
    assert (zinc.opening, zinc.corrected, zinc.closing) == (0, 30 * G, 30 * G)


def test_each_kind_of_job_has_its_column() -> None:
    flows = (
        moved("receive", 100 * ML),
        moved("transfer", 40 * ML),
        moved("transfer", -25 * ML),
        moved("buffer", 250 * ML),
        moved("buffer", -20 * ML),
        moved("standardise", -10 * ML),
        moved("decant", -50 * ML),
        moved("decant", 50 * ML),
        moved("waste", -30 * ML),
        moved("repair", 1 * ML),
    )
    (turn,) = report([stood("B1", "buffer-5", 10 * ML, *flows, measure=Measure.VOLUME)], END).turnover
    assert (turn.opening, turn.came_in, turn.made) == (10 * ML, 100 * ML, 250 * ML)
    assert (turn.from_schools, turn.passed_on) == (40 * ML, 25 * ML)
    assert (turn.used, turn.discarded, turn.corrected, turn.closing) == (30 * ML, 30 * ML, 1 * ML, 316 * ML)


def test_a_cost_without_a_full_bottle_is_of_what_came_first() -> None:
    first = stood("A1", "zinc", 250 * G, cost=Decimal(10), came=500 * G)
    second = stood("A2", "zinc", 100 * G, cost=Decimal(10), full=400 * G, came=500 * G)
    assert report([first, second], END).value == Decimal("7.5")


def test_what_was_never_used(term: CountReport) -> None:
    known = with_last_used(term, {"P1": date(2030, 6, 2), "N1": END})
    assert [i.last_used for i in known.never_used] == [None, date(2030, 6, 2), None]
    assert [(i.item, i.amount, i.bottles) for i in term.never_used] == [
        ("old-jar", 25 * G, ("U1",)),
        ("propanone", 400 * ML, ("P1",)),
        ("zinc", 30 * G, ("X1",)),
    ]


def test_what_was_undone_was_not_used() -> None:
    undone = add_up([PostedMovement(-50 * G, "use", 1), PostedMovement(50 * G, "undo", 2, 1)])
    done = report([stood("A", "x", 100 * G, *undone)], END)
    assert done.turnover[0].used == 0
    assert [i.item for i in done.never_used] == ["x"]
    brought_back = stood("A", "x", 100 * G, moved("done", -50 * G), moved("done", 20 * G))
    assert report([brought_back], END).turnover[0].used == 30 * G
    assert report([brought_back], END).never_used == ()


def test_an_empty_store_has_an_empty_report() -> None:
    empty = report([], END)
    assert (empty.counted, empty.differences, empty.hazards, empty.turnover) == ((), (), (), ())


kinds = st.sampled_from(["receive", "transfer", "arrive", "make", "use", "done", "discard", "count", "undo", "plan"])
bottles = st.lists(
    st.tuples(
        st.sampled_from(["x", "y"]),
        st.integers(0, 10**9),
        st.lists(st.tuples(kinds, st.integers(-(10**7), 10**7)), max_size=6),
        st.one_of(st.none(), st.integers(0, 3000)),
    ),
    max_size=8,
)


@given(bottles)
def test_opening_and_all_that_happened_is_the_closing(
    drawn: list[tuple[str, int, list[tuple[str, int]], int | None]],
) -> None:
    store = [
        stood(
            f"B{n}",
            item,
            opening + 10**9,
            *(moved(kind, amount, abs(amount) // 20) for kind, amount in moves),
            counted_g=None if counted is None else str(counted),
        )
        for n, (item, opening, moves, counted) in enumerate(drawn)
    ]
    done = report(store, END)
    for t in done.turnover:
        came, went = t.came_in + t.from_schools + t.made, t.used + t.passed_on + t.discarded
        assert t.opening + came - went + t.corrected == t.closing
    assert sum(t.closing for t in done.turnover) == sum(b.amount for b in store)
    assert report(store[::-1], END).turnover == done.turnover
    for v in done.differences:
        assert v.difference
    assert len(done.counted) + len(done.not_counted) == len(store)


def test_an_empty_bottle_is_neither_to_be_counted_nor_turned_over() -> None:
    made = report([stood("E1", "urea", 0), stood("U1", "zinc", 25 * G)], END)
    assert codes(made.not_counted) == ["U1"]
    assert [turn.item for turn in made.turnover] == ["zinc"]
