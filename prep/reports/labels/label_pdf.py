"""Bottle labels as PDF: what a label says is never cut, and what a small one leaves out is said.

A label of any size is set as large as it can be, and over a sheet the type of those that say all is even. Where all
of it does not fit at the smallest letters, parts are left out in the order of `layout.REDUCTIONS`; name, strength,
signal word, pictograms, dates and code stay, or it is an error.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from io import BytesIO
from typing import Any

from prep.errors import PrepError
from prep.reports.labels.layout import MM, QUIET, LaidLabel, LeastSizes, characters, lay, qr_matrix
from prep.reports.labels.legal_sizes import least_sizes, too_small
from prep.reports.labels.sheet_choice import SheetGroup, grouped
from prep.reports.labels.sheet_sizes import USUAL, LabelSheet, Padding, sheet_named
from prep.reports.pdf import fonts, pictograms
from prep.safety.label_content import LabelContent
from prep.safety.model import Statement

_LARGER = "Choose a sheet with larger labels."
_NAME_MM = 2.5  # of the margin, for the name of a sheet


@dataclass(frozen=True, slots=True)
class LabelsResult:
    """The file, the labels by kind of sheet, and a sentence for each thing a label leaves out or writes otherwise."""

    pdf: bytes
    notes: tuple[str, ...]
    groups: tuple[SheetGroup, ...]

    @property
    def sheet(self) -> LabelSheet:
        """The sheet that its first page is for."""
        return self.groups[0].sheet


def render(contents: Sequence[LabelContent], sheet: LabelSheet, start_at: int = 1) -> LabelsResult:
    """Print labels on as many pages as they need, the first one at place `start_at`.

    Place 1 is the top left, then by rows. The same input gives the same bytes. Raises PrepError where there is
    nothing to print, the place is not on the sheet, a label has no name or an unknown pictogram, a name has
    characters that no font at hand has, or a label is too small for what it must say.
    """
    if not 1 <= start_at <= sheet.places:
        raise PrepError(f'place {start_at} is not on the sheet "{sheet.name}"; it has places 1 to {sheet.places}.')
    return _printed([SheetGroup(sheet, tuple(map(_tidy, contents)))], start_at)


def _printed(groups: Sequence[SheetGroup], start_at: int = 1) -> LabelsResult:
    from reportlab.pdfgen.canvas import Canvas

    if not any(group.contents for group in groups):
        raise PrepError("there is no label to print; name at least one bottle or batch.")
    fonts.use_fonts()
    file = BytesIO()
    canvas = Canvas(file, invariant=1, pageCompression=1)
    canvas.setTitle("Labels")
    canvas.setCreator("prep")
    notes: list[str] = []
    for group in groups:
        said = _print_group(canvas, group, start_at, named=len(groups) > 1)
        notes += [note for note in said if note not in notes]
    canvas.save()
    return LabelsResult(file.getvalue(), tuple(notes), tuple(groups))


def _print_group(canvas: Any, group: SheetGroup, start_at: int, *, named: bool) -> list[str]:
    """Print the labels of one kind of sheet on pages of their own; returns what is to be said of them."""
    sheet, notes = group.sheet, []
    places = [index % sheet.places for index in range(start_at - 1, start_at - 1 + len(group.contents))]
    settings = list(zip(group.contents, map(sheet.padding_mm, places), strict=True))
    laid, sizes = _first_laid(settings, sheet)
    even = max((one.scale_at for one in laid.values() if one.whole), default=0)
    for at, ((content, padding), place) in enumerate(zip(settings, places, strict=True)):
        if at == 0 or place == 0:
            _begin_page(canvas, sheet, named=named)
        label = laid[content, padding]
        if label.whole and label.scale_at != even:
            label = laid[content, padding] = lay(content, sheet, padding, even, sizes[content, padding])
        notes += [*label.notes, *_legally(content, label, sheet)]
        _draw(canvas, label, content, sheet, place)
        if at == len(settings) - 1 or place == sheet.places - 1:
            canvas.showPage()
    return notes


def _begin_page(canvas: Any, sheet: LabelSheet, *, named: bool) -> None:
    """Set the page's size, and name the sheet in its upper margin, if that is wide enough and there are others."""
    canvas.setPageSize((sheet.page_width_mm * MM, sheet.page_height_mm * MM))
    if named and sheet.top_mm >= sheet.edge_mm + _NAME_MM:
        baseline = (sheet.page_height_mm - sheet.edge_mm - _NAME_MM + 0.5) * MM
        fonts.draw(canvas, f"Sheet of labels: {sheet.name}", 2 * sheet.edge_mm * MM, baseline, fonts.REGULAR, 6)


_Setting = tuple[LabelContent, Padding]
"""What stands on a label, and the blank inside it."""


