"""What the set-out part of a day has to say of a demonstration: whom to ask, what to wear, what to keep away."""

from collections.abc import Iterable

from prep.chemistry.catalogue import WATER, Catalogue
from prep.chemistry.model import Measure
from prep.dates import short_words
from prep.planning.model import Booking, Demo, DemoKind, Need
from prep.planning.set_out import in_all, sensibly, total_of
from prep.plurals import plural
from prep.safety.clp.label_elements import text_of
from prep.safety.segregation import between
from prep.services.safety.hazards import of_item
from prep.services.safety.storage import as_stored

_BURN = frozenset({"H224", "H225", "H226", "H228", "H242", "H250"})
_BURNS_SKIN = frozenset({"H314", "H318"})
_FROM_NL = 10_000_000
"""Of a flammable liquid: a few drops of an indicator feed no flame; common practice, no source."""


class BenchControls:
    """Asked for one booking after the other; what is the same of a demonstration is worked out once."""

    def __init__(self, catalogue: Catalogue) -> None:
        self._catalogue = catalogue
        self._codes: dict[str, frozenset[str]] = {}
        self._said: dict[tuple[str, int], tuple[str, ...]] = {}

    def of(self, demo: Demo, booking: Booking | None = None) -> tuple[str, ...]:
        """List whom to ask first, or who allowed the booking; the caution on file; the controls that the law names."""
        asked = demo.code, sum(need.per_showing for need in demo.needs)  # class sets of one item differ in amount
        if asked not in self._said:
            said = (demo.caution,) if demo.caution else ()
            self._said[asked] = (*said, *self._controls(demo))
        if not demo.ask_first:
            return self._said[asked]
        if booking is None or not booking.allowed_by:
            return (f"Ask first: {demo.ask_first}", *self._said[asked])
        when = f" on {short_words(booking.allowed_on)}" if booking.allowed_on else ""
        return (f"Allowed by {booking.allowed_by}{when}.", *self._said[asked])

    def trays(self, demo: Demo, sets: int) -> tuple[str, ...]:
        """Describe how a class practical is laid in trays, how much on each, and what may not share one.

        Of one set alone its own tray is not told again: it holds all that is set out.
        """
        if demo.kind is not DemoKind.PRACTICAL:
            return ()
        own = self._amounts(demo, [need for need in demo.needs if not need.shared])
        shared = self._amounts(demo, [need for need in demo.needs if need.shared])
        lines = [f"{plural(sets, 'tray')}, one for each set: {'; '.join(own)}."] if own and (sets > 1 or shared) else []
        lines += [f"On one tray for the room: {'; '.join(shared)}."] if shared else []
        lines += [f"Not in one tray: {pair}." for pair in self._apart(demo)]
        return tuple(lines)

    def _controls(self, demo: Demo) -> tuple[str, ...]:
        amounts: dict[str, int] = {}
        for need in demo.needs:
            amounts[need.item] = amounts.get(need.item, 0) + need.per_showing
        codes = {code for item in amounts for code in self._hazards(item)}
        burning = [one for one, amount in amounts.items() if self._hazards(one) & _BURN and self._enough(one, amount)]
        found = []
        if burning:
            found.append(f"{', '.join(map(self._catalogue.name, burning))}: {text_of('P210')}")
        if codes & _BURNS_SKIN:
            found.append("Gloves and goggles for whoever sets it out.")
        return tuple(found)

    def _hazards(self, item: str) -> frozenset[str]:
        if item not in self._codes:
            known = item != WATER and item in self._catalogue
            classes = of_item(item, self._catalogue).classes if known else ()
            self._codes[item] = frozenset(one.h_code for one in classes)
        return self._codes[item]

    def _enough(self, item: str, amount: int) -> bool:
        return self._catalogue.item(item).measure is Measure.MASS or amount >= _FROM_NL

    def _amounts(self, demo: Demo, needs: Iterable[Need]) -> list[str]:
        """Say what one tray holds, spare and what stays in its vessel included: `140 mL Hydrochloric acid`."""
        totals: dict[str, list[Need]] = {}
        for need in needs:
            totals.setdefault(need.item, []).append(need)
        said = []
        for item, some in totals.items():
            measure = self._catalogue.item(item).measure
            name = "water" if item == WATER else self._catalogue.name(item)
            amount = (
                in_all(some[0], demo, 1, measure)
                if len(some) == 1
                else sensibly(sum(total_of(need, demo, 1) for need in some), measure)
            )
            said.append(f"{amount} {name}")
        return said

    def _apart(self, demo: Demo) -> list[str]:
        items = [item for item in dict.fromkeys(need.item for need in demo.needs) if item in self._catalogue]
        kept = [as_stored(item, item, "", self._catalogue) for item in items]
        return [
            f"{one.called} and {other.called}"
            for n, one in enumerate(kept)
            for other in kept[n + 1 :]
            if between(one, other).bad
        ]
