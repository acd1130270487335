"""What a school sets, as JSON: its days, age groups, rules, glassware, waste bottles, what it hands over."""

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from prep.chemistry import quantities
from prep.chemistry.model import Instrument, InstrumentKind, Measure
from prep.dates import WEEKDAYS
from prep.planning.age_groups import AgeGroup
from prep.planning.model import Calendar

if TYPE_CHECKING:
    from prep.services.safety.school_rules import ListedRule
    from prep.services.school.closed_days import ClosedSpan
    from prep.services.schools.transfer import HandOver
    from prep.store.school.waste import WasteBottle


def calendar_document(calendar: Calendar, closed: "Iterable[ClosedSpan]") -> dict[str, Any]:
    """Write the days on which work is done, and for how long, as JSON."""
    return {
        "minutes_per_day": calendar.minutes_per_day,
        "minutes_on": {on.isoformat(): minutes for on, minutes in sorted(calendar.minutes_on.items())},
        "weekdays": [WEEKDAYS[number] for number in sorted(calendar.weekdays)],
        "closed": [span_document(span) for span in closed],
    }


def span_document(span: "ClosedSpan") -> dict[str, str]:
    """Write days in a row on which the school is closed as JSON."""
    return {"from": span.first.isoformat(), "to": span.last.isoformat(), "why": span.why}


def age_group_document(one: AgeGroup) -> dict[str, Any]:
    """Write an age group and its other spellings as JSON."""
    return {"name": one.name, "spellings": list(one.spellings)}


def school_rule_document(one: "ListedRule") -> dict[str, Any]:
    """Write a rule of the school as JSON: what is barred or limited, where, for whom."""
    limit = one.rule.at_most
    return {
        "number": one.number,
        "item": one.rule.item,
        "demo": one.rule.demo or None,
        "name": one.name,
        "at_most": {"value": float(limit.value), "unit": limit.kind.value} if limit else None,
        "room": one.rule.room,
        "group": one.rule.group,
        "from_group": one.rule.from_group,
        "why": one.rule.why,
    }


def instrument_unit(one: Instrument) -> str:
    """Choose the unit of an instrument: grams of a balance, millilitres of all else."""
    return "g" if one.kind is InstrumentKind.BALANCE else "mL"


def instrument_document(one: Instrument) -> dict[str, Any]:
    """Write a vessel or balance, how exact it is, how many there are, as JSON."""

    def amount(value: Any) -> dict[str, Any]:
        return {"value": float(value), "unit": instrument_unit(one)}

    return {
        "code": one.code,
        "name": one.name,
        "kind": one.kind.value,
        "grade": one.grade,
        "capacity": amount(one.capacity),
        "tolerance": amount(one.tolerance),
        "resolution": amount(one.resolution),
        "count": one.count,
        "source": one.source,
    }


def waste_document(one: "WasteBottle") -> dict[str, Any]:
    """Write a waste bottle and how full it is as JSON."""
    return {
        "code": one.code,
        "stream": one.stream,
        "holds": quantities.as_json(one.holds, Measure.VOLUME),
        "full": quantities.as_json(one.full, Measure.VOLUME),
        "at": one.location,
        "status": one.status,
    }


def hand_over_document(one: "HandOver") -> dict[str, Any]:
    """Write as JSON what one school of a group gave to another.

    It is kept until both have it in their books, or neither.
    """
    return {
        "hand_over": one.name,
        "from": one.giver,
        "to": one.taker,
        "job": one.job,
        "on": one.on.isoformat(),
        "item": one.item,
        "bottle": one.bottle,
        "amount": quantities.as_json(one.amount, one.measure),
        "taken_by_job": one.taken_by or None,
    }
