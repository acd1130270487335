"""The chain behind one line of a plan: from a booking down to bottles and orders, or up to who wants it."""

from collections import defaultdict
from datetime import date
from difflib import get_close_matches
from functools import cached_property

from prep.books import BottleStatus
from prep.chemistry.model import Line
from prep.chemistry.preparation.after_opening import kept_open
from prep.chemistry.preparation.instructions import sheets_of
from prep.errors import PrepError
from prep.planning.draws import LinkKind, Share, Source
from prep.planning.model import Batch, Bottle, BottleLine, OpenOrder, OrderLine, Plan, Requirement, Snapshot
from prep.planning.set_out import how_often
from prep.records import record
from prep.wording import AtTerminal


@record(frozen=True, slots=True)
class PeggingLink:
    """One link: a requirement, batch, bottle or order, how much of `item` goes over it, and what is behind it.

    `says` are sentences about it; `working` the arithmetic. `down` is what it is served from, `up` whom it
    serves. `item` is "" for a booking.
    """

    kind: LinkKind
    ref: str
    item: str
    amount: int
    says: tuple[str, ...] = ()
    working: tuple[Line, ...] = ()
    down: tuple["PeggingLink", ...] = ()
    up: tuple["PeggingLink", ...] = ()


def why(plan: Plan, snapshot: Snapshot, ref: str) -> PeggingLink:
    """Trace the chain behind a booking, requirement, batch, order or bottle of the plan.

    `ref` is its id as the plan prints it. Raises PrepError where the plan has no such thing.
    """
    return _Chain(plan, snapshot).about(ref.strip())


class _Chain:
    def __init__(self, plan: Plan, snapshot: Snapshot) -> None:
        self._plan, self._snapshot = plan, snapshot
        self._held = {b.code: b for b in snapshot.bottles}
        self._bookings = {b.code: b for b in snapshot.bookings}
        self._needs = {n.id: n for n in plan.requirements}
        self._batches = {b.id: b for b in plan.batches}
        self._bottles = {b.code: b for b in plan.bottles}
        self._orders: dict[str, list[OrderLine]] = defaultdict(list)
        self._order_of: dict[str, str] = {}
        for line in plan.orders:
            sizes = self._orders[line.order]
            sizes.append(line)  # the second pack of an order may be asked for by the item too, as naoh+2
            self._order_of |= dict.fromkeys((line.id, line.item, f"{line.item}+{len(sizes)}"), line.order)
        self._placed = {o.code: o for o in snapshot.orders}

    def about(self, ref: str) -> PeggingLink:
        """Trace the chain of whatever has this id."""
        of_booking = tuple(n for n in self._plan.requirements if n.booking == ref)
        if of_booking:
            links = tuple(self._need(need, of_booking=True) for need in of_booking)
            return PeggingLink(LinkKind.BOOKING, ref, "", 0, self._said_of_booking(ref), down=links)
        if ref in self._needs:
            return self._need(self._needs[ref])
        if ref in self._batches:
            batch = self._batches[ref]
            return self._batch(batch, batch.amount, up=True)
        if ref in self._bottles:
            return self._bottle_up(self._bottles[ref])
        if ref in self._order_of:
            return self._order_up(self._order_of[ref])
        if ref in self._placed:
            return self._placed_up(self._placed[ref])
        everything = [*self._bookings, *self._needs, *self._batches, *self._bottles, *self._orders, *self._placed]
        near = get_close_matches(ref, everything, n=3, cutoff=0.5)
        hint = f" Near: {', '.join(near)}." if near else ""
        raise PrepError(
            f'The plan has no requirement, batch, order, bottle or booking "{ref[:60]}"',
            AtTerminal("; take an id from prep plan --json, or widen --from and --to"),
            f".{hint}",
        )

    # Downwards: what serves --------------------------------------------------------------------------

    def _need(self, need: Requirement, *, of_booking: bool = False) -> PeggingLink:
        down = [self._source(need.item, share.source, share.amount) for share in need.served]
        if need.short:
            down.append(PeggingLink(LinkKind.SHORTAGE, "", need.item, need.short, (need.why,)))
        booking = () if of_booking else self._said_of_booking(need.booking)
        said = (*booking, f"needed on {need.needed_on}, ready by {need.ready_by}")
        return PeggingLink(LinkKind.REQUIREMENT, need.id, need.item, need.amount, said, down=tuple(down))

    def _source(self, item: str, source: Source, amount: int) -> PeggingLink:
        ref = source.ref
        if source.kind is LinkKind.BATCH:
            return self._batch(self._batches[ref], amount)
        says = self._said_of_bottle(self._bottles[ref]) if source.kind is LinkKind.BOTTLE else self._said_of_order(ref)
        return PeggingLink(source.kind, ref, item, amount, says)

    def _batch(self, batch: Batch, amount: int, *, up: bool = False) -> PeggingLink:
        said = (
            f"made on {batch.make_on} in {batch.vessel}, good to {batch.use_by}",
            f"{batch.route}: {batch.why}",
        )
        down = tuple(self._source(take.item, take.source, take.amount) for take in batch.takes)
        above = self._users(batch.solution, batch.serves) if up else ()
        return PeggingLink(LinkKind.BATCH, batch.id, batch.solution, amount, said, batch.working, down, above)

    # Upwards: who wants it -----------------------------------------------------------------------------

    @cached_property
    def _drawn_from_orders(self) -> dict[str, list[tuple[str, Share]]]:
        """Per order: (item, who draws how much)."""
        out: dict[str, list[tuple[str, Share]]] = defaultdict(list)
        for need in self._plan.requirements:
            for share in need.served:
                if share.kind is LinkKind.ORDER:
                    out[share.ref].append((need.item, Share(Source(LinkKind.REQUIREMENT, need.id), share.amount)))
        for batch in self._plan.batches:
            for take in batch.takes:
                if take.kind is LinkKind.ORDER:
                    out[take.ref].append(
                        (take.item, Share(Source(LinkKind.BATCH, batch.id, batch.solution), take.amount))
                    )
        return out

    def _users(self, item: str, shares: tuple[Share, ...]) -> tuple[PeggingLink, ...]:
        return tuple(self._user(item, share.source, share.amount) for share in shares)

    def _user(self, item: str, user: Source, amount: int) -> PeggingLink:
        ref = user.ref
        if user.kind is LinkKind.BATCH:
            batch = self._batches[ref]
            said = (f"made on {batch.make_on}",)
            return PeggingLink(LinkKind.BATCH, ref, item, amount, said, up=self._users(batch.solution, batch.serves))
        need = self._needs[ref]
        return PeggingLink(LinkKind.REQUIREMENT, ref, item, amount, self._said_of_booking(need.booking))

    def _bottle_up(self, bottle: BottleLine) -> PeggingLink:
        users = tuple(self._user(bottle.item, draw.user, draw.amount) for draw in bottle.takes)
        return PeggingLink(
            LinkKind.BOTTLE, bottle.code, bottle.item, bottle.start - bottle.end, self._said_of_bottle(bottle), up=users
        )

    def _order_up(self, ref: str) -> PeggingLink:
        lines = self._orders[ref]
        users = tuple(self._user(item, share.source, share.amount) for item, share in self._drawn_from_orders[ref])
        return PeggingLink(
            LinkKind.ORDER, ref, lines[0].item, sum(x.amount for x in lines), self._said_of_order(ref), up=users
        )

    def _placed_up(self, placed: OpenOrder) -> PeggingLink:
        users = tuple(
            self._user(item, share.source, share.amount) for item, share in self._drawn_from_orders[placed.code]
        )
        return PeggingLink(
            LinkKind.ORDER, placed.code, placed.item, placed.amount, self._said_of_order(placed.code), up=users
        )

    # What is said of each ------------------------------------------------------------------------------

    def _said_of_booking(self, code: str) -> tuple[str, ...]:
        booking = self._bookings.get(code)
        if booking is None:
            return ()
        where = ", ".join(filter(None, (booking.period, booking.room, booking.teacher)))
        return (
            f"booking {code}: {booking.what} {how_often(booking)} on {booking.on}" + (f" ({where})" if where else ""),
        )

    def _said_of_bottle(self, bottle: BottleLine) -> tuple[str, ...]:
        good = f"good to {bottle.use_by}" if bottle.use_by else "no use-by date"
        held = self._held.get(bottle.code)
        if bottle.takes or held is None:
            return (good,)
        return good, why_unused(held, self._plan, self._snapshot)

    def _said_of_order(self, ref: str) -> tuple[str, ...]:
        if ref in self._placed:
            return (f"already ordered, due {self._placed[ref].due}",)
        lines = self._orders[ref]
        return (f"order by {lines[0].order_by}, comes {lines[0].arrives}", lines[0].why)


