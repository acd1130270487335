"""What the commands about bottles share: the bottle, and why."""

from typing import Annotated

import typer

Bottle = Annotated[str, typer.Argument(help="The code on its label.")]
Reason = Annotated[str, typer.Option("--reason", help="Why, for the ledger.")]
