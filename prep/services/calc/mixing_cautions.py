"""What to mind where a calculation is carried out: order of mixing, heat and fumes, and what must never meet."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from decimal import Decimal
from typing import Any, Literal

from prep.chemistry import quantities, spelling
from prep.chemistry.formula.formulas import composition, same_solute
from prep.chemistry.heat_of_solution import J_PER_ML_K, Warmth, kj_per_mol
from prep.chemistry.model import Form, Line, Strength, StrengthKind, Substance, head_of
from prep.chemistry.quantities import figures
from prep.chemistry.strength.into_water import WaterVerdict, obstacle
from prep.errors import PrepError
from prep.records import record
from prep.resources import seed_table
from prep.safety.clp.composition import at_strength
from prep.safety.hazard_tables import split, text_of
from prep.safety.matching import matches
from prep.services.calc.named_substance import diluted_strength, shipped, substance_named
from prep.services.calc.portions import portion

_TOPICS = ("order of mixing", "heat", "fumes", "fire")
_TRACE = {StrengthKind.PPM: 1000, StrengthKind.G_PER_L: 1, StrengthKind.MOL_PER_L: 0.01}


def cautions(
    one: Substance,
    source: Strength,
    action: Literal["dilute", "dissolve"],
    moles: Decimal | None = None,
    volume_ml: Decimal | None = None,
) -> tuple[str, ...]:
    """Gather the cautions of one substance as it is diluted from a strength, or dissolved to one.

    With the moles and the volume made: the heat, and by how much it warms the solution, none lost. A trace
    (parts per million, a hundredth of a mole in a litre) neither warms nor fumes.
    """
    if _is_trace(source):
        return ()
    found = []
    for row in seed_table("cautions"):
        applies = action in row["action"].split(";") or row["action"] == "any"
        if row["topic"] in _TOPICS and applies and matches(row["match"], one):
            degrees = _degrees(one, moles, volume_ml) if row["topic"] == "heat" else None
            if text := text_of(row, degrees):
                found.append(text.replace("{name}", one.name) + _heat(degrees, volume_ml))
    said = dict.fromkeys(found)
    return tuple(
        one for one in said if "No flames" not in one or not any("away from flames" in other for other in said)
    )


_BOILS = 80
"""By how many degC water of a room boils; what is dissolved puts that off by little."""


def _degrees(one: Substance, moles: Decimal | None, volume_ml: Decimal | None) -> Decimal | None:
    """Compute by how much so many moles warm so many mL, as for so much water: dT = n dH / (V x 4.18 J/(mL K))."""
    heat = kj_per_mol(one)
    if heat is None or moles is None or not volume_ml:
        return None
    return -heat * moles * 1000 / (volume_ml * J_PER_ML_K)


def _heat(degrees: Decimal | None, volume_ml: Decimal | None) -> str:
    """Describe in a sentence the heat that warms a volume by so much; empty where nothing is to be said of it."""
    if degrees is None or not volume_ml or Warmth.of(degrees) is Warmth.NONE:
        return ""
    kj = degrees * volume_ml * J_PER_ML_K / 1000
    way = "given off" if kj > 0 else "taken up"
    verb = "warm" if degrees > 0 else "cool"
    what = f"{verb} it by {figures(abs(degrees), 2)} degC" if degrees < _BOILS else "make it boil"
    return f" Here about {figures(abs(kj), 2)} kJ are {way}, enough to {what}."


@record(frozen=True, slots=True)
class NeverWith:
    """What happens where a substance meets another, without its full stop; what is made; and the source."""

    happens: str
    makes: str
    source: str

    @property
    def text(self) -> str:
        """Both, as they are printed."""
        return f"{self.happens}. ({self.makes})"


def taken_from(one: Substance, held: Strength) -> Substance:
    """Give a substance as it is in a solution that is taken from: its name, its strength and the classes of that.

    A row about strong acid then passes over a weak one. As it is in its bottle where the strength cannot be read as
    % w/w, or where the bottle has that strength.
    """
    from prep.safety.cautions import taken_at

    if held == Strength(one.assay_pct or Decimal(0), StrengthKind.PCT_W_W):
        return one
    try:
        weaker = taken_at(one, at_strength(one, held).component)
    except PrepError:
        return one
    return replace(weaker, name=f"{head_of(one.name)}, {held}")


def never_with(one: Substance, made: Strength | None = None) -> tuple[NeverWith, ...]:
    """Find what must never be brought together with a substance: the rules of never_mix.csv that are about it.

    Those marked `no` in the column `alone` are said only where the other is there too: that an acid makes a carbonate
    foam. Of what is `made` no stronger than a trace nothing is said.
    """
    if made is not None and _is_trace(made):
        return ()
    found = [row for row in seed_table("never_mix") if row["alone"] != "no" and matches(row["one"], one)]
    return tuple(NeverWith(row["text"].removesuffix("."), row["makes"], row["source"]) for row in found)


def in_one_sentence(found: Sequence[NeverWith]) -> tuple[str, ...]:
    """Join the texts of `never_with` that begin alike: `Hydrogen peroxide with acetone ...; with iodide ...`.

    What is made is left out where the sentence has named it.
    """
    begun: dict[str, list[str]] = {}
    for one in found:
        named = all(word[:5] in one.happens.casefold() for word in spelling.words([one.makes]))
        full = one.happens if named else f"{one.happens} ({one.makes})"
        start, between, rest = full.partition(" with ")
        begun.setdefault(start if between else full, []).append(rest)
    return tuple(
        f"{start} with {'; with '.join(rests)}." if rests != [""] else f"{start}." for start, rests in begun.items()
    )


def _is_trace(strength: Strength) -> bool:
    most = _TRACE.get(strength.kind)
    return most is not None and strength.kind is not StrengthKind.SATURATED and float(strength.value) <= most


@record(frozen=True, slots=True)
class MustNotMeet:
    """What must not be brought together, as sentences and for the document."""

    says: list[str]
    document: dict[str, Any]


_TITRATED = "BUT FOR THIS TITRATION, dilute and measured, NEVER TOGETHER"


def never_together(texts: Sequence[str], *, titrated: bool = False, heading: str = "NEVER TOGETHER") -> MustNotMeet:
    """Find what of these must not be brought together.

    Each is a component with its strength, or a name alone, which counts as it is in its bottle.
    `titrated`: by a titration that is on file they do meet, dilute and measured.
    """
    said = [f"{thin.what} {thin.strength}" if (thin := diluted_strength(text)) else text for text in texts]
    known = [(text, named) for text in said if (named := _named(text)) is not None and not _is_ion(text, named)]
    found = _never_met(known) if _may_meet([one for _, one in known]) else ()
    heading = _TITRATED if titrated else heading
    return MustNotMeet(
        [f"{heading}: {line.text}" for line in found],
        {"must_not_meet": [{"text": line.text, "source": line.source} for line in found]},
    )


def _is_ion(text: str, one: Substance) -> bool:
    """Tell whether a strength of a metal is meant as that of its ion: no solution holds calcium itself."""
    if not one.formula or len(composition(one.formula)) > 1 or not no_solution(one):
        return False
    try:
        return bool(quantities.component(text).what)
    except PrepError:
        return False


def no_solution(one: Substance) -> str:
    """Tell why no bottle holds a solution of something in water; empty where one may, or where the solvent is another.

    It reacts with water, in no hydrate that goes in; it is a metal or a mineral that does not dissolve; or a gas of
    which water holds some thousandths of a mole in a litre.
    """
    found = obstacle(one.formula, one)
    if found is None or found.verdict is WaterVerdict.OTHER_SOLVENT:
        return ""
    others = (other.formula for other in shipped().named if other.formula)
    if found.verdict is WaterVerdict.REACTS and any(
        other != one.formula and same_solute(other, one.formula) for other in others if one.formula
    ):
        return ""
    if found.verdict is WaterVerdict.INSOLUBLE and _may_be_in_oil(one):
        return ""
    if found.verdict is WaterVerdict.GAS and one.formula not in _SCARCELY_SOLUBLE:
        return ""
    return found.reason if found.verdict is not WaterVerdict.GAS else "it is a gas that water hardly dissolves"


def not_with_water(one: Substance) -> tuple[str, ...]:
    """Say that the solvent is not water, of what does not mix with it or is dissolved in ethanol; else nothing.

    Iodine, which iodide keeps in solution, is diluted with water.
    """
    found = obstacle(one.formula, one)
    if found is None:
        return ()
    if not ((found.verdict is WaterVerdict.INSOLUBLE and _may_be_in_oil(one)) or "in ethanol" in found.instead):
        return ()
    return (f"Not with water, but with the solvent that it is in: {one.name}: {found.reason}.",)


def alkali_into_water(one: Substance) -> tuple[str, ...]:
    """Tell how a strong solution of a caustic alkali is diluted: common practice, no source."""
    if one.solute not in ("sodium-hydroxide", "potassium-hydroxide"):
        return ()
    return ("Pour the alkali into the water, slowly and with stirring: it grows hot as it is diluted.",)


_SCARCELY_SOLUBLE = ("O2", "H2", "N2", "CH4", "C4H10", "C3H8")


def _may_be_in_oil(one: Substance) -> bool:
    """Tell whether something is in solution in a solvent that is not water: all that is of carbon and hydrogen."""
    return not one.formula or {"C", "H"} <= composition(one.formula).keys() or one.formula == "S"


@contextmanager
def danger_first(texts: Sequence[str]) -> Iterator[None]:
    """Name first what these must not be brought together for, where they cannot be computed with.

    Raises the PrepError of what is done within, or one that names the danger and then that.
    """
    try:
        yield
    except PrepError as problem:
        if says := never_together([portion(text).what for text in texts]).says:
            raise PrepError(f"{' '.join(says)} Refused besides: {problem}") from None
        raise


def _named(text: str) -> Substance | None:
    """Find the substance of a component; None where the list has no such name, so that it is only calculated with."""
    try:
        named = quantities.component(text).what
    except PrepError:
        named = text
    return substance_named(named) or _held_by_no_school(named)


def _held_by_no_school(name: str) -> Substance | None:
    """Find what no school should hold and the rules of never_mix.csv still know, in not_kept.csv."""
    wanted = spelling.key(name)
    for row in seed_table("not_kept"):
        names = (row["name"], *split(row["other_names"]), row["cas"], row["formula"])
        if wanted in map(spelling.key, names):
            return Substance(
                row["solute"], row["name"], row["formula"], row["solute"], Form(row["form"]), cas=row["cas"]
            )
    return None


def _may_meet(found: Sequence[Substance]) -> bool:
    """Tell whether any two could be a pair of never_mix.csv at some strength: else no class need be worked out."""
    as_taken = [(one.code, (one, replace(one, form=Form.AQUEOUS, diluted=True))) for one in found]

    def among(rule: str) -> set[str]:
        return {code for code, forms in as_taken if any(matches(rule, form) for form in forms)}

    for row in seed_table("never_mix"):
        ones = among(row["one"])
        if ones and any(other not in ones or len(ones) > 1 for other in among(row["other"])):
            return True
    return False


def _never_met(known: Sequence[tuple[str, Substance]]) -> tuple[Line, ...]:
    from prep.safety.cautions import never_meet, taken_at

    taken = []
    for text, one in known:
        try:
            taken.append(taken_at(one, at_strength(one, quantities.component(text).strength).component))
        except PrepError:
            taken.append(one)
    return never_meet(taken)
