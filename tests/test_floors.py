"""The house: a room imports only from floors below its own, and start-up stays light."""

import ast
import re
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import networkx as nx
import pytest

PACKAGE = Path(__file__).parent.parent / "prep"
FLOOR = {
    "chemistry": 0,
    "planning": 1,
    "safety": 1,
    "stocktake": 1,
    "store": 2,
    "services": 3,
    "reports": 4,
    "cli": 6,
    "web": 5,
}
FREE = {
    "errors",
    "plurals",
    "resources",
    "dates",
    "books",
    "findings",
    "garbage_collection",
    "records",
    "wording",
    "__init__",
    "__version__",
}
MOST_MODULES, MOST_LINES, MOST_PARAMETERS = 15, 400, 6
HEAVY = ("pint", "sqlalchemy", "sqlmodel", "alembic", "reportlab", "segno", "molmass", "icalendar", "rich")
IMPURE = ("sqlite3", "sqlalchemy", "sqlmodel", "os", "locale", "socket", "time", "random", "rich", "typer")


@cache
def nodes_of(path: Path) -> list[ast.AST]:
    """Every node of the file, read once."""
    return list(ast.walk(ast.parse(path.read_text(encoding="utf-8"))))


@cache
def imports_of(path: Path) -> list[str]:
    """Every module imported anywhere in the file, as a dotted name."""
    names = []
    for node in nodes_of(path):
        if isinstance(node, ast.Import):
            names += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module and node.level == 0:
            names += [f"{node.module}.{alias.name}" for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.level:
            names.append(f"relative import in {path.name}")
    return names


ROOMS = [p for p in sorted(PACKAGE.rglob("*.py")) if p.parent != PACKAGE]


@pytest.mark.parametrize("path", ROOMS, ids=lambda p: str(p.relative_to(PACKAGE)))
def test_a_room_imports_only_from_floors_below(path: Path) -> None:
    room = path.relative_to(PACKAGE).parts[0]
    for name in imports_of(path):
        parts = name.split(".")
        assert not name.startswith("relative"), name
        if parts[0] != "prep" or len(parts) == 1 or parts[1] in FREE or parts[1] == room:
            continue
        assert parts[1] in FLOOR, f"{path} imports {name}, which is on no floor"
        assert FLOOR[parts[1]] < FLOOR[room], f"{room} (floor {FLOOR[room]}) imports {name}"


@pytest.mark.parametrize("path", [p for p in ROOMS if FLOOR[p.relative_to(PACKAGE).parts[0]] < 2], ids=str)
def test_the_core_touches_no_database_clock_or_terminal(path: Path) -> None:
    for name in imports_of(path):
        assert name.split(".")[0] not in IMPURE, f"{path.name} imports {name}"
    assert ".today()" not in path.read_text(encoding="utf-8"), f"{path.name} reads the clock"


def _module(path: Path) -> str:
    return ".".join(path.relative_to(PACKAGE.parent).with_suffix("").parts)


def test_no_modules_import_each_other_in_a_circle() -> None:
    files = {_module(path): path for path in sorted(PACKAGE.rglob("*.py"))}
    arrows = nx.DiGraph()
    for module, path in files.items():
        for name in imports_of(path):
            target = name if name in files else name.rpartition(".")[0]
            if target in files and target != module:
                arrows.add_edge(module, target)
    assert [sorted(circle) for circle in nx.strongly_connected_components(arrows) if len(circle) > 1] == []


@pytest.mark.parametrize("path", [p for p in ROOMS if FLOOR[p.relative_to(PACKAGE).parts[0]] > 2], ids=_module)
def test_only_the_store_asks_the_database(path: Path) -> None:
    """Above it stand connections and engines at most, to hand on."""
    asked = {name for name in imports_of(path) if name.split(".")[0] in ("sqlalchemy", "sqlmodel", "sqlite3")}
    assert asked <= {"sqlalchemy.Connection", "sqlalchemy.Engine"}
    calls = [node.attr for node in nodes_of(path) if isinstance(node, ast.Attribute)]
    assert not {"execute", "executemany", "exec_driver_sql"} & set(calls)


SUBJECTS = {
    "answers", "bookings", "buffer", "by_mass", "calendar", "catalogue", "counts", "demos", "equilibrium", "findings",
    "glassware", "history", "make", "model", "orders", "people", "peroxides", "places", "plan", "report", "safety",
    "school_rules", "settings", "sheets", "standardise", "stock", "tables", "usage", "usual", "volumetry", "waste",
    "what_if",
}  # fmt: skip
"""One subject on several floors: its rule, its service, its command. `model` is a room's plain data."""


def test_no_two_modules_mean_different_things_by_one_name() -> None:
    rooms = Counter(
        (path.stem, path.relative_to(PACKAGE).parts[0])
        for path in ROOMS
        if path.stem != "__init__" and path.parent.name != "tables"
    )
    assert [name for name, times in rooms.items() if times > 1] == []
    free = [path.stem for path in PACKAGE.glob("*.py") if path.stem != "__init__"]
    floors = Counter([*free, *(name for name, _ in rooms)])
    assert {name for name, times in floors.items() if times > 1} <= SUBJECTS


def test_no_two_classes_share_a_name() -> None:
    classes = Counter(
        node.name for path in PACKAGE.rglob("*.py") for node in nodes_of(path) if isinstance(node, ast.ClassDef)
    )
    assert [name for name, times in classes.items() if times > 1] == []


@pytest.mark.parametrize("package", [p.parent for p in PACKAGE.rglob("__init__.py")], ids=_module)
def test_a_package_is_small_enough_to_find_a_module_in(package: Path) -> None:
    modules = [path.stem for path in package.glob("*.py") if path.stem != "__init__"]
    assert len(modules) <= MOST_MODULES, sorted(modules)


@pytest.mark.parametrize("path", ROOMS, ids=lambda p: str(p.relative_to(PACKAGE)))
def test_a_module_is_short_enough_to_read(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) <= MOST_LINES


@pytest.mark.parametrize("path", [p for p in ROOMS if p.relative_to(PACKAGE).parts[0] == "services"], ids=_module)
def test_no_function_of_a_service_takes_a_list_of_parameters(path: Path) -> None:
    many = []
    for node in nodes_of(path):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            taken = [a.arg for a in (*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs)]
            if len([name for name in taken if name not in ("self", "cls")]) > MOST_PARAMETERS:
                many.append(f"{path.name}:{node.lineno} {node.name}")
    assert many == []


SORT_KEYS = {"in_order_of_the_day", "rank", "turn"}
"""What things are put in order by: such a tuple is compared whole, and no part of it is read."""


@pytest.mark.parametrize("path", sorted(PACKAGE.rglob("*.py")), ids=lambda p: p.relative_to(PACKAGE).as_posix())
def test_what_a_function_returns_is_read_by_name(path: Path) -> None:
    """Two modules that read three things by their places must know which is which; a record says it."""
    bodies = [node.body for node in nodes_of(path) if isinstance(node, (ast.Module, ast.ClassDef))]
    by_place = [
        f"{one.name} (line {one.lineno}) -> {ast.unparse(part)}"
        for body in bodies
        for one in body
        if isinstance(one, ast.FunctionDef) and one.returns and not one.name.startswith("_")
        for part in ast.walk(one.returns)
        if isinstance(part, ast.Subscript) and ast.unparse(part.value) == "tuple"
        if isinstance(part.slice, ast.Tuple) and len(part.slice.elts) >= 3 and one.name not in SORT_KEYS
    ]
    assert by_place == []


def test_nothing_is_there_for_the_tests_alone() -> None:
    """A name of a module that nothing in the package mentions again is dead, whatever the tests do with it."""
    mentioned = Counter(re.findall(r"\w+", "\n".join(p.read_text(encoding="utf-8") for p in PACKAGE.rglob("*.py"))))
    named = [
        (path.stem, name)
        for path in ROOMS
        for node in ast.parse(path.read_text(encoding="utf-8")).body
        for name in _names_given(node)
    ]
    assert [one for one in named if mentioned[one[1]] == 1] == []


LIBRARIES_READ = {"model_config"}
"""What a library reads of a class."""


def test_no_member_of_a_class_is_never_read() -> None:
    """A method, a field or a kind that neither code nor a template mentions again."""
    texts = [p.read_text(encoding="utf-8") for ending in ("py", "html") for p in PACKAGE.rglob(f"*.{ending}")]
    mentioned = Counter(re.findall(r"\w+", "\n".join(texts)))
    unread = [
        f"{node.name}.{name}"
        for path in ROOMS + sorted(PACKAGE.glob("*.py"))
        for node in nodes_of(path)
        if isinstance(node, ast.ClassDef)
        for name in _members(node)
        if mentioned[name] == 1 and not name.startswith("__") and name not in LIBRARIES_READ
    ]
    assert unread == []


def _members(node: ast.ClassDef) -> Iterator[str]:
    for part in node.body:
        if isinstance(part, ast.FunctionDef | ast.AsyncFunctionDef):
            yield part.name
        targets = (
            part.targets if isinstance(part, ast.Assign) else [part.target] if isinstance(part, ast.AnnAssign) else []
        )
        yield from (one.id for one in targets if isinstance(one, ast.Name))


def _names_given(node: ast.stmt) -> list[str]:
    """Names that a statement gives; a decorated function is reached by whoever decorates."""
    if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.decorator_list:
        return [node.name]
    targets = node.targets if isinstance(node, ast.Assign) else []
    return [one.id for one in targets if isinstance(one, ast.Name)]


FILES = {_module(path).removesuffix(".__init__"): path for path in sorted(PACKAGE.rglob("*.py"))}
SLOW_STANDARD = {"ctypes", "getpass", "json", "pydoc", "socket", "xml"}
"""Modules of the standard library that take a millisecond or more to load."""
FEW_MODULES = 4
"""So many modules of ours, loaded later, are worth an import inside a function: about two milliseconds."""


def _target(name: str) -> str:
    """The module of ours that is imported by a name, or the first part of another's."""
    parts = name.split(".")
    ours = (".".join(parts[:n]) for n in range(len(parts), 0, -1))
    return next((one for one in ours if one in FILES), parts[0])


def _named(node: ast.Import | ast.ImportFrom) -> set[str]:
    if isinstance(node, ast.Import):
        return {_target(alias.name) for alias in node.names}
    return {_target(f"{node.module}.{alias.name}") for alias in node.names}


def _run_on_import(body: list[ast.stmt]) -> Iterator[ast.Import | ast.ImportFrom]:
    for node in body:
        if isinstance(node, ast.Import | ast.ImportFrom):
            yield node
        elif isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test):
            yield from _run_on_import(node.orelse)
        elif isinstance(node, ast.If | ast.Try):
            yield from _run_on_import([one for one in ast.iter_child_nodes(node) if isinstance(one, ast.stmt)])


