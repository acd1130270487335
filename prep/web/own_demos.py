"""A demonstration of one's own: vessel by vessel, or like another; what it will show stands before the button."""

from dataclasses import dataclass, replace
from typing import Any

from fastapi import Response

from prep.chemistry.typed_number import points
from prep.errors import PrepError, Refused
from prep.planning.model import Demo
from prep.services.catalogue import lookup
from prep.services.demos import demo_questions
from prep.services.demos import demos as service
from prep.services.demos.demos import AddedDemo, AddOptions, Variant
from prep.services.demos.prediction import predict
from prep.services.demos.sheets import bench_of
from prep.services.people.roles import Right
from prep.web.demos import predicted
from prep.web.forms import TypedForm, in_words
from prep.web.page_request import At, PageRequest
from prep.web.rights import needs, router

routes = router()
VESSELS, MOST = 2, 12


@dataclass(frozen=True, slots=True)
class VesselTyped:
    """A vessel as it was typed: what is in it and what is added, a line each."""

    name: str = ""
    inside: str = ""
    added: str = ""


def _typed(typed: TypedForm) -> list[VesselTyped]:
    found = [
        VesselTyped(typed[f"vessel-{n}"][:80], typed[f"inside-{n}"][:2000], typed[f"added-{n}"][:2000])
        for n in range(1, MOST + 1)
    ]
    while len(found) > VESSELS and found[-1] == VesselTyped():
        found.pop()
    return found


def _lines(text: str) -> list[str]:
    return [points(line.strip()) for line in text.splitlines() if line.strip()]


def _asked(typed: TypedForm) -> demo_questions.AskedDemo:
    """Read what the form says as the command's options would say it. Raises PrepError."""
    inside, added = [], []
    for number, vessel in enumerate(_typed(typed), 1):
        if (vessel.inside or vessel.added) and not vessel.name:
            raise PrepError(f"Name the vessel {number}, such as flask, left dish or burette.")
        if "=" in vessel.name:
            raise PrepError(f"Name the vessel {number} without the sign =.")
        inside += [f"{vessel.name}={line}" for line in _lines(vessel.inside)]
        added += [f"{vessel.name}={line}" for line in _lines(vessel.added)]
    leaves = [f"{typed['left']}={typed['goes']}"] if typed["left"] and typed["goes"] else []
    if not typed["name"]:
        raise PrepError("Give it a name.")
    if not inside:
        raise PrepError("Say what is in a vessel, such as 25 mL of hydrochloric acid 0.1 M.")
    return demo_questions.AskedDemo(
        typed["name"],
        "",
        typed["about"],
        typed["principle"],
        typed["caution"],
        tuple(inside),
        tuple(added),
        tuple(leaves),
    )


def _variant(typed: TypedForm) -> Variant:
    """Read the variant that the form asks for. Raises PrepError."""
    swaps = {name[5:]: text[-1].strip() for name, text in typed.texts.items() if name[:5] == "swap-"}
    times = {name[6:]: typed.amount(name) for name in typed.texts if name[:6] == "times-"}
    stronger = demo_questions.factors([f"{item}={factor}" for item, factor in times.items() if factor])
    return Variant(typed["like"], typed["name"], "", {k: v for k, v in swaps.items() if v}, stronger)


def _put(here: PageRequest, *, only_look: bool) -> AddedDemo:
    """Put a demonstration on file, or only read it, with every mistake in it. Raises PrepError, Refused."""
    how = AddOptions(dry_run=only_look)
    if here.typed["like"]:
        return service.add_variant(here.db, _variant(here.typed), how, here.act())
    return service.add_text(here.db, demo_questions.toml_of(_asked(here.typed)), how, here.act())


def _looked_at(here: PageRequest, added: AddedDemo, demo: Demo) -> dict[str, Any]:
    """Predict what a demonstration would take and show, before it is added."""
    on_file = lookup.known(here.db)
    new = {one.code: one for one in added.solutions}
    on_file = replace(on_file, solutions={**on_file.solutions, **new})
    reckoned = lookup.reckoned(demo, on_file).demo
    return {
        "demo": demo,
        "bench": bench_of(reckoned, 1, on_file),
        "predicted": predicted(predict(demo, on_file)),
        "new": [one.name for one in added.solutions],
        "dangers": added.dangers,
        "taken": added.taken,
    }


def _page(here: PageRequest, code: int = 200, more: int = 0, **values: Any) -> Response:
    like = here.typed["like"] or values.pop("like", "")
    values = {"looked_at": None, "problems": (), **values}
    if like:
        on_file = lookup.known(here.db)
        found = lookup.demo(on_file, like)
        items = [(item, on_file.name(item)) for item in dict.fromkeys(n.item for n in found.needs) if item != "water"]
        values |= {"like": found, "items": items}
    else:
        vessels = [*_typed(here.typed), *[VesselTyped()] * more][:MOST]
        values |= {"like": None, "vessels": vessels, "known": _names(here)}
    return here.show("own_demo.html", code, typed=here.typed, **values)


def _names(here: PageRequest) -> list[str]:
    on_file = lookup.known(here.db)
    return sorted(one.name for one in on_file.solutions.values())


@routes.get("/demos/new", include_in_schema=False)
@needs(Right.BOOK)
def new(here: At, like: str = "") -> Response:
    """Show the form for a new demonstration, empty or filled from another."""
    return _page(here, like=like[:80])


@routes.post("/demos/new", include_in_schema=False)
@needs(Right.BOOK)
def add(here: At) -> Response:
    """Show what a demonstration would be, and put it on file once that was seen."""
    if here.typed["act"] == "more":
        return _page(here, more=2)
    try:
        looked = _put(here, only_look=True)
        if looked.demo is None:
            return _page(here, 422, problems=[in_words(one) for one in looked.mistakes])
        if here.typed["act"] != "add":
            return _page(here, looked_at=_looked_at(here, looked, looked.demo))
        with here.once():
            done = _put(here, only_look=False)
    except PrepError as problem:
        return _page(here, 409 if isinstance(problem, Refused) else 422, problems=[in_words(problem.sentence)])
    assert done.demo is not None
    return here.go(f"/demos/{done.demo.code}", f"{done.demo.name} is on file.")
