"""Changing what is on the shelves: what comes, what goes, what moves, and undoing a job."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

from prep.books import BottleStatus, JobKind
from prep.chemistry import quantities
from prep.chemistry.catalogue import Item
from prep.chemistry.model import Form, Measure, Strength, StrengthKind
from prep.dates import DoneOn, read_day
from prep.errors import PrepError, Refused
from prep.services.calc.named_substance import strength_said
from prep.services.catalogue.names import in_inventory
from prep.services.input.act import Act
from prep.services.input.checks import MOST_JOBS, printable, within
from prep.services.inventory import session
from prep.services.school import usual
from prep.services.stock.codes import NewBottle, bottle_row, new_code
from prep.services.stock.listing import one, since_it_came
from prep.services.stock.places import place_for, place_in
from prep.services.stocktake.signing import MAY_REOPEN
from prep.store import change_log, ledger, queries, stocktakes, table_rows
from prep.store.bottles import BottlePortion, HeldBottle
from prep.store.jobs import history
from prep.wording import AtTerminal, Flag, any_of

if TYPE_CHECKING:
    from sqlalchemy import Connection


@dataclass(frozen=True, slots=True)
class Receipt:
    """What came: `count` bottles of an item, as typed, with what their labels say."""

    item: str
    amount: str
    count: int = 1
    location: str | None = None
    use_by: date | None = None
    lot: str = ""
    note: str = ""
    strength: str | None = None
    supplier: str = ""
    cost: str | None = None


@dataclass(frozen=True, slots=True)
class _Checked:
    """What came of one thing: its item, what a bottle holds in its unit, and what stands on each besides."""

    item: Item
    amount: int
    own: dict[str, Any]


def receive(db: Path | None, receipt: Receipt, act: Act) -> list[HeldBottle]:
    """Put new bottles of one item on the books; returns them with their codes. Raises PrepError."""
    return receive_all(db, [receipt], act)


def receive_all(db: Path | None, receipts: Sequence[Receipt], act: Act) -> list[HeldBottle]:
    """Put all that came at once on the books, as one job; returns the bottles with their codes.

    Raises PrepError, saying of several things which one it is about; then nothing is written.
    """
    for receipt in receipts:
        within(receipt.count, 1, 500, Flag("--bottles"))

    def work(connection: "Connection") -> list[_Checked]:
        found = []
        for number, receipt in enumerate(receipts, 1):
            try:
                found.append(_checked(connection, receipt))
            except PrepError as problem:
                if len(receipts) == 1:
                    raise
                raise type(problem)(f"Thing {number}: ", problem.sentence) from None
        return found

    def post(connection: "Connection", wanted: list[_Checked]) -> list[str]:
        notes = dict.fromkeys(receipt.note for receipt in receipts if receipt.note)
        job = ledger.begin(connection, JobKind.RECEIVE, act.by, act.on, "; ".join(notes))
        codes = []
        for receipt, came in zip(receipts, wanted, strict=True):
            for _ in range(receipt.count):
                code = new_code(connection)
                new = NewBottle(code, came.item.code, came.item.measure, came.own["location"], act.on, receipt.use_by)
                row = bottle_row(replace(new, lot=receipt.lot, note=receipt.note)) | came.own | {"full": came.amount}
                ledger.fill(connection, job, row, came.amount, "received")
                codes.append(code)
        return codes

    with session.held_open(db):
        codes = session.worked_out(db, work, post)
        with session.reading(db) as connection:  # read after the write, so that nobody waits for the lock meanwhile
            return [one(connection, code) for code in codes]


def _checked(connection: "Connection", receipt: Receipt) -> _Checked:
    """Check what came of one thing. Raises PrepError."""
    found = in_inventory(connection, receipt.item, here=True)
    never_kept(connection, found.code)
    said = receipt.strength or _said_of(receipt.item, found)
    own = {
        "strength": None if said is None else _on_label(connection, found.code, said),
        "location": place_for(connection, found.code, found.name, receipt.location, usual.ARRIVED),
        "supplier": printable(receipt.supplier.strip(), label=Flag("--supplier")) or None,
        "cost": cost_of(receipt.cost),
    }
    return _Checked(found, found.amount(receipt.amount), own)


def _said_of(name: str, found: Item) -> str | None:
    """Read the strength that a concentrate's name says, where the one on file is another: `35 % HCl` of 36 %."""
    one = found.substance
    if one is None or one.form is not Form.AQUEOUS:
        return None

    said = strength_said(name)
    return None if said is None or said == Strength(one.assay_pct or Decimal(0), StrengthKind.PCT_W_W) else str(said)


