"""Needs stated `until pH x`: computed from what is in the vessel, beside titrations followed point by point."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from prep.chemistry.acid_base.endpoints import to_ph
from prep.chemistry.acid_base.equilibrium import mixture_of, parts_for
from prep.chemistry.acid_base.species import component
from prep.planning.engine.requirements import NeededItem, needs_of
from prep.planning.model import Booking, Demo, Horizon, Need, Snapshot
from prep.planning.ph_demand import UntilReckoner
from prep.planning.plan import make_plan
from prep.planning.set_out import ReckonedDemo
from prep.services.catalogue.on_file import OnFile

ML = 1_000_000
TODAY = date(2027, 1, 11)


@pytest.fixture(scope="module")
def reckoner(catalogue: OnFile) -> UntilReckoner:
    return UntilReckoner(catalogue)


@pytest.mark.parametrize(
    ("demo", "acid", "dish_ml", "titrant", "ph", "by_hand_ml"),
    [
        # by hand: equal equivalents
        ("salt-making", ("HCl", 1.0), 25, ("NaOH", 1.0), 7.0, 25.0),
        ("fertiliser", ("NH3", 2.0), 25, ("H2SO4", 1.0), 5.0, 25.0),
    ],
)
def test_the_shipped_demos(
    reckoner: UntilReckoner,
    catalogue: OnFile,
    demo: str,
    acid: tuple[str, float],
    dish_ml: float,
    titrant: tuple[str, float],
    ph: float,
    by_hand_ml: float,
) -> None:
    reckoned = reckoner.reckoned(catalogue.demos[demo])
    made, (until,) = reckoned.demo, reckoned.untils
    assert until.volume_nl is not None, until.why
    followed = to_ph([component(*acid)], dish_ml, [component(*titrant)], ph)
    assert until.volume_nl / ML == pytest.approx(followed.volume_ml, rel=1e-4)
    assert until.volume_nl / ML == pytest.approx(by_hand_ml, rel=0.01)
    assert until.start_ph == pytest.approx(followed.start_ph, abs=0.01)
    assert made.needs[1].per_showing == until.volume_nl
    assert any("charges balance" in line.text and line.source for line in until.working)


@given(
    st.sampled_from(["HCl", "acetic acid", "citric acid", "H3PO4", "NH4Cl", "NaHCO3"]),
    st.floats(0.001, 0.4),
    st.floats(0.01, 0.5),
    st.floats(3, 11),
)
@settings(max_examples=40, deadline=None)
def test_the_quick_form_is_the_titration_followed(what: str, dish: float, base: float, ph: float) -> None:
    there, added = [component(what, dish)], [component("NaOH", base)]
    parts = parts_for(mixture_of(there), mixture_of(added), ph)
    if parts is None:  # the dish is past that pH already, so that only an acid brings it there
        added = [component("HCl", 1)]
        parts = parts_for(mixture_of(there), mixture_of(added), ph)
        followed = to_ph(there, 10, added, ph)
        assert followed.start_ph >= ph
        assert parts is not None
        assert parts * 10 == pytest.approx(followed.volume_ml, rel=1e-6, abs=1e-9)
    else:
        assert parts * 10 == pytest.approx(to_ph(there, 10, added, ph).volume_ml, rel=1e-6, abs=1e-9)


def demo_of(*needs: Need, spare: str = "0.1") -> Demo:
    return Demo("d", "D", needs, Decimal(spare))


def test_a_buffer_made_by_recipe_is_counted_by_what_is_in_it(reckoner: UntilReckoner, catalogue: OnFile) -> None:
    recipe = catalogue.solutions["buffer-4.6"]
    assert recipe.recipe
    demo = demo_of(Need("buffer-4.6", 20 * ML, "beaker"), Need("naoh-1", 9 * ML, "beaker", until="pH 7.0"))
    (until,) = reckoner.reckoned(demo).untils
    assert until.volume_nl is not None, until.why
    assert until.start_ph == pytest.approx(4.6, abs=0.15)
    assert 0 < until.volume_nl < 9 * ML
    assert until.drops is not None
    assert until.drops.fewest <= until.drops.count == -(-until.volume_nl * 20 // ML) <= until.drops.most


def test_an_indicator_counts_as_water_and_other_vessels_do_not_count(reckoner: UntilReckoner) -> None:
    acid, base = Need("hcl-1", 25 * ML, "beaker"), Need("naoh-1", ML, "beaker", until="pH 7.0")
    alone = reckoner.reckoned(demo_of(acid, base)).untils[0].volume_nl
    drop = Need("phenolphthalein-1", ML // 10, "beaker")
    elsewhere = Need("hcl-1", 500 * ML, "flask")
    assert alone is not None
    assert reckoner.reckoned(demo_of(acid, drop, elsewhere, base)).untils[0].volume_nl == pytest.approx(alone, rel=1e-5)


def test_one_after_another(reckoner: UntilReckoner) -> None:
    there = Need("hcl-1", 25 * ML, "beaker")
    up, down = Need("naoh-1", 1, "beaker", until="pH 11.0"), Need("hcl-0.1", 1, "beaker", until="pH 7.0")
    first, second = reckoner.reckoned(demo_of(there, up, down)).untils
    assert first.volume_nl is not None
    assert second.volume_nl is not None
    assert first.volume_nl > 25 * ML
    assert second.volume_nl == pytest.approx((first.volume_nl - 25 * ML) * 10, rel=0.01)


@pytest.mark.parametrize(
    ("there", "titrant", "until", "why"),
    [
        ("benedict", "naoh-1", "pH 12.0", "not among the acids"),
        ("hcl-1", "hcl-2", "pH 7.0", "does not bring"),
        ("hcl-1", "sodium-chloride", "pH 7.0", "weighed"),
        ("magnesium-ribbon", "hcl-1", "pH 2.0", "not among"),
    ],
)
def test_what_cannot_be_computed_keeps_its_own_figure_and_says_why(
    reckoner: UntilReckoner, there: str, titrant: str, until: str, why: str
) -> None:
    demo = demo_of(Need(there, ML, "beaker"), Need(titrant, 7 * ML, "beaker", until=until))
    reckoned = reckoner.reckoned(demo)
    made, (found,) = reckoned.demo, reckoned.untils
    assert made == demo
    assert found.volume_nl is None
    assert why in found.why


def school(catalogue: OnFile, demo: Demo) -> Snapshot:
    from prep.planning.model import Calendar

    booking = Booking("B1", TODAY + timedelta(days=2), "P1", "Lab", "A. Teacher", demo.code, 3)
    return Snapshot(
        TODAY,
        catalogue,
        {demo.code: demo},
        (booking,),
        (),
        (),
        {},
        tuple(catalogue.instruments),
        Calendar(),
    )


def test_the_plan_provides_that_much_with_its_spare(reckoner: UntilReckoner, catalogue: OnFile) -> None:
    demo = catalogue.demos["salt-making"]
    plan = make_plan(school(catalogue, demo), Horizon(TODAY, TODAY + timedelta(days=7)))
    reckoned = reckoner.reckoned(demo)
    made, (until,) = reckoned.demo, reckoned.untils
    need = next(r for r in plan.requirements if r.item == "naoh-1")
    assert until.volume_nl is not None
    assert need.amount == needs_of(made, 3)[NeededItem("naoh-1", False)]
    assert need.amount == pytest.approx(until.volume_nl * 3 * 1.1 + 10 * ML, abs=1)
    assert not [f for f in plan.findings if f.code == "until-not-computed"]


def test_the_plan_says_where_the_demos_own_figure_stands(catalogue: OnFile) -> None:
    demo = demo_of(Need("benedict", 20 * ML, "beaker"), Need("naoh-1", 7 * ML, "beaker", until="pH 12.0"))
    plan = make_plan(school(catalogue, demo), Horizon(TODAY, TODAY + timedelta(days=7)))
    (noted,) = [f for f in plan.findings if f.code == "until-not-computed"]
    assert noted.severity == "note"
    need = next(r for r in plan.requirements if r.item == "naoh-1")
    assert need.amount == round(7 * ML * 3 * 1.1)


def test_a_demo_without_such_needs_is_left_alone(reckoner: UntilReckoner) -> None:
    demo = demo_of(Need("hcl-1", 25 * ML, "beaker"))
    assert reckoner.reckoned(demo) == ReckonedDemo(demo)
    assert replace(demo) == demo
