"""Requests of every week that need no warning get none, and those that do get theirs: the lists are invented.

What is dangerous and what is not: National Research Council, Prudent Practices in the Laboratory (2011), incompatible
chemicals; from memory: Bretherick's Handbook of Reactive Chemical Hazards.
"""

import pytest

from prep.errors import PrepError
from prep.services.calc.arithmetic import Dilution, dilute, minding
from prep.services.calc.equilibrium import ph
from prep.services.calc.mixed_portions import Blend, blend
from prep.services.calc.weighing import Weighing, dissolve

HARMLESS = """
sodium chloride 1 M; potassium chloride 1 M; glucose 1 M; sucrose 10 % w/v; bicarb 0.1 M; citric acid 0.1 M;
copper sulfate pentahydrate 0.1 M; magnesium sulfate heptahydrate 0.5 M; sodium carbonate 0.05 M; urea 10 % w/v;
potassium iodide 0.1 M; sodium thiosulfate 0.1 M; EDTA 0.01 M; borax 0.01 M; potassium hydrogen phthalate 0.05 M;
sodium acetate 0.1 M; ammonium chloride 0.1 M; ascorbic acid 0.1 % w/v; zinc sulfate 0.1 M; potassium nitrate 0.1 M;
calcium chloride dihydrate 0.1 M; sodium sulfate 0.1 M; alum 0.1 M; iron alum 0.1 M; lead nitrate 10 ppm;
silver nitrate 10 ppm; potassium permanganate 0.0001 M; methylene blue 0.1 % w/v; tris 0.1 M
"""
WARNED = """
silver nitrate 0.1 M: Silver nitrate with ammonia can explode
potassium permanganate 0.02 M: with glycerol, an alcohol, an aldehyde
potassium chlorate 0.1 M: with an acid gives off chlorine dioxide
sodium nitrite 0.1 M: A nitrite with an ammonium salt
sodium sulfide 0.1 M: A sulfide with an acid
sodium hydroxide 2 M: heats the water strongly
"""
REFUSED = """
sodium 0.1 M: it reacts dangerously with water
calcium carbide 0.1 M: it reacts dangerously with water
aluminium chloride 0.1 M: take Aluminium chloride hexahydrate
quicklime 0.01 M: take calcium hydroxide
acetic anhydride 1 M: take ethanoic acid
decanedioyl dichloride 0.1 M: a dry hydrocarbon
BaSO4 0.1 M: does not dissolve in water
AgCl 0.1 M: does not dissolve in water
copper oxide 0.1 M: does not dissolve in water
marble chips 1 M: does not dissolve in water
sulfur 0.1 M: does not dissolve in water
stearic acid 0.1 M: does not dissolve in water
superabsorbent polymer 1 % w/v: it swells with water to a gel
ice 1 % w/v: it melts to water
picric acid 0.1 M: more than dissolves
zinc 0.1 M: a metal does not dissolve in water
limonene 1 % v/v: does not mix with water
dichloromethane 1 M: does not mix with water
oxygen 1 mM: a gas
Cl2 0.05 M: a gas
phenolphthalein 0.1 % w/v: dissolve it in ethanol
Sudan III 0.5 % w/v: dissolve it in ethanol
iodine 0.05 M: dissolve it in potassium iodide
benzoic acid 0.5 M: more than dissolves
potassium permanganate 2 M: more than dissolves
NaH 1 M: reacts violently with water
P4O10 1 M: reacts violently with water
PCl5 1 M: reacts violently with water
sodium chloride 120 % w/w: impossible
"""


def weighed(said: str) -> tuple[str, ...]:
    """All that is said of a solid, such as `glucose 1 M`, as the command asks for it."""
    words = said.split()
    strength = next(" ".join(words[n:]) for n in range(1, len(words)) if words[n][0].isdigit())
    of = said[: -len(strength)].strip()
    return minding(dissolve(Weighing(strength, "100 mL", of=of)), of, made=strength).says


