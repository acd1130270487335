"""Indicators: the pH range of each change, its colours, and whether two dishes start the same colour.

Data: seed_data/tables/indicators.csv; an indicator with two changes has two rows.
"""

import csv
import re
from collections.abc import Mapping, Sequence
from functools import cache
from math import pow
from typing import Literal

from prep.chemistry.acid_base.other_indicators import other_indicator
from prep.chemistry.spelling import key, near
from prep.errors import PrepError
from prep.records import record
from prep.resources import seed_data

_ALIKE = 0.1
"""Share of the indicator by which two dishes in the middle of a change may differ and still look the same."""


@record(frozen=True, slots=True)
class ColourChange:
    """One colour change: from `colour_low` at `ph_low` and below to `colour_high` at `ph_high` and above."""

    ph_low: float
    ph_high: float
    colour_low: str
    colour_high: str
    pkin: float | None
    source: str
    note: str = ""


@record(frozen=True, slots=True)
class Indicator:
    """An indicator and its changes, in order of rising pH."""

    name: str
    other_names: tuple[str, ...]
    changes: tuple[ColourChange, ...]


@record(frozen=True, slots=True)
class Shade:
    """What an indicator shows at a pH: `low` or `high` side of the nearest change, or `changing`.

    `colours` is one; two while it changes from one to the other.
    """

    colours: tuple[str, ...]
    state: Literal["low", "changing", "high"]
    change: ColourChange

    @property
    def colour(self) -> str:
        """The colour in words."""
        return colour_words(self.colours)


def colour_words(colours: Sequence[str]) -> str:
    """Write one colour, or between which two it is; empty for none."""
    return f"between {' and '.join(colours)}" if len(colours) > 1 else "".join(colours)


@record(frozen=True, slots=True)
class Comparison:
    """Whether two dishes show the same colour, and the sentence that says so."""

    same: bool
    sentence: str


def indicator(name: str) -> Indicator:
    """Find the indicator of a name or other name. Raises PrepError naming the near ones, or all on file.

    One that answers to something else than pH is refused for that reason.
    """
    found = _by_name().get(key(name)) or _by_name().get(key(re.sub(r"\s+(indicator|solution)\s*$", "", name)))
    if found is None:
        if other := other_indicator(name):
            raise PrepError(f"{other.name} answers to {other.kind.answers_to}, not to pH.")
        hint = near(name, {i.name: i.other_names for i in indicators().values()})
        hint = hint or f" On file: {', '.join(sorted(indicators()))}."
        raise PrepError(f'"{name[:60]}" is no indicator on file.{hint}')
    return found


def indicators() -> Mapping[str, Indicator]:
    """List every indicator, by its name."""
    return _table()


def shade_at(of: Indicator, ph: float) -> Shade:
    """Find the colour at a pH, and whether that is the low side of a change, the high side, or within it."""
    for change in of.changes:
        if ph <= change.ph_low:
            return Shade((change.colour_low,), "low", change)
        if ph < change.ph_high:
            return Shade((change.colour_low, change.colour_high), "changing", change)
    last = of.changes[-1]
    return Shade((last.colour_high,), "high", last)


def half_at(change: ColourChange) -> float:
    """Find the pH at which half is in the high-pH form.

    pKin, or the middle of the range where pKin is not within it.
    """
    if change.pkin is not None and change.ph_low < change.pkin < change.ph_high:
        return change.pkin
    return (change.ph_low + change.ph_high) / 2


def share_high(change: ColourChange, ph: float) -> float:
    """Compute the share of the indicator in its high-pH form: 1/(1 + 10^(pKin - pH)).

    The pH of `half_at` stands for pKin.
    """
    return 1 / (1 + pow(10.0, max(-50.0, min(50.0, half_at(change) - ph))))


def same_at_both(of: Indicator, ph_one: float, ph_other: float) -> Comparison:
    """Judge whether two dishes look the same: one colour, neither in a change, or equally far through it."""
    one, other = shade_at(of, ph_one), shade_at(of, ph_other)
    if "changing" not in (one.state, other.state):
        same = one.colour == other.colour and _no_change_between(of, ph_one, ph_other)
    else:
        apart = abs(share_high(one.change, ph_one) - share_high(other.change, ph_other))
        same = one.change == other.change and one.state == other.state and apart <= _ALIKE
    text = f"{of.name} is {one.colour} at pH {ph_one:.2f} and {other.colour} at pH {ph_other:.2f}"
    if same:
        return Comparison(True, f"The two are alike: {text}.")
    return Comparison(False, f"The two differ: {text}.")


def _no_change_between(of: Indicator, ph_one: float, ph_other: float) -> bool:
    low, high = sorted((ph_one, ph_other))
    return not any(low <= c.ph_low and high >= c.ph_high for c in of.changes)


@cache
def _table() -> dict[str, Indicator]:
    rows: dict[str, list[dict[str, str]]] = {}
    with (seed_data() / "tables" / "indicators.csv").open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            rows.setdefault(row["indicator"], []).append(row)
    return {
        name: Indicator(
            name,
            tuple(filter(None, found[0]["other_names"].split(";"))),
            tuple(_change(row) for row in sorted(found, key=lambda r: float(r["ph_low"]))),
        )
        for name, found in rows.items()
    }


@cache
def _by_name() -> dict[str, Indicator]:
    return {key(n): i for i in _table().values() for n in (i.name, *i.other_names)}


def _change(row: Mapping[str, str]) -> ColourChange:
    return ColourChange(
        float(row["ph_low"]),
        float(row["ph_high"]),
        row["colour_low"],
        row["colour_high"],
        float(row["pkin"]) if row["pkin"] else None,
        row["source"],
        row["note"],
    )
