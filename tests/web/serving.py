"""A server of its own process, on a machine of any speed: whoever asks waits until it answers."""

import os
import re
import socket
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import httpx

PATIENCE = 180
"""Seconds until something has failed: the machine may be busy with other work."""
TRIES = 5


@dataclass(frozen=True)
class Started:
    """A server that answers: its process, its address, and the lines that it said before."""

    process: "subprocess.Popen[str]"
    at: str
    said: tuple[str, ...]

    def stop(self) -> None:
        """End it, and wait until it is gone."""
        self.process.kill()
        self.process.wait(PATIENCE)


def start(*more: str) -> Started:
    """Start `prep serve` on a free port, and wait until it answers."""
    for _ in range(TRIES):
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        command = [str(Path(sys.executable).with_name("prep")), "serve", "--port", str(port), *more]
        environment = {**os.environ, "PYTHONUNBUFFERED": "1"}
        process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment)
        assert process.stdout is not None
        said: list[str] = []
        for line in process.stdout:
            if re.match("The page:", line):
                break
            said.append(line)
        found = Started(process, f"http://127.0.0.1:{port}", tuple(said))
        if wait_until(partial(_settled, found)) and process.poll() is None:
            return found
        found.stop()  # another program took the port in between, most likely
    raise AssertionError("the server does not answer")


def _settled(started: Started) -> bool:
    """Ask whether it answers, or has ended."""
    if started.process.poll() is not None:
        return True
    try:
        httpx.get(f"{started.at}/sign-in", timeout=PATIENCE)
    except httpx.HTTPError:
        return False
    return True


def wait_until(true: Callable[[], bool], seconds: float = PATIENCE) -> bool:
    """Wait for something, on a machine of any speed; whether it came."""
    end = time.monotonic() + seconds
    while not true():
        if time.monotonic() > end:
            return False
        time.sleep(0.02)
    return True
