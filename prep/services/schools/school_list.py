"""The list of a group's schools: each with its own URL, so that a group grows by servers."""

import json
import os
from contextlib import suppress
from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path

from prep.errors import NoInventory, NotOnFile, PrepError
from prep.resources import default_path
from prep.services.input.checks import printable
from prep.services.inventory import init, session
from prep.store.school import schemas
from prep.wording import AtTerminal, Flag

_LONGEST = 1_000_000  # of a list


@dataclass(frozen=True, slots=True)
class GroupSchool:
    """A school of the group. `url` is its server's database, or a SQLite file; on a server, `code` is its schema."""

    code: str
    name: str
    url: str

    @property
    def db(self) -> Path:
        """Its inventory, as a command's `--db` takes it. Raises PrepError."""
        if schemas.is_server(self.url):
            return Path(schemas.in_schema(self.url, self.code))
        file = self.url.removeprefix("sqlite:///")
        if not file or "://" in file or not file.isprintable():
            raise PrepError(
                Flag("--url"), f" {self.url[:60]!r}: accepted is postgresql://USER@HOST/DATABASE, or a file."
            )
        return Path(file)


def path_of(given: Path | None) -> Path:
    """Find the list of schools: the file given, else PREP_SCHOOLS, else beside the user's own inventory."""
    if given is not None:
        return given
    named = os.environ.get("PREP_SCHOOLS")
    return Path(named) if named else default_path().with_name("schools.json")


def read(given: Path | None) -> list[GroupSchool]:
    """Read the schools of the list, by their codes. Raises PrepError."""
    path = path_of(given)
    try:
        with path.open(encoding="utf-8") as file:
            rows = json.loads(file.read(_LONGEST))
        schools = [GroupSchool(row["code"], row["name"], row["url"]) for row in rows]
    except FileNotFoundError:
        return []
    except (OSError, ValueError, KeyError, TypeError):
        raise PrepError(
            f"{path}: this is no list of schools; make one", AtTerminal(" with: prep schools add")
        ) from None
    return sorted(schools, key=lambda one: one.code)


def one(given: Path | None, code: str) -> GroupSchool:
    """Find the school of a code. Raises PrepError."""
    schools = read(given)
    for school in schools:
        if school.code == code.strip().lower():
            return school
    known = ", ".join(school.code for school in schools) or "none"
    raise NotOnFile(f'There is no school "{code[:40]}" on the list; there are: {known}.')


def add(given: Path | None, school: GroupSchool, by: str, today: date) -> bool:
    """Put a school on the list, with an inventory of its own: its schema, calendar, places and codes.

    Returns whether the inventory is new; one that is there already joins the group. Raises PrepError.
    """
    printable(school.name, 80, Flag("--name"))
    schools = read(given)
    if any(other.code == school.code for other in schools):
        raise PrepError(f'"{school.code}" is on the list already.')
    if not schemas.NAMED.fullmatch(school.code):
        raise PrepError(f'"{school.code[:40]}" is no code of a school: small letters, figures and _, such as north.')
    if any(other.db == school.db for other in schools):
        raise PrepError(f"{school.url}: another school of the list has this inventory.")
    if schemas.is_server(school.url):
        schemas.make(school.url, school.code)
    made = not _is_there(school)
    if made:
        init.init(school.db, by, today, None, school.name)
    _write(path_of(given), [*schools, school])
    return made


def _is_there(school: GroupSchool) -> bool:
    try:
        with session.reading(school.db):
            return True
    except NoInventory:
        return False


def _write(path: Path, schools: list[GroupSchool]) -> None:
    """Write the list whole or not at all, for its owner alone: a URL may hold a password."""
    content = json.dumps([asdict(one) for one in sorted(schools, key=lambda s: s.code)], indent=1, ensure_ascii=False)
    try:
        if path.exists() and not path.is_file():
            raise PrepError(f"{path}: is no file; name a file for the list of schools.")
        part = path.with_name(f".{path.name}.{os.getpid()}.part")
        path.parent.mkdir(parents=True, exist_ok=True)
        with open(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w", encoding="utf-8") as file:
            file.write(content + "\n")
        part.replace(path)
    except (OSError, ValueError) as problem:
        with suppress(OSError, ValueError):
            path.with_name(f".{path.name}.{os.getpid()}.part").unlink()
        why = getattr(problem, "strerror", None) or "that is no name for a file"
        raise PrepError(f"{path}: the list cannot be written ({why}).") from None
