"""How a label is set: as large as it fits, and what it leaves out, in order, where it is too small.

Lengths are points from the label's upper left corner, y downwards.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache
from itertools import takewhile

from prep.errors import PrepError
from prep.reports.formatting import short_day
from prep.reports.labels.sheet_sizes import LabelSheet, Padding
from prep.reports.labels.text_flow import Column, Paragraph, PlacedPicture, SetLine, TextBox
from prep.reports.pdf import fonts
from prep.safety.clp.small_packages import SOURCE, UP_TO_ML, may_be_left_out
from prep.safety.label_content import LabelContent
from prep.safety.model import Statement

MM = 72 / 25.4
QUIET = 4  # modules left white round a QR code
_B, _R = fonts.BOLD, fonts.REGULAR
UNKNOWN = "Hazards not known: treat as hazardous"
HARMLESS = "Not classified as hazardous"
CHECK = "Hazards from data not yet verified: check before relying on it"
SHORT_CHECK = "Check hazards before relying on them"
AID = "Working aid: the supplier's safety data sheet and local rules prevail."
SHORT_AID = "Aid only: data sheet, local rules prevail"
PICTOGRAM_LEAST_MM = 8.0
_PICTOGRAM_MM, _PICTOGRAM_MOST_MM = 13.0, 30.0
_QR_MM, _QR_MOST_MM, _QR_MODULE_LEAST_MM = 14.0, 24.0, 0.33
_SCALES = tuple(2.6 * 0.95**step for step in range(38))


@dataclass(frozen=True, slots=True)
class LaidLabel:
    """One label ready to draw, in points from its upper left corner; `whole` where nothing was left out."""

    lines: tuple[SetLine, ...]
    pictures: tuple[PlacedPicture, ...]
    qr: TextBox | None
    scale_at: int = 0  # of the scales, largest first
    whole: bool = True
    lawful: bool = True  # nothing was left out that the regulation asks for
    notes: tuple[str, ...] = ()  # what it leaves out, and why


@dataclass(frozen=True, slots=True)
class LeastSizes:
    """How large pictograms, corner to corner [mm], and letters [pt] must be at least; `wished_mm` if possible."""

    picture_mm: float = 0.0
    letter_pt: float = 0.0
    wished_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class _LabelSpace:
    """What a label is set in: points, whether words may be broken anywhere, and what is to be shown."""

    width: float
    height: float
    hard: bool
    with_qr: bool
    with_h: bool
    least: LeastSizes


def characters(chars: tuple[str, ...]) -> str:
    """Name characters by number, for a sentence."""
    return ", ".join(f"U+{ord(char):04X}" for char in chars[:5])


def _coded(statement: Statement) -> Statement:
    return Statement(statement.code, "") if statement.code else statement


@dataclass(frozen=True, slots=True)
class LabelReduction:
    """One thing that a label too small for it leaves out; `asked` where the regulation asks for it."""

    said: str
    of: Callable[[LabelContent], LabelContent]
    asked: bool = False


_SCHOOL = LabelReduction("school line left out", lambda c: replace(c, school=""))
_NOTES = LabelReduction("notes left out", lambda c: replace(c, notes=()))
_KEEPING = LabelReduction("keeping left out", lambda c: replace(c, keeping=""))
_PRECAUTIONS = LabelReduction("precautionary statements left out", lambda c: replace(c, p_statements=()), asked=True)
_CODES = LabelReduction(
    "hazard statements by code only",
    lambda c: replace(c, h_statements=tuple(_coded(h) for h in c.h_statements)),
    asked=True,
)
REDUCTIONS = (_PRECAUTIONS, _SCHOOL, _NOTES, _KEEPING, _CODES)
"""What a label that is too small leaves out, one after the other. What is named first matters least."""
SMALL_PACKAGE = (
    LabelReduction(
        f"precautionary statements left out that a small package may lack ({SOURCE})",
        lambda c: _lenient(c, hazard=False),
    ),
    _SCHOOL,
    _NOTES,
    _KEEPING,
    LabelReduction(
        f"hazard statements left out that a small package may lack ({SOURCE})", lambda c: _lenient(c, hazard=True)
    ),
    _PRECAUTIONS,
    _CODES,
)
"""The same on a bottle of up to 125 mL: first what Annex I, 1.5.2 lets it lack."""
_NO_QR = "QR code left out (the bottle's code is printed)"
_NO_H = "hazard statements left out"


def _lenient(content: LabelContent, *, hazard: bool) -> LabelContent:
    """Leave out the precautionary, or the hazard, statements that a small package may lack."""
    h_codes = [code for one in content.h_statements for code in one.codes]
    gone = may_be_left_out(h_codes, [one.code for one in content.p_statements])
    if hazard:
        return replace(content, h_statements=tuple(h for h in content.h_statements if h.code not in gone.hazard))
    return replace(content, p_statements=tuple(p for p in content.p_statements if p.code not in gone.precautionary))


@dataclass(frozen=True, slots=True)
class _LabelSetting:
    """One way to set a label: what it leaves out next, what it keeps."""

    said: str
    content: LabelContent
    with_qr: bool
    with_h: bool
    asked: bool = False


def lay(
    content: LabelContent,
    sheet: LabelSheet,
    padding: Padding,
    largest: int = 0,
    least: LeastSizes = LeastSizes(),
) -> LaidLabel:
    """Find the fullest setting that fits, and say what it leaves out; no type larger than scale `largest`.

    Pictograms and letters are as large as `least` says where what the regulation asks for fits with them: a line of
    the school or what a small package may lack is left out before they shrink, and letters shrink before pictograms.
    """
    left, top = padding.left * MM, padding.top * MM
    width = sheet.width_mm * MM - left - padding.right * MM
    height = sheet.height_mm * MM - top - padding.bottom * MM
    who = f"{content.bottle or content.name}: "
    size = f"the label is {sheet.width_mm:.1f} x {sheet.height_mm:.1f} mm."
    notes = []
    others = (content.made_by, content.keeping, content.school, *content.notes)
    if missing := fonts.unprintable((*others, *map(str, (*content.h_statements, *content.p_statements)))):
        notes.append(f"{who}written with ? for want of a font: {characters(missing)}.")
    if padding.uneven:
        size = f"{size[:-1]}, and {sheet.edge_mm:g} mm at the page's edge stay blank."
    settings = _settings(content, width)
    lawful = list(takewhile(lambda one: not one.asked, settings))
    least, wished = replace(least, wished_mm=0.0), replace(least, picture_mm=least.wished_mm, wished_mm=0.0)
    tried = dict.fromkeys([least, replace(least, letter_pt=0.0)])
    for one, sizes in (
        *([(settings[0], wished)] if wished.picture_mm > least.picture_mm else []),
        *((one, sizes) for sizes in tried if sizes != LeastSizes() for one in lawful),
        *((one, LeastSizes()) for one in settings),
    ):
        for hard in (False, True):
            space = _LabelSpace(width, height, hard, one.with_qr, one.with_h, sizes)
            if laid := _largest(one.content, space, largest):
                before = settings[: settings.index(one) + 1]
                left_out = [each.said for each in before if each.said]
                has_all = not any(each.asked for each in before)
                if left_out:
                    notes.append(f"{who}{'; '.join(left_out)}: {size}{'' if has_all else _too_much(content)}")
                return replace(_shifted(laid, left, top), whole=not left_out, lawful=has_all, notes=tuple(notes))
    raise PrepError(
        f'"{content.name[:60]}" {content.bottle}: the label of {sheet.width_mm:.1f} x {sheet.height_mm:.1f} mm '
        "is too small for its name, strength, signal word, pictograms, dates and code; choose a sheet with "
        "larger labels."
    )


def _too_much(content: LabelContent) -> str:
    """Say how a label breaks the regulation that lacks a statement it asks for; empty without a bottle's size."""
    if content.capacity_ml is None:
        return ""
    if content.capacity_ml <= UP_TO_ML:
        return f" That is more than a bottle of up to {UP_TO_ML} mL may lack: choose a sheet with larger labels."
    return f" Only a bottle of up to {UP_TO_ML} mL may lack some of that: choose a sheet with larger labels."


