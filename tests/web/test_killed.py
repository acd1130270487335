"""The server killed under load: what was confirmed is there, and the books are whole."""

import os
import signal
import threading
import time
from functools import partial

import httpx
import pytest

from prep.services.inventory import backup
from prep.services.people import people
from prep.services.people.roles import Role
from prep.services.stock import listing
from tests.web.conftest import NAMES
from tests.web.serving import PATIENCE, start, wait_until

pytestmark = pytest.mark.on_file
KILLS = int(os.environ.get("PREP_TEST_KILLS", "16")) // 4


@pytest.mark.usefixtures("school")
def test_what_was_confirmed_is_there_after_a_kill() -> None:
    number = next(p.id for p in people.everybody(None) if p.name == NAMES[Role.TECHNICIAN])
    key = people.new_token(None, number, "load", ["work"], "sample", "")
    headers = {"Authorization": f"Bearer {key}"}
    confirmed: list[str] = []
    for turn in range(KILLS):
        server = start()
        stop = threading.Event()

        def load(turn: int = turn, at: str = server.at, stop: threading.Event = stop) -> None:
            with httpx.Client(base_url=at, headers=headers, timeout=PATIENCE) as client:
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
        wait_until(partial(_more_than, confirmed, before + 2))
        time.sleep(0.05 * (turn % 5))
        os.kill(server.process.pid, signal.SIGKILL)
        stop.set()
        for thread in threads:
            thread.join()
        server.process.wait(PATIENCE)
    written = {move.reason for move in listing.history(None, "B8W4", 100_000)}
    assert confirmed
    assert set(confirmed) <= written
    assert backup.check(None) == []


def _more_than(some: list[str], number: int) -> bool:
    return len(some) > number
