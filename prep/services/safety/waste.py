"""What a demo leaves to dispose of, by stream, with what neutralises it."""

from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path

from prep.chemistry.catalogue import Catalogue
from prep.chemistry.contents import ContentsReader
from prep.chemistry.quantities import decimal_of
from prep.errors import PrepError
from prep.findings import Finding
from prep.planning.engine.requirements import needs_of
from prep.planning.model import Demo
from prep.safety.disposal import Leavings, LeftMoles, Stream, larger_side, never_together, streams
from prep.safety.notes import poured_from
from prep.safety.solution_hazards import WATER
from prep.services.bookings import bookings
from prep.services.catalogue.lookup import reckoned
from prep.services.input.checks import within
from prep.services.inventory import session
from prep.services.safety.item_facts import NEVER_TO_DRAIN, stream
from prep.store import queries
from prep.wording import Flag

_FEW_DROPS = 20  # about a millilitre; common practice, no source
_MEETS = frozenset({"neutralise", "drain", "solid"})  # streams after which acid and alkali still meet


@dataclass(frozen=True, slots=True)
class DemoWaste:
    """What a demo leaves for a number of showings: streams, and which are kept apart."""

    demo: Demo
    showings: int
    streams: tuple[Stream, ...]
    apart: tuple[Finding, ...]


def waste(db: Path | None, what: str, showings: int | None) -> DemoWaste:
    """Work out what a demo, or a booking of one, leaves. Raises PrepError."""
    with session.reading(db) as connection:
        catalogue = queries.catalogue(connection)
        booked = {one.code.upper(): one for one in queries.bookings(connection)}.get(what.strip().upper())
        demos = queries.demos(connection)
    if booked is not None and booked.demo in demos:
        demo, number = demos[booked.demo], booked.showings if showings is None else showings
    else:
        demo, number = bookings.demo(db, what), 1 if showings is None else showings
    return waste_of(demo, within(number, 1, 1000, Flag("--showings")), catalogue)


def waste_of(demo: Demo, showings: int, catalogue: Catalogue) -> DemoWaste:
    """List what a demo leaves, by stream; where nothing is recorded of it, each item it needs by its own stream.

    Acid and alkali to neutralise are all that the demo puts out, as if nothing had reacted but each other:
    at most what is left. Where some of it goes into a bottle of its own, they may never meet: then only the
    larger of the two counts, in full.
    """
    recorded = [Leavings(left.what, left.stream, left.note) for left in demo.leftovers]
    wastes = recorded or _from_needs(demo, catalogue)
    moles = tuple(LeftMoles(*one) for one in moles_of(demo, showings, catalogue).items())
    if any(left.stream not in _MEETS for left in wastes):
        moles = larger_side(moles)
    first = next((n for n, one in enumerate(wastes) if one.stream == "neutralise"), None)
    if first is not None:
        wastes[first] = replace(wastes[first], moles=moles)
    return DemoWaste(demo, showings, streams(wastes), never_together(wastes))


def _from_needs(demo: Demo, catalogue: Catalogue) -> list[Leavings]:
    """List what goes into a demo, each by its own stream, as if nothing had reacted; by none, for a waste carrier.

    Drops of an indicator go with what they are dropped into, and what shares a vessel with silver, a heavy metal or a
    halogenated solvent with that: nothing of it goes down a drain.
    """
    wastes: list[Leavings] = []
    kept = _stream_of_the_vessel(demo, catalogue)
    dropped = {n.item for n in demo.needs if 0 < n.drops <= _FEW_DROPS and _colours(n.item, catalogue)}
    for item in dict.fromkeys(need.item for need in demo.needs if need.item != WATER):
        known = catalogue.substances.get(item) or catalogue.solutions.get(item)
        own = stream(item, catalogue)
        if item in dropped and len(demo.needs) > 1:
            continue
        note = "worked out from what the demo needs: what reacts is not followed"
        if not own:
            own, note = "specialist", "nothing is known of how it is disposed of: ask"
        elif own in _MEETS and item in kept:
            own, note = kept[item], "worked out from what the demo needs: with what is in its vessel"
        wastes.append(Leavings(known.name if known else item, own, note))
    return wastes


def _stream_of_the_vessel(demo: Demo, catalogue: Catalogue) -> dict[str, str]:
    """Find the stream of what shares a vessel with something that never goes to the drain, by item.

    What is poured from a bottle or burette ends in the one other vessel, where there is but one.
    """
    poured = [need for need in demo.needs if poured_from(need.vessel)]
    vessels = {need.vessel for need in demo.needs if need not in poured and need.vessel}
    kept: dict[str, str] = {}
    for vessel in vessels:
        inside = {need.item for need in demo.needs if need.vessel == vessel or (need in poured and len(vessels) == 1)}
        own = {stream(item, catalogue) for item in inside}
        if strictest := next((way for way in NEVER_TO_DRAIN if way in own), None):
            kept |= {item: strictest for item in inside if kept.get(item) not in NEVER_TO_DRAIN}
    return kept


def _colours(item: str, catalogue: Catalogue) -> bool:
    solution = catalogue.solutions.get(item)
    return solution is not None and solution.purpose == "indicator"


def moles_of(demo: Demo, showings: int, catalogue: Catalogue) -> dict[str, Decimal]:
    """Sum the moles of each solute that so many showings put out, spare and dead volume included."""
    inside = ContentsReader(catalogue, unknown_as_water=True)
    found: dict[str, Decimal] = {}
    demo = reckoned(demo, catalogue).demo
    for needed, amount in needs_of(demo, showings).items():
        try:
            portions = inside.of(needed.item).portions
        except PrepError:
            continue  # without a formula there are no moles to count
        for one in portions:
            found[one.solute] = found.get(one.solute, Decimal(0)) + decimal_of(one.moles * amount)
    return found
