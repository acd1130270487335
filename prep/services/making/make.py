"""`prep make`: instructions for any amount of a solution from what is held, and logging what was made."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

from prep.books import BottleStatus, JobKind
from prep.chemistry import quantities
from prep.chemistry.catalogue import Catalogue, Item
from prep.chemistry.model import Measure, Solution, Strength
from prep.dates import read_day
from prep.errors import PrepError, Refused
from prep.planning.draws import LinkKind, Share, Source
from prep.planning.make_one import SingleMake, make_one
from prep.planning.make_taken import TakenAmount, make_taken
from prep.planning.model import Batch, Bottle, Snapshot
from prep.services.catalogue.names import find_item
from prep.services.input.act import Act
from prep.services.input.checks import within
from prep.services.inventory import session
from prep.services.making.any_strength import put_on_file, solution_named
from prep.services.making.standardise import MeasuredStrength, StandardisationRecord, find
from prep.services.making.titration_text import found_strength
from prep.services.making.titration_use import draw
from prep.services.plan.snapshot import load
from prep.services.safety.batch_hazards import with_cautions
from prep.services.safety.school_rules import refuse_making
from prep.services.school import usual
from prep.services.stock import codes as stock_codes
from prep.services.stock import listing
from prep.services.stock.places import place_for
from prep.store import change_log, ledger
from prep.store.bottles import HeldBottle
from prep.store.jobs import batches
from prep.store.queries import strength_text
from prep.wording import AtTerminal, Flag, any_of

if TYPE_CHECKING:
    from sqlalchemy import Connection


@dataclass(frozen=True, slots=True)
class BottleShare:
    """What is taken from one bottle: ug of a solid, nL of a liquid."""

    bottle: str
    amount: int


@dataclass(frozen=True, slots=True)
class LackingItem:
    """What is missing for a make: an item's name, and its amount as text."""

    name: str
    amount: str


def in_words(missing: Iterable[LackingItem]) -> str:
    """List what is missing in words; empty where nothing is."""
    return "; ".join(f"{one.amount} of {one.name}" for one in missing)


def refuse_missing(missing: Iterable[LackingItem]) -> None:
    """Refuse to log a make that something is missing for. Raises Refused."""
    if lacks := in_words(missing):
        raise Refused(f"It cannot be made from what is held: missing {lacks}. Nothing was changed.")


@dataclass(frozen=True, slots=True)
class Instructions:
    """How to make it, what is missing, and the snapshot it was drawn from."""

    batch: Batch
    missing: tuple[LackingItem, ...]
    snapshot: Snapshot


@dataclass(frozen=True, slots=True)
class MadeBatch:
    """What was made, and the bottles that hold it now."""

    job: int
    instructions: Instructions
    bottles: tuple[HeldBottle, ...]
    standardised: MeasuredStrength | None = None


def instructions(db: Path | None, solution: str, volume: str, source: str | None, today: date) -> Instructions:
    """Work out how to make at least that volume today. Raises PrepError."""
    with session.reading(db) as connection:
        named = _named(solution, load(connection, today))
        item, snapshot = named.item, named.snapshot
        assert item.solution is not None
        refuse_making(connection, item.solution, snapshot)
    return _instructions(snapshot, item.code, volume, source)


@dataclass(frozen=True, slots=True)
class _Named:
    """The solution to be made, and the books with it on file."""

    item: Item
    snapshot: Snapshot


def _named(solution: str, snapshot: Snapshot) -> _Named:
    """Find the solution of a name; one of any strength that is not on file joins the snapshot's catalogue."""
    held = {bottle.item for bottle in snapshot.bottles}
    found = solution_named(solution, snapshot.catalogue, held)
    same = found.catalogue is snapshot.catalogue
    return _Named(found.item, snapshot if same else replace(snapshot, catalogue=found.catalogue))


@dataclass(frozen=True, slots=True)
class MakeRequest:
    """What was made, as typed, and where it was put.

    `found` is the strength a titration gave, or `written` what was written down of it. `taken` is what was taken
    from where, as a plan prints it or as it really was; without it, what the instructions of this moment say.
    `came` is the volume that came out. `booking` is the showing that it was made for, by its code.
    """

    solution: str
    volume: str
    source: str | None = None
    taken: Sequence[str] = ()
    came: str | None = None
    location: str | None = None
    bottles: int = 1
    found: str | None = None
    written: StandardisationRecord | None = None
    booking: str | None = None


