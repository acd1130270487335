"""One request: who asks, on which day, and how the answer is shown."""

import base64
import hashlib
import hmac
import json
import secrets
import shutil
import tempfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING, Annotated, Any, TypeVar

from fastapi import Depends, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from prep.dates import DoneOn, read_done
from prep.errors import PrepError, Refused
from prep.reports.formatting import in_days
from prep.services.input.act import Act
from prep.services.inventory.session import SentBefore, SentForm, sent_once
from prep.services.people.roles import Right, may
from prep.services.stock import places
from prep.web.forms import Choice, Field, TypedForm, WebForm, in_words
from prep.web.rights import SESSION
from prep.wording import Flag

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from prep.services.plan.plan import DrawnPlan
    from prep.store.people.accounts import Person

T = TypeVar("T")
SAID = "prep_said"
STOOD = {"orders": "/orders", "jobs": "/history", "makes": "/today", "me": "/me", "settings": "/settings"}
"""The pages on which the forms of these addresses stand, where it is not their address less its end."""
MENU = (
    ("/today", "Today", Right.SEE_STOCK),
    ("/showings", "My showings", Right.BOOK),
    ("/bookings", "Bookings", Right.SEE_STOCK),
    ("/demos", "Demonstrations", Right.SEE_DEMOS),
    ("/week", "Week", Right.SEE_STOCK),
    ("/shelves", "Shelves", Right.SEE_STOCK),
    ("/held", "What is held", Right.SEE_DEMOS),
    ("/orders", "Orders", Right.SEE_STOCK),
    ("/counts", "Count", Right.SEE_COUNT),
    ("/history", "History", Right.SEE_HISTORY),
    ("/people", "People", Right.RULE),
    ("/settings", "Settings", Right.RULE),
)


@dataclass(frozen=True, slots=True)
class NextPage:
    """The page that a form leads to, and what is said there of what was done."""

    to: str
    said: str = ""


class PageTooOld(Refused):
    """What a page was drawn from was changed since; its form says how things stand, and may be sent again."""


def drawn_from(*told: object) -> str:
    """Write what a page is drawn from as one short text, which a change of any part of it changes."""
    return hashlib.sha256("|".join(map(str, told)).encode()).hexdigest()[:32]


@dataclass(frozen=True, slots=True)
class PageState:
    """What a page is drawn from, as one text, and the sentence that says how things stand."""

    drawn_from: str
    says: str


