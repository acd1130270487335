"""What a strength may need to know of its solute: formula, densities, equivalents, solubility."""

from dataclasses import replace
from decimal import Decimal
from functools import cache

from prep.chemistry.model import Form, Substance
from prep.chemistry.quantities import plain
from prep.chemistry.strength import densities
from prep.records import record
from prep.resources import seed_table


@record(frozen=True, slots=True)
class Solubility:
    """Grams of `formula` that saturate 100 g of water at `temperature_c` [degC, None = not stated]."""

    g_per_100g: Decimal
    temperature_c: Decimal | None = None
    source: str = ""
    formula: str = ""

    @property
    def pct_w_w(self) -> Decimal:
        """% w/w of the formula in the saturated solution."""
        return 100 * self.g_per_100g / (100 + self.g_per_100g)

    def __str__(self) -> str:
        at = "" if self.temperature_c is None else f" at {plain(self.temperature_c)} degC"
        return f"{plain(self.g_per_100g)} g of {self.formula or 'it'} in 100 g of water{at}"


@record(frozen=True, slots=True)
class Concentrate:
    """The solution as it is sold: % w/w and density [g/mL], between which and water its dilutions lie."""

    pct_w_w: Decimal
    density_g_ml: Decimal
    source: str = ""


@record(frozen=True, slots=True)
class SoluteFacts:
    """What a conversion may need to know of the solute, all optional but the formula.

    `formula` is what strengths count. `density_g_ml` is that of the solution itself (it counts only for the
    strength it goes with); `pure_density_g_ml` is the pure liquid's, for % v/v. `equivalents` per mole and
    what they are of (`H+`, `electrons`) for eq/L. `tolerance_pct` is what taking water's density may cost.
    """

    formula: str = ""
    name: str = ""
    density_g_ml: Decimal | None = None
    density_source: str = "as given"
    pure_density_g_ml: Decimal | None = None
    pure_density_source: str = "as given"
    equivalents: int | None = None
    equivalents_of: str = ""
    solubility: Solubility | None = None
    tolerance_pct: Decimal = Decimal(1)
    concentrate: Concentrate | None = None

    def without_density(self) -> "SoluteFacts":
        """Drop the density: one given for a strength does not hold for another of the same solute."""
        return replace(self, density_g_ml=None)

    @property
    def called(self) -> str:
        """Name for sentences."""
        return self.name or self.formula or "the solute"


def about_substance(substance: Substance, *, formula: str = "", tolerance_pct: Decimal = Decimal(1)) -> SoluteFacts:
    """Gather what is known of a substance's solute, for its solutions.

    `formula`: what the strengths count, where that is another hydrate than the bottle's. The density of a
    concentrate in the bottle is left out, as it is not that of the solutions made from it.
    """
    solubility = None
    if substance.solubility_g_per_100g is not None:
        source = substance.sources.get("solubility", "")
        solubility = Solubility(substance.solubility_g_per_100g, substance.solubility_c, source, substance.formula)
    equivalents, of = _equivalents(substance)
    return SoluteFacts(
        formula=formula or substance.formula,
        name=substance.name,
        equivalents=equivalents,
        equivalents_of=of,
        pure_density_g_ml=substance.density_g_ml if _is_pure_liquid(substance) else None,
        pure_density_source=substance.sources.get("density", "the substance's record"),
        solubility=solubility,
        tolerance_pct=tolerance_pct,
        concentrate=_concentrate(substance) if formula in ("", substance.formula) else None,
    )


def _concentrate(substance: Substance) -> Concentrate | None:
    if substance.form is not Form.AQUEOUS or substance.assay_pct is None or substance.density_g_ml is None:
        return None
    source = substance.sources.get("density", "the substance's record")
    return Concentrate(substance.assay_pct, substance.density_g_ml, f"{substance.name}: {source}")


def _equivalents(substance: Substance) -> tuple[int | None, str]:
    """Find the equivalents in a mole of an acid, a base or a reagent of titrations, and of what.

    None where it depends on what it reacts with.
    """
    for row in seed_table("neutralising"):
        if row["solute"] == substance.solute and not row["note"]:
            return int(row["equivalents"]), "H+" if row["kind"] == "acid" else "OH-"
    return _titrated().get(substance.formula.split(".")[0], (None, ""))


@cache
def _titrated() -> dict[str, tuple[int | None, str]]:
    """Read by formula the equivalents of what has them in every titration."""
    return {row["formula"]: (int(row["equivalents"]), row["of"]) for row in seed_table("equivalents")}


def _is_pure_liquid(substance: Substance) -> bool:
    """Tell whether the bottle's density is the pure liquid's, and no table has a better one."""
    if substance.form is not Form.LIQUID or (substance.assay_pct or 100) < 99:
        return False
    table = densities.table_formula(substance.formula)
    return table is None or densities.largest_pct_w_w(table) < 100
