"""The term-end count: choose a place, the next bottle, what is left, look again, close, report."""

import re
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Annotated
from urllib.parse import quote, urlencode

from fastapi import Query, Response
from fastapi.responses import PlainTextResponse

from prep.books import CountStatus
from prep.chemistry import quantities
from prep.errors import NotOnFile, PrepError, Refused
from prep.plurals import plural
from prep.reports.stocktake import count_sheet, count_tables, signed_report
from prep.reports.stocktake.count_view import printed_rows
from prep.services.inventory.session import SentBefore
from prep.services.people.roles import Right
from prep.services.stock import places
from prep.services.stocktake import adjustments, report, stocktake
from prep.services.stocktake.entry import TypedCount, TypedFind
from prep.web.forms import Field, WebForm, in_words
from prep.web.page_request import At, NextPage, PageRequest, PageState, PageTooOld, choices
from prep.web.rights import needs, router

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from prep.services.stocktake.results import CountEntry, Progress

routes = router()
AT_ONCE = 12
"""Bottles that a page of a place asks about: more are endless on a phone."""


@routes.get("/counts", include_in_schema=False)
@needs(Right.SEE_COUNT)
def counts(here: At) -> Response:
    """List every count, with the form to open one."""
    found = stocktake.counts(here.db)
    return here.show("counts.html", counts=list(reversed(found)), form=_open_form(here))


def _open_form(here: PageRequest) -> WebForm:
    stands = choices(places.list_places(here.db), "the whole store")
    return WebForm(
        "/counts",
        (
            Field("location", "Which place", "choice", "--at", choices=stands),
            Field("blind", "Blind: whoever counts does not see what the books say", "tick"),
        ),
        "Open a count",
    )


@routes.post("/counts", include_in_schema=False)
@needs(Right.COUNT)
def open_count(here: At) -> Response:
    """Open a count."""

    def do() -> NextPage:
        sheet = stocktake.open_count(here.db, here.typed.maybe("location"), here.typed.ticked("blind"), here.act())
        return NextPage(f"/counts/{sheet.count.code}", f"To look for: {len(sheet.lines)}.")

    return here.answer(_open_form(here), "Open a count", do)


def _is_open(here: PageRequest, code: str) -> bool:
    return any(c.code == code and c.status == CountStatus.OPEN for c in stocktake.counts(here.db))


def _open(here: PageRequest, code: str) -> "Progress":
    return stocktake.progress(here.db, code)


@routes.get("/counts/{code}", include_in_schema=False)
@needs(Right.SEE_COUNT)
def count(here: At, code: str) -> Response:
    """Show how far a count is: by place, what to look at again, closing."""
    known = next((c for c in stocktake.counts(here.db) if c.code == code.upper()), None)
    if known is None:
        raise NotOnFile(f'There is no count "{code[:20]}".')
    names = places.list_places(here.db)
    if known.status != CountStatus.OPEN:
        return here.show("count_closed.html", count=known, at=names.get(known.location, ""))
    state = _open(here, known.code)
    left: dict[str, int] = {}
    for line in state.missing:
        left[line.place] = left.get(line.place, 0) + 1
    stands = [(p, n, left.get(p, 0)) for p, n in names.items() if known.location in ("", p)]
    verdicts = {v.bottle: v for v in state.verdicts}
    return here.show("count.html", count=known, state=state, places=stands, verdicts=verdicts,
                     at=names.get(known.location, ""), sheet=_sheet_form(known.code), seen=state_of(state))  # fmt: skip


def state_of(state: "Progress") -> str:
    """Write what the page of a count was drawn from, as far as closing it goes."""
    return f"{len(state.missing)} {len(state.once)} {len(state.disagreeing)} {state.entries}"


# On paper, and back ---------------------------------------------------------------------------------


