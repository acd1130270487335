"""An ingredient with its classes and its own limits, and the citing of rules: what the rule modules share."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache

from prep.chemistry.formula.formulas import composition, molar_mass
from prep.chemistry.quantities import figures
from prep.records import record
from prep.resources import seed_table
from prep.safety.clp.harmonised import AnnexEntry, entry_of
from prep.safety.clp.label_elements import SupplementalHazard
from prep.safety.clp.parse import classes_of
from prep.safety.hazard_tables import Row, is_from_memory, keyed, split
from prep.safety.model import HazardClass, MixtureComponent, Reason


@record(frozen=True, slots=True)
class SpecificLimit:
    """One specific limit: the class applies from `lower` (included, unless `above`) to `upper` (excluded) [% w/w]."""

    hazard_class: str
    category: str
    h_code: str
    lower: Fraction
    upper: Fraction | None
    source: str
    checked: bool
    above: bool = False

    def reached(self, pct: Fraction) -> bool:
        """Tell whether a percentage reaches the limit's lower end."""
        return pct > self.lower if self.above else pct >= self.lower

    def covers(self, pct: Fraction) -> bool:
        """Tell whether a percentage lies in the limit's range."""
        return self.reached(pct) and (self.upper is None or pct < self.upper)


@record(frozen=True, slots=True)
class AcuteEstimate:
    """A harmonised acute toxicity estimate: value, form breathed in (empty for other routes), source."""

    ate: Fraction
    form: str
    source: str
    checked: bool


@record(frozen=True, slots=True)
class Ingredient:
    """A component ready for the rules: exact percentage, classes, specific limits.

    `counted` is the percentage that limits are set against where a note of the table counts something else: the
    metal itself (Note 1). `stated` is that for the entry's own limits: chromate ions (Note 3), else as `counted`.
    """

    component: MixtureComponent
    pct: Fraction
    classes: tuple[HazardClass, ...]
    limits: tuple[SpecificLimit, ...]
    entry: AnnexEntry | None
    counted: Fraction
    stated: Fraction

    @property
    def name(self) -> str:
        """What to call it in the reasoning."""
        return self.component.name

    @property
    def known(self) -> bool:
        """Whether it has hazard data at all."""
        return bool(self.component.classification)

    @property
    def checked(self) -> bool:
        """False where its classes rest on memory."""
        return not is_from_memory(self.component.source)

    def against(self, limit: SpecificLimit | None) -> Fraction:
        """Choose the percentage to hold against one of its own limits, or a generic one."""
        return self.counted if limit is None else self.stated

    def own(self, *hazard_classes: str) -> tuple[HazardClass, ...]:
        """Pick its classes of these names."""
        return tuple(one for one in self.classes if one.hazard_class in hazard_classes)

    def specific(self, *hazard_classes: str) -> tuple[SpecificLimit, ...]:
        """Pick its specific limits for these classes."""
        return tuple(one for one in self.limits if one.hazard_class in hazard_classes)

    def estimate(self, route: str) -> AcuteEstimate | None:
        """Find the harmonised acute toxicity estimate of its entry by this route."""
        return harmonised_ate(self.entry, route)

    def m_factor(self, hazard_class: str) -> "MFactor | None":
        """Find the M-factor for an aquatic class, its source, and whether it was read; None if none is given."""
        return m_factor(self.component.cas, self.entry, hazard_class)


@dataclass(slots=True)
class RuleResults:
    """What the rules have found so far."""

    classes: list[HazardClass]
    euh: list[SupplementalHazard]
    reasons: list[Reason]
    notes: list[str]

    @classmethod
    def nothing(cls) -> "RuleResults":
        """Start with no results."""
        return cls([], [], [], [])

    def say(
        self, rule: str, text: str, ingredients: Iterable[Ingredient] = (), limit: SpecificLimit | None = None
    ) -> None:
        """Add a reason under a rule, with the source of the rule and of a specific limit used."""
        rests_on = cite(rule)
        source, checked = rests_on.source, rests_on.checked
        if limit:
            source = f"{limit.source}; {source}" if source else limit.source
            checked = checked and limit.checked
        self.reasons.append(Reason(rule, text, source, checked and all(i.checked for i in ingredients)))


def ingredients_of(components: Sequence[MixtureComponent]) -> tuple[Ingredient, ...]:
    """Gather the components with a percentage above zero, each under the entry that holds at its strength."""
    return tuple(_ingredient(one) for one in components if one.pct > 0)


