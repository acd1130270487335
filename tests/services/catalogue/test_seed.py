"""Every wrong cell is told by file, row and column; any spreadsheet's delimiter and mark are taken."""

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from prep.errors import PrepError
from prep.resources import seed_data
from prep.services.bookings.requests import BookableNames, read_bookings
from prep.services.catalogue.seed import read_catalogue, read_solution
from prep.services.files.csv_file import Row
from prep.services.school.folder import read_school

HEADS = {
    "substances.csv": "code,name,form,formula,solute,assay_pct,density_g_ml",
    "solutions.csv": "code,name,shelf_life_days,solute,strength,recipe_makes,made_from,make_up_with,keeping,made_fresh",
    "recipes.csv": "solution,item,amount",
    "demos.csv": "code,name,spare_pct",
    "needs.csv": "demo,item,per_showing,dead_volume,until,fresh",
    "leftovers.csv": "demo,what,stream",
    "instruments.csv": "code,name,kind,capacity,tolerance,resolution,count",
    "rules.csv": "item,minimum,packs,lead_days",
}
ROWS = {
    "substances.csv": ["salt,Salt,solid,NaCl,salt,99,", "acid,Acid,aqueous,HCl,acid,36,1.18"],
    "solutions.csv": [
        "salt-1,Salt water,100,salt,1 mol/L,,,,,",
        "mixed,Mixture,30,,,1 L,,,,",
        "thin,Thin mixture,30,salt,0.1 mol/L,,mixed,water,,",
    ],
    "recipes.csv": ["mixed,salt,5 g", "mixed,salt-1,100 mL"],
    "demos.csv": ["show,A demonstration,10"],
    "needs.csv": ["show,salt-1,250 mL,5 mL,,no", "show,acid,20 drops,,,yes"],
    "leftovers.csv": ["show,salt water,drain"],
    "instruments.csv": ["cyl-100,100 mL cylinder,measuring cylinder,100,1,1,2"],
    "rules.csv": ["salt,100 g,500 g;1 kg,7"],
}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name, rows in ROWS.items():
        (tmp_path / name).write_text("\n".join([HEADS[name], *rows]) + "\n", encoding="utf-8")
    (tmp_path / "calendar.toml").write_text('weekdays = ["mon", "tue", "fri"]\nminutes_per_day = 100\n')
    return tmp_path


def test_a_small_folder_is_read(folder: Path) -> None:
    found = read_catalogue(folder)
    assert [i.amount for i in found.solutions["mixed"].recipe] == [5_000_000, 100_000_000]
    assert [(n.per_showing, n.dead, n.drops, n.fresh) for n in found.demos["show"].needs] == [
        (250_000_000, 5_000_000, 0, False),
        (1_000_000, 0, 20, True),
    ]
    assert found.rules["salt"].packs == (500_000_000, 1_000_000_000)
    assert found.calendar.weekdays == {0, 1, 4}


CHANGES: list[Callable[[str], str]] = [
    lambda text: text.replace(",", "\t"),
    lambda text: "\ufeff" + text,
    lambda text: text + "\n,,\n",
]


@pytest.mark.parametrize("change", CHANGES)
def test_any_delimiter_mark_and_blank_lines_read_the_same(folder: Path, change: Callable[[str], str]) -> None:
    before = read_catalogue(folder)
    for name in ("substances.csv", "needs.csv", "demos.csv", "instruments.csv"):
        path = folder / name
        path.write_text(change(path.read_text(encoding="utf-8")), encoding="utf-8")
    assert read_catalogue(folder) == before


def test_semicolons_between_cells_read_the_same(folder: Path) -> None:
    before = read_catalogue(folder)
    for name in ("substances.csv", "needs.csv", "recipes.csv", "leftovers.csv"):
        path = folder / name
        path.write_text(path.read_text(encoding="utf-8").replace(",", ";").replace("\n", "\r\n"), encoding="utf-8")
    assert read_catalogue(folder) == before


