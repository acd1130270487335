"""The bench arithmetic on its own: typed text in, figures and working out, no database.

A substance is found by its code, name, other name, CAS number or formula among the shipped substances.
"""

import contextlib
from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from prep.chemistry import quantities
from prep.chemistry.formula.formulas import composition
from prep.chemistry.model import Line, Strength, StrengthKind, Substance
from prep.chemistry.quantities import figures, plain
from prep.chemistry.strength import dilution, strengths
from prep.chemistry.strength.solutes import SoluteFacts
from prep.chemistry.typed_strength import NamedStrength, Unit, in_parts, strength_unit, written_as
from prep.errors import NoEquivalents, PrepError
from prep.records import record
from prep.services.calc.available_chlorine import as_hypochlorite, chlorine_note
from prep.services.calc.named_substance import (
    about_named,
    as_sold,
    assumed,
    find_substance,
    solution_named,
    solution_strength,
    strength_named,
    substance_named,
)
from prep.services.calc.portions import form_said

if TYPE_CHECKING:
    from prep.services.calc.mixing_cautions import NeverWith
    from prep.services.calc.titration_curve import CalculatedCourse


@record(frozen=True, slots=True)
class Answer:
    """What a calculation says: the sentence, the document for --json, the working, and curves to draw."""

    says: tuple[str, ...]
    document: dict[str, Any]
    working: tuple[Line, ...]
    curves: "tuple[CalculatedCourse, ...]" = ()


_SHOWN = 4
"""So many warnings of what must never meet are said on the screen; the document has them all."""


def minding(answer: Answer, of: str | None, *, held: str | None = None, made: str | None = None) -> Answer:
    """Add to an answer about a named substance what that must never meet.

    `held` and `made` are strengths as typed: the substance may be named in the first, and what is made no stronger
    than a trace meets anything.
    """
    found: tuple[NeverWith, ...] = ()
    said: tuple[str, ...] = ()
    strong: Strength | None = None
    with contextlib.suppress(PrepError):
        of = of or (strength_named(held).what if held else None)
    with contextlib.suppress(PrepError):
        strong = quantities.strength(made) if made else strength_named(held).strength if held else None
    if of and (one := substance_named(of)) is not None:
        from prep.services.calc.mixing_cautions import in_one_sentence, never_with, taken_from

        found = never_with(taken_from(one, strong) if held and strong else one, strong)
        said = tuple(f"NEVER TOGETHER: {text}" for text in in_one_sentence(found[:_SHOWN]))
    document = answer.document | {"must_not_meet": [{"text": line.text, "source": line.source} for line in found]}
    return replace(answer, says=(*answer.says, *said), document=document)


def key_of(one: Substance) -> str:
    """Name the solute of a substance, the same whichever hydrate or concentrate it comes as."""
    return one.solute or one.code


@record(frozen=True, slots=True)
class Dilution:
    """Three of the four as typed: the strength held, the strength wanted, the volume made, the volume taken."""

    source: str | None = None
    target: str | None = None
    volume: str | None = None
    take: str | None = None
    of: str | None = None
    density: str | None = None


def led_by(answer: Answer, *texts: str | None, form: tuple[str, ...] = ()) -> Answer:
    """Put first in an answer what was assumed for strengths that these texts do not say, and the form of a solute."""
    first = (*form, *assumed(*texts))
    return replace(answer, says=(*first, *answer.says), document=answer.document | {"taken_as": list(first)})


def dilute(asked: Dilution) -> Answer:
    """Work out the fourth of C1 V1 = C2 V2 from the other three; a `1 in 10` needs no strength. Raises PrepError."""
    try:
        asked = _whole(asked)
        return led_by(_dilute(asked), asked.source, asked.target, form=form_said(asked.of, asked.source, asked.target))
    except PrepError:
        from prep.services.calc.mixing_cautions import danger_first  # a dilution that is answered needs it not

        with danger_first([text for text in (asked.source, asked.target) if text]):
            raise


_CONCENTRATED = ("conc", "conc.", "concentrated", "glacial")


def _whole(asked: Dilution) -> Dilution:
    """Say what is diluted in full: `conc` of an acid; a solution by its name, of which one part needs no strength."""
    if asked.source and asked.of and asked.source.strip().lower() in _CONCENTRATED:
        return replace(asked, source=f"{asked.source.strip()} {asked.of}", of=None)
    with contextlib.suppress(PrepError):
        if quantities.strength(asked.target or "").kind is StrengthKind.TIMES:
            if asked.source is None and asked.of and solution_named(asked.of):
                asked = replace(asked, source=asked.of, of=None)
            if asked.source and solution_named(asked.source) and solution_strength(asked.source) is None:
                return replace(asked, source=None, of=None)
    return asked


