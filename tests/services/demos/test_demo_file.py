"""A demonstration as a file: read, written and read again; every mistake by its line."""

import re
from dataclasses import replace
from decimal import Decimal

import pytest

from prep.chemistry.acid_base.until import AddedUntil, until_of
from prep.errors import PrepError
from prep.planning.model import Demo
from prep.planning.ph_demand import UntilReckoner
from prep.resources import seed_data
from prep.services.catalogue import lookup
from prep.services.catalogue.on_file import OnFile
from prep.services.catalogue.seed import read_catalogue
from prep.services.demos import demo_writer
from prep.services.demos.demo_file import code_of, read_text_demo
from prep.services.demos.demo_questions import AskedDemo, toml_of
from prep.services.demos.demos import Variant, check_ends, dangers_of, variant_of


@pytest.fixture(scope="module")
def on_file() -> OnFile:
    return read_catalogue(seed_data())


def in_order(demo: Demo) -> Demo:
    """The demo with its needs by vessel, which is how a file holds them."""
    needs = sorted(demo.needs, key=lambda n: (n.vessel or "vessel", n.item, n.per_showing, n.note))
    return replace(demo, needs=tuple(replace(n, vessel=n.vessel or "vessel") for n in needs))


def test_every_demo_on_file_is_read_back_as_it_was_written(on_file: OnFile) -> None:
    for demo in on_file.demos.values():
        read = read_text_demo(demo_writer.toml_of(demo, on_file), "x.toml", on_file)
        assert read.mistakes == ()
        assert read.demo is not None
        assert in_order(read.demo) == in_order(demo)


def test_every_mistake_is_told_with_its_line(on_file: OnFile) -> None:
    text = """name = "Odd"
spare_pct = -3
colour = "red"

[[vessel]]
name = "flask"

[[vessel.contains]]
item = "no such thing"
amount = "25 mL"

[[vessel.contains]]
item = "hcl-0.1"
amount = "25 g"

[[vessel.add]]
item = "naoh-0.1"
from = "ladle"
until = "teatime"

[[leftover]]
what = "salt water"
goes = "the moon"
"""
    said = read_text_demo(text, "odd.toml", on_file).mistakes
    lines = [int(one.partition("line ")[2].partition(",")[0]) for one in said]
    assert sorted(lines) == [2, 3, 9, 14, 18, 19, 23], said
    assert any("ladle" in one for one in said)


def test_a_wrong_letter_in_a_name_is_put_right_and_said(on_file: OnFile) -> None:
    text = '[[vessel]]\nname = "tube"\n[[vessel.contains]]\nitem = "{}"\namount = "5 mL"\n'
    read = read_text_demo('name = "Breath"\n' + text.format("limewatr"), "breath.toml", on_file)
    assert read.demo is not None
    assert [need.item for need in read.demo.needs] == ["limewater"]
    assert read.taken == ('"limewatr" is read as "limewater": Limewater, saturated calcium hydroxide (limewater).',)
    assert read_text_demo('name = "Breath"\n' + text.format("limewater"), "breath.toml", on_file).taken == ()


@pytest.mark.parametrize("text", ["name = ", "[[vessel]\n", "a = 1\na = 2", "x = [" * 3000])
def test_what_is_no_toml_is_one_sentence(on_file: OnFile, text: str) -> None:
    (said,) = read_text_demo(text, "odd.toml", on_file).mistakes
    assert said.startswith("odd.toml: ")


@pytest.mark.parametrize(
    ("said", "read"),
    [
        ("pH 7", AddedUntil("pH 7")),
        ("ph 8,3", AddedUntil("pH 8.3")),
        ("20 drops", AddedUntil(drops=20)),
        ("Colour changed", AddedUntil("colour changed")),
        ("colour changes", AddedUntil("colour changed")),
        ("it changes color", AddedUntil("colour changed")),
        ("the colour begins to change", AddedUntil("colour begins")),
        ("next band", AddedUntil("next colour")),
    ],
)
def test_until_when_is_read_as_a_person_writes_it(said: str, read: AddedUntil) -> None:
    assert until_of(said) == read


def test_options_make_the_same_file(on_file: OnFile) -> None:
    asked = AskedDemo(
        "Two of them",
        contains=("flask=20 mL of hcl-0.1", "flask=3 drops of phenolphthalein-0.1"),
        adds=("flask=naoh-0.1 from fine-dropper until colour changed",),
        leaves=("salt water=drain",),
    )
    demo = read_text_demo(toml_of(asked), "the options", on_file).demo
    assert demo is not None
    assert [(n.item, n.per_showing, n.drops, n.until, n.dropper) for n in demo.needs] == [
        ("hcl-0.1", 20_000_000, 0, "", ""),
        ("phenolphthalein-0.1", 150_000, 3, "", ""),
        ("naoh-0.1", 0, 0, "colour changed", "fine-dropper"),
    ]


