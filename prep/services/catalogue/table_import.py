"""Substances, solutions and demos from spreadsheets, in the columns of the shipped lists."""

import dataclasses
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from prep.books import JobKind
from prep.chemistry import quantities, spelling
from prep.chemistry.catalogue import Catalogue
from prep.chemistry.formula.formulas import molar_mass
from prep.chemistry.model import Substance
from prep.chemistry.preparation.recipe_checks import check_recipe
from prep.errors import PrepError
from prep.planning.engine.low_level_code import planning_order
from prep.planning.model import Demo, Leftover, Need
from prep.safety.clp.parse import classes_of
from prep.services.catalogue import seed
from prep.services.catalogue.cells import demo_cells, measure_of, solution_cells, substance_cells
from prep.services.catalogue.named_cells import NamedCells
from prep.services.catalogue.substances import SUBSTANCE_COLUMNS, read_substance
from prep.services.files.csv_file import Row, RowError, whole
from prep.services.files.imports import Fate, ImportFile, ImportReport
from prep.services.files.spreadsheet import Columns, Table, read_table
from prep.services.input.act import Act
from prep.services.input.progress import More, Watcher, each, nobody, steps
from prep.services.inventory import session
from prep.store import ledger, queries, seeding
from prep.store.school import removal
from prep.wording import Flag, Sentence

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from prep.chemistry.model import Instrument, Solution

_FIGURES = "assay_pct density_g_ml solubility_g_per_100g solubility_c flash_point_c tolerance_pct spare_pct".split()
_FIGURES += "capacity tolerance resolution count".split()
_AMOUNTS = "strength recipe_makes amount per_showing dead_volume".split()
T = TypeVar("T")


@dataclasses.dataclass(frozen=True, slots=True)
class _Read:
    """A row that can be taken in: what is said of it, the code of what it makes, and what to mind."""

    says: str
    code: str
    notes: tuple[str, ...] = ()


@dataclasses.dataclass(frozen=True, slots=True)
class _Rows:
    """What becomes of every row, and what puts the right ones on file."""

    fates: list[Fate]
    put: "Callable[[Connection], None]"


def import_substances(
    db: Path | None,
    file: ImportFile,
    act: Act,
    watcher: Watcher = nobody,
) -> ImportReport:
    """Add substances, all or none; those on file stay unless they are replaced. Raises PrepError.

    Of one that is replaced, what a row leaves blank stays as it is; `-` clears it.
    """
    table = _read(file, SUBSTANCE_COLUMNS, ("code",))

    def write(connection: "Connection", more: More) -> _Rows:
        known, solutions = queries.substances(connection), queries.solutions(connection)
        new: dict[str, Substance] = {}

        def read(short: Row) -> _Read:
            row = _over(short, known, substance_cells)
            substance = read_substance(row)
            if substance.formula:
                row.read("formula", molar_mass)

            row.read("classification", classes_of)
            _free(row, substance.code, new, known, file.replace, solutions)
            if substance.code in known and known[substance.code].measure is not substance.measure:
                raise row.wrong("form", "its bottles are counted by the other measure; give it another code.")
            held = known.get(substance.code)
            new[substance.code] = dataclasses.replace(substance, method_steps=held.method_steps if held else ())
            return _comes(substance.code, known)

        def put(connection: "Connection") -> None:
            removal.substances(connection, new)
            seeding.put_substances(connection, new.values())

        return _Rows(_fates(table, read, more), put)

    return _run(_Import(db, file, "substances", act), [table], write, watcher)


