"""Chemical formulas: composition, molar mass, hydrates. Read by one strict grammar, or refused.

General formula libraries misread hydrates without a word (`CuSO4.5H2O` as CuSO(4.5)H2O, `CuSO4 5H2O` as
833.6 g/mol, `HOAc` with actinium), so the text is read here and only the elements' masses come from molmass: as a
table, since importing the library takes longer than all else that a small calculation does.
"""

import re
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from fractions import Fraction
from functools import cache, lru_cache

from prep.chemistry.formula.slips import SYMBOLS, refuse_slips
from prep.chemistry.formula.slips import unread as _refuse
from prep.chemistry.typed_number import decimal_of
from prep.errors import PrepError
from prep.records import record
from prep.resources import seed_table

Composition = dict[str, Decimal]
"""Element symbol -> atoms in one formula unit (halves and thirds occur in hydrates)."""

_SUBSCRIPTS = str.maketrans("₀₁₂₃₄₅₆₇₈₉", "0123456789")
_DOTS = re.compile(r"\s*[·•*∙⋅・‧⸱]\s*")
# A charge is certain where no digit before it may be a count: Na+, SO4^2-, SO4 2-, ]3-, superscripts.
_CHARGE = re.compile(
    r"\s*(?:\^\{?[0-9]?[+\-−]\}?|(?<=\])[0-9]?[+\-−]|\s[0-9]?[+\-−]|(?<![0-9])[+\-−]|[⁰¹²³⁴⁵⁶⁷⁸⁹]*[⁺⁻])$"
)
_STATE = re.compile(r"\s*\((?:aq|s|l|g)\)$")
_COEFFICIENT = re.compile(r"([0-9]+\.[0-9]+|[0-9]+/[0-9]+|[0-9]+|½)?\s*")
_ATOM = re.compile(r"([A-Z][a-z]?)([0-9]*)")
_OPEN, _CLOSE = "([{", ")]}"
_WATER = {"H": Fraction(2), "O": Fraction(1)}

# What may follow a "." with a number other than one: the dot cannot then be a decimal point.
_ADDUCTS = (
    "NH3",
    "HCl",
    "HBr",
    "HI",
    "HNO3",
    "H2SO4",
    "H3PO4",
    "H2O2",
    "C2H5OH",
    "CH3OH",
    "(NH4)2SO4",
    "K2SO4",
)


@record(frozen=True, slots=True)
class _Part:
    text: str
    count: Fraction
    atoms: tuple[tuple[str, Fraction], ...]

    @property
    def is_water(self) -> bool:
        return dict(self.atoms) == _WATER


def molar_mass(formula: str) -> Decimal:
    """Find the molar mass [g/mol] of one formula unit, hydrate water included, to six decimals.

    Standard atomic masses averaged over isotopes, from molmass. Charges are ignored (an electron is
    0.0005 g/mol). Raises PrepError if the formula cannot be read with certainty.
    """
    return _molar_mass(formula)


def composition(formula: str) -> Composition:
    """Count the atoms in one formula unit, hydrate water included. Raises PrepError as `molar_mass` does."""
    return {symbol: decimal_of(count) for symbol, count in _atoms(_read(formula)).items()}


@record(frozen=True, slots=True)
class Hydrate:
    """A formula without its water of crystallisation, and how many waters one formula unit holds."""

    dry: str
    waters: Decimal


@lru_cache(maxsize=2048)
def split_hydrate(formula: str) -> Hydrate:
    """Split off the water of crystallisation of a formula.

    `CuSO4.5H2O` -> (`CuSO4`, 5); `2CaSO4.H2O` -> (`2CaSO4`, 1); `NaCl` -> (`NaCl`, 0). Ligand water inside
    square brackets stays. Raises PrepError as `molar_mass` does.
    """
    parts = _read(formula)
    dry = [p for p in parts if not p.is_water]
    if not dry:  # water itself
        return Hydrate(parts[0].text, Decimal(0))
    texts = (("" if p.count == 1 else str(decimal_of(p.count))) + p.text for p in dry)
    return Hydrate(".".join(texts), decimal_of(sum((p.count for p in parts if p.is_water), Fraction(0))))


def anhydrous(formula: str) -> str:
    """Write a formula without its water of crystallisation."""
    return split_hydrate(formula).dry


