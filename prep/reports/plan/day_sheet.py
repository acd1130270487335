"""The day sheet and the week sheet: what to make, what each booking gets, what to order; to tick at the bench."""

from collections.abc import Sequence
from typing import Any

from prep.errors import PrepError
from prep.reports.pdf.pages import MM, WIDTH, Paper, build, gap
from prep.reports.print_rows import DayRow, LineRow, MakeRow, PrintedBooking, PrintedOrder, TakeRow

_NUMBER = 6 * MM
_SMALL = 8
_FEW_STEPS, _LONGEST_STEP = 12, 600
"""So many steps, of so many letters, stand beside what is taken."""


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
    if day.arrivals:
        parts += [paper.heading("Arrives", 9), _lines(paper, day.arrivals), gap(2)]
    if day.fetches:
        parts += [paper.heading("Fetch", 9), _lines(paper, day.fetches), gap(2)]
    if day.makes:
        parts.append(paper.heading("Make", 9))
        for number, make in enumerate(day.makes, 1):
            parts += [_make(paper, make, number), gap(2)]
    if day.bookings:
        parts += [paper.heading("Set out", 9)]
        for booking in day.bookings:
            parts += [*_booking(paper, booking), gap(1)]
    orders = [LineRow(_order(order), order.number) for order in day.orders]
    for title, rows in (
        ("Comes back", day.backs),
        ("Order by today", orders),
        ("Discard", day.discards),
    ):
        if rows:
            parts += [paper.heading(title, 9), _lines(paper, rows), gap(2)]
    if not (day.makes or day.bookings or day.orders or day.arrivals or day.discards):
        parts.append(paper.text("Nothing to make, to set out or to order.", 10))
    if day.minds:
        parts.append(paper.heading("Wrong", 9))
        wrong = [[paper.tick(7), paper.text(mind, 7.5, bold=True)] for mind in day.minds]
        parts.append(paper.table(wrong, [4 * MM, WIDTH - 4 * MM], grid=False, pad=0.8))
    return parts


def _lines(paper: Paper, rows: Sequence[LineRow]) -> Any:
    """Lines to tick, each with its number."""
    cells = [[paper.text(row.number, _SMALL, bold=True), paper.tick(7), paper.text(row.text, _SMALL)] for row in rows]
    return paper.table(cells, [_NUMBER, 4 * MM, WIDTH - _NUMBER - 4 * MM], grid=False, pad=0.8)


def _whole(amount: str) -> str:
    """An amount with its unit on the same line."""
    return amount.replace(" ", "\u00a0")


def _order(order: PrintedOrder) -> str:
    late = "LATE: " if order.late else ""
    return f"{late}{order.packs} {order.what}" + (f", for {order.for_}" if order.for_ else "")


