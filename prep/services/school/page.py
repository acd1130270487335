"""The school's page: its address, which the labels' codes carry, and its name."""

from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from prep.books import JobKind
from prep.errors import PrepError
from prep.services.input.act import Act
from prep.services.input.checks import printable
from prep.services.inventory import session
from prep.store import table_rows

if TYPE_CHECKING:
    from collections.abc import Mapping

ADDRESS = "page_address"


def school_of(db: Path | None) -> str:
    """Read the school's name."""
    with session.reading(db) as connection:
        return str(table_rows.settings(connection).get("school", ""))


def address_of(db: Path | None) -> str:
    """Read the address of the school's page, such as `https://prep.school.example`; empty where it is not set."""
    with session.reading(db) as connection:
        return str(table_rows.settings(connection).get(ADDRESS, ""))


def host_of(db: Path | None) -> str:
    """Read the host in the address of the school's page."""
    return (urlsplit(address_of(db)).hostname or "").lower()


def bottle_link(settings: "Mapping[str, object]", bottle: str) -> str:
    """Write the address of a bottle's page; empty where the school has set none."""
    address = str(settings.get(ADDRESS, "") or "")
    return f"{address}/b/{bottle}" if address else ""


def set_page(db: Path | None, school: str, address: str, act: Act) -> None:
    """Set the school's name and its page's address; who did stands in the history. Raises PrepError."""
    from prep.store import ledger, seeding, table_rows

    name = printable(school.strip(), 80, "The school's name")
    wanted = _address(address.strip().rstrip("/"))
    with session.writing(db) as connection:
        before = table_rows.settings(connection)
        after: dict[str, object] = {"school": name, ADDRESS: wanted or None}
        changed = {key: value for key, value in after.items() if (before.get(key) or None) != (value or None)}
        seeding.set_settings(connection, changed)
        if changed:
            old = {key: before.get(key) or "none" for key in changed}
            said = "; ".join(f"{k.replace('_', ' ')} {old[k]} -> {v or 'none'}" for k, v in changed.items())
            ledger.begin(connection, JobKind.SETTINGS, act.by, act.on, f"page: {said}")


def _address(text: str) -> str:
    if not text:
        return ""
    parts = urlsplit(printable(text, 120, "The page's address"))
    if parts.scheme in ("http", "https") and parts.hostname and parts.path:
        raise PrepError(
            f'"{text[:60]}" is below a path of another site; the page has a host name of its own, such as '
            f"{parts.scheme}://{parts.netloc.rpartition('@')[2][:60]}"
        )
    if parts.scheme not in ("http", "https") or not parts.hostname or parts.path or parts.query or parts.username:
        raise PrepError(f'"{text[:60]}" is no page\'s address; write it as https://prep.school.example')
    return text