def _dilute(asked: Dilution) -> Answer:
    source = _said(asked.source, asked.of) if asked.source is not None else None
    of = source.what if source else ""
    target = _said(asked.target, asked.of or of) if asked.target is not None else None
    other = target.what if target else ""
    if of and other and key_of(find_substance(of)) != key_of(find_substance(other)):
        raise PrepError(f"{find_substance(of).name} is not diluted to {find_substance(other).name}; name one of them.")
    asked = replace(asked, of=asked.of or of or other or None)
    held, wanted = source.strength if source else None, target.strength if target else None
    made_ml = quantities.volume_ml(asked.volume) if asked.volume is not None else None
    take_ml = quantities.volume_ml(asked.take) if asked.take is not None else None
    about = about_named(asked.of, held, asked.density)
    if asked.of:
        refuse_no_solution(asked.of, held or wanted)
    if wanted is not None and wanted.kind is StrengthKind.TIMES and (held is None or held.kind is not wanted.kind):
        return _one_in(asked, held, wanted.value, made_ml, take_ml)
    if (held, wanted, made_ml, take_ml).count(None) != 1:
        raise PrepError(
            'Give three of --from, --to, --volume and --take; the fourth is worked out. ("1 in 10" needs two.)'
        )
    if held is not None and wanted is not None:
        made = dilution.dilute(held, wanted, made_ml or Decimal(1000), about=about)
        if take_ml is not None:
            made = dilution.scaled(made, take_ml / made.take_ml)
        return _diluted(asked, made, held, wanted, about)
    assert made_ml is not None
    assert take_ml is not None
    if take_ml > made_ml:
        raise PrepError(f"--take {plain(take_ml)} mL is more than --volume {plain(made_ml)} mL.")
    known = held or wanted
    assert known is not None
    found = dilution.other_strength(known, take_ml, made_ml, weaker=held is not None, about=about)
    held, wanted = (held, found.strength) if held is not None else (found.strength, known)
    typed = (asked.source, asked.target)
    which = "The strength made" if asked.source is not None else "The strength to start from"
    solvent = made_ml - take_ml
    says = (
        f"{which} is {written_as(found.strength, *typed)}: {plain(take_ml)} mL of {written_as(held, *typed)} made up "
        f"to {plain(made_ml)} mL.",
        *order_of_mixing(asked.of, held),
    )
    document = {
        "take": in_ml(take_ml),
        "solvent": in_ml(solvent),
        "volume": in_ml(made_ml),
        "factor": float(made_ml / take_ml),
        "from": strength_json(held),
        "to": strength_json(wanted),
    }
    return Answer(says, document, found.working)


def _said(text: str, of: str | None) -> NamedStrength:
    return as_hypochlorite(text, of) or strength_named(text)


def _diluted(asked: Dilution, made: dilution.Diluted, held: Strength, wanted: Strength, about: SoluteFacts) -> Answer:
    assert asked.source is not None
    says = (
        f"Take {figures(made.take_ml, 4)} mL of the {asked.source.strip()} and make it up to "
        f"{figures(made.volume_ml, 6)} mL with the solvent (about {figures(made.solvent_ml, 4)} mL).",
        *_in_steps(made.take_ml),
        *order_of_mixing(asked.of, held, _moles(wanted, made.volume_ml, about), made.volume_ml),
        *ppm_note(wanted, about),
        *(() if as_hypochlorite(asked.target or "") else chlorine_note(wanted, about.formula)),
    )
    document = {
        "take": in_ml(made.take_ml),
        "solvent": in_ml(made.solvent_ml),
        "volume": in_ml(made.volume_ml),
        "factor": float(made.volume_ml / made.take_ml),
        "from": strength_json(held),
        "to": strength_json(wanted),
    }
    return Answer(says, document, made.working)


_LEAST_ML = Decimal("0.1")  # a micropipette measures less, and few prep rooms have one


def _in_steps(take_ml: Decimal) -> tuple[str, ...]:
    """Tell by which weaker solution to go where so little is taken that it is not measured well."""
    if take_ml >= _LEAST_ML:
        return ()
    tens = -take_ml.adjusted()
    hundreds, ten = divmod(tens, 2)
    steps = [
        *([f"{hundreds} times 1 in 100" if hundreds > 1 else "1 in 100"] if hundreds else []),
        *(["1 in 10"] * ten),
    ]
    weaker = f"{' and then '.join(steps)}, and take {figures(take_ml.scaleb(tens), 4)} mL of that."
    return (f"So little is not measured well: dilute it first, {weaker}",)


