"""Strengths as typed, alone or with the name of what is dissolved: `0.1M`, `M/10`, `2 N H2SO4`, `1 in 10`, `10x`."""

import re
from decimal import Decimal
from functools import lru_cache
from typing import NoReturn

from prep.chemistry.model import Strength, StrengthKind
from prep.chemistry.typed_number import NUMBER, clip, figures, no_comma, no_fraction, number, plain, points
from prep.chemistry.units import unit_of
from prep.errors import PrepError
from prep.records import record

_STRENGTH_UNITS = (
    "mol/L (or M), mmol/L, mol/kg (or molal), g/L (or g/dm3), mg/L, % w/w, % w/v, % v/v, ppm, eq/L (or N), "
    'vol (hydrogen peroxide), 10x, 1 in 10 or "saturated"'
)
_PART_OF = re.compile(rf"([MN])\s*/\s*({NUMBER})")
_ONE_IN = re.compile(rf"({NUMBER})\s*(?:in|:|/)\s*({NUMBER})(?:\s+dilution)?")
_PLUS = re.compile(rf"({NUMBER})\s*\+\s*({NUMBER})")
_POWER = re.compile(r"(?:(\d+(?:\.\d+)?)\s*[x×*·]\s*10\s*\^?|(?<![\d.])10\s*\^)\s*([-−]?\d+)(?=\s|[A-Za-zµμ])")
_TIMES = re.compile(r"[x×X]")
_COUNTS = {
    **dict(zip("one two three four five six eight ten twelve".split(), "1 2 3 4 5 6 8 10 12".split(), strict=True)),
    **dict(zip("half semi quarter fifth tenth deci".split(), "0.5 0.5 0.25 0.2 0.1 0.1".split(), strict=True)),
    **dict(zip("twentieth fiftieth hundredth centi milli".split(), "0.05 0.02 0.01 0.01 0.001".split(), strict=True)),
}
_KINDS = {"molar": "M", "molal": "molal", "normal": "N"}
_WORDED = re.compile(
    rf"(?<![\w.])(?:(?:one|an?)[-\s]+)?({'|'.join(_COUNTS)})(?:[-\s]+of\s+a)?[-\s]*({'|'.join(_KINDS)})\b",
    re.IGNORECASE,
)
_ALONE = re.compile(r"^(molar|M|N)\s+(?=[A-Za-z(])|(?<=[A-Za-z)])[,\s]\s*(molar)$")
_SATURATED = r"saturated|sat['’]?d\.?|sat\."
_FRACTION = r"[MN]\s*/\s*[0-9.]+(?=\s|$)"


class ImpossibleStrength(PrepError):
    """A strength that can be read, and that nothing has: above 100 %."""


@record(frozen=True, slots=True)
class Unit:
    """What strengths are read and printed in: a kind, the factor from the unit to it, and how it is written."""

    kind: StrengthKind
    factor: Decimal
    text: str


@lru_cache(maxsize=4096)
def strength(text: str, *, zero: bool = False) -> Strength:
    """Read a strength from `0.1 mol/L`, `2 M`, `M/10`, `5 % w/v`, `20 vol`, `2 N`, `1 in 10`, `10x`, `saturated`.

    Words stand for figures: `decimolar`, `half molar`. Multiples become the kind's own unit: mmol/L mol/L, mg/L g/L,
    mg/kg ppm, g/100 mL % w/v. ppm is by mass (mg in 1 kg of solution), `1:10` one part in ten. Raises PrepError: no
    or unknown unit, a bare %, above 100 %, not finite.
    """
    said = _as_units(in_figures(text.strip()))
    if re.fullmatch(rf"({_SATURATED}|sat)(\s+solution)?", said, re.IGNORECASE):
        return Strength(Decimal(0), StrengthKind.SATURATED)
    if found := _PART_OF.fullmatch(said):
        kind = StrengthKind.MOL_PER_L if found[1] == "M" else StrengthKind.EQ_PER_L
        return _checked(Strength(_ratio(Decimal(1), Decimal(found[2]), text), kind), text)
    if found := _PLUS.fullmatch(said):
        part = Decimal(found[1])
        return Strength(_ratio(part, part + Decimal(found[2]), text), StrengthKind.TIMES)
    if found := _ONE_IN.fullmatch(said):
        if Decimal(found[1]) == Decimal(found[2]):
            raise PrepError(
                f'"{clip(text)}" is one part in one, and so not diluted; equal parts of two are 1 + 1, or 1 in 2.'
            )
        return Strength(_ratio(Decimal(found[1]), Decimal(found[2]), text), StrengthKind.TIMES)
    typed = number(said, f"a strength in {_STRENGTH_UNITS}", zero=zero)
    known = strength_unit(typed.unit) or _unknown_strength(text, typed.unit)
    return _checked(Strength(typed.value * known.factor, known.kind), text)


