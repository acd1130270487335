"""What a dish shows on the way: every change, what it shows after so many drops, and the curve that is drawn."""

import csv
import io
from pathlib import Path

import pytest

from prep.errors import PrepError
from prep.reports.curves import curve_of, curves_csv, picture
from prep.services.calc import equilibrium
from prep.services.calc.equilibrium import BufferQuestion, EndpointQuestion

BUFFERED = ("acetic acid 0.1 mol/L", "sodium acetate 0.1 mol/L")


def test_a_buffer_of_the_same_volume_shows_no_change_after_300() -> None:
    """common practice, no source: a check value of the trade."""
    asked = EndpointQuestion("25 mL", ["HCl 0.1 mol/L"], BUFFERED, None, "thymol blue", 30.0, None, "25", False, (300,))
    found = equilibrium.endpoint(asked)
    (after,) = found.document["after"]
    assert after["colour"] == "yellow"
    assert found.document["start_ph"] - after["ph"] < 0.5
    assert any("still yellow" in line for line in found.says)
    water = EndpointQuestion("25 mL", ["HCl 0.1 mol/L"], (), None, "thymol blue", 30.0, None, "25", False, (300,))
    assert equilibrium.endpoint(water).document["after"][0]["colour"] != "yellow"


def test_every_band_of_an_indicator_is_told_in_order() -> None:
    asked = EndpointQuestion("5 mL", ["NaOH 0.1 mol/L"], ["acetic acid 0.1 mol/L"], None, "universal indicator")
    changes = equilibrium.endpoint(asked).document["changes"]
    assert [one["to"] for one in changes] == ["orange", "yellow", "green", "blue", "indigo", "violet"]
    ends = [one["complete"]["volume"]["value"] for one in changes]
    assert ends == sorted(ends)
    two = EndpointQuestion("5 mL", ["NaOH 0.1 mol/L"], ["HCl 0.1 mol/L"], None, "thymol blue")
    assert [one["to"] for one in equilibrium.endpoint(two).document["changes"]] == ["yellow", "blue"]


def test_drops_alone_are_a_question() -> None:
    asked = EndpointQuestion("10 mL", ["NaOH 0.1 mol/L"], ["HCl 0.1 mol/L"], after=(0, 100, 400))
    after = equilibrium.endpoint(asked).document["after"]
    assert [one["volume"]["value"] for one in after] == [0, 5, 20]  # 20 drops/mL
    # Half neutralised: 0.5 mmol of acid left in 15 mL, pH 1.48 without activity coefficients.
    assert after[1]["ph"] == pytest.approx(1.48, abs=0.1)
    with pytest.raises(PrepError, match="whole number"):
        equilibrium.endpoint(EndpointQuestion("10 mL", ["NaOH 0.1 mol/L"], after=(-1,)))


def test_a_textbook_s_curve_is_drawn_without_activities() -> None:
    asked = EndpointQuestion("25 mL", ["NaOH 0.1 mol/L"], ["HCl 0.1 mol/L"], "7", ideal=True)
    (curve,) = equilibrium.endpoint(asked).curves
    assert curve.course.start.ph == pytest.approx(1.0, abs=1e-3)


def test_the_files_hold_the_computed_points(tmp_path: Path) -> None:
    asked = BufferQuestion(
        "acetic acid/sodium acetate", "4.7", "0.1 mol/L", "1 L", then="5 mL of HCl 1 mol/L", curve=True
    )
    curves = equilibrium.buffer(asked).curves
    assert [one.name for one in curves] == ["with HCl 1 mol/L", "with NaOH 1 mol/L", "with HCl 1 mol/L"]
    rows = list(csv.DictReader(io.StringIO(curves_csv(curves).decode("utf-8-sig"))))
    computed = [(m.volume_ml, m.ph) for one in curves for m in one.course.moments]
    assert [(float(row["ml"]), float(row["ph"])) for row in rows] == computed
    drawn = picture(tmp_path / "a.svg", [curve_of(one) for one in curves], "x", "mL").decode()
    assert all(f'id="curve-{number}"' in drawn for number in range(3))


@pytest.mark.parametrize(("dropper", "axis"), [("fine-dropper", "45 drops"), (None, "1.5 mL")])
def test_the_axis_is_in_drops_where_drops_are_asked_for(dropper: str | None, axis: str) -> None:
    """A millilitre of equal strength, and half as much again: 30 drops and 15 (common practice, no source)."""
    asked = equilibrium.EndpointQuestion(
        "1 mL", ["NaOH 0.1 mol/L"], ["HCl 0.1 mol/L"], "7", dropper=dropper, ideal=True
    )
    assert equilibrium.endpoint(asked).says[-1].endswith(f" {axis}")
