"""The command `prep`. `main` is the one place that turns an error into a sentence and an exit code."""

import atexit
import gc
import os
import sys
from contextlib import nullcontext
from copy import copy
from importlib import import_module
from json import dumps
from typing import Any, TextIO

import typer
import typer.main

from prep import __version__
from prep.cli import common, usage_errors
from prep.cli.help_words import name_values
from prep.cli.plain_parameters import lighten
from prep.errors import PrepError
from prep.records import record


@record(frozen=True, slots=True)
class Command:
    """A command's module in prep/cli, the group or function there, and its line in `prep --help`."""

    module: str
    attribute: str
    help: str


COMMANDS: dict[str, Command] = {
    "init": Command("inventory", "init", "Make a new inventory with the shipped substances, solutions and demos."),
    "plan": Command("plan.plan", "app", "What to make today and this half term, from what; what to order by when."),
    "log": Command("log", "log", "Log the numbered lines of the day: made, set out, shown, ordered, arrived."),
    "make": Command("make.make", "make", "What to weigh or measure, with which vessel, in which order, to what mark."),
    "stock": Command("stock.stock", "app", "What is on the shelves, and what happens to it."),
    "book": Command("book.book", "app", "Bookings: which demonstration, when, for whom, how often."),
    "order": Command("order", "app", "Orders: what the plan says to buy, what was placed, what arrived."),
    "count": Command("count.count", "app", "The term-end count: open it, count, see the differences, close it."),
    "solution": Command("catalogue", "solution", "Solutions: what the prep room makes, from what, how it keeps."),
    "substance": Command("catalogue", "substance", "Substances: chemicals as bought."),
    "demo": Command("demo", "app", "Demonstrations: what each takes, what it shows, what is left."),
    "glassware": Command("glassware", "app", "The room's vessels and balances, how exact they are, how many."),
    "calc": Command("calc.calc", "app", "The arithmetic on its own, with its working: no inventory is needed."),
    "safety": Command("safety.safety", "app", "Hazards, peroxide tests, what must not stand together, waste."),
    "waste": Command("stock.waste", "app", "Waste bottles: what was put into each, how full, when emptied."),
    "label": Command("make.label", "label", "Labels for bottles, as a PDF for a sheet of labels."),
    "serve": Command("serve", "serve", "The page for everybody in the room: today, the bench, shelves, the count."),
    "schools": Command("schools.schools", "app", "A group of schools: check, upgrade, plan, transfer, report."),
    "usual": Command("usual", "usual", "Who works here, where new bottles are put, how days are written: set once."),
    "completion": Command("completion", "completion", "What a shell loads to complete commands, codes and names."),
    "db": Command("inventory", "db_app", "The inventory file: check, back up, take out, bring in."),
}
"""Every command, in the order of --help."""
_PIPE_GONE = 141  # 128 and the number of SIGPIPE
_LONGEST = 1000  # characters of a sentence, as it may quote a pasted text of any length


def build(only: str | None = None, then: str = "") -> typer.Typer:
    """Build the command tree; with `only`, just that command's part of it, to start sooner.

    `then` is the word after it: where that is one of its own commands, the part is that one.
    """
    app = _bare()
    for name, command in COMMANDS.items():
        if only is None or name == only:
            found = getattr(import_module(f"prep.cli.{command.module}"), command.attribute)
            if isinstance(found, typer.Typer):
                app.add_typer(_part(found, then) if only else found, name=name, short_help=command.help)
            else:
                app.command(name, short_help=command.help)(found)
    return app


def _part(group: typer.Typer, name: str) -> typer.Typer:
    """Limit a group to its command of that name; whole where it has none."""
    parts = [one for one in group.registered_commands if (one.name or getattr(one.callback, "__name__", "")) == name]
    groups = [one for one in group.registered_groups if one.name == name]
    if not (parts or groups):
        return group
    part = copy(group)
    part.registered_commands, part.registered_groups = parts, groups
    return part


def _listing() -> typer.Typer:
    """List the commands by name and line alone: enough for `prep --help`, and for an unknown name."""
    app = _bare()
    for name, command in COMMANDS.items():
        app.command(name, short_help=command.help)(_nothing)
    return app