WRONG = [
    ("substances.csv", 2, "form", "salt,Salt,powder,NaCl,salt,,", "not one of: solid"),
    ("substances.csv", 2, "code", ",Salt,solid,NaCl,salt,,", "must not be empty"),
    ("substances.csv", 3, "code", "salt,Salt,solid,NaCl,salt,,", "salt"),
    ("substances.csv", 2, "assay_pct", "salt,Salt,solid,NaCl,salt,101,", "above 100 %"),
    ("substances.csv", 2, "assay_pct", "salt,Salt,solid,NaCl,salt,NaN,", "no number"),
    ("substances.csv", 2, "density_g_ml", "salt,Salt,solid,NaCl,salt,,-1", "more than zero"),
    ("solutions.csv", 2, "strength", "salt-1,Salt water,100,salt,1 furlong,,,,,", "furlong"),
    ("solutions.csv", 2, "strength", "salt-1,Salt water,100,salt,,,,,,", "needs a strength"),
    ("solutions.csv", 2, "shelf_life_days", "salt-1,Salt water,soon,salt,1 mol/L,,,,,", "whole number"),
    ("solutions.csv", 2, "solute", "salt-1,Salt water,100,gold,1 mol/L,,,,,", 'solute "gold"'),
    ("solutions.csv", 2, "keeping", "salt-1,Salt water,100,salt,1 mol/L,,,,bucket,", "bucket"),
    ("solutions.csv", 2, "made_from", "salt-1,Salt water,100,salt,1 mol/L,,nothing,,,", "neither a substance"),
    ("solutions.csv", 2, "make_up_with", "salt-1,Salt water,100,salt,1 mol/L,,,wine,,", "neither a substance"),
    ("solutions.csv", 3, "recipe_makes", "mixed,Mixture,30,,,,,,,", "the volume it makes"),
    ("solutions.csv", 3, "recipe_makes", "mixed,Mixture,30,,,40 drops,,,,", "drops are no amount"),
    ("recipes.csv", 2, "item", "mixed,gold,5 g", "neither a substance nor a solution"),
    ("recipes.csv", 2, "amount", "mixed,salt,5 mL", "counted by mass"),
    ("recipes.csv", 2, "amount", "mixed,salt,-5 g", "negative"),
    ("recipes.csv", 2, "solution", "soup,salt,5 g", "not in solutions.csv"),
    ("demos.csv", 2, "spare_pct", "show,A demonstration,-1", "percentage"),
    ("demos.csv", 3, "code", "show,Again,1", "stands twice"),
    ("needs.csv", 2, "item", "show,gold,5 g,,,", "neither a substance"),
    ("needs.csv", 2, "per_showing", "show,salt-1,5 g,,,", "counted by volume"),
    ("needs.csv", 2, "per_showing", "show,salt-1,inf mL,,,", "not one number"),
    ("needs.csv", 2, "per_showing", "show,salt-1,101 x 5 mL,,,", "1 to 100 portions"),
    ("needs.csv", 2, "dead_volume", "show,salt-1,5 mL,1 g,,", "counted by volume"),
    ("needs.csv", 2, "until", "show,salt-1,5 mL,,pH 15,", "is no end; write such as"),
    ("needs.csv", 2, "fresh", "show,salt-1,5 mL,,,maybe", "not one of: yes, no"),
    ("needs.csv", 2, "demo", "party,salt-1,5 mL,,,", "not in demos.csv"),
    ("leftovers.csv", 2, "stream", "show,salt water,river", "not one of: drain"),
    ("instruments.csv", 2, "kind", "cyl-100,Cylinder,bucket,100,1,1,2", "not one of"),
    ("instruments.csv", 3, "code", "cyl-100,Cylinder,measuring cylinder,100,1,1,2", "stands twice"),
    ("rules.csv", 2, "item", "salt-1,1 L,,7", "only substances are ordered"),
    ("rules.csv", 3, "item", "salt,1 g,,7", "stands twice"),
    ("rules.csv", 2, "packs", "salt,100 g,500 g;0 g,7", "zero"),
    ("rules.csv", 2, "packs", "salt,100 g,500 g;1 L,7", "counted by mass"),
    ("rules.csv", 2, "minimum", "salt,40 drops,500 g,7", "drops are no amount"),
    ("rules.csv", 2, "lead_days", "salt,100 g,500 g,", "must not be empty"),
]


