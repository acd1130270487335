"""The report of a count as tables: one shape for the screen, for CSV and for paper."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from prep.chemistry import quantities
from prep.chemistry.model import Measure
from prep.planning.count_report import CountReport, Stood, Totals
from prep.planning.counting import Verdict
from prep.reports.csvout import write_rows

DEFERRAL = (
    "A working aid from the books and the classifications on file; the supplier's safety data sheet and the rules "
    "of whoever must be told prevail."
)


@dataclass(frozen=True, slots=True)
class Section:
    """One table of the report. `slug` names its file; `right` are the columns of figures."""

    slug: str
    title: str
    headers: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    right: tuple[int, ...] = ()


def sections(report: CountReport) -> tuple[Section, ...]:
    """Every part of the report, also those without rows."""
    bottle = ("Bottle", "Holds", "Amount", "At")
    return (
        Section(
            "differences",
            "Differences, least explained first",
            ("Bottle", "On the books", "Counted", "Difference", "Explained", "Flagged", "Says"),
            tuple(_difference(v) for v in report.differences),
            (1, 2, 3, 4),
        ),
        _bottles("not-found", "Not found", report.not_found),
        _bottles("found", "Found, but not on the books", report.found),
        _bottles("unreadable", "Label not readable", report.unreadable),
        _bottles("not-counted", "Not counted", report.not_counted),
        Section(
            "expired",
            f"Out of date on {report.on}",
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
        ),
        Section(
            "disposal",
            "To dispose of, by stream",
            ("Stream", "Bottle", "Holds", "Amount", "Why"),
            tuple(
                (stream.stream, d.bottle, d.name, quantities.show(d.amount, d.measure), d.why)
                for stream in report.disposal
                for d in stream.lines
            ),
            (3,),
        ),
        Section(
            "turnover",
            "Stock turnover since the last count",
            ("Item", "Opening", "Came in", "Made", "Used", "Discarded", "Corrected", "Closing", "Turns"),
            tuple(
                (
                    t.name,
                    *(
                        quantities.show(amount, t.measure)
                        for amount in (t.opening, t.came_in, t.made, t.used, t.discarded, t.corrected, t.closing)
                    ),
                    "" if t.turns is None else f"{t.turns:.2g}",
                )
                for t in report.turnover
            ),
            tuple(range(1, 9)),
        ),
        Section(
            "never-used",
            "Nothing used since the last count",
            ("Item", "Amount", "Bottles", "Last used"),
            tuple(
                (i.name, quantities.show(i.amount, i.measure), " ".join(i.bottles), _day(i.last_used) or "never")
                for i in report.never_used
            ),
            (1,),
        ),
    )


def summary(report: CountReport) -> str:
    """How many of what, in a sentence."""
    flagged = sum(v.flagged for v in report.differences)
    return (
        f"{len(report.counted)} counted, {len(report.not_found)} not found, {len(report.found)} found that are not "
        f"on the books, {len(report.not_counted)} not counted; {flagged} differ by more than measuring explains, "
        f"{len(report.differences) - flagged} by less."
    )


def write_folder(report: CountReport, folder: Path) -> list[Path]:
    """One CSV file a section. Raises PrepError where a file cannot be written."""
    from prep.errors import PrepError

    try:
        folder.mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as problem:
        why = getattr(problem, "strerror", None) or "that is no name for a folder"
        raise PrepError(f"{folder}: the folder cannot be made ({why}).") from None
    out = []
    for section in sections(report):
        path = folder / f"{section.slug}.csv"
        write_rows(path, section.headers, section.rows, bom=True)
        out.append(path)
    return out


def report_pdf(report: CountReport, title: str, school: str) -> bytes:
    """The report on A4, each section that has rows."""
    from prep.reports.paper import WIDTH, Paper, build, gap

    def story(paper: Paper) -> list[Any]:
        parts = [paper.text(title, 15, bold=True), gap(3)]
        if school:
            parts += [paper.text(school, 9), gap(3)]
        parts += [paper.text(summary(report), 10), gap(2), paper.text(DEFERRAL, 8)]
        for section in sections(report):
            if not section.rows:
                continue
            widths = _widths(section, WIDTH)
            cells = [[paper.text(head, 8, bold=True) for head in section.headers]]
            cells += [
                [paper.text(cell, 8, right=n in section.right) for n, cell in enumerate(row)] for row in section.rows
            ]
            parts += [gap(8), paper.heading(section.title), gap(2), paper.table(cells, widths, header=True)]
        parts += [gap(12), paper.text("Signed off by: ______________________   Date: ______________", 10)]
        return parts

    return build(title, story, "Report of a count.")


def document(report: CountReport) -> dict[str, Any]:
    """The report for --json: full precision, quantities with their unit."""
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
                **{
                    name: quantities.as_json(amount, t.measure)
                    for name, amount in (
                        ("opening", t.opening),
                        ("came_in", t.came_in),
                        ("made", t.made),
                        ("used", t.used),
                        ("discarded", t.discarded),
                        ("corrected", t.corrected),
                        ("closing", t.closing),
                    )
                },
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
    """A bottle's verdict with its working."""
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
        "working": [{"text": line.text} | ({"source": line.source} if line.source else {}) for line in v.working],
    }


def _bottles(slug: str, title: str, rows: Iterable[Stood]) -> Section:
    return Section(slug, title, ("Bottle", "Holds", "Amount", "At"), tuple(_bottle(b) for b in rows), (2,))


def _bottle(b: Stood) -> tuple[str, str, str, str]:
    known = b.on_books and b.verdict is not None and not b.verdict.found
    amount = b.books.balance if known else b.amount
    shown = quantities.show(amount, b.books.measure) if amount or b.books.item else ""
    return b.books.bottle, b.name, shown, b.location


def _difference(v: Verdict) -> tuple[str, ...]:
    return (
        v.bottle,
        quantities.show(v.book, v.measure),
        quantities.show(v.counted, v.measure) if v.found else "not found",
        ("+" if v.difference > 0 else "") + quantities.show(v.difference, v.measure),
        quantities.show(v.explained_by, v.measure, 2),
        "yes" if v.flagged else "",
        v.sentence,
    )


def _totals(t: Totals) -> tuple[str, str, str, str]:
    return (
        str(len(t.bottles)),
        quantities.show(t.mass_ug, Measure.MASS),
        quantities.show(t.volume_nl, Measure.VOLUME),
        quantities.show(t.unweighed_nl, Measure.VOLUME) if t.unweighed_nl else "",
    )


def _totals_json(t: Totals) -> dict[str, Any]:
    return {
        "codes": list(t.bottles),
        "mass": quantities.as_json(t.mass_ug, Measure.MASS),
        "volume": quantities.as_json(t.volume_nl, Measure.VOLUME),
        "of_unknown_mass": quantities.as_json(t.unweighed_nl, Measure.VOLUME),
    }


def _json(b: Stood) -> dict[str, Any]:
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
        "says": b.verdict.sentence if b.verdict else None,
    }


def _day(day: Any) -> str:
    return "" if day is None else str(day.isoformat())


def _widths(section: Section, width: float) -> Sequence[float]:
    """Columns by their longest cell, held between bounds, together as wide as the page."""
    longest = [
        min(max([len(head), *(len(row[n]) for row in section.rows)]), 34) + 2 for n, head in enumerate(section.headers)
    ]
    return [width * one / sum(longest) for one in longest]
