"""Pairs of bottles on one shelf, each with what is due: apart, in trays of their own, or nothing.

Sources: 49 CFR 177.848 (d); the chart of EPA-600/2-80-076, A Method for Determining the Compatibility of Hazardous
Wastes (1980); nitrites with ammonium salts: American Chemical Society, Incompatible Chemicals, and CRC Handbook of
Chemistry and Physics, ch. 16, incompatible chemicals; for particular substances and for dilute solutions common
practice, no source.
"""

from dataclasses import replace
from functools import cache

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from prep.resources import seed_data
from prep.safety.segregation import StoredBottle, between, conflicts
from prep.services.catalogue.on_file import OnFile
from prep.services.catalogue.seed import read_catalogue
from prep.services.safety.storage import as_stored

APART = """
    hydrochloric-acid sodium-hydroxide
    hydrochloric-acid ammonia-880
    hydrochloric-acid sodium-hypochlorite
    hydrochloric-acid sodium-nitrite
    hydrochloric-acid iron-sulfide
    hydrochloric-acid magnesium-powder
    hydrochloric-acid magnesium-ribbon
    hydrochloric-acid calcium-oxide
    hydrochloric-acid potassium-permanganate
    hydrochloric-acid potassium-hexacyanoferrate-ii-3-water
    sulfuric-acid sodium-hydroxide
    sulfuric-acid potassium-permanganate
    sulfuric-acid potassium-chlorate
    sulfuric-acid sodium-fluoride
    sulfuric-acid acetic-acid
    sulfuric-acid ethanol-absolute
    sulfuric-acid ethanal
    sulfuric-acid soda-lime
    sulfuric-acid diethyl-ether
    nitric-acid ethanol-absolute
    nitric-acid acetone
    nitric-acid acetic-acid
    nitric-acid ammonia-880
    nitric-acid zinc-powder
    nitric-acid phenol
    nitric-acid ammonium-thiocyanate
    nitric-acid ethanoic-anhydride
    nitric-acid sodium-hydrosulfite
    nitric-acid copper-turnings
    acetic-acid sodium-hypochlorite
    acetic-acid sodium-sulfide-9-water
    acetic-acid potassium-permanganate
    sodium-hypochlorite ammonia
    sodium-hypochlorite ammonium-chloride
    sodium-hypochlorite acetone
    sodium-hypochlorite ethanol-96
    sodium-hypochlorite hydrogen-peroxide
    sodium-hypochlorite sodium-thiosulfate-5-water
    calcium-hypochlorite glycerol
    calcium-hypochlorite sulfur
    potassium-permanganate glycerol
    potassium-permanganate ethanol-96
    potassium-permanganate sulfur
    potassium-permanganate formaldehyde
    potassium-permanganate diethyl-ether
    potassium-chlorate sulfur
    potassium-chlorate red-phosphorus
    potassium-chlorate sucrose
    potassium-chlorate ammonium-chloride
    potassium-chlorate ammonium-sulfate
    potassium-chlorate carbon
    ammonium-nitrate zinc-powder
    ammonium-nitrate sulfur
    potassium-nitrate carbon
    potassium-nitrate red-phosphorus
    potassium-nitrate ethanol-96
    potassium-dichromate ethanol-96
    potassium-peroxodisulfate zinc-powder
    silver-nitrate ethanol-96
    silver-nitrate calcium-carbide
    hydrogen-peroxide acetone
    hydrogen-peroxide ethanol-96
    hydrogen-peroxide formaldehyde
    iodine ammonia-880
    iodine aluminium-powder
    iodine zinc-powder
    bromine ethanol-96
    bromine ammonia-880
    bromine aluminium-powder
    sodium hydrochloric-acid
    sodium nacl-0.1
    sodium dichloromethane
    sodium ethanol-96
    lithium hcl-0.1
    potassium hydrogen-peroxide
    calcium nacl-0.1
    calcium-carbide nacl-0.1
    calcium-carbide hydrochloric-acid
    aluminium-chloride nacl-0.1
    aluminium-powder sodium-hydroxide
    aluminium-powder dichloromethane
    decanedioyl-dichloride hexane-1-6-diamine
    decanedioyl-dichloride nacl-0.1
    hydrogen oxygen
    butane oxygen
    dinitrophenylhydrazine sodium-hydroxide
    hcl-2 hypochlorite-1
    sodium-hypochlorite ammonia-2
    perchloric-acid sucrose
    dichloromethane potassium
    iron-sulfide hcl-5
    hcl-5 naoh-5
    hydrochloric-acid naoh-1
    nitric-acid glycerol
    nitric-acid sucrose
    nitric-acid sulfur
    nitric-acid carbon
    sodium-nitrite ammonium-chloride
    ammonium-nitrate sodium-nitrite
    sodium-nitrite potassium-thiocyanate
    calcium-hypochlorite sucrose
    calcium-hypochlorite carbon
    potassium-chlorate potassium-thiocyanate
    sodium iodine
    sodium sulfur
    bromine red-phosphorus
    bromine magnesium-powder
"""
OWN_TRAYS = """
    hydrochloric-acid sodium-metabisulfite
    hydrochloric-acid nitric-acid
    hydrochloric-acid sulfuric-acid
    sulfuric-acid nitric-acid
    acetic-acid sodium-hydroxide
    acetic-acid ethanol-absolute
    potassium-chlorate butane
    silver-nitrate ammonia-880
    ethanoic-anhydride sodium-hydroxide
    formaldehyde ammonia-880
    hno3-2 ethanol-96
    thiosulfate-0.1 hcl-2
    potassium-permanganate ammonium-nitrate
    potassium-bromate ammonium-chloride
    ammonium-nitrate sucrose
    potassium-nitrate glucose
    potassium-chlorate sodium-thiosulfate-5-water
    potassium-permanganate hydrogen-peroxide
    hydrogen-peroxide manganese-dioxide
    hno3-1 naoh-1
    hno3-2 naoh-2
    h2so4-2 naoh-2
"""
NOTHING = """
    hydrochloric-acid acetic-acid
    hydrochloric-acid sodium-carbonate
    hydrochloric-acid sodium-chloride
    potassium-nitrate sodium-chloride
    potassium-nitrate sodium-nitrate
    hydrogen-peroxide copper-oxide
    aluminium-foil sodium-hydroxide
    carbon-dioxide oxygen
    phenol sodium-hydroxide
    citric-acid-1-water potassium-hexacyanoferrate-ii-3-water
    tartaric-acid potassium-hexacyanoferrate-iii
    citric-acid sodium-hydrogencarbonate
    boric-acid borax
    ethanol-96 acetone
    ethanol-96 hexane
    acetone dichloromethane
    hcl-0.1 naoh-0.1
    hcl-1 naoh-1
    h2so4-0.5 ammonia-0.5
    ethanoic-0.1 naoh-0.1
    hcl-0.1 sodium-carbonate-0.1
    hcl-0.1 hypochlorite-1
    kmno4-0.02 ethanol-96
    kmno4-0.02 h2o2-10vol
    cuso4-0.5 nacl-0.1
    h2o2-20vol ethanol-70
    agno3-0.1 ammonia-2
    agno3-0.1 nacl-0.1
    iodine-0.05 ammonia-2
    ki-0.1 lead-nitrate-0.1
    feso4-0.1 kmno4-0.02
    sncl2-0.1 iodine-0.05
    hno3-2 glycerol
    sodium-hypochlorite ammonia-0.1
    thiosulfate-0.1 hcl-0.1
    citric-acid-1-water sodium-thiosulfate-5-water
    boric-acid potassium-hexacyanoferrate-ii-3-water
    hcl-2 naoh-2
    copper-sulfate-5-water zinc-sulfate-7-water
"""
DUE = [
    (*line.split(), due)
    for due, lines in (("incompatible", APART), ("separate", OWN_TRAYS), ("compatible", NOTHING))
    for line in lines.strip().splitlines()
]


