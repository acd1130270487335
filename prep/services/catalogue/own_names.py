"""A school's own names for the substances on file."""

from pathlib import Path
from typing import TYPE_CHECKING

from prep.books import JobKind
from prep.chemistry import spelling
from prep.chemistry.catalogue import Item
from prep.errors import PrepError
from prep.services.catalogue.names import candidates, find_item
from prep.services.input.act import Act
from prep.services.input.checks import printable
from prep.services.inventory import session
from prep.store import ledger, queries, seeding

if TYPE_CHECKING:
    from sqlalchemy import Connection


def add_name(db: Path | None, substance: str, name: str, act: Act) -> Item:
    """Let a substance be found under one more name, as a job of the history. Raises PrepError.

    A name that already means another substance or solution is refused.
    """
    called = printable(name.strip(), 80, "a name")
    if not spelling.key(called) or ";" in called:
        raise PrepError(f'"{name[:40]}" is no name; it has letters or figures, and no semicolon.')

    def work(connection: "Connection") -> Item:
        catalogue = queries.catalogue(connection)
        found = find_item(substance, catalogue, only="substance")
        meant = candidates(called, catalogue)
        if meant and {one.code for one in meant} == {found.code}:
            raise PrepError(f'"{called}" means {found.name} ({found.code}) already.')
        if meant and not all(one.substance and one.substance.solute == _solute(found) for one in meant):
            raise PrepError(f'"{called}" is already {meant[0].name} ({meant[0].code}); give another name.')
        return found

    def post(connection: "Connection", found: Item) -> Item:
        assert found.substance is not None
        seeding.set_other_names(connection, found.code, (*found.substance.other_names, called))
        ledger.begin(
            connection, JobKind.SETTINGS, act.by, act.on, f'substance {found.code} is called "{called}" too'[:200]
        )
        return found

    return session.worked_out(db, work, post)


def _solute(item: Item) -> str:
    return item.substance.solute if item.substance else ""
