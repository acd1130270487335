"""A4 pages for the bench: black on white, tick boxes, every page numbered, with the deferral at its foot."""

import re
from collections.abc import Callable, Sequence
from io import BytesIO
from typing import Any

from prep.reports.pdf import fonts, pictograms
from prep.safety.deferral import DEFERRAL

MM = 72 / 25.4
WIDTH = 210 * MM - 2 * 14 * MM  # of the text
_INK = 0.35  # pt, of thin lines
_SPLIT = 60  # pt; a row goes on over the page only where both parts are taller than this, if that can be


class Paper:
    """The paper of one document: it makes the parts of a page, and keeps the letters that could not be printed."""

    def __init__(self, split: int = _SPLIT) -> None:
        self.lost: set[str] = set()
        self.tight = 1.0
        """What a story makes its leading by."""
        self.leading = 1.25
        """Between lines, in heights of their letters."""
        self.split = split

    def text(self, text: str, size: float = 9, *, bold: bool = False, right: bool = False, struck: bool = False) -> Any:
        """Set a paragraph of plain text; nothing in it is read as markup."""
        from reportlab.lib.enums import TA_LEFT, TA_RIGHT
        from reportlab.lib.styles import ParagraphStyle
        from reportlab.platypus import Paragraph

        self.lost.update(fonts.unprintable((text,)))
        style = ParagraphStyle(
            "plain",
            fontName=fonts.BOLD if bold else fonts.REGULAR,
            fontSize=size,
            leading=size * self.leading,
            alignment=TA_RIGHT if right else TA_LEFT,
            splitLongWords=1,
        )
        marked = fonts.markup(text)
        marked = f"<strike>{marked}</strike>" if struck else marked
        return Paragraph(f"<b>{marked}</b>" if bold else marked, style)

    def heading(self, text: str, size: float = 12) -> Any:
        """Set a heading that stays with what follows, over a line."""
        from reportlab.lib.colors import black

        table = self.table([[self.text(text, size, bold=True)]], [WIDTH], grid=False, pad=1.5)
        table.setStyle([("LINEBELOW", (0, 0), (-1, -1), 1, black)])
        table.keepWithNext = True
        return table

    def tick(self, size: float = 9) -> Any:
        """Draw an empty box to tick."""
        from reportlab.graphics.shapes import Drawing, Rect
        from reportlab.lib.colors import black

        return Drawing(
            size, size, Rect(0.4, 0.4, size - 0.8, size - 0.8, fillColor=None, strokeColor=black, strokeWidth=0.8)
        )

    def table(
        self,
        cells: Sequence[Sequence[Any]],
        widths: Sequence[float],
        *,
        header: bool = False,
        grid: bool = True,
        pad: float = 2.5,
        height: float | None = None,
    ) -> Any:
        """Set a table that goes on over pages, its header repeated; cells are flowables or lists of them."""
        from reportlab.lib.colors import Color, black
        from reportlab.platypus import LongTable

        table = LongTable(
            [list(row) for row in cells],
            colWidths=list(widths),
            rowHeights=[height] * len(cells) if height else None,
            repeatRows=1 if header else 0,
            splitInRow=self.split,
        )
        style: list[tuple[Any, ...]] = [
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LEFTPADDING", (0, 0), (-1, -1), pad),
            ("RIGHTPADDING", (0, 0), (-1, -1), pad),
            ("TOPPADDING", (0, 0), (-1, -1), pad * 0.8),
            ("BOTTOMPADDING", (0, 0), (-1, -1), pad * 0.8),
        ]
        if grid:
            style.append(("GRID", (0, 0), (-1, -1), _INK, Color(0.45, 0.45, 0.45)))
        if header:
            style.append(("LINEBELOW", (0, 0), (-1, 0), 1, black))
        table.setStyle(style)
        table.hAlign = "LEFT"
        return table

    def framed(self, parts: Sequence[Any], width: float, thickness: float = 1.2) -> Any:
        """Put parts in a frame, such as a caution."""
        from reportlab.lib.colors import black

        table = self.table([[part] for part in parts], [width], grid=False, pad=4)
        table.setStyle([("BOX", (0, 0), (-1, -1), thickness, black)])
        return table

    def pictograms(self, codes: Sequence[str], size_mm: float = 10) -> Any:
        """Draw a row of hazard pictograms."""
        from reportlab.platypus import Flowable

        side = size_mm * MM

        class PictogramRow(Flowable):  # type: ignore[misc]
            def wrap(self, *_: float) -> tuple[float, float]:
                return len(codes) * side * 1.06, side

            def draw(self) -> None:
                for index, code in enumerate(codes):
                    pictograms.draw(self.canv, code, index * side * 1.06, 0, side)

        for code in codes:
            pictograms.shapes(code)
        return PictogramRow()


