"""The day sheet and the week sheet: what to make, what each booking gets, what to order; to tick at the bench."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from prep.errors import PrepError
from prep.reports.pdf.pages import MM, WIDTH, Paper, build, build_short, gap
from prep.reports.pdf.two_columns import GUTTER, two_columns
from prep.reports.print_rows import NO_CODES, DayRow, LineRow, MakeRow, PrintedBooking, PrintedOrder, TakeRow

_NUMBER = 5 * MM
_TICK = 3.4 * MM
_SMALL, _TINY, _BOX, _NAME = 6.5, 6.2, 6.0, 7.4
"""Sizes of type and boxes [pt]: a working day is to stand on one page, in two columns."""
_LEADING = 1.12
_TIGHT = 0.94
"""Factor on the usual leading, where a day would otherwise run a few lines over its page."""
_COLUMN = (WIDTH - GUTTER) / 2
_TALLEST = 620.0
"""Points; what is taller stands by itself and goes on over the page."""


def day_sheet(day: DayRow, school: str = "") -> bytes:
    """Draw up the sheet of one day as PDF."""
    return build_short(f"Day sheet: {day.day}", lambda paper: _day(paper, day, school, "Day sheet"), _TIGHT)


def week_sheet(days: Sequence[DayRow], school: str = "", each_day: bool = True) -> bytes:
    """Draw up an overview of several days, to tick, as PDF; with `each_day`, then the sheet of each with something.

    Raises PrepError where there is no day.
    """
    from reportlab.platypus import PageBreak

    if not days:
        raise PrepError("there is no day to print; give a first and a last day that lie in the plan.")
    span = f"{days[0].day} to {days[-1].day}" if len(days) > 1 else days[0].day

    def story(paper: Paper) -> list[Any]:
        parts = [*_title(paper, f"Week sheet: {span}", school, ""), _overview(paper, days)]
        for day in days if each_day else ():
            if day.makes or day.bookings or day.orders or day.minds:
                parts += [PageBreak(), *_day(paper, day, school, "Day sheet")]
        return parts

    return build(f"Week sheet: {span}", story)


def _title(paper: Paper, title: str, school: str, side: str) -> list[Any]:
    row = [
        paper.text(title, 13, bold=True),
        paper.text("; ".join(filter(None, (school, side))), 8, right=True),
    ]
    return [paper.table([row], [WIDTH * 0.7, WIDTH * 0.3], grid=False, pad=0), gap(2)]


def _overview(paper: Paper, days: Sequence[DayRow]) -> Any:
    def ticked(lines: list[str]) -> Any:
        if not lines:
            return ""
        rows = [[paper.tick(7), paper.text(line, 8)] for line in lines]
        return paper.table(rows, [4 * MM, WIDTH * 0.27 - 6 * MM], grid=False, pad=1)

    rows = [[paper.text(head, 8, bold=True) for head in ("Day", "Make", "Set out", "Order by this day; comes")]]
    for day in days:
        makes = [" ".join(filter(None, (m.name, m.strength))) + f", {_whole(m.amount)}" for m in day.makes]
        bookings = [
            ("SHORT: " if b.short else "") + ", ".join(filter(None, (b.period, b.room, b.teacher, b.demo)))
            for b in day.bookings
        ]
        orders = [*map(_order, day.orders), *(f"Comes: {one.text}" for one in day.arrivals)]
        head = [paper.text(day.day, 9, bold=True), paper.text(day.work, 7)]
        # one line of the table per task, so that a full day goes on over the page
        for index in range(max(len(makes), len(bookings), len(orders), 1)):
            cells = [ticked(column[index : index + 1]) for column in (makes, bookings, orders)]
            rows.append([head if index == 0 else "", *cells])
    widths = [WIDTH * 0.19, WIDTH * 0.27, WIDTH * 0.27, WIDTH * 0.27]
    table = paper.table(rows, widths, header=True, grid=False)
    table.setStyle(_day_lines(days))
    return table


def _day_lines(days: Sequence[DayRow]) -> list[tuple[Any, ...]]:
    """Rule a line over the first row of each day."""
    from reportlab.lib.colors import black

    lines, at = [], 1
    for day in days:
        lines.append(("LINEABOVE", (0, at), (-1, at), 0.6, black))
        at += max(len(day.makes), len(day.bookings), len(day.orders) + len(day.arrivals), 1)
    return lines


def _day(paper: Paper, day: DayRow, school: str, kind: str) -> list[Any]:
    """Lay out one day: the work first, what is wrong last.

    All of it goes down one column and then the other.
    """
    paper.leading = _LEADING * paper.tight
    gathered, cautions = _gathered(day.makes)
    makes = [_make(paper, make, number) for number, make in enumerate(gathered, 1)]
    makes += [[paper.text(f"Caution: {said}", _TINY, bold=True), gap(1)] for said in cautions]
    wrong = [[paper.tick(_BOX), paper.text(mind, _SMALL, bold=True)] for mind in day.minds]
    blocks = [
        *_headed(paper, "Arrives", _lines(paper, day.arrivals)),
        *_headed(paper, "Fetch", _lines(paper, day.fetches)),
        *_headed(paper, "Make", makes),
        *_headed(paper, "Set out", [_booking(paper, booking) for booking in day.bookings]),
        *_headed(paper, "Comes back", _lines(paper, day.backs)),
        *_headed(paper, "Not said yet: shown or not?", _lines(paper, day.unsaid)),
        *_headed(paper, "Order by today", _lines(paper, [LineRow(_order(one), one.number) for one in day.orders])),
        *_headed(paper, "Discard", _lines(paper, day.discards)),
        *_headed(paper, "Done", [_struck(paper, row) for row in day.done]),
        *_headed(
            paper, "Wrong", [[paper.table([row], [_TICK, _COLUMN - _TICK], grid=False, pad=0.5)] for row in wrong]
        ),
    ]
    parts = _title(paper, f"{kind}: {day.day}", school, day.work)
    if not any((day.makes, day.bookings, day.orders, day.arrivals, day.discards, day.done, day.unsaid)):
        parts.append(paper.text("Nothing to make, to set out or to order.", 10))
    return parts + two_columns(blocks, WIDTH, _TALLEST)


def _headed(paper: Paper, title: str, blocks: Sequence[list[Any]]) -> list[list[Any]]:
    """Put a heading over the first of the blocks; none without any."""
    if not blocks:
        return []
    head = paper.table([[paper.text(title, 8.5, bold=True)]], [_COLUMN], grid=False, pad=1)
    head.setStyle([("LINEBELOW", (0, 0), (-1, -1), 1, "black")])
    return [[head, gap(1), *blocks[0]], *blocks[1:]]


def _lines(paper: Paper, rows: Sequence[LineRow]) -> list[list[Any]]:
    """Lay out lines to tick, each with its number where they have any."""
    number = _NUMBER if any(row.number for row in rows) else 1.0
    widths = [number, _TICK, _COLUMN - number - _TICK]
    return [
        [
            paper.table(
                [[paper.text(row.number, _SMALL, bold=True), paper.tick(_BOX), paper.text(row.text, _SMALL)]],
                widths,
                grid=False,
                pad=0.4,
            )
        ]
        for row in rows
    ]


def _struck(paper: Paper, row: LineRow) -> list[Any]:
    """Strike out a line that is done, so that it is not done again."""
    cells = [paper.text(row.number, _SMALL, bold=True), paper.text(row.text, _SMALL, struck=True)]
    number = _NUMBER if row.number else 1.0
    return [paper.table([cells], [number, _COLUMN - number], grid=False, pad=0.4)]


def _whole(amount: str) -> str:
    """Keep an amount on the same line as its unit."""
    return amount.replace(" ", "\u00a0")


def _order(order: PrintedOrder) -> str:
    late = "LATE: " if order.late else ""
    return f"{late}{order.packs} {order.what}" + (f", for {order.for_}" if order.for_ else "")


def _make(paper: Paper, make: MakeRow, number: int) -> list[Any]:
    """Lay out a make: what, from what and how.

    What to take is listed where the steps do not say where it stands.
    """
    what = " ".join(filter(None, (make.name, make.strength)))
    head = [
        paper.text(make.number or str(number), 8.5, bold=True),
        paper.tick(8),
        paper.text(what, _NAME, bold=True),
        paper.text(_whole(make.amount), 8.5, bold=True, right=True),
    ]
    amount = 14 * MM
    widths = [_NUMBER, _TICK + 3, _COLUMN - _NUMBER - _TICK - 3 - amount, amount]
    parts = [paper.table([head], widths, pad=1)]
    facts = (
        ("in", make.vessel),
        ("", make.minutes),
        ("use by", make.use_by),
        ("keep", make.keeping),
        ("for", make.for_),
        ("", make.size),
        ("log it:", "" if make.number else make.log),
    )
    said = "; ".join(f"{word} {fact}".lstrip() for word, fact in facts if fact)
    if said:
        parts.append(paper.table([[paper.text(said[0].upper() + said[1:], _TINY)]], [_COLUMN], grid=False, pad=0.4))
    parts += _cautions(paper, make)
    rows = [[paper.text("", _SMALL), paper.text(note, _SMALL)] for note in make.notes]
    rows += [[paper.tick(_BOX), paper.text(f"{place}. {step}", _SMALL)] for place, step in enumerate(make.steps, 1)]
    if make.takes and not all(take.in_steps for take in make.takes):
        parts.append(_takes(paper, make.takes, _COLUMN))
    if rows:
        parts.append(paper.table(rows, [_TICK, _COLUMN - _TICK], grid=False, pad=0.4))
    blanks = [[paper.text(f"{blank}:", 6) for blank in ("Made by", "Really made", "Bottle code", "Found strength")]]
    parts += [paper.table(blanks, [_COLUMN / 4] * 4, pad=0.8, height=3.6 * MM), gap(1.5)]
    return parts


def _gathered(makes: Sequence[MakeRow]) -> tuple[tuple[MakeRow, ...], tuple[str, ...]]:
    """Gather what is to be minded at several makes, once with their numbers, out of the makes."""
    where: dict[str, list[str]] = defaultdict(list)
    for place, make in enumerate(makes, 1):
        for caution in make.cautions:
            where[caution].append(make.number or str(place))
    shared = {caution: numbers for caution, numbers in where.items() if len(numbers) > 1}
    left = tuple(replace(make, cautions=tuple(c for c in make.cautions if c not in shared)) for make in makes)
    said = (
        f"{'all makes' if len(numbers) == len(makes) else ', '.join(numbers)}: {caution}"
        for caution, numbers in shared.items()
    )
    return left, tuple(said)


def _cautions(paper: Paper, make: MakeRow) -> list[Any]:
    """Lay out pictograms, signal word and statements side by side.

    Under them stands what to mind at this make alone.
    """
    codes = "" if make.h == NO_CODES else make.h or make.hazards
    said = " ".join(filter(None, (make.signal.upper(), codes)))
    words = [paper.text(said, _TINY, bold=True)] if said else []
    if make.cautions:
        words.append(paper.text(" ".join(["Caution:", *make.cautions]), _TINY, bold=True))
    if not make.pictograms:
        return [paper.table([[word] for word in words], [_COLUMN], grid=False, pad=0.4)] if words else []
    side, across = 5.0, min(len(make.pictograms), 4)
    rows = [make.pictograms[at : at + 4] for at in range(0, len(make.pictograms), 4)]
    pictures = [paper.pictograms(row, side) for row in rows]
    wide = across * side * 1.06 * MM + 3
    return [paper.table([[pictures, words or ""]], [wide, _COLUMN - wide], grid=False, pad=0.6)]


def _takes(paper: Paper, takes: Sequence[TakeRow], wide: float) -> Any:
    rows = [
        [
            paper.tick(_BOX),
            paper.text(_whole(t.amount), _SMALL, bold=True, right=True),
            paper.text(", ".join(filter(None, (t.what, t.from_))), _SMALL),
        ]
        for t in takes
    ]
    return paper.table(rows, [_TICK, 14 * MM, wide - 14 * MM - _TICK], grid=False, pad=0.4)


def _booking(paper: Paper, booking: PrintedBooking) -> list[Any]:
    where = ", ".join(filter(None, (booking.room, booking.period)))
    who = ", ".join(filter(None, (where, booking.code, booking.teacher)))
    head = [
        paper.text(booking.number, 8, bold=True),
        paper.tick(8),
        paper.text(" ".join(filter(None, (f"{who}: {booking.demo}", booking.showings))), _NAME, bold=True),
    ]
    parts = [paper.table([head], [_NUMBER, _TICK + 3, _COLUMN - _NUMBER - _TICK - 3], pad=1)]
    if booking.short:
        lines = [paper.text(f"SHORT: {short}", _SMALL, bold=True) for short in booking.short]
        parts += [gap(1), paper.framed(lines, _COLUMN, 0.8), gap(1)]
    if booking.gets:
        parts.append(_takes(paper, booking.gets, _COLUMN))
    if booking.cautions:
        parts.append(paper.text(" ".join(["Caution:", *booking.cautions]), _TINY, bold=True))
    return [*parts, gap(1.5)]
