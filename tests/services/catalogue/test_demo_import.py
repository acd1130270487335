"""Demonstrations from spreadsheets: every column that a demo has, items by name, what is added until when."""

from pathlib import Path

import pytest

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