@pytest.mark.parametrize(
    ("add", "said"),
    [
        ("flask=hcl-0.1 from dropper until pH 12", "flask, until pH 12: Hydrochloric acid, 0.1 mol/L does not bring"),
        ("flask=hcl-1 from dropper until colour changed", "flask, until colour changed: "),
        ("flask=naoh-0.1 from dropper until pH 12", ""),
        ("flask=hcl-0.1 from dropper until 20 drops", ""),
    ],
)
def test_what_never_ends_is_refused_unless_its_amount_is_said(on_file: OnFile, add: str, said: str) -> None:
    asked = AskedDemo("Odd", contains=("flask=5 mL of hcl-0.1", "flask=3 drops of phenolphthalein-0.1"), adds=(add,))
    demo = read_text_demo(toml_of(asked), "the options", on_file).demo
    assert demo is not None
    if not said:
        check_ends(demo, on_file)
        return
    with pytest.raises(PrepError, match=said):
        check_ends(demo, on_file)
    check_ends(replace(demo, needs=tuple(replace(n, per_showing=1_000_000) for n in demo.needs)), on_file)


def test_a_variant_swaps_and_strengthens(on_file: OnFile) -> None:
    asked = Variant(
        "strong-acid-titration",
        swaps={"phenolphthalein-0.1": "bromothymol-blue-0.05"},
        stronger={"naoh-0.1": Decimal(10)},
    )
    varied = variant_of(asked, on_file)
    assert {"bromothymol-blue-0.05", "naoh-1", "hcl-0.1"} <= {need.item for need in varied.demo.needs}
    assert varied.solutions == ()  # sodium hydroxide of 1 mol/L is on file
    (made,) = variant_of(Variant("strong-acid-titration", stronger={"hcl-0.1": Decimal(7)}), on_file).solutions
    assert (made.code, str(made.strength)) == ("hcl-0.1-x7", "0.7 mol/L")


def test_a_variant_is_said_by_the_names_one_would_say(on_file: OnFile) -> None:
    """`phenolphthalein` is the indicator that the demo takes, not the solid; so is what is taken instead."""
    asked = Variant("strong-acid-titration", swaps={"phenolphthalein": "thymol blue"}, stronger={"HCl": Decimal(10)})
    varied = variant_of(asked, on_file).demo
    assert {need.item for need in varied.needs} == {"thymol-blue-0.1", "naoh-0.1", "hcl-1"}
    assert all(len(part) > 1 for part in varied.code.split("-"))
    assert len(varied.code) <= 50
    long = code_of("Rates of reaction with light, heat and pressure compared")
    assert long == "rates-of-reaction-with-light-heat-and-pressure"  # whole words
    with pytest.raises(PrepError, match=r"takes no Agar; it takes Hydrochloric acid, 0.1 mol/L \(hcl-0.1\)"):
        variant_of(Variant("strong-acid-titration", swaps={"agar": "thymol blue"}), on_file)


@pytest.mark.parametrize("words", ["strong-acid-titration", "Strong acid by strong alkali", "antacid"])
def test_a_demo_is_found_by_any_word(on_file: OnFile, words: str) -> None:
    assert lookup.demo(on_file, words).code in ("strong-acid-titration", "vinegar-titration")


def test_every_part_of_a_demo_is_an_option(on_file: OnFile) -> None:
    asked = AskedDemo(
        "Full",
        contains=("flask=25 mL of hcl-0.1, fresh, stays 5 mL, note swirl it", "tray=1 g of sodium-chloride, shared"),
        adds=("flask=naoh-0.1 from fine-dropper until pH 7, stays 2 mL",),
        kind="class practical",
        other_names=("Old full", 'The "old" one'),
        spare_pct="25",
        ask_first="the head",
        source="common practice, no source",
        trials=2,
    )
    demo = read_text_demo(toml_of(asked), "the options", on_file).demo
    assert demo is not None
    assert (demo.kind, demo.other_names, demo.ask_first, demo.trials) == (
        "class practical",
        ("Old full", 'The "old" one'),
        "the head",
        2,
    )
    assert float(demo.spare) == 0.25
    flask, added, tray = demo.needs
    assert (flask.fresh, flask.dead, flask.note, flask.shared) == (True, 5_000_000, "swirl it", False)
    assert (added.dead, added.dropper, added.until) == (2_000_000, "fine-dropper", "pH 7")
    assert tray.shared


