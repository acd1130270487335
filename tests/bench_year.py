"""A school year worked through morning by morning, beside two ways of working without a plan.

`python -m tests.bench year [--years N] [--seed S]`. Invented bookings on the shipped demonstrations, with closed
weeks, late bookings, cancellations, breakages and late deliveries, all from a seed that is printed. The plan's way
makes what the plan says for the day and orders what it says to order within five working days, so before a holiday
too, as a delivery in five comes late. By hand, one makes each booking's solutions
the day before from what is there; the other makes half a litre of whatever the week needs every Monday. Both
order a pack when a bottle is empty. All three keep to the entries' tolerances, so none makes less than the room
measures well enough, and serve a booking from the shelf, first expired first out, whole or not at all.

A showing that the plan alone misses is one that could be served if another way still serves it from the plan's own
shelf and orders, as they stood on the morning on which the plan first called it short. Where none does, it was luck:
the only bottle broke, or an order came late, and what the others happened to have left was used for other showings.
"""

import random
import sys
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from functools import cached_property

from prep.chemistry.preparation.vessels import Bench
from prep.planning.draws import LinkKind, Source
from prep.planning.engine.lots import measured_sizes
from prep.planning.engine.netting import Supply, net
from prep.planning.engine.requirements import Demand, requirements
from prep.planning.make_one import make_one
from prep.planning.model import Booking, Bottle, Calendar, Horizon, OpenOrder, Plan, Snapshot
from prep.planning.plan import make_plan
from prep.planning.workdays import Workdays
from prep.services.plan.snapshot import sample

STOOD_THERE, FRESH, SIZE, NOT_SHOWN = (
    "stood there when the year began",
    "more than was wanted of what keeps three days at most",
    "more than was wanted of what keeps longer",
    "wanted, and not shown",
)
"""Why a solution goes out of date."""
WEEKS, BOOKINGS = 40, 1500
FIRST = date(2027, 1, 11)
AHEAD = 41
HALF_LITRE = 500_000_000
_DAY = timedelta(days=1)
_WORKING_WEEK = 5


@dataclass
class Year:
    """What happens in a year, whoever prepares: bookings with the day each is known, and what goes wrong."""

    start: Snapshot
    bookings: list[tuple[date, Booking]]
    cancelled: dict[str, date]
    breakages: dict[date, str]
    seed: int
    last: date

    def late(self, item: str, ordered: date) -> int:
        """Days by which what is ordered of an item on a day comes late: the same whoever orders it."""
        luck = random.Random(f"{self.seed} {item} {ordered}")
        return luck.randrange(2, 8) if luck.random() < 0.2 else 0

    @cached_property
    def bench(self) -> Bench:
        """What the room measures and makes with."""
        return Bench(self.start.catalogue, self.start.instruments)


def year(seed: int) -> Year:
    """Draw a year."""
    draw = random.Random(seed)
    start = sample().snapshot
    last = FIRST + timedelta(weeks=WEEKS)
    closed: dict[date, str] = {}
    for week in draw.sample(range(3, WEEKS), 4):
        closed |= {FIRST + timedelta(weeks=week, days=n): "closed" for n in range(5)}
    calendar = Calendar(closed=closed)
    days = [d for n in range(7 * WEEKS) if calendar.works(d := FIRST + timedelta(days=n))]
    demos = sorted(start.demos)
    booked: list[tuple[date, Booking]] = []
    cancelled: dict[str, date] = {}
    for number in range(BOOKINGS):
        on = draw.choice(days[2:])
        ahead = draw.choice((0, 1, 2)) if draw.random() < 0.1 else draw.randrange(7, 36)
        booking = Booking(
            f"Y{number}", on, f"P{draw.randrange(1, 6)}", "Lab", "", draw.choice(demos), draw.choice((1, 1, 2))
        )
        booked.append((on - timedelta(days=ahead), booking))
        if draw.random() < 0.05:
            cancelled[booking.code] = on - timedelta(days=draw.randrange(0, 5))
    shelves = {bottle.item for bottle in start.bottles}
    more = [
        Bottle(f"S-{code}", code, rule.packs[0], received=FIRST - timedelta(days=20))
        for code, rule in start.rules.items()
        if rule.packs and code not in shelves
    ]
    stock = replace(start, today=FIRST, calendar=calendar, bottles=(*start.bottles, *more), orders=(), noticed=())
    wanted = sorted({need.item for demo in start.demos.values() for need in demo.needs})
    breakages = {d: draw.choice(wanted) for d in days if draw.random() < 0.05}
    return Year(stock, booked, cancelled, breakages, seed, last)


