"""The page's own time: today's page beside the same framework rendering a table of its size from memory."""

import os
import random
import re
import resource
import socket
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import date, timedelta
from http.client import HTTPConnection
from pathlib import Path
from typing import Any

from fastapi import FastAPI
from fastapi.responses import HTMLResponse
from fastapi.testclient import TestClient
from jinja2 import Environment

from prep.resources import seed_data
from prep.services.inventory import init, session
from prep.services.people import people, sign_in
from prep.services.people.roles import Role
from prep.services.people.sign_in import Device
from prep.web.app import ServedInventory, create_app
from tests import bench_store

DAY = date(2027, 1, 11)
PEOPLE, CLICKS, READS = 50, 6, 5
"""How many people, how often each clicks, and the seconds that one reads between two clicks."""
REQUESTS = int(os.environ.get("PREP_BENCH_REQUESTS", "20000"))
TABLE = "<table>{% for r in rows %}<tr>{% for c in r %}<td>{{ c }}</td>{% endfor %}</tr>{% endfor %}</table>"


def _bare(size: int) -> TestClient:
    """A table of about so many bytes, rendered anew for each request."""
    app, template = FastAPI(), Environment(autoescape=True).from_string(TABLE)
    rows = [[f"cell {n} of a row" for n in range(6)] for _ in range(max(1, size // 170))]

    @app.get("/")
    def table() -> HTMLResponse:
        return HTMLResponse(template.render(rows=rows))

    return TestClient(app)


def _times(client: TestClient, path: str, runs: int) -> list[float]:
    out = []
    for _ in range(runs):
        start = time.perf_counter()
        answer = client.get(path)
        out.append(time.perf_counter() - start)
        assert answer.status_code == 200, answer.status_code
    return out


def page() -> bool:
    """Print each figure and its limit; whether all are within."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "inventory.db"
        init.init(path, "sample", DAY, seed_data() / "school", "")
        invited = people.invite(path, "R. Vane", [Role.TECHNICIAN], "sample")
        secret = sign_in.accept(path, invited.secret, "copper beaker lantern 7", Device())
        with session.held_open(path):
            app = create_app(ServedInventory(path, lambda: DAY, frozenset({"testserver"})))
            client = TestClient(app)
            client.cookies.set("prep_session", secret)
            alone = [_beside(app, client), _first(client), _flat(app, client)]
        with _served(path) as port:
            return all([*alone, _together(port, secret), *_large(Path(folder))])


@contextmanager
def _served(path: Path) -> Iterator[int]:
    """A server of its own process on an inventory, on the sample's day; gives its port."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = int(free.getsockname()[1])
    begin = (
        "import sys, uvicorn; from datetime import date; from pathlib import Path;"
        "from prep.services.inventory import session; from prep.web.app import ServedInventory, create_app;"
        f"path = Path(sys.argv[1]); kept = session.held_open(path); kept.__enter__();"
        f"app = create_app(ServedInventory(path, lambda: date({DAY.year}, {DAY.month}, {DAY.day})));"
        f"uvicorn.run(app, port={port}, log_level='error')"
    )
    server = subprocess.Popen([sys.executable, "-c", begin, str(path)])
    try:
        for _ in range(600):
            try:
                socket.create_connection(("127.0.0.1", port), 0.2).close()
                break
            except OSError:
                time.sleep(0.1)
        yield port
    finally:
        server.terminate()
        server.wait()


def _first(client: TestClient) -> bool:
    """What a browser that has nothing yet fetches for its first page."""
    page = client.get("/today")
    sizes = [len(page.content), *(len(client.get(f"/static/page.{end}").content) for end in ("css", "js"))]
    fine: bool = sum(sizes) < 100_000 and not re.search(r'(?:src|href)="https?:', page.text)
    print(f"the first page, its sheet and script  {sum(sizes) / 1000:.0f} kB  limit 100  {'ok' if fine else 'OVER'}")
    return fine


def _large(folder: Path) -> list[bool]:
    """The plan of 20,000 bottles and 10,000 bookings is drawn up once, and the page is then as quick as any."""
    path = folder / "large.db"
    bench_store.inventory(path, 40_000)
    _booked(path, 10_000)
    invited = people.invite(path, "R. Vane", [Role.TECHNICIAN], "sample")
    secret = sign_in.accept(path, invited.secret, "copper beaker lantern 7", Device())
    with session.held_open(path):
        app = create_app(ServedInventory(path, lambda: DAY, frozenset({"testserver"})))
        client = TestClient(app)
        client.cookies.set("prep_session", secret)
        start = time.perf_counter()
        client.get("/today")
        drawn = time.perf_counter() - start
        print(f"20,000 bottles, 10,000 bookings: the plan is drawn up in {drawn:.1f} s")
        return [_beside(app, client)]


def _booked(path: Path, count: int) -> None:
    """Showings of a school group, over the year ahead."""
    with closing(sqlite3.connect(path)) as raw, raw:
        demos = [code for (code,) in raw.execute("SELECT code FROM demo ORDER BY code")]
        raw.executemany(
            'INSERT INTO booking (code, "on", period, room, teacher, demo, showings, status)'
            " VALUES (?, ?, '2', ?, 'A. Example', ?, 1, 'booked')",
            (
                (f"Z{n}", (DAY + timedelta(days=n % 350)).isoformat(), f"L{n % 40}", demos[n % len(demos)])
                for n in range(count)
            ),
        )


def _beside(app: FastAPI, client: TestClient) -> bool:
    size = len(client.get("/today").content)
    bare = _bare(size)
    pairs = [(_times(client, "/today", 5), _times(bare, "/", 5)) for _ in range(12)]
    ours, theirs = (statistics.median([t for one in column for t in one]) for column in zip(*pairs, strict=True))
    plans = app.state.plans.drawn
    fine = ours <= 3 * theirs and plans == 1
    print(
        f"today's page ({size / 1000:.0f} kB)      {ours * 1000:8.1f} ms  bare table {theirs * 1000:6.1f} ms  "
        f"x{ours / theirs:5.2f}  limit 3  plans drawn {plans}  {'ok' if fine else 'OVER'}"
    )
    return fine


PATHS = ("/today", "/shelves?q=acid", "/bottles/G7P4", "/orders", "/today", "/demos")


def _click(port: int, path: str, secret: str) -> tuple[float, int]:
    """Seconds and status of a page, on a connection of its own: the one before was closed while somebody read."""
    start = time.perf_counter()
    line = HTTPConnection("127.0.0.1", port)
    line.request("GET", path, headers={"Cookie": f"prep_session={secret}; prep_visitor={'v' * 43}"})
    answer = line.getresponse()
    answer.read()
    line.close()
    return time.perf_counter() - start, answer.status


def _together(port: int, secret: str) -> bool:
    """Fifty people, each of whom reads for some seconds between two clicks, on a server of its own process."""
    for path in PATHS:
        _click(port, path, secret)
    alone = statistics.median(_click(port, path, secret)[0] for _ in range(5) for path in PATHS)
    took: list[float] = []
    wrong: list[Any] = []

    def clicks(number: int) -> None:
        draw = random.Random(number)
        for path in PATHS[:CLICKS]:
            time.sleep(draw.uniform(0, 2 * READS))
            seconds, status = _click(port, path, secret)
            took.append(seconds)
            if status != 200:
                wrong.append((path, status))

    threads = [threading.Thread(target=clicks, args=(number,)) for number in range(PEOPLE)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    slow = sorted(took)[int(0.95 * len(took))]
    fine = not wrong and slow <= 10 * alone
    print(
        f"{PEOPLE} people clicking     95 % under {slow * 1000:6.0f} ms  alone {alone * 1000:6.1f} ms  "
        f"x{slow / alone:5.2f}  limit 10  errors {len(wrong)}  {'ok' if fine else 'OVER'}"
    )
    return fine


def _flat(app: FastAPI, client: TestClient) -> bool:
    """Pages of every kind, again and again: once each is known the process grows no more."""
    for number in range(max(REQUESTS // 20, 2 * len(PATHS))):
        client.get(PATHS[number % len(PATHS)])
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    for number in range(REQUESTS):
        client.get(PATHS[number % len(PATHS)])
    grown = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024
    fine = grown < 20 and app.state.plans.drawn == 1
    print(f"{REQUESTS} requests          grew by {grown:.1f} MiB  limit 20  {'ok' if fine else 'OVER'}")
    return fine
