"""Titrations from typed text, direct and back, with a blank, and what is equivalent to what; no database."""

import contextlib
import re
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

from prep.chemistry import quantities, spelling
from prep.chemistry.acid_base import species
from prep.chemistry.formula.formulas import anhydrous, molar_mass
from prep.chemistry.measurement import volumetry
from prep.chemistry.measurement.reaction_ratios import EDTA, Ratio, ratio_of
from prep.chemistry.model import Form, Line, StrengthKind
from prep.chemistry.quantities import figures, plain
from prep.chemistry.strength import strengths
from prep.chemistry.strength.solutes import SoluteFacts, about_substance
from prep.errors import PrepError
from prep.records import record
from prep.services.calc.arithmetic import Answer, in_g, in_ml, led_by
from prep.services.calc.mixing_cautions import danger_first, never_together
from prep.services.calc.named_substance import (
    of_other_form,
    shipped_with,
    substance_named,
    with_strength,
)
from prep.services.calc.neutralising_heat import neutralising_heat
from prep.services.calc.portions import form_said, forms_in_moles
from prep.services.making.standards import doubt_of_name
from prep.services.making.titration_text import volumes_of

_CHLORINE_G_MOL = Decimal("70.906")

_SAID = {
    "vinegar": "CH3COOH",
    "limewater": "Ca(OH)2",
    "milkofmagnesia": "Mg(OH)2",
    "magnesiumhydroxide": "Mg(OH)2",
    "bleachingpowder": "Ca(OCl)2",
    "thiosulfate": "Na2S2O3.5H2O",
    "sulfite": "Na2SO3",
    "nitrite": "NaNO2",
    "chlorine": "Cl2",
    "availablechlorine": "Cl2",
    "bromine": "Br2",
    "dissolvedoxygen": "O2",
    "oxygen": "O2",
    **dict.fromkeys(("hardness", "waterhardness", "totalhardness", "permanenthardness", "temporaryhardness"), "CaCO3"),
    "alkalinity": "CaCO3",
    "chloride": "Cl",
    "sulfurdioxide": "SO2",
    "bromide": "Br",
    "iodide": "I",
    "thiocyanate": "KSCN",
    "permanganate": "KMnO4",
    "dichromate": "K2Cr2O7",
    "iodate": "KIO3",
    "oxalate": "Na2C2O4",
}
"""What is titrated, as it is said: an ion, or what a titration stands for."""

_METALS = {
    "aluminium": "Al",
    "aluminum": "Al",
    "calcium": "Ca",
    "cobalt": "Co",
    "copper": "Cu",
    "iron": "Fe",
    "lead": "Pb",
    "magnesium": "Mg",
    "manganese": "Mn",
    "nickel": "Ni",
    "silver": "Ag",
    "tin": "Sn",
    "zinc": "Zn",
}
_METAL_ION = re.compile(r"\s*(?P<metal>[A-Za-z]+)(?:\s*\(I{1,3}\)|\s*\^?[1-3]?\+|[²³]?⁺)?(?:\s+ions?)?\s*")
"""A metal as it is titrated, by name or symbol: `iron(II)`, `Fe2+`, `calcium ions`."""

_ALKALIS = ("NaOH", "KOH")


@record(frozen=True, slots=True)
class Reagent:
    """A solution as typed: the formula it counts, its mol/L, and the conversion."""

    formula: str
    mol_per_l: Decimal
    working: tuple[Line, ...]


@record(frozen=True, slots=True)
class NamedFormula:
    """The formula that a name means, and what the answer calls it."""

    formula: str
    name: str


@record(frozen=True, slots=True)
class Titration:
    """A titration as typed: the sample and what is found in it, the titrant with its strength, the titres.

    `excess`: of a back titration, the portion that was added first, such as `50 mL of HCl 0.1 mol/L`.
    """

    sample: str
    of: str
    titrant: str
    titres: str
    blank: str | None = None
    ratio: str | None = None
    excess: str | None = None


def titrate(asked: Titration) -> Answer:
    """Work out what a titration finds: a sample's strength by volume, or its share by mass. Raises PrepError."""
    with danger_first([asked.of, asked.titrant]):
        return _titrate(asked)