def log(db: Path | None, asked: MakeRequest, act: Act) -> MadeBatch:
    """Make it on the books: take from the bottles, fill new ones, all as one job.

    Raises PrepError; Refused, naming what is missing, if the bottles do not hold enough.
    """
    within(asked.bottles, 1, 50, Flag("--bottles"))
    if asked.taken and asked.source is not None:
        raise PrepError("Give either ", any_of("--from", "--take"), ": what was taken says what it was made from.")

    def work(connection: "Connection") -> _WorkedMake:
        found = _named(asked.solution, load(connection, act.on))
        snapshot, named = found.snapshot, replace(asked, solution=found.item.code)
        if named.taken:
            made = _as_taken(snapshot, named)
        else:
            made = _came_out(_instructions(snapshot, named.solution, named.volume, named.source), named.came)
        refuse_making(connection, made.snapshot.solutions[made.batch.solution], made.snapshot)
        refuse_kept(made.snapshot, made.batch.solution, act.on, asked.booking)
        refuse_missing(made.missing)
        for take in made.batch.takes:
            listing.since_it_came(listing.one(connection, take.ref), act.day)
        solution = made.snapshot.solutions[made.batch.solution]
        place = place_for(connection, solution.code, solution.name, asked.location, usual.MADE)
        return _filled(connection, made, replace(asked, location=place))

    def post(connection: "Connection", worked: _WorkedMake) -> MadeBatch:
        put_on_file(connection, worked.made.snapshot.solutions[worked.made.batch.solution])
        return _post(connection, worked, act)

    return session.worked_out(db, work, post)


def refuse_kept(snapshot: Snapshot, code: str, on: date, booking: str | None) -> None:
    """Refuse to make what becomes explosive when kept, unless a showing of its day needs it. Raises Refused.

    `booking` names the showing where its demo does not list the solution. Raises PrepError where there is no such one.
    """
    named = None
    if booking is not None:
        named = next((one for one in snapshot.bookings if one.code == booking.strip().upper()), None)
        if named is None:
            raise PrepError(f'There is no booking "{booking[:40]}"', AtTerminal("; see: prep book list", "."))
        if named.on != on:
            raise Refused(f"Booking {named.code} is on {named.on}, and this is made on {on}. Nothing was changed.")
    solution = snapshot.solutions[code]
    if not solution.unstable or named is not None:
        return
    for one in snapshot.bookings:
        demo = snapshot.demos.get(one.demo)
        items = {one.item, *(need.item for need in demo.needs)} if demo is not None else {one.item}
        if one.on == on and code in items:
            return
    raise Refused(
        f"{solution.name} becomes explosive or unstable when kept: it is made on the day of a showing, for it, "
        f"and destroyed at once after it; no showing of {on} asks for it (",
        Flag("--for"),
        " BOOKING names one that does). Nothing was changed.",
    )


def _instructions(snapshot: Snapshot, solution: str, volume: str, source: str | None) -> Instructions:
    item = find_item(solution, snapshot.catalogue, only="solution")
    bottle = source and next((b for b in snapshot.bottles if b.code in (source.strip(), source.strip().upper())), None)
    if bottle:
        snapshot, source = _only(snapshot, bottle), bottle.item
    wanted = source and find_item(source, snapshot.catalogue, held=_held(snapshot)).code
    single: SingleMake = make_one(snapshot, item.code, item.amount(volume), wanted or None)
    missing = []
    for lack in single.missing:
        what = find_item(lack.item, snapshot.catalogue)
        missing.append(LackingItem(what.name, quantities.show(lack.amount, what.measure)))
    return Instructions(
        with_cautions(single.batch, snapshot, [lack.item for lack in single.missing]), tuple(missing), snapshot
    )


