"""Every example of the README runs, in order, on an inventory of its own; the two one-line commands are whole."""

import json
import re
import shlex
from datetime import date
from pathlib import Path

import pytest

from prep.cli.main import main
from tests.databases import postgres, url

__all__ = ["postgres", "url"]

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
EXAMPLES = [
    line[2:]
    for block in re.findall(r"```console\n(.*?)```", README, re.DOTALL)
    for line in block.splitlines()
    if line.startswith("$ ")
]


def test_the_readme_opens_with_the_job_and_two_commands() -> None:
    first = README.split("\n\n")[1]
    assert first.startswith("A chemistry teacher books demonstrations")
    commands = re.findall(r"^python3 -m venv .*$", README, re.MULTILINE)
    assert len(commands) == 2
    assert commands[0].endswith("prep plan --sample")
    assert commands[1].endswith("python -m pytest")


def test_every_example_runs(
    url: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert len(EXAMPLES) > 30
    monkeypatch.setenv("PREP_DATABASE_URL", url)
    monkeypatch.chdir(tmp_path)
    (tmp_path / "bookings.csv").write_text("date,demo,showings\n2030-01-16,blue-bottle,2\n2030-01-17,foam-column,1\n")
    (tmp_path / "store.csv").write_text("Chemical;Size (g);Shelf\nurea;2,5;PREP\n57-13-6;500;\n", encoding="utf-8")
    code = ""
    for example in EXAMPLES:
        if "K7Q2" in example and not code:
            code = json.loads(run(["stock", "list", "--item", "sodium-chloride", "--json"], capsys))[0]["code"]
        command, *arguments = shlex.split(example.replace("K7Q2", code))
        assert command == "prep", example
        if arguments == ["db", "backup"] and url.startswith("postgresql"):
            continue  # a server has its own
        assert run(arguments, capsys), f"{example} says nothing"


def run(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> str:
    """Run one example; it must end well."""
    code: object = 0
    try:
        main(arguments)
    except SystemExit as stop:
        code = stop.code
    said = capsys.readouterr()
    assert code in (0, None), f"prep {arguments}: {said.err}"
    return said.out


def test_every_command_has_help_with_an_example(capsys: pytest.CaptureFixture[str]) -> None:
    import typer

    from prep.cli.main import build

    def commands(node: object, path: list[str]) -> list[list[str]]:
        found = getattr(node, "commands", {})
        own = [path] if not found or (getattr(node, "invoke_without_command", False) and path) else []
        return own + [p for name, sub in found.items() for p in commands(sub, [*path, name])]

    everything = commands(typer.main.get_command(build()), [])
    assert len(everything) > 35
    for path in everything:
        said = run([*path, "--help"], capsys)
        assert "Example: prep " in " ".join(said.split()), path
        assert max(map(len, said.splitlines())) <= 80, path
        assert not re.search(r"(?:^|[\s\"])--[a-z-]*-$", said, re.MULTILINE), f"{path}: an option broken at its hyphen"
        head = said.partition("\n\n")[0]
        assert not re.search(r"<(list\[)?(str|int|float|path)", said), f"{path}: a type of the program's language"
        assert not re.search(r"\.\.\.[\]}]\.|\[\[|\{", head), f"{path}: {head}"
        for name in re.findall(r"^  ([^ ]+)", said.partition("Arguments:\n")[2].partition("\n\n")[0], re.MULTILINE):
            assert f" {name}" in head.replace("[", ""), f"{path}: {name} is not called so in the usage"


def test_the_sample_is_on_fixed_dates(capsys: pytest.CaptureFixture[str]) -> None:
    shown = run(["plan", "--sample", "--brief"], capsys)
    assert "drawn up Mon 11 Jan 2027" in shown
    assert date.today().isoformat() not in shown
