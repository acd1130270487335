"""The plain data of floor 0: strengths, substances, solutions, recipes, instruments, working.

Amounts of stock are integers: micrograms (solids) or nanolitres (liquids). Strengths are decimals.
"""

import re
from dataclasses import field
from decimal import Decimal
from enum import StrEnum

from prep.chemistry.interval import Interval
from prep.records import record

UNSTABLE = "unstable"
"""How something is kept that is never kept: it becomes explosive or unstable."""
_WORKING_DAY, _DAY = 8 * 60, 24 * 60
_COMMA = re.compile(r"(?<!\d),|,(?!\d)")  # but not that of 2,4-dinitrophenylhydrazine
_RANGE_C = re.compile(r"at (\d+) to (\d+) °C")
_SOLD_AS = re.compile(r",? \d[\d.]* ?%.*$")


def head_of(name: str) -> str:
    """Take the head of a name, which grade, form or strength follow after a comma (`Acetic acid, glacial`)."""
    return _COMMA.split(name, maxsplit=1)[0]


class Measure(StrEnum):
    """How an item is counted: by mass in micrograms, or by volume in nanolitres."""

    MASS = "mass"
    VOLUME = "volume"


class Form(StrEnum):
    """What comes out of the bottle. `AQUEOUS` is a concentrate in water: its assay is % w/w of the formula."""

    SOLID = "solid"
    LIQUID = "liquid"
    AQUEOUS = "aqueous"
    GAS = "gas"


class StrengthKind(StrEnum):
    """The ways a strength is written; the value is how it is printed after the number."""

    MOL_PER_L = "mol/L"
    MOL_PER_KG = "mol/kg"
    G_PER_L = "g/L"
    PCT_W_W = "% w/w"
    PCT_W_V = "% w/v"
    PCT_V_V = "% v/v"
    PPM = "ppm"
    EQ_PER_L = "eq/L"
    VOLUMES = "vol"
    TIMES = "x"  # of a working solution, or of what it was diluted from
    SATURATED = "saturated"


@record(frozen=True, slots=True)
class Strength:
    """A strength as a person writes it. `value` is 0 for `SATURATED`."""

    value: Decimal
    kind: StrengthKind

    def __str__(self) -> str:
        if self.kind is StrengthKind.SATURATED:
            return "saturated"
        return f"{self.value.normalize():f} {self.kind.value}"


@record(frozen=True, slots=True)
class Line:
    """One line of working: the arithmetic in words and figures, and where its facts come from."""

    text: str
    source: str = ""

    def as_json(self) -> dict[str, str]:
        """Write the line as JSON: {"text", "source"?}."""
        return {"text": self.text} | ({"source": self.source} if self.source else {})


class StepKind(StrEnum):
    """What a step of a method is; the value is how methods.csv names it."""

    FIRST = "first"  # a sentence on what is done before all else
    FUME_FROM = "fume cupboard from"
    FUME_TO = "fume cupboard to"
    BOILED_WATER = "boiled water"  # all of the water is boiled and cooled
    DRY = "dry"
    WATER = "water"  # a share of what it is made up with goes into a vessel
    ADD = "add"  # an item is measured and goes in
    DROPS = "add drops"
    DISSOLVE = "dissolve"
    HEAT = "heat"
    BOIL = "boil"
    COOL = "cool"
    MIX = "mix"
    SHAKE = "shake"
    POUR = "pour"
    MARK = "mark"
    STAND = "stand"
    SETTLE = "settle"
    DECANT = "decant"
    FILTER = "filter"
    CHECK = "check"  # the pH, with a meter
    CAUTION = "caution"
    NOTE = "note"  # a sentence on what is done, or held to, after all else
    NO_FLASK = "no flask"  # never in a volumetric flask, burette or pipette; the text says why
    LABEL = "label"


class Origin(StrEnum):
    """What a make begins with, where a step of the method holds only for that."""

    SOLID = "solid"
    CONCENTRATE = "concentrate"
    STOCK = "stock"


class StepPlace(StrEnum):
    """Where what a step of a method takes goes, where the step must say it; as methods.csv writes it."""

    BEAKER = "beaker"  # of a MARK step: it stays in the beaker, and is made up there to about its volume
    VESSEL = "vessel"  # the one that it is made up in
    WATER = "water"  # the water that is there already


_WAITING = (StepKind.STAND, StepKind.SETTLE)
_BRINGS_IN = (StepKind.WATER, StepKind.ADD, StepKind.DROPS)


