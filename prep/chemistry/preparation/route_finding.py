"""How a solution can be made from what a room may hold: its routes, each with its parts per nL of product.

A route is found once per solution and scaled to any volume. Figures are exact fractions; what the room can
measure of them is the next step's business (`prep.chemistry.preparation.vessels`).
"""

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from threading import RLock

from prep.chemistry.catalogue import Catalogue
from prep.chemistry.formula.formulas import counted_as, molar_mass, split_hydrate
from prep.chemistry.model import Form, Line, RecipeLine, Solution, Strength, StrengthKind, Substance
from prep.chemistry.preparation.routes import Route, RouteKind, RouteOption, RoutePart, Saturation
from prep.chemistry.quantities import figures, plain
from prep.chemistry.strength.bottled import FoundRatio
from prep.chemistry.strength.dilution import common_kind, share_of
from prep.chemistry.strength.dissolving import dissolve
from prep.chemistry.strength.into_water import WaterVerdict, obstacle
from prep.chemistry.strength.solutes import SoluteFacts, about_substance
from prep.chemistry.strength.strengths import MASS_SOURCE, Converted, convert, in_bottle
from prep.errors import PrepError


class Making:
    """The routes of every solution in a catalogue, worked out when first asked for.

    `problems` holds, per solution, the sentence that says why a source was ruled out (solubility, a density
    that is wanting): a solution without a route is a finding of the plan, not an error of the program.
    """

    def __init__(self, catalogue: Catalogue) -> None:
        self._substances = catalogue.substances
        self._solutions = catalogue.solutions
        self._reagents: dict[str, list[Substance]] = defaultdict(list)
        for _, substance in sorted(catalogue.substances.items()):
            self._reagents[substance.solute].append(substance)
        self._strengths: dict[str, list[Solution]] = defaultdict(list)
        for _, solution in sorted(catalogue.solutions.items()):
            if solution.solute and solution.strength and not solution.recipe:
                self._strengths[solution.solute].append(solution)
        # How many entries name a solid: of two hydrates the one that the room makes its solutions of as a rule.
        self._named_by = Counter(item for one in catalogue.solutions.values() for item in one.made_from)
        self._routes: dict[str, tuple[Route, ...]] = {}
        self._weaker: dict[str, tuple[RouteOption, ...]] = {}
        self._abouts: dict[str, SoluteFacts] = {}
        self._nominals: dict[tuple[str, StrengthKind], Converted] = {}
        self._finding = RLock()  # two plans may ask at the same time, and each problem is to be noted once
        self.problems: dict[str, list[str]] = defaultdict(list)

    def routes(self, code: str) -> tuple[Route, ...]:
        """List every way to make the solution: its entry's sources first, then in order of fewest steps.

        Empty when there is none; `problems` then says why.
        """
        known = self._routes.get(code)
        if known is None:
            with self._finding:
                known = self._routes.get(code)
                if known is None:
                    known = self._routes[code] = tuple(self._find(self._solutions[code]))
        return known

    def weaker(self, code: str) -> tuple[RouteOption, ...]:
        """List solutions in water of the same solute, no stronger, strongest first: each can give a part of it.

        `per_nl` (1 or more) is for all of the solute, so such a solution never serves alone. Empty for a recipe.
        """
        known = self._weaker.get(code)
        if known is None:
            known = self._weaker[code] = tuple(self._find_weaker(self._solutions[code]))
        return known

    def with_solids(self, route: Route, stocks: Collection[str]) -> Route:
        """Let the solid go into a recipe's route instead of each of these stocks, should none of one be there."""
        parts = []
        for part in route.parts:
            first = part.options[0]
            dry = self._solids_of(first.item) if first.item in stocks else ()
            more = (RouteOption(o.item, o.per_nl * first.per_nl, (*first.working, *o.working)) for o in dry)
            parts.append(replace(part, options=(*part.options, *more)))
        return replace(route, parts=tuple(parts))

    def _solids_of(self, stock: str) -> list[RouteOption]:
        """List the solids that give a stock its strength, with how much per nL; no solvent, no stabiliser.

        None where something goes in before the solid, to dissolve it or to keep it: iodide for iodine, acid for iron.
        """
        solute = self._solutions[stock].solute
        first = next((self._substances.get(line.item) for line in self._solutions[stock].recipe), None)
        if self._solutions[stock].recipe and (first is None or first.solute != solute):
            return []
        kinds = (RouteKind.DISSOLVE, RouteKind.RECIPE)
        options = (o for route in self.routes(stock) if route.kind in kinds for p in route.parts for o in p.options)
        known = ((self._substances.get(option.item), option) for option in options)
        return [o for solid, o in known if solid is not None and solid.form is Form.SOLID and solid.solute == solute]

    def mol_per_l(self, solution: Solution, strength: Strength | None = None) -> Decimal | None:
        """Find the moles of solute in a litre; None where it has no formula to count by. Raises PrepError."""
        strength = strength or solution.strength
        if strength is None or not self.formula_of(solution):
            return None
        if strength is solution.strength:
            return self._nominal(solution, StrengthKind.MOL_PER_L).strength.value
        return convert(strength, StrengthKind.MOL_PER_L, self._about(solution)).strength.value

    def formula_of(self, solution: Solution) -> str:
        """Find the formula that the solution's moles count; "" where it has none. Raises PrepError."""
        return self._about(solution).formula

    def as_on_file(self, solution: Solution, found: Strength) -> Strength:
        """Convert a strength to the kind of the solution's entry. Raises PrepError where that cannot be."""
        if solution.strength is None or found.kind is solution.strength.kind:
            return found
        return convert(found, solution.strength.kind, self._about(solution)).strength

    def found_over_nominal(self, solution: Solution, found: Strength) -> FoundRatio:
        """Compare a found strength with the nominal: their ratio, and whether it is within the tolerance."""
        if solution.strength is None:
            return FoundRatio()
        same = self.as_on_file(solution, found)
        if not solution.strength.value:
            return FoundRatio()
        ratio = Fraction(same.value) / Fraction(solution.strength.value)
        return FoundRatio(ratio, abs(ratio - 1) * 100 <= Fraction(solution.tolerance_pct))

    # Routes -------------------------------------------------------------------------------------------

    def _find(self, solution: Solution) -> Iterable[Route]:
        if solution.recipe:
            yield self._recipe(solution)
            return
        if solution.strength is None:
            self.problems[solution.code].append(f"{solution.name} has neither a strength nor a recipe.")
            return
        declared = solution.made_from
        found: list[tuple[int, int, str, Route]] = []
        stronger = [s for s in self._strengths[solution.solute] if s.code != solution.code]
        for source in stronger:
            if source.make_up_with == solution.make_up_with:
                self._add(found, 1, source.code, self._from_solution, solution, source)
        for substance in self._reagents[solution.solute]:
            if substance.form in (Form.AQUEOUS, Form.LIQUID):
                self._add(found, 2, substance.code, self._from_concentrate, solution, substance)
        solids = [s for s in self._reagents[solution.solute] if s.form is Form.SOLID]
        if solids:
            self._add(found, 3, solids[0].code, self._from_solids, solution, solids)
        if not found and not self.problems[solution.code]:
            known = self._reagents[solution.solute] or stronger
            lacks = "that holds its solute is strong enough" if known else "holds its solute"
            self.problems[solution.code].append(f"{solution.name} cannot be made: nothing on file {lacks}.")
        for rank, _, key, route in sorted(
            found,
            key=lambda f: (declared.index(f[2]) if f[2] in declared else len(declared) + f[0], f[1], f[2]),
        ):
            named = key in declared or (rank == 3 and any(s.code in declared for s in solids))
            yield Route(route.kind, route.parts, declared=named)

    def _add(self, found, rank, key, build, solution, source) -> None:  # type: ignore[no-untyped-def]
        try:
            route = build(solution, source)
        except PrepError as problem:
            self.problems[solution.code].append(str(problem))
            return
        if route is not None:
            found.append((rank, 0, key, route))

    def _from_solution(self, solution: Solution, source: Solution) -> Route | None:
        ratio = self._ratio(solution, source)
        if ratio is None or ratio >= 1:
            return None
        working = (
            Line(
                f"C1 V1 = C2 V2: V1 = {solution.strength} / {source.strength} x V2 = {figures(ratio)} mL of "
                f"{source.name} for each mL"
            ),
        )
        part = RoutePart((RouteOption(source.code, ratio, working),))
        return Route(RouteKind.DILUTE, (part, *self._made_up(solution, [part])))

    def _find_weaker(self, solution: Solution) -> list[RouteOption]:
        strength = solution.strength
        if solution.recipe or strength is None or solution.make_up_with != "water":
            return []
        if strength.kind is StrengthKind.SATURATED:
            return []
        found: list[RouteOption] = []
        for source in self._strengths[solution.solute]:
            if source.code == solution.code or source.make_up_with != "water":
                continue
            try:
                ratio = self._ratio(solution, source)
            except PrepError:
                continue  # one of the two has no figure in a common unit
            if ratio is None or ratio < 1:
                continue
            line = Line(
                f"C V = C1 V1 + C2 V2: all of the solute would be in {strength} / {source.strength} = "
                f"{figures(ratio)} mL of {source.name} for each mL"
            )
            found.append(RouteOption(source.code, ratio, (line,)))
        return sorted(found, key=lambda option: (option.per_nl, option.item))

    def _ratio(self, solution: Solution, source: Solution) -> Fraction | None:
        """Work out how many nL of a source hold the solute of one nL; None where one of the two holds none."""
        assert source.strength is not None
        assert solution.strength is not None
        kind = common_kind(source.strength, solution.strength, self._about(source), self._about(solution))
        wanted, held = (self._nominal(made_solution, kind).strength.value for made_solution in (solution, source))
        return share_of(wanted, held) if wanted and held else None

    def _from_concentrate(self, solution: Solution, substance: Substance) -> Route | None:
        kind = self._common_kind(solution)
        nominal = self._nominal(solution, kind)
        wanted, bottle = nominal.strength.value, in_bottle(substance, kind)
        if not wanted or bottle.strength.value <= wanted:
            return None
        ratio = share_of(wanted, bottle.strength.value)
        working = (
            *bottle.working,
            *nominal.working,
            Line(
                f"V1 = {figures(wanted)} / {figures(bottle.strength.value)} x V2 = {figures(ratio)} mL of "
                f"{substance.name} for each mL"
            ),
        )
        part = RoutePart((RouteOption(substance.code, ratio, working),))
        return Route(RouteKind.CONCENTRATE, (part, *self._made_up(solution, [part])))

    def _from_solids(self, solution: Solution, solids: list[Substance]) -> Route:
        """Build the route by any one of the solids, best first."""
        options = [self._solid_option(solution, solid) for solid in self._preferred(solution, solids)]
        part = RoutePart(tuple(options))
        return Route(RouteKind.DISSOLVE, (part, *self._made_up(solution, [part])))

    def _preferred(self, solution: Solution, solids: list[Substance]) -> list[Substance]:
        """Choose the solids that may go into its solvent. Raises PrepError where none may.

        Its entry's come first, then what most entries of the catalogue name.
        """
        declared, may = solution.made_from, []
        for solid in solids:
            met = obstacle(solid.formula, solid, self._substances.values())
            full = solution.strength is not None and solution.strength.kind is StrengthKind.SATURATED
            if met is None or solution.make_up_with != "water" or (full and met.verdict is not WaterVerdict.REACTS):
                may.append(solid)
            else:
                why = met.sentence(solid.name)
        if not may:
            raise PrepError(why)

        def rank(solid: Substance) -> tuple[int, int, str]:
            at = declared.index(solid.code) if solid.code in declared else len(declared)
            return at, -self._named_by[solid.code], solid.code

        return sorted(may, key=rank)

    def _solid_option(self, solution: Solution, solid: Substance) -> RouteOption:
        assert solution.strength is not None
        about = self._about(solution)
        formula = solid.formula or about.formula
        if solution.strength.kind is StrengthKind.SATURATED:
            own = about_substance(solid)
            return _saturating(solid, own if own.solubility else about)
        g_per_l = self._nominal(solution, StrengthKind.G_PER_L).strength
        assay = solid.assay_pct or Decimal(100)
        litre = dissolve(formula, g_per_l, Decimal(1000), assay_pct=assay, about=about)
        if litre.moles is None:
            working = [Line(f"{solution.strength} = {figures(litre.pure_g)} g in each litre")]
        else:
            mol = self._nominal(solution, StrengthKind.MOL_PER_L)
            text = (
                f"m = C M = {figures(mol.strength.value)} mol/L x {figures(molar_mass(formula))} g/mol = "
                f"{figures(litre.pure_g)} g/L of {formula}"
            )
            working = [*mol.working, Line(text, MASS_SOURCE)]
        if assay != 100:
            said = f"/ assay {plain(assay)} % = {figures(litre.mass_g)} g/L"
            working.append(Line(said, solid.sources.get("assay", "")))
        return RouteOption(solid.code, Fraction(litre.mass_g) / 1000, tuple(working))

    def _recipe(self, solution: Solution) -> Route:
        parts = [RoutePart(self._recipe_options(line, solution), line.note) for line in solution.recipe]
        return Route(RouteKind.RECIPE, (*parts, *self._made_up(solution, parts)), declared=True)

    def _made_up(self, solution: Solution, parts: list[RoutePart]) -> tuple[RoutePart, ...]:
        """Work out how much solvent other than water is drawn: the volume that the other liquids leave."""
        solvent = solution.make_up_with
        if solvent == "water":
            return ()
        rest = 1 - sum((p.options[0].per_nl for p in parts if self._is_liquid(p.options[0].item)), Fraction(0))
        if rest <= 0:
            return ()
        line = Line(f"{self._named(solvent)} for what the other liquids leave, volumes taken as additive")
        return (RoutePart((RouteOption(solvent, rest, (line,)),), "make up"),)

    def _is_liquid(self, item: str) -> bool:
        substance = self._substances.get(item)
        return substance is None or substance.form in (Form.LIQUID, Form.AQUEOUS)

    def _named(self, item: str) -> str:
        known = self._substances.get(item) or self._solutions.get(item)
        return known.name if known else item

    def _recipe_options(self, line: RecipeLine, solution: Solution) -> tuple[RouteOption, ...]:
        """List the ingredient as written, then the same solute in another hydrate or another concentrate."""
        written = Fraction(line.amount, solution.recipe_nl)
        unit = "mL" if self._is_liquid(line.item) else "g"
        said = f"recipe: {figures(written * 1000)} {unit} of {self._named(line.item)} for each litre"
        out = [RouteOption(line.item, written, (Line(said, solution.sources.get("recipe", "")),))]
        given = self._substances.get(line.item)
        if given is None or not given.formula:
            return tuple(out)
        for other in self._reagents[given.solute]:
            if other.code == given.code or other.form is not given.form or not other.formula:
                continue
            try:
                out.append(self._stand_in(written, given, other))
            except PrepError:
                continue  # no density, or not the same solute after all: it cannot stand in
        return tuple(out)

    def _stand_in(self, written: Fraction, given: Substance, other: Substance) -> RouteOption:
        if given.form is Form.SOLID:
            alike_g = counted_as(given.assay_pct or Decimal(100), given.formula, other.formula)
            factor = Fraction(alike_g) / Fraction(other.assay_pct or 100)
            text = (
                f"{other.formula} for {given.formula}: x {figures(factor)} by molar mass "
                f"{figures(molar_mass(other.formula))} / {figures(molar_mass(given.formula))} and assay"
            )
            return RouteOption(other.code, written * factor, (Line(text, MASS_SOURCE),))
        one = in_bottle(given, StrengthKind.G_PER_L).strength.value
        two = in_bottle(other, StrengthKind.G_PER_L).strength.value
        factor = Fraction(one) / Fraction(two)
        return RouteOption(
            other.code,
            written * factor,
            (Line(f"{other.name} for {given.name}: x {figures(factor)} by strength"),),
        )

    # Strengths ----------------------------------------------------------------------------------------

    def _base(self, solution: Solution) -> Substance:
        group = self._reagents[solution.solute]
        if not group:
            raise PrepError(f"Nothing on file holds the solute of {solution.name} ({solution.solute}).")
        if solution.strength_of:
            for substance in group:
                if substance.formula == solution.strength_of:
                    return substance
        solids = [s for s in group if s.formula and not split_hydrate(s.formula).waters]
        return next(iter(solids), group[0])

    def _about(self, solution: Solution) -> SoluteFacts:
        known = self._abouts.get(solution.code)
        if known is None:
            known = self._abouts[solution.code] = self._facts(solution)
        return known

    def _facts(self, solution: Solution) -> SoluteFacts:
        base = self._base(solution)
        formula = solution.strength_of or (split_hydrate(base.formula).dry if base.formula else "")
        tolerance = max(solution.tolerance_pct, Decimal(1))
        about = about_substance(base, formula=formula, tolerance_pct=tolerance)
        if about.solubility is None:
            for other in self._reagents[solution.solute]:
                limit = about_substance(other, formula=formula, tolerance_pct=tolerance).solubility
                if limit is not None:
                    about = about_substance(other, formula=formula, tolerance_pct=tolerance)
                    break
        return about

    def _common_kind(self, solution: Solution) -> StrengthKind:
        assert solution.strength is not None
        if solution.strength.kind is StrengthKind.PCT_V_V:
            return StrengthKind.PCT_V_V
        return StrengthKind.MOL_PER_L if self._about(solution).formula else StrengthKind.G_PER_L

    def _nominal(self, solution: Solution, kind: StrengthKind) -> Converted:
        """Convert the nominal strength to another kind; worked out once."""
        assert solution.strength is not None
        key = (solution.code, kind)
        known = self._nominals.get(key)
        if known is None:
            known = self._nominals[key] = convert(solution.strength, kind, self._about(solution))
        return known


def _saturating(solid: Substance, about: SoluteFacts) -> RouteOption:
    """Work out the solid for a litre of its saturated solution, as a calculation without an inventory has it."""
    assay, full = solid.assay_pct or Decimal(100), Strength(Decimal(0), StrengthKind.SATURATED)
    litre = dissolve(solid.formula or about.formula, full, Decimal(1000), assay_pct=assay, about=about)
    assert litre.dissolves_g is not None
    assert litre.water_ml is not None
    at_c = about.solubility.temperature_c if about.solubility else None
    held = Saturation(Fraction(litre.dissolves_g) / 1000, Fraction(litre.water_ml) / 1000, at_c)
    return RouteOption(solid.code, Fraction(litre.mass_g) / 1000, litre.working, saturation=held)
