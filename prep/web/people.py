"""Signing in and out, one's own page, and the office's list of people."""

import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from fastapi import Response
from fastapi.responses import RedirectResponse

from prep.errors import PrepError
from prep.resources import seed_data
from prep.services.inventory import init
from prep.services.people import people, sign_in
from prep.services.people.roles import SCOPES, Right, Role, may
from prep.services.people.sign_in import Device, first_person
from prep.services.plan.snapshot import sample as sample_school
from prep.web.forms import Field, WebForm
from prep.web.page_request import At, Onward, PageRequest
from prep.web.rights import SESSION, needs, router

if TYPE_CHECKING:
    from prep.store.people.rows import Person

routes = router()
HOME = (
    (Right.WORK, "/today"),
    (Right.COUNT, "/counts"),
    (Right.BOOK, "/showings"),
    (Right.SIGNED_IN, "/people"),
)


def home_of(here: PageRequest) -> str:
    """Find the page on which the person's day begins."""
    roles = here.me.roles
    return next(to for right, to in HOME if may(roles, right))


@routes.get("/", include_in_schema=False)
@needs(Right.ANYONE)
def front(here: At) -> Response:
    """Send the browser to where the person's day begins, or to the sign-in."""
    return RedirectResponse(home_of(here) if here.person else "/sign-in", 303)


def _sign_in_form(to: str) -> WebForm:
    return WebForm(
        "/sign-in",
        (
            Field("name", "Name", required=True, auto="username"),
            Field("phrase", "Pass phrase", "password", required=True, auto="current-password"),
            Field("bench", "This is the bench’s shared tablet: stay signed in, and ask who at each act", "tick"),
            Field("to", "", "hidden", value=to),
        ),
        "Sign in",
        bench=False,
    )


@routes.get("/sign-in", include_in_schema=False)
@needs(Right.ANYONE)
def sign_in_page(here: At, to: str = "/") -> Response:
    """Show the sign-in."""
    return here.show("sign_in.html", form=_sign_in_form(_inside(to)))


def _inside(to: str) -> str:
    """Check that a path is of this site; the front page's for any other."""
    fine = to.startswith("/") and not to.startswith(("//", "/\\")) and to.isascii() and to.isprintable()
    return to if fine and "\\" not in to else "/"


BROWSERS = (("Edg", "Edge"), ("OPR/", "Opera"), ("Firefox", "Firefox"), ("Chrom", "Chrome"), ("Safari", "Safari"))
SYSTEMS = (("iPhone", "iPhone"), ("iPad", "iPad"), ("Android", "Android"), ("CrOS", "ChromeOS"), ("Windows", "Windows"),
           ("Mac OS", "Mac"), ("Linux", "Linux"))  # fmt: skip


def device_name(agent: str) -> str:
    """Name what a browser says of itself in a few words: `Firefox on Windows`."""
    browser, system = (next((name for part, name in known if part in agent), "") for known in (BROWSERS, SYSTEMS))
    return " on ".join(filter(None, (browser, system))) or agent[:60] or "a device"


def _device(here: PageRequest) -> Device:
    return Device(here.request.headers.get("user-agent", "")[:160], here.address, here.typed.ticked("bench"))


def _let_in(here: PageRequest, to: str, secret: str) -> Response:
    answer = RedirectResponse(to, 303)
    age = int(86_400 * sign_in.BENCH_DAYS) if here.typed.ticked("bench") else None
    answer.set_cookie(SESSION, secret, max_age=age, httponly=True, samesite="lax", secure=here.secure, path="/")
    return answer


@routes.post("/sign-in", include_in_schema=False)
@needs(Right.ANYONE)
def do_sign_in(here: At) -> Response:
    """Sign in."""
    form = _sign_in_form(_inside(here.typed["to"])).filled(here.typed.texts)
    guesses = here.request.app.state.guesses
    try:
        secret = sign_in.sign_in(here.db, here.typed["name"], here.typed["phrase"], _device(here), guesses)
    except sign_in.Slowed:
        raise
    except PrepError as problem:
        return here.show("sign_in.html", 403, form=form.wrong(problem))
    return _let_in(here, _inside(here.typed["to"] or "/"), secret)


