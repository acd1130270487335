"""One make on its own: a solution and a volume, from what is held today."""

from dataclasses import dataclass, replace

from prep.chemistry.routes import Part, Route
from prep.errors import PrepError
from prep.planning.lots import Lot
from prep.planning.model import Batch, Horizon, Policy, Share, Snapshot, Take
from prep.planning.netting import net
from prep.planning.plan import room_of, write_batch
from prep.planning.requirements import Demand
from prep.planning.sourcing import Shelf, choose
from prep.planning.walk import Make, wants_of


@dataclass(frozen=True, slots=True)
class Missing:
    """What a make lacks of an item."""

    item: str
    amount: int


@dataclass(frozen=True, slots=True)
class Single:
    """The make, and what it lacks; with nothing missing it can be logged as it stands."""

    batch: Batch
    missing: tuple[Missing, ...]


def make_one(snapshot: Snapshot, solution: str, amount: int, source: str | None = None) -> Single:
    """Instructions for at least `amount` nL of a solution today, from what is in the room.

    The volume is the next that the room's vessels make; above the largest, PrepError says so. `source` asks
    for one of the possible sources by its code. Raises PrepError when there is no way to make it.
    """
    today = snapshot.today
    room = room_of(snapshot, Horizon(today, today), Policy())
    card = snapshot.solutions[solution]
    routes = room.bench.routes(solution)
    if not routes:
        reasons = room.bench.making.problems[solution]
        raise PrepError(f"{card.name} cannot be made. {reasons[0] if reasons else 'Nothing on file makes it.'}")
    if source is not None:
        routes = tuple(only for route in routes if (only := _only(route, source)))
        if not routes:
            raise PrepError(f"{card.name} is not made from {source}.")
    sizes = room.bench.sizes(solution)
    made = next((size for size in sizes if size >= amount), None)
    if made is None:
        raise PrepError(
            f"The largest vessel for {card.name} makes {sizes[-1] // 1_000_000} mL at a time; make it in parts."
        )
    supplies = room.supplies()
    chosen = choose(routes, made, today, Shelf(supplies, frozenset(), {}), {})
    assert chosen is not None
    now = Demand(f"{solution}@{today}", solution, today, today, made)
    wants, used = wants_of(room, now.id, card, chosen, made, today)
    takes: list[Take] = []
    missing: list[Missing] = []
    for want in wants:
        draws, short = net([want], supplies.get(want.item, ()))
        share = used.get(want.item)
        takes += [
            Take(want.item, d.kind, d.ref, d.amount, round(d.amount * share) if share else d.amount)
            for d in draws
            if d.kind == "bottle"
        ]
        lacking = sum(amount for _, amount in short) + sum(d.covers for d in draws if d.kind != "bottle")
        if lacking:
            missing.append(Missing(want.item, lacking))
    lot = Lot(today, made, ((now, made),))
    batch = write_batch(
        room, Make(now.id, card, lot, chosen, wants, used), takes, {lack.item: lack.amount for lack in missing}
    )
    # It serves no booking: it stands on the shelf until its date.
    kept = replace(batch, serves=(Share("shelf", "shelf", made),), last_use=batch.use_by)
    return Single(kept, tuple(missing))


def _only(route: Route, source: str) -> Route | None:
    """The route with `source` as the one option of the part it can play; None if it plays none."""
    if not any(option.item == source for part in route.parts for option in part.options):
        return None
    parts = tuple(Part(tuple(o for o in p.options if o.item == source) or p.options, p.note) for p in route.parts)
    return replace(route, parts=parts)