def why_unused(bottle: Bottle, plan: Plan, snapshot: Snapshot) -> str:
    """Say why a bottle is not used: the first reason that holds, what rules it out before what only delays it."""
    noticed = [finding.message for finding in plan.findings if finding.about == bottle.code]
    if bottle.status != BottleStatus.IN_SERVICE:
        return f"not used: {noticed[0] if noticed else f'its status is {bottle.status}'}"
    if bottle.amount <= 0:
        return "not used: it is empty"
    if bottle.use_by is not None and bottle.use_by < snapshot.today:
        since = kept_open(bottle.item, bottle.use_by, bottle.opened, snapshot.days_open) or ": it"
        return f"not used{since} went out of date on {bottle.use_by}"
    if noticed:
        return f"not used: {noticed[0]}"
    wanted = sorted(_wanted_on(bottle.item, plan))
    if not wanted:
        return "not used: nothing booked from here to the last day of the plan wants it"
    if bottle.use_by is not None and bottle.use_by < wanted[0]:
        return f"not used: it goes out of date on {bottle.use_by}, before the first use on {wanted[0]}"
    if bottle.strength is not None and bottle.item in snapshot.solutions:
        own = sheets_of(snapshot.catalogue, snapshot.instruments).bench.strength_ratio(bottle.item, bottle.strength)
        if not own.serves:
            off = snapshot.solutions[bottle.item]
            return (
                f"not set out: found {bottle.strength}, more than {off.tolerance_pct} % off the {off.strength} of its "
                "entry; a dilution may take it"
            )
    return "not used: other bottles go out of date first, are opened or nearly empty, or are made fresh, and suffice"


def _wanted_on(item: str, plan: Plan) -> set[date]:
    days = {need.needed_on for need in plan.requirements if need.item == item}
    return days | {batch.make_on for batch in plan.batches if any(take.item == item for take in batch.takes)}
