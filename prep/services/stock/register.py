"""The lists that a regulator asks for: what bottles are, what moved, totals per hazard class, what is controlled."""

import re
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING, Any

from prep.books import BottleStatus, JobKind
from prep.chemistry import quantities
from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import Measure
from prep.chemistry.quantities import BASE_PER_UNIT, to_base
from prep.errors import PrepError, Refused
from prep.resources import seed_table
from prep.safety.model import HazardClass
from prep.services.catalogue.names import find_item
from prep.services.input.act import Act
from prep.services.input.checks import slip_in_cas_number
from prep.services.inventory import session
from prep.services.safety import item_facts
from prep.services.stock.places import holds, place_in
from prep.store import bottles as rows
from prep.store import ledger, queries, seeding, table_rows
from prep.store.bottles import HeldBottle
from prep.store.jobs import history as history_of
from prep.store.queries import strength_of

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from prep.store.jobs.history import HistoryLine

_LIMITS, _CONTROLLED = "class_limits", "every_gram"
_EVERYTHING = 10_000_000


@dataclass(frozen=True, slots=True)
class RegisterQuery:
    """Which bottles, or movements of which bottles, as typed; empty asks for all.

    `hazard` is a hazard class or its beginning (`Flam. Liq.`), or a statement (`H225`). The dates are those on which a
    bottle came, or a movement was made. `kinds` are kinds of job.
    """

    item: str | None = None
    cas: str | None = None
    hazard: str | None = None
    location: str | None = None
    supplier: str | None = None
    since: date | None = None
    until: date | None = None
    kinds: tuple[str, ...] = ()
    everything: bool = False
    use_by: date | None = None


@dataclass(frozen=True, slots=True)
class Registered:
    """A bottle with what a regulator asks of it; `classes` None where they are not known."""

    held: HeldBottle
    cas: str
    classes: tuple[HazardClass, ...] | None
    density_g_ml: Decimal | None

    @property
    def hazards(self) -> tuple[str, ...] | None:
        """The classes as text, as on the label."""
        return None if self.classes is None else tuple(map(str, self.classes))

    @property
    def grams(self) -> Decimal | None:
        """Its mass [g]; None where its density is not known."""
        amount = Decimal(self.held.balance) / BASE_PER_UNIT
        if self.held.measure is Measure.MASS:
            return amount
        return None if self.density_g_ml is None else amount * self.density_g_ml


@dataclass(frozen=True, slots=True)
class ClassTotal:
    """What a store holds of one hazard class: bottles, g in all, mL of its liquids; its own limit, if any.

    `unweighed` are bottles whose mass is not known and not in it.
    """

    hazard: str
    bottles: int
    grams: Decimal
    millilitres: Decimal
    unweighed: int
    limit: str = ""
    over: bool = False


@dataclass(frozen=True, slots=True)
class ControlledItem:
    """An item that the school controls: its bottles, and every movement of it, oldest first.

    `before` is what the books had of it before the first day that was asked for [ug or nL].
    """

    cas: str
    item: str
    name: str
    bottles: tuple[HeldBottle, ...]
    moves: "tuple[HistoryLine, ...]"
    before: int = 0

    @property
    def after(self) -> int:
        """What the books have of it after the last of these movements [ug or nL]."""
        return self.before + sum(move.amount for move in self.moves)


def bottles(db: Path | None, wanted: RegisterQuery) -> list[Registered]:
    """List the bottles that a query of the register asks for, by name and date. Raises PrepError."""
    with session.reading(db) as connection:
        return _bottles(connection, wanted)


