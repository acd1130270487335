"""Lettering for PDF: every character printed by a font that has it, formulas with true sub- and superscripts.

The fonts are those that ReportLab ships (Bitstream Vera); what they lack is written another way (a Greek
letter by its name, an arrow as `->`). For other scripts a font of the computer's own is looked for; what no
font has is reported, never printed as an empty box.
"""

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from typing import Any
from xml.sax.saxutils import escape

REGULAR = "PrepSans"
BOLD = "PrepSans-Bold"
_FALLBACK = "PrepSans-Other"
_FALLBACK_FILES = ("DejaVuSans.ttf", "NotoSans-Regular.ttf", "FreeSans.ttf", "LiberationSans-Regular.ttf")
_SMALL = 0.68  # size of sub- and superscripts
_RISE = {"": 0.0, "sub": -0.16, "sup": 0.34}  # of the text's size

_SUB = dict(zip("₀₁₂₃₄₅₆₇₈₉₊₋₌₍₎ₐₑₒₓₙ", "0123456789+−=()aeoxn", strict=True))
_SUP = dict(zip("⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻⁼⁽⁾ⁿ", "0123456789+−=()n", strict=True))
_GREEK = (
    "alpha beta gamma delta epsilon zeta eta theta iota kappa lambda mu nu xi omicron pi rho sigma-final "
    "sigma tau upsilon phi chi psi omega"
).split()
_OTHERWISE = {
    **{chr(0x3B1 + i): name.removesuffix("-final") for i, name in enumerate(_GREEK)},
    **{chr(0x391 + i): name.capitalize() for i, name in enumerate(_GREEK) if i != 17},
    "μ": "µ",
    "Ω": "Ω",
    "→": "->",
    "⟶": "->",
    "←": "<-",
    "↔": "<->",
    "⇌": "<=>",
    "⇋": "<=>",
    "↑": "(gas)",
    "↓": "(solid)",
    "⋅": "·",
    "∙": "·",
    "‧": "·",
    "・": "·",
    "‐": "-",
    "‑": "-",
    "‒": "–",
    "―": "—",
    "℃": "°C",
    "℉": "°F",
    "№": "No.",
    "☐": "[ ]",
    "☑": "[x]",
    "✓": "[x]",
    "′": "'",
    "″": '"',
    "ℓ": "l",
}


@dataclass(frozen=True, slots=True)
class TextPiece:
    """Letters of one font and one height. `level` is "", "sub" or "sup"."""

    text: str
    font: str
    level: str = ""


@cache
def _fonts() -> dict[str, Any]:
    """Register the shipped faces once, and find their sets of characters by name."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    for name, file in ((REGULAR, "Vera.ttf"), (BOLD, "VeraBd.ttf")):
        pdfmetrics.registerFont(TTFont(name, file))
    pdfmetrics.registerFontFamily(REGULAR, REGULAR, BOLD, REGULAR, BOLD)
    return {name: pdfmetrics.getFont(name).face.charToGlyph for name in (REGULAR, BOLD)}


@cache
def _other_glyphs() -> dict[int, int]:
    """Find the characters of a font of the computer's own; empty without one.

    It is looked for only when a character is missing.
    """
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFError, TTFont

    for file in _FALLBACK_FILES:
        try:
            pdfmetrics.registerFont(TTFont(_FALLBACK, file))
        except (TTFError, OSError):
            continue
        glyphs: dict[int, int] = pdfmetrics.getFont(_FALLBACK).face.charToGlyph
        return glyphs
    return {}


def use_fonts() -> None:
    """Make `REGULAR` and `BOLD` known to ReportLab."""
    _fonts()


@cache
def _letter(char: str, font: str) -> TextPiece | None:
    """Choose how one character is printed; None where no font has it."""
    if char in _SUB or (char in _SUP and char not in "²³¹"):
        level = "sub" if char in _SUB else "sup"
        return TextPiece((_SUB | _SUP)[char], font, level)
    if char in "¹²³":  # in our own type, so that all of 10⁻¹² has one height
        return TextPiece(_SUP[char], font, "sup")
    if char.isspace():
        return TextPiece("\u00a0" if char in "\u00a0\u202f" else " ", font)
    if unicodedata.category(char) in ("Cc", "Cf", "Cs", "Co", "Cn"):  # controls, direction marks, no character
        return TextPiece("", font)
    known = _fonts()[font]
    if ord(char) in known:
        return TextPiece(char, font)
    if char in _OTHERWISE:
        return TextPiece(_OTHERWISE[char], font)
    if ord(char) in _other_glyphs():
        return TextPiece(char, _FALLBACK)
    plainer = "".join(c for c in unicodedata.normalize("NFKD", char) if not unicodedata.combining(c))
    if plainer and plainer != char and all(ord(c) in known for c in plainer):
        return TextPiece(plainer, font)
    return None


def pieces(text: str, font: str = REGULAR) -> tuple[TextPiece, ...]:
    """Split the text into pieces as printed, neighbours of one kind joined.

    A character that no font has is written `?`.
    """
    out: list[TextPiece] = []
    for char in unicodedata.normalize("NFC", text):
        letter = _letter(char, font) or TextPiece("?", font)
        if not letter.text:
            continue
        last = out[-1] if out else None
        if last and (last.font, last.level) == (letter.font, letter.level):
            out[-1] = TextPiece(last.text + letter.text, last.font, last.level)
        else:
            out.append(letter)
    return tuple(out)


def unprintable(texts: Iterable[str]) -> tuple[str, ...]:
    """Find the characters in `texts` that no font at hand has, sorted."""
    chars = {char for text in texts for char in unicodedata.normalize("NFC", text)}
    return tuple(sorted(char for char in chars if _letter(char, REGULAR) is None))


def markup(text: str) -> str:
    """Write the text for a ReportLab Paragraph: escaped, with sub- and superscripts.

    `<` and `[` stay what they are.
    """
    use_fonts()
    out = []
    for piece in pieces(text):
        part = escape(piece.text)
        if piece.font == _FALLBACK:
            part = f'<font name="{_FALLBACK}">{part}</font>'
        if piece.level:
            rise = abs(_RISE[piece.level])
            part = f'<{piece.level} size="{_SMALL:.0%}" rise="{rise:.0%}">{part}</{piece.level}>'
        out.append(part)
    return "".join(out)


@cache
def _unit_width(text: str, font: str) -> float:
    """Measure the width of the printed text at size 1."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    return sum(float(stringWidth(p.text, p.font, 1)) * (_SMALL if p.level else 1.0) for p in pieces(text, font))


def width(text: str, font: str, size: float) -> float:
    """Measure the width of the printed text in points."""
    return _unit_width(text, font) * size


def draw(canvas: Any, text: str, x: float, y: float, font: str, size: float) -> None:
    """Draw one line with its base line starting at (x, y), in points."""
    block = canvas.beginText(x, y)
    for piece in pieces(text, font):
        block.setFont(piece.font, size * (_SMALL if piece.level else 1))
        block.setRise(size * _RISE[piece.level])
        block.textOut(piece.text)
    canvas.drawText(block)
