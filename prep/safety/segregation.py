"""What must not share a place: pair verdicts between plain groups, each with its rule and source."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from prep.chemistry.model import Substance
from prep.errors import PrepError
from prep.findings import Finding, Severity
from prep.safety.clp.parse import classes_of
from prep.safety.matching import matches
from prep.safety.model import ACIDS, ALKALIS
from prep.safety.storage_groups import StorageGroup
from prep.safety.storage_verdicts import FINE, Separation, badness, matches_asked, never_mix, pair_verdict, verdict_of
from prep.wording import AtTerminal, Sentence

__all__ = ["StoredBottle", "between", "conflicts", "newcomers", "pair_verdict"]

_TAME = frozenset({"water_aqueous", "low_hazard"})


@dataclass(frozen=True, slots=True)
class StoredBottle:
    """A bottle where it stands. `substance` lets rules about particular substances apply to it.

    Of what is dissolved in a made solution, `dissolved`, only the rules hold that are marked so.
    """

    bottle: str
    item: str
    location: str
    groups: tuple[StorageGroup, ...]
    name: str = ""
    substance: Substance | None = None
    dissolved: tuple[Substance, ...] = ()

    @property
    def called(self) -> str:
        """The name if there is one, else the item's code."""
        return self.name or self.item


def between(one: StoredBottle, other: StoredBottle) -> Separation:
    """Find the worst verdict between two items: particular substances first, then group by group."""
    return _Room((one, other), ()).between(one, other)


def conflicts(kept: Sequence[StoredBottle], locations: Sequence[str] = ()) -> tuple[Finding, ...]:
    """List the pairs that must not share a location, worst first, each once by item, with where to move one.

    `act`: incompatible. `note`: apart in trays of their own, or nothing known about it. `locations` are the
    places a bottle may be moved to; without it those in use. Bottles of one item are alike.
    """
    return _Room(kept, locations).findings()


def newcomers(
    new: Sequence[StoredBottle], kept: Sequence[StoredBottle], locations: Sequence[str] = ()
) -> dict[str, tuple[Finding, ...]]:
    """List what must not stand beside each new bottle where it is put, worst first; as `conflicts`, of it alone.

    `kept` are the bottles that stood there before.
    """
    room = _Room([*kept, *new], locations)
    alike: dict[tuple[str, str], list[StoredBottle]] = {}
    for one in new:
        alike.setdefault((one.item, one.location), []).append(one)
    return {one.bottle: found for ones in alike.values() for found in [room.beside(ones)] for one in ones}


_TRAYS = "Stand each in its own tray, or move one."
_Pair = tuple[Separation, list[StoredBottle], list[StoredBottle]]


@dataclass(frozen=True, slots=True)
class _Kind:
    """What an item is to the rules: its groups, and the rows of never_mix.csv that it is the one or the other of."""

    groups: tuple[StorageGroup, ...]
    ones: frozenset[int]
    others: frozenset[int]