def use(db: Path | None, bottle: str, amount: str, reason: str, act: Act) -> HeldBottle:
    """Take an amount from a bottle. Raises PrepError; Refused if it holds less or is not in service."""
    printable(reason, label=Flag("--reason"))

    def work(connection: "Connection") -> BottlePortion:
        held = one(connection, bottle)
        since_it_came(held, act.day)
        base = _amount(held, amount)
        _in_service(held)
        return BottlePortion(held, base)

    def post(connection: "Connection", taken: BottlePortion) -> HeldBottle:
        held, base = taken.bottle, taken.amount
        job = ledger.begin(connection, JobKind.USE, act.by, act.on, reason)
        ledger.post(connection, job, [ledger.MovementLine(held.code, -base, reason or "used")])
        if held.opened is None:
            _change(connection, job, held.code, opened=act.on)
        return one(connection, held.code)

    return session.worked_out(db, work, post)


def discard(
    db: Path | None, bottles: Sequence[str], reason: str, act: Act, amount: str | None = None
) -> list[HeldBottle]:
    """Write off what is left in bottles and close them, as one job; of one bottle, only an amount, and keep it.

    Raises PrepError; Refused for a closed one, and where it holds less.
    """
    printable(reason, label=Flag("--reason"))
    if amount is not None and len(set(bottles)) != 1:
        raise PrepError(Flag("--amount"), " is of one bottle.")

    def work(connection: "Connection") -> list[BottlePortion]:
        off = []
        for held in [one(connection, b) for b in dict.fromkeys(bottles)]:
            since_it_came(held, act.day)
            _not_discarded(held)
            off.append(BottlePortion(held, held.balance if amount is None else _amount(held, amount)))
        return off

    def post(connection: "Connection", off: list[BottlePortion]) -> list[HeldBottle]:
        codes = [portion.bottle.code for portion in off]
        note = f"{', '.join(codes)}: {reason or 'discarded'}"
        job = ledger.begin(connection, JobKind.DISCARD, act.by, act.on, note)
        for code, portion in zip(codes, off, strict=True):
            if portion.amount:
                ledger.post(connection, job, [ledger.MovementLine(code, -portion.amount, reason or "discarded")])
            if amount is not None:
                continue
            _change(connection, job, code, status=BottleStatus.DISCARDED)
        return [one(connection, code) for code in codes]

    return session.worked_out(db, work, post)


def move(db: Path | None, bottle: str, location: str, act: Act) -> HeldBottle:
    """Put a bottle somewhere else. Raises PrepError; Refused where it is there, or discarded."""
    with session.writing(db) as connection:
        held = one(connection, bottle)
        since_it_came(held, act.day)
        _not_discarded(held)
        never_kept(connection, held.item)
        place = place_in(connection, location)

        if place == held.location:
            raise Refused(f"Bottle {held.code} is at {place} already.")
        job = ledger.begin(connection, JobKind.MOVE, act.by, act.on, f"{held.code}: {held.location} -> {place}")
        _change(connection, job, held.code, location=place)
        return one(connection, held.code)


