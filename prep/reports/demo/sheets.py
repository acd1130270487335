"""The sheets of a demonstration as PDF: lesson, setting out, predictions, packing, safety. All defer to local rules."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from prep.chemistry.acid_base.colour_course import through
from prep.errors import PrepError
from prep.planning.model import DemoKind
from prep.plurals import plural
from prep.reports.demo.prediction_view import inside_of
from prep.reports.formatting import day, period_text, three_figures
from prep.reports.pdf import fonts
from prep.reports.pdf.pages import MM, WIDTH, Paper, build, gap
from prep.safety.deferral import LOCAL_RULES
from prep.services.demos.prediction import PredictedVessel
from prep.services.demos.sheets import DemoSheets

FOOTER = (
    "Working aid. The suppliers' safety data sheets, the school's own risk assessment, local rules and licensed "
    "practice prevail."
)
UNCHECKED = "Some of this rests on memory: check it before relying on it."
_BOXES = 6  # for the pupils' colours


def sheet(kind: str, found: DemoSheets) -> bytes:
    """Draw up one sheet as PDF. Raises PrepError for a kind that is none."""
    if kind not in KINDS:
        raise PrepError(f'"{kind[:20]}" is no sheet; there are {", ".join(KINDS)}.')
    title, story = KINDS[kind]
    return build(_titled(title, found), lambda paper: story(paper, found), FOOTER)


def _titled(title: str, found: DemoSheets) -> str:
    """Write the sheet's title: `Lesson sheet: Blue bottle`, `What will happen? Blue bottle`."""
    return f"{title}{'' if title.endswith('?') else ':'} {found.demo.name}"


def _head(paper: Paper, found: DemoSheets, title: str, *, note: bool = True) -> list[Any]:
    """Begin a sheet: what, when, where, for whom and how often; and what was noted for the prep room."""
    b = found.booking
    facts = [day(b.on), period_text(b.period), b.room, b.teacher, b.group, b.code] if b else []
    side = ", ".join(filter(None, facts))
    trials = b.trials if b and b.runs == found.showings else 0
    runs = f" and {plural(trials, 'trial run')}" if trials else ""
    shown = found.showings - trials
    times = plural(shown, found.demo.unit) + runs
    parts = [paper.text(_titled(title, found), 14, bold=True)]
    parts.append(paper.text("; ".join(filter(None, (side, times, found.school))), 9))
    if note and b and b.note:
        parts.append(paper.text(f"Note: {b.note}", 10, bold=True))
    return [*parts, gap(5)]


def _lesson(paper: Paper, found: DemoSheets) -> list[Any]:
    parts = _head(paper, found, "Lesson sheet")
    if found.demo.about:
        parts += [paper.text(found.demo.about, 9), gap(3)]
    if found.demo.ask_first:
        parts += [paper.framed([paper.text(line, 9, bold=True) for line in leave_lines(found)], WIDTH), gap(3)]
    parts += [paper.heading("What stands where", 10), gap(2), _bench(paper, found), gap(4)]
    parts += _safety(paper, found)
    blanks = [
        [paper.text(f"{said}:", 8) for said in ("Assessed by", "Day", "Controls added here", "Signature")],
    ]
    parts += [paper.heading("The school's own assessment", 10), gap(2)]
    parts.append(paper.table(blanks, [WIDTH * 0.22, WIDTH * 0.14, WIDTH * 0.4, WIDTH * 0.24], pad=3, height=12 * MM))
    return parts


def leave_lines(found: DemoSheets) -> list[str]:
    """Say who must allow it, and who did and when; a blank where nobody has yet."""
    b = found.booking
    said = f"Allowed by {b.allowed_by}" if b and b.allowed_by else "Allowed by ____________________"
    when = f"on {day(b.allowed_on)}" if b and b.allowed_on else "on ____________"
    return [f"Ask first: {found.demo.ask_first}", f"{said} {when}"]


def _bench(paper: Paper, found: DemoSheets) -> Any:
    rows = [
        [paper.text(head, 8, bold=True) for head in ("Vessel", "What", f"A {found.demo.unit}", "In all", "Hazards")]
    ]
    for one in found.bench:
        name = one.name + (" (made fresh)" if one.fresh else "") + (f"; {one.note}" if one.note else "")
        hazards = f"{one.signal.upper()}: {one.hazards}" if one.signal else one.hazards
        cells = (one.vessel, name, one.each, one.total, hazards)
        rows.append([paper.text(cell, 8) for cell in cells])
    shares = (0.16, 0.33, 0.13, 0.11, 0.27)
    return paper.table(rows, [WIDTH * share for share in shares], header=True, pad=2)


