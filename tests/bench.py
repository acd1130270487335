"""Timings, as ratios against a named floor in the same run: `python -m tests.bench`.

Never part of the tests: a machine's speed drifts, a ratio in one run says more. Each pair alternates, and the
medians are compared. A school installs no more than the program needs, so the commands are best timed there:

    python3 -m venv /tmp/plain && /tmp/plain/bin/pip install .
    .venv/bin/python -m tests.bench start --python /tmp/plain/bin/python
"""

import os
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

PYTHON = sys.argv[sys.argv.index("--python") + 1] if "--python" in sys.argv else sys.executable
PREP = str(Path(PYTHON).with_name("prep"))
SCHOOL = Path(__file__).parent.parent / "seed_data" / "school"
RUNS = 11


def _cpu_seconds(command: Sequence[str], folder: str) -> float:
    """The processor time of a command that was installed as a school installs it: with its modules compiled."""
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    before = os.times()
    subprocess.run(command, cwd=folder, env=environment, check=True, capture_output=True)
    after = os.times()
    return after.children_user + after.children_system - before.children_user - before.children_system


def against(name: str, command: Sequence[str], floor: Sequence[str], limit: float, runs: int = RUNS) -> bool:
    """Run both alternately, print the medians and their ratio, and say whether it is within the limit."""
    with tempfile.TemporaryDirectory() as folder:
        for warm_up in (command, floor):
            _cpu_seconds(warm_up, folder)
        pairs = [(_cpu_seconds(command, folder), _cpu_seconds(floor, folder)) for _ in range(runs)]
    ours, theirs = (statistics.median(column) for column in zip(*pairs, strict=True))
    ratio = ours / theirs
    verdict = "ok" if ratio <= limit else "OVER"
    print(f"{name:<24} {ours * 1000:8.0f} ms  floor {theirs * 1000:6.0f} ms  x{ratio:5.2f}  limit {limit}  {verdict}")
    return ratio <= limit


def bare(libraries: str) -> list[str]:
    """Import these alone, without numpy: pint takes it along where the tests have it, and a school has none."""
    return [PYTHON, "-c", f"import sys; sys.modules['numpy'] = None; import {libraries}"]


def start_up() -> bool:
    """The commands a person waits for, against the bare imports that they cannot do without; processor time.

    Of `prep calc` every subcommand, and the classification of a mixture beside the dilution of what is named.
    """
    dilute = ["calc", "dilute", "--from", "12.0 mol/L", "--to", "0.1 mol/L", "--volume", "2 L"]
    books = bare("sqlmodel, typer, rich.table")
    with tempfile.TemporaryDirectory() as folder:
        file = ["--db", str(Path(folder) / "school.db")]
        subprocess.run([PREP, "init", *file, "--from", str(SCHOOL)], check=True, capture_output=True)
        return all(
            [
                against("prep --help", [PREP, "--help"], bare("typer"), 1.3),
                against("prep count --help", [PREP, "count", "--help"], bare("typer"), 2.0),
                against("completing a command", [PREP, "complete", "--", "count", ""], bare("typer"), 2.0),
                against("completing a code", [PREP, "complete", "--", "stock", "show", "K"], bare("typer"), 2.0),
                against("prep calc dilute", [PREP, *dilute], bare("typer, pint"), 1.2),
                against("prep plan --sample", [PREP, "plan", "--sample"], bare("typer, rich.table, pint"), 2.0),
                against("prep plan, a file", [PREP, "plan", *file], books, 1.5),
                against("prep stock list", [PREP, "stock", "list", *file], books, 1.25),
                calc(),
                classified(),
            ]
        )


BOTTLES = 2000
TEN_PARTS = [
    *("HCl 1 % w/w", "NaCl 2 % w/w", "KNO3 1 % w/w", "CuSO4 0.5 % w/w", "ethanol 3 % w/w", "glucose 2 % w/w"),
    *("ammonium chloride 1 % w/w", "potassium iodide 1 % w/w", "MgSO4 1 % w/w", "sodium sulfate 1 % w/w"),
]


