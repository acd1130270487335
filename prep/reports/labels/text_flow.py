"""Text that flows round corners and pictures in a small box, laid out before a line is drawn.

Lengths are points; the box has its origin at the upper left and y downwards.
"""

import re
from dataclasses import dataclass

from prep.chemistry.interval import Interval
from prep.reports.pdf import fonts

_LEADING = 1.2  # distance of base lines, in text sizes: Regulation (EU) 2024/2865 asks for 120 %
_ASCENT = 0.93  # base line under the line's top
_NARROW = 28.0  # pt: beside a picture, a column narrower than this is left empty
_JOINT = re.compile(r"[^-/,;)\]]*[-/,;)\]]+|[^-/,;)\]]+")


@dataclass(frozen=True, slots=True)
class TextBox:
    """A place that text goes round."""

    x: float
    y: float
    width: float
    height: float

    @property
    def bottom(self) -> float:
        """Lower edge."""
        return self.y + self.height


@dataclass(frozen=True, slots=True)
class PlacedPicture:
    """A picture, by its code, and the place where it stands."""

    code: str
    box: TextBox


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Text of one font. `size` at scale 1, never below `least`; `space` above it is in text sizes.

    `right` stands at the right end of the same line where both fit, else on a line of its own.
    """

    text: str
    font: str
    size: float
    least: float
    space: float = 0.15
    right: str = ""
    right_font: str = fonts.BOLD

    def size_at(self, scale: float) -> float:
        """Find the size that is printed at a scale."""
        return max(self.least, self.size * scale)


@dataclass(frozen=True, slots=True)
class SetLine:
    """A line ready to draw: base line starting at (x, y)."""

    text: str
    x: float
    y: float
    font: str
    size: float


class Column:
    """Sets paragraphs from the top of a box of the given width, round the floats."""

    def __init__(self, width: float, floats: tuple[TextBox, ...], hard: bool, least: float = 0.0) -> None:
        """Start an empty column; `hard` allows breaking a word that no line holds, at any letter.

        No text is smaller than `least`.
        """
        self.width, self.floats, self.hard, self.least = width, floats, hard, least
        self.y = 0.0
        self.lines: list[SetLine] = []

    def span(self, y: float, height: float) -> Interval[float]:
        """Find the left and right end of what is free over a stretch of height."""
        left, right = 0.0, self.width
        for box in self.floats:
            if box.y < y + height and y < box.bottom:
                if box.x <= 0.01:
                    left = max(left, box.x + box.width)
                else:
                    right = min(right, box.x)
        return Interval(left, right)

    def put(self, paragraph: Paragraph, scale: float) -> bool:
        """Set one paragraph; False where a word is too long for its lines."""
        size = max(paragraph.size_at(scale), self.least)
        if self.lines:
            self.y += paragraph.space * size
        if paragraph.right and self._put_pair(paragraph, size):
            return True
        whole = [(paragraph.text, paragraph.font), (paragraph.right, paragraph.right_font)]
        return all(self._put_text(text, font, size) for text, font in whole if text)

    def _put_pair(self, paragraph: Paragraph, size: float) -> bool:
        self._past_narrow(size)
        free = self.span(self.y, size * _LEADING)
        far = fonts.width(paragraph.right, paragraph.right_font, size)
        if fonts.width(paragraph.text, paragraph.font, size) + far + size > free.width:
            return False
        self._set(paragraph.text, free.low, paragraph.font, size)
        self._set(paragraph.right, free.high - far, paragraph.right_font, size)
        self.y += size * _LEADING
        return True

    def _put_text(self, text: str, font: str, size: float) -> bool:
        words = text.split(" ")  # a no-break space keeps a number with its unit
        while words:
            self._past_narrow(size)
            free = self.span(self.y, size * _LEADING)
            count = _fitting(words, font, size, free.width)
            if not count:
                broken = _broken(words[0], font, size, free.width)
                if broken is None and (below := self._below(size)) is not None:
                    self.y = below
                    continue
                if broken is None and self.hard:
                    broken = _broken(words[0], font, size, free.width, anywhere=True)
                if broken is None:
                    return False
                words[:1] = broken
                count = 1
            self._set(" ".join(words[:count]), free.low, font, size)
            self.y += size * _LEADING
            words = words[count:]
        return True

    def _set(self, text: str, x: float, font: str, size: float) -> None:
        self.lines.append(SetLine(text, x, self.y + size * _ASCENT, font, size))

    def _below(self, size: float) -> float | None:
        """Find the first height under a float that narrows this line; None where the line is whole."""
        reach = [b.bottom for b in self.floats if b.y < self.y + size * _LEADING and self.y < b.bottom]
        return min(reach, default=None)

    def _past_narrow(self, size: float) -> None:
        while True:
            free = self.span(self.y, size * _LEADING)
            below = self._below(size)
            if free.width >= min(_NARROW, self.width) or below is None:
                return
            self.y = below


def _fitting(words: list[str], font: str, size: float, room: float) -> int:
    space, used, count = fonts.width(" ", font, size), 0.0, 0
    for word in words:
        used += (space if count else 0) + fonts.width(word, font, size)
        if used > room + 0.01:
            break
        count += 1
    return count


def _broken(word: str, font: str, size: float, room: float, anywhere: bool = False) -> list[str] | None:
    """Split a word in two: behind a hyphen, comma, slash or bracket far along the line, or at any letter."""
    parts = list(word) if anywhere else _JOINT.findall(word)
    end = 0
    for part in parts:
        if fonts.width(word[: end + len(part)], font, size) > room:
            break
        end += len(part)
    far_enough = anywhere or fonts.width(word[:end], font, size) > 0.4 * room
    return [word[:end], word[end:]] if 0 < end < len(word) and far_enough else None
