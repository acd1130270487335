"""The term-end count of one bottle: what was found beside what the books say, and whether measuring explains it.

Amounts are integers in the bottle's unit (ug or nL). A difference is explained when it is no larger than twice
the combined standard uncertainty of everything that was measured since the books were last right: the opening
balance, every movement, and the count itself (root of the sum of squares, k = 2: EURACHEM/CITAC Guide CG4,
3rd ed. (2012), sections 8.2 and 8.3). About one honest difference in twenty is then still flagged at worst;
a recount settles it.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_EVEN, Decimal
from enum import StrEnum
from math import ceil, fsum, sqrt

from prep.chemistry import quantities
from prep.chemistry.model import Instrument, InstrumentKind, Line, Measure
from prep.chemistry.quantities import BASE_PER_UNIT
from prep.errors import PrepError
from prep.planning.allowances import pack_half_width

K = 2
CG4 = "EURACHEM/CITAC Guide CG4, 3rd ed. (2012)"
PRACTICE = "common practice, no source"
DENSITY_PCT = Decimal("0.5")
"""How far a tabulated density may be off in a room of 15 to 25 C, % of it: common practice, no source."""


class Shape(StrEnum):
    """How an error is spread within its half-width (CG4, appendix E1): u = a/sqrt(3) or a/sqrt(6)."""

    RECTANGULAR = "rectangular"
    TRIANGULAR = "triangular"


_DIVISOR = {Shape.RECTANGULAR: 3, Shape.TRIANGULAR: 6}


@dataclass(frozen=True, slots=True)
class Posted:
    """One movement since the last count: signed `amount`, and the `half_width` within which it was measured.

    Movements that share an instrument whose error is the same every time carry its code in `shared`: their
    errors then add up instead of averaging out. `reverses` names the movement that this one undoes; `kind` is
    the kind of its job.
    """

    amount: int
    half_width: int = 0
    shape: Shape = Shape.RECTANGULAR
    kind: str = ""
    shared: str = ""
    id: int = 0
    reverses: int | None = None

    @property
    def standard(self) -> float:
        """Standard uncertainty, in the amount's unit."""
        return self.half_width / sqrt(_DIVISOR[self.shape])


@dataclass(frozen=True, slots=True)
class Books:
    """A bottle as the books have it: the balance the last count left, how well that was known, and since then.

    `opening_u` is a standard uncertainty in the bottle's unit (`Verdict.u_after` of the last count); a bottle
    that came since opens with nothing.
    """

    bottle: str
    item: str
    measure: Measure
    opening: int = 0
    opening_u: float = 0.0
    movements: tuple[Posted, ...] = ()

    @property
    def balance(self) -> int:
        """What the books say is in it."""
        return self.opening + sum(m.amount for m in self.movements)


@dataclass(frozen=True, slots=True)
class Weighed:
    """Counted on a balance with its bottle. Masses in g, the density of the content in g/mL.

    `tare_half_width_g` says how far the tare may be off; None means it was weighed empty on this balance.
    """

    gross_g: Decimal
    tare_g: Decimal
    balance: Instrument
    density_g_ml: Decimal | None = None
    tare_half_width_g: Decimal | None = None
    density_pct: Decimal = DENSITY_PCT


@dataclass(frozen=True, slots=True)
class Judged:
    """Counted by the level of the content: tenths (0 to 10) of what the bottle holds when full."""

    tenths: int
    full: int


@dataclass(frozen=True, slots=True)
class Units:
    """Counted as closed packs of a printed content. `pct` is how far a pack may be off, % of it, if known."""

    count: int
    each: int
    pct: Decimal | None = None


Method = Weighed | Judged | Units


@dataclass(frozen=True, slots=True)
class Counted:
    """What a count found: `u` is its standard uncertainty in the bottle's unit."""

    amount: int
    u: float
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Verdict:
    """A bottle's count against its books.

    `difference` is counted minus book; `explained_by` is the most that measuring explains (k = 2). `adjust` is
    what closing the count posts: the difference where it is flagged or where the count knows the content
    better than the books do, else 0 (a level judged by eye does not overrule a weighed balance).
    """

    bottle: str
    item: str
    measure: Measure
    book: int
    counted: int
    difference: int
    explained_by: int
    flagged: bool
    found: bool
    u_book: float
    u_count: float
    adjust: int
    reason: tuple[Line, ...]

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


