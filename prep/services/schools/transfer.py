"""A transfer between two schools: one job in each, and a hand-over that is completed or named as open.

Nothing spans the two inventories. The giving school's job names the hand-over; the taking school's job repeats the
name. A hand-over that only the first has is open: it is completed, or the first job is undone.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from secrets import token_hex
from typing import TYPE_CHECKING, Any

from prep.books import BottleStatus, HandOverSide, JobKind
from prep.chemistry import quantities
from prep.chemistry.model import Measure
from prep.errors import PrepError, Refused
from prep.services.catalogue.names import in_inventory
from prep.services.input.act import Act
from prep.services.inventory import session
from prep.services.school import usual
from prep.services.schools.school_list import GroupSchool
from prep.services.stock import codes, listing
from prep.services.stock.places import place_for, place_in
from prep.store import ledger, queries
from prep.store.bottles import BottlePortion
from prep.store.jobs import transfers
from prep.store.jobs.transfers import NewHandOver, RecordedHandOver
from prep.wording import AtTerminal

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from prep.chemistry.catalogue import Item


@dataclass(frozen=True, slots=True)
class HandOver:
    """What one school gave to another: in ug or nL, from which bottle, by which job.

    `taken_by` is the job of the school that took it, where the school that gave it has undone its own since.
    """

    name: str
    giver: str
    taker: str
    job: int
    on: date
    item: str
    bottle: str
    amount: int
    measure: Measure
    taken_by: int = 0


@dataclass(frozen=True, slots=True)
class Offer:
    """What is to be given of a bottle, as typed; None is all of it."""

    bottle: str
    amount: str | None = None


@dataclass(frozen=True, slots=True)
class OpenHandOvers:
    """What stands in the books of one school and not of the other; and why a school could not be asked, by its code."""

    hand_overs: tuple[HandOver, ...]
    unreached: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Transferred:
    """A hand-over that is complete, and the bottle at the taking school."""

    hand_over: HandOver
    bottle: str
    job: int


def hand_over(giver: GroupSchool, taker: GroupSchool, offer: Offer, location: str | None, act: Act) -> Transferred:
    """Give an amount (None: all) of a bottle, and take it: a job in each. Raises as `give` and `take`.

    What is raised after it was given says that the hand-over is open.
    """
    with session.reading(taker.db) as connection:
        if location is not None:
            place_in(connection, location)
    given = give(giver, taker, offer, act)
    try:
        return take(giver, taker, given, location, act)
    except PrepError as problem:
        raise PrepError(
            problem.sentence,
            f" Hand-over {given.name} is open: complete it",
            AtTerminal(f" (prep schools complete {given.name})"),
            f", or undo job {given.job} at {giver.name}.",
        ) from None


def give(giver: GroupSchool, taker: GroupSchool, offer: Offer, act: Act) -> HandOver:
    """Take an amount, or all, off a bottle's books for another school. Raises PrepError, Refused."""
    if giver.code == taker.code:
        raise PrepError("A school gives nothing to itself.")
    with session.reading(giver.db) as connection:
        held = listing.one(connection, offer.bottle)
    _takes(taker, held.item)

    def work(connection: "Connection") -> "BottlePortion":
        held = listing.one(connection, offer.bottle)
        listing.since_it_came(held, act.day)
        if held.status != BottleStatus.IN_SERVICE:
            raise Refused(f"Bottle {held.code} is {held.status}; nothing was given.")
        base = (
            held.balance if offer.amount is None else queries.catalogue(connection).item(held.item).amount(offer.amount)
        )
        if not base:
            raise Refused(f"Bottle {held.code} is empty; nothing was given.")
        return BottlePortion(held, base)

    def post(connection: "Connection", portion: "BottlePortion") -> HandOver:
        held, base = portion.bottle, portion.amount
        name = token_hex(4)
        shown = quantities.show(base, held.measure)
        note = f"hand-over {name} to {taker.code}: {shown} of {held.name}, bottle {held.code}"
        job = ledger.begin(connection, JobKind.TRANSFER, act.by, act.on, note)
        transfers.put(connection, job, NewHandOver(name, HandOverSide.GAVE, taker.code, held.code))
        ledger.post(connection, job, [ledger.MovementLine(held.code, -base, f"to {taker.name}, hand-over {name}")])
        return HandOver(name, giver.code, taker.code, job, act.on, held.item, held.code, base, held.measure)

    return session.worked_out(giver.db, work, post)


