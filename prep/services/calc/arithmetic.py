"""The bench arithmetic on its own: typed text in, figures and working out, no database.

A substance is found by its code, name, other name, CAS number or formula among the shipped substances.
"""

from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from prep.chemistry import quantities
from prep.chemistry.formula.formulas import molar_mass
from prep.chemistry.model import Form, Line, Strength, StrengthKind, Substance
from prep.chemistry.quantities import figures, plain
from prep.chemistry.strength import alcohol, densities, dilution, strengths
from prep.chemistry.strength.solutes import About, about_substance
from prep.errors import PrepError
from prep.services.calc.named_substance import choose_form, find_substance, shipped, substances_named


@dataclass(frozen=True, slots=True)
class Answer:
    """What a calculation says: the sentence, the document for --json, and the working."""

    says: tuple[str, ...]
    document: dict[str, Any]
    working: tuple[Line, ...]


def dilute(source: str, target: str, volume: str, of: str | None, density: str | None) -> Answer:
    """How much of a stronger solution makes a volume of a weaker one. Raises PrepError."""
    held = quantities.strength(source)
    about = _about(of, held, density)
    made = dilution.dilute(held, quantities.strength(target), quantities.volume_ml(volume), about=about)
    says = (
        f"Take {figures(made.take_ml, 4)} mL of the {source.strip()} and make it up to "
        f"{plain(made.volume_ml)} mL with the solvent (about {figures(made.solvent_ml, 4)} mL).",
        "Acids and alkalis go into the water, slowly and with stirring; never water into a concentrated acid.",
    )
    document = {"take": _ml(made.take_ml), "solvent": _ml(made.solvent_ml), "volume": _ml(made.volume_ml)}
    return Answer(says, document, made.working)


def dissolve(
    formula: str | None, of: str | None, target: str, volume: str, assay: str | None, counted: str | None
) -> Answer:
    """What to weigh of a solid for a volume of a strength. Raises PrepError."""
    from prep.chemistry.strength import dissolving

    if (formula is None) == (of is None):
        raise PrepError("Give the solid once: either --formula, or its name with --of.")
    strength, volume_ml = quantities.strength(target), quantities.volume_ml(volume)
    purity = _assay(assay)
    note: tuple[str, ...] = ()
    first: tuple[str, ...] = ()
    if of is not None:
        chosen = choose_form(of)
        if chosen.held:
            raise PrepError(_which(of, chosen.held, strength, volume_ml, purity))
        substance, first = chosen.substance, (chosen.says,) if chosen.says else ()
        formula = substance.formula
        if purity is None:
            purity = substance.assay_pct or Decimal(100)
        about = about_substance(substance, formula=counted or "")
    else:
        assert formula is not None
        molar_mass(formula)
        about = About(formula=counted or formula, solubility=_solubility(formula))
    working: tuple[Line, ...] = ()
    asked = strength
    if counted and (of_salt := strengths.of_element(asked, counted.strip(), formula)):
        about, strength, working = replace(about, formula=formula), of_salt.strength, of_salt.working
    if asked.kind is StrengthKind.PPM:
        g_per_l = strengths.convert(strength, StrengthKind.G_PER_L, about).strength.value * asked.value / strength.value
        note += (f"{asked} is taken by mass, mg in 1 kg of solution; here that is {figures(1000 * g_per_l, 4)} mg/L.",)
    made = dissolving.dissolve(formula, strength, volume_ml=volume_ml, assay_pct=purity or Decimal(100), about=about)
    says = (
        f"Weigh {figures(made.mass_g, 5)} g of {formula or of}, dissolve it in about "
        f"{figures(volume_ml * Decimal('0.7'), 2)} mL of water, and make it up to {plain(volume_ml)} mL.",
    )
    return Answer(
        (*first, *says, *note), {"mass": _g(made.mass_g), "volume": _ml(volume_ml)}, (*working, *made.working)
    )


def _which(
    said: str, held: tuple[Substance, ...], strength: Strength, volume_ml: Decimal, assay: Decimal | None
) -> str:
    """The question which of several forms it is, with what each would take."""
    from prep.chemistry.strength import dissolving

    amounts = []
    for one in held:
        purity = assay or one.assay_pct or Decimal(100)
        made = dissolving.dissolve(one.formula, strength, volume_ml, assay_pct=purity, about=about_substance(one))
        amounts.append(f"{figures(made.mass_g, 5)} g of {one.name} ({one.formula})")
    return f'"{said.strip()}" is held in {len(held)} forms: {" or ".join(amounts)}; name the one to weigh.'


