"""The report of a count as tables: one shape for the screen, for CSV and for paper."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from prep.chemistry import quantities
from prep.chemistry.model import Measure
from prep.dates import day, day_alone, in_days
from prep.reports.csv_table import csv_bytes
from prep.reports.output_files import OutputFile
from prep.safety.deferral import DEFERRAL
from prep.stocktake.report import CountReport, StandingBottle, Totals, Turnover
from prep.stocktake.verdict import Verdict


@dataclass(frozen=True, slots=True)
class AmountCell:
    """An amount in a cell, in ug or nL: text with its unit for a reader, a plain number of g or mL in CSV."""

    base: int
    measure: Measure
    signed: bool = False
    figures: int = 5

    def __str__(self) -> str:
        """Write the amount as a person reads it."""
        return ("+" if self.signed and self.base > 0 else "") + quantities.show(self.base, self.measure, self.figures)


Cell = str | AmountCell


@dataclass(frozen=True, slots=True)
class Section:
    """One table of the report. `slug` names its file; `right` are the columns of figures.

    The amounts of a row share their unit; where they do not, `units` says what those of a column are in. `sentences`
    is a column that a narrow screen has as sentences under the table; those that `several` bottles have in common
    once, with the codes of all.
    """

    slug: str
    title: str
    headers: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    right: tuple[int, ...] = ()
    units: Mapping[int, str] = field(default_factory=dict)
    sentences: int | None = None
    several: bool = False

    @property
    def text(self) -> list[tuple[str, ...]]:
        """The rows as a person reads them."""
        return [tuple(in_days(str(cell), day_alone) for cell in row) for row in self.rows]

    def csv(self) -> bytes:
        """Write the section for a spreadsheet: numbers as numbers, units in a column or in the header."""
        if not self.right:
            return csv_bytes(self.headers, [tuple(map(str, row)) for row in self.rows], bom=True)
        if self.units:
            named = [f"{h} [{self.units[n]}]" if n in self.units else h for n, h in enumerate(self.headers)]
            return csv_bytes(named, [tuple(map(_number, row)) for row in self.rows], bom=True)
        rows = [(*map(_number, row), next((unit for cell in row if (unit := _unit(cell))), "")) for row in self.rows]
        return csv_bytes((*self.headers, "Unit"), rows, bom=True)


def sections(report: CountReport) -> tuple[Section, ...]:
    """List every part of the report, also those without rows."""
    bottle = ("Bottle", "Holds", "Amount", "At")
    names = {b.books.bottle: b.name for b in (*report.counted, *report.not_found)}
    return (
        Section(
            "differences",
            "Differences, least explained first",
            ("Bottle", "Holds", "On the books", "Counted", "Difference", "Measuring explains", "Flagged"),
            tuple(difference_row(v, names[v.bottle]) for v in report.differences),
            (2, 3, 4, 5),
        ),
        _bottles("not-found", "Not found", report.not_found),
        _bottles("found", "Found, but not on the books", report.found),
        _bottles("unreadable", "Label not readable", report.unreadable),
        _bottles("not-counted", "Not counted", report.not_counted),
        Section(
            "expired",
            f"Out of date on {day(report.on)}",
            (*bottle, "Use by"),
            tuple((*_bottle(b), _day(b.use_by)) for b in report.expired),
            (2,),
        ),
        Section(
            "tests-due",
            "Tests due (peroxide formers)",
            (*bottle, "Test by"),
            tuple((*_bottle(b), _day(b.test_due)) for b in report.tests_due),
            (2,),
        ),
        _bottles("no-hazard-data", "No hazard data on file", report.no_hazard_data),
        Section(
            "hazards",
            "Quantities by hazard class and location",
            ("Hazard class", "At", "Bottles", "Mass", "Volume of liquids", "Of unknown mass"),
            tuple((h.hazard, h.location, *_totals(h.totals)) for h in report.hazards),
            (2, 3, 4, 5),
            {3: "g", 4: "mL", 5: "mL"},
        ),
        Section(
            "disposal",
            "To dispose of, by stream",
            ("Stream", "Bottle", "Holds", "Amount", "Why"),
            tuple(
                (stream.stream, d.bottle, d.name, AmountCell(d.amount, d.measure), d.why)
                for stream in report.disposal
                for d in stream.lines
            ),
            (3,),
        ),
        _turnover(report.turnover),
        Section(
            "never-used",
            "Nothing used since the last count",
            ("Item", "Amount", "Bottles", "Last used"),
            tuple(
                (i.name, AmountCell(i.amount, i.measure), " ".join(i.bottles), _day(i.last_used) or "never")
                for i in report.never_used
            ),
            (1,),
        ),
    )


_TURNS = {
    "Opening": "opening",
    "Came in": "came_in",
    "From schools": "from_schools",
    "Made": "made",
    "Used": "used",
    "Passed on": "passed_on",
    "Discarded": "discarded",
    "Corrected": "corrected",
    "Closing": "closing",
}
"""The columns of the turnover, in the order in which they add up, and the field of each."""
_BETWEEN = frozenset({"from_schools", "passed_on"})


def _turnover(turns: Sequence[Turnover]) -> Section:
    """Lay out the turnover; what went between schools has columns where there is any."""
    between = any(t.from_schools or t.passed_on for t in turns)
    columns = {head: name for head, name in _TURNS.items() if between or name not in _BETWEEN}
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (
            t.name,
            *(AmountCell(getattr(t, name), t.measure) for name in columns.values()),
            "" if t.turns is None else f"{t.turns:.2g}",
        )
        for t in turns
    )
    heads = ("Item", *columns, "Turns")
    return Section("turnover", "Stock turnover since the last count", heads, rows, tuple(range(1, len(heads))))


def summary(report: CountReport) -> str:
    """Count, in a sentence, the bottles counted, not found, found off the books, and differing."""
    flagged = sum(v.flagged for v in report.differences)
    return (
        f"{len(report.counted)} counted, {len(report.not_found)} not found, {len(report.found)} found that are not "
        f"on the books, {len(report.not_counted)} not counted. Of the counted, {flagged} differ by more than "
        f"measuring explains, {len(report.differences) - flagged} by no more than it does."
    )


def csv_files(parts: Iterable[Section], folder: Path) -> list[OutputFile]:
    """Write one CSV file a section, in the folder."""
    return [OutputFile(folder / f"{section.slug}.csv", section.csv()) for section in parts]


@dataclass(frozen=True, slots=True)
class PrintedCount:
    """What is printed: a title, the school, lines that say what it is, and the sections that have rows."""

    title: str
    school: str
    heading: Sequence[str]
    parts: Sequence[Section]
    seal: str = ""
    """What ties every page to the books."""


_SIGNATURE = "Signed off by: ______________________   Date: ______________"
"""Stands beside the seal and the sums: at the end of the tables it could come to stand on a page of its own."""


def report_pdf(report: CountReport, paper: PrintedCount) -> bytes:
    """Write the report on A4, each section that has rows."""
    from reportlab.platypus import CondPageBreak

    from prep.reports.pdf.pages import MM, WIDTH, Paper, build, gap

    def story(sheet: Paper) -> list[Any]:
        parts = [sheet.text(paper.title, 15, bold=True), gap(3)]
        if paper.school:
            parts += [sheet.text(paper.school, 9), gap(3)]
        for line in paper.heading:
            parts += [sheet.text(line, 9), gap(1)]
        parts += [sheet.text(summary(report), 10), gap(2), sheet.text(DEFERRAL, 8), gap(10), sheet.text(_SIGNATURE, 10)]
        for section in paper.parts:
            if not section.rows:
                continue
            widths = _widths(section, WIDTH)
            cells = [[sheet.text(head, 8, bold=True) for head in section.headers]]
            cells += [
                [sheet.text(cell, 8, right=n in section.right) for n, cell in enumerate(row)] for row in section.text
            ]
            table = sheet.table(cells, widths, header=True)
            parts += [CondPageBreak(35 * MM), gap(8), sheet.heading(section.title), gap(2), table]
        return parts

    return build(paper.title, story, f"Report of a count. {paper.seal}".rstrip())


def document(report: CountReport) -> dict[str, Any]:
    """Write the report for --json: full precision, quantities with their unit."""
    return {
        "on": report.on.isoformat(),
        "counted": [_json(b) for b in report.counted],
        "not_counted": [_json(b) for b in report.not_counted],
        "not_found": [_json(b) for b in report.not_found],
        "found": [_json(b) for b in report.found],
        "unreadable": [_json(b) for b in report.unreadable],
        "differences": [verdict_json(v) for v in report.differences],
        "expired": [_json(b) for b in report.expired],
        "tests_due": [_json(b) | {"test_due": _day(b.test_due)} for b in report.tests_due],
        "no_hazard_data": [_json(b) for b in report.no_hazard_data],
        "hazards": [{"class": h.hazard, "location": h.location} | _totals_json(h.totals) for h in report.hazards],
        "disposal": [
            {
                "stream": s.stream,
                "bottles": [
                    {
                        "bottle": d.bottle,
                        "name": d.name,
                        "amount": quantities.as_json(d.amount, d.measure),
                        "why": d.why,
                    }
                    for d in s.lines
                ],
            }
            | _totals_json(s.totals)
            for s in report.disposal
        ],
        "turnover": [
            {
                "item": t.item,
                "name": t.name,
                **{name: quantities.as_json(getattr(t, name), t.measure) for name in _TURNS.values()},
                "turns": t.turns,
            }
            for t in report.turnover
        ],
        "never_used": [
            {
                "item": i.item,
                "name": i.name,
                "amount": quantities.as_json(i.amount, i.measure),
                "bottles": list(i.bottles),
                "last_used": _day(i.last_used) or None,
            }
            for i in report.never_used
        ],
    }


def verdict_json(v: Verdict) -> dict[str, Any]:
    """Write a bottle's verdict with its working as JSON."""
    return {
        "bottle": v.bottle,
        "item": v.item,
        "book": quantities.as_json(v.book, v.measure),
        "counted": quantities.as_json(v.counted, v.measure) if v.found else None,
        "difference": quantities.as_json(v.difference, v.measure),
        "explained_by": quantities.as_json(v.explained_by, v.measure),
        "flagged": v.flagged,
        "found": v.found,
        "adjust": quantities.as_json(v.adjust, v.measure),
        "says": v.sentence,
        "working": [line.as_json() for line in v.working],
    }


