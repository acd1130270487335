"""The shelves: finding a bottle, what it is and was, taking from it, moving it, and what newly comes."""

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING
from urllib.parse import quote

from fastapi import Response
from fastapi.responses import RedirectResponse

from prep.books import BottleStatus
from prep.chemistry import quantities
from prep.chemistry.model import Measure
from prep.planning.by_day import LineKind
from prep.reports.labels import label_pdf
from prep.reports.stocktake import genealogy_view
from prep.services.people.roles import Right
from prep.services.plan import day_lines
from prep.services.plan.plan import DrawnPlan
from prep.services.stock import changes, labels, listing, places, pouring, recall
from prep.services.stock.find import FoundBottles, shelf
from prep.web.forms import Choice, Field, WebForm, bare_unit, day_field
from prep.web.orders import beside, received
from prep.web.page_request import At, NextPage, PageRequest, PageState, choices, drawn_from
from prep.web.rights import needs, router

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from prep.safety.label_content import LabelContent
    from prep.store.bottles import HeldBottle

routes = router()
MOST = 300
"""Bottles that one page lists."""


@routes.get("/shelves", include_in_schema=False)
@needs(Right.SEE_STOCK)
def shelves(here: At, q: str = "", at: str = "", out: str = "") -> Response:
    """List what is held, by any part of a name, CAS number or code, and by place."""
    found: FoundBottles = shelf(here.db, q[:100], at, out == "1", MOST)
    return here.show("shelves.html", shelf=found, q=q[:100], at=at, out=out, places=places.list_places(here.db))


@routes.get("/held", include_in_schema=False)
@needs(Right.SEE_DEMOS)
def what_is_held(here: At, q: str = "") -> Response:
    """List what is held, by name: no amounts and no places, as some of it is controlled."""
    found = shelf(here.db, q[:100])
    names: dict[tuple[str, str], int] = {}
    for place in found.places:
        for one in place.bottles:
            if one.status == BottleStatus.IN_SERVICE and (one.use_by is None or one.use_by >= here.today):
                names[one.name, one.strength or ""] = names.get((one.name, one.strength or ""), 0) + 1
    return here.show("held.html", held=sorted(names.items(), key=lambda pair: pair[0][0].casefold()), q=q[:100])


@routes.get("/b/{code}", include_in_schema=False)
@needs(Right.SEE_DEMOS)
def short(here: At, code: str) -> Response:
    """Send the browser from the code on a label to the bottle's page; who may not see that, to what is held of it."""
    safe = "".join(c for c in code if c.isalnum())[:20]
    if here.may(Right.SEE_STOCK):
        return RedirectResponse(f"/bottles/{safe}", 303)
    return RedirectResponse(f"/held?q={quote(listing.show(here.db, safe).bottle.name)}", 303)


def state_of(held: "HeldBottle") -> str:
    """Write what a bottle's page was drawn from, to see whether it has changed since."""
    label = (held.use_by, held.opened, held.lot, held.tare, held.note)
    return drawn_from(held.balance, held.status, held.location, *label)


def _still(here: PageRequest, code: str) -> "Callable[[Connection], None]":
    """Check that a bottle is still as its page said. Raises PageTooOld."""

    def now() -> PageState:
        held = listing.show(here.db, code).bottle
        label = [f"use by {held.use_by}" if held.use_by else "", held.lot and f"lot {held.lot}", held.note]
        says = ", ".join(filter(None, label))
        return PageState(
            state_of(held),
            f"Bottle {held.code} was changed while this page was open: it holds {held.shown}, is {held.status} "
            f"and stands at {held.location}{f'; its label says {says}' if says else ''}.",
        )

    return here.unchanged(now)


