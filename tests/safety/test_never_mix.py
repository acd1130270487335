"""What must not meet is said of what is typed, computed or made.

From memory: National Research Council, Prudent Practices in the Laboratory (2011), on incompatible chemicals;
Bretherick's Handbook of Reactive Chemical Hazards; EPA-600/2-80-076 (1980), compatibility chart.
"""

from dataclasses import replace

import pytest

from prep.chemistry.model import Form, Substance
from prep.safety.cautions import never_meet
from prep.services.calc.arithmetic import Answer, minding
from prep.services.calc.equilibrium import ph
from prep.services.safety.hazards import classify_typed

Substances = dict[str, Substance]


@pytest.mark.parametrize(
    ("one", "other", "said"),
    [
        ("sodium hypochlorite 1 % w/w", "hydrochloric acid 1 mol/L", "chlorine"),
        ("sodium hypochlorite 1 % w/w", "ammonia 1 mol/L", "chloramines"),
        ("sodium hypochlorite 1 % w/w", "sodium thiosulfate 0.1 mol/L", "reducing agent"),
        ("sodium hypochlorite 1 % w/w", "ethanol 50 % w/w", "hypochlorites"),
        ("sodium hypochlorite 1 % w/w", "hydrogen peroxide 3 % w/w", "oxygen"),
        ("potassium permanganate 0.1 mol/L", "glycerol 10 % w/w", "fire by itself"),
        ("hydrogen peroxide 3 % w/w", "acetone 10 % w/w", "explosive"),
        ("hydrogen peroxide 3 % w/w", "potassium permanganate 0.01 mol/L", "decomposes"),
        ("sodium nitrite 1 mol/L", "ammonium chloride 1 mol/L", "nitrite with an ammonium"),
        ("sodium nitrite 0.1 mol/L", "hydrochloric acid 1 mol/L", "nitrogen dioxide"),
        ("nitric acid 10 mol/L", "ammonia 10 mol/L", "concentrated acid violently"),
        ("nitric acid 10 mol/L", "ethanol 20 % w/w", "with an organic liquid"),
        ("potassium chlorate 0.1 mol/L", "ammonium sulfate 0.1 mol/L", "explodes"),
        ("potassium chlorate 0.1 mol/L", "sulfuric acid 1 mol/L", "chlorine dioxide"),
    ],
)
def test_what_is_typed_together_is_warned_of(one: str, other: str, said: str) -> None:
    for pair in ([one, other], [other, one]):
        meet = classify_typed(pair, density="1.05 g/mL").must_not_meet
        assert any(said in line.text for line in meet), meet
        assert all(line.source for line in meet)


def test_a_buffer_and_a_plain_salt_are_not_warned_of() -> None:
    for calm in (["acetic acid 0.1 mol/L", "sodium acetate 0.1 mol/L"], ["sodium chloride 1 mol/L", "glucose 1 % w/w"]):
        assert not classify_typed(calm, density="1 g/mL").must_not_meet


@pytest.mark.parametrize(
    ("weak", "strong", "other", "said"),
    [
        ("nitric acid 2 mol/L", "nitric acid 10 mol/L", "glucose 5 % w/w", "anything organic"),
        ("nitric acid 1 mol/L", "nitric acid 10 mol/L", "ammonia 5 mol/L", "ammonia or an amine"),
        ("nitric acid 2 mol/L", "nitric acid 10 mol/L", "ethanol 20 % w/w", "organic liquid"),
        (
            "sulfuric acid 2 mol/L",
            "sulfuric acid 98 % w/w",
            "potassium permanganate 1 % w/w",
            "with sulfuric acid",
        ),
        ("sulfuric acid 2 mol/L", "sulfuric acid 98 % w/w", "potassium chlorate 1 % w/w", "explodes"),
        ("hydrochloric acid 1 mol/L", "hydrochloric acid 6 mol/L", "sodium hydroxide 5 mol/L", "spatter"),
        ("iodine 0.002 mol/L", "iodine 2 % w/w", "ammonia 2 mol/L", "explodes at a touch"),
    ],
)
def test_what_only_strong_acid_does_is_not_said_of_weak(weak: str, strong: str, other: str, said: str) -> None:
    def told(acid: str) -> bool:
        return any(said in line.text for line in classify_typed([acid, other], density="1 g/mL").must_not_meet)

    assert told(strong)
    assert not told(weak)


def test_a_computed_ph_says_it_too() -> None:
    answer = ph(["sodium hypochlorite 0.1 mol/L", "hydrochloric acid 0.1 mol/L"], "25 degC", False)
    assert any("NEVER TOGETHER" in line for line in answer.says) == bool(answer.document["must_not_meet"])


@pytest.mark.parametrize(
    ("of", "said"),
    [
        ("sodium hypochlorite", "chlorine"),
        ("potassium permanganate", "glycerol"),
        ("hydrogen peroxide", "acetone"),
        ("silver nitrate", "ammonia"),
        ("glucose", ""),
        (None, ""),
    ],
)
def test_what_is_diluted_says_what_it_must_never_meet(of: str | None, said: str) -> None:
    answer = minding(Answer(("Take 5 mL.",), {}, ()), of)
    meet = [line["text"] for line in answer.document["must_not_meet"]]
    assert bool(meet) == bool(said)
    assert any(said in text for text in meet) == bool(said)
    assert all(text.startswith("NEVER TOGETHER: ") for text in answer.says[1:])
    assert any(said in text for text in answer.says[1:]) == bool(said)


@pytest.mark.parametrize(
    ("one", "other", "said"),
    [
        *(
            ("picric-acid", other, "picrates")
            for other in ("zinc-powder", "lead-nitrate", "sodium-hydroxide", "ammonia")
        ),
        *(
            ("perchloric-acid", other, "explode")
            for other in ("ethanol-96", "glycerol", "sucrose", "ethanoic-anhydride")
        ),
        *(
            ("white-phosphorus", other, "explode")
            for other in ("potassium-chlorate", "nitric-acid", "bromine", "sulfur")
        ),
        ("white-phosphorus", "sodium-hydroxide", "phosphine"),
        ("nitric-acid", "glycerol", "anything organic"),
    ],
)
def test_what_schools_seldom_hold_must_not_meet_this(substances: Substances, one: str, other: str, said: str) -> None:
    for pair in ((one, other), (other, one)):
        assert any(said in line.text for line in never_meet([substances[code] for code in pair])), pair


@pytest.mark.parametrize("one", ["perchloric-acid", "nitric-acid"])
@pytest.mark.parametrize("other", ["sodium-hydrogencarbonate", "sodium-chloride", "potassium-nitrate"])
def test_what_is_not_organic_is_not_warned_of(substances: Substances, one: str, other: str) -> None:
    assert not any("organic" in line.text for line in never_meet([substances[one], substances[other]]))


@pytest.mark.parametrize(
    ("cas", "solute", "other", "said"),
    [
        ("26628-22-8", "sodium-azide", "hydrochloric-acid", "hydrazoic"),
        ("26628-22-8", "sodium-azide", "lead-nitrate", "azides"),
        ("74-86-2", "ethyne", "silver-nitrate", "acetylides"),
    ],
)
def test_what_is_not_in_the_list_is_known_by_its_cas_number(
    substances: Substances, cas: str, solute: str, other: str, said: str
) -> None:
    odd = replace(substances["sodium-chloride"], code=solute, cas=cas, solute=solute, form=Form.SOLID)
    assert any(said.casefold() in line.text.casefold() for line in never_meet([odd, substances[other]]))
