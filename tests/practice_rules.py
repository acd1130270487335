"""What a technician would not do at the bench: the rules that `python -m tests.bench practice` holds every make to.

Each rule looks at a make as it is printed, with the room's instruments beside it, and says what is wrong or nothing.
"""

import re
from collections.abc import Callable, Iterator
from decimal import Decimal

from prep.chemistry.model import Instrument, InstrumentKind, Measure, Origin, SmallBatch, StepKind
from prep.chemistry.preparation.steps import WrittenStep
from prep.planning.engine.batch_sizes import is_round
from prep.planning.model import Batch, Snapshot
from prep.reports.formatting import ItemNames, logging_line

ML = 1_000_000
_FIGURE = re.compile(
    r"(?:^|; |: )(?:weigh|measure|Weigh|Measure|First an intermediate[^:]*: \w+) ([0-9.]+) (g|mL) with"
)
_FILLINGS = re.compile(r"\((\d+) fillings\)")
_DRAWN_UP = (
    InstrumentKind.BURETTE,
    InstrumentKind.PIPETTE,
    InstrumentKind.GRADUATED_PIPETTE,
    InstrumentKind.DROPPER,
)
_WORKED = (StepKind.BOIL, StepKind.HEAT, StepKind.FILTER)
_LEAST_ML, _LEAST_WORKED_ML, _LEAST_DEAR_ML = 25, 50, 10
_ON_FILE = (
    StepKind.BOILED_WATER,
    StepKind.HEAT,
    StepKind.BOIL,
    StepKind.FILTER,
    StepKind.STAND,
    StepKind.SETTLE,
    StepKind.DECANT,
    StepKind.CHECK,
    StepKind.FUME_FROM,
)
_ORIGIN = {"dissolve": Origin.SOLID, "concentrate": Origin.CONCENTRATE, "dilute": Origin.STOCK}


def flask_for_what_is_only_about(batch: Batch, snapshot: Snapshot) -> str:
    """A volumetric flask for what is known to no better than about so much, or may not be in one."""
    if "volumetric flask" not in batch.vessel:
        return ""
    said = " ".join(step.text for step in batch.steps)
    if "It is about" in said or "have its strength found" in said:
        return f"{batch.vessel} for a strength that is to be found anyway"
    return "no flask, says its method" if snapshot.solutions[batch.solution].no_flask else ""


def flask_where_a_cylinder_does(batch: Batch, snapshot: Snapshot) -> str:
    """A volumetric flask where a measuring cylinder keeps to a third of the tolerance."""
    if "volumetric flask" not in batch.vessel:
        return ""
    tolerance = snapshot.solutions[batch.solution].tolerance_pct
    for one in snapshot.instruments:
        fits = one.kind is InstrumentKind.CYLINDER and one.capacity * ML >= batch.amount >= one.capacity * ML / 4
        if fits and one.tolerance * 300 * ML <= tolerance * batch.amount:
            return f"{batch.vessel}, where the {one.name} would do"
    return ""


def filled_again(batch: Batch, snapshot: Snapshot) -> str:
    """Two fillings of what a larger one of its kind holds at once; three of anything."""
    by_code = {one.code: one for one in snapshot.instruments}
    for step in batch.steps:
        times, figure = _FILLINGS.search(step.text), _FIGURE.search(step.text)
        if not times or not figure:
            continue
        used, amount = by_code.get(step.instrument), Decimal(figure[1])
        if int(times[1]) > 2:
            return step.text
        if used is None or used.kind is InstrumentKind.BALANCE:
            continue
        tolerance = snapshot.solutions[batch.solution].tolerance_pct
        larger = [
            one
            for one in snapshot.instruments
            if one.kind in (InstrumentKind.CYLINDER, used.kind)
            and one.kind is not InstrumentKind.PIPETTE
            and one.capacity >= amount
            and amount % one.resolution == 0
            and one.tolerance * 100 <= tolerance * amount / 2
        ]
        if larger:
            return f"{step.text} (the {larger[0].name} holds it at once)"
    return ""


def pipette_for_what_is_poured(batch: Batch, snapshot: Snapshot) -> str:
    """A pipette or a burette for a concentrate, a suspension or a thick liquid; a burette for alkali."""
    by_code = {one.code: one for one in snapshot.instruments}
    for step in batch.steps:
        used = by_code.get(step.instrument)
        if step.kind is not StepKind.ADD or used is None or not step.item:
            continue
        if used.kind not in _DRAWN_UP:
            continue
        substance, stock = snapshot.substances.get(step.item), snapshot.solutions.get(step.item)
        if used.kind is InstrumentKind.DROPPER:
            if substance is not None and "Skin Corr." in substance.classification:
                return step.text
            continue
        if substance is not None and (substance.form.value == "aqueous" or not substance.formula):
            return step.text
        if stock is not None and (stock.no_flask or (used.kind is InstrumentKind.BURETTE and _alkali(step.item))):
            return step.text
    return ""


def _alkali(item: str) -> bool:
    return item.startswith(("naoh", "koh", "ammonia", "fehling-b"))