def _only(snapshot: Snapshot, bottle: Bottle) -> Snapshot:
    """Limit the snapshot to one bottle of its item. Raises PrepError for one from which nothing is made."""
    if bottle.status != BottleStatus.IN_SERVICE:
        raise PrepError(Flag("--from"), f": bottle {bottle.code} is {bottle.status}; nothing is made from it.")
    if bottle.use_by is not None and bottle.use_by < snapshot.today:
        raise PrepError(
            Flag("--from"), f": bottle {bottle.code} went out of date on {bottle.use_by}; nothing is made from it."
        )
    others = tuple(one for one in snapshot.bottles if one.item != bottle.item)
    return replace(snapshot, bottles=(bottle, *others))


def _held(snapshot: Snapshot) -> set[str]:
    return {bottle.item for bottle in snapshot.bottles if bottle.amount}


def _came_out(made: Instructions, came: str | None) -> Instructions:
    """Set the volume that came out of a make: less than its sheet makes where some was spilt or left."""
    if came is None:
        return made
    solution = made.snapshot.solutions[made.batch.solution]
    amount = Catalogue({}, {solution.code: solution}).item(solution.code).amount(came)
    if amount > made.batch.amount:
        sheet = quantities.show(made.batch.amount, Measure.VOLUME)
        raise PrepError(
            Flag("--made"),
            f" {came[:20]} is more than the {sheet} that the sheet makes: say what was taken, ",
            Flag("--take"),
            ".",
        )
    return replace(
        made, batch=replace(made.batch, amount=amount, serves=(Share(Source(LinkKind.SHELF, "shelf"), amount),))
    )


def _as_taken(snapshot: Snapshot, asked: MakeRequest) -> Instructions:
    item = find_item(asked.solution, snapshot.catalogue, only="solution")
    takings = [_taking(snapshot, text) for text in asked.taken]
    amount = item.amount(asked.volume if asked.came is None else asked.came)
    batch = make_taken(snapshot, item.code, amount, takings, measured=asked.came is not None)
    return Instructions(with_cautions(batch, snapshot, []), (), snapshot)


def _taking(snapshot: Snapshot, text: str) -> "TakenAmount":
    """Read what was taken: `K6G7=250 mL`, or by item, or by batch: `hcl-2@2027-01-18=250 mL`. Raises PrepError."""
    place, _, amount = text.rpartition("=") if "=" in text else text.strip().partition(" ")
    place, amount = place.strip(), amount.strip()
    if not place or not amount:
        raise PrepError(Flag("--take"), f' "{text[:60]}": write it as BOTTLE=AMOUNT, such as K6G7=250 mL.')
    bottle = next((b for b in snapshot.bottles if b.code in (place, place.upper())), None)
    if bottle is not None:
        item = find_item(bottle.item, snapshot.catalogue)
        return TakenAmount(item.code, item.amount(amount), bottle.code)
    name, made, day = place.partition("@")
    item = find_item(name, snapshot.catalogue, held=_held(snapshot))
    since = read_day(day.partition("/")[0], Flag("--take"), snapshot.today) if made else None
    return TakenAmount(item.code, item.amount(amount), since=since)


@dataclass(frozen=True, slots=True)
class _WorkedMake:
    """A make as it is to be put on the books, and what a titration found of it."""

    made: Instructions
    filling: "Filling"
    standardised: MeasuredStrength | None


def _filled(connection: "Connection", made: Instructions, asked: MakeRequest) -> _WorkedMake:
    """Work out what a make fills, at the strength that was found. Raises PrepError."""
    batch, solution = made.batch, made.snapshot.solutions[made.batch.solution]
    strength = found_strength(asked.found, solution) if asked.found else None
    standardised = None
    if asked.written:
        if strength is not None:
            raise PrepError("Give the found strength once: ", any_of("--found", "--titrated", "--primary"), ".")
        standardised = find(connection, made.snapshot, solution, asked.written)
        strength = standardised.strength
    filling = Filling(batch.amount, asked.bottles, asked.location, strength, batch.uncertainty_pct)
    if standardised is not None:
        filling = replace(filling, found_pct=standardised.uncertainty_pct)
    elif strength is None and batch.strength != solution.strength:
        filling = replace(
            filling, strength=batch.strength, found_pct=batch.uncertainty_pct, note=stock_codes.BY_WHAT_WAS_TAKEN
        )
    rests = [BottleShare(take.ref, take.amount - take.used) for take in batch.takes if 0 < take.used < take.amount]
    return _WorkedMake(made, replace(filling, rests=tuple(rests)), standardised)


