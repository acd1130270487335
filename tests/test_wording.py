"""Sentences in parts: the same text as ever at a terminal, and the page's words on the page."""

import ast
import pickle
import re
from pathlib import Path

import pytest

from prep.cli.main import COMMANDS
from prep.errors import NotOnFile, PrepError
from prep.wording import AtTerminal, Flag, Sentence, WayOut, reworded

PREP = Path(__file__).parent.parent / "prep"
TYPED = re.compile(rf"(^|[^\w-])--([a-z]|$)|\bprep ({'|'.join(sorted(COMMANDS))})\b")
PROBLEM = re.compile(r"\b(PrepError|NotOnFile|SeveralFit|RowError|Refused)\b")
TOLD = re.compile(r"\b(PrepError|NotOnFile|SeveralFit|RowError|Refused|Fate|WrongRow|SchoolOutcome|type)\b")
ROOMS = ("planning", "safety", "stocktake", "store", "services")
BY_HAND = {"services/calc"}
"""What only a terminal asks: its sentences never stand on a page."""


def unmarked(file: Path) -> list[str]:
    """The texts of a module that name an option or a command and are no part that says so."""
    tree = ast.parse(file.read_text(encoding="utf-8"))
    marked: set[int] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            marked.add(id(node.value))
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") in ("Flag", "AtTerminal", "any_of"):
            marked |= {id(part) for part in ast.walk(node)}
    return [
        f"line {node.lineno}: {node.value}"
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant)
        and isinstance(node.value, str)
        and id(node) not in marked
        and TYPED.search(node.value)
    ]


@pytest.mark.parametrize("room", ROOMS)
def test_options_and_commands_are_parts_of_their_own(room: str) -> None:
    for file in sorted((PREP / room).rglob("*.py")):
        name = file.relative_to(PREP).as_posix()
        if not any(name.startswith(one) for one in BY_HAND):
            assert unmarked(file) == [], name


def test_a_sentence_is_its_text_and_keeps_its_parts() -> None:
    said = Sentence("Say where: ", Flag("--at"), AtTerminal(" PLACE; see: prep stock place", ""), ".")
    assert said == "Say where: --at PLACE; see: prep stock place."
    assert said.options == ("--at",)
    assert Sentence("Urea. ", said).on_page(lambda option: f"<{option}>") == "Urea. Say where: <--at>."
    assert reworded(said, str.upper).on_page(str) == "SAY WHERE: --at."
    assert reworded("plain", str.upper) == "PLAIN"


def test_another_way_out_takes_the_place_of_the_one_that_was_named() -> None:
    said = Sentence("No density is on file; ", WayOut("give the density"), ".")
    assert (
        said.by_way_of("make it by mass (", Flag("--mass"), ")") == "No density is on file; make it by mass (--mass)."
    )
    assert said.by_way_of(Flag("--mass")).options == ("--mass",)
    assert said.on_page(str) == said == "No density is on file; give the density."
    assert Sentence("Nobody can give the density.").by_way_of("weigh it") == "Nobody can give the density."


def flattened(file: Path) -> list[str]:
    """Where an error that was caught is told again as one text, and its options and commands are lost."""
    return [
        f"line {node.lineno}: {ast.unparse(again)}"
        for caught in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
        if isinstance(caught, ast.ExceptHandler) and caught.type and PROBLEM.search(ast.unparse(caught.type))
        for node in ast.walk(caught)
        if isinstance(node, ast.Call) and TOLD.search(ast.unparse(node.func))
        for again in ast.walk(node)
        if ast.unparse(again) == f"str({caught.name})"
        or (isinstance(again, ast.FormattedValue) and ast.unparse(again.value) == caught.name)
    ]


@pytest.mark.parametrize("room", ROOMS)
def test_an_error_told_again_keeps_its_parts(room: str) -> None:
    for file in sorted((PREP / room).rglob("*.py")):
        name = file.relative_to(PREP).as_posix()
        if not any(name.startswith(one) for one in BY_HAND):
            assert flattened(file) == [], name


def test_an_error_says_the_same_in_another_process() -> None:
    problem = NotOnFile("There is no x", AtTerminal("; see: prep stock list", "."))
    again = pickle.loads(pickle.dumps(problem))
    assert (type(again), str(again)) == (NotOnFile, "There is no x; see: prep stock list")
    assert again.sentence.on_page(str) == "There is no x."
    assert str(PrepError("B1: ", problem.sentence)) == "B1: There is no x; see: prep stock list"
