"""`prep solution set CODE --method FILE`: a school's own steps, checked, followed by the makes, and undone."""

from pathlib import Path

import pytest

from prep.errors import PrepError
from prep.services.catalogue.on_file import OnFile
from prep.services.catalogue.own_method import read_method
from tests.cli.conftest import Run

OURS = """
[[step]]
kind = "dissolve"
share = 0.8
temperature_c = 50

[[step]]
kind = "stand"
minutes = 1440
text = "covered"
from = ["solid"]
"""
BENEDICT = """
[[step]]
kind = "add"
item = "sodium carbonate"
text = "stir until it is clear"

[[step]]
kind = "mark"
"""


def told(text: str, code: str, catalogue: OnFile) -> list[str]:
    with pytest.raises(PrepError) as refused:
        read_method(text, "ours.toml", catalogue.solutions[code], catalogue)
    return str(refused.value).splitlines()


def test_a_make_follows_the_schools_steps_until_they_are_undone(inventory: Run, tmp_path: Path) -> None:
    file = tmp_path / "ours.toml"
    file.write_text(OURS, encoding="utf-8")
    before = inventory("solution", "show", "cuso4-0.5", "--json").json
    done = inventory("solution", "set", "cuso4-0.5", "--method", file, "--by", "Ada", "--json").json
    assert [(s["kind"], s["share"], s["temperature_c"], s["minutes"], s["from"]) for s in done["steps"]] == [
        ("dissolve", 0.8, 50.0, None, []),
        ("stand", None, None, 1440, ["solid"]),
    ]
    shown = inventory("solution", "show", "cuso4-0.5", "--json").json
    assert shown["steps"] == done["steps"]
    assert inventory("db", "check").code == 0
    sheet = inventory("make", "cuso4-0.5", "--volume", "500 mL").out
    assert "hot distilled water (about 50 °C)" in " ".join(sheet.split())
    undone = inventory("stock", "undo", done["job"])
    assert undone.code == 0, undone.err
    after = inventory("solution", "show", "cuso4-0.5", "--json").json
    assert (after["steps"], after["method"]) == (before["steps"], before["method"])
    assert inventory("db", "check").code == 0


def test_an_ingredient_goes_by_any_name_and_the_step_says_whose_it_is(catalogue: OnFile) -> None:
    first, second = read_method(BENEDICT, "ours.toml", catalogue.solutions["benedict"], catalogue)
    assert (first.item, first.text, first.source) == (
        "sodium-carbonate",
        "stir until it is clear",
        "the school's own method",
    )
    assert second.kind == "mark"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("kind =", "ours.toml: "),
        ("", "from 1 to 40 steps"),
        ("step = 3", "under [[step]]"),
        ('title = "x"\n[[step]]\nkind = "mark"', '"title" is not known here'),
        ('[[step]]\nkind = "whisk"', 'step 1, "kind": "whisk" is not one of: first, '),
        ('[[step]]\nkind = "mark"\nheat = 3', 'step 1, "heat": this is not known'),
        ('[[step]]\nkind = "water"', 'step 1, "share": a step of the kind water must say it'),
        ('[[step]]\nkind = "water"\nshare = 2', "a part of the volume"),
        ('[[step]]\nkind = "heat"\ntemperature_c = "hot"', '"hot" is no number'),
        ('[[step]]\nkind = "heat"\ntemperature_c = 5000', "a temperature from -80 to 1200"),
        ('[[step]]\nkind = "stand"\nminutes = 0.5\ntext = "x"', "no whole number"),
        ('[[step]]\nkind = "stand"\nminutes = 99999\ntext = "x"', "30 days"),
        ('[[step]]\nkind = "note"', "must say it"),
        ('[[step]]\nkind = "mark"\ngoes_into = "sink"', '"goes_into": "sink" is not one of: beaker, vessel, water'),
        ('[[step]]\nkind = "mark"\ngoes_into = "water"', "a step of the kind mark does not go there"),
        ('[[step]]\nkind = "heat"\ntemperature_c = 40\nup_to_c = 50', "a step of the kind heat has one temperature"),
        ('[[step]]\nkind = "mark"\nup_to_c = 25', "say temperature_c too, which is no warmer"),
        ('[[step]]\nkind = "mark"\ntemperature_c = 25\nup_to_c = 20', "say temperature_c too, which is no warmer"),
        ('[[step]]\nkind = "label"', "the label is the last step of every make"),
        ('[[step]]\nkind = "add"\nitem = "gold dust"', "gold dust"),
        ('[[step]]\nkind = "add"\nitem = "sodium chloride"', "is not in the recipe"),
        ('[[step]]\nkind = "add"', "does not say what is added"),
        ('[[step]]\nkind = "filter"\nfrom = ["tap"]', '"tap" is not one of: solid'),
        ('[[step]]\nkind = "fume cupboard from"', "ends in the fume cupboard"),
        ('[[step]]\nkind = "fume cupboard to"', "leaves the fume cupboard"),
        ('[[step]]\nkind = "mark"\n[[step]]\nkind = "mark"', "a second time"),
        (BENEDICT + BENEDICT.replace('[[step]]\n\nkind = "mark"', ""), "adds what was added before"),
    ],
)
def test_each_mistake_has_its_sentence(catalogue: OnFile, text: str, said: str) -> None:
    assert any(said in sentence for sentence in told(text, "benedict", catalogue))