@record(frozen=True, slots=True)
class MethodStep:
    """One step of how a solution is made, or a substance handled. One row of seed_data/methods.csv.

    `share` is the part of the volume that a WATER step takes; `origins` empty = whatever it is made from.
    `item` is what an ADD step adds; empty = the source. `minutes` of STAND and SETTLE count as waiting.
    `goes_into` is where WATER, ADD, DROPS and MARK go; None = where the step before it left what is made.
    `temperature_c` and `up_to_c` [degC] are the range in which a MARK is read; any other step has one temperature.
    """

    kind: StepKind
    text: str = ""
    item: str = ""
    origins: tuple[Origin, ...] = ()
    share: Decimal | None = None
    temperature_c: Decimal | None = None
    minutes: int = 0
    source: str = ""
    goes_into: StepPlace | None = None
    up_to_c: Decimal | None = None

    @property
    def waits(self) -> int:
        """Minutes for which nobody need be there."""
        return self.minutes if self.kind in _WAITING else 0

    @property
    def in_beaker(self) -> bool:
        """Whether what is made is in a beaker after it: then it is poured over before it is made up to a mark."""
        in_it = self.kind in _BRINGS_IN and self.goes_into is StepPlace.BEAKER
        return in_it or self.kind is StepKind.DISSOLVE

    @property
    def stays_in_beaker(self) -> bool:
        """Whether it is made up in the beaker, to about its volume, and to no mark."""
        return self.kind is StepKind.MARK and self.goes_into is StepPlace.BEAKER


def place_said(kind: StepKind, text: str) -> StepPlace | None:
    """Tell where a step goes by what was written of it, where nothing else says so.

    That is asked of a step that a person types without it, and of one that was recorded when no column said it.
    """
    if kind is StepKind.MARK:
        return StepPlace.BEAKER if text == "in the beaker" else None
    if kind not in (StepKind.WATER, StepKind.ADD, StepKind.DROPS):
        return None
    if text == "into the vessel":
        return StepPlace.VESSEL
    if "beaker" in text:
        return StepPlace.BEAKER
    return StepPlace.WATER if kind is StepKind.ADD and "to the water" in text else None


def degrees_said(kind: StepKind, text: str) -> Interval[Decimal] | None:
    """Find the range [degC] in which a MARK is read by what was written of it: `at 20 to 25 °C`; asked as above."""
    found = _RANGE_C.fullmatch(text) if kind is StepKind.MARK else None
    return Interval(Decimal(found[1]), Decimal(found[2])) if found else None


@record(frozen=True, slots=True)
class PouredPart:
    """A volume [mL] of one strength, to be poured together with others; water is of strength 0."""

    volume_ml: Decimal
    strength: Strength


@record(frozen=True, slots=True)
class SubstanceName:
    """What a substance is found by. `solute` is shared by an anhydrous salt and its hydrates: one solution of all."""

    code: str
    name: str
    formula: str
    solute: str
    form: Form
    other_names: tuple[str, ...] = ()
    cas: str = ""


@record(frozen=True, slots=True)
class Substance(SubstanceName):
    """A chemical as bought. One row of seed_data/substances.csv.

    `assay_pct` is
    the % w/w of `formula` in what the bottle holds, within `assay_half_width_pct` (% of it). `unfit` says why its
    mass tells no exact strength, `found_against` what its solutions are titrated with; a primary standard is dried
    at `dry_c` for `dry_minutes`. `density_g_ml` is that of the bottle's content at 20 C.
    `solubility_g_per_100g` is grams of `formula` that saturate 100 g of water at `solubility_c`.
    `diluted`: it stands for what is in a made liquid, with the strength and the classes that it has there.
    """

    assay_pct: Decimal | None = None
    density_g_ml: Decimal | None = None
    solubility_g_per_100g: Decimal | None = None
    solubility_c: Decimal | None = None
    classification: str = ""  # "Skin Corr. 1B H314; STOT SE 3 H335"; "not classified"; "" = not known
    supplemental: str = ""
    flash_point_c: Decimal | None = None
    storage_group: str = ""
    disposal: str = ""
    peroxide_class: str = ""
    assay_half_width_pct: Decimal | None = None
    dry_c: Decimal | None = None
    dry_minutes: int = 0
    unfit: str = ""
    found_against: str = ""
    method_steps: tuple[MethodStep, ...] = ()
    diluted: bool = False
    sources: dict[str, str] = field(default_factory=dict, hash=False, compare=False)

    @property
    def measure(self) -> Measure:
        """Liquids are measured by volume, all else by mass."""
        return Measure.VOLUME if self.form in (Form.LIQUID, Form.AQUEOUS) else Measure.MASS

    @property
    def bare_name(self) -> str:
        """What it is called without the per cent of its bottle: `Hydrochloric acid` of `Hydrochloric acid, 36 %`."""
        return _SOLD_AS.sub("", self.name)

    def called(self, own: "Strength") -> str:
        """Name what a bottle of that strength holds: `Hydrochloric acid, 25 % w/w`, where the name says a per cent."""
        bare = self.bare_name
        return self.name if bare == self.name else f"{bare}, {own}"


