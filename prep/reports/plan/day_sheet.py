"""The day sheet and the week sheet: what to make, what each booking gets, what to order; to tick at the bench."""

from collections.abc import Sequence
from typing import Any

from prep.errors import PrepError
from prep.reports.pdf.pages import MM, WIDTH, Paper, build, gap
from prep.reports.print_rows import BookingRow, DayRow, MakeRow, OrderRow, TakeRow

_TICK = 6 * MM


def day_sheet(day: DayRow, school: str = "") -> bytes:
    """The sheet of one day as PDF."""
    return build(f"Day sheet: {day.day}", lambda paper: _day(paper, day, school, "Day sheet"))


def week_sheet(days: Sequence[DayRow], school: str = "") -> bytes:
    """An overview of several days, then the sheet of each day that has something, as PDF.

    Raises PrepError where there is no day.
    """
    from reportlab.platypus import PageBreak

    if not days:
        raise PrepError("there is no day to print; give a first and a last day that lie in the plan.")
    span = f"{days[0].day} to {days[-1].day}" if len(days) > 1 else days[0].day

    def story(paper: Paper) -> list[Any]:
        parts = [*_title(paper, f"Week sheet: {span}", school, ""), _overview(paper, days)]
        for day in days:
            if day.makes or day.bookings or day.orders or day.minds:
                parts += [PageBreak(), *_day(paper, day, school, "Day sheet")]
        return parts

    return build(f"Week sheet: {span}", story)


def _title(paper: Paper, title: str, school: str, side: str) -> list[Any]:
    row = [paper.text(title, 15, bold=True), paper.text(side, 9, right=True)]
    share = 0.7 if side else 0.99
    parts = [paper.table([row], [WIDTH * share, WIDTH * (1 - share)], grid=False, pad=0)]
    if school:
        parts.append(paper.table([[paper.text(school, 9)]], [WIDTH], grid=False, pad=0))
    return [*parts, gap(6)]


def _overview(paper: Paper, days: Sequence[DayRow]) -> Any:
    def ticked(lines: list[str]) -> Any:
        if not lines:
            return ""
        rows = [[paper.tick(7), paper.text(line, 8)] for line in lines]
        return paper.table(rows, [4 * MM, WIDTH * 0.27 - 6 * MM], grid=False, pad=1)

    rows = [[paper.text(head, 8, bold=True) for head in ("Day", "Make", "Bookings", "Order by this day")]]
    for day in days:
        makes = [" ".join(filter(None, (m.name, m.strength))) + f", {_whole(m.amount)}" for m in day.makes]
        bookings = [
            ("SHORT: " if b.short else "") + ", ".join(filter(None, (b.period, b.room, b.teacher, b.demo)))
            for b in day.bookings
        ]
        orders = [_order(order) for order in day.orders]
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
    """A line over the first row of each day."""
    from reportlab.lib.colors import black

    lines, at = [], 1
    for day in days:
        lines.append(("LINEABOVE", (0, at), (-1, at), 0.6, black))
        at += max(len(day.makes), len(day.bookings), len(day.orders), 1)
    return lines


def _day(paper: Paper, day: DayRow, school: str, kind: str) -> list[Any]:
    parts = _title(paper, f"{kind}: {day.day}", school, day.work)
    if day.minds:
        parts += [paper.framed([paper.text(f"Mind: {mind}", 9, bold=True) for mind in day.minds], WIDTH), gap(6)]
    if day.makes:
        parts.append(paper.heading("To make"))
        for number, make in enumerate(day.makes, 1):
            parts += [gap(3), _make(paper, make, number), gap(6)]
    if day.bookings:
        parts += [paper.heading("Bookings of the day"), gap(3)]
        for booking in day.bookings:
            parts += [*_booking(paper, booking), gap(5)]
    if day.orders:
        parts += [paper.heading("Order by today"), gap(3)]
        rows = [[paper.tick(), paper.text(_order(order), bold=order.late)] for order in day.orders]
        parts.append(paper.table(rows, [_TICK, WIDTH - _TICK]))
    if not (day.makes or day.bookings or day.orders):
        parts.append(paper.text("Nothing to make, to set out or to order.", 10))
    return parts


def _whole(amount: str) -> str:
    """An amount with its unit on the same line."""
    return amount.replace(" ", "\u00a0")


def _order(order: OrderRow) -> str:
    late = "LATE: " if order.late else ""
    return f"{late}{order.packs} {order.what}" + (f", for {order.for_}" if order.for_ else "")