def history(db: Path | None, wanted: RegisterQuery) -> "list[HistoryLine]":
    """List the movements that a query asks for, of the bottles that it asks for, newest first. Raises PrepError.

    Jobs of no bottle, as changes of people, are listed where their kind is asked for and nothing of bottles is.
    """
    of_bottles = (wanted.item, wanted.cas, wanted.hazard, wanted.location, wanted.supplier)
    known = [str(kind) for kind in JobKind]
    for kind in wanted.kinds:
        if kind not in known:
            raise PrepError(f'"{kind[:40]}" is no kind of job; there are: {", ".join(known)}.')
    with session.reading(db) as connection:
        asked = replace(wanted, since=None, until=None, use_by=None, everything=True)
        codes = {one.held.code for one in _bottles(connection, asked)}
        if wanted.kinds and not any(of_bottles):
            codes.add("")
        return [
            one
            for one in history_of.moves(connection, None, _EVERYTHING)
            if one.bottle in codes
            and (wanted.since is None or one.on >= wanted.since)
            and (wanted.until is None or one.on <= wanted.until)
            and (not wanted.kinds or one.kind in wanted.kinds)
        ]


def totals(db: Path | None, wanted: RegisterQuery) -> list[ClassTotal]:
    """Sum what is held of each hazard class, against the school's own limits. Raises PrepError."""
    with session.reading(db) as connection:
        found = _bottles(connection, wanted)
        limits: Mapping[str, str] = table_rows.settings(connection).get(_LIMITS, {})
    by_class: dict[str, list[Registered]] = defaultdict(list)
    for one in found:
        for hazard in sorted({each.without_statement for each in one.classes or () if _asked_for(str(each), wanted)}):
            by_class[hazard].append(one)
    for name in limits:
        if _asked_for(name, wanted):
            by_class.setdefault(name, [])
    return [_total(name, held, limits.get(name, "")) for name, held in sorted(by_class.items())]


def _asked_for(hazard: str, wanted: RegisterQuery) -> bool:
    """Tell whether a total is of what was asked for: of flammables alone, the other classes would be no totals."""
    return wanted.hazard is None or wanted.hazard.casefold() in hazard.casefold()


def heading(db: Path | None, wanted: RegisterQuery, today: date) -> tuple[str, ...]:
    """Say on a paper for a regulator whose it is, of which day, and what was asked for."""
    with session.reading(db) as connection:
        school = str(table_rows.settings(connection).get("school", ""))
    asked = {
        "": wanted.item,
        "CAS number": wanted.cas,
        "hazard class": wanted.hazard,
        "at": wanted.location,
        "supplier": wanted.supplier,
        "from": wanted.since,
        "to": wanted.until,
        "use by, at most": wanted.use_by,
        "what": ", ".join(wanted.kinds),
        "also": "empty and discarded bottles" if wanted.everything else "",
    }
    only = "; ".join(f"{word} {value}".strip() for word, value in asked.items() if value)
    return (
        *([school] if school else []),
        f"Drawn up on {today.isoformat()}.",
        *([f"Of these: {only}."] if only else []),
    )


def set_limit(db: Path | None, hazard: str, amount: str | None, act: Act) -> dict[str, str]:
    """Set how much of a hazard class the school keeps at most; None takes the limit off. Raises PrepError."""
    name = " ".join(hazard.split())
    if amount is not None:
        name = _known_class(name)
    if amount is not None:
        quantities.amount(amount)
    limits = _changed(
        db, _LIMITS, act, f"limit of {name}: {amount or 'none'}", {}, lambda old: _with(old, name, amount)
    )
    return dict(limits)


def _known_class(name: str) -> str:
    """Find a hazard class with its category, spelled as in the CLP Regulation. Raises PrepError."""
    rows = seed_table("class_labels")
    known = sorted({f"{row['hazard_class']} {row['category']}".strip() for row in rows})
    for one in known:
        if one.casefold() == name.casefold():
            return one
    begins = [one for one in known if name and one.casefold().startswith(name.casefold())]
    near = begins or get_close_matches(name, known, 4, 0.5) or ["Flam. Liq. 2"]
    raise PrepError(f'"{name[:40]}" is no hazard class with its category, such as: {", ".join(near[:6])}.')


def _refuse_no_hazard(said: str) -> None:
    """Refuse what is neither part of a hazard class with its category nor a statement: an empty list would mislead."""
    rows = seed_table("class_labels")
    known = sorted({f"{row['hazard_class']} {row['category']}".strip() for row in rows})
    if re.search(r"\bEU?H\d{3}|\bH\d{3}", said, re.IGNORECASE) or any(
        said.casefold() in one.casefold() for one in known
    ):
        return
    near = get_close_matches(said, known, 4, 0.5) or ["Flam. Liq. 2"]
    raise PrepError(f'"{said[:40]}" is no hazard class, such as: {", ".join(near)}; nor a statement, such as H225.')


