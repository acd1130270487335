"""One run through the levels, from what goes to the bench down to what is bought.

Each item's demands are netted against the shelves; what is missing is made (and becomes demands one level
down) or ordered. `PlanningRun.settle` then looks for what ran short and says what the next run must do otherwise.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from functools import partial

from prep.planning.draws import LinkKind, Source
from prep.planning.engine.batch_sizes import few_sizes, usual_sizes
from prep.planning.engine.blending import blend, sourced, wants_of
from prep.planning.engine.context import FOREVER, PrepRoom
from prep.planning.engine.exclusions import Constraints, Shortage, UnservedReason, least_made, no_source
from prep.planning.engine.lots import costs_of, lots, measured_sizes
from prep.planning.engine.netting import Draw, NettingResult, net_in_turn
from prep.planning.engine.ordering import buy
from prep.planning.engine.requirements import Demand, DemandPart
from prep.planning.engine.shared_dilutions import share_intermediates
from prep.planning.engine.sourcing import SupplyEstimate, choose
from prep.planning.engine.state import ItemLots, Make, RunState
from prep.planning.workdays import by_number, period_number
from prep.records import record

Progress = Callable[[int, int], None]
"""Told how many items of how many are planned; begins anew with each run."""


@record(frozen=True, slots=True)
class _Lack:
    """How much of a part of a make is missing, why, and when more of it comes."""

    amount: int
    why: UnservedReason
    arrives: date | None


@dataclass(slots=True)
class PlanningRun(RunState):
    """One run through all items of a plan, and what the next one can learn from what ran short."""

    def settle(self, room: PrepRoom, learned: Constraints, may_switch: bool) -> bool:
        """Learn from what ran short, so that the next run does otherwise; True when one is needed.

        A make that lacks a part is given another source where one is left. Where none is, the lot serves
        what its parts suffice for, earliest first; the rest waits for what is ordered, or is denied. A denied
        make is a shortage of the make that draws on it, so makes are looked at from the bottom up.
        """
        changed = False
        lacking = {
            key: _Lack(one.amount, one.why, self._arrival(one.demand))
            for key, one in self.short.items()
            if one.demand.batch
        }
        if not lacking:
            return False
        shelf = SupplyEstimate(self.supplies, self.levels.makeable, room.lead, bought=room.bought, netted=True)
        held: set[str] = set()
        switched: set[tuple[str, tuple[str, ...]]] = set()
        takers = self.takers()
        for make in reversed(self.makes.values()):
            missing = [want for want in make.wants if want.id in lacking]
            if not missing:
                continue
            source = make.solution.code, make.chosen.key()
            if source in switched and learned.avoid[source[0]][source[1]] <= make.lot.make_on:
                continue  # its source was changed for another lot just now; the next run uses that here too
            short = {want.item for want in missing} | {make.solution.code}
            makes = [*{other.id: other for item in short for other in takers[item]}.values(), make]
            if (
                self._lean(room, learned, makes)
                or (may_switch and self._switch(room, shelf, learned, make, switched))
                or self._lean(room, learned, makes, sparing=True)
            ):
                changed = True
                continue
            worst = min(missing, key=lambda w: (Fraction(w.amount - lacking[w.id].amount, w.amount), by_number(w.id)))
            lack = lacking[worst.id]
            why, arrives = lack.why, lack.arrives
            if len(missing) > 1 and all(lacking[want.id].why.arrives for want in missing):
                last = max((lacking[want.id].why for want in missing), key=lambda one: one.arrives or date.min)
                why = replace(last, lacks=tuple(part for want in missing for part in lacking[want.id].why.lacks))
            expires = self._expiry(room, learned, make)
            usable = make.lot.amount * max(0, worst.amount - lack.amount) // worst.amount
            served = list(make.lot.serves)
            kept = set()
            for demand, wanted in served:
                if wanted <= usable:
                    usable -= wanted
                    kept.add(demand.id)
            if len(kept) == len(served):
                kept.discard(served[-1].demand.id)  # what is there would do, but no vessel makes so little
                why = least_made(make.solution, make.lot.amount, room.name(worst.item), why)
            for demand, wanted in served:
                if demand.id in kept:
                    continue
                if not demand.batch:
                    if demand.id in held:
                        continue  # it waits or is denied already, for another lot's part of it
                    held.add(demand.id)
                    changed |= learned.hold(demand, make.lot.make_on, why, arrives, expires)
                elif learned.patient and learned.wait(demand, make.lot.make_on, arrives):
                    changed = True
                else:
                    before = lacking[demand.id].amount if demand.id in lacking else 0
                    lacking[demand.id] = _Lack(before + wanted - (usable if not kept else 0), why, arrives)
        return changed

    def leave_to_bookings(self, room: PrepRoom, learned: Constraints, may_switch: bool) -> bool:
        """Let makes take less of what a later booking is short of itself, or another source; True if any then does."""
        shelf = SupplyEstimate(self.supplies, self.levels.makeable, room.lead, bought=room.bought, netted=True)
        changed = False
        for item, taking in self.taken_from_bookings(learned).items():
            makes = list(taking.values())
            changed |= (
                self._lean(room, learned, makes)
                or (may_switch and any(self._switch(room, shelf, learned, make, set(), item) for make in makes))
                or self._lean(room, learned, makes, sparing=True)
            )
        return changed

    def _lean(self, room: PrepRoom, learned: Constraints, makes: Iterable[Make], *, sparing: bool = False) -> bool:
        """Find which of the makes, and of those they go into, can be made in less; True if the next run does.

        `sparing`: in several makes where the room has no vessel between.
        """
        codes = learned.sparing if sparing else learned.lean
        found = False
        todo = list(makes)
        seen = {make.id for make in todo}
        while todo:
            one = todo.pop()
            code = one.solution.code
            served = one.lot.served
            sizes = room.bench.sizes(code)
            less = sizes[0] < one.lot.amount if sparing else any(served <= size < one.lot.amount for size in sizes)
            if code not in codes and served < one.lot.amount and less:
                codes.add(code)
                learned.touched.add(code)
                found = True
            for demand in one.lot.demands:
                if demand.batch and demand.batch not in seen:
                    seen.add(demand.batch)
                    todo.append(self.makes[demand.batch])
        return found

    def _arrival(self, demand: Demand) -> date | None:
        """Find the first day after the demand's on which more of its item comes: on its way, or to be ordered."""
        yielded = {draw.source for draw in self.draws.get(demand.item, ()) if draw.demand.yields}
        orders = (s for s in self.supplies[demand.item] if s.kind is LinkKind.ORDER)
        on_its_way = [s.available for s in orders if s.left > 0 or s.source in yielded]
        bought = self.orders.get(demand.item)
        days = [*on_its_way, bought.arrives if bought else None]
        return min((day for day in days if day is not None and day > demand.ready_by), default=None)

    def _expiry(self, room: PrepRoom, learned: Constraints, make: Make) -> date | None:
        """Find the last working day before a make's on which a source that is out of date by then still serves."""
        items = {
            option.item
            for route in learned.routes(room.bench, make.solution.code)
            for part in route.parts
            for option in part.options
        }
        gone = [
            supply.use_by
            for item in items
            for supply in self.supplies[item]
            if supply.left > 0 and supply.use_by < make.lot.make_on
        ]
        day = room.days.last_to(max(gone)) if gone else None
        return day if day is not None and day >= room.snapshot.today else None

    def _switch(
        self,
        room: PrepRoom,
        shelf: SupplyEstimate,
        learned: Constraints,
        make: Make,
        switched: set[tuple[str, tuple[str, ...]]],
        left: str = "",
    ) -> bool:
        """Find another source for a make; True if there is one. Where an item is `left`, one at hand without it."""
        avoid = learned.avoid[make.solution.code]
        key = make.chosen.key()
        if avoid.get(key, FOREVER) <= make.lot.make_on:
            return False  # it was to be avoided and still taken: there is no other source
        tried = {**avoid, key: make.lot.make_on}
        routes = learned.routes(room.bench, make.solution.code)
        direct = partial(room.bench.direct, solution=make.solution, made=make.lot.amount)
        back = self.given_back(make)
        for item, amount in back.items():
            shelf.promise(item, -amount, make.lot.make_on)
        other = choose(routes, make.lot.amount, make.lot.make_on, shelf, tried, direct)
        found = other is not None and other.suffices and other.key() not in tried
        if left:
            found = found and other is not None and other.held and left not in other.key()
        elif not found:
            both = blend(room.bench, make.solution, routes, make.lot.amount, make.lot.make_on, shelf)
            found = both is not None and both.key() not in tried
        for item, amount in back.items():
            shelf.promise(item, amount, make.lot.make_on)
        if not found and (left or not _widen(room, shelf, learned, make)):
            return False
        avoid[key] = make.lot.make_on
        switched.add((make.solution.code, key))
        return True


