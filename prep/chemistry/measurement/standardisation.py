"""The found strength of a solution: titrated against a standard solution, or against a weighed primary standard.

A titration is repeated; the scatter of the results counts as it is found, but never for less than what a burette
can be read to. What every titration shares (tolerances, room temperature, the end point's drop, the standard
itself) does not shrink by repeating.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import sqrt
from statistics import fmean, stdev

from prep.chemistry.measurement.uncertainty import (
    ROOM_SPAN_C,
    WATER_EXPANSION_PER_C,
    Contribution,
    Uncertain,
    assay,
    combined,
    glass_volume,
    molar_mass_of,
    readability,
    rectangular,
    summed,
    triangular,
    weighed,
)
from prep.chemistry.model import Instrument, InstrumentKind, Line, Strength, StrengthKind
from prep.chemistry.quantities import plain
from prep.errors import PrepError

HALF_DROP_ML = 0.025
"""An end point is met to within half a drop: common practice, no source."""
CONCORDANT_ML = Decimal("0.1")
"""Titres this near one another agree: common practice, no source."""
_MOST_TITRES = 20


@dataclass(frozen=True, slots=True)
class FoundStrength:
    """A found strength in mol/L, its uncertainty and its working. `concordant`: the titrations agree."""

    strength: Strength
    result: Uncertain
    concordant: bool
    working: tuple[Line, ...]

    @property
    def uncertainty_pct(self) -> Decimal:
        """Expanded uncertainty, k = 2, as per cent of the strength."""
        return self.result.expanded_pct


def by_titration(
    pipetted_ml: Decimal,
    titres_ml: Sequence[Decimal],
    standard: Uncertain,
    *,
    pipette: Instrument,
    burette: Instrument,
    standard_in_burette: bool = True,
    ratio: Fraction = Fraction(1),
    repeatability: float | None = None,
    half_drop_ml: float = HALF_DROP_ML,
    span_c: float = ROOM_SPAN_C,
) -> FoundStrength:
    """Find the strength [mol/L] of a sample titrated against a `standard` [mol/L]: C1 V1 = C2 V2 x `ratio`.

    `ratio` is moles of sample to one mole of standard (HCl against Na2CO3: 2). Without `standard_in_burette`
    the sample is in the burette and the standard was pipetted. `repeatability` replaces the scatter of the
    titres by a known relative standard deviation. Raises PrepError: no titre, volumes that the instruments do
    not give, a ratio of zero.
    """
    _check_ratio(ratio)
    titres = _check_titres(titres_ml, burette)
    _positive(pipetted_ml, "The pipetted volume", "mL")
    mean = fmean(map(float, titres))
    portion = glass_volume(
        pipette.name,
        float(pipetted_ml),
        float(pipette.tolerance),
        division_ml=0.0 if pipette.kind is InstrumentKind.PIPETTE else float(pipette.resolution),
        span_c=span_c,
        fillings=_fillings(pipetted_ml, pipette),
    )
    run = _titre(mean, burette, half_drop_ml, span_c)
    repeat = _repeatability([float(t) for t in titres], burette, mean, repeatability)
    up, down = (run, portion) if standard_in_burette else (portion, run)
    value = standard.value * up.value / down.value * float(ratio)
    result = combined(value, (standard.as_contribution("the standard's strength"), up, down.inverse(), repeat), "mol/L")
    known = f"{standard.value:.5g} mol/L"
    sample, other = ("pipetted", "titre") if standard_in_burette else ("titre", "pipetted")
    lines = (
        *_mean_line(titres, mean),
        Line(
            f"C = C(standard) x V(standard, {other}) / V(sample, {sample}) x {ratio} = {known} x "
            f"{up.value:.5g} mL / {down.value:.5g} mL x {ratio} = {value:.5g} mol/L"
        ),
    )
    return _found(value, result, _agree(titres), lines)


def by_mass(
    weighings: Sequence[tuple[Decimal, Decimal]],
    formula: str,
    g_per_mol: Decimal,
    *,
    balance: Instrument,
    burette: Instrument,
    purity: Decimal = Decimal(1),
    purity_half_width: float = 0.0005,
    molar_mass_half_width: float | None = None,
    ratio: Fraction = Fraction(1),
    repeatability: float | None = None,
    half_drop_ml: float = HALF_DROP_ML,
    span_c: float = ROOM_SPAN_C,
) -> FoundStrength:
    """Find the strength [mol/L] from masses [g] of a primary standard with their titres [mL].

    m P / (M V) x `ratio`. `ratio` is moles of sample to one mole of the primary standard. The formula and the
    treatment are those of EURACHEM/CITAC Guide CG4, 3rd ed. (2012), example A2. Raises PrepError as `by_titration`
    does, and for a purity outside 0 to 1.
    """
    _check_ratio(ratio)
    if not weighings:
        raise PrepError("No titration was given; give at least one mass with its titre.")
    titres = _check_titres([titre for _, titre in weighings], burette)
    for mass, _ in weighings:
        _positive(mass, "The mass of the primary standard", "g")
        if mass > balance.capacity:
            raise PrepError(f"{plain(mass)} g is more than the {balance.name} weighs.")
    if not 0 < purity <= 1:
        raise PrepError(f"A purity of {plain(purity)} is not possible; it is a fraction above 0 and up to 1.")
    _positive(g_per_mol, "The molar mass", "g/mol")
    each = [1000 * float(m * purity / (g_per_mol * t)) * float(ratio) for m, t in weighings]
    value = fmean(each)
    mass_mean, titre_mean = fmean(float(m) for m, _ in weighings), fmean(map(float, titres))
    parts = (
        weighed(formula, mass_mean, float(balance.tolerance), float(balance.resolution)),
        assay(float(purity), purity_half_width, f"purity of {formula}"),
        molar_mass_of(formula, float(g_per_mol), molar_mass_half_width),
        _titre(titre_mean, burette, half_drop_ml, span_c).inverse(),
        _repeatability(each, burette, titre_mean, repeatability),
    )
    result = combined(value, parts, "mol/L")
    lines = tuple(
        Line(
            f"C = m P / (M V) x {ratio} = {plain(m)} g x {plain(purity)} / ({plain(g_per_mol)} g/mol x "
            f"{plain(t)} mL) x 1000 mL/L x {ratio} = {one:.5g} mol/L"
        )
        for (m, t), one in zip(weighings, each, strict=True)
    )
    if len(each) > 1:
        lines += (Line(f"mean of {len(each)}: {value:.5g} mol/L"),)
    return _found(value, result, _near(each, value, titre_mean), lines)


def _found(value: float, result: Uncertain, concordant: bool, lines: tuple[Line, ...]) -> FoundStrength:
    if not concordant:
        lines += (
            Line(
                f"the titrations differ by more than {plain(CONCORDANT_ML)} mL: repeat until they agree",
                "common practice, no source",
            ),
        )
    strength = Strength(Decimal(f"{value:.6g}"), StrengthKind.MOL_PER_L)
    return FoundStrength(strength, result, concordant, (*lines, *result.working(), Line(f"found {result.text()}")))


def _titre(mean_ml: float, burette: Instrument, half_drop_ml: float, span_c: float) -> Contribution:
    """Combine what all titres share: the burette's tolerance, the temperature, the drop that ends them."""
    causes = (
        triangular(float(burette.tolerance)),
        rectangular(mean_ml * WATER_EXPANSION_PER_C * span_c),
        rectangular(half_drop_ml),
    )
    how = f"±{plain(burette.tolerance)} mL triangular, end point ±{half_drop_ml:g} mL, ±{span_c:g} C"
    return summed(f"titre with the {burette.name}", mean_ml, causes, "mL", how)


