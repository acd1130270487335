"""The order in which items are planned: what is made from another comes before that other."""

from collections.abc import Iterable, Mapping

from prep.errors import PrepError


def planning_order(wanted: Iterable[str], made_from: Mapping[str, Iterable[str]]) -> list[str]:
    """List the items reachable from `wanted`, each before everything it may be made from.

    `made_from` maps an item to the items its recipe or sources may draw on; items that are not keys are
    reagents. Same input, same order. Raises PrepError naming the loop if an item is made from itself.
    """
    done: dict[str, bool] = {}  # False while on the path
    out: list[str] = []
    path: list[str] = []

    def visit(item: str) -> None:
        state = done.get(item)
        if state:
            return
        if state is False:
            loop = [*path[path.index(item) :], item]
            raise PrepError(f"These recipes go round in a loop: {' <- '.join(loop)}; change one of them.")
        done[item] = False
        path.append(item)
        for source in sorted(made_from.get(item, ())):
            if source in made_from:
                visit(source)
            elif source not in done:
                done[source] = True
                out.append(source)
        path.pop()
        done[item] = True
        out.append(item)

    for item in sorted(wanted):
        visit(item)
    out.reverse()
    return out