def pairs(text: str) -> list[tuple[str, str]]:
    """Each request with the words that its answer has."""
    found = [line.partition(": ") for line in text.strip().splitlines()]
    return [(said, words) for said, _, words in found]


@pytest.mark.parametrize("said", [one.strip() for one in HARMLESS.replace("\n", " ").split(";")])
def test_nothing_is_warned_of_that_is_harmless(said: str) -> None:
    words = " ".join(weighed(said))
    assert "NEVER" not in words
    assert "heats" not in words
    assert "fume cupboard" not in words


@pytest.mark.parametrize(("said", "words"), pairs(WARNED))
def test_what_is_dangerous_in_a_bottle_is_said(said: str, words: str) -> None:
    assert words in " ".join(weighed(said))


@pytest.mark.parametrize(("said", "words"), pairs(REFUSED))
def test_what_cannot_be_dissolved_so_is_refused_with_its_reason(said: str, words: str) -> None:
    with pytest.raises(PrepError) as refused:
        weighed(said)
    assert words in str(refused.value)


@pytest.mark.parametrize(
    ("source", "target"),
    [("1 M NaCl", "0.1 M"), ("0.1 M HCl", "0.01 M"), ("0.1 M NaOH", "0.01 M"), ("vinegar", "0.1 M"), ("10x", "1x")],
)
def test_a_dilution_of_what_is_dilute_needs_no_warning(source: str, target: str) -> None:
    said = " ".join(minding(dilute(Dilution(source, target, "1 L")), None, held=source).says)
    assert "NEVER" not in said
    assert "slowly" not in said


def test_bleach_says_what_it_must_never_meet() -> None:
    made = dilute(Dilution("bleach", "1 % w/v", "1 L"))
    assert any("gives off chlorine" in line for line in minding(made, None, held="bleach").says)


def test_peroxide_is_not_blended_with_acetone() -> None:
    with pytest.raises(PrepError, match="two substances"):
        blend(Blend(("100 mL of 100 vol peroxide", "100 mL of acetone")))


@pytest.mark.parametrize(
    ("source", "why"),
    [
        ("sodium 1 M", "it reacts dangerously with water"),
        ("calcium carbide 1 M", "it reacts dangerously with water"),
        ("white phosphorus 1 M", "it does not dissolve in water"),
        ("CuO 1 M", "it does not dissolve in water"),
        ("oxygen 1 M", "a gas that water hardly dissolves"),
    ],
)
def test_what_is_in_no_solution_is_neither_diluted_nor_blended(source: str, why: str) -> None:
    with pytest.raises(PrepError, match=why):
        dilute(Dilution(source, "0.1 M", "1 L"))
    with pytest.raises(PrepError, match=why):
        blend(Blend((f"10 mL of {source}", "10 mL of water")))


def test_the_solvent_and_the_order_are_said_where_they_apply_to_a_dilution() -> None:
    for source, target in (("toluene 50 % v/v", "10 % v/v"), ("phenolphthalein 1 % w/v", "0.1 % w/v")):
        assert "Not with water" in "\n".join(dilute(Dilution(source, target, "1 L")).says)
    assert "Pour the alkali into the water" in "\n".join(dilute(Dilution("50 % w/w NaOH", "2 M", "1 L")).says)
    assert len(dilute(Dilution("1000 mg/L Cu", "5 mg/L", "100 mL")).says) == 1
    for source, target in (("NaOH 0.1 M", "0.01 M"), ("iodine 0.05 M", "0.005 M"), ("aluminium chloride 1 M", "0.1 M")):
        assert len(dilute(Dilution(source, target, "1 L")).says) == 1, source


def test_cyanide_and_acid_never_meet_though_neither_is_kept() -> None:
    """49 CFR 177.848(c): cyanides and acids."""
    says = "\n".join(ph(["sodium cyanide 0.1 M", "HCl 0.1 M"], "25", False).says)
    assert "NEVER TOGETHER" in says
    assert "hydrogen cyanide" in says
