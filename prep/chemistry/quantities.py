"""The door for what a person types: amounts, volumes, masses, densities, temperatures and strengths.

A number is read by a strict pattern, its unit from `plain_units`, else by pint from the small definition file
beside this module; unit strings are cached, so thousands of cells cost one reading each of their few units. What
passes is a plain number in the unit that the function's name says.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from functools import cache, lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn
from unicodedata import numeric

from prep.chemistry.model import Measure, Strength, StrengthKind
from prep.chemistry.plain_units import PLAIN
from prep.errors import PrepError

if TYPE_CHECKING:
    from pint import UnitRegistry

BASE_PER_UNIT = 1_000_000
"""Micrograms in a gram, nanolitres in a millilitre."""

LARGEST_BASE = 10**15
"""The most one amount may be: 1000 t or 1000 m3. Nine thousand such still sum within 64 bits."""

_LONGEST = 80
_NUMBER = r"(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?"
_QUANTITY = re.compile(rf"({_NUMBER})\s*(\S.*)?")
_UNIT = re.compile(r"[A-Za-zµμ]+3?(?:\s*/\s*[A-Za-zµμ]+3?)?")
_PER = re.compile(r"([A-Za-zµμ]+)\s*[\s.·*]\s*(?:([dc]m)\s*\^?[-−⁻][3³]|(m?[Ll]|kg)\s*\^?[-−⁻][1¹])")

_VOLUME_UNITS = "mL, L, dL, cL, µL, cm3 or dm3"
_MASS_UNITS = "g, kg, mg or µg"
_STRENGTH_UNITS = (
    'mol/L (or M), mmol/L, mol/kg, g/L, mg/L, % w/w, % w/v, % v/v, ppm, eq/L, vol (hydrogen peroxide) or "saturated"'
)


@dataclass(frozen=True, slots=True)
class Amount:
    """An amount as counted in stock: `base` in ug (MASS) or nL (VOLUME).

    An amount typed in drops has `drops` > 0 and `base` 0; what a drop holds depends on the dropper.
    """

    base: int
    measure: Measure
    drops: int = 0

    def base_with(self, drops_per_ml: Decimal) -> int:
        """Amount in the base unit [ug or nL], drops counted with a dropper of so many drops per mL."""
        if not self.drops:
            return self.base
        return to_base(Decimal(self.drops) / drops_per_ml)


def volume_ml(text: str, *, zero: bool = False) -> Decimal:
    """Volume [mL] from `250 mL`, `2.5 L`, `50 cm3`.

    Raises PrepError: no number, no or unknown unit, another dimension, negative, not finite, too large;
    zero too, unless `zero`.
    """
    value, unit = _number(text, f'a volume, such as "250 mL" ({_VOLUME_UNITS})', zero=zero)
    return _in_range(value * _factor_of(text, unit, "[volume]", "a volume", _VOLUME_UNITS) * 1000, text)


def mass_g(text: str, *, zero: bool = False) -> Decimal:
    """Mass [g] from `2.5 g`, `40 mg`, `1 kg`. Raises PrepError as `volume_ml` does."""
    value, unit = _number(text, f'a mass, such as "2.5 g" ({_MASS_UNITS})', zero=zero)
    return _in_range(value * _factor_of(text, unit, "[mass]", "a mass", _MASS_UNITS), text)


def amount(text: str, *, zero: bool = False) -> Amount:
    """Amount of stock from a mass, a volume, or a whole number of drops; rounded half-even to 1 ug or 1 nL.

    Raises PrepError as `volume_ml` does, and for what is less than half the smallest amount kept.
    """
    accepted = f"an amount: a volume ({_VOLUME_UNITS}), a mass ({_MASS_UNITS}) or drops"
    value, unit = _number(text, accepted, zero=zero)
    dimension, factor = _unit(unit) or _unknown(text, unit, accepted)
    if dimension == "[drop]":
        if value != value.to_integral_value():
            raise PrepError(f'"{_clip(text)}" is not a whole number of drops; write such as "40 drops".')
        if value > 1_000_000:
            raise PrepError(f'"{_clip(text)}" is too many drops; write it as a volume ({_VOLUME_UNITS}).')
        return Amount(0, Measure.VOLUME, int(value))
    if dimension not in ("[mass]", "[volume]"):
        raise PrepError(f'"{_clip(text)}" is not an amount; accepted is {accepted}.')
    measure = Measure.MASS if dimension == "[mass]" else Measure.VOLUME
    in_unit = _in_range(value * factor * (1 if measure is Measure.MASS else 1000), text)
    base = to_base(in_unit)
    if value and not base:
        raise PrepError(f'"{_clip(text)}" is less than the books can hold (1 µg or 1 nL).')
    return Amount(base, measure)


def density_g_ml(text: str) -> Decimal:
    """Density [g/mL] from `1.18 g/mL`, `1180 g/L`, `1.18 kg/L`; between 0.1 and 25 g/mL, else PrepError."""
    accepted = 'a density, such as "1.18 g/mL" (g/mL, g/cm3, g/L or kg/L)'
    value, unit = _number(text, accepted)
    value *= _factor_of(text, unit, "[mass] / [volume]", "a density", "g/mL, g/cm3, g/L or kg/L") / 1000
    if not Decimal("0.1") <= value <= 25:
        raise PrepError(f'"{_clip(text)}" is no density of a liquid or solid; accepted is 0.1 to 25 g/mL.')
    return value


def temperature_c(text: str) -> Decimal:
    """Temperature [degC] from `25`, `25 C`, `25 degC`, `25 °C`; -30 to 150 degC, else PrepError."""
    accepted = 'a temperature in degrees Celsius from -30 to 150, such as "25 degC"'
    found = re.fullmatch(rf"([+-]?{_NUMBER})\s*(?:°\s*C|℃|degC|deg\s*C|C)?", text.strip().replace("−", "-"))
    if len(text) > _LONGEST or not found or not -30 <= (value := Decimal(found[1])) <= 150:
        _no_comma(text)
        raise PrepError(f'"{_clip(text)}" is not accepted; write {accepted}.')
    return value


def ph(text: str, least: int = 0, most: int = 14) -> Decimal:
    """pH from `4.7` or `pH 4.7`; from `least` to `most`, else PrepError."""
    found = re.fullmatch(rf"(?:pH)?\s*([+-]?{_NUMBER})", text.strip().replace("−", "-"), re.IGNORECASE)
    if len(text) > _LONGEST or not found or not least <= (value := Decimal(found[1])) <= most:
        _no_comma(text)
        raise PrepError(f'"{_clip(text)}" is no pH; accepted is a number from {least} to {most}, such as 4.7.')
    return value


@lru_cache(maxsize=4096)
def strength(text: str, *, zero: bool = False) -> Strength:
    """Strength from `0.1 mol/L`, `2 M`, `5 % w/v`, `20 vol`, `saturated`; kinds as `StrengthKind`.

    Multiples become the kind's own unit: mmol/L mol/L, mg/L g/L, mg/kg ppm, g/100 mL % w/v. ppm is by mass
    (mg in 1 kg of solution). Raises PrepError: no or unknown unit, a bare %, N, above 100 %, not finite.
    """
    if text.strip().lower() in ("saturated", "sat.", "sat"):
        return Strength(Decimal(0), StrengthKind.SATURATED)
    value, unit = _number(text, f"a strength in {_STRENGTH_UNITS}", zero=zero)
    kind, factor = _strength_unit(unit) or _unknown_strength(text, unit)
    value *= factor
    if kind in (StrengthKind.PCT_W_W, StrengthKind.PCT_V_V) and value > 100:
        raise PrepError(f'"{_clip(text)}" is impossible: no {kind.value} is above 100.')
    if kind is StrengthKind.PPM and value > 1_000_000:
        raise PrepError(f'"{_clip(text)}" is impossible: no ppm (mg in 1 kg) is above 1 000 000.')
    if value > 100_000 and kind is not StrengthKind.PPM:
        raise PrepError(f'"{_clip(text)}" is stronger than any substance.')
    return Strength(value, kind)


def component(text: str) -> tuple[str, Strength]:
    """What and how strong, from `acetic acid 0.1 mol/L` or `0.1 M HCl`: the name as typed, and the strength.

    Raises PrepError if either is missing, or the strength cannot be read.
    """
    text = text.strip()
    if found := re.fullmatch(r"(.*\S)\s+(saturated|sat\.?)", text, re.IGNORECASE):
        return found[1], strength(found[2])
    if found := re.fullmatch(r"(saturated|sat\.)\s+(\S.*)", text, re.IGNORECASE):
        return found[2], strength(found[1])
    for gap in reversed([m.start() for m in re.finditer(r"\s+", text)] if re.match(_NUMBER, text) else []):
        try:
            return text[gap:].strip(), strength(text[:gap])
        except PrepError:
            continue
    starts = [m.start(1) for m in re.finditer(rf"(?<=\s)({_NUMBER})\s*[A-Za-z%µμ]", text)]
    for start in starts:  # the first reading that is a strength to the end: names may hold numbers too
        try:
            return text[:start].strip(), strength(text[start:])
        except PrepError:
            if start == starts[-1]:
                raise
    if re.search(r"(?:^|\s)[0-9]+,[0-9]+\s*[A-Za-z%µμ]", text):  # elsewhere a comma belongs to a name: 2,3-
        _no_comma(text)
    _no_fraction(text)
    raise PrepError(
        f'"{_clip(text)}" needs a name, other name, CAS number or formula and then its strength, such as '
        '"acetic acid 0.1 mol/L".'
    )


def portions(texts: Sequence[str]) -> list[tuple[Decimal, Strength]]:
    """Volumes [mL] and strengths from `100 mL of 2 mol/L`; `50 mL of water` is nothing of the first other's kind.

    Raises PrepError if one cannot be read, or all are water.
    """
    parts = []
    for text in texts:
        volume, of, what = text.partition(" of ")
        if not of:
            raise PrepError(f'"{_clip(text)}" is not a portion; write such as "100 mL of 2 mol/L".')
        strong = None if what.strip().lower() == "water" else strength(what.strip(), zero=True)
        parts.append((volume_ml(volume), strong))
    kinds = [strong.kind for _, strong in parts if strong]
    if not kinds:
        raise PrepError('Water and water is water; give at least one portion such as "100 mL of 2 mol/L".')
    kind = StrengthKind.PCT_W_W if kinds[0] is StrengthKind.SATURATED else kinds[0]
    return [(volume, strong or Strength(Decimal(0), kind)) for volume, strong in parts]


def to_base(value: Decimal) -> int:
    """Integer ug or nL of a Decimal g or mL, rounded half-even."""
    return int((value * BASE_PER_UNIT).to_integral_value(ROUND_HALF_EVEN))


def from_base(base: int) -> Decimal:
    """Decimal g or mL of an integer ug or nL; exact."""
    return Decimal(base) / BASE_PER_UNIT


def show(base: int, measure: Measure, figures: int | None = 5) -> str:
    """Text for a person, `250 mL`, `2.5 L`, `12.5 g`, `40 mg`: `base` in ug or nL, to `figures`.

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


