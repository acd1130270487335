"""Cautions of a step: order of mixing, heat, fumes, protection, what must never meet; a demo's card."""

from dataclasses import replace
from decimal import Decimal

import pytest

from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import Form, Solution, Substance
from prep.resources import seed_table
from prep.safety.cautions import Action, AmountsTaken, at_step, caution_lines, cautions_for, never_meet
from prep.safety.clp.classify import classify_substance
from prep.safety.clp.parse import classes_of
from prep.safety.deferral import DEFERRAL
from prep.safety.matching import matches
from prep.safety.model import Classification
from prep.safety.notes import NeedOnBench, SafetyNotes, notes_for
from prep.safety.solution_hazards import hazards_of, reagents_of

Substances = dict[str, Substance]
Solutions = dict[str, Solution]


def said(substances: Substances, action: Action, *codes: str) -> str:
    return " / ".join(cautions_for([substances[code] for code in codes], None, action))


@pytest.mark.parametrize(
    ("action", "code", "wanted"),
    [
        ("dilute", "hydrochloric-acid", "acid to the water"),
        ("dilute", "hydrochloric-acid", "fume cupboard"),
        ("dilute", "sulfuric-acid", "95 kJ per mole"),
        ("dilute", "nitric-acid", "paper, wood and solvents"),
        ("dilute", "ammonia", "fume cupboard"),
        ("dilute", "acetic-acid", "away from flames"),
        ("dissolve", "sodium-hydroxide", "44 kJ per mole"),
        ("dissolve", "potassium-hydroxide", "58 kJ per mole"),
        ("dissolve", "ammonium-nitrate", "cools the water"),
        ("dissolve", "potassium-permanganate", "clean spatula"),
        ("dissolve", "potassium-dichromate", "may cause cancer"),
        ("dissolve", "iodine", "potassium iodide solution first"),
        ("dilute", "hydrogen-peroxide", "never pour back"),
        ("dilute", "sodium-hypochlorite", "never let it meet an acid"),
        ("dilute", "ethanol-96", "No flames"),
    ],
)
def test_the_caution_that_matters(substances: Substances, action: Action, code: str, wanted: str) -> None:
    assert wanted in said(substances, action, code)


def test_harmless_steps_are_not_shouted_at(substances: Substances, solutions: Solutions) -> None:
    assert cautions_for([substances["sodium-chloride"]], None, "dissolve") == ("Wear eye protection.",)
    weak = cautions_for(reagents_of(["hcl-1"], Catalogue(substances, solutions)), None, "dilute")
    assert weak == ("Wear eye protection.",)


def test_protection_follows_the_worse_of_source_and_product(substances: Substances, solutions: Solutions) -> None:
    product = hazards_of(solutions["naoh-2"], Catalogue(substances, solutions))
    assert cautions_for([substances["sodium-chloride"]], product)[0].startswith("Wear goggles")
    assert cautions_for([], None, "dilute", [product])[0].startswith("Wear goggles")


def test_what_has_no_data_is_said_first(substances: Substances) -> None:
    first = cautions_for([replace(substances["phenol-red"], classification="")], None, "dissolve")[0]
    assert first.startswith("The hazards of Phenol red are not known")


def test_every_caution_has_a_source_but_the_gap(substances: Substances) -> None:
    for line in caution_lines([substances["sulfuric-acid"], substances["potassium-permanganate"]], None, "recipe"):
        assert line.source
    assert "safety data sheet" in DEFERRAL


@pytest.mark.parametrize(
    ("one", "other", "makes"),
    [
        ("sodium-hypochlorite", "hydrochloric-acid", "chlorine"),
        ("sodium-hypochlorite", "ammonia", "chloramines"),
        ("sodium-thiosulfate-5-water", "hydrochloric-acid", "sulfur dioxide"),
        ("potassium-permanganate", "hydrochloric-acid", "chlorine"),
        ("potassium-permanganate", "sulfuric-acid", "manganese heptoxide"),
        ("potassium-permanganate", "glycerol", "fire"),
        ("nitric-acid", "ethanol-96", "fire"),
        ("iodine", "ammonia", "nitrogen triiodide"),
        ("sodium", "hydrochloric-acid", "hydrogen"),
        ("potassium-thiocyanate", "nitric-acid", "hydrogen cyanide"),
        ("sulfuric-acid", "sodium-hydroxide", "spattering"),
        ("ammonia", "hydrochloric-acid", "ammonium chloride"),
        ("ammonium-thiocyanate", "barium-hydroxide-8-water", "ammonia gas"),
        ("magnesium-ribbon", "hydrochloric-acid", "hydrogen"),
        ("hydrogen-peroxide", "potassium-iodide", "oxygen"),
    ],
)
def test_pairs_that_must_not_meet(substances: Substances, one: str, other: str, makes: str) -> None:
    for pair in ((one, other), (other, one)):
        lines = never_meet([substances[code] for code in pair])
        assert any(makes in line.text for line in lines), pair


