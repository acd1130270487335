"""The sheet of a make: its steps as sentences, its working, and how exact it comes out."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from itertools import chain
from operator import is_
from types import MappingProxyType

from prep.chemistry import quantities
from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import Instrument, InstrumentKind, Line, Measure, Solution, StepKind
from prep.chemistry.preparation.method import method_of
from prep.chemistry.preparation.routes import Route, RouteOption
from prep.chemistry.preparation.sentences import Writer, said_of
from prep.chemistry.preparation.steps import (
    CommonIntermediate,
    DrawnItem,
    SheetDraft,
    StepWithPlace,
    WriteUp,
    WrittenStep,
    gives,
)
from prep.chemistry.preparation.uncertainty_budget import Budgets
from prep.chemistry.preparation.vessels import Bench, VesselWork
from prep.records import record

_DRAFTS = 4096
"""How many sheets are kept for the next plan."""


@record(frozen=True, slots=True)
class _RoomSheets:
    """The sheets of one room, with the substances, solutions and instruments that they were written for."""

    inside: tuple[object, ...]
    sheets: "MakeSheets"

    def of_these(self, inside: tuple[object, ...]) -> bool:
        return len(inside) == len(self.inside) and all(map(is_, inside, self.inside))


_LAST: list[_RoomSheets] = []
"""The room that was last asked for. Its sheets stay right for as long as its entries are the same objects."""


def sheets_of(catalogue: Catalogue, instruments: tuple[Instrument, ...]) -> "MakeSheets":
    """Find the sheets of a room, with its bench.

    The last room's sheets are used again where all its entries are the same objects.
    """
    inside = tuple(chain(catalogue.substances.values(), catalogue.solutions.values(), instruments))
    kept = next(iter(_LAST), None)
    if kept is None or not kept.of_these(inside) or kept.sheets.drafted > _DRAFTS:
        own = Catalogue(dict(catalogue.substances), dict(catalogue.solutions))
        kept = _RoomSheets(inside, MakeSheets(Bench(own, instruments)))
        _LAST[:] = [kept]
    return kept.sheets


class MakeSheets:
    """The sheets of what a room makes; each is drafted once per kind and size, then filled with its bottles."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self._budgets = Budgets(bench)
        self._drafts: dict[tuple[object, ...], SheetDraft] = {}

    @property
    def drafted(self) -> int:
        """How many different sheets there have been."""
        return len(self._drafts)

    def write_up(
        self,
        solution: Solution,
        route: Route,
        options: Sequence[RouteOption],
        amount: int,
        drawn: Iterable[DrawnItem],
        common: Mapping[str, CommonIntermediate] = MappingProxyType({}),
    ) -> WriteUp:
        """Write steps, working and uncertainty for `amount` nL of a solution by a route.

        `common`: per item, the intermediate it shares with other makes; `drawn` then is what that one takes.
        """
        drawn = list(drawn)
        known = self._budgets.known_of(drawn)
        taken: dict[str, int] = {}
        for one in drawn:
            taken[one.item] = taken.get(one.item, 0) + one.amount
        shares = tuple((o.item, o.share) if o.share != 1 else o.item for o in options)
        key = (solution.code, route.kind, shares, amount, *known.items(), *common.items(), *taken.items())
        draft = self._drafts.get(key)
        if draft is None:
            work = self._in_sense(self.bench.work(solution, route, options, amount, common), known)
            draft = self._drafts[key] = self._draft(work, options, known, taken)
        steps = tuple(
            step if isinstance(step, WrittenStep) else self._filled(step, drawn, solution) for step in draft.steps
        )
        return WriteUp(draft.vessel, steps, draft.working, draft.uncertainty_pct, draft.strength)

    def _in_sense(self, work: VesselWork, known: Mapping[str, Decimal]) -> VesselWork:
        """Move the make out of a flask where its strength has to be found anyway; to its beaker, if made up in one."""
        if any(step.stays_in_beaker for step in work.solution.method_steps):
            return replace(work, vessel=self.bench.smallest(InstrumentKind.BEAKER, work.amount))
        if work.vessel.kind is not InstrumentKind.FLASK:
            return work
        loose = self.bench.loose_vessel(work.amount)
        if loose is None:
            return work
        result = self._budgets.of(work, known)
        off = result is not None and result.expanded_pct > work.solution.tolerance_pct
        unfit = self._budgets.unfit(work, known) is not None
        return replace(work, vessel=loose) if off or unfit else work

    def _draft(
        self, work: VesselWork, options: Sequence[RouteOption], known: Mapping[str, Decimal], taken: Mapping[str, int]
    ) -> SheetDraft:
        bench, result = self.bench, self._budgets.of(work, known)
        stated = self._budgets.stated(work, taken, known)
        method = method_of(work, bench.substances)
        marks = [step for step in method if step.kind is StepKind.MARK]
        poured = any(step.stays_in_beaker for step in marks) or not work.to_the_mark
        if not marks:  # all its water is measured out at first
            poured = any(step.in_beaker for step in method)
        made_in = "beaker" if poured else work.vessel.name if marks else "bottle"
        alike = (one for one in bench.substances.values() if one.solute and one.solute == work.solution.solute)
        against = next((one.found_against for one in alike if one.found_against), "")
        writer = Writer(bench, work, said_of(work, stated, result, self._budgets.unfit(work, known), against))
        steps = writer.steps(method)
        working = [line for option in options for line in option.working]
        made = quantities.show(work.amount, Measure.VOLUME)
        for option in options:
            if option.item != "water":
                need = quantities.show(round(option.per_nl * work.amount), bench.measure_of(option.item))
                working.append(Line(f"for {made}: {need} of {bench.named(option.item)}"))
        if stated is not None and stated != work.solution.strength:
            working.append(Line(f"what is measured gives {stated}, not {work.solution.strength}"))
        pct = None
        if result is not None and stated is not None:
            pct = result.expanded_pct
            working += [*result.working(), Line(f"gives {gives(stated, pct)}")]
        return SheetDraft(made_in, tuple(steps), tuple(working), pct, stated)

    def _filled(self, gap: StepWithPlace, drawn: list[DrawnItem], solution: Solution) -> WrittenStep:
        """Fill a step's gap: name the bottles that its item is drawn from."""
        places = [d for d in drawn if d.item == gap.item]
        if not places:
            return WrittenStep(gap.until_place() + gap.after, gap.instrument, gap.kind, gap.item)
        if gap.solvent:  # of two bottles the first is emptied, and the other fills it up
            said = ", then ".join(dict.fromkeys(one.place for one in places))
            return WrittenStep(f"{gap.before} ({said}){gap.after}", gap.instrument, gap.kind, gap.item)
        found, code = gap.found, gap.instrument
        before = self._as_drawn(gap.until_place(), gap.item, places)
        if found is not None:  # of a bottle stronger or weaker than on file, less or more is taken
            taken = sum(d.amount for d in places)
            again = self.bench.directly(gap.item, taken, solution) if taken != found.taken else None
            if again:
                before = self._as_drawn(gap.until_place(again.reading), gap.item, places)
                code = again.reading.instrument.code
        if len(places) == 1:
            return WrittenStep(f"{before}, {places[0].place}{gap.after}", code, gap.kind, gap.item)
        # It is read once: of what is emptied no figure, and the last place fills it up.
        *first, last = places
        measure = self.bench.measure_of(gap.item)
        emptied = " and ".join(d.place for d in first if d.emptied)
        parts = [f"all that is in {emptied}"] if emptied else []
        parts += [f"{quantities.show(d.amount, measure, 3)} from {_named(d)}" for d in first if not d.emptied]
        said = f"{before} ({', '.join(parts)}, and the rest from {_named(last)}){gap.after}"
        return WrittenStep(said, code, gap.kind, gap.item)

    def _as_drawn(self, text: str, item: str, places: list[DrawnItem]) -> str:
        """Leave the per cent on file out of a name where each bottle says one of its own."""
        substance = self.bench.substances.get(item)
        if substance is None or not all(one.own_strength for one in places):
            return text
        return text.replace(substance.name, substance.bare_name)


def _named(drawn: DrawnItem) -> str:
    return f"what was {drawn.place}" if drawn.made else drawn.place
