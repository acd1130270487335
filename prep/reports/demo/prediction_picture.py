"""A prediction's curves, ready to be drawn, and written to files."""

from pathlib import Path

from prep.chemistry.acid_base.colour_course import CourseMark
from prep.errors import PrepError
from prep.reports.curves import Curve, CurveMark, CurvePoint, picture
from prep.reports.demo.prediction_view import prediction_csv
from prep.reports.formatting import three_figures
from prep.reports.output_files import OutputFile, write_files
from prep.services.demos.prediction import Prediction


def series_of(found: Prediction) -> list[Curve]:
    """Prepare one curve a vessel, in drops or mL, marked where a colour change is complete."""
    out = []
    for one in found.vessels:
        rate = (one.drops_per_ml or 1.0) if found.in_drops else 1.0
        points = tuple(CurvePoint(m.volume_ml * rate, m.ph, m.colours) for m in one.course.moments)
        marks = tuple(
            CurveMark(last.volume_ml * rate, f"{changes[-1].after}: {_told(last, found.in_drops)}")
            for changes in one.changes
            if (last := changes[-1].ends)
        )
        name = one.called + (f": still {one.stays}" if one.stays else "")
        out.append(Curve(name, points, marks))
    return out


def _told(mark: CourseMark, in_drops: bool) -> str:
    """Say where a change is complete as the prediction says it: whole drops are counted."""
    return str(mark.drops.count) if in_drops and mark.drops else three_figures(mark.volume_ml)


def write_curves(found: Prediction, plot: Path | None, csv: Path | None) -> list[str]:
    """Write the picture and the points that are asked for, and say where. Raises PrepError."""
    files: list[OutputFile] = []
    if plot is not None:
        if not found.vessels:
            raise PrepError(f"{found.demo.name}: there is no curve to draw.")
        axis = "drops" if found.in_drops else "mL"
        files.append(OutputFile(plot, picture(plot, series_of(found), found.demo.name, axis)))
    if csv is not None:
        files.append(OutputFile(csv, prediction_csv(found)))
    if files:
        write_files(files)
    return [str(one.path) for one in files]
