"""The sheet of a make: its steps as sentences, its working, and how exact it comes out."""

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from types import MappingProxyType

from prep.chemistry import quantities
from prep.chemistry.measurement.uncertainty import Uncertain
from prep.chemistry.model import InstrumentKind, Line, Measure, Solution
from prep.chemistry.preparation.routes import Option, Route, RouteKind
from prep.chemistry.preparation.steps import LABEL, Common, Draft, Drawn, Gap, Step, WriteUp, gives, known_of
from prep.chemistry.preparation.uncertainty_budget import Budgets
from prep.chemistry.preparation.vessels import Bench, Portion, Work


class Sheets:
    """The sheets of what a room makes; each is drafted once per kind and size, then filled with its bottles."""

    def __init__(self, bench: Bench) -> None:
        self._bench = bench
        self._budgets = Budgets(bench)
        self._drafts: dict[tuple[object, ...], Draft] = {}

    def write_up(
        self,
        solution: Solution,
        route: Route,
        options: Sequence[Option],
        amount: int,
        drawn: Iterable[Drawn],
        common: Mapping[str, Common] = MappingProxyType({}),
    ) -> WriteUp:
        """Steps, working and uncertainty for `amount` nL of a solution by a route.

        `common`: per item, the intermediate it shares with other makes; `drawn` then is what that one takes.
        """
        drawn = list(drawn)
        known = known_of(drawn)
        shares = tuple((o.item, o.share) if o.share != 1 else o.item for o in options)
        key = (solution.code, route.kind, shares, amount, *known.items(), *common.items())
        draft = self._drafts.get(key)
        if draft is None:
            work = self._bench.work(solution, route, options, amount, common)
            draft = self._drafts[key] = self._draft(work, options, known)
        steps = tuple(step if isinstance(step, Step) else self._filled(step, drawn, solution) for step in draft.steps)
        return WriteUp(draft.vessel, steps, draft.working, draft.uncertainty_pct)

    def _draft(self, work: Work, options: Sequence[Option], known: Mapping[str, Decimal]) -> Draft:
        bench, result = self._bench, self._budgets.of(work, known)
        steps = _Writer(bench, work, result).steps()
        working = [line for option in options for line in option.working]
        made = quantities.show(work.amount, Measure.VOLUME)
        for option in options:
            if option.item != "water":
                need = quantities.show(round(option.per_nl * work.amount), bench.measure_of(option.item))
                working.append(Line(f"for {made}: {need} of {bench.named(option.item)}"))
        if result is None:
            return Draft(work.vessel.name, tuple(steps), tuple(working), None)
        working += [*result.working(), Line(f"gives {_given(work.solution, result)}")]
        return Draft(work.vessel.name, tuple(steps), tuple(working), result.expanded_pct)

    def _filled(self, gap: Gap, drawn: list[Drawn], solution: Solution) -> Step:
        """The step with the places that its item is drawn from."""
        places = [d for d in drawn if d.item == gap.item]
        if not places:
            return Step(gap.before + gap.after, gap.instrument)
        if gap.solvent:
            return Step(f"{gap.before} ({places[0].place}){gap.after}", gap.instrument)
        before, found = gap.before, gap.found
        if found is not None:  # a bottle off its nominal strength gives more or less
            taken = sum(d.amount for d in places)
            again = self._bench.directly(gap.item, taken, solution) if taken != found.taken else None
            if again:
                before = before.replace(str(found.reading), str(again.reading), 1)
        if len(places) == 1:
            return Step(f"{before}, {places[0].place}{gap.after}", gap.instrument)
        measure = self._bench.measure_of(gap.item)
        parts = [f"{quantities.show(d.amount, measure, 4)} from {d.place}" for d in places]
        return Step(f"{before} ({'; '.join(parts)}){gap.after}", gap.instrument)


def _given(solution: Solution, result: Uncertain) -> str:
    assert solution.strength is not None
    return gives(solution.strength, result.expanded_pct)


