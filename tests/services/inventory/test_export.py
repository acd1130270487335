"""The whole inventory out as files and in again, equal: both kinds of file, from and to each kind of database."""

import csv
import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import func, insert, select

from prep.books import JobKind
from prep.errors import PrepError
from prep.services.files import table_dump
from prep.services.inventory import backup, export, session
from prep.services.stock import changes
from prep.store import ledger
from prep.store.copies import dump as tables
from prep.store.copies.dump import DumpField
from prep.store.table_rows import table
from prep.store.tables import ChangeRow, JobRow, LocationRow
from tests.databases import BACKENDS, emptied
from tests.days import act
from tests.services.conftest import DAY

pytestmark = pytest.mark.filterwarnings("error")

HOSTILE = ["=1+1", "+1-2", "-2+3", "@SUM(A1)", "\t=1", "\r-x", "x;=1", 'x\n"@y', "'=1", "'", "''", ",", " ", "", "＝1"]
KINDS = list(export.FORMATS)


@pytest.fixture
def busy(inventory: None) -> None:  # noqa: ARG001
    """An inventory with jobs, an undoing, and text in it that a spreadsheet would run."""
    used = changes.use(None, "AC1", "12.345678 mL", "=1+1", act("Ada", DAY))
    assert used.balance == 2_487_654_322
    changes.move(None, "AC1", "PREP", act("Ada", DAY))
    with session.reading(None) as connection:
        last = connection.execute(select(func.max(JobRow.id))).scalar_one()
    changes.undo(None, last, act("Ada", DAY))
    with session.writing(None) as connection:
        noted = ledger.begin(connection, JobKind.CORRECT, "Ada", DAY)
        for number, text in enumerate(HOSTILE):
            place = {"code": f"{'Ll'[number % 2]}{number}", "name": text, "walk_order": -number, "note": text}
            connection.execute(insert(table(LocationRow)), place)
            change = {"job": noted, "kind": "bottle", "code": "AC1", "field": "note", "before": text, "after": ""}
            connection.execute(insert(table(ChangeRow)), change)


def everything(db: Path | None) -> dict[str, list[dict[str, object]]]:
    with session.reading(db) as connection:
        return {one.name: list(tables.rows(connection, one)) for one in tables.tables()}


@pytest.mark.usefixtures("busy")
@pytest.mark.parametrize("target", BACKENDS)
@pytest.mark.parametrize("kind", KINDS)
def test_out_and_in_again_is_equal(
    kind: str, target: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest
) -> None:
    before = everything(None)
    done = export.export(None, tmp_path / "out", kind)
    assert done.rows == {name: len(rows) for name, rows in before.items()}
    assert all(done.rows[name] for name in ("job", "movement", "change", "bottle", "booking", "purchase", "setting"))
    new = f"sqlite:///{tmp_path / 'new.db'}" if target == "sqlite" else emptied(request.getfixturevalue("postgres"))
    monkeypatch.setenv("PREP_DATABASE_URL", new)
    assert export.import_(None, tmp_path / "out").rows == done.rows
    assert everything(None) == before
    assert backup.check(None) == []
    export.export(None, tmp_path / "again", kind)
    for part in (tmp_path / "out").iterdir():
        assert part.read_bytes() == (tmp_path / "again" / part.name).read_bytes(), part.name
    changes.use(None, "AC1", "1 mL", "", act("Ada", DAY))  # the numbers of jobs and movements go on
    with pytest.raises(PrepError, match="already"):
        export.import_(None, tmp_path / "out")


