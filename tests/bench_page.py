"""The page's own time: today's page beside the same framework rendering a table of its size from memory."""

import os
import resource
import statistics
import tempfile
import threading
import time
from datetime import date
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
from prep.web.app import Serving, create_app

DAY = date(2027, 1, 11)
PEOPLE, CLICKS = 50, 6
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
            app = create_app(Serving(path, lambda: DAY, frozenset({"testserver"})))
            client = TestClient(app)
            client.cookies.set("prep_session", secret)
            return all([_beside(app, client), _together(app, client, secret), _flat(app, client)])


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


def _together(app: FastAPI, client: TestClient, secret: str) -> bool:
    alone = statistics.median(_times(client, "/today", 20))
    took: list[float] = []
    wrong: list[Any] = []

    def clicks(number: int) -> None:
        one = TestClient(app)
        one.cookies.set("prep_session", secret)
        time.sleep(number * 0.04)
        for path in ("/today", "/shelves?q=acid", "/bottles/G7P4", "/orders", "/today", "/demos")[:CLICKS]:
            start = time.perf_counter()
            answer = one.get(path)
            took.append(time.perf_counter() - start)
            if answer.status_code != 200:
                wrong.append((path, answer.status_code))
            time.sleep(2)  # somebody reads

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
    for _ in range(REQUESTS // 20):
        client.get("/orders")
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    for _ in range(REQUESTS):
        client.get("/orders")
    grown = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024
    fine = grown < 20 and app.state.plans.drawn == 1
    print(f"{REQUESTS} requests          grew by {grown:.1f} MiB  limit 20  {'ok' if fine else 'OVER'}")
    return fine