def test_pairs_that_may_meet(substances: Substances) -> None:
    for pair in (("sodium-chloride", "silver-nitrate"), ("hydrochloric-acid", "sodium-chloride")):
        assert not never_meet([substances[code] for code in pair])


def test_every_rule_is_about_something_in_the_catalogue(substances: Substances) -> None:
    weaker = [replace(one, assay_pct=Decimal(20)) for one in substances.values() if one.form is not Form.SOLID]
    for row in seed_table("cautions"):
        assert any(matches(row["match"], one) for one in [*substances.values(), *weaker]), row["fact"]
    for row in seed_table("never_mix"):
        for side in ("one", "other"):
            known = any(matches(row[side], one) for one in substances.values())
            assert known or "cas=" in row[side], (row["fact"], side)  # not kept, but what an old bottle would need


def test_the_notes_of_a_demo(substances: Substances, solutions: Solutions) -> None:
    def bench(code: str, vessel: str) -> NeedOnBench:
        solution = solutions[code]
        inside = reagents_of([code], Catalogue(substances, solutions))
        return NeedOnBench(code, solution.name, hazards_of(solution, Catalogue(substances, solutions)), inside, vessel)

    card = notes_for([bench("thiosulfate-0.2", "flask"), bench("hcl-2", "flask"), bench("hypochlorite-1", "beaker")])
    assert any("In the flask" in line.text and "sulfur dioxide" in line.text for line in card.may_be_made)
    assert any("chlorine" in line.text for line in card.keep_apart)
    assert card.deferral == DEFERRAL
    assert card.check_before_relying
    corrosive = notes_for([bench("naoh-2", "beaker"), bench("ethanol-70", "")])
    aid = {one.code for one in corrosive.first_aid}
    assert {"P305+P351+P338", "P303+P361+P353", "P301+P330+P331"} <= aid
    assert any("flame" in line.text for line in corrosive.spill)
    assert any("Danger: Causes severe skin burns" in line.text for line in corrosive.on_the_bench)
    unknown = Catalogue(substances | {"dcpip": replace(substances["dcpip"], classification="")}, solutions)
    dye = hazards_of(solutions["dcpip-0.1"], unknown)
    blank = notes_for([NeedOnBench("dcpip-0.1", "DCPIP", dye, reagents_of(["dcpip-0.1"], unknown), "")])
    assert "not known" in blank.on_the_bench[0].text
    assert "no hazard data" in blank.spill[0].text


def test_what_stands_in_bottles_of_one_kind_is_not_in_one_vessel(substances: dict[str, Substance]) -> None:
    acid, ammonia = substances["hydrochloric-acid"], substances["ammonia"]
    known = Classification()

    def card(vessel: str) -> SafetyNotes:
        return notes_for([NeedOnBench(one.code, one.name, known, (one,), vessel) for one in (acid, ammonia)])

    dropped, poured = card("dropping bottle"), card("beaker 100 mL")
    assert any("white smoke" in line.text for line in poured.may_be_made)
    assert not dropped.may_be_made
    assert any("white smoke" in line.text for line in dropped.keep_apart)


def test_dilute_sulfuric_acid_may_be_washed_away(substances: dict[str, Substance]) -> None:
    acid = substances["sulfuric-acid"]
    dilute = replace(acid, assay_pct=Decimal(17), classification="Skin Corr. 1A H314", diluted=True)

    def spill(one: Substance) -> str:
        return " ".join(line.text for line in notes_for([NeedOnBench("a", "a", Classification(), (one,))]).spill)

    assert "no water on it" in spill(acid)
    assert "no water on it" not in spill(dilute)


