"""Which of a solution's routes a batch takes, by what is held on the day or can come in time."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction

from prep.chemistry.routes import Option, Part, Route
from prep.planning.netting import Supply


@dataclass(frozen=True, slots=True)
class Chosen:
    """The route and the option of each part, why, and what else would have served."""

    route: Route
    options: tuple[Option, ...]
    why: str
    others: tuple[str, ...] = ()

    def key(self) -> tuple[str, ...]:
        """What identifies the choice when it has to be avoided."""
        return tuple(option.item for option in self.options)


@dataclass(slots=True)
class Shelf:
    """What each item can still give: a running estimate, so that later choices see earlier promises."""

    supplies: Mapping[str, Sequence[Supply]]
    makeable: frozenset[str]
    lead: Mapping[str, date]  # item -> first day on which an order placed today can be here
    promised: dict[str, int] = field(default_factory=dict)

    def held(self, item: str, on: date, floor: Fraction) -> int:
        """In date on the day and strong enough, less what was promised, at nominal strength."""
        total = sum(
            int(s.left * s.factor)
            for s in self.supplies.get(item, ())
            if s.available <= on <= s.use_by and s.factor >= floor
        )
        return total - self.promised.get(item, 0)

    def promise(self, item: str, amount: int) -> None:
        """Set `amount` aside for a choice already made."""
        self.promised[item] = self.promised.get(item, 0) + amount

    def can_come(self, item: str, on: date) -> bool:
        """Whether an order placed today is here by the day."""
        return item in self.lead and self.lead[item] <= on


def choose(
    routes: Sequence[Route],
    amount: int,
    on: date,
    shelf: Shelf,
    avoid: Mapping[tuple[str, ...], date],
) -> Chosen | None:
    """The best route for `amount` nL made on the day, or None when there is no route at all.

    Order: all parts held; declared sources first; then what must first be made or ordered; routes that
    proved short on this day or later (`avoid`) come last. Deterministic.
    """
    ranked: list[tuple[tuple[int, int, int, int], Chosen]] = []
    for index, route in enumerate(routes):
        options: list[Option] = []
        worst = 0
        for part in route.parts:
            option, state = _option(part, amount, on, shelf)
            options.append(option)
            worst = max(worst, state)
        chosen = Chosen(route, tuple(options), "")
        since = avoid.get(chosen.key())
        avoided = since is not None and on >= since
        # A stock named on the card is made first if need be; a reagent named there must be at hand.
        declared_ready = route.declared and worst == 1 and route.source in shelf.makeable
        ranked.append(((int(avoided), 0 if declared_ready else worst, 0 if route.declared else 1, index), chosen))
    if not ranked:
        return None
    ranked.sort(key=lambda pair: pair[0])
    (last_resort, state, _, _), best = ranked[0]
    others = tuple(c.options[0].item for rank, c in ranked[1:] if rank[0] == 0 and rank[1] <= 1)
    item = best.options[0].item
    if last_resort:
        why = f"{item} is the only source left, and it runs short"
    elif state == 0:
        why = f"{item} is {'the source on its card' if best.route.declared else 'held'}"
    elif state == 1:
        why = f"{item} must be made first or ordered; nothing held serves"
    else:
        why = f"nothing held serves; {item} would"
    return Chosen(best.route, best.options, why, others)


def _option(part: Part, amount: int, on: date, shelf: Shelf) -> tuple[Option, int]:
    """The part's first option that is held (0), else that can be made or come (1), else the first (2)."""
    fallback: tuple[Option, int] | None = None
    for option in part.options:
        if option.item == "water":
            return option, 0
        need = option.per_nl * amount
        floor = min(option.per_nl, Fraction(1))  # a stock weaker than what is made from it is no source
        if shelf.held(option.item, on, floor) >= need:
            return option, 0
        if fallback is None and (option.item in shelf.makeable or shelf.can_come(option.item, on)):
            fallback = (option, 1)
    return fallback or (part.options[0], 2)