def _widen(room: PrepRoom, shelf: SupplyEstimate, learned: Constraints, make: Make) -> bool:
    """Try another pair of ingredients with a buffer's totals; True if the next run may take it."""
    code = make.solution.code
    if make.solution.purpose != "buffer" or code in learned.wider:
        return False
    from prep.chemistry.acid_base.buffer_pairs import alternatives  # late import: few plans need its tables

    found = alternatives(make.solution, room.snapshot.catalogue, room.bench.making)
    other = choose(found, make.lot.amount, make.lot.make_on, shelf, {})
    if other is None or not other.suffices:
        return False
    learned.widen(code, tuple(found))
    return True


def explode(
    room: PrepRoom,
    demands: Iterable[Demand],
    learned: Constraints,
    earlier: PlanningRun | None = None,
    progress: Progress | None = None,
    *,
    minima: bool = True,
) -> PlanningRun:
    """Net, make and order every demand once, by what earlier runs learned. Without `minima` none is kept.

    `earlier` is the run before: where an item is asked for the same again, its netting and its lots are the
    same, and are taken over with the supplies as that run left them.
    """
    asked_for: dict[str, list[Demand]] = defaultdict(list)
    for demand in demands:
        asked_for[demand.item].append(demand)
    nothing, rules = frozenset[str](), room.snapshot.rules
    # A minimum that the school set is kept of all that it has; one from the catalogue, of what bookings use.
    held, on_books = (room.held, room.own_minima) if minima else (nothing, nothing)
    levels = learned.levels(room.bench, frozenset({*asked_for, *on_books}))
    state = PlanningRun(earlier.supplies if earlier else room.supplies(), levels, asked_for)
    for supply, drawn in earlier.late if earlier else ():
        supply.left += drawn
    solutions = room.snapshot.solutions
    shelf = SupplyEstimate(state.supplies, levels.makeable, room.lead, bought=room.bought, pending=set(levels.order))
    for item, some in asked_for.items():
        if item in levels.makeable:  # what bookings want of a stock is set aside, or other makes would use it up
            shelf.promise(item, sum([demand.amount for demand in some]))
    state.promised_by("", shelf.end_turn(), earlier)
    for number, item in enumerate(levels.order):
        if progress:
            progress(number, len(levels.order))
        if len(state.diluting.get(item, ())) > 1:
            share_intermediates(room, state, item, shelf)
            state.promised_by(f"shared {item}", shelf.end_turn(), earlier)
        wanted_of = state.demands.get(item, ())
        before = earlier.asked.get(item) if earlier else None
        if not wanted_of and not before and item not in on_books:  # nobody wants it
            shelf.pending.discard(item)
            state.draws[item] = []
            continue
        if earlier and before and len(before) == len(wanted_of) and earlier.demands[item] == wanted_of:
            asked, again = before, True
        else:
            asked = sorted(wanted_of, key=_by_date)
            again = before == asked
        state.asked[item] = asked
        if earlier and again:
            netted = earlier.netted[item]
        elif not asked and not before:
            netted = NettingResult([], [])
        else:
            supplies = state.supplies[item]
            for supply in supplies if earlier else ():
                supply.refill()
            netted = net_in_turn(asked, supplies, partial(state.read, room))
            state.renetted.add(item)
        state.netted[item] = netted
        uncovered = netted.uncovered
        shelf.pending.discard(item)
        state.draws[item] = list(netted.draws)
        if item in solutions:
            if uncovered:
                _make(room, state, item, uncovered, shelf, learned, earlier)
        elif uncovered or item in on_books or (wanted_of and item in held and item in rules):
            if earlier and again and item in earlier.bought:
                bought = earlier.bought[item]
            else:
                bought = buy(room, item, uncovered, state.supplies[item], state.draws[item])
            state.bought[item] = bought
            state.draws[item].extend(bought.ordered.draws)
            state.short.update((late.demand.id, late) for late in bought.short)
            if bought.ordered.lines:
                state.orders[item] = bought.ordered
        state.promised_by(item, shelf.end_turn(), earlier)
    learned.touched.clear()
    return state


