"""The school's own limits: kept as a setting, asked before a booking is taken, a plan drawn up, a batch made."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

from prep.chemistry import quantities
from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import Form, Solution, Strength, StrengthKind
from prep.errors import PrepError, Refused
from prep.planning.model import Booking, Demo
from prep.planning.model import Finding as PlanFinding
from prep.safety.clp.composition import in_formula
from prep.safety.model import Finding
from prep.safety.school_rules import SchoolRule, Use, broken
from prep.safety.solution_hazards import composition_of, solute_of
from prep.services.catalogue.names import find_item
from prep.services.input.checks import printable
from prep.services.inventory import session

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from prep.planning.model import Snapshot

_RULES, _GROUPS = "safety_rules", "booking_groups"


@dataclass(frozen=True, slots=True)
class Listed:
    """A rule with its number in the list and the name of what it is about."""

    number: int
    rule: SchoolRule
    name: str


def rules(db: Path | None) -> list[Listed]:
    """The school's rules in the order they were added."""
    with session.reading(db) as connection:
        return _listed(connection, _rules(connection))


def add(db: Path | None, item: str, at_most: str | None, room: str, group: str, why: str) -> Listed:
    """Add a rule; without `at_most` the item is barred. Raises PrepError."""
    for label, text in (("--room", room), ("--group", group), ("--why", why)):
        printable(text, label=label)
    limit = quantities.strength(at_most) if at_most is not None else None
    if limit is not None and limit.kind is StrengthKind.SATURATED:
        raise PrepError("--at-most is a figure such as 2 mol/L.")
    with session.writing(db) as connection:
        from prep.store import queries

        catalogue = queries.catalogue(connection)
        rule = SchoolRule(_about(item, catalogue), limit, room.strip(), group.strip(), why.strip())
        kept = _rules(connection)
        if rule in kept:
            raise PrepError("That rule is there already; see: prep safety rule list")
        _put(connection, _RULES, [_as_json(one) for one in (*kept, rule)])
        return _listed(connection, (*kept, rule))[-1]


def remove(db: Path | None, number: int) -> Listed:
    """Take a rule off the list, by its number. Raises PrepError."""
    with session.writing(db) as connection:
        kept = _rules(connection)
        if not 1 <= number <= len(kept):
            raise PrepError(f"There is no rule {number}; see: prep safety rule list")
        gone = _listed(connection, kept)[number - 1]
        _put(connection, _RULES, [_as_json(one) for one in kept if one != gone.rule])
        return gone


def set_groups(connection: "Connection", groups: Mapping[str, str]) -> None:
    """Remember for which age group each of some bookings is, by its code; an empty one is none."""
    if given := {code: group for code, group in groups.items() if group}:
        _put(connection, _GROUPS, {**_groups(connection), **given})


def refuse_bookings(
    connection: "Connection", bookings: Sequence[Booking], groups: Mapping[str, str] | None = None
) -> None:
    """Raises Refused with a sentence for the first booking that breaks a rule of the school.

    `groups` are the age groups, by the bookings' codes, that are not on file yet.
    """
    known = _rules(connection)
    if not known:
        return
    from prep.store import queries

    catalogue = queries.catalogue(connection)
    demos, at = queries.demos(connection), {**_groups(connection), **(groups or {})}
    for booking in bookings:
        group = at.get(booking.code, "")
        found = broken(uses(booking, demos.get(booking.demo), group, catalogue), known)
        if stops := [one for one in found if one.severity == "stop"]:
            raise Refused(f"{stops[0].message} {stops[0].cure} Nothing was changed.")


def refuse_making(connection: "Connection", solution: Solution, snapshot: "Snapshot") -> None:
    """Raises Refused if the school bars a solution, or its strength, everywhere."""
    _refuse_everywhere(connection, _uses("Making it", solution.code, snapshot.catalogue))


def refuse_buffer(connection: "Connection", taken: Iterable[tuple[str, Strength]], snapshot: "Snapshot") -> None:
    """Raises Refused if the school bars, everywhere, an item that a buffer takes, or its strength [mol/L] in there."""
    _refuse_everywhere(
        connection,
        (
            replace(use, name=f"{use.name} in the buffer", strength=strength, strength_of="")
            for item, strength in taken
            for use in _uses("Making it", item, snapshot.catalogue)
        ),
    )