@routes.post("/sign-out", include_in_schema=False)
@needs(Right.SIGNED_IN)
def sign_out(here: At) -> Response:
    """Sign out."""
    sign_in.sign_out(here.db, here.me, here.key)
    answer = here.go("/sign-in", "You are signed out.")
    answer.delete_cookie(SESSION, path="/")
    return answer


def _accept_form(secret: str) -> WebForm:
    hint = "Four words that do not belong together are long enough and can be remembered: 12 characters at least."
    field = Field("phrase", "Your pass phrase", "password", hint=hint, required=True, auto="new-password")
    return WebForm(f"/invited/{secret}", (field,), "Choose it and come in", bench=False)


@routes.get("/invited/{secret}", include_in_schema=False)
@needs(Right.ANYONE)
def invited(here: At, secret: str) -> Response:
    """Show the page that an invitation's link opens."""
    name = sign_in.whose(here.db, secret)
    return here.show("form.html", title=f"Welcome, {name}", form=_accept_form(secret), back="")


@routes.post("/invited/{secret}", include_in_schema=False)
@needs(Right.ANYONE)
def accept(here: At, secret: str) -> Response:
    """Take up an invitation."""
    name = sign_in.whose(here.db, secret)
    try:
        session = sign_in.accept(here.db, secret, here.typed["phrase"], _device(here))
    except PrepError as problem:
        form = _accept_form(secret).wrong(problem)
        return here.show("form.html", 422, title=f"Welcome, {name}", form=form, back="")
    return _let_in(here, "/", session)


# One's own page ------------------------------------------------------------------------------------


def _phrase_form() -> WebForm:
    old = Field("old", "Pass phrase now", "password", required=True, auto="current-password")
    new = Field("new", "New pass phrase", "password", required=True, auto="new-password")
    return WebForm("/me/phrase", (old, new), "Change it", bench=False)


def _pin_form() -> WebForm:
    hint = "4 to 8 digits; by it you say on the bench’s tablet who you are."
    field = Field("digits", "New PIN", "password", hint=hint, required=True, mode="numeric", auto="new-password")
    return WebForm("/me/pin", (field,), "Set it", bench=False)


def _token_form() -> WebForm:
    scopes = tuple((name, name) for name in SCOPES)
    name = Field("name", "For which program", required=True)
    return WebForm("/me/keys", (name, Field("scopes", "It may", "ticks", choices=scopes)), "Make a key", bench=False)


@routes.get("/me", include_in_schema=False)
@needs(Right.SIGNED_IN)
def me(here: At) -> Response:
    """Show one's own page: devices, pass phrase, PIN, calendar, programs' keys."""
    return here.show(
        "me.html",
        sessions=sign_in.sessions_of(here.db, here.me.id),
        tokens=sign_in.tokens_of(here.db, here.me.id),
        phrase=_phrase_form(),
        pin=_pin_form(),
        token=_token_form(),
    )


@routes.post("/me/phrase", include_in_schema=False)
@needs(Right.SIGNED_IN)
def change_phrase(here: At) -> Response:
    """Change one's pass phrase."""

    def do() -> Onward:
        guesses = here.request.app.state.guesses
        sign_in.change_phrase(here.db, here.me, here.typed["old"], here.typed["new"], here.key, guesses)
        return Onward("/me", "Your pass phrase is changed; you are signed out everywhere else.")

    return here.answer(_phrase_form(), "Change your pass phrase", do)


@routes.post("/me/pin", include_in_schema=False)
@needs(Right.SIGNED_IN)
def set_pin(here: At) -> Response:
    """Set one's PIN."""

    def do() -> Onward:
        people.set_pin(here.db, here.me.id, here.typed["digits"])
        return Onward("/me", "Your PIN is set.")

    return here.answer(_pin_form(), "Set your PIN", do)


