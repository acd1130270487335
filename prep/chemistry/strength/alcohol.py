"""Ethanol and water: density, strength by mass and by volume, and what to mix, contraction included.

International alcoholometric formula, OIML R 22 (1975); all masses are conserved, volumes are not.
"""

from collections.abc import Callable, Sequence
from decimal import Decimal

from prep.chemistry.model import Line, PouredPart, Strength, StrengthKind
from prep.chemistry.quantities import plain
from prep.errors import PrepError
from prep.records import record

SOURCE = "OIML R 22 (1975), International Alcoholometric Tables; Council Directive 76/766/EEC, annex"

_A = (
    9.982012300e2,
    -1.929769495e2,
    3.891238958e2,
    -1.668103923e3,
    1.352215441e4,
    -8.829278388e4,
    3.062874042e5,
    -6.138381234e5,
    7.470172998e5,
    -5.478461354e5,
    2.234460334e5,
    -3.903285426e4,
)
_B = (
    -2.0618513e-01,
    -5.2682542e-03,
    3.6130013e-05,
    -3.8957702e-07,
    7.1693540e-09,
    -9.9739231e-11,
)
_C = (
    (
        1.693443461530087e-1,
        -1.046914743455169e1,
        7.196353469546523e1,
        -7.047478054272792e2,
        3.924090430035045e3,
        -1.210164659068747e4,
        2.248646550400788e4,
        -2.605562982188164e4,
        1.852373922069467e4,
        -7.420201433430137e3,
        1.285617841998974e3,
    ),
    (
        -1.193013005057010e-2,
        2.517399633803461e-1,
        -2.170575700536993,
        1.353034988843029e1,
        -5.029988758547014e1,
        1.096355666577570e2,
        -1.422753946421155e2,
        1.080435942856230e2,
        -4.414153236817392e1,
        7.442971530188783,
    ),
    (
        -6.802995733503803e-4,
        1.876837790289664e-2,
        -2.002561813734156e-1,
        1.022992966719220,
        -2.895696483903638,
        4.810060584300675,
        -4.672147440794683,
        2.458043105903461,
        -5.411227621436812e-1,
    ),
    (
        4.075376675622027e-6,
        -8.763058573471110e-6,
        6.515031360099368e-6,
        -1.515784836987210e-6,
    ),
    (
        -2.788074354782409e-8,
        1.345612883493354e-8,
    ),
)

_WORDS = "An ethanol strength is given in % v/v or % w/w, from 0 to 100"


@record(frozen=True, slots=True)
class AlcoholDilution:
    """What to measure, at `temperature_c`, for `volume_ml` of the weaker alcohol.

    `contraction_ml` is by how much stock and water together exceed the volume they make.
    """

    take_ml: Decimal
    water_ml: Decimal
    volume_ml: Decimal
    contraction_ml: Decimal
    strength: Strength
    temperature_c: Decimal
    working: tuple[Line, ...]


@record(frozen=True, slots=True)
class AlcoholBlend:
    """What several portions of alcohol (or water) make together."""

    volume_ml: Decimal
    strength: Strength
    working: tuple[Line, ...]


def density_g_ml(pct_w_w: float, temperature_c: float = 20.0) -> float:
    """Compute the density [g/mL] of ethanol in water at `pct_w_w` [% w/w] and a temperature [-20 to 40 degC].

    rho(p, t) = A1 + sum A_k p^(k-1) + sum B_k (t-20)^k + sum C_ik p^k (t-20)^i, p the mass fraction
    (OIML R 22). Raises PrepError outside those limits.
    """
    if not 0 <= pct_w_w <= 100:
        raise PrepError(f"{_WORDS}; {pct_w_w:g} % w/w is neither.")
    if not -20 <= temperature_c <= 40:
        raise PrepError(f"The alcohol tables cover -20 to 40 degC, not {temperature_c:g} degC.")
    p, dt = pct_w_w / 100, temperature_c - 20
    rho = _polynomial(_A, p) + dt * _polynomial(_B, dt)
    for power, coefficients in enumerate(_C, start=1):
        rho += dt**power * p * _polynomial(coefficients, p)
    return rho / 1000


def v_v_from_w_w(pct_w_w: float) -> float:
    """Convert % w/w of ethanol to % v/v (at 20 degC): q = p rho(p, 20) / rho(1, 20) (OIML R 22)."""
    return pct_w_w * density_g_ml(pct_w_w) / density_g_ml(100)


def w_w_from_v_v(pct_v_v: float) -> float:
    """Convert % v/v of ethanol (at 20 degC) to % w/w; PrepError outside 0 to 100."""
    if not 0 <= pct_v_v <= 100:
        raise PrepError(f"{_WORDS}; {pct_v_v:g} % v/v is neither.")
    return _bisect(v_v_from_w_w, pct_v_v)


