"""What comes: the bottles of one thing or of a whole delivery, and the labels of what is new."""

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from fastapi import Response

from prep.dates import read_day
from prep.errors import PrepError
from prep.findings import Severity
from prep.services.people.roles import Right
from prep.services.safety import placement
from prep.services.stock import changes, listing, places
from prep.web.forms import Field, TypedForm, WebForm, day_field
from prep.web.here import At, Here, choices, plural
from prep.web.rights import needs, router

if TYPE_CHECKING:
    from prep.store.bottles import HeldBottle

routes = router()
SHEETS = ("A4, 2 x 7", "A4, 3 x 8", "single 60 x 40 mm")


def _receive_form(here: Here, item: str = "", things: int = 1) -> WebForm:
    stands = choices(places.list_places(here.db), "where it always stands")
    fields: list[Field] = []
    for number in range(1, things + 1):
        end = "" if number == 1 else f"-{number}"
        alone = things == 1
        if not alone:
            fields.append(Field(f"thing{end}", f"Thing {number}", "heading"))
        fields += [
            Field(
                f"item{end}",
                "What",
                value=item if number == 1 else "",
                required=number == 1,
                hint="name, formula, CAS number or code",
            ),
            Field(f"amount{end}", "What one bottle holds", required=number == 1, hint="such as 500 g"),
            Field(f"bottles{end}", "How many such bottles", "number", "--bottles" if alone else "", "1"),
            Field(f"location{end}", "Where it is put", "choice", "--at" if alone else "", choices=stands),
            Field(f"use_by{end}", "Use by", "date", "--use-by" if alone else "", hint="as its label says"),
            Field(f"lot{end}", "Lot", option="--lot" if alone else ""),
        ]
    if things > 1:
        fields.append(Field("all", "All of it", "heading"))
    fields += [
        Field("supplier", "From which supplier", option="--supplier"),
        Field("note", "Note", option="--note"),
        day_field(label="Came on", hint="today, if left empty"),
        Field("things", "", "hidden", value=str(things)),
    ]
    about = (
        "What is left empty is passed over; all of it is put on the books at once, or nothing." if things > 1 else ""
    )
    return WebForm("/receive", tuple(fields), "Put on the shelf", about=about)


MOST_THINGS = 12


@routes.get("/receive", include_in_schema=False)
@needs(Right.WORK)
def receive_page(here: At, item: str = "", things: int = 1) -> Response:
    """New bottles: of one thing, or of all that came in one delivery."""
    several = min(max(things, 1), MOST_THINGS)
    title = "Receive bottles" if several == 1 else "Receive what came at once"
    form = _receive_form(here, item[:100], several)
    more = ("/receive?things=6", "Several things came at once") if several == 1 else None
    return here.show("form.html", title=title, form=form, back="/shelves", more=more)


def _receipts(typed: TypedForm, here: Here) -> list[changes.Receipt]:
    """What was typed of each thing that came. Raises PrepError."""
    found = []
    for number in range(1, min(max(typed.number("things", 1), 1), MOST_THINGS) + 1):
        end = "" if number == 1 else f"-{number}"
        if number > 1 and not typed[f"item{end}"]:
            if typed[f"amount{end}"] or typed[f"lot{end}"]:
                raise PrepError(f"Thing {number}: say what it is.")
            continue
        until = read_day(typed[f"use_by{end}"], "--use-by", here.today) if typed[f"use_by{end}"] else None
        found.append(
            changes.Receipt(
                typed[f"item{end}"],
                typed[f"amount{end}"],
                typed.number(f"bottles{end}", 1),
                typed.maybe(f"location{end}"),
                until,
                typed[f"lot{end}"],
                typed["note"],
                supplier=typed["supplier"],
            )
        )
    return found


@routes.post("/receive", include_in_schema=False)
@needs(Right.WORK)
def receive(here: At) -> Response:
    """Put new bottles on the books, all that came as one job."""
    typed = here.typed
    form = _receive_form(here, things=min(max(typed.number("things", 1), 1), MOST_THINGS))

    def do() -> tuple[str, str]:
        receipts = _receipts(typed, here)
        return received(here, lambda: changes.receive_all(here.db, receipts, here.act()))

    return here.answer(form, "Receive bottles", do)


def received(here: Here, do: "Callable[[], Sequence[HeldBottle]]") -> tuple[str, str]:
    """Where to go and what to say once bottles have come."""
    held = do()
    of: dict[tuple[str, str], list[str]] = {}
    for one in held:
        of.setdefault((one.name, one.location), []).append(one.code)
    said = "; ".join(
        f"{plural(len(codes), 'bottle')} of {name} at {place}: {', '.join(codes)}"
        for (name, place), codes in of.items()
    )
    said += ". Write the code on its label."
    return f"/new?codes={','.join(h.code for h in held)}", f"{said} {beside(here, held)}"


@routes.get("/new", include_in_schema=False)
@needs(Right.SEE_STOCK)
def new(here: At, codes: str) -> Response:
    """Bottles that were just filled or received, and their labels."""
    wanted = [code for code in codes.split(",") if code][:60]
    if not wanted:
        raise PrepError("There is no bottle named.")
    return here.show("new.html", bottles=[listing.show(here.db, code)[0] for code in wanted], sheets=SHEETS)


def beside(here: Here, held: "Sequence[HeldBottle]") -> str:
    """What must not stand beside it there."""
    found = [one for some in placement.beside(here.db, list(held)).values() for one in some]
    return " ".join(f"Mind: {one.message} {one.cure}" for one in dict.fromkeys(found) if one.severity != Severity.NOTE)
