"""`--sample`: on every command that only reads."""

import subprocess
import sys
from collections.abc import Iterator
from typing import Any

import pytest
import typer.main

from prep.cli.main import build
from tests.cli.conftest import Run

WRITES = {"usual"} | {f"db {name}" for name in ("backup", "restore", "upgrade", "import")}
"""What changes an inventory, or has nothing to show of the sample, without asking who did it."""


def _commands(command: Any, words: tuple[str, ...] = ()) -> Iterator[tuple[str, set[str]]]:
    for name in command.list_commands(None) if hasattr(command, "list_commands") else ():
        yield from _commands(command.get_command(None, name), (*words, name))
    if not hasattr(command, "list_commands"):
        yield " ".join(words), {option for part in command.params for option in part.opts}


def test_every_command_that_only_reads_runs_on_the_sample() -> None:
    lacking = {
        name
        for name, options in _commands(typer.main.get_command(build()))
        if "--db" in options and not {"--by", "--sample"} & options
    }
    assert lacking == WRITES


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("book", "group", "list"), "Year 7 (also Y7, 7)"),
        (("solution", "show", "naoh-1"), "Sodium hydroxide, 1 mol/L"),
        (("plan", "settings"), "min"),
        (("stock", "place"), "PREP"),
        (("count", "signers"), "A signed count is taken back"),
    ],
)
def test_it_shows_the_sample_school(prep: Run, words: tuple[str, ...], said: str) -> None:
    assert said in prep(*words, "--sample").out


def test_sample_and_a_file_of_ones_own_are_not_both(prep: Run) -> None:
    refused = prep("stock", "list", "--sample", "--db", "a.db")
    assert (refused.code, refused.err) == (2, "prep: Give --sample or --db, not both.\n")


@pytest.mark.parametrize("words", [["plan"], ["demo", "predict", "strong-acid-titration"]])
def test_the_sample_loads_no_database_library_and_none_to_read_plain_options_by(words: list[str]) -> None:
    probe = (
        "import sys\nfrom prep.cli.main import main\n"
        f"try: main({[*words, '--sample']})\nexcept SystemExit: pass\n"
        "print(sorted({'sqlalchemy', 'sqlmodel', 'pydantic'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", probe], capture_output=True, check=True)
    assert done.stdout.split(b"\n")[-2:-1] == [b"[]"]