@cache
def on_file() -> OnFile:
    return read_catalogue(seed_data())


@cache
def kept(item: str, place: str = "SHELF") -> StoredBottle:
    return as_stored(item, item, place, on_file())


@pytest.mark.parametrize(("one", "other", "due"), DUE)
def test_a_pair_is_at_its_due_severity(one: str, other: str, due: str) -> None:
    assert between(kept(one), kept(other)).verdict == due
    assert between(kept(other), kept(one)).verdict == due


ITEMS = sorted({item for pair in DUE for item in pair[:2]})
PLACES = ("A", "B", "C", "D", "E")


def moved(room: list[StoredBottle]) -> tuple[list[StoredBottle], set[str]]:
    """The room after every move that is advised, and what was moved."""
    to: dict[str, str] = {}
    for one in conflicts(room, PLACES):
        if one.severity == "act" and one.cure.startswith("Move "):
            code, place = one.cure.split(" ")[1], one.cure.rstrip(".").rpartition(" to ")[2]
            assert to.setdefault(code, place) == place
        elif one.severity == "act":  # a cupboard of its own
            code = one.cure.split(" ")[1]
            assert to.setdefault(code, f"of {code}") == f"of {code}"
    return [kept(one.item, to.get(one.item, one.location)) for one in room], set(to)


