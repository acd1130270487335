"""The report of a group: stock by hazard class, what is out of date, what one school has that another orders."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from prep.books import BottleStatus
from prep.errors import PrepError
from prep.services.schools.school_list import GroupSchool
from prep.services.stock import listing, orders, register


@dataclass(frozen=True, slots=True)
class SchoolHeld:
    """What a school holds: grams in all, millilitres of liquids."""

    grams: Decimal
    millilitres: Decimal


@dataclass(frozen=True, slots=True)
class ClassHeld:
    """What the schools hold of one hazard class, by school."""

    hazard: str
    by_school: dict[str, SchoolHeld]


@dataclass(frozen=True, slots=True)
class OutOfDate:
    """Bottles of a school past their use-by."""

    school: str
    bottles: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CouldGive:
    """One school has on the shelf what another has on order."""

    taker: str
    order: str
    item: str
    giver: str
    bottles: tuple[str, ...]
    held: str
    name: str


@dataclass(frozen=True, slots=True)
class GroupReport:
    """The group on one day; `unreached` says why a school is not in it."""

    classes: tuple[ClassHeld, ...]
    out_of_date: tuple[OutOfDate, ...]
    could_give: tuple[CouldGive, ...]
    unreached: dict[str, str]


def report(schools: Sequence[GroupSchool], today: date) -> GroupReport:
    """Gather what the group holds, each school asked on its own."""
    classes: dict[str, dict[str, SchoolHeld]] = defaultdict(dict)
    old: list[OutOfDate] = []
    unreached: dict[str, str] = {}
    shelves, wanted = {}, {}
    for school in schools:
        try:
            for total in register.totals(school.db, register.RegisterQuery()):
                if total.bottles:
                    classes[total.hazard][school.code] = SchoolHeld(total.grams, total.millilitres)
            held = listing.list_stock(school.db, None, None, False, None)
            wanted[school.code] = orders.list_orders(school.db, False)
        except PrepError as problem:
            unreached[school.code] = problem.sentence
            continue
        shelves[school.code] = held
        if past := tuple(h.code for h in held if h.use_by is not None and h.use_by < today):
            old.append(OutOfDate(school.code, past))
    could = []
    for taker, placed in wanted.items():
        for order in placed:
            for giver, held in shelves.items():
                own = [
                    h
                    for h in held
                    if h.item == order.item
                    and h.status == BottleStatus.IN_SERVICE
                    and (h.use_by is None or h.use_by >= today)
                ]
                if giver != taker and own:
                    shown = ", ".join(h.shown for h in own[:3])
                    could.append(
                        CouldGive(taker, order.code, order.item, giver, tuple(h.code for h in own), shown, order.name)
                    )
    by_class = tuple(ClassHeld(name, held) for name, held in sorted(classes.items()))
    return GroupReport(by_class, tuple(old), tuple(could), unreached)
