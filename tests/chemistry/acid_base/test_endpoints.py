"""End points against published titrations and PHREEQC, drops, the curve and its plot."""

import csv
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from prep.chemistry.acid_base.buffers import shift
from prep.chemistry.acid_base.endpoints import Dropper, drops_of, plot, through, to_ph, whole_drops
from prep.chemistry.acid_base.indicators import indicator, shade_at
from prep.chemistry.acid_base.species import component
from prep.errors import PrepError
from tests.acidbase_mixtures import written

with (Path(__file__).parents[1] / "data" / "endpoints.csv").open(encoding="utf-8") as file:
    ROWS = list(csv.DictReader(file))

HCL = [component("HCl", 0.1)]
NAOH = [component("NaOH", 0.1)]


def label(row: dict[str, str]) -> str:
    return f"{row['dish'] or 'water'}+{row['titrant']}->{row['ph']}"


@pytest.mark.parametrize("row", ROWS, ids=label)
def test_the_volume_at_the_end_point_agrees_with_published_titrations(row: dict[str, str]) -> None:
    dish, titrant = written(row["dish"], per_litre=True), written(row["titrant"], per_litre=True)
    tolerance = float(row["tolerance"])
    answer = to_ph(dish, float(row["dish_ml"]), titrant, float(row["ph"]))
    ideal = to_ph(dish, float(row["dish_ml"]), titrant, float(row["ph"]), activities=False)
    assert ideal.volume_ml == pytest.approx(float(row["ideal_ml"]), rel=min(tolerance, 0.003))
    if row["phreeqc_ml"]:
        boron = "B" in row["dish"]  # whose polynuclear ions those programs lack
        assert answer.volume_ml == pytest.approx(float(row["phreeqc_ml"]), rel=0.05 if boron else tolerance)
        assert answer.volume_ml == pytest.approx(float(row["davies_ml"]), rel=0.05)  # theirs has b = 0.3


# The rules of thumb below: common practice, no source.
def test_water_needs_about_25_fine_drops_to_ph_2_5() -> None:
    answer = to_ph([], 25, HCL, 2.5, Dropper(30, 20))
    assert answer.drops is not None
    assert 23 <= answer.drops.count <= 28
    assert answer.drops.fewest < 25 < answer.drops.most


def test_an_acetate_buffer_keeps_its_colour_through_300_drops() -> None:
    buffer = [component("acetic acid", 0.1), component("sodium acetate", 0.1)]
    moved = shift(buffer, 25, HCL, 300 / 30)
    blue = indicator("thymol blue")
    assert moved.after.ph > 4
    assert shade_at(blue, moved.before.ph) == shade_at(blue, moved.after.ph)
    assert shade_at(blue, shift([], 25, HCL, 40 / 30).after.ph).state == "changing"


def test_one_drop_of_alkali_takes_water_past_ph_8() -> None:
    assert shift([], 25, NAOH, 1 / 30).after.ph > 8
    assert shift([], 25, NAOH, 1 / 20).after.ph > 8


def test_ten_times_the_strength_gives_ten_times_the_capacity() -> None:
    needed = []
    for strength in (0.01, 0.1):
        buffer = [component("acetic acid", strength), component("sodium acetate", strength)]
        needed.append(to_ph(buffer, 25, HCL, 4.0).volume_ml)
    # More acid also means more volume and more ions: ten, within a part in six.
    assert needed[1] / needed[0] == pytest.approx(10, rel=0.17)
    ideal = [
        to_ph(
            [component("acetic acid", s), component("sodium acetate", s)],
            25,
            [component("HCl", 10)],
            4.0,
            activities=False,
        ).volume_ml
        for s in (0.01, 0.1)
    ]
    assert ideal[1] / ideal[0] == pytest.approx(10, rel=0.02)


def test_drops_per_ml() -> None:
    assert drops_of(1.0, Dropper(20)).count == 20
    assert drops_of(1.001, Dropper(20)).count == 21
    assert drops_of(2.0, Dropper(20, 20)) == drops_of(2.0, Dropper(20, 20))
    spread = drops_of(2.0, Dropper(20, 20))
    assert (spread.fewest, spread.count, spread.most) == (32, 40, 48)


