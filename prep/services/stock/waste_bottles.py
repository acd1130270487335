"""Waste bottles: one a stream, what was put into each, full at a level, emptied on a date."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from prep.books import JobKind, WasteStatus
from prep.chemistry import quantities
from prep.chemistry.model import Measure
from prep.chemistry.quantities import to_base
from prep.errors import NotOnFile, PrepError, Refused
from prep.resources import seed_table
from prep.services.input.act import Act
from prep.services.input.checks import printable
from prep.services.inventory import session
from prep.store import ledger, queries, sign_offs
from prep.store.school import waste
from prep.wording import AtTerminal, Flag

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from prep.store.school.waste import Residue, WasteBottle

NEARLY_FULL = 0.8
"""The part of a waste bottle from which it is to be collected; it is never filled to the brim: common practice, no
source."""


@dataclass(frozen=True, slots=True)
class WastePortion:
    """What goes into a waste bottle, as typed: an amount of something, or of what a bottle on the books holds.

    `even_so`: it is in already, though it should not have met what the bottle holds.
    """

    amount: str | None
    what: str = ""
    bottle: str | None = None
    even_so: bool = False


@dataclass(frozen=True, slots=True)
class WasteRecord:
    """A waste bottle, and what went in and out of it."""

    bottle: "WasteBottle"
    residues: "list[Residue]"


def new(db: Path | None, stream: str, full: str, location: str, act: Act) -> "WasteBottle":
    """Put a waste bottle of a stream on the books. Raises PrepError."""
    from prep.services.stock.places import place_in

    known = [row["stream"] for row in seed_table("disposal_streams")]
    wanted = stream.strip().casefold()
    if wanted not in known:
        raise PrepError(f'"{stream[:40]}" is no stream of waste; there are: {", ".join(known)}.')
    base = to_base(quantities.volume_ml(full))
    with session.writing(db) as connection:
        place = place_in(connection, location)
        number = max((int(one.code[1:]) for one in waste.all_waste(connection)), default=0) + 1
        made = waste.WasteBottle(f"W{number}", wanted, place, base, WasteStatus.OPEN, 0)
        ledger.begin(connection, JobKind.WASTE, act.by, act.on, f"{made.code}: new bottle for {wanted}")
        waste.add(connection, made)
        return made


@dataclass(frozen=True, slots=True)
class _Filling:
    """How much [nL] of what goes into which waste bottle, and the lines of the bottle that it comes from."""

    into: str
    amount: int
    what: str
    lines: list[ledger.MovementLine]


def put(db: Path | None, code: str, given: WastePortion, act: Act) -> "WasteBottle":
    """Write down what went into a waste bottle; from a bottle on the books, it goes off there in the same job.

    Raises PrepError; Refused where it would be more than the bottle takes, or must not meet what is in it.
    """
    from prep.services.stock import listing

    def work(connection: "Connection") -> _Filling:
        into, what, lines = _open(connection, code), printable(given.what.strip(), label=Flag("--what")), []
        _since_it_came(connection, into, act)
        if given.bottle is not None:
            held = listing.one(connection, given.bottle)
            listing.since_it_came(held, act.day)
            if held.measure is not Measure.VOLUME:
                raise PrepError(
                    f"Bottle {held.code} is weighed; dissolve it first and give the volume with ", Flag("--what"), "."
                )
            amount = held.balance if given.amount is None else to_base(quantities.volume_ml(given.amount))
            what = what or held.name
            lines = [ledger.MovementLine(held.code, -amount, f"to waste {into.code}")]
        elif given.amount is None or not what:
            raise PrepError(
                'Say how much and what: "100 mL" ',
                Flag("--what"),
                ' "copper sulfate residues", or ',
                Flag("--from"),
                " BOTTLE.",
            )
        else:
            amount = to_base(quantities.volume_ml(given.amount))
        if amount <= 0:
            raise PrepError("There is nothing to put into it.")
        if into.holds + amount > into.full:
            raise Refused(
                f"Waste bottle {into.code} takes {_shown(into.full)} and holds {_shown(into.holds)}: {_shown(amount)} "
                "does not go in. Have it emptied",
                AtTerminal(f" (prep waste empty {into.code})"),
                ", or open another.",
            )
        if not given.even_so:
            _may_meet(connection, into, what)
        return _Filling(into.code, amount, what, lines)

    def post(connection: "Connection", filling: _Filling) -> "WasteBottle":
        job = ledger.begin(connection, JobKind.WASTE, act.by, act.on, f"{filling.into}: {filling.what}"[:200])
        sign_offs.refuse_late_arrivals(connection, job, [_open(connection, filling.into).location])
        ledger.post(connection, job, filling.lines)
        waste.post(connection, job, filling.into, filling.amount, filling.what)
        return _open(connection, filling.into)

    return session.worked_out(db, work, post)


def _may_meet(connection: "Connection", into: "WasteBottle", what: str) -> None:
    """Refuse what must not meet what the bottle has held since it was emptied."""
    from prep.services.safety.waste_meeting import clashes

    inside: list[str] = []
    for one in waste.residues(connection, into.code):
        inside = [*inside, one.what] if one.amount > 0 else []
    if said := clashes(what, inside, into.stream, queries.catalogue(connection)):
        holds = f" and holds {', '.join(inside)[:80]}" if inside else ""
        raise Refused(
            f"NEVER TOGETHER in {into.code}, which takes {into.stream}{holds}: {' '.join(said)} ",
            "Take a bottle of its own",
            AtTerminal(" (prep waste new)"),
            ". If it is in already, stand it open in the fume cupboard, and write it down with ",
            Flag("--even-so"),
            ".",
        )


def empty(db: Path | None, code: str, reason: str, act: Act, close: bool = False) -> "WasteBottle":
    """Write down that a waste bottle was emptied or collected; closed, it takes no more. Raises PrepError, Refused."""
    printable(reason, label=Flag("--reason"))
    with session.writing(db) as connection:
        one = _open(connection, code)
        _since_it_came(connection, one, act)
        if not one.holds and not close:
            raise Refused(f"Waste bottle {one.code} is empty.")
        note = f"{one.code}: {_shown(one.holds)} of {one.stream} {reason or 'collected'}"
        job = ledger.begin(connection, JobKind.EMPTY, act.by, act.on, note[:200])
        sign_offs.refuse_late_arrivals(connection, job, [one.location])
        if one.holds:
            waste.post(connection, job, one.code, -one.holds, reason or "collected")
        if close:
            waste.close(connection, one.code)
        return next(w for w in waste.all_waste(connection) if w.code == one.code)


def _since_it_came(connection: "Connection", one: "WasteBottle", act: Act) -> None:
    act.since(waste.put_there(connection, one.code), f"waste bottle {one.code} came on the books")


def listed(db: Path | None) -> "list[WasteBottle]":
    """List every waste bottle."""
    with session.reading(db) as connection:
        return waste.all_waste(connection)


def show(db: Path | None, code: str) -> WasteRecord:
    """Read a waste bottle, and what went in and out of it. Raises PrepError."""
    with session.reading(db) as connection:
        one = _one(connection, code)
        return WasteRecord(one, waste.residues(connection, one.code))


def says(one: "WasteBottle") -> str:
    """Tell in words how full a waste bottle is; empty where nothing need be said."""
    if one.status == WasteStatus.CLOSED:
        return "closed"
    if one.holds >= one.full * NEARLY_FULL:
        return "full: have it collected"
    return "" if one.holds else "empty"


def _shown(amount: int) -> str:
    return quantities.show(amount, Measure.VOLUME)


def _one(connection: "Connection", code: str) -> "WasteBottle":
    found = [one for one in waste.all_waste(connection) if one.code == code.strip().upper()]
    if not found:
        raise NotOnFile(f'There is no waste bottle "{code[:40]}"', AtTerminal("; see: prep waste list", "."))
    return found[0]


def _open(connection: "Connection", code: str) -> "WasteBottle":
    one = _one(connection, code)
    if one.status != WasteStatus.OPEN:
        raise Refused(f"Waste bottle {one.code} is closed.")
    return one