def import_solutions(
    db: Path | None, file: ImportFile, recipes: Path | None, act: Act, watcher: Watcher = nobody
) -> ImportReport:
    """Add solutions with their recipes, all or none. Raises PrepError.

    Of one that is replaced, what a row leaves blank stays as it is, and so does its recipe where `recipes` has no row
    of it; `-` clears a cell.
    """
    table = _read(file, seed.SOLUTION_COLUMNS, ("code",))
    lines = _read(ImportFile(recipes), seed.RECIPE_COLUMNS, ("solution", "item", "amount")) if recipes else None

    def write(connection: "Connection", more: More) -> _Rows:
        substances, known = queries.substances(connection), queries.solutions(connection)
        given: dict[str, list[seed.RecipeRow]] = defaultdict(list)
        coming = _coming(table, known)
        names = NamedCells(Catalogue(substances, known), coming, queries.items_held(connection))

        def ingredient(as_typed: Row) -> _Read:
            row = names.read(as_typed, "item")
            code, item = _one_of(row, "solution", coming, table.file), row.code("item")
            amount = row.need("amount", quantities.amount)
            if item != "water":
                _there(row, "item", item, substances, known, coming)
                by_mass = item in substances and substances[item].measure is not amount.measure
                if by_mass or (item not in substances and amount.measure.value != "volume"):
                    raise row.wrong("amount", f"{item} is not counted by {amount.measure.value}.")
            given[code].append(seed.RecipeRow(row, item, amount, row.text("note")))
            return _Read(f"{item}, an ingredient of {code}", code, names.says)

        parts = _fates(lines, ingredient, more)
        new: dict[str, Solution] = {}

        def read(short: Row) -> _Read:
            row = names.read(_over(short, known, solution_cells), "make_up_with", lists=("made_from",))
            held = known.get(row.text("code"))
            if held is not None and held.recipe and held.code not in given and row.text("recipe_makes"):
                given[held.code] = [
                    seed.RecipeRow(row, i.item, quantities.Amount(i.amount, measure_of(i.item, substances)), i.note)
                    for i in held.recipe
                ]
            solution = seed.read_solution(row, given, substances)
            for column, item in (
                *(("made_from", item) for item in solution.made_from),
                ("make_up_with", solution.make_up_with),
            ):
                if item != "water":
                    _there(row, column, item, substances, known, coming)
            _free(row, solution.code, new, known, file.replace, substances)
            try:
                check_recipe(solution, Catalogue(substances, {**known, **new}))
            except PrepError as problem:
                raise row.wrong("recipe_makes", problem.sentence) from None
            kept = held.method_steps if held is not None and not solution.method else ()
            new[solution.code] = dataclasses.replace(solution, method_steps=kept)
            return dataclasses.replace(_comes(solution.code, known), notes=names.says)

        fates = [*parts, *_fates(table, read, more)]
        everything = {**known, **new}
        uses = {
            s.code: [i for i in (*(line.item for line in s.recipe), *s.made_from, s.make_up_with) if i in everything]
            for s in everything.values()
        }
        if not any(fate.wrong for fate in fates):
            planning_order(everything, uses)  # raises where a solution is made from itself

        def put(connection: "Connection") -> None:
            removal.solutions(connection, new)
            seeding.put_solutions(connection, new.values())

        return _Rows(fates, put)

    return _run(_Import(db, file, "solutions", act), [table, lines], write, watcher)


def import_demos(
    db: Path | None, file: ImportFile, needs: Path, leftovers: Path | None, act: Act, watcher: Watcher = nobody
) -> ImportReport:
    """Add demos with their needs and leftovers, all or none. Raises PrepError.

    Of one that is replaced, what a row leaves blank stays as it is; `-` clears it. The needs are those of the file.
    """
    table = _read(file, seed.DEMO_COLUMNS, ("code",))
    wanted = _read(ImportFile(needs), seed.NEED_COLUMNS, ("demo", "item", "per_showing"))
    left = _read(ImportFile(leftovers), seed.LEFTOVER_COLUMNS, ("demo", "what", "stream")) if leftovers else None

    def write(connection: "Connection", more: More) -> _Rows:

        catalogue = queries.catalogue(connection)
        known = queries.demos(connection)
        coming = _coming(table, known)
        takes: dict[str, list[Need]] = defaultdict(list)
        leaves: dict[str, list[Leftover]] = defaultdict(list)
        new: dict[str, Demo] = {}
        names = NamedCells(catalogue, held=queries.items_held(connection))

        def need(row: Row) -> _Read:
            code = _one_of(row, "demo", coming, table.file)
            takes[code].append(seed.read_need(names.read(row, "item"), catalogue))
            return _Read(f"{takes[code][-1].item}, a need of {code}", code, names.says)

        def leftover(row: Row) -> _Read:
            code = _one_of(row, "demo", coming, table.file)
            stream = row.one_of("stream", seed.STREAMS)
            leaves[code].append(Leftover(row.text("what", required=True), stream, row.text("note")))
            return _Read(f"{leaves[code][-1].what}, a leftover of {code}", code)

        def read(short: Row) -> _Read:
            row = _over(short, known, demo_cells)
            code = row.code("code")
            held = known.get(code)
            _free(row, code, new, known, file.replace, {})
            if not takes[code] and held is None:
                raise row.wrong("code", f"this demo has no rows in {needs.name}.")
            there = held.leftovers if held is not None and left is None else tuple(leaves[code])
            new[code] = seed.read_demo(row, takes[code] or (held.needs if held else ()), there)
            return _comes(code, known)

        parts = [*_fates(wanted, need, more), *_fates(left, leftover, more)]
        fates = [*parts, *_fates(table, read, more)]

        def put(connection: "Connection") -> None:
            removal.demos(connection, new)
            seeding.put_demos(connection, new.values())

        return _Rows(fates, put)

    return _run(_Import(db, file, "demos", act), [table, wanted, left], write, watcher)