def in_figures(text: str) -> str:
    """Rewrite a strength in words as a figure: `decimolar` as `0.1 M`, `half-molar HCl` and `two normal` alike."""
    if text.casefold() == "molar":
        return "1 M"

    def figure(found: re.Match[str]) -> str:
        if re.search(rf"{NUMBER}\s*$", text[: found.start()]):
            return found[0]  # `100 millimolar` has its figure
        return f"{_COUNTS[found[1].lower()]} {_KINDS[found[2].lower()]}"

    said = _WORDED.sub(figure, text)
    return _ALONE.sub(lambda m: f"1 {'N' if m[1] == 'N' else 'M'} " if m[1] else " 1 M", said)


_WORDS_OF_UNITS = ("per", "pct", "‰", "fold", " ten", "part")


def _as_units(said: str) -> str:
    """Rewrite words and powers of ten as units: `5 g per litre`, `5 per cent w/v`, `1 x 10^-3 M`."""
    low = said.lower()
    if any(word in low for word in _WORDS_OF_UNITS):  # few are typed so, and the patterns are slow to compile
        said = re.sub(r"\bparts\s+per\s+(m|b)illion\b", r"pp\1", said, flags=re.IGNORECASE)
        said = re.sub(r"\bparts\s+per\s+thousand\b|‰", "g/kg", said, flags=re.IGNORECASE)
        said = re.sub(r"(?<=\d)\s+parts?(?:\s+of)?(?:\s+water)?$", "", said)
        said = re.sub(r"\s+parts?\s+(?:to|and|with|\+)(?=\s+\d)", " +", said)
        said = re.sub(r"^one(?=\s+(?:part|in)\b)", "1", re.sub(r"\s+parts?\s+in\b", " in", said), flags=re.IGNORECASE)
        said = re.sub(r"\b(ten|[0-9]+)[-\s]?fold(?:\s+dilution)?$", lambda m: f"1 in {m[1]}", said).replace(
            " ten", " 10"
        )
        said = re.sub(r"\bper\s*cent\b|\bpct\b", "%", said, flags=re.IGNORECASE)
        said = re.sub(r"\s+per\s+", "/", said, flags=re.IGNORECASE)
    return _POWER.sub(lambda m: f"{m[1] or 1}e{m[2].replace('−', '-')}", said)


_LIKE_A_DENSITY = 600  # g/L: few solutions hold so much, and none is lighter


def _ratio(over: Decimal, under: Decimal, text: str) -> Decimal:
    if not 0 < over <= under or under.adjusted() > 9:
        raise PrepError(f'"{clip(text)}" is no dilution; write such as "1 in 10" or "M/10".')
    return over / under


def _checked(made: Strength, text: str) -> Strength:
    value, kind = made.value, made.kind
    if kind in (StrengthKind.PCT_W_W, StrengthKind.PCT_V_V) and value > 100:
        raise ImpossibleStrength(f'"{clip(text)}" is impossible: no {kind.value} is above 100.')
    if kind is StrengthKind.PPM and value > 1_000_000:
        raise ImpossibleStrength(f'"{clip(text)}" is impossible: no ppm (mg in 1 kg) is above 1 000 000.')
    if (
        kind is StrengthKind.G_PER_L
        and value >= _LIKE_A_DENSITY
        and re.search(r"g\s*/\s*(mL|cm)|kg\s*/\s*L", text, re.I)
    ):
        raise ImpossibleStrength(
            f'"{clip(text)}" reads as a density; a strength of {plain(value)} g in a litre is written in g/L, and a '
            "concentrate by its per cent, such as 36 % w/w."
        )
    if value > 100_000 and kind is not StrengthKind.PPM:
        raise ImpossibleStrength(f'"{clip(text)}" is stronger than any substance.')
    return made