def units_in(formula: str, solute: str) -> Decimal:
    """Count the formula units of `solute` in one of `formula`: one salt, in whatever hydrate.

    `CuSO4.5H2O` gives 1 of `CuSO4`; `3CdSO4.8H2O` gives 3 of `CdSO4`. Water of crystallisation of either does
    not count. Raises PrepError if the two are not the same solute.
    """
    return _units_in(formula, solute)


def counted_as(grams: Decimal, formula: str, other: str) -> Decimal:
    """Convert grams of `formula` to the grams of `other`, another hydrate, that hold as much solute.

    m2 = m1 M2 / (n M1), n the units of `formula` in one of `other`. Raises PrepError as `units_in` does.
    """
    if formula == other:
        return grams
    return grams * molar_mass(other) / (molar_mass(formula) * _units_in(other, formula))


def same_solute(one: str, other: str) -> bool:
    """Tell whether two formulas are the same but for water of crystallisation (and how many units)."""
    try:
        return _ratio(one, other) is not None
    except PrepError:
        return False


def as_written(formula: str) -> str:
    """Write a formula with plain digits and plain dots, for comparing: `CuSO₄·5H₂O` is `CuSO4.5H2O`."""
    return _DOTS.sub(".", formula.strip().translate(_SUBSCRIPTS))


def respelled(typed: str, known: Iterable[str]) -> str | None:
    """Find the one known formula that differs from what was typed in capitals alone; None for none or several.

    What can be read as it was typed is left alone: CO is not Co, COCl2 not CoCl2. Neither is guessed of `co`.
    """
    written = as_written(typed)
    found = {formula for formula in known if formula and formula.casefold() == written.casefold()}
    if len(found) != 1 or _reads(written):
        return None
    if len(written) == 2 and _reads(written.upper()) and _reads(written.capitalize()):
        return None
    return found.pop()


def _reads(formula: str) -> bool:
    try:
        _read(formula)
    except PrepError:
        return False
    return True


@lru_cache(maxsize=2048)
def _molar_mass(formula: str) -> Decimal:
    return sum((_masses()[s] * decimal_of(n) for s, n in _atoms(_read(formula)).items()), Decimal(0)).quantize(
        Decimal("0.000001")
    )


@lru_cache(maxsize=2048)
def _units_in(formula: str, solute: str) -> Decimal:
    ratio = _ratio(formula, solute)
    if ratio is None:
        raise PrepError(f'"{formula}" does not give "{solute}": they differ by more than water of crystallisation.')
    return decimal_of(ratio)


def _ratio(formula: str, solute: str) -> Fraction | None:
    """Count the units of one formula, without water, in one of the other; None where they are not the same."""
    one, other = _dry_atoms(formula), _dry_atoms(solute)
    ratios = {one[s] / other[s] for s in one} if one.keys() == other.keys() else set()
    return ratios.pop() if len(ratios) == 1 else None


@lru_cache(maxsize=2048)
def _dry_atoms(formula: str) -> dict[str, Fraction]:
    """Count the atoms of one unit without its water of crystallisation; of water itself, all."""
    parts = _read(formula)
    return _atoms([part for part in parts if not part.is_water] or parts)


@cache
def _masses() -> dict[str, Decimal]:
    """Read the mass [g/mol] of each element by its symbol."""
    return {row["symbol"]: Decimal(row["g_per_mol"]) for row in seed_table("atomic_weights")}


def _atoms(parts: Sequence[_Part]) -> dict[str, Fraction]:
    total: dict[str, Fraction] = {}
    for part in parts:
        for symbol, count in part.atoms:
            total[symbol] = total.get(symbol, Fraction(0)) + count * part.count
    return total


@lru_cache(maxsize=2048)
def _read(formula: str) -> tuple[_Part, ...]:
    text = formula.strip()
    if not text or len(text) > 120:
        raise PrepError(f'"{text[:40]}" is no chemical formula; write such as CuSO4.5H2O.')
    text = _CHARGE.sub("", _STATE.sub("", text.translate(_SUBSCRIPTS)))
    if text == "NH4OH":  # written so on old labels: ammonia in water
        text = "NH3·H2O"
    refuse_slips(text, formula)
    text = _DOTS.sub("·", text)
    # A space may stand for the dot before water: "CuSO4 5H2O".
    text = re.sub(r"(?<=[A-Za-z0-9)\]])\s+(?=(?:[0-9]+(?:\.[0-9]+)?|[0-9]+/[0-9]+|½)?\s*H2O$)", "·", text, count=1)
    parts = list(_parts(text, formula))
    if len(parts) == 1 and parts[0].count != 1:
        raise PrepError(f'"{formula}" begins with a number; write the formula of one unit, such as HCl.')
    last = parts[-1]
    if trailing := re.fullmatch(r"([^\[{]+)\(H2O\)([0-9]*)", last.text):  # CuSO4(H2O)5 is CuSO4.5H2O
        dry = _Part(trailing[1], last.count, tuple(_group(trailing[1], formula).items()))
        parts[-1:] = [dry, _Part("H2O", last.count * int(trailing[2] or 1), tuple(_WATER.items()))]
    return tuple(parts)