def _first_laid(
    settings: Sequence[_Setting], sheet: LabelSheet
) -> tuple[dict[_Setting, LaidLabel], dict[_Setting, LeastSizes]]:
    """Set each label as large as it fits, its letters as large as the largest bottle asks for where they can be."""
    own = {one: least_sizes(one[0], sheet) for one in dict.fromkeys(settings)}
    common = max((sizes.letter_pt for sizes in own.values()), default=0.0)
    laid, used = {}, {}
    for one, sizes in own.items():
        laid[one], used[one] = lay(one[0], sheet, one[1], 0, sizes), sizes
        if laid[one].whole and sizes.letter_pt < common:
            larger = replace(sizes, letter_pt=common)
            found = lay(one[0], sheet, one[1], 0, larger)
            if found.whole and _smallest(found) >= common - 0.01:
                laid[one], used[one] = found, larger
    return laid, used


def _smallest(laid: LaidLabel) -> float:
    return min((line.size for line in laid.lines), default=0.0)


def render_on(contents: Sequence[LabelContent], sheet: str | None, start_at: int = 1) -> LabelsResult:
    """Set labels for the sheet that is named; without a name on one large enough, or on a used one of the usual kind.

    Raises PrepError as `render` and `sheet_named`.
    """
    if sheet or start_at != 1:
        return render(contents, sheet_named(sheet or USUAL), start_at)
    return render_large_enough(contents)


def render_large_enough(contents: Sequence[LabelContent]) -> LabelsResult:
    """Print each label on the sheet with the most labels that is large enough for its bottle, a kind on its own pages.

    Nothing on a label is then smaller than its bottle asks for. Where there is no such sheet, on the one with the
    largest labels, which is said.
    """
    fonts.use_fonts()
    return _printed(grouped(list(map(_tidy, contents))))


def _legally(content: LabelContent, laid: LaidLabel, sheet: LabelSheet) -> Iterator[str]:
    """Say in one sentence what of a label is smaller than its bottle asks for."""
    small = list(too_small(content, laid, sheet))
    if small:
        who = content.bottle or content.name
        yield f"{who} (holds {content.capacity_ml or 0:g} mL): {'; '.join(small)}. {_LARGER}"


def _tidy(content: LabelContent) -> LabelContent:
    """Tidy the content to single blanks; refused where it names nothing or cannot be printed."""

    def clean(text: str) -> str:
        return " ".join(text.split())

    def cleaned(texts: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(filter(None, map(clean, texts)))

    def printed(statements: tuple[Statement, ...]) -> tuple[Statement, ...]:
        return tuple(Statement(clean(one.code), clean(one.text)) for one in statements if clean(str(one)))

    tidy = replace(
        content,
        name=clean(content.name),
        strength=_together(clean(content.strength)),
        bottle=clean(content.bottle),
        made_by=clean(content.made_by),
        keeping=clean(content.keeping),
        signal=clean(content.signal),
        school=clean(content.school),
        h_statements=printed(content.h_statements),
        p_statements=printed(content.p_statements),
        notes=cleaned(content.notes),
        pictograms=tuple(dict.fromkeys(content.pictograms)),
    )
    if not tidy.name:
        raise PrepError(f'the label of bottle "{tidy.bottle}" has no name; give the substance or solution.')
    for code in tidy.pictograms:
        pictograms.shapes(code)
    if missing := fonts.unprintable((tidy.name, tidy.strength, tidy.signal, tidy.bottle)):
        raise PrepError(
            f'the label "{tidy.name[:60]}" has characters that no font on this computer can print '
            f"({characters(missing)}); write them in Latin letters."
        )
    return tidy


def _together(text: str) -> str:
    """Join a short text by no-break spaces, so that a number stays with its unit."""
    return text.replace(" ", "\u00a0") if len(text) <= 16 else text


def _draw(canvas: Any, laid: LaidLabel, content: LabelContent, sheet: LabelSheet, place: int) -> None:
    from reportlab.lib.colors import Color

    left, top = (side * MM for side in sheet.corner_mm(place))
    ceiling = sheet.page_height_mm * MM - top
    if sheet.outline:
        canvas.setStrokeColor(Color(0.6, 0.6, 0.6))
        canvas.setLineWidth(0.3)
        canvas.rect(left, ceiling - sheet.height_mm * MM, sheet.width_mm * MM, sheet.height_mm * MM)
    canvas.setFillColor(Color(0, 0, 0))
    for line in laid.lines:
        fonts.draw(canvas, line.text, left + line.x, ceiling - line.y, line.font, line.size)
    for picture in laid.pictures:
        box = picture.box
        pictograms.draw(canvas, picture.code, left + box.x, ceiling - box.bottom, box.width)
    if laid.qr:
        _draw_qr(canvas, content.coded, left + laid.qr.x, ceiling - laid.qr.y, laid.qr.width)


def _draw_qr(canvas: Any, code: str, x: float, top: float, side: float) -> None:
    """Draw a QR code as one path of dark runs, so that no seam shows; the quiet zone is inside `side`."""
    matrix = qr_matrix(code)
    step = side / (len(matrix) + 2 * QUIET)
    path = canvas.beginPath()
    for row, cells in enumerate(matrix):
        for run in re.finditer(b"\x01+", bytes(cells)):
            path.rect(
                x + (QUIET + run.start()) * step,
                top - (QUIET + row + 1) * step,
                (run.end() - run.start()) * step,
                step,
            )
    canvas.drawPath(path, stroke=0, fill=1)