ACETONE_BESIDE_TROUBLE = {
    "ethanol-absolute": "D",
    "sodium-hypochlorite": "C",
    "sucrose": "B",
    "sodium-sulfide-9-water": "D",
    "sodium-nitrate": "B",
    "hexane-1-6-diamine": "D",
    "acetone": "C",
    "boric-acid": "D",
    "ethanoic-anhydride": "B",
}


@settings(max_examples=40, deadline=None)
@example(ACETONE_BESIDE_TROUBLE)
@given(st.dictionaries(st.sampled_from(ITEMS), st.sampled_from(PLACES[:4]), min_size=2, max_size=9))
def test_what_is_advised_never_does_more_harm(where: dict[str, str]) -> None:
    """All moves together: what was moved stands beside nothing it must not, and no place is worse than before."""
    room = [kept(item, place) for item, place in where.items()]
    after, gone = moved(room)
    acts = [one for one in conflicts(room, PLACES) if one.severity == "act"]
    left = [one for one in conflicts(after, PLACES) if one.severity == "act"]
    assert len(left) <= len(acts)
    for one in after:
        if one.item in gone:
            beside = [other for other in after if other.location == one.location and other.item != one.item]
            assert all(between(one, other).verdict != "incompatible" for other in beside)
    assert not gone or len(left) < len(acts)
    wrong_before = {one.about for one in acts}
    empty = set(PLACES) - {one.location for one in after}
    for one in after if empty else ():
        if one.item in gone:  # the empty place would have been better than one in trouble, or one that asks for trays
            assert one.location not in wrong_before, one
            there = [other for other in room if other.location == one.location and other.item not in gone]
            assert not any(between(one, other).bad for other in there), one


def test_two_strangers_are_not_sent_to_the_one_empty_place() -> None:
    room = [kept("nitric-acid", "A"), kept("ethanol-96", "A"), kept("sodium", "A"), kept("hexane", "B")]
    after, gone = moved(room)
    assert gone
    assert not [one for one in conflicts(after, PLACES) if one.severity == "act"]


