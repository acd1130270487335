"""What was written down wrongly, or changed since, is put right by a command of its own and can be undone."""

from tests.cli.conftest import Run


def bottle_of(prep: Run, item: str) -> str:
    code: str = prep("stock", "list", "--item", item, "--json").json[0]["code"]
    return code


def test_a_bottle_s_label_is_corrected(inventory: Run) -> None:
    code = bottle_of(inventory, "sodium-chloride")
    done = inventory("stock", "correct", code, "--use-by", "2031-06-30", "--lot", "L7", "--tare", "312.4 g", "--json")
    assert done.code == 0, done.err
    assert (done.json["use_by"], done.json["lot"]) == ("2031-06-30", "L7")
    assert done.json["tare"] == {"value": 312.4, "unit": "g"}
    assert "weighs when empty: 312.4 g" in inventory("stock", "show", code).out
    # The tare that is on file serves the count, without being given again.
    assert inventory("count", "open").code == 0
    weighed = inventory("count", "enter", code, "--gross", "1312.4 g", "--json")
    assert weighed.json["amount"] == {"value": 1000.0, "unit": "g"}
    line = inventory("stock", "history", code, "--json").json[0]
    assert line["kind"] == "correct"
    assert line["reason"] == f"{code}: use by none -> 2031-06-30, tare none -> 312.4 g, lot none -> L7"
    assert inventory("stock", "undo", line["job"]).code == 0
    assert inventory("stock", "show", code, "--json").json["use_by"] is None


def test_one_kind_of_refusal_has_one_exit_code(inventory: Run) -> None:
    code = bottle_of(inventory, "sodium-chloride")
    assert inventory("stock", "discard", code).code == 0
    for command in (
        ("use", code, "5 g"),
        ("discard", code),
        ("move", code, "ACID"),
        ("quarantine", code),
        ("correct", code, "--lot", "L1"),
    ):
        done = inventory("stock", *command)
        assert (done.code, f"Bottle {code} is discarded" in done.err) == (1, True), command
    assert inventory("stock", "correct", bottle_of(inventory, "sodium-hydroxide")).code == 2  # nothing was said


def test_a_part_that_is_written_off_is_not_said_to_be_the_bottle(inventory: Run) -> None:
    code = bottle_of(inventory, "sodium-chloride")
    done = inventory("stock", "discard", code, "--amount", "20 g", "--reason", "spilled")
    assert done.out.startswith(f"20 g of {code} (Sodium chloride) is written off; ")


def test_history_on_screen_is_no_finer_than_a_measurement_and_exact_for_machines(inventory: Run) -> None:
    """Five figures are more than a cylinder, a pipette or a 0.01 g balance gives; common practice, no source."""
    code = inventory("stock", "receive", "hydrochloric acid", "308.087291 mL", "--json").json[0]["code"]
    assert inventory("stock", "use", code, "12.345678 mL").code == 0
    said = inventory("stock", "history", code).out
    assert "+308.09 mL" in said
    assert "-12.346 mL" in said
    assert "12.345678" in inventory("stock", "history", code, "--json").out
