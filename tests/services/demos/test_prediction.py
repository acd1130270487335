"""What a demonstration will show, computed from the strengths on file."""

from itertools import pairwise
from pathlib import Path

import pytest

from prep.errors import PrepError
from prep.reports import curves
from prep.reports.demo.prediction_picture import series_of
from prep.reports.demo.prediction_view import prediction_csv, prediction_document, show_prediction, vessel_lines
from prep.resources import seed_data
from prep.services.catalogue.on_file import OnFile
from prep.services.catalogue.seed import read_catalogue
from prep.services.demos.demo_file import read_text_demo
from prep.services.demos.prediction import Prediction, predict

LADDER = """name = "Ladder"
[[vessel]]
name = "flask"
[[vessel.contains]]
item = "hcl-0.1"
amount = "2 mL"
[[vessel.contains]]
item = "phenolphthalein-0.1"
amount = "2 drops"
[[vessel.add]]
item = "naoh-0.1"
from = "fine-dropper"
until = "{until}"
amount = "2 mL"
"""


@pytest.fixture(scope="module")
def on_file() -> OnFile:
    return read_catalogue(seed_data())


def ladder(on_file: OnFile, until: str, most: int | None = None, at: tuple[int, ...] = ()) -> Prediction:
    demo = read_text_demo(LADDER.format(until=until), "x", on_file).demo
    assert demo is not None
    return predict(demo, on_file, most, at)


def test_colour_and_drops_of_a_vessel(on_file: OnFile) -> None:
    (one,) = ladder(on_file, "colour changed", at=(30, 70)).vessels
    assert one.indicator == "phenolphthalein"
    assert one.computed_ml == pytest.approx(2.0, abs=0.05)  # equal strengths, equal volumes
    (change,) = one.course.passages
    assert (change.before, change.after) == ("colourless", "pink")
    assert [moment.colour for moment in one.asked] == ["colourless", "pink"]


def test_begins_comes_before_changed(on_file: OnFile) -> None:
    begins, changed = (ladder(on_file, f"colour {word}").vessels[0].computed_ml for word in ("begins", "changed"))
    assert begins is not None
    assert changed is not None
    assert begins < changed


def test_what_stays_as_it_is_says_so(on_file: OnFile) -> None:
    (one,) = ladder(on_file, "5 drops", most=30).vessels
    assert one.stays == "colourless"
    assert one.course.most_ml == pytest.approx(1.0)


def test_an_until_that_is_never_reached_is_told(on_file: OnFile) -> None:
    (one,) = ladder(on_file, "pH 13.9").vessels
    assert one.computed_ml is None
    assert "does not bring" in one.why


@pytest.mark.parametrize("most", [0, -1, 10**9])
def test_drops_that_are_none(on_file: OnFile, most: int) -> None:
    with pytest.raises(PrepError, match="Drops are"):
        ladder(on_file, "pH 7", most)


def test_the_files_hold_the_points_that_were_computed(on_file: OnFile) -> None:
    found = ladder(on_file, "pH 8")
    moments = found.vessels[0].course.moments
    rows = prediction_csv(found).decode().splitlines()[1:]
    assert [float(row.split(",")[-2]) for row in rows] == [moment.ph for moment in moments]
    assert [point["ph"] for point in prediction_document(found)["vessels"][0]["curve"]] == [m.ph for m in moments]


@pytest.mark.parametrize(("kind", "begins"), [("svg", b"<?xml"), ("png", b"\x89PNG"), ("pdf", b"%PDF")])
def test_a_picture_holds_the_computed_curve(on_file: OnFile, kind: str, begins: bytes) -> None:
    found = ladder(on_file, "pH 8")
    series = series_of(found)
    assert curves.picture(Path(f"x.{kind}"), series, "x").startswith(begins)
    complete = [passed[-1].ends for passed in found.vessels[0].changes]
    counted = [str(end.drops.count) for end in complete if end and end.drops]
    assert counted
    assert [mark.says.rpartition(": ")[2] for mark in series[0].marks] == counted  # as the sentences say
    drawn = curves._figure(series, "x", "drops").axes[0].lines[0].get_xydata()
    assert [tuple(point) for point in drawn] == [(p.x, p.ph) for p in series[0].points]


TWINS = """name = "Twins"
""" + "".join(
    f"""[[vessel]]
name = "{name} with a name as long as a bench is wide"
[[vessel.contains]]
item = "hcl-0.1"
amount = "2 mL"
[[vessel.add]]
item = "naoh-0.1"
from = "fine-dropper"
until = "60 drops"
"""
    for name in ("left", "right", "third")
)