@record(frozen=True, slots=True)
class NamedStrength:
    """What something is called, as typed, and how strong it is."""

    what: str
    strength: Strength


def component(text: str) -> NamedStrength:
    """Read a name and a strength from `acetic acid 0.1 mol/L` or `0.1 M HCl`.

    Raises PrepError if either is missing, or the strength cannot be read.
    """
    text = in_figures(points(text.strip()))
    no_minus(text)
    if (found := re.fullmatch(r"(.*\S)\s*\(\s*([^()]+)\)", text)) and (inside := _or_none(found[2])):
        return NamedStrength(found[1], inside)
    if found := re.fullmatch(rf"(.*\S)\s+({_SATURATED}|sat)", text, re.IGNORECASE):
        return NamedStrength(found[1], strength(found[2]))
    if found := re.fullmatch(rf"({_SATURATED})\s+(\S.*)", text, re.IGNORECASE):
        return NamedStrength(found[2], strength(found[1]))
    begins = re.match(rf"{_FRACTION}|{NUMBER}", text)
    for gap in reversed([m.start() for m in re.finditer(r"\s+", text)] if begins else []):
        try:
            return NamedStrength(text[gap:].strip(), strength(text[:gap]))
        except ImpossibleStrength:
            raise
        except PrepError:
            continue
    starts = [m.start(1) for m in re.finditer(rf"(?<=\s)({_FRACTION}|{NUMBER}\s*[A-Za-z%µμ:×])", text)]
    for start in starts:  # the first reading that is a strength to the end: names may hold numbers too
        try:
            return NamedStrength(text[:start].strip(), strength(text[start:]))
        except PrepError:
            if start == starts[-1]:
                raise
    if re.search(r"(?:^|\s)[0-9]+,[0-9]+\s*[A-Za-z%µμ]", text):  # any other comma belongs to a name: 2,3-
        no_comma(text)
    no_fraction(text)
    if re.search(rf"{NUMBER}\s*%", text):
        raise PrepError(which_per_cent(text))
    if re.search(rf"(?:^|\s){NUMBER}\s*m(?=\s|$)", text):
        raise PrepError(_small_m(text))
    raise PrepError(
        f'"{clip(text)}" needs a name, other name, CAS number or formula and then its strength, such as '
        '"acetic acid 0.1 mol/L".'
    )


@record(frozen=True, slots=True)
class Thinned:
    """What is diluted, as typed, and the share of it in the whole by volume: a hundredth in `1 in 100 conc HCl`."""

    what: str
    share: Decimal


_SHARE = rf"{NUMBER}\s*(?:in|:|\+)\s*{NUMBER}"
_THINNED = rf"(?P<first>{_SHARE})\s+(?:of\s+)?(?P<of>\S.*)|(?P<what>.*[^\s,(])[\s,(]+(?P<last>{_SHARE})\)?"
_PARTS = (
    rf"(?P<one>{NUMBER})\s+parts?\s+(?:of\s+)?(?P<of>\S.*?)\s*(?P<how>\bto|\band|\bin|\bwith|\+|:)\s*"
    rf"(?P<other>{NUMBER})\s+parts?(?:\s+(?:of\s+)?water)?"
)
_DILUTED = r"(?i)\b(?:diluted|dilution)\b(?:\s+(?:of|to|by)\b)?|(?<=\d)\s+(?:with|in)\s+water$|^an?\s+(?=[\dt])"


