"""What the subjects under /api share: the shapes of what is sent and answered, and what may go wrong."""

from typing import Annotated, Any

from fastapi import Path, Query
from pydantic import Field

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