class PageRequest:
    """What a handler needs to know of its request."""

    def __init__(self, request: Request) -> None:
        self.request = request
        self.db: Path | None = request.app.state.db
        self.person: Person | None = getattr(request.state, "person", None)
        self.session = getattr(request.state, "session", None)
        self.typed = TypedForm(getattr(request.state, "texts", {}))

    @property
    def today(self) -> date:
        """The school's day."""
        today: date = self.request.app.state.today()
        return today

    @property
    def by(self) -> str:
        """The name under which whatever is written stands in the ledger."""
        assert self.person is not None
        return self.person.name

    @property
    def me(self) -> "Person":
        """Who asks, on a page that only somebody signed in sees."""
        assert self.person is not None
        return self.person

    @property
    def key(self) -> str:
        """The session's key."""
        return str(self.session.key) if self.session else ""

    @property
    def address(self) -> str:
        """Where the request comes from."""
        return self.request.client.host if self.request.client else ""

    def may(self, right: Right) -> bool:
        """Tell whether the person has the right."""
        return self.person is not None and may(self.person.roles, right)

    def done(self, name: str = "on") -> DoneOn:
        """Read the day on which something was done; today where nothing was typed. Raises PrepError."""
        return read_done(self.typed.maybe(name), Flag("--on"), self.today)

    def act(self, name: str = "on") -> Act:
        """Put together who does it, and on which day. Raises PrepError."""
        return Act(self.by, self.done(name))

    def plan(self, last: date | None = None) -> "DrawnPlan":
        """Find the plan of the books as they are."""
        drawn: DrawnPlan = self.request.app.state.plans.of(self.today, last)
        return drawn

    def books(self) -> object:
        """Read what tells this state of the books from any other."""
        found: object = self.request.app.state.plans.books()
        return found

    def read(self, drawn: "DrawnPlan", what: Any, make: Callable[[], T]) -> T:
        """Read something off a plan, once for each `what` while the books stay as they are."""
        made: T = self.request.app.state.plans.read(drawn, what, make)
        return made

    def worked_out(self, what: Any, work: Callable[[], T]) -> T:
        """Work out what takes plans of its own, once for each `what` while the books and the day stay as they are."""
        found: T = self.request.app.state.plans.answer(self.today, what, work)
        return found

    def show(self, template: str, code: int = 200, **values: Any) -> Response:
        """Render a page from its template."""
        app, state = self.request.app.state, self.request.state
        said = _said(self.request)
        bench = bool(self.session and self.session.bench)
        values |= {
            "here": self,
            "school": app.school(),
            "menu": self._menu(),
            "path": self.request.url.path,
            "csrf": getattr(state, "form_token", ""),
            "mark": lambda: secrets.token_hex(16),
            "said": said,
            "bench": app.bench_people() if bench else None,
            "Right": Right,
            "today": self.today,
            "version": app.version,
        }
        page = HTMLResponse(app.templates.get_template(template).render(values), code)
        if said:
            page.delete_cookie(SAID)
        return page

    def _menu(self) -> list[tuple[str, str]]:
        """List where the person may go; whoever may see the shelves needs no list of what is held."""
        shelves = self.may(Right.SEE_STOCK)
        return [(to, name) for to, name, right in MENU if self.may(right) and not (shelves and to == "/held")]

    def go(self, to: str, said: str = "") -> Response:
        """Send the browser on to another page, which says first what was done."""
        answer = RedirectResponse(to, 303)
        if said:
            text = base64.urlsafe_b64encode(json.dumps(in_days(said)[:900]).encode()).decode()
            answer.set_cookie(SAID, text, max_age=60, httponly=True, samesite="lax", secure=self.secure)
        return answer

    @property
    def secure(self) -> bool:
        """Whether the request came over TLS."""
        return self.request.url.scheme == "https"

    def unchanged(self, now: "Callable[[], PageState]") -> "Callable[[Connection], None]":
        """Check, inside the job, that things are still as the page that was sent had them. Raises PageTooOld.

        `now` reads what such a page would be drawn from at this moment.
        """
        seen = self.typed["seen"]

        def still(_: "Connection") -> None:
            state = now()
            if seen and seen != state.drawn_from:
                raise PageTooOld(f"{state.says} Look again, then send it once more.")

        return still

    def once(self, still: "Callable[[Connection], None] | None" = None) -> Any:
        """Let what is written inside count once for this form, however often it is sent."""
        mark = self.typed["mark"]
        if not mark or len(mark) > 64:
            return nullcontext()
        sent = json.dumps([self.request.url.path, sorted(self.typed.texts.items())])
        secret = self.request.cookies.get(SESSION, "")
        seed = hmac.digest(secret.encode(), f"secret {sent}".encode(), "sha256") if secret else b""
        return sent_once(SentForm(f"{self.me.id}:{mark}", still or (lambda _: None), seed))

    def made_once(self, make: Callable[[], T], before: Callable[[], T]) -> T:
        """Make a secret that one answer shows; sent twice, find it by `before`. Raises PrepError."""
        with self.once():
            try:
                return make()
            except SentBefore:
                return before()

    @contextmanager
    def uploaded(self, name: str, kinds: tuple[str, ...]) -> Iterator[Path]:
        """Store a file that was sent, for as long as it is read, under a name of ours. Raises PrepError."""
        sent = getattr(self.request.state, "files", {}).get(name)
        said = PurePosixPath((sent.filename or "").replace("\\", "/")).name if sent else ""
        if sent is None or not said or not sent.size:
            raise PrepError("Choose a file first.")
        kind = PurePosixPath(said).suffix.lower()
        if kind not in kinds:
            raise PrepError(f'"{said[:60]}" is no such file; it ends in {", ".join(kinds)}.')
        with tempfile.TemporaryDirectory(prefix="prep-") as folder:
            path = Path(folder) / f"sheet{kind}"
            with path.open("wb") as out:
                shutil.copyfileobj(sent.file, out)
            yield path

    def answer(
        self,
        form: WebForm,
        title: str,
        do: Callable[[], NextPage],
        still: "Callable[[Connection], None] | None" = None,
    ) -> Response:
        """Do what a form asks and go on; or show the form again, with what was typed and what is wrong.

        `do` returns where to go and what to say there. `still` raises Refused where the page was too old.
        """
        try:
            with self.once(still):
                onward = do()
        except SentBefore as before:
            return self.go(_back(self.request), str(before))
        except PrepError as problem:
            again = form.filled(self.typed.texts).wrong(problem)
            if isinstance(problem, PageTooOld):  # it says how things stand: what is sent next is sent knowing that
                again = replace(again, seen=form.seen)
            code = 409 if isinstance(problem, Refused) else 422
            return self.show("form.html", code, title=title, form=again, back=_back(self.request))
        return self.go(onward.to, onward.said)


def _back(request: Request) -> str:
    """Find the page on which a form stood: its address is that of the act, less the act, where that is a page."""
    path = request.url.path
    stood = STOOD.get(path.split("/")[1])
    return stood or path.rsplit("/", 1)[0] or path


def _said(request: Request) -> str:
    try:
        text = json.loads(base64.urlsafe_b64decode(request.cookies.get(SAID, "")))
    except ValueError:
        return ""
    return text if isinstance(text, str) else ""


async def _here(request: Request) -> PageRequest:
    return PageRequest(request)


At = Annotated[PageRequest, Depends(_here)]


def weekdays(first: date, count: int) -> list[date]:
    """List so many days from `first`, without Saturdays and Sundays."""
    days = (first + timedelta(days=n) for n in range(count))
    return [day for day in days if day.weekday() < 5]


def place_field(here: PageRequest, item: str, usual: str, label: str) -> Field:
    """Ask where something of an item is put: where it always stands, or a place that must be chosen."""
    always = places.usual_place(here.db, item, usual)
    first = f"{always}, as always" if always else "choose a place"
    listed = choices(places.list_places(here.db), first)
    return Field("location", label, "choice", "--at", choices=listed, required=not always)


def choices(labels: Mapping[str, str], none: str = "") -> list[Choice]:
    """List the choices for a field, from what is read by what is sent; `none` is what an empty choice says."""
    found = [Choice(value, label) for value, label in labels.items()]
    return [Choice("", none), *found] if none else found


__all__ = ["At", "PageRequest", "PageState", "PageTooOld", "choices", "in_words", "weekdays"]
