"""The harmonised entries of the regulation, found by CAS number, form and strength of a substance."""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from enum import StrEnum
from functools import cache

from prep.chemistry.model import Form, Substance
from prep.errors import PrepError
from prep.records import record
from prep.resources import seed_table
from prep.safety.clp.parse import NOT_CLASSIFIED, classes_of
from prep.safety.hazard_tables import Row, is_from_memory, split
from prep.safety.model import HazardClass

_TABLE = "Regulation (EC) No 1272/2008, Annex VI, Part 3, Table 3"


class ClassificationBasis(StrEnum):
    """What a substance's classification rests on."""

    HARMONISED = "harmonised"
    EXTENDED = "harmonised and self-classified"
    BEHIND = "differs from the harmonised entry"
    SELF = "self-classified"
    NONE = "not classified"
    UNKNOWN = ""


@record(frozen=True, slots=True)
class AnnexEntry:
    """One entry of Annex VI, Part 3, Table 3.

    `by` says how the substance comes under it: `own` (its CAS number), `anhydrous` (the anhydrous form's
    entry), or `group`. `minimum` are statements whose category is the least that holds. `read` is False where the
    entry is from memory; its act and day may then be blank.
    """

    index_no: str
    name: str
    classification: str
    supplemental: tuple[str, ...]
    minimum: tuple[str, ...]
    notes: tuple[str, ...]
    celex: str
    applies_from: str
    by: str
    remark: str = ""
    read: bool = True

    @property
    def citation(self) -> str:
        """Index number, act and day of application, as a source; one from memory says so."""
        act = f" (act {self.celex}, applies from {self.applies_from})" if self.celex else ""
        how = {"anhydrous": ", the entry of the anhydrous form", "group": ", an entry for the whole group"}
        said = f"{_TABLE}, index {self.index_no}{act}{how.get(self.by, '')}"
        return f"{said}; read in the agency's table" if self.read else f"from memory: {said}"


@cache
def entry_of(
    cas: str, form: Form = Form.SOLID, group: str = "", pct: Decimal | None = None, formula: str = ""
) -> AnnexEntry | None:
    """Find the entry that holds for a substance: by its CAS number, else by an element of a group's entry.

    `pct` [% w/w] tells apart entries by strength, `form` and the storage `group` gases and metal powders. None
    where there is no entry, or only one for another form (a metal's powder, a product with an impurity).
    """
    named, grouped = _by_number()
    numbers = sorted({*named.get(cas, ()), *grouped})
    table = seed_table("harmonised")
    found = [(table[n], by) for n in numbers if (by := _comes_under(table[n], cas, formula))]
    found = [(row, by) for row, by in found if _holds(row["scope"], form, group, pct)]
    if not found:
        return None
    order = ("own", "anhydrous", "group")
    row, by = min(found, key=lambda one: (order.index(one[1]), not one[0]["scope"]))
    return AnnexEntry(
        row["index_no"],
        row["name"],
        row["classification"],
        split(row["supplemental"]),
        split(row["minimum"]),
        split(row["notes"]),
        row["celex"],
        row["applies_from"],
        by,
        row["remark"],
        not is_from_memory(row["source"]),
    )


def entry_for(substance: Substance) -> AnnexEntry | None:
    """Find the entry of a substance as bought: `entry_of` with what is recorded of it."""
    pct = substance.assay_pct if substance.form is not Form.SOLID else None
    return entry_of(substance.cas, substance.form, substance.storage_group, pct, substance.formula)


def basis_of(substance: Substance) -> ClassificationBasis:
    """Tell whether a classification is the regulation's, the regulation's and more, someone's own, or unknown."""
    if not substance.classification:
        return ClassificationBasis.UNKNOWN
    try:
        own = set(classes_of(substance.classification))
    except PrepError:
        return ClassificationBasis.UNKNOWN
    entry = entry_for(substance)
    if entry is None:
        return ClassificationBasis.NONE if not own else ClassificationBasis.SELF
    found = compared(own, classes_of(entry.classification))
    if found.missing:
        return ClassificationBasis.BEHIND
    return ClassificationBasis.EXTENDED if found.more else ClassificationBasis.HARMONISED