def _post(connection: "Connection", worked: _WorkedMake, act: Act) -> MadeBatch:
    made, filling, standardised = worked.made, worked.filling, worked.standardised
    batch, solution = made.batch, made.snapshot.solutions[made.batch.solution]
    filled = book(connection, solution, [BottleShare(take.ref, take.amount) for take in batch.takes], filling, act)
    bottles = filled.bottles
    if standardised is not None:
        bottles = draw(connection, filled.job, bottles, standardised.used)
    dated = replace(made, batch=replace(batch, use_by=use_by(solution, act.on)))
    return MadeBatch(filled.job, dated, bottles, standardised)


@dataclass(frozen=True, slots=True)
class Filling:
    """What a make fills: nL in all, shared by so many bottles, and where they stand.

    `strength` is the found one, with its uncertainty `found_pct`; `made_pct` is that of what was made (k = 2).
    `rests` are what was left over in an intermediate dilution, which goes to waste.
    """

    amount: int
    bottles: int
    location: str | None
    strength: Strength | None = None
    made_pct: Decimal | None = None
    found_pct: Decimal | None = None
    note: str = ""
    rests: tuple[BottleShare, ...] = ()


@dataclass(frozen=True, slots=True)
class FilledBottles:
    """The job of a make, and the bottles that it filled."""

    job: int
    bottles: tuple[HeldBottle, ...]


def use_by(solution: Solution, on: date) -> date:
    """Work out the use-by of a solution that is made on a day."""
    return on + timedelta(days=solution.shelf_life_days)


def book(
    connection: "Connection", solution: Solution, takes: Sequence[BottleShare], filling: Filling, act: Act
) -> FilledBottles:
    """Post one make: what is taken from bottles, and the bottles it fills. Raises PrepError."""
    place = place_for(connection, solution.code, solution.name, filling.location, usual.MADE)
    act = session.signed(connection, act)
    job = ledger.begin(
        connection,
        JobKind.MAKE,
        act.by,
        act.on,
        f"{quantities.show(filling.amount, Measure.VOLUME)} of {solution.name}",
    )
    left = {one.bottle: one.amount for one in filling.rests}
    lines = [
        ledger.MovementLine(one.bottle, left.pop(one.bottle, 0) - one.amount, f"to make {solution.code}")
        for one in takes
    ]
    lines += [
        ledger.MovementLine(one.bottle, -one.amount, f"to waste, left of a dilution for {solution.code}")
        for one in filling.rests
    ]
    ledger.post(connection, job, lines)
    for code in dict.fromkeys(one.bottle for one in takes):
        held = listing.one(connection, code)
        listing.since_it_came(held, act.day)
        if held.opened is None:
            change_log.change(connection, job, "bottle", code, opened=act.on)
    last = use_by(solution, act.on)
    codes = []
    for number in range(filling.bottles):
        share = filling.amount // filling.bottles + (1 if number < filling.amount % filling.bottles else 0)
        code = stock_codes.new_code(connection)
        new = stock_codes.NewBottle(code, solution.code, Measure.VOLUME, place, act.on, last, note=filling.note)
        row = stock_codes.bottle_row(replace(new, made_by=act.by, strength=strength_text(filling.strength)))
        if filling.found_pct is not None:
            row["strength_uncertainty_pct"] = str(filling.found_pct)
        ledger.fill(connection, job, row, share, f"made {solution.code}")
        batches.put(
            connection,
            job,
            code,
            solution=solution.code,
            amount=share,
            nominal=strength_text(solution.strength),
            uncertainty_pct=None if filling.made_pct is None else str(filling.made_pct),
            made_on=act.on,
            use_by=last,
            made_by=act.by,
        )
        codes.append(code)
    return FilledBottles(job, tuple(listing.one(connection, code) for code in codes))
