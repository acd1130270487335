"""Curves drawn to a file, side by side, each in its frame: SVG, PNG or PDF, the indicator's colours along them.

matplotlib draws; it is an extra of the package, and imported only here.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from io import BytesIO
from itertools import groupby, pairwise
from math import ceil, floor
from pathlib import Path
from textwrap import fill
from typing import Any

from prep.chemistry.acid_base.endpoints import whole_drops
from prep.errors import PrepError
from prep.reports.csv_table import csv_bytes
from prep.reports.formatting import three_figures
from prep.services.calc.titration_curve import CalculatedCourse
from prep.wording import Flag

KINDS = ("svg", "png", "pdf")
_COLOURS = {
    "colourless": "#c8c8c8",
    "red": "#d62828",
    "orange": "#f08a24",
    "amber": "#e0a020",
    "yellow": "#e3c918",
    "green": "#2f9e44",
    "blue-green": "#14918b",
    "blue": "#1f5fd0",
    "indigo": "#3f3d9e",
    "violet": "#7b3fb0",
    "purple": "#8e3aa8",
    "pink": "#e0508f",
    "brown": "#7a4a21",
}
"""Colour words of indicators as a screen shows them: common practice, no source."""
_PLAIN = "#333333"
_FRAMES_ABREAST = 2
_MOST_LETTERS = 44
"""Letters of a frame's name on a line."""


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """A point of a curve, and the colours that are seen there: two while one changes to the other."""

    x: float
    ph: float
    colours: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class CurveMark:
    """What a curve is marked with where something happens."""

    x: float
    says: str


@dataclass(frozen=True, slots=True)
class Curve:
    """One curve: what it is called, its points, and a mark where something happens; readings stay apart."""

    name: str
    points: tuple[CurvePoint, ...]
    marks: tuple[CurveMark, ...] = ()
    joined: bool = True


def curve_of(found: CalculatedCourse) -> Curve:
    """Convert a calculated course to a curve, in drops where drops are counted, else in mL."""
    rate, rated = found.drops_per_ml or 1.0, bool(found.drops_per_ml)
    points = tuple(CurvePoint(m.volume_ml * rate, m.ph, m.colours) for m in found.course.moments)
    marks = tuple(
        CurveMark(
            mark.volume_ml * rate,
            f"{mark.says}: {whole_drops(mark.volume_ml * rate) if rated else three_figures(mark.volume_ml)}",
        )
        for mark in found.marks
    )
    return Curve(found.name, points, marks)


def curves_csv(curves: Sequence[CalculatedCourse]) -> bytes:
    """Write the points of calculated curves as CSV."""
    rows = [
        (one.name, m.volume_ml, m.volume_ml * one.drops_per_ml if one.drops_per_ml else "", m.ph, m.colour)
        for one in curves
        for m in one.course.moments
    ]
    return csv_bytes(("added", "ml", "drops", "ph", "colour"), rows)


def picture(path: Path, series: Sequence[Curve], title: str, axis: str = "drops", upright: str = "pH") -> bytes:
    """Draw the curves as the file's name says, each line in a frame of its own, all to one scale.

    Readings that are not joined stand in the first frame. Raises PrepError for another kind, or without the library.
    """
    kind = path.suffix.lower().lstrip(".")
    if kind not in KINDS:
        raise PrepError(Flag("--plot"), f''' "{path.name[:60]}": name a file that ends in .{", .".join(KINDS)}.''')
    figure = _figure(series, title, axis, upright)
    file = BytesIO()
    about: dict[str, Any] = {"svg": {"Date": None}, "pdf": {"CreationDate": None}, "png": {}}[kind]
    figure.savefig(file, format=kind, dpi=150, metadata=about)
    return file.getvalue()


