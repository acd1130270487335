"""The droppers on file: drops per mL, and by how much drops differ. Data: seed_data/droppers.csv."""

import csv
from collections.abc import Mapping
from functools import cache

from prep.chemistry.acid_base.endpoints import Dropper
from prep.chemistry.spelling import key
from prep.errors import PrepError
from prep.records import record
from prep.resources import seed_data


@record(frozen=True, slots=True)
class NamedDropper:
    """A dropper by its code and name, and where its figures come from."""

    code: str
    name: str
    dropper: Dropper
    source: str


def dropper(name: str) -> NamedDropper:
    """Find the dropper of a code or name. Raises PrepError naming the ones on file."""
    for found in droppers().values():
        if key(name) in (key(found.code), key(found.name)):
            return found
    raise PrepError(f'"{name[:40]}" is no dropper on file; accepted are {", ".join(droppers())}.')


def common() -> NamedDropper:
    """Choose the dropper that is meant where none is named: the first on file."""
    return next(iter(droppers().values()))


def of_rate(drops_per_ml: float) -> Dropper:
    """Make a dropper of so many drops per mL, with the spread of the one on file that is nearest to it.

    Raises PrepError for what is no dropper.
    """
    near = min(droppers().values(), key=lambda d: abs(d.dropper.drops_per_ml - drops_per_ml))
    return Dropper(drops_per_ml, near.dropper.spread_pct)


@cache
def droppers() -> Mapping[str, NamedDropper]:
    """Read every dropper, by its code, in the order of the file."""
    with (seed_data() / "droppers.csv").open(encoding="utf-8", newline="") as file:
        return {
            row["code"]: NamedDropper(
                row["code"],
                row["name"],
                Dropper(float(row["drops_per_ml"]), float(row["spread_pct"])),
                row["source"],
            )
            for row in csv.DictReader(file)
        }