def as_json(base: int, measure: Measure) -> dict[str, float | str]:
    """`{"value": 250.0, "unit": "mL"}`: full precision, always in g or mL."""
    return {"value": base / BASE_PER_UNIT, "unit": "g" if measure is Measure.MASS else "mL"}


def plain(value: Decimal) -> str:
    """A Decimal without exponent and without trailing zeros: `250`, `0.1`."""
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def figures(value: Decimal, count: int = 5) -> str:
    """A Decimal to `count` significant figures without exponent, for lines of working: `0.1235`."""
    return plain(Decimal(f"{value:.{count}g}"))


def tidy(value: Decimal, count: int = 12) -> Decimal:
    """A computed value without the digits that only arithmetic gave it."""
    return Decimal(figures(value, count))


# Unit, power of ten of it in base units, and the least base amount that is printed in it.
_SHOWN: dict[Measure, tuple[tuple[str, int, int], ...]] = {
    Measure.MASS: (("kg", 9, 10**9), ("g", 6, 10**5), ("mg", 3, 10**2), ("µg", 0, 0)),
    Measure.VOLUME: (("L", 9, 10**9), ("mL", 6, 10**5), ("µL", 3, 10**2), ("nL", 0, 0)),
}

_PERCENT = {
    **dict.fromkeys(("w/w", "m/m", "by mass", "by weight"), StrengthKind.PCT_W_W),
    **dict.fromkeys(("w/v", "m/v"), StrengthKind.PCT_W_V),
    **dict.fromkeys(("v/v", "by volume", "abv"), StrengthKind.PCT_V_V),
}

