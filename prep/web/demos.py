"""Demonstrations: what stands on the bench, what to mind, what is left to dispose of."""

from typing import Any

from fastapi import Response

from prep.planning.engine.requirements import needs_of
from prep.reports.catalogue import amount_json, demo_document, until_document
from prep.services.bookings import bookings
from prep.services.catalogue import lookup
from prep.services.people.roles import Right
from prep.web.forms import TypedForm
from prep.web.here import At, Here
from prep.web.rights import needs, router

routes = router()


def document(here: Here, code: str, showings: int = 1) -> dict[str, Any]:
    """A demonstration as the command shows it. Raises PrepError."""
    on_file = lookup.known(here.db)
    found = bookings.demo(here.db, code)
    computed, untils = lookup.reckoned(found, on_file)
    takes = needs_of(computed, showings)
    made = demo_document(found, on_file.substances)
    for need in made["needs"]:
        need["name"] = on_file.name(need["item"])
    made["showings"] = showings
    made["takes"] = [
        {
            "item": item,
            "name": on_file.name(item),
            "amount": amount_json(item, amount, on_file.substances),
            "fresh": fresh,
        }
        for (item, fresh), amount in takes.items()
    ]
    return made | {"until": [until_document(until) for until in untils]}


@routes.get("/demos", include_in_schema=False)
@needs(Right.SEE_DEMOS)
def listed(here: At, q: str = "") -> Response:
    """Demonstrations by any word."""
    words = q[:100].casefold().split()
    found = [
        demo
        for demo in bookings.demos(here.db)
        if all(word in f"{demo.code} {demo.name} {demo.about}".casefold() for word in words)
    ]
    return here.show("demos.html", demos=sorted(found, key=lambda d: d.name.casefold()), q=q[:100])


@routes.get("/demos/{code}", include_in_schema=False)
@needs(Right.SEE_DEMOS)
def shown(here: At, code: str, showings: str = "1") -> Response:
    """One demonstration, for so many showings."""
    number = min(max(TypedForm({"n": [showings]}).number("n", 1), 1), 1000)
    return here.show("demo.html", demo=document(here, code, number), number=number, quantity=quantity)


def quantity(value: dict[str, Any]) -> str:
    """`250 mL` of a document's quantity."""
    return f"{value['value']:.4g} {value['unit']}"
