"""What earlier walks taught."""

from fractions import Fraction

from prep.chemistry.preparation.routes import Route, RouteKind, RouteOption, RoutePart
from prep.chemistry.preparation.vessels import Bench
from prep.planning.engine.exclusions import Constraints
from prep.services.catalogue.on_file import OnFile

_ANOTHER = Route(RouteKind.RECIPE, (RoutePart((RouteOption("sodium-chloride", Fraction(1)),)),))


def test_another_pair_of_a_buffer_is_considered_where_a_stock_is_not_made(catalogue: OnFile) -> None:
    bench = Bench(catalogue, catalogue.instruments)
    learned = Constraints()
    learned.weigh_in(bench, {"acetic-acid-0.1"})
    before = learned.routes(bench, "buffer-4.6")
    learned.widen("buffer-4.6", (_ANOTHER,))
    assert learned.routes(bench, "buffer-4.6") == (*before, _ANOTHER)