def _settings(content: LabelContent, width: float) -> list[_LabelSetting]:
    """List the ways to set a label, fullest first.

    Each says what is left out next, what is kept, and whether the QR and the hazard statements are.
    """
    has_qr = bool(content.bottle)
    qr_fits = has_qr and _qr_corner(content, width, _SCALES[-1]) is not None
    settings = [_LabelSetting(_NO_QR if has_qr and not qr_fits else "", content, qr_fits, True)]
    small = content.capacity_ml is not None and content.capacity_ml <= UP_TO_ML
    for reduction in SMALL_PACKAGE if small else REDUCTIONS:
        before = settings[-1].content
        if (kept := reduction.of(before)) != before:
            settings.append(_LabelSetting(reduction.said, kept, qr_fits, True, reduction.asked))
    last = settings[-1].content
    if qr_fits:
        settings.append(_LabelSetting(_NO_QR, last, False, True))
    if last.h_statements:
        settings.append(_LabelSetting(_NO_H, last, False, False, asked=True))
    return settings


def _largest(content: LabelContent, room: _LabelSpace, largest: int) -> LaidLabel | None:
    """Set the label at the largest scale; each line its own where that costs little, else run on."""
    loose_at, loose = _search(content, room, tight=False, largest=largest)
    tight_at, tight = _search(content, room, tight=True, largest=largest)
    return loose if loose and loose_at - tight_at < 4 else tight or loose