@dataclass(frozen=True, slots=True)
class Correction:
    """What a bottle's label says and the books do not, as typed; None where the books are right.

    `none` takes a date or the tare off the books, an empty text the lot or the note.
    """

    use_by: str | None = None
    opened: str | None = None
    lot: str | None = None
    tare: str | None = None
    note: str | None = None
    strength: str | None = None
    supplier: str | None = None
    cost: str | None = None


@dataclass(frozen=True, slots=True)
class _Relabelled:
    """A bottle as the books have it, and what its label says instead, by field."""

    bottle: HeldBottle
    after: dict[str, Any]


def correct(db: Path | None, bottle: str, given: Correction, reason: str, act: Act) -> HeldBottle:
    """Write down what is on a bottle's label, as a job. Raises PrepError; Refused for a discarded bottle."""
    printable(reason, label=Flag("--reason"))

    def work(connection: "Connection") -> _Relabelled:
        held = one(connection, bottle)
        since_it_came(held, act.day)
        _not_discarded(held)
        if given.use_by is not None:
            never_kept(connection, held.item)
        after = _corrected(held, given, act.day)
        if given.strength is not None:
            none = given.strength.strip().lower() == "none"
            after["strength"] = None if none else _on_label(connection, held.item, given.strength)
        if not after:
            raise PrepError(
                "Say what is corrected: ",
                any_of("--use-by", "--opened", "--lot", "--strength", "--supplier", "--cost", "--tare", "--note"),
                ".",
            )
        return _Relabelled(held, after)

    def post(connection: "Connection", corrected: _Relabelled) -> HeldBottle:
        held, after = corrected.bottle, dict(corrected.after)
        before = {field: getattr(held, field) for field in after}
        changed = [field for field, value in after.items() if value != before[field]]
        if "strength" in changed:
            after["strength_uncertainty_pct"] = None  # the uncertainty was that of the old strength
        if not changed:
            raise Refused(f"Bottle {held.code} has this on its books already.")

        said = ", ".join(f"{_LABELS.get(f, f)} {_said(f, before[f])} -> {_said(f, after[f])}" for f in changed)
        job = ledger.begin(
            connection, JobKind.CORRECT, act.by, act.on, f"{held.code}: {said}" + (f"; {reason}" if reason else "")
        )
        _change(connection, job, held.code, **after)
        return one(connection, held.code)

    return session.worked_out(db, work, post)


_LABELS = {"use_by": "use by"}


def _corrected(held: HeldBottle, given: Correction, day: DoneOn) -> dict[str, Any]:
    after: dict[str, Any] = {}
    for field, option, text in (("use_by", Flag("--use-by"), given.use_by), ("opened", Flag("--opened"), given.opened)):
        if text is not None:
            after[field] = None if text.strip().lower() == "none" else read_day(text, option, day.today)
            if held.received and after[field] and after[field] < held.received:
                raise PrepError(option, f" {after[field]} is before the day it came, {held.received}.")
    if after.get("opened") and after["opened"] > day.today:
        raise PrepError(Flag("--opened"), f" {after['opened']} is still to come; give the day it was opened, or none.")
    if given.tare is not None:
        none = given.tare.strip().lower() == "none"
        after["tare"] = None if none else quantities.to_base(quantities.mass_g(given.tare))
    for field, text in (("lot", given.lot), ("note", given.note)):
        if text is not None:
            after[field] = printable(text.strip(), label=Flag(f"--{field}"))
    if given.supplier is not None:
        after["supplier"] = printable(given.supplier.strip(), label=Flag("--supplier")) or None
    if given.cost is not None:
        after["cost"] = None if given.cost.strip().lower() == "none" else cost_of(given.cost)
    return after


def cost_of(text: str | None) -> str | None:
    """Read what a full bottle cost, as it is stored. Raises PrepError for what is no price."""
    if text is None:
        return None
    typed = text.strip()
    if not re.fullmatch(r"\d{1,9}(\.\d{1,2})?", typed):
        raise PrepError(
            Flag("--cost"), f' "{text[:40]}": write what a full bottle cost as a plain number, such as 12.50.'
        )
    return typed