def test_curves_that_coincide_stand_side_by_side(on_file: OnFile, capsys: pytest.CaptureFixture[str]) -> None:
    """What is alike is seen of each: a frame a vessel, one scale, in the picture, on the page and in the terminal."""
    read = read_text_demo(TWINS, "x", on_file)
    assert read.demo is not None, read.mistakes
    found = predict(read.demo, on_file)
    series = series_of(found)
    frames = [one for one in curves._figure(series, "x", "drops").axes if one.get_visible()]
    assert [len(one.lines) for one in frames] == [1, 1, 1]
    assert len({(one.get_xlim(), one.get_ylim()) for one in frames}) == 1
    for one, frame in zip(series, frames, strict=True):
        assert [tuple(point) for point in frame.lines[0].get_xydata()] == [(p.x, p.ph) for p in one.points]
        assert frame.get_title().replace("\n", " ") == one.name
    drawn = curves.on_page(series)
    assert len(drawn.curves) == 3
    assert max(tick.at for tick in drawn.across) < drawn.width < 720
    show_prediction(found)
    told = capsys.readouterr().out
    said = told[told.index("   pH    ") :].splitlines()
    assert max(map(len, said)) <= 80
    left, right = ([line[at : at + 38].rstrip() for line in said if "|" in line][:13] for at in (0, 40))
    assert left == right
    assert sum("*" in line for line in left) > 5
    assert said[0].split() == ["pH", "pH"]


@pytest.mark.parametrize(
    ("x", "rising", "left"), [(10, True, False), (45, True, True), (45, False, False), (90, False, True)]
)
def test_what_is_said_of_a_mark_keeps_clear_of_its_curve(x: float, rising: bool, left: bool) -> None:
    ends = (1.0, 13.0) if rising else (13.0, 1.0)
    points = tuple(curves.CurvePoint(at, ph) for at, ph in zip((0.0, 100.0), ends, strict=True))
    drawn = curves.on_page([curves.Curve("cup", points, (curves.CurveMark(x, "here"),))])
    assert drawn.curves[0].marks[0].left is left


def test_a_picture_of_another_kind_is_refused(on_file: OnFile) -> None:
    with pytest.raises(PrepError, match=r"ends in \.svg"):
        curves.picture(Path("x.gif"), series_of(ladder(on_file, "pH 8")), "x")


def test_what_its_own_number_of_drops_leaves_is_told(on_file: OnFile, capsys: pytest.CaptureFixture[str]) -> None:
    text = """name = "Steady"
[[vessel]]
name = "flask"
[[vessel.contains]]
item = "ethanoic-0.1"
amount = "12.5 mL"
[[vessel.contains]]
item = "sodium-acetate-3-water"
amount = "0.17 g"
[[vessel.contains]]
item = "thymol-blue-0.1"
amount = "3 drops"
[[vessel.add]]
item = "hcl-0.1"
from = "fine-dropper"
until = "20 drops"
"""
    read = read_text_demo(text, "x", on_file)
    assert read.demo is not None, read.mistakes
    found = predict(read.demo, on_file)
    (one,) = found.vessels
    assert one.own is not None
    assert one.own.volume_ml == pytest.approx(20 / 30)
    assert one.own.colour == one.course.start.colour == "yellow"
    show_prediction(found)
    assert "after its own 20 drops: pH" in (said := capsys.readouterr().out)
    assert "still yellow" in said
    assert prediction_document(found)["vessels"][0]["after_its_own_drops"]["colour"] == "yellow"


# National Research Council, Prudent Practices in the Laboratory (2011), incompatible chemicals: permanganate with
# concentrated sulfuric acid; hypochlorite with acid.
@pytest.mark.parametrize(
    ("one", "other", "said"),
    [
        ("kmno4-0.02", "sulfuric-acid", "manganese heptoxide"),
        ("hypochlorite-1", "hcl-2", "chlorine"),
        ("hcl-0.1", "naoh-0.1", ""),
    ],
)
def test_what_must_not_meet_in_a_vessel_is_named(
    on_file: OnFile, capsys: pytest.CaptureFixture[str], one: str, other: str, said: str
) -> None:
    contains = "".join(f'[[vessel.contains]]\nitem = "{item}"\namount = "5 mL"\n' for item in (one, other))
    read = read_text_demo(f'name = "Two"\n[[vessel]]\nname = "beaker"\n{contains}', "x", on_file)
    assert read.demo is not None, read.mistakes
    found = predict(read.demo, on_file)
    show_prediction(found)
    assert ("MIND, IF THEY ARE TO MEET. In the beaker" in (told := capsys.readouterr().out)) == bool(said)
    assert said in told
    assert bool(prediction_document(found)["must_not_meet"]) == bool(said)