def _refuse_everywhere(connection: "Connection", making: Iterable[Use]) -> None:
    everywhere = [one for one in _rules(connection) if not (one.room or one.group)]
    if stops := [one for one in broken(list(making), everywhere) if one.severity == "stop"]:
        raise Refused(f"{stops[0].message} Nothing was changed.")


def governed(connection: "Connection", snapshot: "Snapshot") -> "Snapshot":
    """The snapshot without the bookings that break a rule; each is told of in `noticed`."""
    known = _rules(connection)
    if not known:
        return snapshot
    groups = _groups(connection)
    kept: list[Booking] = []
    noticed: list[PlanFinding] = []
    for booking in snapshot.bookings:
        found: tuple[Finding, ...] = ()
        if booking.status == "booked":
            demo = snapshot.demos.get(booking.demo)
            at = groups.get(booking.code, "")
            found = broken(uses(booking, demo, at, snapshot.catalogue), known)
        noticed += [PlanFinding(f.severity, f.code, booking.code, f.message, f.cure) for f in found]
        if not any(one.severity == "stop" for one in found):
            kept.append(booking)
    return replace(snapshot, bookings=tuple(kept), noticed=(*snapshot.noticed, *noticed))


def uses(
    booking: Booking,
    demo: Demo | None,
    group: str,
    catalogue: Catalogue,
) -> list[Use]:
    """What a booking puts to use, for the rules."""
    items = dict.fromkeys(need.item for need in demo.needs) if demo else {}
    about = f"Booking {booking.code}"
    return [replace(use, room=booking.room, group=group) for item in items for use in _uses(about, item, catalogue)]


def _uses(about: str, item: str, catalogue: Catalogue) -> Iterable[Use]:
    """An item, and everything in it with its own strength there."""
    if item in catalogue.substances:
        one = catalogue.substances[item]
        pct = one.assay_pct if one.form is Form.AQUEOUS else Decimal(100)
        strength = Strength(pct, StrengthKind.PCT_W_W) if pct is not None else None
        yield Use(about, item, one.name, (one.solute,), strength, substance=one)
    elif item in catalogue.solutions:
        card = catalogue.solutions[item]
        if not card.recipe:
            try:
                counted = solute_of(card, catalogue)
            except PrepError:
                counted = None
            codes = (card.solute, counted.code) if counted else (card.solute,)
            yield Use(about, item, card.name, codes, card.strength, substance=counted, strength_of=card.strength_of)
            return
        yield Use(about, item, card.name)
        try:
            inside = composition_of(card, catalogue).components
        except PrepError:
            inside = ()
        for part in inside:
            one = catalogue.substances[part.code]
            strength = Strength(in_formula(part, one), StrengthKind.PCT_W_W)
            yield Use(about, part.code, f"{one.name} in {card.name}", (one.solute,), strength, substance=one)


def _about(item: str, catalogue: Catalogue) -> str:
    """A solute by its code, for it and all its solutions; else a substance or solution by any of its names."""
    wanted = item.strip()
    if any(one.solute == wanted for one in catalogue.substances.values()):
        return wanted
    return find_item(item, catalogue).code


def _listed(connection: "Connection", kept: Sequence[SchoolRule]) -> list[Listed]:
    from prep.store import queries

    catalogue = queries.catalogue(connection)
    return [Listed(number, rule, catalogue.name(rule.item)) for number, rule in enumerate(kept, 1)]


def _rules(connection: "Connection") -> tuple[SchoolRule, ...]:
    from prep.store.queries import strength_of

    return tuple(
        SchoolRule(one["item"], strength_of(one["at_most"]), one["room"], one["group"], one["why"])
        for one in _get(connection, _RULES, [])
    )


def _as_json(rule: SchoolRule) -> dict[str, Any]:
    from prep.store.queries import strength_text

    return {
        "item": rule.item,
        "at_most": strength_text(rule.at_most),
        "room": rule.room,
        "group": rule.group,
        "why": rule.why,
    }


def _groups(connection: "Connection") -> dict[str, str]:
    return dict(_get(connection, _GROUPS, {}))


def _get(connection: "Connection", key: str, default: Any) -> Any:
    import json

    from sqlalchemy import select

    from prep.store.queries import table
    from prep.store.tables import SettingRow

    rows = table(SettingRow)
    found = connection.execute(select(rows.c.value).where(rows.c.key == key)).scalar()
    return default if found is None else json.loads(found)


def _put(connection: "Connection", key: str, value: Any) -> None:
    from prep.store import seeding

    seeding.set_settings(connection, {key: value})
