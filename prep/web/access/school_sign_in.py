"""Coming in by the school's own account, where the school has set its provider of sign-ins; linking and unlinking."""

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from fastapi import Response
from fastapi.responses import RedirectResponse

from prep.errors import NotOnFile, PrepError, Refused
from prep.services.people import school_account, sign_in
from prep.services.people.openid import SILENT, STALE, AfterSignIn, AskedProvider, NotTrusted, Purpose, SchoolAccount
from prep.services.people.roles import Right
from prep.web.access.signing_in import accept_form, device_of, inside, let_in, school_link, sign_in_form
from prep.web.forms import Field, WebForm
from prep.web.page_request import At, NextPage, PageRequest
from prep.web.rights import VISITOR, TurnedAway, begun_here, needs, router

if TYPE_CHECKING:
    from prep.services.people.openid import SchoolProvider

routes = router()
BACK = "/sign-in/school/back"


def _provider(here: PageRequest) -> "SchoolProvider":
    found: SchoolProvider | None = here.request.app.state.school_provider
    if found is None:
        raise NotOnFile("There is no such page.")
    return found


def _page_to_open(here: PageRequest, errand: AfterSignIn) -> str:
    """Begin a sign-in, and find the provider's page where it goes on. Raises Refused."""
    provider, about = _provider(here), f"school from:{here.address}"
    here.request.app.state.guesses.check(about)
    back = f"{here.request.url.scheme}://{here.request.headers.get('host', '')}{BACK}"
    try:
        return provider.ask(errand, here.request.cookies.get(VISITOR, ""), back, here.address)
    except NotTrusted as problem:
        _turned_away(here, problem)
        raise


def _turned_away(here: PageRequest, problem: Exception) -> None:
    """Write down and count what was not let in; not that the provider is silent, which is nobody's guess."""
    if isinstance(problem, NotTrusted) and str(problem) != SILENT:
        sign_in.refused(here.db, here.person.name if here.person else "", problem.why, here.address)
    if str(problem) != SILENT:
        here.request.app.state.guesses.wrong(f"school from:{here.address}")


def _said(here: PageRequest, errand: AfterSignIn, problem: Exception) -> Response:
    """Show again where the sign-in was begun, with the sentence."""
    if errand.purpose is Purpose.LINK:
        raise problem
    if errand.purpose is Purpose.TAKE_UP:
        name = sign_in.whose(here.db, errand.about)
        form = replace(accept_form(errand.about), error=str(problem))
        return here.show("form.html", 403, title=f"Welcome, {name}", form=form, more=school_link(here, errand.about),
                         back="")  # fmt: skip
    form = replace(sign_in_form(inside(errand.about or "/")), error=str(problem))
    return here.show("sign_in.html", 403, form=form, school_link=school_link(here))


@routes.get("/sign-in/school", include_in_schema=False)
@needs(Right.ANYONE)
def begin(here: At, to: str = "/") -> Response:
    """Send the browser to the school's provider, to come in."""
    errand = AfterSignIn(Purpose.COME_IN, inside(to))
    try:
        return RedirectResponse(_page_to_open(here, errand), 303)
    except NotTrusted as problem:
        return _said(here, errand, problem)


@routes.get("/invited/{secret}/school", include_in_schema=False)
@needs(Right.ANYONE)
def begin_invited(here: At, secret: str) -> Response:
    """Send the browser to the school's provider, to take up an invitation. Raises TurnedAway, Refused."""
    _provider(here)
    sign_in.whose(here.db, secret)
    begun_here(here.request)
    errand = AfterSignIn(Purpose.TAKE_UP, secret)
    try:
        return RedirectResponse(_page_to_open(here, errand), 303)
    except NotTrusted as problem:
        return _said(here, errand, problem)


@routes.get(BACK, include_in_schema=False)
@needs(Right.ANYONE)
def back(here: At) -> Response:
    """Let in, or link, whom the school's provider sends back. Raises Refused."""
    provider, guesses = _provider(here), here.request.app.state.guesses
    guesses.check(f"school from:{here.address}")
    said = {name: value[:4000] for name, value in here.request.query_params.items()}
    try:
        asked = provider.waiting.take(said.get("state", ""), here.request.cookies.get(VISITOR, ""))
    except NotTrusted as problem:
        _turned_away(here, problem)
        return _said(here, AfterSignIn(Purpose.COME_IN), problem)
    try:
        done = _come_in(here, asked, provider.account(asked, said))
    except Refused as problem:
        _turned_away(here, problem)
        return _said(here, asked.errand, problem)
    guesses.right(f"school from:{here.address}")
    return done


def _come_in(here: PageRequest, asked: AskedProvider, account: SchoolAccount) -> Response:
    purpose, about = asked.errand.purpose, asked.errand.about
    if purpose is Purpose.LINK:
        if here.person is None or here.key != about:
            raise NotTrusted(STALE, "linking an account of the school, when no longer signed in")
        school_account.link(here.db, here.me, account, here.key, here.address)
        return here.go("/me", "Your account of the school is linked; you are signed out everywhere else.")
    if purpose is Purpose.TAKE_UP:
        return let_in(here, "/", school_account.accept_with(here.db, about, account, device_of(here)))
    return let_in(here, inside(about), school_account.sign_in_with(here.db, account, device_of(here)))


# Linking and unlinking -----------------------------------------------------------------------------


def link_form() -> WebForm:
    """Ask for the pass phrase before an account of the school is linked."""
    field = Field("known", "Your pass phrase", "password", required=True, auto="current-password")
    return WebForm("/me/school", (field,), "Link it", bench=False)


@routes.post("/me/school", include_in_schema=False)
@needs(Right.SIGNED_IN)
def link(here: At) -> Response:
    """Begin linking one's account of the school; the pass phrase is asked for, since it will open the same doors."""
    _provider(here)
    if here.session is None or here.session.bench:
        raise TurnedAway(403, "On the bench's tablet nobody links an account.")
    try:
        sign_in.prove(here.db, here.me, here.typed["known"], here.request.app.state.guesses)
        page = _page_to_open(here, AfterSignIn(Purpose.LINK, here.key))
    except sign_in.TooManyGuesses:
        raise
    except PrepError as problem:
        form = replace(link_form(), error=str(problem))
        return here.show("form.html", 422, title="Link the school’s account", form=form, back="/me")
    return here.show("onward.html", title="Go on to the school’s sign-in", to=page, back="/me")


def _ended(here: PageRequest, end: Callable[[], None], to: str, said: str) -> Response:
    form = WebForm(here.request.url.path, (), "Unlink it", danger=True, bench=False)

    def do() -> NextPage:
        end()
        return NextPage(to, said)

    return here.answer(form, "Unlink the school’s account", do)


@routes.post("/me/school/end", include_in_schema=False)
@needs(Right.SIGNED_IN)
def unlink(here: At) -> Response:
    """Unlink one's own account of the school."""
    end = partial(school_account.unlink, here.db, here.me.id, here.by, here.address, here.key)
    return _ended(here, end, "/me", "The school’s account is no longer yours here; you are signed out everywhere else.")


@routes.post("/people/{number}/unlink", include_in_schema=False)
@needs(Right.RULE)
def unlink_theirs(here: At, number: int) -> Response:
    """Unlink somebody's account of the school."""
    end = partial(school_account.unlink, here.db, number, here.by, here.address)
    said = "The school’s account is unlinked, and they are signed out everywhere."
    return _ended(here, end, f"/people/{number}", said)
