"""What stands on a bottle's label: from the ledger, the item's entry, its hazards and the school's settings."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from prep.books import BottleStatus, JobKind
from prep.chemistry.catalogue import Catalogue
from prep.chemistry.formula.formulas import anhydrous
from prep.chemistry.model import UNSTABLE, Form, Solution
from prep.chemistry.preparation.after_opening import NONE, days_open
from prep.chemistry.quantities import show, strength
from prep.chemistry.strength.bottled import as_bottled
from prep.errors import NotOnFile, PrepError, Refused
from prep.safety.label_content import LabelContent
from prep.safety.model import Classification
from prep.safety.solution_hazards import reagents_of
from prep.services.input.checks import MOST_JOBS, within
from prep.services.inventory import session
from prep.services.safety.hazards import of_item
from prep.services.school.page import bottle_link
from prep.services.stock import listing
from prep.services.stock.codes import BY_WHAT_WAS_TAKEN, POURED_FROM
from prep.store import queries, table_rows
from prep.store.jobs import batches, history
from prep.wording import AtTerminal, Flag

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from prep.store.bottles import HeldBottle
    from prep.store.jobs.batches import BottleMade

_KEEPING = {
    "amber": "in amber glass",
    "plastic": "in plastic",
    "glass": "in glass",
    "cold": "in the cold",
    "dark": "in the dark",
    "vented": "with a vented cap",
    "full": "full and well closed",
}
NEVER_KEPT = "EXPLOSIVE OR UNSTABLE WHEN KEPT: destroy at once after its period. Never store, never stopper."
_MOST = 500
_MOST_FORMULAS = 4
_SPOILS_OPEN = frozenset({"hypochlorite", "alkali_metal", "water_reactive_other", "aldehyde", "amine"})
"""Groups of which a bottle once opened loses strength or grows worse: the day counts; common practice, no source."""
_OPENED = "Opened: ........"
_BASE_PER_ML = 1_000_000  # nL in a mL, and ug in the gram that is taken for one


def labels(
    db: Path | None, bottles: Sequence[str], job: int | None = None, catalogue: "Catalogue | None" = None
) -> list[LabelContent]:
    """Make labels of bottles by their codes, or of those that a make or a delivery filled, in the order given.

    `catalogue` is that of these books, where it was read already.
    Raises PrepError: no such bottle or job, none named, a discarded bottle.
    """
    if not bottles and job is None:
        raise PrepError("Name at least one bottle, or the job that filled them with ", Flag("--batch"), ".")
    with session.reading(db) as connection:
        codes = [*bottles, *(_filled_by(connection, job) if job is not None else ())]
        return of_bottles(connection, codes, catalogue)


def of_bottles(
    connection: "Connection", codes: Sequence[str], catalogue: "Catalogue | None" = None
) -> list[LabelContent]:
    """Make labels of bottles of an open inventory. Raises PrepError."""
    if len(codes) > _MOST:
        raise PrepError(f"That is {len(codes)} labels; print at most {_MOST} at a time.")
    catalogue = catalogue or queries.catalogue(connection)
    settings = table_rows.settings(connection)
    school = str(settings.get("school", ""))
    made = batches.made_on(connection)
    found = []
    for code in codes:
        held = listing.one(connection, code)
        if held.status == BottleStatus.DISCARDED:
            raise Refused(f"Bottle {held.code} is discarded; it needs no label.")
        titrated = bool(held.strength) and _titrated(connection, held, held.code in made)
        label = _label(held, titrated, made.get(held.code), school, catalogue, settings.get("days_open", {}))
        found.append(replace(label, link=bottle_link(settings, held.code)))
    return found


def label_of(
    item: str,
    catalogue: "Catalogue",
    *,
    found_strength: str | None = None,
    titrated: bool = True,
    own_days: Mapping[str, int] = NONE,
) -> LabelContent:
    """Make the label of a substance or a solution itself, without any bottle.

    `found_strength` is the bottle's own, `titrated` whether it was found by titration, and not worked out or read on
    a label; `own_days` are the school's days after opening, by item.
    """
    if found_strength:
        own = as_bottled(catalogue, item, strength(found_strength))
    else:
        own = catalogue
    if item in catalogue.solutions:
        solution = catalogue.solutions[item]
        strong = str(solution.strength) if solution.strength else ""
        name = solution.bare_name
        if strong and re.search(rf"(?<![\d.]){re.escape(strong)}\b", name):
            strong = ""  # the strength is part of the name already
        if found_strength:
            strong = f"{found_strength} (found)" if titrated else found_strength
        keeping = ", ".join(
            _KEEPING.get(one, one)
            for one in solution.keeping
            if one != UNSTABLE and not (one == "glass" and "amber" in solution.keeping)
        )
        notes: tuple[str, ...] = ("Made fresh: discard after the day.",) if solution.made_fresh else ()
        if solution.unstable:
            notes = (NEVER_KEPT,)
        elif not notes and days_open(item, own_days):
            notes = (_OPENED,)
        return _with_hazards(_blank(name, strong, keeping, notes), of_item(item, own))
    if item in catalogue.substances:
        one = catalogue.substances[item]
        strong = f"{one.assay_pct.normalize():f} % w/w" if one.form is Form.AQUEOUS and one.assay_pct else ""
        name = one.name
        if found_strength:
            name, strong = one.bare_name, found_strength
        elif re.search(r"\d ?%", name):
            strong = ""
        notes = ("Forms peroxides. Opened: ........  Tested: ........",) if one.peroxide_class else ()
        if not notes and (days_open(item, own_days) or one.storage_group in _SPOILS_OPEN):
            notes = (_OPENED,)
        return _with_hazards(_blank(name, strong, "", notes), of_item(item, own))
    return _blank(item, "", "", ())


def _blank(name: str, strong: str, keeping: str, notes: tuple[str, ...]) -> LabelContent:
    """Make a label of which no hazard is known."""
    return LabelContent(name, strong, keeping=keeping, notes=notes)


def _with_hazards(label: LabelContent, found: Classification) -> LabelContent:
    return replace(
        label,
        signal=found.signal,
        pictograms=found.pictograms,
        h_statements=(*found.h_statements, *found.euh),
        p_statements=found.p_statements,
        hazard_known=found.known,
        check=found.check_before_relying,
    )


def _label(
    held: "HeldBottle",
    titrated: bool,
    made: "BottleMade | None",
    school: str,
    catalogue: "Catalogue",
    own_days: Mapping[str, int],
) -> LabelContent:
    bought_in = held.item in catalogue.solutions and made is None and not held.made_by and held.full is not None
    plain = label_of(held.item, catalogue, found_strength=held.strength, titrated=titrated, own_days=own_days)
    made_on = made.on if made else held.received if held.item in catalogue.solutions and not bought_in else None
    notes = (*plain.notes, *filter(None, [_what_it_is(held, made.job if made else None, catalogue)]))
    whole = max(held.full or 0, held.balance)
    return replace(
        plain,
        bottle=held.code,
        made_by=held.made_by,
        made_on=made_on,
        received_on=None if made_on else held.received,
        use_by=held.use_by,
        school=school,
        notes=_opened(notes, held.opened),
        capacity_ml=_capacity_ml(whole),
        amount=show(whole, held.measure) if whole else "",
    )


def _titrated(connection: "Connection", held: "HeldBottle", made_here: bool) -> bool:
    """Tell whether a bottle's own strength was found: not worked out from what was taken or poured, nor a label's."""
    last = history.last_to_set(connection, held.code, "strength")
    if last is not None:
        return last == JobKind.STANDARDISE
    if not made_here and not held.made_by and held.full is not None:  # it came as it is; else a list's first entry
        return False
    first = history.came_with(connection, held.code, "note")  # a note is corrected, and says nothing of this then
    note = held.note if first is None else first
    return BY_WHAT_WAS_TAKEN not in note and not note.startswith(POURED_FROM)


def _capacity_ml(whole: int) -> float | None:
    """Find what a bottle holds when full [mL]: of a solid a millilitre for each gram; common practice, no source."""
    return whole / _BASE_PER_ML if whole else None


def _what_it_is(held: "HeldBottle", batch: int | None, catalogue: Catalogue) -> str:
    """Write formula, batch or lot as one line: `CuSO4.5H2O, batch 17`."""
    solution, bought = catalogue.solutions.get(held.item), catalogue.substances.get(held.item)
    formula = _formulas(solution, catalogue) if solution else bought.formula if bought else ""
    parts = (formula, f"batch {batch}" if batch else "", f"lot {held.lot}" if held.lot else "")
    return ", ".join(filter(None, parts))


def _formulas(solution: Solution, catalogue: Catalogue) -> str:
    """Find the formula that a strength counts, else those of what is in it, up to four; empty where they are more."""
    if counted := counted_formula(solution, catalogue):
        return counted
    inside = dict.fromkeys(
        anhydrous(one.formula)
        for one in reagents_of([solution.code], catalogue)
        if one.formula and one.code != "water" and one.storage_group != "water_aqueous"
    )
    return ", ".join(inside) if len(inside) <= _MOST_FORMULAS else ""


def counted_formula(solution: Solution, catalogue: Catalogue) -> str:
    """Find the formula that a solution's strength counts; empty where it counts none."""
    if not solution.strength or not solution.solute:
        return ""
    if solution.strength_of:
        return solution.strength_of
    formulas = {s.formula for s in catalogue.substances.values() if s.solute == solution.solute and s.formula}
    dry = {anhydrous(formula) for formula in formulas}
    return dry.pop() if len(dry) == 1 else ""


def _opened(notes: tuple[str, ...], opened: date | None) -> tuple[str, ...]:
    """Write the day on which the bottle was opened into the notes, where it is on the books."""
    return tuple(one.replace(_OPENED, f"Opened: {opened}") if opened else one for one in notes)


def _filled_by(connection: "Connection", job: int) -> list[str]:
    """Find the bottles that a job put on the books. Raises PrepError where there is no such job, or it filled none."""
    within(job, 1, MOST_JOBS, Flag("--batch"))
    known = history.kind_of(connection, job)
    if known is None:
        raise NotOnFile(f"There is no job {job}", AtTerminal("; see: prep stock history", "."))
    codes = history.filled_by(connection, job)
    if not codes:
        raise PrepError(f"Job {job} ({known}) filled no bottle; name bottles, or the job of a make or delivery.")
    return codes
