"""A demonstration as a file: read, written and read again; every mistake by its line."""

from dataclasses import replace
from decimal import Decimal

import pytest

from prep.chemistry.acid_base.until import until_of
from prep.errors import PrepError
from prep.planning.model import Demo
from prep.resources import seed_data
from prep.services.catalogue.on_file import OnFile
from prep.services.catalogue.seed import read_catalogue
from prep.services.demos import demo_writer
from prep.services.demos.asking import Asked, toml_of
from prep.services.demos.demo_file import read_text_demo
from prep.services.demos.demos import Variant, find, variant_of


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


@pytest.mark.parametrize("text", ["name = ", "[[vessel]\n", "a = 1\na = 2", "x = [" * 3000])
def test_what_is_no_toml_is_one_sentence(on_file: OnFile, text: str) -> None:
    (said,) = read_text_demo(text, "odd.toml", on_file).mistakes
    assert said.startswith("odd.toml: ")


@pytest.mark.parametrize(
    ("said", "read"),
    [
        ("pH 7", ("pH 7", 0)),
        ("ph 8,3", ("pH 8.3", 0)),
        ("20 drops", ("", 20)),
        ("Colour changed", ("colour changed", 0)),
    ],
)
def test_until(said: str, read: tuple[str, int]) -> None:
    assert until_of(said) == read


def test_options_make_the_same_file(on_file: OnFile) -> None:
    asked = Asked(
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


def test_a_variant_swaps_and_strengthens(on_file: OnFile) -> None:
    asked = Variant(
        "strong-acid-titration",
        swaps={"phenolphthalein-0.1": "bromothymol-blue-0.05"},
        stronger={"naoh-0.1": Decimal(10)},
    )
    demo, new = variant_of(asked, on_file)
    assert {"bromothymol-blue-0.05", "naoh-1", "hcl-0.1"} <= {need.item for need in demo.needs}
    assert new == ()  # sodium hydroxide of 1 mol/L is on file
    _, (made,) = variant_of(Variant("strong-acid-titration", stronger={"hcl-0.1": Decimal(7)}), on_file)
    assert (made.code, str(made.strength)) == ("hcl-0.1-x7", "0.7 mol/L")


@pytest.mark.parametrize("words", ["strong-acid-titration", "Strong acid by strong alkali", "antacid"])
def test_a_demo_is_found_by_any_word(on_file: OnFile, words: str) -> None:
    assert find(on_file, words).code in ("strong-acid-titration", "vinegar-titration")


def test_every_part_of_a_demo_is_an_option(on_file: OnFile) -> None:
    asked = Asked(
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
    asked = Asked("X", contains=("flask=25 mL of hcl-0.1",), spare_pct=spare)
    if not spare:
        assert read_text_demo(toml_of(asked), "x", on_file).demo is not None
        return
    with pytest.raises(PrepError, match="--spare"):
        toml_of(asked)