@routes.post("/me/sessions/{key}/end", include_in_schema=False)
@needs(Right.SIGNED_IN)
def end_session(here: At, key: str) -> Response:
    """End one of one's own sessions."""
    sign_in.sign_out(here.db, here.me, key)
    return here.go("/me", "That device is signed out.")


@routes.post("/me/feed", include_in_schema=False)
@needs(Right.SIGNED_IN)
def new_feed(here: At) -> Response:
    """Make a new address for one's own calendar."""
    secret = people.new_feed(here.db, here.me.id, here.by, here.address)
    base = f"{here.request.url.scheme}://{here.request.headers.get('host', '')}"
    note = "Give it to your calendar program. It is shown this once; a new one ends the one before."
    address = f"{base}/feed/{secret}.ics"
    return here.show("secret.html", title="Your calendar’s address", secret=address, note=note, back="/me")


@routes.post("/me/keys", include_in_schema=False)
@needs(Right.SIGNED_IN)
def new_key(here: At) -> Response:
    """Make a key for a program."""
    typed = here.typed
    try:
        secret = people.new_token(here.db, here.me.id, typed["name"], typed.all("scopes"), here.by, here.address)
    except PrepError as problem:
        form = _token_form().filled(typed.texts).wrong(problem)
        return here.show("form.html", 422, title="A key for a program", form=form, back="/me")
    note = "It goes into the header “Authorization: Bearer KEY”. It is shown this once."
    return here.show("secret.html", title=f"Key for {typed['name']}", secret=secret, note=note, back="/me")


@routes.post("/me/keys/{key}/end", include_in_schema=False)
@needs(Right.SIGNED_IN)
def end_key(here: At, key: str) -> Response:
    """End a program's key."""
    people.end_token(here.db, here.me.id, key, here.by, here.address)
    return here.go("/me", "That key no longer opens anything.")


# The office ----------------------------------------------------------------------------------------

ROLES = tuple((role.value, role.value) for role in Role)


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
        with here.once():
            made = people.invite(here.db, here.typed["name"], here.typed.all("roles"), here.by, here.address)
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

    def now() -> tuple[str, str]:
        found = people.one(here.db, number)
        is_ = "has left" if found.status == "left" else f"is {', '.join(sorted(found.roles))}"
        return state_of(found), f"{found.name} was changed while this page was open: {found.name} {is_} now."

    form = replace(form, seen=now()[0])
    to = f"/people/{number}"
    return here.answer(form, people.one(here.db, number).name, lambda: Onward(to, do()), here.unchanged(now))


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
    return _link(here, people.invite_again(here.db, number, here.by, here.address))


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


# Links to come in by ---------------------------------------------------------------------------------

SAMPLE_PEOPLE = (
    ("T. Okonjo", Role.TEACHER),
    ("R. Vane", Role.TECHNICIAN),
    ("K. Ode", Role.AUDITOR),
    ("M. Sarr", Role.OFFICE),
)


@contextmanager
def sample() -> Iterator[tuple[Path, date, date]]:
    """Make the invented school in a throw-away inventory, and tell its day and the last day of its plan."""
    found = sample_school()
    today = found.snapshot.today
    with tempfile.TemporaryDirectory(prefix="prep-sample-") as folder:
        path = Path(folder) / "inventory.db"
        init.init(path, "sample", today, seed_data() / "school", "")
        yield path, today, found.end


def first_link(db: Path | None, at: str, name: str) -> list[str]:
    """Make the link for the first person of an inventory, who has all rights; nothing where somebody is on file."""
    secret = first_person(db, name, [Role.OFFICE, Role.TECHNICIAN], name)
    return (
        []
        if secret is None
        else [f"{name} comes in first, by this link (once, within three days):", f"  {at}/invited/{secret}"]
    )


def sample_links(db: Path | None, at: str) -> list[str]:
    """Make one link for each role in the invented school."""
    lines = ["The invented school; nothing is kept. One link a role, each works once:"]
    for name, role in SAMPLE_PEOPLE:
        invited = people.invite(db, name, [role], "sample")
        lines.append(f"  {role.value:<11}{at}/invited/{invited.secret}")
    return lines
