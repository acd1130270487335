"""`prep stock standardise` and `prep make --log --titrated`: said, shown, and refused in a sentence."""

from tests.cli.conftest import Run

TITRATED = "25 mL of it = 24.6, 24.7 mL of hydrochloric acid 1 mol/L"


def made(prep: Run, *more: str) -> dict:
    return prep("make", "naoh-1", "--volume", "500 mL", "--from", "sodium-hydroxide", "--log", *more, "--json").json


def test_a_make_may_say_what_was_found(inventory: Run) -> None:
    document = made(inventory, "--titrated", TITRATED)
    assert document["found"]["strength"]["value"] == 0.986
    assert document["found"]["strength"]["uncertainty"]["k"] == 2
    held = inventory("stock", "show", document["bottles"][0], "--json").json
    assert held["strength"] == "0.986 mol/L"
    assert held["strength_uncertainty_pct"] == document["found"]["strength"]["uncertainty"]["value"]
    assert "within" in inventory("stock", "show", document["bottles"][0]).out


def test_a_bottle_on_the_shelf_is_standardised_and_undone(inventory: Run) -> None:
    (code,) = made(inventory)["bottles"]
    said = inventory("stock", "standardise", code, "--primary", "5.105 g of potassium hydrogen phthalate = 24.6 mL")
    assert said.code == 0, said.err
    assert "Found 1.016 +- " in said.out
    assert "204.2" in said.out
    again = inventory("stock", "standardise", code, "--titrated", TITRATED, "--json").json
    assert again["strength"]["value"] == 0.986
    assert inventory("stock", "undo", again["job"]).code == 0
    assert inventory("stock", "show", code, "--json").json["strength"].startswith("1.01")
    assert inventory("db", "check").code == 0


def test_bad_input_is_one_sentence(inventory: Run) -> None:
    (code,) = made(inventory)["bottles"]
    for arguments in (
        ("stock", "standardise", code),
        ("stock", "standardise", code, "--titrated", "a lot"),
        ("stock", "standardise", code, "--titrated", "25 mL of it = 2 mL of HCl 1 mol/L"),
        ("stock", "standardise", "NONE", "--titrated", TITRATED),
        ("make", "naoh-1", "--volume", "500 mL", "--titrated", TITRATED),
        ("make", "naoh-1", "--volume", "500 mL", "--log", "--found", "1 mol/L", "--titrated", TITRATED),
    ):
        refused = inventory(*arguments)
        assert (refused.code, refused.out) == (2, ""), arguments
        assert len(refused.err.strip().splitlines()) == 1