def _forms(here: PageRequest, held: "HeldBottle") -> dict[str, WebForm]:
    base, seen = f"/bottles/{held.code}", state_of(held)
    why = Field("reason", "Why", option="--reason")
    unit = bare_unit(held.measure)
    amount = Field(
        "amount", "How much", option="AMOUNT", hint=f"in {unit}, or with its unit, such as 25 {unit}", required=True
    )
    where = Field(
        "location",
        "Where to",
        "choice",
        choices=[Choice(c, n) for c, n in places.list_places(here.db).items() if c != held.location],
    )
    day = day_field(value="", hint="today, if left empty")
    label = (
        Field("use_by", "Use by", "date", "--use-by", held.use_by.isoformat() if held.use_by else ""),
        Field("opened", "Opened", "date", "--opened", held.opened.isoformat() if held.opened else ""),
        Field("lot", "Lot", "text", "--lot", held.lot),
        Field("tare", "Weighs when empty", "text", "--tare", hint="in g, such as 312.4"),
        Field("note", "Note", "text", "--note", held.note),
        why,
    )
    all_places = choices(places.list_places(here.db), "beside this one")
    stands = Field("location", "Where the new one is put", "choice", "--at", choices=all_places)
    into = Field("into", "Into how many new bottles", "number", "--into", "2")
    source = Field("source", "From which bottle", option="--from", required=True, hint="the code on its label")
    some = Field("amount", "How much", option="--amount", hint=f"in {unit}, or with its unit; all of it, if left empty")
    aside = held.status == BottleStatus.QUARANTINE
    return {
        "use": WebForm(f"{base}/use", (amount, why, day), "Take it", seen),
        "decant": WebForm(f"{base}/decant", (amount, stands), "Pour it into a new bottle", seen),
        "split": WebForm(f"{base}/split", (into, stands), "Share it out", seen),
        "top-up": WebForm(f"{base}/top-up", (source, some), "Pour that into this one", seen),
        "move": WebForm(f"{base}/move", (where,), "Move it", seen),
        "discard": WebForm(f"{base}/discard", (why,), "Write off what is left", seen, danger=True),
        "keep": WebForm(f"{base}/status", (why,), "Release it" if aside else "Keep it from being used", seen),
        "label": WebForm(f"{base}/correct", label, "Correct what its label says", seen),
    }


@routes.get("/bottles/{code}", include_in_schema=False)
@needs(Right.SEE_STOCK)
def bottle(here: At, code: str) -> Response:
    """Show one bottle: what, where, how much, until when, its hazards, its bookings, where it came from and went."""
    shown = listing.show(here.db, code)
    held, moves = shown.bottle, shown.moves
    drawn = here.plan()
    line = next((one for one in drawn.plan.bottles if one.code == held.code), None)
    label, traced = here.read(drawn, ("bottle", held.code), lambda: _label_and_trace(here, held, drawn))
    return here.show(
        "bottle.html",
        held=held,
        moves=moves,
        line=line,
        bookings=drawn.plan.bookings(),
        name=drawn.snapshot.catalogue.name,
        label=label,
        traced=traced,
        forms=_forms(here, held) if here.may(Right.WORK) and held.status != BottleStatus.DISCARDED else {},
        tare=quantities.show(held.tare, Measure.MASS, None) if held.tare else "",
        show=quantities.show,
        place=places.list_places(here.db).get(held.location, held.location),
    )


def _label_and_trace(
    here: PageRequest, held: "HeldBottle", drawn: DrawnPlan
) -> "tuple[LabelContent | None, list[genealogy_view.TraceTable]]":
    """Read a bottle's label, and trace the bottles that its contents came from and went into."""
    label = None
    if held.status != BottleStatus.DISCARDED:
        (label,) = labels.labels(here.db, [held.code], catalogue=drawn.snapshot.catalogue)
    traced = recall.trace(here.db, held.code)
    if traced.up is not None and all(share.bottle == held.code for share in traced.up.shares):
        traced = replace(traced, up=None)  # nothing was poured into it: it came as it is
    return label, [
        one for one in genealogy_view.tables(traced.up, traced.down) if any(row[0] != held.code for row in one.rows)
    ]


def _poured(here: PageRequest, code: str) -> str | None:
    """Read the amount that was typed of a bottle, a figure alone in the bottle's unit. Raises PrepError."""
    return here.typed.amount("amount", bare_unit(listing.show(here.db, code).bottle.measure))


def _act(here: PageRequest, code: str, which: str, do: Callable[[], str]) -> Response:
    held = listing.show(here.db, code).bottle
    form = _forms(here, held)[which]
    title, to = f"{held.name} ({held.code})", f"/bottles/{held.code}"
    return here.answer(form, title, lambda: NextPage(to, do()), _still(here, held.code))


@routes.post("/bottles/{code}/use", include_in_schema=False)
@needs(Right.WORK)
def use(here: At, code: str) -> Response:
    """Take an amount from a bottle."""

    def do() -> str:
        amount = _poured(here, code) or ""
        held = changes.use(here.db, code, amount, here.typed["reason"], here.act())
        return f"Taken: {amount}. {held.shown} is left."

    return _act(here, code, "use", do)