# Dimension as pint prints it -> the kind, and the factor from litre, gram and mole to the kind's own unit.
_KIND_OF: dict[str, tuple[StrengthKind, Decimal]] = {
    "[substance] / [volume]": (StrengthKind.MOL_PER_L, Decimal(1)),
    "[substance] / [mass]": (StrengthKind.MOL_PER_KG, Decimal(1000)),
    "[mass] / [volume]": (StrengthKind.G_PER_L, Decimal(1)),
    "[equivalent] / [volume]": (StrengthKind.EQ_PER_L, Decimal(1)),
    "dimensionless": (StrengthKind.PPM, Decimal(1_000_000)),
}


@cache
def _registry() -> "UnitRegistry[Any]":
    from pint import UnitRegistry

    return UnitRegistry(Path(__file__).with_name("units.txt"), non_int_type=Decimal)


@lru_cache(maxsize=1024)
def _unit(unit: str) -> tuple[str, Decimal] | None:
    """Dimension and factor to gram, litre, mole of a unit expression; None if it is not one of ours."""
    unit = unit.strip().replace("cm³", "cm3").replace("dm³", "dm3").replace("cm^3", "cm3").replace("dm^3", "dm3")
    if per := _PER.fullmatch(unit):  # mol dm-3, g L-1
        unit = f"{per[1]}/{per[2]}3" if per[2] else f"{per[1]}/{per[3]}"
    if plain_unit := PLAIN.get(unit):
        return plain_unit
    if not _UNIT.fullmatch(unit):
        return None
    from pint.errors import PintError

    registry = _registry()
    try:
        parsed = registry.parse_units(unit)
        factor = registry.Quantity(Decimal(1), parsed).to_root_units().magnitude
    except (PintError, ValueError, TypeError, ArithmeticError):
        return None
    dimension = str(parsed.dimensionality)
    return dimension, Decimal(factor)