def _make(paper: Paper, make: MakeRow, number: int) -> Any:
    """What, from what and how: what to take beside the steps, as long as the steps are few enough to stand there."""
    from reportlab.platypus import KeepTogether

    what = " ".join(filter(None, (make.name, make.strength)))
    head = [
        paper.text(make.number or str(number), 9.5, bold=True),
        paper.tick(9),
        paper.text(what, 9.5, bold=True),
        paper.text(make.amount, 9.5, bold=True, right=True),
    ]
    parts = [paper.table([head], [_NUMBER, 5 * MM, WIDTH * 0.78 - _NUMBER - 5 * MM, WIDTH * 0.22], pad=1.5)]
    facts = {
        "in": make.vessel,
        "batch": make.batch,
        "about": make.minutes,
        "use by": make.use_by,
        "keep": make.keeping,
        "for": make.for_,
        "log it:": make.log,
    }
    said = "; ".join(f"{word} {fact}" for word, fact in facts.items() if fact)
    if said:
        parts.append(paper.table([[paper.text(said[0].upper() + said[1:], 7.5)]], [WIDTH], grid=False, pad=0.8))
    parts += _cautions(paper, make.signal, make.pictograms, make.cautions, make.hazards)
    notes = [[paper.text("", _SMALL), paper.text(note, _SMALL)] for note in make.notes]
    steps = [[paper.tick(7), paper.text(f"{place}. {step}", _SMALL)] for place, step in enumerate(make.steps, 1)]
    beside = len(make.steps) <= _FEW_STEPS and all(len(text) <= _LONGEST_STEP for text in (*make.steps, *make.notes))
    room = WIDTH * (0.62 if beside else 1)
    do = paper.table([*notes, *steps], [4 * MM, room - 4 * MM], grid=False, pad=0.8) if notes or steps else ""
    if make.takes and beside:
        both = [_takes(paper, make.takes, WIDTH * 0.38), do]
        parts.append(paper.table([both], [WIDTH * 0.38, WIDTH * 0.62], grid=False, pad=0))
    else:
        parts += [part for part in (make.takes and _takes(paper, make.takes, WIDTH), do) if part]
    blanks = [[paper.text(f"{blank}:", 7) for blank in ("Made by", "Really made", "Bottle code", "Found strength")]]
    parts.append(paper.table(blanks, [WIDTH / 4] * 4, pad=1.2, height=5 * MM))
    return KeepTogether(parts)


def _cautions(
    paper: Paper, signal: str, codes: tuple[str, ...], cautions: tuple[str, ...], hazards: str = ""
) -> list[Any]:
    if not (signal or codes or cautions):
        return []
    said = " ".join(filter(None, (signal.upper(), hazards)))
    words = [paper.text(said, 7.5, bold=bool(signal))] if said else []
    if cautions:
        words.append(paper.text(" ".join(["Caution:", *cautions]), 7.5, bold=True))
    if not codes:
        if not signal:
            words = [
                paper.text(" ".join(filter(None, (hazards, "Caution:" if cautions else "", *cautions))), 7.5, bold=True)
            ]
        return [paper.table([[word] for word in words], [WIDTH], grid=False, pad=1)]
    across = min(len(codes), 5) * 6.4 * MM + 4
    rows = [codes[at : at + 5] for at in range(0, len(codes), 5)]
    pictures = [paper.pictograms(row, 6) for row in rows]
    return [paper.table([[pictures, words or ""]], [across, WIDTH - across], grid=False, pad=1)]


def _takes(paper: Paper, takes: Sequence[TakeRow], wide: float) -> Any:
    rows = [
        [
            paper.tick(7),
            paper.text(t.amount, _SMALL, bold=True, right=True),
            paper.text(", ".join(filter(None, (t.what, t.from_))), _SMALL),
        ]
        for t in takes
    ]
    return paper.table(rows, [4 * MM, 17 * MM, wide - 21 * MM], grid=False, pad=0.8)


def _booking(paper: Paper, booking: PrintedBooking) -> list[Any]:
    from reportlab.platypus import CondPageBreak

    where = ", ".join(filter(None, (booking.room, booking.period)))
    who = ", ".join(filter(None, (where, booking.code, booking.teacher)))
    head = [
        paper.text(booking.number, 9, bold=True),
        paper.tick(9),
        paper.text(who, 9, bold=True),
        paper.text(booking.demo + (f" ({booking.showings})" if booking.showings else ""), 9, bold=True),
    ]
    widths = [_NUMBER, 5 * MM, WIDTH * 0.45 - _NUMBER - 5 * MM, WIDTH * 0.55]
    parts = [CondPageBreak(20 * MM), paper.table([head], widths, pad=1.5)]
    if booking.short:
        lines = [paper.text(f"SHORT: {short}", _SMALL, bold=True) for short in booking.short]
        parts += [gap(1), paper.framed(lines, WIDTH, 0.8), gap(1)]
    if booking.gets:
        parts.append(_takes(paper, booking.gets, WIDTH))
    if booking.cautions:
        parts.append(paper.text(" ".join(["Caution:", *booking.cautions]), 7.5, bold=True))
    return parts
