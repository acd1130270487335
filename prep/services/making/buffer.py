"""`prep make --buffer`: a buffer for a pH from what is held, measured with what the room owns."""

from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from itertools import product
from math import hypot
from pathlib import Path
from typing import TYPE_CHECKING

from prep.books import BottleStatus
from prep.chemistry import quantities
from prep.chemistry.acid_base.buffers import Buffer, BufferIngredient, IngredientPair, design
from prep.chemistry.acid_base.components import pair as read_pair
from prep.chemistry.acid_base.equilibrium import ph_of
from prep.chemistry.acid_base.species import is_of, of_formula
from prep.chemistry.catalogue import Catalogue
from prep.chemistry.measurement.instruments import Measured, Measuring
from prep.chemistry.model import (
    Form,
    Line,
    Measure,
    MethodStep,
    RecipeLine,
    Solution,
    StepKind,
    Strength,
    StrengthKind,
    Substance,
)
from prep.chemistry.preparation.route_finding import Making
from prep.chemistry.preparation.steps import LABEL, WrittenStep
from prep.chemistry.preparation.uncertainty_budget import Budgets
from prep.chemistry.preparation.vessels import Bench
from prep.chemistry.quantities import BASE_PER_UNIT
from prep.chemistry.strength.bottled import as_found
from prep.errors import PrepError
from prep.safety.cautions import cautions_for
from prep.safety.solution_hazards import known_or_not, reagents_of
from prep.services.catalogue.names import candidates
from prep.services.input.act import Act
from prep.services.input.checks import within
from prep.services.inventory import session
from prep.services.making.make import BottleShare, Filling, LackingItem, book, in_words, refuse_missing
from prep.services.plan.snapshot import load
from prep.services.safety.school_rules import refuse_buffer, refuse_making
from prep.store import seeding
from prep.wording import AtTerminal, Flag

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from prep.planning.model import Bottle, Snapshot
    from prep.store.bottles import HeldBottle as Bottled

_TOLERANCE_PCT = Decimal(2)
"""How exactly a buffer's volume and parts are measured: common practice, no source."""
_KEEPS_DAYS = 30
"""How long a buffer of nobody's recipe is kept, as moulds grow in it: common practice, no source."""


@dataclass(frozen=True, slots=True)
class BufferDraw:
    """What is drawn of one ingredient from its bottles, and its strength in the buffer.

    `missing` is what they do not hold [ug or nL].
    """

    item: str
    name: str
    strength: Strength
    measure: Measure
    amount: int
    bottles: tuple[BottleShare, ...]
    missing: int


@dataclass(frozen=True, slots=True)
class BufferMake:
    """How to make the buffer: `ph_uncertainty` (k = 2) is what measuring, strengths and the model leave."""

    made: Buffer
    takes: tuple[BufferDraw, ...]
    vessel: str
    steps: tuple[WrittenStep, ...]
    ph_uncertainty: float
    cautions: tuple[str, ...]
    working: tuple[Line, ...]

    @property
    def lacks(self) -> str:
        """What is missing, in words; empty where nothing is."""
        return in_words(self.missing)

    @property
    def missing(self) -> tuple[LackingItem, ...]:
        """What is missing of each ingredient."""
        return tuple(LackingItem(t.name, quantities.show(t.missing, t.measure)) for t in self.takes if t.missing)


@dataclass(frozen=True, slots=True)
class MadeBuffer:
    """The buffer as made, its entry, and the bottles that hold it now."""

    make: BufferMake
    solution: Solution
    job: int
    bottles: "tuple[Bottled, ...]"


@dataclass(frozen=True, slots=True)
class _Source:
    """One item on the shelves that is one of the two ingredients."""

    held: BufferIngredient
    item: str
    measure: Measure
    bottles: "tuple[Bottle, ...]"

    @property
    def amount(self) -> int:
        return sum(bottle.amount for bottle in self.bottles)


@dataclass(frozen=True, slots=True)
class BufferRequest:
    """The buffer that is wanted, as typed, and where it is put once it is made."""

    pair: str
    ph: str
    to: str
    volume: str
    location: str | None = None
    bottles: int = 1


