"""The heat that an acid and an alkali give off together, as a caution with its figure."""

from collections.abc import Sequence
from decimal import Decimal

from prep.chemistry import quantities
from prep.chemistry.heat_of_solution import J_PER_ML_K
from prep.chemistry.model import StrengthKind
from prep.chemistry.quantities import figures
from prep.chemistry.strength import strengths
from prep.chemistry.strength.solutes import about_substance
from prep.errors import PrepError
from prep.resources import seed_table
from prep.services.calc.named_substance import substance_named

KJ_PER_MOL = Decimal("55.8")
"""H+ + OH- = H2O at 25 degC, infinitely dilute; from memory: CRC Handbook of Chemistry and Physics.

Weak acids and ammonia give off a little less or more."""
_WORTH_SAYING_C = 1
_LESS = ("carbonate", "hydrogencarbonate")


def neutralising_heat(dish: Sequence[str], dish_ml: float, add: Sequence[str], added_ml: float) -> tuple[str, ...]:
    """Tell how warm `added_ml` of what is added makes the dish; nothing below 1 degC, or where it is not known.

    q = n(water formed) x 55.8 kJ/mol, dT = q / (V x 4.18 J/(mL K)), no heat lost. Carbonates, which take heat to
    give off their gas, count for nothing.
    """
    acid_there, base_there = _equivalents(dish, dish_ml)
    acid_added, base_added = _equivalents(add, added_ml)
    return _said(min(acid_there, base_added) + min(base_there, acid_added), dish_ml + added_ml)


def heat_of_mixing(components: Sequence[str], volume_ml: float) -> tuple[str, ...]:
    """Tell how warm mixed portions get, as `neutralising_heat`: their strengths in the whole, and its volume [mL]."""
    return _said(min(_equivalents(components, volume_ml)), volume_ml)


def _said(moles: Decimal, volume_ml: float) -> tuple[str, ...]:
    kj = moles * KJ_PER_MOL
    degrees = kj * 1000 / (Decimal(str(volume_ml)) * J_PER_ML_K)
    if degrees < _WORTH_SAYING_C:
        return ()
    text = f"Neutralising gives off about {figures(kj, 2)} kJ, enough to warm it by {figures(degrees, 2)} degC."
    hot = " Add it in portions, and let it cool between them." if degrees > 15 else ""
    return (text + hot,)


def _equivalents(texts: Sequence[str], volume_ml: float) -> tuple[Decimal, Decimal]:
    """Sum the moles of protons and of hydroxide that a volume [mL] of these can give."""
    found = {"acid": Decimal(0), "base": Decimal(0)}
    rows = {row["solute"]: row for row in seed_table("neutralising")}
    for text in texts:
        try:
            named = quantities.component(text)
            substance = substance_named(named.what)
            row = rows.get(substance.solute) if substance else None
            if substance is None or row is None or substance.solute.endswith(_LESS):
                continue
            made = strengths.convert(named.strength, StrengthKind.MOL_PER_L, about_substance(substance)).strength
        except PrepError:
            continue
        found[row["kind"]] += made.value * int(row["equivalents"]) * Decimal(str(volume_ml)) / 1000
    return found["acid"], found["base"]
