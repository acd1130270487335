"""What is read on a terminal of forty columns: sentences wrap by words, and an empty list says so."""

import pytest

from tests.cli.conftest import Run

READ = [
    "plan settings",
    "plan closed list",
    "log",
    "usual",
    "count signers",
    "count list --all",
    "safety rule list",
    "book group list",
    "waste list",
    "stock controlled",
]


@pytest.mark.parametrize("line", READ)
def test_sentences_wrap_and_an_empty_list_says_so(inventory: Run, monkeypatch: pytest.MonkeyPatch, line: str) -> None:
    monkeypatch.setenv("COLUMNS", "40")
    said = inventory(*line.split()).out.splitlines()
    assert said
    assert [one for one in said if len(one) > 40] == []
