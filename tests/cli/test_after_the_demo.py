"""After the demo: what it used, what the room learns, where a lot went, and calling it back."""

from datetime import date, timedelta

import pytest

from tests.cli.conftest import Run
from tests.databases import made_once

TODAY = date.today().isoformat()
DEMO = "thiosulfate-rate"


@pytest.fixture
def booked(prep: Run, url: str) -> tuple[Run, str, str]:
    """An inventory with acid of lot L77 and a solution made from it; a booking's code, and that of the acid."""

    def fill() -> None:
        assert prep("init").code == 0
        assert prep("stock", "receive", "hydrochloric-acid", "2.5 L", "--lot", "L77").code == 0
        assert prep("make", "hcl-2", "--volume", "1 L", "--log", "--json").code == 0
        assert prep("book", "add", DEMO, "--on", TODAY, "--closed").code == 0

    made_once(url, "booked", fill)
    return prep, "B1", prep("stock", "list", "--item", "hydrochloric-acid", "--json").json[0]["code"]


def needs(prep: Run) -> dict[str, float]:
    document = prep("demo", "show", DEMO, "--json").json
    return {need["item"]: need["amount"]["value"] for need in document["takes"]}


def test_as_planned_by_default(booked: tuple[Run, str, str]) -> None:
    prep, code, _ = booked
    done = prep("book", "done", code, "--json")
    assert done.code == 0, done.err
    taken = {one["item"]: one for one in done.json["taken"]}
    acid = taken["hcl-2"]
    assert acid["measured"] is False
    assert acid["short"]["value"] == 0
    assert acid["put_out"]["value"] == pytest.approx(acid["used"]["value"] + acid["wasted"]["value"])
    assert acid["put_out"]["value"] == pytest.approx(needs(prep)["hcl-2"])
    bottle = prep("stock", "list", "--item", "hcl-2", "--json").json[0]
    assert bottle["amount"]["value"] == pytest.approx(1000 - acid["put_out"]["value"])
    assert prep("book", "done", code).code == 1
    assert prep("stock", "undo", done.json["job"]).code == 0
    assert prep("stock", "list", "--item", "hcl-2", "--json").json[0]["amount"]["value"] == 1000
    assert [b["code"] for b in prep("book", "list", "--json").json] == [code]
    assert prep("demo", "learn", "--json").json["ratios"] == []
    assert prep("db", "check").code == 0


def test_a_bottle_whose_found_strength_is_off_is_passed_by(booked: tuple[Run, str, str]) -> None:
    prep, code, _ = booked
    (first,) = prep("stock", "list", "--item", "hcl-2", "--json").json
    weak = prep("stock", "receive", "hcl-2", "400 mL", "--use-by", TODAY, "--json").json[0]["code"]
    assert prep("stock", "correct", weak, "--strength", "1.5 mol/L").code == 0
    assert prep("book", "done", code).code == 0
    left = {one["code"]: one["amount"]["value"] for one in prep("stock", "list", "--item", "hcl-2", "--json").json}
    assert left[weak] == 400
    assert left[first["code"]] < 1000


def test_what_the_day_set_out_is_what_is_drawn_on(booked: tuple[Run, str, str]) -> None:
    prep, code, _ = booked
    assert prep("stock", "receive", "hcl-2", "500 mL", "--json").code == 0
    assert prep("plan", "--day", TODAY).code == 0
    sooner = prep("stock", "receive", "hcl-2", "300 mL", "--use-by", TODAY, "--json").json[0]["code"]
    assert prep("book", "done", code).code == 0
    left = {one["code"]: one["amount"]["value"] for one in prep("stock", "list", "--item", "hcl-2", "--json").json}
    assert left[sooner] == 300


def test_what_was_really_used_and_the_rest_back(booked: tuple[Run, str, str]) -> None:
    prep, code, _ = booked
    done = prep("book", "done", code, "--used", "hcl-2=7 mL", "--return", "hcl-2", "--json").json
    acid = next(one for one in done["taken"] if one["item"] == "hcl-2")
    assert (acid["used"]["value"], acid["wasted"]["value"], acid["measured"]) == (7, 0, True)
    assert prep("stock", "list", "--item", "hcl-2", "--json").json[0]["amount"]["value"] == 993


