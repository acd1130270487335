"""The office's list of people: inviting, roles, links, leaving."""

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from fastapi import Response

from prep.errors import PrepError
from prep.services.people import people, sign_in
from prep.services.people.roles import Right, Role
from prep.web.forms import Choice, Field, WebForm
from prep.web.page_request import At, NextPage, PageRequest, PageState
from prep.web.rights import needs, router

if TYPE_CHECKING:
    from prep.store.people.accounts import Person

routes = router()
ROLES = tuple(Choice(role.value, role.value) for role in Role)


def _invite_form() -> WebForm:
    hint = "As it is to stand in the ledger."
    name = Field("name", "Name", required=True, hint=hint)
    return WebForm("/people", (name, Field("roles", "Is", "ticks", choices=ROLES)), "Invite", bench=False)


@routes.get("/people", include_in_schema=False)
@needs(Right.RULE)
def everybody(here: At) -> Response:
    """List everybody, with the form to invite one more."""
    return here.show("people.html", people=people.everybody(here.db), form=_invite_form())


def _link(here: PageRequest, invited: people.Invited) -> Response:
    base = f"{here.request.url.scheme}://{here.request.headers.get('host', '')}"
    note = f"Give it to {invited.name}. It works once, for {people.INVITED_DAYS} days, and is shown this once."
    title = f"A link for {invited.name}"
    return here.show("secret.html", title=title, secret=f"{base}/invited/{invited.secret}", note=note, back="/people")


@routes.post("/people", include_in_schema=False)
@needs(Right.RULE)
def invite(here: At) -> Response:
    """Invite somebody."""
    try:
        made = here.made_once(
            lambda: people.invite(here.db, here.typed["name"], here.typed.all("roles"), here.by, here.address),
            lambda: people.invited_before(here.db),
        )
    except PrepError as problem:
        form = _invite_form().filled(here.typed.texts).wrong(problem)
        return here.show("form.html", 422, title="Invite somebody", form=form, back="/people")
    return _link(here, made)


@routes.get("/people/{number}", include_in_schema=False)
@needs(Right.RULE)
def person(here: At, number: int) -> Response:
    """Show one person: roles, link, leaving."""
    found = people.one(here.db, number)
    field = Field("roles", "Is", "ticks", choices=ROLES, many=tuple(sorted(found.roles)))
    form = WebForm(f"/people/{number}/roles", (field,), "Change roles", seen=state_of(found), bench=False)
    sessions = sign_in.sessions_of(here.db, number)
    return here.show("person.html", person=found, form=form, sessions=sessions, seen=state_of(found))


def state_of(person: "Person") -> str:
    """Write what a person's page was drawn from, to see whether it has changed since."""
    return f"{','.join(sorted(person.roles))}|{person.status}"


def _change(here: PageRequest, number: int, form: WebForm, do: Callable[[], str]) -> Response:
    """Change something of a person, unless their page is too old."""

    def now() -> PageState:
        found = people.one(here.db, number)
        is_ = "has left" if found.status == "left" else f"is {', '.join(sorted(found.roles))}"
        said = f"{found.name} was changed while this page was open: {found.name} {is_} now."
        return PageState(state_of(found), said)

    form = replace(form, seen=now().drawn_from)
    to = f"/people/{number}"
    return here.answer(form, people.one(here.db, number).name, lambda: NextPage(to, do()), here.unchanged(now))


@routes.post("/people/{number}/roles", include_in_schema=False)
@needs(Right.RULE)
def roles(here: At, number: int) -> Response:
    """Change somebody's roles."""

    def do() -> str:
        people.set_roles(here.db, number, here.typed.all("roles"), here.by, here.address)
        return "The roles are changed."

    form = WebForm(f"/people/{number}/roles", (Field("roles", "Is", "ticks", choices=ROLES),), "Change roles")
    return _change(here, number, replace(form, bench=False), do)


@routes.post("/people/{number}/link", include_in_schema=False)
@needs(Right.RULE)
def link(here: At, number: int) -> Response:
    """Make a new link for somebody."""
    made = here.made_once(
        lambda: people.invite_again(here.db, number, here.by, here.address), lambda: people.invited_before(here.db)
    )
    return _link(here, made)


@routes.post("/people/{number}/status", include_in_schema=False)
@needs(Right.RULE)
def status(here: At, number: int) -> Response:
    """Let somebody leave, or come back."""
    leaves = here.typed["status"] == "left"

    def do() -> str:
        people.set_status(here.db, number, here.typed["status"], here.by, here.address)
        return "They have left: every device and key of theirs is signed out." if leaves else "Back."

    form = WebForm(
        f"/people/{number}/status",
        (Field("status", "", "hidden"),),
        "Has left" if leaves else "Let them in again",
        danger=leaves,
        bench=False,
    )
    return _change(here, number, form, do)
