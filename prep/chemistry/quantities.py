"""The door for what a person types: amounts, volumes, masses, densities, temperatures and strengths.

A number is read by a strict pattern, its unit by `units`; unit strings are cached, so thousands of cells cost one
reading each of their few units. What passes is a plain number in the unit that the function's name says.
"""

import contextlib
import re
from collections.abc import Sequence
from decimal import ROUND_HALF_EVEN, Decimal
from functools import lru_cache
from typing import NoReturn

from prep.chemistry.model import Measure, PouredPart, Strength, StrengthKind
from prep.chemistry.typed_number import (
    LONGEST,
    NUMBER,
    clip,
    decimal_of,
    figures,
    no_comma,
    number,
    plain,
    point,
    points,
)
from prep.chemistry.typed_strength import component, strength
from prep.chemistry.units import unit_of
from prep.errors import PrepError
from prep.records import record

__all__ = ["Amount", "component", "decimal_of", "figures", "plain", "strength"]

BASE_PER_UNIT = 1_000_000
"""Micrograms in a gram, nanolitres in a millilitre."""

LARGEST_BASE = 10**15
"""The most one amount may be: 1000 t or 1000 m3. Nine thousand such still sum within 64 bits."""

_VOLUME_UNITS = "mL, L, dL, cL, µL, cm3 or dm3"
_MASS_UNITS = "g, kg, mg or µg"


@record(frozen=True, slots=True)
class Amount:
    """An amount as counted in stock: `base` in ug (MASS) or nL (VOLUME).

    An amount typed in drops has `drops` > 0 and `base` 0; what a drop holds depends on the dropper.
    """

    base: int
    measure: Measure
    drops: int = 0

    def base_with(self, drops_per_ml: Decimal) -> int:
        """Convert the amount to base units [ug or nL], drops counted at so many drops per mL."""
        if not self.drops:
            return self.base
        return to_base(Decimal(self.drops) / drops_per_ml)


def volume_ml(text: str, *, zero: bool = False) -> Decimal:
    """Read a volume [mL] from `250 mL`, `2.5 L`, `50 cm3`.

    Raises PrepError: no number, no or unknown unit, another dimension, negative, not finite, too large;
    zero too, unless `zero`.
    """
    typed = number(text, f'a volume, such as "250 mL" ({_VOLUME_UNITS})', zero=zero)
    return _in_range(typed.value * _factor_of(text, typed.unit, "[volume]", "a volume", _VOLUME_UNITS) * 1000, text)


def mass_g(text: str, *, zero: bool = False) -> Decimal:
    """Read a mass [g] from `2.5 g`, `40 mg`, `1 kg`. Raises PrepError as `volume_ml` does."""
    typed = number(text, f'a mass, such as "2.5 g" ({_MASS_UNITS})', zero=zero)
    return _in_range(typed.value * _factor_of(text, typed.unit, "[mass]", "a mass", _MASS_UNITS), text)


@lru_cache(maxsize=4096)
def amount(text: str, *, zero: bool = False) -> Amount:
    """Read an amount of stock from a mass, a volume, or a whole number of drops.

    Rounded half-even to 1 ug or 1 nL. Raises PrepError as `volume_ml` does, and for what is less than half the
    smallest amount kept.
    """
    accepted = f"an amount: a volume ({_VOLUME_UNITS}), a mass ({_MASS_UNITS}) or drops"
    typed = number(text, accepted, zero=zero)
    value, unit = typed.value, unit_of(typed.unit) or _unknown(text, typed.unit, accepted)
    if unit.dimension == "[drop]":
        if value != value.to_integral_value():
            raise PrepError(f'"{clip(text)}" is not a whole number of drops; write such as "40 drops".')
        if value > 1_000_000:
            raise PrepError(f'"{clip(text)}" is too many drops; write it as a volume ({_VOLUME_UNITS}).')
        return Amount(0, Measure.VOLUME, int(value))
    if unit.dimension not in ("[mass]", "[volume]"):
        raise PrepError(f'"{clip(text)}" is not an amount; accepted is {accepted}.')
    measure = Measure.MASS if unit.dimension == "[mass]" else Measure.VOLUME
    in_unit = _in_range(value * unit.factor * (1 if measure is Measure.MASS else 1000), text)
    base = to_base(in_unit)
    if value and not base:
        raise PrepError(f'"{clip(text)}" is less than the books can hold (1 µg or 1 nL).')
    return Amount(base, measure)


