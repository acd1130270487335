"""Orders: what the plan says to buy, what was placed, what arrived; what is kept of an item at least."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from prep.books import JobKind, OrderStatus
from prep.chemistry import quantities
from prep.chemistry.catalogue import Item
from prep.chemistry.model import Measure
from prep.errors import NotOnFile, PrepError, Refused
from prep.planning.model import Policy, StockRule
from prep.plurals import plural
from prep.services.catalogue.names import in_inventory
from prep.services.input.act import Act, BeforeAfter
from prep.services.input.checks import printable, within
from prep.services.inventory import session
from prep.services.school import usual
from prep.services.stock import codes, listing
from prep.services.stock.changes import cost_of
from prep.services.stock.places import place_for
from prep.services.stock.strength import on_label
from prep.store import change_log, ledger, queries, seeding, table_rows
from prep.store.bottles import HeldBottle
from prep.store.school.orders import Purchase, purchases
from prep.wording import AtTerminal, Flag

if TYPE_CHECKING:
    from sqlalchemy import Connection

_LATEST = timedelta(days=731)
"""No order is placed to come later: common practice, no source."""


@dataclass(frozen=True, slots=True)
class ArrivedOrder:
    """The bottles that came, and the order as it is now."""

    bottles: tuple[HeldBottle, ...]
    order: Purchase


@dataclass(frozen=True, slots=True)
class OrderRequest:
    """What is ordered, as typed."""

    item: str
    packs: int = 1
    pack: str | None = None
    due: date | None = None


@dataclass(frozen=True, slots=True)
class Delivery:
    """What came of an order: so many `packs` (None: all), where they are put, what their labels say."""

    location: str | None = None
    use_by: date | None = None
    lot: str = ""
    packs: int | None = None
    cancel_rest: bool = False
    strength: str | None = None
    supplier: str = ""
    cost: str | None = None


def _next_open(connection: "Connection", day: date) -> date:
    """Find the first day from `day` on which the room is open to take a delivery in; `day` where it never is."""
    calendar = queries.calendar(connection, table_rows.settings(connection))
    return next((on for n in range(366) if calendar.works(on := day + timedelta(days=n))), day)


def placed(db: Path | None, request: OrderRequest, act: Act) -> Purchase:
    """Record an order; the pack and the days it takes come from the item's rule if not given.

    Raises PrepError.
    """
    within(request.packs, 1, 1000, Flag("--packs"))
    if request.due is not None and request.due < act.on:
        raise PrepError(Flag("--due"), f" {request.due} is before the day it was placed, {act.on}.")
    if request.due is not None and request.due > act.on + _LATEST:
        raise PrepError(Flag("--due"), f" {request.due} is more than two years after the day it was placed, {act.on}.")

    def work(connection: "Connection") -> Purchase:
        found = _bought(connection, request.item)
        rule = _minimum_of(connection, found).rule
        if request.pack is not None:
            size = found.amount(request.pack)
        elif rule.packs:
            size = rule.packs[0]
        else:
            raise PrepError(f"No pack size of {found.name} is on file; give it with ", Flag("--pack"), ".")
        return Purchase(
            _next_code(connection),
            found.code,
            found.name,
            found.measure,
            size,
            request.packs,
            act.on,
            request.due or _next_open(connection, act.on + timedelta(days=rule.lead_days)),
            OrderStatus.PLACED,
            act.by,
        )

    def post(connection: "Connection", order: Purchase) -> Purchase:
        ledger.begin(connection, JobKind.ORDER, act.by, act.on, f"order {order.code}: {shown(order)} of {order.name}")
        columns = ("code", "item", "pack", "packs", "placed", "due", "status", "by")
        seeding.put_orders(connection, [{name: getattr(order, name) for name in columns}])
        return order

    return session.worked_out(db, work, post)


@dataclass(frozen=True, slots=True)
class _Delivered:
    """An order of which so many packs came, where they go, and what their labels say."""

    order: Purchase
    came: int
    place: str
    label: dict[str, Any]


def arrived(db: Path | None, code: str, delivery: Delivery, act: Act) -> ArrivedOrder:
    """Put what an order brought on the shelf, one bottle a pack, as one job.

    Of fewer `packs` than were ordered the rest stays on order, or is cancelled. Raises PrepError.
    """
    if delivery.cancel_rest and delivery.packs is None:
        raise PrepError(Flag("--cancel-rest"), " goes with ", Flag("--packs"), ", which says how many came.")

    def work(connection: "Connection") -> _Delivered:
        order = _open(connection, code)
        act.since(order.placed, f"order {order.code} was placed")
        came = order.packs if delivery.packs is None else delivery.packs
        if not 1 <= came <= order.packs:
            accepted = "1" if order.packs == 1 else f"a number from 1 to {order.packs}"
            raise PrepError(
                Flag("--packs"), f" {came}: order {order.code} is of {shown(order)}; accepted is {accepted}."
            )
        place = place_for(connection, order.item, order.name, delivery.location, usual.ARRIVED)
        catalogue = queries.catalogue(connection)
        own = on_label(catalogue.item(order.item), delivery.strength, catalogue) if delivery.strength else None
        label = {
            "full": order.pack,
            "strength": queries.strength_text(own),
            "supplier": printable(delivery.supplier.strip(), label=Flag("--supplier")) or None,
            "cost": cost_of(delivery.cost),
        }
        return _Delivered(order, came, place, label)

    def post(connection: "Connection", delivered: _Delivered) -> ArrivedOrder:
        order, came, place, label = delivered.order, delivered.came, delivered.place, delivered.label
        note = f"order {order.code}" + (f", {came} of {order.packs} packs" if came < order.packs else "")
        job = ledger.begin(connection, JobKind.ARRIVE, act.by, act.on, note)
        out = []
        for _ in range(came):
            bottle = codes.new_code(connection)
            row = (
                codes.bottle_row(
                    codes.NewBottle(bottle, order.item, order.measure, place, act.on, delivery.use_by, delivery.lot)
                )
                | label
            )
            ledger.fill(connection, job, row, order.pack, f"arrived, order {order.code}")
            out.append(listing.one(connection, bottle))

        if came == order.packs:
            after = replace(order, status=OrderStatus.ARRIVED)
        elif delivery.cancel_rest:
            after = replace(order, status=OrderStatus.ARRIVED, packs=came)
        else:
            after = replace(order, packs=order.packs - came)
        # Logged as a change, so that undoing the job opens the order again for as many packs as before.
        change_log.change(connection, job, "purchase", order.code, status=after.status, packs=after.packs)
        return ArrivedOrder(tuple(out), after)

    return session.worked_out(db, work, post)


def cancel(db: Path | None, code: str, act: Act) -> Purchase:
    """Cancel an order that was placed, as a job. Raises PrepError."""
    with session.writing(db) as connection:
        order = _open(connection, code)
        act.since(order.placed, f"order {order.code} was placed")
        job = ledger.begin(connection, JobKind.CANCEL, act.by, act.on, f"{order.code}: cancelled")
        change_log.change(connection, job, "purchase", order.code, status=OrderStatus.CANCELLED)
        return order


@dataclass(frozen=True, slots=True)
class MinimumStock:
    """What is kept of a substance at least, its packs, and the days that an order takes."""

    item: str
    name: str
    measure: Measure
    rule: StockRule

    def shown(self) -> str:
        """Describe the rule in words: `minimum 250 g; packs of 500 g, 1 kg; an order takes 7 days`."""
        packs = ", ".join(quantities.show(pack, self.measure) for pack in self.rule.packs)
        days = plural(self.rule.lead_days, "day")
        return (
            f"minimum {quantities.show(self.rule.minimum, self.measure) if self.rule.minimum else 'none'}; "
            f"packs of {packs or 'any size'}; an order takes {days}"
        )


def minimum_of(db: Path | None, item: str) -> MinimumStock:
    """Read the minimum, packs and lead time of a substance. Raises PrepError."""
    with session.reading(db) as connection:
        return _minimum_of(connection, _bought(connection, item))


def minimums(db: Path | None) -> list[MinimumStock]:
    """List the minimum, packs and lead time of every substance that has a rule, by name."""
    with session.reading(db) as connection:
        catalogue, rules = queries.catalogue(connection), queries.rules(connection)
    known = [catalogue.substances[code] for code in rules if code in catalogue.substances]
    found = [MinimumStock(one.code, one.name, one.measure, rules[one.code]) for one in known]
    return sorted(found, key=lambda one: one.name.casefold())


@dataclass(frozen=True, slots=True)
class MinimumRequest:
    """What is to be kept of a substance, as typed; what is left out stays as it is."""

    minimum: str | None = None
    packs: Sequence[str] = ()
    lead_days: int | None = None


def set_minimum(db: Path | None, item: str, request: MinimumRequest, act: Act) -> MinimumStock:
    """Set what is given and leave the rest; who did stands in the history. Raises PrepError."""
    minimum, packs, lead_days = request.minimum, request.packs, request.lead_days
    if lead_days is not None:
        within(lead_days, 0, 365, Flag("--lead-days"))

    def work(connection: "Connection") -> BeforeAfter[MinimumStock]:
        found = _bought(connection, item)
        before = _minimum_of(connection, found)
        rule = before.rule
        if minimum is not None:
            rule = replace(rule, minimum=found.amount(minimum, zero=True), own=True)
        if packs:
            rule = replace(rule, packs=tuple(sorted({found.amount(pack) for pack in packs})))
        if lead_days is not None:
            rule = replace(rule, lead_days=lead_days)
        return BeforeAfter(before, replace(before, rule=rule))

    def post(connection: "Connection", change: BeforeAfter[MinimumStock]) -> MinimumStock:
        before, after = change.before, change.after
        if after.rule != before.rule:
            seeding.put_rules(connection, [after.rule])
            note = f"order rule: {after.item}: {before.shown()} -> {after.shown()}"
            ledger.begin(connection, JobKind.SETTINGS, act.by, act.on, note)
        return after

    return session.worked_out(db, work, post)


def _bought(connection: "Connection", item: str) -> Item:
    found = in_inventory(connection, item, here=True)
    if found.substance is None:
        raise PrepError(f"{found.name} is made here, not ordered.")
    return found


def _minimum_of(connection: "Connection", item: Item) -> MinimumStock:
    rule = queries.rules(connection).get(item.code, StockRule(item.code, 0, (), Policy().default_lead_days))
    return MinimumStock(item.code, item.name, item.measure, rule)


def list_orders(db: Path | None, everything: bool) -> list[Purchase]:
    """List open orders by due date; all of them with `everything`."""
    with session.reading(db) as connection:
        return [o for o in purchases(connection) if everything or o.status == OrderStatus.PLACED]


def shown(order: Purchase) -> str:
    """Write the packs of an order: `2 x 500 g`."""
    return f"{order.packs} x {quantities.show(order.pack, order.measure)}"


def _open(connection: "Connection", code: str) -> Purchase:
    wanted = code.strip()
    for order in purchases(connection):
        if order.code in (wanted, wanted.upper()):
            if order.status != OrderStatus.PLACED:
                was = "has arrived" if order.status == OrderStatus.ARRIVED else f"is {order.status}"
                raise Refused(f"Order {order.code} {was} already.")
            return order
    raise NotOnFile(f'There is no order "{wanted[:40]}"', AtTerminal("; see: prep order list", "."))


def _next_code(connection: "Connection") -> str:
    numbers = [int(o.code[1:]) for o in purchases(connection) if o.code[:1] == "P" and o.code[1:].isdigit()]
    return f"P{max(numbers, default=0) + 1}"
