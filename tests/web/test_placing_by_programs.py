"""What a program puts somewhere: what must not stand beside it is told as the commands tell it."""

from collections.abc import Callable
from typing import Any

import pytest

from prep.services.people import people
from prep.services.people.roles import SCOPES, Role
from tests.web.conftest import As

pytestmark = pytest.mark.on_file


@pytest.fixture
def ask(signed_in: As) -> Callable[..., Any]:
    """Ask as a program that works for the office."""
    (number,) = (one.id for one in people.everybody(None) if one.name == "R. Vane")
    people.set_roles(None, number, [Role.TECHNICIAN], "sample", "")
    client = signed_in(None).client
    client.headers["Authorization"] = f"Bearer {people.new_token(None, number, 'till', list(SCOPES), 'sample', '')}"

    def asked(method: str, path: str, said: Any = None) -> Any:
        answer = client.request(method, path, json=said)
        assert answer.status_code == 200, (path, answer.text)
        return answer.json()

    return asked


def test_a_bottle_that_is_put_somewhere_says_what_it_must_not_stand_beside(ask: Callable[..., Any]) -> None:
    (new,) = ask("POST", "/api/stock", {"item": "potassium permanganate", "amount": "250 g", "location": "ORG"})
    assert {one["code"] for one in new["notes"]} >= {"store-apart"}
    moved = ask("POST", f"/api/stock/{new['code']}/move", {"location": "OXID"})
    assert moved["job"] == new["job"] + 1, "by its number it can be undone"
    assert not [one for one in moved["notes"] if one["code"] == "store-apart"]


def test_what_an_order_brings_says_so_too(ask: Callable[..., Any]) -> None:
    order = ask("POST", "/api/orders", {"item": "potassium permanganate", "packs": 1, "pack": "250 g"})
    (new,) = ask("POST", f"/api/orders/{order['code']}/arrived", {"location": "ORG"})
    assert any(one["code"] == "store-apart" for one in new["notes"])


def test_a_make_is_told_of_its_neighbours_and_not_how_to_log_it_again(ask: Callable[..., Any]) -> None:
    done = ask("POST", "/api/makes", {"solution": "naoh-1", "volume": "250 mL", "location": "ACID"})
    assert any(one["code"] == "store-apart" for one in done["notes"])
    assert "log" not in done


def test_a_make_that_something_is_missing_for_names_it(ask: Callable[..., Any]) -> None:
    how = ask("GET", "/api/makes?solution=srcl2-0.5&volume=2+L")
    assert how["missing"]
    assert {"item", "amount"} == set(how["missing"][0])
    assert "log" not in how
