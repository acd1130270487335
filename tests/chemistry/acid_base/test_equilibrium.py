"""pH against certified buffers, PHREEQC, textbooks and pharmacopoeial tables, and what must hold for any mixture."""

import csv
import math
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from prep.chemistry.acid_base import activity, polyborates
from prep.chemistry.acid_base.equilibrium import Mixture, capacity, mixture_of, ph_of, solve
from prep.chemistry.acid_base.species import Component, component, system
from prep.errors import PrepError
from tests.acidbase_mixtures import FORMULAS, drawn, written
from tests.phreeqc import Judge

DATA = Path(__file__).parents[1] / "data"


BORATES = ("H3BO3", "Na2B4O7")
"""Whose polynuclear ions the judge's database lacks."""


def rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


def label(row: dict[str, str]) -> str:
    return f"{row['composition']}@{row.get('temperature_c', '25')}"


def charge_left(parts: list[Component], ph: float, strength: float, temperature_c: float) -> float:
    """Charge of the solution at that pH, summed over every form from the definitions of its constants."""
    af = activity.debye_huckel_a(temperature_c) * activity.davies(strength)

    def gamma(z: int) -> float:
        return 10 ** (-af * z * z)

    activity_h = 10**-ph
    kw = 10 ** -activity.pkas("water", temperature_c)[0]
    total = activity_h / gamma(1) - kw / activity_h / gamma(1)
    for part in parts:
        total += part.species.charge * part.mol_per_kg
        for unit in part.species.systems:
            key, count = unit.key, unit.count
            if key == "borate":
                continue
            of = system(key)
            forms, z = [1.0], of.top_charge
            for pka in activity.pkas(key, temperature_c):
                forms.append(forms[-1] * 10**-pka / activity_h * gamma(z) / gamma(z - 1))
                z -= 1
            share = [form / sum(forms) for form in forms]
            total += count * part.mol_per_kg * sum(s * (of.top_charge - j) for j, s in enumerate(share))
    boron = sum(part.species.count_of("borate") * part.mol_per_kg for part in parts)
    if boron:
        total -= _borate_charge(boron, activity_h, gamma(1), temperature_c)
    return total


def _borate_charge(boron: float, activity_h: float, gamma_1: float, temperature_c: float) -> float:
    """Charge of boric acid's ions by halving on what is left of the acid; three of them where boron is not dilute."""
    logs = polyborates.constants(temperature_c) if boron > polyborates.LEAST else (-math.inf, -math.inf)
    one, two, three = (10**log / activity_h / gamma_1 for log in (-activity.pkas("borate", temperature_c)[0], *logs))
    low, high = 0.0, boron
    for _ in range(200):
        m = (low + high) / 2
        held = m + m * one + 2 * m * m * two + 3 * m**3 * three
        low, high = (m, high) if held < boron else (low, m)
    return low * one + low * low * two + low**3 * three


# Certified values: tests/chemistry/data/ph_standards.csv names the publication of each.
@pytest.mark.parametrize("row", rows("ph_standards.csv"), ids=label)
def test_the_ph_of_certified_standards_is_reproduced(row: dict[str, str]) -> None:
    answer = ph_of(written(row["composition"]), float(row["temperature_c"]))
    assert answer.ph == pytest.approx(float(row["ph"]), abs=float(row["tolerance"]))
    assert answer.valid
    assert float(row["tolerance"]) <= (0.02 if row["temperature_c"] == "25" else 0.03)


@pytest.mark.parametrize("row", rows("ph_phreeqc.csv"), ids=label)
def test_phreeqc_with_other_databases(row: dict[str, str]) -> None:
    answer = ph_of(written(row["composition"]), float(row["temperature_c"]))
    assert answer.ph == pytest.approx(float(row["ph"]), abs=float(row["tolerance"]))


@pytest.mark.parametrize("row", rows("ph_textbook.csv"), ids=label)
def test_textbook_ideal_answers(row: dict[str, str]) -> None:
    constants = {"water": (14.0,)}
    if row["pka"]:
        key, pka = row["pka"].split("=")
        constants[key] = (float(pka),)
    parts = written(row["composition"], per_litre=True)
    answer = ph_of(parts, activities=False, constants=constants)
    assert answer.ph == pytest.approx(float(row["ph"]), abs=float(row["tolerance"]))
    assert (answer.model, answer.valid) == ("ideal", True)