def import_instruments(db: Path | None, file: ImportFile, act: Act, watcher: Watcher = nobody) -> ImportReport:
    """Set how many there are of instruments, and add new ones, all or none. Raises PrepError.

    Of one on file, what a row leaves empty stays as it is; a new one needs its kind, capacity, tolerance and
    resolution.
    """
    table = _read(file, seed.INSTRUMENT_COLUMNS, ("code", "count"))

    def write(connection: "Connection", more: More) -> _Rows:
        known = {one.code: one for one in queries.all_instruments(connection)}
        given: dict[str, Instrument] = {}

        named = {spelling.key(one.name): one.code for one in known.values()}

        def read(typed: Row) -> _Read:
            said = typed.text("code")
            row = typed.with_cells({"code": said if said in known else named.get(spelling.key(said), said)})
            code = row.code("code")
            if code in given:
                raise row.wrong("code", f'"{code}" stands twice.')
            row.need("count", whole)
            given[code] = seed.read_instrument(_over(row, known, seed.instrument_cells))
            return _comes(code, known)

        def put(connection: "Connection") -> None:
            removal.instruments(connection, known)
            seeding.put_instruments(connection, {**known, **given}.values())

        return _Rows(_fates(table, read, more), put)

    return _run(_Import(db, file, "instruments", act), [table], write, watcher)


@dataclasses.dataclass(frozen=True, slots=True)
class _Import:
    db: Path | None
    file: ImportFile
    what: str
    act: Act


def _read(file: ImportFile, columns: Sequence[str], required: Sequence[str]) -> Table:
    known = Columns(columns, required, others=bool(file.mapped), figures=_FIGURES, quantities=_AMOUNTS)
    return read_table(file.path, known, file.mapped)


def _run(
    asked: _Import,
    tables: Sequence[Table | None],
    write: Callable[["Connection", More], _Rows],
    watcher: Watcher,
) -> ImportReport:
    """Take the rows of the tables in as one job, or look at them only."""
    given = [table for table in tables if table]
    not_read = tuple(column for table in given for column in table.not_read)

    def work(connection: "Connection") -> _Rows:
        rows = write(connection, steps(watcher, sum(len(table.rows) for table in given)))
        if not rows.fates:
            raise PrepError(f"{given[0].file}: there is no row in it.")
        return rows

    def post(connection: "Connection", rows: _Rows) -> ImportReport:
        job = None
        if not any(fate.wrong for fate in rows.fates):
            note = f"{len(given[0].rows)} {asked.what} from {given[0].file}"[:200]
            job = ledger.begin(connection, JobKind.CATALOGUE, asked.act.by, asked.act.on, note)
            rows.put(connection)
        return ImportReport(tuple(rows.fates), job, not_read)

    if asked.file.dry_run:
        with session.reading(asked.db) as connection:
            return ImportReport(tuple(work(connection).fates), None, not_read)
    return session.worked_out(asked.db, work, post)


def _over(row: Row, known: Mapping[str, T], cells: Callable[[T], Mapping[str, str]]) -> Row:
    """Fill what a row leaves blank from what stands on file; a cell of `-` becomes blank."""
    held = known.get(row.text("code"))
    return row.over({} if held is None else cells(held))


def _coming(table: Table, known: "Mapping[str, Demo] | Mapping[str, Solution]") -> dict[str, str]:
    """List the codes that a table brings, each with its name, which a row that replaces one may leave blank."""
    held = {code: one.name for code, one in known.items()}
    return {code: row.text("name") or held.get(code, "") for row in table.rows if (code := row.text("code"))}


def _one_of(row: Row, column: str, coming: Mapping[str, str], file: str) -> str:
    """Find which of a file's rows another file's row is about, by its code or its name. Raises PrepError."""
    said = row.text(column, required=True)
    if said in coming:
        return said
    found = [code for code, name in coming.items() if name and spelling.key(name) == spelling.key(said)]
    if len(found) != 1:
        raise row.wrong(column, f'"{said[:40]}" is not in {file}.')
    return found[0]


def _fates(table: Table | None, read: Callable[[Row], _Read], more: More) -> list[Fate]:
    """Read each row of a table, and tell what became of it."""
    if table is None:
        return []
    out = [Fate(table.file, one.number, one.says, True) for one in table.wrong]
    for row in each(table.rows, more):
        try:
            done = read(row)
        except PrepError as problem:
            where = "" if isinstance(problem, RowError) else f"{row.file}, row {row.number}: "
            says = Sentence(where, problem.sentence)
            out.append(Fate(table.file, row.number, says, True))
            continue
        out.append(Fate(table.file, row.number, done.says, False, done.code, done.notes))
    return sorted(out, key=lambda fate: fate.row)


def _comes(code: str, known: Mapping[str, object]) -> _Read:
    return _Read(f"{'replaces' if code in known else 'new'}: {code}", code)


def _free(
    row: Row,
    code: str,
    new: Mapping[str, object],
    known: Mapping[str, object],
    replace: bool,
    others: "Mapping[str, Substance] | Mapping[str, Solution]",
) -> None:
    if code in new:
        raise row.wrong("code", f'"{code}" stands twice.')
    if code in others:
        one = others[code]
        kind = "substance" if isinstance(one, Substance) else "solution"
        raise row.wrong("code", f'"{code}" is taken by the {kind} {one.name}; give it another code.')
    if code in known and not replace:
        raise row.wrong("code", f'"{code}" is on file already; add ', Flag("--replace"), " to write over it.")


def _there(row: Row, column: str, item: str, *where: Iterable[str]) -> None:
    if not any(item in one for one in where):
        raise row.wrong(column, f'"{item[:40]}" is neither a substance nor a solution.')
