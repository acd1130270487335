"""Intermediate dilutions of a day: one of the same source and strength is made once, and every make draws on it."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from fractions import Fraction
from typing import TYPE_CHECKING

from prep.chemistry.measurement.readings import Measured, base_of
from prep.chemistry.preparation.steps import CommonIntermediate

if TYPE_CHECKING:
    from prep.planning.engine.context import PrepRoom
    from prep.planning.engine.sourcing import SupplyEstimate
    from prep.planning.engine.state import Make, RunState

_Member = tuple["Make", Measured]


def share_intermediates(room: "PrepRoom", state: "RunState", item: str, shelf: "SupplyEstimate") -> None:
    """Let the day's makes that first dilute an item to the same strength share one dilution.

    To be called when all that wants the item is known and nothing of it is drawn yet. What leaves the bottle is
    then what the one flask takes; each make's want becomes its part of it, by what it takes of the intermediate.
    """
    groups: dict[tuple[date, Fraction], list[_Member]] = defaultdict(list)
    for ref in state.diluting[item]:
        make = state.makes[ref]
        options = [option for option in make.chosen.options if option.item == item]
        if len(options) != 1 or item in make.chosen.spare:
            continue
        needed = options[0].needed(make.lot.amount)
        found = room.bench.how(item, needed, make.solution, make.lot.amount)
        if found is not None and found.dilutions:
            first = found.dilutions[0]
            ratio = Fraction(first.source.base, base_of(first.flask.capacity))
            groups[make.lot.make_on, ratio].append((make, found))
    rank = {code: -number for number, code in enumerate(state.order)}
    for members in groups.values():
        members.sort(key=lambda member: (rank[member[0].solution.code], member[0].id))
        while len(members) > 1:
            members = _share(room, state, item, members, shelf)


def _share(
    room: "PrepRoom", state: "RunState", item: str, members: list[_Member], shelf: "SupplyEstimate"
) -> list[_Member]:
    """Share one dilution among as many of the first makes as one flask serves; give back the others."""
    measure = room.bench.measure_of(item)
    together: tuple[Measured, ...] | None = None
    count = 1
    for more in range(2, len(members) + 1):
        found = room.bench.together([measured for _, measured in members[:more]], measure)
        if found is not None:
            together, count = found, more
    if together is not None:
        _divide(state, item, [make for make, _ in members[:count]], together, shelf)
    return members[count:]


def _divide(
    state: "RunState", item: str, makes: Sequence["Make"], found: Sequence[Measured], shelf: "SupplyEstimate"
) -> None:
    taken = found[0].taken
    drawn = [measured.dilutions[0].then.base for measured in found]
    parts = [taken * each // sum(drawn) for each in drawn]
    parts[0] += taken - sum(parts)
    ids = tuple(make.id for make in makes)
    changed = {}
    for make, measured, part in zip(makes, found, parts, strict=True):
        wants = []
        for want in make.wants:
            if want.item == item:
                shelf.promise(item, part - want.amount, want.needed_on)
                want = changed[want.id] = replace(want, amount=part)
            wants.append(want)
        common = {**make.common, item: CommonIntermediate(measured, ids, make.id)}
        used = {**make.used, item: Fraction(measured.reaches, part)}
        state.makes[make.id] = replace(make, wants=tuple(wants), used=used, common=common)
    state.demands[item] = [changed.get(demand.id, demand) for demand in state.demands[item]]