@dataclass
class Room:
    """One room through the year: its shelf, its orders, and what it counts."""

    year: Year
    today: date
    bottles: dict[str, Bottle] = field(default_factory=dict)
    orders: list[tuple[OpenOrder, date]] = field(default_factory=list)  # with the day on which it really comes
    done: set[str] = field(default_factory=set)
    counted: Counter[str] = field(default_factory=Counter)
    served: set[str] = field(default_factory=set)
    over: dict[str, int] = field(default_factory=dict)  # of each make: what nothing booked wanted (nL)
    wasted: Counter[tuple[str, str]] = field(default_factory=Counter)  # mL, by the cause and the solution
    called_short: dict[str, "CalledShort"] = field(default_factory=dict)  # by booking

    def __post_init__(self) -> None:
        self.bottles = {bottle.code: bottle for bottle in self.year.start.bottles}

    def as_it_stands(self) -> "Room":
        """The same room, to work on in another way from here."""
        other = replace(
            self,
            orders=list(self.orders),
            done=set(self.done),
            counted=Counter(self.counted),
            served=set(),
            over=dict(self.over),
            wasted=Counter(),
            called_short={},
        )
        other.bottles = dict(self.bottles)
        return other

    def snapshot(self) -> Snapshot:
        """What the room knows this morning."""
        known = tuple(
            booking
            for seen, booking in self.year.bookings
            if seen <= self.today <= booking.on and booking.code not in self.done and not self.off(booking)
        )
        return replace(
            self.year.start,
            today=self.today,
            bookings=known,
            bottles=tuple(self.bottles.values()),
            orders=tuple(order for order, _ in self.orders),
        )

    def off(self, booking: Booking) -> bool:
        """Whether the booking is known to be cancelled."""
        on = self.year.cancelled.get(booking.code)
        return on is not None and on <= self.today

    def morning(self) -> None:
        """Deliveries, breakages, and what is out of date goes."""
        for order, comes in [pair for pair in self.orders if pair[1] <= self.today]:
            self.orders.remove((order, comes))
            self.put(order.item, order.amount, None)
        broken = [b.code for b in self.bottles.values() if b.item == self.year.breakages.get(self.today)]
        if broken:  # of the same item whoever prepares, where there is a bottle of it
            del self.bottles[min(broken)]
        for code, bottle in list(self.bottles.items()):
            if bottle.amount <= 0:
                del self.bottles[code]
            elif bottle.use_by is not None and bottle.use_by < self.today:
                if bottle.item in self.year.start.catalogue.solutions:
                    self._throw_away(code, bottle)
                del self.bottles[code]

    def _throw_away(self, code: str, bottle: Bottle) -> None:
        """Count a solution that is out of date, and why there was too much of it."""
        self.counted["mL thrown away"] += bottle.amount // 10**6
        if code not in self.over:
            self.wasted[STOOD_THERE, bottle.item] += bottle.amount // 10**6
            return
        self.counted["mL it made"] += bottle.amount // 10**6
        over = min(self.over[code], bottle.amount)
        solution = self.year.start.catalogue.solutions[bottle.item]
        short_lived = solution.made_fresh or solution.shelf_life_days <= 3
        self.wasted[FRESH if short_lived else SIZE, bottle.item] += over // 10**6
        self.wasted[NOT_SHOWN, bottle.item] += (bottle.amount - over) // 10**6

    def put(self, item: str, amount: int, use_by: date | None) -> str:
        """A bottle onto the shelf."""
        self.counted["bottles"] += 1
        code = f"N{self.counted['bottles']}"
        self.bottles[code] = Bottle(code, item, amount, use_by, received=self.today)
        return code

    def take(self, code: str, amount: int) -> None:
        """An amount out of a bottle."""
        bottle = self.bottles[code]
        self.bottles[code] = replace(bottle, amount=bottle.amount - amount, opened=bottle.opened or self.today)

    def order(self, item: str, amount: int) -> None:
        """An order, which now and then comes late."""
        rule = self.year.start.rules.get(item)
        due = self.today + timedelta(days=rule.lead_days if rule else 10)
        comes = due + timedelta(days=self.year.late(item, self.today))
        self.counted["bought"] += amount // 10**6
        self.counted["orders"] += 1
        self.orders.append((OpenOrder(f"P{self.counted['orders']}", item, amount, due), comes))

    def made(self, item: str, amount: int, minutes: int, over: int) -> str:
        """A make onto the shelf, with what of it nothing booked wants."""
        self.counted["makes"] += 1
        self.counted["minutes"] += minutes
        keeps = self.year.start.catalogue.solutions[item].shelf_life_days
        code = self.put(item, amount, self.today + timedelta(days=keeps))
        self.over[code] = over
        return code

    def show(self) -> None:
        """Serve today's bookings from the shelf, each whole or not at all."""
        snapshot = self.snapshot()
        days = Workdays(snapshot.calendar, self.today - _DAY * 30, self.today + _DAY * 30)
        demands, _ = requirements(snapshot, Horizon(self.today, self.today), days)
        by_booking: dict[str, list[Demand]] = {}
        for demand in demands:
            by_booking.setdefault(demand.booking, []).append(replace(demand, ready_by=self.today))
        for booking in (b for b in snapshot.bookings if b.on == self.today):
            self.done.add(booking.code)
            takes: list[tuple[str, int]] = []
            for demand in by_booking.get(booking.code, []):
                shelf = [
                    Supply(
                        Source(LinkKind.BOTTLE, b.code),
                        b.amount,
                        date.min,
                        b.use_by or date.max,
                        since=b.received or date.min,
                    )
                    for b in self.bottles.values()
                    if b.item == demand.item and b.amount > 0
                ]
                netted = net([demand], shelf)
                if netted.uncovered:
                    self.counted["missed"] += 1
                    break
                takes += [(draw.ref, draw.amount) for draw in netted.draws]
            else:
                self.served.add(booking.code)
                for code, amount in takes:
                    self.take(code, amount)


