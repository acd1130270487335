"""Draft a migration from the tables: `python -m tests.new_migration "what changes"`. Read it before use."""

import sys
import tempfile
from pathlib import Path

from prep.resources import migrations
from prep.store.database import open_engine
from prep.store.migrate import HEAD
from tests.databases import create_tables


def main(message: str) -> None:
    """Compare a database at HEAD with the tables and write migrations/versions/NNNN_*.py."""
    from alembic import command
    from alembic.config import Config

    with tempfile.TemporaryDirectory() as folder:
        engine = open_engine(f"sqlite:///{Path(folder) / 'now.db'}")
        create_tables(engine)
        config = Config()
        config.set_main_option("script_location", str(migrations()).replace("%", "%%"))
        with engine.connect() as connection:
            config.attributes["connection"] = connection
            command.revision(config, message, autogenerate=True, rev_id=f"{int(HEAD) + 1:04d}")


if __name__ == "__main__":
    main(sys.argv[1])
