"""Indicators of something else than pH: of a redox potential, a metal ion, a precipitate, iodine.

Data: seed_data/tables/other_indicators.csv.
"""

from enum import StrEnum
from functools import cache

from prep.chemistry.spelling import key
from prep.records import record
from prep.resources import seed_table


class IndicatorKind(StrEnum):
    """What an indicator answers to."""

    REDOX = "redox"
    METAL = "metal"
    PRECIPITATION = "precipitation"
    ADSORPTION = "adsorption"
    SPECIFIC = "specific"

    @property
    def answers_to(self) -> str:
        """What changes its colour, in words."""
        return {
            IndicatorKind.REDOX: "a redox potential",
            IndicatorKind.METAL: "free metal ions",
            IndicatorKind.PRECIPITATION: "the first excess of the titrant",
            IndicatorKind.ADSORPTION: "the charge of a precipitate",
            IndicatorKind.SPECIFIC: "iodine",
        }[self]


@record(frozen=True, slots=True)
class OtherIndicator:
    """One such indicator: its colours before and after the change, and what it is used for.

    `potential_v` [V, against the standard hydrogen electrode] is the formal potential of a redox indicator, under
    its `conditions`; its reduced form is the colour before.
    """

    name: str
    other_names: tuple[str, ...]
    kind: IndicatorKind
    potential_v: float | None
    conditions: str
    colour_before: str
    colour_after: str
    used_for: str
    source: str


def other_indicator(name: str) -> OtherIndicator | None:
    """Find the indicator of that name or other name; None where there is none.

    `indicator` or `solution` may stand behind the name.
    """
    words = [word for word in name.split() if word.casefold() not in ("indicator", "solution")]
    return _by_name().get(key(name)) or _by_name().get(key(" ".join(words)))


def other_indicators() -> tuple[OtherIndicator, ...]:
    """List every indicator on file that answers to something else than pH."""
    return tuple(
        OtherIndicator(
            row["indicator"],
            tuple(filter(None, row["other_names"].split(";"))),
            IndicatorKind(row["kind"]),
            float(row["potential_v"]) if row["potential_v"] else None,
            row["conditions"],
            row["colour_before"],
            row["colour_after"],
            row["used_for"],
            row["source"],
        )
        for row in seed_table("other_indicators")
    )


@cache
def _by_name() -> dict[str, OtherIndicator]:
    return {key(name): one for one in other_indicators() for name in (one.name, *one.other_names)}
