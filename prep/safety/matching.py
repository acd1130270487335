"""Which substances a row of cautions.csv or never_mix.csv is about.

A match is alternatives between `|`, each of conditions joined by `&`: `solute=`, `group=`, `code=`, `cas=`,
`form=`, `h=` (a hazard statement in its classification), a trailing `*` for any ending, `strong` (it can burn
skin as it is: H314 or H318), `organic` (by its formula), `from=` (% w/w that it has at least) and `below=` (% w/w that
it is known to have less than).
"""

import re
from decimal import Decimal
from functools import cache

from prep.chemistry.model import Substance

_ELEMENT = re.compile("[A-Z][a-z]?")
_ORGANIC = frozenset("C H O N S P F Cl Br I".split())
_H_CODE = re.compile(r"\b(?:EUH|H)\d{3}[A-Za-z]*")


@cache
def h_codes(classification: str) -> tuple[str, ...]:
    """Find the hazard statements named in a classification, in order."""
    return tuple(_H_CODE.findall(classification))


@cache
def is_organic(formula: str) -> bool:
    """Tell whether a formula is that of an organic compound: carbon and hydrogen, no metal and no carbonate."""
    return {"C", "H"} <= set(_ELEMENT.findall(formula)) <= _ORGANIC and "CO3" not in formula


@cache
def matches(match: str, substance: Substance) -> bool:
    """Tell whether the substance is one of those the match is about."""
    return any(all(_holds(*condition, substance) for condition in alternative) for alternative in _read(match))


@cache
def _read(match: str) -> tuple[tuple[tuple[str, str], ...], ...]:
    """Read a match as alternatives of conditions, each a key and what it wants."""
    return tuple(
        tuple((key.strip(), wanted.strip()) for key, _, wanted in (c.partition("=") for c in alternative.split("&")))
        for alternative in match.split("|")
    )


def _holds(key: str, wanted: str, substance: Substance) -> bool:
    codes = h_codes(substance.classification)
    match key:
        case "solute":
            have: tuple[str, ...] = (substance.solute,)
        case "group":
            have = (substance.storage_group,)
        case "code":
            have = (substance.code,)
        case "cas":
            have = (substance.cas,)
        case "form":
            have = (substance.form.value,)
        case "h":
            have = codes
        case "from":  # a bottle whose strength is not on file may be strong
            return substance.assay_pct is None or substance.assay_pct >= Decimal(wanted)
        case "below":
            return substance.assay_pct is not None and substance.assay_pct < Decimal(wanted)
        case "strong":
            return "H314" in codes or "H318" in codes
        case "water":
            return substance.code == "water"
        case "organic":
            return is_organic(substance.formula)
        case _:
            raise ValueError(f"unknown condition {key!r}")
    if wanted.endswith("*"):
        return any(one.startswith(wanted[:-1]) for one in have)
    return wanted in have
