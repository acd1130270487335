"""Does each command, or form of the page, alone in a process, and tells what was done under the writers' lock."""

import contextlib
import io
import json
import os
import shlex
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

PARSERS = {
    ("typed_number.py", "number"),
    ("spelling.py", "key"),
    ("dates.py", "read_day"),
    ("demo_file.py", "read_text_demo"),
    ("csv_file.py", "read_text"),
    ("csv_file.py", "read_bytes"),
    ("_parser.py", "loads"),
    ("buffers.py", "design"),
    ("queries.py", "catalogue"),
    ("queries.py", "demos"),
    ("school_rules.py", "broken"),
    ("ledger.py", "reversal"),
}
"""(file, function) that read what somebody typed, or a file; or work out what takes long."""


def each_alone(what: str, asked: Sequence[Any]) -> list[dict[str, Any]]:
    """Do each, one after another, and tell of each what was imported or read under the lock, job by job."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.lock_probe", what, *map(json.dumps, asked)],
        cwd=Path(__file__).parent.parent,
        capture_output=True,
        text=True,
    )
    found = [json.loads(line) for line in done.stdout.splitlines()]
    assert [one["asked"] for one in found] == list(asked), done.stderr
    return found


class _Lock:
    """What is done while the lock is held, job by job."""

    def __init__(self) -> None:
        self.before: set[str] = set()
        self.under: list[list[str]] = []
        self.read: list[str] = []

    def taken(self) -> None:
        self.before, self.read = set(sys.modules), []
        sys.setprofile(self._called)

    def given_back(self) -> None:
        sys.setprofile(None)
        self.under.append(sorted({*(sys.modules.keys() - self.before), *self.read}))

    def _called(self, frame: Any, event: str, _: Any) -> None:
        code = frame.f_code
        if event == "call" and (os.path.basename(code.co_filename), code.co_name) in PARSERS:
            self.read.append(f"{code.co_name} of {os.path.basename(code.co_filename)}")


def _watch(lock: _Lock) -> None:
    """Watch every job, by way of the engine or of a plain connection, as `db restore` has one."""
    from sqlalchemy import event
    from sqlalchemy.engine import Engine

    @event.listens_for(Engine, "after_cursor_execute")
    def _began(*said: Any) -> None:
        if said[2].startswith("BEGIN IMMEDIATE"):
            lock.taken()

    @event.listens_for(Engine, "commit")
    def _done(connection: Any) -> None:
        if connection.get_execution_options().get("write"):
            lock.given_back()

    class Plain(sqlite3.Connection):
        def execute(self, statement: str, *more: Any) -> sqlite3.Cursor:
            found = super().execute(statement, *more)
            if statement == "BEGIN IMMEDIATE":
                lock.taken()
            elif statement == "COMMIT":
                lock.given_back()
            return found

    connect = sqlite3.connect
    sqlite3.connect = lambda *given, **named: connect(*given, **{"factory": Plain, **named})  # type: ignore[assignment]


def _command(line: str) -> int:
    from prep.cli import main

    try:
        main.main(shlex.split(line))
    except SystemExit as end:
        return int(end.code or 0)


def _page() -> Callable[[Any], int]:
    """Start the page as `prep serve` does; returns what sends a form: (cookie, path, fields)."""
    from datetime import date

    from fastapi.testclient import TestClient

    from prep.web.app import ServedInventory, create_app

    app = create_app(ServedInventory(None, lambda: date(2027, 1, 11), frozenset({"testserver"})))

    def send(form: tuple[str, str, dict[str, str], str]) -> int:
        import re

        secret, path, fields, on = form
        client = TestClient(app, follow_redirects=False)
        client.cookies.set("prep_session", secret)
        hidden = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', client.get(on).text))
        answer = client.post(path, data={**hidden, **fields}, headers={"Origin": "http://testserver"})
        print(answer.text[-300:] if answer.status_code >= 400 else "")
        return 0 if answer.status_code in (200, 303) else answer.status_code

    return send


def _main(what: str, texts: Sequence[str]) -> None:
    from prep.services.inventory import session

    with session.writing(None):  # what every job imports, it has imported before any lock
        pass
    do = _command if what == "command" else _page()
    lock = _Lock()
    _watch(lock)
    for text in texts:  # each as if it were the first of a process
        sys.stdout.flush()
        child = os.fork()
        if not child:
            asked, said = json.loads(text), io.StringIO()
            with contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
                code = do(asked)
            told = {"asked": asked, "code": code, "under": lock.under, "said": said.getvalue()[-300:]}
            print(json.dumps(told), flush=True)
            os._exit(0)
        os.waitpid(child, 0)


if __name__ == "__main__":
    _main(sys.argv[1], sys.argv[2:])
