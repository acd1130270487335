"""Demonstrations: what stands on the bench, what to mind, what is left to dispose of."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Any

from fastapi import Response

from prep.chemistry.spelling import key as spelt
from prep.dates import read_day
from prep.errors import PrepError
from prep.planning.model import Demo
from prep.reports.curves import on_page
from prep.reports.demo.prediction_picture import series_of
from prep.reports.demo.prediction_view import inside_of, vessel_lines
from prep.reports.demo.sheets import KINDS, safety_lines
from prep.reports.demo.sheets import sheet as printed
from prep.services.bookings import bookings
from prep.services.demos.demos import TRIED, possible
from prep.services.demos.prediction import Prediction
from prep.services.demos.sheets import sheets
from prep.services.people.roles import Right
from prep.web.forms import Choice, Field, TypedForm, WebForm, in_words
from prep.web.page_request import At, PageRequest
from prep.web.rights import needs, router

if TYPE_CHECKING:
    from prep.services.bookings.showable import Showable

routes = router()
FURTHEST = 370
"""Days from today on which it can be asked what could be shown."""


@routes.get("/demos", include_in_schema=False)
@needs(Right.SEE_DEMOS)
def listed(here: At, q: str = "", can: str = "") -> Response:
    """List demonstrations: all, those with the words searched for, those that could be shown on a day."""
    q, can = q[:100], can.strip()[:20]
    found = by_any_word(q, bookings.demos(here.db))
    on, asked, problem = None, None, ""
    if can:
        try:
            on = read_day(can, "the day", here.today)
            asked = could_be_shown(here, on, frozenset(demo.code for demo in found))
        except PrepError as wrong:
            problem = in_words(wrong.sentence)
    demos = sorted(found, key=lambda d: d.name.casefold())
    return here.show(
        "demos.html",
        422 if problem else 200,
        demos=[d for d in demos if asked is None or d.code in asked.codes],
        open=[d for d in demos if asked is not None and d.code in asked.not_asked],
        q=q,
        can=can if on is None else on.isoformat(),
        on=on if asked is not None else None,
        problem=problem,
        tried=TRIED,
    )


def could_be_shown(here: PageRequest, on: date, codes: frozenset[str]) -> "Showable":
    """Find which demonstrations could be shown on a day as things stand. Raises PrepError for a day that is none."""
    if (on - here.today).days > FURTHEST:
        raise PrepError(f"{on} is more than a year ahead: what will be held then nobody knows.")
    return here.worked_out(("showable", on, codes), lambda: possible(here.db, on, here.today, codes))


def by_any_word(typed: str, demos: Sequence[Demo]) -> list[Demo]:
    """Find the demonstrations in whose name, code or description every word that was typed stands."""
    words = typed.casefold().split()
    texts = ((demo, " ".join((demo.code, demo.name, *demo.other_names, demo.about)).casefold()) for demo in demos)
    return [demo for demo, text in texts if all(word in text for word in words)]


def which_demo(here: PageRequest, form: WebForm) -> WebForm:
    """Ask which demonstration is meant, where the word that was typed is of several."""
    demos = bookings.demos(here.db)
    typed = here.typed["demo"]
    found = sorted(by_any_word(typed, demos), key=lambda demo: demo.name.casefold())
    if not typed or not 1 < len(found) <= 30:
        return form
    asked = Field(
        "demo",
        f"Which demonstration with “{typed[:40]}”",
        "choice",
        choices=[*(Choice(d.code, d.name) for d in found), Choice(typed, "another one: I will look again")],
        error="Several are called so: choose one.",
    )
    return replace(form, error="", fields=tuple(asked if f.name == "demo" else f for f in form.fields))


def demo_named(here: PageRequest) -> str:
    """Find the demonstration that was typed, by any word of it where the word is of one alone."""
    typed = here.typed["demo"]
    found = by_any_word(typed, bookings.demos(here.db))
    named = [d for d in found if spelt(typed) in map(spelt, (d.code, d.name, *d.other_names))]
    return (named or found)[0].code if len(named) == 1 or len(found) == 1 else typed


@routes.get("/demos/{code}", include_in_schema=False)
@needs(Right.SEE_DEMOS)
def shown(here: At, code: str, showings: str = "1") -> Response:
    """Show one demonstration, for so many showings: the bench, what it will show, what to mind, what is left."""
    number = min(max(TypedForm({"n": [showings]}).number("n", 1), 1), 1000)
    found = sheets(here.db, bookings.demo(here.db, code).code, number)
    return here.show(
        "demo.html",
        demo=found.demo,
        number=number,
        found=found,
        predicted=predicted(found.prediction),
        safety=safety_lines(found),
        sheets=[(kind, title) for kind, (title, _) in KINDS.items()],
    )


def predicted(found: Prediction) -> dict[str, Any]:
    """Lay out a prediction for a page: curves side by side, and each vessel in words."""
    return {
        "curves": on_page(series_of(found)) if found.vessels else None,
        "axis": "drops" if found.in_drops else "mL",
        "vessels": [(one.called, inside_of(one), vessel_lines(one, found.in_drops)) for one in found.vessels],
        "unknown": found.unknown,
    }


@routes.get("/sheets/{what}/{kind}.pdf", include_in_schema=False)
@needs(Right.SEE_DEMOS)
def sheet(here: At, what: str, kind: str, showings: str = "") -> Response:
    """Print a sheet of a demonstration, or of a booking. Raises PrepError."""
    number = min(max(TypedForm({"n": [showings]}).number("n", 0), 0), 1000)
    made = printed(kind, sheets(here.db, what[:80], number or None))
    return Response(made, media_type="application/pdf", headers={"Content-Disposition": f"inline; filename={kind}.pdf"})