def _parts(text: str, formula: str) -> Iterator[_Part]:
    at, before, dot = 0, "", ""
    while True:
        found = _COEFFICIENT.match(text, at)
        assert found is not None  # the pattern matches nothing too
        number = found[1] or "1"
        count = Fraction(1, 2) if number == "½" else _fraction(number, formula)
        end = next((i for i in range(found.end(), len(text)) if text[i] in ".·"), len(text))
        body = text[found.end() : end].strip()
        atoms = _group(body, formula)
        if dot:
            _check_joint(before, dot + (found[1] or ""), body, atoms, formula)
        elif count.denominator != 1:
            _refuse(formula, f'"{number}" before the first part is no whole number')
        yield _Part(body, count, tuple(atoms.items()))
        if end == len(text):
            return
        before, dot, at = body, text[end], end + 1
        while at < len(text) and text[at] == " ":
            at += 1


def _check_joint(before: str, joint: str, body: str, atoms: dict[str, Fraction], formula: str) -> None:
    """Refuse a dot that may be a subscript's decimal point (Fe0.95O, LaSr1.5O4), or that joins no compound."""
    if len(atoms) < 2:
        _refuse(formula, f'"{body}" after the dot is no compound')
    if joint[0] != "." or len(joint) == 1:
        return
    bare = re.fullmatch(r"[A-Z][a-z]?[0-9]*", before) and before not in ("Cl2", "Br2")
    if bare or re.search(r"[A-Za-z]1$", before):
        _refuse(formula, f'the dot after "{before}" may be a decimal point; counts of atoms are whole numbers')
    if atoms != _WATER and body not in _ADDUCTS:
        _refuse(formula, f'the dot before "{joint[1:]}{body}" may be a decimal point; write it with "·"')


def _fraction(number: str, formula: str) -> Fraction:
    try:
        count = Fraction(number)
    except (ValueError, ZeroDivisionError):
        count = Fraction(0)
    if not 0 < count <= 100 or (number[0] == "0" and number[:2] not in ("0.", "0/")):
        _refuse(formula, f'the number "{number}" cannot be a count of formula units')
    return count


def _group(text: str, formula: str) -> dict[str, Fraction]:
    """Count the atoms of a part without dots: symbols, counts, nested brackets."""
    stack: list[tuple[str, dict[str, Fraction]]] = [("", {})]
    at = 0
    while at < len(text):
        char = text[at]
        if char in _OPEN:
            stack.append((char, {}))
            at += 1
        elif char in _CLOSE:
            opened, inner = stack.pop()
            if not opened or _OPEN.index(opened) != _CLOSE.index(char) or not inner:
                _refuse(formula, "its brackets do not match, or are empty")
            found = re.compile("[0-9]*").match(text, at + 1)
            assert found is not None
            times = _count(found[0], formula)
            for symbol, count in inner.items():
                stack[-1][1][symbol] = stack[-1][1].get(symbol, Fraction(0)) + count * times
            at = found.end()
        else:
            atom = _ATOM.match(text, at)
            if not atom:
                _refuse(formula, f'"{text[at:]}" is not read as an element, a count or a bracket')
            if atom[1] not in SYMBOLS:
                _refuse(
                    formula,
                    f'"{atom[1]}" is no element\'s symbol (abbreviations such as Et, Ph or Ac are not read)',
                )
            stack[-1][1][atom[1]] = stack[-1][1].get(atom[1], Fraction(0)) + _count(atom[2], formula)
            at = atom.end()
    if len(stack) != 1:
        _refuse(formula, "its brackets do not match")
    if not stack[0][1]:
        _refuse(formula, "a part of it is empty")
    return stack[0][1]


def _count(digits: str, formula: str) -> int:
    if digits[:1] == "0" or len(digits) > 4:
        _refuse(formula, f'"{digits}" cannot be a count of atoms')
    return int(digits or 1)