@record(frozen=True, slots=True)
class RecipeLine:
    """A recipe's line: `amount` (ug or nL, by the item's measure) for `Solution.recipe_nl` of product."""

    item: str
    amount: int
    note: str = ""


class SmallBatch(StrEnum):
    """Why a solution may be made in less than its usual batch; what is made fresh or soon goes off may be anyway."""

    NO = "no"
    COSTLY = "costly"
    HAZARD = "hazard"


SET_BY_SCHOOL = "set by the school"
"""The source of what a school sets of an entry in place of what came with it."""


@record(frozen=True, slots=True)
class Solution:
    """What the prep room makes. One row of seed_data/solutions.csv, with its rows of recipes.csv.

    `method_steps` is how it is made, `method` a sentence in a school's own words.

    Without a recipe it is one `solute` in water at `strength`. `strength_of` is the formula that a strength
    by mass counts (10 % w/v of CuSO4 is not 10 % w/v of CuSO4.5H2O). With a recipe, `recipe` makes
    `recipe_nl`, made up with `make_up_with` (an item code, or "water", which is not kept in stock).
    `usual_nl` is the batch that a room makes as a rule (0 = none on file).
    """

    code: str
    name: str
    solute: str
    strength: Strength | None
    shelf_life_days: int
    strength_of: str = ""
    made_fresh: bool = False
    keeping: tuple[str, ...] = ()
    tolerance_pct: Decimal = Decimal(5)
    made_from: tuple[str, ...] = ()  # preferred sources, first choice first
    make_up_with: str = "water"
    recipe: tuple[RecipeLine, ...] = ()
    recipe_nl: int = 0
    minutes: int = 15
    method: str = ""
    purpose: str = ""
    usual_nl: int = 0
    small_batch: SmallBatch = SmallBatch.NO
    method_steps: tuple[MethodStep, ...] = ()
    sources: dict[str, str] = field(default_factory=dict, hash=False, compare=False)

    @property
    def bare_name(self) -> str:
        """What it is called without its strength: `Sodium hydroxide` of `Sodium hydroxide, 1 mol/L`."""
        if self.strength is None:
            return self.name
        strong = rf",? {re.escape(str(self.strength))}(?:ume)?(?=,|$)"  # 20 vol, 20 volume
        return re.sub(strong, "", self.name).strip(" ,") or self.name

    @property
    def unstable(self) -> bool:
        """Whether it becomes explosive or unstable when kept: made for one period, and destroyed at once after it."""
        return UNSTABLE in self.keeping

    @property
    def own_usual(self) -> bool:
        """Whether the school itself set the usual batch."""
        return self.sources.get("usual") == SET_BY_SCHOOL

    @property
    def no_flask(self) -> bool:
        """Whether it is nothing for a volumetric flask, a burette or a pipette."""
        return any(step.kind is StepKind.NO_FLASK for step in self.method_steps)

    @property
    def stand_days(self) -> int:
        """Days that it stands before it can be used; what is ready within a working day counts as none."""
        minutes = sum([step.minutes for step in self.method_steps if step.kind in _WAITING])
        return 0 if minutes < _WORKING_DAY else -(-minutes // _DAY)


class InstrumentKind(StrEnum):
    """What measures or holds. FLASK, PIPETTE, BURETTE, CYLINDER and BALANCE measure; the others hold."""

    FLASK = "volumetric flask"
    PIPETTE = "pipette"
    GRADUATED_PIPETTE = "graduated pipette"
    BURETTE = "burette"
    CYLINDER = "measuring cylinder"
    BEAKER = "beaker"
    DROPPER = "dropper"
    BALANCE = "balance"


@record(frozen=True, slots=True)
class Instrument:
    """One kind of instrument the room owns. Units: mL for glassware, g for balances.

    `tolerance` is the maximum permissible error at capacity (balances: linearity); `resolution` is what can
    be read (graduation, readability; for a one-mark vessel its capacity).
    """

    code: str
    name: str
    kind: InstrumentKind
    capacity: Decimal
    tolerance: Decimal
    resolution: Decimal
    grade: str = ""
    count: int = 1
    source: str = ""
