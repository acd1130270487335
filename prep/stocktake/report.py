"""What a closed count says of the whole store: pure aggregation over the bottles as the count left them.

Amounts are integers in the bottle's unit (ug or nL). Nothing is added across units: masses with masses,
volumes with volumes, and a liquid's mass only where its density is known.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import ROUND_HALF_EVEN, Decimal

from prep.books import BottleStatus
from prep.chemistry.model import Measure
from prep.stocktake.verdict import SEEN, BookBalance, Verdict

_IN = frozenset({"receive", "arrive"})
_ON_THE_SHELF = frozenset({"opening", "import"})
"""What stood there when the books began, in the first term; later it came in."""
_GONE = frozenset({"discard", "waste"})
_CORRECTED = frozenset({"count", "undo", "found", "repair"})
_MADE = frozenset({"make", "buffer"})
NOT_KNOWN = "not known"


@dataclass(frozen=True, slots=True)
class StandingBottle:
    """One bottle at the end of a term.

    `verdict` is None for a bottle nobody has counted yet; its books then stand. A bottle found but not on the
    books has `on_books` False, no books to speak of, and what was found in `found_amount`. `hazards` are
    hazard classes as text; None means that no hazard data are on file, an empty tuple "not classified".
    `density_g_ml` is the content's. `stands` is where it was found, if not at its `location`; `times` how often it
    was counted; `cost` what it cost when it was `full`, or, where that is not known, with what `came` in it first.
    """

    books: BookBalance
    name: str
    location: str
    walk_order: int = 0
    verdict: Verdict | None = None
    on_books: bool = True
    found_amount: int = 0
    status: BottleStatus = BottleStatus.IN_SERVICE
    label_readable: bool = True
    use_by: date | None = None
    test_due: date | None = None
    received: date | None = None
    hazards: tuple[str, ...] | None = None
    stream: str = ""
    density_g_ml: Decimal | None = None
    cas: str = ""
    lot: str = ""
    counted_by: str = ""
    how: str = ""
    times: int = 0
    stands: str = ""
    cost: Decimal | None = None
    full: int | None = None
    came: int | None = None

    amount: int = field(init=False)
    """The amount in it once the count is closed."""

    def __post_init__(self) -> None:
        """Work out the amount once: it is asked for again and again, of thousands of bottles."""
        booked = self.books.balance + (self.verdict.adjust if self.verdict else 0)
        object.__setattr__(self, "amount", booked if self.on_books else self.found_amount)

    @property
    def seen(self) -> bool:
        """Whether somebody saw it, and measured nothing."""
        return self.how == SEEN

    @property
    def mass_ug(self) -> int | None:
        """Mass of the content; None for a liquid without density."""
        return self.mass_of(self.amount)

    def mass_of(self, amount: int) -> int | None:
        """Work out the mass of so much of the content; None for a liquid without density."""
        if self.books.measure is Measure.MASS:
            return amount
        if self.density_g_ml is None:
            return None
        return int((amount * self.density_g_ml).to_integral_value(ROUND_HALF_EVEN))


@dataclass(frozen=True, slots=True)
class Totals:
    """Sums over bottles: the known masses, the volume of the liquids, and that of liquids of unknown mass."""

    bottles: tuple[str, ...]
    mass_ug: int
    volume_nl: int
    unweighed_nl: int


@dataclass(frozen=True, slots=True)
class HazardHolding:
    """How much of one hazard class stands in one location."""

    hazard: str
    location: str
    totals: Totals


@dataclass(frozen=True, slots=True)
class Disposal:
    """One bottle to get rid of, and why."""

    bottle: str
    name: str
    measure: Measure
    amount: int
    why: str


@dataclass(frozen=True, slots=True)
class DisposalStream:
    """What goes into one stream; `not known` where none is on file."""

    stream: str
    lines: tuple[Disposal, ...]
    totals: Totals


@dataclass(frozen=True, slots=True)
class Turnover:
    """One item through the term.

    opening + came_in + from_schools + made - used - passed_on - discarded + corrected = closing; `from_schools` and
    `passed_on` are what came from other schools, and went to them.
    """

    item: str
    name: str
    measure: Measure
    opening: int
    came_in: int
    made: int
    used: int
    discarded: int
    corrected: int
    closing: int
    from_schools: int = 0
    passed_on: int = 0

    @property
    def moved(self) -> bool:
        """Whether there was anything of it in the term."""
        between = self.from_schools, self.passed_on
        ours = self.opening, self.came_in, self.made, self.used, self.discarded, self.corrected, self.closing
        return any((*ours, *between))

    @property
    def turns(self) -> float | None:
        """Used, over the mean of opening and closing; None where both are empty."""
        mean = (self.opening + self.closing) / 2
        return self.used / mean if mean else None


@dataclass(frozen=True, slots=True)
class IdleItem:
    """An item of which nothing was used all term, and since when (None: never in the books)."""

    item: str
    name: str
    measure: Measure
    amount: int
    bottles: tuple[str, ...]
    last_used: date | None = None


@dataclass(frozen=True, slots=True)
class CountReport:
    """The term-end report. Bottles stand in walking order unless a field says otherwise."""

    on: date
    counted: tuple[StandingBottle, ...]
    not_counted: tuple[StandingBottle, ...]
    not_found: tuple[StandingBottle, ...]
    found: tuple[StandingBottle, ...]  # not on the books
    unreadable: tuple[StandingBottle, ...]
    differences: tuple[Verdict, ...]  # flagged first, least explained first; explained ones after
    expired: tuple[StandingBottle, ...]  # longest out of date first
    tests_due: tuple[StandingBottle, ...]
    no_hazard_data: tuple[StandingBottle, ...]
    hazards: tuple[HazardHolding, ...]
    disposal: tuple[DisposalStream, ...]
    turnover: tuple[Turnover, ...]
    never_used: tuple[IdleItem, ...]
    inventory: tuple[StandingBottle, ...] = ()  # all that is left, as the count leaves it
    discarded: tuple[DisposalStream, ...] = ()  # in the term, by stream
    elsewhere: tuple[StandingBottle, ...] = ()
    value: Decimal | None = None  # of what is left, where its cost is known


def report(bottles: Iterable[StandingBottle], on: date, *, first_term: bool = False) -> CountReport:
    """Draw up the count's report for the day `on` (what is out of date and due is judged by it).

    When what was never used was last taken is for `with_last_used` to say.
    """
    walked = sorted(bottles, key=lambda b: (b.walk_order, b.location, b.books.bottle))
    known = [b for b in walked if b.on_books]
    looked = [(b, b.verdict) for b in known if b.verdict is not None]
    holding = [b for b in walked if b.amount > 0 and b.status != BottleStatus.DISCARDED]
    expired = [b for b in holding if b.use_by is not None and b.use_by < on]
    items = _by_item(walked)
    turns = (_turn(item, of_item, first_term) for item, of_item in items.items())
    turnover = tuple(turn for turn in turns if turn.moved)
    return CountReport(
        on=on,
        counted=tuple(b for b, v in looked if v.found),
        not_counted=tuple(b for b in holding if b.on_books and b.verdict is None),
        not_found=tuple(b for b, v in looked if not v.found),
        found=tuple(b for b in walked if not b.on_books),
        unreadable=tuple(b for b in walked if not b.label_readable),
        differences=by_size(v for _, v in looked),
        expired=tuple(sorted(expired, key=lambda b: (b.use_by or on, b.books.bottle))),
        tests_due=tuple(b for b in holding if b.test_due is not None and b.test_due <= on),
        no_hazard_data=tuple(b for b in holding if b.hazards is None),
        hazards=_hazards(holding),
        disposal=_disposal(holding, on),
        turnover=turnover,
        never_used=tuple(_idle(t, items[t.item]) for t in turnover if t.closing > 0 and t.used <= 0),
        inventory=tuple(holding),
        discarded=_discarded(walked),
        elsewhere=tuple(b for b in walked if b.stands and b.stands != b.location),
        value=_worth(holding),
    )


def _worth(holding: Sequence[StandingBottle]) -> Decimal | None:
    """Work out what the stock left is worth, by what each bottle cost when full; None where no cost is known."""
    known = [b.cost * b.amount / bought for b in holding if b.cost is not None and (bought := b.full or b.came)]
    return sum(known, Decimal(0)) if known else None


def _discarded(walked: Sequence[StandingBottle]) -> tuple[DisposalStream, ...]:
    """List what was written off in the term, by stream, and by item within it."""
    streams: dict[str, list[tuple[StandingBottle, int]]] = defaultdict(list)
    for bottle in walked:
        if gone := -sum(f.amount for f in bottle.books.flows if f.kind in _GONE):
            streams[bottle.stream or NOT_KNOWN].append((bottle, gone))
    out = []
    for stream in sorted(streams, key=lambda s: (s == NOT_KNOWN, s)):
        lines = sorted(streams[stream], key=lambda line: (line[0].name.casefold(), line[0].books.bottle))
        sums = totals([b for b, _ in lines], {b.books.bottle: gone for b, gone in lines})
        told = (Disposal(b.books.bottle, b.name, b.books.measure, gone, "discarded in the term") for b, gone in lines)
        out.append(DisposalStream(stream, tuple(told), sums))
    return tuple(out)


def with_last_used(made: CountReport, days: Mapping[str, date]) -> CountReport:
    """Add to the report the last day, in any term, on which anything was taken of what is idle."""
    idle = tuple(
        replace(one, last_used=max((days[code] for code in one.bottles if code in days), default=None))
        for one in made.never_used
    )
    return replace(made, never_used=idle)


def by_size(verdicts: Iterable[Verdict]) -> tuple[Verdict, ...]:
    """Sort differences: flagged first, each in order of how many times over measuring explains it."""
    different = [v for v in verdicts if v.difference]
    return tuple(sorted(different, key=lambda v: (not v.flagged, -v.times, v.bottle)))


def totals(bottles: Sequence[StandingBottle], amounts: Mapping[str, int] | None = None) -> Totals:
    """Add up bottles, by what is in them or by `amounts` by code, never across units."""
    told = [(b, b.amount if amounts is None else amounts[b.books.bottle]) for b in bottles]
    masses = [b.mass_of(amount) for b, amount in told]
    liquids = [(b, amount) for b, amount in told if b.books.measure is Measure.VOLUME]
    return Totals(
        tuple(b.books.bottle for b in bottles),
        sum(m for m in masses if m is not None),
        sum(amount for _, amount in liquids),
        sum(amount for b, amount in liquids if b.mass_of(amount) is None),
    )


def _hazards(holding: Sequence[StandingBottle]) -> tuple[HazardHolding, ...]:
    placed: dict[tuple[str, int, str], list[StandingBottle]] = defaultdict(list)
    for bottle in holding:
        classes = (NOT_KNOWN,) if bottle.hazards is None else tuple(dict.fromkeys(bottle.hazards))
        for hazard in classes:
            placed[hazard, bottle.walk_order, bottle.location].append(bottle)
    return tuple(HazardHolding(hazard, place, totals(placed[hazard, n, place])) for hazard, n, place in sorted(placed))


def _disposal(holding: Sequence[StandingBottle], on: date) -> tuple[DisposalStream, ...]:
    streams: dict[str, list[tuple[StandingBottle, str]]] = defaultdict(list)
    for bottle in holding:
        whys = []
        if bottle.use_by is not None and bottle.use_by < on:
            whys.append(f"out of date since {bottle.use_by}")
        if not bottle.label_readable:
            whys.append("label unreadable")
        if whys:
            streams[bottle.stream or NOT_KNOWN].append((bottle, "; ".join(whys)))
    return tuple(
        DisposalStream(
            stream,
            tuple(Disposal(b.books.bottle, b.name, b.books.measure, b.amount, why) for b, why in streams[stream]),
            totals([b for b, _ in streams[stream]]),
        )
        for stream in sorted(streams, key=lambda s: (s == NOT_KNOWN, s))
    )


def _by_item(bottles: Iterable[StandingBottle]) -> dict[str, list[StandingBottle]]:
    items: dict[str, list[StandingBottle]] = defaultdict(list)
    for bottle in bottles:
        items[bottle.books.item].append(bottle)
    return dict(sorted(items.items(), key=lambda item: (item[1][0].name.casefold(), item[0])))


def _turn(item: str, bottles: Sequence[StandingBottle], first_term: bool) -> Turnover:
    shelved = came_in = made = used = discarded = corrected = from_schools = passed_on = 0
    for bottle in bottles:
        for moved in bottle.books.flows:
            if moved.kind in _ON_THE_SHELF and first_term:
                shelved += moved.amount
            elif moved.kind in _IN | _ON_THE_SHELF:
                came_in += moved.amount
            elif moved.kind == "transfer":
                from_schools += max(moved.amount, 0)
                passed_on -= min(moved.amount, 0)
            elif moved.kind in _GONE:
                discarded -= moved.amount
            elif moved.kind in _CORRECTED:
                corrected += moved.amount
            elif moved.kind in _MADE and moved.amount > 0:
                made += moved.amount
            else:  # a use, or what came back from one
                used -= moved.amount
        corrected += bottle.amount - (bottle.books.balance if bottle.on_books else 0)
    return Turnover(
        item=item,
        name=bottles[0].name,
        measure=bottles[0].books.measure,
        opening=shelved + sum(b.books.opening for b in bottles if b.on_books),
        came_in=came_in,
        made=made,
        used=used,
        discarded=discarded,
        corrected=corrected,
        closing=sum(b.amount for b in bottles),
        from_schools=from_schools,
        passed_on=passed_on,
    )


def _idle(turn: Turnover, bottles: Sequence[StandingBottle]) -> IdleItem:
    held = tuple(b.books.bottle for b in bottles if b.amount > 0)
    return IdleItem(turn.item, turn.name, turn.measure, turn.closing, held)
