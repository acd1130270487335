"""Where files are: those shipped beside the code, in a checkout or an installed wheel, and the person's inventory."""

import csv
import os
import re
import sys
from functools import cache
from pathlib import Path

from prep.errors import PrepError
from prep.wording import Flag

_PACKAGE = Path(__file__).resolve().parent


def seed_data() -> Path:
    """Find the folder of the editable facts (substances, solutions, demos, tables) and the invented school."""
    return _shipped("_seed_data", "seed_data")


@cache
def seed_table(name: str) -> tuple[dict[str, str], ...]:
    """Read the rows of seed_data/tables/<name>.csv in their order; once."""
    with (seed_data() / "tables" / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        lines = csv.reader(file)  # a reader of dicts takes three times as long, and every command waits for it
        header = next(lines)
        return tuple(dict(zip(header, line, strict=True)) for line in lines if line)


def migrations() -> Path:
    """Find the folder of the Alembic environment."""
    return _shipped("_migrations", "migrations")


def _shipped(in_wheel: str, in_checkout: str) -> Path:
    installed = _PACKAGE / in_wheel
    return installed if installed.is_dir() else _PACKAGE.parent / in_checkout


def default_path() -> Path:
    """Find the user's own inventory file, in the place where their system keeps such data."""
    if sys.platform == "win32":
        base = Path(os.environ.get("APPDATA") or Path.home() / "AppData" / "Roaming")
    elif sys.platform == "darwin":
        base = Path.home() / "Library" / "Application Support"
    else:
        base = Path(os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share")
    return base / "prep" / "inventory.db"


_URL = re.compile(r"^([a-z][a-z0-9]{2,})(\+[a-z0-9_]+)?:[/\\]+(.*)$")


def url_of(path: Path | None) -> str:
    """Choose the database to use: the path given, else PREP_DATABASE_URL, else the user's own file."""
    if path is not None:
        if found := _URL.match(str(path)):
            if found[1] == "sqlite":
                raise PrepError(
                    Flag("--db"), " takes the file itself, not its URL, such as ", Flag("--db"), " inventory.db"
                )
            return f"{found[1]}{found[2] or ''}://{found[3]}"  # Path() made one stroke of the two
        return f"sqlite:///{path}"
    return os.environ.get("PREP_DATABASE_URL") or f"sqlite:///{default_path()}"


def file_of(url: str) -> Path | None:
    """Find the file behind a SQLite URL; None for other databases and for memory."""
    path = url.removeprefix("sqlite:///")
    return Path(path) if path != url and path not in ("", ":memory:") else None


def refuse_no_file(path: Path) -> None:
    """Refuse what is there under a file's name and is a folder, a device or a pipe. Raises PrepError."""
    if path.exists() and not path.is_file():
        what = "a folder" if path.is_dir() else "a device or a pipe"
        raise PrepError(f"{path}: this is {what}, and no file; name the file of an inventory.")


def copied_from(path: Path) -> Path:
    """Check that a path is a file that can be read to its end, and give it back. Raises PrepError."""
    if not path.exists():
        raise PrepError(f"{path}: there is no such file.")
    refuse_no_file(path)
    return path