def thinned(text: str) -> Thinned | None:
    """Read what is diluted, and one part in how many, from `1 in 100 conc HCl` or `2 M HCl diluted 1:10`.

    None for any other text, a dilution of what is not said too. Raises PrepError for what is no dilution.
    """
    if not any(sign in text for sign in (" in ", ":", "+", "fold", "part")):
        return None  # few are typed so, and the patterns are slow to compile
    if found := re.fullmatch(_PARTS, text.strip(), re.IGNORECASE):
        one, other = Decimal(found["one"]), Decimal(found["other"])
        return Thinned(
            found["of"], strength(f"{one} in {other if found['how'].lower() == 'in' else one + other}").value
        )
    said = re.sub(
        r"(?i)\b(ten|[0-9]+)[-\s]?fold\b", lambda m: f"1 in {m[1].lower().replace('ten', '10')}", points(text.strip())
    )
    found = re.fullmatch(_THINNED, " ".join(re.sub(_DILUTED, " ", said).split()))
    if not found:
        return None
    made = strength(found["first"] or found["last"])
    return Thinned(found["of"] or found["what"], made.value) if made.value < 1 else None


def in_parts(text: str, share: Decimal) -> str:
    """Say a dilution in parts, as it was typed: `1 part and 9 parts`, or `One part in 10`."""
    if found := _PLUS.search(text):
        one, other = (f"{plain(part)} part{'' if part == 1 else 's'}" for part in map(Decimal, found.groups()))
        return f"{one} and {other}"
    return f"One part in {figures(1 / share, 4)}"


def no_minus(text: str) -> None:
    """Refuse a minus right before a strength that follows a name: `acetic acid -5 % w/w`.

    A dash with a blank after it, `copper sulfate - 0.5 mol/L`, parts the name from the strength.
    """
    for minus in re.finditer(rf"(?<=[\s(])[-−](?={NUMBER})", text):
        rest = text[minus.end() :].rstrip(" )")
        if _or_none(rest) or re.fullmatch(rf"{NUMBER}\s*%", rest):
            raise PrepError(f'"{clip(text)}" has a negative strength; a strength is nothing or more, such as "{rest}".')


def _or_none(text: str) -> Strength | None:
    try:
        return strength(text)
    except PrepError:
        return None


_PERCENT = {
    **dict.fromkeys(("w/w", "m/m", "by mass", "by weight"), StrengthKind.PCT_W_W),
    **dict.fromkeys(("w/v", "m/v"), StrengthKind.PCT_W_V),
    **dict.fromkeys(("v/v", "by volume", "abv"), StrengthKind.PCT_V_V),
}

_WORDS = {
    **dict.fromkeys(("vol", "vols", "volume", "volumes", "vol."), (StrengthKind.VOLUMES, Decimal(1))),
    "ppm": (StrengthKind.PPM, Decimal(1)),
    **dict.fromkeys(("ppm w/w", "ppm m/m", "ppm (w/w)"), (StrengthKind.PPM, Decimal(1))),
    **dict.fromkeys(("ppm w/v", "ppm m/v", "ppm (w/v)"), (StrengthKind.G_PER_L, Decimal("0.001"))),
    "ppb": (StrengthKind.PPM, Decimal("0.001")),
    "molar": (StrengthKind.MOL_PER_L, Decimal(1)),
    "molal": (StrengthKind.MOL_PER_KG, Decimal(1)),
    "normal": (StrengthKind.EQ_PER_L, Decimal(1)),
    "N": (StrengthKind.EQ_PER_L, Decimal(1)),
    "mN": (StrengthKind.EQ_PER_L, Decimal("0.001")),
    **dict.fromkeys(("mg%", "mg %"), (StrengthKind.G_PER_L, Decimal("0.01"))),  # mg in 100 mL, as clinics write it
}

# Dimension as pint prints it -> the kind, and the factor from litre, gram and mole to the kind's own unit.
_KIND_OF: dict[str, tuple[StrengthKind, Decimal]] = {
    "[substance] / [volume]": (StrengthKind.MOL_PER_L, Decimal(1)),
    "[substance] / [mass]": (StrengthKind.MOL_PER_KG, Decimal(1000)),
    "[mass] / [volume]": (StrengthKind.G_PER_L, Decimal(1)),
    "[equivalent] / [volume]": (StrengthKind.EQ_PER_L, Decimal(1)),
    "dimensionless": (StrengthKind.PPM, Decimal(1_000_000)),
}


