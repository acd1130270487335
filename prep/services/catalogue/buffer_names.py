"""Buffers as they are asked for: by their pH, by what they are made of, or both."""

import re
from collections.abc import Iterable
from decimal import Decimal

from prep.chemistry.model import Solution
from prep.chemistry.naming import word_table
from prep.records import record
from prep.resources import seed_table
from prep.wording import AtTerminal

_NEAR = Decimal("0.05")
"""How far a pH said may be from that on file: a 9.18 buffer is called 9.2, a 4.00 one 4.01."""
_BUFFER = re.compile(r"\bbuffer(?:s|ed)?\b|\bmcilvaine")
# Compiled where a buffer is named: few names are of one.
_STRENGTH = r"(?<![\w.])(\d*\.?\d+)\s*(mol\s*/\s*(?:l|dm3|dm³)|mol\s*dm-3|mm|m)(?![\w/])"
_PH = r"\bph\s*(?:of|=|~|about|approx\.?|ca\.?)?\s*(\d+(?:\.\d+)?)(?![\d.])"
_BARE = r"(?<![\w.])(\d{1,2}(?:\.\d+)?)(?![\w.%])"
_SILENT = frozenset(
    "buffer buffers buffered solution solutions soln standard standards reference ph calibration calibrating calibrate "
    "meter probe electrode for the a of in and at with to mol l mm m fresh made mixture about approx ca dm s "
    "chloride acid potassium sodium hydrogen dihydrogen disodium".split()
)
_SYSTEMS = {"borax": "borate"} | {
    one: one for one in "acetate phosphate citrate carbonate ammonia tris phthalate".split()
}
_UP_TO = (
    ("2.2", "KCl/HCl"),
    ("3.7", "mcilvaine"),
    ("5.7", "acetate"),
    ("8.2", "phosphate"),
    ("9.7", "borate"),
    ("11", "carbonate"),
)
"""Up to which pH which pair, or family of buffers, is usual: common practice, no source."""


@record(frozen=True, slots=True)
class BufferName:
    """What the name of a buffer says: its pH, the acids and bases in it, its strength [mol/L]; None: not said."""

    ph: Decimal | None
    words: frozenset[str]
    mol_per_l: Decimal | None

    @property
    def systems(self) -> frozenset[str]:
        """The acids and bases that are named."""
        return self.words & {*_SYSTEMS, "hydrochloric"}

    def among(self, solutions: Iterable[Solution]) -> list[Solution]:
        """Find the buffers that a name means: those of the nearest pH, and of exactly the acids and bases named."""
        known = [(one, read_buffer(one.name)) for one in solutions if one.name.casefold().startswith("buffer")]
        meant = [(one, name) for one, name in known if name is not None and self._may_be(name)]
        if any(name.systems == self.systems for _, name in meant if self.systems):
            meant = [(one, name) for one, name in meant if name.systems == self.systems]
        if self.ph is None or not meant:
            return [one for one, _ in meant]
        least = min(self._off(name) for _, name in meant)
        return [one for one, name in meant if self._off(name) == least]

    def near(self, solutions: Iterable[Solution]) -> list[str]:
        """Find the codes of the buffers that come nearest: of the same kind, else within half a unit of pH."""
        if self.systems:
            return [one.code for one in BufferName(None, self.systems, None).among(solutions)]
        known = [(one.code, read_buffer(one.name)) for one in solutions if one.purpose == "buffer"]
        return [code for code, name in known if name is not None and self._off(name) <= Decimal("0.5")]

    def pair(self) -> str:
        """Write the command that makes such a buffer from a pair; empty where no pH was said."""
        if self.ph is None:
            return ""
        pairs = {row["family"]: row["pair"] for row in seed_table("buffer_families")}
        own = "mcilvaine" if {"citrate", "phosphate"} <= self.systems else ""
        own = own or next((_SYSTEMS[one] for one in sorted(self.systems) if one in _SYSTEMS), "")
        family = own or next((pair for most, pair in _UP_TO if self.ph <= Decimal(most)), "")
        usual = pairs.get(family, family)
        strength = "0.1" if self.mol_per_l is None else f"{self.mol_per_l:f}"
        if not usual:
            return ""
        return AtTerminal(f'prep make --buffer "{usual}" --ph {self.ph} --to "{strength} mol/L" --volume "1 L"')

    def _may_be(self, other: "BufferName") -> bool:
        if not self.words <= other.words or (self.ph is None and not self.words):
            return False
        if self.mol_per_l not in (None, other.mol_per_l):
            return False
        return self.ph is None or self._off(other) <= _NEAR

    def _off(self, other: "BufferName") -> Decimal:
        return Decimal(14) if other.ph is None or self.ph is None else abs(other.ph - self.ph)


def read_buffer(text: str) -> BufferName | None:
    """Read what the name of a buffer says; None where it is no buffer's."""
    low = text.casefold()
    if not _BUFFER.search(low):
        return None
    mol_per_l = None
    if strength := re.search(_STRENGTH, low):
        mol_per_l = Decimal(strength[1]) / (1000 if strength[2] == "mm" else 1)
        low = low.replace(strength[0], " ")
    said = re.search(_PH, low) or re.search(_BARE, low)
    ph = Decimal(said[1]) if said and Decimal(said[1]) <= 14 else None
    rest = low.replace(said[0], " ") if said else low
    table = word_table()["buffer"]
    words: set[str] = set()
    for word in re.findall(r"[a-z]+(?:\d[a-z0-9]*)?", rest):
        means = table.get(word) or table.get(word.removesuffix("s"))
        words |= {word} if means is None else set(means)
    return BufferName(ph, frozenset(words - _SILENT), mol_per_l)


def are_alike(solutions: Iterable[Solution]) -> bool:
    """Tell whether buffers are of one pH, or of the same acids and bases: then one of them is usual."""
    names = [read_buffer(one.name) for one in solutions]
    known = [name for name in names if name is not None and name.ph is not None]
    if not known or len(known) < len(names):
        return False
    phs = [name.ph for name in known if name.ph is not None]
    return max(phs) - min(phs) <= 2 * _NEAR or (len({name.systems for name in known}) == 1 and bool(known[0].systems))
