"""A demonstration predicted: pH, colours and drops of each vessel, before anybody sets it out."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil

from prep.chemistry import quantities
from prep.chemistry.acid_base import droppers
from prep.chemistry.acid_base.colour_course import (
    ColourCourse,
    ColourPassage,
    CourseMoment,
    WatchedVessel,
    at_once,
    course,
    passages,
)
from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import Line
from prep.chemistry.quantities import BASE_PER_UNIT
from prep.errors import PrepError
from prep.planning.model import Demo, Need
from prep.planning.ph_demand import UntilReckoner
from prep.planning.set_out import one_portion, portions_in
from prep.services.demos.safety_notes import notes_of

MOST_DROPS = 100_000
_HARDLY = 0.5  # of a pH: no indicator and no meter of a class tells it
_DROPS_PER_ML = 20.0  # assumed where no dropper is named
_REACH = 1.5  # a curve goes on to 1.5 times what the slowest vessel takes
_FAR = 20.0  # times its own volume: a vessel that takes more does not stretch the axis of the others
BURETTE = "burette-tip"
_IN_DROPS_ML = 30.0  # an axis up to here is divided by drops
_LITTLE_ML = 1.0  # the axis where no vessel changes and the demo names no amount


_BESIDE = ("dropping bottle", "dropper", "watch glass", "wash bottle", "volumetric", "weighing", "waste", "spill")
"""Words of vessels into which nothing is dropped, and which are not the flask of a titration."""
_BINDS = ("disodium-edta",)
_NO_PH = "the end of such a titration is no matter of pH, and beyond this model."


@dataclass(frozen=True, slots=True)
class PredictedVessel:
    """A vessel and what runs into it.

    `textbook_ml` is the demo's own figure, `computed_ml` what the until comes to; either may be None. `asked` is
    what it shows at the drops or volumes that were asked about, `own` after the demo's own number of drops. All of it
    is of one of the equal `portions` that are used one after the other.
    """

    vessel: str
    contents: tuple[str, ...]
    added: str
    dropper: str
    drops_per_ml: float | None
    spread_pct: float
    indicator: str
    until: str
    textbook_ml: float | None
    computed_ml: float | None
    course: ColourCourse
    asked: tuple[CourseMoment, ...]
    why: str = ""
    own: CourseMoment | None = None
    portions: int = 1
    then: bool = False

    @property
    def called(self) -> str:
        """The vessel, and what is added where something else was added to it before."""
        return f"{self.vessel}, then {self.added}" if self.then else self.vessel

    @property
    def colourless(self) -> bool:
        """Whether no indicator is in it and the pH hardly moves: what is to be seen is not what is computed."""
        phs = [moment.ph for moment in self.course.moments]
        return not self.indicator and max(phs) - min(phs) < _HARDLY

    @property
    def changes(self) -> tuple[tuple[ColourPassage, ...], ...]:
        """The colour changes in order, those together that a single drop goes through."""
        return at_once(self.course.passages, 1 / (self.drops_per_ml or _DROPS_PER_ML))

    @property
    def stays(self) -> str:
        """The colour that has not begun to change at the end; empty where it has, or there is no indicator."""
        first = self.course.start
        return first.colour if first.colour and not self.course.passages and not first.changing else ""


@dataclass(frozen=True, slots=True)
class Prediction:
    """A demo's vessels side by side, all to one axis; `unknown` are those that cannot be computed, and why.

    `meet` says what is made where things are together in one vessel that must not be.
    """

    demo: Demo
    vessels: tuple[PredictedVessel, ...]
    unknown: tuple[str, ...]
    in_drops: bool
    meet: tuple[Line, ...] = ()


def predict(demo: Demo, catalogue: Catalogue, most: int | None = None, at: Sequence[int] = ()) -> Prediction:
    """Predict a demo. `most` drops are shown, else enough for the change; `at` are drops to be asked about.

    Raises PrepError for numbers of drops that are none.
    """
    for count in (*at, *([] if most is None else [most])):
        if not 0 <= count <= MOST_DROPS or (count == 0 and count == most):
            raise PrepError(f"Drops are a whole number up to {MOST_DROPS}.")
    asked_for, together = demo, _poured_together(demo, catalogue)
    portions = {need.vessel: portions_in(together.needs, need.vessel) for need in together.needs}
    demo = replace(together, needs=tuple(one_portion(need, portions[need.vessel]) for need in together.needs))
    reckoner = UntilReckoner(catalogue)
    reckoned = reckoner.reckoned(demo)
    whys = {(one.item, one.vessel): one.why for one in reckoned.untils if one.volume_nl is None}
    found: list[tuple[int, WatchedVessel, float]] = []
    unknown: list[str] = []
    for place, need in enumerate(demo.needs):
        if not _is_added(need, demo, catalogue):
            continue
        before = [
            other
            for n, other in enumerate(reckoned.demo.needs)
            if n != place
            and demo.needs[n].vessel == need.vessel
            and (n < place or not _is_added(demo.needs[n], demo, catalogue))
        ]
        if _solute(need.item, catalogue) in _BINDS:
            unknown.append(f"{need.vessel or 'The vessel'}: {catalogue.name(need.item)} binds metal ions: {_NO_PH}")
            continue
        try:
            inside, titrant = reckoner.contents(before), reckoner.contents([replace(need, per_showing=BASE_PER_UNIT)])
        except PrepError as problem:
            unknown.append(f"{need.vessel or 'The vessel'}: {problem}")
            continue
        tip = droppers.dropper(need.dropper) if need.dropper else droppers.common()
        vessel = WatchedVessel(
            inside.mixture,
            inside.volume_ml,
            titrant.mixture,
            inside.indicator,
            tip.dropper,
            inside.tolerance_pct + titrant.tolerance_pct,
        )
        found.append((place, vessel, _wanted(vessel, reckoned.demo.needs[place], (need.item, need.vessel) in whys)))
    right = _axis([(vessel, wanted) for _, vessel, wanted in found], most)
    out = []
    for place, vessel, _ in found:
        need = demo.needs[place]
        computed = reckoned.demo.needs[place].per_showing / BASE_PER_UNIT if need.until else None
        why = whys.get((need.item, need.vessel), "")
        tip = droppers.dropper(need.dropper) if need.dropper else droppers.common()
        rate = vessel.dropper.drops_per_ml if vessel.dropper else 1.0
        end = most / rate if most else right
        asked = [count / rate for count in at]
        out.append(
            PredictedVessel(
                need.vessel or "the vessel",
                tuple(_says(other, catalogue) for other in reckoned.demo.needs[:place] if other.vessel == need.vessel),
                catalogue.name(need.item),
                tip.name,
                rate,
                tip.dropper.spread_pct + vessel.spread_pct,
                vessel.indicator.name if vessel.indicator else "",
                need.until,
                need.per_showing / BASE_PER_UNIT if need.per_showing else None,
                None if why else computed,
                course(vessel, end, asked),
                tuple(vessel.moment(volume) for volume in asked),
                why,
                vessel.moment(need.per_showing / BASE_PER_UNIT) if need.drops and not need.until else None,
                portions[need.vessel],
                any(demo.needs[before].vessel == need.vessel for before, _, _ in found if before < place),
            )
        )
    counted = (_is_counted(demo.needs[place], one) for (place, _, _), one in zip(found, out, strict=True))
    drops = bool(at) or most is not None or all(counted)
    meet = notes_of(asked_for, catalogue).may_be_made
    return Prediction(asked_for, tuple(out), tuple(dict.fromkeys(unknown)), drops, meet)


def _is_counted(need: Need, vessel: PredictedVessel) -> bool:
    """Tell whether a vessel's changes are said in drops: a burette is read, a dropper that is named is counted."""
    if need.dropper == BURETTE:
        return False
    return bool(need.dropper) or vessel.course.most_ml <= _IN_DROPS_ML