def instructions(db: Path | None, asked: BufferRequest, today: date) -> BufferMake:
    """Work out a buffer of at least that volume from what is in the room, in date and in service.

    Raises PrepError; Refused if the school bars what is in it, or its strength there.
    """
    with session.reading(db) as connection:
        snapshot = load(connection, today)
        made = make(snapshot, asked)
        refuse_buffer(connection, [(take.item, take.strength) for take in made.takes], snapshot)
        return made


@dataclass(frozen=True, slots=True)
class _OnFile:
    """A buffer that was worked out, its entry, and whether that is to be put on file."""

    make: BufferMake
    solution: Solution
    new: bool


def log(db: Path | None, asked: BufferRequest, act: Act) -> MadeBuffer:
    """Make the buffer on the books as one job: its entry too, where none is on file.

    Raises PrepError; Refused if the school bars it, or naming what is missing.
    """
    within(asked.bottles, 1, 50, Flag("--bottles"))

    def work(connection: "Connection") -> _OnFile:
        snapshot = load(connection, act.on)
        made = make(snapshot, asked)
        refuse_buffer(connection, [(take.item, take.strength) for take in made.takes], snapshot)
        refuse_missing(made.missing)
        solution = _solution(made, float(quantities.ph(asked.ph)), quantities.strength(asked.to).value)
        known = snapshot.solutions.get(solution.code)
        refuse_making(
            connection,
            known or solution,
            replace(
                snapshot,
                catalogue=replace(snapshot.catalogue, solutions={**snapshot.solutions, solution.code: solution}),
            ),
        )
        return _OnFile(made, known or solution, known is None)

    def post(connection: "Connection", worked: _OnFile) -> MadeBuffer:
        made, solution = worked.make, worked.solution
        if worked.new:
            seeding.put_solutions(connection, [solution])
        amount = round(made.made.volume_ml * BASE_PER_UNIT)
        note = f"pH {made.made.ph:.2f} +- {made.ph_uncertainty:.2f} (k = 2), computed"
        takes = [taken for take in made.takes for taken in take.bottles]
        filling = Filling(amount, asked.bottles, asked.location, note=note)
        filled = book(connection, solution, takes, filling, act)
        return MadeBuffer(made, solution, filled.job, filled.bottles)

    return session.worked_out(db, work, post)


def _solution(made: BufferMake, ph: float, strength: Decimal) -> Solution:
    """Record the buffer as a solution on file: what went into it, for its hazards and for the next time."""
    items = [take.item for take in made.takes]
    return Solution(
        code="-".join(["buffer", f"{ph:g}", f"{strength:f}", *items])[:64].rstrip("-."),
        name=f"Buffer, pH {ph:g}, {strength:f} mol/L, {'/'.join(take.name for take in made.takes)}",
        solute="",
        strength=None,
        shelf_life_days=_KEEPS_DAYS,
        keeping=("full",),
        tolerance_pct=_TOLERANCE_PCT,
        recipe=tuple(RecipeLine(take.item, take.amount, "") for take in made.takes),
        recipe_nl=round(made.made.volume_ml * BASE_PER_UNIT),
        minutes=30,
        method_steps=(MethodStep(StepKind.CHECK, f"pH {ph:g}", source="common practice, no source"),),
        purpose="buffer",
        sources={"recipe": "computed by " + AtTerminal("prep make --buffer"), "shelf": "common practice, no source"},
    )


