"""What could be shown on a day: each by itself, from a few plans, and never by taking what another was promised."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from prep.errors import PrepError
from prep.planning.model import Booking, Bottle, Calendar, Demo, Need, Policy, Snapshot
from prep.resources import seed_data
from prep.services.bookings import showable
from prep.services.bookings.answers import BookedSchool
from prep.services.catalogue.seed import read_catalogue
from prep.services.inventory import init

TODAY, ON = date(2027, 1, 11), date(2027, 1, 13)
G, ML = 1_000_000, 1_000_000


def _demo(code: str, **needs: int) -> Demo:
    return Demo(code, code, tuple(Need(item.replace("_", "-"), amount) for item, amount in needs.items()), Decimal(0))


DEMOS = (
    _demo("plain", copper_turnings=5 * G),
    _demo("rival-a", zinc_granules=8 * G),
    _demo("rival-b", zinc_granules=8 * G),
    _demo("promised", magnesium_ribbon=8 * G),
    Demo("mixed", "mixed", (Need("zinc-granules", 8 * G), Need("lithium", G)), Decimal(0)),
    Demo("made", "made", (Need("nacl-0.1", 50 * ML),), Decimal(0)),
    _demo("nowhere", lithium=1 * G),
)
BOOKED = Demo("booked", "booked", (Need("magnesium-ribbon", 5 * G),), Decimal(0))


def _bottle(code: str, item: str, amount: int) -> Bottle:
    return Bottle(code, item, amount, date(2029, 1, 1), "PREP", received=date(2026, 9, 1))


def _school(calendar: Calendar) -> BookedSchool:
    catalogue = read_catalogue(seed_data())
    later = Booking("B1", date(2027, 1, 14), "P1", "S1", "", "booked", 1)
    snapshot = Snapshot(
        TODAY,
        catalogue,
        {demo.code: demo for demo in (*DEMOS, BOOKED)},
        (later,),
        (
            _bottle("C1", "copper-turnings", 5 * G),
            _bottle("Z1", "zinc-granules", 10 * G),
            _bottle("M1", "magnesium-ribbon", 10 * G),
            _bottle("N1", "sodium-chloride", 50 * G),
        ),
        (),
        {},
        catalogue.instruments,
        calendar,
    )
    return BookedSchool(snapshot, Policy(), {"B1": later})


def _found(school: BookedSchool) -> list[str]:
    return showable._Tries(school, ON).found()


def test_each_is_tried_by_itself_and_takes_from_nobody() -> None:
    """Two that want the same bottle can both be shown; one that would empty another's bottle cannot."""
    assert _found(_school(Calendar())) == ["plain", "rival-a", "rival-b", "made", "booked"]


def test_the_minutes_of_the_day_count() -> None:
    none = Calendar(minutes_per_day=0)
    assert "made" not in _found(_school(none))
    assert "plain" in _found(_school(none))


def test_what_is_made_on_a_day_too_full_is_promised_to_nobody_else() -> None:
    """Two makes are wanted by today, which has time for one; a third show of the first would wait with it."""
    school = _school(Calendar(minutes_per_day=16))
    full = Demo("full", "full", (Need("nacl-0.1", 50 * ML), Need("nacl-1pct", 50 * ML)), Decimal(0))
    first = Booking("B2", date(2027, 1, 12), "P1", "S1", "", "full", 1)
    demos, bookings = {**school.snapshot.demos, "full": full}, (*school.snapshot.bookings, first)
    school.snapshot = replace(school.snapshot, demos=demos, bookings=bookings)
    school.bookings["B2"] = first
    assert "made" not in _found(school)
    assert "rival-a" in _found(school)
    assert "made" in _found(_school(Calendar(minutes_per_day=16)))


def test_what_is_held_is_worked_out_once_for_all(monkeypatch: pytest.MonkeyPatch) -> None:
    """Thirty more demonstrations ask for no more plans."""
    plans = []
    whole = BookedSchool.answers
    monkeypatch.setattr(BookedSchool, "answers", lambda self, *a: plans.append(a) or whole(self, *a))
    school = _school(Calendar())
    _found(school)
    few = len(plans)
    more = {f"more-{n}": replace(DEMOS[4 + n % 3], code=f"more-{n}") for n in range(30)}
    school.snapshot = replace(school.snapshot, demos={**school.snapshot.demos, **more})
    plans.clear()
    _found(school)
    assert len(plans) <= few + 2


def test_a_closed_day_and_a_past_one_are_refused(tmp_path: Path) -> None:
    where = tmp_path / "inventory.db"
    init.init(where, "Ada", TODAY, None, "")
    for day, why in ((date(2027, 1, 16), "closed"), (date(2027, 1, 8), "past")):
        with pytest.raises(PrepError, match=why):
            showable.showable(where, day, TODAY)


@pytest.mark.parametrize("minutes", [0, 11, 16, 24, 26, 40, 240])
def test_what_can_be_shown_is_what_each_booking_would_hear(minutes: int) -> None:
    """With minutes for a make, for setting out, for both or for neither, and a day that is too full elsewhere."""
    school = _school(Calendar(minutes_per_day=minutes))
    full = Demo("full", "full", (Need("nacl-0.1", 50 * ML), Need("nacl-1pct", 50 * ML)), Decimal(0))
    first = Booking("B2", ON, "P1", "S1", "", "full", 1)
    school.snapshot = replace(
        school.snapshot,
        demos={**school.snapshot.demos, "full": full},
        bookings=(*school.snapshot.bookings, first),
    )
    school.bookings["B2"] = first
    end = school.end([ON])
    before = school.answers(school.snapshot, end)
    trials = [Booking(f"trial-{code}", ON, "", "", "", code, 1) for code in school.snapshot.demos]
    alone = [trial.demo for trial in trials if school.alone(trial, before, end).can_be_shown is not False]
    assert _found(school) == alone
