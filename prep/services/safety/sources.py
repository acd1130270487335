"""What each hazard answer rests on, and what a school has read on its suppliers' data sheets."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from prep.books import JobKind
from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import Substance
from prep.errors import PrepError
from prep.safety.clp.harmonised import AnnexEntry, ClassificationBasis, basis_of, compared, entry_for
from prep.safety.clp.parse import classes_of
from prep.safety.model import Reason, SheetCheck
from prep.services.catalogue.names import find_alike
from prep.services.input.act import Act
from prep.services.input.checks import printable
from prep.services.inventory import session
from prep.services.safety.hazards import of_item
from prep.store import ledger, queries
from prep.store.audit import sheet_checks
from prep.wording import AtTerminal, Flag

if TYPE_CHECKING:
    from sqlalchemy import Connection

_LONGEST = 100


@dataclass(frozen=True, slots=True)
class HazardGrounds:
    """What the hazards of one item rest on.

    `differs` says what the classification lacks of the harmonised entry; `rests_on` are the reasons with a source,
    `open` those of them that nobody has verified.
    """

    code: str
    name: str
    in_words: str
    basis: ClassificationBasis
    entry: AnnexEntry | None
    differs: tuple[str, ...]
    check: SheetCheck | None
    rests_on: tuple[Reason, ...]

    @property
    def open(self) -> tuple[Reason, ...]:
        """What nobody has verified."""
        return tuple(one for one in self.rests_on if not one.checked)


def grounds(db: Path | None, items: Sequence[str] = (), *, only_open: bool = False) -> list[HazardGrounds]:
    """Gather what the answers on these items rest on; without any, on all that stands in a bottle.

    `only_open` leaves out what is verified in every part. Raises PrepError for an item that is not on file.
    """
    with session.reading(db) as connection:
        catalogue = queries.catalogue(connection)
        checks = sheet_checks.latest(connection)
        held = sorted({one.item for one in queries.bottles(connection) if one.amount})
    codes = [find_alike(item, catalogue).code for item in items] or [
        code for code in held if code in catalogue.substances or code in catalogue.solutions
    ]
    found = [_of(code, catalogue, checks.get(code)) for code in dict.fromkeys(codes)]
    return [one for one in found if one.open or one.differs or not only_open]


def verify(db: Path | None, check: SheetCheck, act: Act) -> SheetCheck:
    """Record that a substance's classification was compared with its supplier's sheet, and is what stands there.

    `check.classification` empty: what is on file. Raises PrepError: no such substance, nothing to verify, a class
    that is none, or one that is not what is on file.
    """
    for label, text in ((Flag("--supplier"), check.supplier), (Flag("--revision"), check.revision)):
        if not printable(text, _LONGEST, label).strip():
            raise PrepError(label, ": say which, as the sheet has it.")

    def work(connection: "Connection") -> Substance:
        substance = _substance(check.substance, queries.catalogue(connection))
        own = substance.classification
        if not own:
            raise PrepError(f"{substance.name} has no classification on file; record the sheet's first.")
        read = check.classification or own
        if set(classes_of(read)) != set(classes_of(own)):
            raise PrepError(
                f"{substance.name} is on file as '{own}'. Where the sheet says otherwise, record it",
                AtTerminal(" with: prep substance import --replace"),
            )
        return substance

    def post(connection: "Connection", substance: Substance) -> SheetCheck:
        note = f"{substance.code}: {check.supplier}, revision {check.revision}"[:200]
        job = ledger.begin(connection, JobKind.SHEET_CHECK, act.by, act.on, note)
        own = substance.classification
        made = SheetCheck(substance.code, check.supplier, check.revision, own, act.by, act.on, job)
        sheet_checks.put(connection, job, made)
        return made

    return session.worked_out(db, work, post)


def withdraw(db: Path | None, item: str, act: Act) -> str:
    """Take back the last reading of a substance's sheet; returns its code. Raises PrepError if there is none."""

    def work(connection: "Connection") -> SheetCheck:
        substance = _substance(item, queries.catalogue(connection))
        check = sheet_checks.latest(connection).get(substance.code)
        if check is None:
            raise PrepError(f"No data sheet of {substance.name} is on record as read.")
        return check

    def post(connection: "Connection", check: SheetCheck) -> str:
        note = f"{check.substance}: takes back job {check.job}"
        ledger.begin(connection, JobKind.SHEET_CHECK, act.by, act.on, note, reverses=check.job)
        return check.substance

    return session.worked_out(db, work, post)


def _substance(item: str, catalogue: Catalogue) -> Substance:
    code = find_alike(item, catalogue).code
    if code not in catalogue.substances:
        raise PrepError(f"{item} is made here: verify what it is made from.")
    return catalogue.substances[code]


def _of(code: str, catalogue: Catalogue, check: SheetCheck | None) -> HazardGrounds:
    found = of_item(code, catalogue)
    rests = tuple(one for one in found.reasoning if one.source or not one.checked)
    if code not in catalogue.substances:
        return HazardGrounds(
            code, catalogue.solutions[code].name, found.in_words, ClassificationBasis.UNKNOWN, None, (), None, rests
        )
    one = catalogue.substances[code]
    entry, basis = entry_for(one), basis_of(one)
    missing: tuple[str, ...] = ()
    if entry and basis is ClassificationBasis.BEHIND:
        lacks = compared(set(classes_of(one.classification)), classes_of(entry.classification))
        missing = tuple(map(str, lacks.missing))
    current = check if check and check.classification == one.classification else None
    return HazardGrounds(code, one.name, found.in_words, basis, entry, missing, current, rests)