def make(snapshot: "Snapshot", request: BufferRequest) -> BufferMake:
    """Work out a buffer as `instructions`, from a snapshot. Raises PrepError."""
    strength, wanted = quantities.strength(request.to), float(quantities.ph(request.ph))
    if strength.kind is not StrengthKind.MOL_PER_L:
        raise PrepError(
            Flag("--to"), f' "{request.to[:40]}": give the whole strength of a buffer in mol/L, such as "0.1 mol/L".'
        )
    measuring = Measuring(snapshot.instruments)
    asked = round(quantities.volume_ml(request.volume) * BASE_PER_UNIT)
    fits = measuring.vessel_for(asked, _TOLERANCE_PCT)
    if fits is None:
        raise PrepError(f"No vessel of the room makes {quantities.show(asked, Measure.VOLUME)} at once; make less.")
    volume_ml = Decimal(fits.base) / BASE_PER_UNIT
    named = read_pair(
        request.pair, lambda name: next((i.substance for i in candidates(name, Catalogue(snapshot.substances))), None)
    )
    # Raises first where the pair cannot hold the pH at all; only then is it worth saying which bottle is lacking.
    design(named, wanted, float(strength.value), volume_ml)
    choices = [_sources(snapshot, one) for one in named]
    best: tuple[int, Buffer, tuple[_Source, ...], list[int]] | None = None
    too_weak: PrepError | None = None
    for sources in product(*choices):
        try:
            made = design(IngredientPair(sources[0].held, sources[1].held), wanted, float(strength.value), volume_ml)
        except PrepError as problem:  # a bottle is too weak; try the others
            too_weak = problem
            continue
        amounts = [_base(source, part.mass_g, part.volume_ml) for source, part in zip(sources, made.parts, strict=True)]
        lacking = sum(amount > source.amount for source, amount in zip(sources, amounts, strict=True))
        if best is None or lacking < best[0]:
            best = lacking, made, sources, amounts
        if not lacking:
            break
    if best is None:
        assert too_weak is not None
        raise too_weak
    _, made, sources, amounts = best
    return _write(snapshot, measuring, made, sources, amounts, fits.vessel.name)


def _write(
    snapshot: "Snapshot",
    measuring: Measuring,
    made: Buffer,
    sources: tuple[_Source, ...],
    amounts: list[int],
    vessel: str,
) -> BufferMake:
    budgets = Budgets(Bench(snapshot.catalogue, snapshot.instruments))
    whole = quantities.show(round(made.volume_ml * BASE_PER_UNIT), Measure.VOLUME)
    most = quantities.show(round(made.volume_ml * 7 / 10 * BASE_PER_UNIT), Measure.VOLUME, 1)
    steps = [WrittenStep(f"Put about {most} of distilled water in a beaker.")]
    takes, lines, shifts = [], [], []
    litres = made.volume_ml / 1000
    for number, (source, part, amount) in enumerate(zip(sources, made.parts, amounts, strict=True)):
        found = measuring.measure(amount, source.measure, float(_TOLERANCE_PCT) / 200, 0)
        strength = Strength(Decimal(repr(part.mol)) / litres, StrengthKind.MOL_PER_L)
        taking = _draw(source, strength, found.taken if found else amount)
        takes.append(taking)
        steps.append(_step(source, taking, found))
        pct = source.bottles[0].strength_uncertainty_pct if source.bottles else None
        known = budgets.strength_of(source.item, pct)
        relative = hypot(known.standard, found.standard_uncertainty if found else 0.0)
        moved = _moved(made, number, relative)
        shifts.append(moved)
        lines.append(
            Line(
                f"{source.held.name}: {100 * relative:.2g} % (its strength {100 * known.standard:.2g} %, {known.how}; "
                f"measured {100 * (found.standard_uncertainty if found else 0):.2g} %) moves the pH by {moved:.4f}"
            )
        )
    measured = 2 * hypot(*shifts)
    half = hypot(measured, made.band.model)
    wider = f"; wide for: {', '.join(made.band.wider)}" if made.band.wider else ""
    lines.append(
        Line(
            f"U(pH) = sqrt({measured:.3f}^2 of measuring (2 x root of the sum of squares) + "
            f"{made.band.model:.3f}^2 of the model) = {half:.3f}{wider}"
        )
    )
    ends = f"it should be {made.ph:.2f} +- {half:.2f} (k = 2)."
    steps.append(WrittenStep(f"Stir until all is dissolved, and check the pH: {ends}"))
    full = f"make it up to {whole}; mix well."
    steps.append(WrittenStep(f"Pour it into the {vessel}, rinse the beaker into it, and {full}"))
    steps.append(LABEL)
    return BufferMake(
        made, tuple(takes), vessel, tuple(steps), half, _cautions(snapshot, takes), (*made.working, *lines)
    )


def _cautions(snapshot: "Snapshot", takes: list[BufferDraw]) -> tuple[str, ...]:
    """Gather what to mind of both ingredients together."""
    catalogue = snapshot.catalogue
    bottled = [take.item for take in takes if take.item in catalogue.substances]
    stocks = [known_or_not(catalogue.solutions[t.item], catalogue) for t in takes if t.item in catalogue.solutions]
    return cautions_for(reagents_of(bottled, catalogue), action="recipe", stocks=stocks)


