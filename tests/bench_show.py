"""What a teacher waits for, beside what cannot be done without: `python -m tests.bench show`.

A term's bookings imported and answered, and the day's demonstrations, beside one plan of the same bookings; a
prediction of two vessels with their curves beside a single end point.
"""

import csv
import os
import random
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

from prep.dates import DoneOn
from prep.planning.model import Demo, Horizon, Need
from prep.services.input.act import Act

if TYPE_CHECKING:
    from prep.services.bookings.answers import BookedSchool

SCHOOL = Path(__file__).parent.parent / "seed_data" / "school"
TODAY, TERM, BOOKINGS = date(2027, 1, 11), 90, 400
ML = 1_000_000


def _seconds(work: Callable[[], object]) -> float:
    before = time.process_time()
    work()
    return time.process_time() - before


def _said(name: str, ours: float, floor: float, limit: float) -> bool:
    ratio = ours / floor
    verdict = "ok" if ratio <= limit else "OVER"
    print(f"{name:<44} {ours * 1000:8.0f} ms  floor {floor * 1000:8.0f} ms  x{ratio:.2f}  limit {limit}  {verdict}")
    return ratio <= limit


def term() -> bool:
    """A term of 400 bookings imported and answered in at most three plans; a day's demonstrations in two and a half.

    Each is measured in a process of its own, as a person starts it.
    """
    from prep.services.bookings.answers import BookedSchool
    from prep.services.inventory import init

    with tempfile.TemporaryDirectory() as folder:
        path, rows = Path(folder) / "school.db", Path(folder) / "term.csv"
        init.init(path, "bench", TODAY, SCHOOL, "")
        _term(rows, BookedSchool.load(path, TODAY, ()))
        answered = _own_process("answer", path, rows)
        floor = _own_process("plan", path, rows)
        day = _own_process("can", path, rows)
    fine = [_said("400 bookings imported and answered", answered, floor, 3), _said("demo list --can", day, floor, 2.5)]
    return all(fine)


def _own_process(what: str, path: Path, rows: Path) -> float:
    command = [sys.executable, "-m", "tests.bench_show", what, str(path), str(rows)]
    return float(subprocess.run(command, check=True, capture_output=True, text=True).stdout)


def _work(what: str, path: Path, rows: Path) -> Callable[[], object]:
    from prep.planning.plan import make_plan
    from prep.services.bookings import showable
    from prep.services.bookings.answers import BookedSchool
    from prep.services.bookings.booking_import import ImportOptions, import_bookings

    if what == "answer":
        return lambda: import_bookings(path, rows, ImportOptions(), Act("bench", DoneOn(TODAY, TODAY)))
    if what == "can":
        return lambda: showable.showable(path, date(2027, 1, 20), TODAY)

    def plan() -> None:
        school = BookedSchool.load(path, TODAY, ())
        make_plan(school.snapshot, Horizon(TODAY, TODAY + timedelta(days=TERM)), school.policy)

    return plan


def _term(rows: Path, school: "BookedSchool") -> None:
    draw, calendar = random.Random(3), school.snapshot.calendar
    days = [day for n in range(1, TERM) if calendar.works(day := TODAY + timedelta(days=n))]
    with rows.open("w", newline="", encoding="utf-8") as file:
        out = csv.writer(file)
        out.writerow(["date", "period", "room", "demo", "showings"])
        for _ in range(BOOKINGS):
            demo, period, room = draw.choice(sorted(school.snapshot.demos)), draw.randrange(1, 7), draw.randrange(1, 9)
            out.writerow([draw.choice(days), f"P{period}", f"S{room}", demo, draw.choice((1, 1, 1, 2, 3))])


def prediction() -> bool:
    """Two vessels with their curves beside `calc endpoint` of one of them."""
    from prep.resources import seed_data
    from prep.services.calc import equilibrium
    from prep.services.catalogue.seed import read_catalogue
    from prep.services.demos.prediction import predict

    catalogue = read_catalogue(seed_data())
    needs = [
        Need(item, amount, vessel, drops=drops, until=until, dropper="fine-dropper" if until else "")
        for vessel, acid in (("first", "hcl-0.1"), ("second", "ethanoic-0.1"))
        for item, amount, drops, until in (
            (acid, 20 * ML, 0, ""),
            ("phenolphthalein-0.1", ML // 10, 2, ""),
            ("naoh-0.1", 0, 0, "pH 9"),
        )
    ]
    demo = Demo("two", "Two", tuple(needs), Decimal(0))
    question = equilibrium.EndpointQuestion(
        "20 mL", ("NaOH 0.1 mol/L",), ("acetic acid 0.1 mol/L",), indicator="phenolphthalein"
    )
    runs = [
        (_seconds(lambda: predict(demo, catalogue)), _seconds(lambda: equilibrium.endpoint(question))) for _ in range(9)
    ]
    ours, floor = (statistics.median(column) for column in zip(*runs, strict=True))
    return _said("a prediction of two vessels, curves and all", ours, floor, 1.5)


def command() -> bool:
    """The same asked for at the shell, beside another command that opens the inventory.

    `calc endpoint` opens none: beside it this is what opening one costs, twice over.
    """
    from prep.services.inventory import init

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "school.db"
        init.init(path, "bench", TODAY, SCHOOL, "")
        asked = (("predict", "ph-curves"), ("show", "ph-curves"))
        runs = [[_shell("demo", *words, "--db", str(path)) for words in asked] for _ in range(5)]
    ours, floor = (statistics.median(column) for column in zip(*runs, strict=True))
    return _said("a prediction as a command, beside demo show", ours, floor, 1.5)


def _shell(*words: str) -> float:
    """What a command costs the processor, start-up and all."""
    before = sum(os.times()[2:4])
    subprocess.run(
        [sys.executable, "-c", "from prep.cli.main import main; main()", *words], check=True, capture_output=True
    )
    return sum(os.times()[2:4]) - before


def show() -> bool:
    """Every comparison of this part."""
    return all([term(), prediction(), command()])


if __name__ == "__main__":
    print(_seconds(_work(sys.argv[1], Path(sys.argv[2]), Path(sys.argv[3]))))