def _solute(item: str, catalogue: Catalogue) -> str:
    found = catalogue.solutions.get(item) or catalogue.substances.get(item)
    return found.solute if found else ""


def _poured_together(demo: Demo, catalogue: Catalogue) -> Demo:
    """Run what stands in a burette into the demo's one flask, and its indicator of a dropping bottle with it.

    A demo that says itself what is added to what, or has several flasks, stays as it is.
    """
    runs = [need for need in demo.needs if "burette" in need.vessel.casefold()]
    if not runs or any(need.until or need.dropper for need in demo.needs):
        return demo
    rest = [need for need in demo.needs if need not in runs]
    drops = [need for need in rest if _is_indicator(need, catalogue)]
    inside = [
        replace(need, drops=0)  # of a buffer in the flask: it stands there, and is not dropped in
        for need in rest
        if need not in drops and not any(word in need.vessel for word in _BESIDE)
    ]
    flasks = {need.vessel for need in inside}
    if len(flasks) != 1:
        return demo
    (flask,) = flasks
    portions = portions_in(inside, flask)
    coloured = [_in_each(need, portions) for need in drops]
    needs: list[Need] = []
    for one in runs:
        name = flask if len(runs) == 1 else f"{flask}, {catalogue.name(one.item)}"
        needs += [replace(need, vessel=name) for need in (*inside, *coloured)]
        needs.append(replace(_in_each(one, portions), vessel=name, dropper=BURETTE))
    return replace(demo, needs=tuple(needs))


