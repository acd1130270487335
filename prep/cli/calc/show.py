"""An answer of the calculator, on the screen or as JSON."""

from typing import TYPE_CHECKING

import typer

from prep.cli import common

if TYPE_CHECKING:
    from prep.services.calc.arithmetic import Answer


def show(answer: "Answer", as_json: bool) -> None:
    """An answer with its working, as sentences or as one document."""
    if as_json:
        working = [{"text": line.text} | ({"source": line.source} if line.source else {}) for line in answer.working]
        common.show_json({**answer.document, "working": working})
        return
    for sentence in answer.says:
        typer.echo(sentence)
    typer.echo("\nWorking:")
    for line in answer.working:
        typer.echo(f"  {line.text}")
        if line.source:
            typer.echo(f"    [{line.source}]")