def _one_in(
    asked: Dilution, held: Strength | None, share: Decimal, made_ml: Decimal | None, take_ml: Decimal | None
) -> Answer:
    """Work out a dilution by its factor: one part in so many, by volume."""
    if (made_ml is None) == (take_ml is None):
        raise PrepError("Give the --volume to make, or the volume to --take.")
    volume = made_ml if made_ml is not None else (take_ml or Decimal(0)) / share
    take, factor = volume * share, 1 / share
    read_so = (
        f" 1:{figures(factor, 4)} is read so, not as 1 + {figures(factor, 4)}." if ":" in (asked.target or "") else ""
    )
    says = [
        f"{in_parts(asked.target or '', share)}: take {figures(take, 4)} mL and make it up to {figures(volume, 6)} mL "
        f"(about {figures(volume - take, 4)} mL of solvent).{read_so}"
    ]
    document: dict[str, Any] = {
        "take": in_ml(take),
        "solvent": in_ml(volume - take),
        "volume": in_ml(volume),
        "factor": float(factor),
    }
    working = [Line(f"{figures(volume)} mL x 1/{figures(factor)} = {figures(take)} mL")]
    if held is not None and held.kind not in strengths.BY_MASS:
        made = Strength(quantities.tidy(held.value * share), held.kind)
        says.append(f"Of {written_as(held, asked.source)} that makes {written_as(made, asked.source)}.")
        document |= {"from": strength_json(held), "to": strength_json(made)}
    if held is not None:
        says += order_of_mixing(asked.of, held)
    return Answer(tuple(says), document, tuple(working))


_CORROSIVE_MOL_PER_L, _CORROSIVE_PCT = 3, 10


def _moles(strength: Strength, volume_ml: Decimal, about: SoluteFacts) -> Decimal | None:
    """Work out the moles in a volume; None where the strength does not say."""
    try:
        return strengths.convert(strength, StrengthKind.MOL_PER_L, about).strength.value * volume_ml / 1000
    except PrepError:
        return None


def order_of_mixing(
    of: str | None, held: Strength, moles: Decimal | None = None, volume_ml: Decimal | None = None
) -> tuple[str, ...]:
    """Tell the order of mixing, where the strength is one at which it matters."""
    strong = held.kind in (StrengthKind.PCT_W_W, StrengthKind.PCT_W_V) and held.value >= _CORROSIVE_PCT
    if held.kind in (StrengthKind.MOL_PER_L, StrengthKind.MOL_PER_KG, StrengthKind.EQ_PER_L):
        strong = held.value >= _CORROSIVE_MOL_PER_L
    if of is None:
        say = "If it is an acid or an alkali: pour it slowly into the water, with stirring; never water into it."
        return (say,) if strong else ()
    from prep.services.calc.mixing_cautions import alkali_into_water, cautions, not_with_water, taken_from

    one = find_substance(of)
    taken = taken_from(one, held)
    found = cautions(taken, held, "dilute", moles, volume_ml) if strong or "H314" in taken.classification else ()
    return (*not_with_water(one), *found, *(alkali_into_water(one) if strong else ()))


def refuse_no_solution(of: str, strength: Strength | None) -> None:
    """Refuse to dilute or mix what water holds no solution of: see `mixing_cautions.no_solution`. Raises PrepError.

    An element by mass, `1000 mg/L Cu`, is a standard of its ion.
    """
    from prep.services.calc.mixing_cautions import no_solution

    one = find_substance(of)
    by_mass = strength is not None and strength.kind in (StrengthKind.PPM, StrengthKind.G_PER_L)
    if by_mass and one.formula and len(composition(one.formula)) == 1:
        return
    if why := no_solution(one):
        raise PrepError(f"There is no solution of {one.name} in water to take: {why}.")