@pytest.mark.parametrize("spare", ["much", "", "-"])
def test_a_spare_that_is_no_number(on_file: OnFile, spare: str) -> None:
    asked = AskedDemo("X", contains=("flask=25 mL of hcl-0.1",), spare_pct=spare)
    if not spare:
        assert read_text_demo(toml_of(asked), "x", on_file).demo is not None
        return
    with pytest.raises(PrepError, match="--spare"):
        toml_of(asked)


PORTIONS = [("4 x 25 mL", ""), ("100 mL", "portions = 4")]


@pytest.mark.parametrize(("amount", "more"), PORTIONS)
def test_portions_are_written_as_so_many_times_so_much(on_file: OnFile, amount: str, more: str) -> None:
    text = f"""name = "Four"
[[vessel]]
name = "flask"
[[vessel.contains]]
item = "hcl-0.1"
amount = "{amount}"
{more}
[[vessel.contains]]
item = "phenolphthalein-0.1"
amount = "4 x 3 drops"
[[vessel.add]]
item = "naoh-0.1"
from = "burette-tip"
until = "colour changed"
"""
    demo = read_text_demo(text, "x", on_file).demo
    assert demo is not None
    acid, indicator, alkali = demo.needs
    assert (acid.per_showing, acid.portions, indicator.drops, alkali.portions) == (100_000_000, 4, 12, 1)
    reckoned = UntilReckoner(on_file).reckoned(demo)
    whole, (until,) = reckoned.demo, reckoned.untils
    assert until.volume_nl == whole.needs[2].per_showing
    assert until.volume_nl == pytest.approx(100_000_000, rel=0.01)
    assert until.drops is not None
    assert until.drops.count == pytest.approx(502, abs=5)  # 25 mL by a burette's tip, of one portion
    assert 'amount = "4 x 25 mL"' in demo_writer.toml_of(demo, on_file)
    assert read_text_demo(demo_writer.toml_of(demo, on_file), "x", on_file).demo == demo


@pytest.mark.parametrize(
    ("contains", "says"),
    [
        ('amount = "4 x 25 mL"\nportions = 3', "says 4 portions"),
        ('amount = "0 x 25 mL"', "1 to 100 portions"),
        ('amount = "25 mL"\nportions = true', "1 to 100 portions"),
        ('amount = "3 x 25 mL"', "hcl-0.1 is in 3 portions and phenolphthalein-0.1 in one portion"),
    ],
)
def test_portions_that_do_not_go_together_are_told(on_file: OnFile, contains: str, says: str) -> None:
    text = f"""name = "Four"
[[vessel]]
name = "flask"
[[vessel.contains]]
item = "hcl-0.1"
{contains}
[[vessel.contains]]
item = "phenolphthalein-0.1"
amount = "3 drops"
"""
    assert says in " ".join(read_text_demo(text, "x", on_file).mistakes)


def test_a_drop_count_of_each_portion_is_an_option(on_file: OnFile) -> None:
    asked = AskedDemo(
        "Four",
        contains=("flask=4 x 25 mL of hcl-0.1",),
        adds=("flask=naoh-0.1 from dropper until 20 drops, portions 4",),
    )
    demo = read_text_demo(toml_of(asked), "the options", on_file).demo
    assert demo is not None
    assert (demo.needs[1].drops, demo.needs[1].portions) == (80, 4)
    assert 'until = "20 drops"\nportions = 4' in demo_writer.toml_of(demo, on_file)


@pytest.mark.parametrize("until", ["pH 12.9", "pH 2"])
def test_what_must_not_be_made_is_named_whether_the_end_is_reached_or_not(on_file: OnFile, until: str) -> None:
    asked = AskedDemo(
        "Odd", contains=("flask=20 mL of sodium-hypochlorite",), adds=(f"flask=hcl-1 from dropper until {until}",)
    )
    demo = read_text_demo(toml_of(asked), "the options", on_file).demo
    assert demo is not None
    chlorine = "In the flask: Bleach with any acid gives off chlorine. (chlorine gas)"
    assert dangers_of(demo, on_file) == (chlorine,)
    if until == "pH 12.9":
        with pytest.raises(PrepError, match=re.escape(f"Mind: {chlorine}")):
            check_ends(demo, on_file)
    plain = read_text_demo(toml_of(replace(asked, contains=("flask=20 mL of naoh-0.1",))), "the options", on_file).demo
    assert plain is not None
    assert dangers_of(plain, on_file) == ()


@pytest.mark.parametrize("end", ["from dropper until 20 drops", "until 20 drops", "from dropper until pH 3"])
def test_a_solid_does_not_come_from_a_dropper(on_file: OnFile, end: str) -> None:
    asked = AskedDemo("Odd", contains=("flask=5 mL of hcl-0.1",), adds=(f"flask=copper-turnings {end}",))
    read = read_text_demo(toml_of(asked), "", on_file)
    assert any("copper-turnings is weighed, not dropped" in one for one in read.mistakes), read