@dataclass(frozen=True, slots=True)
class SafetyPart:
    """What is said under one heading of a demo's safety."""

    head: str
    lines: list[str]


def safety_lines(found: DemoSheets) -> list[SafetyPart]:
    """List, by heading, what is to be minded, kept apart, worn, done and cleared up.

    A heading without lines is left out.
    """
    notes = found.notes
    said = [
        SafetyPart("Mind", [found.demo.caution] if found.demo.caution else []),
        SafetyPart("May be made in one vessel", [line.text for line in notes.may_be_made]),
        SafetyPart("Keep apart", [line.text for line in notes.keep_apart]),
        SafetyPart("Controls", [one.text for one in notes.protection]),
        SafetyPart("Spill", [line.text for line in notes.spill]),
        SafetyPart("Fire", [line.text for line in notes.fire]),
        SafetyPart("First aid", [one.text for one in notes.first_aid]),
        SafetyPart("Clearing up", [f"{', '.join(one.what)}: {one.what_to_do}" for one in found.waste.streams]),
        SafetyPart("Waste apart", [one.message for one in found.waste.apart]),
        SafetyPart("Check", [UNCHECKED] if notes.check_before_relying else []),
    ]
    return [one for one in said if one.lines]


def _safety(paper: Paper, found: DemoSheets) -> list[Any]:
    rows: list[list[Any]] = []
    for one in safety_lines(found):
        bold = one.head == "Check"
        rows.append([paper.text(one.head, 8, bold=True), [paper.text(line, 8, bold=bold) for line in one.lines]])
    if not rows:
        return []
    table = paper.table(rows, [WIDTH * 0.17, WIDTH * 0.83], pad=2)
    return [paper.heading("Safety and clearing up", 10), gap(2), table, gap(4)]


def _setting_out(paper: Paper, found: DemoSheets) -> list[Any]:
    parts = _head(paper, found, "Setting out")
    sets = found.demo.kind is DemoKind.PRACTICAL
    heads = ("Vessel", "What", "In all" if sets else "Pour out", "Note")
    rows: list[list[Any]] = [["", *(paper.text(head, 9, bold=True) for head in heads)]]
    for one in found.bench:
        added = f"added from the {one.dropper}" if one.dropper else ""
        note = "; ".join(filter(None, (added, "made fresh" if one.fresh else "", one.signal, one.note)))
        rows.append([paper.tick(), *(paper.text(cell, 10) for cell in (one.vessel, one.name, one.total, note))])
    shares = (0.05, 0.22, 0.37, 0.14, 0.22)
    parts += [paper.table(rows, [WIDTH * share for share in shares], header=True), gap(6)]
    if found.trays:
        parts += [*(paper.text(line, 10) for line in found.trays), gap(6)]
    if found.demo.caution:
        parts += [paper.framed([paper.text(f"Mind: {found.demo.caution}", 10, bold=True)], WIDTH), gap(6)]
    if found.demo.ask_first:
        parts += [paper.framed([paper.text(line, 10, bold=True) for line in leave_lines(found)], WIDTH), gap(6)]
    if found.demo.trials:
        parts.append(paper.text(f"Run it {plural(found.demo.trials, 'time')} before the lesson.", 10))
    blanks = [[paper.text(f"{said}:", 9) for said in ("Set out by", "Where it stands", "Checked by")]]
    return [*parts, gap(4), paper.table(blanks, [WIDTH / 3] * 3, pad=3, height=11 * MM)]


def _pupils(paper: Paper, found: DemoSheets) -> list[Any]:
    return _predictions(paper, found, answers=False)


def _teacher(paper: Paper, found: DemoSheets) -> list[Any]:
    return _predictions(paper, found, answers=True)


def _predictions(paper: Paper, found: DemoSheets, *, answers: bool) -> list[Any]:
    parts = _head(paper, found, "What will happen? The answer" if answers else "What will happen?", note=False)
    from reportlab.platypus import KeepTogether

    vessels, drops = found.prediction.vessels, found.prediction.in_drops
    height = (52 if len(vessels) <= 2 else 36 if answers else 31) * MM  # so that four stand on a page
    if not vessels:
        parts += _without_curve(paper, found, answers)
    for one in vessels:
        vessel = [paper.heading(f"{one.called}: {inside_of(one)}", 10), gap(2)]
        vessel.append(paper.text(f"{one.added} is added from the {one.dropper}{', drop by drop' if drops else ''}.", 9))
        vessel += [gap(2), _boxes(paper, one, drops, answers), gap(3), _curve(one, drops, answers, height), gap(6)]
        parts.append(KeepTogether(vessel))
    if not answers:
        blanks = [[paper.text("Why do I expect this?", 9)], [paper.text("What did I see?", 9)]]
        parts.append(paper.table(blanks, [WIDTH], pad=3, height=16 * MM))
    return parts