def _titrate(asked: Titration) -> Answer:
    analysed, titrant = formula_of(asked.of), reagent_of(asked.titrant)
    analyte, reagent, working = analysed.formula, titrant.formula, list(titrant.working)
    titres = volumetry.concordant(volumes_of(asked.titres, "mL"))
    blank = quantities.volume_ml(asked.blank, zero=True) if asked.blank is not None else Decimal(0)
    back = asked.excess is not None and blank > titres.mean_ml  # in a back titration the blank takes all of the excess
    used = blank - titres.mean_ml if back else titres.mean_ml - blank
    if used <= 0:
        raise PrepError("The blank takes as much as the sample: there is nothing to find.")
    listed = ", ".join(plain(t) for t in titres.used)
    text = f"titre: mean of {listed} mL = {figures(titres.mean_ml)} mL"
    if back:
        working.append(Line(f"{text}; blank {plain(blank)} mL - titre = {figures(used)} mL"))
    else:
        working.append(Line(text + (f" - blank {plain(blank)} mL = {figures(used)} mL" if blank else "")))
    moles = titrant.mol_per_l * used / 1000
    working.append(
        Line(f"{figures(used)} mL x {figures(titrant.mol_per_l)} mol/L / 1000 = {figures(moles)} mol of {reagent}")
    )
    if asked.excess is not None:
        found, indicator = _back(asked, analyte, reagent, moles, working, by_blank=back)
    else:
        ratio = _ratio(asked.ratio, analyte, reagent)
        indicator = ratio.indicator
        found = quantities.decimal_of(Fraction(moles) * ratio.moles)
        working.append(
            Line(
                f"{ratio.analyte} {analyte} to {ratio.titrant} {reagent} ({ratio.equation}): {figures(found)} mol of "
                f"{analyte}",
                ratio.source,
            )
        )
    says, document = _result(asked.sample, analysed, found, working)
    if titres.aside:
        rough = ", ".join(plain(t) for t in titres.aside)
        says.append(f"Set aside as not concordant (within {volumetry.CONCORDANT_ML} mL): {rough} mL.")
    if indicator:
        says.append(f"Indicator: {indicator}.")
    strength = document.get("strength")
    sample = f"{analyte} {strength['value']:.6f} mol/L" if strength else asked.of
    first = [quantities.with_of(asked.excess).partition(" of ")[2]] if asked.excess is not None else []
    meet = never_together([sample, *first, asked.titrant], titrated=asked.ratio is None)
    doubt = doubt_of_name(asked.titrant.strip(), reagent, shipped_with(anhydrous(reagent)))
    if doubt:
        says.append(f"Mind: {doubt}")
    says += meet.says
    document |= meet.document
    document |= {
        "titre": in_ml(titres.mean_ml),
        "set_aside": [float(t) for t in titres.aside],
        "moles": {"value": float(found), "unit": "mol"},
        "indicator": indicator,
        "doubt": doubt,
    }
    return Answer(tuple(says), document, tuple(working))


def equivalence(sample: str, titrant: str, ratio: str | None, indicator: str | None) -> Answer:
    """Work out the volume of titrant equivalent to a sample, and how far the indicator's change is from it."""
    with danger_first([sample, titrant]):
        return _equivalence(sample, titrant, ratio, indicator)


def _equivalence(sample: str, titrant: str, ratio: str | None, indicator: str | None) -> Answer:
    amount, of, what = quantities.with_of(sample).partition(" of ")
    if not of:
        raise PrepError('--sample: write such as "25 mL of acetic acid 0.1 mol/L", or "0.5 g of KHP".')
    try:
        volume_ml = quantities.volume_ml(amount)
    except PrepError as problem:
        try:
            mass_g = quantities.mass_g(amount)
        except PrepError:
            raise problem from None
        return _equivalent_mass(mass_g, what, titrant, ratio, indicator)
    what = with_strength(what)
    analysed, adding = reagent_of(what), reagent_of(titrant)
    between = _ratio(ratio, analysed.formula, adding.formula)
    moles = Fraction(analysed.mol_per_l * volume_ml)
    needed = quantities.decimal_of(moles / between.moles / Fraction(adding.mol_per_l))
    working = [
        *analysed.working,
        *adding.working,
        Line(
            f"{figures(volume_ml)} mL x {figures(analysed.mol_per_l)} mol/L x {between.titrant}/{between.analyte} / "
            f"{figures(adding.mol_per_l)} mol/L = {figures(needed)} mL",
            between.source,
        ),
    ]
    says = [f"Equivalence after {figures(needed, 4)} mL of {titrant.strip()}."]
    if between.indicator:
        says[0] += f" Indicator: {between.indicator}."
    document: dict[str, Any] = {"volume": in_ml(needed), "indicator": between.indicator}
    if indicator is not None:
        says.append(_indicator_error(volume_ml, what, titrant, needed, indicator, document))
    says += neutralising_heat([what], float(volume_ml), [titrant], float(needed))
    meet = never_together([what, titrant], titrated=ratio is None)
    answer = Answer((*says, *meet.says), document | meet.document, tuple(working))
    return led_by(answer, sample, titrant, form=forms_in_moles(sample, titrant))


_LITTLE_G_PER_L = Decimal("0.1")  # less is said in mg/L
_FITS_PCT = 0.5
"""By how much of the volume an indicator may be off, a drop in ten mL: common practice, no source."""


