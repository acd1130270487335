"""What a SQLite file allows: whether it may be written, whether it lies on a network share, whether it is ours."""

import os
import sqlite3
import stat
import sys
from functools import cache
from pathlib import Path

SHARES = frozenset({"nfs", "nfs4", "cifs", "smb3", "smbfs", "fuse.sshfs", "9p", "afs", "ncpfs", "davfs", "fuse.davfs2"})
"""File systems of a server, as Linux calls them."""
TOLD = (
    "it lies on a network share: several people at once are safe only where the share's locks are; a PostgreSQL "
    "server, or one computer that serves the page, is the sure way"
)


def is_writable(path: Path) -> bool:
    """Tell whether this user may write to a file, or make it."""
    if not path.exists():
        return True
    return os.access(path, os.W_OK) and os.access(path.absolute().parent, os.W_OK)


def mode_of_copy(path: Path) -> int:
    """Find the rights of a copy: as private as what it is a copy of, and its owner's to write."""
    return stat.S_IMODE(path.stat().st_mode) | stat.S_IRUSR | stat.S_IWUSR


def open_to_read(path: Path, timeout: float) -> sqlite3.Connection:
    """Open a file that may only be read; what others write at this moment is seen where they have it open."""
    alone = "" if path.with_name(path.name + "-wal").exists() else "&immutable=1"
    uri = f"{path.absolute().as_uri()}?mode=ro{alone}"
    return sqlite3.connect(uri, uri=True, timeout=timeout, check_same_thread=False)


def is_foreign(cursor: sqlite3.Cursor) -> bool:
    """Tell whether a database holds tables and none of them ours."""
    names = {row[0] for row in cursor.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
    return bool(names) and "alembic_version" not in names


@cache
def is_on_network(path: Path) -> bool:
    """Tell whether a file lies on another computer's disk. False where the system does not say."""
    if sys.platform == "win32":
        return _windows_share(path.absolute())
    try:
        lines = Path("/proc/self/mountinfo").read_text(encoding="utf-8").splitlines()
    except OSError:
        return False
    where, kind = "", ""
    inside = str(path.absolute().parent.resolve())
    for line in lines:
        left, _, right = line.partition(" - ")
        mount = left.split()[4]
        if (inside == mount or inside.startswith(mount.rstrip("/") + "/")) and len(mount) >= len(where):
            where, kind = mount, right.split()[0]
    return kind in SHARES


def _windows_share(path: Path) -> bool:
    """Tell whether a path is on a Windows share: by its name, or by a drive letter that stands for one."""
    if str(path).startswith("\\\\"):
        return True
    import ctypes

    remote = 4  # DRIVE_REMOTE
    drives = getattr(ctypes, "windll").kernel32  # noqa: B009  only Windows has it
    return bool(drives.GetDriveTypeW(path.anchor) == remote)
