"""Where the files shipped beside the code are, in a checkout and in an installed wheel."""

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def seed_data() -> Path:
    """Folder of the editable facts (substances, solutions, demos, tables) and the invented school."""
    return _shipped("_seed_data", "seed_data")


def migrations() -> Path:
    """Folder of the Alembic environment."""
    return _shipped("_migrations", "migrations")


def _shipped(in_wheel: str, in_checkout: str) -> Path:
    installed = _PACKAGE / in_wheel
    return installed if installed.is_dir() else _PACKAGE.parent / in_checkout
