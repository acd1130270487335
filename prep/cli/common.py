"""What commands share: the options that mean the same everywhere, and one way to print a document."""

import inspect
import sys
from contextlib import contextmanager
from datetime import date
from functools import wraps
from itertools import takewhile
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from prep.dates import DayOrder, DoneOn, read_day, read_done, read_use_by
from prep.errors import PrepError
from prep.findings import Severity
from prep.plurals import plural
from prep.records import record
from prep.services.input import jobs_done
from prep.services.input.act import Act
from prep.services.input.checks import printable

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

    from prep.findings import Finding
    from prep.reports.register_lists import ListTable
    from prep.services.catalogue.on_file import OnFile
    from prep.services.files.imports import ImportReport
    from prep.services.input.progress import Watcher

arguments: list[str] = []
"""What this command was called with, set by `main`."""

Db = Annotated[
    Path | None,
    typer.Option("--db", metavar="PATH", help="The inventory file. Default: PREP_DATABASE_URL, else your own."),
]
AsJson = Annotated[bool, typer.Option("--json", help="One JSON document on standard output, nothing else.")]
By = Annotated[
    str | None, typer.Option("--by", metavar="NAME", help="Who did it. Default: as set (prep usual), or your login.")
]
On = Annotated[
    str | None,
    typer.Option("--on", metavar="DATE", help="The day it happened; a weekday is the last one. Default: today."),
]


def group(help_: str, *, bare: bool = False) -> typer.Typer:
    """Make a command group in the house's style: plain help, no traceback, no completion installer.

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
    """Choose the name on every line of the ledger: --by, else the usual one (prep usual), else the login."""
    if by is not None and not by.strip():
        raise PrepError("--by is empty; give the name of who did it.")
    if by:
        return printable(by.strip(), 80, "--by")
    from prep.services.school import usual

    return usual.me() or login()


def login() -> str:
    """Find the name that the computer knows the user by."""
    import getpass  # slow to import, and rarely needed

    try:
        return getpass.getuser()
    except (OSError, KeyError):
        return "unknown"


def act(by: str | None, on: str | None = None) -> Act:
    """Put together who does it, from --by, and the day it is done, from --on. Raises PrepError."""
    return Act(who(by), done(on))


Sample = Annotated[
    bool, typer.Option("--sample", help="On the invented sample school, as on its own day; nothing is kept.")
]
_sample_day: list[date] = []


def today() -> date:
    """Tell the day, the computer's or the sample school's: the one place where the commands ask for it."""
    return _sample_day[0] if _sample_day else date.today()


@record(frozen=True, slots=True)
class OpenInventory:
    """The inventory that a command reads, None for the usual one, and its day."""

    path: Path | None
    today: date


@contextmanager
def sampled(db: Path | None, sample: bool) -> "Iterator[OpenInventory]":
    """Choose the inventory to read: with `sample` the invented school's, thrown away afterwards."""
    if not sample:
        yield OpenInventory(db, today())
        return
    if db is not None:
        raise PrepError("Give --sample or --db, not both.")
    from prep.services.inventory.init import sample_inventory

    with sample_inventory() as made:
        _sample_day[:] = [made.today]
        try:
            yield OpenInventory(made.path, made.today)
        finally:
            _sample_day.clear()


def on_file(db: Path | None, *, sample: bool) -> "OnFile":
    """Read what is on file; for the sample school the shipped catalogue, without a database. Raises PrepError."""
    from prep.services.catalogue import lookup

    if not sample:
        return lookup.known(db)
    from prep.resources import seed_data
    from prep.services.catalogue.seed import read_catalogue

    if db is not None:
        raise PrepError("Give --sample or --db, not both.")
    return read_catalogue(seed_data())


def reads(command: "Callable[..., None]") -> "Callable[..., None]":
    """Give a command that only reads the option --sample: it then gets the sample school's file as its `db`."""

    @wraps(command)
    def run(*, sample: bool = False, db: Path | None = None, **given: Any) -> None:
        with sampled(db, sample) as opened:
            command(db=opened.path, **given)

    taken = inspect.signature(command).parameters
    asked = inspect.Parameter("sample", inspect.Parameter.KEYWORD_ONLY, default=False, annotation=Sample)
    ordered = [part.replace(kind=inspect.Parameter.KEYWORD_ONLY) for part in taken.values()]
    place = list(taken).index("db")
    vars(run)["__signature__"] = inspect.Signature([*ordered[:place], asked, *ordered[place:]])
    run.__annotations__ = {**command.__annotations__, "sample": Sample}
    return run