def _equivalent_mass(mass_g: Decimal, what: str, titrant: str, ratio: str | None, indicator: str | None) -> Answer:
    """Work out the volume of titrant equivalent to what is weighed, taken as pure. Raises PrepError."""
    if indicator is not None:
        raise PrepError(
            'How far an indicator is off turns on how much water there is: give the sample as "25 mL of ...", at its '
            "strength."
        )
    analysed, adding = formula_of(what), reagent_of(titrant)
    between = _ratio(ratio, analysed.formula, adding.formula)
    moles = mass_g / molar_mass(analysed.formula)
    needed = quantities.decimal_of(Fraction(moles) / between.moles / Fraction(adding.mol_per_l) * 1000)
    working = (
        *adding.working,
        Line(f"{figures(mass_g)} g / {figures(molar_mass(analysed.formula))} g/mol = {figures(moles)} mol"),
        Line(
            f"{figures(moles)} mol x {between.titrant}/{between.analyte} / {figures(adding.mol_per_l)} mol/L x 1000 = "
            f"{figures(needed)} mL",
            between.source,
        ),
    )
    says = [f"Equivalence after {figures(needed, 4)} mL of {titrant.strip()}, for {analysed.name} taken as pure."]
    if between.indicator:
        says[0] += f" Indicator: {between.indicator}."
    meet = never_together([what, titrant], titrated=ratio is None)
    document = {"volume": in_ml(needed), "indicator": between.indicator}
    form = form_said(what, titrant, kinds=(StrengthKind.G_PER_L, StrengthKind.MOL_PER_L))
    return led_by(Answer((*says, *meet.says), document | meet.document, working), titrant, form=form)


def _indicator_error(
    volume_ml: Decimal, what: str, titrant: str, needed: Decimal, indicator: str, document: dict[str, Any]
) -> str:
    from prep.chemistry.acid_base import components, droppers, indicators
    from prep.chemistry.acid_base.endpoints import through

    dish, adding = (components.read_all([one], substance_named).components for one in (what, titrant))
    named = indicators.indicator(indicator)
    passage = through(dish, float(volume_ml), adding, named, droppers.common().dropper)
    begins, ends = (100 * (v.volume_ml / float(needed) - 1) for v in (passage.begins, passage.ends))
    document["indicator_error_pct"] = {"begins": begins, "ends": ends}
    if max(abs(begins), abs(ends)) <= _FITS_PCT:
        verdict = "fits"
    elif begins <= 0 <= ends and min(-begins, ends) <= 2 * _FITS_PCT:
        verdict = "fits where it is stopped at one shade: equivalence lies within its change"
    else:
        verdict = f"does not fit well: more than {_FITS_PCT} % off"
    return f"{named.name} begins to change {begins:+.2f} % and is changed {ends:+.2f} % from equivalence: it {verdict}."


def _back(
    asked: Titration, analyte: str, reagent: str, moles: Decimal, working: list[Line], *, by_blank: bool
) -> tuple[Decimal, str]:
    """Work out the analyte's moles from what was left of an excess; or `by_blank`, from what a blank took more."""
    assert asked.excess is not None
    volume, of, what = quantities.with_of(asked.excess).partition(" of ")
    if not of:
        raise PrepError('--excess: write such as "50 mL of HCl 1 mol/L".')
    excess = reagent_of(what)
    first, lines = excess.formula, excess.working
    added = quantities.volume_ml(volume) * excess.mol_per_l / 1000
    left_ratio = ratio_of(first, reagent)
    left = quantities.decimal_of(Fraction(moles) * left_ratio.moles)
    ratio = _ratio(asked.ratio, analyte, first, back=True)
    indicator = ratio.indicator if anhydrous(first) in (*_ALKALIS, EDTA) and ratio.indicator else left_ratio.indicator
    if by_blank:
        if left > added:
            raise PrepError("The blank took more than the excess that was added; check its strength and volume.")
        found = quantities.decimal_of(Fraction(left) * ratio.moles)
        text = f"used {figures(left)} mol of {first}, which the blank had left ({ratio.equation}): {figures(found)} mol"
        working += [*lines, Line(f"{text} of {analyte}")]
        return found, indicator
    if left >= added:
        raise PrepError("Nothing of the excess was used: the titre is too large for what was added.")
    found = quantities.decimal_of(Fraction(added - left) * ratio.moles)
    working += [
        *lines,
        Line(f"added {figures(added)} mol of {first}, left {figures(left)} mol ({left_ratio.equation})"),
        Line(f"used {figures(added - left)} mol of {first} ({ratio.equation}): {figures(found)} mol of {analyte}"),
    ]
    return found, indicator


