"""A prediction as JSON, CSV and on the screen, curves side by side, each in its frame."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, floor
from textwrap import wrap
from typing import Any

from prep.chemistry.acid_base.colour_course import CourseMark, CourseMoment, through
from prep.plurals import plural
from prep.reports import terminal
from prep.reports.csv_table import csv_bytes
from prep.reports.formatting import three_figures
from prep.services.demos.prediction import PredictedVessel, Prediction

_LABELS, _BETWEEN = 8, 2
_LEAST_WIDE, _MOST_WIDE, _MOST_ABREAST = 36, 78, 2
"""Columns of a frame with its labels: fewer show no curve, more only stretch it."""


@dataclass(frozen=True, slots=True)
class _Scale:
    """What every frame has in common: up to how much is added, from which pH to which, and its size."""

    right: float
    low: int
    high: int
    columns: int
    height: int


def prediction_document(found: Prediction) -> dict[str, Any]:
    """Write a prediction as JSON."""
    return {
        "demo": found.demo.code,
        "name": found.demo.name,
        "vessels": [_vessel(one) for one in found.vessels],
        "not_computed": list(found.unknown),
        "must_not_meet": [{"text": line.text, "source": line.source} for line in found.meet],
    }


def _vessel(one: PredictedVessel) -> dict[str, Any]:
    return {
        "vessel": one.vessel,
        "contains": list(one.contents),
        "portions": one.portions,
        "added": one.added,
        "dropper": one.dropper,
        "drops_per_ml": one.drops_per_ml,
        "spread_pct": one.spread_pct,
        "indicator": one.indicator or None,
        "until": one.until or None,
        "textbook_ml": one.textbook_ml,
        "computed_ml": one.computed_ml,
        "why_not_computed": one.why or None,
        "start": _moment(one.course.start, one),
        "end": _moment(one.course.end, one),
        "unchanged": one.stays or None,
        "changes": [
            {
                "from": change.before,
                "to": change.after,
                "begins": _mark(change.begins),
                "complete": _mark(change.ends),
            }
            for change in one.course.passages
        ],
        "after_its_own_drops": _moment(one.own, one) if one.own else None,
        "asked": [_moment(moment, one) for moment in one.asked],
        "curve": [_moment(moment, one) for moment in one.course.moments],
        "valid": one.course.valid,
    }


def _moment(moment: CourseMoment, one: PredictedVessel) -> dict[str, Any]:
    return {
        "ml": moment.volume_ml,
        "drops": moment.volume_ml * one.drops_per_ml if one.drops_per_ml else None,
        "ph": moment.ph,
        "colour": moment.colour or None,
    }


def _mark(mark: CourseMark | None) -> dict[str, Any] | None:
    if mark is None:
        return None
    drops = mark.drops
    return {
        "ml": mark.volume_ml,
        "ml_least": mark.fewest_ml,
        "ml_most": mark.most_ml,
        "drops": drops.count if drops else None,
        "fewest": drops.fewest if drops else None,
        "most": drops.most if drops else None,
    }


def prediction_csv(found: Prediction) -> bytes:
    """Write the points of every curve as CSV."""
    rows = [
        (one.vessel, one.added, moment.volume_ml, drops, moment.ph, moment.colour)
        for one in found.vessels
        for moment in one.course.moments
        for drops in (moment.volume_ml * one.drops_per_ml if one.drops_per_ml else "",)
    ]
    return csv_bytes(("vessel", "added", "ml", "drops", "ph", "colour"), rows)


def show_prediction(found: Prediction) -> None:
    """Print what may be made in it, what each vessel will show, then the curves."""
    terminal.say(f"{found.demo.name} ({found.demo.code}), as computed for 25 degC", bold=True)
    for danger in found.meet:
        terminal.say(f"MIND, IF THEY ARE TO MEET. {danger.text}", bold=True, hang=2)
    for one in found.vessels:
        terminal.say()
        _show_vessel(one, found.in_drops)
    for why in found.unknown:
        terminal.say(f"Not computed. {why}", hang=2)
    if not found.vessels and not found.unknown:
        terminal.say("Nothing in it is dropped or run into an acid, a base or a buffer: there is no curve to compute.")
    if found.vessels:
        terminal.say()
        named = [(one.called, _points(one, found.in_drops)) for one in found.vessels]
        for line in curves(named, _axis(found), width=min(terminal.width() - 2, 2 * _MOST_WIDE)):
            print(line)
    terminal.say("Computed for the strengths on file; try it before the lesson. Data sheet and local rules prevail.")


def _show_vessel(one: PredictedVessel, in_drops: bool) -> None:
    terminal.say(f"{one.called}: {inside_of(one)}", hang=2)
    for line in vessel_lines(one, in_drops):
        terminal.say(f"  {line}", hang=4)


def inside_of(one: PredictedVessel) -> str:
    """Say what is in a vessel at the start; of several portions, in one."""
    inside = ", ".join(one.contents) or "nothing named"
    return f"{inside}; one of {one.portions} such portions" if one.portions > 1 else inside


def vessel_lines(one: PredictedVessel, in_drops: bool) -> list[str]:
    """Write what a vessel will show: what runs in, where it begins, each change, where it ends."""
    until = f" until {one.until}" if one.until else ""
    lines = [f"{one.added} from the {one.dropper} ({one.drops_per_ml:g} drops/mL){until}"]
    start, end = one.course.start, one.course.end
    lines.append(f"begins at pH {start.ph:.2f}{_coloured(start)}")
    for changes in one.changes:
        change = changes[0]
        if len(changes) > 1 and (last_one := changes[-1].ends):
            lines.append(f"{through(changes)} within a drop, {_drops(last_one, in_drops)}")
            continue
        begins = f"begins {_drops(change.begins, in_drops)}" if change.begins else "is changing from the start"
        complete = f"complete {_drops(change.ends, in_drops)}" if change.ends else "not complete by then"
        lines.append(f"{through(changes)}: {begins}, {complete}")
    last = f"{three_figures(end.volume_ml)} mL"
    if in_drops:
        last = f"{end.volume_ml * (one.drops_per_ml or 1):.0f} drops ({last})"
    if one.stays:
        lines.append(f"still {one.stays} at {last}, pH {end.ph:.2f}")
    else:
        lines.append(f"at {last}: pH {end.ph:.2f}{_coloured(end)}")
    for moment in (*([one.own] if one.own else []), *one.asked):
        its = "its own " if moment is one.own else ""
        still = "still " if moment.colour and moment.colour == start.colour else ""
        colour = f", {still}{moment.colour}" if moment.colour else ""
        count = plural(round(moment.volume_ml * (one.drops_per_ml or 1)), "drop")
        lines.append(f"after {its}{count}: pH {moment.ph:.2f}{colour}")
    figures = []
    if one.textbook_ml is not None:
        figures.append(f"the demo's own figure {three_figures(one.textbook_ml)} mL")
    if one.until:
        figures.append(
            f"not computed: {one.why}"
            if one.computed_ml is None
            else "computed: less than a drop"
            if one.computed_ml < _MEASURED_ML
            else f"computed {three_figures(one.computed_ml)} mL"
        )
    if figures:
        lines.append("; ".join(figures))
    if one.colourless:
        lines.append("The pH hardly moves: a precipitate or a colour of its own is not computed.")
    if not one.course.valid:
        lines.append("More concentrated than the model holds for (Davies): take the figures as a guide only.")
    return lines


def _coloured(moment: CourseMoment) -> str:
    return f", {moment.colour}" if moment.colour else ""


_READ_ML = 5.0
"""From here on nobody counts: the millilitres stand beside the drops."""

_MEASURED_ML = 0.01
"""Below this nothing in the room measures: common practice, no source."""


def _drops(mark: CourseMark, in_drops: bool) -> str:
    if mark.drops is None or not in_drops:
        if mark.most_ml < _MEASURED_ML:
            return "with the first drop"
        return (
            f"at {three_figures(mark.volume_ml)} mL ({three_figures(mark.fewest_ml)} to {three_figures(mark.most_ml)})"
        )
    drops = mark.drops
    read = f", {three_figures(mark.volume_ml)} mL" if mark.volume_ml > _READ_ML else ""
    return f"at {plural(drops.count, 'drop')}{read} ({drops.fewest} to {drops.most})"


def _axis(found: Prediction) -> str:
    return "drops" if found.in_drops else "mL"


def _points(one: PredictedVessel, in_drops: bool) -> list[tuple[float, float]]:
    rate = (one.drops_per_ml or 1.0) if in_drops else 1.0
    return [(moment.volume_ml * rate, moment.ph) for moment in one.course.moments]


def curves(
    named: Sequence[tuple[str, Sequence[tuple[float, float]]]], axis: str, *, width: int = 78, height: int = 16
) -> list[str]:
    """Draw curves in plain text, each in a frame of its own, two abreast where there is room, all to one scale."""
    abreast = min(len(named), max(1, (width + _BETWEEN) // (_LEAST_WIDE + _BETWEEN)), _MOST_ABREAST)
    wide = min(width, _MOST_WIDE) if abreast == 1 else (width + _BETWEEN) // abreast - _BETWEEN
    right = max(points[-1][0] for _, points in named) or 1.0
    levels = [ph for _, points in named for _, ph in points]
    low, high = floor(min(levels)), max(ceil(max(levels)), floor(min(levels)) + 1)
    scale = _Scale(right, low, high, wide - _LABELS, height if len(named) == 1 else height - 3)
    frames = [[*wrap(name, wide), *_framed(points, scale, axis)] for name, points in named]
    lines: list[str] = []
    for at in range(0, len(frames), abreast):
        row = frames[at : at + abreast]
        tallest = max(map(len, row))
        row = [
            [*frame[: -scale.height - 3], *[""] * (tallest - len(frame)), *frame[-scale.height - 3 :]] for frame in row
        ]
        lines += [
            *([""] if at else []),
            *((" " * _BETWEEN).join(part.ljust(wide) for part in parts).rstrip() for parts in zip(*row, strict=True)),
        ]
    return lines


def _framed(points: Sequence[tuple[float, float]], scale: _Scale, axis: str) -> list[str]:
    """Draw one curve over its axis."""
    low, high, columns, height = scale.low, scale.high, scale.columns, scale.height
    rows = [[" "] * columns for _ in range(height)]
    before: int | None = None
    for column in range(columns):
        x = scale.right * column / (columns - 1)
        if x > points[-1][0] * (1 + 1e-9):
            break
        row = round((high - _at(points, x)) / (high - low) * (height - 1))
        top, bottom = (row, row) if before is None else (min(row, before), max(row, before))
        for between in range(top + (before == top != row), bottom + 1 - (before == bottom != row)):
            rows[between][column] = "*"
        before = row
    lines = ["   pH"]
    for n, row_ in enumerate(rows):
        label = f"{high - (high - low) * n / (height - 1):5.1f}" if n % 3 == 0 or n == height - 1 else " " * 5
        lines.append(f"{label} |{''.join(row_)}".rstrip())
    lines.append("      +" + "-" * columns)
    middle, last = three_figures(scale.right / 2), f"{three_figures(scale.right)} {axis}"
    at = columns // 2 - len(middle) // 2
    lines.append("       0" + " " * (at - 1) + middle + last.rjust(columns - at - len(middle)))
    return lines


def _at(points: Sequence[tuple[float, float]], x: float) -> float:
    """Interpolate the curve at x, between its points."""
    for (x1, y1), (x2, y2) in pairwise(points):
        if x <= x2:
            return y1 if x2 == x1 else y1 + (y2 - y1) * (x - x1) / (x2 - x1)
    return points[-1][1]