def test_through_an_indicator() -> None:
    acid = [component("acetic acid", 0.1)]
    passage = through(acid, 25, NAOH, indicator("phenolphthalein"), Dropper(20, 10))
    assert (passage.colour_before, passage.colour_after) == ("colourless", "pink")
    assert 24.99 < passage.begins.volume_ml < passage.ends.volume_ml < 25.2
    back = through(NAOH, 25, HCL, indicator("phenolphthalein"))
    assert (back.colour_before, back.colour_after) == ("pink", "colourless")
    assert back.begins.ph == 10
    assert back.ends.ph == 8.2
    with pytest.raises(PrepError, match="no change above"):
        through(NAOH, 25, [component("NaOH", 1)], indicator("methyl orange"))
    inside = through([], 25, HCL, indicator("bromothymol blue"))
    assert inside.begins.volume_ml == 0
    assert inside.ends.volume_ml > 0


def test_two_changes_are_met_in_turn() -> None:
    blue = indicator("thymol blue")
    up = through([component("HCl", 0.5)], 10, [component("NaOH", 1)], blue)
    assert (up.colour_before, up.colour_after) == ("red", "yellow")
    down = through([component("NaOH", 0.5)], 10, [component("HCl", 1)], blue)
    assert (down.colour_before, down.colour_after) == ("blue", "yellow")


def test_a_ph_never_reached_names_the_limit() -> None:
    with pytest.raises(PrepError, match=r"pH 0\.5 is not reached: the dish starts at pH 7\.00"):
        to_ph([], 25, HCL, 0.5)
    with pytest.raises(PrepError, match="not reached"):
        to_ph([], 25, HCL, 9)
    with pytest.raises(PrepError, match="0 to 14"):
        to_ph([], 25, HCL, 15)
    with pytest.raises(PrepError, match="more than nothing"):
        to_ph([], 0, HCL, 3)
    with pytest.raises(PrepError, match="no dropper"):
        Dropper(0)


def test_the_model_s_limit_is_passed_on() -> None:
    answer = to_ph([component("KH2PO4", 1)], 100, [component("NaOH", 5)], 7)
    assert not answer.valid
    assert "Ionic strength" in answer.note
    weak = to_ph([component("NaCl", 0.9)], 10, [component("HCl", 0.01)], 2.2)
    assert not weak.valid


def test_the_curve_rises_to_the_end_point_and_past_it() -> None:
    answer = to_ph([component("acetic acid", 0.1)], 25, NAOH, 8.7)
    volumes, phs = zip(*answer.curve, strict=True)
    assert list(volumes) == sorted(volumes)
    assert list(phs) == sorted(phs)
    assert volumes[0] == 0
    assert volumes[-1] == pytest.approx(1.5 * answer.volume_ml)
    assert phs[0] == pytest.approx(answer.start_ph)
    assert phs[0] < 8.7 < phs[-1]


def test_the_plot_fits_a_terminal() -> None:
    answer = to_ph([component("acetic acid", 0.1)], 25, NAOH, 8.7)
    lines = plot(answer.curve, (answer.volume_ml, 8.7))
    assert all(len(line) <= 80 and line.isascii() for line in lines)
    assert sum(line.count("O") for line in lines) == 1
    assert lines[0] == "pH"
    assert lines[-1].rstrip().endswith("mL")
    top, bottom = (next(i for i, line in part if "*" in line) for part in (enumerate(lines), _reversed(lines)))
    assert lines[top].rindex("*") > lines[bottom].index("*")
    with pytest.raises(PrepError):
        plot(answer.curve[:1])


def _reversed(lines: tuple[str, ...]) -> list[tuple[int, str]]:
    return list(enumerate(lines))[::-1]


@given(
    st.sampled_from(["HCl", "CH3COOH", "KH2PO4", "C6H8O7", "NH4Cl"]),
    st.floats(0.001, 0.1),
    st.floats(1, 500),
    st.floats(3, 11),
)
@settings(max_examples=60, deadline=None)
def test_the_volume_found_gives_the_ph(formula: str, strength: float, dish_ml: float, ph: float) -> None:
    dish = [component(formula, strength)]
    base = [component("NaOH", 0.5)]
    if to_start(dish) >= ph:
        return
    answer = to_ph(dish, dish_ml, base, ph)
    assert shift(dish, dish_ml, base, answer.volume_ml).after.ph == pytest.approx(ph, abs=1e-6)


def to_start(dish: list) -> float:  # type: ignore[type-arg]
    return shift(dish, 1, [], 0).before.ph


@pytest.mark.parametrize(("exact", "drops"), [(0.0, 0), (1e-4, 1), (25.0000001, 25), (500.005, 500), (500.02, 501)])
def test_a_hundredth_of_a_drop_is_none(exact: float, drops: int) -> None:
    """Equal strengths and volumes meet at a whole number of drops: common practice, no source."""
    assert whole_drops(exact) == drops