def calibration_picture(path: Path, document: Mapping[str, Any], readings: Sequence[float]) -> bytes:
    """Draw the readings of calibration standards with their line, as the file's name says. Raises PrepError."""
    strengths = [float(one["strength"]["value"]) for one in document["standards"]]
    slope, intercept = document["line"]["slope"], document["line"]["intercept"]
    ends = (min(0.0, *strengths), max(strengths))
    line = Curve("least squares", tuple(CurvePoint(x, slope * x + intercept) for x in ends))
    read = sorted(zip(strengths, readings, strict=True))
    drawn = [line, Curve("standards", tuple(CurvePoint(x, y) for x, y in read), joined=False)]
    if unknown := document.get("unknown"):
        found = unknown["value"]
        named = f"unknown: {found:.4g} {unknown['unit']}"
        drawn.append(Curve(named, (CurvePoint(found, slope * found + intercept),), joined=False))
    unit = document["standards"][0]["strength"]["unit"]
    return picture(path, drawn, "Calibration", f"strength, {unit}", "absorbance")


def _figure(series: Sequence[Curve], title: str, axis: str, upright: str = "pH") -> Any:
    try:
        import matplotlib
    except ImportError:
        raise PrepError(
            "Drawing needs the library matplotlib; in the folder that prep was installed from: pip install '.[plot]'"
        ) from None
    from matplotlib.figure import Figure

    matplotlib.rcParams["svg.hashsalt"] = "prep"  # the same curves give the same file
    lines = [one for one in series if one.joined]
    abreast = min(len(lines), _FRAMES_ABREAST)
    rows = ceil(len(lines) / abreast)
    size = (8, 5) if len(lines) == 1 else (5 * abreast, 3.8 * rows)
    figure = Figure(figsize=size, layout="constrained")
    frames = figure.subplots(rows, abreast, sharex=True, sharey=True, squeeze=False).ravel()
    for number, one in enumerate(series):
        axes = frames[lines.index(one) if one.joined else 0]
        _draw(axes, one, number)
    for number, axes in enumerate(frames):
        if number >= len(lines):
            axes.set_visible(False)
            continue
        axes.tick_params(labelbottom=True, labelleft=True)
        axes.set_xlabel(axis)
        axes.set_ylabel(upright)
        axes.grid(visible=True, color="#dddddd", linewidth=0.5)
        axes.margins(x=0.01)
        if len(lines) > 1:
            axes.set_title(fill(lines[number].name, _MOST_LETTERS), fontsize=9)
        else:
            axes.legend(fontsize=8)
    if len(lines) > 1:
        figure.suptitle(title)
    else:
        frames[0].set_title(title)
    return figure


def _draw(axes: Any, one: Curve, number: int) -> None:
    """Draw a curve in its frame, with the colours along it and its marks."""
    from matplotlib.collections import LineCollection

    line = [(point.x, point.ph) for point in one.points]
    axes.plot(
        *zip(*line, strict=True),
        "-" if one.joined else "osD^"[number % 4],
        color=_PLAIN,
        linewidth=1.0,
        markersize=5,
        label=one.name,
        gid=f"curve-{number}",
    )
    if any(point.colours for point in one.points):
        pieces = LineCollection(
            [[(a.x, a.ph), (b.x, b.ph)] for a, b in pairwise(one.points)],
            colors=[_colour(a.colours) for a, _ in pairwise(one.points)],
            linewidths=7,
            alpha=0.75,
            zorder=1,
            capstyle="round",
        )
        axes.add_collection(pieces)
    for mark in one.marks:
        x, height = mark.x, _height_at(one, mark.x)
        axes.plot([x], [height], "o", color=_PLAIN, markersize=4)
        left = _to_the_left(one, x)
        axes.annotate(
            mark.says,
            (x, height),
            xytext=(-6 if left else 6, 6),
            textcoords="offset points",
            horizontalalignment="right" if left else "left",
            fontsize=8,
        )


