"""The application: routes gathered, errors to pages, headers, the size and the host of what comes in."""

import secrets
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from functools import partial
from pathlib import Path
from time import monotonic
from typing import Any
from urllib.parse import quote, urlsplit

from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.responses import HTMLResponse, JSONResponse, RedirectResponse
from fastapi.staticfiles import StaticFiles
from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape
from starlette.exceptions import HTTPException
from starlette.routing import Match
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from prep import __version__
from prep.errors import NotOnFile, PrepError, Refused
from prep.plurals import plural
from prep.reports.finding_texts import with_cure
from prep.reports.formatting import day, in_days, moment, period_text, short_date, short_day, weekday
from prep.safety.deferral import DEFERRAL
from prep.services.people import people
from prep.services.people.openid import OpenIdSettings, SchoolProvider
from prep.services.people.sign_in import Guesses, TooManyGuesses
from prep.services.plan.plan_cache import PlanCache
from prep.services.school import page as school_page
from prep.web.access.signing_in import device_name
from prep.web.api.documents import in_fields
from prep.web.forms import in_words
from prep.web.page_request import PageRequest
from prep.web.rights import VISITOR, TurnedAway

LARGEST = 2_000_000
"""Bytes of one request: a form, a count's sheet or a spreadsheet of bookings."""
HEADERS = {
    "Content-Security-Policy": "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "connect-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
}


@dataclass(frozen=True)
class ServedInventory:
    """What is served: which inventory, on which day, under which host names."""

    db: Path | None
    today: Callable[[], date] = date.today
    names: frozenset[str] = field(default_factory=frozenset)
    last: date | None = None
    """The day up to which is planned, where that is further than the usual weeks."""
    provider: OpenIdSettings | None = None
    """The school's own provider of sign-ins."""


def create_app(serving: ServedInventory) -> FastAPI:
    """Make the application for one inventory."""
    app = FastAPI(
        title="prep",
        version=__version__,
        description="The prep room's documents, as the commands print them. A key goes into `Authorization: Bearer`.",
        docs_url=None,
        redoc_url=None,
        openapi_url=None,
    )
    state = app.state
    state.db, state.today, state.version = serving.db, serving.today, __version__
    state.guesses, state.plans = Guesses(), PlanCache(serving.db, serving.last)
    state.school_provider = SchoolProvider(serving.provider) if serving.provider else None
    state.templates = _templates()
    state.school = _for_a_while(lambda: school_page.school_of(serving.db))
    state.bench_people = partial(_bench_people, serving.db)
    for module in _subjects():
        app.include_router(module.routes)
    app.mount("/static", StaticFiles(packages=[("prep.web", "static")]), name="static")
    _errors(app)
    app.add_middleware(RequestGate, names=_hosts(serving), largest=LARGEST)
    return app


def _bench_people(db: Path | None) -> list[tuple[int, str]]:
    return [(p.id, p.name) for p in people.everybody(db) if p.pin and p.status == "active"]


def _subjects() -> list[Any]:
    from prep.web import (
        api,
        booking_form,
        bookings,
        counts,
        demos,
        history,
        makes,
        office,
        orders,
        own_demos,
        shelves,
        today,
    )
    from prep.web.access import office_people, own_page, school_sign_in, signing_in

    return [
        signing_in,
        school_sign_in,
        own_page,
        office_people,
        today,
        makes,
        shelves,
        orders,
        booking_form,
        bookings,
        own_demos,
        demos,
        counts,
        office,
        history,
        *api.subjects(),
    ]


def _hosts(serving: ServedInventory) -> Callable[[str], bool]:
    fixed = {"localhost", "127.0.0.1", "[::1]", *serving.names}
    address = _for_a_while(lambda: school_page.host_of(serving.db))
    return lambda host: host in fixed or host == address()


def _for_a_while(ask: Callable[[], str], seconds: float = 10) -> Callable[[], str]:
    """Keep an answer for some seconds, where it is asked for at every request and seldom changes."""
    kept: tuple[float, str] = (float("-inf"), "")

    def answer() -> str:
        nonlocal kept
        if monotonic() - kept[0] > seconds:
            kept = (monotonic(), ask())
        return kept[1]

    return answer