def _without_curve(paper: Paper, found: DemoSheets, answers: bool) -> list[Any]:
    """Lay out what is seen where nothing is titrated, with a row for each vessel to guess and to note in."""
    vessels: dict[str, list[str]] = {}
    for one in found.bench:
        vessels.setdefault(one.vessel, []).append(f"{one.each} {one.name}".strip())
    blank = () if answers else ("What I expect", "What I see")
    rows: list[list[Any]] = [[paper.text(head, 9, bold=True) for head in ("Vessel", "What is in it", *blank)]]
    for vessel, inside in vessels.items():
        rows.append([paper.text(vessel, 9), [paper.text(what, 9) for what in inside], *[""] * len(blank)])
    said = f"What is to be seen: {found.demo.about}" if answers and found.demo.about else ""
    told = said or "Nothing in it is titrated, so there is no curve: write down what you expect."
    shares = (0.25, 0.75) if answers else (0.18, 0.32, 0.25, 0.25)
    return [paper.text(told, 10), gap(4), paper.table(rows, [WIDTH * share for share in shares], pad=4), gap(6)]


def _boxes(paper: Paper, one: PredictedVessel, in_drops: bool, answers: bool) -> Any:
    rate, most = (one.drops_per_ml or 1.0) if in_drops else 1.0, one.course.most_ml
    unit = "drops" if in_drops else "mL"
    counts = [round(most * rate * n / (_BOXES - 1)) for n in range(_BOXES)]
    moments = [min(one.course.moments, key=lambda m: abs(m.volume_ml * rate - count)) for count in counts]
    rows = [
        [paper.text(cell, 8, bold=True) for cell in (unit, *map(str, counts))],
        [paper.text(cell, 8) for cell in ("Colour", *((m.colour if answers else "") for m in moments))],
        [paper.text(cell, 8) for cell in ("pH", *((f"{m.ph:.1f}" if answers else "") for m in moments))],
    ]
    widths = [WIDTH * 0.13, *[WIDTH * 0.87 / _BOXES] * _BOXES]
    if not one.indicator:  # nothing in it has a colour to guess
        return paper.table([rows[0], rows[2]], widths, pad=3)
    changes = [
        f"{through(passed)}: {plural(last.drops.count, 'drop')} ({last.drops.fewest} to {last.drops.most})"
        if in_drops
        else f"{through(passed)}: {three_figures(last.volume_ml)} mL"
        for passed in one.changes
        if (last := passed[-1].ends) and last.drops
    ]
    said = "; ".join(changes) or (f"still {one.stays}" if one.stays else "no colour changes")
    rows.append([paper.text("It changes", 8), paper.text(said if answers else "", 8), *[""] * (_BOXES - 1)])
    table = paper.table(rows, widths, pad=3)
    table.setStyle([("SPAN", (1, 3), (-1, 3))])
    return table


def _curve(one: PredictedVessel, in_drops: bool, answers: bool, height: float) -> Any:
    """Draw the axes for a curve, and the curve where the answer is given."""
    from reportlab.graphics.shapes import Drawing, Line, PolyLine, String
    from reportlab.lib.colors import Color, black

    width, left, foot = WIDTH * 0.9, 10 * MM, 9 * MM
    drawing = Drawing(width, height)
    across, up = width - left - 5 * MM, height - foot - 4 * MM
    rate, right = (one.drops_per_ml or 1.0) if in_drops else 1.0, one.course.most_ml
    grey = Color(0.75, 0.75, 0.75)
    for ph in range(0, 15, 2):
        y = foot + up * ph / 14
        drawing.add(Line(left, y, left + across, y, strokeColor=grey, strokeWidth=0.4))
        drawing.add(String(left - 5 * MM, y - 2.5, str(ph), fontSize=7, fontName=fonts.REGULAR))
    for n in range(_BOXES):
        x = left + across * n / (_BOXES - 1)
        drawing.add(Line(x, foot, x, foot + up, strokeColor=grey, strokeWidth=0.4))
        count = f"{right * rate * n / (_BOXES - 1):.0f}"
        drawing.add(String(x - 4, foot - 9, count, fontSize=7, fontName=fonts.REGULAR))
    drawing.add(String(left + across - 12 * MM, 2, "drops" if in_drops else "mL", fontSize=8, fontName=fonts.REGULAR))
    drawing.add(String(0, foot + up + 3, "pH", fontSize=8, fontName=fonts.REGULAR))
    if answers:
        points = [
            value
            for m in one.course.moments
            for value in (left + across * m.volume_ml / right, foot + up * min(14.0, max(0.0, m.ph)) / 14)
        ]
        drawing.add(PolyLine(points, strokeColor=black, strokeWidth=1.4))
    return drawing


