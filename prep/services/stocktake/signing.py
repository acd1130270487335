"""Who may take a signed count back, besides who signed it."""

from collections.abc import Sequence
from pathlib import Path

from prep.books import JobKind
from prep.services.input.act import Act
from prep.services.input.checks import printable
from prep.services.inventory import session
from prep.store import ledger, seeding, table_rows

MAY_REOPEN = "may_reopen_counts"


def signers(db: Path | None) -> list[str]:
    """List who may take any signed count back."""
    with session.reading(db) as connection:
        return list(table_rows.settings(connection).get(MAY_REOPEN, []))


def set_signers(db: Path | None, names: Sequence[str], act: Act) -> list[str]:
    """Set who may take a signed count back, as a job of the settings. Raises PrepError for no name."""
    wanted = sorted({printable(name.strip(), 80, "NAME") for name in names if name.strip()})
    with session.writing(db) as connection:
        note = f"signed counts are taken back by: {', '.join(wanted) or 'who signed alone'}"
        ledger.begin(connection, JobKind.SETTINGS, act.by, act.on, note[:200])
        seeding.set_settings(connection, {MAY_REOPEN: wanted or None})
    return wanted