@pytest.mark.usefixtures("busy")
def test_no_cell_of_the_csv_is_run_by_a_spreadsheet(tmp_path: Path) -> None:
    export.export(None, tmp_path / "out", "csv")
    seen = 0
    for path in (tmp_path / "out").glob("*.csv"):
        for delimiter in ",;\t":  # whichever the spreadsheet of some country takes
            with path.open(encoding="utf-8-sig", newline="") as file:
                for cell in (cell for row in csv.reader(file, delimiter=delimiter) for cell in row):
                    seen += 1
                    assert not re.match(r"\s*[=+@＝＋－＠]|\s*-(?![0-9.]+$)", cell), (path.name, cell)
    assert seen > 1000


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("target", BACKENDS)
@pytest.mark.usefixtures("busy")
def test_what_cannot_be_imported_leaves_the_place_empty(
    kind: str, target: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest
) -> None:
    export.export(None, tmp_path / "out", kind)
    path = tmp_path / "out" / f"movement.{kind}"
    whole = path.read_text(encoding="utf-8")
    new = f"sqlite:///{tmp_path / 'new.db'}" if target == "sqlite" else emptied(request.getfixturevalue("postgres"))
    monkeypatch.setenv("PREP_DATABASE_URL", new)
    for old, spoilt, says in (
        ("-12345678", "-12345679", "not clean"),
        ("-12345678", "-1234567.8", "movement, row [0-9]+: .*wrong kind"),
        ("-12345678", "-1" + "0" * 20, "larger than any|out of range"),
    ):
        path.write_text(whole.replace(old, spoilt, 1), encoding="utf-8")
        with pytest.raises(PrepError, match=says):
            export.import_(None, tmp_path / "out")
    path.write_text(whole, encoding="utf-8")
    assert export.import_(None, tmp_path / "out").rows["movement"] == 4


@pytest.mark.parametrize("name", ["movement.jsonl", "prep.json"])
@pytest.mark.usefixtures("busy")
def test_what_is_no_file_is_not_read_for_ever(name: str, tmp_path: Path) -> None:
    """A device gives bytes without end; a folder stands for it, as it is no file on any system."""
    export.export(None, tmp_path / "out", "jsonl")
    (tmp_path / "out" / name).unlink()
    (tmp_path / "out" / name).mkdir()
    with pytest.raises(PrepError, match=f"{name}: this is a folder, and no file"):
        export.import_(tmp_path / "new.db", tmp_path / "out")
    assert not (tmp_path / "new.db").exists()


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("id,job", "id;job", r"movement.csv, row 1: the columns are id, job, .* divided by commas"),
        ("AC1", 'A"C1', "books are not clean|no bottle|refused"),
        (",AC1,", ",AC1,,", r"movement.csv, row [0-9]+: 7 cells, where 6 belong"),
        (",AC1,", ',"AC1,', r"movement.csv, line [0-9]+: no table"),
        ("id", "\xff", "not UTF-8"),
    ],
)
@pytest.mark.usefixtures("busy")
def test_a_csv_that_was_spoilt_is_told(tmp_path: Path, old: str, new: str, says: str) -> None:
    export.export(None, tmp_path / "out", "csv")
    path = tmp_path / "out" / "movement.csv"
    text = path.read_text(encoding="utf-8").replace(old, new, 1)
    path.write_bytes(text.encode("latin-1" if new == "\xff" else "utf-8", errors="replace"))
    with pytest.raises(PrepError, match=says):
        export.import_(tmp_path / "new.db", tmp_path / "out")
    assert not list(tmp_path.glob("new.db*"))


_TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=8) | st.sampled_from(HOSTILE)
_FIELDS = [DumpField("must", str, False), DumpField("may", str, True), DumpField("figure", int, True)]


@given(rows=st.lists(st.tuples(_TEXT, st.none() | _TEXT, st.none() | st.integers(-(2**63), 2**63 - 1)), max_size=4))
@pytest.mark.parametrize("kind", KINDS)
def test_any_row_comes_back(
    tmp_path_factory: pytest.TempPathFactory, kind: str, rows: list[tuple[str, str | None, int | None]]
) -> None:
    path = tmp_path_factory.mktemp("rows") / f"t.{kind}"
    wanted: list[table_dump.Row] = [{"must": a, "may": b, "figure": c} for a, b, c in rows]
    assert table_dump.write(path, _FIELDS, wanted) == len(rows)
    assert list(table_dump.read(path, _FIELDS)) == wanted