def _repeatability(results: Sequence[float], burette: Instrument, titre_ml: float, known: float | None) -> Contribution:
    """Find the relative scatter of the mean, never below what reading a burette twice leaves in each titre."""
    if known is not None:
        return Contribution("repeatability", 1.0, known, how="as given")
    read = readability(float(burette.resolution)) * sqrt(2) / titre_ml
    seen = stdev(results) / fmean(results) if len(results) > 1 else 0.0
    how = f"scatter of {len(results)}" if seen > read else "reading the burette twice"
    return Contribution("repeatability", 1.0, max(read, seen) / sqrt(len(results)), how=how)


def _mean_line(titres: Sequence[Decimal], mean: float) -> tuple[Line, ...]:
    if len(titres) == 1:
        return ()
    return (Line(f"mean titre of {', '.join(map(plain, titres))} mL = {mean:.5g} mL"),)


def _agree(titres: Sequence[Decimal]) -> bool:
    return max(titres) - min(titres) <= CONCORDANT_ML


def _near(results: Sequence[float], mean: float, titre_ml: float) -> bool:
    return (max(results) - min(results)) / mean * titre_ml <= float(CONCORDANT_ML) * (1 + 1e-9)


def _fillings(volume_ml: Decimal, pipette: Instrument) -> int:
    fillings = max(1, -int(-volume_ml // pipette.capacity))
    if pipette.kind is InstrumentKind.PIPETTE and volume_ml != fillings * pipette.capacity:
        raise PrepError(
            f"The {pipette.name} delivers {plain(pipette.capacity)} mL at a time, not {plain(volume_ml)} mL."
        )
    return fillings


def _check_titres(titres: Sequence[Decimal], burette: Instrument) -> Sequence[Decimal]:
    if not titres:
        raise PrepError("No titre was given; give at least one volume run from the burette.")
    if len(titres) > _MOST_TITRES:
        raise PrepError(f"{len(titres)} titres are more than the {_MOST_TITRES} that are accepted.")
    for titre in titres:
        _positive(titre, "A titre", "mL")
        if titre > burette.capacity:
            raise PrepError(
                f"A titre of {plain(titre)} mL is more than the {burette.name} holds "
                f"({plain(burette.capacity)} mL); titrate a smaller portion."
            )
    return titres


def _check_ratio(ratio: Fraction) -> None:
    if ratio <= 0:
        raise PrepError(f"A mole ratio of {ratio} is not possible; it is above 0, such as 1, 2 or 1/2.")


def _positive(value: Decimal, what: str, unit: str) -> None:
    if not value.is_finite() or value <= 0:
        raise PrepError(f"{what} is {value} {unit}; it must be above 0.")
