"""What must not meet is said of what is typed, computed or made.

From memory: National Research Council, Prudent Practices in the Laboratory (2011), on incompatible chemicals;
Bretherick's Handbook of Reactive Chemical Hazards; EPA-600/2-80-076 (1980), compatibility chart. American Chemical
Society, Incompatible Chemicals; CRC Handbook of Chemistry and Physics, ch. 16, incompatible chemicals.
"""

import re
from dataclasses import replace

import pytest

from prep.chemistry.model import Form, Substance
from prep.resources import seed_data
from prep.safety.cautions import never_meet
from prep.safety.segregation import between
from prep.services.calc.arithmetic import Answer, Dilution, dilute, minding
from prep.services.calc.equilibrium import ph
from prep.services.catalogue.seed import read_catalogue
from prep.services.demos.safety_notes import notes_of
from prep.services.safety.hazards import classify_typed
from prep.services.safety.storage import as_stored
from prep.services.safety.waste_meeting import clashes

Substances = dict[str, Substance]
ON_FILE = read_catalogue(seed_data())


# The limits are those of Table 3 of Annex VI, Part 3, to Regulation (EC) No 1272/2008: hydrochloric acid 25 %
# (corrosive) and 10 % (airways), nitric acid 65 % (oxidising), ethanoic acid 25 %; EPA-600/2-80-076, cell 2-101.
@pytest.mark.parametrize(
    ("of", "held", "says", "says_not"),
    [
        ("nitric acid", "10 % w/w", "Add the acid to the water", "fume cupboard|fire|20 % or more"),
        ("nitric acid", "5 % w/w", "Add the acid to the water", "fume cupboard|fire|20 % or more"),
        (
            "nitric acid",
            "30 % w/w",
            "Open and pour Nitric acid, 30 % w/w in a fume cupboard.*20 % or more",
            "can catch fire:",
        ),
        ("nitric acid", "68 % w/w", "Keep paper, wood and solvents away.*20 % or more", "nothing"),
        ("hydrochloric acid", "12 mol/L", "gives off hydrogen chloride", "irritates the airways"),
        ("hydrochloric acid", "5 mol/L", "irritates the airways", "gives off hydrogen chloride"),
        ("hydrochloric acid", "2 mol/L", "", "irritates|gives off|Add the acid"),
        ("acetic acid", "17 mol/L", "can burn", "nothing"),
        ("acetic acid", "30 % w/w", "the vapour is corrosive", "burn|flames"),
        ("ammonia", "8 % w/w", "in a fume cupboard", "nothing"),
        ("hydrogen peroxide", "3 % w/w", "acetone", "heats from 20 % up|away from anything that burns"),
        ("hydrogen peroxide", "30 % w/w", "away from anything that burns", "nothing"),
        ("iron(III) chloride", "20 % w/w", "", "Add the acid"),
    ],
)
def test_what_is_said_of_a_solution_is_said_of_its_strength(of: str, held: str, says: str, says_not: str) -> None:
    made = dilute(Dilution(held, "0.1 % w/w", "10 L", None, of))
    answer = minding(made, of, held=held)
    said = " ".join((*answer.says, *(line["text"] for line in answer.document["must_not_meet"])))
    assert re.search(says, said)
    assert not re.search(says_not, said), said
    assert "68 %" not in said or held == "68 % w/w"


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


# Substances as bought, on a demonstration's bench and in a waste bottle.
NEIGHBOURS = """
    sodium-nitrite potassium-thiocyanate explodes when heated
    sodium-hypochlorite urea chloramines
    sodium-hypochlorite tin-ii-chloride-2-water reducing agent
    sodium-hypochlorite phenol chlorinated phenols
    sodium-hypochlorite potassium-thiocyanate cyanogen chloride
    calcium-hypochlorite sulfur catches fire
    calcium-hypochlorite carbon catches fire
    calcium-hypochlorite sucrose catches fire
    hydrogen-peroxide ethanol-96 burn or explode
    hydrogen-peroxide acetic-acid burn or explode
    hydrogen-peroxide sulfuric-acid heats by itself
    hydrogen-peroxide hydrochloric-acid chlorine
    hydrogen-peroxide iron-ii-sulfate-7-water froths
    nitric-acid copper-turnings nitrogen dioxide
    nitric-acid hydrochloric-acid aqua regia
    nitric-acid sulfur brown fumes
    nitric-acid red-phosphorus brown fumes
    nitric-acid carbon brown fumes
    nitric-acid sodium-hydrosulfite brown fumes
    potassium-chlorate potassium-thiocyanate explodes when rubbed
    potassium-chlorate iron-sulfide explodes when rubbed
    potassium-chlorate sodium-thiosulfate-5-water explodes when rubbed
    potassium-bromate sulfur explode
    potassium-bromate ammonium-chloride ammonium bromate
    potassium-nitrate sucrose once lit
    potassium-permanganate ethanoic-anhydride with heat
    perchloric-acid sulfuric-acid anhydrous perchloric
    sodium ethanol-96 hydrogen
    sodium iodine explode
    sodium sulfur explode
    calcium-carbide hydrochloric-acid ethyne
    aluminium-chloride hydrochloric-acid hydrogen chloride
    bromine aluminium-powder violently
    bromine acetone violently
    bromine red-phosphorus violently
    aluminium-powder iron-iii-oxide white-hot
    formaldehyde hydrochloric-acid bis(chloromethyl) ether
"""