def density_g_ml(text: str) -> Decimal:
    """Read a density [g/mL] from `1.18 g/mL`, `1180 g/L`, `1.18 kg/L`.

    Between 0.1 and 25 g/mL, else PrepError.
    """
    accepted = 'a density, such as "1.18 g/mL" (g/mL, g/cm3, g/L or kg/L)'
    typed = number(text, accepted)
    value = (
        typed.value * _factor_of(text, typed.unit, "[mass] / [volume]", "a density", "g/mL, g/cm3, g/L or kg/L") / 1000
    )
    if not Decimal("0.1") <= value <= 25:
        raise PrepError(f'"{clip(text)}" is no density of a liquid or solid; accepted is 0.1 to 25 g/mL.')
    return value


def temperature_c(text: str, least: int = -30, most: int = 150) -> Decimal:
    """Read a temperature [degC] from `25`, `25 C`, `25 degC`, `25 °C`; from `least` to `most`, else PrepError."""
    accepted = f'a temperature in degrees Celsius from {least} to {most}, such as "25 degC"'
    said = point(text.strip().replace("−", "-")) if "," in text else text.strip().replace("−", "-")
    found = re.fullmatch(rf"([+-]?{NUMBER})\s*(?:°\s*C|℃|degC|deg\s*C|C)?", said)
    if len(text) > LONGEST or not found or not least <= (value := Decimal(found[1])) <= most:
        no_comma(text)
        raise PrepError(f'"{clip(text)}" is not accepted; write {accepted}.')
    return value


def ph(text: str, least: int = 0, most: int = 14) -> Decimal:
    """Read a pH from `4.7` or `pH 4.7`; from `least` to `most`, else PrepError."""
    said = point(text.strip().replace("−", "-")) if "," in text else text.strip().replace("−", "-")
    found = re.fullmatch(rf"(?:pH)?\s*([+-]?{NUMBER})", said, re.IGNORECASE)
    if len(text) > LONGEST or not found or not least <= (value := Decimal(found[1])) <= most:
        no_comma(text)
        raise PrepError(f'"{clip(text)}" is no pH; accepted is a number from {least} to {most}, such as 4.7.')
    return value


def portions(texts: Sequence[str]) -> list[PouredPart]:
    """Read volumes [mL] and strengths from texts such as `100 mL of 2 mol/L`.

    `50 mL of water` counts as strength 0 of the kind that the first other portion has. Raises PrepError if one
    cannot be read, or all are water.
    """
    parts = []
    for text in texts:
        volume, of, what = points(text).partition(" of ")
        if not of:
            raise PrepError(f'"{clip(text)}" is not a portion; write such as "100 mL of 2 mol/L".')
        strong = None if what.strip().lower() == "water" else strength(what.strip(), zero=True)
        parts.append((volume_ml(volume), strong))
    kinds = [strong.kind for _, strong in parts if strong]
    if not kinds:
        raise PrepError('Water and water is water; give at least one portion such as "100 mL of 2 mol/L".')
    kind = StrengthKind.PCT_W_W if kinds[0] is StrengthKind.SATURATED else kinds[0]
    return [PouredPart(volume, strong or Strength(Decimal(0), kind)) for volume, strong in parts]


_AMOUNT = r"[\d.]+(?:[eE][+-]?\d+)?\s*[A-Za-zµμ]+[³3]?"
_AMOUNT_FIRST = re.compile(rf"({_AMOUNT})\s+(?:(?:of|at)\s+|@\s*)?(\S.*)")
_AMOUNT_LAST = re.compile(rf"(.*[^\s,;:(–/-])(?:\s*[,;:(]\s*|\s+[–-]\s+|\s+)({_AMOUNT})\)?")


