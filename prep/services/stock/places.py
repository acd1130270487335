"""Where bottles stand: the locations, in the order in which a person walks them. None is guessed for a bottle."""

import re
from collections.abc import Iterable, Mapping
from difflib import SequenceMatcher
from pathlib import Path
from typing import TYPE_CHECKING

from prep.books import BottleStatus, JobKind
from prep.chemistry import spelling
from prep.errors import PrepError, SeveralFit
from prep.services.input.act import Act
from prep.services.input.checks import printable, within
from prep.services.inventory import session
from prep.store import ledger, seeding, table_rows
from prep.store.bottles import held, places_of_strengths
from prep.store.school.places import all_places, change
from prep.wording import AtTerminal, Flag

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from prep.store.bottles import HeldBottle

_SLIP = 0.8
"""How alike two names are of which one is a slip of the other: common practice, no source."""
_FEW = 6
"""Places that are listed with their names; of more, the codes."""


def list_places(db: Path | None) -> dict[str, str]:
    """Read the name of every location by its code, in walking order."""
    with session.reading(db) as connection:
        return all_places(connection)


_LAST = 99
"""The turn in the walk of a place of which none is said."""


def add_place(db: Path | None, code: str, name: str, order: int | None, act: Act) -> None:
    """Add a location, as a job. Raises PrepError if the code is taken."""
    if not code or " " in code:
        raise PrepError("A location's code is short and without blanks, such as ACID.")
    printable(code, 24, "A location's code")
    _checked(name, order)
    with session.writing(db) as connection:
        if (there := all_places(connection).get(code)) is not None:
            raise PrepError(
                f"The location {code} ({there}) is there already; ", Flag("--rename"), " gives it another name."
            )

        ledger.begin(connection, JobKind.SETTINGS, act.by, act.on, f"place {code}: {name or code}"[:200])
        seeding.put_locations(connection, [(code, name or code, _LAST if order is None else order, "")])


def rename_place(db: Path | None, place: str, name: str, order: int | None, act: Act) -> None:
    """Give a location another name, and another turn in the walk where one is said, as a job. Raises PrepError."""
    if not name:
        raise PrepError(
            "Say what it is called now, such as", AtTerminal(': prep stock place COLD "Cold room" --rename')
        )
    _checked(name, order)
    with session.writing(db) as connection:
        places = all_places(connection)
        code = place_named(places, place)
        ledger.begin(connection, JobKind.SETTINGS, act.by, act.on, f"place {code}: {places[code]}, now {name}"[:200])
        change(connection, code, name, order)


def _checked(name: str, order: int | None) -> None:
    printable(name, 80, "A location's name")
    if order is not None:
        within(order, 0, 10_000, Flag("--order"))


def place_in(connection: "Connection", location: str) -> str:
    """Find the location of a code or name. Raises PrepError."""
    return place_named(all_places(connection), location)


def place_for(connection: "Connection", item: str, name: str, location: str | None, usual: str = "") -> str:
    """Choose the place named; else the only one where the item stands, else the usual or the only one there is.

    `usual` is the setting that names the usual one. A solution whose other strengths all stand at one place goes
    there instead: a dilute acid to the dilute acids.
    Raises PrepError listing the places where there is none to take.
    """
    places = all_places(connection)
    if location is not None:
        return place_named(places, location)
    stands = {one.location for one in held(connection, item=item) if holds(one)}
    if len(stands) != 1 and usual and (place := table_rows.settings(connection).get(usual)) in places:
        beside = places_of_strengths(connection, item) if not stands else set()
        return beside.pop() if len(beside) == 1 else str(place)
    try:
        return only(places, name, stands, Flag("--at"))
    except PrepError as problem:
        if not usual or not places:
            raise
        raise PrepError(
            problem.sentence,
            " ",
            AtTerminal(
                "Where such things usually go is set once: prep usual --help",
                "The office sets where such things usually go, under Settings.",
            ),
        ) from None


def usual_place(db: Path | None, item: str, usual: str) -> str:
    """Find the place at which an item is put where none is named, its name; empty where one must be named."""
    with session.reading(db) as connection:
        try:
            found = place_for(connection, item, item, None, usual)
        except PrepError:
            return ""
        return all_places(connection)[found]


def only(places: Mapping[str, str], name: str, stands: Iterable[str], where: str) -> str:
    """Choose the only place there is, or where the item stands; `where` tells how to name one. Raises PrepError."""
    if not places:
        raise PrepError("There is no location yet; add one", AtTerminal(" with: prep stock place CODE NAME"))
    there = sorted(set(stands))
    if len(places) == 1 or len(there) == 1:
        return there[0] if len(there) == 1 else next(iter(places))
    few = len(places) <= _FEW
    known = ", ".join(f"{code} ({name_})" if few and name_ != code else code for code, name_ in places.items())
    at = f"it stands at {' and '.join(there)}; there are" if there else "one of"
    raise PrepError("Say with ", where, f" where {name} is put", AtTerminal(f": {at} {known}"), ".")


def holds(held: "HeldBottle") -> bool:
    """Tell whether a bottle stands on its shelf with something in it."""
    return held.balance > 0 and held.status != BottleStatus.DISCARDED


def _alike(said: str, known: str) -> bool:
    """Tell whether a place is likely meant: a slip in a few letters; another number is another shelf."""
    one, other = spelling.key(said), spelling.key(known)
    numbered = [re.findall(r"\d+", text) for text in (one, other)]
    return numbered[0] == numbered[1] and SequenceMatcher(None, one, other).ratio() >= _SLIP


def place_named(places: Mapping[str, str], said: str) -> str:
    """Find the code of a place by code or name, of `places` by code. Raises PrepError."""
    if said in places:
        return said
    found = [code for code, name in places.items() if spelling.key(said) in (spelling.key(code), spelling.key(name))]
    if len(found) == 1:
        return found[0]
    if len(close := [code for code, name in places.items() if _alike(said, code) or _alike(said, name)]) == 1:
        code = close[0]
        raise PrepError(f'"{said[:40]}" is no location; is it {code} ({places[code]})?')
    which = ", ".join(found or places)
    if found:
        raise SeveralFit(f'"{said[:40]}" may be {which}; give one of these codes.')
    adds = AtTerminal(" (prep stock place CODE NAME adds one)")
    raise PrepError(f'"{said[:40]}" is no location; there are {which}', adds, ".")
