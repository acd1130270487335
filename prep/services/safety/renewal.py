"""Brings the hazards of an inventory made earlier to the table of this version; never over what a school verified."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from prep.books import JobKind
from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import Substance
from prep.errors import PrepError
from prep.resources import seed_data
from prep.safety.clp.parse import classes_of
from prep.safety.model import SheetCheck
from prep.services.catalogue.names import find_alike
from prep.services.input.act import Act
from prep.services.inventory import session
from prep.store import queries
from prep.store.audit import sheet_checks
from prep.wording import AtTerminal

if TYPE_CHECKING:
    from sqlalchemy import Connection

_SHIPPED = (
    "Regulation (EC) No 1272/2008",
    "from memory:",
    "not classified:",
    "not harmonised;",
    "registrants",
    "computed",
)
"""How a source begins that came with some version of the table."""


@dataclass(frozen=True, slots=True)
class Renewal:
    """What a substance is on file as, what the table of this version says, and why it is left, if it is."""

    code: str
    name: str
    was: str
    now: str
    source: str
    kept_for: str = ""


def renewals(db: Path | None, items: Sequence[str] = ()) -> list[Renewal]:
    """Find the substances whose classes differ from this version's table. Raises PrepError for an unknown item."""
    with session.reading(db) as connection:
        catalogue = queries.catalogue(connection)
        return [one.renewal for one in _compared(catalogue, sheet_checks.latest(connection), items)]


def renew(db: Path | None, items: Sequence[str], act: Act) -> list[Renewal]:
    """Write the classes of this version's table, as one job; what is kept stays. Raises PrepError: nothing to do."""
    from prep.store import ledger, queries, seeding

    def work(connection: "Connection") -> list[_Renewed]:
        catalogue = queries.catalogue(connection)
        found = _compared(catalogue, sheet_checks.latest(connection), items)
        changed = [one for one in found if not one.renewal.kept_for]
        if not changed:
            raise PrepError("Nothing is to be renewed", AtTerminal("; see: prep safety renew", "."))
        return changed

    def post(connection: "Connection", changed: list[_Renewed]) -> list[Renewal]:
        seeding.set_hazards(connection, [one.substance for one in changed])
        said = f"hazards of {len(changed)} substances renewed: {', '.join(one.substance.code for one in changed)}"
        ledger.begin(connection, JobKind.CATALOGUE, act.by, act.on, said[:200])
        return [one.renewal for one in changed]

    return session.worked_out(db, work, post)


@dataclass(frozen=True, slots=True)
class _Renewed:
    """What is renewed of a substance, and the substance with the new classes."""

    renewal: Renewal
    substance: Substance


def _compared(catalogue: Catalogue, checks: dict[str, SheetCheck], items: Sequence[str]) -> list[_Renewed]:
    from prep.services.catalogue.seed import read_catalogue

    shipped = read_catalogue(seed_data()).substances
    asked = [find_alike(item, catalogue).code for item in items] or sorted(catalogue.substances)
    found = []
    for code in dict.fromkeys(asked):
        own, new = catalogue.substances.get(code), shipped.get(code)
        if own is None or new is None or own.cas != new.cas or _alike(own, new):
            continue
        source = new.sources.get("hazard", "")
        kept = _left_because(own, checks.get(code))
        one = Renewal(
            code, own.name, own.classification or "not known", new.classification or "not known", source, kept
        )
        written = replace(
            own,
            classification=new.classification,
            supplemental=new.supplemental,
            sources=own.sources | {"hazard": source},
        )
        found.append(_Renewed(one, written))
    return found


def _alike(own: Substance, new: Substance) -> bool:
    try:
        mine = set(classes_of(own.classification))
    except PrepError:
        return False
    return mine == set(classes_of(new.classification)) and bool(own.classification) == bool(new.classification)


def _left_because(own: Substance, check: SheetCheck | None) -> str:
    """Tell why a row is the school's own: verified on a data sheet, or recorded with a source of its own."""
    if check is not None and check.classification == own.classification:
        return f"verified on the {check.source}"
    source = own.sources.get("hazard", "")
    if source and not source.startswith(_SHIPPED):
        return f"recorded by the school: {source}"
    return ""
