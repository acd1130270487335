"""`prep count signers`: who may take a signed count back, besides who signed it."""

from typing import Annotated

import typer

from prep.cli import common
from prep.errors import PrepError


@common.reads
def signers(
    names: Annotated[list[str] | None, typer.Argument(metavar="NAME...", help="Who may; none: say who.")] = None,
    nobody: Annotated[bool, typer.Option("--nobody", help="Nobody but who signed.")] = False,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Say who may take a signed count back, besides who signed it; with names, set it.

    Example: prep count signers "A. Hollis" "K. Ode"
    """
    from prep.services.stocktake import signing

    if names and nobody:
        raise PrepError("Give names or --nobody.")
    found = signing.set_signers(db, names or [], common.act(by)) if names or nobody else signing.signers(db)
    if as_json:
        common.show_json(found)
    else:
        others = ", ".join(found)
        common.tell(f"A signed count is taken back by who signed it{f', {others}' if others else ' alone'}.")
