"""An answer of the calculator, on the screen or as JSON, and its curves as files."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from prep.cli import common

if TYPE_CHECKING:
    from prep.services.calc.arithmetic import Answer


Plot = Annotated[Path | None, typer.Option("--plot", metavar="FILE", help="Draw the curves: .svg, .png or .pdf.")]
Csv = Annotated[Path | None, typer.Option("--csv", metavar="FILE", help="Write the curves' points.")]


def write_curves(answer: "Answer", title: str, plot: Path | None, csv: Path | None) -> list[str]:
    """Write the picture and the points that are asked for; says where. Raises PrepError."""
    if plot is None and csv is None:
        return []
    from prep.reports.curves import curve_of, curves_csv, picture
    from prep.reports.output_files import OutputFile, write_files

    files = []
    if plot is not None:
        axis = "drops" if answer.curves[0].drops_per_ml else "mL"
        files.append(OutputFile(plot, picture(plot, [curve_of(one) for one in answer.curves], title, axis)))
    if csv is not None:
        files.append(OutputFile(csv, curves_csv(answer.curves)))
    write_files(files)
    return [str(one.path) for one in files]


def show(answer: "Answer", as_json: bool) -> None:
    """Print an answer with its working, as sentences or as one document."""
    if as_json:
        common.show_json({**answer.document, "working": [line.as_json() for line in answer.working]})
        return
    from prep.reports import terminal

    for sentence in answer.says:
        for line in sentence.splitlines() or [""]:  # a drawing has several
            terminal.say(line, hang=2)
    if answer.working:
        terminal.say("\nWorking:")
    terminal.working(answer.working)
