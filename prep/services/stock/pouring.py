"""From bottle to bottle: decant, split, top up, pour together. Amounts, strength, dates and the trace are kept."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

from prep.books import BottleStatus, JobKind
from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import Form, Measure, PouredPart, Strength, StrengthKind
from prep.chemistry.quantities import BASE_PER_UNIT, plain, tidy
from prep.chemistry.strength.dilution import blend
from prep.chemistry.strength.solutes import SoluteFacts, about_substance
from prep.errors import PrepError, Refused
from prep.services.input.act import Act
from prep.services.input.checks import printable, within
from prep.services.inventory import session
from prep.services.stock.changes import never_kept
from prep.services.stock.codes import POURED_FROM, NewBottle, bottle_row, new_code
from prep.services.stock.listing import one, since_it_came
from prep.services.stock.places import place_in
from prep.store import change_log, ledger, queries
from prep.store.bottles import BottlePortion, HeldBottle
from prep.store.jobs import term_sums
from prep.wording import AtTerminal, Flag

if TYPE_CHECKING:
    from sqlalchemy import Connection

_FIGURES = 4
_MOST = 50


@dataclass(frozen=True, slots=True)
class Poured:
    """What a bottle was poured into: the bottles as they are now, those that were drawn on first."""

    job: int
    sources: tuple[HeldBottle, ...]
    filled: tuple[HeldBottle, ...]


def decant(db: Path | None, bottle: str, amount: str, location: str | None, act: Act) -> Poured:
    """Pour an amount into a new bottle. Raises PrepError; Refused if it holds less or is not in service."""

    def portions(connection: "Connection") -> Portions:
        held = _source(connection, bottle, act)
        return [BottlePortion(held, _amount(connection, held, amount))]

    return _poured(db, portions, 1, location, act)


def split(db: Path | None, bottle: str, into: int, location: str | None, act: Act) -> Poured:
    """Share all that a bottle holds between so many new ones. Raises PrepError, Refused as `decant`."""
    within(into, 2, _MOST, Flag("--into"))

    def portions(connection: "Connection") -> Portions:
        held = _source(connection, bottle, act)
        return [BottlePortion(held, held.balance)]

    return _poured(db, portions, into, location, act)


def pour_together(db: Path | None, bottles: Sequence[str], location: str | None, act: Act) -> Poured:
    """Pour all of several bottles of one thing into a new one. Raises PrepError, Refused as `decant`."""

    def portions(connection: "Connection") -> Portions:
        held = [_source(connection, code, act) for code in bottles]
        if len({one.code for one in held}) < max(2, len(held)):
            raise PrepError("Name at least two bottles, each once.")
        return [BottlePortion(one, one.balance) for one in held]

    return _poured(db, portions, 1, location, act)


def top_up(db: Path | None, bottle: str, source: str, amount: str | None, act: Act) -> Poured:
    """Pour an amount, or all, of one bottle into another of the same thing. Raises PrepError, Refused."""

    def work(connection: "Connection") -> _ToppedUp:
        target, held = one(connection, bottle), _source(connection, source, act)
        since_it_came(target, act.day)
        if target.code == held.code:
            raise PrepError(f"Bottle {target.code} cannot be topped up from itself.")
        if target.status != BottleStatus.IN_SERVICE:
            raise Refused(f"Bottle {target.code} is {target.status}; nothing was poured.")
        base = held.balance if amount is None else _amount(connection, held, amount)
        poured = BottlePortion(held, base)
        return _ToppedUp(target, poured, _mixed(connection, [BottlePortion(target, target.balance), poured]))

    def post(connection: "Connection", worked: _ToppedUp) -> Poured:
        target, held, base, mixed = worked.target, worked.source.bottle, worked.source.amount, worked.mixed
        note = f"{held.code} into {target.code}"
        job = ledger.begin(connection, JobKind.DECANT, act.by, act.on, note)
        lines = [
            ledger.MovementLine(held.code, -base, f"into {target.code}"),
            ledger.MovementLine(target.code, base, "topped up"),
        ]
        ledger.post(connection, job, lines)
        _opened(connection, job, held, act.on)
        change_log.change(
            connection,
            job,
            "bottle",
            target.code,
            use_by=mixed.use_by,
            opened=target.opened or act.on,
            strength=mixed.strength,
            strength_uncertainty_pct=mixed.uncertainty_pct,
        )
        return Poured(job, (one(connection, held.code),), (one(connection, target.code),))

    return session.worked_out(db, work, post)


@dataclass(frozen=True, slots=True)
class _Mixed:
    """What portions of one thing are when they are together."""

    use_by: date | None
    strength: str | None
    uncertainty_pct: str | None


@dataclass(frozen=True, slots=True)
class _ToppedUp:
    """A bottle that is topped up, what of another is poured into it, and what the two are together."""

    target: HeldBottle
    source: BottlePortion
    mixed: _Mixed


Portions = Sequence[BottlePortion]


@dataclass(frozen=True, slots=True)
class _New:
    """What is poured into new bottles, what it is when it is together, and where they stand."""

    portions: Portions
    mixed: _Mixed
    place: str


def _poured(
    db: Path | None, portions_of: Callable[["Connection"], Portions], into: int, location: str | None, act: Act
) -> Poured:
    """Pour portions of one thing into new bottles, as one job that is worked out before the lock."""

    def work(connection: "Connection") -> _New:
        portions = portions_of(connection)
        first, whole = portions[0].bottle, sum(one.amount for one in portions)
        if whole < into:
            raise PrepError(f"There is too little in bottle {first.code} for {into} bottles.")
        place = first.location if location is None else place_in(connection, location)
        return _New(portions, _mixed(connection, portions), place)

    return session.worked_out(db, work, lambda connection, new: _into_new(connection, new, into, act))


def _into_new(connection: "Connection", new: _New, into: int, act: Act) -> Poured:
    portions, mixed, place = new.portions, new.mixed, new.place
    first, whole = portions[0].bottle, sum(one.amount for one in portions)
    drawn = [one.bottle for one in portions]
    codes = []
    for _ in range(into):
        codes.append(new_code(connection))
    said = ", ".join(held.code for held in drawn)
    job = ledger.begin(connection, JobKind.DECANT, act.by, act.on, f"{said} into {', '.join(codes)}"[:200])
    to = "into " + ", ".join(codes[:5])
    ledger.post(connection, job, [ledger.MovementLine(one.bottle.code, -one.amount, to) for one in portions])
    for held in drawn:
        _opened(connection, job, held, act.on)
    lots = list(dict.fromkeys(held.lot for held in drawn if held.lot))
    makers = list(dict.fromkeys(held.made_by for held in drawn if held.made_by))
    for number, code in enumerate(codes):
        share = whole // into + (1 if number < whole % into else 0)
        bottle = NewBottle(code, first.item, first.measure, place, act.on)
        row: dict[str, Any] = bottle_row(bottle) | {
            "received": _earliest([held.received for held in drawn]),
            "opened": _earliest([held.opened for held in drawn]) or act.on,
            "use_by": mixed.use_by,
            "lot": lots[0] if len(lots) == 1 else "",
            "strength": mixed.strength,
            "strength_uncertainty_pct": mixed.uncertainty_pct,
            "made_by": ", ".join(makers)[:80],
            "note": f"{POURED_FROM}{said}"[:200],
            "full": share,
            "cost": _paid(connection, portions, share, whole),
            "supplier": first.supplier if len({held.supplier for held in drawn}) == 1 else None,
        }
        ledger.fill(connection, job, row, share, f"from {said}"[:200])
    return Poured(
        job, tuple(one(connection, held.code) for held in drawn), tuple(one(connection, code) for code in codes)
    )


def _paid(connection: "Connection", portions: Portions, share: int, whole: int) -> str | None:
    """Work out what a share of portions cost, as it is stored; None where a portion's cost is not known."""
    first = term_sums.first_filled(connection, [one.bottle.code for one in portions])
    paid = Decimal(0)
    for portion in portions:
        held = portion.bottle
        bought = held.full or first.get(held.code)
        if held.cost is None or not bought:
            return None
        paid += Decimal(held.cost) * portion.amount / bought
    return plain((paid * share / whole).quantize(Decimal("0.01")))


