"""The one way to a file: whole or not at all, and several together or none of them."""

import contextlib
import os
from collections.abc import Sequence
from pathlib import Path

from prep.errors import PrepError
from prep.records import record


@record(frozen=True, slots=True)
class OutputFile:
    """A file to be written, and what goes into it."""

    path: Path
    content: bytes


def write_file(path: Path, content: bytes) -> None:
    """Write a file whole or not at all: a failure leaves the older file as it was. Raises PrepError."""
    write_files([OutputFile(path, content)])


def write_files(files: Sequence[OutputFile]) -> None:
    """Write several files, each first beside its place: where one cannot be written, none is. Raises PrepError."""
    beside: dict[Path, Path] = {}
    at = Path()
    try:
        for one in files:
            at, content = one.path, one.content
            if at.name == "-":
                raise PrepError('"-" is no file; name one, or leave the option out to see it on the screen.')
            if at.exists() and not at.is_file() and not at.is_dir():
                at.write_bytes(content)  # a device or a pipe cannot be replaced whole
                continue
            if _is_database(at):
                raise PrepError(f"{at}: is a database, and is not written over; name another file.")
            if at.is_dir() or at in beside.values():
                raise PrepError(f"{at}: {'is a folder' if at.is_dir() else 'is named twice'}; name a file of its own.")
            part = at.with_name(f".{at.name}.{os.getpid()}.part")
            with part.open("xb") as file:  # fails on a file that is there: it may be another's
                beside[part] = at
                file.write(content)
        for part, at in beside.items():
            part.replace(at)
    except (OSError, ValueError) as problem:
        why = getattr(problem, "strerror", None) or "that is no name for a file"
        raise PrepError(f"{at}: cannot be written ({why}); name a file in a folder you may write to.") from None
    finally:
        for part in beside:
            with contextlib.suppress(OSError, ValueError):
                part.unlink()


def _is_database(path: Path) -> bool:
    """Tell whether a file is an inventory, or any other SQLite file."""
    if not path.is_file():
        return False
    with path.open("rb") as file:
        return file.read(16) == b"SQLite format 3\0"


def make_folder(folder: Path) -> None:
    """Make a folder if it is not there. Raises PrepError."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as problem:
        why = getattr(problem, "strerror", None) or "that is no name for a folder"
        raise PrepError(f"{folder}: the folder cannot be made ({why}).") from None