@lru_cache(maxsize=1024)
def _strength_unit(unit: str) -> tuple[StrengthKind, Decimal] | None:
    words = " ".join(unit.split())
    lower = words.lower()
    if found := re.fullmatch(r"%\s*\(?\s*([a-z/ ]+?)\s*\)?|([a-z]/[a-z])\s*%|(wt)\.?\s*%", lower):
        kind = StrengthKind.PCT_W_W if found[3] else _PERCENT.get(found[1] or found[2])
        return (kind, Decimal(1)) if kind else None
    if lower in ("vol", "vols", "volume", "volumes"):
        return StrengthKind.VOLUMES, Decimal(1)
    if lower in ("ppm", "ppb"):
        return StrengthKind.PPM, Decimal(1) if lower == "ppm" else Decimal("0.001")
    if re.fullmatch(r"g\s*/\s*100\s*(ml|cm3|cm³)", lower):
        return StrengthKind.PCT_W_V, Decimal(1)
    found_unit = _unit(words)
    if found_unit is None or found_unit[0] not in _KIND_OF:
        return None
    if found_unit[0] == "dimensionless" and (_unit(words.split("/")[0]) or ("",))[0] != "[mass]":
        return None  # mL/L and mol/mol have no dimension either, and are no ppm by mass
    kind, scale = _KIND_OF[found_unit[0]]
    return kind, found_unit[1] * scale