def _moved(made: Buffer, number: int, relative: float) -> float:
    """Work out by how much the pH moves when one component is off by its standard uncertainty."""
    parts = list(made.components)
    parts[number] = replace(parts[number], mol_per_kg=parts[number].mol_per_kg * (1 + relative))
    return abs(ph_of(parts).ph - made.ph)


def _step(source: _Source, taking: BufferDraw, found: Measured | None) -> WrittenStep:
    verb = "Weigh" if source.measure is Measure.MASS else "Measure"
    amount = str(found.reading) if found else quantities.show(taking.amount, taking.measure)
    places = [f"bottle {one.bottle}" for one in taking.bottles]
    if taking.missing:
        places.append("what is missing")
    warn = "" if found is None or found.adequate else " (as exactly as the room can)"
    code = found.reading.instrument.code if found else ""
    return WrittenStep(f"{verb} {amount}{warn}: {source.held.name}, {' and '.join(places)}; add it, stirring.", code)


def _draw(source: _Source, strength: Strength, amount: int) -> BufferDraw:
    left, drawn = amount, []
    for bottle in source.bottles:
        take = min(left, bottle.amount)
        if take:
            drawn.append(BottleShare(bottle.code, take))
            left -= take
    return BufferDraw(source.item, source.held.name, strength, source.measure, amount, tuple(drawn), left)


def _sources(snapshot: "Snapshot", named: BufferIngredient) -> list[_Source]:
    """Find the items on the shelves that are the ingredient: solids first, then liquids, then made solutions.

    An ingredient typed with a strength is taken from solutions of that strength only. Raises PrepError where
    there is none.
    """
    wanted = of_formula(named.formula, called=named.name)
    making = Making(snapshot.catalogue)
    shelves: dict[str, list[Bottle]] = defaultdict(list)
    for bottle in sorted(snapshot.bottles, key=lambda b: (b.use_by or date.max, b.code)):
        in_date = bottle.use_by is None or bottle.use_by >= snapshot.today
        if bottle.status == BottleStatus.IN_SERVICE and bottle.amount > 0 and in_date:
            shelves[bottle.item].append(bottle)
    found: list[tuple[int, str, _Source]] = []
    for item, bottles in shelves.items():
        substance = snapshot.substances.get(item)
        if substance is not None:
            if named.mol_per_l is None and is_of(substance.formula, wanted):
                alike: dict[Strength | None, list[Bottle]] = defaultdict(list)
                for bottle in bottles:  # bottles of one item may be labelled with different strengths
                    alike[bottle.strength].append(bottle)
                for own_strength, same in alike.items():
                    own = substance if own_strength is None else as_found(substance, own_strength)
                    liquid = own.form is not Form.SOLID
                    if liquid and own.density_g_ml is None:
                        continue
                    found.append((int(liquid), item, _Source(_held(own), item, own.measure, tuple(same))))
            continue
        solution = snapshot.solutions.get(item)
        if solution is None or solution.recipe or solution.strength is None or not solution.strength.value:
            continue
        if not is_of(making.formula_of(solution), wanted):
            continue
        for bottle in bottles:  # bottles of one solution may have been found of different strengths
            mol = making.mol_per_l(solution, bottle.strength)
            nominal = making.mol_per_l(solution)
            if mol and (named.mol_per_l is None or nominal == named.mol_per_l):
                held = BufferIngredient(solution.name, making.formula_of(solution), mol_per_l=mol)
                found.append((2, f"{item} {bottle.code}", _Source(held, item, Measure.VOLUME, (bottle,))))
    if not found:
        strength = f" of {named.mol_per_l} mol/L" if named.mol_per_l is not None else ""
        raise PrepError(
            f"No bottle of {named.name}{strength} is held, in service and in date",
            AtTerminal("; see: prep stock list", "."),
        )
    return [source for _, _, source in sorted(found, key=lambda f: f[:2])]


def _held(substance: Substance) -> BufferIngredient:
    density = substance.density_g_ml if substance.form is not Form.SOLID else None
    return BufferIngredient(substance.name, substance.formula, substance.assay_pct or Decimal(100), density)


def _base(source: _Source, mass_g: Decimal | None, volume_ml: Decimal | None) -> int:
    amount = mass_g if source.measure is Measure.MASS else volume_ml
    assert amount is not None
    return round(amount * BASE_PER_UNIT)