# Pharmacopoeial and handbook tables; those on the older scales carry the tolerance that their source needs.
@pytest.mark.parametrize("row", rows("ph_buffer_tables.csv"), ids=label)
def test_the_ph_of_published_buffer_tables_is_reproduced(row: dict[str, str]) -> None:
    answer = ph_of(written(row["composition"], per_litre=True), float(row["temperature_c"]))
    assert answer.ph == pytest.approx(float(row["ph"]), abs=float(row["tolerance"]))


def test_phreeqc_on_random_mixtures() -> None:
    """300 mixtures to I = 0.05, where b = 0.24 and PHREEQC's 0.3 are alike; its inorganic constants are its own."""
    judge = Judge()
    cases = drawn(300, seed=3, highest_i=0.05, without=BORATES)
    worst = max(abs(ph_of(parts).ph - judge.ph(parts)) for parts in cases)
    assert worst <= 0.03


@pytest.mark.parametrize("temperature_c", [10.0, 40.0])
def test_phreeqc_at_other_temperatures(temperature_c: float) -> None:
    judge = Judge()
    cases = drawn(100, seed=5, highest_i=0.05, without=BORATES)
    worst = max(abs(ph_of(parts, temperature_c).ph - judge.ph(parts, temperature_c)) for parts in cases)
    assert worst <= 0.03


def test_phreeqc_with_its_own_activity_coefficients() -> None:
    """To I = 0.05 the models agree; further up they part by up to 0.12 (disodium hydrogen phosphate at 0.28)."""
    judge = Judge(own_coefficients=True)
    worst = max(abs(ph_of(parts).ph - judge.ph(parts)) for parts in drawn(200, seed=3, highest_i=0.05, without=BORATES))
    assert worst <= 0.03


def test_pure_water_is_at_half_its_ion_product() -> None:
    assert ph_of([]).ph == pytest.approx(13.997 / 2, abs=1e-4)
    assert ph_of([component("NaCl", 0.1)]).ph == pytest.approx(6.998, abs=0.005)
    assert ph_of([], 37).ph == pytest.approx(13.62 / 2, abs=0.01)


def test_limewater_has_its_measured_ph() -> None:
    """0.0203 mol/kg Ca(OH)2, pH 12.454 at 25 degC: Bates, Bower & Smith, J. Res. NBS 56 (1956) 305."""
    answer = ph_of([component("calcium hydroxide", 0.0203, per_litre=False)])
    assert answer.ph == pytest.approx(12.454, abs=0.02)


def test_debye_huckel_constant() -> None:
    """A at 25 degC 0.5092 to 0.5115 and at 37 degC 0.5215: Robinson & Stokes, Electrolyte Solutions, appendix."""
    assert activity.debye_huckel_a(25) == pytest.approx(0.511, abs=0.001)
    assert activity.debye_huckel_a(0) == pytest.approx(0.491, abs=0.002)
    assert activity.debye_huckel_a(37) == pytest.approx(0.521, abs=0.002)


def test_strong_solutions_are_marked() -> None:
    answer = ph_of([component("KH2PO4", 0.5), component("Na2HPO4", 0.5)])
    assert not answer.valid
    assert "0.5" in answer.note
    assert answer.note.count(".") >= 1
    assert ph_of([component("NaCl", 0.49)]).valid
    assert not ph_of([component("NaCl", 0.51)]).valid
    assert ph_of([component("NaCl", 0.51)], activities=False).valid


def test_working_can_be_checked_by_hand() -> None:
    answer = ph_of([component("acetic acid", 0.1), component("sodium acetate", 0.1)])
    text = "\n".join(line.text for line in answer.working)
    for figure in ("Na+ 0.1", "4.756", "0.1 mol/kg", "13.997", "mol/L is taken as mol per kg", f"{answer.ph:.3f}"):
        assert figure in text
    assert any("Goldberg" in line.source for line in answer.working)


def test_what_is_left_out_is_said() -> None:
    assert "carbon dioxide" in ph_of([component("Na2CO3", 0.1)]).note
    assert "solid" in ph_of([component("CaCl2", 0.01), component("Na2CO3", 0.01)]).note
    assert "25 degC" in ph_of([component("benzoic acid", 0.01)], 40).note
    assert ph_of([component("benzoic acid", 0.01)]).note == ""