def _by_date(demand: Demand) -> tuple[date, date, int, int, str]:
    period = period_number(demand.period) if demand.period else 0
    return demand.needed_on, demand.ready_by, period, *by_number(demand.id)


def _make(
    room: PrepRoom,
    state: PlanningRun,
    item: str,
    uncovered: list[DemandPart],
    shelf: SupplyEstimate,
    learned: Constraints,
    earlier: PlanningRun | None,
) -> None:
    solution = room.snapshot.solutions[item]
    denied = learned.denied.get(item, {})
    to_make = [] if denied else uncovered
    for part in uncovered if denied else ():
        if why := denied.get(part.demand.id):
            state.short[part.demand.id] = Shortage(part.demand, part.amount, why)
        else:
            to_make.append(part)
    known = earlier.item_lots.get(item) if earlier and item not in learned.touched else None
    if known is not None and known.asked == to_make:
        answer = known.lots
    elif to_make and not room.bench.routes(item):
        why = no_source(solution, room.bench.making.problems.get(item, ()))
        for part in to_make:
            state.short[part.demand.id] = Shortage(part.demand, part.amount, why)
        return
    else:
        sizes = room.bench.sizes(item)
        if item in learned.sparing:
            sizes = few_sizes(sizes)
        elif item not in learned.lean:
            sizes = usual_sizes(solution, sizes)
        measured = measured_sizes(room.bench, solution, sizes, room.there, item in learned.lean)
        sparing = item in learned.sparing
        moved = learned.moved(part.demand for part in to_make)
        earlier_lots = room.lots_of[item, measured, sparing, moved]
        found = next((answer for parts, answer in earlier_lots if parts == to_make), None)
        if found is None:
            found = lots(
                to_make,
                solution,
                measured.sizes,
                room.days,
                room.snapshot.today,
                learned.after,
                learned.before,
                costs_of(room.policy, solution, measured.diluted, sparing=sparing),
                learned.ahead,
            )
            earlier_lots.append((to_make, found))
        answer = found
    for lost in answer.unmade:
        state.short[lost.demand.id] = Shortage(
            lost.demand,
            lost.amount,
            UnservedReason(lost.code, f"{solution.name}: {lost.reason}", lost.cure),
        )
    dependencies, avoid = learned.dependencies(room.bench, item), tuple(learned.avoid[item].items())
    made: list[Make] = []
    state.item_lots[item] = ItemLots(to_make, answer, dependencies, avoid, made)
    if earlier and known and answer is known.lots and state.chooses_again(earlier, known, dependencies, avoid):
        made += known.made
        state.place_again(item, made, shelf, earlier)
        return
    numbers: dict[date, int] = defaultdict(int)
    for lot in answer.made:
        numbers[lot.make_on] += 1
        number = numbers[lot.make_on]
        batch = f"{item}@{lot.make_on}" + (f"/{number}" if number > 1 else "")
        from_ = sourced(room, solution, lot, shelf, learned)
        lot, chosen = from_.lot, from_.chosen
        before = earlier.makes.get(batch) if earlier else None
        if before is not None and before.made_of(lot, chosen) and not before.common:
            make = before
        else:
            wanted = wants_of(room, batch, solution, chosen, lot)
            source = Source(LinkKind.BATCH, batch, item)
            serves = tuple([Draw(demand, source, amount, amount) for demand, amount in lot.serves])
            make = Make(batch, solution, lot, chosen, wanted.wants, wanted.used, serves)
        made.append(make)
        state.place(room, make, shelf)
