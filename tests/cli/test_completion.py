"""Completion: commands, their options, and the codes on file, without what is slow to load."""

import subprocess
import sys

import pytest

from tests.cli.conftest import Run


def asked(prep: Run, *words: str) -> list[str]:
    done = prep("complete", "--", *words)
    assert done.code == 0
    return done.out.split()


def test_commands_and_their_own_commands_and_options(prep: Run) -> None:
    assert asked(prep, "st") == ["stock"]
    assert "receive" in asked(prep, "stock", "re")
    assert asked(prep, "stock", "receive", "--use") == ["--use-by"]
    assert asked(prep, "nothing", "") == []


@pytest.mark.on_file
def test_codes_on_file(inventory: Run) -> None:
    code = inventory("stock", "list", "--json").json[0]["code"]
    assert code in asked(inventory, "stock", "show", code[:2].lower())
    assert "hcl-0.1" in asked(inventory, "make", "hcl-")
    assert "blue-bottle" in asked(inventory, "book", "add", "blue")
    assert asked(inventory, "order", "arrived", "") == []


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish", "powershell"])
def test_each_shell_has_its_script(prep: Run, shell: str) -> None:
    assert "prep complete --" in prep("completion", shell).out


def test_another_shell_is_refused(prep: Run) -> None:
    assert prep("completion", "tcl").code == 2


def test_it_loads_no_database_library() -> None:
    probe = (
        "import sys\nfrom prep.cli.main import main\n"
        "try: main(['complete', '--', 'stock', 'show', ''])\nexcept SystemExit: pass\n"
        "print(sorted({'sqlalchemy', 'pint', 'pydantic', 'rich'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", probe], capture_output=True, text=True, check=True)
    assert done.stdout.strip().splitlines()[-1] == "[]"


def test_a_mistyped_command_is_hinted_at(prep: Run) -> None:
    assert "(near: stock)" in prep("stokc").err
    assert "(near: receive)" in prep("stock", "recieve").err
