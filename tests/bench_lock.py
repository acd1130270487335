"""How long a job that has just begun holds the writers' lock: `stock use`, `receive`, `make --log`."""

import os
import subprocess
import sys
import tempfile
from pathlib import Path

_PROBE = """
import sys, time
from sqlalchemy import event
from sqlalchemy.engine import Engine
held = []
@event.listens_for(Engine, "after_cursor_execute")
def _began(connection, cursor, statement, *_):
    if statement.startswith("BEGIN IMMEDIATE"):
        held.append(time.perf_counter())
@event.listens_for(Engine, "commit")
def _done(connection):
    if connection.get_execution_options().get("write") and held:
        held[-1] = time.perf_counter() - held[-1]
from prep.cli.main import main
try:
    main(sys.argv[1:])
except SystemExit as stop:
    assert not stop.code, sys.argv
print(max((one for one in held if one < 1000), default=0), file=sys.stderr)
"""
JOBS = {
    "stock use": ("stock", "use", "{bottle}", "1 g"),
    "stock receive": ("stock", "receive", "sodium chloride", "500 g", "--at", "PREP"),
    "make --log": ("make", "nacl-0.1", "--volume", "500 mL", "--log", "--at", "PREP"),
}


MOST_MS = 10


def held() -> bool:
    """Print the milliseconds under the lock of each job, the least of three runs (others may be at work too)."""
    slow = False
    with tempfile.TemporaryDirectory() as folder:
        env = {**os.environ, "PREP_DATABASE_URL": f"sqlite:///{Path(folder) / 'inventory.db'}"}
        prep = [sys.executable, "-c", "from prep.cli.main import main; main()"]
        subprocess.run([*prep, "init"], env=env, check=True, capture_output=True)
        for _ in range(2):
            said = subprocess.run(
                [*prep, "stock", "receive", "sodium chloride", "5 kg", "--at", "PREP"],
                env=env,
                check=True,
                capture_output=True,
                text=True,
            ).stdout
        bottle = said.split()[0]
        for name, words in JOBS.items():
            line = [word.replace("{bottle}", bottle) for word in words]
            took = []
            for _ in range(3):
                done = subprocess.run(
                    [sys.executable, "-c", _PROBE, *line], env=env, check=True, capture_output=True, text=True
                )
                took.append(float(done.stderr.split()[-1]))
            slow = slow or 1000 * min(took) > MOST_MS
            print(f"{name}: {1000 * min(took):.1f} ms under the lock")
    return not slow