@cache
def _imported_first(module: str) -> frozenset[str]:
    """What is imported as soon as a module is."""
    if module not in FILES:
        return frozenset()
    (whole,) = nodes_of(FILES[module])[:1]
    assert isinstance(whole, ast.Module)
    return frozenset().union(*map(_named, _run_on_import(whole.body)))


@cache
def _loaded_with(module: str) -> frozenset[str]:
    """All modules that are loaded when one is imported."""
    found, todo = set(), [module]
    while todo:
        if (one := todo.pop()) not in found:
            found.add(one)
            todo += _imported_first(one)
    return frozenset(found)


def _imports_in(function: ast.AST) -> list[ast.Import | ast.ImportFrom]:
    found = [node for node in ast.walk(function) if isinstance(node, ast.Import | ast.ImportFrom)]
    return [node for node in found if not _named(node) & SLOW_STANDARD]


def test_an_import_inside_a_function_keeps_something_from_being_loaded() -> None:
    """A library, or several modules of ours; in a command anything of ours, as completion loads every command."""
    needless = []
    for module, path in FILES.items():
        functions = [node for node in nodes_of(path) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)]
        for node in {one for function in functions for one in _imports_in(function)}:
            saved = frozenset().union(*map(_loaded_with, _named(node))) - _loaded_with(module)
            libraries = saved - FILES.keys() - sys.stdlib_module_names
            if not libraries and len(saved & FILES.keys()) < (1 if module.startswith("prep.cli") else FEW_MODULES):
                needless.append(f"{module}:{node.lineno} {ast.unparse(node)}")
    assert needless == []