def _in_each(need: Need, portions: int) -> Need:
    """Share out what stands beside a flask of so many portions: by its own number of them, or all of it for these."""
    each = one_portion(need, need.portions if need.portions > 1 else portions)
    return replace(each, per_showing=each.per_showing * portions, drops=each.drops * portions, portions=portions)


def _is_indicator(need: Need, catalogue: Catalogue) -> bool:
    solution = catalogue.solutions.get(need.item)
    return solution is not None and solution.purpose == "indicator"


def _is_added(need: Need, demo: Demo, catalogue: Catalogue) -> bool:
    """Tell whether it is run or dropped in: it has an until, a dropper, or drops of what is no indicator."""
    solution = catalogue.solutions.get(need.item)
    if solution is None and need.item not in catalogue.substances:
        return False
    others = [other for other in demo.needs if other is not need and other.vessel == need.vessel]
    if not others or _is_indicator(need, catalogue):
        return False
    into_it = any(not other.drops for other in others) and not any(word in need.vessel for word in _BESIDE)
    return bool(need.until or need.dropper or (need.drops and into_it))


def _wanted(vessel: WatchedVessel, need: Need, unreached: bool) -> float:
    """Work out how far this vessel's curve should go [mL]: to its until, its first change, or its figure."""
    if need.until and not unreached:
        return need.per_showing / BASE_PER_UNIT
    ends = [one.ends.volume_ml for one in passages(vessel, _FAR * vessel.dish_ml) if one.ends]
    if ends:
        return ends[0]
    return need.per_showing / BASE_PER_UNIT


def _axis(found: Sequence[tuple[WatchedVessel, float]], most: int | None) -> float:
    """Choose one axis [mL] for all vessels."""
    if most is not None:
        return max((most / vessel.dropper.drops_per_ml for vessel, _ in found if vessel.dropper), default=_LITTLE_ML)
    near = [wanted for vessel, wanted in found if 0 < wanted <= _FAR * vessel.dish_ml]
    return _in_five(_REACH * max(near, default=_LITTLE_ML / _REACH))


def _in_five(right: float) -> float:
    """Round the end of an axis up, so that a fifth of it is whole millilitres, or whole drops of a common dropper."""
    fifth = 5.0 if right > _IN_DROPS_ML else 5 / _DROPS_PER_ML
    return ceil(right / fifth - 1e-9) * fifth


def _says(need: Need, catalogue: Catalogue) -> str:
    item = catalogue.item(need.item)
    amount = f"{need.drops} drops" if need.drops else quantities.show(need.per_showing, item.measure, 3)
    return f"{amount} of {item.name if need.item != 'water' else 'water'}"