def take(giver: GroupSchool, taker: GroupSchool, given: HandOver, location: str | None, act: Act) -> Transferred:
    """Put what was handed over on the taking school's shelf; once, however often it is asked. Raises PrepError."""
    with session.reading(giver.db) as connection:
        if all(one.name != given.name for one in _given(connection, giver.code)):
            raise Refused(f"Hand-over {given.name} was undone at {giver.name}; nothing came.")
        source = listing.one(connection, given.bottle)

    def work(connection: "Connection") -> "Transferred | tuple[Item, str]":
        found = _taken(connection, given.name, giver.code)
        if found is not None:
            return Transferred(given, found.own_bottle, found.job)
        thing = in_inventory(connection, given.item)
        return thing, place_for(connection, thing.code, thing.name, location, usual.ARRIVED)

    def post(connection: "Connection", worked: "Transferred | tuple[Item, str]") -> Transferred:
        if isinstance(worked, Transferred):
            return worked
        thing, place = worked
        note = f"hand-over {given.name} from {giver.code}: bottle {given.bottle}"
        job = ledger.begin(connection, JobKind.TRANSFER, act.by, act.on, note)
        transfers.put(connection, job, NewHandOver(given.name, HandOverSide.TOOK, giver.code, given.bottle))
        code = codes.new_code(connection)
        row: dict[str, Any] = codes.bottle_row(codes.NewBottle(code, thing.code, thing.measure, place, act.on)) | {
            "opened": source.opened,
            "use_by": source.use_by,
            "lot": source.lot,
            "strength": source.strength,
            "strength_uncertainty_pct": source.strength_uncertainty_pct,
            "made_by": source.made_by,
            "note": f"from {giver.name}, bottle {given.bottle}"[:200],
            "full": given.amount,
            "supplier": source.supplier,
        }
        ledger.fill(connection, job, row, given.amount, f"from {giver.name}, hand-over {given.name}")
        return Transferred(given, code, job)

    return session.worked_out(taker.db, work, post)


def open_ones(schools: Sequence[GroupSchool]) -> OpenHandOvers:
    """List every hand-over of all schools that was given and not yet taken, or whose giving was undone once taken."""
    given, taken = list[HandOver](), list[HandOver]()
    unreached: dict[str, str] = {}
    for school in schools:
        try:
            with session.reading(school.db) as connection:
                here = _given(connection, school.code), _all_taken(connection, school.code)
        except PrepError as problem:
            unreached[school.code] = problem.sentence
            continue
        given += here[0]
        taken += here[1]
    reached = {school.code for school in schools} - unreached.keys()
    of_given, of_taken = ({(one.name, one.giver, one.taker) for one in some} for some in (given, taken))
    lone = [one for one in given if one.taker in reached and (one.name, one.giver, one.taker) not in of_taken]
    lone += [one for one in taken if one.giver in reached and (one.name, one.giver, one.taker) not in of_given]
    return OpenHandOvers(tuple(lone), unreached)


def _takes(taker: GroupSchool, item: str) -> None:
    """Check that the other school can be reached and has the item on file. Raises PrepError."""
    with session.reading(taker.db) as connection:
        if item not in queries.catalogue(connection):
            raise PrepError(f"{taker.name} has no {item} on file; add it there first.")


def _given(connection: "Connection", code: str) -> list[HandOver]:
    """List what the school of this code gave."""
    return [
        HandOver(one.name, code, one.school, one.job, one.on, one.item, one.bottle, one.amount, one.measure)
        for one in transfers.standing(connection)
        if one.side is HandOverSide.GAVE
    ]


def _all_taken(connection: "Connection", code: str) -> list[HandOver]:
    """List what the school of this code took."""
    return [
        HandOver(one.name, one.school, code, one.job, one.on, one.item, one.bottle, one.amount, one.measure, one.job)
        for one in transfers.standing(connection)
        if one.side is HandOverSide.TOOK
    ]


def _taken(connection: "Connection", name: str, giver: str) -> RecordedHandOver | None:
    """Find the hand-over of this name as it was taken; None where it was not."""
    taken = (one for one in transfers.standing(connection) if one.side is HandOverSide.TOOK)
    return next((one for one in taken if (one.name, one.school) == (name, giver)), None)