def _bare() -> typer.Typer:
    app = common.group(
        "The prep room's tool: what to make today, from what and how; what booked demonstrations take; what to "
        "order by when."
    )
    app.callback(invoke_without_command=True)(_root)
    return app


def _nothing() -> None:
    """Do nothing: it stands for a command where only the name is asked for."""


def _root(
    version: bool = typer.Option(False, "--version", help="Print the version and stop.", is_eager=True),
) -> None:
    if version:
        typer.echo(f"prep {__version__}")
        raise typer.Exit


def main(argv: list[str] | None = None) -> None:
    """Run a command; exit 0 done, 1 the answer is no, 2 bad input or usage."""
    gc.set_threshold(1_000_000, 50, 50)  # imported objects stay: collecting among them would cost a tenth of the start
    atexit.register(gc.freeze)  # nor at the end: the system takes back the memory of what is left, whole, and at once
    sys.stdout = sys.stdout or _nowhere()  # None where the stream is closed: the command runs all the same
    sys.stderr = sys.stderr or _nowhere()
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="backslashreplace")
    arguments = sys.argv[1:] if argv is None else argv
    common.arguments = arguments
    first, then = [*arguments, "", ""][:2]
    if first == "complete":
        _complete(arguments[2:] if then == "--" else arguments[1:])
    try:
        command = typer.main.get_command(build(first, then) if first in COMMANDS else _listing())
        lighten(command)
        if not {"-h", "--help"}.isdisjoint(arguments):
            name_values(command)
        with nullcontext() if first == "serve" else common.jobs_told():
            code = command(args=arguments, prog_name="prep", standalone_mode=False) or 0  # that of a typer.Exit
        sys.stdout.flush()
        sys.exit(code)
    except SystemExit:
        if type(sys.stdout).__name__ == "PacifyFlushWrapper":  # typer's, which exits with 1: here a "no"
            _unread()
        raise
    except BrokenPipeError:
        _unread()
    except usage_errors.UsageError as error:
        if not arguments or type(error).__name__ == "NoArgsIsHelpError":
            print(error, file=sys.stderr)  # a group without a command: print its help
            sys.exit(2)
        _fail(usage_errors.sentence(error, arguments), 2)
    except typer.Abort:
        sys.exit(1)
    except PrepError as error:
        _fail(str(error), error.exit_code)
    except UnicodeEncodeError:
        _fail("what was typed holds characters that are no text (UTF-8).", 2)
    except RecursionError:
        _fail("the input nests too deeply; give it in simpler parts.", 2)
    except OSError as error:
        what = error.strerror or type(error).__name__
        _fail(f"{error.filename or 'the system'}: {what}.", 2)


def _nowhere() -> TextIO:
    return open(os.devnull, "w", encoding="utf-8")


def _unread() -> None:
    """End without a word, as other programs do, where whoever read the output has gone."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
    sys.stdout = _nowhere()
    sys.exit(_PIPE_GONE)


def _complete(words: list[str]) -> None:
    """Print what the last word may become, one a line; nothing where anything is wrong: a shell asks, no person."""
    from prep.cli.completion import candidates

    def tree(name: str, then: str) -> Any:
        return typer.main.get_command(build(name, then)).commands[name]  # type: ignore[attr-defined]

    try:
        print(*candidates(words, list(COMMANDS), tree), sep="\n")
    except Exception:
        sys.exit(1)
    sys.exit(0)


def _fail(sentence: str, code: int) -> None:
    """Print one sentence on standard error, a document for whoever asked for one, and end.

    What cannot be printed on one line is shown escaped.
    """
    if len(sentence) > _LONGEST:
        sentence = f"{sentence[: _LONGEST // 2]} ... {sentence[-_LONGEST // 2 :]}"
    if common.as_document():
        print(dumps({"error": {"message": sentence, "exit_code": code}}), file=sys.stderr)
        sys.exit(code)
    plain = "".join(c if c.isprintable() else f"\\x{ord(c):02x}" for c in sentence)
    print(f"prep: {plain}", file=sys.stderr)
    sys.exit(code)


if __name__ == "__main__":
    main()