@dataclass
class CalledShort:
    """A booking that the plan calls short: the room on the first morning of that, and why."""

    room: Room
    why: str


def _note_what_is_short(room: Room, plan: Plan) -> None:
    """Keep the room as it stands for what the plan first calls short, and forget what it serves again."""
    short = {need.booking: f"{need.item}: {need.why}" for need in reversed(plan.requirements) if need.short}
    for booking in {need.booking for need in plan.requirements} - short.keys():
        room.called_short.pop(booking, None)
    new = short.keys() - room.called_short.keys()
    then = room.as_it_stands() if new else room
    room.called_short.update({booking: CalledShort(then, short[booking]) for booking in new})


def by_plan(room: Room) -> None:
    """A morning by the plan."""
    plan = make_plan(room.snapshot(), Horizon(room.today, room.today + timedelta(days=AHEAD)))
    _note_what_is_short(room, plan)
    made: dict[str, str] = {}
    for batch in plan.batches:
        if batch.make_on != room.today:
            continue
        if any(take.kind == "order" or (take.kind == "batch" and take.ref not in made) for take in batch.takes):
            continue
        for take in batch.takes:
            room.take(made[take.ref] if take.kind == "batch" else take.ref, take.amount)
        made[batch.id] = room.made(batch.solution, batch.amount, batch.minutes, batch.left_over)
    soon = room.today
    for _ in range(_WORKING_WEEK):
        soon = _working_day_after(room, soon)
    for line in plan.orders:
        if line.order_by <= soon:
            room.order(line.item, line.amount)


_LARGEST = 2 * 10**9
"""What the largest vessel of the invented school holds, in nL."""


_FLASKS = tuple(n * 1_000_000 for n in (50, 100, 250, 500, 1000))


def _least(room: Room, item: str) -> int:
    """The first flask in which what is there of a solution's sources can be measured to within its tolerance."""
    bench, solution = room.year.bench, room.year.start.catalogue.solutions[item]
    possible = bench.sizes(item)
    flasks = tuple(size for size in possible if size in _FLASKS) or possible
    held = {bottle.item: (bottle,) for bottle in room.bottles.values() if bottle.amount > 0}
    return measured_sizes(bench, solution, flasks, held, lean=False).sizes[0]


