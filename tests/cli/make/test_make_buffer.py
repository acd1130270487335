"""`prep make --buffer`: a buffer from what is on the shelves, measured with what the room owns."""

from pathlib import Path

import pytest

from tests.cli.conftest import Run

pytestmark = pytest.mark.on_file  # the sums are the same on any database

ACETATE = ("make", "--buffer", "acetic acid/sodium acetate", "--ph", "4.7", "--to", "0.1 mol/L", "--volume", "900 mL")


def received(prep: Run, item: str, amount: str) -> str:
    code: str = prep("stock", "receive", item, amount, "--json").json[0]["code"]
    return code


def test_from_the_liquid_and_a_hydrate(inventory: Run) -> None:
    acid, salt = received(inventory, "acetic-acid", "1 L"), received(inventory, "sodium acetate trihydrate", "500 g")
    shown = inventory(*ACETATE)
    assert shown.code == 0, shown.err
    assert f"bottle {acid}" in shown.out
    assert "7.13 g with the balance" in shown.out
    assert "goggles" in shown.out
    answer = inventory(*ACETATE, "--json").json
    assert answer["volume"] == {"value": 1000.0, "unit": "mL"}  # the next vessel
    assert answer["ph"] == pytest.approx(4.7, abs=1e-3)
    assert 0 < answer["ph_uncertainty"]["value"] < 0.05
    assert [t["takes"][0]["bottle"] for t in answer["ingredients"]] == [acid, salt]
    # CH3COONa.3H2O, 136.08 g/mol: 0.0517 mol at 99 %, as constants and activity model then were
    assert answer["ingredients"][1]["amount"]["value"] == pytest.approx(0.051685 * 136.08 / 0.99, rel=5e-3)
    assert all(t["missing"] is None for t in answer["ingredients"])


def test_a_made_solution_serves_and_what_is_missing_is_said(inventory: Run) -> None:
    received(inventory, "acetic-acid", "1 L")
    received(inventory, "sodium acetate trihydrate", "2 g")
    answer = inventory(*ACETATE, "--json").json
    assert answer["ingredients"][1]["missing"]["value"] == pytest.approx(5.13, abs=0.01)
    shown = inventory(*ACETATE)
    assert shown.code == 1
    assert "MISSING  5.13 g" in shown.out
    assert "missing 5.13 g of Sodium acetate trihydrate" in shown.err
    base = received(inventory, "naoh-1", "1 L")
    pair = ("make", "--buffer", "acetic acid/sodium hydroxide 1 mol/L", *ACETATE[3:], "--json")
    with_base = inventory(*pair).json
    assert with_base["ingredients"][1]["takes"][0]["bottle"] == base
    assert with_base["ph"] == pytest.approx(4.7, abs=1e-3)


@pytest.mark.parametrize(
    ("arguments", "names"),
    [
        (ACETATE, "No bottle of Acetic acid"),
        ((*ACETATE[:4], "9", *ACETATE[5:]), "cannot hold pH 9"),
        ((*ACETATE[:4], "sour", *ACETATE[5:]), "sour"),
        ((*ACETATE[:-1], "0 mL"), "zero"),
        ((*ACETATE[:-1], "400 L"), "No vessel"),
        ((*ACETATE[:6], "1 % w/v", *ACETATE[7:]), "mol/L"),
        ((*ACETATE, "--at", "PREP"), "--log"),
        ((*ACETATE, "--log", "--found", "0.1 mol/L"), "titration"),
        (("make", "hcl-1", *ACETATE[1:]), "without a solution's name"),
        (("make", "--volume", "1 L"), "Name the solution"),
        (("make", "hcl-1", "--volume", "1 L", "--ph", "3"), "--buffer"),
        (("make", "--buffer", "NaCl/KCl", *ACETATE[3:]), "no buffer"),
    ],
)
def test_bad_input_is_one_sentence(inventory: Run, arguments: tuple[str, ...], names: str) -> None:
    refused = inventory(*arguments)
    assert (refused.code, refused.out) == (2, "")
    assert len(refused.err.strip().splitlines()) == 1
    assert names in refused.err