def _result(
    sample: str, analysed: NamedFormula, found: Decimal, working: list[Line]
) -> tuple[list[str], dict[str, Any]]:
    analyte, name = analysed.formula, analysed.name
    grams = found * molar_mass(analyte)
    try:
        volume_ml = quantities.volume_ml(sample)
    except PrepError:
        mass_g = quantities.mass_g(sample)
        pct = 100 * grams / mass_g
        working.append(Line(f"{figures(found)} mol x {figures(molar_mass(analyte))} g/mol = {figures(grams)} g"))
        says = [f"{figures(grams, 4)} g of {name} in {plain(mass_g)} g: {figures(pct, 4)} % by mass."]
        if pct > 100:
            says.append("More than the sample holds: check the titrant, the sample and the ratio.")
        return says, {"mass": in_g(grams), "share_pct": float(pct)}
    strength = found / volume_ml * 1000
    working.append(Line(f"{figures(found)} mol / {figures(volume_ml)} mL x 1000 = {figures(strength)} mol/L"))
    g_per_l = strength * molar_mass(analyte)
    little = g_per_l < _LITTLE_G_PER_L
    mass = f"{figures(1000 * g_per_l, 4)} mg/L" if little else f"{figures(g_per_l, 4)} g/L"
    says = [f"{name} is {figures(strength, 4)} mol/L ({mass})."]
    document: dict[str, Any] = {"strength": {"value": float(strength), "unit": "mol/L"}, "g_per_l": float(g_per_l)}
    if analyte in ("NaOCl", "Ca(OCl)2"):
        each = 2 if analyte == "Ca(OCl)2" else 1
        chlorine = strength * each * _CHLORINE_G_MOL
        says.append(f"Available chlorine: {figures(chlorine, 4)} g/L, {figures(chlorine / 10, 4)} % w/v.")
        document["available_chlorine"] = {"value": float(chlorine), "unit": "g/L"}
        working.append(Line(f"available chlorine: one Cl2 (70.906 g/mol) for each OCl-: {figures(chlorine)} g/L"))
    if analyte == "CaCO3":
        hardness = strength * 1000 * molar_mass("CaCO3")
        says.append(f"Hardness: {figures(hardness, 4)} mg/L as CaCO3.")
        document["hardness"] = {"value": float(hardness), "unit": "mg/L CaCO3"}
    return says, document


def reagent_of(text: str) -> Reagent:
    """Read a solution as typed. Raises PrepError."""
    text = with_strength(text)
    named = quantities.component(text)
    formula = formula_of(named.what).formula
    substance = substance_named(named.what)
    about = about_substance(substance) if substance else SoluteFacts(formula)
    if named.strength.kind is not StrengthKind.SATURATED:
        about = replace(about, solubility=None)  # another solute may keep it dissolved, as iodide does iodine
    made = strengths.convert(named.strength, StrengthKind.MOL_PER_L, about)
    return Reagent(formula, made.strength.value, made.working)


def formula_of(what: str) -> NamedFormula:
    """Find the formula that a name or a formula means. Raises PrepError."""
    if said := _SAID.get(spelling.key(what)) or _metal(what):
        return NamedFormula(said, what.strip())
    substance = substance_named(what)
    if substance is not None and substance.formula:
        bought_as = substance.form in (Form.AQUEOUS, Form.LIQUID)  # such a name says a strength, too
        as_formula = bought_as or what.strip() == substance.formula
        return NamedFormula(substance.formula, substance.formula if as_formula else substance.name)
    try:
        molar_mass(what.strip())
    except PrepError:
        with contextlib.suppress(PrepError):
            return NamedFormula(species.resolve(what).formula, what.strip())
        if other := of_other_form(what):
            return NamedFormula(other.formula, what.strip())
        raise PrepError(
            f'"{what.strip()[:60]}" is neither a substance on file nor a formula that can be read, such as CuSO4.5H2O.'
        ) from None
    return NamedFormula(what.strip(), what.strip())


def _metal(what: str) -> str:
    """Read a metal by name or with its charge; empty where it is none."""
    found = _METAL_ION.fullmatch(what)
    if not found:
        return ""
    metal = found["metal"]
    bare = metal == what.strip()
    return _METALS.get(metal.casefold(), "") or (metal if metal in _METALS.values() and not bare else "")


def _ratio(text: str | None, analyte: str, reagent: str, *, back: bool = False) -> Ratio:
    if text is None:
        return ratio_of(analyte, reagent, back=back)
    if not (found := re.fullmatch(r"\s*([1-9][0-9]?)\s*:\s*([1-9][0-9]?)\s*", text)):
        raise PrepError(f'--ratio "{text[:20]}": write moles analysed to moles of titrant, such as 1:2.')
    return Ratio(int(found[1]), int(found[2]), "ratio as given", "", "")