@routes.get("/counts/{code}/sheet.pdf", include_in_schema=False)
@needs(Right.SEE_COUNT)
def sheet_pdf(here: At, code: str) -> Response:
    """Print the sheet to count by, as a PDF."""
    sheet = stocktake.sheet(here.db, code)
    title = f"Count {sheet.count.code}: {sheet.count.location or 'all places'}"
    made = count_sheet.count_pdf(printed_rows(sheet, paper=True), title, sheet.school)
    return Response(made, media_type="application/pdf")


@routes.get("/counts/{code}/sheet.csv", include_in_schema=False)
@needs(Right.SEE_COUNT)
def sheet_csv(here: At, code: str) -> Response:
    """Write the count's sheet as CSV, to fill in with a spreadsheet."""
    sheet = stocktake.sheet(here.db, code)
    name = {"Content-Disposition": f"attachment; filename=count-{sheet.count.code}.csv"}
    made = count_sheet.count_csv(printed_rows(sheet, paper=False))
    return Response(made, media_type="text/csv; charset=utf-8", headers=name)


def _sheet_form(code: str) -> WebForm:
    hint = "the file as it was taken from here, saved as CSV, with what was counted written in"
    return WebForm(f"/counts/{code}/sheet", (Field("sheet", "The sheet", "file", hint=hint),), "Take it", files=True)


@routes.post("/counts/{code}/sheet", include_in_schema=False)
@needs(Right.COUNT)
def take_sheet(here: At, code: str) -> Response:
    """Take what a returned sheet says; a wrong row is named, the rest is kept."""

    def do() -> NextPage:
        with here.uploaded("sheet", (".csv", ".tsv", ".txt")) as path:
            taken = stocktake.import_sheet(here.db, code, stocktake.SheetFile(path), here.act())
        wrong = list(taken.refused)
        if wrong and not taken.entries:
            raise PrepError(f"Nothing of it was taken. {' '.join(wrong[:8])}")
        said = f"{plural(len(taken.entries), 'bottle')} written down."
        if taken.repeated:
            said += f" {plural(taken.repeated, 'row')} said what was written down before."
        if wrong:
            said += f" {plural(len(wrong), 'row')} not taken: {' '.join(wrong[:5])}"
        return NextPage(f"/counts/{code}", said)

    return here.answer(_sheet_form(code), f"The returned sheet of count {code[:20]}", do)


# At the shelf --------------------------------------------------------------------------------------


@routes.get("/counts/{code}/at/{place}", include_in_schema=False)
@needs(Right.SEE_COUNT)
def place(
    here: At, code: str, place: str, again: str = "", first: Annotated[str, Query(alias="from")] = "", all: str = ""
) -> Response:
    """Show the bottles of one place that are to be counted: some from the `first` on, or all of them."""
    state = _open(here, code)
    sheet = stocktake.sheet(here.db, code)
    wanted = {line.code for line in state.missing} if again != "1" else set(state.recount)
    lines = [line for line in sheet.lines if line.place == place and line.code in wanted]
    names = places.list_places(here.db)
    if place not in names:
        raise NotOnFile(f'There is no place "{place[:20]}".')
    whole = all == "1"
    start = 0 if whole else _start(first, len(lines))
    return here.show(
        "count_place.html",
        count=state.count,
        place=place,
        name=names[place],
        lines=lines,
        start=start,
        end=len(lines) if whole else start + AT_ONCE,
        all=whole,
        many=AT_ONCE,
        query="again=1&" if again == "1" else "",
        again=again,
        times=stocktake.times_counted(here.db, code),
        show=quantities.show,
        places=[(c, n) for c, n in names.items() if c != place],
        found=_found_form(state.count.code, place),
        how=count_sheet.HELP,
        blank=count_sheet.FOUND_LINES,
    )


