"""The term-end count of one bottle: what was found beside what the books say, and whether measuring explains it.

Amounts are integers in the bottle's unit (ug or nL). A difference is explained when it is no larger than twice
the combined standard uncertainty of everything that was measured since the books were last right: the opening
balance, every movement, and the count itself (root of the sum of squares, k = 2: EURACHEM/CITAC Guide CG4,
3rd ed. (2012), sections 8.2 and 8.3). About one honest difference in twenty is then still flagged at worst;
a recount settles it.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from math import hypot

from prep.chemistry import quantities
from prep.chemistry.model import Line, Measure
from prep.plurals import plural
from prep.stocktake.methods import CG4, ClosedPacks, CountedAmount, Method, count_of, expanded, working
from prep.stocktake.tolerances import ARRIVALS, BENCH_PCT, STATED
from prep.stocktake.turnover import MovementFlow

_NOTHING = CountedAmount(0, 0.0)


@dataclass(frozen=True, slots=True)
class BookBalance:
    """A bottle as the books have it: the balance the last count left, how well that was known, and since then.

    `opening_u` is a standard uncertainty in the bottle's unit (`Verdict.u_after` of the last count); a bottle
    that came since opens with nothing.
    """

    bottle: str
    item: str
    measure: Measure
    opening: int = 0
    opening_u: float = 0.0
    flows: tuple[MovementFlow, ...] = ()

    balance: int = field(init=False)
    """What the books say is in it."""
    u: float = field(init=False)
    """Standard uncertainty of the balance: the root of the sum of squares (CG4, section 8.2)."""

    def __post_init__(self) -> None:
        """Work out balance and uncertainty once: both are asked for again and again, of thousands of bottles."""
        object.__setattr__(self, "balance", self.opening + sum([f.amount for f in self.flows]))
        object.__setattr__(self, "u", hypot(self.opening_u, *[f.u for f in self.flows]))


@dataclass(frozen=True, slots=True)
class Verdict:
    """A bottle's count against its books; `method` None: it was looked for and not found.

    `difference` is counted minus book; `explained_by` is the most that measuring explains (k = 2). `adjust` is
    what closing the count posts: the difference where it is flagged or where the count knows the content
    better than the books do, else 0 (a level judged by eye does not overrule a weighed balance).
    """

    books: BookBalance
    method: Method | None
    counted: int
    u_count: float
    difference: int
    explained_by: int
    flagged: bool
    adjust: int

    @property
    def bottle(self) -> str:
        """The bottle's code."""
        return self.books.bottle

    @property
    def item(self) -> str:
        """The code of what is in it."""
        return self.books.item

    @property
    def measure(self) -> Measure:
        """Whether it is counted by mass or by volume."""
        return self.books.measure

    @property
    def book(self) -> int:
        """What the books say is in it."""
        return self.books.balance

    @property
    def u_book(self) -> float:
        """Standard uncertainty of what the books say."""
        return self.books.u

    @property
    def found(self) -> bool:
        """Whether the bottle was there."""
        return self.method is not None

    @property
    def u_after(self) -> float:
        """Standard uncertainty of the balance that the closed count leaves: the next count's `opening_u`."""
        return self.u_count if self.adjust else min(self.u_book, self.u_count)

    @property
    def times(self) -> float:
        """The difference in multiples of what measuring explains; infinite where nothing is explained."""
        if not self.difference:
            return 0.0
        return abs(self.difference) / self.explained_by if self.explained_by else float("inf")

    @property
    def sentence(self) -> str:
        """The verdict in one line, which is also the reason of the adjustment."""
        size = quantities.show(abs(self.difference), self.measure)
        allowed = quantities.show(self.explained_by, self.measure, 2)
        if not self.found:
            if self.flagged:
                return f"not found; the books say {quantities.show(self.book, self.measure)}"
            return "not found; the books leave it as good as empty"
        if not self.difference:
            return "as the books say"
        way = "less" if self.difference < 0 else "more"
        if self.flagged:
            return f"{size} {way} than the books; measuring explains {allowed} at most"
        return f"{size} {way} than the books, which measuring explains (up to {allowed})"

    @property
    def working(self) -> tuple[Line, ...]:
        """How the verdict was come to, line by line."""
        measure, show = self.measure, quantities.show
        flows = self.books.flows
        came, went = (sum(abs(f.amount) for f in flows if (f.amount > 0) is way) for way in (True, False))
        times = sum(f.times for f in flows)
        lines = [
            Line(
                f"books: {show(self.books.opening, measure)} at the last count + {show(came, measure)} in - "
                f"{show(went, measure)} out ({plural(times, 'movement')}) = "
                f"{show(self.book, measure)}, known within {show(expanded(self.u_book), measure, 2)} (k = 2)"
            )
        ]
        if self.method is not None:
            known = show(expanded(self.u_count), measure, 2)
            lines += working(self.method, measure)
            lines.append(Line(f"count: {show(self.counted, measure)}, known within {known} (k = 2)"))
        most = f"; most of it from {self.mostly}" if self.explained_by else ""
        lines.append(
            Line(
                f"difference {show(self.difference, measure)}; measuring explains "
                f"{show(self.explained_by, measure, 2)} (k = 2, root of the sum of squares{most})",
                f"{CG4}, sections 8.2 and 8.3",
            )
        )
        lines.append(Line(("flagged: " if self.flagged else "explained: ") + self.sentence))
        if self.found and not self.flagged and self.difference:
            why = "the count is the better known, and is posted" if self.adjust else "the books are the better known"
            lines.append(Line(f"{why}{'' if self.adjust else ', and stay'}"))
        return tuple(lines)

    @property
    def mostly(self) -> str:
        """Where most of what measuring explains comes from."""
        flow = max(self.books.flows, key=lambda f: f.u, default=_NO_FLOW)
        shares = [(self.u_count, "the count"), (self.books.opening_u, "the last count"), (flow.u, _named(flow))]
        return max(shares)[1]