def pct_w_w(strength: Strength) -> float:
    """Convert an ethanol strength given in % v/v or % w/w to % w/w; PrepError for another kind."""
    if strength.kind is StrengthKind.PCT_V_V:
        return w_w_from_v_v(float(strength.value))
    if strength.kind is StrengthKind.PCT_W_W:
        density_g_ml(float(strength.value))  # the limits
        return float(strength.value)
    raise PrepError(f"{_WORDS}, not in {strength.kind.value}.")


def dilute(
    source: Strength, target: Strength, volume_ml: Decimal, temperature_c: Decimal = Decimal(20)
) -> AlcoholDilution:
    """Work out stock and water for `volume_ml` [mL] of `target`, all measured at `temperature_c` [degC].

    Strengths in % v/v (at 20 degC) or % w/w. Mass of product = volume x density; stock = that mass x p2/p1;
    water = the rest. Raises PrepError for a target stronger than the source, or out of range.
    """
    if volume_ml <= 0:
        raise PrepError("The volume to make must be more than nothing.")
    p1, p2 = pct_w_w(source), pct_w_w(target)
    t = float(temperature_c)
    if p2 > p1 or p1 == 0:
        raise PrepError(f"Ethanol of {source} cannot be diluted to {target}, which is stronger.")
    made_g = float(volume_ml) * density_g_ml(p2, t)
    stock_g = made_g * p2 / p1
    water_g = made_g - stock_g
    take, water = stock_g / density_g_ml(p1, t), water_g / density_g_ml(0, t)
    working = (
        _strength_line(source, p1, t),
        _strength_line(target, p2, t),
        Line(
            f"{_f(float(volume_ml))} mL x {density_g_ml(p2, t):.5f} g/mL = {_f(made_g)} g to make, "
            f"which holds {_f(made_g * p2 / 100)} g of ethanol"
        ),
        Line(
            f"stock: {_f(made_g * p2 / 100)} g / {p1 / 100:.5f} = {_f(stock_g)} g = {_f(take)} mL; water: "
            f"{_f(made_g)} - {_f(stock_g)} = {_f(water_g)} g = {_f(water)} mL at {t:g} degC"
        ),
        Line(
            f"together {_f(take + water)} mL shrink to {_f(float(volume_ml))} mL: contraction "
            f"{_f(take + water - float(volume_ml))} mL; make up to the mark with the last of the water"
        ),
    )
    return AlcoholDilution(
        _decimal(take),
        _decimal(water),
        volume_ml,
        _decimal(take + water - float(volume_ml)),
        target,
        temperature_c,
        working,
    )


def blend(portions: Sequence[PouredPart], temperature_c: Decimal = Decimal(20)) -> AlcoholBlend:
    """Work out volume and strength [% v/v] of portions mixed at `temperature_c` [degC].

    Masses of ethanol and of water are conserved. Raises PrepError
    for no portions or a strength out of range.
    """
    t = float(temperature_c)
    if not portions or min(one.volume_ml for one in portions) <= 0:
        raise PrepError("There is nothing to mix: every portion needs a volume.")
    shares = [pct_w_w(one.strength) for one in portions]
    masses = [float(one.volume_ml) * density_g_ml(p, t) for one, p in zip(portions, shares, strict=True)]
    total = sum(masses)
    p_made = sum(m * p for m, p in zip(masses, shares, strict=True)) / total
    volume, parts = total / density_g_ml(p_made, t), float(sum(one.volume_ml for one in portions))
    made = Strength(_decimal(v_v_from_w_w(p_made)), StrengthKind.PCT_V_V)
    working = (
        *(_strength_line(one.strength, p, t) for one, p in zip(portions, shares, strict=True)),
        Line(f"masses {' + '.join(map(_f, masses))} = {_f(total)} g, of which {p_made:.4f} % w/w is ethanol"),
        Line(
            f"{_f(total)} g / {density_g_ml(p_made, t):.5f} g/mL = {_f(volume)} mL of "
            f"{_f(float(made.value))} % v/v; contraction {_f(parts - volume)} mL"
        ),
    )
    return AlcoholBlend(_decimal(volume), made, working)


def _strength_line(strength: Strength, p: float, t: float) -> Line:
    return Line(f"ethanol of {strength} is {p:.4f} % w/w, density {density_g_ml(p, t):.5f} g/mL at {t:g} degC", SOURCE)


def _polynomial(coefficients: Sequence[float], x: float) -> float:
    value = 0.0
    for c in reversed(coefficients):
        value = value * x + c
    return value


def _bisect(rising: Callable[[float], float], wanted: float) -> float:
    if wanted <= 0:
        return 0.0
    low, high = 0.0, 100.0
    for _ in range(60):
        middle = (low + high) / 2
        if rising(middle) < wanted:
            low = middle
        else:
            high = middle
    return high if high == 100.0 else (low + high) / 2


def _decimal(value: float) -> Decimal:
    return Decimal(f"{value:.9g}")


def _f(value: float) -> str:
    return plain(Decimal(f"{value:.5g}"))
