"""A make is logged as it was: what came out, what was really taken, from which bottle; the strength follows."""

import pytest

from tests.cli.conftest import Run

ALKALI = ("make", "naoh-1", "--volume", "500 mL", "--log")


def bottle(prep: Run, code: str) -> dict:
    return prep("stock", "show", code, "--json").json


def of(prep: Run, item: str) -> dict:
    return prep("stock", "list", "--item", item, "--json").json[0]


def test_what_came_out_is_what_the_bottle_holds(inventory: Run) -> None:
    assert inventory("stock", "receive", "sodium-thiosulfate-5-water", "500 g").code == 0
    sheet = inventory("make", "thiosulfate-0.2", "--volume", "620 mL", "--json").json
    assert sheet["amount"]["value"] > 620
    made = inventory("make", "thiosulfate-0.2", "--volume", "620 mL", "--log", "--made", "600 mL", "--json").json
    held = bottle(inventory, made["bottles"][0])
    assert (held["amount"]["value"], held["strength"]) == (600.0, None)
    assert made["amount"]["value"] == 600.0
    assert [take["amount"] for take in made["takes"]] == [take["amount"] for take in sheet["takes"]]
    assert inventory("db", "check").code == 0
    more = inventory("make", "thiosulfate-0.2", "--volume", "620 mL", "--log", "--made", "700 mL")
    assert (more.code, more.err.count("\n")) == (2, 1)
    assert "--take" in more.err


def test_the_strength_is_reckoned_from_what_was_taken(inventory: Run) -> None:
    solid = of(inventory, "sodium-hydroxide")
    assay = inventory("substance", "show", "sodium-hydroxide", "--json").json["assay_pct"]
    made = inventory(*ALKALI, "--took", f"{solid['code']} 18 g", "--json").json
    held = bottle(inventory, made["bottles"][0])
    wanted = 18 * assay / 100 / 39.9971 / 0.5  # M(NaOH), IUPAC 2021 abridged weights
    assert float(held["strength"].split()[0]) == pytest.approx(wanted, rel=2e-4)
    assert held["strength"].endswith(" mol/L")
    assert held["strength_uncertainty_pct"] is None  # sodium hydroxide is no primary standard
    assert made["strength"]["value"] == pytest.approx(wanted, rel=2e-4)
    assert bottle(inventory, solid["code"])["amount"]["value"] == pytest.approx(500 - 18)
    said = inventory(*ALKALI, "--took", f"{solid['code']} 18 g").out
    assert f"By what was taken it is {held['strength']}" in said


def test_with_another_volume_it_is_made_up_to_that(inventory: Run) -> None:
    code = of(inventory, "sodium-hydroxide")["code"]
    one = inventory(*ALKALI, "--took", f"{code}=18 g", "--json").json
    other = inventory(*ALKALI, "--took", f"{code}=18 g", "--made", "612 mL", "--json").json
    assert bottle(inventory, other["bottles"][0])["amount"]["value"] == 612.0
    assert other["strength"]["value"] == pytest.approx(one["strength"]["value"] * 500 / 612, rel=2e-3)
    assert "cylinder" in other["vessel"]


def test_what_is_taken_as_the_sheet_says_has_the_strength_of_the_card(inventory: Run) -> None:
    (take,) = inventory("make", "naoh-1", "--volume", "500 mL", "--json").json["takes"]
    amount = f"{take['amount']['value']} {take['amount']['unit']}"
    made = inventory(*ALKALI, "--took", f"{take['bottle']}={amount}", "--json").json
    assert bottle(inventory, made["bottles"][0])["strength"] is None
    found = inventory(*ALKALI, "--took", f"{take['bottle']}=18 g", "--found", "0.93 mol/L", "--json").json
    assert bottle(inventory, found["bottles"][0])["strength"] == "0.93 mol/L"


def test_what_is_made_from_it_later_takes_the_strength_that_it_has(inventory: Run) -> None:
    code = of(inventory, "sodium-hydroxide")["code"]
    weak = inventory(*ALKALI, "--took", f"{code}=18 g", "--json").json
    usual = 100 / 1.0
    took = inventory("make", "naoh-0.1", "--volume", "1 L", "--from", "naoh-1", "--json").json["takes"][0]
    assert took["bottle"] == weak["bottles"][0]
    assert took["amount"]["value"] == pytest.approx(usual / weak["strength"]["value"], rel=0.01)


def test_a_source_bottle_is_named(inventory: Run) -> None:
    first = of(inventory, "sodium-hydroxide")["code"]
    second = inventory("stock", "receive", "sodium-hydroxide", "250 g", "--json").json[0]["code"]
    for code in (first, second):
        for spelled in (code, code.lower()):
            takes = inventory("make", "naoh-1", "--volume", "500 mL", "--from", spelled, "--json").json["takes"]
            assert {take["bottle"] for take in takes} == {code}
    assert inventory(*ALKALI, "--from", second).code == 0
    assert bottle(inventory, first)["amount"]["value"] == 500.0
    inventory("stock", "quarantine", second, "--reason", "wet")
    refused = inventory(*ALKALI, "--from", second)
    assert (refused.code, f"bottle {second} is quarantine" in refused.err) == (2, True)


@pytest.mark.parametrize(
    ("arguments", "code", "says"),
    [
        (("--took", "{solid} 2 g"), 1, "% of what goes into 500 mL"),
        (("--took", "{solid} 60 g"), 1, "% of what goes into 500 mL"),
        (("--took", "{solid} 18 mL"), 2, "counted by mass"),
        (("--took", "{solid}"), 2, "BOTTLE=AMOUNT"),
        (("--took", "{salt} 18 g"), 2, "is not made from Sodium chloride"),
        (("--made", "600 g"), 2, "counted by volume"),
        (("--made", "0 mL"), 2, "zero"),
        (("--from", "Z9Z9"), 2, "Z9Z9"),
    ],
)
def test_what_was_not_made_so_is_one_sentence(inventory: Run, arguments: tuple[str, str], code: int, says: str) -> None:
    codes = {"solid": of(inventory, "sodium-hydroxide")["code"], "salt": of(inventory, "sodium-chloride")["code"]}
    refused = inventory(*ALKALI, arguments[0], arguments[1].format(**codes))
    assert (refused.code, refused.out, refused.err.count("\n")) == (code, "", 1), refused.err
    assert says in refused.err
    assert of(inventory, "sodium-hydroxide")["amount"]["value"] == 500.0


def test_it_goes_with_the_log(inventory: Run) -> None:
    said = inventory("make", "naoh-1", "--volume", "500 mL", "--made", "480 mL")
    assert (said.code, "--log" in said.err) == (2, True)


def test_a_make_names_a_bottle_at_its_own_strength(inventory: Run) -> None:
    """Fumes are told of by the same bottle: of 25 % acid (Skin Corr. 1B from 25 %, Annex VI), not of 10 %."""

    def told(strength: str) -> str:
        asked = ("hydrochloric acid", "2.5 L", "--strength", strength, "--at", "PREP", "--json")
        code = inventory("stock", "receive", *asked).json[0]["code"]
        said = inventory("make", "hcl-1", "--volume", "1 L", "--from", code).out
        return " ".join(said.split("WORKING")[0].split())

    said = told("25 % w/w")
    assert "Hydrochloric acid, 25 % w/w from bottle" in said
    assert "Open and pour hydrochloric acid, 25 % w/w" in said
    assert "36 %" not in said
    weak = told("10 % w/w")
    assert "Hydrochloric acid, 10 % w/w from bottle" in weak
    assert "Open and pour" not in weak
