"""Sentences whose options and commands are parts of their own: a terminal shows what is typed, a page its own words.

A sentence is a text, the one that a terminal shows, so that whoever only prints it need not know of its parts.
"""

from collections.abc import Callable
from itertools import chain
from typing import Any


class Flag(str):
    """An option of the command line, such as `--who`; a page says the label of its field instead."""

    __slots__ = ()


class AtTerminal(str):
    """Words for a terminal alone, such as the command that mends what is wrong, and what a page says instead."""

    on_page: str

    def __new__(cls, typed: str, on_page: str = "") -> "AtTerminal":
        """Keep the words for a terminal and those for a page."""
        made = super().__new__(cls, typed)
        made.on_page = on_page
        return made


class WayOut(str):
    """What would let a refused call go through, such as `give the density`; a caller with another says its own."""

    __slots__ = ()


class Sentence(str):
    """A sentence of text, options and words for a terminal; as a text it is the one that a terminal shows."""

    parts: tuple[str, ...]

    def __new__(cls, *parts: str) -> "Sentence":
        """Put a sentence together; one that is a part of another gives its parts."""
        flat = tuple(piece for part in parts for piece in (part.parts if isinstance(part, Sentence) else (part,)))
        made = super().__new__(cls, "".join(flat))
        made.parts = flat
        return made

    def __getnewargs__(self) -> tuple[Any, ...]:
        """Name what the sentence is made anew from, in another process."""
        return self.parts

    @property
    def options(self) -> tuple[Flag, ...]:
        """The options that it speaks of, in order."""
        return tuple(part for part in self.parts if isinstance(part, Flag))

    def reworded(self, how: Callable[[str], str]) -> "Sentence":
        """Rewrite what is plain text in it."""
        return Sentence(*(how(part) if type(part) is str else part for part in self.parts))

    def by_way_of(self, *parts: str) -> "Sentence":
        """Say another way out, where it names one."""
        return Sentence(*chain.from_iterable(parts if isinstance(part, WayOut) else (part,) for part in self.parts))

    def on_page(self, label: Callable[[Flag], str]) -> str:
        """Write it as a page says it, each option by its label."""
        shown = (
            label(part) if isinstance(part, Flag) else part.on_page if isinstance(part, AtTerminal) else part
            for part in self.parts
        )
        return "".join(shown)


def reworded(text: str, how: Callable[[str], str]) -> str:
    """Rewrite the plain text of a sentence, whatever parts it has."""
    return text.reworded(how) if isinstance(text, Sentence) else how(text)


def any_of(*options: str) -> Sentence:
    """Name options of which one is wanted: `--to, --weeks or --day`."""
    *others, last = map(Flag, options)
    first = (piece for one in others for piece in (", ", one))
    return Sentence(*list(first)[1:], " or ", last)
