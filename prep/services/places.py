"""Where bottles stand: the locations, in the order in which a person walks them."""

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from prep.chemistry import naming
from prep.errors import PrepError
from prep.services import session
from prep.services.door import printable, within

if TYPE_CHECKING:
    from sqlalchemy import Connection


def list_places(db: Path | None) -> list[tuple[str, str]]:
    """Locations in walking order: (code, name)."""
    with session.reading(db) as connection:
        return all_places(connection)


def add_place(db: Path | None, code: str, name: str, order: int) -> None:
    """Add a location. Raises PrepError if the code is taken."""
    if not code or " " in code:
        raise PrepError("A location's code is short and without blanks, such as ACID.")
    printable(code, 24, "A location's code")
    printable(name, 80, "A location's name")
    within(order, 0, 10_000, "--order")
    with session.writing(db) as connection:
        if code in dict(all_places(connection)):
            raise PrepError(f"The location {code} is there already.")
        from prep.store import seeding

        seeding.put_locations(connection, [(code, name or code, order, "")])


def all_places(connection: "Connection") -> list[tuple[str, str]]:
    """Every location of an open inventory, in walking order: (code, name)."""
    from sqlalchemy import select

    from prep.store.queries import table
    from prep.store.tables import LocationRow

    rows = table(LocationRow)
    query = select(rows.c.code, rows.c.name).order_by(rows.c.walk_order, rows.c.code)
    return [(code, name) for code, name in connection.execute(query)]


def place_or_first(connection: "Connection", location: str | None) -> str:
    """The location of that code or name, or the first in walking order. Raises PrepError."""
    known = all_places(connection)
    if location is None:
        if not known:
            raise PrepError("There is no location yet; add one with: prep stock place CODE NAME")
        return known[0][0]
    return place_named(dict(known), location)


def place_named(places: Mapping[str, str], said: str) -> str:
    """The code of the place of that code or name, of `places` by code. Raises PrepError."""
    if said in places:
        return said
    found = [code for code, name in places.items() if naming.key(said) in (naming.key(code), naming.key(name))]
    if len(found) == 1:
        return found[0]
    which = ", ".join(found or places)
    raise PrepError(
        f'"{said[:40]}" may be {which}; give one of these codes.'
        if found
        else f'"{said[:40]}" is no location; there are {which} (prep stock place CODE NAME adds one).'
    )
