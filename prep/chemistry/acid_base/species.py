"""What a dissolved substance adds to an acid-base calculation: strong ions, and totals of weak systems.

Data: seed_data/tables/species.csv (formula -> ions and systems) and seed_data/tables/pka.csv (the systems'
steps). A strong ion keeps its charge at any pH; a system (acetate, phosphate, ammonia) takes up or gives off
H+ as the pH asks. Protons themselves are not listed: electroneutrality supplies them.
"""

import re
from collections.abc import Callable, Mapping
from functools import cache

from prep.chemistry.formula.formulas import composition, respelled, split_hydrate
from prep.chemistry.model import Substance
from prep.chemistry.spelling import key
from prep.errors import PrepError
from prep.records import record
from prep.resources import seed_table

Lookup = Callable[[str], Substance | str | None] | Mapping[str, Substance | str]
"""From a name, other name, CAS number or code to the substance, or to its formula; None where unknown."""

LARGEST_MOL_PER_KG = 100.0

_ELEMENT = re.compile("[A-Z][a-z]?")
_ION = re.compile(r"[A-Za-z0-9]+?([+-])([0-9]?)")


@record(frozen=True, slots=True)
class Dissociation:
    """Loss of one H+: `acid` of charge `charge` gives its base with `pka` at 25 degC and I = 0.

    `dh_kj_mol`: enthalpy of the dissociation [kJ/mol], `dcp_j_mol_k`: its change of heat capacity [J/(mol K)];
    None where not known. `within`: by how much published values differ from `pka`, where they disagree.
    """

    acid: str
    charge: int
    pka: float
    dh_kj_mol: float | None
    source: str
    note: str = ""
    dcp_j_mol_k: float | None = None
    within: float = 0.0


@record(frozen=True, slots=True)
class ConjugateSystem:
    """A conjugate system: its steps from the most protonated form downwards."""

    key: str
    name: str
    steps: tuple[Dissociation, ...]

    @property
    def top_charge(self) -> int:
        """Charge of the most protonated form."""
        return self.steps[0].charge


@record(frozen=True, slots=True)
class IonCount:
    """So many of a strong ion in one formula unit."""

    ion: str
    charge: int
    count: int


@record(frozen=True, slots=True)
class SystemCount:
    """So many units of a conjugate system, by its key, in one formula unit."""

    key: str
    count: int


@record(frozen=True, slots=True)
class Species:
    """One formula unit in water: its strong ions, and its units of conjugate systems."""

    name: str
    formula: str
    ions: tuple[IonCount, ...]
    systems: tuple[SystemCount, ...]
    source: str = ""

    @property
    def charge(self) -> int:
        """Summed charge of the strong ions of one formula unit."""
        return sum(one.charge * one.count for one in self.ions)

    def count_of(self, system: str) -> int:
        """Count the units of a system that one formula unit holds."""
        return next((one.count for one in self.systems if one.key == system), 0)


@record(frozen=True, slots=True)
class Component:
    """A species at an amount [mol per kg of water]; `per_litre` when it was given in mol/L and taken as such."""

    species: Species
    mol_per_kg: float
    per_litre: bool = False

    def __post_init__(self) -> None:
        if not 0 <= self.mol_per_kg <= LARGEST_MOL_PER_KG:
            raise PrepError(
                f"{self.mol_per_kg:g} mol/kg of {self.species.name} is no solution; accepted is 0 to "
                f"{LARGEST_MOL_PER_KG:g}."
            )


def component(what: str, mol: float, *, per_litre: bool = True, lookup: Lookup | None = None) -> Component:
    """Make a component of a name or formula and its amount [mol/L, or mol/kg when not `per_litre`]."""
    return Component(resolve(what, lookup), mol, per_litre)


def resolve(what: str, lookup: Lookup | None = None) -> Species:
    """Find the species that a name, other name, CAS number or formula (in any hydrate) stands for.

    The table's own names come first, then `lookup`, then the text read as a formula. Raises PrepError for
    what is in none of them, or is no acid, base or salt that the tables know.
    """
    typed = what.strip()
    if found := _names().get(key(typed)):
        return found
    known = find(typed, lookup)
    if isinstance(known, Substance):
        return of_formula(known.formula, called=known.name)
    return of_formula(known or respelled(typed, _written()) or typed, called=typed)