def gap(height: float = 4) -> Any:
    """Leave blank height in points."""
    from reportlab.platypus import Spacer

    return Spacer(1, height)


def build(title: str, story: Callable[[Paper], list[Any]], footer: str = DEFERRAL) -> bytes:
    """Build the pages as PDF; the same story gives the same bytes.

    `story` is called twice, to number the pages.
    """
    from reportlab.platypus.doctemplate import LayoutError

    try:
        return _built(title, story, footer, _SPLIT)
    except LayoutError:  # a row a little taller than a page: let it go on over the page by however little
        return _built(title, story, footer, 1)


def build_short(title: str, story: Callable[[Paper], list[Any]], tight: float) -> bytes:
    """Build the pages as `build` does; where they are no one page, set `tight`, if that makes it one."""
    loose = build(title, story)
    if _pages(loose) == 1:
        return loose

    def tightly(paper: Paper) -> list[Any]:
        paper.tight = tight
        return story(paper)

    short = build(title, tightly)
    return short if _pages(short) == 1 else loose


def _pages(pdf: bytes) -> int:
    """Count the pages of a document of ours."""
    return len(re.findall(rb"/Type\s*/Page\b", pdf))


def _built(title: str, story: Callable[[Paper], list[Any]], footer: str, split: int) -> bytes:
    file, pages = BytesIO(), 0
    for _ in range(2):
        paper = Paper(split)
        parts = story(paper)
        if paper.lost:
            said = ", ".join(f"U+{ord(char):04X}" for char in sorted(paper.lost)[:8])
            parts.append(paper.text(f"Letters for which this computer has no font are written ? ({said}).", 7))
        file = BytesIO()
        pages = _set(file, title, parts, footer, pages)
    return file.getvalue()


def _set(file: BytesIO, title: str, parts: list[Any], footer: str, total: int) -> int:
    from reportlab.lib.pagesizes import A4
    from reportlab.platypus import SimpleDocTemplate

    fonts.use_fonts()
    short = title if len(title) <= 90 else title[:89] + "…"

    def furniture(canvas: Any, document: Any) -> None:
        canvas.saveState()
        canvas.setLineWidth(_INK)
        canvas.line(14 * MM, 13.5 * MM, 14 * MM + WIDTH, 13.5 * MM)
        fonts.draw(canvas, footer, 14 * MM, 10.5 * MM, fonts.REGULAR, 6.5)
        fonts.draw(canvas, short, 14 * MM, 7.5 * MM, fonts.REGULAR, 6.5)
        number = f"Page {document.page} of {total}"
        left = 14 * MM + WIDTH - fonts.width(number, fonts.BOLD, 8)
        fonts.draw(canvas, number, left, 7.5 * MM, fonts.BOLD, 8)
        canvas.restoreState()

    document = SimpleDocTemplate(
        file,
        pagesize=A4,
        leftMargin=14 * MM - 6,
        rightMargin=14 * MM - 6,
        topMargin=8 * MM,
        bottomMargin=14 * MM,
        title=title,
        creator="prep",
        invariant=1,
    )
    document.build(parts, onFirstPage=furniture, onLaterPages=furniture)
    return int(document.page)