def standing(movements: Iterable[Posted]) -> tuple[Posted, ...]:
    """The movements that stand: one that was undone, and what undid it, never happened in the bottle."""
    moved = tuple(movements)
    known = {m.id for m in moved if m.id}
    undone = {m.reverses for m in moved if m.reverses in known}
    return tuple(m for m in moved if not (m.id and m.id in undone) and m.reverses not in undone)


def book_uncertainty(books: Books) -> float:
    """Standard uncertainty of the book balance, in the bottle's unit.

    Independent movements by the root of the sum of squares; those that share an instrument are first added
    with their signs, since its error is the same each time (CG4, section 8.2 and appendix D on correlation).
    """
    together: dict[str, float] = defaultdict(float)
    squares = [books.opening_u**2]
    for moved in standing(books.movements):
        if moved.shared:
            together[moved.shared] += moved.standard if moved.amount >= 0 else -moved.standard
        else:
            squares.append(moved.standard**2)
    squares += [u**2 for u in together.values()]
    return sqrt(fsum(squares))


def count_of(method: Method, measure: Measure) -> Counted:
    """The amount that a way of counting found, with its standard uncertainty.

    Raises PrepError: a bottle lighter than its tare beyond the balance's error, one too heavy for the balance,
    a liquid weighed without a density, tenths outside 0 to 10, a negative number of packs.
    """
    match method:
        case Weighed():
            return _weighed(method, measure)
        case Judged():
            return _judged(method, measure)
        case Units():
            return _units(method, measure)


def judge(books: Books, method: Method | None) -> Verdict:
    """Whether measuring explains the difference between a bottle's books and its count.

    `method` None: the bottle was looked for and not found, which is a difference unless the books, within
    their uncertainty, leave it empty. Raises PrepError as `count_of` does.
    """
    u_book = book_uncertainty(books)
    book = books.balance
    counted = count_of(method, books.measure) if method is not None else Counted(0, 0.0, ())
    difference = counted.amount - book
    explained_by = ceil(K * sqrt(u_book**2 + counted.u**2) - 1e-9)
    flagged = abs(difference) > explained_by
    adjust = difference if flagged or method is None or counted.u < u_book else 0
    verdict = Verdict(
        books.bottle,
        books.item,
        books.measure,
        book,
        counted.amount,
        difference,
        explained_by,
        flagged,
        method is not None,
        u_book,
        counted.u,
        adjust,
        (),
    )
    return _with_reason(verdict, books, counted)


def to_recount(verdicts: Iterable[Verdict]) -> tuple[str, ...]:
    """Codes of the bottles to look at again, the least explained first."""
    ranked = sorted((v for v in verdicts if v.flagged), key=lambda v: (-v.times, v.bottle))
    return tuple(v.bottle for v in ranked)


def _weighed(method: Weighed, measure: Measure) -> Counted:
    scale = method.balance
    if scale.kind is not InstrumentKind.BALANCE:
        raise PrepError(f"The {scale.name} weighs nothing; name a balance.")
    for what, mass in (("gross", method.gross_g), ("tare", method.tare_g)):
        if not mass.is_finite() or mass < 0:
            raise PrepError(f"A {what} mass is a number of grams, 0 or more.")
    if method.gross_g > scale.capacity:
        raise PrepError(
            f"{_g(method.gross_g)} is more than the {scale.name} carries ({_g(scale.capacity)}); "
            "use another balance or judge by level."
        )
    if measure is Measure.VOLUME and not method.density_g_ml:
        raise PrepError("A liquid is weighed with its density; give one, or judge by level.")
    # Linearity, and the step of the display, once for each time the balance was read.
    reading = float(scale.tolerance) ** 2 / 3 + (float(scale.resolution) / 2) ** 2 / 3
    tare = reading if method.tare_half_width_g is None else float(method.tare_half_width_g) ** 2 / 3
    u_mass = sqrt(reading + tare)
    net = method.gross_g - method.tare_g
    if float(-net) > K * u_mass:
        raise PrepError(
            f"With {_g(method.gross_g)} the bottle is lighter than its own tare, {_g(method.tare_g)}; "
            "check both, and whether the cap was on."
        )
    net = max(net, Decimal(0))
    lines = [
        Line(f"{_g(method.gross_g)} with the bottle - {_g(method.tare_g)} tare = {_g(net)} on the {scale.name}"),
        Line(
            f"the balance within {_g(scale.tolerance)}, read to {_g(scale.resolution)}, "
            + (
                "twice" if method.tare_half_width_g is None else f"once; the tare within {_g(method.tare_half_width_g)}"
            ),
            f"{CG4}, example A2",
        ),
    ]
    if measure is Measure.MASS:
        return Counted(_base(net), u_mass * BASE_PER_UNIT, tuple(lines))
    assert method.density_g_ml is not None
    volume = net / method.density_g_ml
    u_volume = sqrt(
        (u_mass / float(method.density_g_ml)) ** 2 + (float(volume) * float(method.density_pct) / 100) ** 2 / 3
    )
    lines.append(
        Line(
            f"{_g(net)} / {quantities.plain(method.density_g_ml)} g/mL = {quantities.figures(volume)} mL, "
            f"the density within {quantities.plain(method.density_pct)} %",
            PRACTICE,
        )
    )
    return Counted(_base(volume), u_volume * BASE_PER_UNIT, tuple(lines))