def _number(text: str, accepted: str, *, zero: bool = False) -> tuple[Decimal, str]:
    typed = text.strip()
    if not typed:
        raise PrepError(f"Nothing was given where {accepted} belongs.")
    found = _QUANTITY.fullmatch(typed) if len(typed) <= _LONGEST else None
    if not found:
        _no_comma(typed)
        _no_fraction(typed)
        if re.match(rf"[-−]\s*{_NUMBER}", typed):
            raise PrepError(f'"{_clip(text)}" is negative; accepted is {accepted}.')
        raise PrepError(f'"{_clip(text)}" is not one number and a unit; accepted is {accepted}.')
    value, unit = Decimal(found[1]), (found[2] or "").strip()
    if not unit:
        raise PrepError(f'"{_clip(text)}" has no unit; accepted is {accepted}.')
    _no_comma(typed)
    if not unit[0].isalpha() and unit[0] != "%":
        _no_fraction(typed)
    if not value and not zero:
        raise PrepError(f'"{_clip(text)}" is zero; accepted is {accepted}, more than nothing.')
    if value and not -30 <= value.adjusted() <= 30:
        raise PrepError(f'"{_clip(text)}" is beyond what can be weighed or measured; accepted is {accepted}.')
    return value, unit


def _no_comma(text: str) -> None:
    if found := re.search(r"[0-9](,| |'|’)[0-9]|^(,)[0-9]", text):
        what = "a comma" if "," in found[0] else "a separator"
        raise PrepError(f'"{_clip(text)}" has {what}; write the number with a point and no separator (2.5, 1000).')


def _no_fraction(text: str) -> None:
    found = re.search(
        r"(?:^|(?<=\s))([0-9]+\s*)?([¼-¾⅐-⅞])|(?:^|(?<=\s))([0-9]+)\s*[/⁄]\s*([1-9][0-9]*)(?![0-9.])", text
    )
    if not found:
        return
    whole, sign, over, under = found.groups()
    if sign:
        value = Decimal(whole or 0) + Decimal(repr(numeric(sign)))
    else:
        value = Decimal(over) / Decimal(under)
    raise PrepError(f'"{_clip(text)}" has a fraction; write {found[0]} as a decimal number, {figures(value, 5)}.')


def _factor_of(text: str, unit: str, dimension: str, what: str, units: str) -> Decimal:
    found, factor = _unit(unit) or _unknown(text, unit, f"{what} in {units}")
    if found != dimension:
        raise PrepError(f'"{_clip(text)}" is not {what}; accepted is {what} in {units}.')
    return factor


def _in_range(value: Decimal, text: str) -> Decimal:
    if value * BASE_PER_UNIT > LARGEST_BASE:
        raise PrepError(f'"{_clip(text)}" is more than the books can hold (1000 t or 1000 m3).')
    return value if value.as_tuple().exponent == 0 else Decimal(plain(value))


def _unknown(text: str, unit: str, accepted: str) -> NoReturn:
    raise PrepError(f'"{_clip(text)}": the unit "{_clip(unit)}" is not known here; accepted is {accepted}.')


def _unknown_strength(text: str, unit: str) -> NoReturn:
    if unit == "%":
        raise PrepError(f'"{_clip(text)}" does not say which per cent; write % w/w, % w/v or % v/v.')
    if re.fullmatch(r"[mu]?N|normal", unit):
        raise PrepError(
            f'"{_clip(text)}": N is not accepted, as it does not say of what; write eq/L and name the '
            "equivalents per mole, or mol/L."
        )
    raise PrepError(f'"{_clip(text)}": "{_clip(unit)}" is no strength; accepted is {_STRENGTH_UNITS}.')


def _clip(text: str) -> str:
    shown = "".join(c if c.isprintable() else "?" for c in text.strip())
    return shown if len(shown) <= 60 else shown[:57] + "..."
