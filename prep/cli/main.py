"""The command `prep`. `main` is the one place that turns an error into a sentence and an exit code."""

import gc
import sys
from importlib import import_module

import typer

from prep import __version__
from prep.cli import common, usage_errors
from prep.errors import PrepError

COMMANDS: dict[str, tuple[str, str]] = {
    "init": ("inventory", "init"),
    "plan": ("plan.plan", "app"),
    "make": ("make.make", "make"),
    "stock": ("stock.stock", "app"),
    "book": ("book", "app"),
    "order": ("order", "app"),
    "count": ("count", "app"),
    "solution": ("catalogue", "solution"),
    "substance": ("catalogue", "substance"),
    "demo": ("catalogue", "demo"),
    "glassware": ("glassware", "app"),
    "calc": ("calc", "app"),
    "safety": ("safety", "app"),
    "label": ("make.label", "label"),
    "db": ("inventory", "db_app"),
}
"""Command -> its module in prep/cli and the group or function there, in the order of --help."""
_LONGEST = 1000  # of a sentence: a name that somebody pasted may be of any length


def build(only: str | None = None) -> typer.Typer:
    """The command tree; with `only`, just that command's part of it, as nobody waits for the others."""
    app = common.group(
        "The prep room's tool: what to make today, from what and how; what booked demonstrations take; what to "
        "order by when."
    )
    app.callback(invoke_without_command=True)(_root)
    for name, (module, attribute) in COMMANDS.items():
        if only is None or name == only:
            found = getattr(import_module(f"prep.cli.{module}"), attribute)
            if isinstance(found, typer.Typer):
                app.add_typer(found, name=name)
            else:
                app.command(name)(found)
    return app


def _root(
    version: bool = typer.Option(False, "--version", help="Print the version and stop.", is_eager=True),
) -> None:
    if version:
        typer.echo(f"prep {__version__}")
        raise typer.Exit


def main(argv: list[str] | None = None) -> None:
    """Run a command; exit 0 done, 1 the answer is no, 2 bad input or usage."""
    gc.set_threshold(100_000, 50, 50)  # imports make thousands of objects that stay: looking for cycles costs a tenth
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="backslashreplace")
    arguments = sys.argv[1:] if argv is None else argv
    first = arguments[0] if arguments else ""
    try:
        command = build(first if first in COMMANDS else None)
        sys.exit(command(args=arguments, prog_name="prep", standalone_mode=False) or 0)  # the code of a typer.Exit
    except usage_errors.UsageError as error:
        if not arguments or type(error).__name__ == "NoArgsIsHelpError":
            print(error, file=sys.stderr)  # a group by itself: its help
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


def _fail(sentence: str, code: int) -> None:
    """One sentence on standard error; what cannot be printed on one line is shown escaped."""
    if len(sentence) > _LONGEST:
        sentence = f"{sentence[: _LONGEST // 2]} ... {sentence[-_LONGEST // 2 :]}"
    plain = "".join(c if c.isprintable() else f"\\x{ord(c):02x}" for c in sentence)
    print(f"prep: {plain}", file=sys.stderr)
    sys.exit(code)


if __name__ == "__main__":
    main()