def _make(paper: Paper, make: MakeRow, number: int) -> Any:
    from reportlab.platypus import KeepTogether

    what = " ".join(filter(None, (make.name, make.strength)))
    head = [
        paper.tick(11),
        paper.text(f"{number}. {what}", 11, bold=True),
        paper.text(make.amount, 11, bold=True, right=True),
    ]
    parts = [paper.table([head], [_TICK, WIDTH * 0.72 - _TICK, WIDTH * 0.28], pad=3)]
    facts = {
        "in": make.vessel,
        "batch": make.batch,
        "about": make.minutes,
        "use by": make.use_by,
        "keep": make.keeping,
        "for": make.for_,
    }
    said = "; ".join(f"{word} {fact}" for word, fact in facts.items() if fact)
    if said:
        parts.append(paper.table([[paper.text(said[0].upper() + said[1:], 8.5)]], [WIDTH], grid=False))
    parts += _cautions(paper, make.signal, make.pictograms, make.cautions, make.hazards)
    if make.takes:
        parts += [paper.text("Take", 8.5, bold=True), _takes(paper, make.takes), gap(3)]
    if make.steps:
        rows = [
            [paper.tick(), paper.text(str(place), 9, right=True), paper.text(step, 9.5)]
            for place, step in enumerate(make.steps, 1)
        ]
        notes = [part for note in make.notes for part in (paper.text(note, 9.5), gap(2))]
        parts += [paper.text("Do", 8.5, bold=True), *notes, paper.table(rows, [_TICK, 7 * MM, WIDTH - _TICK - 7 * MM])]
    blanks = [[paper.text(f"{blank}:", 8) for blank in ("Made by", "Really made", "Bottle code", "Found strength")]]
    sign = paper.table(blanks, [WIDTH / 4] * 4, pad=3, height=8 * MM)
    parts += [gap(3), sign]
    if make.log:
        parts.append(paper.text(f"Log it: {make.log}", 7))
    return KeepTogether(parts)


def _cautions(
    paper: Paper, signal: str, codes: tuple[str, ...], cautions: tuple[str, ...], hazards: str = ""
) -> list[Any]:
    if not (signal or codes or cautions):
        return []
    words = [paper.text(signal.upper(), 10, bold=True)] if signal else []
    words += [paper.text(hazards, 8.5)] if hazards else []
    words += [paper.text(f"Caution: {caution}", 9, bold=True) for caution in cautions]
    if not codes:
        return [paper.framed(words, WIDTH), gap(3)]
    across = min(len(codes), 5) * 10.8 * MM + 6
    rows = [codes[at : at + 5] for at in range(0, len(codes), 5)]
    pictures = [paper.pictograms(row) for row in rows]
    inner = paper.table([[pictures, words or ""]], [across, WIDTH - across - 12], grid=False, pad=2)
    return [paper.framed([inner], WIDTH), gap(3)]


def _takes(paper: Paper, takes: Sequence[TakeRow]) -> Any:
    rows = [
        [
            paper.tick(),
            paper.text(t.amount, 9.5, bold=True, right=True),
            paper.text(t.what, 9.5),
            paper.text(t.from_, 9),
        ]
        for t in takes
    ]
    return paper.table(rows, [_TICK, 27 * MM, WIDTH * 0.45 - _TICK, WIDTH * 0.55 - 27 * MM])


def _booking(paper: Paper, booking: BookingRow) -> list[Any]:
    from reportlab.platypus import CondPageBreak

    who = ", ".join(filter(None, (booking.period, booking.room, booking.teacher)))
    head = [
        paper.tick(11),
        paper.text(who, 10, bold=True),
        paper.text(booking.demo + (f" ({booking.showings})" if booking.showings else ""), 10, bold=True),
        paper.text(booking.code, 8.5, right=True),
    ]
    widths = [_TICK, WIDTH * 0.38 - _TICK, WIDTH * 0.44, WIDTH * 0.18]
    parts = [CondPageBreak(25 * MM), paper.table([head], widths, pad=3)]
    if booking.short:
        lines = [paper.text(f"SHORT: {short}", 9, bold=True) for short in booking.short]
        parts += [gap(2), paper.framed(lines, WIDTH), gap(2)]
    if booking.cautions:
        parts += [gap(2), *_cautions(paper, "", (), booking.cautions)]
    if booking.gets:
        parts.append(_takes(paper, booking.gets))
    return parts
