"""An ingredient with its classes and its own limits, and the citing of rules: what the rule modules share."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cache

from prep.chemistry.quantities import figures
from prep.safety.clp.parse import classes_of
from prep.safety.model import Component, HazardClass, Reason
from prep.safety.tables import keyed, rows, split


@dataclass(frozen=True, slots=True)
class Limit:
    """One specific limit: the class applies from `lower` (included) to `upper` (excluded) [% w/w]."""

    hazard_class: str
    category: str
    h_code: str
    lower: Fraction
    upper: Fraction | None
    source: str
    checked: bool


@dataclass(frozen=True, slots=True)
class Ingredient:
    """A component ready for the rules: exact percentage, classes, specific limits."""

    component: Component
    pct: Fraction
    classes: tuple[HazardClass, ...]
    limits: tuple[Limit, ...]

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
        return not self.component.source.startswith("from memory")

    def own(self, *hazard_classes: str) -> tuple[HazardClass, ...]:
        """Its classes of these names."""
        return tuple(one for one in self.classes if one.hazard_class in hazard_classes)

    def specific(self, *hazard_classes: str) -> tuple[Limit, ...]:
        """Its specific limits for these classes."""
        return tuple(one for one in self.limits if one.hazard_class in hazard_classes)


@dataclass(slots=True)
class Found:
    """What the rules have found so far."""

    classes: list[HazardClass]
    euh: list[tuple[str, str]]  # code, name of the substance to fill in
    reasons: list[Reason]
    notes: list[str]

    @classmethod
    def nothing(cls) -> "Found":
        """An empty finding."""
        return cls([], [], [], [])

    def say(self, rule: str, text: str, ingredients: Iterable[Ingredient] = (), limit: Limit | None = None) -> None:
        """Add a reason under a rule, with the source of the rule and of a specific limit used."""
        source, checked = cite(rule)
        if limit:
            source = f"{limit.source}; {source}" if source else limit.source
            checked = checked and limit.checked
        self.reasons.append(Reason(rule, text, source, checked and all(i.checked for i in ingredients)))


def ingredients_of(components: Sequence[Component]) -> tuple[Ingredient, ...]:
    """Components with a percentage above zero, largest first in hazard order of writing."""
    return tuple(
        Ingredient(one, Fraction(one.pct), classes_of(one.classification), specific_limits(one.cas))
        for one in components
        if one.pct > 0
    )


@cache
def specific_limits(cas: str) -> tuple[Limit, ...]:
    """Specific concentration limits of an entry, by CAS number."""
    return tuple(
        Limit(
            row["hazard_class"],
            row["category"],
            row["h_code"],
            Fraction(row["lower_pct"]),
            Fraction(row["upper_pct"]) if row["upper_pct"] else None,
            row["source"],
            row["confidence"] == "seen",
        )
        for row in rows("limits")
        if cas and cas in split(row["cas"]) and row["kind"] == "SCL"
    )


@cache
def m_factor(cas: str, hazard_class: str) -> tuple[int, str, bool] | None:
    """M-factor of an entry for an aquatic class, its source, and whether it was read; None if none is given."""
    for row in rows("limits"):
        if cas and cas in split(row["cas"]) and row["kind"] == "M" and row["hazard_class"] == hazard_class:
            return int(row["m_factor"]), f"{row['source']} ({row['basis']})", row["confidence"] == "seen"
    return None


@cache
def harmonised_ate(cas: str) -> tuple[Fraction, str, str] | None:
    """Harmonised acute toxicity estimate of an entry for breathing in: value, form, source."""
    for row in rows("limits"):
        if cas and cas in split(row["cas"]) and row["kind"] == "ATE":
            return Fraction(row["ate"]), row["form"], row["source"]
    return None


@cache
def cite(rule: str) -> tuple[str, bool]:
    """Source of a rule and whether its text was read (not recalled)."""
    row = keyed("classification_rules", "rule").get(rule)
    return (row["source"], row["confidence"] == "seen") if row else ("", True)


def pct(value: Fraction) -> str:
    """A percentage for reading."""
    return f"{number(value)} %"


def number(value: Fraction) -> str:
    """A figure for reading: up to five figures, no trailing zeros."""
    return figures(Decimal(value.numerator) / Decimal(value.denominator))
