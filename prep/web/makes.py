"""A make at the bench: one step at a time, what is weighed beside what is wanted, and logging it."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from fastapi import Response
from fastapi.responses import JSONResponse

from prep.chemistry import quantities
from prep.chemistry.model import Measure
from prep.chemistry.typed_number import point
from prep.errors import PrepError, Refused
from prep.planning.by_day import LineKind, made_on
from prep.planning.model import Batch
from prep.reports.formatting import ItemNames
from prep.reports.plan.screen import placed
from prep.reports.plan.sheet_rows import day_rows
from prep.services.making import make
from prep.services.people.roles import Right
from prep.services.plan import day_lines
from prep.services.plan.plan import DrawnPlan
from prep.services.school import usual
from prep.web.forms import Field, WebForm, in_unit
from prep.web.orders import received
from prep.web.page_request import At, NextPage, PageRequest, PageState, drawn_from, place_field
from prep.web.rights import needs, router
from prep.web.today import batch_of, key_of

if TYPE_CHECKING:
    from sqlalchemy import Connection

routes = router()
TRIES = 5


class BooksMoved(Exception):
    """Somebody wrote something down after the plan of this request was looked at."""


@dataclass(frozen=True, slots=True)
class TakenLine:
    """What a make takes from one place: the place's name in the form, and where, what and how much, in words."""

    place: str
    where: str
    what: str
    amount: str


def _takes(batch: Batch, drawn: DrawnPlan) -> list[TakenLine]:
    """List what a make takes, one line a bottle."""
    names, places_ = ItemNames(drawn.snapshot), {b.code: b.location for b in drawn.snapshot.bottles}
    days = made_on(drawn.plan)
    sums: dict[tuple[str, str], int] = {}
    said: dict[str, str] = {}
    for take in batch.takes:
        place = take.item if take.kind == "order" else take.ref
        sums[place, take.item] = sums.get((place, take.item), 0) + take.amount
        stands = f"{place}, {places_[place]}" if place in places_ else placed(take.source, days, batch.make_on)
        said.setdefault(place, stands)
    out = []
    for (place, item), amount in sums.items():
        out.append(TakenLine(place, said[place], names.of(item), names.amount(item, amount, None)))
    return out


def _form(here: PageRequest, batch: Batch, drawn: DrawnPlan) -> WebForm:
    names = ItemNames(drawn.snapshot)
    volume = names.amount(batch.solution, batch.amount, None)
    fields = [
        Field(f"took-{one.place}", f"Took of {one.what}", hint=f"{one.amount} is wanted, from {one.where}", value="")
        for one in _takes(batch, drawn)
    ]
    fields += [
        Field("came", "Volume that came out", option="--made", hint=f"{volume}, if left empty"),
        place_field(here, batch.solution, usual.MADE, "Where it stands"),
        Field("bottles", "Into how many bottles", "number", "--bottles", "1"),
    ]
    return WebForm(f"/makes/{batch.id}", tuple(fields), "It is made: log it", seen=state_of(batch))


def state_of(batch: Batch) -> str:
    """Write what the page of a make was drawn from, to see whether it has changed since."""
    takes = ",".join(sorted(f"{take.kind} {take.ref} {take.amount}" for take in batch.takes))
    return drawn_from(batch.amount, takes)


@routes.get("/makes/{ref:path}", include_in_schema=False)
@needs(Right.SEE_STOCK)
def at_the_bench(here: At, ref: str) -> Response:
    """Show a make of the plan, to be done at the bench."""
    drawn = here.plan()
    batch = batch_of(drawn, ref)
    (row,) = here.read(
        drawn,
        ("makes", batch.make_on),
        lambda: day_rows(drawn.cautioned([batch.make_on]).plan, drawn.snapshot, [batch.make_on]),
    )
    shown: Any = next(one for one in row.makes if one.batch == batch.id)
    return here.show("make.html", batch=batch, row=shown, form=_form(here, batch, drawn), takes=_takes(batch, drawn))


@routes.post("/makes/{ref:path}", include_in_schema=False)
@needs(Right.WORK)
def log(here: At, ref: str) -> Response:
    """Log a make with what was really taken."""
    for _ in range(TRIES):
        books = here.books()
        try:
            return _logged(here, ref, books)
        except BooksMoved:  # between looking at the plan and writing the make down: look again
            continue
    raise Refused("Others write so much at this moment that this was not done; send it once more.")


def _logged(here: PageRequest, ref: str, books: object) -> Response:
    drawn = here.plan()
    batch = batch_of(drawn, ref)
    names = ItemNames(drawn.snapshot)
    key = key_of(here, drawn, LineKind.MAKE, batch.id)

    def do() -> NextPage:
        typed = here.typed
        taken = [
            f"{one.place}={typed.amount(f'took-{one.place}', unit_of(one.amount)) or one.amount}"
            for one in _takes(batch, drawn)
        ]
        volume = names.amount(batch.solution, batch.amount, None)
        with day_lines.logging_key(here.today, key):
            logged = log_make(here, batch.solution, volume, taken, typed.amount("came", unit_of(volume)))
        return received(here, lambda: logged.bottles)

    def still(connection: "Connection") -> None:
        if here.books() != books:
            raise BooksMoved
        same(connection)

    takes = "; ".join(f"{one.amount} of {one.what} from {one.where}" for one in _takes(batch, drawn))
    title = f"{names.amount(batch.solution, batch.amount)} of {names.of(batch.solution)}"
    says = f"The plan was changed while this page was open: it asks for {title} now, made of {takes}."
    same = here.unchanged(lambda: PageState(state_of(batch), says))
    return here.answer(_form(here, batch, drawn), title, do, still)


def log_make(here: PageRequest, solution: str, volume: str, taken: list[str], came: str | None) -> Any:
    """Log a make, and the bottles that it filled."""
    where, bottles = here.typed.maybe("location"), here.typed.number("bottles", 1)
    asked = make.MakeRequest(solution, volume, taken=taken, came=came, location=where, bottles=bottles)
    return make.log(here.db, asked, here.act())


@routes.get("/weighed", include_in_schema=False)
@needs(Right.SEE_STOCK)
def weighed(wanted: str, got: str) -> Response:
    """Compare a figure on the balance with what is wanted, for the page's script."""
    return JSONResponse({"says": beside(wanted[:40], got[:40])})


def unit_of(wanted: str) -> str:
    """Find the unit of an amount that is wanted, such as `g` of `252.2 g`: that of a figure read off beside it."""
    return wanted.rpartition(" ")[2]


def beside(wanted: str, got: str) -> str:
    """Compare a figure with what is wanted, such as `0.4 % over`; tell what is wrong where it is no amount."""
    try:
        ask, have = quantities.amount(wanted), quantities.amount(in_unit(point(got.strip()), unit_of(wanted)))
    except PrepError as problem:
        return str(problem)
    if ask.measure is not have.measure:
        unit = "a volume" if ask.measure is Measure.VOLUME else "a mass"
        return f"That is not {unit}."
    if not ask.base or ask.base == have.base:
        return "Just what is wanted."
    off = 100 * (have.base - ask.base) / ask.base
    size = f"{abs(off):.2g} %" if abs(off) < 100 else f"{have.base / ask.base:.1f} times"
    if abs(off) >= 100:
        return f"That is {size} what is wanted: look again."
    return f"{size} {'over' if off > 0 else 'under'}{': look again' if abs(off) > 5 else ''}."