def convert(strength: str, of: str | None, to: str, density: str | None, equivalents: int | None) -> Answer:
    """A strength in another kind. Raises PrepError."""
    kind = _kind(to)
    given = quantities.strength(strength)
    about = _about(of, given, density)
    if equivalents is not None:
        if equivalents < 1 or equivalents > 20:
            raise PrepError("--equivalents is how many a mole has, from 1 to 20.")
        about = replace(about, equivalents=equivalents, equivalents_of="equivalents")
    made = strengths.convert(given, kind, about)
    document: dict[str, Any] = {
        "strength": {"value": float(made.strength.value), "unit": made.strength.kind.value},
        "density": None,
    }
    says = [f"{given} = {figures(made.strength.value, 5)} {made.strength.kind.value}"]
    if made.density is not None:
        document["density"] = {"value": float(made.density.g_ml), "unit": "g/mL", "source": made.density.source}
        says.append(f"with the density {figures(made.density.g_ml, 5)} g/mL ({made.density.source})")
    return Answer(tuple(says), document, made.working)


def blend(portions: list[str], of: str | None) -> Answer:
    """What several portions make together. Raises PrepError."""
    if len(portions) < 2:
        raise PrepError('Give at least two portions, each such as "100 mL of 2 mol/L".')
    made = dilution.blend(quantities.portions(portions), about=_about(of, None, None) if of else None)
    says = (f"{figures(made.volume_ml, 5)} mL of {figures(made.strength.value, 5)} {made.strength.kind.value}",)
    strength = {"value": float(made.strength.value), "unit": made.strength.kind.value}
    return Answer(says, {"volume": _ml(made.volume_ml), "strength": strength}, made.working)


def dilute_alcohol(source: str, target: str, volume: str, temperature: str) -> Answer:
    """How much ethanol and water make a weaker ethanol, contraction reckoned with. Raises PrepError."""
    made = alcohol.dilute(
        quantities.strength(source),
        quantities.strength(target),
        quantities.volume_ml(volume),
        quantities.temperature_c(temperature),
    )
    says = (
        f"Take {figures(made.take_ml, 5)} mL of the {source.strip()} and {figures(made.water_ml, 5)} mL of water, "
        f"at {plain(made.temperature_c)} degC; they shrink by {figures(made.contraction_ml, 3)} mL to "
        f"{plain(made.volume_ml)} mL.",
        "Highly flammable: no flame or hot plate near.",
    )
    document = {
        "take": _ml(made.take_ml),
        "water": _ml(made.water_ml),
        "contraction": _ml(made.contraction_ml),
        "volume": _ml(made.volume_ml),
    }
    return Answer(says, document, made.working)


def _about(name: str | None, strength: Strength | None, density: str | None) -> About:
    """What is known of a named solute: a density as given, or that of a bottle of this strength where no table is."""
    about = about_substance(find_substance(name)) if name else About()
    if density is not None:
        return replace(about, density_g_ml=quantities.density_g_ml(density))
    if name and strength and strength.kind is StrengthKind.PCT_W_W and densities.table_formula(about.formula) is None:
        for one in substances_named(name):
            if one.form is Form.AQUEOUS and one.assay_pct == strength.value and one.density_g_ml:
                source = one.sources.get("density", "the substance's record")
                return replace(about, density_g_ml=one.density_g_ml, density_source=f"{one.name}: {source}")
    return about


def _solubility(formula: str) -> Any:
    """The limit of a shipped substance of that formula, so that an impossible solution is refused."""
    found = next((one for one in shipped().substances.values() if one.formula == formula), None)
    return about_substance(found).solubility if found else None


def _assay(text: str | None) -> Decimal | None:
    if text is None:
        return None
    from prep.services.files.csv_file import number

    value = number(text.strip().removesuffix("%").strip())
    if not 0 < value <= 100:
        raise PrepError(f'--assay "{text[:20]}" is out of range; accepted is more than 0 and at most 100 (%).')
    return value


def _kind(text: str) -> StrengthKind:
    wanted = " ".join(text.split()).lower()
    for kind in StrengthKind:
        if wanted in (kind.value.lower(), kind.value.lower().replace(" ", "")):
            return kind
    if wanted == "m":
        return StrengthKind.MOL_PER_L
    raise PrepError(f'--in "{text[:30]}" is no kind of strength; accepted are {", ".join(StrengthKind)}.')


def _ml(value: Decimal) -> dict[str, Any]:
    return {"value": float(value), "unit": "mL"}


def _g(value: Decimal) -> dict[str, Any]:
    return {"value": float(value), "unit": "g"}