def a_date(text: str | None, option: str, now: date | None = None) -> date:
    """Read a day from an option, counted from today where it is a word; today where not given. Raises PrepError."""
    now = now or today()
    return now if text is None else read_day(text, option, now, _order)


def a_use_by(text: str | None, option: str = "--use-by") -> date | None:
    """Read a use-by from an option, as on a label: a day, or a month, 12/2030. Raises PrepError."""
    return None if text is None else read_use_by(text, option, today(), _order)


def iso(text: str | None, option: str) -> str | None:
    """Read a day from an option, as year-month-day for a service that reads it itself. Raises PrepError."""
    return None if text is None else read_day(text, option, today(), _order).isoformat()


def _order() -> DayOrder | None:
    """Find whether the school writes day or month first; None where that is not set, or there is no school."""
    from prep.services.school import usual

    try:
        return usual.day_order(_named_file())
    except PrepError:
        return None


def _named_file() -> Path | None:
    """Find the inventory that --db of this command names, as a day is read before the command has its options."""
    words = arguments or sys.argv[1:]
    for word, after in zip(words, [*words[1:], ""], strict=True):
        if word == "--db" and after:
            return Path(after)
        if word.startswith("--db="):
            return Path(word.removeprefix("--db="))
    return None


def done(on: str | None) -> DoneOn:
    """Read the day of what was done, from --on; today where it is not given. Raises PrepError."""
    return read_done(on, "--on", today(), _order)


def took(said: str | None, code: str, name: str, choice: str = "") -> None:
    """Say which item was taken, where what was said is neither its code nor its name; a `choice` has its own words."""
    from prep.chemistry.spelling import key

    if choice:
        typer.echo(choice)
    elif said and said.strip() != code and key(said) != key(name):
        typer.echo(f'"{said.strip()}" is taken as {name}{f" ({code})" if code else ""}.')


def choice(db: Path | None, said: str | None, *, solution: bool = False) -> str:
    """Tell what a name that may mean several things is taken for; empty where it means one thing, or none."""
    if not said:
        return ""
    from prep.services.catalogue.names import taken_as

    return taken_as(db, said, only="solution" if solution else None)


def show_json(document: Any) -> None:
    """Print one JSON document; one of what a command did holds the number of its job too."""
    import json

    jobs = jobs_done.take()
    if isinstance(document, dict):  # a list may be of more than what was done; of just that, `with_job`
        document = jobs_done.written_into(document, jobs)
    json.dump(document, sys.stdout, ensure_ascii=False, indent=2, default=str)
    sys.stdout.write("\n")


def with_job(documents: "Iterable[dict[str, Any]]") -> list[dict[str, Any]]:
    """Write into each of the documents of what one job did the job's number."""
    written: list[dict[str, Any]] = jobs_done.written_into(list(documents), jobs_done.take())
    return written


def job() -> str:
    """Say which job was done, to stand behind a sentence's last word: ` (job 12)`; nothing where it is told already."""
    return jobs_done.brackets(jobs_done.take())


def told() -> None:
    """Let the jobs that were done count as told: the command has sentences of its own with their numbers."""
    jobs_done.take()


def numbered(sentence: str) -> str:
    """Write behind a sentence's last word which job was done."""
    told = job()
    return f"{sentence[:-1]}{told}." if told and sentence.endswith(".") else f"{sentence}{told}"


@contextmanager
def jobs_told() -> "Iterator[None]":
    """Tell at the end of a command which jobs it did and has not told of, so that each can be undone."""
    with jobs_done.collected():
        try:
            yield
        finally:
            if (left := job().strip()) and not as_document():
                typer.echo(left)


def as_document() -> bool:
    """Tell whether this command was asked for a document."""
    return "--json" in takewhile(lambda word: word != "--", arguments)


def tell(sentence: str) -> None:
    """Print a sentence, wrapped by words where the terminal is narrow."""
    from prep.reports import terminal

    terminal.say(sentence, hang=2)


Map = Annotated[
    list[str] | None, typer.Option("--map", metavar="COLUMN=NAME", help="A column of ours, and its name in the file.")
]
DryRun = Annotated[bool, typer.Option("--dry-run", help="Only say what would become of every row.")]