@pytest.mark.parametrize(
    "arguments",
    [
        ("--used", "hcl-2"),
        ("--used", "hcl-2=7 g"),
        ("--used", "hcl-2=-7 mL"),
        ("--used", "sodium-chloride=7 g"),
        ("--used", "hcl-2=1 mL", "--used", "hcl-2=2 mL"),
        ("--return", "phlogiston"),
    ],
)
def test_what_cannot_be_used_is_said(booked: tuple[Run, str, str], arguments: tuple[str, ...]) -> None:
    prep, code, _ = booked
    done = prep("book", "done", code, *arguments)
    assert (done.code, done.out, done.err.count("\n")) == (2, "", 1)
    assert prep("stock", "list", "--item", "hcl-2", "--json").json[0]["amount"]["value"] == 1000


def test_the_room_learns_that_a_figure_is_too_small(booked: tuple[Run, str, str]) -> None:
    prep, code, _ = booked
    figure = prep("book", "done", code, "--json").json["taken"]
    planned = next(one for one in figure if one["item"] == "hcl-2")["planned"]["value"]
    for factor in (1.38, 1.40, 1.42):
        again = prep("book", "add", DEMO, "--on", TODAY, "--closed", "--json").json["code"]
        assert prep("book", "done", again, "--used", f"hcl-2={planned * factor:g} mL").code == 0
    said = prep("demo", "learn", DEMO, "--json").json
    acid = next(one for one in said["ratios"] if one["item"] == "hcl-2")
    assert (acid["bookings"], acid["factor"], acid["wants_change"]) == (3, 1.4, True)
    assert len(said["findings"]) == 1
    assert "1.4" in prep("demo", "learn").out
    soon = (date.today() + timedelta(days=7)).isoformat()
    assert prep("book", "add", DEMO, "--on", soon, "--closed").code == 0
    warned = [w for w in prep("plan", "--json").json["warnings"] if w["code"] == "demo-figures"]
    assert [w["about"] for w in warned] == [f"{DEMO}/hcl-2"]


def test_a_recalled_lot_goes_into_quarantine_with_all_that_came_of_it(booked: tuple[Run, str, str]) -> None:
    prep, code, acid = booked
    assert prep("book", "done", code).code == 0
    made = prep("stock", "list", "--item", "hcl-2", "--json").json[0]["code"]
    down = prep("stock", "trace", "L77", "--json").json
    assert (down["kind"], down["batches"], down["bookings"]) == ("lot", [made], [code])
    up = prep("stock", "trace", code, "--json").json
    assert {(one["item"], one["lot"]) for one in up["lots"]} == {("hydrochloric-acid", "L77")}
    both = prep("stock", "trace", made, "--json").json
    assert [one["lot"] for one in both["from"] if one["origin"]] == ["L77"]
    assert prep("stock", "trace", made).code == 0
    called = prep("stock", "trace", "L77", "--quarantine", "--reason", "recalled by the supplier", "--json").json
    assert set(called["quarantined"]) == {acid, made}
    assert {b["status"] for b in prep("stock", "list", "--json").json} == {"quarantine"}
    again = prep("stock", "trace", "L77", "--quarantine")
    assert (again.code, "nothing was changed" in again.err) == (2, True)
    assert prep("make", "hcl-2", "--volume", "100 mL", "--log").code == 1  # nothing is left that may serve
    assert prep("stock", "undo", called["job"]).code == 0
    assert {b["status"] for b in prep("stock", "list", "--json").json} == {"in service"}


def test_a_trace_of_nothing_known(booked: tuple[Run, str, str]) -> None:
    prep, code, _ = booked
    for thing in ("NONE", code, "", "x" * 500):
        done = prep("stock", "trace", thing)
        assert (done.code, done.out, done.err.count("\n")) == (2, "", 1)
