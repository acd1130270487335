"""What commands share: the options that mean the same everywhere, and one way to print a document."""

import sys
from datetime import date
from pathlib import Path
from typing import Annotated, Any

import typer

from prep.errors import PrepError

Db = Annotated[
    Path | None,
    typer.Option("--db", metavar="PATH", help="The inventory file. Default: PREP_DATABASE_URL, else your own."),
]
AsJson = Annotated[bool, typer.Option("--json", help="One JSON document on standard output, nothing else.")]
By = Annotated[str | None, typer.Option("--by", metavar="NAME", help="Who did it. Default: your login name.")]
On = Annotated[str | None, typer.Option("--on", metavar="DATE", help="The day it happened; default: today.")]


def group(help_: str, *, bare: bool = False) -> typer.Typer:
    """A command group in the house's style: plain help, no traceback, no completion installer.

    `bare` groups do something without a subcommand.
    """
    return typer.Typer(
        help=help_,
        no_args_is_help=not bare,
        add_completion=False,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80},
    )


def who(by: str | None) -> str:
    """The name that goes on every line of the ledger."""
    if by is not None and not by.strip():
        raise PrepError("--by is empty; give the name of who did it.")
    if by and (len(by) > 80 or not by.isprintable()):
        raise PrepError("--by must be a name of at most 80 printable characters.")
    if by:
        return by.strip()
    import getpass  # slow to import, and rarely needed

    try:
        return getpass.getuser()
    except (OSError, KeyError):
        return "unknown"


def a_date(text: str | None, option: str, default: date | None = None) -> date:
    """An ISO date from an option; `today`, or the default when not given. Raises PrepError naming the option."""
    if text is None:
        return default or date.today()
    if text.strip().lower() == "today":
        return date.today()
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise PrepError(
            f'{option} "{text[:40]}" is no date; write it as year-month-day, such as 2027-01-11.'
        ) from None


def show_json(document: Any) -> None:
    """Print one JSON document."""
    import json

    json.dump(document, sys.stdout, ensure_ascii=False, indent=2, default=str)
    sys.stdout.write("\n")
