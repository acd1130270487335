"""Blocks side by side: down the first column of a page, then down the second, each block whole."""

from collections.abc import Sequence
from typing import Any

GUTTER = 10.0
"""Points between two columns."""


def two_columns(blocks: Sequence[Sequence[Any]], width: float, tallest: float) -> list[Any]:
    """Lay blocks out in two columns of a page `width` wide.

    What is taller than `tallest` points stands by itself. Each block is a list of flowables that fit (`width` -
    GUTTER) / 2.
    """
    from reportlab.platypus import Flowable

    column = (width - GUTTER) / 2

    def height(block: Sequence[Any]) -> float:
        return float(sum(part.wrap(column, 1e6)[1] for part in block))

    class PageSpread(Flowable):  # type: ignore[misc]
        def __init__(self, blocks: Sequence[Sequence[Any]]) -> None:
            super().__init__()
            self.blocks = blocks
            self.heights = [height(block) for block in blocks]

        def _first(self, limit: float) -> int:
            """Count the blocks that the first column of that height takes."""
            total, count = 0.0, 0
            while count < len(self.heights) and total + self.heights[count] <= limit + 1e-6:
                total += self.heights[count]
                count += 1
            return count

        def _fits(self, limit: float) -> bool:
            return sum(self.heights[self._first(limit) :]) <= limit + 1e-6

        def wrap(self, available: float, _: float) -> tuple[float, float]:
            ends = (sum(self.heights[:count]) for count in range(1, len(self.heights) + 1))
            rests = (sum(self.heights[count:]) for count in range(len(self.heights)))
            self.limit = min(limit for limit in (*ends, *rests) if self._fits(limit))
            return available, self.limit

        def split(self, _: float, room: float) -> list[Any]:
            count = self._first(room)
            over, total = count, 0.0
            while over < len(self.heights) and total + self.heights[over] <= room:
                total += self.heights[over]
                over += 1
            if not count or over == len(self.heights):
                return []
            return [PageSpread(self.blocks[:over]), PageSpread(self.blocks[over:])]

        def draw(self) -> None:
            count = self._first(self.limit)
            for left, some in ((0.0, self.blocks[:count]), (column + GUTTER, self.blocks[count:])):
                top = self.limit
                for part in (part for block in some for part in block):
                    tall = part.wrapOn(self.canv, column, 1e6)[1]
                    top -= tall
                    part.drawOn(self.canv, left, top)

    out: list[Any] = []
    group: list[Sequence[Any]] = []
    for block in blocks:
        if height(block) <= tallest:
            group.append(block)
            continue
        if group:
            out.append(PageSpread(group))
        group = []
        out += block
    return [*out, PageSpread(group)] if group else out