def find(what: str, lookup: Lookup | None) -> Substance | str | None:
    """Look a name up with the caller's own lookup; None without one or where it knows nothing."""
    if lookup is None:
        return None
    return lookup(what) if callable(lookup) else lookup.get(what)


def is_of(formula: str, species: Species) -> bool:
    """Tell whether a formula is that of a species, water of crystallisation ignored."""
    try:
        return bool(formula) and of_formula(formula) == species
    except PrepError:
        return False


def of_formula(formula: str, *, called: str = "") -> Species:
    """Find the species of a formula, water of crystallisation ignored.

    Raises PrepError if the tables lack it.
    """
    if found := _written().get(formula):
        return found
    try:
        dry = split_hydrate(formula).dry
    except PrepError:
        raise _unknown(called or formula, formula) from None
    if found := _written().get(dry):
        return found
    atoms = composition(dry)
    # Without carbon there are no isomers to mistake: H2KPO4 is KH2PO4.
    if "C" not in atoms:
        for found in _of_elements().get(frozenset(atoms), ()):
            if composition(found.formula) == atoms:
                return found
    raise _unknown(called or formula, formula)


def system(key: str) -> ConjugateSystem:
    """Find the conjugate system of that key. Raises PrepError if seed_data/tables/pka.csv has none."""
    try:
        return _systems()[key]
    except KeyError:
        raise PrepError(f'"{key}" is no acid-base system on file.') from None


def systems() -> Mapping[str, ConjugateSystem]:
    """List every conjugate system, by key; `water` among them."""
    return _systems()


@cache
def _systems() -> dict[str, ConjugateSystem]:
    steps: dict[str, list[Dissociation]] = {}
    names: dict[str, str] = {}
    for row in seed_table("pka"):
        found = steps.setdefault(row["system"], [])
        names.setdefault(row["system"], row["name"])
        step = Dissociation(
            row["acid"],
            int(row["charge"]),
            float(row["pka"]),
            float(row["dh_kj_mol"]) if row["dh_kj_mol"] else None,
            row["source"],
            row["note"],
            float(row["dcp_j_mol_k"]) if row["dcp_j_mol_k"] else None,
            float(row["within"] or 0),
        )
        if len(found) + 1 != int(row["step"]) or (found and step.charge != found[-1].charge - 1):
            raise PrepError(
                f"The acids on file are damaged: step {row['step']} of {row['name']} does not follow the one before "
                "it; steps run 1, 2, 3 and each loses one charge. Install the program again."
            )
        found.append(step)
    return {key: ConjugateSystem(key, names[key], tuple(found)) for key, found in steps.items()}


@cache
def _table() -> tuple[tuple[Species, dict[str, str]], ...]:
    table = []
    for row in seed_table("species"):
        ions, weak = [], []
        for part in filter(None, row["strong"].split(";")):
            ion, count = part.split()
            ions.append(IonCount(ion, _charge(ion), int(count)))
        for part in filter(None, row["systems"].split(";")):
            key, count = part.split()
            weak.append(SystemCount(system(key).key, int(count)))
        table.append((Species(row["name"], row["formula"], tuple(ions), tuple(weak), row["source"]), row))
    return tuple(table)


@cache
def _names() -> dict[str, Species]:
    return {
        key(name): found
        for found, row in _table()
        for name in (row["name"], row["cas"], *row["other_names"].split(";"))
        if name
    }


@cache
def _written() -> dict[str, Species]:
    return {
        formula: found for found, row in _table() for formula in (row["formula"], *row["written"].split(";")) if formula
    }


@cache
def _of_elements() -> dict[frozenset[str], list[Species]]:
    """Group the species by the elements in them, the last of the table first.

    Comparing elements first saves counting the atoms of every formula.
    """
    out: dict[frozenset[str], list[Species]] = {}
    for found, _ in _table():
        out.setdefault(frozenset(_ELEMENT.findall(found.formula)), []).insert(0, found)
    return out


def _charge(ion: str) -> int:
    found = _ION.fullmatch(ion)
    if not found:
        raise PrepError(f'"{ion}" is no ion; write such as Na+ or Ca+2.')
    return int(found[1] + (found[2] or "1"))


def _unknown(what: str, formula: str) -> PrepError:
    about = f'"{what[:60]}"' + (f" ({formula})" if formula and formula != what else "")
    return PrepError(
        f"{about} is not among the acids, bases and salts whose pH can be computed; accepted is a name, CAS "
        "number or formula of one that is on file, such as acetic acid, NaOH or KH2PO4."
    )