class _Writer:
    """The steps of one make, in order; `result` is what it gives, where that is one figure."""

    def __init__(self, bench: Bench, work: Work, result: Uncertain | None) -> None:
        self.bench, self.work, self.result = bench, work, result
        self.solution, self.vessel = work.solution, work.vessel

    def steps(self) -> list[Step | Gap]:
        """The instructions in order."""
        work, kind, portions = self.work, self.work.route.kind, self.work.portions
        volume = quantities.show(work.amount, Measure.VOLUME)
        solvent = self.solution.make_up_with
        liquid = "distilled water" if solvent == "water" else self.bench.named(solvent)
        out: list[Step | Gap] = []
        if kind is RouteKind.DILUTE:
            # Only if there is room: what is taken, the rinsings and the last of the water come after it.
            first = self._about(min(Fraction(1, 2), work.free / 2))
            if first:
                out.append(Step(f"Put about {first} of {liquid} in the {self.vessel.name}."))
            into = "add it slowly to the water, swirling" if first else f"let it run into the {self.vessel.name}"
            out += self._measure(portions[0], into)
        elif kind is RouteKind.CONCENTRATE:
            # It may grow hot: not in a measuring vessel, and with room left to rinse.
            first = self._about(min(Fraction(1, 2), work.free * Fraction(3, 4)))
            if first:
                out.append(Step(f"Put about {first} of {liquid} in a heat-proof beaker."))
            into = "add it slowly to the water, stirring" if first else "pour it into a heat-proof beaker"
            out += self._measure(portions[0], into)
            out.append(Step("Let it come back to room temperature."))
            if self.vessel.kind is not InstrumentKind.BEAKER:
                out.append(Step(f"Pour it into the {self.vessel.name}; rinse the beaker into it twice."))
        elif kind is RouteKind.DISSOLVE:
            weighed = self._measure(portions[0], "")
            out += weighed
            if len(weighed) == 1:
                out.append(
                    Step(f"Dissolve it in about {self._about(Fraction(7, 10))} of {liquid} in a beaker, stirring.")
                )
                out.append(Step(f"Pour it into the {self.vessel.name}; rinse the beaker into it twice."))
            else:
                out.append(Step(f"Let that run into the {self.vessel.name}."))
        else:
            first = self._about(work.free / 2) if work.free >= Fraction(1, 2) else ""
            if first:
                out.append(Step(f"Start with about {first} of {liquid} in a beaker."))
            for portion in portions:
                out += self._measure(portion, portion.note or "add it, stirring until it is dissolved or mixed")
        own = work.route.declared if self.solution.recipe else work.route == self.bench.routes(self.solution.code)[0]
        if self.solution.method and own:
            out.insert(0, Step(f"Mind: {self.solution.method}"))  # the card speaks of its own first source
        if work.to_the_mark:
            out.append(self._mark(volume, liquid))
        else:
            out.append(Step(f"Together they make {volume}; mix well.", self.vessel.code))
        keep = f" Keep: {', '.join(self.solution.keeping)}." if self.solution.keeping else ""
        out.append(Step(f"{LABEL.text}{keep}"))
        return out

    def _measure(self, portion: Portion, then: str) -> list[Step | Gap]:
        tail = f"; {then}" if then else ""
        item, end = portion.item, f"{tail}."
        need = round(portion.option.per_nl * self.work.amount)
        if item == "water":
            return [Step(f"Measure {quantities.show(need, Measure.VOLUME)} of distilled water{end}")]
        name, measure = self.bench.named(item), self.bench.measure_of(item)
        verb = "Weigh" if measure is Measure.MASS else "Measure"
        found, common = portion.found, portion.common
        if found is None:
            said = f"{verb} {quantities.show(need, measure)} (nothing in the room measures that) of {name}"
            return [Gap(item, said, end)]
        reading, figure = found.reading, str(found.reading)
        if not found.dilutions:
            warn = "" if found.adequate else " (as exactly as the room can)"
            return [Gap(item, f"{verb} {figure}{warn}: {name}", end, reading.instrument.code, found)]
        marks = [
            f"; make it up to the mark in the {step.flask.name} with distilled water, stopper and mix."
            for step in found.dilutions
        ]
        out: list[Step | Gap] = []
        if common is not None and not common.first:
            flask = found.dilutions[0].flask.name
            out.append(Step(f"Take the intermediate made for {common.makes[0]}: {name}, diluted in the {flask}."))
        else:
            others = ", ".join(common.makes[1:]) if common else ""
            shared = f", for this and for {others}" if others else ""
            said = f"First an intermediate{shared}: {verb.lower()} {figure}: {name}"
            mark = marks[0] + (f" Label it and keep what is left for {others}, the same day." if others else "")
            out.append(Gap(item, said, mark, reading.instrument.code, found))
        for step, mark in zip(found.dilutions[:-1], marks[1:], strict=True):
            said = f"Then a second intermediate: measure {step.then} of the first{mark}"
            out.append(Step(said, step.then.instrument.code))
        last = found.dilutions[-1].then
        which = "intermediate" if len(marks) == 1 else "second intermediate"
        out.append(Step(f"Measure {last} of the {which}{end}", last.instrument.code))
        return out

    def _mark(self, volume: str, liquid: str) -> Step | Gap:
        kinds = (RouteKind.RECIPE, RouteKind.BLEND)
        into = "it" if self.work.route.kind not in kinds else f"all of it in the {self.vessel.name}"
        said, end = f"Make {into} up to {volume} with {liquid}", f"; stopper and mix well.{self._good()}"
        solvent = self.solution.make_up_with
        if solvent == "water":
            return Step(said + end, self.vessel.code)
        return Gap(solvent, said, end, self.vessel.code, solvent=True)

    def _good(self) -> str:
        """What the make gives, and whether that is as good as its card asks for."""
        if self.result is None:
            return ""
        off, given = self.result.expanded_pct, _given(self.solution, self.result)
        if off <= self.solution.tolerance_pct:
            return f" It gives {given}."
        return (
            f" It gives {given}. Its card asks for {quantities.plain(self.solution.tolerance_pct)} %, and this "
            f"may be off by {off} %: have its strength found before it is relied on."
        )

    def _about(self, share: Fraction) -> str:
        """A rough volume, one figure and never more than the share; empty where that is next to nothing."""
        rough = Decimal(int(self.work.amount * share))
        if share < Fraction(1, 20) or rough < quantities.BASE_PER_UNIT:
            return ""
        step = Decimal(1).scaleb(max(rough.adjusted(), 0))
        return quantities.show(int(rough / step) * int(step), Measure.VOLUME)
