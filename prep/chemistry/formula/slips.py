"""What looks like a formula and is not: slips of capitals, abbreviations, symbols that are not certain."""

import re
from typing import NoReturn

from prep.errors import PrepError

# Elements that a bottle may hold. Left out are those with no stable isotope but uranium and thorium, and
# praseodymium: Ac, Pr and Ts are far more often acetyl, propyl and tosyl, No and Po a slip for NO and PO.
_SYMBOL = re.compile("[A-Z][a-z]?")
SYMBOLS = frozenset(
    _SYMBOL.findall(
        "H He Li Be B C N O F Ne Na Mg Al Si P S Cl Ar K Ca Sc Ti V Cr Mn Fe Co Ni Cu Zn Ga Ge As Se Br Kr "
        "Rb Sr Y Zr Nb Mo Ru Rh Pd Ag Cd In Sn Sb Te I Xe Cs Ba La Ce Nd Sm Eu Gd Tb Dy Ho Er Tm Yb Lu "
        "Hf Ta W Re Os Ir Pt Au Hg Tl Pb Bi Th U"
    )
)
_NON_METALS = frozenset(_SYMBOL.findall("H He B C N O F Ne Si P S Cl Ar As Se Br Kr Te I Xe"))

# Abbreviations and names whose letters all happen to be symbols.
_ABBREVIATIONS = {
    "KHP": "potassium hydrogen phthalate is KHC8H4O4",
    "KHPH": "potassium hydrogen phthalate is KHC8H4O4",
    "HIn": "an indicator's formula is written out",
    "PBS": "phosphate-buffered saline is a mixture",
    "PVC": "a polymer has no one molar mass",
    "NBS": "N-bromosuccinimide is C4H4BrNO2",
    "NCS": "write thiocyanate SCN, N-chlorosuccinimide C4H4ClNO2",
    "NIS": "N-iodosuccinimide is C4H4INO2",
    "PCB": "a mixture has no one molar mass",
    "CFC": "a group of compounds has no one molar mass",
    "BPB": "bromophenol blue is C19H10Br4O5S",
    "BHC": "hexachlorocyclohexane is C6H6Cl6",
    "SiC2": "silicon carbide is SiC",
}


def unread(formula: str, why: str) -> NoReturn:
    """Raise the PrepError for a formula that is not read with certainty."""
    shown = "".join(c if c.isprintable() else "?" for c in formula.strip())[:60]
    raise PrepError(f'The formula "{shown}" cannot be read with certainty: {why}. Write such as CuSO4.5H2O.')


def refuse_slips(text: str, formula: str) -> None:
    """Refuse a formula that could be read and still mean something else.

    `text` is without charge and state.
    """
    if reason := _ABBREVIATIONS.get(text):
        unread(formula, reason)
    if odd := re.search(r"[^A-Za-z0-9()\[\]{}.·•*∙⋅・‧⸱/½ ]", text):
        if odd[0] in "+-−":
            unread(formula, 'a charge is written "^2-", a hydrate with a dot')
        unread(formula, f'"{odd[0]}" has no place in it')
    if re.search(r"[.·•*∙⋅ ][nx]\s*H2O", text):
        unread(formula, "the number of waters must be a number")
    if re.search(r"[A-Za-z)\]][0-9]{2,}H2O$", text):
        unread(formula, "a dot is missing before the water")
    if re.search(r"H20(?![0-9])", text) and "C" not in text:
        unread(formula, '"H20" has a zero where water has the letter O')
    # In capitals only, these metals fall apart into non-metals: PBO, CUSO4, COSO4, NICO3.
    if re.match(r"(?:PB|SN|CU|NI|BI|CO|CS|IN)(?!OH|OK$|ON)[A-Z]", text) and not re.search(r"[a-z]", text):
        unread(formula, "a metal's symbol has one capital, such as Pb or Co")
    symbols = _SYMBOL.findall(text)
    if "U" in symbols[1:] and not re.search(r"[\])}0-9]U", text):
        unread(formula, '"U" is uranium; copper is Cu')
    if len(set(symbols)) > 1 and not _NON_METALS.intersection(symbols):
        unread(formula, "it holds metals only; carbonate is CO3 and hydroxide OH, with capitals")
    if slip := re.search(r"[CHNO][0-9]*(Co|Hf|Ho|Os|Cs|Sn|Sc|In)", text):
        unread(formula, f'"{slip[1]}" is an element here; for two elements write "{slip[1].upper()}"')