@pytest.mark.parametrize(("name", "number", "column", "row", "why"), WRONG)
def test_a_wrong_cell_is_told_by_file_row_and_column(
    folder: Path, name: str, number: int, column: str, row: str, why: str
) -> None:
    lines = (folder / name).read_text(encoding="utf-8").splitlines()
    if number - 1 < len(lines) and lines[number - 1].partition(",")[0] == row.partition(",")[0]:
        lines[number - 1] = row
    else:
        lines.insert(number - 1, row)
    (folder / name).write_text("\n".join(lines) + "\n", encoding="utf-8")
    with pytest.raises(PrepError) as problem:
        read_catalogue(folder)
    assert str(problem.value).startswith(f'{name}, row {number}, column "{column}": ')
    assert why in str(problem.value)
    assert "\n" not in str(problem.value)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "the file is empty"),
        ("code,name,flavour\n", 'row 1: the column "flavour" is not known'),
        ("code,code,name,form\n", 'row 1: the column "code" stands twice'),
        ("code,name\n", 'row 1: the column "form" is missing'),
        ("code,name,form\nsalt,Salt,solid,extra\n", "row 2: 4 cells, but the header names 3"),
        ('code,name,form\nsalt,"Salt,solid\n', "not readable as a table"),
        ("code,name,form\nsa\0lt,Salt,solid\n", ""),
    ],
)
def test_a_malformed_table_is_told(folder: Path, text: str, why: str) -> None:
    (folder / "substances.csv").write_text(text, encoding="utf-8")
    with pytest.raises(PrepError, match=r"^substances.csv") as problem:
        read_catalogue(folder)
    assert why in str(problem.value)


def test_other_encodings_and_missing_files_are_told(folder: Path) -> None:
    (folder / "substances.csv").write_bytes("code,name,form\nsalt,S\u00e4l,solid\n".encode("latin-1"))
    with pytest.raises(PrepError, match=r"substances.csv, line 2: not UTF-8 text"):
        read_catalogue(folder)
    (folder / "substances.csv").unlink()
    with pytest.raises(PrepError, match=r"substances.csv: there is no such file"):
        read_catalogue(folder)


@pytest.mark.parametrize(
    "change",
    [
        ("mixed,Mixture,30,,,1 L,,,,", "recipes.csv", "mixed,thin,1 mL"),
        ("mixed,Mixture,30,,,1 L,,thin,,", "", ""),
        ("mixed,Mixture,30,,,1 L,thin,,,", "", ""),
    ],
)
def test_a_loop_among_recipes_is_named(folder: Path, change: tuple[str, str, str]) -> None:
    solution, other, line = change
    path = folder / "solutions.csv"
    path.write_text(path.read_text().replace(ROWS["solutions.csv"][1], solution))
    if other:
        with (folder / other).open("a") as file:
            file.write(line + "\n")
    with pytest.raises(PrepError, match=r"go round in a loop: .*mixed"):
        read_catalogue(folder)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("weekdays = 3", "weekdays is a list"),
        ('weekdays = ["someday"]', '"someday" is no weekday'),
        ("minutes_per_day = 0", "minutes_per_day must be"),
        ("minutes_per_day = true", "minutes_per_day must be"),
        ("[minutes_on]\n2027-01-12 = 1441", "each from 0 to 1440"),
        ("[minutes_on]\nsoon = 0", "each from 0 to 1440"),
        ("minutes_on = 5", "each from 0 to 1440"),
        ("closed = 5", 'needs "from"'),
        ('[[closed]]\nto = 2027-02-15\nwhy = "x"', 'needs "from"'),
        ("[[closed]]\nfrom = 2027-02-15\nto = 2027-02-01", "a closed span"),
        ("[[closed]]\nfrom = 2027-02-15T10:00:00\nto = 2027-02-16", "a closed span"),
        ('[[closed]]\nfrom = "soon"', "a closed span"),
        ("weekdays = [", "not readable as TOML"),
    ],
)
def test_a_wrong_calendar_is_told(folder: Path, text: str, why: str) -> None:
    (folder / "calendar.toml").write_text(text)
    with pytest.raises(PrepError, match=r"^calendar.toml: ") as problem:
        read_catalogue(folder)
    assert why in str(problem.value)


