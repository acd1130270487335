"""The plain data of hazards: classes of a mixture, why, and findings about what a school keeps."""

from datetime import date
from decimal import Decimal

from prep.chemistry.model import Form, Line
from prep.records import record

ACIDS = frozenset({"acid_inorganic_nonoxidising", "acid_inorganic_oxidising", "acid_organic"})
ALKALIS = frozenset({"base_caustic"})
"""Storage groups of what is sour, and of what is caustic."""


@record(frozen=True, slots=True)
class HazardClass:
    """One hazard class with its category and statement: `Skin Corr.`, `1B`, `H314`.

    `route` is oral, dermal or inhalation for acute toxicity, else empty.
    """

    hazard_class: str
    category: str
    h_code: str
    route: str = ""

    def __str__(self) -> str:
        return " ".join(part for part in (self.hazard_class, self.category, self.h_code) if part)

    @property
    def without_statement(self) -> str:
        """The class and its category: `Skin Corr. 1B`."""
        return f"{self.hazard_class} {self.category}".strip()


@record(frozen=True, slots=True)
class MixtureComponent:
    """One ingredient of a mixture.

    `pct` is % w/w as the regulation counts the entry: of the acid or gas itself for a concentrate, of the
    hydrate named for a salt, % active chlorine for hypochlorite. `formula` is what `pct` counts, empty where it
    counts something else. `classification` as a substance's:
    `Skin Corr. 1B H314`, `not classified`, or empty (not known). `group` is its storage group, `code` the
    substance's code where it is one of the room's.
    """

    name: str
    pct: Decimal
    cas: str = ""
    classification: str = ""
    supplemental: str = ""
    form: Form = Form.SOLID
    group: str = ""
    flash_point_c: Decimal | None = None
    source: str = ""
    code: str = ""
    formula: str = ""


@record(frozen=True, slots=True)
class Reason:
    """One step of the reasoning: the rule's number, what it found, where the rule or limit comes from.

    `checked` is False when the rule or the limit rests on memory.
    """

    rule: str
    text: str
    source: str = ""
    checked: bool = True


@record(frozen=True, slots=True)
class Statement:
    """A hazard or precautionary statement: its code and its text as printed, of which either may be empty."""

    code: str
    text: str

    def __str__(self) -> str:
        return f"{self.code} {self.text}".strip()

    @property
    def codes(self) -> tuple[str, ...]:
        """The codes that it stands for: several where one sentence joins them, as `H301+H311`."""
        return tuple(self.code.split("+"))


@record(frozen=True, slots=True)
class Classification:
    """The hazards of a substance or mixture, its label elements, and why.

    `unknown` names ingredients without hazard data: then the hazards are "not known" beyond `classes`, and
    never harmless. `check_before_relying`: some rule or limit used rests on memory.
    """

    classes: tuple[HazardClass, ...] = ()
    signal: str = ""
    pictograms: tuple[str, ...] = ()
    h_statements: tuple[Statement, ...] = ()
    p_statements: tuple[Statement, ...] = ()
    euh: tuple[Statement, ...] = ()
    reasoning: tuple[Reason, ...] = ()
    notes: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()
    check_before_relying: bool = False

    @property
    def known(self) -> bool:
        """Whether every ingredient has hazard data."""
        return not self.unknown

    @property
    def in_words(self) -> str:
        """`Skin Corr. 1B H314; STOT SE 3 H335`, `not classified`, or `not known (...)`."""
        listed = "; ".join(str(one) for one in self.classes)
        if not self.unknown:
            return listed or "not classified"
        gap = f"not known (no hazard data for {', '.join(self.unknown)})"
        return f"{listed}; otherwise {gap}" if listed else gap

    @property
    def working(self) -> tuple[Line, ...]:
        """The reasoning as lines of working, each with its rule."""
        return tuple(Line(f"[{r.rule}] {r.text}" if r.rule else r.text, r.source) for r in self.reasoning)


@record(frozen=True, slots=True)
class SheetCheck:
    """A substance's classification as somebody read it on its supplier's data sheet, of which revision."""

    substance: str
    supplier: str
    revision: str
    classification: str
    by: str = ""
    on: date | None = None
    job: int = 0

    @property
    def source(self) -> str:
        """The reading as a source."""
        return f"data sheet of {self.supplier}, revision {self.revision}, read by {self.by} on {self.on}"
