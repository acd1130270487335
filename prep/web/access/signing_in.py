"""Signing in and out, and taking up an invitation."""

from urllib.parse import quote

from fastapi import Response
from fastapi.responses import RedirectResponse

from prep.errors import PrepError
from prep.services.people import sign_in
from prep.services.people.roles import Right, may
from prep.services.people.sign_in import Device
from prep.web.forms import Field, WebForm
from prep.web.page_request import At, PageRequest
from prep.web.rights import SESSION, give_session, needs, router

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


def sign_in_form(to: str) -> WebForm:
    """Ask for name and pass phrase; `to` is where to go then."""
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


def school_link(here: PageRequest, invitation: str = "", to: str = "/") -> tuple[str, str] | None:
    """Find the link to the school's sign-in and what it says; None where the school has set none."""
    if here.request.app.state.school_provider is None:
        return None
    if invitation:
        return f"/invited/{quote(invitation, safe='')}/school", "Come in with the school’s account instead"
    return f"/sign-in/school?to={quote(to)}", "Sign in with the school’s account"


@routes.get("/sign-in", include_in_schema=False)
@needs(Right.ANYONE)
def sign_in_page(here: At, to: str = "/") -> Response:
    """Show the sign-in."""
    return here.show("sign_in.html", form=sign_in_form(inside(to)), school_link=school_link(here, to=inside(to)))


def inside(to: str) -> str:
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


def device_of(here: PageRequest) -> Device:
    """Tell where somebody signs in."""
    return Device(here.request.headers.get("user-agent", "")[:160], here.address, here.typed.ticked("bench"))


def let_in(here: PageRequest, to: str, secret: str) -> Response:
    """Give the browser its new session, whatever it had before, and send it on."""
    answer = RedirectResponse(to, 303)
    give_session(here.request, answer, secret, bench=here.typed.ticked("bench"))
    return answer


@routes.post("/sign-in", include_in_schema=False)
@needs(Right.ANYONE)
def do_sign_in(here: At) -> Response:
    """Sign in."""
    form = sign_in_form(inside(here.typed["to"])).filled(here.typed.texts)
    guesses = here.request.app.state.guesses
    try:
        secret = sign_in.sign_in(here.db, here.typed["name"], here.typed["phrase"], device_of(here), guesses)
    except sign_in.TooManyGuesses:
        raise
    except PrepError as problem:
        link = school_link(here, to=inside(here.typed["to"] or "/"))
        return here.show("sign_in.html", 403, form=form.wrong(problem), school_link=link)
    return let_in(here, inside(here.typed["to"] or "/"), secret)


@routes.post("/sign-out", include_in_schema=False)
@needs(Right.SIGNED_IN)
def sign_out(here: At) -> Response:
    """Sign out."""
    sign_in.sign_out(here.db, here.me, here.key)
    answer = here.go("/sign-in", "You are signed out.")
    answer.delete_cookie(SESSION, path="/")
    return answer


def accept_form(secret: str) -> WebForm:
    """Ask for the pass phrase by which an invitation is taken up."""
    hint = "Four words that do not belong together are long enough and can be remembered: 12 characters at least."
    field = Field("phrase", "Your pass phrase", "password", hint=hint, required=True, auto="new-password")
    return WebForm(f"/invited/{secret}", (field,), "Choose it and come in", bench=False)


@routes.get("/invited/{secret}", include_in_schema=False)
@needs(Right.ANYONE)
def invited(here: At, secret: str) -> Response:
    """Show the page that an invitation's link opens."""
    name = sign_in.whose(here.db, secret)
    return here.show("form.html", title=f"Welcome, {name}", form=accept_form(secret), more=school_link(here, secret),
                     back="")  # fmt: skip


@routes.post("/invited/{secret}", include_in_schema=False)
@needs(Right.ANYONE)
def accept(here: At, secret: str) -> Response:
    """Take up an invitation."""
    name = sign_in.whose(here.db, secret)
    try:
        session = sign_in.accept(here.db, secret, here.typed["phrase"], device_of(here))
    except PrepError as problem:
        form = accept_form(secret).wrong(problem)
        return here.show("form.html", 422, title=f"Welcome, {name}", form=form, more=school_link(here, secret), back="")
    return let_in(here, "/", session)
