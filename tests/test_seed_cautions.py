"""The cautions of every shipped demonstration hold what the classes on its bench ask for.

Regulation (EC) No 1272/2008, Annex IV: P280 (goggles), P210 (flames), P271 (air), P261 with H334 (asthma).
"""

import re
from functools import cache

import pytest

from prep.chemistry.model import Measure
from prep.resources import seed_data
from prep.services.catalogue.on_file import OnFile
from prep.services.catalogue.seed import read_catalogue
from prep.services.safety.hazards import of_item

BURNS = {"H224", "H225", "H226"}
ML = 10**6  # nL


@cache
def on_file() -> OnFile:
    return read_catalogue(seed_data())


@cache
def codes(item: str) -> frozenset[str]:
    return frozenset(one.h_code for one in of_item(item, on_file()).classes)


def asked(demo: str) -> list[str]:
    """What its caution must say, as patterns."""
    needs = [need for need in on_file().demos[demo].needs if need.item != "water"]
    there = {code for need in needs for code in codes(need.item)}
    liquids = [need for need in needs if on_file().item(need.item).measure is Measure.VOLUME]
    burning = sum(need.per_showing for need in liquids if codes(need.item) & BURNS)
    found = ["goggles"]
    if burning >= ML:
        found.append(r"flame|kettle|\blit\b|screen")
    if there & {"H330", "H331", "H335"}:
        found.append("fume|ventilat")
    if "H334" in there:
        found.append("asthma")
    return found


@pytest.mark.parametrize("demo", sorted(on_file().demos))
def test_a_caution_holds_what_the_bench_asks_for(demo: str) -> None:
    said = on_file().demos[demo].caution.casefold()
    assert [pattern for pattern in asked(demo) if not re.search(pattern, said)] == []


GRAVE = {"H340", "H350", "H350i", "H360", "H360F", "H360D", "H360FD", "H360Fd", "H360Df"}
FOR_THE_METER = {"ph-curves": "buffer-9.2"}
"""A borax buffer that the technician sets the meter with."""


@pytest.mark.parametrize("demo", sorted(on_file().demos))
def test_what_may_cause_cancer_or_harm_a_child_is_asked_about_first(demo: str) -> None:
    """Directive 2004/37/EC, articles 3 to 5: what causes cancer or harms reproduction is assessed beforehand."""
    found = on_file().demos[demo]
    grave = {need.item for need in found.needs if need.item != "water" and codes(need.item) & GRAVE}
    assert found.ask_first or not grave - {FOR_THE_METER.get(demo)}


GASES = {
    "sulfur dioxide": "thiosulfate-rate iron-sulfur sugar-sulfuric clock-iodate",
    "chlorine or bromine": "brine-electrolysis chlorine-bleaching molten-electrolysis halides-sulfuric",
    "ammonia": "ammonia-fountain ammonia-diffusion frozen-board",
}
"""What harms the lungs of people with asthma, and where it comes off: common practice, no source."""
HYDROGEN = (
    "metals-acid calcium-water magnesium-rate hydrogen-pop vanadium-colours silver-gold-coin brine-electrolysis "
    "water-electrolysis"
).split()


@pytest.mark.parametrize("demo", [demo for some in GASES.values() for demo in some.split()])
def test_a_gas_that_comes_off_is_said_with_air_and_asthma(demo: str) -> None:
    said = on_file().demos[demo].caution.casefold()
    assert "asthma" in said
    assert re.search("fume|ventilat", said)


@pytest.mark.parametrize("demo", HYDROGEN)
def test_no_flame_where_hydrogen_comes_off(demo: str) -> None:
    assert "flame" in on_file().demos[demo].caution.casefold()


def test_what_a_caution_or_the_waste_asks_for_is_set_out() -> None:
    for demo in on_file().demos.values():
        asked_for = " ".join([demo.caution, *(f"{left.what} {left.note}" for left in demo.leftovers)])
        if re.search("thiosulfate (first|at hand)|stop bath", asked_for):
            there = {need.item for need in demo.needs}
            assert any("thiosulfate" in item or "carbonate" in item for item in there), demo.code
