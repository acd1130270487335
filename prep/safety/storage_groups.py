"""Which plain storage groups a substance or a made solution belongs to, from its hazards."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from prep.chemistry.formula.formulas import molar_mass
from prep.chemistry.model import Form, Substance
from prep.errors import PrepError
from prep.safety.clp.classify import classify
from prep.safety.clp.parse import classes_of
from prep.safety.hazard_tables import keyed
from prep.safety.model import ACIDS, ALKALIS, Classification, MixtureComponent

_BITES = frozenset({"Skin Corr.", "Skin Irrit.", "Eye Dam.", "Met. Corr."})
_FROM_1_PCT = frozenset(
    {
        "cyanide",
        "sulfide",
        "sulfite_thiosulfate",
        "fluoride_inorganic",
        "hypochlorite",
        "aldehyde",
        "phenol",
        "amine",
        "halogenated_solvent",
    }
)
_ONE = Decimal(1)
_BLEACH_FROM = Decimal("0.5")  # % active chlorine: half a litre of it and an acid give a litre of chlorine
_OXIDISING_ABOVE = Decimal(20)  # the weakest nitric acid has an entry of its own up to 20 % (49 CFR 172.101, UN2031)
_PEROXIDE_FROM = Decimal(8)  # transport of hydrogen peroxide as an oxidiser begins here (49 CFR 172.101)
_DILUTE_MOL_L = Decimal("2.2")  # what is called 2 mol/L, and a little more; common practice, no source
_DERIVED = (
    ("Water-react.", "water_reactive_other"),
    ("Org. Perox.", "organic_peroxide"),
    ("Ox. Gas", "gas_oxidising"),
    ("Flam. Gas", "gas_flammable"),
    ("Press. Gas", "gas_inert"),
    ("Ox. Sol.", "oxidiser"),
    ("Ox. Liq.", "oxidiser"),
    ("Flam. Liq.", "flammable_liquid"),
    ("Flam. Sol.", "flammable_solid_combustible"),
)


@dataclass(frozen=True, slots=True)
class StorageGroup:
    """A plain group. `mild`: too weak to burn or heat; only the gases it can set free still count.

    `dilute`: an acid or alkali of up to 2 mol/L, which warms another such and no more.
    """

    name: str
    mild: bool = False
    dilute: bool = False


def is_group(group: str) -> bool:
    """Tell whether a group is one of seed_data/tables/storage_groups.csv."""
    return group in keyed("storage_groups", "group")


def groups_of_substance(substance: Substance) -> tuple[StorageGroup, ...]:
    """Find the groups of a substance as bought.

    None when neither a group nor hazard data is recorded, or a group that is none. A weak acid or base without any
    effect on skin is low hazard; one with a lesser class is mild.
    """
    classes = classes_of(substance.classification)
    group = substance.storage_group or _derived(substance)
    if not is_group(group):
        return ()
    found = [StorageGroup(group, mild=group == "cyanide" and not any(c.hazard_class == "Acute Tox." for c in classes))]
    if group in ACIDS | ALKALIS:
        if not any(one.hazard_class in _BITES for one in classes):
            found = [_weak(group, {one.h_code for one in classes})]
        elif any(one.hazard_class == "Flam. Liq." for one in classes) and group != "acid_organic":
            found.append(StorageGroup("flammable_liquid"))
    if substance.form is Form.AQUEOUS:
        found.append(_WATER)
    return tuple(found)


def groups_of_solution(components: Sequence[MixtureComponent], mixture: Classification) -> tuple[StorageGroup, ...]:
    """Find the groups of a made solution in water, from what is in it and how strong it is.

    An acid or alkali counts fully when by itself it burns skin, or from 1 % damages eyes, or irritates and is stronger
    than 2 mol/L; mildly when it irritates or, an acid, from 1 %. A dissolved solid oxidiser is no oxidiser; hydrogen
    peroxide is from 8 %, nitric and sulfuric acid oxidise above 20 %. None when all that is known of something in it
    is a group that is none.
    """
    found = [_WATER]
    burns = any(one.hazard_class == "Flam. Liq." for one in mixture.classes)
    for one in components:
        group = one.group
        if group in ACIDS | ALKALIS:
            alone = classify([one]).classes
            if group == "acid_inorganic_oxidising" and one.pct <= _OXIDISING_ABOVE:
                group = "acid_inorganic_nonoxidising"
            if any(c.hazard_class == "Skin Corr." or (c.hazard_class == "Eye Dam." and one.pct >= _ONE) for c in alone):
                found.append(StorageGroup(group, dilute=_is_dilute(one)))
            elif any(c.hazard_class in ("Skin Irrit.", "Eye Irrit.", "Eye Dam.") for c in alone) or (
                one.pct >= _ONE and group not in ALKALIS
            ):
                found.append(StorageGroup(group, mild=_is_dilute(one) or not one.formula))
        elif group == "oxidiser":
            strong = one.cas == "7722-84-1" and one.pct >= _PEROXIDE_FROM
            if strong or any(c.hazard_class == "Ox. Liq." for c in mixture.classes):
                found.append(StorageGroup(group))
        elif (group in _FROM_1_PCT and one.pct >= (_BLEACH_FROM if group == "hypochlorite" else _ONE)) or (
            group in ("flammable_liquid", "alkene") and burns
        ):
            found.append(StorageGroup(group))
    if len(found) == 1:
        if any(one.group and not is_group(one.group) for one in components):
            return ()
        found.append(_LOW)
    return tuple(dict.fromkeys(found))


def _is_dilute(one: MixtureComponent) -> bool:
    """Tell whether an acid or alkali in water is of up to 2 mol/L; a litre is taken as 1.1 kg at most."""
    if not one.formula:
        return False
    try:
        return 11 * one.pct <= _DILUTE_MOL_L * molar_mass(one.formula)
    except PrepError:
        return False


def _weak(group: str, codes: set[str]) -> StorageGroup:
    """Choose the group of an acid or base that does not attack skin.

    A carbonate and a very weak acid are low hazard.
    """
    if group == "base_caustic":
        return _LOW if codes <= {"H319"} else StorageGroup(group)
    return StorageGroup(group, mild=True) if codes & {"H302", "H312", "H319"} else _LOW


_LOW = StorageGroup("low_hazard")
_WATER = StorageGroup("water_aqueous")


def _derived(substance: Substance) -> str:
    """Derive a group from the classification alone, for a substance recorded without one."""
    if not substance.classification:
        return ""
    classes = classes_of(substance.classification)
    for hazard_class, group in _DERIVED:
        if any(one.hazard_class == hazard_class for one in classes):
            return group
    return "" if any(one.hazard_class == "Skin Corr." for one in classes) else "low_hazard"