def _bottles(slug: str, title: str, rows: Iterable[StandingBottle]) -> Section:
    return Section(slug, title, ("Bottle", "Holds", "Amount", "At"), tuple(_bottle(b) for b in rows), (2,))


def _bottle(b: StandingBottle) -> tuple[Cell, ...]:
    known = b.on_books and b.verdict is not None and not b.verdict.found
    amount = b.books.balance if known else b.amount
    shown = AmountCell(amount, b.books.measure) if amount or b.books.item else ""
    return b.books.bottle, b.name, shown, b.location


def difference_row(v: Verdict, name: str) -> tuple[Cell, ...]:
    """Lay a difference out as a row of a table."""
    return (
        v.bottle,
        name,
        AmountCell(v.book, v.measure),
        AmountCell(v.counted, v.measure) if v.found else "not found",
        AmountCell(v.difference, v.measure, signed=True),
        AmountCell(v.explained_by, v.measure, figures=2),
        "yes" if v.flagged else "",
    )


def _totals(t: Totals) -> tuple[Cell, ...]:
    return (
        str(len(t.bottles)),
        AmountCell(t.mass_ug, Measure.MASS),
        AmountCell(t.volume_nl, Measure.VOLUME),
        AmountCell(t.unweighed_nl, Measure.VOLUME) if t.unweighed_nl else "",
    )