def test_what_stands_in_dropping_bottles_is_dropped_into_nothing(on_file: OnFile) -> None:
    """Salts side by side on watch glasses, or bottles of one rack, are no titration."""
    for code in ("flame-colours", "ammonia-diffusion", "halogenoalkanes", "carbonyl-test"):
        found = predict(on_file.demos[code], on_file)
        assert (found.vessels, found.unknown) == ((), ()), code


def test_a_metal_bound_by_edta_is_beyond_a_curve_of_ph(on_file: OnFile) -> None:
    found = predict(on_file.demos["hard-water"], on_file)
    assert not found.vessels
    assert "binds metal ions" in found.unknown[0]


def test_a_curve_without_an_indicator_leaps_where_it_is_equivalent(on_file: OnFile) -> None:
    """25 mL of equal strengths: the steepest step is there, and short."""
    first, *_ = predict(on_file.demos["ph-curves"], on_file).vessels
    points = [(m.volume_ml, m.ph) for m in first.course.moments]
    steps = [(abs(ph - before), volume - at, at, volume) for (at, before), (volume, ph) in pairwise(points)]
    leap, width, at, volume = max(steps)
    assert at - 0.1 <= 25 <= volume + 0.1
    assert width < 0.2
    assert leap > 1


@pytest.mark.parametrize(
    ("dropper", "amount", "drops", "says"),
    [
        ("fine-dropper", "2 mL", True, " drops ("),
        ("fine-dropper", "25 mL", True, " drops, 25 mL ("),  # equal strengths, equal volumes; nobody counts so many
        ("dropper", "90 mL", True, " drops, 90 mL ("),
        ("burette-tip", "2 mL", False, "2 mL ("),
        ("burette-tip", "25 mL", False, "25 mL ("),
    ],
)
def test_a_dropper_that_is_named_is_counted_and_a_burette_is_read(
    dropper: str, amount: str, drops: bool, says: str, on_file: OnFile
) -> None:
    text = LADDER.replace("fine-dropper", dropper).replace('"2 mL"', f'"{amount}"').format(until="colour changed")
    demo = read_text_demo(text, "x", on_file).demo
    assert demo is not None
    found = predict(demo, on_file)
    assert found.in_drops is drops
    (change,) = [line for line in vessel_lines(found.vessels[0], found.in_drops) if "to pink" in line]
    assert says in change
    drawn = curves.on_page(series_of(found))
    labels = [one.says for one in (*drawn.across, *(mark for curve in drawn.curves for mark in curve.marks))]
    assert len(labels) == 6
    assert [text for text in (*labels, change) if "e+" in text] == []


BACK_AGAIN = """name = "Forth and home"
[[vessel]]
name = "cup"
[[vessel.contains]]
item = "ethanoic-0.1"
amount = "10 mL"
[[vessel.contains]]
item = "bromothymol-blue-0.05"
amount = "2 drops"
[[vessel.add]]
item = "naoh-0.1"
from = "dropper"
until = "colour changed"
[[vessel.add]]
item = "hcl-0.1"
from = "dropper"
until = "colour changed"
"""


def test_what_was_added_before_is_in_the_vessel_and_named(on_file: OnFile, capsys: pytest.CaptureFixture[str]) -> None:
    read = read_text_demo(BACK_AGAIN, "x", on_file)
    assert read.demo is not None, read.mistakes
    found = predict(read.demo, on_file)
    forth, home = found.vessels
    # Equal strengths: 10 mL of the acid take 10 mL of the alkali, and all of that stands in the cup afterwards.
    assert forth.computed_ml == pytest.approx(10, rel=0.02)
    (before,) = (said for said in home.contents if "Sodium hydroxide" in said)
    assert float(before.split(" drops of ")[0]) / 20 == pytest.approx(10, rel=0.02)
    assert home.course.start.colour == forth.course.moments[-1].colour == "blue"
    assert [one.name for one in series_of(found)] == ["cup", "cup, then Hydrochloric acid, 0.1 mol/L"]
    show_prediction(found)
    assert "cup, then Hydrochloric acid" in capsys.readouterr().out


def test_a_vessel_without_acid_or_colour_says_that_its_show_is_not_computed(
    on_file: OnFile, capsys: pytest.CaptureFixture[str]
) -> None:
    first, added, _ = BACK_AGAIN.split("[[vessel.add]]")
    lines = f"{first}[[vessel.add]]{added}".replace("ethanoic-0.1", "bacl2-0.1").replace("naoh-0.1", "na2so4-0.5")
    lines = lines.replace("bromothymol-blue-0.05", "nacl-0.1").replace("colour changed", "40 drops")
    read = read_text_demo(lines, "x", on_file)
    assert read.demo is not None, read.mistakes
    show_prediction(predict(read.demo, on_file))
    assert "a precipitate or a colour of its own is not computed" in " ".join(capsys.readouterr().out.split())