def hazards() -> bool:
    """Storage of 2,000 bottles beside one pass that reads and lists them; ten parts beside the dilution of one."""
    from datetime import date

    from prep.services.inventory import init, session
    from prep.services.stock.changes import Receipt, receive
    from prep.store import queries
    from prep.store.school.places import all_places
    from tests.days import act

    with tempfile.TemporaryDirectory() as folder:
        db = Path(folder) / "school.db"
        init.init(db, "Ada", date(2027, 1, 11), SCHOOL, "")
        with session.reading(db) as connection:
            catalogue, places = queries.catalogue(connection), list(all_places(connection))
            held = len(list(queries.bottles(connection)))
        items = [code for code, one in catalogue.substances.items() if code != "water"]
        each = -(-(BOTTLES - held) // len(items))
        for number, code in enumerate(items):
            amount = "50 g" if catalogue.item(code).measure.value == "mass" else "50 mL"
            receive(db, Receipt(code, amount, each, places[number % len(places)]), act("Ada", date(2027, 1, 11)))
        file = ["--db", str(db)]
        return all(
            [
                against(
                    "safety storage, 2,000", [PREP, "safety", "storage", *file], [PREP, "stock", "list", *file], 1.5, 5
                ),
                classified(),
            ]
        )


def classified() -> bool:
    """A mixture of ten parts, classified, beside the dilution of one that is named."""
    dilute = ["calc", "dilute", *CALC["dilute"]]
    return against("safety classify, 10", [PREP, "safety", "classify", *TEN_PARTS], [PREP, *dilute], 1.0)


def calc() -> bool:
    """Each `prep calc` beside the bare imports of typer and pint: at most 1.2 times, and below 1 where it can be."""
    floor = bare("typer, pint")
    within = [against(f"calc {name}", [PREP, "calc", name, *rest], floor, 1.2) for name, rest in CALC.items()]
    return all(within)


CALC: dict[str, list[str]] = {
    "dilute": ["--from", "conc HCl", "--to", "0.1 M", "--volume", "1 L"],
    "dissolve": ["--formula", "CuSO4.5H2O", "--to", "0.5 mol/L", "--volume", "250 mL"],
    "mass": ["CuSO4.5H2O"],
    "strength": ["37 % w/w", "--of", "hydrochloric acid", "--in", "mol/L"],
    "blend": ["100 mL of 2 mol/L", "300 mL of 0.5 mol/L"],
    "alcohol": ["--from", "96 % v/v", "--to", "70 % v/v", "--volume", "1 L"],
    "ph": ["acetic acid 0.1 mol/L", "sodium acetate 0.1 mol/L"],
    "buffer": ["acetic acid/sodium acetate", "--ph", "4.7", "--to", "0.1 mol/L", "--volume", "1 L"],
    "endpoint": ["--dish", "10 mL", "--of", "HCl 1 mol/L", "--add", "NaOH 1 mol/L", "--ph", "8.3"],
    "indicator": ["bromothymol blue", "--ph", "6.8"],
    "titrate": ["--sample", "25 mL", "--of", "NaOH", "--with", "HCl 0.1 mol/L", "--titres", "24.65, 24.70 mL"],
    "equivalence": ["--sample", "25 mL of HCl 0.1 M", "--with", "NaOH 0.1 M", "--indicator", "phenolphthalein"],
    "serial": ["--from", "1 mol/L", "--factor", "10", "--steps", "5", "--volume", "10 mL"],
    "standards": ["--from", "1 g/L", "--to", "0.05 g/L", "--to", "0.1 g/L", "--volume", "100 mL"],
    "gas": ["magnesium 0.12 g", "50 mL of HCl 1 mol/L"],
}


def batching() -> bool:
    """The batching programme beside an exact MILP of the same model."""
    from tests.bench_batching import rows

    fine = True
    for name, ours, theirs, limit in rows():
        ratio = ours / theirs
        fine &= ratio <= limit
        verdict = "ok" if ratio <= limit else "OVER"
        print(
            f"{name:<44} {ours * 1000:8.1f} ms  floor {theirs * 1000:8.1f} ms  x{ratio:.4f}  limit {limit}  {verdict}"
        )
    return fine


def scale() -> bool:
    """The sample school's plan, and those of generated school groups."""
    from tests import bench_plan

    return all([bench_plan.sample(), bench_plan.scale()])


def acids() -> bool:
    """The pH solver beside PHREEQC on the same compositions; at most 1 ms a solve."""
    from tests.bench_acidbase import rows

    fine = True
    for name, ours, theirs in rows():
        limit = 1e-3
        fine &= ours <= limit
        print(
            f"{name:<44} {ours * 1000:8.3f} ms  PHREEQC {theirs * 1000:6.3f} ms  x{ours / theirs:5.2f}  "
            f"limit {limit * 1000:g} ms  {'ok' if ours <= limit else 'OVER'}"
        )
    return fine


def tampered() -> bool:
    """Bend 500 copies of an inventory, each in one place: the check must name every one."""
    from tests import tampering

    return tampering.bench(500)


def store() -> bool:
    """The books with a million movements beside the plain SQL that each job needs."""
    from tests import bench_store

    return bench_store.store()


def lock() -> bool:
    """How long `stock use`, `receive` and `make --log` hold the writers' lock, as commands: at most 10 ms each."""
    from tests import bench_lock

    return bench_lock.held()


def schools() -> bool:
    """A group of schools on one server, eight writers each: the jobs of all together grow with the schools."""
    from tests import bench_schools

    return bench_schools.schools()


def practice() -> bool:
    """What a technician would say of the plans' makes."""
    from tests import bench_practice

    return bench_practice.practice()


def year() -> bool:
    """A school year by the plan, beside two ways of working without one; `--years N`, `--seed S`."""
    from tests import bench_year

    return bench_year.simulated(_given("--years", 20), _given("--seed", 1))


def _given(option: str, otherwise: int) -> int:
    """A number that stands behind an option."""
    if option not in sys.argv:
        return otherwise
    return int(sys.argv[sys.argv.index(option) + 1])


def page() -> bool:
    """The page under load: today's page beside a bare table of its size, fifty people, twenty thousand requests."""
    from tests import bench_page

    return bench_page.page()


def show() -> bool:
    """A term's bookings answered, a day's demonstrations, a prediction of two vessels."""
    from tests import bench_show

    return bench_show.show()


PARTS = {
    "show": show,
    "page": page,
    "start": start_up,
    "batching": batching,
    "acids": acids,
    "calc": calc,
    "hazards": hazards,
    "scale": scale,
    "store": store,
    "lock": lock,
    "schools": schools,
    "tampered": tampered,
    "practice": practice,
    "year": year,
}


_OPTIONS = ("--years", "--seed", "--python")


def main() -> int:
    """Print every comparison, or only the named parts (`PARTS`); exit 1 if one is over its limit."""
    words = [word for at, word in enumerate(sys.argv[1:]) if word not in _OPTIONS and sys.argv[at] not in _OPTIONS]
    # The year takes half an hour, so it is run when it is named.
    names = [word.lstrip("-") for word in words] or [name for name in PARTS if name != "year"]
    if unknown := [name for name in names if name not in PARTS]:
        print(f"{unknown[0]} is no part; write any of {', '.join(PARTS)}.")
        return 2
    return 0 if min([PARTS[name]() for name in names]) else 1


if __name__ == "__main__":
    raise SystemExit(main())