def _search(content: LabelContent, room: _LabelSpace, tight: bool, largest: int) -> tuple[int, LaidLabel | None]:
    """Find the first of `_SCALES` (largest first) that fits, by halving.

    The smallest decides whether any does.
    """
    low, high = largest, len(_SCALES) - 1
    found = _attempt(content, room, _SCALES[high], tight)
    while found and low < high:
        middle = (low + high) // 2
        if laid := _attempt(content, room, _SCALES[middle], tight):
            found, high = laid, middle
        else:
            low = middle + 1
    return high, replace(found, scale_at=high) if found else None


def _attempt(content: LabelContent, room: _LabelSpace, scale: float, tight: bool) -> LaidLabel | None:
    """Try to set the label at one scale; None where it does not fit."""
    corner = _qr_corner(content, room.width, scale, room.least.letter_pt) if room.with_qr else None
    if room.with_qr and not corner:
        return None
    column = Column(room.width, (corner[0],) if corner else (), room.hard, room.least.letter_pt)
    if not all(column.put(paragraph, scale) for paragraph in _head(content, tight)):
        return None
    grid = _picture_grid(
        content, column, max(min(scale * _PICTOGRAM_MM, _PICTOGRAM_MOST_MM), room.least.picture_mm), tight
    )
    if grid is None:
        return None
    pictures, area = grid
    column.floats = (*column.floats, *([area] if area else []))
    if not all(column.put(paragraph, scale) for paragraph in _body(content, room.with_h, tight)):
        return None
    body_lines = len(column.lines)
    if not all(column.put(paragraph, scale) for paragraph in _foot(content, not (corner and corner[2]), tight)):
        return None
    if max(column.y, *(box.bottom for box in column.floats), 0) > room.height:
        return None
    slack = room.height - column.y  # moves the foot down to the label's lower edge
    lines = [line if i < body_lines else replace(line, y=line.y + slack) for i, line in enumerate(column.lines)]
    return LaidLabel((*lines, *(corner[2] if corner else ())), pictures, corner[1] if corner else None)


def _head(content: LabelContent, tight: bool) -> list[Paragraph]:
    head = [Paragraph(content.name, _B, 11, 6)]
    return head if tight or not content.strength else [*head, Paragraph(content.strength, _B, 11, 6, 0.05)]


def _body(content: LabelContent, with_h: bool, tight: bool) -> list[Paragraph]:
    signal = content.signal.upper()
    body = []
    if tight and content.strength:
        body.append(Paragraph(content.strength, _B, 11, 6, 0.05, signal))
    elif signal:
        body.append(Paragraph(signal, _B, 11, 6))
    if not content.hazard_known:
        body.append(Paragraph(UNKNOWN, _B, 8.5, 6))
    elif not (signal or content.h_statements or content.pictograms):
        body.append(Paragraph(HARMLESS, _R, 7, 5, 0.4))
    if content.check:
        body.append(Paragraph(SHORT_CHECK if tight else CHECK, _B, 6, 5))
    if with_h and content.h_statements:
        said = [str(statement) for statement in content.h_statements]
        codes_only = not any(statement.text for statement in content.h_statements)
        body += [Paragraph(text, _R, 7, 5) for text in ([" ".join(said)] if codes_only or tight else said)]
    if content.p_statements:
        body.append(Paragraph(" ".join(map(_stopped, content.p_statements)), _R, 6.5, 5, 0.35))
    return body + [Paragraph(note, _R, 6.5, 5, 0.3) for note in content.notes]


def _stopped(statement: Statement) -> str:
    """Add a full stop: run on, a statement printed without one melts into the next.

    The regulation prints some without.
    """
    return str(statement) if statement.text.endswith((".", "!", "?")) else f"{statement}."


