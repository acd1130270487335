"""The order of planning, and loops among recipes."""

import pytest

from prep.errors import PrepError
from prep.planning.engine.low_level_code import planning_order


def test_what_is_made_comes_before_what_it_is_made_from() -> None:
    order = planning_order(["weak", "acid"], {"weak": ["stock"], "stock": ["acid"]})
    assert order.index("weak") < order.index("stock") < order.index("acid")


def test_three_levels_and_a_shared_stock() -> None:
    edges = {"a": ["s"], "b": ["s", "water-bath"], "s": ["t"], "t": ["salt"]}
    order = planning_order(["b", "a"], edges)
    assert all(order.index(x) < order.index(y) for x, ys in edges.items() for y in ys)
    assert planning_order(["a", "b"], edges) == order


def test_a_loop_is_named() -> None:
    with pytest.raises(PrepError, match="a <- b <- a"):
        planning_order(["a"], {"a": ["b"], "b": ["a"]})