@pytest.mark.parametrize("code", ["import prep", "from prep.cli.main import main; main(['--help'])"])
def test_start_up_imports_nothing_heavy(code: str) -> None:
    probe = (
        f"import contextlib, sys\nwith contextlib.suppress(SystemExit): exec({code!r})\n"
        f"print(sorted(set({HEAVY!r}) & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", probe], capture_output=True, text=True, check=True)
    assert done.stdout.strip().splitlines()[-1] == "[]"


def test_the_top_level_holds_only_what_the_card_names() -> None:
    tracked = subprocess.run(
        ["git", "ls-files"], cwd=PACKAGE.parent, capture_output=True, text=True, check=False
    ).stdout.splitlines()
    top = {name.split("/")[0] for name in tracked}
    allowed = {
        "README.md",
        "DEVELOPERS.md",
        "pyproject.toml",
        "prep",
        "migrations",
        "tests",
        "seed_data",
        "LICENSE",
    }
    assert {name for name in top if not name.startswith(".")} <= allowed


@pytest.mark.parametrize("path", [p for p in ROOMS if p.relative_to(PACKAGE).parts[0] == "cli"], ids=_module)
def test_no_command_builds_a_document(path: Path) -> None:
    """What is said of a thing as JSON stands in reports, where the page finds it too."""
    for node in nodes_of(path):
        if isinstance(node, ast.FunctionDef) and node.returns is not None:
            assert not ast.unparse(node.returns).strip("'\"").startswith("dict[str,"), f"{path.name}: {node.name}"


NOUN_PHRASE = re.compile(
    r"(The|An?|What|Whether|Which|How|Who|Whose|Where|When|Why|Every|Everything|Each|All|One|Both|Several|It|Its|As|From)\b"
)


def test_a_docstring_says_first_what_the_function_does() -> None:
    """Verb and object; a property is called by what it is."""
    phrases = []
    for path in PACKAGE.rglob("*.py"):
        for node in nodes_of(path):
            if not isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                continue
            is_property = any("property" in ast.unparse(decorator) for decorator in node.decorator_list)
            if not is_property and NOUN_PHRASE.match(ast.get_docstring(node) or ""):
                phrases.append(f"{path.name}:{node.lineno} {node.name}")
    assert phrases == []
