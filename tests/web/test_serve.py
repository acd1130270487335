"""`prep serve` where it cannot listen: one sentence, and nobody is invited."""

import socket
from pathlib import Path

import pytest

from prep.cli.main import main
from prep.services.people import people

pytestmark = pytest.mark.on_file


@pytest.mark.parametrize(
    ("host", "says"), [("127.0.0.1", "is taken by another program"), ("203.0.113.9", "no address")]
)
def test_where_it_cannot_listen_it_says_so(
    host: str, says: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PREP_DATABASE_URL", f"sqlite:///{tmp_path / 'inventory.db'}")
    assert main_code(["init"]) == 0
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        code = main_code(["serve", "--host", host, "--port", str(taken.getsockname()[1])])
    error = capsys.readouterr().err
    assert code == 2
    assert says in error
    assert len(error.strip().splitlines()) == 1
    assert people.everybody(None) == []


def main_code(arguments: list[str]) -> object:
    """What the command leaves with."""
    with pytest.raises(SystemExit) as left:
        main(arguments)
    return left.value.code
