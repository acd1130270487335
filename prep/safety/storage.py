"""What must not share a place: pair verdicts between plain groups, each with its rule and source."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import combinations

from prep.chemistry.model import Substance
from prep.errors import PrepError
from prep.safety.matching import matches
from prep.safety.model import Finding
from prep.safety.reading import classes_of
from prep.safety.storage_groups import StorageGroup
from prep.safety.tables import Row, keyed, rows

_RANK = {"incompatible": 0, "separate": 1}
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


@dataclass(frozen=True, slots=True)
class Kept:
    """A bottle where it stands. `substance` lets rules about particular substances apply to it."""

    bottle: str
    item: str
    location: str
    groups: tuple[StorageGroup, ...]
    name: str = ""
    substance: Substance | None = None

    @property
    def called(self) -> str:
        """The name if there is one, else the item's code."""
        return self.name or self.item


@dataclass(frozen=True, slots=True)
class Verdict:
    """How two things may be kept: `incompatible`, `separate` (own trays), or `compatible`."""

    verdict: str
    reason: str
    rule: str
    source: str

    @property
    def bad(self) -> bool:
        """Whether they must not stand together as they are."""
        return self.verdict in _RANK


_FINE = Verdict("compatible", "", "", "")


def pair_verdict(one: str, other: str) -> Verdict:
    """Verdict between two plain groups, from seed_data/tables/storage_pairs.csv, in either order."""
    row = _pairs().get((one, other)) or _pairs().get((other, one))
    if row is None or row["verdict"] not in _RANK:
        return _FINE
    rule = "; ".join(
        part
        for part in (
            f"chart cells {row['epa_cells']}" if row["epa_cells"] else "",
            f"49 CFR 177.848 cell {row['dot_cell']}" if row["dot_cell"] in ("O", "X") else "",
        )
        if part
    )
    return Verdict(row["verdict"], row["reason"], rule, row["source"])


def segregation(row_class: str, col_class: str) -> str:
    """Cell of the table of 49 CFR 177.848(d): `X` never together, `O` only apart, `*`, or `blank`."""
    for row in rows("segregation_177_848"):
        if (row["row_class"], row["col_class"]) == (row_class, col_class):
            return row["cell"]
    raise KeyError(f"{row_class} / {col_class} is not in 49 CFR 177.848(d)")


def between(one: Kept, other: Kept) -> Verdict:
    """The worst verdict between two bottles: particular substances first, then group by group."""
    if one.item == other.item:
        return _FINE
    found = [_FINE]
    if one.substance and other.substance:
        for row in rows("never_mix"):
            if row["storage"] == "yes" and (
                _meets(row, one.substance, other.substance) or _meets(row, other.substance, one.substance)
            ):
                found.append(Verdict("incompatible", f"{row['makes']}: {row['text']}", row["fact"], row["source"]))
    found += [_of_groups(a, b) for a in one.groups for b in other.groups]
    return min(found, key=_badness)


def conflicts(kept: Sequence[Kept], locations: Sequence[str] = ()) -> tuple[Finding, ...]:
    """Pairs that must not share a location, worst first, each once by item, with where to move one.

    `act`: incompatible. `note`: apart in trays of their own, or nothing known about it. `locations` are the
    places a bottle may be moved to; without it those in use.
    """
    places = list(dict.fromkeys([*locations, *(one.location for one in kept)]))
    by_place: dict[str, list[Kept]] = defaultdict(list)
    for one in sorted(kept, key=lambda k: (k.location, k.item, k.bottle)):
        by_place[one.location].append(one)
    found: list[tuple[tuple[int, int], Finding]] = []
    for place, here in by_place.items():
        pairs: dict[tuple[str, str], tuple[Verdict, list[Kept], list[Kept]]] = {}
        for one, other in combinations(here, 2):
            verdict = between(one, other)
            if verdict.bad:
                _, ones, others = pairs.setdefault((one.item, other.item), (verdict, [], []))
                ones.append(one)
                others.append(other)
        trouble = Counter(
            item for items, (verdict, _, _) in pairs.items() if verdict.verdict == "incompatible" for item in items
        )
        for verdict, ones, others in pairs.values():
            found.append(
                (_badness(verdict), _finding(place, verdict, *_worse_first(ones, others, trouble), by_place, places))
            )
        found += [((2, 0), finding) for finding in _not_known(place, here)]
    return tuple(finding for _, finding in sorted(found, key=lambda f: (f[0], f[1].about, f[1].message)))


