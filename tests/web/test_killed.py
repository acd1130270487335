"""The server killed under load: what was confirmed is there, and the books are whole."""

import os
import re
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

import httpx
import pytest

from prep.services.inventory import backup
from prep.services.people import people
from prep.services.people.roles import Role
from prep.services.stock import listing
from tests.web.conftest import NAMES

pytestmark = pytest.mark.on_file
KILLS = int(os.environ.get("PREP_TEST_KILLS", "16")) // 4


@pytest.mark.usefixtures("school")
def test_what_was_confirmed_is_there_after_a_kill() -> None:
    number = next(p.id for p in people.everybody(None) if p.name == NAMES[Role.TECHNICIAN])
    key = people.new_token(None, number, "load", ["work"], "sample", "")
    headers = {"Authorization": f"Bearer {key}"}
    confirmed: list[str] = []
    for turn in range(KILLS):
        server, at = start()
        stop = threading.Event()

        def load(turn: int = turn, at: str = at, stop: threading.Event = stop) -> None:
            with httpx.Client(base_url=at, headers=headers) as client:
                for count in range(1000):
                    if stop.is_set():
                        return
                    reason = f"turn {turn} of {threading.get_ident()} number {count}"
                    try:
                        answer = client.post("/api/stock/B8W4/use", json={"amount": "1 mg", "reason": reason})
                    except httpx.HTTPError:
                        return
                    if answer.status_code == 200:
                        confirmed.append(reason)

        threads = [threading.Thread(target=load) for _ in range(4)]
        for thread in threads:
            thread.start()
        before = len(confirmed)
        _wait_until(partial(_more_than, confirmed, before + 2))
        time.sleep(0.05 * (turn % 5))
        os.kill(server.pid, signal.SIGKILL)
        stop.set()
        for thread in threads:
            thread.join()
        server.wait()
    written = {move.reason for move in listing.history(None, "B8W4", 100_000)}
    assert confirmed
    assert set(confirmed) <= written
    assert backup.check(None) == []


def _more_than(some: list[str], number: int) -> bool:
    return len(some) > number


def _wait_until(true: Callable[[], bool], seconds: float = 60) -> None:
    """Wait for something, on a machine of any speed."""
    end = time.monotonic() + seconds
    while not true() and time.monotonic() < end:
        time.sleep(0.01)


def start(*more: str) -> tuple[subprocess.Popen[str], str]:
    """A server of its own process on the inventory, once it answers, and its address."""
    import socket

    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [str(Path(sys.executable).with_name("prep")), "serve", "--port", str(port), *more]
    environment = {**os.environ, "PYTHONUNBUFFERED": "1"}
    server = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment)
    assert server.stdout is not None
    for line in server.stdout:
        if re.match("The page:", line):
            break
    at = f"http://127.0.0.1:{port}"
    for _ in range(200):
        try:
            httpx.get(f"{at}/sign-in")
            return server, at
        except httpx.HTTPError:
            time.sleep(0.05)
    raise AssertionError("the server does not answer")
