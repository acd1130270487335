"""How two plain groups may be kept: together, in trays of their own, or apart, each with its rule and source."""

from dataclasses import dataclass, replace
from functools import cache

from prep.resources import seed_table
from prep.safety.hazard_tables import Row
from prep.safety.storage_groups import StorageGroup

RANK = {"incompatible": 0, "separate": 1}
"""Verdicts that part two bottles, the worse first."""
_STORED = {"yes": "incompatible", "tray": "separate"}  # column `storage` of never_mix.csv
# What happens, worst first: how findings of one verdict are ordered.
_HAPPENS = (
    "explosion",
    "do not mix",
    "cyanide",
    "chlor",
    "toxic",
    "sulfide",
    "fire",
    "flammable gas",
    "hydrogen",
)
_GAS = frozenset({"hypochlorite", "cyanide", "sulfide", "fluoride_inorganic", "sulfite_thiosulfate", "oxidiser"})
_HOLDS_SULFUR_DIOXIDE = "sulfite_thiosulfate"


@dataclass(frozen=True, slots=True)
class Separation:
    """How two things may be kept: `incompatible`, `separate` (own trays), or `compatible`."""

    verdict: str
    reason: str
    rule: str
    source: str

    @property
    def bad(self) -> bool:
        """Whether they must not stand together as they are."""
        return self.verdict in RANK


FINE = Separation("compatible", "", "", "")


def pair_verdict(one: str, other: str) -> Separation:
    """Find the verdict between two plain groups, from seed_data/tables/storage_pairs.csv, in either order."""
    row = _pairs().get((one, other)) or _pairs().get((other, one))
    if row is None or row["verdict"] not in RANK:
        return FINE
    rule = "; ".join(
        part
        for part in (
            f"chart cells {row['epa_cells']}" if row["epa_cells"] else "",
            f"49 CFR 177.848 cell {row['dot_cell']}" if row["dot_cell"] in ("O", "X") else "",
        )
        if part
    )
    return Separation(row["verdict"], row["reason"], rule, row["source"])


@cache
def verdict_of(one: StorageGroup, other: StorageGroup) -> Separation:
    """Find the verdict of two groups as they are in their bottles.

    A mild acid only frees gas from what holds one loosely, a mild organic one (citric, tartaric) not from a sulfite or
    thiosulfate. An acid and an alkali that are both dilute warm each other, and no more.
    """
    if (one.mild and other.mild) or (one.mild and other.name not in _GAS) or (other.mild and one.name not in _GAS):
        return FINE
    for acid, salt in ((one, other), (other, one)):
        if acid.mild and acid.name == "acid_organic" and salt.name == _HOLDS_SULFUR_DIOXIDE:
            return FINE
    found = pair_verdict(one.name, other.name)
    if found.verdict == "incompatible" and one.dilute and other.dilute:
        reason = "both are dilute: they warm each other if both leak"
        return replace(found, verdict="separate", reason=reason)
    return found


@cache
def _pairs() -> dict[tuple[str, str], Row]:
    return {(row["group_a"], row["group_b"]): row for row in seed_table("storage_pairs")}


@cache
def matches_asked() -> frozenset[str]:
    """List what the rows of never_mix.csv are about, each match once."""
    return frozenset(row[side] for row, _ in never_mix() for side in ("one", "other"))


@cache
def never_mix() -> tuple[tuple[Row, Separation], ...]:
    """Read the rows of never_mix.csv that hold for storage, with what they say."""
    return tuple(
        (row, Separation(_STORED[row["storage"]], f"{row['makes']}: {row['text']}", row["fact"], row["source"]))
        for row in seed_table("never_mix")
        if row["storage"] in _STORED
    )


@cache
def badness(verdict: Separation) -> tuple[int, int]:
    """Rank a verdict by how bad it is, the worst lowest: what it asks for, then what would happen."""
    text = verdict.reason.casefold()
    worst = next((i for i, word in enumerate(_HAPPENS) if word in text), len(_HAPPENS))
    return RANK.get(verdict.verdict, 2), worst