SCHOOL = [
    ("bottles.csv", 2, "item", "AC1,gold,1 g,,ACID,,,,,,", "neither"),
    ("bottles.csv", 2, "amount", "AC1,hydrochloric-acid,1 g,,ACID,,,,,,", "counted by volume"),
    ("bottles.csv", 2, "amount", "AC1,hydrochloric-acid,40 drops,,ACID,,,,,,", "drops are no amount"),
    ("bottles.csv", 2, "location", "AC1,hydrochloric-acid,1 L,,ROOF,,,,,,", "not in locations.csv"),
    ("bottles.csv", 2, "use_by", "AC1,hydrochloric-acid,1 L,31/12/2027,ACID,,,,,,", "no date"),
    ("bottles.csv", 2, "use_by", "AC1,hydrochloric-acid,1 L,2027-02-30,ACID,,,,,,", "no date"),
    ("bottles.csv", 2, "status", "AC1,hydrochloric-acid,1 L,,ACID,lost,,,,,", "not one of: in service"),
    ("bottles.csv", 2, "strength", "AC1,hydrochloric-acid,1 L,,ACID,,,,,0.1 mol/L,", "that is another thing"),
    ("bottles.csv", 3, "code", "AC1,hydrochloric-acid,1 L,,ACID,,,,,,", "stands twice"),
    ("orders.csv", 2, "item", "O1,hcl-0.1,1 L,1,2027-01-08,2027-01-18", "only substances are ordered"),
    ("orders.csv", 2, "packs", "O1,sodium-hydroxide,500 g,0,2027-01-08,2027-01-18", "whole number"),
    ("locations.csv", 2, "walk_order", "ACID,Acid cupboard,-1,", "whole number"),
    ("bookings.csv", 2, "demo", "B1,2027-01-14,2,L1,A,nothing-such,2", "is no demo on file"),
    ("bookings.csv", 2, "showings", "B1,2027-01-14,2,L1,A,{demo},0", "whole number"),
    ("bookings.csv", 2, "date", "B1,tomorrow,2,L1,A,{demo},1", "no date"),
]


@pytest.mark.parametrize(("name", "number", "column", "row", "why"), SCHOOL)
def test_a_schools_wrong_cell_is_told(school: Path, name: str, number: int, column: str, row: str, why: str) -> None:
    catalogue = read_catalogue(seed_data())
    lines = (school / name).read_text().splitlines()
    row = row.replace("{demo}", next(iter(catalogue.demos)))
    if number == 3:
        lines.insert(2, row)
    else:
        lines[number - 1] = row
    (school / name).write_text("\n".join(lines) + "\n")
    with pytest.raises(PrepError) as problem:
        read_school(school, catalogue)
    assert str(problem.value).startswith(f'{name}, row {number}, column "{column}": ')
    assert why in str(problem.value)


def test_a_schools_dates_are_dates(school: Path) -> None:
    path = school / "settings.toml"
    path.write_text(path.read_text().replace("today = 2027-01-11", 'today = "Monday"'))
    with pytest.raises(PrepError, match=r"settings.toml: today must be a date"):
        read_school(school, read_catalogue(seed_data()))


def test_a_list_that_is_not_there_is_empty(school: Path) -> None:
    catalogue = read_catalogue(seed_data())
    for name in ("settings.toml", "orders.csv", "bookings.csv"):
        (school / name).unlink()
    found = read_school(school, catalogue)
    assert found.bottles
    assert not found.orders
    assert not found.bookings
    (school / "bottles.csv").write_text("code,item,amount,location\nA2A2,sodium-chloride,500 g,PREP\n")
    (school / "locations.csv").unlink()
    assert [place.code for place in read_school(school, catalogue).locations] == ["PREP"]
    (school / "bottles.csv").write_text("code,item,amount\nA2A2,conc HCl,500 mL\n")
    (bottle,) = read_school(school, catalogue).bottles
    assert (bottle.bottle.item, bottle.bottle.location) == ("hydrochloric-acid", "PREP")
    (school / "bottles.csv").unlink()
    with pytest.raises(PrepError, match=r"none of settings.toml, locations.csv"):
        read_school(school, catalogue)


def test_bookings_may_leave_their_codes_empty(school: Path) -> None:
    path = school / "bookings.csv"
    path.write_text(path.read_text().replace("\nB1,", "\n,"))
    (wanted,) = read_bookings(path, BookableNames(read_catalogue(seed_data())))
    assert (wanted.booking.code, wanted.booking.showings) == ("", 2)


@pytest.mark.parametrize(("written", "minutes"), [("0", 0), ("", 15), ("40", 40)])
def test_no_minutes_are_none_and_minutes_that_are_not_given_are_the_usual(written: str, minutes: int) -> None:
    catalogue = read_catalogue(seed_data())
    cells = {"code": "x-1", "name": "x", "solute": "sodium-chloride", "strength": "1 mol/L", "shelf_life_days": "9"}
    row = Row("solutions.csv", 2, cells | {"minutes": written})
    assert read_solution(row, {}, catalogue.substances).minutes == minutes


def test_the_shipped_files_can_be_read_from_anywhere(tmp_path: Path) -> None:
    shutil.copytree(seed_data(), tmp_path / "mine")
    assert read_catalogue(tmp_path / "mine") == read_catalogue(seed_data())