def figure_off_the_scale(batch: Batch, snapshot: Snapshot) -> str:
    """A figure that its instrument does not show."""
    by_code = {one.code: one for one in snapshot.instruments}
    for step in batch.steps:
        if "nothing in the room measures" in step.text:
            return step.text
        figure, used = _FIGURE.search(step.text), by_code.get(step.instrument)
        if figure and used is not None and _off(Decimal(figure[1]), used):
            return step.text
    return ""


def _off(figure: Decimal, used: Instrument) -> bool:
    if used.kind is InstrumentKind.PIPETTE:
        return figure % used.capacity != 0
    return used.resolution > 0 and figure % used.resolution != 0


def figures_that_differ(batch: Batch, snapshot: Snapshot) -> str:
    """A step's figure that is not the one on the books and in the line that logs it."""
    names = ItemNames(snapshot)
    log = logging_line(batch, names)
    totals: dict[str, int] = {}
    for take in batch.takes:
        totals[take.item] = totals.get(take.item, 0) + take.amount
    common = {take.item for take in batch.takes if take.used != take.amount}
    for step in batch.steps:
        figure = _FIGURE.search(step.text)
        if not figure or step.item not in totals or step.item in common or "ntermediate" in step.text:
            continue
        if round(Decimal(figure[1]) * ML) != totals[step.item]:
            return f"{step.text} / books {totals[step.item] / ML}"
        shares = [take for take in batch.takes if take.item == step.item]
        if len(shares) == 1 and names.amount(step.item, shares[0].amount, None) not in log and "--take" in log:
            return f"{step.text} / {log}"
    return ""


def odd_batch(batch: Batch, snapshot: Snapshot) -> str:
    """A volume that is no usual round one, or less than a person makes, without its reason."""
    said = batch.why
    dear = snapshot.solutions[batch.solution].small_batch is not SmallBatch.NO
    least = _LEAST_DEAR_ML if dear else _LEAST_ML
    if any(step.kind in _WORKED for step in batch.steps):
        least = _LEAST_WORKED_ML
    if batch.amount < least * ML and "no more can be made" not in said:
        return f"{batch.amount / ML} mL is less than a person makes of it"
    if not is_round(batch.amount) and "no usual round batch" not in said:
        return f"{batch.amount / ML} mL"
    return ""


def below_usual(batch: Batch, snapshot: Snapshot) -> str:
    """Less than the usual batch without a reason."""
    short = batch.amount < snapshot.solutions[batch.solution].usual_nl
    return "" if not short or "less than the usual" in batch.why else f"{batch.amount / ML} mL"


def solid_with_nothing_to_dissolve_it(batch: Batch, snapshot: Snapshot) -> str:
    """A solid that is to dissolve in an empty vessel."""
    wet = False
    for step in batch.steps:
        if "until it has dissolved" in step.text and not wet:
            return step.text
        wet |= step.kind in (StepKind.WATER, StepKind.DISSOLVE, StepKind.BOILED_WATER)
        item = snapshot.substances.get(step.item)
        wet |= step.kind is StepKind.ADD and (item is None or item.measure is Measure.VOLUME)
    return ""


def method_left_out(batch: Batch, snapshot: Snapshot) -> str:
    """A step of the method on file that the printed steps lack."""
    origin = _ORIGIN.get(batch.route)
    kinds = {step.kind for step in batch.steps}
    for step in snapshot.solutions[batch.solution].method_steps:
        if step.kind in _ON_FILE and (not step.origins or origin in step.origins) and step.kind not in kinds:
            return f"{step.kind.value}: {step.text}"
    return ""


def caution_against_the_steps(batch: Batch, snapshot: Snapshot) -> str:
    """A caution that asks for what the steps do not do: the fume cupboard, acid into water, fresh water."""
    kinds = {step.kind for step in batch.steps}
    taken = {take.item for take in batch.takes if take.item in snapshot.substances}
    for caution in batch.cautions:
        if "in a fume cupboard" in caution and taken and StepKind.FUME_FROM not in kinds and "diluted" not in caution:
            return caution
        if "acid to water" in caution.lower() and not _acid_after_water(batch.steps):
            return caution
    said = [step.text for step in batch.steps]
    acid_last = next((n for n, text in enumerate(said) if "never water to the acid" in text), None)
    if acid_last is not None and any("distilled water; last" in text for text in said[acid_last:]):
        return said[acid_last]
    return ""


def _acid_after_water(steps: tuple[WrittenStep, ...]) -> bool:
    order = [step.kind for step in steps if step.kind in (StepKind.WATER, StepKind.ADD)]
    return not order or order[0] is StepKind.WATER or StepKind.WATER not in order


RULES: tuple[Callable[[Batch, Snapshot], str], ...] = (
    flask_for_what_is_only_about,
    flask_where_a_cylinder_does,
    filled_again,
    pipette_for_what_is_poured,
    figure_off_the_scale,
    figures_that_differ,
    odd_batch,
    below_usual,
    solid_with_nothing_to_dissolve_it,
    method_left_out,
    caution_against_the_steps,
)


def named(rule: Callable[[Batch, Snapshot], str]) -> str:
    """What a rule is called in the report."""
    return rule.__name__.replace("_", " ")


def broken(batch: Batch, snapshot: Snapshot) -> Iterator[tuple[str, str]]:
    """Every rule that a make breaks, with what it says."""
    for rule in RULES:
        if said := rule(batch, snapshot):
            yield named(rule), said