def _source(connection: "Connection", code: str, act: Act) -> HeldBottle:
    held = one(connection, code)
    since_it_came(held, act.day)
    never_kept(connection, held.item)
    if held.status != BottleStatus.IN_SERVICE:
        raise Refused(f"Bottle {held.code} is {held.status}; nothing was poured.")
    if not held.balance:
        raise Refused(f"Bottle {held.code} is empty; nothing was poured.")
    return held


def _amount(connection: "Connection", held: HeldBottle, text: str) -> int:
    base = queries.catalogue(connection).item(held.item).amount(printable(text, label="AMOUNT"))
    if base > held.balance:
        raise Refused(f"Bottle {held.code} holds {held.shown} of {held.name}, which is less; nothing was poured.")
    return base


def _opened(connection: "Connection", job: int, held: HeldBottle, on: date) -> None:
    if held.opened is None:
        change_log.change(connection, job, "bottle", held.code, opened=on)


def _mixed(connection: "Connection", portions: Portions) -> _Mixed:
    """Work out the earliest use-by and the blended strength of portions. Raises Refused where the items differ."""
    portions = [one for one in portions if one.amount] or portions[-1:]
    bottles = [one.bottle for one in portions]
    if len({held.item for held in bottles}) > 1:
        names = " and ".join(f"{held.code} ({held.name})" for held in bottles)
        raise Refused(f"{names} are not the same thing; what is mixed is made", AtTerminal(": prep make"))
    use_by = _earliest([held.use_by for held in bottles])
    if len({held.strength for held in bottles}) == 1:
        uncertain = [Decimal(held.strength_uncertainty_pct or 0) for held in bottles]
        return _Mixed(use_by, bottles[0].strength, str(max(uncertain)) if all(uncertain) else None)
    catalogue = queries.catalogue(connection)
    strength = blended(portions, catalogue)
    uncertain = [Decimal(held.strength_uncertainty_pct or 0) for held in bottles]
    return _Mixed(use_by, queries.strength_text(strength), str(max(uncertain)) if all(uncertain) else None)


