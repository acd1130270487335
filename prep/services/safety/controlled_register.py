"""The school's list of controlled substances: what it holds of them, and what an order of one has to mind."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

from prep.books import JobKind
from prep.chemistry import quantities
from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import StrengthKind
from prep.errors import NotOnFile, PrepError
from prep.safety.controlled import ControlledContent, ControlledEntry, marks_of, starting_set
from prep.services.catalogue.names import find_alike
from prep.services.input.act import Act
from prep.services.input.checks import printable
from prep.services.inventory import session
from prep.services.safety.hazards import components_of
from prep.store import bottles, queries, table_rows
from prep.wording import AtTerminal, Flag

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from prep.store.bottles import HeldBottle

_KEY = "controlled"
_WHOLE = Decimal(100)


@dataclass(frozen=True, slots=True)
class RegisterLine:
    """One line of the list with its number, and the bottles that fall under it."""

    number: int
    listed: ControlledEntry
    bottles: tuple["HeldBottle", ...]


@dataclass(frozen=True, slots=True)
class ControlledRequest:
    """What a school puts on its list; `above` such as `12 % w/w`."""

    item: str
    act: str
    kind: str = ""
    above: str | None = None


def register(db: Path | None) -> tuple[RegisterLine, ...]:
    """List what is controlled with what is held of each, for the audit and for the record that an act asks for."""
    with session.reading(db) as connection:
        catalogue = queries.catalogue(connection)
        listed = of_school(table_rows.settings(connection))
        marks: dict[str, tuple[ControlledEntry, ...]] = {}
        held: dict[ControlledEntry, list[HeldBottle]] = {}
        for one in bottles.held(connection):
            if one.balance <= 0:
                continue
            if one.item not in marks:
                marks[one.item] = marks_of(contents_of(one.item, catalogue), listed)
            for mark in marks[one.item]:
                held.setdefault(mark, []).append(one)
        return tuple(RegisterLine(number, one, tuple(held.get(one, ()))) for number, one in enumerate(listed, 1))


def marks_for(db: Path | None, items: Sequence[str]) -> dict[str, tuple[ControlledEntry, ...]]:
    """Find the lines of the register that each of these items falls under; items under none are left out."""
    with session.reading(db) as connection:
        return marks_in(connection, items)


def marks_in(connection: "Connection", items: Sequence[str]) -> dict[str, tuple[ControlledEntry, ...]]:
    """Find the lines of the register as `marks_for`, in an open inventory."""
    catalogue, listed = queries.catalogue(connection), of_school(table_rows.settings(connection))
    found = {item: marks_of(contents_of(item, catalogue), listed) for item in dict.fromkeys(items)}
    return {item: marks for item, marks in found.items() if marks}


def contents_of(item: str, catalogue: Catalogue) -> tuple[ControlledContent, ...]:
    """List what an item holds [% w/w]: a substance as bought, or what a solution is made of."""
    one = catalogue.substances.get(item)
    if one is not None:
        return (ControlledContent(one.code, one.cas, one.assay_pct or _WHOLE, one.storage_group),)
    solution = catalogue.solutions.get(item)
    if solution is None:
        return ()
    inside = (
        ControlledContent(part.code, part.cas, part.pct, part.group) for part in components_of(solution, catalogue)
    )
    return (ControlledContent(item, "", _WHOLE), *inside)


def add(db: Path | None, asked: ControlledRequest, act: Act) -> RegisterLine:
    """Put an item on the school's list, as a job. Raises PrepError."""
    for label, text in ((Flag("--act"), asked.act), (Flag("--kind"), asked.kind)):
        printable(text, label=label)
    if not asked.act.strip():
        raise PrepError("Say which act names it: ", Flag("--act"), ' "Poisons Act 1972".')
    limit = quantities.strength(asked.above) if asked.above is not None else None
    if limit is not None and limit.kind is not StrengthKind.PCT_W_W:
        raise PrepError(Flag("--above"), ' is a percentage by mass, such as "12 % w/w".')

    def work(connection: "Connection") -> tuple[ControlledEntry, ...]:
        item = find_alike(asked.item, queries.catalogue(connection))
        cas = item.substance.cas if item.substance else ""
        new = ControlledEntry(
            item.name,
            (cas or item.code,),
            asked.kind.strip() or "listed by the school",
            asked.act.strip(),
            limit.value if limit else None,
            source="the school's own list",
        )
        known = of_school(table_rows.settings(connection))
        if any((new.about, new.act) == (one.about, one.act) for one in known):
            raise PrepError(
                f"{new.name} is on the list under that act", AtTerminal("; see: prep safety controlled list", ".")
            )
        return (*known, new)

    def post(connection: "Connection", lines: tuple[ControlledEntry, ...]) -> RegisterLine:
        new = lines[-1]
        _write(connection, lines, act, f"controlled list: {new.name} added ({new.act})")
        return RegisterLine(len(lines), new, ())

    return session.worked_out(db, work, post)


def remove(db: Path | None, number: int, act: Act) -> ControlledEntry:
    """Take a line off the school's list, by its number, as a job. Raises PrepError."""
    with session.writing(db) as connection:
        known = of_school(table_rows.settings(connection))
        if not 1 <= number <= len(known):
            raise NotOnFile(f"There is no line {number}", AtTerminal("; see: prep safety controlled list", "."))
        gone = known[number - 1]
        left = (*known[: number - 1], *known[number:])
        _write(connection, left, act, f"controlled list: {gone.name} removed ({gone.act})")
        return gone


def of_school(settings: Mapping[str, Any]) -> tuple[ControlledEntry, ...]:
    """Read a school's list of what is controlled: the starting set, less what it took off, and what it added."""
    own = settings.get(_KEY) or {}
    off = {(name, act) for name, act in own.get("off", ())}
    kept = tuple(one for one in starting_set() if (one.name, one.act) not in off)
    return (*kept, *(_read(line) for line in own.get("added", ())))


def _write(connection: "Connection", listed: Sequence[ControlledEntry], act: Act, said: str) -> None:
    from prep.store import ledger, seeding

    start = starting_set()
    off = [[one.name, one.act] for one in start if one not in listed]
    added = [
        {
            "name": one.name,
            "about": list(one.about),
            "kind": one.kind,
            "act": one.act,
            "above_pct": str(one.above_pct) if one.above_pct is not None else None,
        }
        for one in listed
        if one not in start
    ]
    seeding.set_settings(connection, {_KEY: {"off": off, "added": added} if off or added else None})
    ledger.begin(connection, JobKind.SETTINGS, act.by, act.on, said)


def _read(line: Mapping[str, Any]) -> ControlledEntry:
    above = line.get("above_pct")
    return ControlledEntry(
        str(line["name"]),
        tuple(map(str, line["about"])),
        str(line["kind"]),
        str(line["act"]),
        Decimal(above) if above else None,
        source="the school's own list",
    )
