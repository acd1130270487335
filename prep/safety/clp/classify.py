"""Classification of any mixture the room makes, and of a substance as it stands in its bottle.

Basis: UN GHS as in EU CLP. Specific limits come before generic ones and before the extreme-pH rule; where
limits differ, shares of each ingredient's own limit are added. H290 is never predicted.
"""

from collections.abc import Iterable, Sequence
from decimal import Decimal
from functools import cache

from prep.chemistry.model import Form, Substance
from prep.errors import PrepError
from prep.safety.clp.acute import acute
from prep.safety.clp.aquatic import aquatic
from prep.safety.clp.cmr_stot import (
    aspiration,
    one_by_one,
    reproduction,
    sensitising,
    supplemental,
)
from prep.safety.clp.composition import component_of
from prep.safety.clp.ingredients import RuleResults, cite, ingredients_of
from prep.safety.clp.label_elements import SupplementalHazard, euh_statements, label_of
from prep.safety.clp.parse import classes_of
from prep.safety.clp.physical import flammable, oxidising
from prep.safety.clp.skin_eye import extreme_ph, eye, single_exposure_3, skin
from prep.safety.hazard_tables import is_from_memory, keyed, split
from prep.safety.matching import h_codes, is_organic
from prep.safety.model import Classification, HazardClass, MixtureComponent, Reason

_SLACK = Decimal("100.5")
_BREATHED = frozenset("H330 H331 H332 H334 H335 H350i".split())
_MOSTLY_WATER = 50  # % w/w that is dissolved, at most
_IODINE = "7553-56-2"
NO_VAPOUR = (
    "What is dissolved in it gives off no vapour: what is said of breathing it in counts for spray, mist and the dust "
    "of a splash that has dried. Do not spray it; wipe up splashes while they are wet."
)
"""The class stands, as the law counts it; common practice, no source, for what follows from it on a bench."""


def classify(
    components: Sequence[MixtureComponent],
    *,
    ph: Decimal | None = None,
    flash_point_c: Decimal | None = None,
    boiling_point_c: Decimal | None = None,
) -> Classification:
    """Classify a liquid mixture of `components` (% w/w; what is missing to 100 is water).

    `ph` as measured; else it is computed where all that is in it is known. `flash_point_c` [degC] goes before
    the table of ethanol in water. Raises PrepError: percentages that are negative or pass 100, or a
    classification that cannot be read.
    """
    total = sum((one.pct for one in components), Decimal(0))
    if total > _SLACK or any(one.pct < 0 for one in components):
        raise PrepError(f"The percentages add up to {total:f} % w/w; they must lie between 0 and 100 together.")
    ingredients = ingredients_of(components)
    found = RuleResults.nothing()
    for one in ingredients:
        if one.classes and not one.checked:
            found.reasons.append(
                Reason("data", f"{one.name}: {one.component.classification}.", one.component.source, False)
            )
        elif one.known and not one.classes and not one.checked:
            found.reasons.append(Reason("data", f"{one.name}: not classified.", one.component.source, False))
    skin(ingredients, found)
    eye(ingredients, found)
    single_exposure_3(ingredients, found)
    extreme_ph(ingredients, ph, found)
    acute(ingredients, found)
    sensitising(ingredients, found)
    one_by_one(ingredients, found)
    reproduction(ingredients, found)
    aspiration(ingredients, found)
    aquatic(ingredients, found)
    flammable(ingredients, flash_point_c, boiling_point_c, found)
    oxidising(ingredients, found)
    supplemental(ingredients, found)
    if total <= _MOSTLY_WATER and _gives_off_no_vapour(components, found.classes):
        found.notes.append(NO_VAPOUR)
    unknown = tuple(one.name for one in ingredients if not one.known)
    for name in unknown:
        found.reasons.append(
            Reason("no data", f"{name}: no hazard data; the mixture's hazards are not known.", "", True)
        )
    return _finished(found, unknown)


def breathed(codes: Iterable[str]) -> set[str]:
    """Pick the statements that are about breathing something in."""
    return set(codes) & _BREATHED


def _gives_off_no_vapour(components: Sequence[MixtureComponent], classes: Iterable[HazardClass]) -> bool:
    """Tell whether all that makes a mixture harmful to breathe is a dissolved salt or another inorganic solid."""
    if not breathed(one.h_code for one in classes):
        return False
    causes = [one for one in components if breathed(h_codes(one.classification))]
    return bool(causes) and all(
        one.form is Form.SOLID and one.cas != _IODINE and one.formula and not is_organic(one.formula) for one in causes
    )


def classify_substance(substance: Substance) -> Classification:
    """Classify a substance as it stands in its bottle.

    A concentrate in water is a mixture of its assay; anything else has its own classification. Raises
    PrepError for a concentrate with hazard data but no assay.
    """
    return _as_bottled(substance, substance.sources.get("hazard", ""))


@cache
def _as_bottled(substance: Substance, hazard_source: str) -> Classification:
    """Classify a substance in its bottle; the answer is kept by substance and hazard source.

    By the source too, as two substances that differ only in their sources count as equal.
    """
    if substance.form is Form.AQUEOUS and substance.classification:
        if substance.assay_pct is None:
            raise PrepError(f"The assay of {substance.name} (% w/w) is not recorded; its hazards depend on it.")
        return classify([component_of(substance, substance.assay_pct)])
    found = RuleResults.nothing()
    if not substance.classification:
        found.reasons.append(Reason("no data", f"{substance.name}: no hazard data.", "", True))
        return _finished(found, (substance.name,))
    found.classes += classes_of(substance.classification)
    found.euh += map(SupplementalHazard, split(substance.supplemental))
    checked = not is_from_memory(hazard_source)
    found.reasons.append(Reason("data", f"{substance.name}: {substance.classification}.", hazard_source, checked))
    return _finished(found, ())


def _finished(found: RuleResults, unknown: tuple[str, ...]) -> Classification:
    classes = tuple(sorted(set(found.classes), key=_order))
    label = label_of(classes)
    reasons = list(found.reasons)
    for rule in label.precedence:
        row = keyed("label_precedence", "rule")[rule]
        reasons.append(Reason(rule, row["text"], row["source"], row["confidence"] == "seen"))
    codes = {c.h_code for c in classes}
    if "H400" in codes and "H410" in {s.code for s in label.h_statements}:
        text = "Acute and long-term hazard to water are printed as H410."
        rests_on = cite("W-lab" if codes & {"H410", "H411"} else "W-lab-3")
        reasons.append(Reason("W-lab", text, rests_on.source, rests_on.checked))
    return Classification(
        classes=classes,
        signal=label.signal,
        pictograms=label.pictograms,
        h_statements=label.h_statements,
        p_statements=label.p_statements,
        euh=euh_statements(found.euh),
        reasoning=tuple(reasons),
        notes=tuple(found.notes),
        unknown=unknown,
        check_before_relying=any(not reason.checked for reason in reasons),
    )


def _order(one: HazardClass) -> tuple[str, str, str]:
    return one.h_code[:2], one.h_code, one.hazard_class