def blended(portions: Portions, catalogue: Catalogue) -> Strength | None:
    """Work out the strength of portions of one item poured together: each bottle's own, else that on file.

    By masses where densities are known, else with volumes that add (`prep calc blend`). Raises PrepError as
    `blend`.
    """
    of = portions[0].bottle
    item = catalogue.item(of.item)
    nominal, about = None, SoluteFacts()
    if item.substance is not None:
        about = about_substance(item.substance)
        if item.substance.assay_pct is not None:
            nominal = Strength(item.substance.assay_pct, StrengthKind.PCT_W_W)
    elif item.solution is not None and not item.solution.recipe:
        nominal = item.solution.strength
        about = _solute(item.solution.solute, catalogue)
    parts = []
    for portion in portions:
        strength = queries.strength_of(portion.bottle.strength) or nominal
        if strength is None:
            return None
        parts.append(PouredPart(Decimal(portion.amount) / BASE_PER_UNIT, strength))
    if of.measure is Measure.MASS:
        whole = sum(portion.amount for portion in portions)
        pct = sum(part.strength.value * each.amount for part, each in zip(parts, portions, strict=True)) / whole
        return Strength(tidy(Decimal(pct), _FIGURES), StrengthKind.PCT_W_W)
    made = blend(parts, about=about).strength
    return Strength(tidy(made.value, _FIGURES), made.kind)


def _solute(solute: str, catalogue: Catalogue) -> SoluteFacts:
    found = [s for s in catalogue.substances.values() if s.solute == solute and s.formula]
    found.sort(key=lambda s: (s.form is not Form.AQUEOUS, s.code))
    return about_substance(found[0]) if found else SoluteFacts()


def _earliest(days: Sequence[date | None]) -> date | None:
    return min((day for day in days if day is not None), default=None)
