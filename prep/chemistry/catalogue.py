"""The catalogue: what can be held and made, and one way to ask for an item by its code."""

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import field

from prep.chemistry import quantities
from prep.chemistry.model import Measure, Solution, Substance, SubstanceName
from prep.errors import PrepError
from prep.records import record

WATER = "water"
"""What most things are made up with; it comes from the tap and is not kept in stock."""


@record(frozen=True, slots=True)
class Item:
    """A substance, a solution, or a code that is neither: what it is called and how it is counted."""

    code: str
    name: str
    measure: Measure
    substance: Substance | None = None
    solution: Solution | None = None

    @property
    def known(self) -> bool:
        """Whether it is in the catalogue."""
        return self.substance is not None or self.solution is not None

    def amount(self, text: str, *, zero: bool = False) -> int:
        """Read a typed amount in the item's unit.

        Raises PrepError for a mass where volume is counted, or a volume where mass is.
        """
        typed = quantities.amount(text, zero=zero)
        if typed.drops:
            raise PrepError(f'"{text[:40]}": drops are no amount of stock; write a volume or a mass.')
        if typed.measure is not self.measure:
            unit = "a volume such as 250 mL" if self.measure is Measure.VOLUME else "a mass such as 25 g"
            raise PrepError(f'"{text[:40]}": {self.name} is counted by {self.measure.value}; write {unit}.')
        return typed.base


class UnreadSubstances(Mapping[str, Substance]):
    """Substances by code of which only the names were read: each is read whole when it is first asked for."""

    def __init__(self, names: Iterable[SubstanceName], read: Callable[[str], Substance]) -> None:
        self.names = {one.code: one for one in names}
        self._read, self._whole = read, dict[str, Substance]()

    def __getitem__(self, code: str) -> Substance:
        """Read a substance, once. Raises KeyError, and PrepError for a record that is wrong."""
        if code not in self.names:
            raise KeyError(code)
        if code not in self._whole:
            self._whole[code] = self._read(code)
        return self._whole[code]

    def __iter__(self) -> Iterator[str]:
        """Give the codes one by one."""
        return iter(self.names)

    def __len__(self) -> int:
        """Count the substances."""
        return len(self.names)

    def __contains__(self, code: object) -> bool:
        """Tell whether a code is one of them, without reading it."""
        return code in self.names


@record(frozen=True, slots=True)
class Catalogue:
    """What can be held and made, each by its code, and the codes of which something is held."""

    substances: Mapping[str, Substance]
    solutions: Mapping[str, Solution] = field(default_factory=dict)
    held: frozenset[str] = field(default=frozenset(), kw_only=True)

    def __contains__(self, code: object) -> bool:
        return code in self.substances or code in self.solutions

    @property
    def named(self) -> Collection[SubstanceName]:
        """What each substance is found by; of one that was not read yet no more is read for it."""
        return (self.substances.names if isinstance(self.substances, UnreadSubstances) else self.substances).values()

    def item(self, code: str) -> Item:
        """Find the item of that code.

        One that is not in the catalogue is called by its code and counted by volume.
        """
        if (substance := self.substances.get(code)) is not None:
            return Item(code, substance.name, substance.measure, substance=substance)
        if (solution := self.solutions.get(code)) is not None:
            return Item(code, solution.name, Measure.VOLUME, solution=solution)
        return Item(code, code, Measure.VOLUME)

    def name(self, code: str) -> str:
        """Find what an item is called; its code where it is not in the catalogue."""
        return self.item(code).name

    def measure(self, code: str) -> Measure:
        """Tell how an item is counted, by mass or volume; by volume where it is not in the catalogue."""
        return self.item(code).measure