def test_what_is_out_of_range_or_unknown_has_no_ph() -> None:
    with pytest.raises(PrepError, match="0 to 60"):
        ph_of([], 90)
    with pytest.raises(PrepError, match="0 to 100"):
        component("HCl", -0.1)
    with pytest.raises(PrepError, match="0 to 100"):
        component("HCl", float("nan"))


def test_capacity_is_van_slykes() -> None:
    """beta = ln 10 (C Ka h/(Ka + h)^2 + h + Kw/h): D. D. Van Slyke, J. Biol. Chem. 52 (1922) 525."""
    mixture = mixture_of([component("acetic acid", 0.1), component("sodium acetate", 0.1)])
    h, ka = 10 ** -solve(mixture, activities=False).ph, 10**-4.756
    expected = math.log(10) * (0.2 * ka * h / (ka + h) ** 2 + h + 10**-13.997 / h)
    assert capacity(mixture, activities=False) == pytest.approx(expected, rel=1e-4)
    assert capacity(mixture) == pytest.approx(expected, rel=0.05)


MIXTURES = st.lists(
    st.builds(
        component, st.sampled_from((*FORMULAS, "CaCl2", "Na2H2C10H12N2O8")), st.floats(0, 20), per_litre=st.just(False)
    ),
    max_size=6,
)
SMALL = st.lists(
    st.builds(component, st.sampled_from(FORMULAS), st.floats(0, 0.05), per_litre=st.just(False)), max_size=6
)


@given(MIXTURES, st.floats(0, 60), st.booleans())
@settings(max_examples=200, deadline=None)
def test_any_mixture_has_an_answer(parts: list[Component], temperature_c: float, activities: bool) -> None:
    found = solve(mixture_of(parts), temperature_c, activities=activities)
    assert -4 < found.ph < 19
    assert 0 <= found.ionic_strength < 1000


@given(MIXTURES, st.floats(0, 60))
@settings(max_examples=150, deadline=None)
def test_the_charge_balance_closes(parts: list[Component], temperature_c: float) -> None:
    found = solve(mixture_of(parts), temperature_c)
    scale = 1e-7 + sum(p.mol_per_kg for p in parts)
    assert abs(charge_left(parts, found.ph, found.ionic_strength, temperature_c)) <= 1e-7 * scale


@given(SMALL, st.floats(1e-6, 0.05), st.sampled_from(["NaOH", "KOH", "NH3", "C4H11NO3"]))
@settings(max_examples=150, deadline=None)
def test_ph_rises_as_base_is_added(parts: list[Component], amount: float, base: str) -> None:
    before = solve(mixture_of(parts), activities=False).ph
    after = solve(mixture_of([*parts, component(base, amount)]), activities=False).ph
    # A weak base raises pH only while it is the stronger one; a strong base always does.
    if base in ("NaOH", "KOH") or before < 8:
        assert after > before
    if base in ("NaOH", "KOH"):
        assert solve(mixture_of([*parts, component(base, amount)])).ph > solve(mixture_of(parts)).ph - 0.02


@given(SMALL)
@settings(max_examples=100, deadline=None)
def test_no_second_root(parts: list[Component]) -> None:
    """The charge at the ionic strength found is positive everywhere below the answer and negative above."""
    found = solve(mixture_of(parts))
    ph, strength = found.ph, found.ionic_strength
    for away in (0.01, 0.1, 1, 3, 6):
        assert charge_left(parts, ph - away, strength, 25) > 0 > charge_left(parts, ph + away, strength, 25)


def test_order_and_splitting_do_not_matter() -> None:
    parts = written("C6H8O7=0.03;Na2HPO4=0.04;NH3=0.01")
    halves = [Component(p.species, p.mol_per_kg / 2) for p in reversed(parts)] * 2
    assert ph_of(halves).ph == pytest.approx(ph_of(parts).ph, abs=1e-9)
    diluted = mixture_of(parts).scaled(0.5)
    assert solve(diluted).ph == pytest.approx(ph_of([Component(p.species, p.mol_per_kg / 2) for p in parts]).ph)
    assert isinstance(diluted, Mixture)