def with_of(text: str) -> str:
    """Write `25 mL 0.1 M HCl`, `0.1 M HCl, 25 mL` and `0.5 g KHP` as `25 mL of 0.1 M HCl`, the amount first.

    What neither begins nor ends with an amount stays.
    """
    text = points(text)
    if (found := _AMOUNT_FIRST.fullmatch(text.strip())) and _is_amount(found[1]) and not _PER.match(found[2]):
        return f"{found[1]} of {found[2]}"
    if (
        (found := _AMOUNT_LAST.fullmatch(text.strip()))
        and _is_amount(found[2])
        and not _PER.fullmatch(found[1].split()[-1])
    ):
        return f"{found[2]} of {found[1]}"
    return text


_PER = re.compile(r"(?:per|in|to)\b|(?:dm|cm|m?L|ml|l|k?g)\s*\^?[-−⁻]")  # of a strength: `4 g dm-3`, `5 g per litre`


def _is_amount(text: str) -> bool:
    """Tell whether a text is a volume or a mass."""
    for read in (volume_ml, mass_g):
        with contextlib.suppress(PrepError):
            read(text)
            return True
    return False


def to_base(value: Decimal) -> int:
    """Convert a Decimal g or mL to an integer of ug or nL, rounded half-even."""
    return int((value * BASE_PER_UNIT).to_integral_value(ROUND_HALF_EVEN))


def from_base(base: int) -> Decimal:
    """Convert an integer of ug or nL to a Decimal g or mL; exact."""
    return Decimal(base) / BASE_PER_UNIT


def show(base: int, measure: Measure, figures: int | None = 5) -> str:
    """Print an amount for a person, `250 mL`, `2.5 L`, `12.5 g`, `40 mg`: `base` in ug or nL, to `figures`.

    `figures` None prints every digit.
    """
    size = abs(base)
    if figures is not None and (over := len(str(size)) - figures) > 0:
        step = 10**over
        size, rest = divmod(size, step)
        size = (size + (2 * rest > step or (2 * rest == step and size % 2 == 1))) * step  # half to even
    unit, power = next((u, p) for u, p, least in _SHOWN[measure] if size >= least or (not size and p == 6))
    whole, part = divmod(size, 10**power)
    digits = f".{part:0{power}d}".rstrip("0") if part else ""
    return f"{'-' if base < 0 else ''}{whole}{digits} {unit}"


def rounded_down(base: int, figures: int) -> int:
    """Round an amount down to so many figures: what is left over is never said to be more than it is.

    >>> rounded_down(996, 2), rounded_down(7, 2)
    (990, 7)
    """
    step: int = 10 ** max(0, len(str(base)) - figures)
    return base // step * step


def as_json(base: int, measure: Measure) -> dict[str, float | str]:
    """Write an amount as `{"value": 250.0, "unit": "mL"}`: full precision, always in g or mL."""
    return {"value": base / BASE_PER_UNIT, "unit": json_unit(measure)}


def json_unit(measure: Measure) -> str:
    """Name the unit in which documents give an amount: always g or mL."""
    return "g" if measure is Measure.MASS else "mL"


def tidy(value: Decimal, count: int = 12) -> Decimal:
    """Round a computed value, to drop the digits that only arithmetic gave it."""
    return Decimal(figures(value, count))


# Unit, power of ten of it in base units, and the least base amount that is printed in it.
_SHOWN: dict[Measure, tuple[tuple[str, int, int], ...]] = {
    Measure.MASS: (("kg", 9, 10**9), ("g", 6, 10**5), ("mg", 3, 10**2), ("µg", 0, 0)),
    Measure.VOLUME: (("L", 9, 10**9), ("mL", 6, 10**5), ("µL", 3, 10**2), ("nL", 0, 0)),
}


def _factor_of(text: str, unit: str, dimension: str, what: str, units: str) -> Decimal:
    found = unit_of(unit) or _unknown(text, unit, f"{what} in {units}")
    if found.dimension != dimension:
        raise PrepError(f'"{clip(text)}" is not {what}; accepted is {what} in {units}.')
    return found.factor


def _in_range(value: Decimal, text: str) -> Decimal:
    if value * BASE_PER_UNIT > LARGEST_BASE:
        raise PrepError(f'"{clip(text)}" is more than the books can hold (1000 t or 1000 m3).')
    return value if value.as_tuple().exponent == 0 else Decimal(plain(value))


def _unknown(text: str, unit: str, accepted: str) -> NoReturn:
    raise PrepError(f'"{clip(text)}": the unit "{clip(unit)}" is not known here; accepted is {accepted}.')
