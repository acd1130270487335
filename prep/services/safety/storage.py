"""What stands where, with all that the rules of storage ask about it, and what must not share a place."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

from prep.chemistry.catalogue import Catalogue
from prep.chemistry.formula.formulas import molar_mass
from prep.chemistry.model import Form, Substance
from prep.errors import PrepError
from prep.findings import Finding
from prep.safety.clp.classify import classify
from prep.safety.disposal import LeftMoles, neutralise
from prep.safety.model import ACIDS, ALKALIS, MixtureComponent
from prep.safety.segregation import StoredBottle, conflicts
from prep.safety.solution_hazards import composition_of
from prep.safety.storage_groups import StorageGroup, groups_of_solution, groups_of_substance
from prep.services.inventory import session
from prep.services.safety.hazards import components_of

if TYPE_CHECKING:
    from sqlalchemy import Connection

_COUNTS_FROM = Decimal(1)  # % w/w from which what is dissolved counts on a shelf; common practice, no source


def groups_of(item: str, catalogue: Catalogue) -> tuple[StorageGroup, ...]:
    """Find the storage groups of an item on file; none where nothing is known, or nothing that can be read."""
    try:
        if item in catalogue.substances:
            return groups_of_substance(catalogue.substances[item])
        if item not in catalogue.solutions:
            return ()
        inside = composition_of(catalogue.solutions[item], catalogue).components
        return groups_of_solution(_neutralised(inside, catalogue.substances), classify(inside)) if inside else ()
    except PrepError:
        return ()


def as_stored(code: str, item: str, place: str, catalogue: Catalogue) -> StoredBottle:
    """Describe a bottle of an item where it stands, with all that the rules of storage ask about."""
    known = catalogue.substances.get(item) or catalogue.solutions.get(item)
    inside = components_of(catalogue.solutions[item], catalogue) if item in catalogue.solutions else ()
    dissolved = (
        replace(catalogue.substances[one.code], form=Form.AQUEOUS, assay_pct=one.pct, diluted=True)
        for one in inside
        if one.code in catalogue.substances and one.pct >= _COUNTS_FROM
    )
    return StoredBottle(
        code,
        item,
        place,
        groups_of(item, catalogue),
        known.name if known else item,
        catalogue.substances.get(item),
        tuple(dissolved),
    )


def _neutralised(
    inside: Sequence[MixtureComponent], substances: Mapping[str, Substance]
) -> tuple[MixtureComponent, ...]:
    """Take out of a solution the acid or the alkali that the other uses up."""
    acids = [one for one in inside if one.group in ACIDS]
    alkalis = [one for one in inside if one.group in ALKALIS]
    if not (acids and alkalis):
        return tuple(inside)
    moles = [
        LeftMoles(substances[one.code].solute, one.pct / molar_mass(one.formula or substances[one.code].formula))
        for one in (*acids, *alkalis)
    ]
    found = neutralise(moles)
    gone = alkalis if found.acid_mol > found.base_mol else acids
    return tuple(one for one in inside if one not in gone)


def storage(db: Path | None) -> tuple[Finding, ...]:
    """Find what must not share a place, over every place, worst first."""
    with session.reading(db) as connection:
        return storage_of(connection)


def storage_of(connection: "Connection") -> tuple[Finding, ...]:
    """Find what must not share a place in an open inventory, of all that holds something and is not discarded."""
    room = stored_bottles(connection)
    return conflicts(room.bottles, room.places)


@dataclass(frozen=True, slots=True)
class StoredRoom:
    """Every bottle that holds something where it stands, the places, and how (code, item, place) becomes one more."""

    bottles: list[StoredBottle]
    places: list[str]
    stand: Callable[[str, str, str], StoredBottle]


def stored_bottles(connection: "Connection") -> StoredRoom:
    """List which bottles stand where in an open inventory."""
    from prep.store import queries
    from prep.store.school.places import all_places

    catalogue = queries.catalogue(connection)
    places = list(all_places(connection))
    like: dict[str, StoredBottle] = {}

    def stand(code: str, item: str, place: str) -> StoredBottle:
        if item not in like:
            like[item] = as_stored(code, item, place, catalogue)
        return replace(like[item], bottle=code, location=place)

    bottles = [stand(one.code, one.item, one.location) for one in queries.bottles(connection) if one.amount]
    return StoredRoom(bottles, places, stand)
