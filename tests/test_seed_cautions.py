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