def _worse_first(ones: list[Kept], others: list[Kept], trouble: Mapping[str, int]) -> tuple[list[Kept], list[Kept]]:
    """The side first that clashes with more of what stands there: it is the one to move."""
    return (ones, others) if trouble[ones[0].item] >= trouble[others[0].item] else (others, ones)


def _of_groups(one: StorageGroup, other: StorageGroup) -> Verdict:
    """A mild acid sets gas free from what holds one, and feeds no fire and no heat otherwise."""
    if (one.mild and other.name not in _GAS) or (other.mild and one.name not in _GAS):
        return _FINE
    return pair_verdict(one.name, other.name)


def _badness(verdict: Verdict) -> tuple[int, int]:
    text = verdict.reason.casefold()
    worst = next((i for i, word in enumerate(_HAPPENS) if word in text), len(_HAPPENS))
    return _RANK.get(verdict.verdict, 2), worst


def _meets(row: Row, one: Substance, other: Substance) -> bool:
    return matches(row["one"], one) and matches(row["other"], other)


def _finding(
    place: str,
    verdict: Verdict,
    ones: Sequence[Kept],
    others: Sequence[Kept],
    by_place: dict[str, list[Kept]],
    places: Sequence[str],
) -> Finding:
    first, second = ones[0], others[0]
    apart = verdict.verdict == "incompatible"
    must = "must not share a place" if apart else "need trays of their own"
    codes = f"{_codes(ones)} and {_codes(others)}"
    message = f"{place}: {first.called} and {second.called} ({codes}) {must}: {verdict.reason}"
    if verdict.rule:
        message += f" [{verdict.rule}]"
    if apart:
        cure = _where_to(place, list(dict.fromkeys(ones)), list(dict.fromkeys(others)), by_place, places)
    else:
        cure = "Stand each in its own tray, or move one."
    return Finding(
        "act" if apart else "note",
        "store-apart" if apart else "own-tray",
        place,
        f"{message}.",
        cure,
        verdict.source,
    )


def _codes(bottles: Iterable[Kept]) -> str:
    return ", ".join(dict.fromkeys(one.bottle for one in bottles))


def _where_to(
    place: str,
    ones: Sequence[Kept],
    others: Sequence[Kept],
    by_place: dict[str, list[Kept]],
    places: Sequence[str],
) -> str:
    """The move that clashes with nothing, of `ones` if there is one: to their like, or to an empty place.

    What is low in hazard may go among other things; what is not gets a place of its own instead.
    """
    best: tuple[tuple[int, int, int, int], str, Sequence[Kept]] | None = None
    for side, moved in enumerate((ones, others)):
        for number, there in enumerate(places):
            if there == place:
                continue
            standing = by_place.get(there, [])
            verdicts = [between(moved[0], one) for one in standing]
            if any(v.verdict == "incompatible" for v in verdicts):
                continue
            own = {g.name for g in moved[0].groups if g.name not in ("water_aqueous", "low_hazard")}
            alike = any(g.name in own for one in standing for g in one.groups)
            tame = all(g.mild or g.name in ("water_aqueous", "low_hazard") for g in moved[0].groups)
            if standing and not alike and not tame:
                continue
            rank = (side, sum(v.bad for v in verdicts), 0 if alike else 1, number)
            if best is None or rank < best[0]:
                best = (rank, there, moved)
    if best is None:
        return f"Give {_codes(ones)} a place of its own."
    _, there, moved = best
    return f"Move {_codes(moved)} ({moved[0].called}) to {there}."


def _not_known(place: str, here: Sequence[Kept]) -> Iterable[Finding]:
    for one in here:
        if not one.groups:
            yield Finding(
                "note",
                "not-known",
                place,
                f"{place}: {one.called} ({one.bottle}) {_gap(one)}; what may stand beside it is open.",
                "Look it up in the supplier's safety data sheet and record it with: prep substance import --replace",
            )


def _gap(one: Kept) -> str:
    """Why nothing is known of a bottle."""
    if one.substance is None or not (one.substance.storage_group or one.substance.classification):
        return "has no hazard data"
    try:
        classes_of(one.substance.classification)
    except PrepError:
        return f"has the classification '{one.substance.classification}', which cannot be read"
    group = one.substance.storage_group
    return f"has the storage group '{group}', which is none of those known" if group else "has no storage group"


@cache
def _pairs() -> dict[tuple[str, str], Row]:
    return {(row["group_a"], row["group_b"]): row for row in rows("storage_pairs")}


def group_name(group: str) -> str:
    """Plain name of a group for a person to read."""
    row = keyed("storage_groups", "group").get(group)
    return row["name"] if row else group