@routes.post("/bottles/{code}/move", include_in_schema=False)
@needs(Right.WORK)
def move(here: At, code: str) -> Response:
    """Put a bottle somewhere else."""

    def do() -> str:
        held = changes.move(here.db, code, here.typed["location"], here.act())
        return f"It stands at {held.location} now. {beside(here, [held])}"

    return _act(here, code, "move", do)


def _pour(here: PageRequest, code: str, which: str, do: "Callable[[], pouring.Poured]") -> Response:
    """Pour from bottle to bottle, then show the labels of the new ones."""
    held = listing.show(here.db, code).bottle
    title = f"{held.name} ({held.code})"

    def poured() -> NextPage:
        done = do()
        if which == "top-up":
            return NextPage(
                f"/bottles/{held.code}", f"It holds {done.filled[0].shown} now. {beside(here, done.filled)}"
            )
        return received(here, lambda: done.filled)

    return here.answer(_forms(here, held)[which], title, poured, _still(here, held.code))


@routes.post("/bottles/{code}/decant", include_in_schema=False)
@needs(Right.WORK)
def decant(here: At, code: str) -> Response:
    """Pour an amount of a bottle into a new one."""
    typed = here.typed
    return _pour(
        here,
        code,
        "decant",
        lambda: pouring.decant(here.db, code, _poured(here, code) or "", typed.maybe("location"), here.act()),
    )


@routes.post("/bottles/{code}/split", include_in_schema=False)
@needs(Right.WORK)
def split(here: At, code: str) -> Response:
    """Share all that a bottle holds between new ones."""
    typed = here.typed
    return _pour(
        here,
        code,
        "split",
        lambda: pouring.split(here.db, code, typed.number("into", 2), typed.maybe("location"), here.act()),
    )


@routes.post("/bottles/{code}/top-up", include_in_schema=False)
@needs(Right.WORK)
def top_up(here: At, code: str) -> Response:
    """Pour another bottle of the same thing into a bottle."""
    typed = here.typed
    return _pour(
        here, code, "top-up", lambda: pouring.top_up(here.db, code, typed["source"], _poured(here, code), here.act())
    )


@routes.post("/bottles/{code}/discard", include_in_schema=False)
@needs(Right.WORK)
def discard(here: At, code: str) -> Response:
    """Write off what is left in a bottle."""

    def do() -> str:
        held = listing.show(here.db, code).bottle
        with day_lines.logging_key(here.today, f"{LineKind.DISCARD} {held.code}"):
            changes.discard(here.db, [held.code], here.typed["reason"], here.act())
        return "It is written off."

    return _act(here, code, "discard", do)


@routes.post("/bottles/{code}/status", include_in_schema=False)
@needs(Right.WORK)
def status(here: At, code: str) -> Response:
    """Keep a bottle from being used, or release it."""

    def do() -> str:
        held = listing.show(here.db, code).bottle
        new = BottleStatus.IN_SERVICE if held.status == BottleStatus.QUARANTINE else BottleStatus.QUARANTINE
        return f"It is {changes.set_status(here.db, code, new, here.typed['reason'], here.act()).status} now."

    return _act(here, code, "keep", do)


@routes.post("/bottles/{code}/correct", include_in_schema=False)
@needs(Right.WORK)
def correct(here: At, code: str) -> Response:
    """Correct what the books say of a bottle's label."""

    def do() -> str:
        typed = here.typed
        dates = (typed["use_by"] or "none", typed["opened"] or "none")
        given = changes.Correction(*dates, typed["lot"], typed.amount("tare", "g"), typed["note"])
        changes.correct(here.db, code, given, typed["reason"], here.act())
        return "Corrected."

    return _act(here, code, "label", do)


@routes.get("/labels.pdf", include_in_schema=False)
@needs(Right.WORK)
def label(here: At, codes: str, sheet: str = "", start: int = 1) -> Response:
    """Print labels as a PDF."""
    found = labels.labels(here.db, [code for code in codes.split(",") if code])
    made = label_pdf.render_on(found, sheet, start)
    name = {"Content-Disposition": "inline; filename=labels.pdf"}
    return Response(made.pdf, media_type="application/pdf", headers=name)