def test_advice_on_a_spill_hurts_nobody(substances: Substances) -> None:
    # from memory: National Research Council, Prudent Practices in the Laboratory (2011)
    def beside(code: str, volume_ml: str | None = None) -> str:
        one = substances[code]
        amount = Decimal(volume_ml) if volume_ml else None
        return " ".join(
            line.text
            for line in notes_for([NeedOnBench(code, one.name, classify_substance(one), (one,), "", amount)]).spill
        )

    for metal in ("sodium", "potassium", "lithium"):
        assert "dry sand" in beside(metal)
        assert "never water" in beside(metal)
    acid = beside("sulfuric-acid")
    assert "no water on it" in acid
    assert "much water" not in acid
    assert acid.index("Absorb") < acid.index("neutralise")
    assert "every flame" in beside("ethanol-96", "200")
    assert "every flame" not in beside("ethanol-96", "1")
    for oxidiser in ("potassium-permanganate", "hydrogen-peroxide", "nitric-acid", "sodium-hypochlorite"):
        assert "no paper towels" in beside(oxidiser)
    for metal in ("potassium", "sodium"):
        minded = " ".join(cautions_for([substances[metal]]))
        assert "no test strip" in minded
        assert "never cut" in minded


def test_a_dilute_oxidiser_sets_no_paper_alight_and_silver_with_ammonia_is_destroyed(
    substances: Substances, solutions: Solutions
) -> None:
    # from memory: National Research Council, Prudent Practices in the Laboratory (2011)
    catalogue = Catalogue(substances, solutions)

    def spill(code: str) -> str:
        made = solutions[code]
        on = NeedOnBench(code, made.name, hazards_of(made, catalogue), reagents_of([code], catalogue))
        return " ".join(line.text for line in notes_for([on]).spill)

    assert "paper towels" not in spill("agno3-0.1")
    assert "at once with dilute acid" in spill("tollens")


def test_an_alkali_spill_is_given_no_acid_beside_what_gives_a_poisonous_gas_with_one(substances: Substances) -> None:
    """EUH031 and EUH032: contact with acids liberates (very) toxic gas; from memory: Prudent Practices (2011)."""

    def spill(*codes: str) -> str:
        bench = [NeedOnBench(code, code, Classification(), (substances[code],)) for code in codes]
        return " ".join(line.text for line in notes_for(bench).spill)

    assert "citric acid" in spill("sodium-hydroxide", "sodium-chloride")
    for gassing in (
        "potassium-thiocyanate",
        "sodium-hypochlorite",
        "sodium-sulfide-9-water",
        "sodium-metabisulfite",
        "potassium-hexacyanoferrate-iii",
        "sodium-thiosulfate-5-water",
    ):
        assert "citric acid" not in spill("sodium-hydroxide", gassing), gassing
        assert "no acid on it" in spill("sodium-hydroxide", gassing), gassing
    assert "thiosulfate" in spill("bromine")
    assert "never ammonia" in spill("iodine")
    assert "do not sweep it dry" in spill("cobalt-chloride-6-water")


def test_of_two_calls_for_help_the_sooner_stands() -> None:
    toxic, harmful = (Classification(classes_of(one)) for one in ("Acute Tox. 3 H301", "Acute Tox. 4 H302"))
    bench = [NeedOnBench("x", "x", toxic), NeedOnBench("y", "y", harmful)]
    aid = {one.code for one in notes_for(bench).first_aid}
    assert "P301+P310" in aid
    assert "P301+P312" not in aid


def test_weak_acid_keeps_first_aid_for_the_eyes(substances: Substances, solutions: Solutions) -> None:
    catalogue = Catalogue(substances, solutions)
    weak = solutions["hcl-0.1"]
    found = notes_for([NeedOnBench("a", "acid", hazards_of(weak, catalogue), reagents_of(["hcl-0.1"], catalogue))])
    assert "P305+P351+P338" in {one.code for one in found.first_aid}


