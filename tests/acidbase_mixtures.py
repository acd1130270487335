"""Compositions for the acid-base tests: as written in the data files, and random ones."""

import random
from collections.abc import Collection, Iterator

from prep.chemistry.acid_base.equilibrium import mixture_of, solve
from prep.chemistry.acid_base.species import Component, component

FORMULAS = (
    "HCl H2SO4 HNO3 NaOH KOH NH3 NH4Cl (NH4)2SO4 CH3COOH CH3COONa KH2PO4 Na2HPO4 H3PO4 NaHCO3 Na2CO3 H3BO3 "
    "Na2B4O7 C6H8O7 Na3C6H5O7 KHC8H4O4 KHC4H4O6 H2C2O4 C4H11NO3 C2H5NO2 C4H6O4 NaCl KCl KNO3 Na2SO4 NaHSO4 HCOOH"
).split()


def written(text: str, *, per_litre: bool = False) -> list[Component]:
    """Components of `CH3COOH=0.1;CH3COONa=0.3`; nothing is water."""
    pairs = (part.split("=") for part in text.split(";") if part)
    return [component(formula, float(amount), per_litre=per_litre) for formula, amount in pairs]


def drawn(count: int, seed: int, highest_i: float = 0.3, without: Collection[str] = ()) -> Iterator[list[Component]]:
    """Random mixtures of one to five substances, 0.0003 to 0.3 mol/kg each, up to an ionic strength."""
    chance = random.Random(seed)
    while count:
        chosen = chance.sample([f for f in FORMULAS if f not in without], chance.randint(1, 5))
        parts = [component(f, round(10 ** chance.uniform(-3.5, -0.5), 6), per_litre=False) for f in chosen]
        if solve(mixture_of(parts)).ionic_strength <= highest_i:
            count -= 1
            yield parts