def _start(first: str, number: int) -> int:
    """Find where the page begins that was asked for: never behind the last bottle, as there are ever fewer."""
    asked = int(first) - 1 if re.fullmatch(r"[0-9]{1,6}", first) else 0
    return max(0, min(asked, (number - 1) // AT_ONCE * AT_ONCE))


def _back_to(here: PageRequest, code: str) -> str:
    """Find the page that an entry was sent from, at the bottle that came next on it."""
    typed = here.typed
    said = [(name, "1") for name in ("again", "all") if typed[name] == "1"]
    said += [("from", typed["from"])] if typed["from"] not in ("", "1") else []
    at = f"/counts/{quote(code)}/at/{quote(typed['place'] or 'PREP')}"
    return at + (f"?{urlencode(said)}" if said else "") + (f"#bottle-{quote(typed['then'])}" if typed["then"] else "")


def _how(here: PageRequest) -> TypedCount:
    """Read how a bottle was counted: by amount, weight, level, unopened, or not there."""
    typed = here.typed
    pressed, level, at = typed["how"], typed["level"], typed.maybe("at")
    unit = typed["unit"] if typed["unit"] in ("mL", "g") else ""
    full = typed.amount("full", unit)
    if pressed == "not there":
        return TypedCount(not_found=True, note=typed["note"])
    if pressed == "unopened":
        return TypedCount(unopened=True, full=full, place=at, note=typed["note"])
    if level and not typed["amount"] and not typed["gross"]:
        return TypedCount(level=typed.number("level"), full=full, place=at, note=typed["note"])
    return TypedCount(
        typed.amount("amount", unit),
        typed.amount("gross", "g"),
        typed.amount("tare", "g"),
        place=at,
        note=typed["note"],
    )


@routes.post("/counts/{code}/bottles/{bottle}", include_in_schema=False)
@needs(Right.COUNT)
def enter(here: At, code: str, bottle: str) -> Response:
    """Write down one bottle of a count."""
    queued = here.request.headers.get("x-queued") == "1"
    back = _back_to(here, code)
    try:
        with here.once(_not_counted_since(here, code, bottle)):
            entry = stocktake.enter(here.db, code, bottle, _how(here), here.act())
    except SentBefore as before:
        return PlainTextResponse(str(before)) if queued else here.go(back, str(before))
    except PrepError as problem:
        if queued:
            said = in_words(problem.sentence, _again_form(here, code, bottle).fields)
            return PlainTextResponse(said, 409 if isinstance(problem, Refused) else 422)
        form = _again_form(here, code, bottle).filled(here.typed.texts).wrong(problem)
        if isinstance(problem, PageTooOld):
            form = replace(form, seen=_times(here, code, bottle))
        again = 409 if isinstance(problem, Refused) else 422
        return here.show("form.html", again, title=f"Count {bottle[:20]}", form=form, back=back)
    return PlainTextResponse(_said(entry)) if queued else here.go(back, _said(entry))


def _times(here: PageRequest, code: str, bottle: str) -> str:
    return str(stocktake.times_counted(here.db, code).get(bottle, 0))


def _not_counted_since(here: PageRequest, code: str, bottle: str) -> "Callable[[Connection], None]":
    """Check that nobody wrote the bottle down after the page was drawn. Raises PageTooOld."""

    def now() -> PageState:
        said = f"{bottle} was written down by somebody else while this page was open; yours would be a second count."
        return PageState(_times(here, code, bottle), said)

    return here.unchanged(now)


def _again_form(here: PageRequest, code: str, bottle: str) -> WebForm:
    """Make the form with what was typed of a bottle and how it was meant, to be put right."""
    said = {"counted": "by amount, weight or level", "unopened": "unopened", "not there": "not there"}
    stands = choices(places.list_places(here.db), "where it belongs")
    return WebForm(
        f"/counts/{code}/bottles/{bottle}",
        (
            Field("amount", "What is in it", hint="such as 250 mL; 0 if it is empty"),
            Field("gross", "Or its weight with the bottle, in g", option="--gross"),
            Field("tare", "The weight of the empty bottle, in g", option="--tare"),
            Field("level", "Or tenths of full", option="--level"),
            Field("full", "What it holds when full", option="--full"),
            Field("at", "It stands at", "choice", "--at", choices=stands),
            Field("note", "Note", option="--note"),
            Field("how", "How it was counted", "choice", choices=choices(said)),
            Field("place", "", "hidden"),
            Field("again", "", "hidden"),
            Field("unit", "", "hidden"),
            Field("from", "", "hidden"),
            Field("all", "", "hidden"),
            Field("then", "", "hidden"),
        ),
        "Write it down",
    )


def _said(entry: "CountEntry") -> str:
    what = (
        "not there"
        if entry.kind == "not found"
        else quantities.show(entry.amount, entry.measure)
        if entry.measure
        else ""
    )
    verdict = f"; {entry.verdict.sentence}" if entry.verdict and entry.kind != "not found" else ""
    return f"{entry.bottle}, {entry.name}: {what}{verdict}."


def _found_form(code: str, place: str) -> WebForm:
    return WebForm(
        f"/counts/{code}/found",
        (
            Field("bottle", "The code on its label", hint="where it has one and belongs elsewhere"),
            Field("item", "Or what it is", hint="nothing, if its label cannot be read"),
            Field("amount", "How much", hint="such as 250 mL"),
            Field("note", "Note", option="--note"),
            Field("place", "", "hidden", value=place),
        ),
        "Write it down",
    )


@routes.post("/counts/{code}/found", include_in_schema=False)
@needs(Right.COUNT)
def found(here: At, code: str) -> Response:
    """Write down a bottle that is not on the books."""
    where = here.typed["place"]

    def do() -> NextPage:
        typed = here.typed
        if typed["bottle"]:
            how = TypedCount(typed.amount("amount"), place=where, note=typed["note"])
            return NextPage(
                f"/counts/{code}/at/{where}", _said(stocktake.enter(here.db, code, typed["bottle"], how, here.act()))
            )
        find = TypedFind(typed.maybe("item"), typed.amount("amount"), where, typed["note"])
        entry = stocktake.found(here.db, code, find, here.act())
        return NextPage(f"/counts/{code}/at/{where}", f"Written down: {entry.name}.")

    return here.answer(_found_form(code, where), "A bottle that is not on the books", do)


@routes.post("/counts/{code}/close", include_in_schema=False)
@needs(Right.COUNT)
def close(here: At, code: str) -> Response:
    """Close a count: post the adjustments and sign off."""
    form = WebForm(
        f"/counts/{code}/close",
        (
            Field("partial", "Leave what is not counted as it is", "tick", "--partial"),
            Field("as_counted", "Without counting again what differs", "tick", "--as-counted"),
        ),
        "Close and sign off",
        danger=True,
        seen=state_of(stocktake.progress(here.db, code)) if _is_open(here, code) else "",
    )

    def now() -> PageState:
        state = stocktake.progress(here.db, code)
        said = f"The count went on while this page was open: {len(state.missing)} are not counted now, and "
        return PageState(state_of(state), said + f"{len(state.once)} differ and were counted once.")

    def do() -> NextPage:
        leave = adjustments.LeftOpen(here.typed.ticked("partial"), here.typed.ticked("as_counted"))
        done = adjustments.close(here.db, code, leave, here.act())
        return NextPage(
            f"/counts/{code}/report",
            f"Count {done.count.code} is closed as job {done.job}: {len(done.adjusted)} adjustments.",
        )

    return here.answer(form, f"Close count {code[:20]}", do, here.unchanged(now))


@routes.get("/counts/{code}/report", include_in_schema=False)
@needs(Right.SEE_COUNT)
def report_page(here: At, code: str) -> Response:
    """Show what the count says of the whole store."""
    made = report.of_count(here.db, code, None, here.today)
    return here.show(
        "count_report.html",
        count=made.count,
        summary=[*signed_report.heading(made), count_tables.summary(made.says)],
        sections=[s for s in signed_report.shown(made) if s.rows],
    )


@routes.get("/counts/{code}/report.pdf", include_in_schema=False)
@needs(Right.SEE_COUNT)
def report_pdf(here: At, code: str) -> Response:
    """Print what the count says of the whole store, as a PDF."""
    made = report.of_count(here.db, code, None, here.today)
    return Response(count_tables.report_pdf(made.says, signed_report.paper(made)), media_type="application/pdf")
