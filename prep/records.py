"""Records of which a plan makes thousands: frozen to whoever writes code, and made as fast as plain ones.

A frozen dataclass sets each field by a call of its own, which takes five times as long. The type checker sees
`dataclass` itself, and so refuses every assignment to a field.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

__all__ = ["record"]

if TYPE_CHECKING:
    from dataclasses import dataclass as record
else:

    def record(*, frozen: bool, slots: bool) -> Callable[[type], type]:
        """Make a dataclass that is compared and hashed as a frozen one is."""

        def made(cls: type) -> type:
            return dataclass(slots=slots, unsafe_hash=frozen and "__hash__" not in cls.__dict__)(cls)

        return made
