"""What a dish shows on the way: every change of an indicator, what it shows after so many drops, and the curve."""

from collections.abc import Sequence
from typing import Any

from prep.chemistry.acid_base.colour_course import (
    ColourCourse,
    ColourPassage,
    CourseMark,
    CourseMoment,
    WatchedVessel,
    at_once,
    course,
    passages,
    through,
)
from prep.errors import PrepError
from prep.plurals import plural
from prep.records import record

MOST_DROPS = 100_000
_DROPS_PER_ML = 20.0  # assumed where no dropper is named
FAR = 20.0
"""Changes are looked for up to so many times what is in the dish."""


@record(frozen=True, slots=True)
class MarkedVolume:
    """What happens in a course after `volume_ml`."""

    volume_ml: float
    says: str


@record(frozen=True, slots=True)
class CalculatedCourse:
    """A course to be drawn: its name, its points, and what is marked on it; drops/mL where drops are counted."""

    name: str
    course: ColourCourse
    marks: tuple[MarkedVolume, ...] = ()
    drops_per_ml: float | None = None


@record(frozen=True, slots=True)
class OnTheWay:
    """Sentences, their document, and the curve."""

    says: tuple[str, ...]
    document: dict[str, Any]
    curve: CalculatedCourse


def on_the_way(vessel: WatchedVessel, name: str, end_ml: float | None, after: Sequence[int], counted: bool) -> OnTheWay:
    """Follow a dish past `end_ml` [mL], every change, and the drops asked about. Raises PrepError for no drops."""
    rate = vessel.dropper.drops_per_ml if vessel.dropper else 1.0
    for drops in after:
        if not 0 <= drops <= MOST_DROPS:
            raise PrepError(f"--at {drops}: drops are a whole number up to {MOST_DROPS}.")
    asked = [drops / rate for drops in after]
    passed = passages(vessel, max([FAR * vessel.dish_ml, *asked]))
    ends = [one.ends.volume_ml for one in passed if one.ends]
    most = max([*asked, 1.5 * max([*([end_ml] if end_ml else []), *ends], default=0.0)]) or vessel.dish_ml
    found = course(vessel, most, asked)
    says = []
    if len(passed) > 1:
        drop_ml = 1 / (vessel.dropper.drops_per_ml if vessel.dropper else _DROPS_PER_ML)
        says += [f"  {_change(changes)}" for changes in at_once(passed, drop_ml)]
        says.insert(0, "Every change on the way:")
    shown = [vessel.moment(volume) for volume in asked]
    for drops, moment in zip(after, shown, strict=True):
        still = bool(moment.colour) and moment.colour == found.start.colour
        colour = f", {'still ' if still else ''}{moment.colour}" if moment.colour else ""
        says.append(f"After {plural(drops, 'drop')} ({moment.volume_ml:.4g} mL): pH {moment.ph:.2f}{colour}.")
    document = {
        "changes": [
            {"from": one.before, "to": one.after, "begins": _mark(one.begins), "complete": _mark(one.ends)}
            for one in passed
        ],
        "after": [_moment(moment, drops) for drops, moment in zip(after, shown, strict=True)],
    }
    marks = tuple(
        MarkedVolume(one.ends.volume_ml, f"{one.after}") for one in passed if one.ends and one.ends.volume_ml <= most
    )
    if end_ml and not marks:
        marks = (MarkedVolume(end_ml, "end point"),)
    return OnTheWay(tuple(says), document, CalculatedCourse(name, found, marks, rate if counted else None))


def _change(changes: Sequence[ColourPassage]) -> str:
    """Describe one colour change, or several that a single drop goes through."""
    last = changes[-1].ends
    if len(changes) > 1 and last:
        return f"{through(changes)} within a drop, after {_amount(last)}"
    return f"{through(changes)}: {_between(changes[0].begins, changes[0].ends)}"


def _between(begins: CourseMark | None, ends: CourseMark | None) -> str:
    first = f"begins after {_amount(begins)}" if begins else "is changing from the start"
    return f"{first}, {f'complete after {_amount(ends)}' if ends else 'not complete'}"


def _amount(mark: CourseMark) -> str:
    volume = f"{mark.volume_ml:.4g} mL"
    if mark.drops is None:
        return volume
    return f"{volume} ({plural(mark.drops.count, 'drop')}, {mark.drops.fewest} to {mark.drops.most})"


def _mark(mark: CourseMark | None) -> dict[str, Any] | None:
    if mark is None:
        return None
    document: dict[str, Any] = {"volume": {"value": mark.volume_ml, "unit": "mL"}}
    if mark.drops:
        drops = mark.drops
        document["drops"] = {"value": drops.count, "unit": "drops", "fewest": drops.fewest, "most": drops.most}
    return document


def _moment(moment: CourseMoment, drops: int) -> dict[str, Any]:
    volume = {"value": moment.volume_ml, "unit": "mL"}
    return {"drops": drops, "volume": volume, "ph": moment.ph, "colour": moment.colour or None}