def _on_label(connection: "Connection", item: str, text: str) -> str:
    from prep.services.stock.strength import on_label

    catalogue = queries.catalogue(connection)
    return str(queries.strength_text(on_label(catalogue.item(item), text, catalogue)))


def _said(field: str, value: Any) -> str:
    if value is None or value == "":
        return "none"
    return quantities.show(value, Measure.MASS, None) if field == "tare" else str(value)


def set_status(db: Path | None, bottle: str, status: BottleStatus, reason: str, act: Act) -> HeldBottle:
    """Quarantine a bottle or put it back in service. Raises PrepError; Refused where it is so, or discarded."""
    printable(reason, label=Flag("--reason"))
    with session.writing(db) as connection:
        held = one(connection, bottle)
        since_it_came(held, act.day)
        _not_discarded(held)

        if status == held.status:
            raise Refused(f"Bottle {held.code} is {status} already.")
        note = f"{held.code}: {held.status} -> {status} {reason}".strip()
        job = ledger.begin(connection, JobKind.STATUS, act.by, act.on, note)
        _change(connection, job, held.code, status=status)
        return one(connection, held.code)


def undo(db: Path | None, job: int, act: Act, for_the_office: bool = False) -> int:
    """Reverse a job as a whole; returns the number of the job that does it. Raises PrepError, Refused.

    A sign-off is taken back by who signed, by who is set to, and by somebody of the office who is signed in as such.
    """
    within(job, 1, MOST_JOBS, "JOB")

    def work(connection: "Connection") -> ledger.Reversal:
        act.since(history.day_of(connection, job), f"job {job} was done")
        if not for_the_office:
            _may_undo(connection, job, act.by)
        return ledger.reversal(connection, job)

    def post(connection: "Connection", undone: ledger.Reversal) -> int:
        return ledger.reverse(connection, undone, act.by, act.on)

    return session.worked_out(db, work, post)


def _may_undo(connection: "Connection", job: int, by: str) -> None:
    """Refuse to take back a sign-off for somebody who may not. Raises Refused."""
    count = next((one for one in stocktakes.all_counts(connection) if one.job == job), None)
    if count is None or count.closed_by is None:
        return
    may = {count.closed_by, *table_rows.settings(connection).get(MAY_REOPEN, [])}
    if by not in may:
        raise Refused(
            f"Count {count.code} was signed off by {count.closed_by}; it is taken back by: {', '.join(sorted(may))}",
            AtTerminal(" (prep count signers NAME... says who may)"),
            ".",
        )


def never_kept(connection: "Connection", code: str) -> None:
    """Refuse to shelve a solution that becomes explosive or unstable when kept. Raises Refused."""
    name = queries.never_kept(connection, code)
    if name is not None:
        raise Refused(
            f"{name} becomes explosive or unstable when kept: it is made for its period and destroyed at "
            "once after it, and never put on a shelf."
        )


def _amount(held: HeldBottle, text: str) -> int:
    typed = quantities.amount(text)
    if typed.measure is not held.measure or typed.drops:
        unit = "a volume such as 250 mL" if held.measure is Measure.VOLUME else "a mass such as 25 g"
        raise PrepError(f'"{text[:40]}": bottle {held.code} is counted by {held.measure.value}; write {unit}.')
    return typed.base


def _not_discarded(held: HeldBottle) -> None:
    if held.status == BottleStatus.DISCARDED:
        raise Refused(
            f"Bottle {held.code} is discarded already; if that was wrong, undo the job",
            AtTerminal(" (prep stock history)"),
            ".",
        )


def _in_service(held: HeldBottle) -> None:
    if held.status != BottleStatus.IN_SERVICE:
        raise Refused(f"Bottle {held.code} is {held.status}; nothing was taken.")


def _change(connection: "Connection", job: int, code: str, **values: Any) -> None:
    change_log.change(connection, job, "bottle", code, **values)
