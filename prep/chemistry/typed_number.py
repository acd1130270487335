"""A number and its unit as typed: the strict pattern, and the sentences for what is no number."""

import re
from decimal import Decimal
from fractions import Fraction
from unicodedata import numeric

from prep.errors import PrepError
from prep.records import record

LONGEST = 80
NUMBER = r"(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?"
_WITH_COMMA = re.compile(r"[0-9]+,[0-9]+(?![0-9.,'’])")
_QUANTITY = re.compile(rf"({NUMBER})\s*(\S.*)?")


@record(frozen=True, slots=True)
class TypedNumber:
    """A number as typed, and its unit as text."""

    value: Decimal
    unit: str


def number(text: str, accepted: str, *, zero: bool = False) -> TypedNumber:
    """Read a number and its unit. Raises PrepError, which says what is `accepted`."""
    typed = text.strip()
    if not typed:
        raise PrepError(f"Nothing was given where {accepted} belongs.")
    if _WITH_COMMA.match(typed):
        typed = point(typed)
    found = _QUANTITY.fullmatch(typed) if len(typed) <= LONGEST else None
    if not found:
        no_comma(typed)
        no_fraction(typed)
        if re.match(rf"[-−]\s*{NUMBER}", typed):
            raise PrepError(f'"{clip(text)}" is negative; accepted is {accepted}.')
        raise PrepError(f'"{clip(text)}" is not one number and a unit; accepted is {accepted}.')
    value, unit = Decimal(found[1]), (found[2] or "").strip()
    if not unit:
        raise PrepError(f'"{clip(text)}" has no unit; accepted is {accepted}.')
    no_comma(typed)
    if not unit[0].isalpha() and unit[0] != "%":
        no_fraction(typed)
    if not value and not zero:
        raise PrepError(f'"{clip(text)}" is zero; accepted is {accepted}, more than nothing.')
    if value and not -30 <= value.adjusted() <= 30:
        raise PrepError(f'"{clip(text)}" is beyond what can be weighed or measured; accepted is {accepted}.')
    return TypedNumber(value, unit)


_FIGURE = re.compile(r"^(\D*)([0-9]+)([.,])([0-9]+)(?![0-9.,])(.*)$", re.DOTALL)
_MEASURED = re.compile(
    r"(?<![\w.,-])\d+,\d+(?=\s*(?:[mcdkµu]?(?:L|l|g|mol|M)|c[mc][3³]?|dm[3³]|ML|lit(?:re|er)s?|%|pp[mb]|eq|drops?|vols?|"
    r"volumes?|molar|molal|normal|N)(?![\w-])|\s*(?:,\s|$))|(?<=pH )\d+,\d+"
)
"""A figure with a decimal comma in a line of words: before a unit, or behind pH; not that of 1,2-dibromoethane."""


def point(text: str, mark: str = ".") -> str:
    """Rewrite a number with a decimal comma to one with a point.

    Raises PrepError where the comma or the point may be a thousand's, unless it is the `mark` that is certain.
    """
    if not (found := _FIGURE.match(text)):
        return text
    before, whole, sign, part, rest = found.groups()
    if len(part) == 3 and whole.lstrip("0") and sign != mark:
        other = "comma" if sign == "," else "point"
        raise PrepError(
            f'"{text[:40]}" may be {whole}.{part} or {whole}{part}; write it without the {other}, or with other than '
            "three figures after it."
        )
    return f"{before}{whole}.{part}{rest}"


def points(line: str) -> str:
    """Rewrite the decimal commas of the amounts in a line of words, such as `0,5 mL of ethanol`, to points.

    Raises PrepError where one may divide thousands.
    """
    return _MEASURED.sub(lambda found: point(found[0]), line) if "," in line else line


def no_comma(text: str) -> None:
    """Raise PrepError where a number has a comma or another separator."""
    if found := re.search(r"[0-9](,| |'|’)[0-9]|^(,)[0-9]", text):
        what = "a comma" if "," in found[0] else "a separator"
        raise PrepError(f'"{clip(text)}" has {what}; write the number with a point and no separator (2.5, 1000).')


def no_fraction(text: str) -> None:
    """Raise PrepError where a number is a fraction."""
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
    raise PrepError(f'"{clip(text)}" has a fraction; write {found[0]} as a decimal number, {figures(value, 5)}.')


def clip(text: str) -> str:
    """Cut what was typed to fit a sentence: printable and not long."""
    shown = "".join(c if c.isprintable() else "?" for c in text.strip())
    return shown if len(shown) <= 60 else shown[:57] + "..."


def plain(value: Decimal) -> str:
    """Write a Decimal without exponent and without trailing zeros: `250`, `0.1`."""
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def figures(value: Decimal | Fraction, count: int = 5) -> str:
    """Write a number to `count` significant figures without exponent, for lines of working: `0.1235`."""
    exact = decimal_of(value) if isinstance(value, Fraction) else value
    return plain(Decimal(f"{exact:.{count}g}"))


def decimal_of(value: Fraction) -> Decimal:
    """Convert a fraction to a Decimal, to the digits that a Decimal keeps."""
    return Decimal(value.numerator) / Decimal(value.denominator)