def convert(strength: str, of: str | None, to: str, density: str | None, equivalents: int | None) -> Answer:
    """Convert a strength to another kind. Raises PrepError."""
    unit = quantities_unit(to)
    named_in = of is None
    if of is None:
        named = as_hypochlorite(strength) or strength_named(strength)
        given, of = named.strength, named.what or None
    else:
        given = _given(strength, of)
    about = about_named(of, given, density)
    if equivalents is not None:
        if equivalents < 1 or equivalents > 20:
            raise PrepError("--equivalents is how many a mole has, from 1 to 20.")
        about = replace(about, equivalents=equivalents, equivalents_of="equivalents")
    warning = strengths.more_than_dissolves(given, about)
    if given.kind is not StrengthKind.SATURATED:
        about = replace(about, solubility=None)  # a figure is converted even where so much would not dissolve
    try:
        made = strengths.convert(given, unit.kind, about)
    except PrepError as problem:
        unknown = isinstance(problem, NoEquivalents) and equivalents is None
        how = " Say how many a mole has: --equivalents." if unknown else ""
        raise PrepError(f"{warning} {problem}{how}" if warning else f"{problem}{how}") from None
    value = made.strength.value / unit.factor
    document: dict[str, Any] = {"strength": {"value": float(value), "unit": unit.text}, "density": None}
    if warning:
        document["warning"] = warning
    says = [f"{written_as(given, strength)} = {_readable(value, unit)}"]
    if made.density is not None:
        document["density"] = {"value": float(made.density.g_ml), "unit": "g/mL", "source": made.density.source}
        says.append(f"with the density {figures(made.density.g_ml, 5)} g/mL ({made.density.source})")
    if warning:
        says.append(f"It cannot be made: {warning}")
    says += ppm_note(made.strength if unit.kind is StrengthKind.PPM else given, about)
    form = form_said(of, kinds=(given.kind, unit.kind))
    typed = strength if named_in or of is None else f"{strength} {of}"  # `conc` of an acid is taken for its grade
    return led_by(Answer(tuple(says), document, made.working), typed, form=form)


_SMALLER = {"mol/L": ("mmol/L", "µmol/L", "nmol/L"), "M": ("mM", "µM", "nM"), "g/L": ("mg/L", "µg/L", "ng/L")}


def _readable(value: Decimal, unit: Unit) -> str:
    """Write a strength in the unit asked for; of far less than one first in a multiple that is read at a glance."""
    asked = f"{figures(value, 5)} {unit.text}"
    smaller = _SMALLER.get(unit.text)
    if smaller is None or not 0 < value < Decimal("0.0001"):
        return asked
    at = min((-value.adjusted() + 2) // 3, len(smaller))
    return f"{figures(value.scaleb(3 * at), 5)} {smaller[at - 1]} ({asked})"


def _given(strength: str, of: str | None) -> Strength:
    """Read a strength; or, of a concentrate, what its label means: `0.880` of ammonia, `conc` of nitric acid."""
    if bleach := as_hypochlorite(strength, of):
        return bleach.strength
    try:
        return quantities.strength(strength)
    except PrepError:
        if of is not None and (sold := as_sold(f"{strength} {of}")):
            return sold.strength
        raise


def ppm_note(strength: Strength, about: SoluteFacts, salt: Strength | None = None) -> tuple[str, ...]:
    """Explain what ppm was taken for, where a strength is in ppm: by mass, and how much that is in a litre.

    `salt`: of an element, the ppm of what is weighed for it, whose density `about` knows.
    """
    if strength.kind is not StrengthKind.PPM:
        return ()
    said = f"{figures(strength.value, 5)} ppm is taken by mass, mg in 1 kg of solution"
    try:
        whole = salt or strength
        g_per_l = strengths.convert(whole, StrengthKind.G_PER_L, about).strength.value * strength.value / whole.value
    except PrepError:
        return (f"{said}; mg in 1 L is written mg/L.",)
    return (f"{said}; here that is {figures(1000 * g_per_l, 4)} mg/L.",)


def quantities_unit(text: str) -> Unit:
    """Read the unit that an answer is wanted in. Raises PrepError for what is none."""
    wanted = " ".join(text.split())
    wanted = {"m": "M", "molarity": "mol/L", "molality": "mol/kg", "normality": "eq/L"}.get(wanted.lower(), wanted)
    if wanted == "%":
        raise PrepError('--in "%" does not say which per cent; write "% w/w", "% w/v" or "% v/v".')
    if unit := strength_unit(wanted):
        return unit
    kinds = ", ".join(kind for kind in StrengthKind if kind is not StrengthKind.TIMES)
    raise PrepError(
        f'--in "{text[:30]}" is no kind of strength; accepted are {kinds}, and units such as mmol/L or mg/L.'
    )


def strength_json(strength: Strength) -> dict[str, Any]:
    """Write a strength as JSON: `{"value": 0.1, "unit": "mol/L"}`."""
    return {"value": float(strength.value), "unit": strength.kind.value}


def in_ml(value: Decimal) -> dict[str, Any]:
    """Write a volume as JSON: `{"value": 250.0, "unit": "mL"}`."""
    return {"value": float(value), "unit": "mL"}


def in_g(value: Decimal) -> dict[str, Any]:
    """Write a mass as JSON: `{"value": 2.5, "unit": "g"}`."""
    return {"value": float(value), "unit": "g"}
