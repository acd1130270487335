"""How dates and amounts are written for people."""

import re
from collections import defaultdict
from collections.abc import Mapping
from datetime import date
from typing import TYPE_CHECKING

from prep.chemistry import quantities
from prep.chemistry.model import Measure
from prep.dates import MONTH_NAMES, WEEKDAY_NAMES
from prep.dates import day as day
from prep.dates import in_days as in_days

if TYPE_CHECKING:
    from prep.planning.draws import Take
    from prep.planning.model import Batch, Booking, Snapshot


def three_figures(value: float) -> str:
    """Write a volume or a number of drops to three figures, from a thousand on to the last: `24.9`, `1668`."""
    return f"{value:.0f}" if abs(value) >= 999.5 else f"{value:.3g}"


def moment(at: str) -> str:
    """Write an ISO 8601 moment to the minute, such as `Mon 11 Jan 2027, 09:40`."""
    return f"{day(date.fromisoformat(at[:10]))}, {at[11:16]}"


def weekday(on: date) -> str:
    """Write a weekday as `Mon`."""
    return WEEKDAY_NAMES[on.weekday()]


def short_day(on: date | None) -> str:
    """Write a day as `11 Jan`."""
    return "" if on is None else f"{on.day} {MONTH_NAMES[on.month - 1]}"


def short_date(on: date | None) -> str:
    """Write a day as `11 Jan 27`, for columns."""
    return "" if on is None else f"{on.day} {MONTH_NAMES[on.month - 1]} {on.year % 100:02d}"


def period_text(period: str) -> str:
    """Write a bare number as `period 2`, since after a date it would be read as part of it; else as it is."""
    return f"period {period}" if period.isdigit() else period


_CODE = re.compile(r"(?<![\w.-])[a-z0-9]+(?:[.-][a-z0-9]+)*-[a-z0-9]+(?:[.-][a-z0-9]+)*(?![\w-])")


class ItemNames:
    """Items by their names, and amounts in their units."""

    def __init__(self, snapshot: "Snapshot") -> None:
        self._names: Mapping[str, str] = {
            **{code: s.name for code, s in snapshot.substances.items()},
            **{code: s.name for code, s in snapshot.solutions.items()},
        }
        self._substances = snapshot.substances
        self._own = {bottle.code: bottle.strength for bottle in snapshot.bottles if bottle.strength}
        self._demos = {code: demo.name for code, demo in snapshot.demos.items()}
        self._mass = {c for c, s in snapshot.substances.items() if s.measure is Measure.MASS}
        self._stands: dict[str, set[str]] = defaultdict(set)
        for bottle in snapshot.bottles:
            if bottle.amount > 0:
                self._stands[bottle.item].add(bottle.location)
        self._places = set().union(*self._stands.values())

    def of(self, item: str) -> str:
        """Find the item's name, or its code where it has none."""
        return self._names.get(item, item)

    def drawn(self, take: "Take") -> str:
        """Name what a make takes as its bottle has it: at that bottle's own strength, where it has one."""
        if take.kind == "bottle" and (own := self._own.get(take.ref)) and (known := self._substances.get(take.item)):
            return known.called(own)
        return self.of(take.item)

    def booked(self, booking: "Booking") -> str:
        """Name what is booked: the demo, or the item of a class set; its code where it is not on file."""
        return self._demos.get(booking.demo) or self.of(booking.what)

    def beside(self, text: str) -> list[tuple[str, str]]:
        """Split a sentence at the codes of items and demos in it: the words so far, with its name, and the code.

        A code that is one word, as `urea`, is read as a word and stays as it is.
        """
        parts: list[tuple[str, str]] = []
        begun = 0
        for found in _CODE.finditer(text):
            name = self._names.get(found[0]) or self._demos.get(found[0])
            if name:
                parts.append((f"{text[begun : found.start()]}{name}", found[0]))
                begun = found.end()
        return [*parts, (text[begun:], "")]

    def amount(self, item: str, base: int, figures: int | None = 5) -> str:
        """Write an amount of the item, such as `250 mL` or `12.5 g`; `figures` None prints every digit."""
        return quantities.show(base, self.measure(item), figures)

    def measure(self, item: str) -> Measure:
        """Tell whether the item is counted by mass or by volume."""
        return Measure.MASS if item in self._mass else Measure.VOLUME

    def stands(self, item: str) -> bool:
        """Tell whether a new bottle of the item has but one place to go: where the item stands, or the only place."""
        return len(self._stands.get(item, self._places)) <= 1


def logging_line(batch: "Batch", names: ItemNames) -> str:
    """Write the command that logs a make with just what it takes, once it is made.

    What has still to be made is named by its batch, what has still to come by its item: it gets its bottle then.
    Where the new bottle is put is for the person to say, if there is a choice.
    """
    taken: dict[tuple[str, str], int] = {}
    for take in batch.takes:
        place = take.item if take.kind == "order" else take.ref
        taken[place, take.item] = taken.get((place, take.item), 0) + take.amount
    takes = "".join(f' --take "{place}={names.amount(item, amount, None)}"' for (place, item), amount in taken.items())
    volume, place = (
        names.amount(batch.solution, batch.amount, None),
        "" if names.stands(batch.solution) else " --at PLACE",
    )
    return f'prep make {batch.solution} --volume "{volume}"{takes} --log{place}'