def _judged(method: Judged, measure: Measure) -> Counted:
    if not 0 <= method.tenths <= 10:
        raise PrepError("A level is judged in tenths of the full bottle, from 0 to 10.")
    if method.full <= 0:
        raise PrepError("To judge by level, say what the bottle holds when full.")
    # Half a tenth for the scale's step and half a tenth for the eye: together a triangle of a whole tenth.
    line = Line(
        f"{method.tenths} tenths of {quantities.show(method.full, measure)}, judged by level: within a tenth "
        f"({quantities.show(method.full // 10, measure, 3)})",
        PRACTICE,
    )
    amount = _half_even(Decimal(method.full * method.tenths) / 10)
    return Counted(amount, method.full / 10 / sqrt(_DIVISOR[Shape.TRIANGULAR]), (line,))


def _units(method: Units, measure: Measure) -> Counted:
    if method.count < 0 or method.each <= 0:
        raise PrepError("Packs are counted as a whole number, 0 or more, of a content above nothing.")
    if method.pct is None:
        half, source = pack_half_width(method.each)
    else:
        half, source = _half_even(method.each * method.pct / 100), ""
    what = "closed; a pack within" if method.pct is None else "within"
    each, off = quantities.show(method.each, measure), quantities.show(half, measure, 2)
    line = Line(f"{method.count} x {each}, {what} {off}", source)
    # Packs of one filling are off together, so their errors add.
    return Counted(method.count * method.each, method.count * half / sqrt(3), (line,))


def _with_reason(verdict: Verdict, books: Books, counted: Counted) -> Verdict:
    measure = books.measure
    stood = standing(books.movements)
    came = sum(m.amount for m in stood if m.amount > 0)
    went = -sum(m.amount for m in stood if m.amount < 0)
    show = quantities.show
    lines = [
        Line(
            f"books: {show(books.opening, measure)} at the last count + {show(came, measure)} in - "
            f"{show(went, measure)} out ({len(stood)} movement{'' if len(stood) == 1 else 's'}) = "
            f"{show(verdict.book, measure)}, known within {_expanded(verdict.u_book, measure)} (k = 2)"
        )
    ]
    if verdict.found:
        lines += counted.lines
        lines.append(
            Line(f"count: {show(counted.amount, measure)}, known within {_expanded(counted.u, measure)} (k = 2)")
        )
    lines.append(
        Line(
            f"difference {show(verdict.difference, measure)}; measuring explains "
            f"{show(verdict.explained_by, measure, 2)} (k = 2, root of the sum of squares"
            + (f"; most of it from {_largest(books, stood, counted)}" if verdict.explained_by else "")
            + ")",
            f"{CG4}, sections 8.2 and 8.3",
        )
    )
    lines.append(Line(("flagged: " if verdict.flagged else "explained: ") + verdict.sentence))
    if verdict.found and not verdict.flagged and verdict.difference:
        why = "the count is the better known, and is posted" if verdict.adjust else "the books are the better known"
        lines.append(Line(f"{why}{'' if verdict.adjust else ', and stay'}"))
    return replace(verdict, reason=tuple(lines))


def _largest(books: Books, stood: Sequence[Posted], counted: Counted) -> str:
    moved = book_uncertainty(Books(books.bottle, books.item, books.measure, movements=tuple(stood)))
    shares = {"the count": counted.u, "the movements": moved, "the last count": books.opening_u}
    return max(shares, key=lambda name: shares[name])


def _expanded(u: float, measure: Measure) -> str:
    return quantities.show(ceil(K * u - 1e-9), measure, 2)


def _g(mass: Decimal) -> str:
    return f"{quantities.plain(mass)} g"


def _base(amount: Decimal) -> int:
    return _half_even(amount * BASE_PER_UNIT)


def _half_even(amount: Decimal) -> int:
    return int(amount.to_integral_value(ROUND_HALF_EVEN))