class _Room:
    """What stands where, by item; each answer about two items, or an item and a place, is worked out once."""

    def __init__(self, kept: Sequence[StoredBottle], locations: Sequence[str]) -> None:
        self._in_order = list(enumerate(dict.fromkeys([*locations, *(one.location for one in kept)])))
        self._order = {place: order for order, place in self._in_order}
        self._own: dict[str, list[tuple[int, str]]] = {}  # by item: where it stands or is moved to
        self._standing: dict[str, dict[str, list[StoredBottle]]] = {}
        for one in sorted(kept, key=lambda k: (k.location, k.item, k.bottle)):
            self._standing.setdefault(one.location, {}).setdefault(one.item, []).append(one)
        self._kinds: dict[_Kind, int] = {}
        self._kind_of: dict[str, int] = {}  # by item
        self._meant: list[_Kind] = []
        self._verdicts: dict[tuple[int, int], Separation] = {}
        self._there: dict[str, dict[int, dict[str, int]]] = {}  # by place, then kind: how many bottles of each item
        for place, items in self._standing.items():
            for item, ones in items.items():
                self._put(place, item, ones)
        self._fits: dict[str, dict[tuple[int, str], tuple[int, int] | None]] = {}  # by place, then kind and item there
        self._moves: dict[tuple[str, str], str] = {}  # item and place -> what was said of it
        self._leaving: dict[str, set[int]] = {}  # by place: the kinds of what is to leave it
        self._left: dict[int, list[tuple[int, str]]] = {}  # by kind: the places, in order, not known to be unfit

    def findings(self) -> tuple[Finding, ...]:
        """List every pair that must not share a location, as `conflicts`."""
        found: list[tuple[tuple[int, int], Finding]] = []
        apart: list[tuple[str, list[_Pair]]] = []
        for place, here in self._standing.items():
            alike = [(self._kind(ones[0]), ones) for ones in here.values()]
            kinds = {kind for kind, _ in alike}
            bad = {(a, b): worst for a in kinds for b in kinds if (worst := self._between(a, b)).bad}
            pairs = [
                (verdict, ones, others)
                for (one, ones), (other, others) in combinations(alike, 2)
                if (verdict := bad.get((one, other)))
            ]
            apart.append((place, pairs))
            found += [((2, 0), finding) for ones in here.values() for finding in _not_known(place, ones)]
        leaving = {place: self._to_move(place, pairs) for place, pairs in apart}
        for place, items in leaving.items():
            for item in items:
                self._take_out(place, item)
        self._fits.clear()
        self._left.clear()
        cures = {
            (place, item): self._destination(place, ones) or _own_place(ones)
            for place, items in leaving.items()
            for item, ones in items.items()
        }
        for place, pairs in apart:
            gone = list(leaving[place])
            for verdict, *sides in pairs:
                cure = _TRAYS
                if verdict.verdict == "incompatible":
                    sides.sort(key=lambda ones: gone.index(ones[0].item) if ones[0].item in gone else len(gone))
                    cure = cures[place, sides[0][0].item]
                found.append((badness(verdict), _finding(place, verdict, sides[0], sides[1], cure)))
        return tuple(finding for _, finding in sorted(found, key=lambda f: (f[0], f[1].about, f[1].message)))

    def _to_move(self, place: str, pairs: Iterable[_Pair]) -> dict[str, list[StoredBottle]]:
        """Choose what is to leave a place so that nothing is left that must not share it: the worst neighbour first.

        Of as bad ones, what has somewhere to go, then what is fewer bottles.
        """
        foes: dict[str, set[str]] = {}
        bottles: dict[str, list[StoredBottle]] = {}
        for verdict, ones, others in pairs:
            if verdict.verdict == "incompatible":
                for side, other in ((ones, others), (others, ones)):
                    foes.setdefault(side[0].item, set()).add(other[0].item)
                    bottles[side[0].item] = side
        chosen: dict[str, list[StoredBottle]] = {}
        while foes:
            most = max(map(len, foes.values()))
            worst = [item for item, those in foes.items() if len(those) == most]
            if len(worst) > 1:
                homeless = {item: not self._places_for(place, bottles[item][0]) for item in worst}
                worst.sort(key=lambda item: (homeless[item], len(bottles[item])))
            item = worst[0]
            chosen[item] = bottles[item]
            for foe in foes.pop(item):
                foes[foe].discard(item)
                if not foes[foe]:
                    del foes[foe]
        return chosen

    def beside(self, ones: Sequence[StoredBottle]) -> tuple[Finding, ...]:
        """List what must not stand beside bottles of one item in their place, worst first."""
        place = ones[0].location
        found = [
            self._pair(place, verdict, ones, others)
            for others in self._standing[place].values()
            if (verdict := self.between(ones[0], others[0])).bad
        ]
        return tuple(finding for _, finding in sorted(found, key=lambda f: (f[0], f[1].message)))

    def _pair(
        self, place: str, verdict: Separation, ones: Sequence[StoredBottle], others: Sequence[StoredBottle]
    ) -> tuple[tuple[int, int], Finding]:
        """Report two items that stand together, and how bad it is; `ones` are moved if they can be."""
        cure = _TRAYS
        if verdict.verdict == "incompatible":
            cure = self._where_to(place, ones, others)
        return badness(verdict), _finding(place, verdict, ones, others, cure)

    def between(self, one: StoredBottle, other: StoredBottle) -> Separation:
        """Find the worst verdict between two items, in either order."""
        return FINE if one.item == other.item else self._between(self._kind(one), self._kind(other))

    def _between(self, one: int, other: int) -> Separation:
        """Find the worst verdict between two items of these kinds."""
        key = (one, other) if one < other else (other, one)
        known = self._verdicts.get(key)
        if known is None:
            a, b = (self._meant[kind] for kind in key)
            particular = [never_mix()[row][1] for row in sorted(a.ones & b.others | a.others & b.ones)]
            groups = [verdict_of(x, y) for x in a.groups for y in b.groups]
            known = self._verdicts[key] = min((FINE, *particular, *groups), key=badness)
        return known

    def _kind(self, one: StoredBottle) -> int:
        """Number an item's kind: items of one kind are the same to the rules."""
        kind = self._kind_of.get(one.item)
        if kind is None:
            meant = _Kind(one.groups, *_rows_of(one))
            kind = self._kinds.setdefault(meant, len(self._meant))
            if kind == len(self._meant):
                self._meant.append(meant)
            self._kind_of[one.item] = kind
        return kind

    def _put(self, place: str, item: str, ones: Sequence[StoredBottle]) -> None:
        """Count bottles of an item among what stands in a place."""
        items = self._there.setdefault(place, {}).setdefault(self._kind(ones[0]), {})
        if item not in items:
            self._own.setdefault(item, []).append((self._order[place], place))
        items[item] = items.get(item, 0) + len(ones)

    def _where_to(self, place: str, ones: Sequence[StoredBottle], others: Sequence[StoredBottle]) -> str:
        """Choose the move that clashes with nothing, of `ones` if it can be: to their like, or to an empty place.

        Of places that ask for as few trays, one from which nothing is only to go that must not stand beside it comes
        first, then one where the same item stands, and then its like before an empty one.
        A move already advised is advised again where it parts these two as well; what it brings counts as there.
        """
        for moved in (ones, others):
            if said := self._moves.get((moved[0].item, place)):
                return said
        for moved in (ones, others):
            if said := self._destination(place, moved):
                return said
        return _own_place(ones)

    def _destination(self, place: str, moved: Sequence[StoredBottle]) -> str:
        """Say where bottles of one item go from a place, and count them there; empty where no place takes them."""
        if not (fits := self._places_for(place, moved[0])):
            return ""
        there = min(fits)[-1]
        self._put(there, moved[0].item, moved)
        # The place is fuller now, so only refusals are kept; at worst a place that now suits is missed.
        self._fits[there] = {key: None for key, fit in self._fits[there].items() if fit is None}
        said = f"Move {_codes(moved)} ({moved[0].called}) to {there}."
        self._moves[moved[0].item, place] = said
        return said

    def _places_for(self, place: str, one: StoredBottle) -> list[tuple[int, bool, bool, int, int, str]]:
        """List the other places that take an item, each with what speaks against it: the least is the best."""
        at_home = {there for _, there in self._own.get(one.item, ())}
        return [
            (fit[0], self._was_beside(one, there), there not in at_home, fit[1], order, there)
            for order, there in self._may_take(one)
            if there != place and (fit := self._fit(one, there)) is not None
        ]

    def _was_beside(self, one: StoredBottle, there: str) -> bool:
        """Tell whether something is only to leave a place that the item must not stand beside."""
        kind = self._kind(one)
        return any(self._between(kind, k).verdict == "incompatible" for k in self._leaving.get(there, ()))

    def _take_out(self, place: str, item: str) -> None:
        """Count an item no more among what stands in a place, which it is to leave."""
        kind, here = self._kind_of[item], self._there[place]
        del here[kind][item]
        if not here[kind]:
            del here[kind]
        self._leaving.setdefault(place, set()).add(kind)
        self._own[item] = [one for one in self._own[item] if one[1] != place]

    def _may_take(self, one: StoredBottle) -> list[tuple[int, str]]:
        """List the places that may take an item, in order: those its kind was not refused, and its own."""
        kind = self._kind(one)
        left = self._left[kind] = [
            (order, there)
            for order, there in self._left.get(kind, self._in_order)
            if self._fits.get(there, {}).get((kind, ""), ()) is not None
        ]
        return left + self._own.get(one.item, [])

    def _fit(self, one: StoredBottle, there: str) -> tuple[int, int] | None:
        """Judge how an item would stand in a place: (bottles it needs a tray beside, 0 among its like, else 1).

        None where it must not. What is low in hazard may go among other things, what is not only to its like.
        """
        known, kind = self._fits.setdefault(there, {}), self._kind(one)
        here = self._there.get(there, {})
        key = (kind, one.item if one.item in here.get(kind, ()) else "")
        if key not in known:
            known[key] = self._stand(one, kind, here)
        return known[key]

    def _stand(self, one: StoredBottle, kind: int, here: Mapping[int, Mapping[str, int]]) -> tuple[int, int] | None:
        """Work out, for `_fit`, how an item would stand among what is in a place."""
        trays = 0
        among_its_own = one.item in here.get(kind, ())  # whose tray it then shares
        for k, items in here.items():
            verdict = self._between(kind, k)
            if verdict.bad and (beside := sum(items.values()) - (items.get(one.item, 0) if k == kind else 0)):
                if verdict.verdict == "incompatible":
                    return None
                trays += 0 if among_its_own else beside
        own = {g.name: g.mild for g in one.groups if g.name not in _TAME}
        there = [g for k in here for g in self._meant[k].groups]
        caustic = any(g.name in ALKALIS and not g.mild and not g.dilute for g in there)
        if caustic and not among_its_own and own.keys() & ACIDS:
            return None  # no acid, however weak, is sent to a cupboard of alkalis
        # A strong alkali goes to strong ones, a cupboard of them, not to a bench of dilute ones.
        alike = any(own.get(g.name, False) or (g.name in own and not g.mild) for g in there)
        if not own:
            alike = bool(there) and all(g.mild or g.name in _TAME for g in there)
        if alike or not here or all(g.mild or g.name in _TAME for g in one.groups):
            return trays, 0 if alike else 1
        return None