def _unknown_strength(text: str, unit: str) -> NoReturn:
    if unit.startswith("%"):
        raise PrepError(which_per_cent(text))
    if unit == "m":
        raise PrepError(_small_m(text))
    raise PrepError(f'"{clip(text)}": "{clip(unit)}" is no strength; accepted is {_STRENGTH_UNITS}.')


def _small_m(text: str) -> str:
    return f'"{clip(text)}": a small m may be molal or molar; write mol/kg (or molal), or mol/L (or M).'


def which_per_cent(text: str) -> str:
    """Ask for the kind of a per cent; of more than a hundred, say that as well."""
    found = re.search(rf"({NUMBER})\s*%", text)
    too_much = " No % w/w and no % v/v is above 100." if found and Decimal(found[1]) > 100 else ""
    return f'"{clip(text)}" does not say which per cent; write % w/w, % w/v or % v/v.{too_much}'


def unit_typed(text: str) -> Unit | None:
    """Find the unit that a strength was typed in, for printing in it: `5 mmol/L`.

    None of `M/10`, `1 in 10`, `saturated`.
    """
    for said in (_alone, _beside_a_name):
        try:
            unit = number(said(text), "a strength", zero=True).unit
        except PrepError:
            continue
        if unit and (found := strength_unit(unit)):
            return found
    return None


def _alone(text: str) -> str:
    return text.strip()


def _beside_a_name(text: str) -> str:
    """Cut the name out of `5 mmol/L glucose`. Raises PrepError where there is none."""
    whole = in_figures(points(text.strip()))
    return whole.replace(component(whole).what, "", 1).strip(" ,()-")


def written_as(strength: Strength, *typed: str | None) -> str:
    """Write a strength in the first multiple typed of its kind's unit: `0.5 mmol/L`.

    In the kind's own unit where no multiple of it was typed.
    """
    if strength.kind is StrengthKind.SATURATED:
        return "saturated"
    for text in typed:
        unit = unit_typed(text) if text else None
        if unit is not None and unit.kind is strength.kind and unit.factor != 1:
            return f"{figures(strength.value / unit.factor, 5)} {unit.text}"
    return f"{figures(strength.value, 5)} {strength.kind.value}"


@lru_cache(maxsize=1024)
def strength_unit(unit: str) -> Unit | None:
    """Find the unit of a strength, such as `mmol/L` or `% w/v`; None where it is none."""
    words = re.sub(r"\s+per\s+", "/", " ".join(unit.split()), flags=re.IGNORECASE)
    lower = words.lower()
    if "%" in lower:  # `% wt/vol` is % w/v
        lower = re.sub(
            r"\b(w|m|v)(?:t|eight|ass|ol|olume)\.?(?=\s*/)|(?<=/)(w|m|v)(?:t|eight|ass|ol|olume)\b\.?", r"\1\2", lower
        )
    if found := re.fullmatch(r"%\s*\(?\s*([a-z/ ]+?)\s*\)?|([a-z]/[a-z])\s*%|(wt)\.?\s*%", lower):
        kind = StrengthKind.PCT_W_W if found[3] else _PERCENT.get(found[1] or found[2])
        return Unit(kind, Decimal(1), kind.value) if kind else None
    if word := _WORDS.get(lower) or _WORDS.get(words):
        return Unit(*word, words)
    if _TIMES.fullmatch(words):
        return Unit(StrengthKind.TIMES, Decimal(1), "x")
    if re.fullmatch(r"g\s*/\s*100\s*(ml|cm3|cm³|g)", lower):
        kind = StrengthKind.PCT_W_W if lower.endswith((" g", "0g")) else StrengthKind.PCT_W_V
        return Unit(kind, Decimal(1), kind.value)
    found_unit = unit_of(words) or (unit_of(lower) if words.isupper() and "/" in words else None)
    if found_unit is None or found_unit.dimension not in _KIND_OF:
        return None
    above = unit_of(words.split("/")[0])
    if found_unit.dimension == "dimensionless" and (above is None or above.dimension != "[mass]"):
        return None  # mL/L and mol/mol have no dimension either, and are no ppm by mass
    kind, scale = _KIND_OF[found_unit.dimension]
    return Unit(kind, found_unit.factor * scale, words)
