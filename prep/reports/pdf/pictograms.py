"""The nine GHS pictograms as vectors: a red square on its point, white inside, a black symbol.

Drawn by us from the verbal description of the symbols in the UN GHS (Annex 1 and 1.4.10.4). Coordinates are
a box of 100 by 100 with y downwards, the square's points at the middles of the box's sides. Each is a file of
drawings/, SVG of filled paths alone (absolute M, L, C, Q and Z only).
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from prep.errors import PrepError
from prep.safety.clp.label_elements import PICTOGRAMS

_DRAWINGS = Path(__file__).with_name("drawings")
_PATH = "{http://www.w3.org/2000/svg}path"
_TOKEN = re.compile(r"[MLCQZ]|-?\d+(?:\.\d+)?")
_ARGUMENTS = {"M": 2, "L": 2, "Q": 4, "C": 6, "Z": 0}


@dataclass(frozen=True, slots=True)
class FilledShape:
    """A part of a drawing: its fill colour, and its outline as SVG path data."""

    fill: str
    data: str


def shapes(code: str) -> tuple[FilledShape, ...]:
    """List the parts of a pictogram in drawing order; fill rule nonzero.

    Raises PrepError for a code that is none of GHS01 to GHS09.
    """
    if code not in PICTOGRAMS:
        raise PrepError(f'"{code[:20]}" is no GHS pictogram; the codes are {", ".join(PICTOGRAMS)}.')
    return _read(code)


@cache
def _read(code: str) -> tuple[FilledShape, ...]:
    """Read the filled paths of a drawing, in their order."""
    import xml.etree.ElementTree as ET  # late import: its name alone needs no drawing

    drawing = ET.parse(_DRAWINGS / f"{code}.svg")
    return tuple(FilledShape(path.get("fill", "#000000"), path.get("d", "")) for path in drawing.iter(_PATH))


def draw(canvas: Any, code: str, x: float, y: float, size: float) -> None:
    """Draw on a ReportLab canvas: lower left corner of the box at `x`, `y`, side `size`, all in points.

    Raises PrepError as `shapes`.
    """
    from reportlab.lib.colors import HexColor

    all_shapes = shapes(code)
    canvas.saveState()
    canvas.translate(x, y + size)
    canvas.scale(size / 100, -size / 100)
    for shape in all_shapes:
        canvas.setFillColor(HexColor(shape.fill))
        path = canvas.beginPath()
        for command, values in _steps(shape.data):
            {"M": path.moveTo, "L": path.lineTo, "C": path.curveTo, "Z": path.close}[command](*values)
        canvas.drawPath(path, stroke=0, fill=1, fillMode=1)
    canvas.restoreState()


def _steps(data: str) -> Iterator[tuple[str, list[float]]]:
    """Split path data into commands with their numbers.

    A quadratic curve comes as the cubic that equals it.
    """
    tokens = _TOKEN.findall(data)
    at, command, here = 0, "", (0.0, 0.0)
    while at < len(tokens):
        if tokens[at].isalpha():
            command, at = tokens[at], at + 1
        count = _ARGUMENTS[command]
        values = [float(token) for token in tokens[at : at + count]]
        at += count
        if command == "Q":
            (x0, y0), (x1, y1, x2, y2) = here, values
            values = [
                x0 + 2 / 3 * (x1 - x0),
                y0 + 2 / 3 * (y1 - y0),
                x2 + 2 / 3 * (x1 - x2),
                y2 + 2 / 3 * (y1 - y2),
                x2,
                y2,
            ]
            yield "C", values
        else:
            yield command, values
        if values:
            here = (values[-2], values[-1])
