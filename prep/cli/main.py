"""The command `prep`. `main` is the one place that turns an error into a sentence and an exit code."""

import sys

import typer

from prep import __version__
from prep.cli import book, calc, common, lists, make, order, plan, setup, stock
from prep.errors import PrepError

app = common.group(
    "The prep room's tool: what to make today, from what and how; what booked demonstrations take; what to "
    "order by when."
)


@app.callback(invoke_without_command=True)
def _root(
    version: bool = typer.Option(False, "--version", help="Print the version and stop.", is_eager=True),
) -> None:
    if version:
        typer.echo(f"prep {__version__}")
        raise typer.Exit


app.command("init")(setup.init)
app.add_typer(plan.app, name="plan")
app.command("make")(make.make)
app.add_typer(stock.app, name="stock")
app.add_typer(book.app, name="book")
app.add_typer(order.app, name="order")
app.add_typer(lists.solution, name="solution")
app.add_typer(lists.substance, name="substance")
app.add_typer(lists.demo, name="demo")
app.add_typer(calc.app, name="calc")
app.add_typer(setup.db_app, name="db")


def main(argv: list[str] | None = None) -> None:
    """Run a command; exit 0 done, 1 the answer is no, 2 bad input or usage."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="backslashreplace")
    try:
        app(args=argv)
    except PrepError as error:
        _fail(str(error), error.exit_code)
    except RecursionError:
        _fail("the input nests too deeply; give it in simpler parts.", 2)
    except OSError as error:
        what = error.strerror or type(error).__name__
        _fail(f"{error.filename or 'the system'}: {what}.", 2)


def _fail(sentence: str, code: int) -> None:
    """One sentence on standard error; what cannot be printed on one line is shown escaped."""
    plain = "".join(c if c.isprintable() else f"\\x{ord(c):02x}" for c in sentence)
    print(f"prep: {plain}", file=sys.stderr)
    sys.exit(code)


if __name__ == "__main__":
    main()