def _colour(words: Sequence[str]) -> str:
    """Find the colour of a colour word; of one that is changing, the mean of both."""
    if not words:
        return _PLAIN
    shades = [_COLOURS.get(one, "#999999") for one in words]
    mean = [sum(int(shade[n : n + 2], 16) for shade in shades) // len(shades) for n in (1, 3, 5)]
    return "#" + "".join(f"{value:02x}" for value in mean)


@dataclass(frozen=True, slots=True)
class ColourRun:
    """A piece of a curve's path over which one colour is seen."""

    path: str
    colour: str


@dataclass(frozen=True, slots=True)
class DrawnMark:
    """A mark laid out on a page; its words to the left of it, or to the right."""

    x: float
    y: float
    says: str
    left: bool


@dataclass(frozen=True, slots=True)
class AxisTick:
    """A place on an axis of a page, and the figure that stands there."""

    at: float
    says: str


@dataclass(frozen=True, slots=True)
class DrawnCurve:
    """A curve laid out on a page: its path, the runs of one colour along it, and its marks."""

    name: str
    path: str
    runs: tuple[ColourRun, ...]
    marks: tuple[DrawnMark, ...]


@dataclass(frozen=True, slots=True)
class PageCurves:
    """Curves, each in a box of its own of `width` x `height` points, all with the same ticks on both axes."""

    curves: tuple[DrawnCurve, ...]
    across: tuple[AxisTick, ...]
    up: tuple[AxisTick, ...]
    width: int
    height: int = 380


_LEFT, _TOP, _BOTTOM = 34, 10, 350
_WHOLE, _HALF = 720, 440
"""How wide a box is that stands alone, and one of several."""
_BESIDE = 30  # points kept free to the right of a box, where the last tick's figure ends


def on_page(series: Sequence[Curve]) -> PageCurves:
    """Lay curves out for a page, each in a box of its own, all to one scale: pH upwards over drops or mL."""
    width = _WHOLE if len(series) == 1 else _HALF
    end = width - _BESIDE
    right = max((one.points[-1].x for one in series), default=1.0) or 1.0
    levels = [point.ph for one in series for point in one.points] or [0.0, 14.0]
    low, high = floor(min(levels)), max(ceil(max(levels)), floor(min(levels)) + 1)

    def x(value: float) -> float:
        return round(_LEFT + (end - _LEFT) * value / right, 1)

    def y(ph: float) -> float:
        return round(_BOTTOM - (_BOTTOM - _TOP) * (ph - low) / (high - low), 1)

    def path(points: Sequence[CurvePoint]) -> str:
        return "M" + " L".join(f"{x(point.x)} {y(point.ph)}" for point in points)

    drawn = []
    for one in series:
        runs = []
        for colours, piece in groupby(pairwise(one.points), key=lambda pair: pair[0].colours):
            pairs = list(piece)
            if colours:
                runs.append(ColourRun(path([pairs[0][0], *(after for _, after in pairs)]), _colour(colours)))
        marks = [
            DrawnMark(x(mark.x), y(_height_at(one, mark.x)), mark.says, _to_the_left(one, mark.x)) for mark in one.marks
        ]
        drawn.append(DrawnCurve(one.name, path(one.points), tuple(runs), tuple(marks)))
    across = [right * quarter / 4 for quarter in range(5)]
    step = 1 if high - low <= 7 else 2
    return PageCurves(
        tuple(drawn),
        tuple(AxisTick(x(value), three_figures(value)) for value in across),
        tuple(AxisTick(y(ph), str(ph)) for ph in range(low, high + 1, step)),
        width,
    )


def _to_the_left(one: Curve, x: float) -> bool:
    """Tell whether a mark's words stand to its left: clear of the curve, above which they are, and in the frame."""
    share = x / (one.points[-1].x or 1.0)
    rises = one.points[-1].ph > one.points[0].ph
    return share > (0.3 if rises else 0.7)


def _height_at(one: Curve, x: float) -> float:
    """Find the pH of the first point of a curve that is not before `x`, else of its last."""
    return next((point.ph for point in one.points if point.x >= x - 1e-9), one.points[-1].ph)