@pytest.mark.parametrize("line", NEIGHBOURS.strip().splitlines())
def test_neighbours_of_those_pairs_are_told_on_the_bench_and_at_the_waste_bottle(
    substances: Substances, line: str
) -> None:
    one, other, said = line.split(maxsplit=2)
    for pair in ((one, other), (other, one)):
        lines = never_meet([substances[code] for code in pair])
        assert any(said in line.text for line in lines), lines
        assert all(line.source for line in lines)
        first, second = (substances[code].name for code in pair)
        assert any(said in text for text in clashes(first, [second], "", ON_FILE))


CALM_MIXTURES = [
    ("sodium chloride 1 mol/L", "silver nitrate 0.1 mol/L"),
    ("potassium nitrate 1 mol/L", "sodium chloride 1 mol/L"),
    ("acetic acid 0.1 mol/L", "sodium acetate 0.1 mol/L"),
    ("copper sulfate 0.5 mol/L", "zinc sulfate 0.5 mol/L"),
    ("hydrochloric acid 0.1 mol/L", "sodium hydroxide 0.1 mol/L"),
    ("potassium permanganate 0.02 mol/L", "iron(II) sulfate 0.1 mol/L"),
    ("potassium permanganate 0.02 mol/L", "sulfuric acid 1 mol/L"),
    ("potassium permanganate 0.02 mol/L", "oxalic acid 0.05 mol/L"),
    ("iodine 0.005 mol/L", "sodium thiosulfate 0.01 mol/L"),
    ("ammonia 0.5 mol/L", "ammonium chloride 0.5 mol/L"),
    ("glucose 5 % w/w", "sodium hydroxide 0.1 mol/L"),
    ("nitric acid 0.1 mol/L", "silver nitrate 0.1 mol/L"),
    ("nitric acid 1 mol/L", "ethanol 5 % w/w"),
    ("hydrogen peroxide 3 % w/w", "sulfuric acid 1 mol/L"),
    ("hydrogen peroxide 3 % w/w", "ethanol 5 % w/w"),
    ("hydrogen peroxide 3 % w/w", "ethanoic acid 1 mol/L"),
    ("calcium chloride 1 mol/L", "sodium carbonate 1 mol/L"),
    ("barium chloride 0.1 mol/L", "sodium sulfate 0.1 mol/L"),
    ("lead nitrate 0.1 mol/L", "potassium iodide 0.1 mol/L"),
    ("sodium nitrite 0.1 mol/L", "sodium chloride 0.1 mol/L"),
    ("sodium nitrite 0.1 mol/L", "sodium hydroxide 0.1 mol/L"),
    ("ammonium nitrate 1 mol/L", "sodium chloride 1 mol/L"),
    ("ammonium nitrate 1 mol/L", "glucose 5 % w/w"),
    ("potassium chlorate 0.1 mol/L", "sodium chloride 0.1 mol/L"),
    ("potassium thiocyanate 0.1 mol/L", "iron(III) chloride 0.1 mol/L"),
    ("sodium thiosulfate 0.1 mol/L", "iodine 0.05 mol/L"),
    ("sodium hydroxide 0.1 mol/L", "copper sulfate 0.1 mol/L"),
    ("citric acid 0.1 mol/L", "disodium hydrogen phosphate 0.2 mol/L"),
    ("sodium hypochlorite 5 % w/w", "sodium chloride 5 % w/w"),
    ("sodium hypochlorite 5 % w/w", "sodium hydroxide 1 % w/w"),
    ("potassium iodate 0.02 mol/L", "sodium chloride 0.1 mol/L"),
    ("sulfuric acid 1 mol/L", "hydrochloric acid 1 mol/L"),
    ("phosphoric acid 1 mol/L", "sodium chloride 1 mol/L"),
    ("methanol 20 % w/w", "ethanol 20 % w/w"),
    ("acetone 20 % w/w", "ethyl acetate 2 % w/w"),
    ("urea 1 mol/L", "ammonium sulfate 1 mol/L"),
    ("boric acid 0.1 mol/L", "borax 0.05 mol/L"),
    ("cobalt chloride 0.1 mol/L", "hydrochloric acid 6 mol/L"),
    ("potassium dichromate 0.02 mol/L", "sulfuric acid 1 mol/L"),
    ("silver nitrate 0.1 mol/L", "ethanol 1 % w/w"),
    ("tris 0.1 mol/L", "hydrochloric acid 0.05 mol/L"),
    ("formaldehyde 1 % w/w", "sodium chloride 1 % w/w"),
]


