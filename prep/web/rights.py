"""Routes and their rights: each handler names the right that it asks for, and none is served without."""

import hmac
from collections.abc import Callable, Coroutine
from hashlib import sha256
from typing import Any, TypeVar
from urllib.parse import urlsplit

from fastapi import APIRouter, Request, Response
from fastapi.routing import APIRoute
from starlette.concurrency import run_in_threadpool

from prep.errors import Refused
from prep.services.people import sign_in
from prep.services.people.roles import SCOPES, Right, may

SESSION, VISITOR = "prep_session", "prep_visitor"
_SAFE = ("GET", "HEAD", "OPTIONS")
F = TypeVar("F", bound=Callable[..., Any])


class TurnedAway(Exception):
    """A request that is turned away: 401 sends to the sign-in, 403 says that the page is not theirs."""

    def __init__(self, code: int, sentence: str) -> None:
        super().__init__(sentence)
        self.code = code


def needs(right: Right) -> Callable[[F], F]:
    """Name the right that a handler asks for."""

    def named(handler: F) -> F:
        handler.right = right  # type: ignore[attr-defined]
        return handler

    return named


class GuardedRoute(APIRoute):
    """A route that is only handled for whom it is: a handler that names no right is not handled at all."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """Put the route's handler behind the check of its right."""
        handle = super().get_route_handler()
        right = getattr(self.endpoint, "right", None)

        async def guarded(request: Request) -> Response:
            if not isinstance(right, Right):
                raise TurnedAway(403, "This page names no right, so nobody may see it.")
            if request.url.path.startswith("/api/"):
                await run_in_threadpool(_admit_program, request, right)
            else:
                form = {} if request.method in _SAFE else await _form_of(request)
                await run_in_threadpool(_admit, request, right, form)
            answer = await handle(request)
            if getattr(request.state, "renewed", False) and not _sets_session(answer):
                give_session(request, answer, request.cookies[SESSION], bench=True)
            return answer

        return guarded


def give_session(request: Request, answer: Response, secret: str, *, bench: bool) -> None:
    """Give the browser its session: until it is closed, or on the bench's tablet as long as a session lasts."""
    age = int(86_400 * sign_in.BENCH_DAYS) if bench else None
    secure = request.url.scheme == "https"
    answer.set_cookie(SESSION, secret, max_age=age, httponly=True, samesite="lax", secure=secure, path="/")


def _sets_session(answer: Response) -> bool:
    """Tell whether an answer gives or takes a session itself: a new sign-in, or a sign-out."""
    return any(one.startswith(f"{SESSION}=") for one in answer.headers.getlist("set-cookie"))


def router() -> APIRouter:
    """Make a router for the routes of one subject, each behind the check of its right."""
    return APIRouter(route_class=GuardedRoute)


async def _form_of(request: Request) -> dict[str, Any]:
    """Read once what was sent: text by name (the last of several), and all of each name."""
    kind = request.headers.get("content-type", "").split(";")[0].strip().lower()
    if kind not in ("application/x-www-form-urlencoded", "multipart/form-data"):
        raise TurnedAway(415, "A form was expected.")
    form = await request.form(max_files=2, max_fields=2000)
    texts = {name: [v for v in form.getlist(name) if isinstance(v, str)] for name in form}
    request.state.texts = texts
    request.state.files = {name: v for name, v in form.multi_items() if not isinstance(v, str)}
    return {name: values[-1] for name, values in texts.items() if values}


def address_of(request: Request) -> str:
    """Find the address that a request comes from."""
    return request.client.host if request.client else ""


def csrf_of(secret: str) -> str:
    """Compute the token that a form of this session, or this visitor, carries."""
    return hmac.new(secret.encode(), b"form", sha256).hexdigest()