@pytest.mark.parametrize(
    ("code", "action", "amount", "says"),
    [  # 44.3 kJ/mol / 40.00 g/mol x 98 %, in 100 mL at 4.18 J/(mL K): 2.60 K for each gram
        ("sodium-hydroxide", "dissolve", 80_000, ""),
        ("sodium-hydroxide", "dissolve", 800_000, "warms the water by about 2 degC"),
        ("sodium-hydroxide", "dissolve", 8_000_000, "heats the water strongly"),
        ("sulfuric-acid", "dilute", 100_000, ""),
        ("sulfuric-acid", "dilute", 1_000_000, "warms the water by about 4 degC"),
        ("sulfuric-acid", "dilute", 10_000_000, "gives off much heat"),
        ("hydrochloric-acid", "dilute", 800_000, ""),
        ("hydrochloric-acid", "dilute", 10_000_000, "warms the water by about 3 degC"),
        ("nitric-acid", "dilute", 600_000, ""),
    ],
)
def test_what_is_said_of_heat_hangs_on_the_amount(
    substances: Substances, code: str, action: Action, amount: int, says: str
) -> None:
    scale = AmountsTaken({code: amount}, 100_000_000)
    for lines in (
        at_step(substances[code], action, scale),
        cautions_for([substances[code]], None, action, scale=scale),
    ):
        heat = [line for line in lines if "heat" in line or "warms" in line]
        assert [says in line for line in heat] == [True] * bool(says)
        assert ("never water to the acid" in " ".join(lines)) == ("acid" in code)
        assert not any("warms" in line for line in at_step(substances[code], action, replace(scale, cooled=True)))


def test_flames_and_vapour_are_no_matter_of_a_millilitre(substances: Substances) -> None:
    def said(code: str, amount: int) -> str:
        scale = AmountsTaken({code: amount}, 100_000_000)
        return " ".join(cautions_for([substances[code]], None, "recipe", scale=scale))

    assert "No flames" in said("ethanol-96", 50_000_000)
    assert "No flames" not in said("ethanol-96", 1_000_000)
    assert "burns: paper" in said("potassium-nitrate", 50_000_000)
    assert "burns: paper" not in said("potassium-nitrate", 100_000)
    assert "may cause cancer" in said("potassium-dichromate", 1_000)  # its dust is, in any amount


# From memory: National Research Council, Prudent Practices in the Laboratory (2011), chemical safety summaries.
@pytest.mark.parametrize(
    ("code", "cas", "aid", "spill"),
    [
        ("phenol", "", "macrogol", "never with bare hands"),
        ("bromine", "", "flood with water", "thiosulfate"),
        ("white-phosphorus", "", "under cold water", "wet sand"),
        ("methanol", "", "even while the person feels well", "put out every flame"),
        ("picric-acid", "", "", "keep it wet"),
        ("perchloric-acid", "", "Immediately call", "no paper"),
        ("sodium-hydroxide", "", "at least 15 minutes", "citric acid"),
        ("sodium-fluoride", "7664-39-3", "hospital at once", "those who are trained"),
        ("sodium-chloride", "143-33-9", "say cyanide", "no acid near it"),
        ("sodium-chloride", "7439-97-6", "", "no vacuum cleaner"),
        ("sodium-chloride", "26628-22-8", "", "no metal spatula"),
    ],
)
def test_what_hurts_in_its_own_way_has_advice_of_its_own(
    substances: Substances, code: str, cas: str, aid: str, spill: str
) -> None:
    one = replace(substances[code], cas=cas) if cas else substances[code]
    found = notes_for([NeedOnBench(one.code, one.name, classify_substance(one), (one,))])
    assert any(aid in line.text for line in found.first_aid) or not aid
    assert any(spill in line.text for line in found.spill)
    calm = substances["sodium-chloride"]
    plain = notes_for([NeedOnBench(calm.code, calm.name, classify_substance(calm), (calm,))])
    assert not plain.first_aid
    assert not plain.spill


# Regulation (EC) No 1272/2008, Annex I, Tables 3.1.3 and 3.2.5: P310 with H314, P311 with H331.
def test_whom_to_call_stands_in_the_first_aid_once(substances: Substances) -> None:
    for code, call in (("sulfuric-acid", "P310"), ("methanol", "P308+P311"), ("sodium-nitrite", "P301+P310")):
        one = substances[code]
        said = [s.code for s in notes_for([NeedOnBench(code, one.name, classify_substance(one), (one,))]).first_aid]
        assert call in said
        assert not {"P310", "P311"} <= set(said)
