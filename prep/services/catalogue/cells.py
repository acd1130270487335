"""Substances, solutions and demos as rows of the lists that they are imported from."""

from collections.abc import Mapping
from decimal import Decimal

from prep.chemistry.model import Measure, Solution, Substance
from prep.chemistry.quantities import from_base, plain
from prep.planning.model import Demo


def measure_of(item: str, substances: Mapping[str, Substance]) -> Measure:
    """Tell how an ingredient is counted: what is no substance, by volume."""
    return substances[item].measure if item in substances else Measure.VOLUME


def substance_cells(one: Substance) -> dict[str, str]:
    """Write a substance as a row of substances.csv."""
    return {
        "code": one.code,
        "name": one.name,
        "other_names": ";".join(one.other_names),
        "cas": one.cas,
        "formula": one.formula,
        "solute": one.solute,
        "form": one.form.value,
        "assay_pct": _figure(one.assay_pct),
        "density_g_ml": _figure(one.density_g_ml),
        "solubility_g_per_100g": _figure(one.solubility_g_per_100g),
        "solubility_c": _figure(one.solubility_c),
        "classification": one.classification,
        "supplemental": one.supplemental,
        "flash_point_c": _figure(one.flash_point_c),
        "storage_group": one.storage_group,
        "disposal": one.disposal,
        "peroxide_class": one.peroxide_class,
        "source": one.sources.get("identity", ""),
        "assay_source": one.sources.get("assay", ""),
        "density_source": one.sources.get("density", ""),
        "solubility_source": one.sources.get("solubility", ""),
        "hazard_source": one.sources.get("hazard", ""),
        "assay_half_width_pct": _figure(one.assay_half_width_pct),
        "half_width_source": one.sources.get("assay half-width", ""),
        "dry_c": _figure(one.dry_c),
        "dry_minutes": str(one.dry_minutes) if one.dry_minutes else "",
        "unfit": one.unfit,
        "found_against": one.found_against,
        "standard_source": one.sources.get("standard", ""),
    }


def solution_cells(one: Solution) -> dict[str, str]:
    """Write a solution as a row of solutions.csv, without its recipe's rows."""
    return {
        "code": one.code,
        "name": one.name,
        "purpose": one.purpose,
        "solute": one.solute,
        "strength": "" if one.strength is None else str(one.strength),
        "strength_of": one.strength_of,
        "shelf_life_days": str(one.shelf_life_days),
        "made_fresh": "yes" if one.made_fresh else "",
        "keeping": ";".join(one.keeping),
        "tolerance_pct": _figure(one.tolerance_pct),
        "made_from": ";".join(one.made_from),
        "make_up_with": one.make_up_with,
        "recipe_makes": _volume(one.recipe_nl),
        "minutes": str(one.minutes),
        "method": one.method,
        "source": one.sources.get("recipe", ""),
        "shelf_source": one.sources.get("shelf", ""),
        "usual": _volume(one.usual_nl),
        "small_batch": one.small_batch.value,
        "usual_source": one.sources.get("usual", ""),
    }


def demo_cells(one: Demo) -> dict[str, str]:
    """Write a demo as a row of demos.csv, without what it needs and leaves."""
    return {
        "code": one.code,
        "name": one.name,
        "kind": one.kind.value,
        "other_names": ";".join(one.other_names),
        "about": one.about,
        "principle": one.principle,
        "spare_pct": _figure(one.spare * 100),
        "trials": str(one.trials or ""),
        "caution": one.caution,
        "ask_first": one.ask_first,
        "source": one.source,
    }


def _figure(value: Decimal | None) -> str:
    return "" if value is None else f"{value:f}"


def _volume(nl: int) -> str:
    return f"{plain(from_base(nl))} mL" if nl else ""