def write_lists(
    made: "ListTable", csv: Path | None, pdf: Path | None, as_json: bool, heading: "Sequence[str]" = ()
) -> None:
    """Write a list as CSV and as PDF, where asked for, and say so; `heading` stands on the paper."""
    from prep.reports.output_files import OutputFile, write_files

    wanted = [] if csv is None else [OutputFile(csv, made.csv())]
    wanted += [] if pdf is None else [OutputFile(pdf, made.pdf(heading))]
    if not wanted:
        return
    write_files(wanted)
    if not as_json:
        typer.echo(f"Wrote {', '.join(str(one.path) for one in wanted)}: {plural(len(made.rows), 'row')}.")


def show_fates(done: "ImportReport", dry_run: bool, as_json: bool) -> None:
    """Print what became of every row of a file. Raises PrepError where a row is wrong: nothing was written then."""
    wrong = done.wrong
    if as_json:
        rows = [
            {
                "file": f.file,
                "row": f.row,
                "wrong": f.wrong,
                "says": f.says,
                "code": f.code or None,
                "notes": list(f.notes),
            }
            for f in done.fates
        ]
        added = not wrong and not dry_run
        show_json({"added": added, "job": done.job, "rows": rows, "not_read": list(done.not_read)})
    elif dry_run or not wrong:
        for fate in done.fates:
            typer.echo(fate.says if fate.wrong else f"{fate.where}: {fate.says}")
            for note in fate.notes:
                typer.echo(f"  mind: {note}")
        if done.not_read:
            typer.echo(f"Not read: {', '.join(done.not_read)}.")
        if not wrong:
            rows_ = plural(len(done.fates), "row")
            typer.echo(f"{rows_} would be added." if dry_run else f"{rows_} added.")
    if wrong:
        more = f" (and {len(wrong) - 1} more; --dry-run lists them)" if len(wrong) > 1 and not dry_run else ""
        raise PrepError(f"{wrong[0].says.rstrip('.')}{more}; nothing was {'written' if dry_run else 'added'}.")


def shelf_notes(found: "Sequence[Finding]") -> list[dict[str, str]]:
    """List what must not stand beside a bottle where it was put, as JSON."""
    from prep.reports.finding_texts import finding_document

    return [finding_document(one) for one in found]


def told_of_shelves(found: "Mapping[str, Sequence[Finding]]") -> list[str]:
    """Say of new bottles what must not stand beside them: of each place the worst, with its cure; the rest counted."""
    from prep.reports.finding_texts import with_cure

    notes = list(dict.fromkeys(finding for some in found.values() for finding in some))
    said = []
    for place in dict.fromkeys(one.about for one in notes):
        apart, trays = (
            [one for one in notes if one.about == place and (one.severity == Severity.NOTE) is mild]
            for mild in (False, True)
        )
        if apart:
            worst = apart[0]
            said.append(f"Mind: {with_cure(worst)}")
        if more := len(apart) - 1 if apart else 0:
            said.append(f"Mind: {place}: {more} more there must not share its place (prep safety storage).")
        if trays:
            beside = plural(len(trays), "thing")
            said.append(f"Mind: {place}: in a tray of its own, beside {beside} there (prep safety storage).")
    return said


def show_shelf_notes(found: "Mapping[str, Sequence[Finding]]") -> None:
    """Print what must not stand beside new bottles (`told_of_shelves`)."""
    for said in told_of_shelves(found):
        typer.echo(said)


@contextmanager
def bar(verb: str, as_json: bool) -> "Iterator[Watcher]":
    """Draw a progress bar on standard error for a long job; none with --json or where that is no terminal."""
    from prep.services.input.progress import nobody

    if as_json or not sys.stderr.isatty():
        yield nobody
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TaskProgressColumn, TimeRemainingColumn

    columns = ("{task.description}", BarColumn(), TaskProgressColumn(), TimeRemainingColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as shown:
        task = shown.add_task(verb, total=None)
        yield lambda done, total: shown.update(task, completed=done, total=total)


def question(text: str) -> str:
    """Ask somebody at the terminal; an empty answer is one."""
    return str(typer.prompt(text, default="", show_default=False, prompt_suffix=" " if text.endswith("?") else ": "))
