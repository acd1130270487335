"""The real command on a real database, in this process: what it prints, and its exit code."""

import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from prep.cli.main import main
from tests.databases import made_once, postgres, url

__all__ = ["postgres", "url"]


@dataclass(frozen=True)
class Result:
    """What a command left behind."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        """Standard output as one JSON document."""
        return json.loads(self.out)


Run = Callable[..., Result]


@pytest.fixture
def prep(url: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Run:
    """Run `prep` with arguments, on an inventory and in a folder of its own."""
    monkeypatch.setenv("PREP_DATABASE_URL", url)
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.chdir(tmp_path)

    def run(*arguments: object) -> Result:
        code = 0
        try:
            main([str(a) for a in arguments])
        except SystemExit as stop:
            code = stop.code if isinstance(stop.code, int) else 0 if stop.code is None else 1
        said = capsys.readouterr()
        return Result(code, said.out, said.err)

    return run


@pytest.fixture
def inventory(prep: Run, url: str) -> Run:
    """A new inventory with a little on its shelves."""

    def fill() -> None:
        assert prep("init", "--school", "Wendlemoor School").code == 0
        for item, amount in (
            ("hydrochloric-acid", "2.5 L"),
            ("sodium-hydroxide", "500 g"),
            ("sodium-chloride", "1 kg"),
        ):
            assert prep("stock", "receive", item, amount, "--by", "R. Vane").code == 0

    made_once(url, "shelves", fill)
    return prep
