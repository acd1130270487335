"""How long a job holds the writers' lock, as a command: `stock use`, `receive`, `make --log`."""

import os
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.bench_store import inventory

_PROBE = """
import sys, time
from sqlalchemy import event
from sqlalchemy.engine import Engine
held = []
@event.listens_for(Engine, "after_cursor_execute")
def _began(connection, cursor, statement, *_):
    if statement.startswith("BEGIN IMMEDIATE"):
        held.append((time.perf_counter(), time.process_time()))
@event.listens_for(Engine, "commit")
def _done(connection):
    if connection.get_execution_options().get("write") and held:
        clock, work = held.pop()
        print(time.perf_counter() - clock, time.process_time() - work, file=sys.stderr)
from prep.cli.main import main
try:
    main(sys.argv[1:])
except SystemExit as stop:
    assert not stop.code, sys.argv
"""
JOBS = {
    "stock use": ("stock", "use", "Z00001", "0.001 {unit}"),
    "stock receive": ("stock", "receive", "sodium chloride", "500 g", "--at", "PREP"),
    "make --log": ("make", "nacl-0.1", "--volume", "500 mL", "--log", "--at", "PREP"),
}
SIZES = ((10_000, 1000), (1_000_000, 20_000))
"""(movements, bottles) of the inventories."""
MOST_MS = 10
RUNS = 5


def held() -> bool:
    """Print the milliseconds under the lock of each job, the least of its runs: others may be at work too."""
    slow = False
    for movements, bottles in SIZES:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "inventory.db"
            inventory(path, movements, bottles=bottles)
            env = {**os.environ, "PREP_DATABASE_URL": f"sqlite:///{path}"}
            for name, words in JOBS.items():
                line = [word.replace("{unit}", _unit(path)) for word in words]
                took = [_one(line, env) for _ in range(RUNS)]
                clock, work = (1000 * min(column) for column in zip(*took, strict=True))
                slow = slow or clock > MOST_MS
                print(
                    f"{name:<14} {movements:>9} movements  {clock:6.1f} ms under the lock, {work:5.1f} ms of work  "
                    f"limit {MOST_MS}  {'ok' if clock <= MOST_MS else 'OVER'}"
                )
    return not slow


def _one(line: list[str], env: dict[str, str]) -> tuple[float, float]:
    """Seconds under the lock by the clock and of this process's own work."""
    done = subprocess.run([sys.executable, "-c", _PROBE, *line], env=env, check=True, capture_output=True, text=True)
    told = [tuple(map(float, said.split())) for said in done.stderr.splitlines()[-1:]]
    return told[0][0], told[0][1]


def _unit(path: Path) -> str:
    from prep.services.stock import listing

    return "mL" if listing.show(path, "Z00001").bottle.measure.value == "volume" else "mg"
