"""Whatever is asked of a pair that must not meet, the answer names the danger, above all where it is refused.

From memory: National Research Council, Prudent Practices in the Laboratory (2011), on incompatible chemicals;
Bretherick's Handbook of Reactive Chemical Hazards; EPA-600/2-80-076 (1980), compatibility chart.
"""

from collections.abc import Callable

import pytest

from prep.errors import PrepError
from prep.services.calc.arithmetic import Answer, Dilution, dilute, minding
from prep.services.calc.equilibrium import EndpointQuestion, endpoint, ph
from prep.services.calc.gases import gas
from prep.services.calc.mixed_portions import Blend, blend
from prep.services.calc.titration import Titration, equivalence, titrate
from prep.services.safety.hazards import classify_typed

PAIRS = (
    ("bleach", "HCl 2 M", "chlorine"),
    ("sodium hypochlorite 5 % w/w", "ammonia 2 M", "chloramines"),
    ("bleach", "sodium thiosulfate 0.1 M", "reducing agent"),
    ("bleach", "ethanol 50 % v/v", "hypochlorites"),
    ("bleach", "20 vol hydrogen peroxide", "oxygen"),
    ("potassium thiocyanate 1 M", "sulfuric acid 1 M", "hydrogen cyanide"),
    ("sodium sulfide 1 M", "HCl 1 M", "hydrogen sulfide"),
    ("sodium fluoride 0.5 M", "HCl 1 M", "hydrogen fluoride"),
    ("KMnO4 0.02 M", "conc sulfuric acid", "manganese heptoxide (explosive)"),
    ("KMnO4 0.1 M", "glycerol 10 % w/w", "catches fire by itself"),
    ("potassium chlorate 0.3 M", "conc sulfuric acid", "explodes"),
    ("potassium chlorate 0.3 M", "HCl 2 M", "chlorine dioxide"),
    ("conc nitric acid", "ethanol 96 % v/v", "catch fire or explode"),
    ("conc nitric acid", "conc ammonia", "heats strongly"),
    ("conc nitric acid", "glucose 1 M", "anything organic"),
    ("silver nitrate 0.1 M", "ammonia 2 M", "explode on standing"),
    ("silver nitrate 0.1 M", "calcium carbide 1 M", "acetylides"),
    ("iodine 0.05 M", "conc ammonia", "explodes at a touch"),
    ("20 vol hydrogen peroxide", "acetone 10 % w/w", "explosive"),
    ("20 vol hydrogen peroxide", "KMnO4 0.02 M", "decomposes"),
    ("sodium nitrite 1 M", "ammonium chloride 1 M", "explodes when warm"),
    ("sodium nitrite 1 M", "HCl 1 M", "nitrogen dioxide"),
    ("sodium azide 0.1 M", "HCl 1 M", "hydrazoic acid"),
    ("26628-22-8 0.1 M", "lead nitrate 0.1 M", "azides that explode"),
    ("silver nitrate 0.1 M", "acetylene 0.01 M", "acetylides"),
    ("picric acid 0.01 M", "lead nitrate 0.1 M", "picrates"),
    ("perchloric acid 70 % w/w", "ethanol 96 % v/v", "can explode"),
    ("conc hydrochloric acid", "NaOH 5 M", "spatter"),
)
CALM = (("oxalic acid 0.05 M", "KMnO4 0.02 M"), ("sodium chloride 1 M", "glucose 1 M"), ("zinc sulfate 1 M", "water"))


def _gas(one: str, other: str) -> Answer:
    return gas([f"10 mL of {one}", f"10 mL of {other}"], "20", "101.3 kPa", False)


def _classified(one: str, other: str) -> Answer:
    meet = classify_typed([one, other], density="1.1 g/mL").must_not_meet
    return Answer(tuple(f"NEVER TOGETHER: {line.text}" for line in meet), {}, ())


ASKED: dict[str, Callable[[str, str], Answer]] = {
    "endpoint": lambda one, other: endpoint(EndpointQuestion("20 mL", [other], [one], "7")),
    "endpoint of portions": lambda one, other: endpoint(EndpointQuestion(f"20 mL of {one}", [other], [], "7")),
    "pH": lambda one, other: ph([one, other], "25", False),
    "blend": lambda one, other: blend(Blend((f"100 mL of {one}", f"100 mL of {other}"))),
    "gas": _gas,
    "dilute": lambda one, other: dilute(Dilution(source=one, target=other, volume="1 L")),
    "equivalence": lambda one, other: equivalence(f"25 mL of {one}", other, None, None),
    "titrate": lambda one, other: titrate(Titration("25 mL", one, other, "20.0, 20.0 mL")),
    "classify": _classified,
}


def said(asked: Callable[[str, str], Answer], one: str, other: str) -> str:
    try:
        return " ".join(asked(one, other).says)
    except PrepError as refused:
        return str(refused)


@pytest.mark.parametrize("command", ASKED)
def test_every_pair_that_must_not_meet_is_named(command: str) -> None:
    for pair in PAIRS:
        for one, other in (pair[:2], pair[1::-1]):
            answer = said(ASKED[command], one, other)
            assert pair[2] in answer, (one, other, answer)
            assert "NEVER TOGETHER" in answer or "MIND" in answer, (one, other, answer)


@pytest.mark.parametrize("command", ASKED)
def test_what_may_meet_is_not_warned_of(command: str) -> None:
    for one, other in CALM:
        assert "NEVER TOGETHER" not in said(ASKED[command], one, other)


def test_the_danger_of_a_refusal_comes_first() -> None:
    with pytest.raises(PrepError, match=r"^NEVER TOGETHER: .*manganese heptoxide.* Refused besides: .*not among the"):
        ASKED["endpoint"]("KMnO4 0.02 M", "conc sulfuric acid")


def test_what_a_substance_must_not_meet_is_one_sentence() -> None:
    peroxide = minding(Answer(("Take 5 mL.",), {}, ()), "hydrogen peroxide")
    assert len(peroxide.says) == 2
    assert "acetone and acid forms an explosive; with permanganate" in peroxide.says[1]
    assert len(peroxide.document["must_not_meet"]) == 4


@pytest.mark.parametrize(
    ("parts", "minded"),
    [
        (["10 mL of bleach", "10 mL of HCl 2 M"], "Chlorine is toxic"),
        (["1 g zinc", "50 mL of HCl 1 M"], "Hydrogen explodes with air"),
        (["5 g calcium carbonate", "50 mL of HCl 1 M"], "Nothing stoppered"),
    ],
)
def test_the_gas_given_off_has_its_caution(parts: list[str], minded: str) -> None:
    assert any(minded in text for text in gas(parts, "20", "101.3 kPa", False).says)
