"""`prep make --mass`: a solution of one solute in water by mass alone, so that no density is needed."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

from prep.books import BottleStatus
from prep.chemistry import quantities
from prep.chemistry.measurement.instruments import Measuring
from prep.chemistry.model import Form, Line, Measure, Solution, Strength, StrengthKind, Substance
from prep.chemistry.quantities import figures, plain
from prep.chemistry.strength import densities, dissolving
from prep.chemistry.strength.bottled import as_found
from prep.chemistry.strength.solutes import about_substance
from prep.chemistry.strength.solution_density import at_pct
from prep.chemistry.strength.strengths import convert
from prep.errors import PrepError
from prep.planning.model import Bottle, Snapshot
from prep.safety.cautions import cautions_for
from prep.safety.clp.composition import counted_formula
from prep.safety.solution_hazards import known_or_not
from prep.services.catalogue.names import find_item
from prep.services.inventory import session
from prep.services.making import make
from prep.services.making.any_strength import solution_named
from prep.services.making.make import BottleShare, LackingItem, refuse_missing
from prep.services.plan.snapshot import load
from prep.services.safety.batch_hazards import in_a_line
from prep.services.safety.school_rules import refuse_making
from prep.wording import Flag

if TYPE_CHECKING:
    from prep.services.input.act import Act
    from prep.services.making.make import MadeBatch, MakeRequest


_WITHIN = 0.005
"""How far a weighing may be off: common practice, no source."""


@dataclass(frozen=True, slots=True)
class MassMake:
    """How a mass [g] of a solution is made: what is weighed, the water [g], the sentences, what is missing."""

    solution: Solution
    mass_g: Decimal
    item: Substance
    weigh_g: Decimal
    water_g: Decimal
    takes: tuple[BottleShare, ...]
    missing: tuple[LackingItem, ...]
    steps: tuple[str, ...]
    cautions: tuple[str, ...]
    hazards: str
    working: tuple[Line, ...]
    density_g_ml: Decimal | None


@dataclass(frozen=True, slots=True)
class LoggedByMass:
    """A make by mass as it was worked out, and as it stands on the books."""

    sheet: MassMake
    batch: "MadeBatch"


class _TooWeak(PrepError):
    """A source is weaker than what is to be made from it; another may not be."""


def instructions(db: Path | None, solution: str, mass: str, source: str | None, today: date) -> MassMake:
    """Work out a make by mass today. Raises PrepError: a recipe, another solvent, a saturated solution."""
    mass_g = quantities.mass_g(mass)
    with session.reading(db) as connection:
        snapshot = load(connection, today)
        named = solution_named(solution, snapshot.catalogue, {bottle.item for bottle in snapshot.bottles})
        item, catalogue = named.item, named.catalogue
        assert item.solution is not None
        refuse_making(connection, item.solution, snapshot)
    made = item.solution
    strength = _by_mass(made)
    held = {bottle.item for bottle in snapshot.bottles if bottle.amount}
    wanted = source and find_item(source, catalogue, only="substance", held=held).code
    sources = _sources(made, catalogue.substances, wanted)
    ways, too_weak = [], []
    for one in sources:
        for own, bottles in _as_bottled(one, snapshot):
            try:
                ways.append(_way(made, strength, mass_g, own, snapshot, bottles))
            except _TooWeak as problem:
                too_weak.append(problem)
    if not ways:
        raise too_weak[0]
    return min(ways, key=lambda way: bool(way.missing))


def log(db: Path | None, asked: "MakeRequest", mass: str, act: "Act") -> LoggedByMass:
    """Make it on the books: what was weighed leaves its bottles, and its volume fills new ones.

    Raises Refused for what is missing, PrepError where the volume is not known and `came` does not say it.
    """
    sheet = instructions(db, asked.solution, mass, asked.source, act.on)
    refuse_missing(sheet.missing)
    came = asked.came
    if came is None:
        if sheet.density_g_ml is None:
            raise PrepError("Its density is not known: say with ", Flag("--made"), " what volume came out.")
        came = f"{figures(sheet.mass_g / sheet.density_g_ml, 8)} mL"
    measure = Measure.MASS if sheet.item.measure is Measure.MASS else Measure.VOLUME
    taken = asked.taken or tuple(f"{one.bottle}={_exactly(one.amount, measure)}" for one in sheet.takes)
    return LoggedByMass(sheet, make.log(db, replace(asked, volume=came, came=came, source=None, taken=taken), act))


def _by_mass(made: Solution) -> Strength:
    if made.recipe or made.strength is None or not made.solute or made.make_up_with != "water":
        raise PrepError(f"{made.name} is made by its recipe: say how much with ", Flag("--volume"), ".")
    if made.strength.kind is StrengthKind.SATURATED:
        raise PrepError(
            f"{made.name} is made with more than dissolves: say how much clear solution with ", Flag("--volume"), "."
        )
    return made.strength


def _sources(made: Solution, known: Mapping[str, Substance], only: str | None) -> list[Substance]:
    """Find what a solution can be weighed from, the preferred first."""
    found = [
        one
        for one in known.values()
        if one.solute == made.solute and one.formula and one.form is not Form.GAS and only in (None, "", one.code)
    ]
    found = [one for one in found if one.form is Form.SOLID or one.assay_pct is not None]
    if not found:
        raise PrepError(f"{made.name} is not made from {only or 'anything on file'} by mass.")
    order = {code: place for place, code in enumerate(made.made_from)}
    return sorted(found, key=lambda one: (order.get(one.code, len(order)), one.form is not Form.SOLID, one.code))


def _as_bottled(one: Substance, snapshot: Snapshot) -> Iterator[tuple[Substance, Sequence[Bottle]]]:
    """Find a substance at each strength that its bottles have, and those bottles, first to expire first."""
    held = [bottle for bottle in snapshot.bottles if bottle.item == one.code and _serves(bottle, snapshot.today)]
    held.sort(key=lambda bottle: (bottle.use_by or date.max, bottle.amount, bottle.code))
    for own in dict.fromkeys(bottle.strength for bottle in held) or (None,):
        yield (one if own is None else as_found(one, own)), [bottle for bottle in held if bottle.strength == own]


def _way(
    made: Solution,
    strength: Strength,
    mass_g: Decimal,
    one: Substance,
    snapshot: Snapshot,
    bottles: Sequence[Bottle],
) -> MassMake:
    about = about_substance(one, formula=counted_formula(made.strength_of, one))
    working: tuple[Line, ...]
    if one.form is Form.SOLID:
        purity = one.assay_pct or Decimal(100)
        weighed = dissolving.dissolve_by_mass(one.formula, strength, mass_g, purity, about)
        weigh_g, working = weighed.mass_g, weighed.working
    else:
        assert one.assay_pct is not None
        by_mass = convert(strength, StrengthKind.PCT_W_W, about)
        pct = by_mass.strength.value
        if pct > one.assay_pct:
            raise _TooWeak(f"{strength} is stronger than {one.bare_name}, {plain(one.assay_pct)} % w/w.")
        weigh_g = mass_g * pct / one.assay_pct
        said = f"{plain(mass_g)} g x {figures(pct)} % / {plain(one.assay_pct)} % = {figures(weigh_g)} g to weigh"
        working = (*by_mass.working, Line(said))
    water_g = mass_g - weigh_g
    takes, lacks = _drawn(int(_amount(one, weigh_g) * quantities.BASE_PER_UNIT) + 1, bottles)
    missing = (LackingItem(one.name, quantities.show(lacks, one.measure)),) if lacks else ()
    hazards = known_or_not(made, snapshot.catalogue)
    balance = Measuring(snapshot.instruments)
    found = balance.measure(round(weigh_g * quantities.BASE_PER_UNIT), Measure.MASS, _WITHIN, 0)
    reading = str(found.reading) if found else f"{figures(weigh_g, 5)} g"
    where = " and ".join(f"bottle {take.bottle}" for take in takes) or "what is missing"
    return MassMake(
        solution=made,
        mass_g=mass_g,
        item=one,
        weigh_g=weigh_g,
        water_g=water_g,
        takes=takes,
        missing=missing,
        steps=_steps(one, f"Weigh {reading}: {one.name}, {where}", water_g, mass_g),
        cautions=cautions_for([one], hazards, "dissolve" if one.form is Form.SOLID else "dilute"),
        hazards=in_a_line(hazards),
        working=working,
        density_g_ml=_density(strength, one),
    )


def _amount(one: Substance, weigh_g: Decimal) -> Decimal:
    """Convert grams to what leaves the bottle: g of a solid, mL of a liquid. Raises PrepError without a density."""
    if one.measure is Measure.MASS:
        return weigh_g
    if one.density_g_ml is None:
        raise PrepError(f"The density of {one.name} is not recorded; what leaves its bottle is not known.")
    return weigh_g / one.density_g_ml


def _steps(one: Substance, weigh: str, water_g: Decimal, mass_g: Decimal) -> tuple[str, ...]:
    """Write the sentences of a make by mass: a solid first, a concentrate into the water."""
    water = f"{figures(water_g, 5)} g of distilled water ({figures(water_g / densities.WATER_G_ML, 4)} mL)"
    last = f"{plain(mass_g)} g of solution. Label it before it leaves the bench."
    if one.form is Form.SOLID:
        return (
            f"{weigh}; into a beaker that stands on the balance.",
            f"Add {water}, and stir until all is dissolved.",
            last,
        )
    return f"Weigh {water} into a heat-proof beaker.", f"{weigh}; add it slowly to the water, stirring.", last


def _drawn(amount: int, bottles: Sequence[Bottle]) -> tuple[tuple[BottleShare, ...], int]:
    """Choose what of an amount is taken from each bottle, in their order, and what they lack of it."""
    out = []
    for bottle in bottles:
        take = min(amount, bottle.amount)
        if take:
            out.append(BottleShare(bottle.code, take))
            amount -= take
    return tuple(out), amount


def _serves(bottle: Bottle, today: date) -> bool:
    in_date = bottle.use_by is None or bottle.use_by >= today
    return bottle.status == BottleStatus.IN_SERVICE and in_date and bottle.amount > 0


def _density(strength: Strength, one: Substance) -> Decimal | None:
    """Find the density [g/mL] of the solution, where a table or water's gives it; else None."""
    about = about_substance(one)
    try:
        pct = convert(strength, StrengthKind.PCT_W_W, about).strength.value
        return at_pct(pct, strength, about, []).g_ml
    except PrepError:
        return None


def _exactly(amount: int, measure: Measure) -> str:
    return f"{plain(Decimal(amount) / quantities.BASE_PER_UNIT)} {'g' if measure is Measure.MASS else 'mL'}"
