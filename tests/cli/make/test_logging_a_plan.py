"""The sample school's plan carried out as it is printed: each make by its own command, none asked for again."""

import shlex
from datetime import date
from itertools import groupby
from typing import Any

import pytest

from prep.chemistry import quantities
from prep.chemistry.model import Measure
from prep.resources import seed_data
from tests.cli.conftest import Run

TODAY = date(2027, 1, 11)

END = "2027-01-27"  # half of the sample's weeks: every kind of make is among them


def asked_again(plan: dict[str, Any], made: set[str], again: dict[str, Any]) -> list[tuple[str, str]]:
    """What the later plan makes anew for a booking whose makes in the earlier one are all made."""
    makers: dict[str, set[str]] = {}
    for batch in plan["batches"]:
        for share in batch["serves"]:
            if "requirement" in share:
                makers.setdefault(share["requirement"], set()).add(batch["id"])
    return [
        (batch["id"], share["requirement"])
        for batch in again["batches"]
        for share in batch["serves"]
        if makers.get(share.get("requirement"), {""}) <= made
    ]


def taken(takes: list[dict[str, Any]]) -> dict[str, float]:
    out: dict[str, float] = {}
    for take in takes:
        out[take["item"]] = round(out.get(take["item"], 0) + take["amount"]["value"], 6)
    return out


def test_every_make_is_logged_by_the_command_that_the_plan_prints(prep: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    now = TODAY
    monkeypatch.setattr("prep.cli.common.today", lambda: now)
    assert prep("init", "--from", seed_data() / "school", "--by", "Ada").code == 0
    plan = prep("plan", "--to", END, "--json").json
    coming = [
        (order["due"], ("order", "arrived", order["code"])) for order in prep("order", "list", "--json").json["placed"]
    ]
    for line in plan["orders"]:
        pack = f"{line['pack']['value']} {line['pack']['unit']}"
        coming.append((line["arrives"], ("stock", "receive", line["item"], pack, "--bottles", line["packs"])))
    coming.sort()
    made: set[str] = set()
    for day, batches in groupby(plan["batches"], key=lambda batch: batch["make_on"]):
        before, now = now, date.fromisoformat(day)
        if now.isocalendar().week != before.isocalendar().week:
            assert asked_again(plan, made, prep("plan", "--to", END, "--json").json) == []
        while coming and coming[0][0] <= day:
            assert prep(*coming.pop(0)[1]).code == 0
        for batch in batches:
            where = batch["log"].replace(" --at PLACE", "") + " --at PREP"
            logged = prep(*shlex.split(where)[1:], "--by", "Ada", "--json")
            assert logged.code == 0, (batch["log"], logged.err)
            assert logged.json["amount"] == batch["amount"]
            assert taken(logged.json["takes"]) == taken(batch["takes"])
            made.add(batch["id"])
    assert len(made) == len(plan["batches"]) > 30
    assert {batch["log"].endswith(" --log --at PLACE") for batch in plan["batches"]} == {True, False}
    assert asked_again(plan, made, prep("plan", "--to", END, "--json").json) == []
    assert prep("db", "check").code == 0


def test_the_plan_prints_the_command_under_each_make(inventory: Run) -> None:
    inventory("book", "add", "metals-acid", "--on", "monday", "--closed", "--showings", "2")
    (batch, *_) = inventory("plan", "--json").json["batches"]
    acid = inventory("stock", "list", "--item", "hydrochloric-acid", "--json").json[0]["code"]
    amount = batch["takes"][0]["amount"]["value"]
    volume = quantities.show(round(batch["amount"]["value"] * quantities.BASE_PER_UNIT), Measure.VOLUME, None)
    log = f'prep make hcl-1 --volume "{volume}" --take "{acid}={amount:g} mL" --log'
    assert batch["log"] == log
    assert f"Log it: {log}\n" in inventory("plan", "--steps").out
    assert "prep log 1" in inventory("plan", "--day", batch["make_on"]).out  # a numbered line of the day
    single = inventory("make", "hcl-1", "--volume", f"{batch['amount']['value']:g} mL")
    assert f"Log it: {log}\n" in single.out
    assert inventory("make", "hcl-1", "--volume", "100 mL", "--json").json["log"].startswith("prep make hcl-1")
    done = inventory(*shlex.split(log)[1:])
    assert done.code == 0
    assert f"from bottle {acid}" in done.out
    assert "hcl-1" not in {b["solution"] for b in inventory("plan", "--json").json["batches"]}


@pytest.mark.parametrize(
    "arguments",
    [
        ("--take", "K6G7"),
        ("--take", "=25 mL"),
        ("--take", "hydrochloric-acid=25 g"),
        ("--take", "hydrochloric-acid@someday=25 mL"),
        ("--take", "sodium-chloride=25 g"),
        ("--take", "hydrochloric-acid=2 mL"),
        ("--take", "hydrochloric-acid=25 mL", "--from", "hydrochloric-acid"),
    ],
)
def test_what_was_not_taken_so_is_a_sentence(inventory: Run, arguments: tuple[str, ...]) -> None:
    said = inventory("make", "hcl-1", "--volume", "250 mL", "--log", *arguments)
    assert (said.code in (1, 2), said.out, said.err.count("\n")) == (True, "", 1)
    assert not [b for b in inventory("stock", "list", "--json").json if b["item"] == "hcl-1"]
    assert inventory("make", "hcl-1", "--volume", "250 mL", "--take", "hydrochloric-acid=25 mL").code == 2
