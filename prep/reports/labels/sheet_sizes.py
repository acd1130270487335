"""Sheets of labels by rows, columns, margins and gaps, in millimetres; or one label alone on its page."""

import re
from dataclasses import dataclass

from prep.errors import PrepError
from prep.records import record

PAPERS_MM = {"A4": (210.0, 297.0), "A5": (148.0, 210.0), "A6": (105.0, 148.0), "Letter": (215.9, 279.4)}
_SMALLEST_MM = (15.0, 10.0)
_LARGEST_MM = 1200.0
_GRID = re.compile(r"(\d{1,2}) ?x ?(\d{1,2})")
_MM = r"(\d{1,4}(?:\.\d{1,3})?)"
_SINGLE = re.compile(rf"single,? {_MM} ?x ?{_MM}(?: ?mm)?", re.IGNORECASE)
_MARGINS = re.compile(rf"margins {_MM} {_MM} {_MM} {_MM}(?: ?mm)?")
_GAPS = re.compile(rf"gaps {_MM} {_MM}(?: ?mm)?")


@record(frozen=True, slots=True)
class Padding:
    """What stays blank inside a label [mm]."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def uneven(self) -> bool:
        """Whether one side keeps more blank than another."""
        sides = (self.left, self.top, self.right, self.bottom)
        return max(sides) > min(sides) + 0.01


@dataclass(frozen=True, slots=True)
class LabelSheet:
    """A page of equal labels; every length in mm. `edge_mm` is what the printer leaves blank at the page's edge.

    `outline` prints a thin line round each label, to cut plain paper along.
    """

    name: str
    page_width_mm: float
    page_height_mm: float
    columns: int = 1
    rows: int = 1
    left_mm: float = 0
    top_mm: float = 0
    right_mm: float = 0
    bottom_mm: float = 0
    gap_x_mm: float = 0
    gap_y_mm: float = 0
    edge_mm: float = 4.5
    outline: bool = False

    def __post_init__(self) -> None:
        """Check the sizes. Raises PrepError where no label of a useful size is left."""
        if not (self.columns >= 1 and self.rows >= 1):
            raise PrepError(f'the sheet "{self.name}" has no label; give at least 1 column and 1 row.')
        if max(self.page_width_mm, self.page_height_mm) > _LARGEST_MM:
            raise PrepError(f'the sheet "{self.name}" is larger than {_LARGEST_MM:g} mm; give sizes in mm.')
        if self.width_mm < _SMALLEST_MM[0] or self.height_mm < _SMALLEST_MM[1]:
            raise PrepError(
                f'on the sheet "{self.name}" a label would be {max(self.width_mm, 0):.1f} x '
                f"{max(self.height_mm, 0):.1f} mm; the smallest that can be printed is "
                f"{_SMALLEST_MM[0]:g} x {_SMALLEST_MM[1]:g} mm."
            )

    @property
    def width_mm(self) -> float:
        """Width of one label."""
        return (self.page_width_mm - self.left_mm - self.right_mm + self.gap_x_mm) / self.columns - self.gap_x_mm

    @property
    def height_mm(self) -> float:
        """Height of one label."""
        return (self.page_height_mm - self.top_mm - self.bottom_mm + self.gap_y_mm) / self.rows - self.gap_y_mm

    @property
    def places(self) -> int:
        """Labels on one sheet."""
        return self.columns * self.rows

    def corner_mm(self, place: int) -> tuple[float, float]:
        """Find left and top of a place on the page [mm].

        Places count from 0, row by row from the top left.
        """
        row, column = divmod(place, self.columns)
        return (
            self.left_mm + column * (self.width_mm + self.gap_x_mm),
            self.top_mm + row * (self.height_mm + self.gap_y_mm),
        )

    def padding_mm(self, place: int) -> "Padding":
        """Find the blank left, top, right and bottom inside the label [mm]: its own rim, and the printer's edge."""
        rim = min(2.5, 0.7 + min(self.width_mm, self.height_mm) / 40)
        left, top = self.corner_mm(place)
        right = self.page_width_mm - left - self.width_mm
        bottom = self.page_height_mm - top - self.height_mm
        return Padding(*(max(rim, self.edge_mm - round(side, 3)) for side in (left, top, right, bottom)))