@record(frozen=True, slots=True)
class EntryDifference:
    """What a classification lacks of an entry, and what it has beyond it."""

    missing: tuple[HazardClass, ...]
    more: tuple[HazardClass, ...]


def compared(own: Sequence[HazardClass] | set[HazardClass], entry: Sequence[HazardClass]) -> EntryDifference:
    """Compare a classification with an entry."""
    return EntryDifference(
        tuple(one for one in entry if one not in own),
        tuple(sorted((one for one in own if one not in entry), key=str)),
    )


def completed(substance: Substance) -> Substance:
    """Complete a substance's classification, supplemental statements and their source from its entry.

    A blank classification is the entry's. A source that does not cite the entry gets the citation.
    """
    source = substance.sources.get("hazard", "")
    entry = entry_for(substance)
    if entry is None:
        return substance
    if not substance.classification:
        cited = substance.sources | {"hazard": _cited(entry, source)}
        said = ";".join(entry.supplemental)
        return replace(substance, classification=entry.classification, supplemental=said, sources=cited)
    found = compared(set(classes_of(substance.classification)), classes_of(entry.classification))
    if found.missing:
        return substance
    added = ""
    if found.more and not source:
        added = f"from memory: as recorded, for {', '.join(str(one) for one in found.more)}; "
    elif found.more and is_from_memory(source):
        added = "from memory: registrants' notifications for what is added; "
    return replace(substance, sources=substance.sources | {"hazard": added + _cited(entry, source)})


def _cited(entry: AnnexEntry, source: str) -> str:
    """Write a source that cites the entry; of another, what it says of flash point or peroxides is kept."""
    if entry.index_no in source and entry.celex in source and entry.applies_from in source:
        return source.removeprefix("from memory: registrants' notifications for what is added; ")
    kept = [part for part in source.split("; ") if part.startswith(("flash point", "peroxide"))]
    return "; ".join([entry.citation, *kept])


@cache
def _by_number() -> tuple[dict[str, list[int]], list[int]]:
    """Index the table's rows by the CAS numbers they name, and list those for all that an element is in.

    Rows are given as places in the table.
    """
    named: dict[str, list[int]] = {}
    for number, row in enumerate(seed_table("harmonised")):
        for cas in (*split(row["cas"]), *split(row["hydrates"]), *split(row["members"])):
            named.setdefault(cas, []).append(number)
    return named, [number for number, row in enumerate(seed_table("harmonised")) if row["element"]]


def _comes_under(row: Row, cas: str, formula: str) -> str:
    if cas and cas in split(row["cas"]):
        return "own"
    if cas and cas in split(row["hydrates"]):
        return "anhydrous"
    if cas and cas in split(row["members"]):
        return "group"
    element = row["element"]
    return "group" if element and formula != element and _contains(formula, element) else ""


def _contains(formula: str, element: str) -> bool:
    place = formula.find(element)
    while place >= 0:
        after = formula[place + len(element) : place + len(element) + 1]
        if not after.islower():
            return True
        place = formula.find(element, place + 1)
    return False


def _holds(scope: str, form: Form, group: str, pct: Decimal | None) -> bool:
    """Tell whether an entry of this scope is about a substance of that form, storage group and strength."""
    match scope.split():
        case []:
            return True
        case ["powder"]:
            return group == "metal_powder"
        case ["gas"]:
            return form is Form.GAS
        case ["above", limit]:
            return pct is not None and pct > Decimal(limit)
        case _:  # pyrophoric, impure: the supplier alone can tell
            return False


__all__ = [
    "NOT_CLASSIFIED",
    "AnnexEntry",
    "ClassificationBasis",
    "basis_of",
    "compared",
    "completed",
    "entry_for",
    "entry_of",
]