@pytest.mark.parametrize("pair", CALM_MIXTURES, ids=" + ".join)
def test_what_chemists_mix_every_day_is_not_warned_of(pair: tuple[str, str]) -> None:
    # Common practice, no source: titrations, buffers, precipitations, cells, solvents.
    meet = classify_typed(list(pair), density="1.05 g/mL").must_not_meet
    assert not [line.text for line in meet]


CALM_BOTTLES = """
    sodium-chloride silver-nitrate
    potassium-nitrate sodium-chloride
    acetic-acid sodium-acetate
    copper-sulfate-5-water zinc-sulfate-7-water
    sodium-chloride sodium-hydroxide
    potassium-permanganate potassium-nitrate
    potassium-permanganate potassium-iodate
    magnesium-sulfate-7-water sodium-sulfate
    iodine potassium-iodide
    ammonia ammonium-chloride
    glucose sodium-hydrogencarbonate
    copper-sulfate iron-iii-chloride
    glycerol ethanol-96
    hydrogen-peroxide sodium-chloride
    hydrogen-peroxide potassium-nitrate
    sucrose glucose
    calcium-chloride sodium-carbonate
    barium-chloride-2-water sodium-sulfate
    lead-nitrate potassium-nitrate
    sodium-nitrite potassium-nitrate
    sodium-nitrite sodium-nitrate
    ammonium-nitrate sodium-chloride
    ammonium-nitrate potassium-nitrate
    potassium-chlorate potassium-nitrate
    potassium-thiocyanate potassium-chloride
    sodium-thiosulfate-5-water sodium-sulfite
    copper-oxide iron-iii-oxide
    citric-acid disodium-hydrogen-phosphate
    sodium-hypochlorite sodium-chloride
    sodium-hypochlorite sodium-hydroxide
    potassium-iodate sodium-chloride
    copper-turnings copper-sulfate
    zinc-granules iron-filings
    methanol ethanol-96
    acetone ethyl-acetate
    urea ammonium-sulfate
    boric-acid borax
    cobalt-chloride nickel-sulfate-6-water
    potassium-dichromate potassium-chromate
    magnesium-ribbon copper-turnings
    tris glycine
    toluene hexane
"""


@pytest.mark.parametrize("line", CALM_BOTTLES.strip().splitlines())
def test_what_stands_together_every_day_is_not_warned_of(substances: Substances, line: str) -> None:
    # Common practice, no source.
    pair = [substances[code] for code in line.split()]
    assert not [line.text for line in never_meet(pair)]
    assert not clashes(pair[0].name, [pair[1].name], "", ON_FILE)
    first, second = (as_stored(one.code, one.code, "SHELF", ON_FILE) for one in pair)
    assert not between(first, second).bad


def test_water_in_a_vessel_counts_as_what_carbide_must_not_meet() -> None:
    """A demonstration of one's own: carbide dropped into plain water; nothing else there is a solution."""
    pattern = ON_FILE.demos["calcium-water"]
    needs = tuple(replace(need, item="calcium-carbide") for need in pattern.needs if need.item == "calcium") + tuple(
        need for need in pattern.needs if need.item == "water"
    )
    notes = notes_of(replace(pattern, needs=needs), ON_FILE)
    assert any("ethyne" in line.text for line in notes.may_be_made)
    assert not any(line.text.startswith("Water") for line in notes.on_the_bench)


def test_an_alkaline_buffer_of_ammonia_is_not_said_to_give_off_ammonia(substances: Substances) -> None:
    assert not never_meet([substances["ammonium-chloride"], substances["ammonia"]])
    meet = never_meet([substances["ammonium-chloride"], substances["sodium-hydroxide"]])
    assert any("gives off ammonia" in line.text for line in meet)


@pytest.mark.parametrize(
    ("one", "other", "verdict"),
    [
        ("hydrogen-peroxide", "sulfuric-acid", "incompatible"),
        ("hydrogen-peroxide", "potassium-permanganate", "separate"),
    ],
)
def test_strong_peroxide_stands_as_the_transport_rules_ask(one: str, other: str, verdict: str) -> None:
    """49 CFR 177.848(d), 5.1 with 8 liquids `O`, 5.1 with 5.1 blank; (e)(3): Class 8 not above or beside Class 5."""
    stored = [as_stored(code, code, "Shelf", ON_FILE) for code in (one, other)]
    assert between(*stored).verdict == verdict