def control(db: Path | None, cas: str, act: Act, *, no_longer: bool = False) -> list[str]:
    """Put a CAS number on the list of what the school controls, or take it off. Raises PrepError, Refused."""
    number = cas.strip()

    with session.reading(db) as connection:
        known = {s.cas for s in queries.substances(connection).values() if s.cas}
    if number not in known:
        raise PrepError(slip_in_cas_number(number) or f'"{cas[:40]}" is the CAS number of no substance on file.')

    def change(old: list[str]) -> list[str]:
        if (number in old) is not no_longer:
            raise Refused(f"{number} is not on the list." if no_longer else f"{number} is on the list already.")
        return sorted({*old, number} - ({number} if no_longer else set()))

    return list(_changed(db, _CONTROLLED, act, f"controlled: {number}{' no longer' if no_longer else ''}", [], change))


def controlled(db: Path | None, since: date | None, until: date | None) -> list[ControlledItem]:
    """List what the school controls, its other forms and solutions of it: every bottle, and the moves of those days."""
    with session.reading(db) as connection:
        numbers = table_rows.settings(connection).get(_CONTROLLED, [])
        catalogue = queries.catalogue(connection)
        moves = history_of.moves(connection, None, _EVERYTHING)[::-1]
        moves.sort(key=lambda move: (move.on, move.job))
        held = rows.held(connection)
    out = []
    items = sorted({h.item for h in held}, key=lambda code: (code in catalogue.solutions, code))
    for cas in numbers:
        covered = _covered(catalogue, cas)
        for code in items:
            if code not in covered:
                continue
            own = tuple(h for h in held if h.item == code)
            codes = {h.code for h in own}
            all_moves = [m for m in moves if m.bottle in codes and m.amount and (until is None or m.on <= until)]
            moved = tuple(m for m in all_moves if since is None or m.on >= since)
            before = sum(m.amount for m in all_moves) - sum(m.amount for m in moved)
            out.append(ControlledItem(cas, code, own[0].name, own, moved, before))
    return out


def own_items(connection: "Connection") -> set[str]:
    """Find the items on file that are on the school's own list of what it controls, forms and solutions too."""
    numbers = table_rows.settings(connection).get(_CONTROLLED, [])
    catalogue = queries.catalogue(connection)
    return {code for number in numbers for code in _covered(catalogue, number)}


def _of_number(catalogue: Catalogue, cas: str) -> set[str]:
    """Find the substances of a CAS number, and the solutions of what they dissolve to."""
    named = {code: one.solute for code, one in catalogue.substances.items() if one.cas == cas}
    solutes = set(named.values()) - {""}
    return {*named, *(code for code, one in catalogue.solutions.items() if one.solute in solutes)}


def _covered(catalogue: Catalogue, cas: str) -> set[str]:
    """Find the items that a controlled number covers: those of its number, and the other hydrates of the same salt."""
    found = _of_number(catalogue, cas)
    solutes = {catalogue.substances[code].solute for code in found if code in catalogue.substances} - {""}
    return found | {code for code, one in catalogue.substances.items() if one.solute in solutes}


def _changed(db: Path | None, key: str, act: Act, note: str, empty: Any, change: Any) -> Any:
    """Change one setting of the school as a job; returns what it is now."""
    with session.writing(db) as connection:
        after = change(table_rows.settings(connection).get(key, empty))
        ledger.begin(connection, JobKind.SETTINGS, act.by, act.on, note)
        seeding.set_settings(connection, {key: after})
        return after


def _with(limits: Mapping[str, str], name: str, amount: str | None) -> dict[str, str]:
    others = {known: said for known, said in limits.items() if known != name}
    return others if amount is None else {**others, name: amount}