def _foot(content: LabelContent, with_code: bool, tight: bool) -> list[Paragraph]:
    made = _date(content.made_on) + (f" by {content.made_by}" if content.made_by else "")
    made = f"Made {made.strip()}" if made else ""
    made = made or (f"Received {_date(content.received_on)}" if content.received_on else "")
    made = ", ".join(filter(None, (content.amount, made)))
    use_by = f"Use by {_date(content.use_by)}" if content.use_by else ""
    foot = [Paragraph(f"Keep: {content.keeping}", _R, 7, 5, 0.3)] if content.keeping else []
    if with_code and content.bottle:
        foot.append(Paragraph(content.bottle, _B, 7, 5.5, 0.2, use_by if tight else ""))
        use_by = "" if tight else use_by
    if made or use_by:
        foot.append(Paragraph(made or use_by, _R if made else _B, 7, 5, 0.05 if tight else 0.3, use_by if made else ""))
    aid = SHORT_AID if tight else AID
    if content.school:
        foot.append(Paragraph(content.school, _R, 6, 5, right=aid, right_font=_R))
    else:
        foot.append(Paragraph(aid, _R, 5.5, 5, 0))
    return foot


def _date(on: date | None) -> str:
    return f"{short_day(on)} {on.year}" if on else ""


def _picture_grid(
    content: LabelContent, column: Column, wanted_mm: float, tight: bool
) -> tuple[tuple[PlacedPicture, ...], TextBox | None] | None:
    """Place the pictograms under what is set so far, at the left; None where the label is too narrow.

    In rows; in the tight setting three or more stand in two rows whose points reach into each other.
    """
    count = len(content.pictograms)
    if not count:
        return (), None
    side = max(PICTOGRAM_LEAST_MM, wanted_mm) * MM
    step = 1.06 * side
    top = column.y + step - side
    if tight and count >= 3:
        across = -(-count // 2)
        places = [(i * step, 0.0) for i in range(across)]
        places += [((i + 0.5) * step, step / 2) for i in range(count - across)]
    else:
        across = min(int((column.span(top, side).high + step - side) / step), count)
        if not across:
            return None
        places = [(i % across * step, i // across * step) for i in range(count)]
    wide, high = (max(place[axis] for place in places) + step for axis in (0, 1))
    if column.span(top, high).high < wide - (step - side):
        return None
    placed = zip(content.pictograms, places, strict=True)
    pictures = tuple(PlacedPicture(code, TextBox(x, top + y, side, side)) for code, (x, y) in placed)
    return pictures, TextBox(0, column.y, wide + 0.1 * side, top - column.y + high)


def _qr_corner(
    content: LabelContent, width: float, scale: float, letter_pt: float = 0.0
) -> tuple[TextBox, TextBox, list[SetLine]] | None:
    """Place the QR in the upper right corner, the code under it if that is short; None without room."""
    modules = len(qr_matrix(content.coded)) + 2 * QUIET
    side = max(modules * _QR_MODULE_LEAST_MM, min(_QR_MM * scale, _QR_MOST_MM)) * MM
    least = max(5.5, letter_pt)
    size = max(least, min(7 * scale, 12))
    across = fonts.width(content.bottle, _B, size)
    while across > side and size > least:
        size = max(least, size * 0.95)
        across = fonts.width(content.bottle, _B, size)
    under = max(side, across + 2) <= 0.5 * width
    block = max(side, across + 2) if under else side
    if block > 0.5 * width:
        return None
    x = width - block
    qr = TextBox(x + (block - side) / 2, 0, side, side)
    quiet = side * QUIET / modules
    if not under:
        return TextBox(x - 2, 0, block + 2, side), qr, []
    baseline = side - quiet + size * 0.95
    line = SetLine(content.bottle, x + (block - across) / 2, baseline, _B, size)
    return TextBox(x - 2, 0, block + 2, baseline + size * 0.35), qr, [line]


@lru_cache(maxsize=64)
def qr_matrix(code: str) -> tuple[bytearray, ...]:
    """Encode a text as rows of QR modules, 1 for dark, without the quiet zone."""
    import segno

    return tuple(segno.make(code, error="m", micro=False, boost_error=False).matrix)


def _shifted(laid: LaidLabel, dx: float, dy: float) -> LaidLabel:
    def moved(box: TextBox) -> TextBox:
        return replace(box, x=box.x + dx, y=box.y + dy)

    return replace(
        laid,
        lines=tuple(replace(line, x=line.x + dx, y=line.y + dy) for line in laid.lines),
        pictures=tuple(replace(one, box=moved(one.box)) for one in laid.pictures),
        qr=moved(laid.qr) if laid.qr else None,
    )