def _admit(request: Request, right: Right, form: dict[str, Any]) -> None:
    state, db = request.state, request.app.state.db
    secret = request.cookies.get(SESSION, "")
    found = sign_in.who_is(db, secret) if secret else None
    state.person, state.session = (found.person, found.session) if found else (None, None)
    state.renewed = bool(found and found.renewed and found.session.bench)
    state.form_token = csrf_of(secret if found else request.cookies.get(VISITOR, ""))
    if request.method not in _SAFE:
        try:
            _from_a_page_of_ours(request, right, form)
        except TurnedAway:
            if state.person is not None:
                sign_in.refused(db, state.person.name, _what(request), address_of(request))
            raise
    if right is Right.ANYONE:
        return
    if state.person is None:
        raise TurnedAway(401, "Sign in first.")
    if request.method not in _SAFE and state.session.bench and right not in (Right.SIGNED_IN, Right.RULE):
        number = form.get("who", "")
        pin = form.get("pin", "")
        if not number.isdigit():
            raise Refused("Say who you are: choose your name and give your PIN.")
        state.person = sign_in.whose_pin(db, int(number), pin, request.app.state.guesses, address_of(request))
    _refuse(request, state.person.name, may(state.person.roles, right), right)
    if right is Right.RULE and state.session.bench:
        sign_in.refused(db, state.person.name, _what(request), address_of(request))
        raise TurnedAway(403, "On the bench's tablet nobody changes people or settings.")


def _admit_program(request: Request, right: Right) -> None:
    state, db = request.state, request.app.state.db
    kind, _, secret = request.headers.get("authorization", "").partition(" ")
    found = None
    if kind.lower() == "bearer" and secret:
        about = f"key from:{address_of(request)}"
        request.app.state.guesses.check(about)
        found = sign_in.of_token(db, secret.strip())
        if found is None:
            request.app.state.guesses.wrong(about)
            sign_in.refused(db, "a program", "a key that opens nothing", address_of(request))
    if right is Right.ANYONE:
        return
    if found is None:
        raise TurnedAway(401, "Give a key: Authorization: Bearer KEY (My page makes one).")
    state.person, state.session = found.person, None
    within = any(right in SCOPES[one] for one in found.scopes if one in SCOPES)
    _refuse(request, state.person.name, within and may(state.person.roles, right), right)


def _from_a_page_of_ours(request: Request, right: Right, form: dict[str, Any]) -> None:
    """Refuse a form that no page of ours gave to this sign-in. Raises TurnedAway."""
    _same_origin(request)
    if right is not Right.ANYONE and request.state.person is None:
        raise TurnedAway(401, "Sign in first.")
    if not hmac.compare_digest(form.get("csrf", "").encode(), request.state.form_token.encode()):
        raise TurnedAway(
            403, "This page was open for too long, or on another sign-in; open it again and send it once more."
        )


def _what(request: Request) -> str:
    return f"{request.method} {request.url.path}"[:150]


def _refuse(request: Request, name: str, allowed: bool, right: Right) -> None:
    if not allowed:
        sign_in.refused(request.app.state.db, name, _what(request), address_of(request))
        raise TurnedAway(403, f"{name} may not do this: it is for whoever may {right.value}.")


def _same_origin(request: Request) -> None:
    """Refuse a form that another site sent. Raises TurnedAway."""
    said = request.headers.get("origin") or request.headers.get("referer") or ""
    here = f"{request.url.scheme}://{request.headers.get('host', '')}"
    site, parts = request.headers.get("sec-fetch-site"), urlsplit(said)
    if f"{parts.scheme}://{parts.netloc}" == here and site in (None, "same-origin", "none"):
        return
    if site == "same-origin":  # the browser says that it is ours: what came in between changed the address
        raise TurnedAway(
            403,
            f"Nothing was done: the proxy before this page hands its address on as {here}. Whoever keeps the proxy: "
            "hand on the host with its port, and the scheme, as the README has it.",
        )
    raise TurnedAway(403, "This form came from another site; nothing was done.")


def begun_here(request: Request) -> None:
    """Refuse a link of ours that another site followed, where following it begins something. Raises TurnedAway."""
    site, said = request.headers.get("sec-fetch-site"), urlsplit(request.headers.get("referer", ""))
    here = f"{request.url.scheme}://{request.headers.get('host', '')}"
    if site != "same-origin" and (site is not None or f"{said.scheme}://{said.netloc}" != here):
        raise TurnedAway(403, "Open the page that this link stands on, and follow it there.")
