"""The application on an inventory of the invented school, asked in this process."""

import html
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from functools import partial
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from prep.resources import seed_data
from prep.services.inventory import init
from prep.services.people import people, sign_in
from prep.services.people.roles import Role
from prep.services.people.sign_in import Device
from prep.services.plan.plan_cache import PlanCache
from prep.web.app import ServedInventory, create_app
from tests.databases import made_once, postgres, url

__all__ = ["postgres", "url"]

DAY = date(2027, 1, 11)
PHRASE = "copper beaker lantern 7"
NAMES = {Role.TEACHER: "T. Okonjo", Role.TECHNICIAN: "R. Vane", Role.AUDITOR: "K. Ode", Role.OFFICE: "M. Sarr"}


@dataclass
class Person:
    """Somebody at a browser that runs no script."""

    client: TestClient
    secret: str = ""
    headers: dict[str, str] = field(default_factory=lambda: {"Origin": "http://testserver"})

    def get(self, path: str, **more: Any) -> Any:
        """Open a page."""
        return self.client.get(path, **more)

    def token(self, path: str = "/me") -> str:
        """The token that this person's forms carry."""
        found = re.search(r'name="csrf" value="([0-9a-f]{64})"', self.client.get(path).text)
        assert found, path
        return found[1]

    def visitor(self) -> str:
        """The secret that a browser carries before anybody signs in."""
        self.client.cookies.set("prep_visitor", "v" * 43)
        return "v" * 43

    def send(self, path: str, said: dict[str, Any] | None = None, on: str = "/me", **more: Any) -> Any:
        """Send a form from a page of the site."""
        return self.client.post(path, data={"csrf": self.token(on), **(said or {})}, headers=self.headers, **more)


def hidden(page: str, action: str) -> dict[str, str]:
    """The hidden fields of the form that goes to an address."""
    form = re.search(rf'<form[^>]*action="{re.escape(action)}".*?</form>', page, re.DOTALL)
    assert form, action
    found = re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', form[0])
    return {name: html.unescape(value) for name, value in found}


@pytest.fixture
def school(url: str, monkeypatch: pytest.MonkeyPatch) -> str:
    """The invented school as the inventory, with one person a role."""
    monkeypatch.setenv("PREP_DATABASE_URL", url)

    def fill() -> None:
        init.init(None, "sample", DAY, seed_data() / "school", "")
        for role, name in NAMES.items():
            invited = people.invite(None, name, [role], "sample")
            sign_in.accept(None, invited.secret, PHRASE, Device())

    made_once(url, "school_with_people", fill)
    return url


_PLANS: dict[str, PlanCache] = {}
"""The plan of the school as it begins, by the kind of database: drawn up once in a run."""


@pytest.fixture
def app(school: str) -> FastAPI:
    """The application, to which the plan of the school as it begins is known."""
    found = create_app(ServedInventory(None, lambda: DAY, frozenset({"testserver"})))
    kind = school.partition(":")[0]
    if kind not in _PLANS:
        _PLANS[kind] = PlanCache(None)
        _PLANS[kind].of(DAY)
    found.state.plans._plans.update(_PLANS[kind]._plans)
    return found


As = Callable[[Role | None], Person]


def at_browser(app: FastAPI, role: Role | None) -> Person:
    """Somebody of a role at a browser of their own; None: nobody is signed in."""
    client = TestClient(app, follow_redirects=False, raise_server_exceptions=False)
    if role is None:
        return Person(client)
    secret = sign_in.sign_in(None, NAMES[role], PHRASE, Device(), app.state.guesses)
    client.cookies.set("prep_session", secret)
    return Person(client, secret)


@pytest.fixture
def signed_in(app: FastAPI) -> As:
    """Somebody of a role at a browser of their own."""
    return partial(at_browser, app)
