"""Which sheet each label goes on: its bottle's own, so that none is too small and small ones waste no large sheet."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from prep.errors import PrepError
from prep.reports.labels.layout import lay
from prep.reports.labels.legal_sizes import least_sizes, sheets_for, too_small
from prep.reports.labels.sheet_sizes import LabelSheet
from prep.safety.clp.small_packages import UP_TO_ML
from prep.safety.label_content import LabelContent


@dataclass(frozen=True, slots=True)
class SheetGroup:
    """Labels that go on one kind of sheet, in the order in which they were asked for."""

    sheet: LabelSheet
    contents: tuple[LabelContent, ...]


def sheet_of(content: LabelContent) -> LabelSheet:
    """Find the sheet with the most labels on which nothing of a label is too small or left out against the rule.

    Where there is none such, the one with the largest labels.
    """
    sheets = sheets_for([content])
    return next((sheet for sheet in sheets if _lawful_on(content, sheet)), sheets[-1])


def grouped(contents: Sequence[LabelContent]) -> list[SheetGroup]:
    """Share labels among kinds of sheets, each on that of its bottle's size; no more kinds than save a sheet.

    Labels that all fit in the free places of larger ones go there, but for those of small packages: a larger label
    may be larger than the bottle.
    """
    on: dict[LabelContent, LabelSheet] = {one: sheet_of(one) for one in dict.fromkeys(contents)}
    kinds = sorted(dict.fromkeys(on.values()), key=lambda sheet: -sheet.places)
    for at, small in enumerate(kinds):
        theirs = [one for one in contents if on[one] == small]
        for large in kinds[at + 1 :]:
            free = -sum(on[one] == large for one in contents) % large.places
            if len(theirs) <= free and all(_may_be_larger(one) and _lawful_on(one, large) for one in theirs):
                on.update(dict.fromkeys(theirs, large))
                break
    return [
        SheetGroup(sheet, tuple(one for one in contents if on[one] == sheet))
        for sheet in dict.fromkeys(on[one] for one in contents)
    ]


def pages_said(groups: Iterable[SheetGroup]) -> list[str]:
    """Say which pages are for which sheet, where a file has more kinds than one."""
    said, first = [], 1
    for group in groups:
        last = first + (len(group.contents) - 1) // group.sheet.places
        pages = f"Page {first} is" if last == first else f"Pages {first} to {last} are"
        said.append(f'{pages} for the sheet "{group.sheet.name}".')
        first = last + 1
    return said if len(said) > 1 else []


def _may_be_larger(content: LabelContent) -> bool:
    return content.capacity_ml is None or content.capacity_ml > UP_TO_ML


def _lawful_on(content: LabelContent, sheet: LabelSheet) -> bool:
    """Tell whether a label has on a sheet all that is asked of it, in letters and pictograms of legal size."""
    try:
        laid = lay(content, sheet, sheet.padding_mm(0), 0, least_sizes(content, sheet))
    except PrepError:
        return False
    return content.capacity_ml is None or (laid.lawful and not any(too_small(content, laid, sheet)))
