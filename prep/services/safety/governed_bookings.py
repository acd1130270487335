"""Bookings under the school's own limits: what each puts to use, and which of them a rule bars."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from decimal import Decimal
from functools import cache, partial

from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import Form, Strength, StrengthKind
from prep.errors import PrepError
from prep.findings import Finding, Severity
from prep.planning.model import Booking, Demo, Snapshot
from prep.safety.clp.composition import in_formula
from prep.safety.school_rules import SchoolRule, SubstanceUse, broken
from prep.safety.solution_hazards import composition_of, solute_of


def governed(snapshot: Snapshot, known: Sequence[SchoolRule], groups: Sequence[str]) -> Snapshot:
    """Remove from the snapshot the bookings that break one of the rules; each is told of in `noticed`.

    `groups` are the school's age groups in the order of its list.
    """
    ruled = {rule.item for rule in known if not rule.demo}
    reached: dict[str, frozenset[str]] = {}

    @cache
    def of_item(item: str) -> tuple[SubstanceUse, ...]:
        """List an item and what is in it, once; nothing where no rule is about it or what may be in it."""
        if ruled.isdisjoint(held_in(item, snapshot.catalogue, reached)):
            return ()
        return tuple(uses_of_item("", item, snapshot.catalogue))

    kept: list[Booking] = []
    noticed: list[Finding] = []
    for booking in snapshot.bookings:
        found: tuple[Finding, ...] = ()
        if booking.stands:
            demo = snapshot.demos.get(booking.demo)
            found = broken(uses(booking, demo, snapshot.catalogue, of_item), known, groups)
        noticed += [Finding(f.severity, f.code, booking.code, f.message, f.cure) for f in found]
        if not any(one.severity == Severity.STOP for one in found):
            kept.append(booking)
    return replace(snapshot, bookings=tuple(kept), noticed=(*snapshot.noticed, *noticed))


def uses(
    booking: Booking,
    demo: Demo | None,
    catalogue: Catalogue,
    of_item: Callable[[str], Iterable[SubstanceUse]] | None = None,
) -> list[SubstanceUse]:
    """List what a booking puts to use, for the rules; `of_item` lists it for an item, where that is known."""
    known = of_item or partial(uses_of_item, "", catalogue=catalogue)
    items = dict.fromkeys(need.item for need in demo.needs) if demo else {booking.item: None} if booking.item else {}
    about = f"Booking {booking.code}"
    found = [SubstanceUse(about, "", demo.name, demo=demo.code)] if demo else []
    found += [use for item in items for use in known(item)]
    return [replace(use, about=about, room=booking.room, group=booking.group) for use in found]


def held_in(item: str, catalogue: Catalogue, known: dict[str, frozenset[str]]) -> frozenset[str]:
    """Gather the codes and solutes of an item and of all that can be in it, more rather than less; kept in `known`."""
    if item in known:
        return known[item]
    known[item] = frozenset({item})  # until it is found: a recipe may go round in a loop
    found = {item}
    if item in catalogue.substances:
        found.add(catalogue.substances[item].solute)
    elif item in catalogue.solutions:
        solution = catalogue.solutions[item]
        alike = (s.code for s in catalogue.substances.values() if s.solute == solution.solute)
        found |= {solution.solute, *(() if solution.recipe else alike)}
        for inside in (*(line.item for line in solution.recipe), solution.make_up_with):
            found |= held_in(inside, catalogue, known)
    known[item] = frozenset(found)
    return known[item]


def uses_of_item(about: str, item: str, catalogue: Catalogue) -> Iterable[SubstanceUse]:
    """List an item, and everything in it with its own strength there."""
    if item in catalogue.substances:
        one = catalogue.substances[item]
        pct = one.assay_pct if one.form is Form.AQUEOUS else Decimal(100)
        strength = Strength(pct, StrengthKind.PCT_W_W) if pct is not None else None
        yield SubstanceUse(about, item, one.name, (one.solute,), strength, substance=one)
    elif item in catalogue.solutions:
        solution = catalogue.solutions[item]
        if not solution.recipe:
            try:
                counted = solute_of(solution, catalogue)
            except PrepError:
                counted = None
            codes = (solution.solute, counted.code) if counted else (solution.solute,)
            yield SubstanceUse(
                about,
                item,
                solution.name,
                codes,
                solution.strength,
                substance=counted,
                strength_of=solution.strength_of,
            )
            return
        yield SubstanceUse(about, item, solution.name)
        try:
            inside = composition_of(solution, catalogue).components
        except PrepError:
            inside = ()
        for part in inside:
            one = catalogue.substances[part.code]
            strength = Strength(in_formula(part, one), StrengthKind.PCT_W_W)
            yield SubstanceUse(
                about, part.code, f"{one.name} in {solution.name}", (one.solute,), strength, substance=one
            )
