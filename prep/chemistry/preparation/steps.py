"""The words of one make: what is drawn, the steps, and the gaps in them until it is known which bottles serve."""

from collections.abc import Callable, Iterable
from decimal import Decimal

from prep.chemistry.measurement.readings import Measured, Reading
from prep.chemistry.measurement.uncertainty import with_uncertainty
from prep.chemistry.model import UNSTABLE, Line, Solution, StepKind, Strength
from prep.records import record


@record(frozen=True, slots=True)
class DrawnItem:
    """What a make draws of one item from one place; `place` names it for the person.

    `uncertainty_pct` (k = 2) is that of the strength found there, or of the make that filled it; None where neither
    is known. `emptied`: nothing stays there. `made`: it is no bottle on the shelf, but made on a day of the plan.
    """

    item: str
    amount: int
    place: str
    uncertainty_pct: Decimal | None = None
    emptied: bool = False
    made: bool = False
    own_strength: bool = False


@record(frozen=True, slots=True)
class WrittenStep:
    """One instruction. `instrument` is the code of what measures it, `item` what is taken in it."""

    text: str
    instrument: str = ""
    kind: StepKind = StepKind.NOTE
    item: str = ""


LABEL = WrittenStep("Label it before it leaves the bench.", kind=StepKind.LABEL)
"""The last step of a make, where nothing is said of how it is kept."""


def keeping_of(solution: Solution) -> str:
    """Say how a made solution is kept, as its label's step has it; empty where nothing is said of it."""
    words = [word for word in solution.keeping if word != UNSTABLE]
    keep = f"Keep: {', '.join(words)}." if words else ""
    if solution.unstable:
        keep += " Never keep it: destroy what is left at once, as soon as its period is over."
    return keep.strip()


@record(frozen=True, slots=True)
class WriteUp:
    """The words and figures of one make. `uncertainty_pct` is k = 2; None where there is no one strength.

    `strength` is what the figures give that are measured: not quite the one on file where they are rounded.
    """

    vessel: str
    steps: tuple[WrittenStep, ...]
    working: tuple[Line, ...]
    uncertainty_pct: Decimal | None
    strength: Strength | None = None


class MakeSheet:
    """The words and figures of a make, written when they are first read, as most of a plan's never are."""

    __slots__ = ("_write", "_written")

    def __init__(self, write: Callable[[], WriteUp]) -> None:
        self._write = write
        self._written: WriteUp | None = None

    @property
    def written(self) -> WriteUp:
        """The steps, the vessel, and how exact the make comes out."""
        if self._written is None:
            self._written = self._write()
        return self._written

    def __eq__(self, other: object) -> bool:
        return isinstance(other, MakeSheet) and self.written == other.written

    def __hash__(self) -> int:
        return hash(self.written.vessel)


@record(frozen=True, slots=True)
class StepWithPlace:
    """A step whose text names where its item is drawn from, between `before` and `after`.

    `found` is how the item is measured, where the reading follows what is really taken; it stands behind `before`, and
    `named` behind it. `solvent` is what the solution is made up with.
    """

    item: str
    before: str
    after: str
    instrument: str = ""
    found: Measured | None = None
    named: str = ""
    solvent: bool = False
    kind: StepKind = StepKind.ADD

    def until_place(self, reading: Reading | None = None) -> str:
        """Write what stands before the place, with another reading than the one that was found, if any."""
        read = self.found and (reading or self.found.reading)
        return f"{self.before}{read}{self.named}" if read else self.before


@record(frozen=True, slots=True)
class CommonIntermediate:
    """An intermediate that several makes of a day draw on: how it is measured for the make `own`.

    `makes` are all of them by id, in the order of work: the first makes it.
    """

    found: Measured
    makes: tuple[str, ...]
    own: str

    @property
    def first(self) -> bool:
        """Whether this is the make that makes it."""
        return self.own == self.makes[0]


@record(frozen=True, slots=True)
class SheetDraft:
    """A write-up before it is known which bottles serve: the same for every make of its kind and size."""

    vessel: str
    steps: tuple[WrittenStep | StepWithPlace, ...]
    working: tuple[Line, ...]
    uncertainty_pct: Decimal | None
    strength: Strength | None = None


def to_tick(steps: Iterable[WrittenStep]) -> list[str]:
    """List the sentences to tick off, each with the cautions that stand at it."""
    out: list[str] = []
    cautions: list[str] = []
    for step in steps:
        if step.kind is StepKind.CAUTION:
            cautions.append(f"! {step.text}")
        else:
            out.append(" ".join((*cautions, step.text)))
            cautions = []
    return out


def gives(strength: Strength, uncertainty_pct: Decimal) -> str:
    """Print `0.1000 +- 0.0006 mol/L (k = 2)` from a strength and its expanded uncertainty in per cent."""
    return with_uncertainty(strength.value, strength.value * uncertainty_pct / 100, strength.kind.value, plain=True)