def _templates() -> Environment:
    found = Environment(
        loader=PackageLoader("prep.web"),
        autoescape=select_autoescape(default=True),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    found.filters |= {
        "plural": plural,
        "day": day,
        "in_days": in_days,
        "moment": moment,
        "short_day": short_day,
        "short_date": short_date,
        "weekday": weekday,
        "period": period_text,
        "in_words": in_words,
        "with_cure": with_cure,
        "device": device_name,
    }
    found.globals["what_prevails"] = DEFERRAL
    return found


def _errors(app: FastAPI) -> None:
    def answer(request: Request, code: int, sentence: str, headers: dict[str, str] | None = None) -> Response:
        if request.url.path.startswith("/api/"):
            return JSONResponse({"error": {"message": in_fields(sentence, request)}}, code, headers)
        looked = request.method in ("GET", "HEAD")
        title = "There is nothing here" if code == 404 else "This page is not for you" if code == 403 and looked else ""
        title = title or ("This cannot be shown" if looked else "That was not done")
        page = PageRequest(request).show("problem.html", code, sentence=in_words(sentence), title=title)
        page.headers.update(headers or {})
        return page

    @app.exception_handler(TurnedAway)
    def turned(request: Request, problem: TurnedAway) -> Response:
        api = request.url.path.startswith("/api/")
        if problem.code == 401 and not api:
            return _to_the_sign_in(request)
        return answer(request, problem.code, str(problem), {"WWW-Authenticate": "Bearer"} if api else None)

    @app.exception_handler(TooManyGuesses)
    def slowed(request: Request, problem: TooManyGuesses) -> Response:
        return answer(request, 429, str(problem), {"Retry-After": str(problem.seconds)})

    @app.exception_handler(PrepError)
    def refused(request: Request, problem: PrepError) -> Response:
        missing = isinstance(problem, NotOnFile) and request.method == "GET"
        return answer(request, 404 if missing else 409 if isinstance(problem, Refused) else 422, problem.sentence)

    @app.exception_handler(RequestValidationError)
    def unreadable(request: Request, problem: RequestValidationError) -> Response:
        first = problem.errors()[0]
        where = ".".join(str(part) for part in first["loc"] if part not in ("body", "query", "path"))
        missing = f"“{where}” is missing." if first["type"] == "missing" else ""
        return answer(request, 422, missing or f"{where or 'what was sent'}: {first['msg']}.")

    @app.exception_handler(HTTPException)
    def other(request: Request, problem: HTTPException) -> Response:
        said = "There is no such page." if problem.status_code == 404 else str(problem.detail)
        return answer(request, problem.status_code, said, dict(problem.headers or {}))

    @app.exception_handler(Exception)
    def broken(request: Request, _: Exception) -> Response:
        said = "Something went wrong on our side; what you sent was not done. Try again."
        if request.url.path.startswith("/api/"):
            return JSONResponse({"error": {"message": said}}, 500)
        return HTMLResponse(f"<!doctype html><title>prep</title><p>{said}</p>", 500)


def _to_the_sign_in(request: Request) -> Response:
    """Send the browser to the sign-in, which leads on to the page that was asked for, or that the form stood on."""
    if request.method in ("GET", "HEAD"):
        asked = request.url.path + (f"?{request.url.query}" if request.url.query else "")
        return RedirectResponse(f"/sign-in?to={quote(asked)}", 303)
    stood = urlsplit(request.headers.get("referer", "")).path or "/"
    get = {"type": "http", "path": stood, "method": "GET"}
    known = any(route.matches(get)[0] is Match.FULL for module in _subjects() for route in module.routes.routes)
    said = "You are not signed in any more: what you sent was not done. Sign in, then send it once more."
    return PageRequest(request).go(f"/sign-in?to={quote(stood if known else '/')}", said)


class RequestGate:
    """What every request passes: its host is ours, it is not too large; every answer has the headers."""

    def __init__(self, app: ASGIApp, names: Callable[[str], bool], largest: int) -> None:
        self.app, self.ours, self.largest = app, names, largest

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request in, or answer why it is not."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        request = Request(scope)
        host = request.headers.get("host", "").rpartition(":")[0] or request.headers.get("host", "")
        if not self.ours(host.lower()):
            await JSONResponse({"error": {"message": "This host name is not this page's."}}, 400)(scope, receive, send)
            return
        length = request.headers.get("content-length", "0")
        if not length.isdigit() or int(length) > self.largest:
            await _too_large(scope, receive, send)
            return
        visitor = request.cookies.get(VISITOR, "")
        fresh = "" if len(visitor) == 43 else secrets.token_urlsafe(32)
        if fresh:  # forms before the sign-in need a token too
            pairs = [(k, v) for k, v in scope["headers"] if k != b"cookie"]
            cookies = "; ".join(filter(None, (request.headers.get("cookie", ""), f"{VISITOR}={fresh}")))
            scope = {**scope, "headers": [*pairs, (b"cookie", cookies.encode("latin-1", "replace"))]}
        seen = 0

        async def counted() -> Message:
            nonlocal seen
            message = await receive()
            seen += len(message.get("body", b""))
            if seen > self.largest:
                raise HTTPException(413, "That is more than a form or a sheet holds.")
            return message

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = {**HEADERS}
                if not request.url.path.startswith("/static/"):
                    headers["Cache-Control"] = "no-store"
                    if fresh and not request.url.path.startswith(("/api/", "/feed/")):
                        secure = "; Secure" if request.url.scheme == "https" else ""
                        headers["Set-Cookie"] = f"{VISITOR}={fresh}; HttpOnly; SameSite=Lax; Path=/{secure}"
                else:
                    headers["Cache-Control"] = "max-age=3600"
                if request.url.scheme == "https":
                    headers["Strict-Transport-Security"] = "max-age=31536000"
                more = [(k.lower().encode(), v.encode("latin-1")) for k, v in headers.items()]
                message = {**message, "headers": [*message.get("headers", []), *more]}
            await send(message)

        await self.app(scope, counted, with_headers)


async def _too_large(scope: Scope, receive: Receive, send: Send) -> None:
    answer = JSONResponse({"error": {"message": "That is more than a form or a sheet holds."}}, 413)
    await answer(scope, receive, send)
