"""What bounds the search for the cheapest lots must change nothing but its length."""

from collections.abc import Iterator
from itertools import accumulate
from math import gcd

from hypothesis import given
from hypothesis import strategies as st

from prep.planning.sizing.least_cost import Arc, Piece, Prices, Weights, _cheapest, _Wants, least_cost


@st.composite
def _runs(draw: st.DrawFn) -> tuple[list[Piece], Prices]:
    """Wants whose days overlap from one to the next, and prices of few sizes; some need an intermediate dilution."""
    use, pieces = 10, []
    for number in range(draw(st.integers(1, 12))):
        use += draw(st.integers(0, 2))
        early = use - draw(st.integers(2, 4))
        pieces.append(Piece(f"w{number}", draw(st.integers(1, 300)), use, early, use, 0))
    sizes = tuple(sorted(draw(st.sets(st.sampled_from((20, 50, 60, 100, 250, 400, 700)), min_size=1))))
    wasted = draw(st.sampled_from((1, 3, 1000)))
    extra = {size: draw(st.integers(0, 400)) for size in sizes[: draw(st.integers(0, 2))]}
    weights = Weights(draw(st.sampled_from((1, 40, 900))), wasted, 0, extra)
    of = {size: weights.of(size) for size in sizes}
    cheapest = [min(sizes[at:], key=lambda size: (of[size], -size)) for at in range(len(sizes))]
    return pieces, Prices(weights, sizes, of, tuple(cheapest), gcd(*sizes))


@given(_runs())
def test_the_bounded_search_finds_the_very_lots_of_the_plain_one(run: tuple[list[Piece], Prices]) -> None:
    pieces, prices = run
    ends = list(accumulate(piece.amount for piece in pieces))
    wants = _Wants(pieces, ends)

    def arcs(start: int) -> Iterator[Arc]:
        for end, size in wants.steps(start, prices):
            yield Arc(start, end, size, 0, prices.of[size])

    plain = wants.batches([(arc.end, arc.size) for arc in _cheapest(arcs, ends[-1])], prices)
    found = least_cost(pieces, ends, None, prices)
    assert found == plain
    for one in found:
        served = [
            piece for piece, end in zip(pieces, ends, strict=True) if one.start < end and end - piece.amount < one.end
        ]
        assert max(piece.early for piece in served) <= one.day == min(piece.late for piece in served)


@given(_runs(), st.integers(1, 800))
def test_what_covering_an_amount_costs_at_least(run: tuple[list[Piece], Prices], amount: int) -> None:
    """Beside the coin problem solved for each amount from what the largest size leaves of it."""
    _, prices = run
    assert prices.sizes is not None
    least: dict[int, int] = {}
    for some in range(1, amount + 1):
        least[some] = min(prices.of[size] + least.get(some - size, 0) for size in prices.sizes)
    assert prices.cover(amount) == least[amount]
    units = -(-amount // prices.unit)
    assert all(prices.covering[n] == least[n * prices.unit] for n in range(1, units) if n * prices.unit <= amount)
