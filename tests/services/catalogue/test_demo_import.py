"""Demonstrations from spreadsheets: every column that a demo has, items by name, what is added until when."""

from pathlib import Path

import pytest

from prep.errors import PrepError
from prep.planning.model import DemoKind
from prep.services.catalogue import lookup, table_import
from prep.services.catalogue.seed import DEMO_COLUMNS, LEFTOVER_COLUMNS, NEED_COLUMNS
from prep.services.files.imports import ImportFile
from prep.services.inventory import init
from tests.days import act
from tests.services.bookings.test_answers import DAY


@pytest.mark.on_file
def test_what_the_columns_say_is_kept(tmp_path: Path) -> None:
    demos, needs = tmp_path / "ours.csv", tmp_path / "needs.csv"
    demos.write_text(
        "code;name;other_names;kind;principle;trials;ask_first\n"
        'steps-pink;Steps of pink;"Old pink;Nana pink";class practical;neutralisation;2;the head\n'
    )
    needs.write_text(
        "demo;item;per_showing;vessel;from;until\n"
        "steps-pink;hydrochloric acid 0.1 mol/L;5 mL;flask;;\n"
        "steps-pink;phenolphthalein-0.1;2 drops;flask;;\n"
        "steps-pink;naoh-0.1;6 mL;flask;fine-dropper;colour changed\n"
        "steps-pink;water;10 mL;flask;;\n"
    )
    path = tmp_path / "inventory.db"
    init.init(path, "Ada", DAY, None, "")
    done = table_import.import_demos(path, ImportFile(demos), needs, None, act("Ada", DAY))
    assert not done.wrong
    made = lookup.known(path).demos["steps-pink"]
    assert (made.kind, made.ask_first, made.trials, made.principle) == (
        DemoKind.PRACTICAL,
        "the head",
        2,
        "neutralisation",
    )
    assert made.other_names == ("Old pink", "Nana pink")
    assert [need.item for need in made.needs] == ["hcl-0.1", "phenolphthalein-0.1", "naoh-0.1", "water"]
    assert (made.needs[2].dropper, made.needs[2].until) == ("fine-dropper", "colour changed")


def test_every_column_stands_in_the_help() -> None:
    from prep.cli.demo import import_demos

    said = import_demos.__doc__ or ""
    assert [c for c in (*DEMO_COLUMNS, *NEED_COLUMNS, *LEFTOVER_COLUMNS) if c not in said] == []


@pytest.mark.on_file
@pytest.mark.parametrize("parts", [{"ring-a": "ring-b", "ring-b": "ring-a"}, {"ring-a": "ring-a"}])
def test_recipes_that_go_round_are_named_and_nothing_is_written(tmp_path: Path, parts: dict[str, str]) -> None:
    rows, recipes = tmp_path / "ours.csv", tmp_path / "recipes.csv"
    rows.write_text(
        "code,name,recipe_makes,shelf_life_days\n" + "".join(f"{code},Ring {code},1 L,30\n" for code in parts)
    )
    recipes.write_text("solution,item,amount\n" + "".join(f"{code},{of},100 mL\n" for code, of in parts.items()))
    path = tmp_path / "inventory.db"
    init.init(path, "Ada", DAY, None, "")
    with pytest.raises(PrepError, match="These recipes go round in a loop: ring-a <- ") as said:
        table_import.import_solutions(path, ImportFile(rows), recipes, act("Ada", DAY))
    assert "\n" not in str(said.value)
    assert "ring-a" not in lookup.known(path).solutions
