"""What goes into the box for a showing in another building: bottles that close, vessels, droppers, what to wear."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import ceil

from prep.chemistry.acid_base import droppers
from prep.chemistry.catalogue import WATER
from prep.chemistry.model import Measure
from prep.chemistry.quantities import BASE_PER_UNIT
from prep.planning.engine.requirements import needs_of
from prep.planning.model import Demo, DemoKind, Need
from prep.planning.set_out import sensibly
from prep.safety.clp.label_elements import text_of
from prep.safety.notes import SafetyNotes
from prep.safety.segregation import between
from prep.services.catalogue.on_file import OnFile
from prep.services.safety.hazards import of_item
from prep.services.safety.storage import as_stored
from prep.services.safety.waste import DemoWaste

BOTTLES_ML = (30, 60, 125, 250, 500, 1000, 2500)
"""Bottles that close, by what they hold: common practice, no source."""
_DROPPING_ML = 60
"""The largest bottle with a dropper in its cap: common practice, no source."""
_WATER_REACTS = frozenset({"H260", "H261"})
_FILLED = 0.9  # how full a carried bottle may be, so that it does not spill
_NAMED = {
    "screen": "safety screen",
    "face shield": "face shield",
    "gauntlets": "gauntlets",
    "gloves": "gloves",
    "tongs": "tongs",
    "forceps": "forceps",
    "tweezers": "tweezers",
    "pipette filler": "pipette filler",
    "heat mat": "heat mat",
    "kettle": "kettle",
}
"""What a caution may ask for by name, and as what it is packed."""
_FOR_A_SPILL = (
    "sodium hydrogencarbonate",
    "citric acid",
    "dry sand",
    "mineral absorbent",
    "thiosulfate",
)
_AT_THE_SINK = "drain"


@dataclass(frozen=True, slots=True)
class PackedBottles:
    """One thing that is carried to another building: how much, and in how many bottles that close, of what size."""

    name: str
    amount: str
    bottles: str


@dataclass(frozen=True, slots=True)
class PackedThing:
    """A vessel, a dropper, goggles: how many, and what it is for."""

    name: str
    number: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Packing:
    """All that is carried, what may not lie in one tray, and what the other building must have."""

    bottles: tuple[PackedBottles, ...]
    things: tuple[PackedThing, ...]
    apart: tuple[str, ...]
    needed_there: tuple[str, ...] = ()


def packing_of(demo: Demo, times: int, notes: SafetyNotes, waste: DemoWaste, on_file: OnFile) -> Packing:
    """List what is packed for so many showings of a demo, whose amounts are reckoned."""
    totals: dict[str, int] = {}
    for needed, amount in needs_of(demo, times).items():
        totals[needed.item] = totals.get(needed.item, 0) + amount
    sets = times if demo.kind is DemoKind.PRACTICAL else 1
    bottles = tuple(_packed(item, amount, demo.needs, sets, on_file) for item, amount in totals.items() if amount)
    things = (
        *_vessels(demo, sets),
        *_droppers(demo, sets, on_file),
        *_for_waste(waste, totals, on_file),
        *_worn(demo, notes),
    )
    cupboard = "fume cupboard" in _cautions(demo).casefold()
    there = ("A fume cupboard is needed there.",) if cupboard else ()
    return Packing(bottles, things, tuple(_apart(list(totals), on_file)), there)


def _packed(item: str, amount: int, needs: Sequence[Need], sets: int, on_file: OnFile) -> PackedBottles:
    known = on_file.item(item)
    name = known.name if item != WATER else "Water, deionised"
    if known.measure is Measure.MASS:
        metal = known.substance and known.substance.storage_group == "alkali_metal"
        under = ", under mineral oil" if metal and "H260" in _codes(item, on_file) else ""  # calcium is kept dry
        return PackedBottles(name, sensibly(amount, known.measure), f"a jar that closes{under}")
    mine = [need for need in needs if need.item == item]
    if all(map(_dropped_from_its_bottle, mine)):
        count = 1 if all(need.shared for need in mine) else sets
        if size := next((one for one in BOTTLES_ML if one >= amount / count / BASE_PER_UNIT / _FILLED), 0):
            kind = "dropping bottle" if size <= _DROPPING_ML else "bottle, with a dropper"
            return PackedBottles(name, sensibly(amount, known.measure), f"{count} x {size} mL, {kind}")
    return PackedBottles(name, sensibly(amount, known.measure), _in_bottles(amount))


def _in_bottles(amount: int) -> str:
    """Say in how many bottles of what size so much [nL] is carried."""
    ml = amount / BASE_PER_UNIT / _FILLED
    size = next((one for one in BOTTLES_ML if one >= ml), BOTTLES_ML[-1])
    return f"{max(1, ceil(ml / size))} x {size} mL"


def _dropped_from_its_bottle(need: Need) -> bool:
    """Tell whether a need stands in a dropping bottle, or is counted in drops without a dropper being named."""
    return (
        need.dropper == "dropping-bottle"
        or need.vessel.startswith("dropping bottle")
        or (need.drops > 0 and not need.dropper and not need.until)
    )


def _vessels(demo: Demo, sets: int) -> list[PackedThing]:
    """List the vessels, a shared one once; the dropping bottles are packed full."""
    number: dict[str, int] = {}
    for need in demo.needs:
        if need.vessel and not need.vessel.startswith("dropping bottle"):
            number[need.vessel] = max(number.get(need.vessel, 0), 1 if need.shared else sets)
    return [PackedThing(vessel, str(count), "empty") for vessel, count in number.items()]


def _droppers(demo: Demo, sets: int, on_file: OnFile) -> list[PackedThing]:
    """List a dropper or burette for each thing that is added; what stands in a burette has one already."""
    out: dict[tuple[str, str], PackedThing] = {}
    for need in demo.needs:
        if not need.dropper or need.dropper == "dropping-bottle" or need.vessel.startswith("burette"):
            continue
        kind = "burette" if need.dropper == "burette-tip" else droppers.dropper(need.dropper).name
        name = "water" if need.item == WATER else on_file.name(need.item)
        out[kind, name] = PackedThing(kind, str(1 if need.shared else sets), f"for {name}")
    return list(out.values())


def _for_waste(waste: DemoWaste, totals: Mapping[str, int], on_file: OnFile) -> list[PackedThing]:
    """List a container for each stream that comes back; each has room for all the liquid, as none is told apart."""
    liquid = sum(amount for item, amount in totals.items() if on_file.item(item).measure is Measure.VOLUME)
    back = [one for one in waste.streams if one.stream != _AT_THE_SINK]
    room = _in_bottles(liquid) if liquid else ""
    return [
        PackedThing("a bag or jar, labelled: solid", "1", "for waste")
        if one.stream == "solid" or not liquid
        else PackedThing(f"waste bottle, labelled: {one.stream}", room, "for waste")
        for one in back
    ]


def _worn(demo: Demo, notes: SafetyNotes) -> list[PackedThing]:
    """List goggles, what cautions ask for by name, and what is at hand for eyes and a spill."""
    practical = demo.kind is DemoKind.PRACTICAL
    cautions = _cautions(demo).casefold()
    protection = " ".join(one.text for one in notes.protection).casefold()
    worn = [PackedThing("goggles", "", "one a person" if practical else "for all who stand at it")]
    for word, thing in _NAMED.items():
        if re.search(rf"\b{word}s?\b", cautions) or (word == "gloves" and word in protection):
            worn.append(PackedThing(thing, "", "as the cautions ask"))
    if any(one.code.startswith("P305") for one in notes.first_aid):
        worn.append(PackedThing("eye-wash bottle", "1", "full"))
    spill = " ".join(one.text for one in notes.spill).casefold()
    with_it = [one for one in _FOR_A_SPILL if one in spill]
    if "wipe" in spill or not with_it:
        with_it.insert(0, "cloths")
    return [*worn, PackedThing("for a spill", "", ", ".join(with_it)), PackedThing("lesson sheet, safety notes", "1")]


def _cautions(demo: Demo) -> str:
    return " ".join((demo.caution, *(need.note for need in demo.needs)))


def _codes(item: str, on_file: OnFile) -> set[str]:
    return {found.h_code for found in of_item(item, on_file).classes}


def _apart(items: list[str], on_file: OnFile) -> list[str]:
    """List what may not be carried in one tray, as on the shelves; water too, for what reacts with it."""
    kept = [as_stored(item, item, "", on_file) for item in items if item in on_file]
    found: dict[str, list[str]] = {}  # from what and why -> what
    for one in kept if WATER in items else ():
        for code in sorted(_codes(one.item, on_file) & _WATER_REACTS):
            found.setdefault(f"the water: {text_of(code)}", []).append(one.called)
    for n, one in enumerate(kept):
        for other in kept[n + 1 :]:
            verdict = between(one, other)
            if verdict.bad:
                found.setdefault(f"{other.called}: {verdict.reason}", []).append(one.called)
    return [f"{' and '.join(names)} apart from {rest}" for rest, names in found.items()]
