"""While a job holds the writers' lock, nothing is imported: others would wait for it."""

import os
import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest

from prep.services.inventory import init
from prep.services.stock import changes, waste_bottles
from tests.days import act

BEFORE = date(2024, 9, 2)

PROBE = """
import sys
from sqlalchemy import event
from sqlalchemy.engine import Engine
begun = []
@event.listens_for(Engine, "after_cursor_execute")
def _began(connection, cursor, statement, *_):
    if statement.startswith("BEGIN IMMEDIATE"):
        begun.append(set(sys.modules))
@event.listens_for(Engine, "commit")
def _done(connection):
    if connection.get_execution_options().get("write"):
        print("imported:", sorted(set(sys.modules) - begun.pop()), file=sys.stderr)
from prep.cli.main import main
main(sys.argv[1:])
"""


@pytest.mark.parametrize(
    "line",
    [
        ("stock", "use", "{code}", "1 g"),
        ("stock", "receive", "urea", "500 g", "--at", "PREP"),
        ("make", "nacl-0.1", "--volume", "500 mL", "--log", "--at", "PREP"),
        ("waste", "put", "W1", "10 mL", "--what", "residues"),
    ],
    ids=lambda line: " ".join(line[:2]),
)
def test_nothing_is_imported_under_the_lock(tmp_path: Path, line: tuple[str, ...]) -> None:
    path = tmp_path / "a.db"
    init.init(path, "Ada", BEFORE, None, "Wendlemoor School")
    code = changes.receive(path, changes.Receipt("sodium-chloride", "500 g", 1), act("Ada", BEFORE))[0].code
    if line[0] == "waste":
        waste_bottles.new(path, "heavy metals", "1 L", "PREP", act("Ada", BEFORE))
    words = [word.replace("{code}", code) for word in line]
    done = subprocess.run(
        [sys.executable, "-c", PROBE, *words, "--by", "Ada"],
        env={**os.environ, "PREP_DATABASE_URL": f"sqlite:///{path}"},
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    assert "imported: []" in done.stderr.splitlines()[-1]