def _number(cell: Cell) -> str:
    return quantities.plain(quantities.from_base(cell.base)) if isinstance(cell, AmountCell) else cell


def _unit(cell: Cell) -> str:
    return str(quantities.as_json(cell.base, cell.measure)["unit"]) if isinstance(cell, AmountCell) else ""


def _totals_json(t: Totals) -> dict[str, Any]:
    return {
        "codes": list(t.bottles),
        "mass": quantities.as_json(t.mass_ug, Measure.MASS),
        "volume": quantities.as_json(t.volume_nl, Measure.VOLUME),
        "of_unknown_mass": quantities.as_json(t.unweighed_nl, Measure.VOLUME),
    }


def _json(b: StandingBottle) -> dict[str, Any]:
    return {
        "bottle": b.books.bottle if b.on_books else None,
        "item": b.books.item or None,
        "name": b.name,
        "location": b.location,
        "amount": quantities.as_json(b.amount, b.books.measure),
        "book": quantities.as_json(b.books.balance, b.books.measure) if b.on_books else None,
        "use_by": _day(b.use_by) or None,
        "hazards": None if b.hazards is None else list(b.hazards),
        "stream": b.stream or None,
        "says": (b.how if b.seen else b.verdict.sentence) if b.verdict else None,
    }


def _day(day: Any) -> str:
    return "" if day is None else str(day.isoformat())


_LETTER, _SIDES = 5.3, 10.0
"""Points that a bold letter of a heading takes, and what stands free at both sides of a cell."""


def _widths(section: Section, width: float) -> Sequence[float]:
    """Share out the page: each column as wide as its heading's longest word, the rest by the longest cells."""
    least = [_LETTER * max(map(len, head.split()), default=0) + _SIDES for head in section.headers]
    wanted = [
        _LETTER * min(max([len(head), *(len(row[n]) for row in section.text)]), 34) + _SIDES
        for n, head in enumerate(section.headers)
    ]
    more = [max(one - at_least, 1.0) for one, at_least in zip(wanted, least, strict=True)]
    left = width - sum(least)
    if left < 0:
        return [width * one / sum(wanted) for one in wanted]
    return [at_least + left * one / sum(more) for at_least, one in zip(least, more, strict=True)]
