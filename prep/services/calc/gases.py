"""Gas volumes from what is mixed, from typed text, without a database."""

import re
from collections.abc import Sequence
from decimal import Decimal

from prep.chemistry import quantities
from prep.chemistry.formula.formulas import molar_mass, same_solute
from prep.chemistry.measurement import volumetry
from prep.chemistry.model import Line
from prep.chemistry.quantities import figures, plain
from prep.chemistry.strength.densities import WATER_G_ML, WATER_SOURCE
from prep.chemistry.typed_number import points
from prep.errors import PrepError
from prep.records import record
from prep.resources import seed_table
from prep.services.calc.arithmetic import Answer, in_ml, led_by
from prep.services.calc.mixing_cautions import danger_first, never_together
from prep.services.calc.titration import formula_of, reagent_of


def gas(parts: Sequence[str], temperature: str, pressure: str, over_water: bool) -> Answer:
    """Work out the volume of gas that a reaction gives, and which reactant limits it. Raises PrepError."""
    degrees, kpa = quantities.temperature_c(temperature), _pressure(pressure)
    working: list[Line] = []
    typed = [_part(one) for one in parts]
    names = [one.what for one in typed]
    with danger_first(names):
        there = [_moles_of(one, working) for one in typed]
        hastened, there = _without_catalyst(there)
        row, order = _reaction([formula for formula, _ in there])
    first = there[order[0]]
    shares = {first[0]: first[1] / int(row["one_moles"])}
    if len(order) > 1:
        other = there[order[1]]
        shares[other[0]] = other[1] / int(row["other_moles"])
    limiting = min(shares, key=lambda formula: shares[formula])
    moles = shares[limiting] * int(row["gas_moles"])
    working.append(Line(f"{row['equation']}: {limiting} limits; {figures(moles)} mol of {row['gas']}", row["source"]))
    volume, line = volumetry.gas_ml(moles, degrees, kpa, over_water=over_water)
    working.append(line)
    meet = never_together(names, heading="MIND, IF THEY ARE TO MEET")
    mind = [one["text"] for one in seed_table("gases") if one["gas"] == row["gas"]]
    says = (
        f"{figures(volume, 3)} mL of {row['gas']} at {plain(degrees)} degC and {plain(kpa)} kPa"
        + (" over water" if over_water else "")
        + (f"; {limiting} is used up first." if len(shares) > 1 else "."),
        f"At most: some stays dissolved or is lost. {row['equation']}",
        *((f"{hastened} is the catalyst: it is not used up.",) if hastened else ()),
        *mind,
        *meet.says,
    )
    document = {
        "gas": row["gas"],
        "volume": in_ml(volume),
        "moles": {"value": float(moles), "unit": "mol"},
        "limiting": limiting,
    }
    return led_by(Answer(says, document | meet.document, tuple(working)), *names)


@record(frozen=True, slots=True)
class _MixedAmount:
    """An amount and what it is of, as typed: `magnesium 0.12 g` or `50 mL of HCl 1 mol/L`."""

    amount: str
    what: str


def _part(text: str) -> _MixedAmount:
    """Read `magnesium 0.12 g`, `0.12 g Mg` or `50 mL of HCl 1 mol/L`. Raises PrepError."""
    amount, of, what = (text := points(text)).partition(" of ")
    if of and re.match(r"\s*[0-9.]", amount):
        return _MixedAmount(amount, what.strip())
    if first := re.fullmatch(r"\s*([0-9.]+\s*[a-zA-Zµ]+3?)\s+(\S.*)", text):
        return _MixedAmount(first[1], first[2].strip())
    if last := re.fullmatch(r"(.*\S)\s+([0-9.]+\s*[a-zA-Zµ]+)", text.strip()):
        return _MixedAmount(last[2], last[1])
    raise PrepError(f'"{text[:60]}": write such as "magnesium 0.12 g" or "50 mL of HCl 1 mol/L".')


def _moles_of(part: _MixedAmount, working: list[Line]) -> tuple[str, Decimal]:
    """Work out the moles of what is mixed, under its formula."""
    try:
        volume_ml = quantities.volume_ml(part.amount)
    except PrepError:
        mass = quantities.mass_g(part.amount)
    else:
        if part.what.lower() == "water":
            moles = volume_ml * WATER_G_ML / molar_mass("H2O")
            working.append(Line(f"{figures(volume_ml)} mL of water = {figures(moles)} mol", WATER_SOURCE))
            return "H2O", moles
        one = reagent_of(part.what)
        moles = one.mol_per_l * volume_ml / 1000
        text = f"{figures(volume_ml)} mL x {figures(one.mol_per_l)} mol/L = {figures(moles)} mol"
        working += [*one.working, Line(text)]
        return one.formula, moles
    formula = formula_of(part.what).formula
    moles = mass / molar_mass(formula)
    working.append(
        Line(f"{figures(mass)} g / {figures(molar_mass(formula))} g/mol = {figures(moles)} mol of {formula}")
    )
    return formula, moles


_CATALYSTS = {"H2O2": ("MnO2", "KI")}
"""What hastens the decay of a solution and is left as it was: common practice, no source."""


def _without_catalyst(there: list[tuple[str, Decimal]]) -> tuple[str, list[tuple[str, Decimal]]]:
    """Set aside the catalyst of two that are mixed, whose formula is empty where neither is one."""
    for one, other in (there, there[::-1]) if len(there) == 2 else ():
        if other[0] in _CATALYSTS.get(one[0], ()):
            return other[0], [one]
    return "", there


def _reaction(formulas: Sequence[str]) -> tuple[dict[str, str], list[int]]:
    for row in seed_table("gas_reactions"):
        for order in ([0, 1], [1, 0]) if len(formulas) == 2 else ([0],):
            names = [formulas[i] for i in order]
            if not _same(row["one"], names[0]):
                continue
            if len(names) == 2 and not _same(row["other"], names[1]):
                continue
            if len(names) == 1 and row["other"] not in ("", "H2O"):
                continue
            return row, list(order)
    give = "give" if len(formulas) > 1 else "gives off when heated or by itself"
    raise PrepError(f"What gas {' and '.join(formulas)} {give} is not on file.")


def _pressure(text: str) -> Decimal:
    found = re.fullmatch(r"\s*([0-9.]+)\s*(kPa|hPa|mbar|atm|mmHg)?\s*", text)
    factor = {"kPa": "1", "hPa": "0.1", "mbar": "0.1", "atm": "101.325", "mmHg": "0.133322", None: "1"}
    value = Decimal(found[1]) * Decimal(factor[found[2]]) if found and found[1].count(".") < 2 else Decimal(0)
    if not 50 <= value <= 200:
        raise PrepError(f'--pressure "{text[:20]}" is no pressure of a room; write such as "101.3 kPa" or "1013 hPa".')
    return value


def _same(one: str, other: str) -> bool:
    return one == other or (bool(one) and same_solute(one, other))