def test_where_a_step_goes_is_said_in_whatever_words(catalogue: OnFile) -> None:
    """The step says that it is a beaker; the words may call it what they like. Without it, the words are asked."""
    solution, step = catalogue.solutions["benedict"], '[[step]]\nkind = "water"\nshare = 0.5\ntext = "{}"\n{}'
    for words, key, beaker in (
        ("a wide glass", 'goes_into = "beaker"', True),
        ("a wide glass", "", False),
        ("a large beaker", "", True),
    ):
        (water,) = read_method(step.format(words, key), "x.toml", solution, catalogue)
        assert (water.in_beaker, water.text) == (beaker, words)


def test_the_degrees_of_the_mark_are_said_in_keys_or_in_words(catalogue: OnFile) -> None:
    solution = catalogue.solutions["benedict"]
    for said in ("temperature_c = 20\nup_to_c = 25", 'text = "at 20 to 25 °C"'):
        (mark,) = read_method(f'[[step]]\nkind = "mark"\n{said}', "x.toml", solution, catalogue)
        assert (mark.text, mark.temperature_c, mark.up_to_c) == ("", 20, 25)


def test_every_mistake_of_a_file_is_said_at_once(catalogue: OnFile) -> None:
    text = '[[step]]\nkind = "water"\nshare = 2\nminutes = -1\n[[step]]\nkind = "add"\nitem = "table salt"'
    assert len(told(text, "benedict", catalogue)) == 3


def test_what_cannot_be_is_refused_and_nothing_is_changed(inventory: Run, tmp_path: Path) -> None:
    file = tmp_path / "ours.toml"
    file.write_text(OURS, encoding="utf-8")
    for words, said in (
        (("sodium chloride", "--method", file), "bought, not made"),
        (("benedict",), "Say one of"),
        (("benedict", "--method", file, "--usual", "1 L"), "Say one of"),
        (("benedict", "--method", tmp_path / "none.toml"), "there is no such file"),
    ):
        done = inventory("solution", "set", *words, "--by", "Ada")
        assert (done.code, said in done.err) == (2, True), done.err


def test_every_method_on_file_could_be_a_schools_own(catalogue: OnFile) -> None:
    """What `solution show --json` gives as steps is taken as it stands."""
    for solution in catalogue.solutions.values():
        if not solution.method_steps:
            continue
        text = ""
        for step in solution.method_steps:
            text += f'[[step]]\nkind = "{step.kind.value}"\nsource = "{step.source}"\n'
            for key, value in (("text", step.text), ("item", step.item)):
                text += f'{key} = "{value}"\n' if value else ""
            text += f"from = {[origin.value for origin in step.origins]}\n" if step.origins else ""
            for key, figure in (
                ("share", step.share),
                ("temperature_c", step.temperature_c),
                ("up_to_c", step.up_to_c),
                ("minutes", step.minutes),
            ):
                text += f"{key} = {figure}\n" if figure else ""
        try:
            assert read_method(text, "x.toml", solution, catalogue) == solution.method_steps
        except PrepError as problem:
            raise AssertionError(f"{solution.code}: {problem}") from None