# A prep room as it is well kept: by group, nitric acid in a tray of its own, dilute solutions on a rack of the bench.
# Common practice, no source.
WELL_KEPT = """
    ACIDS hydrochloric-acid sulfuric-acid phosphoric-acid
    NITRIC nitric-acid
    VINEGARS acetic-acid formic-acid propanoic-acid
    ALKALIS sodium-hydroxide potassium-hydroxide calcium-hydroxide ammonia-880 sodium-carbonate
    SOLVENTS ethanol-96 ethanol-denatured methanol propan-2-ol acetone ethyl-acetate cyclohexane hexane
    OXIDISERS potassium-permanganate potassium-nitrate sodium-nitrate potassium-dichromate potassium-iodate
    PEROXIDE hydrogen-peroxide
    BLEACH sodium-hypochlorite
    METALS magnesium-ribbon zinc-granules copper-turnings iron-filings aluminium-foil
    OIL sodium lithium potassium
    POISONS lead-nitrate barium-chloride-2-water sodium-fluoride
    SALTS sodium-chloride potassium-chloride ammonium-chloride calcium-chloride magnesium-sulfate-7-water
    SALTS copper-sulfate-5-water zinc-sulfate-7-water iron-ii-sulfate-7-water sodium-sulfate potassium-iodide
    SALTS sodium-hydrogencarbonate calcium-carbonate sodium-thiosulfate-5-water citric-acid-1-water boric-acid
    SALTS potassium-hexacyanoferrate-ii-3-water
    FOODS glucose sucrose soluble-starch agar glycerol
    DYES phenolphthalein methyl-orange bromothymol-blue methylene-blue litmus
    RACK hcl-0.1 hcl-1 h2so4-0.5 hno3-1 naoh-0.1 naoh-1 ammonia-0.5 ethanoic-0.1 agno3-0.1 kmno4-0.02 ki-0.1
    RACK iodine-0.05 thiosulfate-0.1 cuso4-0.5 nacl-0.1 limewater lead-nitrate-0.1 feso4-0.1 sodium-carbonate-0.1
"""


def test_a_well_kept_room_has_no_alarm() -> None:
    stands = [(item, place) for place, *items in map(str.split, WELL_KEPT.strip().splitlines()) for item in items]
    room = [kept(item, place) for item, place in stands]
    assert len(room) >= 60
    found = conflicts(room)
    assert not [one.message for one in found if one.severity != "note"]
    assert {one.about for one in found} <= {"ACIDS", "RACK"}


# Common practice, no source: one bottle too many, put where it must not stand, and where a technician would put it.
STRAYS = [
    ("SALTS", "sodium-nitrite", ""),
    ("OXIDISERS", "sulfur", ""),
    ("SOLVENTS", "potassium-permanganate", "OXIDISERS"),
    ("ACIDS", "sodium-hypochlorite", "BLEACH"),
    ("ACIDS", "ammonia-880", "ALKALIS"),
    ("NITRIC", "acetic-acid", "VINEGARS"),
    ("NITRIC", "ethanol-96", "SOLVENTS"),
    ("VINEGARS", "nitric-acid", "NITRIC"),
    ("BLEACH", "hydrochloric-acid", "ACIDS"),
    ("BLEACH", "acetone", "SOLVENTS"),
    ("PEROXIDE", "acetone", "SOLVENTS"),
    ("OIL", "hcl-0.1", ""),
    ("OIL", "dichloromethane", ""),
    ("ALKALIS", "aluminium-powder", ""),
    ("OXIDISERS", "red-phosphorus", ""),
    ("BLEACH", "ammonium-chloride", "SALTS"),
    ("RACK", "sodium", "OIL"),
    ("SOLVENTS", "bromine", ""),
]


@pytest.mark.parametrize(("place", "item", "home"), STRAYS)
def test_a_stray_in_a_well_kept_room_is_found_and_sent_home(place: str, item: str, home: str) -> None:
    room = [kept(one, there) for there, *items in map(str.split, WELL_KEPT.strip().splitlines()) for one in items]
    stray = replace(kept(item, place), bottle="STRAY")
    found = [one for one in conflicts([*room, stray], ["SPARE"]) if one.severity == "act"]
    assert found
    assert all("STRAY" in one.message for one in found)
    assert {one.cure for one in found} == {found[0].cure}
    if home:
        assert found[0].cure == f"Move STRAY ({stray.called}) to {home}."