_NO_FLOW = MovementFlow("", 0)


def _named(flow: MovementFlow) -> str:
    if flow.kind in ARRIVALS:
        return "how full packs are"
    if flow.amount < 0:
        return f"what was taken ({BENCH_PCT} % of each)"
    if flow.kind == "make":
        return "the tolerance of what was made"
    if flow.kind in STATED:
        return "the amount it was put on the books with, as exact as it was written"
    return f"what was put into it ({BENCH_PCT} % of each)"


def judge(books: BookBalance, method: Method | None) -> Verdict:
    """Judge whether measuring explains the difference between a bottle's books and its count.

    `method` None: the bottle was looked for and not found, which is a difference unless the books, within
    their uncertainty, leave it empty. Raises PrepError as `count_of` does.
    """
    counted = count_of(method, books.measure) if method is not None else _NOTHING
    difference = counted.amount - books.balance
    explained_by = expanded(hypot(books.u, counted.u))
    flagged = abs(difference) > explained_by
    adjust = difference if flagged or method is None or counted.u < books.u else 0
    return Verdict(books, method, counted.amount, counted.u, difference, explained_by, flagged, adjust)


SEEN = "seen, not measured"
"""How a bottle was counted that nobody measured, in words."""


def seen(books: BookBalance) -> Verdict:
    """Record that a bottle stands there and was not measured: its books are left as they are."""
    return Verdict(books, ClosedPacks(0, 1), books.balance, books.u, 0, expanded(books.u), False, 0)


def to_recount(verdicts: Iterable[Verdict]) -> tuple[str, ...]:
    """List the codes of the bottles to look at again, the least explained first."""
    ranked = sorted((v for v in verdicts if v.flagged), key=lambda v: (-v.times, v.bottle))
    return tuple(v.bottle for v in ranked)