def test_a_buffer_is_logged_with_a_card_of_its_own(inventory: Run, tmp_path: Path) -> None:
    acid, salt = received(inventory, "acetic-acid", "1 L"), received(inventory, "sodium acetate trihydrate", "500 g")
    made = inventory(*ACETATE, "--log", "--bottles", "2", "--by", "R. Vane", "--label", "buffer.pdf", "--json").json
    assert (tmp_path / "buffer.pdf").read_bytes().startswith(b"%PDF")
    held = {b["code"]: b for b in inventory("stock", "list", "--json").json}
    assert [held[code]["amount"]["value"] for code in made["bottles"]] == [500.0, 500.0]
    one = held[made["bottles"][0]]
    assert (one["item"], one["made_by"]) == (made["solution"], "R. Vane")
    assert one["note"].startswith("pH 4.70 +- 0.0")
    took = {t["bottle"]: t["amount"]["value"] for i in made["ingredients"] for t in i["takes"]}
    assert set(took) == {acid, salt}
    assert held[acid]["amount"]["value"] == pytest.approx(1000 - took[acid], abs=1e-6)
    assert held[salt]["amount"]["value"] == pytest.approx(500 - took[salt], abs=1e-6)
    card = inventory("solution", "show", made["solution"], "--json").json
    assert (card["shelf_life_days"], card["purpose"]) == (30, "buffer")
    assert card["name"] == "Buffer, pH 4.7, 0.1 mol/L, Acetic acid, glacial/Sodium acetate trihydrate"
    assert {line["item"] for line in card["recipe"]} == {"acetic-acid", "sodium-acetate-3-water"}
    assert card["hazards"]["known"]
    assert inventory("db", "check").code == 0
    again = inventory(*ACETATE, "--log", "--json").json
    assert again["solution"] == made["solution"]
    assert inventory("make", made["solution"], "--volume", "500 mL", "--json").json["missing"] == []
    assert inventory("stock", "undo", made["job"]).code == 0
    after = {b["code"]: b for b in inventory("stock", "list", "--json").json}
    assert not set(made["bottles"]) & set(after)


def test_a_buffer_that_lacks_something_is_not_logged(inventory: Run) -> None:
    received(inventory, "acetic-acid", "1 L")
    received(inventory, "sodium acetate trihydrate", "2 g")
    before = inventory("stock", "history", "--json").json
    refused = inventory(*ACETATE, "--log")
    assert (refused.code, refused.out, refused.err.count("\n")) == (1, "", 1)
    assert "missing 5.13 g of Sodium acetate trihydrate" in refused.err
    assert inventory("stock", "history", "--json").json == before


@pytest.mark.parametrize(
    ("rule", "said"),
    [
        (("acetic acid",), "bars Acetic acid, glacial in the buffer"),
        (("sodium acetate trihydrate",), "bars Sodium acetate trihydrate in the buffer"),
        # 0.1 mol/L at pH 4.7 is 0.048 of the acid and 0.052 of the salt (pKa' about 4.66)
        (("acetic-acid", "--at-most", "0.04 mol/L"), "at about 0.0482 mol/L is above the school's 0.04 mol/L"),
    ],
)
def test_the_school_s_rules_hold_for_a_buffer_too(inventory: Run, rule: tuple[str, ...], said: str) -> None:
    received(inventory, "acetic-acid", "1 L")
    received(inventory, "sodium acetate trihydrate", "500 g")
    assert inventory("safety", "rule", "add", *rule, "--why", "county policy").code == 0
    refused = inventory(*ACETATE)
    assert (refused.code, refused.out) == (1, "")
    assert said in refused.err
    assert "county policy" in refused.err
    assert inventory("safety", "rule", "remove", "1").code == 0
    assert inventory("safety", "rule", "add", "acetic-acid", "--at-most", "0.05 mol/L").code == 0
    assert inventory(*ACETATE).code == 0
