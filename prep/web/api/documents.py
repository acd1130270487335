"""What the subjects under /api share: the shapes of what is sent and answered, and what may go wrong."""

from collections.abc import Callable, Sequence
from functools import wraps
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, Annotated, Any

from fastapi import Path, Query, Request
from fastapi.routing import APIRoute
from pydantic import Field

from prep.reports.finding_texts import finding_document
from prep.reports.stock import held_document
from prep.services.input import jobs_done
from prep.services.safety import placement
from prep.web.forms import as_said

if TYPE_CHECKING:
    from prep.store.bottles import HeldBottle

Document = dict[str, Any]
Text = Annotated[str, Field(max_length=300)]
Short = Annotated[str, Query(max_length=100)]
DayText = Annotated[str, Query(max_length=40)]
Code = Annotated[str, Path(max_length=80)]
Number = Annotated[int, Path(ge=1, le=2**31 - 1)]
PROBLEMS: dict[int | str, dict[str, Any]] = {
    code: {"description": said, "content": {"application/json": {"schema": {"$ref": "#/components/schemas/Problem"}}}}
    for code, said in (
        (400, "The request is no request of this page."),
        (401, "There is no key, or it is none."),
        (403, "The key, or its person, may not do that."),
        (404, "There is no such thing."),
        (409, "The answer is no: nothing was changed."),
        (422, "Something is wrong with what was sent: nothing was changed."),
        (429, "Too many wrong keys: wait."),
    )
}

_ELSE = {
    "at": ("location", "place"),
    "from": ("source",),
    "take": ("taken",),
    "return": ("back",),
    "what_if": ("change",),
}
"""What the programs' fields are called, where that is not as the options of the commands."""


def tells_job(done: Callable[..., Any]) -> Callable[..., Any]:
    """Let what a route answers that does something hold the number of its job, by which it can be undone."""

    @wraps(done)
    def told(*given: Any, **named: Any) -> Any:
        with jobs_done.collected() as jobs:
            answer = done(*given, **named)
        return jobs_done.written_into(answer, jobs)

    return told


def placed_documents(db: FilePath | None, bottles: Sequence["HeldBottle"]) -> list[Document]:
    """Write bottles that were just put somewhere, each with what must not stand beside it there."""
    beside = placement.beside(db, bottles)
    return [held_document(one) | {"notes": [finding_document(f) for f in beside[one.code]]} for one in bottles]


def in_fields(said: str, request: Request) -> str:
    """Write a sentence as a program is told it: options by the names of the route's fields, no command to type."""
    route, names = request.scope.get("route"), set[str]()
    if isinstance(route, APIRoute):
        names |= {one.name for one in route.dependant.query_params}
        for one in route.dependant.body_params:
            names |= set(getattr(one.field_info.annotation, "model_fields", ()))

    def label(option: str) -> str:
        name = option.removeprefix("--").replace("-", "_")
        return f"“{next((one for one in (name, *_ELSE.get(name, ())) if one in names), name)}”"

    return as_said(said, label)
