"""The parts of a titration as a person writes them: titres, an uncertainty, a purity, a ratio, what was found."""

import re
from decimal import Decimal
from fractions import Fraction

from prep.chemistry import quantities
from prep.chemistry.model import Solution, Strength, StrengthKind
from prep.errors import PrepError
from prep.wording import Flag


def volumes_of(text: str, unit: str = "") -> list[Decimal]:
    """Read titres from `24.35 mL, 24.40 mL`, `24.35, 24.40 mL` or `24.35 24.40 mL`; `unit` is theirs if none is said.

    Decimal commas are read where a space or semicolon parts the titres. Raises PrepError, also where a comma may part
    two titres as well as stand for a point.
    """
    text = _pointed(text)
    parts = [part.strip() for part in re.split(r"[,;]\s*|(?<=[0-9])\s+(?=[0-9])", text) if part.strip()]
    said = re.search(r"[A-Za-zµ]+[0-9]?\s*$", text)
    last = said[0].strip() if said else unit
    return [quantities.volume_ml(part if re.search(r"[A-Za-z]", part) else f"{part} {last}") for part in parts]


def found_strength(text: str, solution: Solution) -> Strength:
    """Read the strength that was found of a solution, of the kind on its entry. Raises PrepError."""
    strength = quantities.strength(text)
    if solution.strength is None or solution.strength.kind is StrengthKind.SATURATED:
        raise PrepError(f"{solution.name} has no one strength that could be found.")
    if strength.kind is not solution.strength.kind:
        raise PrepError(Flag("--found"), f": give the strength in {solution.strength.kind.value}, as on its entry.")
    if not solution.strength.value / 2 <= strength.value <= solution.strength.value * 2:
        raise PrepError(Flag("--found"), f" {strength} is far from {solution.strength}; that is another solution.")
    return strength


def _pointed(text: str) -> str:
    if "." in text or not re.search(r"\d,\d", text):
        return text
    if re.search(r"\d,\d+\s*(?:[A-Za-z]+\d?\s*)?[\s;]\s*\d+,\d", text) and not re.search(r"\d,\d+,", text):
        return re.sub(r"(?<=\d),(?=\d)", ".", text)
    raise PrepError(
        f'"{text[:40]}": a comma between figures may part two titres or stand for a point; write each with a point, '
        "a space between them: 24.60 24.65."
    )


def pct_of(text: str) -> Decimal:
    """Read the uncertainty of a standard, `0.2 %`. Raises PrepError."""
    read = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*%\s*", text)
    if not read or not 0 < Decimal(read[1]) < 50:
        raise PrepError(
            f'"+-{text[:20]}" is not accepted; write the standard\'s uncertainty (k = 2) such as "+- 0.2 %".'
        )
    return Decimal(read[1])


def purity_of(text: str | None) -> Decimal | None:
    """Read the purity of a primary standard as a share, of per cent. Raises PrepError."""
    if text is None:
        return None
    read = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*%?\s*", text)
    if not read or not 50 <= Decimal(read[1]) <= 100:
        raise PrepError(
            Flag("--purity"), f' "{text[:20]}" is not accepted; write per cent from 50 to 100, such as 99.95.'
        )
    return Decimal(read[1]) / 100


def ratio_of(text: str | None) -> Fraction | None:
    """Read moles to one mole, `1`, `2` or `5/2`. Raises PrepError."""
    if text is None:
        return None
    read = re.fullmatch(r"\s*(\d{1,3})(?:\s*[/:]\s*(\d{1,3}))?\s*", text)
    if not read or not int(read[1]) or (read[2] and not int(read[2])):
        raise PrepError(
            Flag("--ratio"), f' "{text[:20]}" is not accepted; write moles to one mole, such as 1, 2 or 5/2.'
        )
    return Fraction(int(read[1]), int(read[2] or 1))