def _bottles(connection: "Connection", wanted: RegisterQuery) -> list[Registered]:
    catalogue = queries.catalogue(connection)
    held = rows.held(connection)
    item = None
    if wanted.item:
        item = find_item(wanted.item, catalogue, held={h.item for h in held if holds(h)}).code
    place = None if wanted.location is None else place_in(connection, wanted.location)
    if wanted.cas is not None and not any(s.cas == wanted.cas.strip() for s in catalogue.substances.values()):
        slip = slip_in_cas_number(wanted.cas.strip())
        raise PrepError(slip or f'"{wanted.cas[:40]}" is the CAS number of no substance on file.')
    if wanted.hazard is not None:
        _refuse_no_hazard(wanted.hazard)
    numbered = None if wanted.cas is None else _of_number(catalogue, wanted.cas.strip())
    facts = _Facts(catalogue)
    out = []
    for one in held:
        if not wanted.everything and (one.balance <= 0 or one.status == BottleStatus.DISCARDED):
            continue
        if (item is not None and one.item != item) or (place is not None and one.location != place):
            continue
        if numbered is not None and one.item not in numbered:
            continue
        if wanted.supplier is not None and wanted.supplier.casefold() not in (one.supplier or "").casefold():
            continue
        if wanted.use_by is not None and (one.use_by is None or one.use_by > wanted.use_by):
            continue
        if (wanted.since or wanted.until) and not _came(one, wanted):
            continue
        registered = Registered(one, facts.cas(one.item), facts.classes(one), facts.density(one))
        said = [text.casefold() for text in registered.hazards or ()]
        if wanted.hazard is not None and not any(wanted.hazard.casefold() in text for text in said):
            continue
        out.append(registered)
    return sorted(out, key=lambda r: r.held.name.casefold())


def _came(one: HeldBottle, wanted: RegisterQuery) -> bool:
    if one.received is None:
        return False
    return (wanted.since is None or one.received >= wanted.since) and (
        wanted.until is None or one.received <= wanted.until
    )


class _Facts:
    """What is known of items at their bottles' strengths, each worked out once."""

    def __init__(self, catalogue: Catalogue) -> None:
        self.catalogue = catalogue
        self._known: dict[tuple[str, str, str], Any] = {}

    def cas(self, item: str) -> str:
        """Find the CAS number of a substance, or of a solution's solute, without its water; empty where none is one."""
        if (substance := self.catalogue.substances.get(item)) is not None:
            return substance.cas
        solution = self.catalogue.solutions.get(item)
        forms = [s for s in self.catalogue.substances.values() if solution and solution.solute == s.solute != ""]
        dry = {s.cas for s in forms if "." not in s.formula}  # dissolved, a hydrate is what its anhydrous form is
        numbers = dry or {s.cas for s in forms}
        return numbers.pop() if len(numbers) == 1 else ""

    def classes(self, one: HeldBottle) -> tuple[HazardClass, ...] | None:
        """Find the hazard classes of a bottle's contents; None where they are not known."""
        found: tuple[HazardClass, ...] | None = self._fact("hazards", one, item_facts.hazard_classes)
        return found

    def density(self, one: HeldBottle) -> Decimal | None:
        """Find the density [g/mL] of a liquid; None where it is not known."""
        found: Decimal | None = self._fact("density", one, item_facts.density)
        return found

    def _fact(self, what: str, one: HeldBottle, ask: Any) -> Any:
        key = (what, one.item, one.strength or "")
        if key not in self._known:
            self._known[key] = ask(one.item, self.catalogue, strength_of(one.strength))
        return self._known[key]


def _total(name: str, held: list[Registered], limit: str) -> ClassTotal:
    grams = sum((one.grams for one in held if one.grams is not None), Decimal(0))
    liquid = sum(one.held.balance for one in held if one.held.measure is Measure.VOLUME)
    over = False
    if limit:
        most = quantities.amount(limit)
        over = (liquid if most.measure is Measure.VOLUME else to_base(grams)) > most.base
    unweighed = sum(one.grams is None for one in held)
    return ClassTotal(name, len(held), grams, Decimal(liquid) / BASE_PER_UNIT, unweighed, limit, over)