def _make_by_hand(room: Room, item: str, amount: int, wanted: int, depth: int = 0) -> bool:
    """A make by hand from what is there, its stocks first; False, and an order, where something lacks.

    More than the largest vessel holds is made in several.
    """
    amount = max(amount, _least(room, item))
    if amount > _LARGEST:
        parts = [_LARGEST] * (amount // _LARGEST) + [rest for rest in (amount % _LARGEST,) if rest]
        made = [_make_by_hand(room, item, part, wanted, depth) for part in parts]  # each, though one lacks something
        return all(made)
    single = make_one(room.snapshot(), item, amount)
    if single.missing and depth < 3:
        for want in single.missing:
            if want.item in room.year.start.catalogue.solutions:
                _make_by_hand(room, want.item, max(want.amount, HALF_LITRE // 5), want.amount, depth + 1)
            else:
                _order_pack(room, want.item)
        single = make_one(room.snapshot(), item, amount)
    if single.missing or any(take.kind != "bottle" for take in single.batch.takes):
        return False
    for take in single.batch.takes:
        room.take(take.ref, take.amount)
    room.made(item, amount, single.batch.minutes, max(0, amount - wanted))
    return True


def _order_pack(room: Room, item: str) -> None:
    rule = room.year.start.rules.get(item)
    if rule and rule.packs and item not in {order.item for order, _ in room.orders}:
        room.order(item, rule.packs[0])


def _wanted(room: Room, first: date, last: date) -> dict[str, tuple[int, bool]]:
    """What the bookings of some days want of each item, and whether any wants it fresh."""
    snapshot = room.snapshot()
    days = Workdays(snapshot.calendar, room.today - _DAY * 30, room.today + _DAY * 60)
    demands, _ = requirements(snapshot, Horizon(first, last), days)
    out: dict[str, tuple[int, bool]] = {}
    for demand in demands:
        amount, fresh = out.get(demand.item, (0, False))
        out[demand.item] = amount + demand.amount, fresh or demand.fresh
    return out


def _there(room: Room, item: str, on: date, fresh: bool) -> int:
    return sum(
        bottle.amount
        for bottle in room.bottles.values()
        if bottle.item == item and (bottle.use_by or date.max) >= on and (not fresh or bottle.received == on)
    )


def _by_hand(room: Room, first: date, last: date, size: Callable[[int], int]) -> None:
    """Make what the days want of each solution and is not there; order what is bought and not there."""
    solutions = room.year.start.catalogue.solutions
    for item, (amount, fresh) in sorted(_wanted(room, first, last).items()):
        lacking = amount - _there(room, item, last, fresh)
        if lacking <= 0:
            continue
        if item not in solutions:
            _order_pack(room, item)
        elif (not fresh or first == room.today) and room.today + timedelta(
            days=solutions[item].shelf_life_days
        ) >= first:
            _make_by_hand(room, item, size(lacking), lacking)


def _working_day_after(room: Room, day: date) -> date:
    day += _DAY
    while not room.year.start.calendar.works(day) and day < room.year.last:
        day += _DAY
    return day


def _flaskfuls(amount: int) -> int:
    """The flask that holds it, and of more than a litre as many litres as it takes."""
    flasks = (n * 1_000_000 for n in (50, 100, 250, 500, 1000))
    return next((flask for flask in flasks if flask >= amount), -(-amount // 10**9) * 10**9)


def day_before(room: Room) -> None:
    """A morning of one who makes each booking's solutions the day before."""
    _by_hand(room, room.today, room.today, _flaskfuls)
    tomorrow = _working_day_after(room, room.today)
    _by_hand(room, tomorrow, tomorrow, _flaskfuls)


def weekly(room: Room) -> None:
    """A morning of one who makes half litres on Mondays, and on the day what does not keep."""
    if room.today.weekday() == 0:
        _by_hand(
            room, room.today, room.today + timedelta(days=6), lambda lacking: -(-lacking // HALF_LITRE) * HALF_LITRE
        )
    _by_hand(room, room.today, room.today, lambda lacking: -(-lacking // HALF_LITRE) * HALF_LITRE)


WAYS: dict[str, Callable[[Room], None]] = {
    "by the plan": by_plan,
    "the day before": day_before,
    "weekly half litres": weekly,
}


def still_served_by(called: CalledShort, booking: str) -> list[str]:
    """The other ways that serve a booking from the room as it stood when the plan first called it short."""
    found = []
    for name, way in WAYS.items():
        if way is by_plan:
            continue
        room = called.room.as_it_stands()
        while booking not in room.done:  # the morning has begun already
            if room.year.start.calendar.works(room.today):
                way(room)
                room.show()
            room.today += _DAY
            room.morning()
        if booking in room.served:
            found.append(name)
    return found


def _judged(room: Room, booking: str) -> str:
    """Say of a booking that the plan alone missed which way could have served it; empty where none could."""
    called = room.called_short.get(booking)
    if called is None:
        print(f"    {booking}: missed, and the plan never called it short", file=sys.stderr)
        return "unseen"
    ways = still_served_by(called, booking)
    then = f"serves it still: {', '.join(ways)}" if ways else "from there no way serves it"
    print(f"    {booking}: called short on {called.room.today}: {called.why} {then}", file=sys.stderr)
    return ", ".join(ways)


def work_through(seed: int) -> dict[str, Room]:
    """The year by each way."""
    rooms = {}
    for name, way in WAYS.items():
        room = rooms[name] = Room(year(seed), FIRST)
        while room.today < room.year.last:
            room.morning()
            if room.year.start.calendar.works(room.today):
                way(room)
                room.show()
            room.today += _DAY
    return rooms


FIGURES = ("missed", "mL thrown away", "mL it made", "bought", "makes", "minutes")


def _show_waste(name: str, wasted: Counter[tuple[str, str]], years: int) -> None:
    """Print what a way throws away by its cause, and the solutions of which it is most."""
    print(f"{name}: what goes out of date, in mL a year")
    for cause in (STOOD_THERE, FRESH, SIZE, NOT_SHOWN):
        of = Counter({item: volume for (why, item), volume in wasted.items() if why == cause})
        most = ", ".join(f"{item} {volume / years:.0f}" for item, volume in of.most_common(6))
        print(f"  {cause:<54}{of.total() / years:>7.0f}  {most}")


def simulated(years: int = 20, seed: int = 1) -> bool:
    """Print the figures of the years and their sum; whether the plan meets its aim."""
    print(f"seed {seed}, {years} years of {WEEKS} weeks and {BOOKINGS} bookings; bought is in g or mL")
    totals: dict[str, Counter[str]] = {name: Counter() for name in WAYS}
    wasted: dict[str, Counter[tuple[str, str]]] = {name: Counter() for name in WAYS}
    luck = could = 0
    for number in range(years):
        began = time.process_time()
        rooms = work_through(seed + number)
        others = set.union(*(room.served for name, room in rooms.items() if name != "by the plan"))
        for booking in sorted(others - rooms["by the plan"].served):
            print(f"  year {number + 1}: {booking} missed by the plan alone", file=sys.stderr)
            served = bool(_judged(rooms["by the plan"], booking))
            could, luck = could + served, luck + (not served)
        for name, room in rooms.items():
            totals[name].update({figure: room.counted[figure] for figure in FIGURES})
            totals[name]["on the shelf"] += len(room.bottles)
            wasted[name].update(room.wasted)
        print(f"  year {number + 1}: {time.process_time() - began:.0f} s", file=sys.stderr)
    print(f"{'':<20}" + "".join(f"{figure:>16}" for figure in (*FIGURES, "on the shelf")))
    for name, counted in totals.items():
        print(f"{name:<20}" + "".join(f"{counted[figure] / years:>16.0f}" for figure in (*FIGURES, "on the shelf")))
    for name in WAYS:
        _show_waste(name, wasted[name], years)
    ours, first, second = totals.values()
    better = min(first, second, key=lambda way: (way["missed"], way["minutes"]))
    # What stood there when the year began goes out of date whoever prepares; a way answers for what it made.
    waste = ours["mL it made"] / max(1, better["mL it made"])
    in_all = ours["mL thrown away"] / max(1, better["mL thrown away"])
    minutes = ours["minutes"] / max(1, better["minutes"])
    print(
        f"missed by the plan though another way served: {could + luck}; of them missed though any way could have "
        f"served, given what was known and there when the plan called it short: {could} (aim 0)"
    )
    print(
        f"waste of what it made x{waste:.2f} (aim 0.5; x{in_all:.2f} with what stood there when the year began), "
        f"minutes x{minutes:.2f} (aim 0.67) of the better other way"
    )
    return could == 0 and waste <= 0.5 and minutes <= 0.67