def _rows_of(one: StoredBottle) -> tuple[frozenset[int], frozenset[int]]:
    """Find which rows of never_mix.csv name a bottle as the one, and which as the other."""
    about = one.dissolved if one.substance is None else (one.substance,)
    if not about:
        return frozenset(), frozenset()
    held = {match for match in matches_asked() if any(matches(match, part) for part in about)}
    asked = [(n, row) for n, (row, _) in enumerate(never_mix()) if one.substance or row["dissolved"] == "yes"]
    return (
        frozenset(n for n, row in asked if row["one"] in held),
        frozenset(n for n, row in asked if row["other"] in held),
    )


def _own_place(ones: Sequence[StoredBottle]) -> str:
    return f"Give {_codes(ones)} ({ones[0].called}) a place of its own."


def _finding(
    place: str, verdict: Separation, ones: Sequence[StoredBottle], others: Sequence[StoredBottle], cure: str
) -> Finding:
    first, second = ones[0], others[0]
    apart = verdict.verdict == "incompatible"
    must = "must not share a place" if apart else "need trays of their own"
    codes = f"{_codes(ones)} and {_codes(others)}"
    message = f"{place}: {first.called} and {second.called} ({codes}) {must}: {verdict.reason}"
    if verdict.rule:
        message += f" [{verdict.rule}]"
    return Finding(
        Severity.ACT if apart else Severity.NOTE,
        "store-apart" if apart else "own-tray",
        place,
        f"{message}.",
        cure,
        verdict.source,
    )


def _codes(bottles: Iterable[StoredBottle]) -> str:
    return ", ".join(one.bottle for one in bottles)


def _not_known(place: str, here: Sequence[StoredBottle]) -> Iterable[Finding]:
    for one in here:
        if not one.groups:
            yield Finding(
                Severity.NOTE,
                "not-known",
                place,
                f"{place}: {one.called} ({one.bottle}) {_gap(one)}; what may stand beside it is open.",
                Sentence(
                    "Look it up in the supplier's safety data sheet and record it",
                    AtTerminal(" with: prep substance import --replace"),
                ),
            )


def _gap(one: StoredBottle) -> str:
    """Say why nothing is known of a bottle."""
    if one.substance is None or not (one.substance.storage_group or one.substance.classification):
        return "has no hazard data"
    try:
        classes_of(one.substance.classification)
    except PrepError:
        return f"has the classification '{one.substance.classification}', which cannot be read"
    group = one.substance.storage_group
    return f"has the storage group '{group}', which is none of those known" if group else "has no storage group"