def _packing(paper: Paper, found: DemoSheets) -> list[Any]:
    parts = _head(paper, found, "Packing list")
    heads = ("", "What", "How much", "In bottles that close; for what", "Comes back")
    rows: list[list[Any]] = [[paper.text(head, 9, bold=True) for head in heads]]
    for one in found.packing.bottles:
        rows.append([paper.tick(), *(paper.text(cell, 9) for cell in (one.name, one.amount, one.bottles)), ""])
    for thing in found.packing.things:
        rows.append([paper.tick(), *(paper.text(cell, 9) for cell in (thing.name, thing.number, thing.note)), ""])
    shares = (0.05, 0.4, 0.14, 0.27, 0.14)
    parts += [paper.table(rows, [WIDTH * share for share in shares], header=True), gap(5)]
    lines = [*found.packing.needed_there, *(f"Not in one tray: {line}" for line in found.packing.apart)]
    if lines:
        parts += [paper.framed([paper.text(line, 9, bold=True) for line in lines], WIDTH), gap(5)]
    back = [f"{', '.join(one.what)}: {one.what_to_do}" for one in found.waste.streams]
    parts.append(paper.heading("What comes back as waste", 10))
    parts += [paper.text(line, 9) for line in back or ["Nothing is recorded; bring back what is left."]]
    note = (
        "Every bottle labelled and upright in a tray, what is for a spill beside it; nothing in a bag or a pocket; no "
        "bottle closed on waste that still fizzes. Carriage on public roads has rules of its own: ask before it leaves "
        "the site."
    )
    blanks = [[paper.text(f"{said}:", 9) for said in ("Packed by", "Carried by", "Back, and checked by")]]
    return [*parts, gap(4), paper.text(note, 9), gap(4), paper.table(blanks, [WIDTH / 3] * 3, pad=3, height=11 * MM)]


def _notes(paper: Paper, found: DemoSheets) -> list[Any]:
    parts = _head(paper, found, "Safety notes and waste")
    if found.demo.ask_first:
        parts += [paper.framed([paper.text(line, 9, bold=True) for line in leave_lines(found)], WIDTH), gap(3)]
    bench = [paper.text(said, 9) for said in dict.fromkeys(line.text for line in found.notes.on_the_bench)]
    parts += [paper.heading("On the bench", 10), gap(2), *bench, gap(4), *_safety(paper, found)]
    return [*parts, paper.text(found.notes.deferral, 9, bold=True)]


def _waste(paper: Paper, found: DemoSheets) -> list[Any]:
    """List what it leaves, stream by stream, with what neutralises it and its working."""
    parts = _head(paper, found, "Waste")
    if not found.waste.streams:
        parts.append(paper.text("Nothing is known of what it leaves: ask whoever disposes of chemicals.", 10))
    for one in found.waste.streams:
        parts += [paper.heading(one.stream.capitalize(), 11), gap(2)]
        parts += [paper.text(f"- {what}", 10) for what in one.what]
        parts += [paper.text(one.what_to_do, 10), gap(2)]
        if one.neutralising:
            parts += [paper.text(line.text, 8) for line in one.neutralising.working]
            if len(one.neutralising.choices) > 1:
                parts.append(paper.text("Either is enough; it is the most, as if nothing had reacted yet.", 8))
        parts.append(gap(4))
    if found.waste.apart:
        lines = [paper.text(f"Never together: {one.message}", 9, bold=True) for one in found.waste.apart]
        parts += [paper.framed(lines, WIDTH), gap(4)]
    blanks = [[paper.text(f"{said}:", 9) for said in ("Cleared up by", "Day", "Where it went")]]
    parts += [paper.table(blanks, [WIDTH / 3] * 3, pad=3, height=11 * MM), gap(4)]
    return [*parts, paper.text(LOCAL_RULES, 9, bold=True)]


KINDS: dict[str, tuple[str, Callable[[Paper, DemoSheets], list[Any]]]] = {
    "lesson": ("Lesson sheet", _lesson),
    "setting-out": ("Setting out", _setting_out),
    "pupils": ("What will happen?", _pupils),
    "teacher": ("What will happen? The answer", _teacher),
    "packing": ("Packing list", _packing),
    "safety": ("Safety notes and waste", _notes),
    "waste": ("Waste", _waste),
}
"""Every sheet by the word that asks for it."""