def _ingredient(one: MixtureComponent) -> Ingredient:
    entry = entry_of(one.cas, one.form, one.group, one.pct, one.formula)
    if entry and one.classification and entry_of(one.cas, one.form, one.group, None, one.formula) != entry:
        # An entry for strong solutions alone (nitric acid above 70 %) overrides the substance's own classes.
        one = replace(one, classification=entry.classification, supplemental=";".join(entry.supplemental))
    pct = Fraction(one.pct)
    counted, stated = _by_notes(one, entry, pct)
    return Ingredient(one, pct, classes_of(one.classification), specific_limits(one.cas, entry), entry, counted, stated)


def _by_notes(one: MixtureComponent, entry: AnnexEntry | None, pct: Fraction) -> tuple[Fraction, Fraction]:
    """Work out the percentages for generic and stated limits: by Note 1 of the metal, by Note 3 of chromate."""
    if entry is None or not one.formula or not {"1", "3"} & set(entry.notes):
        return pct, pct

    atoms = composition(one.formula)
    if "1" in entry.notes:
        metal = _METALS.get(entry.index_no[:3], "")
        if metal not in atoms:
            return pct, pct
        share = Fraction(molar_mass(metal)) * Fraction(atoms[metal]) / Fraction(molar_mass(one.formula))
        return pct * share, pct * share
    chromium = Fraction(atoms.get("Cr", 0))
    return pct, pct * Fraction(molar_mass("CrO4")) * chromium / Fraction(molar_mass(one.formula)) if chromium else pct


_METALS = {"027": "Co", "033": "As", "048": "Cd", "056": "Ba", "080": "Hg", "082": "Pb"}
"""The element that an index number's first three figures, its atomic number, stand for; those with a Note 1."""


def _limits_of(cas: str, entry: AnnexEntry | None, kind: str) -> Iterable[Row]:
    """Find the rows of limits.csv for a substance: those of its entry, and registrants' by its CAS number."""
    for row in seed_table("limits"):
        if row["kind"] != kind:
            continue
        if row["index_no"]:
            if entry and row["index_no"] == entry.index_no:
                yield row
        elif cas and cas in split(row["cas"]):
            yield row


def _source(row: Row, entry: AnnexEntry | None) -> str:
    return entry.citation if entry and row["index_no"] else row["source"]


@cache
def specific_limits(cas: str, entry: AnnexEntry | None) -> tuple[SpecificLimit, ...]:
    """Find the specific concentration limits of an entry, or registrants' by CAS number."""
    return tuple(
        SpecificLimit(
            row["hazard_class"],
            row["category"],
            row["h_code"],
            Fraction(row["lower_pct"]),
            Fraction(row["upper_pct"]) if row["upper_pct"] else None,
            _source(row, entry),
            row["confidence"] == "seen",
            row["above"] == "yes",
        )
        for row in _limits_of(cas, entry, "SCL")
    )


@record(frozen=True, slots=True)
class MFactor:
    """By what an aquatic ingredient counts, its source, and whether that was read (not recalled)."""

    times: int
    source: str
    seen: bool


@cache
def m_factor(cas: str, entry: AnnexEntry | None, hazard_class: str) -> MFactor | None:
    """Find the M-factor of an entry for an aquatic class; None if none is given.

    With its source, and whether that was read.
    """
    for row in _limits_of(cas, entry, "M"):
        if row["hazard_class"] == hazard_class:
            by = "" if row["index_no"] else f" ({row['basis']})"
            return MFactor(int(row["m_factor"]), f"{_source(row, entry)}{by}", row["confidence"] == "seen")
    return None


@cache
def harmonised_ate(entry: AnnexEntry | None, route: str) -> AcuteEstimate | None:
    """Find the harmonised acute toxicity estimate of an entry by a route; None where it gives none."""
    for row in _limits_of("", entry, "ATE"):
        if row["route"] == route:
            return AcuteEstimate(Fraction(row["ate"]), row["form"], _source(row, entry), row["confidence"] == "seen")
    return None


@record(frozen=True, slots=True)
class Citation:
    """The source of a rule, and whether its text was read (not recalled)."""

    source: str
    checked: bool


@cache
def cite(rule: str) -> Citation:
    """Find the source of a rule."""
    row = keyed("classification_rules", "rule").get(rule)
    return Citation(row["source"], row["confidence"] == "seen") if row else Citation("", True)


def pct(value: Fraction) -> str:
    """Write a percentage for reading."""
    return f"{number(value)} %"


def number(value: Fraction) -> str:
    """Write a figure for reading: up to five figures, no trailing zeros."""
    return figures(value)
