"""The safety notes of a demo: what is hazardous on the bench, what may be made, spill and first aid."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from prep.chemistry.model import Form, Line, Substance
from prep.resources import seed_table
from prep.safety.cautions import never_meet
from prep.safety.clp.classify import NO_VAPOUR, breathed
from prep.safety.clp.label_elements import text_of
from prep.safety.deferral import DEFERRAL
from prep.safety.hazard_tables import keyed, split
from prep.safety.matching import h_codes, matches
from prep.safety.model import ACIDS, ALKALIS, Classification, Statement

_FIRST_AID = (
    "P301", "P302", "P303", "P304", "P305", "P306", "P308", "P310", "P311", "P312", "P331", "P333", "P337", "P342",
)  # fmt: skip
_MORE_URGENT = {  # the second says so, and sooner
    "P301+P312": ("P301+P310",),
    "P302+P352": ("P303+P361+P353",),
    "P308+P313": ("P308+P311",),
    "P311": ("P310", "P308+P311"),
    "P312": ("P310", "P311", "P308+P311"),
    "P331": ("P301+P330+P331",),
}
_SPILL = ("P390", "P391")
_RINSE_EYES = "P305+P351+P338"
_SPILL_FROM_ML = 10  # of flammable liquid together: drops of an indicator are wiped up; common practice, no source
_PRUDENT = "from memory: National Research Council, Prudent Practices in the Laboratory (2011)"

_BOILS_WATER = "solute=sulfuric-acid&form=aqueous&from=50"  # % w/w; weaker acid may be washed away with water
_DRY_ABSORBED = "solute=ethanoic-anhydride&form=liquid|solute=decanedioyl-dichloride&form=liquid"
_FLAMMABLE_LIQUIDS = frozenset({"H224", "H225", "H226"})
_POURED_FROM = ("dropping bottle", "dropper", "burette", "wash bottle", "spray", "weighing bottle", "watch glass")
_GASSING = frozenset({"cyanide", "sulfide", "hypochlorite", "sulfite_thiosulfate"})
_BITES = frozenset("H290 H314 H315 H318 H319".split())
_NEUTRALISED_FROM = 2  # % w/w of a mineral acid or an alkali: common practice, no source
_DUST = frozenset("H334 H340 H350 H350i H360 H360D H360Df H360F H360FD H360Fd".split())
_ALKALI = "Alkali: dilute with water, neutralise with citric acid, then wipe up."
_ALKALI_NO_ACID = (
    "Alkali: dilute with much water and wipe up; no acid on it, since something here gives off a poisonous gas with "
    "acids."
)
_AT_LEAST = Statement("", "Wear eye protection.")  # common practice, no source


@dataclass(frozen=True, slots=True)
class NeedOnBench:
    """One need of a demo as it stands on the bench: its hazards, what is in it, the vessel it goes into.

    `volume_ml` is None where it is not a liquid, or not known. Of what is `unsaid`, water, only what it meets counts.
    """

    item: str
    name: str
    hazards: Classification
    substances: tuple[Substance, ...] = ()
    vessel: str = ""
    volume_ml: Decimal | None = None
    unsaid: bool = False


@dataclass(frozen=True, slots=True)
class SafetyNotes:
    """The safety notes of a demo. Every line with its source."""

    on_the_bench: tuple[Line, ...]
    may_be_made: tuple[Line, ...]  # in one vessel
    keep_apart: tuple[Line, ...]  # on one bench, not in one vessel
    protection: tuple[Statement, ...]
    spill: tuple[Line, ...]
    fire: tuple[Line, ...]
    first_aid: tuple[Statement, ...]
    check_before_relying: bool
    deferral: str = DEFERRAL


def notes_for(bench: Sequence[NeedOnBench]) -> SafetyNotes:
    """Say what to mind of what stands on the bench.

    What shares a vessel is taken as combined, but for what is only poured or dropped from; the rest is told to stay
    apart.
    """
    by_vessel: dict[tuple[str, str], list[Substance]] = defaultdict(list)
    everything: list[Substance] = []
    for one in bench:
        everything += one.substances
        if one.vessel:
            by_vessel[one.vessel, one.item if poured_from(one.vessel) else ""] += one.substances
    made: dict[str, Line] = {}
    for (vessel, _), inside in by_vessel.items():
        for line in never_meet(inside):
            made.setdefault(line.text, Line(f"In the {vessel}: {line.text}", line.source))
    apart = [line for line in never_meet(everything) if line.text not in made]
    codes = list(dict.fromkeys(c.h_code for one in bench for c in one.hazards.classes))
    return SafetyNotes(
        on_the_bench=tuple(Line(f"{one.name}: {_hazards(one.hazards)}") for one in bench if not one.unsaid),
        may_be_made=tuple(made.values()),
        keep_apart=tuple(apart),
        protection=tuple(_protection(bench, codes)),
        spill=tuple(_spill(bench, codes)),
        fire=tuple(_fire(bench)),
        first_aid=tuple(_first_aid(bench, codes)),
        check_before_relying=any(one.hazards.check_before_relying for one in bench),
    )


def poured_from(vessel: str) -> bool:
    """Tell whether a vessel is one that something is only poured or dropped from, by the word it begins with."""
    return vessel.startswith(_POURED_FROM)


def _hazards(hazards: Classification) -> str:
    if not hazards.classes:
        return hazards.in_words
    said = " ".join(one.text for one in hazards.h_statements)
    gap = "" if hazards.known else f" Otherwise not known: no hazard data for {', '.join(hazards.unknown)}."
    return f"{hazards.signal + ': ' if hazards.signal else ''}{said}{gap}"


def _statements(codes: Sequence[str], wanted: Sequence[str]) -> Iterable[Statement]:
    allocated = {p for code in codes for p in split(keyed("statements", "code")[code]["allocated_p"])}
    for statement in (Statement(code, text_of(code)) for code in sorted(allocated)):
        if statement.codes[0] in wanted:
            yield statement


def _protection(bench: Sequence[NeedOnBench], codes: Sequence[str]) -> Iterable[Statement]:
    """Say what to wear, and what to keep away; a drop of something that burns keeps no flame away."""
    codes = _but_for_drops(bench, codes)
    away = list(_statements(codes, ("P210",)))
    vapour = {c.h_code for one in bench if NO_VAPOUR not in one.hazards.notes for c in one.hazards.classes}
    unsprayed = breathed(codes) - vapour
    worn = _statements([code for code in codes if code not in unsprayed], ("P280", "P284", "P271"))
    return (*away, *(list(worn) or [_AT_LEAST]), *([Statement("", NO_VAPOUR)] if unsprayed else []))


def _but_for_drops(bench: Sequence[NeedOnBench], codes: Sequence[str]) -> list[str]:
    """Leave out that a liquid burns, where no more than drops of one stand there."""
    return [code for code in codes if code not in _FLAMMABLE_LIQUIDS or _burns(bench)]


def _first_aid(bench: Sequence[NeedOnBench], codes: Sequence[str]) -> Iterable[Statement]:
    """Choose the first aid of the classes; an acid or alkali too weak for a class keeps that for the eyes."""
    found = list(_statements(_but_for_drops(bench, codes), _FIRST_AID))
    said = {one.code for one in found}
    found = [one for one in found if said.isdisjoint(_MORE_URGENT.get(one.code, ()))]
    groups = {s.storage_group for one in bench for s in one.substances}
    sour = bool(groups & (ACIDS | ALKALIS))
    if sour and not any(one.code.startswith("P305") for one in found):
        found.append(Statement(_RINSE_EYES, text_of(_RINSE_EYES)))
    particular = [Statement("", line.text) for line in _of_its_own(bench, "first aid")]
    return [*particular, *sorted(found, key=lambda one: one.code)]


def _of_its_own(bench: Sequence[NeedOnBench], topic: str) -> Iterable[Line]:
    """Say what the statements of the classes do not: seed_data/tables/special_aid.csv, of what is on the bench."""
    everything = [s for one in bench for s in one.substances]
    for row in seed_table("special_aid"):
        if row["topic"] == topic and any(matches(row["match"], s) for s in everything):
            yield Line(row["text"], row["source"])


def _spill(bench: Sequence[NeedOnBench], codes: Sequence[str]) -> Iterable[Line]:
    practice, prudent = "common practice, no source", _PRUDENT
    groups = {s.storage_group for one in bench for s in one.substances}
    everything = [s for one in bench for s in one.substances]
    strong = [s for s in everything if "H314" in h_codes(s.classification)]
    if any(not one.hazards.known for one in bench):
        yield Line("Something here has no hazard data: keep people back from a spill until it is known.", practice)
    if "alkali_metal" in groups or {"H260", "H261"} & set(codes):
        yield Line(
            "Alkali metal, or what reacts with water: cover a spill with dry sand; never water, foam, carbon dioxide "
            "or a wet cloth.",
            prudent,
        )
    sulfuric = any(matches(_BOILS_WATER, s) for s in strong)
    if sulfuric:
        yield Line(
            "Concentrated sulfuric acid: no water on it. Absorb it with dry sand or mineral absorbent, scoop that "
            "into a dry bucket, then neutralise what is left with sodium carbonate and wash the place.",
            prudent,
        )
    yield from _of_its_own(bench, "spill")
    if _silvering(bench):
        yield Line(
            "Ammoniacal silver: wet it at once with dilute acid and wipe it up as silver waste; never let it dry.",
            prudent,
        )
    acids, alkalis = _of(bench, ACIDS), _of(bench, ALKALIS)
    apart = f"{_BOILS_WATER}|{_DRY_ABSORBED}"
    poured = [one for one in acids if one.form is not Form.SOLID and not matches(apart, one)]
    if any(map(_to_neutralise, poured)):
        which = "Any other acid" if any(matches(apart, one) for one in everything) else "Acid"
        yield Line(
            f"{which}: sprinkle sodium hydrogencarbonate from the outside in until foaming stops, then wipe up.",
            practice,
        )
    if any(one.form is Form.SOLID and _to_neutralise(one) for one in (*acids, *alkalis)):
        yield Line("Solid acid or alkali: scoop it up dry, in gloves, before any water comes to it.", practice)
    if any(map(_to_neutralise, alkalis)):
        gassing = any(map(_gives_gas_with_acid, everything))
        yield Line(_ALKALI_NO_ACID if gassing else _ALKALI, practice)
    if (acids or alkalis) and not any(map(_to_neutralise, (*acids, *alkalis))):
        yield Line("Dilute acid or alkali: wipe it up with a wet cloth and rinse the place.", practice)
    if any(s.solute == "bromine" or (s.solute == "iodine" and s.form is Form.SOLID) for s in everything):
        yield Line(
            "Bromine or iodine: open the windows, pour sodium thiosulfate solution on it until its colour is gone, "
            "then wipe up; never ammonia.",
            practice,
        )
    if _burns(bench):
        yield Line("Flammable: put out every flame, open the windows, soak up with mineral absorbent.", practice)
    if any(_harms_as_dust(s) for s in everything):
        yield Line(
            "Dust that may cause cancer, genetic defects, harm to the unborn child or asthma: do not sweep it dry; "
            "wipe it up wet, with gloves, into the waste that it belongs to.",
            practice,
        )
    if any(_oxidises(s) for s in everything):
        yield Line("Oxidiser: mineral absorbent, then wash the place; no paper towels and no sawdust.", practice)
    for statement in _statements(codes, _SPILL):
        yield Line(statement.text, f"Regulation (EC) No 1272/2008 (CLP), {statement.code}")


def _of(bench: Sequence[NeedOnBench], groups: frozenset[str]) -> list[Substance]:
    """List what stands there of some storage groups; not what is in a few drops and would be wiped away with them."""
    found: list[Substance] = []
    for need in bench:
        few = need.volume_ml is not None and need.volume_ml <= _SPILL_FROM_ML
        sides = {True: Decimal(0), False: Decimal(0)}  # of what reacted with each other the larger share is left
        for one in need.substances:
            if one.diluted and one.storage_group in ACIDS | ALKALIS:
                sides[one.storage_group in groups] += one.assay_pct or 0
        if sides[True] >= sides[False]:
            found += [s for s in need.substances if s.storage_group in groups and (not few or _to_neutralise(s))]
    return found


def _to_neutralise(one: Substance) -> bool:
    """Tell whether a spilt acid or alkali is so strong that wiping it up is not enough."""
    if _BITES & set(h_codes(one.classification)):
        return True
    if not one.diluted:
        return one.form is not Form.SOLID
    weak = one.storage_group == "acid_organic" or one.assay_pct is None
    return not weak and one.assay_pct is not None and one.assay_pct >= _NEUTRALISED_FROM


def _fire(bench: Sequence[NeedOnBench]) -> Iterable[Line]:
    """Say how a fire of what stands there is put out, and with what it is not."""
    everything = [s for one in bench for s in one.substances]
    particular = list(_of_its_own(bench, "fire"))
    yield from particular
    if _burns(bench):
        unseen = any(matches("solute=methanol&h=H225|solute=ethanol&h=H225", s) for s in everything)
        yield Line(
            "Burning liquid in a vessel: cover it with a lid, a heat-proof mat or a fire blanket. What has run out: "
            "carbon dioxide or powder, from the side; no jet of water, which spreads it."
            + (" The flame of methanol or ethanol is hardly seen." if unseen else ""),
            "common practice, no source",
        )
        yield Line("Clothes alight: down on the floor, fire blanket or shower at once.", "common practice, no source")
    if not particular and any(
        s.form is Form.SOLID and {"H271", "H272"} & set(h_codes(s.classification)) for s in everything
    ):
        yield Line(
            "Fire with an oxidiser in it: it brings its own oxygen, so that a blanket, sand or carbon dioxide does not "
            "smother it. A few grams burn out on the mat; more: everybody out, much water from a distance.",
            "common practice, no source",
        )


def _gives_gas_with_acid(substance: Substance) -> bool:
    """Tell whether an acid sets a poisonous gas free from it: EUH031, EUH032, or a thiosulfate."""
    return bool({"EUH031", "EUH032"} & set(split(substance.supplemental))) or substance.storage_group in _GASSING


def _harms_as_dust(substance: Substance) -> bool:
    return substance.form is Form.SOLID and bool(_DUST & set(h_codes(substance.classification)))


def _silvering(bench: Sequence[NeedOnBench]) -> bool:
    """Tell whether silver stands with ammonia in one liquid."""
    return any({"silver-nitrate", "ammonia"} <= {s.solute for s in one.substances} for one in bench)


def _oxidises(substance: Substance) -> bool:
    """Tell whether a spill of it may set paper or wood alight as it dries: not of what is dissolved and dilute."""
    codes = set(h_codes(substance.classification))
    if codes & {"H270", "H271", "H272"}:
        return True
    if substance.storage_group == "hypochlorite" and not substance.diluted:
        return True
    if substance.solute == "nitric-acid":
        return "Skin Corr. 1A" in substance.classification  # from 20 %, as it is shipped: 49 CFR 172.101, UN2031
    strong = bool(codes & {"H314", "H318"}) or substance.form is not Form.AQUEOUS
    return strong and substance.storage_group == "oxidiser"


def _burns(bench: Sequence[NeedOnBench]) -> bool:
    """Tell whether so much of a flammable liquid stands there that its spill is to be spoken of."""
    volumes = [one.volume_ml for one in bench if {"H224", "H225", "H226"} & {c.h_code for c in one.hazards.classes}]
    return any(volume is None for volume in volumes) or sum(filter(None, volumes)) > _SPILL_FROM_ML
