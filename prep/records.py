"""Records, the house's plain data: frozen to whoever writes code, quick to make and quick to define.

A frozen dataclass sets each field by a call of its own, which takes five times as long, and has six functions compiled
for it as it is defined: half a millisecond a class, of which a calculation loads a hundred. A record has one compiled.
The type checker sees `dataclass` itself, and so refuses every assignment to a field.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields
from operator import attrgetter
from typing import TYPE_CHECKING, Any

__all__ = ["record"]

if TYPE_CHECKING:
    from dataclasses import dataclass as record
else:

    def record(*, frozen: bool, slots: bool) -> Callable[[type], type]:
        """Make a dataclass that is compared, hashed and shown as a frozen one is; what the class has itself stays."""

        def made(cls: type) -> type:
            own = set(cls.__dict__)
            whole = dataclass(slots=slots, repr=False, eq=False)(cls)
            for name, function in _functions(whole, frozen).items():
                if name not in own:
                    setattr(whole, name, function)
            return whole

        return made


def _functions(cls: Any, frozen: bool) -> dict[str, Any]:
    """Write what a dataclass would compile: how records of a class are compared, hashed and shown."""
    compared = _values([one.name for one in fields(cls) if one.compare])
    hashed = _values([one.name for one in fields(cls) if (one.compare if one.hash is None else one.hash)])

    def equal(self: Any, other: object) -> bool:
        return compared(self) == compared(other) if other.__class__ is self.__class__ else NotImplemented

    def shown(self: Any) -> str:
        said = (f"{one.name}={getattr(self, one.name)!r}" for one in fields(self) if one.repr)
        return f"{self.__class__.__qualname__}({', '.join(said)})"

    return {"__eq__": equal, "__hash__": (lambda self: hash(hashed(self))) if frozen else None, "__repr__": shown}


def _values(names: Sequence[str]) -> Callable[[Any], tuple[Any, ...]]:
    """Choose the quickest way to the values of these fields, as one tuple."""
    if len(names) > 1:
        return attrgetter(*names)
    return lambda self: tuple(getattr(self, name) for name in names)
