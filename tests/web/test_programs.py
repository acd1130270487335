"""The programs' interface: the commands' documents to the last key, and sentences without a terminal's words."""

import json
import re
from collections.abc import Callable
from typing import Any

import pytest

from prep.cli import common
from prep.cli.main import main
from prep.services.people import people
from prep.services.people.roles import SCOPES, Role
from prep.services.stocktake import stocktake
from tests.days import act
from tests.web.conftest import DAY, As

pytestmark = pytest.mark.on_file
Ask = Callable[..., Any]


@pytest.fixture
def ask(signed_in: As) -> Ask:
    """A program with every scope, in the name of somebody who is technician and auditor."""
    (number,) = (one.id for one in people.everybody(None) if one.name == "R. Vane")
    people.set_roles(None, number, [Role.TECHNICIAN, Role.AUDITOR], "sample", "")
    client = signed_in(None).client
    client.headers["Authorization"] = f"Bearer {people.new_token(None, number, 'till', list(SCOPES), 'sample', '')}"
    return lambda method, path, said=None: client.request(method, path, json=said)


DOCUMENTS = {
    "/api/demos?q=copper": ["demo", "list", "copper"],
    "/api/demos?q=copper&can=2027-01-19": ["demo", "list", "copper", "--can", "2027-01-19"],
    "/api/demos/strong-acid-titration?showings=3": ["demo", "show", "strong-acid-titration", "--showings", "3"],
    "/api/demos/strong-acid-titration/prediction": ["demo", "predict", "strong-acid-titration"],
    "/api/bookings": ["book", "list", "--no-states"],
    "/api/bookings/B1": ["book", "show", "B1"],
    "/api/plan": ["plan"],
    "/api/plan/day?day=2027-01-12": ["plan", "--day", "2027-01-12"],
    "/api/plan/why/B1": ["plan", "why", "B1"],
    "/api/plan/what-if?change=bottle+Q9V3+gone": ["plan", "--what-if", "bottle Q9V3 gone"],
    "/api/makes?solution=naoh-0.5&volume=500 mL": ["make", "naoh-0.5", "--volume", "500 mL"],
    "/api/stock/G7P4": ["stock", "show", "G7P4"],
    "/api/history": ["stock", "history"],
    "/api/orders": ["order", "list"],
    "/api/counts": ["count", "list", "--all"],
    "/api/counts/C1": ["count", "list", "--count", "C1"],
    "/api/counts/C1/sheet": ["count", "sheet"],
}


@pytest.mark.parametrize("path", DOCUMENTS)
def test_a_program_is_given_what_the_command_prints(
    path: str, ask: Ask, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    stocktake.open_count(None, "DIL", False, act("R. Vane", DAY))
    monkeypatch.setattr(common, "today", lambda: DAY)
    with pytest.raises(SystemExit) as left:
        main([*DOCUMENTS[path], "--json"])
    assert not left.value.code
    printed = json.loads(capsys.readouterr().out)
    given = ask("GET", path)
    assert given.status_code == 200
    assert given.json() == (printed["placed"] if path == "/api/orders" else printed)


NAOH = {"solution": "naoh-0.5", "volume": "500 mL"}
SAME = {"demo": "silver-tree", "on": "2027-01-13", "period": "P2", "room": "S1", "teacher": "M. Quill"}
WRONG: dict[str, tuple[str, str, dict[str, Any] | None, str]] = {
    "a day that is over": ("POST", "/api/bookings", {"demo": "blue-bottle", "on": "2026-01-05"}, "is past"),
    "a day without lessons": ("POST", "/api/bookings", {"demo": "blue-bottle", "on": "2027-01-16"}, "“closed”"),
    "the same again": ("POST", "/api/bookings", SAME, "“again”"),
    "a count not done": ("POST", "/api/counts/C1/close", {}, "“partial”"),
    "no way to count": ("POST", "/api/counts/C1/bottles/{counted}", {}, "“not_found”"),
    "what is taken wrongly": ("POST", "/api/makes", NAOH | {"taken": ["G7P4"]}, "“taken”"),
    "no place": ("POST", "/api/stock", {"item": "urea", "amount": "250 g", "location": "NOWHERE"}, "NOWHERE"),
    "what no bottle has": ("POST", "/api/makes", NAOH | {"taken": ["ZZZZ=1 g"]}, ""),
    "used of what is none": ("POST", "/api/bookings/B1/done", {"used": ["urea"]}, "B1"),
    "no such day": ("GET", "/api/demos?can=soon", None, "“can”"),
    "too long a change": ("GET", f"/api/plan/what-if?change=bottle+{'Q' * 201}+gone", None, "200"),
    "no such change": ("GET", "/api/plan/what-if?change=everything+gone", None, "“change”"),
    "too many packs": ("POST", "/api/orders/P1/arrived", {"packs": 900}, ""),
}  # fmt: skip


@pytest.mark.parametrize("case", WRONG)
def test_a_program_reads_no_word_of_a_terminal(case: str, ask: Ask) -> None:
    method, path, said, says = WRONG[case]
    stocktake.open_count(None, "DIL", False, act("R. Vane", DAY))
    first = stocktake.sheet(None, "C1").lines[0].code
    answer = ask(method, path.format(counted=first), said)
    assert answer.status_code in (404, 409, 422), answer.text
    message = answer.json()["error"]["message"]
    assert says in message
    assert not re.search(r"--\w|\bprep \w", message), message
