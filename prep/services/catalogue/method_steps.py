"""Reads methods.csv: how each solution is made and each substance handled, step by step."""

from collections import defaultdict
from pathlib import Path

from prep.chemistry.model import MethodStep, Origin, StepKind, StepPlace
from prep.services.files.csv_file import Row, number, positive, read_rows, whole

METHOD_COLUMNS = "code order kind item from share temperature_c up_to_c minutes goes_into text source".split()


def read_methods(path: Path) -> dict[str, tuple[MethodStep, ...]]:
    """Read the steps of each solution and substance, in order; none where there is no such file. Raises PrepError."""
    out: dict[str, list[MethodStep]] = defaultdict(list)
    for row in read_rows(path, METHOD_COLUMNS, ("code", "order", "kind")) if path.exists() else ():
        steps = out[row.code("code")]
        if row.need("order", whole) != len(steps) + 1:
            raise row.wrong("order", "the steps of a method are numbered from 1.")
        steps.append(read_method_step(row))
    return {code: tuple(steps) for code, steps in out.items()}


def read_method_step(row: Row) -> MethodStep:
    """Read one row of methods.csv. Raises PrepError."""
    origins = row.list("from")
    for word in origins:
        if word not in list(Origin):
            raise row.wrong("from", f'"{word[:40]}" is not one of: {", ".join(Origin)}.')
    share = row.read("share", positive)
    if share is not None and share > 1:
        raise row.wrong("share", "this is a part of the volume, from 0 to 1.")
    return MethodStep(
        kind=StepKind(row.one_of("kind", [kind.value for kind in StepKind])),
        text=row.text("text"),
        item=row.text("item"),
        origins=tuple(Origin(word) for word in origins),
        share=share,
        temperature_c=row.read("temperature_c", number),
        minutes=row.read("minutes", whole) or 0,
        source=row.text("source"),
        goes_into=StepPlace(row.one_of("goes_into", list(StepPlace))) if row.text("goes_into") else None,
        up_to_c=row.read("up_to_c", number),
    )
