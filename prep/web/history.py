"""The history: what was done, as asked; the same for a spreadsheet and to print; undoing a job."""

from collections.abc import Mapping
from urllib.parse import urlencode

from fastapi import Response

from prep.books import JobKind
from prep.chemistry.quantities import show
from prep.dates import in_days, read_day
from prep.errors import NotOnFile, PrepError, Refused
from prep.reports import register_lists
from prep.services.catalogue import lookup
from prep.services.people import people
from prep.services.people.roles import Right
from prep.services.stock import changes, listing, places, register
from prep.services.stocktake import stocktake
from prep.store.jobs.history import HistoryLine
from prep.web.forms import Field, WebForm, in_words
from prep.web.page_request import At, NextPage, PageRequest
from prep.web.rights import needs, router
from prep.wording import Flag

routes = router()
SPAN = (Field("since", "From", option="--since"), Field("until", "Up to", option="--until"))


def _asked(here: PageRequest, given: Mapping[str, str]) -> register.RegisterQuery:
    """Read which lines of the history are wanted, as typed. Raises PrepError."""
    since, until = (
        read_day(given[name], Flag(f"--{name}"), here.today) if given[name] else None for name in ("since", "until")
    )
    kinds = (given["kind"],) if given["kind"] else ()
    return register.RegisterQuery(
        given["item"] or None, location=given["at"] or None, since=since, until=until, kinds=kinds
    )


def _moves(here: PageRequest, given: Mapping[str, str], most: int) -> list[HistoryLine]:
    """Find the newest lines of the history, or those that are asked for. Raises PrepError."""
    bottle, by = given["bottle"].strip().upper(), given["by"].strip().casefold()
    if not any(given[name] for name in ("item", "at", "since", "until", "kind")):
        found = listing.history(here.db, bottle or None, 100_000 if by else most)
    else:
        found = [m for m in register.history(here.db, _asked(here, given)) if not bottle or m.bottle == bottle]
    return [m for m in found if by in m.by.casefold()][:most]


def _given(**typed: str) -> dict[str, str]:
    return {name: text.strip()[:100] for name, text in typed.items()}


@routes.get("/history", include_in_schema=False)
@needs(Right.SEE_HISTORY)
def history(here: At, bottle: str = "", item: str = "", at: str = "", kind: str = "", by: str = "", since: str = "",
            until: str = "", most: int = 100) -> Response:  # fmt: skip
    """Show the newest jobs, or those of a bottle, an item, a place, a kind, a person, some days; and who came in."""
    given = _given(bottle=bottle, item=item, at=at, kind=kind, by=by, since=since, until=until)
    problem, moves, kept = "", [], min(max(most, 1), 2000)
    try:
        moves = _moves(here, given, kept)
    except PrepError as wrong:
        problem = in_words(wrong.sentence, SPAN)
    asked = any(given.values())
    access = people.log_of_access(here.db) if here.may(Right.RULE) and not asked else []
    words = urlencode({name: text for name, text in given.items() if text})
    kinds = [str(one) for one in JobKind]
    return here.show("history.html", 422 if problem else 200, moves=moves, access=access, show=show, most=kept,
                     given=given, asked=asked, problem=problem, words=words, kinds=kinds, names=lookup.names(here.db),
                     places=places.list_places(here.db))  # fmt: skip


@routes.get("/history.{end}", include_in_schema=False)
@needs(Right.SEE_HISTORY)
def history_file(here: At, end: str, bottle: str = "", item: str = "", at: str = "", kind: str = "", by: str = "",
                 since: str = "", until: str = "") -> Response:  # fmt: skip
    """Write the lines of the history for a spreadsheet (`csv`) or to print (`pdf`). Raises PrepError."""
    given = _given(bottle=bottle, item=item, at=at, kind=kind, by=by, since=since, until=until)
    found = register_lists.moves(_moves(here, given, 100_000), lookup.names(here.db))
    if end == "csv":
        name = {"Content-Disposition": "attachment; filename=history.csv"}
        return Response(found.csv(), media_type="text/csv; charset=utf-8", headers=name)
    if end == "pdf":
        return Response(found.pdf(), media_type="application/pdf")
    raise NotOnFile("There is no such page.")


def undone(here: PageRequest, job: int) -> int:
    """Reverse a job, unless that is not the person's to do; gives the job that does it. Raises PrepError, Refused."""
    signed = any(count.job == job for count in stocktake.counts(here.db))
    if not here.may(Right.RULE if signed else Right.WORK):
        raise Refused("A sign-off is undone by the office, any other job by a technician.")
    return changes.undo(here.db, job, here.act(), for_the_office=signed)


def _undo_form(job: int) -> WebForm:
    about = "It is reversed as a whole; both lines stay on the books."
    return WebForm(f"/jobs/{job}/undo", (), f"Undo job {job}", danger=True, about=about)


@routes.get("/jobs/{job}/undo", include_in_schema=False)
@needs(Right.SEE_HISTORY)
def undo_page(here: At, job: int) -> Response:
    """Ask before a job is undone."""
    lines = [move for move in listing.history(here.db, None, 2000) if move.job == job]
    title = f"Undo job {job}" + (f": {lines[0].kind}, {in_days(lines[0].reason)}" if lines else "")
    return here.show("form.html", title=title, form=_undo_form(job), back="/history")


@routes.post("/jobs/{job}/undo", include_in_schema=False)
@needs(Right.SIGNED_IN)
def undo(here: At, job: int) -> Response:
    """Reverse a job: what the technician did; a sign-off, by the office."""

    def do() -> NextPage:
        return NextPage("/history", f"Job {job} is undone by job {undone(here, job)}.")

    return here.answer(_undo_form(job), f"Undo job {job}", do)