def _a4(columns: int, rows: int, side: float, top: float, gap_x: float = 0, gap_y: float = 0) -> LabelSheet:
    width, height = PAPERS_MM["A4"]
    name = f"A4, {columns} x {rows}"
    return LabelSheet(name, width, height, columns, rows, side, top, side, top, gap_x, gap_y)


# Columns x rows. Common sizes of cut sheets, named by their count alone.
PRESETS: dict[str, LabelSheet] = {
    sheet.name: sheet
    for sheet in (
        _a4(1, 2, 5.2, 5.2, 0, 0),  # 199.6 x 143.3 mm
        _a4(2, 2, 4.65, 9.5, 2.5, 0),  # 99.1 x 139 mm
        _a4(2, 3, 4.65, 8.85, 2.5, 0),  # 99.1 x 93.1 mm
        _a4(2, 4, 4.65, 13.1, 2.5, 0),  # 99.1 x 67.7 mm
        _a4(2, 7, 4.65, 15.15, 2.5, 0),  # 99.1 x 38.1 mm
        _a4(3, 7, 7.25, 15.15, 2.5, 0),  # 63.5 x 38.1 mm
        _a4(3, 8, 0, 0),  # 70 x 37.1 mm
        _a4(4, 10, 0, 0),  # 52.5 x 29.7 mm
        _a4(4, 11, 8, 8.8),  # 48.5 x 25.4 mm
        _a4(5, 13, 4.75, 10.9, 2.5, 0),  # 38.1 x 21.2 mm
    )
}


USUAL = "A4, 2 x 7"
"""The sheet of labels that a prep room has, where nothing asks for another."""


def sheet_named(text: str) -> LabelSheet:
    """Find the sheet that a person names.

    A preset (`A4, 2 x 7`: two columns, seven rows); any paper and count with its own margins (left, top,
    right, bottom) and gaps (across, down), `A4, 3 x 6, margins 8 12 8 12, gaps 2 0`; without margins the
    page is divided evenly; or `single 60 x 40 mm`. Raises PrepError.
    """
    said = " ".join(text.replace("×", "x").split())
    if said in PRESETS:
        return PRESETS[said]
    if single := _SINGLE.fullmatch(said):
        width, height = float(single[1]), float(single[2])
        return LabelSheet(f"single {width:g} x {height:g} mm", width, height, edge_mm=0)
    paper, *parts = [part.strip() for part in said.split(",")]
    papers = {name.lower(): name for name in PAPERS_MM}
    if paper.lower() not in papers or not parts or not (grid := _GRID.fullmatch(parts[0])):
        raise _unknown(text)
    name = f"{papers[paper.lower()]}, {int(grid[1])} x {int(grid[2])}"
    if len(parts) == 1 and name in PRESETS:
        return PRESETS[name]
    left = top = right = bottom = gap_x = gap_y = 0.0
    for part in parts[1:]:
        if margins := _MARGINS.fullmatch(part):
            left, top, right, bottom = (float(margins[side]) for side in range(1, 5))
        elif gaps := _GAPS.fullmatch(part):
            gap_x, gap_y = float(gaps[1]), float(gaps[2])
        else:
            raise _unknown(text)
    width, height = PAPERS_MM[papers[paper.lower()]]
    full = ", ".join((name, *parts[1:]))
    columns, rows = int(grid[1]), int(grid[2])
    return LabelSheet(full, width, height, columns, rows, left, top, right, bottom, gap_x, gap_y)


def _unknown(text: str) -> PrepError:
    return PrepError(
        f'"{text[:60]}" is no sheet of labels; write one of: {"; ".join(PRESETS)}; or single 60 x 40 mm; or '
        "paper, columns x rows, margins (left top right bottom) and gaps, such as "
        '"A4, 3 x 6, margins 8 12 8 12, gaps 2 0".'
    )
